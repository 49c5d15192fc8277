"""A syringe in hand, true to scale: barrel, stopper, scale, and what lies where in it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
from matplotlib.lines import Line2D
from matplotlib.patches import Polygon, Rectangle

from mixlab.care.bench.vessels import Held, SyringeKind
from mixlab.figures import style
from mixlab.figures.style import Moving, Sheet, corners, strokes
from mixlab.quantities import UNITS_PER_ML, number_text, units_text
from mixlab.ward.syringe import syringes
from mixlab.words import say

from .barrel import POINTS_PER_MM, bore

SCALE_MM = {2.0: 27.0, 10.0: 44.0}
"""Least length of the scale of a general syringe by its mL, mm (ISO 7886-1, recalled). Insulin syringes are in the facts."""

SHOWN_UNITS = 0.0005
"""Less than this is neither written nor drawn: it would print as 0."""

_MOST_NUMERALS = 12


def scale_mm(kind: SyringeKind) -> float:
    """Return the length of a syringe's scale, mm: from the facts, or for a size they lack the nearest of `SCALE_MM`."""
    ml = kind.capacity / kind.per_ml
    known = {one.capacity_units / UNITS_PER_ML: float(one.scale_length_mm) for one in syringes().values()} | SCALE_MM
    return known[min(known, key=lambda size: abs(size - ml))]


def bore_of(kind: SyringeKind) -> float:
    """Return the inner diameter, mm."""
    return bore(kind.capacity / kind.per_ml, scale_mm(kind))


def count_wide(kind: SyringeKind) -> float:
    """Return how many points one count of the scale is long on the drawn barrel."""
    return scale_mm(kind) * POINTS_PER_MM / kind.capacity


def mark_text(kind: SyringeKind, mark: float) -> str:
    """Print a mark as its scale says it: ``"8 units"``, ``"8 units of the U-40 scale"``, ``"0.8 mL (line 8)"``."""
    mark = round(mark, 2) + 0.0
    if kind.per_ml == UNITS_PER_ML:
        return str(units_text(mark))
    if kind.per_ml > 10:
        return say("{mark} of the U-{per_ml} scale", mark=units_text(mark), per_ml=number_text(kind.per_ml))
    return say("{volume} mL (line {line})", volume=number_text(round(mark / kind.per_ml, 3)), line=number_text(mark))


NOTHING_DRAWN = [(0.0, 0.0)] * 3
"""The outline of what is not there."""


class Barrel:
    """The barrel with what is in it: the whole of it, or a part magnified within a frame."""

    def __init__(self, sheet: Sheet, name: str, frame: Rectangle | None = None) -> None:
        def shape(part: str, **looks: Any) -> Polygon:
            return sheet.shape(f"{name}-{part}", NOTHING_DRAWN, frame, **looks)

        def line(part: str, lw: float) -> Line2D:
            return sheet.line(f"{name}-{part}", clip=frame, lw=lw, solid_capstyle="butt")

        self.frame = frame
        self.glass = shape("glass", fc="white", ec=style.INK, lw=1.2)
        self.liquids = {look: shape(look, lw=0.6, **style.LIQUID[look]) for look in ("cloudy", "clear")}
        self.bubble = shape("bubble", fc="white", ec=style.INK, lw=1)
        self.stopper = shape("stopper", fc=style.STOPPER)
        self.lines, self.long_lines = line("lines", 0.7), line("long-lines", 1.2)
        looks = {"ha": "center", "fontweight": "bold" if frame else "normal"}
        self.numerals = [sheet.text(f"{name}-number-{at}", 0, 0, **looks) for at in range(_MOST_NUMERALS)]

    def show(
        self, moving: Moving, held: Held, parts: Sequence[tuple[str, float]], zero: float, top: float, zoom: float
    ) -> None:
        """Put everything in place: `parts` are look and counts from the needle on, "air" among the looks."""
        kind = held.kind
        wide, across = count_wide(kind) * zoom, bore_of(kind) * POINTS_PER_MM * zoom
        low = top - across
        places = dict.fromkeys(self.liquids, NOTHING_DRAWN)
        at = start = zero
        for look, counts in parts:
            if look in places:
                places[look] = corners(at, low, counts * wide, across)
            elif at == zero:
                start = at + counts * wide
            at += counts * wide
        for look, place in places.items():
            moving.set(self.liquids[look], xy=place)
        moving.set(self.glass, xy=corners(zero, low, scale_mm(kind) * POINTS_PER_MM * zoom + 10 * zoom, across))
        moving.set(self.bubble, xy=_bubble(held, start, at, top, zoom))
        moving.set(self.stopper, xy=corners(zero + held.mark * wide, low, 9 * zoom, across))
        self._show_scale(moving, kind, zero, top, wide, min(across, 26.0 * zoom))

    def hide(self, moving: Moving) -> None:
        """Show that there is no syringe."""
        for shape in (self.glass, self.bubble, self.stopper, *self.liquids.values()):
            moving.set(shape, xy=NOTHING_DRAWN)
        moving.hide(self.lines, self.long_lines)
        moving.label(self.numerals, ())

    def _show_scale(
        self, moving: Moving, kind: SyringeKind, zero: float, top: float, wide: float, across: float
    ) -> None:
        """Put the strokes of the scale in place, short and long, and its numbers."""
        at = np.arange(round(kind.capacity / kind.step) + 1) * kind.step
        low, high = (
            (-math.inf, math.inf)
            if self.frame is None
            else (self.frame.get_x(), self.frame.get_x() + self.frame.get_width())
        )
        at = at[(zero + at * wide > low + 1) & (zero + at * wide < high - 1)]
        is_long = np.isclose(at % numbered_every(kind), 0)
        for line, some, length in ((self.lines, ~is_long, 0.4), (self.long_lines, is_long, 0.65)):
            moving.set(line, data=strokes(zero + at[some] * wide, top, across * length))
        numbered = [units for units in at[is_long] if low + 10 < zero + units * wide < high - 10]
        per = 1 if kind.per_ml > 10 else kind.per_ml
        moving.label(
            self.numerals, ((number_text(units / per), (zero + units * wide, top + 8.5)) for units in numbered)
        )


def numbered_every(kind: SyringeKind) -> float:
    """Return how many counts lie between two numbers: as in the facts for a syringe of theirs, else ten lines."""
    facts = [
        one.numbered_every_units
        for one in syringes().values()
        if (one.capacity_units, one.graduation_units) == (kind.capacity, kind.step) and kind.per_ml == UNITS_PER_ML
    ]
    return facts[0] if facts else kind.step * 10


def _bubble(held: Held, start: float, end: float, top: float, zoom: float) -> list[tuple[float, float]]:
    """Return the outline of the bubbles as one: a ball of their volume, or a plug where the ball would not fit the bore."""
    if held.bubbles_ml * UNITS_PER_ML < SHOWN_UNITS:
        return NOTHING_DRAWN
    scale = POINTS_PER_MM * zoom
    ball, across = (6 * held.bubbles_ml * 1000 / math.pi) ** (1 / 3) * scale, bore_of(held.kind) * scale
    if ball > across * 0.95 or ball > end - start:
        length = held.bubbles_ml * held.kind.per_ml * count_wide(held.kind) * zoom
        return corners(start, top - across, length, across)
    turn = np.linspace(0, 2 * np.pi, 24, endpoint=False)
    x, y = start + ball / 2 + min(6 * zoom, end - start - ball), top - across + ball / 2
    return [(x + ball / 2 * math.cos(one), y + ball / 2 * math.sin(one)) for one in turn]
