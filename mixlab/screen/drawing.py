"""A figure as SVG: drawn whole once, then only the parts of it that were touched."""

import re
import threading
import warnings
from collections.abc import Hashable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from operator import methodcaller
from typing import Any

import matplotlib as mpl
from matplotlib.artist import Artist
from matplotlib.axis import Axis
from matplotlib.figure import Figure

from .svg_renderer import REFERENCE, Pencil

PART_PLACE = re.compile(r'<g id="([^"]+)"/>')
"""Where a part stands in the body; words cannot fake it, their `<` is escaped."""

_NAME = re.compile(r"[A-Za-z][\w.-]*")
_MOST_DEFINITIONS = 200  # past so many clips and hatches all is drawn anew, so that a long lesson cannot pile them up
_MOST_REMEMBERED = 8000  # drawings of parts, some hundred bytes each, those of curves a kilobyte or two

DRAWING = threading.RLock()
"""Held while anything is drawn: a page and a cell may ask in threads of their own, and matplotlib's settings belong to both."""


class Drawing:
    """A figure as SVG: what never moves, what can, and the clips and hatches that any of it was drawn with.

    Parameters
    ----------
    figure : matplotlib.figure.Figure
        Artists that can move carry an id of their own (`set_gid`). Its resolution is set to 72 dots per inch.
    salt : str
        Goes into the ids of clips and hatches: two pictures on one page never share one.

    Attributes
    ----------
    size : list of float
        Width and height in pixels.
    body : str
        What never moves, with a place for every part.
    parts : dict of str to str
        The parts by id, as they were drawn last.
    definitions : dict of str to str
        Clips and hatches by id.

    Raises
    ------
    ValueError
        When two artists share an id, or when an id is not a plain name.
    """

    def __init__(self, figure: Figure, salt: str) -> None:
        self.figure, self._salt = figure, salt
        self._remembered: dict[Hashable, str] = {}  # drawings of parts, by name, look and limits
        self._draw_whole()

    def draw(self, artists: Iterable[Artist]) -> dict[str, str] | None:
        """Draw the touched artists again.

        Parameters
        ----------
        artists : iterable of matplotlib.artist.Artist, or mapping of them to their looks
            An artist that comes with a look it had before is not drawn again: its drawing is remembered. Those without
            an id of their own cannot move and are passed over. A touched axis (``axes.yaxis``) stands for all that
            moves in its axes.

        Returns
        -------
        dict of str to str, or None
            The parts that now look different; None when all was drawn anew, as for an artist that was not in the figure
            when it was last drawn whole.
        """
        touched = {str(artist.get_gid()): artist for artist in artists if artist.get_gid() is not None}
        if not touched.keys() <= self.parts.keys() or len(self.definitions) > _MOST_DEFINITIONS:
            self._draw_whole()
            return None
        scaled = {artist.axes for artist in touched.values() if isinstance(artist, Axis)}
        if scaled:
            touched |= {name: artist for name, artist in self._movable.items() if artist.axes in scaled}
        drawn = self._draw_parts(touched, artists if isinstance(artists, Mapping) else {})
        moved = {name: part for name, part in drawn.items() if part != self.parts[name]}
        self.parts |= moved
        return moved

    def _draw_whole(self) -> None:
        """Draw the body with a place for every part, the parts, and every clip and hatch they need."""
        movable = _find_movable(self.figure)
        self.figure.set_dpi(72)
        pencil = self._pencil = Pencil(self.figure)
        with self.settings(), _only_places(movable):
            self.body = pencil.draw(self.figure)
            self.definitions = pencil.definitions()
        self._remembered.clear()  # they may rely on clips and hatches that are no longer there
        self._movable = {name: movable[name] for name in PART_PLACE.findall(self.body)}
        self.size: list[float] = (self.figure.get_size_inches() * 72).tolist()
        self.parts = self._draw_parts(self._movable, {})

    def _draw_parts(self, artists: Mapping[str, Artist], looks: Mapping[Artist, Hashable]) -> dict[str, str]:
        """Draw each artist as a part, and add the clips and hatches that it needs to those there are."""
        if len(self._remembered) > _MOST_REMEMBERED:
            self._remembered.clear()
        parts, keys = {}, {}
        limits: dict[object, bytes | None] = {None: None}
        for name, artist in artists.items():
            if artist.axes is not None and artist.axes not in limits:
                # Asking for the limits also settles those that matplotlib puts off until the next whole drawing.
                limits[artist.axes] = artist.axes.viewLim.get_points().tobytes()
            keys[name] = key = (name, looks[artist], limits[artist.axes]) if artist in looks else None
            parts[name] = self._remembered.get(key, "")
        new = [name for name, part in parts.items() if not part]
        if new:
            with self.settings():
                for name in new:
                    parts[name] = self._draw_part(name, artists[name])
                    if keys[name]:
                        self._remembered[keys[name]] = parts[name]
        return parts

    def _draw_part(self, name: str, artist: Artist) -> str:
        if self._pencil.spent:
            self._pencil = Pencil(self.figure)
        drawn = self._pencil.draw(artist)
        if not self.definitions.keys() >= set(REFERENCE.findall(drawn)):
            self.definitions |= self._pencil.definitions()
        return f'<g id="{name}">{drawn}</g>'

    @contextmanager
    def settings(self) -> Iterator[None]:
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
                self._pencil = Pencil(self.figure)  # the old one may have stopped in the middle of a drawing
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
    for name, artist in movable.items():
        vars(artist)["draw"] = methodcaller("leave_place", name)  # stands before the method of the class
    try:
        yield
    finally:
        for artist in movable.values():
            del vars(artist)["draw"]
