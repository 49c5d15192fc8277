"""The bench at one moment: the vials, the syringe true to scale, the needle where it is, and if asked what is really inside."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from matplotlib.patches import Polygon
from matplotlib.text import Text

from mixlab.care.bench.bench import Bench
from mixlab.care.bench.vessels import Held, Physics, Vial, place_name
from mixlab.figures import style
from mixlab.figures.style import Moving, Sheet, Size, Touched, corners
from mixlab.words import say

from .barrel import POINTS_PER_MM
from .bench_words import EVEN, SETTLED, evenness_word, is_cloudy, places_of, syringe_words, vial_words
from .in_hand import NOTHING_DRAWN, Barrel, bore_of, count_wide, numbered_every, scale_mm

WIDTH, HEIGHT = 940, 300

_SLOTS = 3

_BODY = 110.0

_ZERO_X, _MIDDLE = 560.0, 212.0

_LENS = (762.0, 14.0, 170.0, 84.0)

_ZOOM = (2.0, 3.0)

_PARTLY = {"fc": style.CLOUDY_FILL, "ec": style.CLOUDY_LINE, "hatch": ".", "alpha": 0.55}


class _Shelf:
    """One place on the bench and the vial that stands there."""

    def __init__(self, sheet: Sheet, name: str) -> None:
        def shape(part: str, **looks: Any) -> Polygon:
            return sheet.shape(f"{name}-{part}", NOTHING_DRAWN, **looks)

        def text(part: str, size: float, **looks: Any) -> Text:
            return sheet.text(f"{name}-{part}", 0, 0, fontsize=size, ha="center", **looks)

        self.glass = shape("glass", fc="white")
        self.layers = {
            "clear": shape("clear", lw=0.6, **style.LIQUID["clear"]),
            "partly": shape("partly", lw=0.6, **_PARTLY),
            "cloudy": shape("cloudy", lw=0.6, **style.LIQUID["cloudy"]),
        }
        self.outline = shape("outline", fc="none", ec=style.INK, lw=1.4)
        self.stopper = shape("stopper", fc=style.STOPPER)
        words, small = sheet.size.words, sheet.size.small
        label = {"fc": "white", "ec": style.FAINT, "lw": 0.6, "pad": 2}
        self.tag = text("tag", words, fontweight="bold", bbox=label)
        self.name = text("words-0", words, fontweight="bold")
        self.lines = [text(f"words-{at}", size) for at, size in enumerate((words, small, small, small), 1)]

    def show(
        self, moving: Moving, place: str, vial: Vial | None, middle: float, bench: Bench, inside: bool, name_size: float
    ) -> None:
        """Put a vial here, or nothing."""
        half, low = 50.0, 160.0 if vial and vial.inverted else 90.0
        words = [say("no vial here"), say("{place} vial", place=place_name(place))] if place else []
        body = stopper = NOTHING_DRAWN
        stacked = dict.fromkeys(self.layers, NOTHING_DRAWN)
        if vial:
            words = vial_words(place, vial, inside)
            body = corners(middle - half, low, 2 * half, _BODY)
            stopper = corners(middle - 17, low - 20 if vial.inverted else low + _BODY + 1, 34, 20)
            bottom = low
            for layer, share in _layers(vial, bench.physics):
                stacked[layer] = corners(middle - half, bottom, 2 * half, _BODY * share)
                bottom += _BODY * share
        for layer, polygon in self.layers.items():
            moving.set(polygon, xy=stacked[layer])
        moving.set(self.glass, xy=body)
        moving.set(self.outline, xy=body)
        moving.set(self.stopper, xy=stopper)
        moving.set(self.tag, text=evenness_word(vial) if vial else "", position=(middle, low + 42))
        moving.set(self.name, fontsize=name_size)
        places = ((middle, 74.0 - 15.5 * at) for at in range(len(words)))
        moving.label((self.name, *self.lines), zip(words, places, strict=True))


def _layers(vial: Vial, physics: Physics) -> list[tuple[str, float]]:
    """Return the layers of liquid as they are seen, from the lowest: look, and share of the vial's room; air is left white."""
    full = vial.liquid.ml / vial.inner_ml
    if not vial.suspension:
        hazy = is_cloudy(vial.liquid, physics) or vial.condition == "cloudy though clear insulin"
        return [("cloudy" if hazy else "clear", full)]
    if vial.settled < EVEN:
        return [("cloudy", full)]
    near = vial.near(physics)[0] / vial.inner_ml
    dense = near if vial.sediment_at_stopper else full - near
    thin = ("clear" if vial.settled >= SETTLED else "partly", full - dense)
    at_stopper = vial.sediment_at_stopper
    # The stopper is the lowest point of a vial upside down.
    return [("cloudy", dense), thin] if at_stopper == vial.inverted else [thin, ("cloudy", dense)]


