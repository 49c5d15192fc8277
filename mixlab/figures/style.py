"""One meaning for each colour and texture, and two sizes: for a sheet of paper and for the back row of a room.

Colours are those of Okabe and Ito, Color Universal Design, 2008 (recalled), which people with colour-blindness can tell
apart. No meaning hangs on a colour alone: clear insulin is always plain, cloudy insulin always dotted, and words say both.
"""

from __future__ import annotations

import textwrap
from collections.abc import Hashable, Iterable, Sequence, Sized
from dataclasses import dataclass
from itertools import accumulate, chain, repeat
from typing import Any, TypeVar

import numpy as np
from matplotlib.artist import Artist
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch, Polygon, Rectangle
from matplotlib.text import Text

from mixlab.words import Sentence, say, sentence

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
CURVES: dict[str, dict[str, Any]] = {
    "clear": {"color": CLEAR_LINE, "ls": "-"},
    "cloudy": {"color": CLOUDY_LINE, "ls": "--"},
    "total": {"color": INK, "ls": "-"},
}
STOPPER = "#3a3a3a"
WARNING = "#b84a00"  # the palette's vermillion, darkened until words in it can be read
DANGER_FILL = "#fbe3d3"
GO = "#00664b"
EMERGENCY, ASK, LOOK, REPORT, NEAR_LOW, HIGH = "#9b0000", "#4b3f8f", "#2f5f7a", "#5a5a00", "#7a4a1e", "#6a2f7a"
"""The answers that neither warn nor let go; each also has a shape and a mark of its own."""
DIM: dict[str, Any] = {"fc": "#b4b4b4", "alpha": 0.38}
"""What lies over a drawing of what is not done now: marks and words in ink can still be read through it."""
WHITE = {"fc": "white", "ec": "none", "pad": 1}
"""The ground of words that stand on lines or hatches."""

CAUTION = sentence("Teaching only. {Prescriber}'s order, local policy and licensed practice come first.")


@dataclass(frozen=True, kw_only=True)
class Size:
    """Letters and lines for one use, in points (a point is a pixel in the live picture)."""

    words: float
    small: float
    title: float
    line: float


PAGE = Size(words=9.5, small=8.5, title=11, line=1.2)
ROOM = Size(words=12, small=11, title=14, line=2)

NOWHERE = ((0.0, 0.0),)
"""The outline of what is not there."""

Drawn = TypeVar("Drawn", bound=Artist)

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
            # `artist.set` looks every name up first, and that costs as much again.
            getattr(artist, f"set_{name}")(value)
        shown |= plain
        self.touched[artist] = tuple(sorted(shown.items()))

    def hide(self, *artists: Artist) -> None:
        """Leave nothing to be seen of texts, lines and shapes."""
        for artist in artists:
            if isinstance(artist, Text):
                self.set(artist, text="")
            elif isinstance(artist, Line2D):
                self.set(artist, data=((), ()))
            else:
                self.set(artist, xy=NOWHERE)

    def write(self, texts: Iterable[Text], lines: Iterable[str | Sentence]) -> None:
        """Say a line in each of some texts, and nothing in the texts left over."""
        for text, words in zip(texts, chain(lines, repeat("")), strict=False):
            self.set(text, text=words)

    def label(self, texts: Iterable[Text], labels: Iterable[tuple[str | Sentence, tuple[float, float]]]) -> None:
        """Say words, each at its place, in one of some texts, and nothing in the texts left over."""
        for text, (words, place) in zip(texts, chain(labels, repeat(("", (0, 0)))), strict=False):
            self.set(text, text=words, position=place)


def _plain(value: Any) -> Any:
    """Return something that compares with one answer: arrays and lists too, and arrays or lists within a tuple."""
    if isinstance(value, str | float):  # most are
        return value
    if isinstance(value, np.ndarray):
        return value.tobytes()
    if isinstance(value, tuple):
        return tuple(map(_plain, value))
    return tuple(value) if isinstance(value, list) else value


