"""What pictures of action share: how far a taught bar reaches, and the model's marks beside it."""

from __future__ import annotations

from typing import Any

from mixlab.care.action.curves import ActionCurves, Part
from mixlab.facts.records import ActionTimes, TaughtTimes
from mixlab.figures import style
from mixlab.figures.style import Moving, Sheet, corners
from mixlab.quantities import number_text
from mixlab.words import say, sentence

_TAUGHT = (sentence("starts {hours}"), sentence("strongest {hours}"), sentence("lasts {hours}"))

Hour = float | None


def bar_hours(times: ActionTimes | TaughtTimes, last: float) -> tuple[tuple[float, float], tuple[float, float] | None]:
    """Return from which hour to which a taught bar reaches, and between which it is dark, if the row says so.

    Parameters
    ----------
    times : ActionTimes or TaughtTimes
        The row of a handbook, or what several teach together. A single strongest hour is drawn half an hour wide.
    last : float
        The hour at which the bar ends at the latest, and where the row gives no end.
    """
    whole = (times.onset.low if times.onset else 0.0, min(times.duration.high, last) if times.duration else last)
    if not times.peak:
        return whole, None
    about = 0.25 if times.peak.low == times.peak.high else 0.0
    return whole, (times.peak.low - about, times.peak.high + about)


class ModelMarks:
    """When the model has an insulin start, act most and end: a span with ends, and a triangle on it.

    Parameters
    ----------
    sheet : Sheet
        Where they are drawn.
    look : str
        The insulin's, for their ids.
    y, right : float
        How high they stand, and the edge of the picture: what ends beyond it has no mark for its end.
    **looks
        Of the span and the triangle.
    """

    def __init__(self, sheet: Sheet, look: str, y: float, right: float, **looks: Any) -> None:
        self._y, self._right = y, right
        self._span = sheet.line(f"model-{look}", marker="|", mfc="white", **looks)
        self.top = sheet.line(f"model-{look}-peak", marker="v", ls="none", mfc="white", **looks)

    def show(self, moving: Moving, start: float | None, peak: float | None, end: float | None) -> None:
        """Move them to places in points, None for what the model does not have."""
        seen = end is not None and end <= self._right
        xs = [] if start is None else [start, end if seen else self._right]
        moving.set(self._span, markevery=[0, 1] if seen else [0], data=(xs, [self._y] * len(xs)))
        if peak is None or peak > self._right:
            moving.hide(self.top)
        else:
            moving.set(self.top, data=([peak], [self._y]))


class TaughtRow:
    """One insulin on an axis of hours: the taught bar, its words above it, and the model's marks below it.

    Parameters
    ----------
    sheet : Sheet
        Where they are drawn.
    look : "clear" or "cloudy"
        The insulin's.
    axis : tuple of three float
        Where hour 0 and the last hour stand, in points, and which hour is the last.
    y, high, below : float
        The middle of the bar, its height, and how far below its middle the marks stand.
    **looks
        Of the marks.
    """

    def __init__(
        self,
        sheet: Sheet,
        look: Part,
        axis: tuple[float, float, float],
        y: float,
        high: float,
        below: float,
        **looks: Any,
    ) -> None:
        self._look: Part = look
        self._left, self._right, self._last = axis
        self._y, self._high = y, high
        edge = style.CURVES[look]["color"]
        self._words = sheet.text(f"taught-{look}-words", self._left, y + high / 2 + 9, color=edge)
        self._bars = (
            sheet.shape(f"taught-{look}", lw=0.8, **style.LIQUID[look]),
            sheet.shape(f"taught-{look}-peak", lw=0.8, fc=edge, ec=edge, alpha=0.75),
        )
        self._marks = ModelMarks(sheet, look, y - below, self._right, lw=1.2, ms=7, **looks)

    def show(self, moving: Moving, words: str, times: TaughtTimes, curves: ActionCurves | None) -> None:
        """Move everything to the taught times and to the model's curves."""
        moving.set(self._words, text=words)
        for bar, hours in zip(self._bars, bar_hours(times, self._last), strict=True):
            if hours is None:
                moving.hide(bar)
            else:
                low, high = (self._at(min(hour, self._last)) for hour in hours)
                moving.set(bar, xy=corners(low, self._y - self._high / 2, high - low, self._high))
        start, peak, end = (None if hour is None else self._at(hour) for hour in moments(curves, self._look))
        self._marks.show(moving, start, peak, end)

    def _at(self, hour: float) -> float:
        return self._left + hour * (self._right - self._left) / self._last


def moments(curves: ActionCurves | None, part: Part) -> tuple[Hour, Hour, Hour]:
    """Return when a part starts, is strongest and ends, by the model."""
    return (curves.onset(part), curves.peak(part), curves.end(part)) if curves else (None, None, None)


def hours_text(hours: float) -> str:
    """Print hours of a model to a tenth, as finely as they can be meant: ``"2.7 h"``."""
    return f"{number_text(round(hours, 1))} h"


def times_text(times: ActionTimes | TaughtTimes) -> str:
    """Print taught times: ``"starts 0.5–1 h, strongest 2–4 h, lasts 5–8 h"``."""
    parts = zip(_TAUGHT, (times.onset, times.peak, times.duration), strict=True)
    return ", ".join(say(words, hours=span) for words, span in parts if span)
