"""The live panel: an order, two doses, a glucose reading; a class sees syringe, action and decision move."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import ipywidgets as widgets

from mixlab.care.action.absorption import NoFigures
from mixlab.care.action.curves import ActionCurves, action_curves
from mixlab.care.decision.answers import answer_text
from mixlab.care.decision.deciding import Decision, decide
from mixlab.care.decision.swallowing import sign_text
from mixlab.care.dosing import Plan, plan_dose
from mixlab.care.order.lesson import lesson_order
from mixlab.facts.reading import the_facts
from mixlab.figures.action.curves import describe_curves, draw_curves
from mixlab.figures.decision.card import describe_card, draw_card
from mixlab.figures.style import ROOM
from mixlab.figures.syringe.barrel import describe_barrel, draw_barrel
from mixlab.quantities import meter_reading, number_text
from mixlab.screen.frame import CarriedNumber, PanelFrame
from mixlab.screen.picture import LivePicture
from mixlab.ward.meter import ends_of_range
from mixlab.ward.observation import Observation
from mixlab.ward.order.order import Order
from mixlab.ward.order.reading import read_order
from mixlab.ward.site.in_force import the_site
from mixlab.ward.site.record import Site
from mixlab.words import say, sentence

from .order_panel import HOURS, OrderPanel
from .rows import HALF, THIRD, ban_note, bold, marked_line, row

SIGNS_ON_PANEL = ("trembling", "sweating", "pallor", "confusion", "drowsiness")
"""The signs with a box of their own on this panel; the facts list more."""


@dataclass(frozen=True, kw_only=True)
class DoseState:
    """What the controls say: the order as typed, and what was found at the bedside."""

    order_text: str
    glucose: float
    eating: bool | None
    signs: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class DoseView:
    """What follows from a state."""

    order: Order
    plan: Plan
    decision: Decision
    curves: ActionCurves | None


@lru_cache(maxsize=128)  # a held key comes back to states that were seen before
def see_dose(state: DoseState, site: Site) -> DoseView:
    """Compute everything the panel shows.

    Raises
    ------
    OrderError, CannotPrepare, NotAnAmount
        If the state cannot be shown; the message is for the learner.
    """
    order = read_order(state.order_text)
    plan = plan_dose(order, site)
    observation = Observation(
        glucose=meter_reading(state.glucose, site.glucose_unit), signs=state.signs, eating=state.eating
    )
    try:
        curves = action_curves(order, HOURS)
    except NoFigures:
        curves = None
    return DoseView(order=order, plan=plan, decision=decide(order, observation, site), curves=curves)


class LiveDose(OrderPanel[DoseView]):
    """The live panel; the controls of its order are those of `OrderPanel`.

    Parameters
    ----------
    order : str, optional
        The order to begin with: `lesson_order` if not given.
    site : Site, optional
        The site in force if not given.

    Attributes
    ----------
    glucose : ipywidgets.IntSlider
        The reading in the site's unit (a SelectionSlider in mmol/L).
    glucose_box : ipywidgets.FloatText
        The same for typing.
    meal : ipywidgets.ToggleButtons
        Whether the patient will eat.
    signs : dict of str to ipywidgets.Checkbox
        Signs of a low.
    """

    state: DoseState

    def __init__(self, order: str | None = None, site: Site | None = None) -> None:
        site = the_site(site)
        lesson = lesson_order(site=site)
        first = DoseState(
            order_text=lesson, glucose=120.0 if site.glucose_unit == "mg/dL" else 6.7, eating=True, signs=()
        )
        super().__init__(first, see_dose, site, "mixlab-live-dose", order_text=lesson if order is None else order)

    def build(self) -> list[widgets.Widget]:
        self._make_controls()
        return self._lay_out(self._make_pictures(self._view) if self._view else [])

    @property
    def plan(self) -> Plan:
        """The dose as it is prepared now."""
        return self._seen.plan

    @property
    def decision(self) -> Decision:
        """What is decided now."""
        return self._seen.decision

    def memory(self) -> list[tuple[object, str]]:
        return [*super().memory(), *([(self._curves, "top")] if self._view else [])]

    def _make_controls(self) -> None:
        self._make_order()
        unit = self.site.glucose_unit
        self.glucose, self.glucose_box = self._glucose_controls()
        self.meal = widgets.ToggleButtons(
            options=[(say("eating"), True), (say("not eating"), False), (say("not known"), None)],
            style={"button_width": "auto"},
        )
        self.meal.add_class("mixlab-meal")
        self.when(self.meal, self._setter("eating"))
        self.signs = {
            key: widgets.Checkbox(description=str(sign_text(key)), indent=False, layout={"width": "auto"})
            for key in SIGNS_ON_PANEL
        }
        for box in self.signs.values():
            self.when(box, self._on_sign)
        self.controls |= {"glucose": self.glucose_box, "meal": self.meal, "signs": self.signs}
        self._carried.append(self.glucose_box)
        self._frame = PanelFrame(
            self._names
            | {
                "mixlab-glucose-slider": say("Glucose before the dose, {measure}", measure=unit),
                "mixlab-glucose-box": say("Glucose before the dose, {measure}, typed", measure=unit),
                "mixlab-meal": say("Is the patient eating?"),
                "mixlab-signs": say("Signs of a low"),
            },
            self._readings,
        )

    def _glucose_controls(self) -> tuple[widgets.IntSlider | widgets.SelectionSlider, CarriedNumber]:
        # A slider sends back whole numbers as they are, but 6.699999999999999 for 6.7, and late: it counts places instead.
        (low, high), unit = ends_of_range(self.site), self.site.glucose_unit
        layout = {"width": "auto", "flex": "1 1 60px", "min_width": "60px"}
        slider: widgets.IntSlider | widgets.SelectionSlider
        if unit == "mmol/L":
            options = [count / 10 for count in range(round(low * 10), round(high * 10) + 1)]
            slider = widgets.SelectionSlider(options=options, readout=False, layout=layout)
            self._readings["mixlab-glucose-slider"] = [f"{number_text(value)} {unit}" for value in options]
        else:
            slider = widgets.IntSlider(min=low, max=high, readout=False, layout=layout)
            self._readings["mixlab-glucose-slider"] = "{} " + unit
        box = CarriedNumber(step=0.1 if unit == "mmol/L" else 1, layout={"width": "68px"})
        for control, part in ((slider, "slider"), (box, "box")):
            control.add_class(f"mixlab-glucose-{part}")
            self.when(control, self._setter("glucose"))
        return slider, box

    def _make_pictures(self, view: DoseView) -> list[widgets.Widget]:
        self._barrel = draw_barrel(view.plan, ROOM, held=view.decision.held)
        self._card = draw_card(view.decision, ROOM)
        self._curves = draw_curves(view.order, view.curves, ROOM, self.site)
        figures = (self._barrel.figure, self._curves.figure, self._card.figure)
        self.barrel_picture, self.curves_picture, self.card_picture = (
            LivePicture(figure, words, max_height=height, caption=True)
            for figure, words, height in zip(figures, self._words(view), ("64vh", "35vh", "27vh"), strict=True)
        )
        return [
            widgets.VBox([self.barrel_picture], layout=HALF),
            widgets.VBox([self.curves_picture, self.card_picture], layout=HALF),
        ]

    def _words(self, view: DoseView) -> tuple[str, str, str]:
        curves = describe_curves(view.order, view.curves, self.site)
        return describe_barrel(view.plan, held=view.decision.held), curves, describe_card(view.decision)

    def _lay_out(self, pictures: list[widgets.Widget]) -> list[widgets.Widget]:
        signs = row(
            marked_line(sentence("<b>Signs of a low</b> (looked for; tick what you see):")),
            *self.signs.values(),
            gap="0 10px",
        )
        signs.add_class("mixlab-signs")
        glucose = marked_line(sentence("<b>Glucose</b>, {measure}, just taken", measure=self.site.glucose_unit))
        doses = [*self._dose_rows(), widgets.HBox([glucose, self.glucose, self.glucose_box], layout=THIRD)]
        return [
            *ban_note(self.site),
            widgets.HBox([bold(say("Order")), self.order_text], layout={"grid_gap": "8px"}),
            widgets.HBox(doses, layout={"grid_gap": "16px"}),
            widgets.HBox([bold(say("Meal:")), self.meal, signs], layout={"grid_gap": "10px", "align_items": "center"}),
            self._notice,
            widgets.HBox(pictures, layout={"grid_gap": "10px", "align_items": "flex-start"}),
            self._frame,
        ]

    def _on_sign(self, _: bool) -> None:
        self._change(signs=tuple(key for key, box in self.signs.items() if box.value))

    def _follow(self) -> None:
        """Let controls and pictures show what the last state comes to."""
        with self._frame.carrying(self._carried):
            self._settle()
            order, decision = self._seen.order, self._seen.decision
            not_now = f" {the_facts().phrases['no-drawing-up'].text.with_capitals()}." if decision.held else ""
            self._show(self._seen, aloud=f"{order.clear}, {order.cloudy}: {answer_text(decision.choice)}.{not_now}")

    def _show(self, view: DoseView, aloud: str) -> None:
        """Let the pictures show what was computed."""
        touched = (
            self._barrel.show(view.plan, held=view.decision.held),
            self._curves.show(view.order, view.curves),
            self._card.show(view.decision),
        )
        self._frame.show(
            dict(zip(self._pictures, zip(touched, self._words(view), strict=True), strict=True)),
            aloud=aloud,
        )

    def _settle(self) -> None:
        """Let every control say what the state says, without calling the handlers again."""
        with self.settling():
            self._settle_order()
            self.glucose_box.value = self.state.glucose
            if isinstance(self.glucose, widgets.SelectionSlider):
                self.glucose.value = min(self.glucose.options, key=lambda place: abs(place - self.state.glucose))
            else:
                self.glucose.value = round(min(max(self.state.glucose, self.glucose.min), self.glucose.max))


def live_dose(order: str | None = None, site: Site | None = None) -> LiveDose:
    """Return the live panel for an order, ready to show as the last line of a cell; see `LiveDose`.

    Examples
    --------
    >>> panel = live_dose()
    >>> panel.set(clear=14, cloudy=26)
    >>> panel.plan.total_mark
    40
    """
    return LiveDose(order, site)
