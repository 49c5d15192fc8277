"""The live picture: matplotlib draws it once, then only what moved is drawn again.

A figure is drawn once as SVG. Every artist that can move carries an id (`Artist.set_gid`) and is one *part* of the
picture; everything else is the *body*, which never changes. On a change matplotlib's own SVG renderer draws the touched
parts into short fragments, and the small module beside this one (`picture.js`) puts each in the place of the old one.
"""

import re
import threading
import uuid
import warnings
from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from html import escape
from pathlib import Path
from typing import Any

import anywidget
import matplotlib as mpl
import traitlets
from matplotlib.artist import Artist
from matplotlib.axis import Axis
from matplotlib.figure import Figure

from mixlab.words import say

from .svg_renderer import Pencil, find_references, fit_for_xml

_NAME = re.compile(r"[A-Za-z][\w.-]*")
_PLACE = re.compile(r'<g id="([^"]+)"/>')  # where a part stands in the body; words cannot fake it, their `<` is escaped
_MOST_DEFINITIONS = 200  # past so many clips and hatches all is drawn anew, so that a long lesson cannot pile them up
_MOST_REMEMBERED = 8000  # drawings of parts, some hundred bytes each, those of curves a kilobyte or two

DRAWING = threading.RLock()
"""Held while anything is drawn: pages may ask from threads of their own, and matplotlib's settings belong to all of them."""


@dataclass(frozen=True, eq=False)
class _Whole:
    """A figure drawn whole: what never moves, what can, and the clips and hatches that any of it was drawn with."""

    size: list[float]
    body: str
    movable: dict[str, Artist]
    definitions: dict[str, str]


@dataclass(frozen=True, eq=False)
class Snapshot:
    """What a figure looked like when it was drawn: `LivePicture.change` shows it, as often as it is wanted."""

    whole: _Whole
    parts: dict[str, str]


