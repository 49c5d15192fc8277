"""One portion of insulin followed from the tissue to its effect: absorption, plasma, effect site.

The injected depot is absorbed along a logistic curve in log time whose half-time grows with the dose (Berger and Rodbard,
Diabetes Care 1989;12:725-736; form and numbers recalled), then passes two first-order delays, plasma and effect site. What
warms or moves the place of injection makes the depot's own clock run faster, so that no unit is lost or made.

Arrays may carry leading dimensions: shape (…, n), n times, so that many depots are followed at once.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from mixlab.facts.action_rows import AbsorptionRow, SpeedRow
from mixlab.facts.reading import the_facts
from mixlab.ward.insulin import Insulin, insulins
from mixlab.words import joined, sentence

Hours = NDArray[np.float64]

HORIZON_H = 72
"""The longest time after an injection that the curves cover, in h."""


class NoModel(ValueError):
    """An insulin, a dose, a place or a time for which the package has no action model."""


class NoFigures(NoModel):
    """An insulin for which the model has no figures."""


@dataclass(frozen=True, kw_only=True)
class Depot:
    """Depots followed from the tissue to their effect.

    Attributes
    ----------
    absorption, removal, action : array (…, n)
        Units per hour leaving the tissue, leaving the plasma, and acting.
    """

    absorption: Hours
    removal: Hours
    action: Hours


@dataclass(frozen=True, kw_only=True)
class Spell:
    """A spell of time in which the place of injection absorbs faster.

    Attributes
    ----------
    row : SpeedRow
        What it is, how much faster and for how long.
    start_minutes : int
        When it begins, in minutes after the injection.
    """

    row: SpeedRow
    start_minutes: int

    @property
    def end_minutes(self) -> int:
        """When it is over, in minutes after the injection."""
        return self.start_minutes + int(self.row.minutes[-1])

    def speed(self, hours: Hours, *, before: bool) -> Hours:
        """Return how many times faster the depot's clock runs at each hour (n,), just before it or just after it."""
        minutes = np.round(hours * 60, 9) - self.start_minutes
        times = np.interp(minutes, self.row.minutes, self.row.times)
        over = self.row.minutes[-1]
        inside = (minutes > 0) & (minutes <= over) if before else (minutes >= 0) & (minutes < over)
        return np.where(inside, times, 1.0)


def begin_spell(key: str, start_minutes: int) -> Spell:
    """Return exercise or warmth that begins so many minutes after the injection.

    Raises
    ------
    NoModel
        For a key that the facts do not know, or a beginning that is no whole minute from 0.
    """
    rows = the_facts().speeds
    if key not in rows:
        raise NoModel(sentence("Nothing here is called {key!r}. Choose one of {rows}.", key=key, rows=", ".join(rows)))
    if isinstance(start_minutes, bool) or not isinstance(start_minutes, int) or start_minutes < 0:
        wrong = sentence("{start_minutes} is no minute after the injection. Enter a whole number of minutes from 0.")
        raise NoModel(wrong.filled(start_minutes=start_minutes))
    return Spell(row=rows[key], start_minutes=start_minutes)


def half_time(units: float, row: AbsorptionRow) -> float:
    """Return T50 in h, when half of `units` has left the tissue: T50 = a·D + b (Berger and Rodbard 1989; recalled)."""
    return row.hours_per_unit * units + row.hours


def absorbed_fraction(hours: Hours, t50: float | Hours, s: float) -> Hours:
    """Return the fraction absorbed by each hour (n,): F = t^s / (T50^s + t^s) (Berger and Rodbard 1989; recalled)."""
    x = (hours / t50) ** s
    return x / (1 + x)


def absorption_rate(hours: Hours, units: float | Hours, t50: float | Hours, s: float) -> Hours:
    """Return units per hour leaving the tissue (n,): the derivative of :func:`absorbed_fraction` times the dose."""
    x = hours / t50
    if s == 2:  # the same with fewer steps
        power = x * x
        power += 1
        power *= power
        np.divide(x, power, out=power)
        power *= units * s / t50
        return power
    return (units * s / t50) * x ** (s - 1) / (1 + x**s) ** 2


@dataclass(frozen=True, kw_only=True, eq=False)
class _Lag:
    """What a first-order delay of rate k needs on a grid: y' = k (x − y), y(0) = 0, solved exactly for a straight x.

    `start` and `end` weigh the input at both ends of each step and carry the exponential's growth; `shrink` takes the
    growth back.
    """

    start: Hours
    end: Hours
    shrink: Hours


@dataclass(frozen=True, kw_only=True, eq=False)
class _Grid:
    hours: Hours
    plasma: _Lag
    effect: _Lag


_FINER = 3
"""Into how many parts a minute is cut while a spell speeds the depot up: it is then as near to a solver as without one."""


