"""Two wards compared: the page that a policy owner signs, below it the picture, and the whole list folded."""

from __future__ import annotations

from collections.abc import Sequence

from mixlab.words import sentence

from .engine import Shown, render, svg_parts

RuleLines = Sequence[Shown]
"""What a nurse does differently: a line that names it, and lines that say where."""


def comparison_html(
    *,
    title: Shown,
    sections: Sequence[tuple[Shown, Sequence[RuleLines]]],
    notes: Sequence[Shown],
    signature: Shown,
    picture: str,
    picture_words: Shown,
    whole: Sequence[tuple[Shown, Sequence[Shown]]],
) -> str:
    """Return a comparison of two wards.

    Parameters
    ----------
    title : Sentence or str
        Which two wards.
    sections : sequence
        Headings, each with its rules; the rules are numbered through all of them.
    notes : sequence
        What else there is to say, a paragraph each.
    signature : Sentence or str
        A line for name and date.
    picture : str
        The drawing, as SVG.
    picture_words : Sentence or str
        What it shows, for whoever cannot see it.
    whole : sequence
        Headings, each with its lines: everything that differs.
    """
    numbered, number = [], 1
    for heading, rules in sections:
        numbered.append((number, heading, rules))
        number += len(rules)
    attributes, drawn = svg_parts(picture)
    return render(
        "comparison",
        title=title,
        sections=numbered,
        notes=notes,
        signature=signature,
        attributes=attributes,
        drawn=drawn,
        picture_words=picture_words,
        whole_title=sentence("Everything that differs: the whole list behind this page"),
        whole=whole,
    )
