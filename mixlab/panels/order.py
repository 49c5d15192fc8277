"""The order under the lens: what stands in it, what is unsafe about it and where, and whether it can be acted on."""

from __future__ import annotations

from typing import Any

import ipywidgets as widgets

from mixlab.care.order.checking import order_concerns
from mixlab.care.order.concern import Concern
from mixlab.pages.labels import label_html
from mixlab.pages.order import order_html, verdict_words
from mixlab.screen.frame import CarriedHTML, PanelFrame
from mixlab.ward.order.order import OrderError
from mixlab.ward.order.reading import read_order
from mixlab.ward.site.in_force import the_site
from mixlab.ward.site.record import Site
from mixlab.words import say, sentence

from .order_controls import FIRST_ORDER
from .own_words import choices, in_its_own_words

OWN = sentence("your own").key

EXAMPLES = {
    sentence("well written").key: FIRST_ORDER,
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
"""Invented orders, most of them faulty."""


@in_its_own_words
class OrderCheck(widgets.VBox):
    """The order check.

    Parameters
    ----------
    order : str
        The order to begin with.
    usual : str
        The patient's usual order, to compare doses with; empty for none.
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
        The order with every place marked and numbered, what it reads as or why it is not acted on, and the concerns.
    """

    def __init__(self, order: str = FIRST_ORDER, usual: str = FIRST_ORDER, site: Site | None = None) -> None:
        self.site = the_site(site)
        self.concerns: tuple[Concern, ...] = ()
        self.example = widgets.Dropdown(options=choices([OWN, *EXAMPLES]), layout={"width": "200px"})
        self.order_text = widgets.Textarea(value=order, rows=3, layout={"width": "auto", "flex": "1 1 auto"})
        self.usual = widgets.Text(value=usual, layout={"width": "auto", "flex": "1 1 auto"})
        self.answer = CarriedHTML()
        self._frame = PanelFrame(
            {
                "mixlab-order-example": say("Choose an order"),
                "mixlab-order-text": say("The order as written"),
                "mixlab-order-usual": say("The patient's usual order"),
            }
        )
        for control, part in ((self.example, "example"), (self.order_text, "text"), (self.usual, "usual")):
            control.add_class(f"mixlab-order-{part}")
        self.example.observe(self._on_example, "value")
        self.order_text.observe(self._check, "value")
        self.usual.observe(self._check, "value")
        super().__init__(
            [
                _row(say("Choose an order:"), self.example),
                _row(say("The order as written:"), self.order_text),
                _row(say("The patient's usual order:"), self.usual),
                self.answer,
                self._frame,
                widgets.HTML(_STYLE),
            ]
        )
        self.add_class("mixlab-order-check")
        self._check(None)

    def _on_example(self, change: Any) -> None:
        if change.new in EXAMPLES:
            self.order_text.value = EXAMPLES[change.new]

    def _check(self, _: Any) -> None:
        text = self.order_text.value
        if self.example.value in EXAMPLES and EXAMPLES[self.example.value] != text:
            self.example.value = OWN
        fault, usual = "", None
        try:
            usual = read_order(self.usual.value) if self.usual.value.strip() else None
        except OrderError as refusal:
            fault = say("The usual order cannot be compared with. {refusal}", refusal=refusal)
        self.concerns = order_concerns(text, usual=usual, site=self.site)
        verdict = verdict_words(text, self.concerns)
        with self._frame.carrying([self.answer]):
            self.answer.value = order_html(text, self.concerns, verdict, fault)
            self._frame.show(
                {}, aloud=say("{verdict} Concerns: {concerns}.", verdict=verdict, concerns=len(self.concerns))
            )


def _row(words: str, control: widgets.Widget) -> widgets.HBox:
    label = widgets.HTML(label_html(words), layout={"min_width": "220px"})
    return widgets.HBox([label, control])


_STYLE = """<style>
.mixlab-order-check .widget-html-content { line-height: 1.4; font-size: 15px; }
.mixlab-order-check p { margin: 4px 0; }
.mixlab-order-check ol { margin: 0; padding-left: 26px; }
.mixlab-order-check textarea { font-size: 16px; }
.mixlab-order-marked { font-size: 20px; padding: 6px 10px; border: 1.5px solid currentColor; }
.mixlab-order-marked u { text-decoration-thickness: 3px; text-underline-offset: 4px; background: #fbe3d3; color: #1a1a1a; }
.mixlab-order-verdict { font-weight: bold; padding-left: 10px; border-left: 6px double currentColor; }
@media (min-height: 900px) {
  .mixlab-order-check .widget-html-content { font-size: 18px; }
  .mixlab-order-marked { font-size: 26px; }
}
</style>"""


def order_check(order: str = FIRST_ORDER, usual: str = FIRST_ORDER, site: Site | None = None) -> OrderCheck:
    """Return the order check; see :class:`OrderCheck`."""
    return OrderCheck(order, usual, site)
