"""Panels for the screen: one frozen state, controls, one redraw."""

from .action import WhenItActs, when_it_acts
from .bench import DrawUp, draw_up
from .decision import Bedside, bedside
from .display import show_records_as_pictures
from .dose import LiveDose, live_dose
from .low import TreatLow, treat_low
from .order import OrderCheck, order_check

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
