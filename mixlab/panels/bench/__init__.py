"""The bench on the screen: the steps in any order, and the run reviewed."""

from .panel import draw_up

__all__ = ["draw_up"]
