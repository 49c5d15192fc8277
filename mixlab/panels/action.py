"""The panel on when insulins act: curves with a guess, who says what, and the day at the bedside."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from html import escape
from typing import Any

import ipywidgets as widgets

from mixlab.care.action.absorption import NoModel
from mixlab.care.action.curves import ActionCurves
from mixlab.care.day.dose_day import CannotPlan
from mixlab.care.day.parts import meal_name
from mixlab.care.day.planning import DayPlan, handbooks
from mixlab.care.dosing import CannotPrepare
from mixlab.care.order.comparisons import meal_time
from mixlab.facts.shelf import shelf
from mixlab.figures.action.describing import describe_action
from mixlab.figures.action.evidence import draw_evidence
from mixlab.figures.action.evidence_words import describe_evidence
from mixlab.figures.action.large import draw_action
from mixlab.figures.day.day import draw_day
from mixlab.figures.day.describing import describe_day
from mixlab.figures.style import ROOM
from mixlab.quantities import NotAClockTime, NotAnAmount, number_text, read_clock
from mixlab.screen.frame import CarriedHTML, CarriedNumber, CarriedText, PanelFrame
from mixlab.screen.notice import Notice
from mixlab.screen.picture import LivePicture
from mixlab.ward.meal import Meal
from mixlab.ward.order.order import OrderError
from mixlab.ward.order.reading import read_order
from mixlab.ward.site.in_force import the_site
from mixlab.ward.site.record import Site
from mixlab.words import say, sentence

from .action_words import (
    CURVES,
    DAY,
    FANS,
    NO_SPELL,
    VIEWS,
    MealState,
    State,
    View,
    aloud_words,
    day_html,
    guess_words,
    row_names,
    see,
    slip_words,
    slips,
)  # fmt: skip
from .order_controls import FIRST_ORDER, OrderControls
from .own_words import choices, in_its_own_words

QUARTERS = tuple(f"{minute // 60:02}:{minute % 60:02}" for minute in range(0, 24 * 60, 15))
"""The places of a clock slider."""

_HEIGHT = "max(56vh, 100vh - 340px)"
"""The most a picture takes: on a small laptop all controls stay in sight, in a room it grows."""

_NO_GUESS = sentence("no guess yet").key
_REFUSALS = (OrderError, CannotPrepare, NotAnAmount, NoModel, NotAClockTime, CannotPlan)


@dataclass(frozen=True, kw_only=True)
class MealControls:
    """The controls of one meal: a slider and a text for its time, and whether it is eaten."""

    slider: widgets.SelectionSlider
    text: CarriedText
    eaten: widgets.Checkbox


@in_its_own_words
class WhenItActs(widgets.VBox):
    """The panel on when insulins act.

    Parameters
    ----------
    order : str
        The order to begin with.
    given_at : str
        When it is injected, on the 24-hour clock.
    site : Site, optional
        The site in force if not given.
    shown : str
        The picture to begin with: one of `when_words.VIEWS`.

    Attributes
    ----------
    order_text, clear_units, clear_box, cloudy_units, cloudy_box : ipywidgets controls
        The order and its doses.
    given_slider, given_text : ipywidgets.SelectionSlider, ipywidgets.Text
        When it is injected, by quarter hours or typed.
    meals : dict of str to MealControls
        The ward's meals by name.
    body_site, spell, slip, row, fan : ipywidgets.Dropdown
        Where it is given, what makes it faster, what went wrong, which handbook, how days differ.
    spell_start : ipywidgets.BoundedIntText
        When the faster spell begins, in minutes after the injection.
    weight : ipywidgets.FloatText
        Body weight in kg.
    basal : ipywidgets.FloatSlider
        The part of the fasting need that the cover strip assumes.
    guess : ipywidgets.SelectionSlider
        Where the highest point of the sum will be.
    show_sum : ipywidgets.Button
        Show the sum, or hide it for another guess.
    shown : ipywidgets.ToggleButtons
        Which picture.
    pictures : dict of str to LivePicture
        By what they show; the two insulins share one.
    sheet : ipywidgets.HTML
        What does not fit, and every look.
    """

    def __init__(
        self, order: str = FIRST_ORDER, given_at: str | None = None, site: Site | None = None, shown: str = CURVES
    ) -> None:
        self.site = the_site(site)
        self._settling = False
        rows = handbooks(read_order(FIRST_ORDER), self.site)
        self.state = State(
            order_text=FIRST_ORDER,
            given_at=_first_time(self.site),
            meals=tuple(MealState(name=meal.name, at=meal.at) for meal in self.site.meals),
            row=rows[0],
            basal_share=shelf().action["basal_share"].value,
            shown=shown,
        )
        self._view = see(self.state, self.site)
        self._make_controls(rows)
        self._make_pictures()
        super().__init__(self._lay_out())
        self.add_class("mixlab-when")
        self._settle()
        self._show_parts()
        self._change(order_text=order, given_at=given_at or self.state.given_at)

    @property
    def message(self) -> str:
        """Why the controls cannot be shown; empty when all is well."""
        return self._notice.message

    @property
    def verdict(self) -> str:
        """What the guess was worth; empty while the sum is hidden."""
        return guess_words(self._view)

    @property
    def curves(self) -> ActionCurves | None:
        """The model's curves now; None for an insulin without a model."""
        return self._view.curves

    @property
    def plan(self) -> DayPlan:
        """The day as it is planned now."""
        return self._view.plan

    def _make_controls(self, rows: tuple[str, ...]) -> None:
        facts = shelf()
        self._order = OrderControls(lambda text: self._change(order_text=text), self._refuse)
        self.order_text = self._order.text
        self.clear_units, self.clear_box = self._order.clear_units, self._order.clear_box
        self.cloudy_units, self.cloudy_box = self._order.cloudy_units, self._order.cloudy_box
        self.given_slider, self.given_text = self._clock(lambda at: self._change(given_at=at))
        self.meals = {meal.name: self._meal(meal) for meal in self.site.meals}
        self.body_site = self._choice("body_site", [(say(one.name), key) for key, one in facts.body_sites.items()])
        spells = [(say(NO_SPELL), NO_SPELL), *((say(row.name), key) for key, row in facts.speeds.items())]
        self.spell = self._choice("spell", spells)
        self.spell_start = widgets.BoundedIntText(min=0, max=600, step=5, layout={"width": "64px"})
        self.spell_start.observe(self._setter("spell_start"), "value")
        self.slip = self._choice("slip", [(slip_words(key), key) for key in slips()])
        self.row = self._choice("row", row_names(rows))
        self.row.layout.width = "220px"  # so that the drop-down beside it stands in the same line on a small laptop
        self.fan = self._choice("fan", choices(FANS))
        self.weight = CarriedNumber(step=1, layout={"width": "64px"})
        self.weight.observe(self._setter("weight_kg"), "value")
        self.basal = widgets.FloatSlider(min=0, max=1.5, step=0.05, readout_format=".2f", layout={"width": "260px"})
        self.basal.observe(self._setter("basal_share"), "value")
        self.guess = widgets.SelectionSlider(options=_guesses(), layout={"width": "420px"})
        self.guess.observe(lambda change: self._change(guess_h=change.new or None), "value")
        self.show_sum = widgets.Button(description=say("Show the sum"))
        self.show_sum.on_click(lambda _: self._change(sum_shown=not self.state.sum_shown))
        self.shown = widgets.ToggleButtons(
            options=choices(VIEWS), value=self.state.shown, style={"button_width": "auto"}
        )
        self.shown.observe(self._setter("shown"), "value")
        self._notice, self._verdict = Notice(), CarriedHTML()
        self.sheet = CarriedHTML(self._sheet_html())
        self._frame = PanelFrame(
            self._order.names | self._names(),
            self._order.readings | self._readings(),
        )

    def _names(self) -> dict[str, str]:
        words = {
            "given_slider": say("Injected at"),
            "given_text": say("Injected at, typed"),
            "body_site": say("Where on the body"),
            "spell": say("What makes it faster"),
            "spell_start": say("It begins, minutes after the injection"),
            "slip": say("What went wrong"),
            "row": say("Handbook"),
            "fan": say("Day to day"),
            "weight": say("Body weight, kg"),
            "basal": say("Part of the fasting need"),
            "guess": say("Your guess: hours after the injection"),
            "shown": say("Which picture"),
        }
        for attribute in words:
            getattr(self, attribute).add_class(f"mixlab-when-{attribute}")
        named = {f"mixlab-when-{attribute}": text for attribute, text in words.items()}
        for at, (meal, controls) in enumerate(zip(self.site.meals, self.meals.values(), strict=True)):
            name = meal_name(meal)
            for part, text in (
                ("slider", say("{meal} at", meal=name)),
                ("text", say("{meal} at, typed", meal=name)),
                ("eaten", say("{meal} is eaten", meal=name)),
            ):
                getattr(controls, part).add_class(f"mixlab-when-meal-{at}-{part}")
                named[f"mixlab-when-meal-{at}-{part}"] = text
        return named

    def _readings(self) -> dict[str, str | list[str]]:
        clocks = ["given_slider", *(f"meal-{at}-slider" for at in range(len(self.meals)))]
        guesses = [
            say("{hours} after the injection", hours=words) if value else words for words, value in self.guess.options
        ]
        words: dict[str, str | list[str]] = {f"mixlab-when-{name}": list(QUARTERS) for name in clocks}
        return words | {"mixlab-when-guess": guesses}

    def _clock(self, take: Callable[[str], None]) -> tuple[widgets.SelectionSlider, CarriedText]:
        layout = {"width": "auto", "flex": "1 1 60px", "min_width": "60px"}
        slider = widgets.SelectionSlider(options=QUARTERS, readout=False, layout=layout)
        text = CarriedText(continuous_update=False, layout={"width": "64px"})
        for control in (slider, text):
            control.observe(lambda change: take(change.new), "value")
        return slider, text

    def _meal(self, meal: Meal) -> MealControls:
        slider, text = self._clock(lambda at: self._change_meal(meal.name, at=at))
        eaten = widgets.Checkbox(description=say("eaten"), indent=False, layout={"width": "auto"})
        eaten.observe(lambda change: self._change_meal(meal.name, eaten=change.new), "value")
        return MealControls(slider=slider, text=text, eaten=eaten)

    def _change_meal(self, name: str, **values: Any) -> None:
        self._change(meals=tuple(replace(one, **values) if one.name == name else one for one in self.state.meals))

    def _choice(self, field: str, options: Any) -> widgets.Dropdown:
        control = widgets.Dropdown(options=options, value=getattr(self.state, field), layout={"width": "auto"})
        control.observe(self._setter(field), "value")
        return control

    def _setter(self, field: str) -> Callable[[Any], None]:
        return lambda change: self._change(**{field: change.new})

    def _make_pictures(self) -> None:
        view = self._view
        action, evidence, day = (
            draw_action(view.action, ROOM),
            draw_evidence(view.evidence, ROOM),
            draw_day(view.day, ROOM),
        )
        self._drawn: dict[str, Any] = dict(zip(VIEWS, (action, evidence, evidence, day), strict=True))
        figures = (action.figure, evidence.figure, day.figure)
        words = (describe_action(view.action), describe_evidence(view.evidence), describe_day(view.day))
        pictures = [
            LivePicture(figure, text, max_height=_HEIGHT, caption=caption)  # the day's words stand in the sheet
            for figure, text, caption in zip(figures, words, (True, True, False), strict=True)
        ]
        self.pictures = dict(zip(VIEWS, (pictures[0], pictures[1], pictures[1], pictures[2]), strict=True))

    def _lay_out(self) -> list[widgets.Widget]:
        def row(*parts: str | widgets.Widget) -> widgets.HBox:
            return widgets.HBox(
                [widgets.HTML(f"<b>{part}</b>") if isinstance(part, str) else part for part in parts],
                layout={"flex_flow": "row wrap", "grid_gap": "0 8px", "align_items": "center"},
            )

        third = {"flex": "1 1 0", "min_width": "0"}
        given = widgets.HBox(
            [widgets.HTML(say("<b>Injected</b> at")), self.given_slider, self.given_text], layout={"flex": "0.8 1 0"}
        )
        meals = [
            widgets.HBox(
                [widgets.HTML(f"<b>{escape(_capital(str(meal_name(meal))))}</b>"), one.slider, one.text, one.eaten],
                layout=third,
            )
            for meal, one in zip(self.site.meals, self.meals.values(), strict=True)
        ]
        self._guess_row = row(
            say("Where will the highest point of the sum be?"), self.guess, self.show_sum, self._verdict
        )
        self._meal_row = widgets.HBox(meals, layout={"grid_gap": "16px"})
        self._need_row = row(say("Assumed need: part of the fasting need"), self.basal)
        self._fan_row = row(say("Day to day:"), self.fan)
        return [
            widgets.HBox([widgets.HTML(say("<b>Order</b>")), self.order_text], layout={"grid_gap": "8px"}),
            widgets.HBox(
                [self._order.row("clear", third), self._order.row("cloudy", third), given], layout={"grid_gap": "16px"}
            ),
            row(
                say("Into the"), self.body_site, say("and then"), self.spell, say("from minute"), self.spell_start,
                say("Given:"), self.slip, say("Weight, kg:"), self.weight,
            ),
            row(say("Show:"), self.shown, say("Handbook:"), self.row, self._fan_row),
            self._guess_row,
            self._meal_row,
            self._notice,
            *dict.fromkeys(self.pictures.values()),
            self.sheet,
            self._need_row,
            self._frame,
            widgets.HTML(_STYLE),
        ]  # fmt: skip

    def _change(self, **values: Any) -> None:
        """Take new values of the state and show what follows from them, or say why they cannot be shown."""
        if self._settling:
            return
        state = replace(self.state, **values)
        if state == self.state and not self.message:
            return
        self.state = state
        try:
            view = see(state, self.site)
        except _REFUSALS as refusal:
            self._order.remember(state.order_text)
            self._refuse(str(refusal))
            self._frame.soon(self._settle_all)
            return
        self._view = view
        self._order.take(view.order)
        self._notice.accept(self.pictures.values())
        self._frame.soon(self._follow)

    def _follow(self) -> None:
        """Let controls and pictures show the last state that could be shown."""
        carried = [*self._order.carried, self.given_text, self.weight, self._verdict, self.sheet]
        with self._frame.carrying([*carried, *(one.text for one in self.meals.values())]):
            self._settle_all()
            self._show(self._view)

    def _settle_all(self) -> None:
        self._settle()
        self._show_parts()

    def _show(self, view: View) -> None:
        """Move the one picture that is seen."""
        self._verdict.value = escape(guess_words(view))
        self.sheet.value = self._sheet_html()
        shown, seen = view.state.shown, view.seen
        self._frame.show(
            {self.pictures[shown]: (self._drawn[shown].show(seen), _DESCRIBE[shown](seen))}, aloud=aloud_words(view)
        )

    def _sheet_html(self) -> str:
        return day_html(self._view.day) if self.state.shown == DAY else ""

    def _show_parts(self) -> None:
        """Show the parts that belong to the chosen picture, and hide the others."""
        shown = self.state.shown
        for picture in dict.fromkeys(self.pictures.values()):
            _appear(picture, picture is self.pictures[shown])
        _appear(self._guess_row, shown == CURVES)
        _appear(self._fan_row, shown != DAY)
        for part in (self._meal_row, self._need_row, self.sheet):
            _appear(part, shown == DAY)

    def _settle(self) -> None:
        """Let every control say what the state says, without calling the handlers again."""
        state = self.state
        self._settling = True
        try:
            self._order.settle(state.order_text, doses=not self.message)
            self._settle_clock(self.given_slider, self.given_text, state.given_at)
            for meal in state.meals:
                one = self.meals[meal.name]
                self._settle_clock(one.slider, one.text, meal.at)
                one.eaten.value = meal.eaten
            self.spell_start.value = state.spell_start
            self.weight.value, self.basal.value = state.weight_kg, state.basal_share
            self.show_sum.disabled = state.guess_h is None
            self.show_sum.description = say("Hide the sum") if state.sum_shown else say("Show the sum")
        finally:
            self._settling = False

    @staticmethod
    def _settle_clock(slider: widgets.SelectionSlider, text: CarriedText, at: str) -> None:
        text.value = at
        try:
            minutes = read_clock(at).minutes
        except NotAClockTime:
            return
        slider.value = QUARTERS[min(round(minutes / 15), len(QUARTERS) - 1)]

    def _refuse(self, sentence: str) -> None:
        self._notice.refuse(sentence, self.pictures.values())
        self.sheet.value = ""


