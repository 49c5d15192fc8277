"""The rows of the picture of evidence: handbooks as bars, studies as points with their spread, on one axis of hours."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import zip_longest
from typing import Any

import numpy as np
from matplotlib.lines import Line2D
from matplotlib.patches import Polygon
from matplotlib.text import Text

from mixlab.facts.action_rows import TrialRow
from mixlab.facts.reading import the_facts
from mixlab.facts.records import ActionTimes
from mixlab.figures import style
from mixlab.figures.style import NOWHERE, Moving, Sheet, corners
from mixlab.quantities import number_text
from mixlab.ward.insulin import insulins
from mixlab.words import say, sentence

from .bars import bar_hours
from .evidence_words import Evidence, TrialLine, any_of, dose_words, missing_words, short_name, trial_lines

LEFT, RIGHT = 280, 1060
LAST_HOUR_OF_STUDIES = 26
NAMES = LEFT - 20
_SHORT = {"arm": sentence("arm")}
"""What a place on the body is called where there is little room."""

MARKS = {"onset": "o", "peak": "v", "end": "|"}
_HIGHEST = 24


def hour_place(hours: Any) -> Any:
    """Return where hours stand, in points; what lies after the last hour stands at the edge."""
    return LEFT + np.minimum(hours, LAST_HOUR_OF_STUDIES) * (RIGHT - LEFT) / LAST_HOUR_OF_STUDIES


def box(y: float, start: float, end: float) -> list[tuple[float, float]]:
    """Return the corners of a bar about a height, from one hour to another."""
    return corners(hour_place(start), y - 4.5, hour_place(end) - hour_place(start), 9)


def mark_places(points: Iterable[tuple[float, float]]) -> Any:
    """Return where marks stand, from hours and heights; what lies after the last hour is left to the mark at the edge."""
    return np.array([(hour_place(hour), y) for hour, y in points if hour <= LAST_HOUR_OF_STUDIES]).reshape(-1, 2).T


def edge_places(ys: list[float]) -> Any:
    """Return where marks stand that say "later than the last hour"."""
    return np.full(len(ys), float(RIGHT)), np.array(ys)


def marks(sheet: Sheet, owner: str) -> dict[str, Line2D]:
    """Return the marks of one owner, by moment, and the one at the edge, as "beyond"."""
    return {
        name: sheet.line(
            f"{owner}-{name}",
            marker=sign,
            ls="none",
            mfc="white",
            ms=12 if sign == "|" else 8.5,
            mew=2 if sign == "|" else 1.6,
        )
        for name, sign in (MARKS | {"beyond": ">"}).items()
    }


class EvidenceRows:
    """The drawn rows; `show` moves them to another insulin or chosen row.

    Parameters
    ----------
    sheet : Sheet
        Where they are drawn.
    low, high : float
        Between which heights the rows stand.
    """

    def __init__(self, sheet: Sheet, low: float, high: float) -> None:
        self._low, self._high = low, high
        rows = [insulin.row for insulin in insulins().values()]
        self._books = [self._book(sheet, place) for place in range(max(len(row.times) for row in rows))]
        most = max(map(len, map(trial_lines, insulins().values())))
        self._names = [sheet.text(f"study-{place}", NAMES, 0, ha="right") for place in range(most)]
        self._heads = [
            (
                sheet.text(f"head-{name}", 8, 0, fontsize=sheet.size.words, color=style.FAINT),
                sheet.text(f"head-{name}-key", LEFT + 4, 0, color=style.FAINT, bbox=style.WHITE),
            )
            for name in ("handbooks", "studies")
        ]
        self._measured = sheet.line("spread-measured", lw=1.6, solid_capstyle="butt")
        self._ours = sheet.line("spread-ours", lw=1.6, ls=":", solid_capstyle="butt")
        self._marks = marks(sheet, "study")

    def _book(self, sheet: Sheet, place: int) -> tuple[Text, list[Polygon], Text, Polygon]:
        bars = [sheet.shape(f"book-{place}-{part}", lw=0.8) for part in ("whole", "sure", "peak")]
        name = sheet.text(f"book-{place}", NAMES, 0, ha="right")
        note = sheet.text(f"book-{place}-note", 0, 0, ha="center", bbox=style.WHITE | {"pad": 0})
        return name, bars, note, sheet.shape(f"book-{place}-pointer", fc=style.INK)

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
        for book, times, y in zip_longest(self._books, books, ys[1 : 1 + len(books)]):
            self._show_book(moving, book, times, y or 0.0, evidence)
        below = ys[len(books) + 2 :]
        names = ((_row_name(any_of(trial)), (NAMES, y)) for trial, y in zip(trials, below, strict=True))
        moving.label(self._names, names)
        self._show_studies(moving, trials, below)

    def _show_book(self, moving: Moving, book: Any, times: ActionTimes | None, y: float, evidence: Evidence) -> None:
        """Move a bar to the hours of a source, or blank it where there is none."""
        name, bars, note, pointer = book
        chosen = times in evidence.chosen.rows
        edge = style.CURVES[evidence.look]["color"]
        start = end = 0.0
        places: list[Any] = [NOWHERE] * 3
        if times:
            spans = [span for span in (times.onset, times.peak, times.duration) if span]
            (start, end), dark = bar_hours(times, spans[-1].high)
            known = (times.onset.high, times.duration.low) if times.onset and times.duration else None
            places = [box(y, *hours) if hours else NOWHERE for hours in ((start, end), known, dark)]
        looks: list[dict[str, Any]] = [
            {"fc": "white", "ec": edge, "linewidth": 2 if chosen else 0.8},
            {"hatch": None} | style.LIQUID[evidence.look],
            {"fc": edge, "ec": edge},
        ]
        for bar, place, look in zip(bars, places, looks, strict=True):
            moving.set(bar, xy=place, **look)
        weight = "bold" if chosen else "normal"
        moving.set(name, text=_row_name(times) if times else "", y=y, fontweight=weight)
        middle = (hour_place(start) + hour_place(end)) / 2
        beyond = say("up to {hours} h", hours=number_text(end)) if end > LAST_HOUR_OF_STUDIES else ""
        moving.set(note, text=(missing_words(times) or beyond) if times else "", x=middle, y=y)
        moving.set(pointer, xy=[(LEFT - 4, y), (LEFT - 15, y + 6), (LEFT - 15, y - 6)] if chosen else NOWHERE)

    def _show_studies(self, moving: Moving, trials: tuple[TrialLine, ...], below: list[float]) -> None:
        points = [
            (moment, trial, y + _shift(moment, found))
            for found, y in zip(trials, below, strict=True)
            for moment, trial in found.items()
        ]
        for moment in MARKS:
            places = mark_places((trial.value, y) for name, trial, y in points if name == moment)
            moving.set(self._marks[moment], data=places)
        moving.set(
            self._marks["beyond"], data=edge_places([y for _, trial, y in points if trial.high > LAST_HOUR_OF_STUDIES])
        )
        for spread, ours in ((self._measured, False), (self._ours, True)):
            told = [
                (hour_place(trial.low), hour_place(trial.high), y)
                for _, trial, y in points
                if trial.spread_is_ours == ours and trial.low <= LAST_HOUR_OF_STUDIES
            ]
            xs = [x for low, high, _ in told for x in (low, low, low, high, high, high, np.nan)]
            up = [height for _, _, y in told for height in (y + 3, y - 3, y, y, y + 3, y - 3, np.nan)]
            moving.set(spread, data=(np.array(xs), np.array(up)))


def _shift(moment: str, found: TrialLine) -> float:
    """Return how far a point leaves its row, so that two spreads that meet can be told apart."""
    meets = {"onset": ("onset", "peak", 4), "end": ("peak", "end", -4)}
    first, then, shift = meets.get(moment, ("", "", 0))
    both = first in found and then in found
    return shift if both and found[first].high > found[then].low else 0


def _row_name(fact: ActionTimes | TrialRow) -> str:
    """Return what stands before a row of the picture: the source, before it the dose of a study."""
    name = short_name(the_facts().sources[fact.source]) + (say(" (recalled)") if fact.known == "recalled" else "")
    if isinstance(fact, ActionTimes):
        return name
    place = ""
    if fact.body_site != "abdomen":
        place = f" ({say(_SHORT.get(fact.body_site, the_facts().body_sites[fact.body_site].name))})"
    return f"{dose_words(fact)}, {name}{place}"


def _heads(evidence: Evidence) -> tuple[tuple[str, str], tuple[str, str]]:
    """Return the heads above handbooks and studies, each with its key."""
    insulin = evidence.dose.insulin
    bars = say("bar from start to end, dark where strongest, white where start or end is left open")
    if evidence.row and not evidence.has_row:
        source = short_name(the_facts().sources[evidence.row])
        bars = say("{source} has no row for {insulin}: what is taught of it is marked", source=source, insulin=insulin)
    lines = say("line: the study's spread; dotted: our tolerance, where the study gives none")
    if not trial_lines(insulin):
        lines = say("no study of {insulin} alone stands among our facts", insulin=insulin)
    return (say("Handbooks teach"), bars), (say("Studies measured"), lines)
