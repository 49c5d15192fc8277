"""The syringe, true to scale, at its two moments: after the clear draw and after the cloudy draw, drawn and in words."""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np
from matplotlib.lines import Line2D
from matplotlib.patches import Patch, Polygon
from matplotlib.text import Text

from mixlab.care.dosing import Plan, gives_air
from mixlab.facts.reading import the_facts
from mixlab.figures import style
from mixlab.figures.style import NOWHERE, Moving, Sheet, Size, Touched, corners, strokes
from mixlab.quantities import ml_text, number_text, units_text, units_to_ml
from mixlab.ward.syringe import Syringe
from mixlab.words import say, sentence

WIDTH, HEIGHT = 480, 430

POINTS_PER_MM = 5.6
"""One scale for every barrel, so that a larger syringe is drawn larger."""

_ZERO_X = 66.0

_ZOOM = 2.5

_LENS = (264.0, 208.0, 62.0)

_MOST_NUMERALS, _MOST_NEAR = 12, 6

_SIGN = {"fc": "white", "ec": style.INK, "lw": 2, "pad": 4}


def bore(ml: float, length_mm: float) -> float:
    """Return the inner diameter in mm: what is left when so many mL fill the scale's length (computed)."""
    return 2 * math.sqrt(ml * 1000 / length_mm / math.pi)


def bore_mm(syringe: Syringe) -> float:
    """Return the inner diameter of a syringe, mm."""
    return bore(units_to_ml(syringe.capacity_units), syringe.scale_length_mm)


def units_wide(syringe: Syringe) -> float:
    """Return how many points one unit is long on the drawn barrel."""
    return syringe.scale_length_mm * POINTS_PER_MM / syringe.capacity_units


class _Reading(NamedTuple):
    """What one moment shows: cloudy and clear insulin in the barrel, and where the stopper stands."""

    cloudy: float
    mark: float
    title: str
    volume: str


