"""Matplotlib's own SVG renderer, drawing one artist or a whole figure onto a sheet of its own."""

import re
from hashlib import sha256
from io import StringIO

import numpy as np
from matplotlib.backend_bases import GraphicsContextBase
from matplotlib.backends.backend_svg import RendererSVG
from matplotlib.figure import Figure
from matplotlib.path import Path
from matplotlib.transforms import IdentityTransform, Transform
from matplotlib.typing import ColorType

_DEFINITION = re.compile(r'<(clipPath|pattern) id="([^"]+)".*?</\1>')
_REFERENCE = re.compile(r"url\(#([hp][0-9a-f]{10})\)")  # clips and hatches; markers travel with what they mark
_NOT_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
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
        width, height = figure.get_size_inches() * 72
        super().__init__(float(width), float(height), self._sheet, metadata=_NO_METADATA)  # type: ignore[no-untyped-call]
        self._start = self._sheet.tell()  # past the header, whose style would reach everything else on a page

    def text(self) -> str:
        """Give what was drawn, on one line."""
        return _on_one_line(self._sheet.getvalue()[self._start :])

    def definitions(self) -> dict[str, str]:
        """Give the clips and hatches that the drawing refers to, by id. Nothing may be drawn afterwards."""
        end = self._sheet.tell()
        self.finalize()  # type: ignore[no-untyped-call]
        return {found[2]: found[0] for found in _DEFINITION.finditer(_on_one_line(self._sheet.getvalue()[end:]))}

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

    def _get_clippath_id(self, clippath: Path) -> str:
        """Name a clip by its shape: matplotlib's running number would differ between the whole and a part."""
        codes = b"" if clippath.codes is None else np.asarray(clippath.codes).tobytes()
        return sha256(np.asarray(clippath.vertices).tobytes() + codes).hexdigest()


def find_references(text: str) -> set[str]:
    """Find the ids of the clips and hatches that a drawing refers to."""
    return set(_REFERENCE.findall(text))


def fit_for_xml(text: str) -> str:
    """Replace the few signs that no XML may hold, such as control characters."""
    return _NOT_XML.sub("\ufffd", text)


def _on_one_line(text: str) -> str:
    """Join the lines: matplotlib breaks them between elements and between the points of a path, never inside words."""
    return fit_for_xml("".join(map(str.strip, text.split("\n"))))
