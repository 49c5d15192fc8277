"""The bench on the screen: the steps in any order, and the run reviewed."""

from .panel import DrawUp, draw_up

__all__ = ["DrawUp", "draw_up"]
