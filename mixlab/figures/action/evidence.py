"""Who says what about one insulin: handbooks, studies and the model, one below the other on one axis of hours."""

from __future__ import annotations

import textwrap
from typing import Any

import numpy as np

from mixlab.figures import style
from mixlab.figures.style import NOWHERE, Moving, Sheet, Size, Touched, outline_between
from mixlab.quantities import number_text, units_text
from mixlab.words import say

from .bars import hours_text
from .evidence_rows import (
    LAST_HOUR_OF_STUDIES,
    LEFT,
    MARKS,
    NAMES,
    RIGHT,
    EvidenceRows,
    box,
    edge_places,
    hour_place,
    mark_places,
    marks,
)
from .evidence_words import Evidence, model_units, no_model_words, notice_words

WIDTH, HEIGHT = 1080, 476
_ROWS, _CURVE = (166, HEIGHT - 28), (28, 142)
_MODEL_ROW = 154
_SIDE, _SIDE_LETTERS, _SIDE_LINES = 8, 40, 7
_NOTICE_LETTERS, _NOTICE_LINES = 66, 3
_HOURS = LAST_HOUR_OF_STUDIES * np.linspace(0, 1, 101) ** 2  # closer where the curve bends most
_LINE_SHARE = 0.53
"""How high the line stands in the space for the curve: above it is room for days that act more."""


class EvidenceFigure(Sheet):
    """The drawn rows and the model's curve; `show` moves them to another insulin, dose or chosen row."""

    def __init__(self, size: Size) -> None:
        super().__init__(WIDTH, HEIGHT, size)
        for hour in range(0, LAST_HOUR_OF_STUDIES + 1, 2):
            looks: dict[str, Any] = {
                "color": style.FAINT,
                "alpha": 0.5 if hour % 4 == 0 else 0.2,
                "lw": 1,
                "zorder": 0.5,
            }
            self.line(None, [hour_place(hour)] * 2, (_CURVE[0], _ROWS[1]), **looks)
            self.text(None, hour_place(hour), 18, str(number_text(hour)), ha="center")
        self.line(None, (LEFT, RIGHT), [_CURVE[0]] * 2, lw=1)
        self.line(None, (_SIDE, RIGHT), [_ROWS[0]] * 2, color=style.FAINT, lw=1)
        self.text(None, NAMES, 18, say("hours after the injection"), ha="right")
        key = say("○ starts   ▽ strongest   | ends   ▷ after {last_hour} h", last_hour=LAST_HOUR_OF_STUDIES)
        self.text(None, WIDTH - 8, HEIGHT - 14, key, ha="right")
        self._title = self.text("evidence-title", _SIDE, HEIGHT - 14, fontsize=size.title, fontweight="bold")
        self._rows = EvidenceRows(self, *_ROWS)
        self._bands = [self.shape(f"fan-{name}", lw=0.8) for name in ("outer", "inner", "peak")]
        self._curve = self.line("model-curve", lw=size.line * 1.3)
        self._marks = marks(self, "model")
        self._model = self.text("model-name", NAMES, _MODEL_ROW, ha="right")
        ys = [_CURVE[1] - 8 - 14 * line for line in range(_SIDE_LINES)]
        self._side = [self.text(f"side-{line}", _SIDE, y) for line, y in enumerate(ys)]
        bold: dict[str, Any] = {"ha": "right", "color": style.WARNING, "fontweight": "bold", "bbox": style.WHITE}
        self._notices = [self.text(f"notice-{line}", RIGHT, y, **bold) for line, y in enumerate(ys[:_NOTICE_LINES])]
        middle = ((LEFT + RIGHT) / 2, sum(_CURVE) / 2)
        self._none = self.text("no-model", *middle, fontsize=size.title, ha="center", bbox=style.WHITE)

    def show(self, evidence: Evidence) -> Touched:
        """Move everything to this insulin and dose and return the artists that were touched."""
        moving = self.moving()
        dose = evidence.dose
        title = say(
            "Who says what: {insulin} ({look}), {amount} ordered",
            insulin=dose.insulin,
            look=say(evidence.look),
            amount=units_text(dose.units),
        )
        moving.set(self._title, text=title)
        self._rows.show(moving, evidence)
        self._show_model(moving, evidence)
        self._show_curve(moving, evidence)
        return moving.touched

    def _show_model(self, moving: Moving, evidence: Evidence) -> None:
        hours = evidence.model_hours
        for moment in MARKS:
            hour = hours.get(moment)
            moving.set(self._marks[moment], data=mark_places([] if hour is None else [(hour, _MODEL_ROW)]))
        end = hours.get("end")
        late = bool(hours) and hours["onset"] is not None and (end is None or end > LAST_HOUR_OF_STUDIES)
        moving.set(self._marks["beyond"], data=edge_places([_MODEL_ROW] if late else []))
        moving.set(self._model, text=say("{amount}, model", amount=model_units(evidence)) if hours else "")
        moving.set(self._none, text="" if hours else no_model_words(evidence.order))
        moving.write(self._side, _side_words(evidence))
        moving.write(self._notices, textwrap.wrap("; ".join(notice_words(evidence)), _NOTICE_LETTERS))

    def _show_curve(self, moving: Moving, evidence: Evidence) -> None:
        curves, fan, look, days = evidence.curves, evidence.fan, evidence.look, evidence.peak_days
        trace: Any = ((), ())
        outside: Any = NOWHERE
        inside: Any = NOWHERE
        if curves is not None:
            line = getattr(curves, look)
            edges = () if fan is None else fan.band(look, 5, 25, 75, 95)
            # The line keeps its height when the fan opens, unless the fan needs more room.
            most = max(float(line.max()) / _LINE_SHARE, *(float(edge.max()) for edge in edges), 1e-9)
            trace = _trace(_HOURS, curves.hours, line / most)
            if fan is not None:
                traces = [_trace(_HOURS[::2], fan.hours, edge / most) for edge in edges]
                outside, inside = outline_between(traces[0], traces[3]), outline_between(traces[1], traces[2])
        looks, pale = style.CURVES[look], {"hatch": None} | style.LIQUID[look]
        outer, inner, peak = self._bands
        moving.set(self._curve, data=trace, color=looks["color"], linestyle=looks["ls"])
        moving.set(outer, xy=outside, **pale)
        moving.set(inner, xy=inside, fc=looks["color"], ec=looks["color"], alpha=0.45)
        moving.set(peak, xy=NOWHERE if days is None else box(_MODEL_ROW, *days), **pale)


