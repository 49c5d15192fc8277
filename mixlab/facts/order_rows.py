"""The rows about orders: unsafe ways of writing, and other concerns."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

from mixlab.words import Sentence, sentence

from .records import NOTHING, Sourced

ConcernKind = Literal["writing", "missing", "contradictory", "not due", "content", "caution"]
"""What a concern is about: how the order is written; a part that is not there; parts that contradict each other; a dose that is
not to be given now; what the order says; or something to be careful with, which does not keep the dose back."""

Grade = Literal["must not", "avoid", "style"]
"""How strongly a way of writing is objected to: on a published list; said, and the order is read; only this ward's style."""


@dataclass(frozen=True, kw_only=True)
class NotationRow(Sourced):
    """One way of writing that has been misread: how to find it, what it was taken for and what to write instead.

    An order is not read where a way of writing is graded "must not"; `stands_for` names the parts of an order it was meant to
    give.
    """

    title: Sentence
    pattern: str
    example: str
    misread_as: Sentence
    write: Sentence
    grade: Grade
    stands_for: tuple[Literal["insulin", "dose", "unit", "route", "time"], ...]

    @property
    def stops(self) -> bool:
        """Whether an order written so is not read."""
        return self.grade == "must not"

    @property
    def risk(self) -> Sentence:
        """How the misreading is told: as one that happened where a list says so, or as one that can happen."""
        return sentence("can be read as") if self.known == "common practice" else sentence("has been read as")

    def __post_init__(self) -> None:
        super().__post_init__()
        try:
            found = re.search(self.pattern, self.example)
        except re.error as error:
            raise ValueError(f"{self.pattern!r} is not a pattern that can be looked for: {error}.") from None
        if found is None:
            raise ValueError(f"The pattern {self.pattern!r} does not find its own example {self.example!r}.")


@dataclass(frozen=True, kw_only=True)
class ConcernRow(Sourced):
    """One thing that can be wrong with an order: its name, what it can lead to and what to write instead.

    `risk` is what stands before `misread_as` in the sentence, where that is not "it can be taken for" (or, for a part that
    is missing, "it may be filled in with").
    """

    title: Sentence
    kind: ConcernKind
    misread_as: Sentence
    write: Sentence
    risk: Sentence = NOTHING


@dataclass(frozen=True, kw_only=True)
class TimeWordRow(Sourced):
    """Words for a time of the day in an order, and from when to when a dose can be meant by them."""

    words: tuple[str, ...]
    opens: str
    closes: str
