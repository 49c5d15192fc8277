"""The live panel: an order, two doses, a glucose reading; a class sees syringe, action and decision move."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any, cast

import ipywidgets as widgets
import numpy as np

from mixlab.care.action.absorption import NoFigures, NoModel
from mixlab.care.action.curves import ActionCurves, action_curves
from mixlab.care.decision.deciding import Decision, decide
from mixlab.care.decision.swallowing import sign_text
from mixlab.care.dosing import CannotPrepare, Plan, plan_dose
from mixlab.figures.action.curves import describe_curves, draw_curves
from mixlab.figures.decision.card import describe_card, draw_card
from mixlab.figures.style import ROOM
from mixlab.figures.syringe.barrel import draw_barrel
from mixlab.figures.syringe.barrel_words import describe_barrel
from mixlab.quantities import NotAnAmount, meter_reading, number_text
from mixlab.screen.frame import CarriedNumber, PanelFrame
from mixlab.screen.notice import Notice
from mixlab.screen.picture import LivePicture
from mixlab.ward.meter import ends_of_range
from mixlab.ward.observation import Observation
from mixlab.ward.order.order import Order, OrderError
from mixlab.ward.order.reading import read_order
from mixlab.ward.site.in_force import the_site
from mixlab.ward.site.record import Site
from mixlab.words import Voice, say, voice_now

from .order_controls import FIRST_ORDER, OrderControls
from .own_words import in_its_own_words

HOURS = np.arange(289) / 12
"""What the curves are drawn at: every five minutes for 24 h."""

_REFUSALS = (OrderError, CannotPrepare, NotAnAmount, NoModel)


@dataclass(frozen=True, kw_only=True)
class State:
    """What the controls say: the order as typed, and what was found at the bedside."""

    order_text: str
    glucose: float
    eating: bool | None
    signs: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class View:
    """What follows from a state."""

    state: State
    order: Order
    plan: Plan
    decision: Decision
    curves: ActionCurves | None


def see(state: State, site: Site) -> View:
    """Compute everything the panel shows.

    Raises
    ------
    OrderError, CannotPrepare, NotAnAmount
        If the state cannot be shown; the message is for the learner.
    """
    return _see(state, site, voice_now())


@lru_cache(maxsize=128)  # a held key comes back to states that were seen before
def _see(state: State, site: Site, _: Voice) -> View:
    order = read_order(state.order_text)
    plan = plan_dose(order, site)
    observation = Observation(
        glucose=meter_reading(state.glucose, site.glucose_unit), signs=state.signs, eating=state.eating
    )
    try:
        curves = action_curves(order, HOURS)
    except NoFigures:
        curves = None
    return View(state=state, order=order, plan=plan, decision=decide(order, observation, site), curves=curves)


@in_its_own_words
class LiveDose(widgets.VBox):
    """The live panel.

    Parameters
    ----------
    order : str
        The order to begin with.
    site : Site, optional
        The site in force if not given.

    Attributes
    ----------
    order_text : ipywidgets.Text
        The order; Enter or leaving the box reads it.
    clear_units, cloudy_units, glucose : ipywidgets.IntSlider
        The two doses in whole units, the reading in the site's unit (a SelectionSlider in mmol/L).
    clear_box, cloudy_box, glucose_box : ipywidgets.FloatText
        The same for typing, half units included.
    meal : ipywidgets.ToggleButtons
        Whether the patient will eat.
    signs : dict of str to ipywidgets.Checkbox
        Signs of a low.
    """

    def __init__(self, order: str = FIRST_ORDER, site: Site | None = None) -> None:
        self.site = the_site(site)
        self._settling = False
        first = 120.0 if self.site.glucose_unit == "mg/dL" else 6.7
        self.state = State(order_text=FIRST_ORDER, glucose=first, eating=True, signs=())
        self._view = see(self.state, self.site)
        self._make_controls()
        self._make_pictures(self._view)
        super().__init__(self._lay_out())
        self.add_class("mixlab-live-dose")
        self._settle()
        self.order_text.value = order  # read like any typed order, and refused like one

    def _make_controls(self) -> None:
        unit = self.site.glucose_unit
        low, high = ends_of_range(self.site)
        self._order = OrderControls(lambda text: self._change(replace(self.state, order_text=text)), self._refuse)
        self.order_text = self._order.text
        self.clear_units, self.clear_box = self._order.clear_units, self._order.clear_box
        self.cloudy_units, self.cloudy_box = self._order.cloudy_units, self._order.cloudy_box
        tenths = unit == "mmol/L"
        self.glucose, self.glucose_box = self._glucose_controls(low, high, tenths=tenths)
        self.meal = widgets.ToggleButtons(
            options=[(say("eating"), True), (say("not eating"), False), (say("not known"), None)],
            style={"button_width": "auto"},
        )
        self.meal.add_class("mixlab-meal")
        self.meal.observe(lambda change: self._change(replace(self.state, eating=change.new)), "value")
        self.signs = {
            key: widgets.Checkbox(description=str(sign_text(key)), indent=False, layout={"width": "auto"})
            for key in SIGNS_ON_PANEL
        }
        for box in self.signs.values():
            box.observe(self._on_sign, "value")
        self._notice = Notice()
        self._frame = PanelFrame(
            self._order.names
            | {
                "mixlab-glucose-slider": say("Glucose before the dose, {measure}", measure=unit),
                "mixlab-glucose-box": say("Glucose before the dose, {measure}, typed", measure=unit),
                "mixlab-meal": say("Is the patient eating?"),
                "mixlab-signs": say("Signs of a low"),
            },
            self._order.readings
            | {
                "mixlab-glucose-slider": [f"{number_text(value)} {unit}" for value in self.glucose.options]
                if tenths
                else "{} " + unit,
            },
        )

    def _glucose_controls(
        self, low: float, high: float, *, tenths: bool
    ) -> tuple[widgets.IntSlider | widgets.SelectionSlider, CarriedNumber]:
        # A slider sends back whole numbers as they are, but 6.699999999999999 for 6.7, and late: it counts places instead.
        layout = {"width": "auto", "flex": "1 1 60px", "min_width": "60px"}
        slider: widgets.IntSlider | widgets.SelectionSlider
        if tenths:
            options = [count / 10 for count in range(round(low * 10), round(high * 10) + 1)]
            slider = widgets.SelectionSlider(options=options, readout=False, layout=layout)
        else:
            slider = widgets.IntSlider(min=low, max=high, readout=False, layout=layout)
        box = CarriedNumber(step=0.1 if tenths else 1, layout={"width": "68px"})
        for control, part in ((slider, "slider"), (box, "box")):
            control.add_class(f"mixlab-glucose-{part}")
            control.observe(lambda change: self._change(replace(self.state, glucose=change.new)), "value")
        return slider, box

    def _make_pictures(self, view: View) -> None:
        self._barrel, self._card = draw_barrel(view.plan, ROOM), draw_card(view.decision, ROOM)
        self._curves = draw_curves(view.order, view.curves, ROOM, self.site)
        figures = (self._barrel.figure, self._curves.figure, self._card.figure)
        self.barrel_picture, self.curves_picture, self.card_picture = (
            LivePicture(figure, words, max_height=height, caption=True)
            for figure, words, height in zip(figures, self._words(view), ("64vh", "35vh", "27vh"), strict=True)
        )

    def _words(self, view: View) -> tuple[str, str, str]:
        curves = describe_curves(view.order, view.curves, self.site)
        return describe_barrel(view.plan), curves, describe_card(view.decision)

    @property
    def message(self) -> str:
        """Why something cannot be done; empty when all is well."""
        return self._notice.message

    @property
    def _pictures(self) -> tuple[LivePicture, ...]:
        return self.barrel_picture, self.curves_picture, self.card_picture

    def _lay_out(self) -> list[widgets.Widget]:
        signs = widgets.HBox(
            [
                widgets.HTML(say("<b>Signs of a low</b> (looked for; tick what you see):")),
                *self.signs.values(),
            ],
            layout={"flex_flow": "row wrap", "grid_gap": "0 10px"},
        )
        signs.add_class("mixlab-signs")
        return [
            widgets.HBox([widgets.HTML(say("<b>Order</b>")), self.order_text], layout={"grid_gap": "8px"}),
            widgets.HBox(
                [
                    self._order.row("clear", _third()),
                    self._order.row("cloudy", _third()),
                    widgets.HBox(
                        [
                            widgets.HTML(say("<b>Glucose</b>, {measure}, just taken", measure=self.site.glucose_unit)),
                            self.glucose,
                            self.glucose_box,
                        ],
                        layout=_third(),
                    ),
                ],
                layout={"grid_gap": "16px"},
            ),
            widgets.HBox(
                [widgets.HTML(say("<b>Meal:</b>")), self.meal, signs],
                layout={"grid_gap": "10px", "align_items": "center"},
            ),
            self._notice,
            widgets.HBox(
                [
                    widgets.VBox([self.barrel_picture], layout=_half()),
                    widgets.VBox([self.curves_picture, self.card_picture], layout=_half()),
                ],
                layout={"grid_gap": "10px", "align_items": "flex-start"},
            ),
            self._frame,
            widgets.HTML(_STYLE),
        ]

    def _on_sign(self, _: Any) -> None:
        self._change(replace(self.state, signs=tuple(key for key, box in self.signs.items() if box.value)))

    def _change(self, state: State) -> None:
        """Take a new state and show what follows from it, or say why it cannot be shown."""
        if self._settling or state == self.state:
            return
        self.state = state
        try:
            self._view = see(state, self.site)
        except _REFUSALS as refusal:
            self._order.remember(state.order_text)
            self._refuse(str(refusal))
            self._frame.soon(self._settle)
        else:
            self._order.take(self._view.order)
            self._notice.accept(self._pictures)
            self._frame.soon(self._follow)

    def _follow(self) -> None:
        """Let controls and pictures show the last state that could be shown."""
        with self._frame.carrying([*self._order.carried, self.glucose_box]):
            self._settle()
            self._show(self._view)

    def _show(self, view: View) -> None:
        order = view.order
        touched = (
            self._barrel.show(view.plan),
            self._curves.show(view.order, view.curves),
            self._card.show(view.decision),
        )
        self._frame.show(
            dict(zip(self._pictures, zip(touched, self._words(view), strict=True), strict=True)),
            aloud=f"{order.clear}, {order.cloudy}: {say(view.decision.choice)}.",
        )

    def _settle(self) -> None:
        """Let every control say what the state says, without calling the handlers again."""
        self._settling = True
        try:
            self._order.settle(self.state.order_text, doses=not self.message)
            self.glucose_box.value = self.state.glucose
            _move(self.glucose, self.state.glucose)
        finally:
            self._settling = False

    def _refuse(self, sentence: str) -> None:
        self._notice.refuse(sentence, self._pictures)


_STYLE = """<style>
.mixlab-live-dose .mixlab-picture-caption { font-size: 12px; max-height: 2.7em; }
@media (min-height: 900px) {
  .mixlab-live-dose .mixlab-picture-caption { font-size: 15px; max-height: 5.4em; }
}
</style>"""

SIGNS_ON_PANEL = ("trembling", "sweating", "pallor", "confusion", "drowsiness")
"""The signs with a box of their own on this panel; the facts list more."""


def _move(slider: widgets.IntSlider | widgets.SelectionSlider, value: float) -> None:
    """Move a slider to the nearest of its own places: a value between two comes back from the page changed."""
    if isinstance(slider, widgets.SelectionSlider):
        slider.value = min(slider.options, key=lambda place: abs(cast(float, place) - value))
    else:
        slider.value = round(min(max(value, slider.min), slider.max))


def _third() -> dict[str, str]:
    return {"flex": "1 1 0", "min_width": "0"}


def _half() -> dict[str, str]:
    return {"flex": "1 1 0", "min_width": "0", "width": "50%"}


def live_dose(order: str = FIRST_ORDER, site: Site | None = None) -> LiveDose:
    """Return the live panel for an order, ready to show as the last line of a cell."""
    return LiveDose(order, site)
