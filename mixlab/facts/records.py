"""What a fact is: a value that cannot exist without saying who says so and how we know.

These records hold what the TOML files of this folder say, row by row. `shelf` reads and checks the files.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import ClassVar, Literal, get_args

from mixlab.words import Sentence, sentence

Known = Literal["read", "common practice", "recalled", "computed", "assumed"]
"""How a fact is known: a page of the source was read; rule of the trade without a published source; from memory,
not checked; our own arithmetic on other facts; or an assumption of our own that a lesson needs."""

COMMON_PRACTICE = "common-practice"
"""The source key of a rule of the trade, for which no published source is at hand."""

ASSUMPTION = "own-assumption"
"""The source key of a size that nobody has measured and that we had to choose."""


NOTHING = Sentence("")
"""What stands in a row that has nothing more to say."""

_STRICT = {"extra": "forbid", "allow_inf_nan": False}
"""What the checker in `shelf` reads off a record's class: refuse keys that are not known and numbers without end."""


class Unsourced(ValueError):
    """A fact without a source, or without saying how it is known."""


def _require_source(record: Sourced) -> None:
    for part in ("source", "known"):
        if not str(getattr(record, part)).strip():
            raise Unsourced(f"{type(record).__name__} has no {part}: name who says so and how it is known.")
    if record.known not in get_args(Known):
        raise Unsourced(f"{type(record).__name__}: known is one of {', '.join(get_args(Known))}, not {record.known!r}.")
    if (record.source == COMMON_PRACTICE) != (record.known == "common practice"):
        raise Unsourced(
            f"{type(record).__name__}: 'common practice' goes with the source '{COMMON_PRACTICE}' and with no other "
            f"(source {record.source!r}, known {record.known!r})."
        )
    if (record.source == ASSUMPTION) != (record.known == "assumed"):
        raise Unsourced(
            f"{type(record).__name__}: 'assumed' goes with the source '{ASSUMPTION}' and with no other "
            f"(source {record.source!r}, known {record.known!r})."
        )


@dataclass(frozen=True, kw_only=True)
class Source:
    """A citation, written once and referred to by key."""

    __pydantic_config__: ClassVar[dict[str, object]] = _STRICT

    title: str
    detail: str = ""
    edition: str = ""

    def __post_init__(self) -> None:
        if not self.title.strip():
            raise Unsourced("A source has no title.")

    def __str__(self) -> str:
        return ", ".join(part for part in (self.title, self.detail, self.edition) if part)


@dataclass(frozen=True, kw_only=True)
class Sourced:
    """What every fact carries: the key of its source, how it is known, and what a reader should know besides."""

    __pydantic_config__: ClassVar[dict[str, object]] = _STRICT

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
class Span:
    """A range of hours after the injection; `low` may equal `high`."""

    __pydantic_config__: ClassVar[dict[str, object]] = _STRICT

    low: float
    high: float

    def __post_init__(self) -> None:
        if not 0 <= self.low <= self.high:
            raise ValueError(f"A span of hours must run upwards from 0, not from {self.low} to {self.high}.")

    def __str__(self) -> str:
        scale, unit = (60, "min") if self.low < 1 and self.high <= 1 else (1, "h")
        low, high = (f"{round(scale * hours, 2 if unit == 'h' else 0):g}" for hours in (self.low, self.high))
        return f"{low} {unit}" if low == high else f"{low}–{high} {unit}"


