"""Matplotlib's own SVG renderer, drawing one artist or a whole figure at a time."""

import re
from collections.abc import Callable
from functools import lru_cache
from hashlib import sha256
from io import StringIO
from typing import Literal

import matplotlib as mpl
import numpy as np
from matplotlib.artist import Artist
from matplotlib.backend_bases import GraphicsContextBase
from matplotlib.backends.backend_svg import RendererSVG
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties, findfont, get_font
from matplotlib.path import Path
from matplotlib.text import Text
from matplotlib.transforms import IdentityTransform, Transform
from matplotlib.typing import ColorType

_DEFINITION = re.compile(r'<(clipPath|pattern) id="([^"]+)".*?</\1>')
REFERENCE = re.compile(r"url\(#([hp][0-9a-f]{10})\)")
"""Names a clip or a hatch in a drawing; a collection defines its shapes in place."""

_NOT_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
_INCH = 'width="72" height="72"'  # of a pattern
_TILE_DOTS = 4  # rows and columns of dots in a tile; they alternate by two, and a tile of two looks blurred when scaled
_NO_METADATA = dict.fromkeys(("Creator", "Date", "Format", "Type"))


class Pencil(RendererSVG):
    """An SVG renderer whose drawings are short and can be set into another one.

    Coordinates are cut to a tenth of a pixel; groups carry no id but the places of parts; clips and hatches are named
    by what they look like and handed out apart from the drawing, so that a drawing may rely on those of another.

    Parameters
    ----------
    figure : matplotlib.figure.Figure
        The figure that what is drawn belongs to, at 72 dots per inch. Only its size is used.
    """

    def __init__(self, figure: Figure) -> None:
        self._sheet = StringIO()
        self.spent = False  # then another must be taken: the next drawing could rely on what stands in an earlier one
        self._anchored = False  # whether a line of words is drawn whose width the page finds out
        width, height = figure.get_size_inches() * 72
        super().__init__(float(width), float(height), self._sheet, metadata=_NO_METADATA)  # type: ignore[no-untyped-call]

    def draw(self, artist: Artist) -> str:
        """Draw an artist, and give the drawing as one line of SVG without clips and hatches."""
        self._anchored = isinstance(artist, Text) and _is_anchored(artist)
        text = self._write(lambda: artist.draw(self))
        self.spent = "<defs>" in text  # a collection, whose shapes matplotlib defines once and then refers to
        return text

    def definitions(self) -> dict[str, str]:
        """Give the clips and hatches that all drawings so far refer to, by id; the pencil is then spent."""
        tiles = self._cut_tiles()
        text = self._write(self.finalize)
        self.spent = True
        definitions = {found[2]: found[0] for found in _DEFINITION.finditer(text)}
        for name, side in tiles.items():
            definitions[name] = definitions[name].replace(_INCH, f'width="{side:g}" height="{side:g}"', 1)
        return definitions

    def _cut_tiles(self) -> dict[str, float]:
        """Leave a few dots of each dotted hatch, and give the sides of their tiles in pixels.

        Matplotlib fills a square inch with a thousand dots. A browser draws them all anew for each part that has them.
        """
        tiles = {}
        for key, ((path, *looks), name) in self._hatchd.items():
            if set(key[0]) == {"."}:
                few, side = _few_dots(path)
                self._hatchd[key] = (few, *looks), name
                tiles[name] = side * 72
        return tiles

    def _write(self, draw: Callable[[], None]) -> str:
        """Give what is written meanwhile, and wipe the sheet.

        Matplotlib breaks lines between elements and between the points of a path, never inside words: they are joined.
        """
        self._sheet.seek(0)
        self._sheet.truncate()
        draw()
        return fit_for_xml("".join(map(str.strip, self._sheet.getvalue().split("\n"))))

    def leave_place(self, name: str) -> None:
        """Draw an empty group with an id, for a part to be set into."""
        super().open_group("part", name)  # type: ignore[no-untyped-call]
        super().close_group("part")  # type: ignore[no-untyped-call]

    def open_group(self, s: str, gid: str | None = None) -> None:
        """Open a group without an id: matplotlib's running numbers would clash between pictures."""
        self.writer.start("g")  # type: ignore[no-untyped-call]

    def draw_path(
        self,
        gc: GraphicsContextBase,
        path: Path,
        transform: Transform,
        rgbFace: ColorType | None = None,  # noqa: N803  # matplotlib's name
    ) -> None:
        """Draw a path, its points brought to pixels, thinned where no eye can tell, and rounded to a tenth."""
        thin = path.should_simplify and rgbFace is None and gc.get_hatch() is None
        path = path.cleaned(transform=transform, simplify=thin, curves=True)
        points = np.array(path.vertices, dtype=float).round(1)
        # The height counts from the bottom here and from the top in SVG: it is the latter that must be round.
        points[:, 1] = self.height - (self.height - np.asarray(path.vertices)[:, 1]).round(1)
        rounded = Path(points, path.codes)
        rounded.should_simplify = False
        super().draw_path(gc, rounded, IdentityTransform(), rgbFace)  # type: ignore[no-untyped-call]

    def draw_markers(
        self,
        gc: GraphicsContextBase,
        marker_path: Path,
        marker_trans: Transform,
        path: Path,
        trans: Transform,
        rgbFace: ColorType | None = None,  # noqa: N803  # matplotlib's name
    ) -> None:
        """Draw all markers of a line as one path: matplotlib's definition, and a reference for each, are slower and longer."""
        places = [points[-2:] for points, _ in path.iter_segments(trans, simplify=False)]
        if not places:
            return
        marker = marker_path.transformed(marker_trans)
        markers = (Path(np.asarray(marker.vertices) + place, marker.codes) for place in places)
        self.draw_path(gc, Path.make_compound_path(*markers), IdentityTransform(), rgbFace)

    def get_text_width_height_descent(
        self, s: str, prop: FontProperties, ismath: bool | Literal["TeX"]
    ) -> tuple[float, float, float]:
        """Tell how large some words are: without setting them in type where only the height of a line is wanted."""
        ascent, descent, _ = _height_of(prop)
        if self._anchored and not ismath and ascent is not None and descent is not None:
            return 0.0, ascent + descent, descent
        return super().get_text_width_height_descent(s, prop, ismath)  # type: ignore[no-untyped-call, no-any-return]

    def _get_font_height_metrics(self, prop: FontProperties) -> tuple[float | None, float | None, float | None]:
        """Tell ascent, descent and line gap of a font; matplotlib asks here before it reads them off the file each time."""
        return _height_of(prop)

    def _get_clippath_id(self, clippath: Path) -> str:
        """Name a clip by its shape: matplotlib's running number would differ between the whole and a part."""
        codes = b"" if clippath.codes is None else np.asarray(clippath.codes).tobytes()
        return sha256(np.asarray(clippath.vertices).tobytes() + codes).hexdigest()


