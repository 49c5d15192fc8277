"""Words that have to find room on a sheet: how wide they are, cut, wrapped, or counted."""

from __future__ import annotations

from bisect import bisect
from collections.abc import Sequence
from functools import cache, lru_cache
from typing import Any

from matplotlib.backends.backend_agg import get_hinting_flag
from matplotlib.font_manager import FontProperties, findfont, get_font

from mixlab.figures import style
from mixlab.words import plural


@cache
def _font(bold: bool) -> Any:
    return get_font(findfont(FontProperties(family=style.FONTS, weight="bold" if bold else "normal")))


@lru_cache(maxsize=8192)
def width(words: str, size: float, *, bold: bool = False) -> float:
    """Return how wide words are, in points."""
    font = _font(bold)
    font.set_size(size, 72)
    flags = get_hinting_flag()  # type: ignore[no-untyped-call]  # as the words are drawn: without it 9 % is missing
    font.set_text(words, 0.0, flags=flags)
    return float(font.get_width_height()[0] / 64)


def fit(words: str, room: float, size: float, *, bold: bool = False) -> str:
    """Return words, cut where they have no room."""
    if width(words, size, bold=bold) <= room:
        return words
    cut = bisect(range(len(words)), room, key=lambda upto: width(f"{words[:upto].rstrip()} …", size, bold=bold))
    return f"{words[: max(cut - 1, 0)].rstrip()} …"


def wrap(words: str, room: float, size: float) -> list[str]:
    """Return words on as many lines as they need, all but the first one indented."""
    lines = [""]
    for word in words.split(" "):
        longer = f"{lines[-1]} {word}" if lines[-1] else word
        if lines[-1].strip() and width(longer, size) > room:
            lines.append(f"   {word}")
        else:
            lines[-1] = longer
    return [fit(line, room, size) for line in lines]


def as_many(phrases: Sequence[str], room: float, size: float) -> str:
    """Return as many phrases as have room, and count the rest."""
    for shown in range(len(phrases), 0, -1):
        left = len(phrases) - shown
        more = plural(left, "; and {count} more", "; and {count} more", count=left) if left else ""
        words = "; ".join(phrases[:shown]) + more
        if width(words, size) <= room:
            return words
    return plural(len(phrases), "{count} time differs", "{count} times differ", count=len(phrases))
