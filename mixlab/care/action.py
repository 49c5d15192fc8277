"""How much each insulin acts, hour by hour, after one subcutaneous injection.

The injected depot is absorbed along a logistic curve in log time whose half-time grows with the dose (Berger and Rodbard,
Diabetes Care 1989;12:725-736; form and numbers recalled), then passes two first-order delays, plasma and effect site. The
result is an amount of insulin acting per hour whose area is the dose: no glucose is predicted.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..facts.record import AbsorptionRow
from ..facts.shelf import shelf
from ..quantities import NotAnAmount
from ..ward.order import Dose, Order

Hours = NDArray[np.float64]
Part = Literal["clear", "cloudy", "total"]

HORIZON_H = 72
"""The longest time after an injection that the curves cover, in h."""

_STEP_H = 1 / 60


class NoModel(ValueError):
    """An insulin, a dose or a time for which the package has no action model."""


@dataclass(frozen=True, kw_only=True)
class Depot:
    """One injection followed from the tissue to its effect, on a grid of one minute from 0.

    Attributes
    ----------
    absorption, removal, action : array (n,)
        Units per hour leaving the tissue, leaving the plasma, and acting.
    """

    absorption: Hours
    removal: Hours
    action: Hours


def half_time(units: float, row: AbsorptionRow) -> float:
    """Return T50 in h, when half of `units` has left the tissue: T50 = a·D + b (Berger and Rodbard 1989; recalled)."""
    return row.hours_per_unit * units + row.hours


def absorbed_fraction(hours: Hours, t50: float, s: float) -> Hours:
    """Return the fraction absorbed by each hour (n,): F = t^s / (T50^s + t^s) (Berger and Rodbard 1989; recalled)."""
    x = (hours / t50) ** s
    return x / (1 + x)


def absorption_rate(hours: Hours, units: float, t50: float, s: float) -> Hours:
    """Return units per hour leaving the tissue (n,): the derivative of :func:`absorbed_fraction` times the dose."""
    x = hours / t50
    power = x * x if s == 2 else x**s
    return (units * s / t50) * (x if s == 2 else x ** (s - 1)) / (1 + power) ** 2


def first_order_lag(rate: Hours, per_hour: float, growth: Hours) -> Hours:
    """Return y with y' = k (x − y), y(0) = 0, exactly for an x that is straight between the minutes.

    Parameters
    ----------
    rate : array (n,)
        x, in units per hour, each minute from 0.
    per_hour : float
        k, per h.
    growth : array (n,)
        e^(k t) at the same minutes.
    """
    q = math.exp(-per_hour * _STEP_H)
    w1 = 1 - (1 - q) / (per_hour * _STEP_H)
    w0 = (1 - q) - w1
    steps = np.zeros_like(rate)
    steps[1:] = w0 * rate[:-1] + w1 * rate[1:]
    lagged: Hours = np.cumsum(steps * growth) / growth
    return lagged


def follow(dose: Dose, minutes: int) -> Depot:
    """Follow one dose for so many minutes.

    Raises
    ------
    NoModel
        For an insulin without absorption parameters.
    """
    facts = shelf()
    row = facts.absorption.get(dose.insulin.key)
    if row is None:
        known = " and ".join(sorted(facts.insulins[key].name for key in facts.absorption))
        raise NoModel(f"There is no action curve for {dose.insulin} here: the model has figures for {known} only.")
    units = dose.units
    if isinstance(units, bool) or not 0 < units < math.inf:
        raise NotAnAmount(f"No action can be computed for {units} units of {dose.insulin}. Enter a dose above 0.")
    hours, plasma_growth, effect_growth = _grid(minutes)
    absorption = absorption_rate(hours, float(units), half_time(float(units), row), row.s)
    removal = first_order_lag(absorption, facts.action["plasma_rate_per_h"].value, plasma_growth)
    action = first_order_lag(removal, facts.action["effect_rate_per_h"].value, effect_growth)
    return Depot(absorption=absorption, removal=removal, action=action)


@lru_cache(maxsize=8)
def _grid(minutes: int) -> tuple[Hours, Hours, Hours]:
    """Return the hours of each minute, and how far each delay's exponential has grown by then."""
    hours: Hours = np.arange(minutes + 1, dtype=np.float64) * _STEP_H
    action = shelf().action
    plasma, effect = (action[key].value for key in ("plasma_rate_per_h", "effect_rate_per_h"))
    return hours, np.exp(plasma * hours), np.exp(effect * hours)


