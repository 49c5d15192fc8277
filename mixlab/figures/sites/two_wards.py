"""Two wards one above the other: the answer to every reading, what else differs and how much, and the times of their days."""

from __future__ import annotations

import math
from bisect import bisect
from collections.abc import Sequence
from functools import cache, lru_cache
from typing import Any

from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import get_hinting_flag
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties, findfont, get_font
from matplotlib.patches import Polygon, Rectangle

from mixlab.care.decision.answers import Choice
from mixlab.figures import style
from mixlab.figures.style import Size, corners, named, sheet, write
from mixlab.quantities import MINUTES_A_DAY, ClockTime, Glucose, GlucoseUnit
from mixlab.words import decimal_text, plural, say, sentence

from .two_wards_words import (
    Count,
    DayMark,
    Flip,
    MarkKind,
    SiteChanges,
    Ward,
    also_words,
    count_words,
    describe_site_changes,
    number_of,
)

WIDTH, HEIGHT = 980, 648
LEFT, RIGHT = 60, WIDTH - 60
"""Where the lines of readings begin and end; LO and HI stand beside them."""

__all__ = ["SiteChangesFigure", "describe_site_changes", "draw_site_changes"]

LOWEST, HIGHEST = Glucose(10, "mg/dL"), Glucose(610, "mg/dL")

_TICKS: dict[GlucoseUnit, tuple[float, ...]] = {
    "mg/dL": (15, 20, 30, 40, 54, 70, 100, 150, 200, 300, 400, 600),
    "mmol/L": (0.8, 1.2, 2, 3, 4, 5.5, 8, 11, 16, 22, 33),
}

_LOOKS: dict[Choice, tuple[str, dict[str, Any]]] = {
    "hold and treat": ("T", {"fc": "#fbe3d3", "ec": style.WARNING, "hatch": "////"}),
    "check first": ("C", {"fc": "white", "ec": style.FAINT, "hatch": "xxx"}),
    "hold and ask": ("A", {"fc": "#e4e4e4", "ec": style.INK}),
    "give": ("G", {"fc": "white", "ec": style.GO}),
    "give and report": ("R", {"fc": "#dcefe6", "ec": style.GO, "hatch": "---"}),
}
"""The letter and the look of each answer."""

_MARKS: dict[MarkKind, str] = {
    "dose": sentence("injection").key,
    "draw up": sentence("draw up and inject").key,
    "eat": sentence("its meal may come").key,
    "meal": sentence("meal served").key,
    "look": sentence("look in").key,
    "round": sentence("round").key,
    "sleep": sentence("asleep").key,
}

_ROWS, _LISTED = 3, 6
"""Lines between the two wards, and how many stretches are listed there."""

_KINDS = 15
"""Kinds of output that have room, each on a row of its own."""