class LivePicture(anywidget.AnyWidget):
    """A matplotlib figure on screen whose parts move without drawing the rest again.

    Parameters
    ----------
    figure : matplotlib.figure.Figure
        Drawn already by a function of `mixlab.figures`. Artists that can move carry an id of their own (`set_gid`).
        Its resolution is set to 72 dots per inch, so that a point is a pixel.
    alt : str
        What the picture says, in words: its name for assistive technology.
    stale : bool
        Whether the picture does not show what was asked last. It is then greyed, striped and labelled so.
    max_height : str
        A CSS length the picture never grows beyond, such as ``"60vh"``; empty for none.
    caption : bool
        Whether `alt` also stands below the picture for all to read.

    Raises
    ------
    ValueError
        When `alt` is blank, when two artists share an id, or when an id is not a plain name.

    Notes
    -----
    Words that a person typed are safe to show, provided that the artist was made with ``parse_math=False``; otherwise
    matplotlib reads dollar signs as mathematics.
    """

    _esm = Path(__file__).with_name("picture.js")
    _css = Path(__file__).with_name("picture.css")

    # What the picture is now. `show` changes it in place and sends the difference; a page opened later gets it all.
    now = traitlets.Dict().tag(sync=True)
    stale = traitlets.Bool(False).tag(sync=True)
    stale_words = traitlets.Unicode().tag(sync=True)
    max_height = traitlets.Unicode("").tag(sync=True)
    caption = traitlets.Bool(False).tag(sync=True)

    def __init__(
        self, figure: Figure, alt: str, *, stale: bool = False, max_height: str = "", caption: bool = False
    ) -> None:
        self._salt = uuid.uuid4().hex  # two pictures on one page never share the id of a clip or a hatch
        self._figure = figure
        self._remembered: dict[Hashable, str] = {}  # drawings of parts, by name, look and limits
        alt = _demand_words(alt)
        self._snapshot = self._draw_all(figure)  # what the figure looks like, shown or not
        super().__init__(
            now=self._tell_all(self._snapshot, alt, revision=0),
            stale=stale,
            stale_words=say("Not updated: see the message above"),
            max_height=max_height,
            caption=caption,
        )
        self.on_msg(self._answer)

    @property
    def alt(self) -> str:
        """The picture in words, as assistive technology reads it now."""
        return str(self.now["alt"])

    def svg(self) -> str:
        """Give the whole picture as it stands, as the text of an SVG file."""
        now = self.now
        body = _PLACE.sub(lambda place: str(now["parts"][place[1]]), now["body"])
        width, height = now["size"]
        return (
            '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
            f'width="{width:g}" height="{height:g}" viewBox="0 0 {width:g} {height:g}" '
            f'role="img" aria-label="{escape(now["alt"])}" '
            'style="stroke-linejoin: round; stroke-linecap: butt">'
            f"<defs>{''.join(now['definitions'].values())}</defs>{body}</svg>"
        )

    def show(self, artists: Iterable[Artist], alt: str) -> None:
        """Draw the touched artists again and send those that look different.

        Several pictures that change together are better shown by `PanelFrame.show`, in one message.

        Parameters
        ----------
        artists, alt
            As for `change`.

        Raises
        ------
        ValueError
            When `alt` is blank.
        """
        if news := self.change(artists, alt):
            self.send(news)

    def draw(self, artists: Iterable[Artist]) -> Snapshot:
        """Draw the touched artists again, and return what the figure now looks like, without showing it.

        Parameters
        ----------
        artists : iterable of matplotlib.artist.Artist, or mapping of them to their looks
            What a figure function touched. An artist that comes with a look it had before is not drawn again: its
            drawing is remembered. Those without an id of their own cannot move and are passed over. A touched
            axis (``axes.yaxis``) stands for all that moves in its axes. One with an id that was not in the picture when
            it was last drawn whole makes it be drawn whole again.

        Returns
        -------
        Snapshot
            For `change`, now or later.
        """
        whole, parts = self._snapshot.whole, self._snapshot.parts
        touched = {str(artist.get_gid()): artist for artist in artists if artist.get_gid() is not None}
        if not touched.keys() <= parts.keys() or len(whole.definitions) > _MOST_DEFINITIONS:
            self._snapshot = self._draw_all(self._figure)
            return self._snapshot
        scaled = {artist.axes for artist in touched.values() if isinstance(artist, Axis)}
        touched |= {name: artist for name, artist in whole.movable.items() if artist.axes in scaled}
        looks: Mapping[Artist, Hashable] = artists if isinstance(artists, Mapping) else {}
        self._snapshot = Snapshot(whole, parts | self._draw_parts(self._figure, touched, whole.definitions, looks))
        return self._snapshot

    def change(self, what: Snapshot | Iterable[Artist], alt: str) -> dict[str, Any] | None:
        """Show what was drawn, and return what pages must be told, if anything looks different.

        Parameters
        ----------
        what : Snapshot, or iterable of matplotlib.artist.Artist, or mapping of them to their looks
            What `draw` gave, or what it is to draw first.
        alt : str
            The picture in words, as it is now.

        Returns
        -------
        dict or None
            The message for pages, to be sent as it is; None when nothing looks different.

        Raises
        ------
        ValueError
            When `alt` is blank.
        """
        now, alt = self.now, _demand_words(alt)
        snapshot = what if isinstance(what, Snapshot) else self.draw(what)
        if snapshot.whole is not self._whole:
            now.update(self._tell_all(snapshot, alt, revision=now["revision"] + 1))
            return {"now": now}
        parts = {name: part for name, part in snapshot.parts.items() if part != now["parts"][name]}
        if not parts and alt == now["alt"]:
            return None
        moved = {name: _difference(now["parts"][name], part) for name, part in parts.items()}
        definitions = {
            name: text for name, text in snapshot.whole.definitions.items() if name not in now["definitions"]
        }
        news = {"moved": moved, "definitions": definitions, "alt": _difference(now["alt"], alt)}
        now["parts"] |= parts
        now["definitions"] |= definitions
        now["alt"] = alt
        now["revision"] += 1
        return news | {"revision": now["revision"]}

    def replace(self, figure: Figure, alt: str) -> None:
        """Put an altogether new drawing in the place of this one.

        Parameters
        ----------
        figure : matplotlib.figure.Figure
            As for the constructor.
        alt : str
            The new picture in words.

        Raises
        ------
        ValueError
            As the constructor does; the picture then stays as it was.
        """
        alt = _demand_words(alt)
        self._snapshot = self._draw_all(figure)
        self._figure = figure
        self.now.update(self._tell_all(self._snapshot, alt, revision=self.now["revision"] + 1))
        self.send({"now": self.now})

    def _answer(self, _: object, content: dict[str, Any], __: object) -> None:
        """Send all to a page that missed a revision; each says which one it holds when it opens."""
        if content.get("holds") != self.now["revision"]:
            self.send({"now": self.now})

    def _tell_all(self, snapshot: Snapshot, alt: str, revision: int) -> dict[str, Any]:
        """Give what the picture is now, whole."""
        self._whole = snapshot.whole
        return {
            "size": snapshot.whole.size,
            "body": snapshot.whole.body,
            "definitions": dict(snapshot.whole.definitions),
            "parts": dict(snapshot.parts),
            "alt": alt,
            "revision": revision,
        }

    def _draw_all(self, figure: Figure) -> Snapshot:
        """Draw the body with a place for every part, the parts, and every clip and hatch they need."""
        movable = _find_movable(figure)
        figure.set_dpi(72)
        pencil = self._pencil = Pencil(figure)
        with self._settings(), _only_places(movable):
            body = pencil.draw(figure)
            definitions = pencil.definitions()
        self._remembered.clear()  # they may rely on clips and hatches that are no longer there
        movable = {name: movable[name] for name in _PLACE.findall(body)}
        parts = self._draw_parts(figure, movable, definitions, {})
        return Snapshot(_Whole((figure.get_size_inches() * 72).tolist(), body, movable, definitions), parts)

    def _draw_parts(
        self,
        figure: Figure,
        artists: Mapping[str, Artist],
        definitions: dict[str, str],
        looks: Mapping[Artist, Hashable],
    ) -> dict[str, str]:
        """Draw each artist as a part, and add the clips and hatches that it needs to those there are."""
        parts: dict[str, str] = {}
        if len(self._remembered) > _MOST_REMEMBERED:
            self._remembered.clear()
        with self._settings():
            for name, artist in artists.items():
                # Asking for the limits also settles those that matplotlib puts off until the next whole drawing.
                limits = None if artist.axes is None else artist.axes.viewLim.get_points().tobytes()
                key = (name, looks[artist], limits) if artist in looks else None
                if key in self._remembered:
                    parts[name] = self._remembered[key]
                    continue
                if self._pencil.spent:
                    self._pencil = Pencil(figure)
                drawn = self._pencil.draw(artist)
                parts[name] = f'<g id="{name}">{drawn}</g>'
                if not find_references(drawn) <= definitions.keys():
                    definitions |= self._pencil.definitions()
                if key:
                    self._remembered[key] = parts[name]
        return parts

    @contextmanager
    def _settings(self) -> Iterator[None]:
        """Keep words as words and ids the same; which signs exist is for the page's fonts to say, not matplotlib's."""
        ours: dict[Any, Any] = {"svg.hashsalt": self._salt, "svg.fonttype": "none", "font.sans-serif": ["DejaVu Sans"]}
        with DRAWING:
            before = {key: mpl.rcParams[key] for key in ours}
            mpl.rcParams.update(ours)  # `rc_context` would copy some hundred settings twice a step
            try:
                with warnings.catch_warnings():
                    warnings.filterwarnings("ignore", message="Glyph .* missing from font")
                    yield
            except BaseException:
                self._pencil = Pencil(self._figure)  # the old one may have stopped in the middle of a drawing
                raise
            finally:
                mpl.rcParams.update(before)


