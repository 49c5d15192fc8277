"""A syringe in hand, true to scale: barrel, stopper, scale, and what lies where in it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.patches import Polygon, Rectangle

from mixlab.care.bench.vessels import Held, SyringeKind
from mixlab.figures import style
from mixlab.figures.style import Moving, Size, corners, named, strokes, write
from mixlab.quantities import UNITS_PER_ML, number_text, units_text
from mixlab.ward.syringe import syringes
from mixlab.words import say

from .barrel import POINTS_PER_MM, bore

SCALE_MM = {2.0: 27.0, 10.0: 44.0}
"""Least length of the scale of a general syringe by its mL, mm (ISO 7886-1, recalled). Insulin syringes are in the facts."""

SHOWN_UNITS = 0.0005
"""Less than this is neither written nor drawn: it would print as 0."""

_MOST_NUMERALS = 12
_MOST_APART = 3


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


def put(axes: Axes, shape: Polygon) -> Polygon:
    """Put a shape on the axes."""
    axes.add_patch(shape)
    return shape


class Barrel:
    """The barrel with what is in it: the whole of it, or a part magnified within a frame."""

    def __init__(self, axes: Axes, name: str, size: Size, clip: Rectangle | None = None) -> None:
        def shape(part: str, **looks: Any) -> Polygon:
            made = put(axes, named(Polygon(NOTHING_DRAWN, **({"ec": "none"} | looks)), f"{name}-{part}"))
            if clip is not None:
                made.set_clip_path(clip)
            return made

        self.name, self.clip = name, clip
        self.glass = shape("glass", fc="white", ec=style.INK, lw=1.2)
        self.liquids = {
            look: [shape(f"{look}-{at}", lw=0.6, **style.LIQUID[look]) for at in range(_MOST_APART)]
            for look in ("cloudy", "clear")
        }
        self.bubble = shape("bubble", fc="white", ec=style.INK, lw=1)
        self.stopper = shape("stopper", fc=style.STOPPER)
        self.lines, self.long_lines = (
            named(axes.plot([], [], color=style.INK, lw=lw, solid_capstyle="butt")[0], f"{name}-{part}")
            for part, lw in (("lines", 0.7), ("long-lines", 1.2))
        )
        if clip is not None:
            self.lines.set_clip_path(clip)
            self.long_lines.set_clip_path(clip)
        self.numerals = [
            write(
                axes,
                0,
                0,
                "",
                size.small,
                f"{name}-number-{at}",
                ha="center",
                fontweight="bold" if clip else "normal",
            )
            for at in range(_MOST_NUMERALS)
        ]

    def show(
        self,
        moving: Moving,
        held: Held | None,
        parts: Sequence[tuple[str, float]],
        zero: float,
        top: float,
        zoom: float,
    ) -> None:
        """Put everything in place: `parts` are look and counts from the needle on, "air" among the looks."""
        shapes = {id(one): (one, NOTHING_DRAWN) for some in self.liquids.values() for one in some}
        bubble: list[tuple[float, float]] = NOTHING_DRAWN
        paths: list[Any] = [([], []), ([], [])]
        numbers: list[tuple[str, float]] = []
        glass, stopper = NOTHING_DRAWN, NOTHING_DRAWN
        if held is not None:
            kind = held.kind
            wide, across = count_wide(kind) * zoom, bore_of(kind) * POINTS_PER_MM * zoom
            low = top - across
            glass = corners(zero, low, scale_mm(kind) * POINTS_PER_MM * zoom + 10 * zoom, across)
            at, used = zero, {"cloudy": 0, "clear": 0}
            start = zero
            for look, counts in parts:
                if look in used and used[look] < _MOST_APART:
                    one = self.liquids[look][used[look]]
                    shapes[id(one)] = (one, corners(at, low, counts * wide, across))
                    used[look] += 1
                elif look == "air" and at == zero:
                    start = at + counts * wide
                at += counts * wide
            bubble = _bubble(held, start, at, top, zoom)
            stopper = corners(zero + held.mark * wide, low, 9 * zoom, across)
            paths, numbers = self._scale(kind, zero, top, wide, min(across, 26.0 * zoom))
        moving.set(self.glass, xy=glass)
        for one, xy in shapes.values():
            moving.set(one, xy=xy)
        moving.set(self.bubble, xy=bubble)
        moving.set(self.stopper, xy=stopper)
        moving.set(self.lines, data=paths[0])
        moving.set(self.long_lines, data=paths[1])
        for text, number in zip(self.numerals, [*numbers, *[("", 0.0)] * _MOST_NUMERALS], strict=False):
            moving.set(text, text=number[0], position=(number[1], top + 8.5))

    def _scale(self, kind: SyringeKind, zero: float, top: float, wide: float, across: float) -> tuple[Any, Any]:
        """Return the strokes of the scale, short and long, and its numbers with their places."""
        every = numbered_every(kind)
        at = np.arange(round(kind.capacity / kind.step) + 1) * kind.step
        if self.clip is not None:
            left, right = self.clip.get_x() + 1, self.clip.get_x() + self.clip.get_width() - 1
            at = at[(zero + at * wide > left) & (zero + at * wide < right)]
        is_long = np.isclose(at % every, 0)
        paths = [
            strokes(zero + at[some] * wide, top, across * length) for some, length in ((~is_long, 0.4), (is_long, 0.65))
        ]
        numbers = [
            (number_text(units if kind.per_ml > 10 else units / kind.per_ml), zero + units * wide)
            for units in at[is_long]
            if self.clip is None
            or self.clip.get_x() + 10 < zero + units * wide < self.clip.get_x() + self.clip.get_width() - 10
        ]
        return paths, numbers


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
