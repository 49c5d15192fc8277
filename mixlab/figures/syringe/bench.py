"""The bench at one moment: the vials, the syringe true to scale, the needle where it is, and if asked what is really inside."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Polygon, Rectangle

from mixlab.care.bench.bench import Bench
from mixlab.care.bench.runs import CLEAR, CLOUDY, OTHER
from mixlab.care.bench.vessels import ROOM_KPA, Held, Liquid, Physics, Vial, place_name
from mixlab.figures import style
from mixlab.figures.style import Moving, Size, Touched, corners, named, sheet, write
from mixlab.quantities import UNITS_PER_ML, figures_text, number_text, units_text
from mixlab.ward.insulin import insulins
from mixlab.words import say, sentence

from .barrel import POINTS_PER_MM
from .in_hand import NOTHING, SHOWN_UNITS, Barrel, bore_of, count_wide, mark_text, numbered_every, put, scale_mm

WIDTH, HEIGHT = 940, 300

EVEN, SETTLED = 0.05, 0.95
"""Below the first a suspension is called even, from the second on settled (an assumption, for words and looks only)."""

_SLOTS = 3
_BODY = 110.0
_ZERO_X, _MIDDLE = 560.0, 212.0
_LENS = (762.0, 14.0, 170.0, 84.0)
_ZOOM = (2.0, 3.0)
_PARTLY = {"fc": style.CLOUDY_FILL, "ec": style.CLOUDY_LINE, "hatch": ".", "alpha": 0.55}


def short(insulin: str) -> str:
    """Return an insulin's name without the word: ``"NPH"``."""
    return str(insulins()[insulin].name).replace("insulin", "").strip()


def is_cloudy(liquid: Liquid, physics: Physics) -> bool:
    """Say whether a liquid looks cloudy: with no more suspension in it than a settled vial's clear layer, it looks clear."""
    milk = sum(units for key, units in liquid.units.items() if insulins()[key].look == "cloudy")
    return milk > physics.clear_layer * UNITS_PER_ML * liquid.ml * 1.001


def places_of(bench: Bench) -> list[str]:
    """Return every place of the bench, whether a vial stands there now or not, from left to right."""
    usual = (CLEAR, CLOUDY, OTHER)
    return sorted({**bench.cupboard, **bench.vials}, key=lambda place: (*usual, place).index(place))


def evenness(vial: Vial) -> str:
    """Return how a suspension stands, as one of `_EVENNESS`; empty for a clear insulin."""
    if not vial.suspension:
        return ""
    if vial.froth > 0.01:
        return "frothy"
    return "even" if vial.settled < EVEN else "settled" if vial.settled >= SETTLED else "partly settled"


_EVENNESS = {
    "": sentence("clear, colorless, nothing floats in it"),
    sentence("even").key: sentence("evenly milky, no clumps"),
    sentence("frothy").key: sentence("milky, with froth on top"),
    sentence("settled").key: sentence("a clear layer and a dense white layer: settled"),
    sentence("partly settled").key: sentence("streaks and a dense layer: partly settled"),
}


def label_words(vial: Vial) -> str:
    """Return what is read on a vial's label."""
    date = say("its date has passed") if vial.past_date else say("in date")
    return say(
        "The label says: {insulin}, {strength} in each mL, {date}.",
        insulin=insulins()[vial.insulin].name,
        strength=units_text(vial.strength),
        date=date,
    )


def look_words(vial: Vial) -> str:
    """Return what is seen on looking closely at a vial."""
    if vial.condition != "good":
        return say("Seen in the vial: {seen}.", seen=say(vial.condition))
    return say("Seen in the vial: {seen}.", seen=say(_EVENNESS[evenness(vial)]))


def _evenness_word(vial: Vial) -> str:
    return say(word) if (word := evenness(vial)) else ""


def amounts(liquid: Liquid, first: str = "") -> list[tuple[str, str]]:
    """Return each insulin of a liquid and its amount in words, one named insulin first, traces too small to print left out."""
    keys = sorted((key for key, units in liquid.units.items() if units >= SHOWN_UNITS), key=lambda key: key != first)
    return [(key, str(units_text(_round(liquid.units[key])))) for key in keys]


def _round(units: float) -> float:
    """Return an amount as finely as it can mean something: four figures, and never finer than a thousandth."""
    return round(units, 1 if units >= 100 else 2 if units >= 1 else 3)


def _apart(liquid: Liquid) -> list[tuple[str, str, float]]:
    """Return the insulins of a liquid as key, look and share of its volume, the cloudy ones first: at the needle."""
    total = sum(liquid.units.values())
    keys = sorted(liquid.units, key=lambda key: insulins()[key].look == "clear")
    return [(key, insulins()[key].look, liquid.units[key] / total) for key in keys if liquid.units[key] >= SHOWN_UNITS]