def _few_dots(hatch: Path) -> tuple[Path, float]:
    """Give the dots in the upper left corner of a hatch of the unit square, and the side of the tile they fill."""
    starts = np.flatnonzero(hatch.codes == Path.MOVETO)
    dots = np.split(np.asarray(hatch.vertices), starts[1:])
    middles = np.array([(dot.min(axis=0) + dot.max(axis=0)) / 2 for dot in dots])
    side = _TILE_DOTS / (len(np.unique(middles[:, 1].round(6))) - 1)
    x, y = middles.T
    kept = np.flatnonzero((x < side + 1e-6) & (y > 1 - side - 1e-6))
    codes = np.split(np.asarray(hatch.codes), starts[1:])
    return Path(np.concatenate([dots[at] for at in kept]), np.concatenate([codes[at] for at in kept])), side


def _is_anchored(text: Text) -> bool:
    """Tell whether words are one level line without a box: SVG hangs it up at its start, middle or end by itself."""
    spread = text.get_rotation() or "\n" in text.get_text() or text.get_bbox_patch() or text.get_wrap()
    return not spread and mpl.rcParams["svg.fonttype"] == "none"  # drawn as outlines it would have to be placed here


@lru_cache(maxsize=200)
def _height_of(prop: FontProperties) -> tuple[float, float, float] | tuple[None, None, None]:
    """Read ascent, descent and line gap off a font file, in points: as matplotlib does, once for each font and size."""
    font = get_font(findfont(prop))
    head, table = font.get_sfnt_table("head"), font.get_sfnt_table("OS/2")
    if head is None or table is None:
        return None, None, None  # matplotlib then finds another way
    scale = prop.get_size_in_points() / head["unitsPerEm"]
    return table["sTypoAscender"] * scale, -table["sTypoDescender"] * scale, table["sTypoLineGap"] * scale


def fit_for_xml(text: str) -> str:
    """Replace the few signs that no XML may hold, such as control characters."""
    return _NOT_XML.sub("\ufffd", text)
