"""The controls of the panel on when insulins act: the order and what happens to it, the day, and a guess."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from typing import Any

import ipywidgets as widgets

from mixlab.care.day.parts import meal_name
from mixlab.facts.reading import the_facts
from mixlab.panels.order_panel import OrderPanel
from mixlab.panels.rows import THIRD, ban_note, bold, choices, marked_line, row
from mixlab.quantities import NotAClockTime, number_text, read_clock
from mixlab.screen.frame import CarriedHTML, CarriedNumber, CarriedText, PanelFrame
from mixlab.screen.picture import LivePicture
from mixlab.ward.meal import Meal
from mixlab.words import say, sentence

from .words import ACTION_PICTURES, CURVES, DAY, FANS, NO_SPELL, ActionState, ActionView, row_names, slip_words, slips

QUARTERS = tuple(f"{minute // 60:02}:{minute % 60:02}" for minute in range(0, 24 * 60, 15))
"""The places of a clock slider."""

_NO_GUESS = sentence("no guess yet").key


@dataclass(frozen=True, kw_only=True)
class MealControls:
    """The controls of one meal: a slider and a text for its time, and whether it is eaten."""

    slider: widgets.SelectionSlider
    text: CarriedText
    eaten: widgets.Checkbox


class ActionControls(OrderPanel[ActionView]):
    """The controls of the panel on when insulins act; `WhenItActs` computes and draws by them.

    Attributes
    ----------
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
    order_answer : ipywidgets.HTML
        That the order is held, and why; hidden while it is not.
    sheet : ipywidgets.HTML
        What does not fit, and every look.
    """

    state: ActionState

    def _make_controls(self, rows: tuple[str, ...]) -> None:
        facts = the_facts()
        self._make_order()
        self.given_slider, self.given_text = self._clock(self._setter("given_at"))
        self.meals = {meal.name: self._meal(meal) for meal in self.site.meals}
        self.body_site = self._choice("body_site", [(say(one.name), key) for key, one in facts.body_sites.items()])
        spells = [(say(NO_SPELL), NO_SPELL), *((say(row.name), key) for key, row in facts.speeds.items())]
        self.spell = self._choice("spell", spells)
        self.spell_start = widgets.BoundedIntText(min=0, max=600, step=5, layout={"width": "64px"})
        self.when(self.spell_start, self._setter("spell_start"))
        self.slip = self._choice("slip", [(slip_words(key), key) for key in slips()])
        self.row = self._choice("row", row_names(rows))
        self.row.layout.width = "220px"  # so that the drop-down beside it stands in the same line on a small laptop
        self.fan = self._choice("fan", choices(FANS))
        self.weight = CarriedNumber(step=1, layout={"width": "64px"})
        self.when(self.weight, self._setter("weight_kg"))
        self.basal = widgets.FloatSlider(min=0, max=1.5, step=0.05, readout_format=".2f", layout={"width": "260px"})
        self.when(self.basal, self._setter("basal_share"))
        self.guess = widgets.SelectionSlider(options=_guesses(), layout={"width": "420px"})
        self.when(self.guess, lambda hours: self._change(guess_h=hours or None))
        self.show_sum = self.button(
            "Show the sum", say("Show the sum"), lambda: self._change(sum_shown=not self.state.sum_shown)
        )
        self.show_sum.layout.width = None
        self.shown = widgets.ToggleButtons(
            options=choices(ACTION_PICTURES), value=self.state.shown, style={"button_width": "auto"}
        )
        self.when(self.shown, self._setter("shown"))
        self._verdict, self.order_answer, self.sheet = CarriedHTML(), CarriedHTML(), CarriedHTML()
        self._frame = PanelFrame(
            self._names | self._name_controls(),
            self._readings | self._read_out(),
        )
        self.controls |= {
            "given": self.given_text, "body_site": self.body_site, "spell": self.spell, "from_minute": self.spell_start,
            "slip": self.slip, "weight": self.weight, "shown": self.shown, "handbook": self.row, "fan": self.fan,
            "guess": self.guess, "need": self.basal,
        }  # fmt: skip
        for name, one in self.meals.items():
            self.controls |= {name: one.text, f"{name}_eaten": one.eaten}

    def _name_controls(self) -> dict[str, str]:
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

    def _read_out(self) -> dict[str, str | list[str]]:
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
            self.when(control, take)
        return slider, text

    def _meal(self, meal: Meal) -> MealControls:
        slider, text = self._clock(lambda at: self._change_meal(meal.name, at=at))
        eaten = widgets.Checkbox(description=say("eaten"), indent=False, layout={"width": "auto"})
        self.when(eaten, lambda is_eaten: self._change_meal(meal.name, eaten=is_eaten))
        return MealControls(slider=slider, text=text, eaten=eaten)

    def _change_meal(self, name: str, **values: Any) -> None:
        self._change(meals=tuple(replace(one, **values) if one.name == name else one for one in self.state.meals))

    def _choice(self, field: str, options: Any) -> widgets.Dropdown:
        control = widgets.Dropdown(options=options, value=getattr(self.state, field), layout={"width": "auto"})
        self.when(control, self._setter(field))
        return control

    def _lay_out(self, pictures: Iterable[LivePicture]) -> list[widgets.Widget]:
        given = widgets.HBox(
            [marked_line(sentence("<b>Injected</b> at")), self.given_slider, self.given_text],
            layout={"flex": "0.8 1 0"},
        )
        meals = [
            widgets.HBox(
                [bold(_capital(str(meal_name(meal)))), one.slider, one.text, one.eaten],
                layout=THIRD,
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
            *ban_note(self.site),
            widgets.HBox([bold(say("Order")), self.order_text], layout={"grid_gap": "8px"}),
            self.order_answer,
            widgets.HBox(
                [*self._dose_rows(), given], layout={"grid_gap": "16px"}
            ),
            row(
                say("Into the"), self.body_site, say("and then"), self.spell, say("from minute"), self.spell_start,
                say("Given:"), self.slip, say("Weight, kg:"), self.weight,
            ),
            row(say("Show:"), self.shown, say("Handbook:"), self.row, self._fan_row),
            self._guess_row,
            self._meal_row,
            self._notice,
            *pictures,
            self.sheet,
            self._need_row,
            self._frame,
        ]  # fmt: skip

    def _show_controls(self) -> None:
        """Show the controls that belong to the chosen picture, and hide the others."""
        shown = self.state.shown
        appear(self._guess_row, shown == CURVES)
        appear(self._fan_row, shown != DAY)
        for part in (self._meal_row, self._need_row, self.sheet):
            appear(part, shown == DAY)

    def _settle_controls(self) -> None:
        """Let every control say what the state says, without calling the handlers again."""
        state = self.state
        with self.settling():
            self._settle_order()
            self._settle_clock(self.given_slider, self.given_text, state.given_at)
            for meal in state.meals:
                one = self.meals[meal.name]
                self._settle_clock(one.slider, one.text, meal.at)
                one.eaten.value = meal.eaten
            self.spell_start.value = state.spell_start
            self.weight.value, self.basal.value = state.weight_kg, state.basal_share
            self.show_sum.disabled = state.guess_h is None
            self.show_sum.description = say("Hide the sum") if state.sum_shown else say("Show the sum")

    @staticmethod
    def _settle_clock(slider: widgets.SelectionSlider, text: CarriedText, at: str) -> None:
        text.value = at
        try:
            minutes = read_clock(at).minutes
        except NotAClockTime:
            return
        slider.value = QUARTERS[min(round(minutes / 15), len(QUARTERS) - 1)]


def _guesses() -> list[tuple[str, float]]:
    hours = [half / 2 for half in range(1, 49)]
    return [(say(_NO_GUESS), 0.0), *((f"{number_text(hour)} h", hour) for hour in hours)]


def _capital(words: str) -> str:
    return f"{words[0].upper()}{words[1:]}"


def appear(part: widgets.Widget, seen: bool) -> None:
    """Show a part of a panel, or hide it."""
    part.layout.display = None if seen else "none"