def added_plasma_level(removal: Hours, weight_kg: float) -> Hours:
    """Return the insulin added to the plasma, mU/L (n,): C = 1000 P / (ke·V·W); illustrative, about twice too high for NPH.

    Source: compartment and clearance as in Hovorka, Physiol Meas 2004;25:905 (recalled).
    """
    action = shelf().action
    return 1000 * removal / (action["plasma_rate_per_h"].value * action["volume_l_per_kg"].value * weight_kg)


@dataclass(frozen=True, kw_only=True, eq=False)
class ActionCurves:
    """The action of a mixed dose over time.

    Attributes
    ----------
    hours : array (n,)
        Hours after the injection.
    clear, cloudy, total : array (n,)
        Units per hour acting then; `total` is the sum of the two.
    weight_kg : float
        Body weight; it moves only the marker that onset and end are read at.
    """

    order: Order
    hours: Hours
    clear: Hours
    cloudy: Hours
    total: Hours
    weight_kg: float

    @cached_property
    def _whole(self) -> dict[str, Hours]:
        """The three curves each minute over the whole horizon."""
        clear, cloudy = (follow(dose, HORIZON_H * 60).action for dose in (self.order.clear, self.order.cloudy))
        return {"clear": clear, "cloudy": cloudy, "total": clear + cloudy}

    @property
    def marker(self) -> float:
        """The action at which an insulin counts as begun or ended, in units per hour."""
        return shelf().action["marker_units_per_kg_h"].value * self.weight_kg

    @property
    def extrapolated(self) -> bool:
        """Whether a dose lies beyond what the model was made for."""
        limit = shelf().action["extrapolated_above_units"].value
        return any(dose.units > limit for dose in self.order.doses)

    def onset(self, part: Part = "total") -> float | None:
        """Return the hour at which the action first reaches the marker, or None if it never does."""
        curve = self._whole[part]
        reached = np.flatnonzero(curve >= self.marker)
        if not len(reached):
            return None
        return self._crossing(curve, reached[0] - 1)

    def end(self, part: Part = "total") -> float | None:
        """Return the hour at which the action last falls through the marker.

        None if it never reached the marker, or is still above it after 72 h.
        """
        curve = self._whole[part]
        reached = np.flatnonzero(curve >= self.marker)
        if not len(reached) or reached[-1] == len(curve) - 1:
            return None
        return self._crossing(curve, reached[-1])

    def peak(self, part: Part = "total") -> float | None:
        """Return the hour of the greatest action.

        None if the action never reaches the marker, or still rises after 72 h.
        """
        curve = self._whole[part]
        top = int(np.argmax(curve))
        if curve[top] < self.marker or top == len(curve) - 1:
            return None
        before, at, after = curve[top - 1 : top + 2]
        return float((top + (before - after) / (before - 2 * at + after) / 2) * _STEP_H)

    def peak_rate(self, part: Part = "total") -> float:
        """Return the greatest action, in units per hour."""
        return float(self._whole[part].max())

    def _crossing(self, curve: Hours, index: int) -> float:
        low, high = curve[index], curve[index + 1]
        return float((index + (self.marker - low) / (high - low)) * _STEP_H)


def action_curves(order: Order, hours: ArrayLike, weight_kg: float = 70.0) -> ActionCurves:
    """Return the action of both insulins and of their sum.

    Parameters
    ----------
    order : Order
        One clear and one cloudy insulin.
    hours : array (n,)
        Hours after the injection, 0 to 72.
    weight_kg : float
        Body weight, kg.

    Raises
    ------
    NoModel
        For an insulin without a model, or hours outside 0 to 72.
    NotAnAmount
        For a dose or a weight that is not a number above 0.

    Notes
    -----
    The delays are solved exactly for an input that is straight between the minutes, then read at `hours`, linearly between
    minutes. Parameters, sources and how each is known stand in facts/action.toml.
    """
    at = np.asarray(hours, dtype=float)
    if at.ndim != 1 or not at.size or not (at.min() >= 0 and at.max() <= HORIZON_H):
        raise NoModel(f"The action curves cover hours 0 to {HORIZON_H} after the injection, as a list of hours.")
    if isinstance(weight_kg, bool) or not 0 < weight_kg < math.inf:
        raise NotAnAmount(f"A weight of {weight_kg} kg is not possible. Enter the body weight in kg, above 0.")
    minutes = math.ceil(at.max() * 60 - 1e-9) or 1
    grid = _grid(minutes)[0]
    on_grid = at.shape == grid.shape and np.allclose(at, grid, rtol=0, atol=1e-12)
    parts = (follow(dose, minutes).action for dose in (order.clear, order.cloudy))
    clear, cloudy = (part if on_grid else np.interp(at, grid, part) for part in parts)
    return ActionCurves(order=order, hours=at, clear=clear, cloudy=cloudy, total=clear + cloudy, weight_kg=weight_kg)