@dataclass(frozen=True, kw_only=True)
class ActionTimes(Sourced):
    """One handbook row: when an insulin starts, is strongest and ends, in hours. `None` where the source has no figure.

    `taught` marks the one row per insulin that the lessons use, with the reason in `note`.
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
class Miscibility(Sourced):
    """What an insulin may share a syringe with, by key, and why."""

    may_share_with: tuple[str, ...]
    why: Sentence


@dataclass(frozen=True, kw_only=True)
class InsulinRow:
    """One insulin on the shelf."""

    __pydantic_config__: ClassVar[dict[str, object]] = _STRICT

    name: str
    also_called: tuple[str, ...] = ()
    group: Literal["short-acting", "intermediate-acting", "rapid-acting", "long-acting", "premixed"]
    look: Literal["clear", "cloudy"]
    look_source: Sourced
    mixing: Miscibility
    times: tuple[ActionTimes, ...]

    @property
    def taught_times(self) -> ActionTimes:
        """The handbook row that the lessons use."""
        return next(row for row in self.times if row.taught)


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


@dataclass(frozen=True, kw_only=True)
class Policy(Sourced):
    """What a ward decides for itself, out of a few choices."""

    value: str
    choices: tuple[str, ...]

    def __post_init__(self) -> None:
        super().__post_init__()
        if self.value not in self.choices:
            raise ValueError(f"{self.value!r} is not one of the choices: {', '.join(map(repr, self.choices))}.")


@dataclass(frozen=True, kw_only=True)
class WardChoice(Policy):
    """A policy of which some choices need a reason of the ward, and why they do."""

    unusual: tuple[str, ...] = ()
    because: Sentence = NOTHING

    def __post_init__(self) -> None:
        super().__post_init__()
        if not {*self.unusual} <= {*self.choices} or bool(self.unusual) != bool(self.because):
            raise ValueError("unusual lists some of the choices, and because says why they need a reason.")


@dataclass(frozen=True, kw_only=True)
class LimitsRow(Sourced):
    """How far a ward may move a number: beyond `lowest` and `highest` never, beyond the usual ones with a reason."""

    lowest: float
    highest: float
    usual_low: float
    usual_high: float
    unit: str
    whole: bool = False

    def __post_init__(self) -> None:
        super().__post_init__()
        if not self.lowest <= self.usual_low <= self.usual_high <= self.highest:
            raise ValueError("the limits run upwards: lowest, usual_low, usual_high, highest.")


@dataclass(frozen=True, kw_only=True)
class WordRow(Sourced):
    """A word that a ward may replace by its own."""

    value: str


@dataclass(frozen=True, kw_only=True)
class ListRow(Sourced):
    """A list of keys that a ward may change."""

    value: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class ErrorRow(Sourced):
    """One thing a review can find: what it means for the dose, the patient and the vial, and what to do now.

    `breaks` names the steps of the plan that were not done as they say, in working order.
    """

    title: Sentence
    dose: Sentence
    patient: Sentence
    vial: Sentence
    breaks: tuple[str, ...]
    now: Literal["fine", "put right here", "discard and start again", "tell someone"]
    do: Sentence
    after: str
    doubt: Sentence = NOTHING


@dataclass(frozen=True, kw_only=True)
class AfterRow(Sourced):
    """What to do about a finding once the dose has been given."""

    do: Sentence


@dataclass(frozen=True, kw_only=True)
class AbsorptionRow(Sourced):
    """How fast one insulin leaves the tissue: T50 = `hours_per_unit` × dose + `hours`, shape `s`."""

    s: float
    hours_per_unit: float
    hours: float


@dataclass(frozen=True, kw_only=True)
class BodySiteRow:
    """A place on the body to inject: what multiplies T50 there, by insulin."""

    __pydantic_config__: ClassVar[dict[str, object]] = _STRICT

    name: Sentence
    half_time: Mapping[str, Fact]


@dataclass(frozen=True, kw_only=True)
class SpeedRow(Sourced):
    """What makes an insulin leave the tissue faster: how many times, at which minutes after it begins.

    `times` is straight between `minutes`; before and after them it is 1. It holds for the insulins and the places named.
    `uses_glucose` says that it lowers glucose by itself as well.
    """

    name: Sentence
    minutes: tuple[int, ...]
    times: tuple[float, ...]
    insulins: tuple[str, ...]
    body_sites: tuple[str, ...]
    uses_glucose: bool = False

    def __post_init__(self) -> None:
        super().__post_init__()
        rising = all(one < other for one, other in zip(self.minutes, self.minutes[1:], strict=False))
        if len(self.minutes) != len(self.times) or len(self.minutes) < 2 or self.minutes[0] != 0 or not rising:
            raise ValueError("minutes run upwards from 0, and times has one value for each.")
        if min(self.times) <= 0:
            raise ValueError("times are above 0.")


@dataclass(frozen=True, kw_only=True)
class VariationRow(Sourced):
    """How much one person's dose differs from day to day: coefficients of variation of T50 and of the size of the effect."""

    half_time: float
    size: float


