"""One concern about an order: what it is, where it stands, what it can lead to and what to do."""

from __future__ import annotations

from dataclasses import dataclass

from mixlab.facts.order_rows import ConcernKind, Grade
from mixlab.facts.reading import the_facts
from mixlab.words import Sentence, say, sentence

TextPlace = tuple[int, int]
"""From where and up to where in the text as typed."""

_TAKEN_FOR = sentence("it can be taken for")


@dataclass(frozen=True, kw_only=True)
class Concern:
    """One thing about an order that has to be cleared up before anything is drawn up: its name, and who says so.

    Attributes
    ----------
    key : str
        Which one it is: the key of its row in `facts/notation.toml`, under ``notation`` for a way of writing, else under
        ``concerns``.
    kind : {"writing", "missing", "contradictory", "not due", "content", "caution"}
        Whether it lies in how the order is written, in what is not there, in parts that contradict each other, in a dose that
        is not to be given now, or in what the order says; "caution" is something to be careful with.
    place : tuple of int or None
        From where and up to where in the text as typed; None if it is about the whole order.
    text : str
        The words there, as typed.
    misread_as : Sentence
        What it has been, or could be, taken for or lead to.
    write : Sentence
        What is to be written instead.
    risk : Sentence
        The words before `misread_as` in the sentence.
    grade : {"must not", "avoid", "style", None}
        How strongly a way of writing is objected to; None for every other concern.
    """

    key: str
    name: Sentence
    kind: ConcernKind
    place: TextPlace | None
    text: str
    misread_as: Sentence
    write: Sentence
    source: Sentence
    risk: Sentence = _TAKEN_FOR
    grade: Grade | None = None

    @property
    def holds(self) -> bool:
        """Whether nothing is given before the prescriber has answered; otherwise it is said, and the order can be acted on."""
        return self.kind != "caution" and self.grade in (None, "must not")

    def __str__(self) -> str:
        name = str(self.name)
        quoted = f"'{' '.join(self.text.split())}': {name}" if self.text else name[:1].upper() + name[1:]
        return say(
            "{concern}; {risk} {misread_as}. Needed: {write}. Source: {source}.",
            concern=quoted,
            risk=self.risk,
            misread_as=self.misread_as,
            write=self.write,
            source=self.source,
        )


def concern_of(
    key: str,
    place: TextPlace | None = None,
    text: str = "",
    *,
    name: Sentence | None = None,
    misread_as: Sentence | None = None,
    source: Sentence | None = None,
) -> Concern:
    """Return a concern of the facts.

    Parameters
    ----------
    key : str
        Its row.
    place : tuple of int, optional
        Where it stands in the order.
    text : str
        The whole order as typed, to be quoted at the place.
    name, misread_as, source : Sentence, optional
        What is told of this order, and who says so, in place of the row's own words.
    """
    row = the_facts().concerns[key]
    return Concern(
        key=key,
        name=name or row.title,
        kind=row.kind,
        place=place,
        text=text[slice(*place)] if place else "",
        risk=row.risk or (sentence("it may be filled in with") if row.kind == "missing" else _TAKEN_FOR),
        misread_as=misread_as or row.misread_as,
        write=row.write,
        source=source or the_facts().cite(row),
    )
