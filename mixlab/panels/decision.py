"""The bedside panel: what is found, under one site's policy or two, and give, treat first, ask or check."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import ipywidgets as widgets

from mixlab.care.decision.deciding import Decision
from mixlab.care.decision.swallowing import sign_text
from mixlab.facts.shelf import shelf
from mixlab.figures.decision.bedside import BedsideFigure, Seen, draw_bedside
from mixlab.figures.style import ROOM, Touched
from mixlab.pages.labels import label_html, line_html, text_html
from mixlab.quantities import Glucose, GlucoseUnit, NotAnAmount, number_text
from mixlab.screen.frame import CarriedHTML, CarriedText, PanelFrame
from mixlab.screen.notice import Notice
from mixlab.screen.picture import LivePicture
from mixlab.ward.meter import ends_of_range, read_meter
from mixlab.ward.observation import OffScale
from mixlab.ward.order.reading import read_order
from mixlab.ward.site.in_force import example_sites, the_site
from mixlab.ward.site.record import Site
from mixlab.words import say, sentence, speaking

from .decision_words import (
    AGES,
    ALERT,
    ALONE,
    EARLIER,
    JUST_TAKEN,
    LAST_DOSE,
    MEALS,
    NO_READING,
    SWALLOW,
    State,
    see,
    words_of,
)  # fmt: skip
from .order_controls import FIRST_ORDER
from .own_words import choices, in_its_own_words

UNDECIDED = sentence("<b>Nothing is decided yet:</b> first say which number and which unit is meant.")


@in_its_own_words
class Bedside(widgets.VBox):
    """The bedside panel.

    Parameters
    ----------
    order : str
        The dose in question.
    site, beside : Site, optional
        Whose policy decides: the teaching site if not given, and beside it a second one, if given. Both can be chosen on
        the panel, from the example sites and these.

    Attributes
    ----------
    reading : ipywidgets.Text
        The reading as typed: a number in the first site's unit, a number with its unit, HI or LO.
    slider : ipywidgets.SelectionSlider
        The same within the meter's range.
    age, meal, alertness, swallow, last_dose, earlier : ipywidgets controls
        One choice each; the words are the keys of the tables above.
    signs : dict of str to ipywidgets.Checkbox
        Every sign of the facts.
    looked : ipywidgets.Checkbox
        Whether anybody has looked for signs.
    changed, says_give : ipywidgets.Checkbox
        State new or changed; the prescriber was told and says give.
    site, beside : ipywidgets.Dropdown
        Whose policy, by name.
    decisions : tuple of Decision
        What is decided now, at each site that is shown.
    pictures : tuple of two LivePicture
        The second is shown beside the first while a second site is chosen.
    sheets : tuple of two ipywidgets.HTML
        Every step, whom to tell, what must happen for the dose to be given later, and every reason with its rule.
    """

    def __init__(self, order: str = FIRST_ORDER, site: Site | None = None, beside: Site | None = None) -> None:
        self._sites = {one.name: one for one in example_sites()}
        first, beside = self._own(the_site(site)), self._own(beside) if beside else None
        self._order = read_order(order)
        self._settling = False
        self._refused = False  # whether the typed reading cannot be used
        unit = first.glucose_unit
        self.state = State(reading=Glucose(120 if unit == "mg/dL" else 6.7, unit), site=first, beside=beside)
        self._seen = [see(self.state, self._order, one) for one in (first, beside or first)]
        self._make_controls()
        self._drawn = [_draw(seen) for seen in self._seen]
        words = [words_of(seen) for seen in self._seen]
        self.pictures = tuple(
            LivePicture(drawn.figure, alt, max_height="62vh")
            for drawn, (alt, _) in zip(self._drawn, words, strict=True)
        )
        self.sheets = tuple(CarriedHTML(sheet) for _, sheet in words)
        super().__init__(self._lay_out())
        self.add_class("mixlab-bedside")
        self._settle()

    def _own(self, site: Site) -> Site:
        """Put a site among those to choose from, under a name that no other has."""
        while self._sites.get(site.name, site) != site:
            site = replace(site, name=say("{site}, as given", site=site.name))
        self._sites[site.name] = site
        return site

    @property
    def message(self) -> str:
        """Why the reading cannot be used; empty when all is well."""
        return self._notice.message

    @property
    def decisions(self) -> tuple[Decision, ...]:
        """What is decided now, at each site that is shown."""
        return tuple(seen.decision for seen in self._shown_sites())

    def _make_controls(self) -> None:
        state = self.state
        self.reading = CarriedText(continuous_update=False, layout={"width": "110px"})
        self.reading.observe(self._on_reading, "value")
        self.slider = widgets.SelectionSlider(options=[0], readout=False, layout={"width": "auto", "flex": "1 1 120px"})
        self.slider.observe(self._on_slider, "value")
        self.age = self._choice("age", choices([*AGES, NO_READING]), width="150px")
        self.meal = self._choice("meal", choices(MEALS), width="150px")
        self.alertness = self._choice("alertness", choices(ALERT), width="150px")
        self.swallow = self._choice("swallow", choices(SWALLOW), width="100px")
        self.last_dose = self._choice("last_dose", choices(LAST_DOSE), width="210px")
        self.earlier = self._choice("earlier", choices(EARLIER), width="190px")
        self.changed = self._tick("changed", say("new or changed state"))
        self.says_give = self._tick("says_give", say("{prescriber} told, says give"))
        self.looked = widgets.Checkbox(
            value=True, description=say("looked for"), indent=False, layout={"width": "auto"}
        )
        self.signs = {
            key: widgets.Checkbox(description=str(sign_text(key)), indent=False, layout={"width": "auto"})
            for key in shelf().signs
        }
        for box in (self.looked, *self.signs.values()):
            box.observe(self._on_sign, "value")
        self.site = widgets.Dropdown(options=list(self._sites), value=state.site.name, layout={"width": "220px"})
        self.beside = widgets.Dropdown(
            options=[(say(ALONE), ALONE), *((name, name) for name in self._sites)],
            value=state.beside.name if state.beside else ALONE,
            layout={"width": "220px"},
        )
        self.site.observe(self._on_sites, "value")
        self.beside.observe(self._on_sites, "value")
        self._notice = Notice()
        names = {
            "reading": say("Glucose before the dose, as the meter shows it"),
            "slider": say("Glucose before the dose"),
            "age": say("The reading is"),
            "meal": say("Meal"),
            "alertness": say("Alertness"),
            "swallow": say("Swallowing"),
            "last-dose": say("Last dose"),
            "earlier": say("Earlier readings"),
            "signs": say("Signs of a low"),
            "site": say("Whose policy"),
            "beside": say("Beside it"),
        }
        self._frame = PanelFrame({f"mixlab-bedside-{key}": words for key, words in names.items()})
        for key in names:
            if key != "signs":
                getattr(self, key.replace("-", "_")).add_class(f"mixlab-bedside-{key}")

    def _choice(self, field: str, options: list[tuple[str, str]], *, width: str) -> widgets.Dropdown:
        control = widgets.Dropdown(options=options, value=getattr(self.state, field), layout={"width": width})
        control.observe(self._setter(field), "value")
        return control

    def _tick(self, field: str, words: str) -> widgets.Checkbox:
        control = widgets.Checkbox(description=words, indent=False, layout={"width": "auto"})
        control.observe(self._setter(field), "value")
        return control

    def _setter(self, field: str) -> Callable[[Any], None]:
        def handler(change: Any) -> None:
            self._change(replace(self.state, **{field: change.new}))

        return handler

    def _lay_out(self) -> list[widgets.Widget]:
        def row(*parts: str | widgets.Widget) -> widgets.HBox:
            return widgets.HBox(
                [widgets.HTML(label_html(part)) if isinstance(part, str) else part for part in parts],
                layout={"flex_flow": "row wrap", "grid_gap": "0 8px", "align_items": "center"},
            )

        facts = shelf().signs
        groups = [
            widgets.HBox(
                [self.signs[key] for key, sign in facts.items() if sign.group == group],
                layout={"flex_flow": "row wrap", "grid_gap": "0 10px"},
            )
            for group in ("autonomic", "neuroglycopenic")
        ]
        signs = row(say("Signs of a low:"), self.looked, *groups)
        signs.add_class("mixlab-bedside-signs")
        self._columns = [
            widgets.Box(
                [widgets.VBox([picture], layout=_column()), widgets.VBox([sheet], layout=_column())],
                layout=_column() | {"grid_gap": "10px"},
            )
            for picture, sheet in zip(self.pictures, self.sheets, strict=True)
        ]
        return [
            row(say("Order:"), widgets.HTML(text_html(str(self._order)))),
            row(
                say("Glucose:"),
                self.reading,
                self.slider,
                self.age,
                say("Meal:"),
                self.meal,
                say("Alertness:"),
                self.alertness,
            ),
            signs,
            row(
                say("Swallowing:"),
                self.swallow,
                say("Last dose:"),
                self.last_dose,
                say("Earlier:"),
                self.earlier,
                self.changed,
                self.says_give,
            ),
            row(say("Policy of:"), self.site, say("beside"), self.beside),
            self._notice,
            widgets.HBox(self._columns, layout={"grid_gap": "10px", "align_items": "flex-start"}),
            self._frame,
            widgets.HTML(_STYLE),
        ]

    def _on_reading(self, change: Any) -> None:
        if not self._settling:
            self._read(change.new)

    def _read(self, typed: str) -> None:
        try:
            reading = read_meter(typed, self.state.site)
        except NotAnAmount as refusal:
            self._refused = True
            self._refuse(str(refusal))
            return
        self._take(reading)

    def _on_slider(self, change: Any) -> None:
        if not self._settling:
            self._take(Glucose(change.new, self.state.site.glucose_unit))

    def _take(self, reading: Glucose | OffScale) -> None:
        """Take a reading that can be; if there was none to be had, there is one now."""
        self._refused = False
        state = replace(self.state, reading=reading)
        self._change(replace(state, age=JUST_TAKEN) if state.age == NO_READING else state)

    def _on_sign(self, _: Any) -> None:
        seen = tuple(key for key, box in self.signs.items() if box.value)
        self._change(replace(self.state, signs=seen if self.looked.value or seen else None))

    def _on_sites(self, _: Any) -> None:
        beside = None if self.beside.value == ALONE else self._sites[self.beside.value]
        refused = self._refused
        self._change(replace(self.state, site=self._sites[self.site.value], beside=beside))
        if refused:
            self._read(self.reading.value)  # what one ward's meter cannot show another's may

    def _change(self, state: State) -> None:
        """Take a new state and show the decision of each site, with what the change turned."""
        if self._settling:
            return
        if state == self.state and not self.message:
            self._settle()
            return
        self.state = state
        if self._refused:  # decide nothing by a reading that is no longer meant
            self._settle(typed=False)
            return
        self._notice.accept(self.pictures)
        before = self._seen
        self._seen = [
            see(state, self._order, site, one)
            for site, one in zip((state.site, state.beside or state.site), before, strict=True)
        ]
        self._draw_anew([one.site for one in before])
        words = [words_of(seen) for seen in self._seen]
        with self._frame.carrying([self.reading, *self.sheets]):
            self._settle()
            for sheet, (_, text) in zip(self.sheets, words, strict=True):
                sheet.value = text
            self._frame.show(
                {
                    picture: (_move(drawn, seen), alt)
                    for picture, drawn, seen, (alt, _) in zip(
                        self.pictures, self._drawn, self._seen, words, strict=True
                    )
                },
                aloud=" ".join(_aloud(seen) for seen in self._shown_sites()),
            )

    def _draw_anew(self, before: list[Site]) -> None:
        """Draw a picture whole again where another site with other words has come in its place."""
        for at, (seen, old) in enumerate(zip(self._seen, before, strict=True)):
            if seen.site.voice != old.voice:
                self._drawn[at] = _draw(seen)
                self.pictures[at].replace(self._drawn[at].figure, words_of(seen)[0])

    def _shown_sites(self) -> list[Seen]:
        return self._seen if self.state.beside else self._seen[:1]

    def _settle(self, *, typed: bool = True) -> None:
        """Let every control say what the state says, without calling the handlers again."""
        state, unit = self.state, self.state.site.glucose_unit
        self._settling = True
        try:
            self._settle_slider()
            reading = state.reading
            if typed:
                self.reading.value = _typed(reading, unit)
            self.age.value = state.age
            self.looked.value = state.signs is not None
            self._columns[0].layout.flex_flow = "column" if state.beside else "row"
            self._columns[1].layout.flex_flow = "column"
            self._columns[1].layout.display = "flex" if state.beside else "none"
        finally:
            self._settling = False

    def _settle_slider(self) -> None:
        state, unit = self.state, self.state.site.glucose_unit
        step = 10 if unit == "mmol/L" else 1
        low, high = ends_of_range(state.site)
        options = tuple(
            count / step if step > 1 else count for count in range(round(low * step), round(high * step) + 1)
        )
        if options != self.slider.options:
            self.slider.options = options
            readings = [f"{number_text(value)} {unit}" for value in options]
            self._frame.readings = {"mixlab-bedside-slider": readings}
        ends = {"LO": low, "HI": high}
        reading = state.reading
        value = float(reading.to(unit).shown()) if isinstance(reading, Glucose) else ends[reading]
        self.slider.value = min(max(value, low), high)

    def _refuse(self, sentence: str) -> None:
        """Keep what was typed and the last good pictures, marked as stale, and say why."""
        self._notice.refuse(sentence, self.pictures)
        for sheet in self.sheets:
            sheet.value = line_html(UNDECIDED)


_STYLE = """<style>
.mixlab-bedside .widget-html-content { line-height: 1.35; font-size: 14px; }
.mixlab-bedside .widget-html-content ol, .mixlab-bedside .widget-html-content ul { margin: 0 0 6px; padding-left: 22px; }
@media (min-height: 900px) { .mixlab-bedside .widget-html-content { font-size: 17px; } }
</style>"""


def _draw(seen: Seen) -> BedsideFigure:
    with speaking(seen.site.voice):
        return draw_bedside(seen, ROOM)


def _move(drawn: BedsideFigure, seen: Seen) -> Touched:
    with speaking(seen.site.voice):
        return drawn.show(seen)


def _aloud(seen: Seen) -> str:
    with speaking(seen.site.voice):
        return f"{seen.site.name}: {say(seen.decision.choice)}."


def _typed(reading: Glucose | OffScale, unit: GlucoseUnit) -> str:
    """Return a reading as a person types it; its unit is named where it is not the meter's."""
    if not isinstance(reading, Glucose):
        return reading
    return str(reading.shown()) if reading.unit == unit else f"{reading.shown()} {reading.unit}"


def _column() -> dict[str, str]:
    return {"width": "auto", "flex": "1 1 0", "min_width": "0", "overflow": "visible"}


def bedside(order: str = FIRST_ORDER, site: Site | None = None, beside: Site | None = None) -> Bedside:
    """Return the bedside panel; see :class:`Bedside`."""
    return Bedside(order, site, beside)