class _Moment:
    """One drawn syringe with its magnified view."""

    def __init__(self, sheet: Sheet, name: str, middle: float) -> None:
        def shape(part: str, clip: Patch | None = None, **looks: Any) -> Polygon:
            return sheet.shape(f"{name}-{part}", corners(0, 0, 0, 0), clip, **looks)

        def line(part: str, lw: float, clip: Patch | None = None) -> Line2D:
            return sheet.line(f"{name}-{part}", clip=clip, lw=lw, solid_capstyle="butt")

        def numbers(part: str, most: int, **looks: Any) -> list[Text]:
            return [sheet.text(f"{name}-{part}-{at}", 0, 0, ha="center", **looks) for at in range(most)]

        self.middle, self.size = middle, sheet.size
        self._near_at: tuple[Syringe, float] | None = None  # whose lines are magnified, and about which
        left, width, height = _LENS
        self.bottom = middle - 93
        frame = sheet.frame(None, left, self.bottom, width, height + 14)
        self.title = sheet.text(f"{name}-title", 12, middle + 47, fontsize=sheet.size.title, fontweight="bold")
        self.barrel = shape("barrel", fc="white", lw=1.2, ec=style.INK)
        self.liquids = [shape(look, lw=0.6, **style.LIQUID[look]) for look in ("cloudy", "clear")]
        self.stopper = shape("stopper", fc=style.STOPPER)
        self.rod = sheet.shape(f"{name}-rod", fc="#d9d9d9", ec=style.FAINT, lw=0.8)
        # Lines at odd and half units are artists of their own: from one dose to the next the syringe may change to one without.
        self.lines, self.fine_lines = line("lines", 0.7), line("fine-lines", 0.7)
        self.long_lines = line("long-lines", 1.1)
        self.numerals = numbers("number", _MOST_NUMERALS)
        self._draw_needle(sheet)
        self.near = [shape(f"lens-{look}", frame, lw=0.6, **style.LIQUID[look]) for look in ("cloudy", "clear")]
        self.near_stopper = shape("lens-stopper", frame, fc=style.STOPPER)
        self.near_lines, self.near_fine_lines = line("lens-lines", 1.2, frame), line("lens-fine-lines", 1.2, frame)
        self.near_numerals = numbers("lens-number", _MOST_NEAR, fontweight="bold")
        self.arrow = sheet.shape(f"{name}-arrow", fc=style.WARNING)
        self.reading = sheet.text(f"{name}-reading", 12, self.bottom + 50, fontsize=sheet.size.title, fontweight="bold")
        self.volume = sheet.text(f"{name}-volume", 12, self.bottom + 31, fontsize=sheet.size.words)
        sheet.text(None, 12, self.bottom + 13, say("Read the stopper's edge next to the needle."))

    def _draw_needle(self, sheet: Sheet) -> None:
        half = [(_ZERO_X, 8), (_ZERO_X - 10, 3.5), (_ZERO_X - 22, 3.5)]
        hub = [*half, *((x, -y) for x, y in reversed(half))]
        sheet.shape(None, [(x, y + self.middle) for x, y in hub], fc="#e6e6e6", ec=style.FAINT, lw=0.8)
        sheet.line(None, (8, _ZERO_X - 22), [self.middle] * 2, color=style.FAINT, lw=1.6)

    def show_scale(self, moving: Moving, syringe: Syringe) -> None:
        """Put another barrel and its lines in place."""
        half, wide = bore_mm(syringe) * POINTS_PER_MM / 2, units_wide(syringe)
        length = syringe.scale_length_mm * POINTS_PER_MM
        moving.set(self.barrel, xy=corners(_ZERO_X, self.middle - half, length + 10, 2 * half))
        at = np.arange(0, syringe.capacity_units + 1e-9, syringe.graduation_units)
        numbered = at[at % syringe.numbered_every_units == 0]
        plain = np.setdiff1d(at, numbered)
        for line, units in ((self.lines, plain[plain % 2 == 0]), (self.fine_lines, plain[plain % 2 != 0])):
            moving.set(line, data=strokes(_ZERO_X + units * wide, self.middle + half, half * 0.8))
        moving.set(self.long_lines, data=strokes(_ZERO_X + numbered * wide, self.middle + half, half * 1.3))
        y = self.middle + half + 9
        moving.label(self.numerals, ((number_text(units), (_ZERO_X + units * wide, y)) for units in numbered))

    def show(self, moving: Moving, syringe: Syringe, reading: _Reading) -> None:
        """Put liquid, stopper and words in place."""
        half, wide = bore_mm(syringe) * POINTS_PER_MM / 2, units_wide(syringe)
        low = self.middle - half
        edge = _ZERO_X + reading.mark * wide
        meet = _ZERO_X + reading.cloudy * wide
        moving.set(self.liquids[0], xy=corners(_ZERO_X, low, meet - _ZERO_X, 2 * half))
        moving.set(self.liquids[1], xy=corners(meet, low, edge - meet, 2 * half))
        moving.set(self.stopper, xy=corners(edge, low, 9, 2 * half))
        # A rod keeps its length; the picture's edge cuts it off.
        end = edge + syringe.scale_length_mm * POINTS_PER_MM + 28
        above = [(edge + 9, half / 3), (end, half / 3), (end, half), (end + 5, half)]
        outline = [*above, *((x, -y) for x, y in reversed(above))]
        moving.set(self.rod, xy=[(x, self.middle + y) for x, y in outline])
        self._show_near(moving, syringe, reading)
        moving.set(self.title, text=reading.title)
        moving.set(self.reading, text=say("Stopper at {mark}", mark=units_text(reading.mark)))
        moving.set(self.volume, text=reading.volume)

    def _show_near(self, moving: Moving, syringe: Syringe, reading: _Reading) -> None:
        """Magnify the scale about the numbered line next to the mark: the stopper moves, and the scale only now and then."""
        left, width, _ = _LENS
        across = bore_mm(syringe) * POINTS_PER_MM
        zoom = min(_ZOOM, _LENS[2] * 0.84 / across)
        wide, half = units_wide(syringe) * zoom, across * zoom / 2
        low = self.bottom + 33 - half
        about = round(reading.mark / syringe.numbered_every_units) * syringe.numbered_every_units

        def place(units: Any) -> Any:
            return left + width / 2 + (units - about) * wide

        edge = place(reading.mark)
        meet = max(place(reading.cloudy), left - 10)
        start = max(place(0), left - 10)
        moving.set(self.near[0], xy=corners(start, low, max(meet - start, 0), 2 * half))
        moving.set(self.near[1], xy=corners(meet, low, edge - meet, 2 * half))
        moving.set(self.near_stopper, xy=corners(edge, low, 9 * zoom, 2 * half))
        moving.set(self.arrow, xy=[(edge, self.bottom), (edge - 5, self.bottom - 9), (edge + 5, self.bottom - 9)])
        if (syringe, about) == self._near_at:
            return
        self._near_at = syringe, about
        reach = width / 2 / wide
        step = syringe.graduation_units
        first = max(0, math.ceil((about - reach) / step))
        last = min(math.floor((about + reach) / step), round(syringe.capacity_units / step))
        at = np.arange(first, last + 1) * step
        is_numbered = at % syringe.numbered_every_units == 0
        top = low + 2 * half
        is_fine = ~is_numbered & (at % 2 != 0)
        for line, part in ((self.near_lines, ~is_fine), (self.near_fine_lines, is_fine)):
            lengths = half * np.where(is_numbered[part], 1.3, 0.8)
            moving.set(line, data=strokes(place(at[part]), top, lengths))
        shown = [units for units in at[is_numbered] if left + 8 < place(units) < left + width - 8]
        moving.label(self.near_numerals, ((number_text(units), (place(units), top + 8)) for units in shown))


