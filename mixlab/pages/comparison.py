"""Two sites compared, on one page: the picture, the keys that differ, what differs for a learner, and what is the same."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from .engine import Said, drawing, render


@dataclass(frozen=True, kw_only=True)
class PageSection:
    """Some lines under a heading, which may be empty."""

    heading: Said = ""
    lines: Sequence[Said]


@dataclass(frozen=True, kw_only=True)
class PagePart:
    """One kind of output: how much of it differs, and in what."""

    title: Said
    sections: Sequence[PageSection]


@dataclass(frozen=True, kw_only=True)
class ComparisonPage:
    """What stands on the page, in the order in which it stands there.

    Attributes
    ----------
    picture : str
        The drawing, as SVG.
    picture_words : Sentence or str
        What it shows, for whoever cannot see it.
    title : Sentence or str
        Which two sites are compared.
    nothing : Sentence or str
        That they are the same in everything; empty where they are not.
    keys : sequence
        The keys that differ, a line each.
    terms : sequence
        What is called otherwise, a paragraph each.
    parts : sequence of PagePart
        Every kind of output in which anything differs.
    proof : Sentence or str
        What is the same.
    """

    picture: str
    picture_words: Said
    title: Said
    nothing: Said = ""
    keys: Sequence[Said] = ()
    terms: Sequence[Said] = ()
    parts: Sequence[PagePart] = ()
    proof: Said


def comparison_html(page: ComparisonPage) -> str:
    """Return a comparison of two sites: the picture and, below it, the words."""
    attributes, drawn = drawing(page.picture)
    return render("comparison", page=page, attributes=attributes, drawn=drawn)
