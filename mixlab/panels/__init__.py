"""Panels for the screen: one frozen state, controls, one redraw."""

from .bedside import Bedside, bedside
from .display import show_records_as_pictures
from .draw_up import DrawUp, draw_up
from .live_dose import LiveDose, live_dose
from .order_check import OrderCheck, order_check
from .treating import TreatLow, treat_low
from .when_it_acts import WhenItActs, when_it_acts

__all__ = [
    "Bedside",
    "DrawUp",
    "LiveDose",
    "OrderCheck",
    "TreatLow",
    "WhenItActs",
    "bedside",
    "draw_up",
    "live_dose",
    "order_check",
    "show_records_as_pictures",
    "treat_low",
    "when_it_acts",
]

show_records_as_pictures()