class Sheet:
    """A figure of so many points with one bare axes over all of it, whose unit is the point.

    Whatever is put on it with an id (`gid`) can change later, by what `moving` returns.

    Parameters
    ----------
    width, height : float
        In points.
    size : Size
        `PAGE` or `ROOM`.
    """

    figure: Figure

    def __init__(self, width: float, height: float, size: Size) -> None:
        self.size = size
        self.figure = Figure(figsize=(width / 72, height / 72), dpi=72)
        self.axes = self.figure.add_axes((0, 0, 1, 1))
        self.axes.set_axis_off()
        self.axes.set_xlim(0, width)
        self.axes.set_ylim(0, height)
        self._shown: dict[Artist, dict[str, Any]] = {}

    def moving(self) -> Moving:
        """Begin a change of what stands on the sheet."""
        return Moving(self._shown)

    def text(self, gid: str | None, x: float, y: float, words: str = "", **looks: Any) -> Text:
        """Write words as they are (a dollar sign is no mathematics), small unless a `fontsize` is given."""
        usual: dict[str, Any] = {"color": INK, "va": "center", "fontfamily": FONTS, "fontsize": self.size.small}
        text = self.axes.text(x, y, words, parse_math=False, **(usual | looks))
        return named(text, gid)

    def line(
        self,
        gid: str | None,
        xs: Iterable[float] = (),
        ys: Iterable[float] = (),
        clip: Patch | None = None,
        **looks: Any,
    ) -> Line2D:
        """Draw a line through points, or marks at them, in ink unless a `color` is given; within `clip` if that is given."""
        (line,) = self.axes.plot(list(xs), list(ys), **({"color": INK} | looks))
        return named(line, gid, clip)

    def shape(self, gid: str | None, xy: Any = NOWHERE, clip: Patch | None = None, **looks: Any) -> Polygon:
        """Draw a closed shape, within `clip` if that is given; a polygon is drawn in two thirds of a rectangle's time."""
        shape = Polygon(xy, **({"ec": "none"} | looks))
        self.axes.add_patch(shape)
        return named(shape, gid, clip)

    def frame(self, gid: str | None, left: float, low: float, width: float, height: float) -> Rectangle:
        """Draw the frame of a magnified view, to clip by."""
        frame = Rectangle((left, low), width, height, fill=False, ec=FAINT, lw=1)
        self.axes.add_patch(frame)
        return named(frame, gid)

    def scale(self, gid: str, left: float, low: float, high: float) -> list[Text]:
        """Draw the marks of a scale at its foot, middle and top, `left` of which its numbers will stand."""
        numbers = []
        for at, y in enumerate((low, low + high / 2, low + high)):
            self.line(None, (left - 4, left), (y, y), lw=0.8)
            numbers.append(self.text(f"{gid}-{at}", left - 7, y, ha="right"))
        return numbers

    def caution(self, right: float) -> None:
        """Say whose word comes first, at the lower edge."""
        self.text(None, right, 12, say(CAUTION), fontsize=self.size.small * 0.95, ha="right")


def named(artist: Drawn, gid: str | None, clip: Patch | None = None) -> Drawn:
    """Give an artist the id by which it moves, and what it is cut off at."""
    artist.set_gid(gid)
    if clip is not None:
        artist.set_clip_path(clip)
    return artist


def corners(left: float, low: float, width: float, height: float) -> list[tuple[float, float]]:
    """Return the corners of a box."""
    return [(left, low), (left + width, low), (left + width, low + height), (left, low + height)]


def strokes(x: Any, top: float, length: Any) -> tuple[Any, Any]:
    """Return one path of many short strokes downwards from `top`, of one length or one each."""
    gap = np.full(len(x), np.nan)
    xs = np.column_stack([x, x, gap])
    ys = np.column_stack([np.full(len(x), top), top - np.broadcast_to(length, len(x)), gap])
    return xs.ravel(), ys.ravel()


def outline_between(lower: Any, upper: Any) -> Any:
    """Return the outline of what lies between two curves, each an array of x above an array of y."""
    return np.hstack([lower, np.asarray(upper)[:, ::-1]]).T


def wrapped(words: str, letters: int, count: int) -> list[str]:
    """Return words on so many lines of so many letters at most; what has no room is cut."""
    return textwrap.wrap(words, letters, max_lines=count, placeholder=" …")


def having_room(blocks: Sequence[Sized], room: int) -> int:
    """Return how many blocks of lines have room, one line being kept for the count of the others."""
    ends = enumerate(accumulate(map(len, blocks)), 1)
    return sum(end + (number < len(blocks)) <= room for number, end in ends)
