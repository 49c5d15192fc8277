"""One concern about an order: what it is, where it stands, what it can lead to and what to do."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from mixlab.facts.records import ConcernRow
from mixlab.facts.shelf import shelf
from mixlab.words import remembered, say

Place = tuple[int, int]
"""From where and up to where in the text as typed."""


@dataclass(frozen=True, kw_only=True)
class Concern:
    """One thing about an order that has to be cleared up before anything is drawn up.

    Attributes
    ----------
    name : str
        What it is, as a short phrase.
    kind : {"writing", "missing", "content"}
        Whether it lies in how the order is written, in what is not there, or in what it says.
    place : tuple of int or None
        From where and up to where in the text as typed; None if it is about the whole order.
    text : str
        The words there, as typed.
    misread_as : str
        What it has been, or could be, taken for or lead to.
    write : str
        What is to be written instead.
    source : str
        Who says so and how it is known, as printed.
    risk : str
        The words before `misread_as` in the sentence.
    """

    name: str
    kind: Literal["writing", "missing", "content"]
    place: Place | None
    text: str
    misread_as: str
    write: str
    source: str
    risk: str = field(default_factory=lambda: say("it can be taken for"))

    def __str__(self) -> str:
        quoted = f"'{' '.join(self.text.split())}': {self.name}" if self.text else self.name[:1].upper() + self.name[1:]
        return say(
            "{concern}; {risk} {misread_as}. Needed: {write}. Source: {source}.",
            concern=quoted,
            risk=self.risk,
            misread_as=self.misread_as,
            write=self.write,
            source=self.source,
        )


@remembered
def _row(key: str) -> tuple[ConcernRow, str]:
    row = shelf().concerns[key]
    return row, shelf().cite(row)


def concern(
    key: str,
    *,
    place: Place | None = None,
    text: str = "",
    name: str = "",
    misread_as: str = "",
    source: str = "",
) -> Concern:
    """Return a concern of the facts, with what is told of this order, and who says so, in place of the row's own words."""
    row, said = _row(key)
    if row.risk:
        risk = say(row.risk)
    else:
        risk = say("it may be filled in with") if row.kind == "missing" else say("it can be taken for")
    return Concern(
        name=name or say(row.title),
        kind=row.kind,
        place=place,
        text=text,
        risk=risk,
        misread_as=misread_as or (say(row.misread_as) if row.misread_as else ""),
        write=say(row.write),
        source=source or said,
    )


def at(key: str, place: Place, text: str, *, name: str = "", misread_as: str = "") -> Concern:
    """Return a concern of the facts about the words at a place."""
    return concern(key, place=place, text=text[slice(*place)], name=name, misread_as=misread_as)
