"""The panel on when insulins act: curves with a guess, who says what, and the day at the bedside."""

from .panel import when_it_acts

__all__ = ["when_it_acts"]