_DESCRIBE: dict[str, Callable[..., str]] = dict(
    zip(VIEWS, (describe_action, describe_evidence, describe_evidence, describe_day), strict=True)
)


def _guesses() -> list[tuple[str, float]]:
    hours = [half / 2 for half in range(1, 49)]
    return [(say(_NO_GUESS), 0.0), *((f"{number_text(hour)} h", hour) for hour in hours)]


def _capital(words: str) -> str:
    return f"{words[0].upper()}{words[1:]}"


def _appear(part: widgets.Widget, seen: bool) -> None:
    part.layout.display = None if seen else "none"


_STYLE = """<style>
.mixlab-when .mixlab-picture-caption { font-size: 12px; max-height: 2.7em; }
.mixlab-when .widget-html-content { line-height: 1.35; font-size: 14px; }
.mixlab-when h3 { font-size: 1.1em; margin: 6px 0 2px; }
.mixlab-when ul { margin: 0; padding-left: 22px; }
.mixlab-when table { border-collapse: collapse; }
.mixlab-when td, .mixlab-when th { text-align: left; vertical-align: top; padding: 2px 12px 2px 0; }
@media (min-height: 900px) {
  .mixlab-when .widget-html-content { font-size: 17px; }
  .mixlab-when .mixlab-picture-caption { font-size: 15px; max-height: 5.4em; }
}
</style>"""


def _first_time(site: Site) -> str:
    """Return when the first order is due at a site: as long before its meal as the order says."""
    when = str(read_order(FIRST_ORDER).when)
    meal = next((meal for meal in site.meals if meal.is_called(when)), site.meals[0])
    return meal.clock.later(-(meal_time(when).minutes or 0)).face


def when_it_acts(
    order: str = FIRST_ORDER, given_at: str | None = None, site: Site | None = None, shown: str = CURVES
) -> WhenItActs:
    """Return the panel for an order given at a clock time, ready to show as the last line of a cell."""
    return WhenItActs(order, given_at, site, shown)
