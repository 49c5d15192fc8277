"""Two wards one above the other: the answer to every reading, what else differs and how much, and the times of their days."""

from __future__ import annotations

from collections.abc import Sequence

from mixlab.care.decision.answers import answer_text
from mixlab.figures import style
from mixlab.figures.style import Sheet, Size, corners, having_room
from mixlab.quantities import MINUTES_A_DAY, ClockTime
from mixlab.words import plural, say, sentence

from .fitting import as_many, fit, width, wrap
from .reading_line import HEIGHT, LEFT, LOOKS, RIGHT, WIDTH, draw_line, ends_of, on_white, place, ticks
from .two_wards_words import Count, DayMark, Flip, MarkKind, SiteChanges, also_words, count_words

_ROWS, _LISTED = 3, 6
"""Lines between the two wards, and how many stretches are listed there."""

_DAYS_TOP = 132
"""Where the strips of the days begin, from below."""

_KINDS = 15
"""Kinds of output that have room, each on a row of its own."""

_MARKS: dict[MarkKind, str] = {
    "dose": sentence("injection").key,
    "draw up": sentence("draw up and inject").key,
    "eat": sentence("its meal may come").key,
    "meal": sentence("meal served").key,
    "visit": sentence("visit").key,
    "round": sentence("round").key,
    "sleep": sentence("asleep").key,
}

_FIRST_MINUTE = 6 * 60
"""Where the day strip begins, in minutes after midnight."""

_DAY_LEFT, _DAY_RIGHT = 160, WIDTH - 24


class SiteChangesFigure(Sheet):
    """The drawn comparison."""

    def __init__(self, seen: SiteChanges, size: Size) -> None:
        super().__init__(WIDTH, HEIGHT, size)
        self._row = size.small * 1.38
        title = say("From {before} to {after}", before=seen.before.name, after=seen.after.name)
        bold = {"fontsize": size.title, "fontweight": "bold"}
        self.text("title", 14, HEIGHT - 18, fit(title, WIDTH - 28, size.title, bold=True), **bold)
        words = say("The answer to every reading of a patient who has no signs of a low and eats")
        self.text(None, 14, HEIGHT - 38, words, color=style.FAINT)
        self._draw_lines(seen)
        self._draw_counts(seen)
        self._list_keys(seen)
        self._draw_days(seen)
        self.caution(WIDTH - 12)

    def _head(self, x: float, y: float, words: str) -> None:
        self.text(None, x, y, words, fontsize=self.size.words, fontweight="bold")

    def _draw_lines(self, seen: SiteChanges) -> None:
        small = self.size.small
        upper, lower, high = HEIGHT - 114, HEIGHT - 202, 26
        for ward, bottom, way in ((seen.before, upper, 1), (seen.after, lower, -1)):
            draw_line(self, ward, bottom, high)
            edge = bottom + high if way > 0 else bottom
            for glucose, words in ticks(ward, small):
                x, bold = place(glucose), "bold" if glucose in ward.lines else "normal"
                self.line(None, (x, x), (edge, edge + 4 * way), lw=0.8)
                self.text(None, x, edge + 11 * way, words, fontsize=small * 0.9, ha="center", fontweight=bold)
            name = say("{ward}, in {measure}", ward=ward.name, measure=ward.measure)
            self.text(None, 14, edge + 27 * way, fit(name, 500, small, bold=True), fontweight="bold")
        self._draw_flips(seen.flips, upper, lower + high)
        also = fit(also_words(seen), WIDTH - 28, small, bold=True)
        self.text("also", 14, lower - 43, also, fontweight="bold", color=style.WARNING)
        self._draw_legend(lower - 27, seen)

    def _draw_legend(self, y: float, seen: SiteChanges) -> None:
        """Explain the answers that occur on one of the two lines."""
        x, wards = float(RIGHT), (seen.before, seen.after)
        shown = {zone.choice for ward in wards for zone in ward.zones}
        shown.update(answer for ward in wards for answer in (ward.when_lo, ward.when_hi))
        for choice, (letter, looks) in reversed(LOOKS.items()):
            if choice not in shown:
                continue
            words = str(answer_text(choice))
            x -= width(words, self.size.small) + 4
            self.text(None, x, y, words)
            x -= 26
            self.shape(None, corners(x, y - 7, 20, 14), lw=1, **looks)
            on_white(self, x + 10, y, letter, fontsize=self.size.small * 0.95)
            x -= 14

    def _draw_flips(self, flips: Sequence[Flip], top: float, bottom: float) -> None:
        small = self.size.small
        if not flips:
            words, y = say("no reading gets another answer"), (top + bottom) / 2
            self.text("flip-words-0", (LEFT + RIGHT) / 2, y, words, ha="center", color=style.FAINT)
            return
        ys = [top - 15 - row * (top - bottom - 30) / (_ROWS - 1) for row in range(_ROWS)]
        for at, flip in enumerate(flips):
            start, end = ends_of(flip)
            outline = corners(start, bottom + 1, end - start, top - bottom - 2)
            self.shape(f"flip-{at}", outline, fc=style.DANGER_FILL, ec=style.WARNING, lw=1.2)
            if at < _LISTED:
                middle = (start + end) / 2
                on_white(self, middle, ys[at % _ROWS], f"{at + 1}", fontsize=small * 0.9, color=style.WARNING)
        lines = [f"{at}  {flip}" for at, flip in enumerate(flips[:_LISTED], 1)]
        if more := len(flips) - len(lines):
            words = plural(more, "and {count} more stretch", "and {count} more stretches", count=more)
            lines[-1] = f"{lines[-1]}; {words}"
        looks = {"fontweight": "bold", "color": style.WARNING, "bbox": style.WHITE | {"pad": 0.8}}
        x, wide = 14.0, 0.0
        for at, line in enumerate(lines):
            if at and at % _ROWS == 0:
                x, wide = x + wide + 24, 0.0
            wide = max(wide, width(line, small, bold=True))
            self.text(f"flip-words-{at}", x, ys[at % _ROWS], fit(line, WIDTH - 14 - x, small, bold=True), **looks)

    def _draw_counts(self, seen: SiteChanges) -> None:
        left, wide, high, top = 288.0, 120.0, self._row * 0.62, HEIGHT - 266
        self._head(14, top, say("How much differs"))
        for at, count in enumerate(_told(seen.counts)):
            y = top - (at + 1) * self._row - 2
            self.text(f"count-title-{at}", 14, y, fit(count.title, 268, self.size.small))
            self.shape(None, corners(left, y - high / 2, wide, high), fc="white", ec=style.FAINT, lw=0.8)
            if count.differ:
                share = corners(left, y - high / 2, max(wide * count.differ / count.of, 3.0), high)
                self.shape(f"count-{at}", share, fc=style.DANGER_FILL, ec=style.WARNING, hatch="////", lw=1)
            bold = "bold" if count.differ else "normal"
            self.text(f"count-words-{at}", left + wide + 10, y, count_words(count), fontweight=bold)

    def _list_keys(self, seen: SiteChanges) -> None:
        left, top = 655, HEIGHT - 266
        self._head(left, top, say("What the site files say"))
        wrapped = [wrap(line, WIDTH - left - 12, self.size.small) for line in seen.keys]
        shown = having_room(wrapped, int((top - _DAYS_TOP - 20) / self._row))
        lines = [line for key in wrapped[:shown] for line in key]
        if more := len(wrapped) - shown:
            lines.append(plural(more, "… and {count} more key", "… and {count} more keys", count=more))
        for at, line in enumerate(lines or [say("the same in every key")]):
            self.text(f"key-{at}", left, top - (at + 1) * self._row - 2, line)

    def _draw_days(self, seen: SiteChanges) -> None:
        small, top = self.size.small, _DAYS_TOP
        self._head(14, top, say("The day after the same dose"))
        self._day_legend(top)
        for at, (ward, other) in enumerate(((seen.before, seen.after), (seen.after, seen.before))):
            y = top - 28 - at * 30
            self.text(None, 14, y, fit(ward.name, 138, small))
            self.line(None, (_DAY_LEFT, _DAY_RIGHT), (y, y), color=style.FAINT, lw=1)
            if not ward.day:
                self.text(None, _DAY_LEFT + 8, y + 8, say("this day cannot be planned"))
            for one in sorted(ward.day, key=lambda one: list(_MARKS).index(one.kind), reverse=True):
                _draw_mark(self, one, y, differs=one not in other.day)
        for hour in range(6, 31, 3):
            time, y = ClockTime(hour * 60), top - 76
            self.line(None, [_hour_at(time)] * 2, (y + 6, y + 9), lw=0.8)
            self.text(None, _hour_at(time), y, time.face, fontsize=small * 0.9, ha="center")
        words = as_many(seen.times, WIDTH - 28, small) if seen.times else say("no time differs")
        self.text("times", 14, top - 97, words, color=style.WARNING if seen.times else style.FAINT)

    def _day_legend(self, y: float) -> None:
        x = float(_DAY_RIGHT)
        for kind, marked in reversed(_MARKS.items()):
            words = say(marked)
            x -= width(words, self.size.small)
            self.text(None, x, y, words)
            x -= 19
            _draw_sign(self, kind, x, x + (12 if kind in ("draw up", "eat", "sleep") else 0), y, style.INK)
            x -= 16


