"""The panel on when insulins act: curves with a guess, who says what, and the day at the bedside."""

from .panel import WhenItActs, when_it_acts

__all__ = ["WhenItActs", "when_it_acts"]