class BarrelFigure(Sheet):
    """The drawn syringes; `show` moves them to another plan."""

    def __init__(self, size: Size) -> None:
        super().__init__(WIDTH, HEIGHT, size)
        self._first, self._second = _Moment(self, "first", HEIGHT - 62), _Moment(self, "second", HEIGHT - 222)
        self._syringe: Syringe | None = None
        self._air_title = self.text("air-title", 12, 98, fontsize=size.words, fontweight="bold")
        self._air = {}
        for look, left in (("cloudy", 12), ("clear", 252)):
            self.shape(None, corners(left, 22, 42, 32), **style.LIQUID[look])
            self.shape(None, corners(left, 22, 42, 46), fill=False, ec=style.INK, lw=1.2)
            self.shape(None, corners(left + 11, 68, 20, 9), fc=style.STOPPER)
            self._air[look] = (
                self.text(f"air-{look}", left + 50, 62, fontsize=size.words, fontweight="bold"),
                self.text(f"air-name-{look}", left + 50, 44),
                self.text(f"air-order-{look}", left + 50, 28),
            )

        self._dim = self.shape("dim", zorder=4, **style.DIM)
        self._not_now = self.text(
            "not-now", WIDTH - 10, HEIGHT - 15, ha="right", fontsize=size.words, fontweight="bold", zorder=5, bbox=_SIGN
        )

    def show(self, plan: Plan, *, held: bool = False) -> Touched:
        """Move everything to this plan, dimmed while the dose is held, and return the artists that were touched."""
        moving = self.moving()
        moving.set(self._dim, xy=corners(0, 0, WIDTH, HEIGHT) if held else NOWHERE)
        moving.set(self._not_now, text=the_facts().phrases["no-drawing-up"].text if held else "")
        clear, cloudy = plan.clear.insulin.name, plan.cloudy.insulin.name
        alone = say("clear alone: {volume}", volume=ml_text(plan.clear_mark))
        parts = say(
            "{cloudy_amount} cloudy + {clear_amount} clear",
            cloudy_amount=number_text(plan.cloudy.units),
            clear_amount=number_text(plan.clear.units),
        )
        both = f"{parts}: {ml_text(plan.total_mark)}"
        first = _Reading(0, plan.clear_mark, say("1  {clear}, clear: drawn first", clear=clear), alone)
        title = say("2  {cloudy}, cloudy: up to the sum", cloudy=cloudy)
        second = _Reading(plan.cloudy.units, plan.total_mark, title, both)
        for moment, reading in ((self._first, first), (self._second, second)):
            if plan.syringe != self._syringe:
                moment.show_scale(moving, plan.syringe)
            moment.show(moving, plan.syringe, reading)
        self._syringe = plan.syringe
        given = gives_air(plan.site)
        title = say("Air first, as much as each dose:") if given else say("No air into the vials on this ward:")
        moving.set(self._air_title, text=title)
        for look, air, name in (("cloudy", plan.air_into_cloudy, cloudy), ("clear", plan.air_into_clear, clear)):
            amount, vial, turn = self._air[look]
            moving.set(amount, text=say("{air} of air", air=units_text(air)) if given else say("no air"))
            moving.set(vial, text=say("into {insulin}", insulin=name) if given else name)
            is_first = (look == "cloudy") is given  # without air the clear vial is the first to be pierced
            words = (
                say("first, {look} vial", look=say(look)) if is_first else say("second, {look} vial", look=say(look))
            )
            moving.set(turn, text=words)
        return moving.touched


def draw_barrel(plan: Plan, size: Size = style.PAGE, *, held: bool = False) -> BarrelFigure:
    """Draw both moments of a plan.

    Parameters
    ----------
    plan : Plan
        From :func:`mixlab.plan_dose`.
    size : Size
        `PAGE` or `ROOM`.
    held : bool
        Whether nothing is drawn up now.
    """
    drawn = BarrelFigure(size)
    drawn.show(plan, held=held)
    return drawn


def describe_barrel(plan: Plan, *, held: bool = False) -> str:
    """Return the reading of the drawn syringes in words, and first that nothing is drawn up now where that is so."""
    clear, cloudy = plan.clear.insulin, plan.cloudy.insulin
    words = the_facts().phrases["no-drawing-up"].text.with_capitals()
    return (say("{words}. If the order stands later, it is drawn up like this: ", words=words) if held else "") + say(
        _WITH_AIR if gives_air(plan.site) else _WITHOUT_AIR,
        syringe=plan.syringe.name,
        air_into_cloudy=units_text(plan.air_into_cloudy),
        cloudy=cloudy,
        air_into_clear=units_text(plan.air_into_clear),
        clear=clear,
        clear_mark=units_text(plan.clear_mark),
        total_mark=units_text(plan.total_mark),
        total_volume=ml_text(plan.total_mark),
        cloudy_amount=units_text(plan.cloudy.units),
        clear_amount=units_text(plan.clear.units),
    )


_WITH_AIR = sentence(
    "{syringe}. First {air_into_cloudy} of air into the {cloudy} vial, then {air_into_clear} of air into the {clear} vial. After the clear draw the stopper's edge stands at {clear_mark}, all {clear}. After the cloudy draw it stands at {total_mark}, {total_volume}: {cloudy_amount} of {cloudy} next to the needle and {clear_amount} of {clear} behind it."
)

_WITHOUT_AIR = sentence(
    "{syringe}. No air goes into the vials on this ward. After the clear draw the stopper's edge stands at {clear_mark}, all {clear}. After the cloudy draw it stands at {total_mark}, {total_volume}: {cloudy_amount} of {cloudy} next to the needle and {clear_amount} of {clear} behind it."
)