def _find_movable(figure: Figure) -> dict[str, Artist]:
    movable: dict[str, Artist] = {}
    for artist in figure.findobj(lambda artist: artist is not figure and artist.get_gid() is not None):
        name = str(artist.get_gid())
        if not _NAME.fullmatch(name):
            raise ValueError(f"The id {name!r} of {artist} is not a plain name of letters, digits, dots and dashes.")
        if name in movable:
            raise ValueError(f"Two artists of one picture share the id {name!r}: {movable[name]} and {artist}.")
        movable[name] = artist
    return movable


@contextmanager
def _only_places(movable: dict[str, Artist]) -> Iterator[None]:
    """Let each movable artist, shown or hidden, leave its place instead of drawing itself."""

    def leave(name: str) -> Callable[[Pencil], None]:
        return lambda pencil: pencil.leave_place(name)

    for name, artist in movable.items():
        vars(artist)["draw"] = leave(name)  # stands before the method of the class
    try:
        yield
    finally:
        for artist in movable.values():
            del vars(artist)["draw"]


def _demand_words(alt: str) -> str:
    if not alt.strip():
        raise ValueError("A picture needs its reading in words: the text for those who cannot see it is blank.")
    return fit_for_xml(alt)


def _difference(old: str, new: str) -> tuple[int, int, str]:
    """Give how much of `old` is kept at its start and at its end, as pages count, and what `new` has between them."""
    start = _count_common(old, new)
    end = _count_common(old[start:][::-1], new[start:][::-1])
    return _as_pages_count(old[:start]), _as_pages_count(old[len(old) - end :]), new[start : len(new) - end]


def _as_pages_count(text: str) -> int:
    """Count the UTF-16 units of a text: JavaScript takes a rare sign, such as a syringe, for two."""
    return len(text) if text.isascii() else len(text.encode("utf-16-le")) // 2


def _count_common(one: str, other: str) -> int:
    """Count the signs that two texts share at their start, by halving."""
    low, high = 0, min(len(one), len(other))
    while low < high:
        middle = (low + high + 1) // 2
        low, high = (middle, high) if one[low:middle] == other[low:middle] else (low, middle - 1)
    return low
