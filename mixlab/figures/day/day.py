"""The day at the bedside as one picture on a clock line: meals, both insulins, visits, clashes, action against need."""

from __future__ import annotations

from typing import Any

from mixlab.care.day.planning import DayPlan
from mixlab.figures import style
from mixlab.figures.style import NOWHERE, Moving, Size, Touched, corners, strokes
from mixlab.quantities import MINUTES_A_DAY, ClockTime
from mixlab.words import say

from .clash_row import LANES, ClashRow
from .clock_line import (
    HEIGHT,
    PAPER,
    SIDE,
    STRIP,
    WIDTH,
    Board,
    Stretch,
    at_minute,
    at_time,
    ends,
    labels_beside,
    take_lane,
    words_wide,
)
from .day_words import (
    AFTER_MINUTES,
    BEFORE_MINUTES,
    DaySeen,
    eat_words,
    limit_words,
    sleep_windows,
    sleep_words,
    title_words,
)
from .need_strip import NeedStrip
from .rows import MOST_VISITS, InsulinBars, VisitRows

_TITLE, _LIMITS = HEIGHT - 14, HEIGHT - 36
_MEALS, _EAT = (356, 370, 340), 340
_NIGHT, _FACES, _NEXT = 158, 40, 25
_MOST_MEALS, _MOST_NIGHTS = 12, 2
# Pale of itself: a browser draws a hatch that lets light through twice as faint as matplotlib does.
_NIGHT_INK = "#d2d2d2"
_STEP = 120  # minutes between two clock faces


