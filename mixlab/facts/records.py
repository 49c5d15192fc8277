"""What a fact is: a value that cannot exist without saying who says so and how we know.

These records hold what the TOML files of this folder say, row by row. `reading` reads and checks the files.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import ClassVar, Literal, get_args

from mixlab.files.records import STRICT
from mixlab.words import Sentence, say

Known = Literal["read", "common practice", "recalled", "computed", "assumed"]
"""How a fact is known: a page of the source was read; rule of the trade without a published source; from memory,
not checked; our own arithmetic on other facts; or an assumption of our own that a lesson needs."""

COMMON_PRACTICE = "common-practice"
"""The source key of a rule of the trade, for which no published source is at hand."""

ASSUMPTION = "own-assumption"
"""The source key of a size that nobody has measured and that we had to choose."""

NOTHING = Sentence("")
"""What stands in a row that has nothing more to say."""


class Unsourced(ValueError):
    """A fact without a source, or without saying how it is known."""


_GOES_WITH = {COMMON_PRACTICE: "common practice", ASSUMPTION: "assumed"}
"""How a fact without a published source is known, by the key that stands for its source."""


def _require_source(record: Sourced) -> None:
    name = type(record).__name__
    for part in ("source", "known"):
        if not str(getattr(record, part)).strip():
            raise Unsourced(f"{name} has no {part}: name who says so and how it is known.")
    if record.known not in get_args(Known):
        raise Unsourced(f"{name}: known is one of {', '.join(get_args(Known))}, not {record.known!r}.")
    for source, known in _GOES_WITH.items():
        if (record.source == source) != (record.known == known):
            raise Unsourced(
                f"{name}: {known!r} goes with the source {source!r} and with no other "
                f"(source {record.source!r}, known {record.known!r})."
            )


class StrictRow:
    """A row of a fact file in which no key stands that is not known."""

    __pydantic_config__: ClassVar[dict[str, object]] = STRICT


@dataclass(frozen=True, kw_only=True)
class Source(StrictRow):
    """A citation, written once and referred to by key."""

    title: str
    detail: str = ""
    edition: str = ""

    def __post_init__(self) -> None:
        if not self.title.strip():
            raise Unsourced("A source has no title.")

    def __str__(self) -> str:
        return ", ".join(part for part in (self.title, self.detail, self.edition) if part)


@dataclass(frozen=True, kw_only=True)
class Sourced(StrictRow):
    """What every fact carries: the key of its source, how it is known, and what a reader should know besides."""

    source: str
    known: Known
    note: Sentence = NOTHING

    def __post_init__(self) -> None:
        _require_source(self)


@dataclass(frozen=True, kw_only=True)
class Fact(Sourced):
    """A number with its unit."""

    value: float
    unit: str


@dataclass(frozen=True, kw_only=True)
class Span(StrictRow):
    """A range of hours after the injection; `low` may equal `high`. It says itself, in minutes where it is short."""

    low: float
    high: float

    def __post_init__(self) -> None:
        if not 0 <= self.low <= self.high:
            raise ValueError(f"A span of hours must run upwards from 0, not from {self.low} to {self.high}.")

    def __str__(self) -> str:
        in_minutes = self.low < 1 and self.high <= 1
        low, high = (round(60 * hours) if in_minutes else round(hours, 2) for hours in (self.low, self.high))
        measure = "min" if in_minutes else "h"
        if low == high:
            return say("{amount} {measure}", amount=low, measure=measure)
        return say("{low}–{high} {measure}", low=low, high=high, measure=measure)


@dataclass(frozen=True, kw_only=True)
class ActionTimes(Sourced):
    """One handbook row: when an insulin starts, is strongest and ends, in hours. `None` where the source has no figure.

    `taught` marks the rows of an insulin that the lessons use together, each with the reason in `note`.
    """

    onset: Span | None = None
    peak: Span | None = None
    duration: Span | None = None
    taught: bool = False

    def __post_init__(self) -> None:
        super().__post_init__()
        if not (self.onset or self.peak or self.duration):
            raise ValueError("a row of action times has at least one of onset, peak and duration.")


@dataclass(frozen=True, kw_only=True)
class TaughtTimes:
    """What one or several handbooks teach together, in hours: of each figure from the earliest reading to the latest."""

    rows: tuple[ActionTimes, ...]

    @property
    def sources(self) -> tuple[str, ...]:
        """The source keys of the handbooks."""
        return tuple(row.source for row in self.rows)

    @property
    def onset(self) -> Span | None:
        """From the earliest start to the latest."""
        return _widest(row.onset for row in self.rows)

    @property
    def peak(self) -> Span | None:
        """From the earliest of the strongest hours to the latest."""
        return _widest(row.peak for row in self.rows)

    @property
    def duration(self) -> Span | None:
        """From the shortest duration to the longest."""
        return _widest(row.duration for row in self.rows)


def _widest(spans: Iterable[Span | None]) -> Span | None:
    told = [span for span in spans if span]
    return Span(low=min(span.low for span in told), high=max(span.high for span in told)) if told else None


@dataclass(frozen=True, kw_only=True)
class Miscibility(Sourced):
    """What an insulin may share a syringe with, by key, and why."""

    may_share_with: tuple[str, ...]
    why: Sentence


@dataclass(frozen=True, kw_only=True)
class InsulinRow(StrictRow):
    """One insulin on the shelf."""

    name: str
    also_called: tuple[str, ...] = ()
    group: Literal["short-acting", "intermediate-acting", "rapid-acting", "long-acting", "premixed"]
    look: Literal["clear", "cloudy"]
    look_source: Sourced
    mixing: Miscibility
    times: tuple[ActionTimes, ...]

    @property
    def taught_times(self) -> TaughtTimes:
        """What the handbooks teach together that the lessons use."""
        return TaughtTimes(rows=tuple(row for row in self.times if row.taught))


@dataclass(frozen=True, kw_only=True)
class SyringeRow(Sourced):
    """One U-100 syringe: what it holds, the step between its lines and the lines that carry a number, in units."""

    capacity_units: int
    graduation_units: float
    numbered_every_units: int
    scale_length_mm: float


@dataclass(frozen=True, kw_only=True)
class Threshold(Sourced):
    """A glucose line, in the unit and with the comparison its author uses."""

    value: float
    unit: Literal["mg/dL", "mmol/L"]
    comparison: Literal["below", "at or below", "above", "at or above"]
    taught: bool = False
    rounding: Literal["as the meter shows", "unrounded"] = "as the meter shows"


@dataclass(frozen=True, kw_only=True)
class NotifyRow(Threshold):
    """A line that asks for a call: how many readings must cross it, within how many hours, and what to do."""

    times: int
    within_hours: float
    do: Sentence


@dataclass(frozen=True, kw_only=True)
class RuleRow(Sourced):
    """A rule without a number of its own, with places for the names of the two insulins."""

    say: Sentence


@dataclass(frozen=True, kw_only=True)
class GlucosePair(Sourced):
    """A pair of readings that a publication prints as the same glucose."""

    mg_dl: float
    mmol_l: float


@dataclass(frozen=True, kw_only=True)
class Sign(Sourced):
    """A sign of hypoglycaemia."""

    group: Literal["autonomic", "neuroglycopenic"]


@dataclass(frozen=True, kw_only=True)
class StepRow(Sourced):
    """One step of preparing the mixed dose: what to do and why, with places for this order's numbers.

    `where` says on which wards: the value of each policy it hangs on, by the policy's name; empty for every ward.
    """

    do: Sentence
    why: Sentence
    where: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))


Harm = Literal["a wrong dose", "the next patient", "germs or a needle stick", "a safeguard missed", "none"]
"""What can come of an error at worst, the worst first."""


@dataclass(frozen=True, kw_only=True)
class ErrorRow(Sourced):
    """One thing a review can find: what it means for the dose, the patient and the vial, and what to do now.

    `harm` is what can come of it at worst, as `Harm` lists it.
    `breaks` names the steps of the plan that were not done as they say, in working order.
    """

    title: Sentence
    dose: Sentence
    patient: Sentence
    vial: Sentence
    harm: Harm = "a safeguard missed"
    breaks: tuple[str, ...]
    now: Literal["fine", "put right here", "discard and start again", "tell someone"]
    do: Sentence
    after: str
    doubt: Sentence = NOTHING


@dataclass(frozen=True, kw_only=True)
class AfterRow(Sourced):
    """What a finding asks for besides once the dose has been given."""

    do: Sentence
