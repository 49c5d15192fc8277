"""What the action model says where a study measured: one trial, asked as a question."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from mixlab.facts.action_rows import MeasuredMoment, TrialRow
from mixlab.facts.reading import the_facts
from mixlab.ward.insulin import insulins
from mixlab.ward.order.order import Dose, Order

from .absorption import Hours, absorbed_fraction, absorption_of, added_plasma_level
from .curves import ActionCurves, Part, action_curves, follow_portion
from .injection import Portion, half_time_at
from .variation import Width, day_to_day

PMOL_PER_MU = 6.0
"""1 mU of insulin in pmol: 1 unit is 6 nmol in a European product annex (read)."""

STUDY_DAYS = 2000
"""Days drawn for a coefficient of variation, always the same ones."""

_DAY_H: Hours = np.arange(24 * 60 + 1) / 60
_FIVE_MINUTES_H: Hours = np.arange(24 * 12 + 1) / 12


@dataclass(frozen=True, kw_only=True)
class Asked:
    """What a study measured as a question to the model."""

    trial: TrialRow

    @property
    def part(self) -> Part:
        """The curve that the study followed."""
        parts: dict[str, Part] = {"regular": "clear", "nph": "cloudy", "mixture": "total"}
        return parts[self.trial.insulin]

    @property
    def portions(self) -> list[Portion]:
        """The portions measured; for a ratio the smaller and the larger dose."""
        keys = ("regular", "nph") if self.part == "total" else (self.trial.insulin,) * len(self.trial.units)
        pairs = zip(keys, self.trial.units, strict=True)
        return [Portion(insulin=insulins()[key], units=units, depot_units=units) for key, units in pairs]

    @property
    def order(self) -> Order:
        """An order with that part; the other part is one unit, and nobody looks at it."""
        units = dict.fromkeys(("regular", "nph"), 1.0) | {each.insulin.key: each.units for each in self.portions}
        regular, nph = (Dose(insulin=insulins()[key], units=amount) for key, amount in units.items())
        return Order(doses=(regular, nph))

    @cached_property
    def curves(self) -> ActionCurves:
        """The action for this weight at this place."""
        return action_curves(self.order, _DAY_H, self.trial.weight_kg, body_site=self.trial.body_site)

    @property
    def action(self) -> Hours:
        """The action at each minute of a day."""
        return {"clear": self.curves.clear, "cloudy": self.curves.cloudy, "total": self.curves.total}[self.part]

    @property
    def removal(self) -> Hours:
        """What leaves the plasma at each minute of a day."""
        depots = [follow_portion(each, 24 * 60, body_site=self.trial.body_site) for each in self.portions]
        return np.asarray(np.sum([depot.removal for depot in depots], axis=0))

    @property
    def days(self) -> Hours:
        """The action (days, n) every five minutes on many days, in the fan whose width was chosen from the same study."""
        width: Width = "wide" if the_facts().variation["nph-wide"].source == self.trial.source else "day to day"
        fan = day_to_day(
            self.order, _FIVE_MINUTES_H, width=width, draws=STUDY_DAYS, body_site=self.trial.body_site, step=5
        )
        return fan.days(self.part)

    def half_height(self) -> float:
        """Return half the greatest action, units/h."""
        return self.curves.peak_rate(self.part) / 2

    @property
    def level(self) -> Hours:
        """The level of the injected insulin in the plasma at each minute of a day, in the unit of the study."""
        return added_plasma_level(self.removal, self.trial.weight_kg) * (
            PMOL_PER_MU if self.trial.unit == "pmol/L" else 1
        )

    def half_time(self, portion: int = 0) -> float:
        """Return T50 of a portion, h."""
        return half_time_at(self.portions[portion], self.trial.body_site)

    def absorbed(self, hours: float, portion: int = 0) -> float:
        """Return the fraction of a portion that has left the tissue."""
        s = absorption_of(self.portions[portion].insulin).s
        return float(absorbed_fraction(np.array([hours]), self.half_time(portion), s)[0])

    def ratio(self) -> float:
        """Return the units absorbed in 24 h after the larger dose over those after the smaller."""
        smaller, larger = (units * self.absorbed(24, at) for at, units in enumerate(self.trial.units))
        return larger / smaller


def _percent_variation(figure: Hours) -> float:
    return 100 * float(figure.std() / figure.mean())


def _late_half(days: Hours) -> Hours:
    """Return the hour (days,) at which each day's action last stands at half its greatest or above."""
    above = days >= days.max(axis=1, keepdims=True) / 2
    return np.asarray(_FIVE_MINUTES_H[above.shape[1] - 1 - np.argmax(above[:, ::-1], axis=1)])


def _area(days: Hours, hours: int) -> Hours:
    upto = hours * 12 + 1
    return np.asarray(np.trapezoid(days[:, :upto], _FIVE_MINUTES_H[:upto], axis=1))


MODEL_FIGURES: dict[MeasuredMoment, Callable[[Asked], float | None]] = {
    "onset": lambda asked: asked.curves.onset(asked.part),
    "peak": lambda asked: asked.curves.peak(asked.part),
    "end": lambda asked: asked.curves.end(asked.part),
    "half height from": lambda asked: asked.curves.onset(asked.part, asked.half_height()),
    "half height to": lambda asked: asked.curves.end(asked.part, asked.half_height()),
    "height at 1 h": lambda asked: 50 * float(asked.action[60]) / asked.half_height(),
    "action at 17 h": lambda asked: float(asked.action[17 * 60]),
    "plasma peak": lambda asked: float(_DAY_H[np.argmax(asked.removal)]),
    "rise of level": lambda asked: float(asked.level.max()),
    "level at 16 h": lambda asked: float(asked.level[16 * 60]),
    "rise at 30 min": lambda asked: float(asked.level[30]),
    "rise at 45 min": lambda asked: float(asked.level[45]),
    "rate 1.5-13.5 h": lambda asked: 100 * (asked.absorbed(13.5) - asked.absorbed(1.5)) / 12,
    "T50": Asked.half_time,
    "absorbed by 1 h": lambda asked: 100 * asked.absorbed(1),
    "left at 175 min": lambda asked: 100 - 100 * asked.absorbed(175 / 60),
    "24-hour ratio": Asked.ratio,
    "variation of T50": lambda asked: 100 * the_facts().variation[asked.trial.insulin].half_time,
    "variation of peak": lambda asked: _percent_variation(asked.days.max(axis=1)),
    "variation of peak time": lambda asked: _percent_variation(_FIVE_MINUTES_H[np.argmax(asked.days, axis=1)]),
    "variation of late half": lambda asked: _percent_variation(_late_half(asked.days)),
    "variation of area 0-12 h": lambda asked: _percent_variation(_area(asked.days, 12)),
    "variation of area 0-24 h": lambda asked: _percent_variation(_area(asked.days, 24)),
}
"""How the figure for each moment is read off the model, in the unit of the study; what each means stands at `TrialRow`."""
