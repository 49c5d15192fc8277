"""Treat, wait, measure again: a low walked through in time, one press after the other."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import Literal

import ipywidgets as widgets

from mixlab.care.decision.answers import answer_text
from mixlab.care.decision.readings import look_at
from mixlab.care.low.events import (
    CallForHelp,
    Carbohydrate,
    Eat,
    EmergencyTreatment,
    Event,
    Measure,
    TellNurse,
    TellPrescriber,
    Wait,
)
from mixlab.care.low.treatment import walk
from mixlab.care.order.lesson import lesson_order
from mixlab.figures.decision.bedside import Seen, describe_bedside, draw_bedside
from mixlab.figures.style import ROOM
from mixlab.pages.decision import decision_html
from mixlab.pages.low import log_html
from mixlab.quantities import Glucose, NotAnAmount, number_text
from mixlab.screen.frame import CarriedHTML, PanelFrame
from mixlab.screen.panel import NOT_DONE, Panel
from mixlab.screen.picture import LivePicture
from mixlab.ward.meter import read_meter
from mixlab.ward.observation import Alertness, Observation
from mixlab.ward.order.reading import read_order
from mixlab.ward.site.in_force import the_site
from mixlab.ward.site.record import Site
from mixlab.words import say, sentence

from .rows import COLUMN, ban_note, choices, marked_line, row

FOUND_LOW = Observation(glucose=Glucose(61, "mg/dL"), signs=("sweating", "trembling"), eating=True, can_swallow=True)
"""The patient of the demonstration: a low with signs, awake, able to swallow, breakfast on the way."""

STARTS = {
    sentence("sweating, trembling").key: FOUND_LOW,
    sentence("drowsy").key: Observation(glucose=Glucose(48, "mg/dL"), signs=(), eating=True, alertness="drowsy"),
    sentence("unresponsive").key: Observation(glucose="LO", signs=(), eating=None, alertness="unresponsive"),
    sentence("fasting").key: Observation(
        glucose=Glucose(65, "mg/dL"), signs=(), eating=False, fasting=True, can_swallow=True
    ),
}
"""How a patient can be found, by what is seen beside the reading."""

AS_GIVEN = sentence("as given").key
"""The patient with whom the panel was made, where that is none of these."""

AS_BEFORE: Literal["as before"] = "as before"
NOT_LOOKED = sentence("not looked for").key

SIGNS: dict[str, tuple[str, ...] | None] = {
    NOT_LOOKED: None,
    sentence("none").key: (),
    sentence("sweating, trembling").key: ("sweating", "trembling"),
    sentence("confusion").key: ("confusion",),
    sentence("convulsion").key: ("convulsion",),
}
ALERTNESS: dict[str, Alertness | Literal["as before"]] = {
    sentence("as before").key: AS_BEFORE, sentence("awake").key: "awake", sentence("drowsy").key: "drowsy", sentence("unresponsive").key: "unresponsive",
}  # fmt: skip
SWALLOWS_NOW: dict[str, bool | Literal["as before"]] = {
    AS_BEFORE: AS_BEFORE,
    sentence("safe").key: True,
    sentence("not safe").key: False,
}
_GAP = "2px 6px"


@dataclass(frozen=True, kw_only=True)
class LowState:
    """How the patient was found, by its name, and what has been done so far."""

    start: str
    events: tuple[Event, ...] = ()


class TreatLow(Panel):
    """The treatment of a low, walked in time.

    No glucose is simulated: type what the meter shows each time.

    Parameters
    ----------
    found : Observation, optional
        How the patient is found, until another start is chosen.
    order : str, optional
        The dose that waits: `lesson_order` if not given.
    site : Site, optional
        Whose rules; the teaching site if not given.

    Attributes
    ----------
    events : tuple of Event
        What has been done so far.
    moments : tuple of Moment
        The start and what followed.
    start : ipywidgets.Dropdown
        How the patient is found; another choice begins anew.
    buttons : dict of str to ipywidgets.Button
        One for every event, and "undo", by its words in English.
    reading : ipywidgets.Text
        The reading for the button "measure", as the meter shows it.
    signs, alertness, swallow : ipywidgets.Dropdown
        What was seen when it was measured; after each press nobody has looked again.
    record : ipywidgets.HTML
        Every moment: when, what, what followed, what was not right, and what is due.
    sheet : ipywidgets.HTML
        Every step and reason of the decision now.
    picture : LivePicture
        The decision now.
    """

    state: LowState
    _refusal = NOT_DONE

    def __init__(self, found: Observation = FOUND_LOW, order: str | None = None, site: Site | None = None) -> None:
        self.site = the_site(site)
        self._order = read_order(order or lesson_order(site=self.site))
        self._starts = STARTS if found in STARTS.values() else {AS_GIVEN: found, **STARTS}
        self.state = LowState(start=next(key for key, one in self._starts.items() if one == found))
        self.moments = walk(self._order, found, (), self.site)
        super().__init__(self.site.voice, "mixlab-treat-low")

    @property
    def events(self) -> tuple[Event, ...]:
        """What has been done so far."""
        return self.state.events

    def build(self) -> list[widgets.Widget]:
        self._drawn = draw_bedside(self._seen(), ROOM)
        self.picture = LivePicture(self._drawn.figure, describe_bedside(self._seen()), max_height="56vh")
        self._make_controls()
        return self._lay_out()

    def redraw(self) -> None:
        self._show(aloud="")

    def memory(self) -> list[tuple[object, str]]:
        return [*super().memory(), (self, "moments")]

    def _make_controls(self) -> None:
        site = self.site
        self.start = widgets.Dropdown(
            options=[(self._start_words(key), key) for key in self._starts],
            value=self.state.start,
            layout={"width": "auto"},
        )
        self.when(self.start, lambda _: self._go(()))
        self.reading = widgets.Text(continuous_update=False, layout={"width": "90px"})
        self.signs, self.alertness, self.swallow = (
            widgets.Dropdown(options=choices(options), layout={"width": "120px"})
            for options in (SIGNS, ALERTNESS, SWALLOWS_NOW)
        )
        seen = {"signs": self.signs, "alertness": self.alertness, "swallow": self.swallow}
        parts = {"start": self.start, "reading": self.reading, **seen}
        for part, control in parts.items():
            control.add_class(f"mixlab-treat-{part}")
        self.controls = dict(parts)
        for key, (words, make) in self._doings().items():
            self.button(key, words, partial(self._press, make))
        self.button("undo", say("undo"), lambda: self._go(self.events[:-1]))
        self.buttons = dict(self.pressable)
        self.record = CarriedHTML(log_html(self.moments))
        self.sheet = CarriedHTML(decision_html(self.moments[-1].decision))
        self._frame = PanelFrame(
            {
                "mixlab-treat-start": say("How the patient is found"),
                "mixlab-treat-reading": say("The new reading, {measure}", measure=site.glucose_unit),
                "mixlab-treat-signs": say("Signs now"),
                "mixlab-treat-alertness": say("Alertness now"),
                "mixlab-treat-swallow": say("Swallowing now"),
                "mixlab-treat-buttons": say("What you do"),
            }
        )

    def _doings(self) -> dict[str, tuple[str, Callable[[], Event]]]:
        """Return what can be done, by the words of its button in English: what stands on it, and the event."""
        recheck, amounts = self.site.recheck.value, (self.site.carbohydrate.value, self.site.serious_carbohydrate.value)
        return {
            "call for help": (say("call for help"), CallForHelp),
            **{
                f"{grams:g} g by mouth": (say("{grams} g by mouth", grams=number_text(grams)), partial(Carbohydrate, grams))
                for grams in amounts
            },
            "not by mouth, by protocol": (say("not by mouth, by protocol"), EmergencyTreatment),
            "wait 5 min": (_wait_words(5), lambda: Wait(5)),
            f"wait {recheck:g} min": (_wait_words(recheck), lambda: Wait(recheck)),
            "measure": (say("measure"), self._measured),
            "food": (say("food"), Eat),
            "tell nurse in charge": (say("tell nurse in charge"), TellNurse),
            "tell prescriber: “wait”": (
                say("tell {prescriber}: “wait”"), lambda: TellPrescriber(says_give=False),
            ),
            "tell prescriber: “give it”": (
                say("tell {prescriber}: “give it”"), lambda: TellPrescriber(says_give=True),
            ),
        }  # fmt: skip

    def _press(self, make: Callable[[], Event]) -> None:
        try:
            event = make()
        except NotAnAmount as refusal:
            self._object(refusal)
        else:
            self._go((*self.events, event))

    def _start_words(self, key: str) -> str:
        """Say how a patient is found: the reading as this ward's meter shows it, and what is seen."""
        return say("{reading}, {seen}", reading=look_at(self._starts[key].glucose, self.site).shown, seen=sentence(key))

    def _measured(self) -> Measure:
        return Measure(
            read_meter(self.reading.value, self.site),
            signs=SIGNS[self.signs.value],
            alertness=ALERTNESS[self.alertness.value],
            can_swallow=SWALLOWS_NOW[self.swallow.value],
        )

    def _lay_out(self) -> list[widgets.Widget]:
        *doing, undo = self.buttons.items()
        order = sentence(
            "<b>Order:</b> {order} · type each new reading in {measure}",
            order=self._order,
            measure=self.site.glucose_unit,
        )
        buttons = row(*(button for key, button in doing if key != "measure"), undo[1], gap=_GAP)
        buttons.add_class("mixlab-treat-buttons")
        measuring = row(
            *(marked_line(sentence("<b>New reading:</b>")), self.reading, marked_line(sentence("signs")), self.signs),
            *(marked_line(sentence("alertness")), self.alertness, marked_line(sentence("swallowing")), self.swallow),
            self.buttons["measure"],
            gap=_GAP,
        )
        beside = [widgets.VBox([self.picture, self.sheet], layout=COLUMN), widgets.VBox([self.record], layout=COLUMN)]
        return [
            *ban_note(self.site),
            marked_line(order),
            row(marked_line(sentence("<b>Found with:</b>")), self.start, gap=_GAP),
            buttons,
            measuring,
            self._notice,
            widgets.HBox(beside, layout={"grid_gap": "12px"}),
            self._frame,
        ]

    def _go(self, events: tuple[Event, ...]) -> None:
        start = self.start.value
        self.moments = walk(self._order, self._starts[start], events, self.site)
        self.state = LowState(start=start, events=events)
        if events and isinstance(events[-1], Measure):
            self.reading.value = ""  # a number is read off the meter anew each time
        self.signs.value, self.alertness.value, self.swallow.value = NOT_LOOKED, AS_BEFORE, AS_BEFORE
        self.accept()
        last = self.moments[-1]
        self._show(
            " ".join(str(part) for part in (last.remark, f"{answer_text(last.decision.choice)}.", last.due) if part)
        )

    def _show(self, aloud: str) -> None:
        seen = self._seen()
        with self._frame.carrying([self.record, self.sheet]):
            self.sheet.value = decision_html(seen.decision)
            self.record.value = log_html(self.moments)
            self._frame.show({self.picture: (self._drawn.show(seen), describe_bedside(seen))}, aloud=aloud)

    def _seen(self) -> Seen:
        *_, last = self.moments
        before = self.moments[-2].decision if len(self.moments) > 1 else None
        return Seen(
            order=self._order, observation=last.observation, site=self.site, decision=last.decision, before=before
        )


def _wait_words(minutes: float) -> str:
    return say("wait {minutes} min", minutes=number_text(minutes))


def treat_low(found: Observation = FOUND_LOW, order: str | None = None, site: Site | None = None) -> TreatLow:
    """Return the panel that walks the treatment of a low; see `TreatLow`.

    Examples
    --------
    >>> panel = treat_low()
    >>> panel.press("15 g by mouth")
    >>> panel.moments[-1].due.keys
    ('due.stay-and-measure-in', 'due.tell-now')
    """
    return TreatLow(found, order, site)
