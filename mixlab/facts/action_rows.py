"""The rows about action: how each insulin is absorbed, what changes that, how days differ, and what studies measured."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from mixlab.words import Sentence

from .records import Fact, Sourced, StrictRow


@dataclass(frozen=True, kw_only=True)
class AbsorptionRow(Sourced):
    """How fast one insulin leaves the tissue: T50 = `hours_per_unit` × dose + `hours`, shape `s`."""

    s: float
    hours_per_unit: float
    hours: float


@dataclass(frozen=True, kw_only=True)
class BodySiteRow(StrictRow):
    """A place on the body to inject: what multiplies T50 there, by insulin."""

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


MeasuredMoment = Literal[
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
    moment: MeasuredMoment
    unit: Literal["h", "%", "times", "{units}/h", "mU/L", "pmol/L"]
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
