"""Two wards one above the other: the answer to every reading, what else differs and how much, and the times of their days."""

from __future__ import annotations

from collections.abc import Sequence

from matplotlib.figure import Figure
from matplotlib.patches import Polygon, Rectangle

from mixlab.care.decision.answers import answer_text
from mixlab.figures import style
from mixlab.figures.style import Size, corners, named, sheet, write
from mixlab.quantities import ClockTime
from mixlab.words import plural, say

from .day_strip import DAY_LEFT, DAY_RIGHT, MARKS, draw_mark, draw_mark_at, hour_at
from .fitting import as_many, fit, width, wrap
from .reading_line import HEIGHT, LEFT, LOOKS, RIGHT, WIDTH, band, draw_line, ends_of, on_white, place, ticks
from .two_wards_words import Count, Flip, SiteChanges, also_words, count_words, describe_site_changes

__all__ = ["SiteChangesFigure", "describe_site_changes", "draw_site_changes"]

_ROWS, _LISTED = 3, 6
"""Lines between the two wards, and how many stretches are listed there."""

_KINDS = 15
"""Kinds of output that have room, each on a row of its own."""


class SiteChangesFigure:
    """The drawn comparison."""

    def __init__(self, seen: SiteChanges, size: Size) -> None:
        self.figure: Figure
        self.figure, self._axes = sheet(WIDTH, HEIGHT)
        self._size, self._row = size, size.small * 1.38
        self._write_title(seen)
        self._draw_lines(seen)
        self._draw_counts(seen)
        self._list_keys(seen)
        self._draw_days(seen)
        write(
            self._axes, WIDTH - 12, 12, say("Teaching only. {Prescriber}'s order, local policy and licensed practice come first."),
            size.small * 0.95, ha="right",
        )  # fmt: skip

    def _write_title(self, seen: SiteChanges) -> None:
        title = say("From {before} to {after}", before=seen.before.name, after=seen.after.name)
        write(self._axes, 14, HEIGHT - 18, fit(title, WIDTH - 28, self._size.title, bold=True), self._size.title, "title", fontweight="bold")  # fmt: skip
        words = say("The answer to every reading of a patient who has no signs of a low and eats")
        write(self._axes, 14, HEIGHT - 38, words, self._size.small, color=style.FAINT)

    def _draw_lines(self, seen: SiteChanges) -> None:
        small, axes = self._size.small, self._axes
        upper, lower, high = HEIGHT - 114, HEIGHT - 202, 26
        for ward, bottom, way in ((seen.before, upper, 1), (seen.after, lower, -1)):
            draw_line(axes, ward, bottom, high, small)
            edge = bottom + high if way > 0 else bottom
            for glucose, words in ticks(ward, small):
                x, bold = place(glucose), "bold" if glucose in ward.lines else "normal"
                axes.plot((x, x), (edge, edge + 4 * way), color=style.INK, lw=0.8)
                write(axes, x, edge + 11 * way, words, small * 0.9, ha="center", fontweight=bold)
            name = say("{ward}, in {measure}", ward=ward.name, measure=ward.measure)
            write(axes, 14, edge + 27 * way, fit(name, 500, small, bold=True), small, fontweight="bold")
        self._draw_flips(seen.flips, upper, lower + high)
        also = also_words(seen)
        write(axes, 14, lower - 43, fit(also, WIDTH - 28, small, bold=True), small, "also", fontweight="bold", color=style.WARNING)  # fmt: skip
        self._draw_legend(lower - 27)

    def _draw_legend(self, y: float) -> None:
        x = float(RIGHT)
        for choice, (letter, looks) in reversed(LOOKS.items()):
            words = str(answer_text(choice))
            x -= width(words, self._size.small) + 4
            write(self._axes, x, y, words, self._size.small)
            x -= 26
            self._axes.add_patch(Polygon(corners(x, y - 7, 20, 14), lw=1, **looks))
            self._letter(x + 10, y, letter)
            x -= 14

    def _letter(self, x: float, y: float, words: str) -> None:
        on_white(self._axes, x, y, words, self._size.small * 0.95)

    def _draw_flips(self, flips: Sequence[Flip], top: float, bottom: float) -> None:
        small = self._size.small
        if not flips:
            words = say("no reading gets another answer")
            write(self._axes, (LEFT + RIGHT) / 2, (top + bottom) / 2, words, small, "flip-words-0", ha="center", color=style.FAINT)  # fmt: skip
            return
        for at, flip in enumerate(flips):
            drawn = Polygon(band(*ends_of(flip), top, bottom), fc="#fbe3d3", ec=style.WARNING, lw=1.2)
            self._axes.add_patch(named(drawn, f"flip-{at}"))
            middle, y = sum(ends_of(flip)) / 2, top - 15 - at % _ROWS * (top - bottom - 30) / (_ROWS - 1)
            if at < _LISTED:
                on_white(self._axes, middle, y, f"{at + 1}", small * 0.9, color=style.WARNING)
        lines = [f"{at}  {flip}" for at, flip in enumerate(flips[:_LISTED], 1)]
        if more := len(flips) - len(lines):
            words = plural(more, "and {count} more stretch", "and {count} more stretches", count=more)
            lines[-1] = f"{lines[-1]}; {words}"
        x, wide = 14.0, 0.0
        for at, line in enumerate(lines):
            if at and at % _ROWS == 0:
                x, wide = x + wide + 24, 0.0
            wide = max(wide, width(line, small, bold=True))
            y = top - 15 - at % _ROWS * (top - bottom - 30) / (_ROWS - 1)
            looks = {"fontweight": "bold", "color": style.WARNING, "bbox": {"fc": "white", "ec": "none", "pad": 0.8}}
            write(self._axes, x, y, fit(line, WIDTH - 14 - x, small, bold=True), small, f"flip-words-{at}", **looks)

    def _draw_counts(self, seen: SiteChanges) -> None:
        size, row = self._size, self._row
        top = HEIGHT - 266
        write(self._axes, 14, top, say("How much differs"), size.words, fontweight="bold")
        for at, count in enumerate(_told(seen.counts)):
            y = top - (at + 1) * row - 2
            write(self._axes, 14, y, fit(count.title, 268, size.small), size.small, f"count-title-{at}")
            left, wide, high = 288.0, 120.0, row * 0.62
            share = wide * count.differ / count.of if count.of else 0.0
            share = max(share, 3.0) if count.differ else 0.0
            self._axes.add_patch(Rectangle((left, y - high / 2), wide, high, fc="white", ec=style.FAINT, lw=0.8))
            if share:
                fill = Rectangle((left, y - high / 2), share, high, fc="#fbe3d3", ec=style.WARNING, hatch="////", lw=1)
                self._axes.add_patch(named(fill, f"count-{at}"))
            bold = "bold" if count.differ else "normal"
            write(self._axes, left + wide + 10, y, count_words(count), size.small, f"count-words-{at}", fontweight=bold)

    def _list_keys(self, seen: SiteChanges) -> None:
        size, left, top = self._size, 655, HEIGHT - 266
        write(self._axes, left, top, say("What the site files say"), size.words, fontweight="bold")
        rows = int((top - _DAYS_TOP - 20) / self._row)
        wrapped = [wrap(line, WIDTH - left - 12, size.small) for line in seen.keys]
        shown = len(wrapped)
        while sum(map(len, wrapped[:shown])) + (shown < len(wrapped)) > rows:
            shown -= 1
        lines = [line for key in wrapped[:shown] for line in key]
        if more := len(wrapped) - shown:
            lines.append(plural(more, "… and {count} more key", "… and {count} more keys", count=more))
        for at, line in enumerate(lines or [say("the same in every key")]):
            write(self._axes, left, top - (at + 1) * self._row - 2, line, size.small, f"key-{at}")

    def _draw_days(self, seen: SiteChanges) -> None:
        size, top = self._size, _DAYS_TOP
        write(self._axes, 14, top, say("The day after the same dose"), size.words, fontweight="bold")
        self._day_legend(top)
        for at, (ward, other) in enumerate(((seen.before, seen.after), (seen.after, seen.before))):
            y = top - 28 - at * 30
            write(self._axes, 14, y, fit(ward.name, 138, size.small), size.small)
            self._axes.plot((DAY_LEFT, DAY_RIGHT), (y, y), color=style.FAINT, lw=1)
            if not ward.day:
                write(self._axes, DAY_LEFT + 8, y + 8, say("this day cannot be planned"), size.small)
            for one in sorted(ward.day, key=lambda one: list(MARKS).index(one.kind), reverse=True):
                draw_mark(self._axes, one, y, differs=one not in other.day)
        for hour in range(6, 31, 3):
            x, y = hour_at(ClockTime(hour * 60)), top - 76
            self._axes.plot((x, x), (y + 6, y + 9), color=style.INK, lw=0.8)
            write(self._axes, x, y, ClockTime(hour * 60).face, size.small * 0.9, ha="center")
        words = say("no time differs")
        if seen.times:
            words = as_many(seen.times, WIDTH - 28, size.small)
        write(self._axes, 14, top - 97, words, size.small, "times", color=style.WARNING if seen.times else style.FAINT)

    def _day_legend(self, y: float) -> None:
        x = float(DAY_RIGHT)
        for kind, marked in reversed(MARKS.items()):
            words = say(marked)
            x -= width(words, self._size.small)
            write(self._axes, x, y, words, self._size.small)
            x -= 19
            draw_mark_at(self._axes, kind, x, x + (12 if kind in ("draw up", "eat", "sleep") else 0), y, style.INK)
            x -= 16


_DAYS_TOP = 132
"""Where the strips of the days begin, from below."""


def _told(counts: Sequence[Count]) -> Sequence[Count]:
    """Return the counts that have room; of too many, those in which most differs, and the rest as one."""
    if len(counts) <= _KINDS:
        return counts
    first = sorted(counts, key=lambda one: one.differ, reverse=True)[: _KINDS - 1]
    rest = [one for one in counts if one not in first]
    title = say("{count} more kinds", count=len(rest))
    both = Count(title=title, differ=sum(one.differ for one in rest), of=sum(one.of for one in rest))
    return [*(one for one in counts if one in first), both]


def draw_site_changes(seen: SiteChanges, size: Size = style.PAGE) -> SiteChangesFigure:
    """Draw two wards one above the other.

    Parameters
    ----------
    seen : SiteChanges
        From :attr:`mixlab.adapting.compare.comparison.SiteComparison.picture`.
    size : Size
        `PAGE` or `ROOM`.
    """
    return SiteChangesFigure(seen, size)