def _hour_at(time: ClockTime) -> float:
    """Return where a time stands on the strip, in points."""
    share = (time.minutes - _FIRST_MINUTE) / MINUTES_A_DAY
    return _DAY_LEFT + min(max(share, 0), 1) * (_DAY_RIGHT - _DAY_LEFT)


def _draw_mark(sheet: Sheet, one: DayMark, y: float, *, differs: bool) -> None:
    """Draw one time or window of a day; one that the other ward has not is marked."""
    start, end = _hour_at(one.start), _hour_at(one.end)
    wide = max(end, start + 3) if one.kind in ("eat", "draw up") else end
    _draw_sign(sheet, one.kind, start, wide, y, style.WARNING if differs else style.INK)
    if differs and one.kind != "sleep":
        sheet.line(None, ((start + end) / 2,), (y + 14,), marker="v", ms=5, color=style.WARNING, mec="none")


def _draw_sign(sheet: Sheet, kind: MarkKind, start: float, end: float, y: float, color: str) -> None:
    """Draw the sign of a kind of time between two places."""
    middle = (start + end) / 2
    if kind == "draw up":
        sheet.line(None, (start, start, end, end), (y + 4, y + 10, y + 10, y + 4), color=color, lw=1.6)
    elif kind == "sleep":
        sheet.shape(None, corners(start, y - 7, end - start, 14), fc="#eeeeee", ec=color, lw=0.8, hatch="\\\\\\")
    elif kind == "eat":
        sheet.shape(None, corners(start, y - 8, end - start, 16), fc="white", ec=color, lw=1.6)
    elif kind == "visit":
        sheet.line(None, (start, end), (y, y), color=color, lw=4, alpha=0.35, solid_capstyle="butt")
        sheet.line(None, (start,), (y,), marker="o", ms=6, mfc="white", mec=color, mew=1.4)
    elif kind == "round":
        sheet.line(None, (middle, middle), (y - 9, y - 4), color=color, lw=1.4)
    else:
        sheet.line(None, (middle,), (y,), marker="D" if kind == "dose" else "s", ms=6, color=color, mec="none")


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
