"""How much the same dose differs from day to day: seeded draws of one person's days."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from mixlab.facts.action_rows import VariationRow
from mixlab.facts.reading import the_facts
from mixlab.quantities import NotAnAmount
from mixlab.ward.order.order import Order
from mixlab.words import sentence

from .absorption import Hours, NoModel, Spell, absorption_of, follow, grid, on_grid
from .curves import Part, checked_hours, felt_spell
from .injection import Injection, as_ordered, half_time_at

Width = Literal["day to day", "wide"]

DRAWS = 400
SEED = 1
"""The same seed gives the same days."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Fan:
    """Many days of one person with the same dose.

    Attributes
    ----------
    hours : array (n,)
        Hours after the injection.
    clear, cloudy : array (draws, n)
        Units per hour acting on each day. The size of the effect varies too: what varies is the effect, not the units
        absorbed.
    basis : tuple of VariationRow
        What the draws rest on.
    """

    hours: Hours
    clear: Hours
    cloudy: Hours
    basis: tuple[VariationRow, ...]

    def days(self, part: Part) -> Hours:
        """Return the action (draws, n) of each day."""
        return self.clear + self.cloudy if part == "total" else np.asarray(getattr(self, part))

    def band(self, part: Part, *percents: float) -> tuple[Hours, ...]:
        """Return, for each percentage, the action (n,) that so many of 100 days stay below at each hour."""
        return tuple(np.percentile(self.days(part), percents, axis=0))


def day_to_day(
    order: Order,
    hours: ArrayLike,
    *,
    width: Width = "day to day",
    draws: int = DRAWS,
    body_site: str = "abdomen",
    spell: Spell | None = None,
    injection: Injection | None = None,
    step: int = 1,
) -> Fan:
    """Return how the action of a mixed dose could run on many days.

    Parameters
    ----------
    order : Order
        One clear and one cloudy insulin.
    hours : array (n,)
        Hours after the injection, 0 to 72.
    width : {"day to day", "wide"}
        The variation of the cloudy insulin: as in clamps, or as in people with type 1 diabetes.
    draws : int
        How many days, always the same ones.
    body_site, spell, injection
        As for :func:`mixlab.action_curves`.
    step : int
        Minutes between the times at which the curves are solved. A spell must begin and change at such times.

    Raises
    ------
    NotAnAmount
        For less than one draw or an unknown width, and as :func:`mixlab.action_curves` does.
    NoModel
        As :func:`mixlab.action_curves` does.

    Notes
    -----
    For each day and insulin one log-normal factor of mean 1 multiplies T50 and one the size: σ² = ln(1 + CV²), factor =
    exp(N(−σ²/2, σ)). That the two insulins vary independently is our assumption. Coefficients: facts/action.toml,
    [variation].
    """
    if isinstance(draws, bool) or not isinstance(draws, int) or draws < 1:
        raise NotAnAmount(sentence("{draws} days cannot be drawn. Enter a whole number of at least 1.", draws=draws))
    if width not in ("day to day", "wide"):
        raise NotAnAmount(sentence("There is no variation {width!r}. Choose 'day to day' or 'wide'.", width=width))
    if isinstance(step, bool) or not isinstance(step, int) or step < 1:
        wrong = sentence("A step of {step} minutes is not possible. Enter a whole number of at least 1.")
        raise NotAnAmount(wrong.filled(step=step))
    if spell and any((spell.start_minutes + minute) % step for minute in spell.row.minutes):
        wrong = sentence("{what} does not begin and change on steps of {step} minutes. Use a step of 1.")
        raise NoModel(wrong.filled(what=sentence(spell.row.name), step=step))
    at, _ = checked_hours(hours)
    injection = injection or as_ordered(order)
    rows, curves = [], []
    for which, portion in enumerate((injection.clear, injection.cloudy)):
        key = portion.insulin.key
        row = the_facts().variation.get(f"{key}-wide" if width == "wide" else key) or the_facts().variation[key]
        drawn = _Drawn(cv=(row.half_time, row.size), draws=draws, which=which)
        felt = felt_spell(spell, portion, body_site)
        t50, s = half_time_at(portion, body_site), absorption_of(portion.insulin).s
        curves.append(_days(portion.units, t50, s, drawn, tuple(at.tolist()), felt, step))
        rows.append(row)
    return Fan(hours=at, clear=curves[0], cloudy=curves[1], basis=tuple(rows))


@dataclass(frozen=True, kw_only=True)
class _Drawn:
    """What a portion's factors are drawn from: the variation of T50 and size, how many days, and which portion."""

    cv: tuple[float, float]
    draws: int
    which: int

    def factors(self) -> tuple[Hours, Hours]:
        """Return the factors of T50 and of size, (draws, 1) each."""
        chance = np.random.default_rng(SEED).standard_normal((2, 2, self.draws, 1))[self.which]
        late, size = (factors(cv, one) for cv, one in zip(self.cv, chance, strict=True))
        return late, size


@lru_cache(maxsize=64)  # while one dose moves, the other's days stay
def _days(
    units: float, t50: float, s: float, drawn: _Drawn, hours: tuple[float, ...], spell: Spell | None, step: int
) -> Hours:
    at, minutes = checked_hours(hours)
    late, size = drawn.factors()
    days = follow(units * size, t50 * late, s, minutes, step=step, spell=spell).action
    on = grid(minutes, step)
    if not on_grid(at, on):  # np.interp takes one curve only
        every = on.hours
        low = np.clip(np.searchsorted(every, at, side="right") - 1, 0, len(every) - 2)
        share = (at - every[low]) / (every[low + 1] - every[low])
        days = days[:, low] * (1 - share) + days[:, low + 1] * share
    days.flags.writeable = False
    return days


def factors(variation: float, chance: Hours) -> Hours:
    """Return log-normal factors of mean 1 with this coefficient of variation from standard normal draws."""
    variance = np.log(1 + variation**2)
    drawn: Hours = np.exp(-variance / 2 + np.sqrt(variance) * chance)
    return drawn
