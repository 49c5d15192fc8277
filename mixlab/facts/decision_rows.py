"""What decisions.toml and low.toml hold, row by row: the answers, the rules, what each asks for, and every sentence."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import ClassVar, Literal

from mixlab.words import Sentence

from .records import NOTHING, Sourced

Choice = Literal[
    "emergency", "hold and treat", "check first", "hold and ask", "look and ask", "give and report", "give"
]
"""The answers, the most cautious first."""

TREATING: tuple[Choice, ...] = ("emergency", "hold and treat")
"""The answers at which something is done at once: what that is stands on the card, whole."""

OffCard = Literal["said by the answer", "beside the treatment", "what else it can be", "telling", "afterwards"]
"""Why a step does not stand on the card of such an answer, but only in the list below it."""

Sign = Literal["near low", "high"]
"""A sign of its own on the card, beside those of the answers."""

Standing = Literal[
    "urgent signs",
    "not awake",
    "drowsy",
    "by mouth",
    "see first",
    "nothing by mouth",
    "no food by mouth",
    "fasting",
    "vomiting",
    "not eating",
    "serious",
    "high",
    "high below the line",
    "too high for a low",
    "awake and too high",
    "signs",
    "told",
    "eats",
    "no meal",
    "too early",
    "tray first",
    "each draw checked",
    "syringe checked",
    "short-acting",
]
"""How things stand with a patient, as `when` and `unless` of a row name it; decisions.toml says what each means."""

Person = Literal["team", "nurse", "supervising-nurse", "prescriber", "laboratory"]
"""Everyone who can be told."""

HowSoon = Literal["at-once", "before-drawing-up", "before-the-dose", "as-soon-as-possible", "if-the-signs-stay"]
"""How soon somebody is told, the most urgent first."""

_CHECKED = Sourced.__pydantic_config__
"""How the rows that carry no source of their own are checked: like those that do."""


@dataclass(frozen=True, kw_only=True)
class SaidRow(Sourced):
    """A sentence, or words inside one."""

    text: Sentence

    def __post_init__(self) -> None:
        super().__post_init__()
        if not self.text:
            raise ValueError("text says nothing; write what is said.")


@dataclass(frozen=True, kw_only=True)
class HowSoonRow(SaidRow):
    """How soon somebody is told; `besides` is what is said to who is told of something else too, though not at once."""

    besides: Sentence = NOTHING


@dataclass(frozen=True, kw_only=True)
class AnswerRow(SaidRow):
    """One answer, and the steps that go with it whatever rule asked for it."""

    steps: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class Told:
    """Who is told of a finding, and how soon."""

    __pydantic_config__: ClassVar[dict[str, object]] = _CHECKED

    who: Person
    how_soon: HowSoon


@dataclass(frozen=True, kw_only=True)
class Asks:
    """What a rule asks for: an answer, steps, pieces of sentences, whom to tell, and what must be so before the dose is given."""

    __pydantic_config__: ClassVar[dict[str, object]] = _CHECKED

    answer: Choice
    steps: tuple[str, ...] = ()
    parts: tuple[str, ...] = ()
    tell: tuple[Told, ...] = ()
    give_when: tuple[str, ...] = ()
    then: Sentence = NOTHING


@dataclass(frozen=True, kw_only=True)
class OnceAnswered(Asks):
    """What becomes of a rule once the prescriber knows everything and says to give the dose.

    `then` follows the finding; without it the finding (`finding`, or the rule's own) is said to be asked and answered.
    """

    finding: Sentence = NOTHING


@dataclass(frozen=True, kw_only=True)
class OtherFinding:
    """What a rule finds where things stand otherwise, and whose citation is printed then (the rule's own if empty)."""

    __pydantic_config__: ClassVar[dict[str, object]] = _CHECKED

    finding: Sentence
    cites: tuple[str, ...] = ()
    line: str = ""


@dataclass(frozen=True, kw_only=True)
class ReasonRow(Asks, Sourced):
    """One rule: what it finds and what it asks for. The order of the rows is the order of their weight.

    Every key is explained at the head of decisions.toml.
    """

    about: Literal["reading", "signs", "meal", "chart", "whole"]
    finding: Sentence
    question: Sentence = NOTHING
    yields_to: tuple[str, ...] = ()
    cites: tuple[str, ...] = ()
    numbers: tuple[str, ...] = ()
    line: str = ""
    headline: Sentence = NOTHING
    sign: Sign | None = None
    but: Mapping[str, OtherFinding] = field(default_factory=lambda: MappingProxyType({}))
    once_answered: OnceAnswered | None = None


@dataclass(frozen=True, kw_only=True)
class NextStepRow(SaidRow):
    """One step: with which answers it is said, and how things must, and must not, stand for it.

    `short` is what stands of it on the card at an answer of `TREATING`; a row that has none there says why (`off_card`).
    """

    answers: tuple[Choice, ...]
    when: tuple[Standing, ...] = ()
    unless: tuple[Standing, ...] = ()
    yields_to: tuple[str, ...] = ()
    breath: str = ""
    numbers: tuple[str, ...] = ()
    short: tuple[Sentence, ...] = ()
    short_yields_to: tuple[str, ...] = ()
    off_card: OffCard | None = None

    def __post_init__(self) -> None:
        super().__post_init__()
        if len(self.when) + len(self.unless) > 2:
            raise ValueError("when and unless name two conditions at most; what needs a third is left to Python.")
        if bool(self.short) + bool(self.off_card) != (not set(TREATING).isdisjoint(self.answers)):
            raise ValueError(
                "a step of an answer that treats has either short words or a reason to stand off the card."
            )


@dataclass(frozen=True, kw_only=True)
class PartRow(SaidRow):
    """A piece of a sentence: the place it fills, and how things must not stand for it."""

    fills: Literal["signs", "who", "report"]
    unless: tuple[Standing, ...] = ()


@dataclass(frozen=True, kw_only=True)
class SignClass(Sourced):
    """Signs from which something follows, and what."""

    signs: tuple[str, ...]
    means: str


@dataclass(frozen=True, kw_only=True)
class FeedbackRow(SaidRow):
    """What was not right about what was done; {rule} is what `cites` names, or the row's own source."""

    cites: tuple[str, ...] = ()
    cites_in_a_low: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class DecisionTables:
    """The tables of decisions.toml."""

    answers: Mapping[Choice, AnswerRow]
    reasons: Mapping[str, ReasonRow]
    next_steps: Mapping[str, NextStepRow]
    parts: Mapping[str, PartRow]
    people: Mapping[Person, SaidRow]
    how_soon: Mapping[HowSoon, HowSoonRow]
    conditions: Mapping[str, SaidRow]
    phrases: Mapping[str, SaidRow]
    sign_words: Mapping[str, Sentence]
    sign_classes: Mapping[str, SignClass]


@dataclass(frozen=True, kw_only=True)
class LowTables:
    """The tables of low.toml."""

    due: Mapping[str, SaidRow]
    feedback: Mapping[str, FeedbackRow]
