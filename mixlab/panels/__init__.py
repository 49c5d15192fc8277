"""Panels for the screen: one frozen state, controls, one redraw."""

from .display import show_records_as_pictures
from .draw_up import DrawUp, draw_up
from .live_dose import LiveDose, live_dose

__all__ = ["DrawUp", "LiveDose", "draw_up", "live_dose", "show_records_as_pictures"]

show_records_as_pictures()