@lru_cache(maxsize=16)
def grid(minutes: int, step: int = 1, parts: int = 1) -> _Grid:
    """Return the hours from 0 at every `step` minutes up to `minutes` or just past it, with what the two delays need there.

    Each step may be cut into `parts`.
    """
    steps, step_h = -(-minutes // step) * parts, step / parts / 60
    hours: Hours = np.arange(steps + 1, dtype=np.float64) * step_h
    action = the_facts().action
    hours.flags.writeable = False
    plasma, effect = (_lag(action[key].value, hours, step_h) for key in ("plasma_rate_per_h", "effect_rate_per_h"))
    return _Grid(hours=hours, plasma=plasma, effect=effect)


def on_grid(hours: Hours, on: _Grid) -> bool:
    """Say whether hours (n,) are those of a grid."""
    return hours.shape == on.hours.shape and bool(np.abs(hours - on.hours).max() < 1e-12)


def _lag(per_hour: float, hours: Hours, step_h: float) -> _Lag:
    q = math.exp(-per_hour * step_h)
    w1 = 1 - (1 - q) / (per_hour * step_h)
    w0 = (1 - q) - w1
    growth = np.exp(per_hour * hours)
    lag = _Lag(start=w0 * growth[1:], end=w1 * growth[1:], shrink=1 / growth)
    for array in (lag.start, lag.end, lag.shrink):
        array.flags.writeable = False
    return lag


def first_order_lag(start: Hours, end: Hours, lag: _Lag) -> Hours:
    """Return y (…, n) with y' = k (x − y), y(0) = 0, exactly for an x that is straight within each step.

    Parameters
    ----------
    start, end : array (…, n − 1)
        x at the start and at the end of each step; the two differ between steps where x jumps.
    lag : _Lag
        From :func:`grid`.
    """
    lagged = np.empty((*start.shape[:-1], start.shape[-1] + 1))
    lagged[..., 0] = 0
    inner = lagged[..., 1:]
    np.multiply(start, lag.start, out=inner)
    inner += end * lag.end
    np.cumsum(inner, axis=-1, out=inner)
    lagged *= lag.shrink
    return lagged


def follow(
    units: float | Hours, t50: float | Hours, s: float, minutes: int, *, step: int = 1, spell: Spell | None = None
) -> Depot:
    """Follow one depot or many.

    Parameters
    ----------
    units, t50 : float or array (…, 1)
        The dose of each depot and its half-time in h.
    s : float
        The shape of the absorption curve.
    minutes, step : int
        How far, and the minutes between two times.
    spell : Spell, optional
        When the depots absorb faster.
    """
    parts = _FINER if spell and step == 1 else 1
    on = grid(minutes, step, parts)
    if spell is None:
        absorption = absorption_rate(on.hours, units, t50, s)
        removal = first_order_lag(absorption[..., :-1], absorption[..., 1:], on.plasma)
    else:
        own, after, before = depot_clock(on.hours, spell)
        slow = absorption_rate(own, units, t50, s)
        absorption = slow * after
        removal = first_order_lag(absorption[..., :-1], slow[..., 1:] * before[1:], on.plasma)
    action = first_order_lag(removal[..., :-1], removal[..., 1:], on.effect)
    return Depot(absorption=absorption[..., ::parts], removal=removal[..., ::parts], action=action[..., ::parts])


def depot_clock(hours: Hours, spell: Spell) -> tuple[Hours, Hours, Hours]:
    """Return the depot's own time τ(t) = ∫ m, and its speed m just after and just before each hour.

    The absorbed fraction at t is that of an undisturbed depot at τ: whatever is absorbed sooner is missing later. Exact where
    every knot of `spell` is one of `hours`.
    """
    after, before = spell.speed(hours, before=False), spell.speed(hours, before=True)
    passed = np.diff(hours) * (after[:-1] + before[1:]) / 2
    return np.concatenate([[0.0], np.cumsum(passed)]), after, before


def added_plasma_level(removal: Hours, weight_kg: float) -> Hours:
    """Return the insulin added to the plasma, mU/L (n,): C = 1000 P / (ke·V·W); illustrative, about twice too high for NPH.

    Source: compartment and clearance as in Hovorka, Physiol Meas 2004;25:905 (recalled).
    """
    action = the_facts().action
    return 1000 * removal / (action["plasma_rate_per_h"].value * action["volume_l_per_kg"].value * weight_kg)


def absorption_of(insulin: Insulin) -> AbsorptionRow:
    """Return how fast an insulin is absorbed.

    Raises
    ------
    NoFigures
        For an insulin without absorption parameters.
    """
    facts = the_facts()
    if insulin.key in facts.absorption:
        return facts.absorption[insulin.key]
    raise NoFigures(
        sentence(
            "There is no action curve for {insulin} here: the model has figures for {known} only.",
            insulin=insulin.name,
            known=joined((insulins()[key].name for key in sorted(facts.absorption)), sentence(" and ")),
        )
    )