Moment = Literal[
    "onset",
    "peak",
    "end",
    "plasma peak",
    "half height from",
    "half height to",
    "T50",
    "absorbed by 1 h",
    "left at 175 min",
    "24-hour ratio",
    "height at 1 h",
    "action at 17 h",
    "rise of level",
    "variation of peak",
    "variation of peak time",
    "variation of late half",
    "variation of area 0-12 h",
    "variation of area 0-24 h",
]
"""What a study measured; explained at :class:`TrialRow`."""


@dataclass(frozen=True, kw_only=True)
class TrialRow(Sourced):
    """One figure that a study measured after so many units, with its spread.

    `insulin` is the key of the insulin, or "mixture" for both in one syringe. `units` holds one dose; the regular and the NPH
    dose of a mixture; or, for the 24-hour ratio, the smaller and the larger dose. Doses per kg are for 70 kg. `weight_kg` and
    `body_site` (a key of the facts) say whom and where the model is asked about. `dose_told` says whether
    the study tells its dose; if not, `units` is what the model is asked about. `low` and `high` are the ends of the spread,
    and `spread` says what it is: one standard deviation, a range, a span the study gives, what was not stated, or a tolerance
    of our own where the study gives none.

    `moment` says what was measured, in `unit`:

    - "onset", "peak", "end": when the action begins, is greatest and is over, in h after the injection;
    - "half height from", "half height to": when the action first reaches, and last falls through, half its greatest, in h;
    - "height at 1 h": the action then, in % of its greatest; "action at 17 h": the action then, in units/h;
    - "plasma peak": when the injected insulin in the plasma is highest, in h; "rise of level": how high, in mU/L or pmol/L;
    - "T50": when half the dose has left the tissue, in h;
    - "absorbed by 1 h", "left at 175 min": so much of the dose has left, or is still in, the tissue, in %;
    - "24-hour ratio": units absorbed in 24 h after the larger dose over those after the smaller, in times;
    - "variation of …": coefficient of variation from day to day in one person, in %, of the greatest action, of its hour, of
      the hour at which the action falls through half its greatest, and of the area in 0 to 12 h or 0 to 24 h.
    """

    insulin: Literal["regular", "nph", "mixture"]
    units: tuple[float, ...]
    moment: Moment
    unit: Literal["h", "%", "times", "units/h", "mU/L", "pmol/L"]
    value: float
    low: float
    high: float
    spread: Literal["one SD", "range", "span given", "not stated", "our tolerance"]
    weight_kg: float = 70.0
    body_site: str = "abdomen"
    dose_told: bool = True

    def __post_init__(self) -> None:
        super().__post_init__()
        if not self.low <= self.value <= self.high:
            raise ValueError(f"The value {self.value:g} must lie between low {self.low:g} and high {self.high:g}.")
        if len(self.units) != 1 + (self.insulin == "mixture" or self.moment == "24-hour ratio"):
            raise ValueError("units holds one dose, or two for a mixture and for a ratio.")


@dataclass(frozen=True, kw_only=True)
class ClockTimes(Sourced):
    """Times of day on the 24-hour clock, such as "07:30", each once and in order."""

    at: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class MealRow(Sourced):
    """A meal of the day: when it is usually served, its carbohydrate in g, and what an order may call it."""

    name: str
    also_called: tuple[str, ...]
    at: str
    grams: float


@dataclass(frozen=True, kw_only=True)
class NotationRow(Sourced):
    """One way of writing that has been misread: how to find it, what it was taken for and what to write instead.

    `stops` says that an order written so is not read; `stands_for` names the parts of an order it was meant to give.
    """

    title: Sentence
    pattern: str
    example: str
    misread_as: Sentence
    write: Sentence
    stops: bool
    stands_for: tuple[Literal["insulin", "unit", "route", "time"], ...]

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
    kind: Literal["writing", "missing", "content"]
    misread_as: Sentence
    write: Sentence
    risk: Sentence = NOTHING
