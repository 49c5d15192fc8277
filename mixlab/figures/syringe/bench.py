"""The bench at one moment: the vials, the syringe true to scale, the needle where it is, and if asked what is really inside."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Polygon, Rectangle

from mixlab.care.bench.bench import Bench
from mixlab.care.bench.vessels import Held, Liquid, Physics, Vial, place_name
from mixlab.figures import style
from mixlab.figures.style import Moving, Size, Touched, corners, named, sheet, write
from mixlab.ward.insulin import insulins
from mixlab.words import say

from .barrel import POINTS_PER_MM
from .bench_words import EVEN, SETTLED, evenness_word, is_cloudy, places_of, syringe_words, vial_words
from .in_hand import NOTHING_DRAWN, SHOWN_UNITS, Barrel, bore_of, count_wide, numbered_every, put, scale_mm

WIDTH, HEIGHT = 940, 300

_SLOTS = 3

_BODY = 110.0

_ZERO_X, _MIDDLE = 560.0, 212.0

_LENS = (762.0, 14.0, 170.0, 84.0)

_ZOOM = (2.0, 3.0)

_PARTLY = {"fc": style.CLOUDY_FILL, "ec": style.CLOUDY_LINE, "hatch": ".", "alpha": 0.55}


def _apart(liquid: Liquid) -> list[tuple[str, str, float]]:
    """Return the insulins of a liquid as key, look and share of its volume, the cloudy ones first: at the needle."""
    total = sum(liquid.units.values())
    keys = sorted(liquid.units, key=lambda key: insulins()[key].look == "clear")
    return [(key, insulins()[key].look, liquid.units[key] / total) for key in keys if liquid.units[key] >= SHOWN_UNITS]


class _Shelf:
    """One place on the bench and the vial that stands there."""

    def __init__(self, axes: Axes, name: str, size: Size) -> None:
        def shape(part: str, **looks: Any) -> Polygon:
            return put(axes, named(Polygon(NOTHING_DRAWN, **({"ec": "none"} | looks)), f"{name}-{part}"))

        self.glass = shape("glass", fc="white")
        self.layers = {
            "clear": shape("clear", lw=0.6, **style.LIQUID["clear"]),
            "partly": shape("partly", lw=0.6, **_PARTLY),
            "cloudy": shape("cloudy", lw=0.6, **style.LIQUID["cloudy"]),
        }
        self.outline = shape("outline", fc="none", ec=style.INK, lw=1.4)
        self.stopper = shape("stopper", fc=style.STOPPER)
        self.tag = write(axes, 0, 0, "", size.words, f"{name}-tag", ha="center", fontweight="bold")
        self.tag.set_bbox({"fc": "white", "ec": style.FAINT, "lw": 0.6, "pad": 2})
        self.lines = [
            write(
                axes,
                0,
                0,
                "",
                size.words if at < 2 else size.small,
                f"{name}-words-{at}",
                ha="center",
            )
            for at in range(5)
        ]
        self.lines[0].set_fontweight("bold")
        self.sizes = [text.get_fontsize() for text in self.lines]

    def show(
        self, moving: Moving, place: str, vial: Vial | None, middle: float, bench: Bench, inside: bool, name_size: float
    ) -> None:
        """Put a vial here, or nothing."""
        half, low = 50.0, 160.0 if vial and vial.inverted else 90.0
        words: list[str] = (
            []
            if not place
            else [say("no vial here"), say("{place} vial", place=place_name(place))]
            if vial is None
            else []
        )
        stacked = dict.fromkeys(self.layers, NOTHING_DRAWN)
        if vial:
            words = vial_words(place, vial, inside)
            bottom = low
            for layer, share in _layers(vial, bench.physics):
                height = _BODY * share
                stacked[layer] = corners(middle - half, bottom, 2 * half, height)
                bottom += height
        for layer, polygon in self.layers.items():
            moving.set(polygon, xy=stacked[layer])
        neck = (low - 11, low - 20) if vial and vial.inverted else (low + _BODY + 1, low + _BODY + 12)
        body = corners(middle - half, low, 2 * half, _BODY) if vial else NOTHING_DRAWN
        moving.set(self.glass, xy=body)
        moving.set(self.outline, xy=body)
        moving.set(self.stopper, xy=corners(middle - 17, min(neck), 34, 20) if vial else NOTHING_DRAWN)
        moving.set(self.tag, text=evenness_word(vial) if vial else "", position=(middle, low + 42))
        for at, text in enumerate(self.lines):
            moving.set(
                text,
                text=words[at] if at < len(words) else "",
                position=(middle, 74.0 - 15.5 * at),
                fontsize=self.sizes[at] if at else name_size,
            )


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


class BenchFigure:
    """The drawn bench; `show` moves it to another moment, or another bench."""

    def __init__(self, figure: Figure, axes: Axes, size: Size) -> None:
        self.figure, self._size = figure, size
        self._shown: dict[Artist, dict[str, Any]] = {}
        axes.plot([6, 486], [88, 88], color=style.FAINT, lw=1)
        self._shelves = [_Shelf(axes, f"vial-{at}", size) for at in range(_SLOTS)]

        def shape(part: str, **looks: Any) -> Polygon:
            return put(axes, named(Polygon(NOTHING_DRAWN, **looks), part))

        self._stub = shape("stub", fc="white", ec=style.INK, lw=1.2)
        self._needle = shape("needle", fc=style.INK, ec=style.INK, lw=0.8)
        self._tip = shape("tip", fc=style.WARNING, ec="white", lw=0.8)
        axes.plot([494, 494], [8, 292], color=style.FAINT, lw=0.8)
        self._rod = shape("rod", fc="#d9d9d9", ec=style.FAINT, lw=0.8)
        self._hub = shape("hub", fc="#e6e6e6", ec=style.FAINT, lw=0.8)
        self._free = shape("free-needle", fc=style.FAINT, ec=style.FAINT, lw=0.8)
        self._cap = shape("cap", fc="#f2f2f2", ec=style.INK, lw=1.2)
        self._barrel = Barrel(axes, "barrel", size)
        left, low, width, height = _LENS
        frame = Rectangle((left, low), width, height, fill=False, ec=style.FAINT, lw=1)
        axes.add_patch(frame)
        self._lens = Barrel(axes, "lens", size, frame)
        self._frame = named(frame, "lens-frame")
        self._near = write(axes, left, low + height + 9, "", size.small, "lens-title")
        self._title = write(axes, 504, 289, "", size.title, "syringe-title", fontweight="bold")
        self._reading = write(axes, 504, 146, "", size.title * 1.3, "syringe-reading", fontweight="bold")
        self._lines = [write(axes, 504, 122 - 17 * at, "", size.words, f"syringe-words-{at}") for at in range(7)]

    def show(self, bench: Bench, inside: bool = False) -> Touched:
        """Move everything to this moment and return the artists that were touched.

        Parameters
        ----------
        bench : Bench
            The moment.
        inside : bool
            Whether to show what nobody can see: each insulin apart.
        """
        moving = Moving(self._shown)
        places = places_of(bench)[:_SLOTS]
        middles = dict(zip(places, (480 / len(places) * (at + 0.5) + 6 for at in range(len(places))), strict=True))
        name_size = self._size.title if len(places) < _SLOTS else self._size.words
        for shelf, place in zip(self._shelves, [*places, *[""] * _SLOTS], strict=False):
            shelf.show(moving, place, bench.vials.get(place), middles.get(place, 0.0), bench, inside, name_size)
        held = bench.syringe
        self._show_where(moving, bench, middles)
        self._show_syringe(moving, held, _parts(bench, inside))
        words = syringe_words(bench, inside)
        moving.set(self._title, text=words[0])
        moving.set(self._reading, text=words[1])
        for text, line in zip(self._lines, [*words[2:], *[""] * 7], strict=False):
            moving.set(text, text=line)
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

    def _show_syringe(self, moving: Moving, held: Held | None, parts: Sequence[tuple[str, float]]) -> None:
        hub, rod, needle, cap, half = NOTHING_DRAWN, NOTHING_DRAWN, NOTHING_DRAWN, NOTHING_DRAWN, 0.0
        zoom, zoomed, about = 1.0, 1.0, 0.0
        if held is not None:
            half = bore_of(held.kind) * POINTS_PER_MM / 2
            edge = _ZERO_X + held.mark * count_wide(held.kind)
            length = scale_mm(held.kind) * POINTS_PER_MM + 28
            thick = min(half / 3, 7.0)
            rod = corners(edge + 9, _MIDDLE - thick, length, 2 * thick)
            hub = [
                (_ZERO_X, _MIDDLE + 8),
                (_ZERO_X - 22, _MIDDLE + 4),
                (_ZERO_X - 22, _MIDDLE - 4),
                (_ZERO_X, _MIDDLE - 8),
            ]
            needle = corners(504, _MIDDLE - 0.8, _ZERO_X - 22 - 504, 1.6)
            cap = corners(500, _MIDDLE - 9, 44, 18) if held.capped else NOTHING_DRAWN
            every = numbered_every(held.kind)
            zoom = min(max((_LENS[3] - 26) / (2 * half), _ZOOM[0]), _ZOOM[1])
            zoomed, about = count_wide(held.kind) * zoom, round(held.mark / every) * every
        left, low, width, height = _LENS
        self._barrel.show(moving, held, parts, _ZERO_X, _MIDDLE + half, 1)
        moving.set(self._frame, visible=held is not None)
        moving.set(self._near, text="" if held is None else say("Near the stopper, magnified"))
        moving.set(self._rod, xy=rod)
        moving.set(self._hub, xy=hub)
        moving.set(self._free, xy=needle)
        moving.set(self._cap, xy=cap)
        self._lens.show(moving, held, parts, left + width / 2 - about * zoomed, low + height - 19, zoom)


def _parts(bench: Bench, inside: bool) -> list[tuple[str, float]]:
    """Return what stands in the barrel from the needle on: look and counts of the scale; bubbles count with the liquid."""
    held = bench.syringe
    if held is None:
        return []
    per_ml = held.kind.per_ml
    liquid = (held.barrel.ml + held.bubbles_ml) * per_ml
    looks = [("cloudy" if is_cloudy(held.barrel, bench.physics) else "clear", 1.0)]
    if inside and held.barrel.ml:
        looks = [(look, share) for _, look, share in _apart(held.barrel)]
    parts = [(look, liquid * share) for look, share in looks]
    air = [("air", held.air_ml * per_ml)]
    needle_down = held.vial is not None and not bench.vials[held.vial].inverted
    return parts + air if needle_down else air + parts  # air rises


def draw_bench(bench: Bench, size: Size = style.PAGE, inside: bool = False) -> BenchFigure:
    """Draw a bench at one moment.

    Parameters
    ----------
    bench : Bench
        Such as `Trace.last`.
    size : Size
        `PAGE` or `ROOM`.
    inside : bool
        Whether to show what nobody at a real bench can see.
    """
    figure, axes = sheet(WIDTH, HEIGHT)
    drawn = BenchFigure(figure, axes, size)
    drawn.show(bench, inside)
    return drawn
