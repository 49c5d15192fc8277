"""The controls of an order: typed as text, and its two doses by slider or by number."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from typing import Any

import ipywidgets as widgets

from mixlab.pages.labels import label_html
from mixlab.quantities import exact_units, number_text
from mixlab.screen.frame import CarriedNumber, CarriedText
from mixlab.screen.panel import Panel
from mixlab.screen.setting import Control
from mixlab.ward.order.order import Order, OrderError
from mixlab.ward.order.reading import read_order
from mixlab.words import say, sentence

_SLIDER_TOP_UNITS = 60

_LOOKS = (sentence("clear").key, sentence("cloudy").key)


class OrderControls:
    """An order as text, and its two doses; a dose that is moved rewrites the text.

    Parameters
    ----------
    panel : Panel
        On which they stand; it says why a dose cannot be moved.
    order : str
        The order they begin with; it can be read.
    change : callable
        Called with the text of an order when a person typed it or moved a dose.

    Attributes
    ----------
    text : ipywidgets.Text
        The order; Enter or leaving the box reads it.
    clear_units, cloudy_units : ipywidgets.IntSlider
        The two doses in whole units.
    clear_box, cloudy_box : ipywidgets.FloatText
        The same for typing, half units included.
    order : Order
        The last order that could be read: the sliders change its doses.
    fault : str
        Why the typed order cannot be read; empty when it can.
    """

    def __init__(self, panel: Panel, order: str, change: Callable[[str], None]) -> None:
        self._panel, self._change = panel, change
        self.order, self.fault = read_order(order), ""
        self.text = CarriedText(continuous_update=False, layout={"width": "auto", "flex": "1 1 auto"})
        self.text.add_class("mixlab-order")
        panel.when(self.text, change)
        self.clear_units, self.clear_box = self._dose("clear")
        self.cloudy_units, self.cloudy_box = self._dose("cloudy")
        self._names = {look: widgets.HTML(layout={"min_width": "110px"}) for look in _LOOKS}

    def _dose(self, look: str) -> tuple[widgets.IntSlider, CarriedNumber]:
        layout = {"width": "auto", "flex": "1 1 60px", "min_width": "60px"}
        slider = widgets.IntSlider(min=0, max=_SLIDER_TOP_UNITS, readout=False, layout=layout)
        box = CarriedNumber(step=1, layout={"width": "68px"})
        for control, part in ((slider, "slider"), (box, "box")):
            control.add_class(f"mixlab-{look}-{part}")
            self._panel.when(control, partial(self._on_dose, look))
        return slider, box

    @property
    def carried(self) -> list[Any]:
        """The controls whose changes travel with the pictures."""
        return [self.text, self.clear_box, self.cloudy_box]

    @property
    def controls(self) -> dict[str, Control]:
        """What `Panel.set` moves."""
        return {"order": self.text, "clear": self.clear_box, "cloudy": self.cloudy_box}

    @property
    def memory(self) -> list[tuple[object, str]]:
        """What they remember, for `Panel.memory`."""
        return [(self, "order"), (self, "fault")]

    @property
    def names(self) -> dict[str, str]:
        """What each control is called, for `PanelFrame`."""
        return {
            "mixlab-order": say("Order"),
            "mixlab-clear-slider": say("Clear insulin, {units}"),
            "mixlab-clear-box": say("Clear insulin, {units}, typed"),
            "mixlab-cloudy-slider": say("Cloudy insulin, {units}"),
            "mixlab-cloudy-box": say("Cloudy insulin, {units}, typed"),
        }

    @property
    def readings(self) -> dict[str, str | list[str]]:
        """How the sliders are read out, for `PanelFrame`."""
        words = say("{count} {units}", count="{}")  # the page puts the number in
        return {"mixlab-clear-slider": words, "mixlab-cloudy-slider": words}

    def row(self, look: str, layout: dict[str, str]) -> widgets.HBox:
        """Return the name, slider and box of one dose side by side."""
        slider, box = (self.clear_units, self.clear_box) if look == "clear" else (self.cloudy_units, self.cloudy_box)
        return widgets.HBox([self._names[look], slider, box], layout=layout)

    def take(self, order: Order) -> None:
        """Take an order that could be read."""
        self.order, self.fault = order, ""

    def remember(self, text: str) -> None:
        """Keep a text's order for the sliders if it can be read and names a clear and a cloudy insulin."""
        try:
            order = read_order(text)
            _ = order.clear
        except OrderError as refusal:
            self.fault = str(refusal)
            return
        self.take(order)

    def settle(self, text: str, *, doses: bool) -> None:
        """Let the controls say what an order says, without calling back; the doses only if asked."""
        with self._panel.settling():
            self.text.value = text
            if doses:
                self._settle_doses()

    def _settle_doses(self) -> None:
        for look, slider, box, dose in (
            ("clear", self.clear_units, self.clear_box, self.order.clear),
            ("cloudy", self.cloudy_units, self.cloudy_box, self.order.cloudy),
        ):
            box.value = dose.units
            # Only one of its own places: a value between two comes back from the page changed.
            slider.value = min(max(math.floor(dose.units), slider.min), slider.max)
            self._names[look].value = label_html(dose.insulin.name, sentence(look))

    def _with_dose(self, look: str, units: float) -> str:
        first, second = (
            replace(dose, units=exact_units(units)) if dose.insulin.look == look else dose for dose in self.order.doses
        )
        return str(replace(self.order, doses=(first, second)))

    def _on_dose(self, look: str, units: float) -> None:
        if self.fault:
            self._panel.refuse(say("{fault} Correct the typed order before you move a dose.", fault=self.fault))
            self.settle(self.text.value, doses=True)
            return
        if not 0 <= units < math.inf:
            self._panel.refuse(
                say("{amount} {units} cannot be drawn up. Enter a dose above 0.", amount=number_text(units))
            )
            return
        self._change(self._with_dose(look, units))
