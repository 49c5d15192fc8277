"""Treat, wait, measure again: a low walked through in time, one press after the other."""

from __future__ import annotations

from collections.abc import Callable
from html import escape
from typing import Any, Literal

import ipywidgets as widgets

from ..care.treating import Moment, walk
from ..care.treatment import CallForHelp, Carbohydrate, Eat, EmergencyTreatment, Event, Measure, TellPrescriber, Wait
from ..figures.bedside import Seen, describe_bedside, draw_bedside
from ..figures.style import ROOM
from ..quantities import Glucose, NotAnAmount, number_text
from ..ward.meter import read_meter
from ..ward.observation import Alertness, Observation
from ..ward.reading import read_order
from ..ward.site import Site, teaching_site
from ..words import mark, say
from .bedside_words import sheet_html
from .frame import CarriedHTML, PanelFrame
from .order_controls import FIRST_ORDER
from .picture import LivePicture

FOUND = Observation(glucose=Glucose(61, "mg/dL"), signs=("sweating", "trembling"), eating=True, can_swallow=True)
"""The patient of the demonstration: a low with signs, awake, able to swallow, breakfast on the way."""


SIGNS: dict[str, tuple[str, ...] | None] = {
    "not looked for": None,
    "none": (),
    "sweating, trembling": ("sweating", "trembling"),
    "confusion": ("confusion",),
    "convulsion": ("convulsion",),
}
ALERTNESS: dict[str, Alertness | Literal["as before"]] = {
    "as before": "as before", "awake": "awake", "drowsy": "drowsy", "unresponsive": "unresponsive",
}  # fmt: skip
SWALLOW: dict[str, bool | Literal["as before"]] = {"as before": "as before", "safe": True, "not safe": False}
_ROW = {"flex_flow": "row wrap", "grid_gap": mark("2px 6px"), "align_items": "center"}


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
        One for every event, and "undo".
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
        self.site = site or teaching_site()
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
            widgets.Dropdown(options=list(options), layout={"width": "120px"})
            for options in (SIGNS, ALERTNESS, SWALLOW)
        )
        for control, part in ((self.signs, "signs"), (self.alertness, "alertness"), (self.swallow, "swallow")):
            control.add_class(f"mixlab-treat-{part}")
        grams, recheck = site.carbohydrate.value, site.recheck.value
        events: dict[str, Callable[[], Event]] = {
            "call for help": CallForHelp,
            f"{number_text(grams)} g by mouth": lambda: Carbohydrate(grams),
            "not by mouth, by protocol": EmergencyTreatment,
            "wait 5 min": lambda: Wait(5),
            f"wait {number_text(recheck)} min": lambda: Wait(recheck),
            "measure": self._measured,
            "food": Eat,
            "tell prescriber: “wait”": lambda: TellPrescriber(says_give=False),
            "tell prescriber: “give it”": lambda: TellPrescriber(says_give=True),
        }
        self.buttons = {words: self._button(words, self._doer(make)) for words, make in events.items()}
        self.buttons["undo"] = self._button("undo", lambda _: self._go(self.events[:-1]))
        self.record = CarriedHTML(self._log_html())
        self.sheet = CarriedHTML(sheet_html(self.moments[-1].decision))
        self._notice = widgets.HTML()
        self._frame = PanelFrame(
            {
                "mixlab-treat-reading": say("The new reading, {glucose_unit}", glucose_unit=site.glucose_unit),
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
        def handler(_: Any) -> None:
            try:
                event = make()
            except NotAnAmount as refusal:
                self._say(str(refusal))
            else:
                self.do(event)

        return handler

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
            *(say("<b>New reading:</b>"), self.reading, "signs", self.signs, "alertness", self.alertness),
            *("swallowing", self.swallow, self.buttons["measure"]),
        ]
        parts = [button for words, button in doing if words != "measure"]
        measure = widgets.HBox(
            [widgets.HTML(part) if isinstance(part, str) else part for part in measuring], layout=_ROW
        )
        buttons = widgets.HBox([*parts, undo[1]], layout=_ROW)
        buttons.add_class("mixlab-treat-buttons")
        half = {"width": "auto", "flex": "1 1 0", "min_width": "0", "overflow": "visible"}
        return [
            widgets.HTML(
                say(
                    "<b>Order:</b> {order} · type each new reading in {glucose_unit}",
                    order=escape(str(self._order)),
                    glucose_unit=self.site.glucose_unit,
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
        self.signs.value, self.alertness.value, self.swallow.value = say("not looked for"), "as before", "as before"
        self._say("")
        seen, last = self._seen(), self.moments[-1]
        with self._frame.carrying([self.record, self.sheet]):
            self.sheet.value = sheet_html(last.decision)
            self.record.value = self._log_html()
            self._frame.show(
                {self.picture: (self._drawn.show(seen), describe_bedside(seen))},
                aloud=" ".join(part for part in (last.remark, f"{last.decision.choice}.", last.due) if part),
            )

    def _seen(self) -> Seen:
        *_, last = self.moments
        before = self.moments[-2].decision if len(self.moments) > 1 else None
        return Seen(
            order=self._order, observation=last.observation, site=self.site, decision=last.decision, before=before
        )

    def _say(self, sentence: str) -> None:
        self.message = sentence
        words = say("<b>Not done:</b> {text}", text=escape(sentence)) if sentence else ""
        self._notice.value = f'<div class="mixlab-refusal" role="alert">{words}</div>' if sentence else ""

    def _log_html(self) -> str:
        lines = "".join(f"<li>{moment_html(moment)}</li>" for moment in self.moments)
        return say("<ol>{lines}</ol><p><b>Now:</b> {due}</p>", lines=lines, due=escape(self.moments[-1].due))


def moment_html(moment: Moment) -> str:
    """Return one line of the log."""
    remark = say(" <b>Not right:</b> {remark}", remark=escape(moment.remark)) if moment.remark else ""
    return say(
        "minute {minute}: {event_words} → <b>{choice}</b>.{remark}",
        minute=number_text(moment.minute),
        event_words=escape(event_words(moment)),
        choice=escape(moment.decision.choice),
        remark=remark,
    )


def event_words(moment: Moment) -> str:
    """Return what was done, in words."""
    match moment.event:
        case None:
            signs = ", ".join(moment.observation.signs or ()).replace("-", " ") or say("no signs")
            return say("found with {reading}, {signs}", reading=moment.decision.reading, signs=signs)
        case Carbohydrate(grams):
            return say("{grams} g of fast carbohydrate by mouth", grams=number_text(grams))
        case EmergencyTreatment():
            return say("treated not by mouth, by the emergency protocol")
        case Wait(minutes):
            return say("waited {minutes} minutes", minutes=number_text(minutes))
        case Measure(signs=signs):
            named = ", ".join(signs or ()).replace("-", " ")
            seen = say("nobody looked for signs") if signs is None else named or say("no signs")
            return say("measured {reading}, {seen}", reading=moment.decision.reading, seen=seen)
        case Eat():
            return say("food eaten")
        case TellPrescriber(says_give):
            return say(
                "prescriber told, who says {which}", which=say("to give this dose") if says_give else say("to wait")
            )
        case CallForHelp():
            return say("called for help")


_STYLE = """<style>
.mixlab-treat-low .widget-html-content { line-height: 1.35; font-size: 15px; }
.mixlab-treat-low .widget-html-content ol, .mixlab-treat-low .widget-html-content ul { margin: 0 0 6px; padding-left: 24px; }
@media (min-height: 900px) { .mixlab-treat-low .widget-html-content { font-size: 18px; } }
</style>"""


def treat_low(found: Observation = FOUND, order: str = FIRST_ORDER, site: Site | None = None) -> TreatLow:
    """Return the panel that walks the treatment of a low; see :class:`TreatLow`."""
    return TreatLow(found, order, site)
