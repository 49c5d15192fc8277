"""One meaning for each colour and texture, and two sizes: for a sheet of paper and for the back row of a room.

Colours are those of Okabe and Ito, Color Universal Design, 2008 (recalled), which people with colour-blindness can tell
apart. No meaning hangs on a colour alone: clear insulin is always plain, cloudy insulin always dotted, and words say both.
"""

from __future__ import annotations

import textwrap
from collections.abc import Hashable
from dataclasses import dataclass
from typing import Any

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.text import Text

from mixlab.words import Sentence, sentence

FONTS = ["sans-serif"]  # whose first choice is matplotlib's own DejaVu Sans

INK = "#1a1a1a"
FAINT = "#6b6b6b"
CLEAR_FILL, CLEAR_LINE = "#cfe8f7", "#0072b2"
CLOUDY_FILL, CLOUDY_LINE = "#f3dbe8", "#a03a76"
CLOUDY_HATCH = "...."
LIQUID: dict[str, dict[str, Any]] = {
    sentence("clear").key: {"fc": CLEAR_FILL, "ec": CLEAR_LINE},
    sentence("cloudy").key: {"fc": CLOUDY_FILL, "ec": CLOUDY_LINE, "hatch": CLOUDY_HATCH},
}
STOPPER = "#3a3a3a"
WARNING = "#b84a00"  # the palette's vermillion, darkened until words in it can be read
GO = "#00664b"


@dataclass(frozen=True, kw_only=True)
class Size:
    """Letters and lines for one use, in points (a point is a pixel in the live picture)."""

    words: float
    small: float
    title: float
    line: float


PAGE = Size(words=9.5, small=8.5, title=11, line=1.2)
ROOM = Size(words=12, small=11, title=14, line=2)


def sheet(width: float, height: float) -> tuple[Figure, Axes]:
    """Return a figure of so many points with one bare axes over all of it, whose unit is the point."""
    figure = Figure(figsize=(width / 72, height / 72), dpi=72)
    axes = figure.add_axes((0, 0, 1, 1))
    axes.set_axis_off()
    axes.set_xlim(0, width)
    axes.set_ylim(0, height)
    return figure, axes


def write(axes: Axes, x: float, y: float, words: str, size: float, gid: str | None = None, **looks: Any) -> Text:
    """Write words as they are (a dollar sign is no mathematics); with a `gid` they can change later."""
    looks = {"color": INK, "va": "center", "fontfamily": FONTS} | looks
    text = axes.text(x, y, words, fontsize=size, parse_math=False, **looks)
    text.set_gid(gid)
    return text


Touched = dict[Artist, Hashable]
"""Artists that changed, each with its look: all that was ever set on it, so that the same look is the same drawing."""


class Moving:
    """Sets properties of artists and collects those that really changed, so that only they are drawn again.

    Parameters
    ----------
    shown : dict
        What each artist was last set to; kept by the figure from one change to the next.

    Attributes
    ----------
    touched : Touched
        The artists that changed, with their looks.
    """

    def __init__(self, shown: dict[Artist, dict[str, Any]]) -> None:
        self._shown = shown
        self.touched: Touched = {}

    def set(self, artist: Any, **values: Any) -> None:
        """Set properties of an artist, and note it as touched if they differ from what it shows."""
        values = {name: str(value) if isinstance(value, Sentence) else value for name, value in values.items()}
        plain = {name: _plain(value) for name, value in values.items()}
        shown = self._shown.setdefault(artist, {})
        if plain.items() <= shown.items():
            return
        for name, value in values.items():
            getattr(artist, f"set_{name}")(
                value
            )  # `artist.set` looks every name up first, and that costs as much again
        shown |= plain
        self.touched[artist] = tuple(sorted(shown.items()))


def _plain(value: Any) -> Any:
    """Return something that compares with one answer: arrays and lists too, and arrays or lists within a tuple."""
    if isinstance(value, str | float):  # most are
        return value
    if isinstance(value, np.ndarray):
        return value.tobytes()
    if isinstance(value, tuple):
        return tuple(map(_plain, value))
    return tuple(value) if isinstance(value, list) else value


def corners(left: float, low: float, width: float, height: float) -> list[tuple[float, float]]:
    """Return the corners of a box."""
    return [(left, low), (left + width, low), (left + width, low + height), (left, low + height)]


def strokes(x: Any, top: float, length: Any) -> tuple[Any, Any]:
    """Return one path of many short strokes downwards from `top`, of one length or one each."""
    gap = np.full(len(x), np.nan)
    xs = np.column_stack([x, x, gap])
    ys = np.column_stack([np.full(len(x), top), top - np.broadcast_to(length, len(x)), gap])
    return xs.ravel(), ys.ravel()


def named(artist: Any, gid: str) -> Any:
    """Give an artist the id by which it moves."""
    artist.set_gid(gid)
    return artist


def wrapped(words: str, letters: int, count: int) -> list[str]:
    """Return words on so many lines of so many letters at most, the rest of the lines empty."""
    return (textwrap.wrap(words, letters, max_lines=count, placeholder=" …") + [""] * count)[:count]
