"""The live picture: matplotlib draws it once, then only what moved is drawn again.

A figure is drawn once as SVG. Every artist that can move carries an id (`Artist.set_gid`) and is one *part* of the
picture; everything else is the *body*, which never changes. On a change matplotlib's own SVG renderer draws the touched
parts into short fragments, and the small module beside this one (`picture.js`) puts each in the place of the old one.
"""

import uuid
from collections.abc import Iterable
from html import escape
from pathlib import Path
from typing import Any

import anywidget
import traitlets
from matplotlib.artist import Artist
from matplotlib.figure import Figure

from mixlab.words import say

from .drawing import PART_PLACE, Drawing
from .svg_renderer import fit_for_xml


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

    # As texts, not as paths: anywidget watches a path, and keeps whatever was made with it alive for ever.
    _esm = Path(__file__).with_name("picture.js").read_text(encoding="utf-8")
    _css = Path(__file__).with_name("picture.css").read_text(encoding="utf-8")

    # What the picture is now. `change` changes it in place and gives the difference; a page opened later gets it all.
    now = traitlets.Dict().tag(sync=True)
    stale = traitlets.Bool(False).tag(sync=True)
    stale_words = traitlets.Unicode().tag(sync=True)
    max_height = traitlets.Unicode("").tag(sync=True)
    caption = traitlets.Bool(False).tag(sync=True)

    def __init__(
        self, figure: Figure, alt: str, *, stale: bool = False, max_height: str = "", caption: bool = False
    ) -> None:
        alt = _demand_words(alt)
        self._salt = uuid.uuid4().hex
        self._drawing = Drawing(figure, self._salt)
        super().__init__(
            now=self._tell_all(alt, revision=0),
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
        body = PART_PLACE.sub(lambda place: str(now["parts"][place[1]]), now["body"])
        width, height = now["size"]
        return (
            '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
            f'width="{width:g}" height="{height:g}" viewBox="0 0 {width:g} {height:g}" '
            f'role="img" aria-label="{escape(now["alt"])}" '
            'style="stroke-linejoin: round; stroke-linecap: butt">'
            f"<defs>{''.join(now['definitions'].values())}</defs>{body}</svg>"
        )

    def change(self, artists: Iterable[Artist], alt: str) -> dict[str, Any] | None:
        """Draw the touched artists again, and return what pages must be told: `PanelFrame.show` tells them.

        Parameters
        ----------
        artists : iterable of matplotlib.artist.Artist, or mapping of them to their looks
            What a figure function touched, as for `Drawing.draw`.
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
        parts = self._drawing.draw(artists)
        if parts is None:
            now.update(self._tell_all(alt, revision=now["revision"] + 1))
            return {"now": now}
        if not parts and alt == now["alt"]:
            return None
        moved = {name: _difference(now["parts"][name], part) for name, part in parts.items()}
        definitions = {name: text for name, text in self._drawing.definitions.items() if name not in now["definitions"]}
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
        self._drawing = Drawing(figure, self._salt)
        self.now.update(self._tell_all(alt, revision=self.now["revision"] + 1))
        self.send({"now": self.now})

    def _answer(self, _: object, content: dict[str, Any], __: object) -> None:
        """Send all to a page that missed a revision; each says which one it holds when it opens."""
        if content.get("holds") != self.now["revision"]:
            self.send({"now": self.now})

    def _tell_all(self, alt: str, revision: int) -> dict[str, Any]:
        """Give what the picture is now, whole."""
        drawing = self._drawing
        return {
            "size": drawing.size,
            "body": drawing.body,
            "definitions": dict(drawing.definitions),
            "parts": dict(drawing.parts),
            "alt": alt,
            "revision": revision,
        }


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
