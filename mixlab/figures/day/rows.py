"""Rows of the day picture: when an insulin is taught to act, with the model's marks, and when to check on the patient."""

from __future__ import annotations

import re
import textwrap

import numpy as np
from matplotlib.patches import Polygon

from mixlab.care.day.parts import Acting, Window
from mixlab.care.day.planning import DayPlan
from mixlab.facts.reading import the_facts
from mixlab.facts.records import TaughtTimes
from mixlab.figures import style
from mixlab.figures.action.bars import ModelMarks
from mixlab.figures.action.evidence_words import short_name
from mixlab.figures.style import NOWHERE, Moving, corners
from mixlab.quantities import ClockTime, units_text
from mixlab.words import say

from .clock_line import PAPER, RIGHT, SIDE, Board, Stretch, at_time, ends, take_lane, words_wide
from .day_words import slip_letter

BARS = {"clear": 319.0, "cloudy": 283.0}
_BOTH, _VISITS, _ROUNDS = 256, (235, 213, 192), 172
MOST_VISITS = 16
_SOURCE_LETTERS = 37
_PEAK_MINUTES = 15  # how wide to either side a single hour is drawn
_TURN = np.linspace(2.3, -2.3, 19)
_DROP = np.array([(0, 13), *zip(8.5 * np.sin(_TURN), -8.5 * np.cos(_TURN), strict=True)])
_CIRCLE = np.array([(8.5 * np.sin(turn), 8.5 * np.cos(turn)) for turn in np.linspace(0, 2 * np.pi, 24)])


class InsulinBars:
    """One insulin: the taught bar, and the model's marks under it."""

    def __init__(self, board: Board, look: str) -> None:
        edge, self._y = style.CURVES[look]["color"], BARS[look]
        self._size = board.size
        self._name = board.text(f"name-{look}", SIDE, self._y + 3, color=edge, fontweight="bold")
        self._source = board.text(f"source-{look}", SIDE, self._y - 11)
        self._whole = board.shape(f"taught-{look}", fc="white", ec=edge, lw=1.2, zorder=2)
        self._sure = board.shape(f"taught-{look}-sure", lw=0.8, zorder=2.1, **style.LIQUID[look])
        dots = style.CLOUDY_HATCH[:2] if look == "cloudy" else None  # half as dense: each dot is part of the page
        self._peak = board.shape(f"taught-{look}-peak", fc=edge, ec="white", hatch=dots, lw=0.8, zorder=2.2)
        self._model = ModelMarks(board, look, self._y - 13, RIGHT, zorder=3, ms=10, mew=1.8, lw=1.4)
        self._model.top.set(markersize=9, markeredgewidth=1.4)

    def show(self, moving: Moving, plan: DayPlan, acting: Acting) -> None:
        """Move the row to an insulin's times on the clock."""
        dose, row = acting.dose, acting.row
        amount, look = f"{dose.insulin} {units_text(dose.units)}", dose.insulin.look
        otherwise = bool(slip_letter(plan))
        words = say("ordered: {amount}", amount=amount) if otherwise else f"{amount}, {say(look)}"
        moving.set(self._name, text=words, fontsize=self._size.small if otherwise else self._size.words)
        moving.set(self._source, text=_source_words(row, f"{say(look)}; " if otherwise else ""))
        starts, over = acting.starts, acting.ends
        windows = [window for window in (starts, acting.strongest, over) if window]
        self._box(moving, self._whole, plan, starts.start if starts else plan.given_at, windows[-1].end)
        if starts and over:
            self._box(moving, self._sure, plan, starts.end, over.start)
        else:
            moving.hide(self._sure)
        if peak := acting.strongest:
            room = _PEAK_MINUTES if peak.start == peak.end else 0
            self._box(moving, self._peak, plan, peak.start.later(-room), peak.end.later(room))
        else:
            moving.hide(self._peak)
        times = (acting.model_start, acting.model_strongest, acting.model_end)
        start, top, end = (None if time is None else at_time(plan, time) for time in times)
        self._model.show(moving, start, top, None if end == RIGHT else end)  # which may lie beyond it

    def _box(self, moving: Moving, box: Polygon, plan: DayPlan, start: ClockTime, end: ClockTime) -> None:
        left, right = at_time(plan, start), at_time(plan, end)
        moving.set(box, xy=corners(left, self._y - 7, right - left, 14))


