"""The clock line of the day picture: where a time stands, room for words, and what draws on the sheet."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from matplotlib.lines import Line2D
from matplotlib.patches import Patch
from matplotlib.text import Text

from mixlab.care.day.parts import Window
from mixlab.care.day.planning import DayPlan
from mixlab.figures.style import WHITE, Sheet, Size
from mixlab.quantities import ClockTime

from .day_words import AFTER_MINUTES, BEFORE_MINUTES

WIDTH, HEIGHT = 1080, 470
SIDE, LEFT, RIGHT = 8, 200, 1066
STRIP = (50, 148)
"""The bottom and the top of the strip of action and need."""
PAPER: dict[str, Any] = {"bbox": WHITE, "zorder": 6}

Stretch = tuple[float, float]
_LETTER = 0.57  # the mean width of a letter, of the height; bold ones are wider


def at_minute(minutes: float) -> float:
    """Return where a minute after the injection stands, in points; what lies beyond the picture stands at its end."""
    inside = min(max(minutes, -BEFORE_MINUTES), AFTER_MINUTES)
    return LEFT + (RIGHT - LEFT) * (inside + BEFORE_MINUTES) / (BEFORE_MINUTES + AFTER_MINUTES)


def at_time(plan: DayPlan, time: ClockTime) -> float:
    """Return where a clock time stands, in points."""
    return at_minute(plan.given_at.until(time))


def ends(plan: DayPlan, window: Window) -> Stretch:
    """Return where a window stands, in points."""
    return at_time(plan, window.start), at_time(plan, window.end)


@dataclass(frozen=True, kw_only=True)
class Label:
    """Words beside a mark: where they begin or, on the other side, end, and from where to where they reach."""

    words: str
    x: float
    side: Literal["left", "right"]
    reach: Stretch


def words_wide(words: str, size: float, *, bold: bool = False) -> float:
    """Return about how many points words take."""
    return len(words) * size * (_LETTER + 0.04 * bold)


def labels_beside(words: str, mark: float, gap: float, size: float) -> list[Label]:
    """Return where bold words can stand beside a mark: to its right if the sheet goes so far, else or also to its left."""
    wide = words_wide(words, size, bold=True)
    right = Label(words=words, x=mark + gap, side="left", reach=(mark + gap, mark + gap + wide))
    left = Label(words=words, x=mark - gap, side="right", reach=(mark - gap - wide, mark - gap))
    return [right, left] if right.reach[1] <= WIDTH - 4 else [left]


def take_lane(lanes: Sequence[list[Stretch]], *reaches: Stretch) -> tuple[int, int] | None:
    """Take the first lane with room for one of some stretches, and return both by number; None if there is no room."""
    for lane, taken in enumerate(lanes):
        for which, (low, high) in enumerate(reaches):
            if all(high < start or end < low for start, end in taken):
                taken.append((low, high))
                return lane, which
    return None


class Board(Sheet):
    """The sheet of the day picture: its rows have names, and its lines end where they end."""

    def __init__(self, size: Size) -> None:
        super().__init__(WIDTH, HEIGHT, size)

    def head(self, y: float, words: str, gid: str | None = None) -> Text:
        """Name a row, at its left."""
        return self.text(gid, SIDE, y, words, fontsize=self.size.words, fontweight="bold")

    def line(
        self,
        gid: str | None,
        xs: Iterable[float] = (),
        ys: Iterable[float] = (),
        clip: Patch | None = None,
        **looks: Any,
    ) -> Line2D:
        """Draw a line through points, or marks at them, without a cap beyond its ends."""
        return super().line(gid, xs, ys, clip, **{"solid_capstyle": "butt"} | looks)
