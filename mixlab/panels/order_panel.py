"""A panel about one order: typed as text, its two doses moved by slider or by number, and what follows from it."""

from __future__ import annotations

import math
from collections.abc import Callable
from contextlib import suppress
from dataclasses import replace
from functools import partial
from typing import Any, Generic, Protocol, TypeVar

import ipywidgets as widgets
import numpy as np

from mixlab.care.action.absorption import NoModel
from mixlab.care.day.dose_day import CannotPlan
from mixlab.care.dosing import CannotPrepare, MustNotMix
from mixlab.pages.labels import label_html
from mixlab.quantities import NotAClockTime, NotAnAmount, exact_units, number_text
from mixlab.screen.frame import CarriedNumber, CarriedText
from mixlab.screen.panel import Panel
from mixlab.ward.order.order import Order, OrderError
from mixlab.ward.order.reading import read_order
from mixlab.ward.site.record import Site
from mixlab.words import say, sentence

from .rows import THIRD

HOURS = np.arange(289) / 12
"""What curves are drawn at: every five minutes for 24 h."""

NOT_SHOWABLE = (OrderError, CannotPrepare, NotAnAmount, NoModel, NotAClockTime, CannotPlan)
"""Why a state cannot be shown: each says so to the learner."""

_SLIDER_TOP_UNITS = 60

_LOOKS = (sentence("clear").key, sentence("cloudy").key)


class _OfAnOrder(Protocol):
    @property
    def order(self) -> Order: ...


Viewed = TypeVar("Viewed", bound=_OfAnOrder)