class _Shelf:
    """One place on the bench and the vial that stands there."""

    def __init__(self, axes: Axes, name: str, size: Size) -> None:
        def shape(part: str, **looks: Any) -> Polygon:
            return put(axes, named(Polygon(NOTHING, **({"ec": "none"} | looks)), f"{name}-{part}"))

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
        stacked = dict.fromkeys(self.layers, NOTHING)
        if vial:
            words = _vial_words(place, vial, inside)
            bottom = low
            for layer, share in _layers(vial, bench.physics):
                height = _BODY * share
                stacked[layer] = corners(middle - half, bottom, 2 * half, height)
                bottom += height
        for layer, polygon in self.layers.items():
            moving.set(polygon, xy=stacked[layer])
        neck = (low - 11, low - 20) if vial and vial.inverted else (low + _BODY + 1, low + _BODY + 12)
        body = corners(middle - half, low, 2 * half, _BODY) if vial else NOTHING
        moving.set(self.glass, xy=body)
        moving.set(self.outline, xy=body)
        moving.set(self.stopper, xy=corners(middle - 17, min(neck), 34, 20) if vial else NOTHING)
        moving.set(self.tag, text=_evenness_word(vial) if vial else "", position=(middle, low + 42))
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


def _vial_words(place: str, vial: Vial, inside: bool) -> list[str]:
    stopper = say("not wiped") if not vial.wiped_s else say("wiped, still wet") if vial.wet else say("wiped, dry")
    turned = say(", upside down") if vial.inverted else ""
    words = [
        str(insulins()[vial.insulin].name),
        say("{place} vial{turned}", place=place_name(place), turned=turned),
        say("stopper {stopper}", stopper=stopper),
    ]
    if not inside:
        return words
    own, *others = [
        say("{amount} of {insulin}", amount=units, insulin=short(key))
        for key, units in amounts(vial.liquid, vial.insulin)
    ] or [say("empty")]
    more = "+ " + ", ".join(others) if others else say("nothing else in it")
    return [
        *words[:2],
        own,
        more,
        say("{percent} % of room pressure", percent=figures_text(f"{vial.kpa / ROOM_KPA * 100:.1f}")),
    ]


class BenchFigure:
    """The drawn bench; `show` moves it to another moment, or another bench."""

    def __init__(self, figure: Figure, axes: Axes, size: Size) -> None:
        self.figure, self._size = figure, size
        self._shown: dict[Artist, dict[str, Any]] = {}
        axes.plot([6, 486], [88, 88], color=style.FAINT, lw=1)
        self._shelves = [_Shelf(axes, f"vial-{at}", size) for at in range(_SLOTS)]

        def shape(part: str, **looks: Any) -> Polygon:
            return put(axes, named(Polygon(NOTHING, **looks), part))

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
        words = _syringe_words(bench, inside)
        moving.set(self._title, text=words[0])
        moving.set(self._reading, text=words[1])
        for text, line in zip(self._lines, [*words[2:], *[""] * 7], strict=False):
            moving.set(text, text=line)
        return moving.touched

    def _show_where(self, moving: Moving, bench: Bench, middles: dict[str, float]) -> None:
        """Show the needle in the vial it is in, its tip in air or liquid."""
        held = bench.syringe
        stub, needle, tip = NOTHING, NOTHING, NOTHING
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
        hub, rod, needle, cap, half = NOTHING, NOTHING, NOTHING, NOTHING, 0.0
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
            cap = corners(500, _MIDDLE - 9, 44, 18) if held.capped else NOTHING
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


def _syringe_words(bench: Bench, inside: bool) -> list[str]:
    """Return the syringe's name, its reading, and more lines."""
    held = bench.syringe
    if held is None:
        given = [
            say("given: {amount} of {insulin}", amount=units, insulin=short(key)) for key, units in amounts(bench.given)
        ]
        return [say("No syringe in hand"), "", *(given if inside else [])]
    words = [
        str(held.kind.name),
        say("Stopper at {mark}", mark=mark_text(held.kind, held.mark)),
        _needle_words(held),
    ]
    seen = []
    if held.air_ml * UNITS_PER_ML >= SHOWN_UNITS:
        seen.append(say("air"))
    if held.barrel.ml:
        cloudy = is_cloudy(held.barrel, bench.physics)
        seen.append(say("cloudy liquid") if cloudy else say("clear liquid"))
    if held.bubbles_ml * UNITS_PER_ML >= SHOWN_UNITS:
        seen.append(say("bubbles"))
    words.append(say("barrel: {seen}", seen=", ".join(seen) or say("nothing")))
    if held.labelled:
        words.append(say("labeled"))
    if inside:
        words += [
            say("inside: {amount} of {insulin}", amount=units, insulin=short(key))
            for key, units in amounts(held.barrel)
        ]
        if held.bubbles_ml * UNITS_PER_ML >= SHOWN_UNITS:
            words.append(say("bubbles: {amount}", amount=units_text(round(held.bubbles_ml * UNITS_PER_ML, 2))))
    return words


def _needle_words(held: Held) -> str:
    if held.vial:
        place = place_name(held.vial)
        if held.tip == "air":
            return say("needle in {place} vial, tip in air", place=place)
        return say("needle in {place} vial, tip in liquid", place=place)
    if not held.capped:
        return say("needle in no vial")
    return say("needle capped, with one hand") if held.capped == "one hand" else say("needle capped, with two hands")


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


def describe_bench(bench: Bench, inside: bool = False) -> str:
    """Return the drawn bench in words."""
    title, reading, *lines = _syringe_words(bench, inside)
    said = [title, "; ".join(part for part in (reading, *lines) if part)]
    for place, vial in bench.vials.items():
        name, where, *more = _vial_words(place, vial, inside)
        words = [f"{where}: {name}", _evenness_word(vial), f"{number_text(round(vial.liquid.ml, 2))} mL", *more]
        said.append(", ".join(word for word in words if word))
    return ". ".join(one[0].upper() + one[1:] for one in said if one) + "."
