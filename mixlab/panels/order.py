"""The order under the lens: what stands in it, what is unsafe about it and where, and whether it can be acted on."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import ipywidgets as widgets

from mixlab.care.decision.chart import OrderAnswer, answer_concerns
from mixlab.care.order.checking import order_concerns
from mixlab.care.order.concern import Concern
from mixlab.care.order.lesson import lesson_order
from mixlab.pages.order import order_html, verdict_words
from mixlab.screen.frame import CarriedHTML, PanelFrame
from mixlab.screen.panel import Panel
from mixlab.ward.order.order import OrderError
from mixlab.ward.order.reading import read_order
from mixlab.ward.site.in_force import the_site
from mixlab.ward.site.record import Site
from mixlab.words import say, sentence

from .rows import ban_note, bold, choices

OWN = sentence("your own").key

FAULTY = {
    sentence("in a hurry").key: "Reg 8U + NPH20 units SC QD",
    sentence("a point too many").key: "regular insulin 8.0 units and NPH insulin 20 units subcut before breakfast",
    sentence("whose dose?").key: "regular insulin, 8 units NPH insulin, 20 units subcut before breakfast",
    sentence("which dose?").key: "regular insulin 8 to 10 units and NPH insulin 20 units subcut before breakfast",
    sentence("by the scale").key: "sliding scale regular insulin and NPH insulin 20 units subcut before breakfast",
    sentence("something missing").key: "regular insulin 8 and NPH insulin 20 units",
    sentence("wrong company").key: "regular insulin 8 units and insulin glargine 20 units subcut before breakfast",
    sentence("ten times").key: "regular insulin 80 units and NPH insulin 20 units subcut 30 minutes before breakfast",
    sentence(
        "changed places"
    ).key: "regular insulin 20 units and NPH insulin 8 units subcut 30 minutes before breakfast",
}
"""Invented orders, each faulty in its way."""


@dataclass(frozen=True, kw_only=True)
class OrderState:
    """What the controls say: which ready-made order, the order as typed, and the patient's usual one."""

    example: str
    order_text: str
    usual: str


class OrderCheck(Panel):
    """The order check.

    Parameters
    ----------
    order, usual : str, optional
        The order to begin with, and the patient's usual one, to compare doses with; `lesson_order` if not given, "" for none.
    site : Site, optional
        The site in force if not given.

    Attributes
    ----------
    example : ipywidgets.Dropdown
        Ready-made orders to choose from.
    order_text : ipywidgets.Textarea
        The order as the prescriber wrote it, one line or several.
    usual : ipywidgets.Text
        The patient's usual order.
    concerns : tuple of Concern
        All that was found, by place.
    answer : ipywidgets.HTML
        The order with every place marked and numbered, what it asks for, what it reads as or why it is not acted on, and the
        concerns.
    """

    state: OrderState

    def __init__(self, order: str | None = None, usual: str | None = None, site: Site | None = None) -> None:
        self.site = the_site(site)
        lesson = lesson_order(site=self.site)
        self._examples = {sentence("well written").key: lesson, **FAULTY}
        self.concerns: tuple[Concern, ...] = ()
        self.state = OrderState(
            example=OWN, order_text=lesson if order is None else order, usual=lesson if usual is None else usual
        )
        super().__init__(self.site.voice, "mixlab-order-check")

    def build(self) -> list[widgets.Widget]:
        wide = {"width": "auto", "flex": "1 1 auto"}
        self.example = widgets.Dropdown(options=choices([OWN, *self._examples]), value=OWN, layout={"width": "200px"})
        self.order_text = widgets.Textarea(value=self.state.order_text, rows=3, layout=wide)
        self.usual = widgets.Text(value=self.state.usual, layout=wide)
        self.answer = CarriedHTML()
        self.controls = {"example": self.example, "order": self.order_text, "usual": self.usual}
        self._frame = PanelFrame(
            {
                "mixlab-order-example": say("Choose an order"),
                "mixlab-order-text": say("The order as written"),
                "mixlab-order-usual": say("The patient's usual order"),
            }
        )
        for control, part in ((self.example, "example"), (self.order_text, "text"), (self.usual, "usual")):
            control.add_class(f"mixlab-order-{part}")
        self.when(self.example, self._choose)
        self.when(self.order_text, lambda text: self._change(order_text=text))
        self.when(self.usual, lambda text: self._change(usual=text))
        return [
            *ban_note(self.site),
            _row(say("Choose an order:"), self.example),
            _row(say("The order as written:"), self.order_text),
            _row(say("The patient's usual order:"), self.usual),
            self.answer,
            self._frame,
        ]

    def begin(self) -> None:
        self._show()

    @property
    def decision(self) -> OrderAnswer:
        """What the order asks for by itself: to hold and ask, or to go on to the patient."""
        return answer_concerns(self.concerns, self.site)

    def redraw(self) -> None:
        """Nothing is drawn on this panel: its controls and words say it all."""

    def memory(self) -> list[tuple[object, str]]:
        return [*super().memory(), (self, "concerns")]

    def _choose(self, example: str) -> None:
        self._change(example=example, order_text=self._examples.get(example, self.state.order_text))

    def _change(self, **values: Any) -> None:
        """Take new values of the state and show what follows; an order of one's own leaves the examples."""
        state = replace(self.state, **values)
        if self._examples.get(state.example, state.order_text) != state.order_text:
            state = replace(state, example=OWN)
        self.state = state
        with self.settling():
            self.example.value, self.order_text.value = state.example, state.order_text
        self._show()

    def _show(self) -> None:
        text, fault, usual = self.state.order_text, "", None
        try:
            usual = read_order(self.state.usual) if self.state.usual.strip() else None
        except OrderError as refusal:
            fault = say("The usual order cannot be compared with. {refusal}", refusal=refusal)
        self.concerns = order_concerns(text, usual=usual, site=self.site)
        verdict, answer = verdict_words(text, self.concerns), self.decision
        with self._frame.carrying([self.answer]):
            self.answer.value = order_html(text, self.concerns, answer, verdict, fault)
            headline, count = answer.headline.with_capitals(), len(self.concerns)
            aloud = say(
                "{headline}. {verdict} Concerns: {concerns}.", headline=headline, verdict=verdict, concerns=count
            )
            self._frame.show({}, aloud=aloud)


def _row(words: str, control: widgets.Widget) -> widgets.HBox:
    label = bold(words)
    label.layout.min_width = "220px"
    return widgets.HBox([label, control])


def order_check(order: str | None = None, usual: str | None = None, site: Site | None = None) -> OrderCheck:
    """Return the order check; see `OrderCheck`.

    Examples
    --------
    >>> [concern.text for concern in order_check("regular insulin 8U and NPH insulin 20 units subcut at 07:30").concerns]
    ['8U']
    """
    return OrderCheck(order, usual, site)
