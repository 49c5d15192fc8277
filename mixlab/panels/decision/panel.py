"""The bedside panel: what is found, under one site's policy or two, and give, treat first, ask or check."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import ipywidgets as widgets

from mixlab.care.decision.answers import answer_text
from mixlab.care.decision.deciding import Decision
from mixlab.care.order.lesson import lesson_order
from mixlab.figures.decision.bedside import BedsideFigure, Seen, draw_bedside
from mixlab.figures.style import ROOM, Touched
from mixlab.pages.labels import line_html
from mixlab.panels.rows import COLUMN, ban_note
from mixlab.quantities import Glucose, NotAnAmount
from mixlab.screen.frame import CarriedHTML
from mixlab.screen.picture import LivePicture
from mixlab.ward.meter import read_meter
from mixlab.ward.observation import OffScale
from mixlab.ward.order.reading import read_order
from mixlab.ward.site.in_force import example_sites, the_site
from mixlab.ward.site.record import Site
from mixlab.words import say, sentence, speaking

from .controls import BedsideControls
from .words import ALONE, JUST_TAKEN, NO_READING, BedsideState, bedside_words, decide_at

UNDECIDED = sentence("<b>Nothing is decided yet:</b> first say which number and which unit is meant.")


class Bedside(BedsideControls):
    """The bedside panel; its controls are those of `BedsideControls`.

    Parameters
    ----------
    order : str, optional
        The dose in question: `lesson_order` if not given.
    site, beside : Site, optional
        Whose policy decides: the teaching site if not given, and beside it a second one, if given. Both can be chosen on
        the panel, from the example sites and these.

    Attributes
    ----------
    decisions : tuple of Decision
        What is decided now, at each site that is shown.
    pictures : tuple of two LivePicture
        The second is shown beside the first while a second site is chosen.
    sheets : tuple of two ipywidgets.HTML
        Every step, whom to tell, what must happen for the dose to be given later, and every reason with its rule.
    """

    def __init__(self, order: str | None = None, site: Site | None = None, beside: Site | None = None) -> None:
        self._sites = {one.name: one for one in example_sites()}
        given = the_site(site)
        with speaking(given.voice):
            first, beside = self._own(given), self._own(beside) if beside else None
        self._order = read_order(order or lesson_order(site=given))
        self._refused = False  # whether the typed reading cannot be used
        unit = first.glucose_unit
        self.state = BedsideState(reading=Glucose(120 if unit == "mg/dL" else 6.7, unit), site=first, beside=beside)
        self._seen = [decide_at(self.state, self._order, one) for one in (first, beside or first)]
        super().__init__(first.voice, "mixlab-bedside")

    def build(self) -> list[widgets.Widget]:
        self._make_controls()
        self.when(self.reading, self._read)
        self.when(self.slider, lambda shown: self._take(Glucose(shown, self.state.site.glucose_unit)))
        for box in (self.looked, *self.signs.values()):
            self.when(box, self._on_sign)
        for control in (self.site, self.beside):
            self.when(control, self._on_sites)
        self._drawn = [_draw(seen) for seen in self._seen]
        self._drawn_in = [seen.site.voice for seen in self._seen]  # whose words stand in the pictures
        words = [bedside_words(seen) for seen in self._seen]
        self.pictures = tuple(
            LivePicture(drawn.figure, alt, max_height="62vh")
            for drawn, (alt, _) in zip(self._drawn, words, strict=True)
        )
        self.sheets = tuple(CarriedHTML(sheet) for _, sheet in words)
        self._columns = [
            widgets.Box(
                [widgets.VBox([picture], layout=COLUMN), widgets.VBox([sheet], layout=COLUMN)],
                layout=COLUMN | {"grid_gap": "10px"},
            )
            for picture, sheet in zip(self.pictures, self.sheets, strict=True)
        ]
        columns = widgets.HBox(self._columns, layout={"grid_gap": "10px", "align_items": "flex-start"})
        return [*ban_note(self.state.site), *self._rows(), self._notice, columns, self._frame]

    def begin(self) -> None:
        self._settle()

    def redraw(self) -> None:
        self._draw_anew()
        self._show([bedside_words(seen) for seen in self._seen], aloud="")

    def memory(self) -> list[tuple[object, str]]:
        return [*super().memory(), (self, "_refused"), (self, "_seen")]

    def _own(self, site: Site) -> Site:
        """Put a site among those to choose from, under a name that no other has."""
        while self._sites.get(site.name, site) != site:
            site = replace(site, name=say("{site}, as given", site=site.name))
        self._sites[site.name] = site
        return site

    @property
    def decisions(self) -> tuple[Decision, ...]:
        """What is decided now, at each site that is shown."""
        return tuple(seen.decision for seen in self._shown_sites())

    def _read(self, typed: str) -> None:
        try:
            reading = read_meter(typed, self.state.site)
        except NotAnAmount as refusal:
            self._refused = True
            self.refuse(refusal)
            return
        self._take(reading)

    def _take(self, reading: Glucose | OffScale) -> None:
        """Take a reading that can be; if there was none to be had, there is one now."""
        self._refused = False
        state = replace(self.state, reading=reading)
        self._change(replace(state, age=JUST_TAKEN) if state.age == NO_READING else state)

    def _set_field(self, field: str, value: Any) -> None:
        self._change(replace(self.state, **{field: value}))

    def _on_sign(self, _: bool) -> None:
        seen = tuple(key for key, box in self.signs.items() if box.value)
        self._change(replace(self.state, signs=seen if self.looked.value or seen else None))

    def _on_sites(self, _: str) -> None:
        beside = None if self.beside.value == ALONE else self._sites[self.beside.value]
        refused = self._refused
        self._change(replace(self.state, site=self._sites[self.site.value], beside=beside))
        if refused:
            self._read(self.reading.value)  # what one ward's meter cannot show another's may

    def _change(self, state: BedsideState) -> None:
        """Take a new state and show the decision of each site, with what the change turned."""
        if state == self.state and not self.message:
            self._settle()
            return
        self.state = state
        if self._refused:  # decide nothing by a reading that is no longer meant
            self._settle(typed=False)
            return
        self.accept()
        before = self._seen
        self._seen = [
            decide_at(state, self._order, site, one)
            for site, one in zip((state.site, state.beside or state.site), before, strict=True)
        ]
        self._draw_anew()
        words = [bedside_words(seen) for seen in self._seen]
        with self._frame.carrying([self.reading, *self.sheets]):
            self._settle()
            for sheet, (_, text) in zip(self.sheets, words, strict=True):
                sheet.value = text
            self._show(words, aloud=" ".join(_aloud(seen) for seen in self._shown_sites()))

    def _show(self, words: list[tuple[str, str]], aloud: str) -> None:
        shown = zip(self.pictures, self._drawn, self._seen, words, strict=True)
        self._frame.show({picture: (_move(drawn, seen), alt) for picture, drawn, seen, (alt, _) in shown}, aloud=aloud)

    def _draw_anew(self) -> None:
        """Draw a picture whole again where another site with other words has come in its place."""
        for at, seen in enumerate(self._seen):
            if seen.site.voice != self._drawn_in[at]:
                self._drawn[at], self._drawn_in[at] = _draw(seen), seen.site.voice
                self.pictures[at].replace(self._drawn[at].figure, bedside_words(seen)[0])

    def _shown_sites(self) -> list[Seen]:
        return self._seen if self.state.beside else self._seen[:1]

    def _settle(self, *, typed: bool = True) -> None:
        """Let every control say what the state says, without calling the handlers again."""
        beside = self.state.beside
        with self.settling():
            self._settle_controls(typed=typed)
            self._columns[0].layout.flex_flow = "column" if beside else "row"
            self._columns[1].layout.flex_flow = "column"
            self._columns[1].layout.display = "flex" if beside else "none"

    def refuse(self, why: object) -> None:
        """Keep what was typed and the last good pictures, marked as stale, and say why."""
        super().refuse(why)
        for sheet in self.sheets:
            sheet.value = line_html(UNDECIDED)


def _draw(seen: Seen) -> BedsideFigure:
    with speaking(seen.site.voice):
        return draw_bedside(seen, ROOM)


def _move(drawn: BedsideFigure, seen: Seen) -> Touched:
    with speaking(seen.site.voice):
        return drawn.show(seen)


def _aloud(seen: Seen) -> str:
    with speaking(seen.site.voice):
        return f"{seen.site.name}: {answer_text(seen.decision.choice)}."


def bedside(order: str | None = None, site: Site | None = None, beside: Site | None = None) -> Bedside:
    """Return the bedside panel; see `Bedside`.

    Examples
    --------
    >>> panel = bedside()
    >>> panel.set(glucose=64)
    >>> panel.decisions[0].choice
    'hold and treat'
    """
    return Bedside(order, site, beside)