FIRST_MINUTE = 6 * 60
"""Where the day strip begins, in minutes after midnight."""


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
        write(self._axes, 14, HEIGHT - 18, _fit(title, WIDTH - 28, self._size.title, bold=True), self._size.title, "title", fontweight="bold")  # fmt: skip
        words = say("The answer to every reading of a patient who has no signs of a low and eats")
        write(self._axes, 14, HEIGHT - 38, words, self._size.small, color=style.FAINT)

    def _draw_lines(self, seen: SiteChanges) -> None:
        small, axes = self._size.small, self._axes
        upper, lower, high = HEIGHT - 114, HEIGHT - 202, 26
        for ward, bottom, way in ((seen.before, upper, 1), (seen.after, lower, -1)):
            _draw_line(axes, ward, bottom, high, small)
            edge = bottom + high if way > 0 else bottom
            for glucose, words in _ticks(ward, small):
                x, bold = place(glucose), "bold" if glucose in ward.lines else "normal"
                axes.plot((x, x), (edge, edge + 4 * way), color=style.INK, lw=0.8)
                write(axes, x, edge + 11 * way, words, small * 0.9, ha="center", fontweight=bold)
            name = say("{ward}, in {measure}", ward=ward.name, measure=ward.measure)
            write(axes, 14, edge + 27 * way, _fit(name, 500, small, bold=True), small, fontweight="bold")
        self._draw_flips(seen.flips, upper, lower + high)
        also = also_words(seen)
        write(axes, 14, lower - 43, _fit(also, WIDTH - 28, small, bold=True), small, "also", fontweight="bold", color=style.WARNING)  # fmt: skip
        self._draw_legend(lower - 27)

    def _draw_legend(self, y: float) -> None:
        x = float(RIGHT)
        for choice, (letter, looks) in reversed(_LOOKS.items()):
            words = say(choice)
            x -= _width(words, self._size.small) + 4
            write(self._axes, x, y, words, self._size.small)
            x -= 26
            self._axes.add_patch(Polygon(corners(x, y - 7, 20, 14), lw=1, **looks))
            self._letter(x + 10, y, letter)
            x -= 14

    def _letter(self, x: float, y: float, words: str) -> None:
        _on_white(self._axes, x, y, words, self._size.small * 0.95)

    def _draw_flips(self, flips: Sequence[Flip], top: float, bottom: float) -> None:
        small = self._size.small
        if not flips:
            words = say("no reading gets another answer")
            write(self._axes, (LEFT + RIGHT) / 2, (top + bottom) / 2, words, small, "flip-words-0", ha="center", color=style.FAINT)  # fmt: skip
            return
        for at, flip in enumerate(flips):
            band = Polygon(_band(*_ends(flip), top, bottom), fc="#fbe3d3", ec=style.WARNING, lw=1.2)
            self._axes.add_patch(named(band, f"flip-{at}"))
            middle, y = sum(_ends(flip)) / 2, top - 15 - at % _ROWS * (top - bottom - 30) / (_ROWS - 1)
            if at < _LISTED:
                _on_white(self._axes, middle, y, f"{at + 1}", small * 0.9, color=style.WARNING)
        lines = [f"{at}  {flip}" for at, flip in enumerate(flips[:_LISTED], 1)]
        if more := len(flips) - len(lines):
            words = plural(more, "and {count} more stretch", "and {count} more stretches", count=more)
            lines[-1] = f"{lines[-1]}; {words}"
        x, wide = 14.0, 0.0
        for at, line in enumerate(lines):
            if at and at % _ROWS == 0:
                x, wide = x + wide + 24, 0.0
            wide = max(wide, _width(line, small, bold=True))
            y = top - 15 - at % _ROWS * (top - bottom - 30) / (_ROWS - 1)
            looks = {"fontweight": "bold", "color": style.WARNING, "bbox": {"fc": "white", "ec": "none", "pad": 0.8}}
            write(self._axes, x, y, _fit(line, WIDTH - 14 - x, small, bold=True), small, f"flip-words-{at}", **looks)

    def _draw_counts(self, seen: SiteChanges) -> None:
        size, row = self._size, self._row
        top = HEIGHT - 266
        write(self._axes, 14, top, say("How much differs"), size.words, fontweight="bold")
        for at, count in enumerate(_told(seen.counts)):
            y = top - (at + 1) * row - 2
            write(self._axes, 14, y, _fit(count.title, 268, size.small), size.small, f"count-title-{at}")
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
        wrapped = [_wrap(line, WIDTH - left - 12, size.small) for line in seen.keys]
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
            write(self._axes, 14, y, _fit(ward.name, 138, size.small), size.small)
            self._axes.plot((_DAY_LEFT, _DAY_RIGHT), (y, y), color=style.FAINT, lw=1)
            for one in sorted(ward.day, key=lambda one: list(_MARKS).index(one.kind), reverse=True):
                _draw_mark(self._axes, one, y, differs=one not in other.day)
        for hour in range(6, 31, 3):
            x, y = _hour(ClockTime(hour * 60)), top - 76
            self._axes.plot((x, x), (y + 6, y + 9), color=style.INK, lw=0.8)
            write(self._axes, x, y, ClockTime(hour * 60).face, size.small * 0.9, ha="center")
        words = say("no time differs")
        if seen.times:
            words = _as_many(seen.times, WIDTH - 28, size.small)
        write(self._axes, 14, top - 97, words, size.small, "times", color=style.WARNING if seen.times else style.FAINT)

    def _day_legend(self, y: float) -> None:
        x = float(_DAY_RIGHT)
        for kind, marked in reversed(_MARKS.items()):
            words = say(marked)
            x -= _width(words, self._size.small)
            write(self._axes, x, y, words, self._size.small)
            x -= 19
            _draw_mark_at(self._axes, kind, x, x + (12 if kind in ("draw up", "eat", "sleep") else 0), y, style.INK)
            x -= 16