def _source_words(taught: TaughtTimes, before: str) -> str:
    """Return who teaches the times, as short as the room beside the bar: the first words, the year, and whether recalled."""
    known = say(" (recalled)") if any(row.known == "recalled" for row in taught.rows) else ""
    if len(taught.rows) > 1:
        words = say("{before}{count} handbooks together", before=before, count=len(taught.rows))
        return f"{words}{known}"
    (row,) = taught.rows
    name = short_name(the_facts().sources[row.source])
    year = name[-5:] if re.search(r" [0-9]{4}$", name) else ""
    head = name.removesuffix(year)
    room = _SOURCE_LETTERS - len(before) - len(year) - len(known)
    return f"{before}{textwrap.shorten(head, room, placeholder=' …').replace('… …', '…')}{year}{known}"


class VisitRows:
    """When both insulins can act, the numbered visits, and the rounds."""

    def __init__(self, board: Board) -> None:
        self._small = board.size.small
        self._both = board.line("both-bracket", lw=2)
        self._both_words = board.text("both-words", 0, _BOTH, **PAPER)
        board.head(_VISITS[0], say("check"))
        for y, shape, fill, words in (
            (_VISITS[1], _DROP, style.INK, say("measure")),
            (_VISITS[2], _CIRCLE, "white", say("look and ask")),
        ):
            board.shape(None, shape * 0.8 + (SIDE + 9, y), fc=fill, ec=style.INK, lw=1.6)
            board.text(None, SIDE + 24, y, words)
        self._spans = board.line("look-spans", lw=2, zorder=3)
        self._marks = [
            (
                board.shape(f"look-{at}", ec=style.INK, lw=1.6, zorder=7),
                board.text(f"look-{at}-number", 0, 0, ha="center", fontweight="bold", zorder=8),
            )
            for at in range(1, MOST_VISITS + 1)
        ]
        board.head(_ROUNDS, say("somebody is due"))
        self._rounds = board.line("rounds", marker="D", ls="none", ms=7, zorder=3)

    def show(self, moving: Moving, plan: DayPlan) -> None:
        """Move everything to a day; visits at one time stand one below the other."""
        self._show_both(moving, plan, plan.both_taught)
        lanes: list[list[Stretch]] = [[] for _ in _VISITS]
        spans: list[tuple[float, float, float]] = []
        for at, (mark, number) in enumerate(self._marks):
            if at >= len(plan.visits):
                moving.set(mark, xy=NOWHERE, fc="white")
                moving.hide(number)
                continue
            visit = plan.visits[at]
            start, end = ends(plan, visit.window)
            lane, _ = take_lane(lanes, (start - 10, max(start + 10, end + 3))) or (-1, 0)
            y = _VISITS[lane]
            shape, fill, ink = (_DROP, style.INK, "white") if visit.measure else (_CIRCLE, "white", style.INK)
            moving.set(mark, xy=shape + (start, y), fc=fill)
            moving.set(number, text=f"{at + 1}", position=(start, y - 0.5), color=ink)
            spans += [(start, end, y)] if end > start else []
        nan = np.nan
        xs = [x for start, end, _ in spans for x in (start, end, nan, end, end, nan)]
        ys = [up for _, _, y in spans for up in (y, y, nan, y - 6, y + 6, nan)]
        moving.set(self._spans, data=(np.array(xs), np.array(ys)))
        moving.set(self._rounds, data=([at_time(plan, time) for time in plan.rounds], [_ROUNDS] * len(plan.rounds)))

    def _show_both(self, moving: Moving, plan: DayPlan, window: Window | None) -> None:
        if window is None:
            moving.hide(self._both, self._both_words)
            return
        start, end = ends(plan, window)
        words = say("both can act {start} to {end}", start=window.start.face, end=window.end.face)
        moving.set(self._both, data=((start, start, end, end), (_BOTH + 6, _BOTH, _BOTH, _BOTH + 6)))
        inside = words_wide(words, self._small) < end - start - 20
        place = ((start + end) / 2 if inside else end + 6, _BOTH)
        moving.set(self._both_words, text=words, position=place, ha="center" if inside else "left")
