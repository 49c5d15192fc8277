"""Panels for the screen: one frozen state, controls, one redraw."""

from .action import when_it_acts
from .bench import draw_up, second_nurse
from .decision import bedside
from .display import show_records_as_pictures
from .dose import live_dose
from .low import treat_low
from .order import order_check

__all__ = ["bedside", "draw_up", "live_dose", "order_check", "second_nurse", "treat_low", "when_it_acts"]

show_records_as_pictures()
