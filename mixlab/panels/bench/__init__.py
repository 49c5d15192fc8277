"""The bench on the screen: the steps in any order, and the run reviewed."""

from .panel import draw_up
from .second_nurse import second_nurse

__all__ = ["draw_up", "second_nurse"]