def _side_words(evidence: Evidence) -> list[str]:
    """Return what stands beside the curve, line by line."""
    if evidence.curves is None:
        return []
    told = [
        say("how strongly it acts, as a shape"),
        say("Berger–Rodbard form; numbers recalled, checked against clamp studies"),
    ]
    if days := evidence.peak_days:
        first, last = map(hours_text, days)
        told.append(
            say(
                "Shaded: 90 of 100 days, darker 50. Bar: strongest between {first} and {last} on 90 of 100 days",
                first=first,
                last=last,
            )
        )
    return [line for words in told for line in textwrap.wrap(words, _SIDE_LETTERS)]


def _trace(places: Any, hours: Any, shares: Any) -> Any:
    """Return a curve in points at these places, from its hours and its shares of the height there is."""
    shown = places[: np.searchsorted(places, hours[-1], side="right")]
    return np.array([hour_place(shown), _CURVE[0] + (_CURVE[1] - _CURVE[0]) * np.interp(shown, hours, shares)])


def draw_evidence(evidence: Evidence, size: Size = style.PAGE) -> EvidenceFigure:
    """Draw what handbooks, studies and the model say about one insulin.

    Parameters
    ----------
    evidence : Evidence
        One insulin of an order, with the model's curves and its days.
    size : Size
        `PAGE` or `ROOM`.
    """
    drawn = EvidenceFigure(size)
    drawn.show(evidence)
    return drawn
