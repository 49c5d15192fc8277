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
    "level at 16 h",
    "rise at 30 min",
    "rise at 45 min",
    "rate 1.5-13.5 h",
    "variation of T50",
    "variation of peak",
    "variation of peak time",
    "variation of late half",
    "variation of area 0-12 h",
    "variation of area 0-24 h",
]
"""What a study measured; explained at :class:`TrialRow`."""


Spread = Literal["SD", "SE", "SEM", "range", "not stated"]
"""What a study printed behind its value; explained at :class:`TrialRow`."""

SPREADS: Mapping[Spread, tuple[set[str], ...]] = {
    "SD": ({"plus_minus"},),
    "SE": ({"plus_minus", "n"},),
    "SEM": ({"plus_minus", "n"},),
    "range": ({"ends"},),
    "not stated": ({"plus_minus"}, {"tolerance"}),
}
"""What a row gives for each kind of spread."""


@dataclass(frozen=True, kw_only=True)
class TrialRow(Sourced):
    """One figure that a study measured after so many units, with its spread.

    `insulin` is the key of the insulin, or "mixture" for both in one syringe. `units` holds one dose; the regular and the NPH
    dose of a mixture; or, for the 24-hour ratio, the smaller and the larger dose. Doses per kg are for 70 kg. `weight_kg` and
    `body_site` (a key of the facts) say whom and where the model is asked about. `dose_told` says whether
    the study tells its dose; if not, `units` is what the model is asked about.

    `spread` names what the study printed behind its value; `low` and `high` are what follows from it:

    - "SD": `plus_minus` is one standard deviation;
    - "SE", "SEM": `plus_minus` is a standard error of the mean of `n` people; the spread is that times the root of `n`;
    - "range": the study gives `ends`;
    - "not stated": the study prints `plus_minus` and does not say what it is, or prints nothing, and `tolerance` is ours.

    `moment` says what was measured, in `unit`:

    - "onset", "peak", "end": when the action begins, is greatest and is over, in h after the injection;
    - "half height from", "half height to": when the action first reaches, and last falls through, half its greatest, in h;
    - "height at 1 h": the action then, in % of its greatest; "action at 17 h": the action then, in units/h;
    - "plasma peak": when the injected insulin in the plasma is highest, in h; "rise of level": how high, in mU/L or pmol/L,
      and "rise at 30 min", "rise at 45 min", "level at 16 h": how high then;
    - "rate 1.5-13.5 h": so much of the dose leaves the tissue in an hour between these hours, in %;
    - "T50": when half the dose has left the tissue, in h;
    - "absorbed by 1 h", "left at 175 min": so much of the dose has left, or is still in, the tissue, in %;
    - "24-hour ratio": units absorbed in 24 h after the larger dose over those after the smaller, in times;
    - "variation of …": coefficient of variation from day to day in one person, in %, of T50, of the greatest action, of its
      hour, of the hour at which the action falls through half its greatest, and of the area in 0 to 12 h or 0 to 24 h.
    """

    insulin: Literal["regular", "nph", "mixture"]
    units: tuple[float, ...]
    moment: MeasuredMoment
    unit: Literal["h", "%", "times", "{units}/h", "mU/L", "pmol/L"]
    value: float
    spread: Spread
    plus_minus: float | None = None
    n: int | None = None
    ends: tuple[float, float] | None = None
    tolerance: float | None = None
    weight_kg: float = 70.0
    body_site: str = "abdomen"
    dose_told: bool = True

    def __post_init__(self) -> None:
        super().__post_init__()
        given = {name for name in ("plus_minus", "n", "ends", "tolerance") if getattr(self, name) is not None}
        if given not in SPREADS[self.spread]:
            ways = " or ".join(" and ".join(sorted(way)) for way in SPREADS[self.spread])
            raise ValueError(f"A spread of the word {self.spread!r} takes {ways}, and nothing else.")
        if not self.low <= self.value <= self.high:
            raise ValueError(f"The value {self.value:g} must lie between {self.low:g} and {self.high:g}.")
        if len(self.units) != 1 + (self.insulin == "mixture" or self.moment == "24-hour ratio"):
            raise ValueError("units holds one dose, or two for a mixture and for a ratio.")

    @property
    def standard_deviation(self) -> float | None:
        """One standard deviation, in the unit of the study: of an SE or SEM, times the root of n. None for other spreads."""
        if self.plus_minus is None or self.spread == "not stated":
            return None
        return self.plus_minus * (1 if self.n is None else self.n**0.5)

    @property
    def low(self) -> float:
        """The lower end of the spread; no hour, no share and no height lies below 0."""
        return self.ends[0] if self.ends else max(self.value - self._half_width, 0.0)

    @property
    def high(self) -> float:
        """The upper end of the spread."""
        return self.ends[1] if self.ends else self.value + self._half_width

    @property
    def _half_width(self) -> float:
        return self.standard_deviation or self.plus_minus or self.tolerance or 0.0

    @property
    def spread_is_ours(self) -> bool:
        """Whether the study prints no spread, and the tolerance is ours."""
        return self.tolerance is not None
