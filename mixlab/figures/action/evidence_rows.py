"""The rows of the picture of evidence: handbooks as bars, studies as points with their spread, on one axis of hours."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from matplotlib.patches import Polygon
from matplotlib.text import Text

from mixlab.facts.action_rows import TrialRow
from mixlab.facts.records import ActionTimes
from mixlab.facts.shelf import shelf
from mixlab.figures import style
from mixlab.figures.style import Moving, Size, corners, named, write
from mixlab.ward.insulin import insulins
from mixlab.words import say, sentence

from .evidence_words import Evidence, TrialLine, any_of, dose_words, missing_words, short_name, trial_lines

LEFT, RIGHT = 280, 1060
LAST_HOUR = 26
NAMES = LEFT - 20
COLOUR = {"clear": style.CLEAR_LINE, "cloudy": style.CLOUDY_LINE}
_SHORT = {"arm": sentence("arm")}
"""What a place on the body is called where there is little room."""

MARKS = {"onset": "o", "peak": "v", "end": "|"}
NOWHERE = ((0, 0), (0, 0))
_HIGHEST = 24


def hour_place(hours: Any) -> Any:
    """Return where hours stand, in points; what lies after the last hour stands at the edge."""
    return LEFT + np.minimum(hours, LAST_HOUR) * (RIGHT - LEFT) / LAST_HOUR


def box(y: float, start: float, end: float) -> list[tuple[float, float]]:
    """Return the corners of a bar about a height, from one hour to another."""
    return corners(hour_place(start), y - 4.5, hour_place(end) - hour_place(start), 9)


def mark_places(points: Iterable[tuple[float, float]]) -> Any:
    """Return where marks stand, from hours and heights; what lies after the last hour is left to the mark at the edge."""
    return np.array([(hour_place(hour), y) for hour, y in points if hour <= LAST_HOUR]).reshape(-1, 2).T


def edge_places(ys: list[float]) -> Any:
    """Return where marks stand that say "later than the last hour"."""
    return np.full(len(ys), float(RIGHT)), np.array(ys)


def marks(page: Axes, owner: str) -> dict[str, Line2D]:
    """Return the marks of one owner, by moment, and the one at the edge, as "beyond"."""
    return {name: line(page, f"{owner}-{name}", sign) for name, sign in (MARKS | {"beyond": ">"}).items()}


def line(page: Axes, gid: str, sign: str = "") -> Line2D:
    """Return a line that moves, or marks without a line."""
    looks: dict[str, Any] = {"marker": sign, "ls": "none"} if sign else {"solid_capstyle": "butt"}
    (drawn,) = page.plot(
        [],
        [],
        color=style.INK,
        mfc="white",
        ms=12 if sign == "|" else 8.5,
        mew=2 if sign == "|" else 1.6,
        lw=1.6,
        **looks,
    )
    drawn.set_gid(gid)
    return drawn


class EvidenceRows:
    """The drawn rows; `show` moves them to another insulin or chosen row.

    Parameters
    ----------
    page : matplotlib.axes.Axes
        One whose unit is the point.
    low, high : float
        Between which heights the rows stand.
    size : Size
        `PAGE` or `ROOM`.
    """

    def __init__(self, page: Axes, low: float, high: float, size: Size) -> None:
        self._low, self._high = low, high
        small, white = size.small, {"fc": "white", "ec": "none", "pad": 1}
        rows = insulins().values()
        self._books = [self._book(page, place, small) for place in range(max(len(row.row.times) for row in rows))]
        most = max(len(trial_lines(row)) for row in rows)
        self._names = [write(page, NAMES, 0, "", small, f"study-{place}", ha="right") for place in range(most)]
        self._heads = [
            (
                write(page, 8, 0, "", size.words, f"head-{name}", color=style.FAINT),
                write(page, LEFT + 4, 0, "", small, f"head-{name}-key", color=style.FAINT, bbox=white),
            )
            for name in ("handbooks", "studies")
        ]
        self._pointer = named(Polygon(NOWHERE, fc=style.INK, ec="none"), "chosen-pointer")
        page.add_patch(self._pointer)
        self._measured = line(page, "spread-measured")
        self._ours = line(page, "spread-ours")
        self._ours.set_linestyle(":")
        self._marks = marks(page, "study")

    def _book(self, page: Axes, place: int, small: float) -> tuple[Text, dict[str, Polygon], Text]:
        boxes = {part: named(Polygon(NOWHERE, lw=0.8), f"book-{place}-{part}") for part in ("whole", "sure", "peak")}
        for one in boxes.values():
            page.add_patch(one)
        name = write(page, NAMES, 0, "", small, f"book-{place}", ha="right")
        white = {"fc": "white", "ec": "none", "pad": 0}
        return name, boxes, write(page, 0, 0, "", small, f"book-{place}-note", ha="center", bbox=white)

    def show(self, moving: Moving, evidence: Evidence) -> None:
        """Move the rows to what is said about this insulin; rows that it does not need are blank."""
        insulin = evidence.dose.insulin
        books, trials = insulin.row.times, trial_lines(insulin)
        rows = len(books) + len(trials) + 2
        pitch = min(_HIGHEST, (self._high - self._low) / rows)
        ys = [self._high - pitch * (row + 0.5) for row in range(rows)]
        for (head, key), words, y in zip(self._heads, _heads(evidence), (ys[0], ys[len(books) + 1]), strict=True):
            moving.set(head, text=words[0], y=y)
            moving.set(key, text=words[1], y=y)
        for book, times, y in zip(self._books, [*books, *[None] * len(self._books)], ys[1:] + ys, strict=False):
            self._show_book(moving, book, times, y, evidence)
        below = ys[len(books) + 2 :]
        for place, name in enumerate(self._names):
            there = place < len(trials)
            moving.set(name, text=_row_name(any_of(trials[place])) if there else "", y=below[place] if there else 0)
        self._show_studies(moving, trials, below)

    def _show_book(self, moving: Moving, book: Any, times: ActionTimes | None, y: float, evidence: Evidence) -> None:
        """Move a bar to the hours of a source, or blank it where there is none."""
        name, boxes, note = book
        chosen = times is not None and times is evidence.chosen
        colour = COLOUR[evidence.look]
        whole: Any = NOWHERE
        sure: Any = NOWHERE
        strongest: Any = NOWHERE
        if times:
            spans = [span for span in (times.onset, times.peak, times.duration) if span]
            whole = box(y, times.onset.low if times.onset else 0.0, spans[-1].high)
            if times.onset and times.duration:
                sure = box(y, times.onset.high, times.duration.low)
            if times.peak:
                about = 0.25 if times.peak.low == times.peak.high else 0.0
                strongest = box(y, times.peak.low - about, times.peak.high + about)
        weight = "bold" if chosen else "normal"
        moving.set(name, text=_row_name(times) if times else "", y=y, fontweight=weight)
        moving.set(note, text=missing_words(times) if times else "", x=(whole[0][0] + whole[-2][0]) / 2, y=y)
        moving.set(boxes["whole"], xy=whole, fc="white", ec=colour, linewidth=2 if chosen else 0.8)
        moving.set(boxes["sure"], xy=sure, **{"hatch": None} | style.LIQUID[evidence.look])
        moving.set(boxes["peak"], xy=strongest, fc=colour, ec=colour)
        if chosen:
            moving.set(self._pointer, xy=[(LEFT - 4, y), (LEFT - 15, y + 6), (LEFT - 15, y - 6)])

    def _show_studies(self, moving: Moving, trials: tuple[TrialLine, ...], below: list[float]) -> None:
        points = [
            (moment, trial, y + _shift(moment, found))
            for found, y in zip(trials, below, strict=True)
            for moment, trial in found.items()
        ]
        for moment in MARKS:
            places = mark_places((trial.value, y) for name, trial, y in points if name == moment)
            moving.set(self._marks[moment], data=places)
        moving.set(self._marks["beyond"], data=edge_places([y for _, trial, y in points if trial.high > LAST_HOUR]))
        for spread, ours in ((self._measured, False), (self._ours, True)):
            told = [(trial, y) for _, trial, y in points if (trial.spread == "our tolerance") == ours]
            ends = [(hour_place(trial.low), hour_place(trial.high), y) for trial, y in told if trial.low <= LAST_HOUR]
            xs = [x for low, high, _ in ends for x in (low, low, low, high, high, high, np.nan)]
            up = [height for _, _, y in ends for height in (y + 3, y - 3, y, y, y + 3, y - 3, np.nan)]
            moving.set(spread, data=(np.array(xs), np.array(up)))


def _shift(moment: str, found: TrialLine) -> float:
    """Return how far a point leaves its row, so that two spreads that meet can be told apart."""
    meets = {"onset": ("onset", "peak", 4), "end": ("peak", "end", -4)}
    first, then, shift = meets.get(moment, ("", "", 0))
    both = first in found and then in found
    return shift if both and found[first].high > found[then].low else 0


def _row_name(fact: ActionTimes | TrialRow) -> str:
    """Return what stands before a row of the picture: the source, before it the dose of a study."""
    name = short_name(shelf().sources[fact.source]) + (say(" (recalled)") if fact.known == "recalled" else "")
    if isinstance(fact, ActionTimes):
        return name
    place = (
        ""
        if fact.body_site == "abdomen"
        else f" ({say(_SHORT.get(fact.body_site, shelf().body_sites[fact.body_site].name))})"
    )
    return f"{dose_words(fact)}, {name}{place}"


def _heads(evidence: Evidence) -> tuple[tuple[str, str], tuple[str, str]]:
    """Return the heads above handbooks and studies, each with its key."""
    insulin = evidence.dose.insulin
    bars = say("bar from start to end, dark where strongest, white where start or end is left open")
    if not evidence.has_row:
        bars = say(
            "{source} has no row for {insulin}: its own taught row is marked",
            source=short_name(shelf().sources[evidence.row]),
            insulin=insulin,
        )
    lines = say("line: the study's spread; dotted: our tolerance, where the study gives none")
    if not trial_lines(insulin):
        lines = say("no study of {insulin} alone stands among our facts", insulin=insulin)
    return (say("Handbooks teach"), bars), (say("Studies measured"), lines)