_DAY_LEFT, _DAY_RIGHT = 160, WIDTH - 24

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


def _ticks(ward: Ward, size: float) -> list[tuple[Glucose, str]]:
    """Return where a line of readings has ticks: at the ward's own lines, and at round numbers that stand clear of them."""
    found: list[tuple[Glucose, str]] = []
    usual = [Glucose(value, ward.measure) for value in _TICKS[ward.measure]]
    for glucose in (*ward.lines, *usual):
        own = len(found) < len(ward.lines) and glucose in ward.lines
        words = number_of(glucose) if own else decimal_text(glucose.value)
        room = _width(words, size, bold=True) / 2 + 4
        if all(abs(place(one) - place(glucose)) >= room + _width(said, size, bold=True) / 2 for one, said in found):
            found.append((glucose, words))
    return found


def place(glucose: Glucose) -> float:
    """Return where a glucose stands on a line of readings, in points; equal ratios get equal room."""
    low, high, value = (math.log(max(one.to("mg/dL").value, 1)) for one in (LOWEST, HIGHEST, glucose))
    return LEFT + min(max((value - low) / (high - low), 0), 1) * (RIGHT - LEFT)


def _edges(start: Glucose, end: Glucose) -> tuple[float, float]:
    """Return the ends of some readings, each reading as wide as it is on the meter."""
    half = 0.5 if start.unit == "mg/dL" else 0.05
    return place(Glucose(max(start.value - half, 0), start.unit)), place(Glucose(end.value + half, end.unit))


def _ends(flip: Flip) -> tuple[float, float]:
    if isinstance(flip.start, Glucose) and isinstance(flip.end, Glucose):
        start, end = _edges(flip.start, flip.end)
        return (start, end) if end - start >= 3 else ((start + end) / 2 - 1.5, (start + end) / 2 + 1.5)
    return (LEFT - 46, LEFT - 6) if flip.start == "LO" else (RIGHT + 6, RIGHT + 46)


def _band(start: float, end: float, top: float, bottom: float) -> list[tuple[float, float]]:
    return [(start, bottom + 1), (end, bottom + 1), (end, top - 1), (start, top - 1)]


def _draw_line(axes: Axes, ward: Ward, bottom: float, high: float, small: float) -> None:
    spans = [(*_edges(zone.start, zone.end), zone.choice, "") for zone in ward.zones]
    spans += [(LEFT - 46, LEFT - 6, ward.when_lo, "LO "), (RIGHT + 6, RIGHT + 46, ward.when_hi, "HI ")]
    for start, end, choice, before in spans:
        letter, looks = _LOOKS[choice]
        if end - start < 0.5:
            continue
        axes.add_patch(Polygon(corners(start, bottom, end - start, high), lw=1, **looks))
        words = f"{letter}: {say(choice)}"
        if _width(words, small, bold=True) + 8 > end - start:
            words = f"{before}{letter}"
        if _width(words, small, bold=True) + 3 <= end - start:
            _on_white(axes, (start + end) / 2, bottom + high / 2, words, small)