class OrderPanel(Panel, Generic[Viewed]):
    """An order as text, its two doses, and what follows; a dose that is moved rewrites the text.

    Parameters
    ----------
    lesson : frozen record with an `order_text`
        The state that the panel is made from: its order is allowed, if the ward allows any pair in one syringe.
    see : callable
        Computes from a state and a site what is shown, or raises one of `NOT_SHOWABLE`.
    site : Site
        Whose rules and words.
    kind : str
        As for `Panel`.
    **typed
        The values of the state to begin with; they are read, and refused, like typed ones.

    Attributes
    ----------
    order_text : ipywidgets.Text
        The order; Enter or leaving the box reads it.
    clear_units, cloudy_units : ipywidgets.IntSlider
        The two doses in whole units.
    clear_box, cloudy_box : ipywidgets.FloatText
        The same for typing, half units included.
    """

    def __init__(self, lesson: Any, see: Callable[[Any, Site], Viewed], site: Site, kind: str, **typed: Any) -> None:
        self.site, self.state, self._see, self._typed = site, lesson, see, typed
        self._order = read_order(lesson.order_text)  # the last that could be read: the sliders change its doses
        self._fault = ""  # why the typed order cannot be read
        self._view: Viewed | None = None  # stays so where the ward allows no pair in one syringe: nothing is drawn
        with suppress(MustNotMix):
            self._view = see(lesson, site)
        super().__init__(site.voice, kind)

    @property
    def _seen(self) -> Viewed:
        return self._view or self._see(self.state, self.site)

    def begin(self) -> None:
        """Read the first order like any typed one, and refuse it like one."""
        self._settle()
        self._change(**self._typed)

    def redraw(self) -> None:
        if self._view:
            self._show(self._view, aloud="")

    def memory(self) -> list[tuple[object, str]]:
        return [*super().memory(), (self, "_view"), (self, "_order"), (self, "_fault")]

    def _show(self, view: Viewed, aloud: str) -> None:
        """Let the pictures show what was computed."""
        raise NotImplementedError

    def _follow(self) -> None:
        """Let controls and pictures show what the last state comes to."""
        raise NotImplementedError

    def _settle(self) -> None:
        """Let every control say what the state says, without calling the handlers again."""
        raise NotImplementedError

    def _make_order(self) -> None:
        self.order_text = CarriedText(continuous_update=False, layout={"width": "auto", "flex": "1 1 auto"})
        self.order_text.add_class("mixlab-order")
        self.when(self.order_text, self._setter("order_text"))
        self.clear_units, self.clear_box = self._dose("clear")
        self.cloudy_units, self.cloudy_box = self._dose("cloudy")
        self._names_of_doses = {look: widgets.HTML(layout={"min_width": "110px"}) for look in _LOOKS}
        self._carried = [self.order_text, self.clear_box, self.cloudy_box]  # what travels with the pictures
        self.controls = {"order": self.order_text, "clear": self.clear_box, "cloudy": self.cloudy_box}
        self._names = {
            "mixlab-order": say("Order"),
            "mixlab-clear-slider": say("Clear insulin, {units}"),
            "mixlab-clear-box": say("Clear insulin, {units}, typed"),
            "mixlab-cloudy-slider": say("Cloudy insulin, {units}"),
            "mixlab-cloudy-box": say("Cloudy insulin, {units}, typed"),
        }
        words = say("{count} {units}", count="{}")  # the page puts the number in
        self._readings: dict[str, str | list[str]] = {"mixlab-clear-slider": words, "mixlab-cloudy-slider": words}

    def _dose(self, look: str) -> tuple[widgets.IntSlider, CarriedNumber]:
        layout = {"width": "auto", "flex": "1 1 60px", "min_width": "60px"}
        slider = widgets.IntSlider(min=0, max=_SLIDER_TOP_UNITS, readout=False, layout=layout)
        box = CarriedNumber(step=1, layout={"width": "68px"})
        for control, part in ((slider, "slider"), (box, "box")):
            control.add_class(f"mixlab-{look}-{part}")
            self.when(control, partial(self._on_dose, look))
        return slider, box

    def _setter(self, field: str) -> Callable[[Any], None]:
        return lambda value: self._change(**{field: value})

    def _dose_rows(self) -> list[widgets.HBox]:
        """Return name, slider and box of each dose side by side."""
        parts = ((self.clear_units, self.clear_box), (self.cloudy_units, self.cloudy_box))
        return [
            widgets.HBox([name, *pair], layout=THIRD)
            for name, pair in zip(self._names_of_doses.values(), parts, strict=True)
        ]

    def _change(self, **values: Any) -> None:
        """Take new values of the state and show what follows from them, or say why they cannot be shown."""
        state = replace(self.state, **values)
        if state == self.state and self._view and not self.message:
            return
        self.state = state
        try:
            view = self._see(state, self.site)
        except NOT_SHOWABLE as refusal:
            self._remember(state.order_text)
            self.refuse(refusal)
            self.soon(self._settle)
        else:
            self._view, self._order, self._fault = view, view.order, ""
            self.accept()
            self.soon(self._follow)

    def _remember(self, text: str) -> None:
        """Keep a text's order for the sliders if it can be read and names a clear and a cloudy insulin."""
        try:
            order = read_order(text)
            _ = order.clear
        except OrderError as refusal:
            self._fault = str(refusal)
        else:
            self._order, self._fault = order, ""

    def _settle_order(self) -> None:
        """Let the controls say what the state's order says; the doses only while it can be shown."""
        self.order_text.value = self.state.order_text
        if not self.message:
            self._settle_doses()

    def _settle_doses(self) -> None:
        for look, slider, box, dose in (
            ("clear", self.clear_units, self.clear_box, self._order.clear),
            ("cloudy", self.cloudy_units, self.cloudy_box, self._order.cloudy),
        ):
            box.value = dose.units
            # Only one of its own places: a value between two comes back from the page changed.
            slider.value = min(max(math.floor(dose.units), slider.min), slider.max)
            self._names_of_doses[look].value = label_html(dose.insulin.name, sentence(look))

    def _on_dose(self, look: str, units: float) -> None:
        if self._fault:
            self.refuse(say("{fault} Correct the typed order before you move a dose.", fault=self._fault))
            with self.settling():
                self._settle_doses()
        elif not 0 <= units < math.inf:
            self.refuse(say("{amount} {units} cannot be drawn up. Enter a dose above 0.", amount=number_text(units)))
        else:
            first, second = (
                replace(dose, units=exact_units(units)) if dose.insulin.look == look else dose
                for dose in self._order.doses
            )
            self._change(order_text=str(replace(self._order, doses=(first, second))))
