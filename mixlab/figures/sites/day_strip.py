"""The strip of one ward's day: where a time stands, and how the dose, its meal, visits, rounds and sleep are drawn."""

from __future__ import annotations

from matplotlib.axes import Axes
from matplotlib.patches import Polygon

from mixlab.figures import style
from mixlab.figures.style import corners
from mixlab.quantities import MINUTES_A_DAY, ClockTime
from mixlab.words import sentence

from .reading_line import WIDTH
from .two_wards_words import DayMark, MarkKind

MARKS: dict[MarkKind, str] = {
    "dose": sentence("injection").key,
    "draw up": sentence("draw up and inject").key,
    "eat": sentence("its meal may come").key,
    "meal": sentence("meal served").key,
    "visit": sentence("visit").key,
    "round": sentence("round").key,
    "sleep": sentence("asleep").key,
}

FIRST_MINUTE = 6 * 60
"""Where the day strip begins, in minutes after midnight."""

DAY_LEFT, DAY_RIGHT = 160, WIDTH - 24


def hour_at(time: ClockTime) -> float:
    """Return where a time stands on the strip, in points."""
    share = (time.minutes - FIRST_MINUTE) / MINUTES_A_DAY
    return DAY_LEFT + min(max(share, 0), 1) * (DAY_RIGHT - DAY_LEFT)


def draw_mark(axes: Axes, one: DayMark, y: float, *, differs: bool) -> None:
    """Draw one time or window of a day; one that the other ward has not is marked."""
    colour = style.WARNING if differs else style.INK
    start, end = hour_at(one.start), hour_at(one.end)
    draw_mark_at(axes, one.kind, start, max(end, start + 3) if one.kind in ("eat", "draw up") else end, y, colour)
    if differs and one.kind != "sleep":
        axes.plot(((start + end) / 2,), (y + 14,), marker="v", ms=5, color=style.WARNING, mec="none")


def draw_mark_at(axes: Axes, kind: MarkKind, start: float, end: float, y: float, colour: str) -> None:
    """Draw the sign of a kind of time between two places."""
    middle = (start + end) / 2
    if kind == "draw up":
        axes.plot((start, start, end, end), (y + 4, y + 10, y + 10, y + 4), color=colour, lw=1.6)
    elif kind == "sleep":
        axes.add_patch(Polygon(corners(start, y - 7, end - start, 14), fc="#eeeeee", ec=colour, lw=0.8, hatch="\\\\\\"))
    elif kind == "eat":
        axes.add_patch(Polygon(corners(start, y - 8, end - start, 16), fc="white", ec=colour, lw=1.6))
    elif kind == "visit":
        axes.plot((start, end), (y, y), color=colour, lw=4, alpha=0.35, solid_capstyle="butt")
        axes.plot((start,), (y,), marker="o", ms=6, mfc="white", mec=colour, mew=1.4)
    elif kind == "round":
        axes.plot((middle, middle), (y - 9, y - 4), color=colour, lw=1.4)
    else:
        axes.plot((middle,), (y,), marker="D" if kind == "dose" else "s", ms=6, color=colour, mec="none")