def _on_white(axes: Axes, x: float, y: float, words: str, size: float, **looks: Any) -> None:
    white = {"fc": "white", "ec": "none", "pad": 0.8}
    write(axes, x, y, words, size, ha="center", fontweight="bold", bbox=white, **looks)


def _hour(time: ClockTime) -> float:
    share = (time.minutes - FIRST_MINUTE) / MINUTES_A_DAY
    return _DAY_LEFT + min(max(share, 0), 1) * (_DAY_RIGHT - _DAY_LEFT)


def _draw_mark(axes: Axes, one: DayMark, y: float, *, differs: bool) -> None:
    colour = style.WARNING if differs else style.INK
    start, end = _hour(one.start), _hour(one.end)
    _draw_mark_at(axes, one.kind, start, max(end, start + 3) if one.kind in ("eat", "draw up") else end, y, colour)
    if differs and one.kind != "sleep":
        axes.plot(((start + end) / 2,), (y + 14,), marker="v", ms=5, color=style.WARNING, mec="none")


def _draw_mark_at(axes: Axes, kind: MarkKind, start: float, end: float, y: float, colour: str) -> None:
    middle = (start + end) / 2
    if kind == "draw up":
        axes.plot((start, start, end, end), (y + 4, y + 10, y + 10, y + 4), color=colour, lw=1.6)
    elif kind == "sleep":
        axes.add_patch(Polygon(corners(start, y - 7, end - start, 14), fc="#eeeeee", ec=colour, lw=0.8, hatch="\\\\\\"))
    elif kind == "eat":
        axes.add_patch(Polygon(corners(start, y - 8, end - start, 16), fc="white", ec=colour, lw=1.6))
    elif kind == "look":
        axes.plot((start, end), (y, y), color=colour, lw=4, alpha=0.35, solid_capstyle="butt")
        axes.plot((start,), (y,), marker="o", ms=6, mfc="white", mec=colour, mew=1.4)
    elif kind == "round":
        axes.plot((middle, middle), (y - 9, y - 4), color=colour, lw=1.4)
    else:
        axes.plot((middle,), (y,), marker="D" if kind == "dose" else "s", ms=6, color=colour, mec="none")


@cache
def _font(bold: bool) -> Any:
    return get_font(findfont(FontProperties(family=style.FONTS, weight="bold" if bold else "normal")))


@lru_cache(maxsize=8192)
def _width(words: str, size: float, *, bold: bool = False) -> float:
    """Return how wide words are, in points."""
    font = _font(bold)
    font.set_size(size, 72)
    flags = get_hinting_flag()  # type: ignore[no-untyped-call]  # as the words are drawn: without it 9 % is missing
    font.set_text(words, 0.0, flags=flags)
    return float(font.get_width_height()[0] / 64)


def _fit(words: str, room: float, size: float, *, bold: bool = False) -> str:
    """Return words, cut where they have no room."""
    if _width(words, size, bold=bold) <= room:
        return words
    cut = bisect(range(len(words)), room, key=lambda upto: _width(f"{words[:upto].rstrip()} …", size, bold=bold))
    return f"{words[: max(cut - 1, 0)].rstrip()} …"


def _wrap(words: str, room: float, size: float) -> list[str]:
    """Return words on as many lines as they need, all but the first one indented."""
    lines = [""]
    for word in words.split(" "):
        longer = f"{lines[-1]} {word}" if lines[-1] else word
        if lines[-1].strip() and _width(longer, size) > room:
            lines.append(f"   {word}")
        else:
            lines[-1] = longer
    return [_fit(line, room, size) for line in lines]


def _as_many(phrases: Sequence[str], room: float, size: float) -> str:
    """Return as many phrases as have room, and count the rest."""
    for shown in range(len(phrases), 0, -1):
        left = len(phrases) - shown
        more = plural(left, "; and {count} more", "; and {count} more", count=left) if left else ""
        words = "; ".join(phrases[:shown]) + more
        if _width(words, size) <= room:
            return words
    return plural(len(phrases), "{count} time differs", "{count} times differ", count=len(phrases))


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
