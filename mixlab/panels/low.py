"""Treat, wait, measure again: a low walked through in time, one press after the other."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Literal

import ipywidgets as widgets

from mixlab.care.low.events import (
    CallForHelp,
    Carbohydrate,
    Eat,
    EmergencyTreatment,
    Event,
    Measure,
    TellPrescriber,
    Wait,
)
from mixlab.care.low.treatment import walk
from mixlab.figures.decision.bedside import Seen, describe_bedside, draw_bedside
from mixlab.figures.style import ROOM
from mixlab.pages.decision import decision_html
from mixlab.pages.labels import line_html
from mixlab.pages.low import log_html
from mixlab.pages.notices import refusal_html
from mixlab.quantities import Glucose, NotAnAmount, number_text
from mixlab.screen.frame import CarriedHTML, PanelFrame
from mixlab.screen.picture import LivePicture
from mixlab.ward.meter import read_meter
from mixlab.ward.observation import Alertness, Observation
from mixlab.ward.order.reading import read_order
from mixlab.ward.site.in_force import the_site
from mixlab.ward.site.record import Site
from mixlab.words import Sentence, say, sentence

from .order_controls import FIRST_ORDER
from .own_words import choices, in_its_own_words

FOUND = Observation(glucose=Glucose(61, "mg/dL"), signs=("sweating", "trembling"), eating=True, can_swallow=True)
"""The patient of the demonstration: a low with signs, awake, able to swallow, breakfast on the way."""

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
SWALLOW: dict[str, bool | Literal["as before"]] = {
    AS_BEFORE: AS_BEFORE,
    sentence("safe").key: True,
    sentence("not safe").key: False,
}
_ROW = {"flex_flow": "row wrap", "grid_gap": "2px 6px", "align_items": "center"}


@in_its_own_words
class TreatLow(widgets.VBox):
    """The treatment of a low, walked in time.

    No glucose is simulated: type what the meter shows each time.

    Parameters
    ----------
    found : Observation, optional
        How the patient is found.
    order : str
        The dose that waits.
    site : Site, optional
        Whose rules; the teaching site if not given.

    Attributes
    ----------
    events : tuple of Event
        What has been done so far.
    moments : tuple of Moment
        The start and what followed.
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
    message : str
        Why something cannot be done; empty when all is well.
    picture : LivePicture
        The decision now.
    """

    def __init__(self, found: Observation = FOUND, order: str = FIRST_ORDER, site: Site | None = None) -> None:
        self.site = the_site(site)
        self.events: tuple[Event, ...] = ()
        self.message = ""
        self._order, self._found = read_order(order), found
        self.moments = walk(self._order, found, (), self.site)
        self._drawn = draw_bedside(self._seen(), ROOM)
        self.picture = LivePicture(self._drawn.figure, describe_bedside(self._seen()), max_height="56vh")
        self._make_controls()
        super().__init__(self._lay_out())
        self.add_class("mixlab-treat-low")

    def do(self, event: Event) -> None:
        """Do one thing, and show what follows."""
        self._go((*self.events, event))

    def start_again(self) -> None:
        """Go back to how the patient was found."""
        self._go(())

    def _make_controls(self) -> None:
        site = self.site
        self.reading = widgets.Text(continuous_update=False, layout={"width": "90px"})
        self.reading.add_class("mixlab-treat-reading")
        self.signs, self.alertness, self.swallow = (
            widgets.Dropdown(options=choices(options), layout={"width": "120px"})
            for options in (SIGNS, ALERTNESS, SWALLOW)
        )
        for control, part in ((self.signs, "signs"), (self.alertness, "alertness"), (self.swallow, "swallow")):
            control.add_class(f"mixlab-treat-{part}")
        grams, recheck = site.carbohydrate.value, site.recheck.value
        events: dict[str, tuple[str, Callable[[], Event]]] = {
            "call for help": (say("call for help"), CallForHelp),
            f"{grams:g} g by mouth": (say("{grams} g by mouth", grams=number_text(grams)), lambda: Carbohydrate(grams)),
            "not by mouth, by protocol": (say("not by mouth, by protocol"), EmergencyTreatment),
            "wait 5 min": (_wait_words(5), lambda: Wait(5)),
            f"wait {recheck:g} min": (_wait_words(recheck), lambda: Wait(recheck)),
            "measure": (say("measure"), self._measured),
            "food": (say("food"), Eat),
            "tell prescriber: “wait”": (
                say("tell {prescriber}: “wait”"), lambda: TellPrescriber(says_give=False),
            ),
            "tell prescriber: “give it”": (
                say("tell {prescriber}: “give it”"), lambda: TellPrescriber(says_give=True),
            ),
        }  # fmt: skip
        self.buttons = {key: self._button(words, self._doer(make)) for key, (words, make) in events.items()}
        self.buttons["undo"] = self._button(say("undo"), lambda _: self._go(self.events[:-1]))
        self.record = CarriedHTML(log_html(self.moments))
        self.sheet = CarriedHTML(decision_html(self.moments[-1].decision))
        self._notice = widgets.HTML()
        self._frame = PanelFrame(
            {
                "mixlab-treat-reading": say("The new reading, {measure}", measure=site.glucose_unit),
                "mixlab-treat-signs": say("Signs now"),
                "mixlab-treat-alertness": say("Alertness now"),
                "mixlab-treat-swallow": say("Swallowing now"),
                "mixlab-treat-buttons": say("What you do"),
            }
        )

    def _button(self, words: str, handler: Callable[[Any], None]) -> widgets.Button:
        button = widgets.Button(description=words, layout={"width": "auto"})
        button.on_click(handler)
        return button

    def _doer(self, make: Callable[[], Event]) -> Callable[[Any], None]:
        return lambda _: self._press(make)

    def _press(self, make: Callable[[], Event]) -> None:
        try:
            event = make()
        except NotAnAmount as refusal:
            self._say(str(refusal))
        else:
            self.do(event)

    def _measured(self) -> Measure:
        return Measure(
            read_meter(self.reading.value, self.site),
            signs=SIGNS[self.signs.value],
            alertness=ALERTNESS[self.alertness.value],
            can_swallow=SWALLOW[self.swallow.value],
        )

    def _lay_out(self) -> list[widgets.Widget]:
        *doing, undo = self.buttons.items()
        measuring = [
            *(sentence("<b>New reading:</b>"), self.reading, sentence("signs"), self.signs),
            *(sentence("alertness"), self.alertness, sentence("swallowing"), self.swallow, self.buttons["measure"]),
        ]
        parts = [button for key, button in doing if key != "measure"]
        measure = widgets.HBox(
            [widgets.HTML(line_html(part)) if isinstance(part, Sentence) else part for part in measuring], layout=_ROW
        )
        buttons = widgets.HBox([*parts, undo[1]], layout=_ROW)
        buttons.add_class("mixlab-treat-buttons")
        half = {"width": "auto", "flex": "1 1 0", "min_width": "0", "overflow": "visible"}
        return [
            widgets.HTML(
                line_html(
                    sentence(
                        "<b>Order:</b> {order} · type each new reading in {measure}",
                        order=self._order,
                        measure=self.site.glucose_unit,
                    )
                )
            ),
            buttons,
            measure,
            self._notice,
            widgets.HBox(
                [widgets.VBox([self.picture, self.sheet], layout=half), widgets.VBox([self.record], layout=half)],
                layout={"grid_gap": "12px"},
            ),
            self._frame,
            widgets.HTML(_STYLE),
        ]

    def _go(self, events: tuple[Event, ...]) -> None:
        self.moments = walk(self._order, self._found, events, self.site)
        self.events = events
        if events and isinstance(events[-1], Measure):
            self.reading.value = ""  # a number is read off the meter anew each time
        self.signs.value, self.alertness.value, self.swallow.value = NOT_LOOKED, AS_BEFORE, AS_BEFORE
        self._say("")
        seen, last = self._seen(), self.moments[-1]
        with self._frame.carrying([self.record, self.sheet]):
            self.sheet.value = decision_html(last.decision)
            self.record.value = log_html(self.moments)
            self._frame.show(
                {self.picture: (self._drawn.show(seen), describe_bedside(seen))},
                aloud=" ".join(str(part) for part in (last.remark, f"{say(last.decision.choice)}.", last.due) if part),
            )

    def _seen(self) -> Seen:
        *_, last = self.moments
        before = self.moments[-2].decision if len(self.moments) > 1 else None
        return Seen(
            order=self._order, observation=last.observation, site=self.site, decision=last.decision, before=before
        )

    def _say(self, why: str) -> None:
        self.message = why
        self._notice.value = refusal_html(sentence("<b>Not done:</b> {text}", text=why)) if why else ""


def _wait_words(minutes: float) -> str:
    return say("wait {minutes} min", minutes=number_text(minutes))


_STYLE = """<style>
.mixlab-treat-low .widget-html-content { line-height: 1.35; font-size: 15px; }
.mixlab-treat-low .widget-html-content ol, .mixlab-treat-low .widget-html-content ul { margin: 0 0 6px; padding-left: 24px; }
@media (min-height: 900px) { .mixlab-treat-low .widget-html-content { font-size: 18px; } }
</style>"""


def treat_low(found: Observation = FOUND, order: str = FIRST_ORDER, site: Site | None = None) -> TreatLow:
    """Return the panel that walks the treatment of a low; see :class:`TreatLow`."""
    return TreatLow(found, order, site)