class BenchFigure(Sheet):
    """The drawn bench; `show` moves it to another moment, or another bench."""

    def __init__(self, size: Size) -> None:
        def shape(part: str, **looks: Any) -> Polygon:
            return self.shape(part, NOTHING_DRAWN, **looks)

        super().__init__(WIDTH, HEIGHT, size)
        self.line(None, (6, 486), (88, 88), color=style.FAINT, lw=1)
        self._shelves = [_Shelf(self, f"vial-{at}") for at in range(_SLOTS)]
        self._stub = shape("stub", fc="white", ec=style.INK, lw=1.2)
        self._needle = shape("needle", fc=style.INK, ec=style.INK, lw=0.8)
        self._tip = shape("tip", fc=style.WARNING, ec="white", lw=0.8)
        self.line(None, (494, 494), (8, 292), color=style.FAINT, lw=0.8)
        self._rod = shape("rod", fc="#d9d9d9", ec=style.FAINT, lw=0.8)
        self._hub = shape("hub", fc="#e6e6e6", ec=style.FAINT, lw=0.8)
        self._free = shape("free-needle", fc=style.FAINT, ec=style.FAINT, lw=0.8)
        self._cap = shape("cap", fc="#f2f2f2", ec=style.INK, lw=1.2)
        self._barrel = Barrel(self, "barrel")
        self._frame = self.frame("lens-frame", *_LENS)
        self._lens = Barrel(self, "lens", self._frame)
        self._near = self.text("lens-title", _LENS[0], _LENS[1] + _LENS[3] + 9)
        self._title = self.text("syringe-title", 504, 289, fontsize=size.title, fontweight="bold")
        self._reading = self.text("syringe-reading", 504, 146, fontsize=size.title * 1.3, fontweight="bold")
        self._lines = [self.text(f"syringe-words-{at}", 504, 122 - 17 * at, fontsize=size.words) for at in range(7)]

    def show(self, bench: Bench, inside: bool = False, *, reading: bool = True) -> Touched:
        """Move everything to this moment and return the artists that were touched.

        Parameters
        ----------
        bench : Bench
            The moment.
        inside : bool
            Whether to say what nobody can see: the amount of each insulin.
        reading : bool
            Whether the mark is said besides being drawn; without it, the eye has to read it off the scale.
        """
        moving = self.moving()
        places = places_of(bench)[:_SLOTS]
        middles = {place: 480 / len(places) * (at + 0.5) + 6 for at, place in enumerate(places)}
        name_size = self.size.title if len(places) < _SLOTS else self.size.words
        for shelf, place in zip(self._shelves, [*places, *[""] * _SLOTS], strict=False):
            shelf.show(moving, place, bench.vials.get(place), middles.get(place, 0.0), bench, inside, name_size)
        self._show_where(moving, bench, middles)
        if bench.syringe is None:
            self._show_no_syringe(moving)
        else:
            self._show_syringe(moving, bench.syringe, _parts(bench, bench.syringe))
        title, mark, *lines = syringe_words(bench, inside)
        moving.write((self._title, self._reading, *self._lines), [title, mark if reading else "", *lines])
        return moving.touched

    def _show_where(self, moving: Moving, bench: Bench, middles: dict[str, float]) -> None:
        """Show the needle in the vial it is in, its tip in air or liquid."""
        held = bench.syringe
        stub, needle, tip = NOTHING_DRAWN, NOTHING_DRAWN, NOTHING_DRAWN
        if held is not None and held.vial in middles:
            vial, x = bench.vials[held.vial], middles[held.vial]
            full = _BODY * vial.liquid.ml / vial.inner_ml
            if vial.inverted:
                outside, point = (
                    132.0,
                    160 + (min(full / 2, 14.0) if held.tip == "liquid" else min(full + 8, _BODY - 4)),
                )
                up = -1
            else:
                level = 90 + full
                outside = 228.0
                point = max(level - 22, 94.0) if held.tip == "liquid" else min(level + 9, 90 + _BODY - 3)
                up = 1
            needle = corners(x - 1, min(outside, point), 2, abs(outside - point))
            tip = [(x - 4, point + 4 * up), (x + 4, point + 4 * up), (x, point - 5 * up)]
            near, far = outside + 8 * up, 298.0 if up == 1 else 90.0
            stub = [(x - 3, outside), (x + 3, outside), (x + 9, near), (x + 9, far), (x - 9, far), (x - 9, near)]
        moving.set(self._stub, xy=stub)
        moving.set(self._needle, xy=needle)
        moving.set(self._tip, xy=tip)

    def _show_no_syringe(self, moving: Moving) -> None:
        for shape in (self._rod, self._hub, self._free, self._cap):
            moving.set(shape, xy=NOTHING_DRAWN)
        for barrel in (self._barrel, self._lens):
            barrel.hide(moving)
        moving.set(self._frame, visible=False)
        moving.hide(self._near)

    def _show_syringe(self, moving: Moving, held: Held, parts: Sequence[tuple[str, float]]) -> None:
        wide, half = count_wide(held.kind), bore_of(held.kind) * POINTS_PER_MM / 2
        length, thick = scale_mm(held.kind) * POINTS_PER_MM + 28, min(half / 3, 7.0)
        hub = [(_ZERO_X, 8), (_ZERO_X - 22, 4), (_ZERO_X - 22, -4), (_ZERO_X, -8)]
        moving.set(self._rod, xy=corners(_ZERO_X + held.mark * wide + 9, _MIDDLE - thick, length, 2 * thick))
        moving.set(self._hub, xy=[(x, _MIDDLE + y) for x, y in hub])
        moving.set(self._free, xy=corners(504, _MIDDLE - 0.8, _ZERO_X - 22 - 504, 1.6))
        moving.set(self._cap, xy=corners(500, _MIDDLE - 9, 44, 18) if held.capped else NOTHING_DRAWN)
        moving.set(self._frame, visible=True)
        moving.set(self._near, text=say("Near the stopper, magnified"))
        self._barrel.show(moving, held, parts, _ZERO_X, _MIDDLE + half, 1)
        left, low, width, height = _LENS
        zoom = min(max((height - 26) / (2 * half), _ZOOM[0]), _ZOOM[1])
        every = numbered_every(held.kind)
        zero = left + width / 2 - round(held.mark / every) * every * wide * zoom
        self._lens.show(moving, held, parts, zero, low + height - 19, zoom)


def _parts(bench: Bench, held: Held) -> list[tuple[str, float]]:
    """Return what stands in the barrel from the needle on: look and counts of the scale.

    Bubbles count with the liquid, and two insulins have run together into one.
    """
    per_ml = held.kind.per_ml
    look = "cloudy" if is_cloudy(held.barrel, bench.physics) else "clear"
    liquid, air = (look, (held.barrel.ml + held.bubbles_ml) * per_ml), ("air", held.air_ml * per_ml)
    needle_down = held.vial is not None and not bench.vials[held.vial].inverted
    return [liquid, air] if needle_down else [air, liquid]  # air rises


def draw_bench(bench: Bench, size: Size = style.PAGE, inside: bool = False) -> BenchFigure:
    """Draw a bench at one moment.

    Parameters
    ----------
    bench : Bench
        Such as `Trace.last`.
    size : Size
        `PAGE` or `ROOM`.
    inside : bool
        Whether to say what nobody at a real bench can see.
    """
    drawn = BenchFigure(size)
    drawn.show(bench, inside)
    return drawn
