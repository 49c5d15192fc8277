"""The line of readings of one ward: where a glucose stands, its ticks, and the answer to every reading."""

from __future__ import annotations

from typing import Any

from mixlab.care.decision.answers import Choice, answer_text
from mixlab.figures import style
from mixlab.figures.decision.number_line import ratio_share
from mixlab.figures.style import Sheet, corners
from mixlab.quantities import Glucose, GlucoseUnit
from mixlab.words import decimal_text

from .fitting import width
from .two_wards_words import Flip, Ward, number_of

WIDTH, HEIGHT = 980, 648
"""Size of the sheet, in points."""

LEFT, RIGHT = 60, WIDTH - 60
"""Where the lines of readings begin and end; LO and HI stand beside them."""

LOWEST, HIGHEST = Glucose(10, "mg/dL"), Glucose(610, "mg/dL")

_TICKS: dict[GlucoseUnit, tuple[float, ...]] = {
    "mg/dL": (15, 20, 30, 40, 54, 70, 100, 150, 200, 300, 400, 600),
    "mmol/L": (0.8, 1.2, 2, 3, 4, 5.5, 8, 11, 16, 22, 33),
}

LOOKS: dict[Choice, tuple[str, dict[str, Any]]] = {
    "emergency": ("E", {"fc": style.DANGER_FILL, "ec": style.WARNING, "hatch": "oo"}),
    "hold and treat": ("T", {"fc": style.DANGER_FILL, "ec": style.WARNING, "hatch": "////"}),
    "check first": ("C", {"fc": "white", "ec": style.FAINT, "hatch": "xxx"}),
    "hold and ask": ("A", {"fc": "#e4e4e4", "ec": style.INK}),
    "look and ask": ("L", {"fc": "white", "ec": style.INK, "hatch": ".."}),
    "give": ("G", {"fc": "white", "ec": style.GO}),
    "give and report": ("R", {"fc": "#dcefe6", "ec": style.GO, "hatch": "---"}),
}
"""The letter and the look of each answer."""


def ticks(ward: Ward, size: float) -> list[tuple[Glucose, str]]:
    """Return where a line of readings has ticks: at the ward's own lines, and at round numbers that stand clear of them."""
    found: list[tuple[Glucose, str]] = []
    usual = [Glucose(value, ward.measure) for value in _TICKS[ward.measure]]
    for glucose in (*ward.lines, *usual):
        own = len(found) < len(ward.lines) and glucose in ward.lines
        words = number_of(glucose) if own else decimal_text(glucose.value)
        room = width(words, size, bold=True) / 2 + 4
        if all(abs(place(one) - place(glucose)) >= room + width(said, size, bold=True) / 2 for one, said in found):
            found.append((glucose, words))
    return found


def place(glucose: Glucose) -> float:
    """Return where a glucose stands on a line of readings, in points; equal ratios get equal room."""
    return LEFT + ratio_share(glucose, LOWEST, HIGHEST) * (RIGHT - LEFT)


def edges(start: Glucose, end: Glucose) -> tuple[float, float]:
    """Return the ends of some readings, each reading as wide as it is on the meter."""
    half = 0.5 if start.unit == "mg/dL" else 0.05
    return place(Glucose(max(start.value - half, 0), start.unit)), place(Glucose(end.value + half, end.unit))


def ends_of(flip: Flip) -> tuple[float, float]:
    """Return where a stretch that gets another answer begins and ends, in points; LO and HI stand beside the line."""
    if isinstance(flip.start, Glucose) and isinstance(flip.end, Glucose):
        start, end = edges(flip.start, flip.end)
        return (start, end) if end - start >= 3 else ((start + end) / 2 - 1.5, (start + end) / 2 + 1.5)
    return (LEFT - 46, LEFT - 6) if flip.start == "LO" else (RIGHT + 6, RIGHT + 46)


def draw_line(sheet: Sheet, ward: Ward, bottom: float, high: float) -> None:
    """Draw the answers of a ward along its readings, with LO and HI beside them."""
    small = sheet.size.small
    spans = [(*edges(zone.start, zone.end), zone.choice, "") for zone in ward.zones]
    spans += [(LEFT - 46, LEFT - 6, ward.when_lo, "LO "), (RIGHT + 6, RIGHT + 46, ward.when_hi, "HI ")]
    for start, end, choice, before in spans:
        letter, looks = LOOKS[choice]
        if end - start < 0.5:
            continue
        sheet.shape(None, corners(start, bottom, end - start, high), lw=1, **looks)
        words = f"{letter}: {answer_text(choice)}"
        if width(words, small, bold=True) + 8 > end - start:
            words = f"{before}{letter}"
        if width(words, small, bold=True) + 3 <= end - start:
            on_white(sheet, (start + end) / 2, bottom + high / 2, words)


def on_white(sheet: Sheet, x: float, y: float, words: str, **looks: Any) -> None:
    """Write words on a white ground, so that they can be read over a hatch."""
    sheet.text(None, x, y, words, ha="center", fontweight="bold", bbox=style.WHITE | {"pad": 0.8}, **looks)