class DayFigure(Board):
    """The drawn day; `show` moves everything to another dose, time or meal."""

    def __init__(self, size: Size) -> None:
        super().__init__(size)
        self._draw_clock()
        given = at_minute(0)
        self._title = self.text("day-title", SIDE, _TITLE, fontsize=size.title, fontweight="bold")
        key = say("bar: taught; dark: strongest; white: may start or end; |–▽–|: model, recalled")
        self.text(None, WIDTH - 10, _TITLE, key, ha="right")
        self._given = self.text("injected", given + 6, _LIMITS, fontsize=size.words, fontweight="bold")
        self._limits = self.text("limits", given + 136, _LIMITS, fontsize=size.words)
        self._more = self.text("day-more", WIDTH - 10, _LIMITS, ha="right", fontweight="bold")
        self._clashes = ClashRow(self)
        self.head(_MEALS[0], say("meals"))
        self._meals = [self.text(f"meal-{at}", 0, 0, **PAPER) for at in range(_MOST_MEALS)]
        marks: dict[str, Any] = {"ls": "none", "marker": "s", "ms": 11, "zorder": 7}
        self._eaten = self.line("meals-eaten", **marks)
        self._missed = self.line("meals-missed", mfc="white", mec=style.WARNING, mew=2, **marks)
        self._crossed = self.line("meals-crossed", mec=style.WARNING, mew=2.6, **marks | {"marker": "x", "ms": 16})
        self._eat = self.line("eat-bracket", lw=2)
        self._eat_words = self.text("eat-words", 0, _EAT, **PAPER)
        self._insulins = {"clear": InsulinBars(self, "clear"), "cloudy": InsulinBars(self, "cloudy")}
        self._visits = VisitRows(self)
        self._strip = NeedStrip(self)

    def _draw_clock(self) -> None:
        night: dict[str, Any] = {"fc": "none", "ec": _NIGHT_INK, "hatch": "//", "lw": 0, "zorder": 0}
        self._nights = [self.shape(f"night-{at}", **night) for at in range(_MOST_NIGHTS)]
        self._night = self.text("night-name", 0, _NIGHT, ha="center", **PAPER)
        self._hours = self.line("hours", color=style.FAINT, alpha=0.3, lw=1, zorder=0.5)
        self._midnight = self.line("midnight", color=style.FAINT, lw=1.8, ls=(0, (5, 3)), zorder=0.6)
        self._next = self.text("next-day", 0, _NEXT, say("next day"), ha="center", fontweight="bold")
        most = (BEFORE_MINUTES + AFTER_MINUTES) // _STEP + 1
        self._faces = [self.text(f"face-{at}", 0, _FACES, ha="center") for at in range(most)]
        self.head(_FACES, say("clock"))
        self.line(None, [at_minute(0)] * 2, (STRIP[0], _LIMITS + 8), lw=2.4, zorder=1.5)

    def show(self, seen: DaySeen) -> Touched:
        """Move everything to this day and return the artists that were touched."""
        moving, plan = self.moving(), seen.plan
        moving.set(self._title, text=title_words(plan))
        moving.set(self._given, text=say("injected {injected}", injected=plan.given_at.face))
        moving.set(self._limits, text=limit_words(plan), fontweight="bold" if plan.answer.held else "normal")
        self._show_clock(moving, plan)
        full = self._clashes.show(moving, seen) | self._show_meals(moving, plan, self._show_eat(moving, plan))
        full = full or len(plan.visits) > MOST_VISITS
        moving.set(self._more, text=say("more in the list than fits here") if full else "")
        self._insulins["clear"].show(moving, plan, plan.clear)
        self._insulins["cloudy"].show(moving, plan, plan.cloudy)
        self._visits.show(moving, plan)
        self._strip.show(moving, seen)
        return moving.touched

    def _show_clock(self, moving: Moving, plan: DayPlan) -> None:
        first, last = plan.given_at.later(-BEFORE_MINUTES), plan.given_at.later(AFTER_MINUTES)
        times = [ClockTime(at) for at in range(-(-first.minutes // _STEP) * _STEP, last.minutes + 1, _STEP)]
        moving.label(self._faces, ((at.face, (min(at_time(plan, at), WIDTH - 18), _FACES)) for at in times))
        top, tall = LANES[0] + 8, LANES[0] + 8 - STRIP[0]
        moving.set(self._hours, data=strokes([at_time(plan, time) for time in times], top, tall + 4))
        midnight = at_time(plan, ClockTime(MINUTES_A_DAY))
        moving.set(self._midnight, data=((midnight, midnight), (STRIP[0] - 4, top)))
        moving.set(self._next, position=(min(midnight, WIDTH - 32), _NEXT))
        nights = [ends(plan, night) for night in sleep_windows(plan)]
        for at, shape in enumerate(self._nights):
            start, end = nights[at] if at < len(nights) else (0, 0)
            moving.set(shape, xy=corners(start, STRIP[0], end - start, tall) if end > start else NOWHERE)
        self._name_night(moving, plan, nights)

    def _name_night(self, moving: Moving, plan: DayPlan, nights: list[Stretch]) -> None:
        if not nights:
            moving.hide(self._night)
            return
        words = sleep_words(plan)
        start, end = max(nights, key=lambda night: night[1] - night[0])
        half = words_wide(words, self.size.small) / 2
        middle = min(max((start + end) / 2, at_minute(0) + half), WIDTH - half)
        moving.set(self._night, text=words, position=(middle, _NIGHT))

    def _show_meals(self, moving: Moving, plan: DayPlan, eat: Stretch) -> bool:
        """Mark each meal, and name it beside, above or below its mark; return whether some found no room."""
        shown, full = plan.meals[:_MOST_MEALS], len(plan.meals) > _MOST_MEALS
        places = [at_time(plan, one.at) for one in shown]
        injection: Stretch = (0, at_minute(0) + 2)
        around = [(x - 7, x + 7) for x in places]
        lanes: list[list[Stretch]] = [[injection, *around], [injection], [injection, eat]]
        moving.hide(*self._meals[len(shown) :])
        for text, x, one in zip(self._meals, places, shown, strict=False):
            eaten = one.meal.eaten
            missed = "" if eaten else say(" not eaten")
            words = f"{one.name} {one.at.face}{missed}"
            for said in (words, one.at.face):  # the time alone where there is no room for more
                labels = labels_beside(said, x, 11, self.size.small)
                found = take_lane(lanes, *(label.reach for label in labels))
                if found:
                    break
            full = full or found is None
            lane, which = found or (0, 0)
            moving.set(
                text, text=said if found else "", position=(labels[which].x, _MEALS[lane]), ha=labels[which].side,
                fontweight="normal" if eaten and one is not plan.meal else "bold",
                color=style.INK if eaten else style.WARNING,
            )  # fmt: skip
        for marks, eaten in ((self._eaten, True), (self._missed, False), (self._crossed, False)):
            xs = [x for x, one in zip(places, shown, strict=True) if one.meal.eaten is eaten]
            moving.set(marks, data=(xs, [_MEALS[0]] * len(xs)))
        return full

    def _show_eat(self, moving: Moving, plan: DayPlan) -> Stretch:
        """Show when the dose's own meal may come, and return what that covers."""
        bracket: tuple[tuple[float, ...], tuple[float, ...]] = ((), ())
        start, end, words = at_minute(0), at_minute(0), eat_words(plan)
        if plan.eat:
            start, end = ends(plan, plan.eat)
            bracket = ((start, start, end, end), (_EAT + 8, _EAT, _EAT, _EAT + 8))
        (label, *_) = labels_beside(words, end, 6, self.size.small)
        moving.set(self._eat, data=bracket)
        moving.set(self._eat_words, text=words, position=(label.x, _EAT), ha=label.side)
        return min(start, label.reach[0]), max(end, label.reach[1])


def draw_day(seen: DaySeen, size: Size = style.PAGE) -> DayFigure:
    """Draw the day after a mixed dose.

    Parameters
    ----------
    seen : DaySeen
        A plan of :func:`mixlab.care.day.planning.day_plan`, with the model's curves and what they cover.
    size : Size
        `PAGE` or `ROOM`.
    """
    drawn = DayFigure(size)
    drawn.show(seen)
    return drawn
