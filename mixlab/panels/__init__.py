"""Panels for the screen: one frozen state, controls, one redraw."""

from .display import show_records_as_pictures
from .live_dose import LiveDose, live_dose

__all__ = ["LiveDose", "live_dose", "show_records_as_pictures"]

show_records_as_pictures()
