"""How much each insulin acts, hour by hour, after one subcutaneous injection.

The result is an amount of insulin acting per hour whose area is the dose. No glucose is predicted: two published models,
tried on the same day without lunch, gave lowest readings of 94 and of about 0 mg/dL (computed).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from mixlab.facts.reading import the_facts
from mixlab.quantities import NotAnAmount
from mixlab.ward.order.order import Order
from mixlab.words import sentence

from .absorption import HORIZON_H, Depot, Hours, NoModel, Spell, absorption_of, follow, grid, on_grid
from .injection import Injection, Portion, as_ordered, half_time_at

Part = Literal["clear", "cloudy", "total"]


def follow_portion(portion: Portion, minutes: int, *, body_site: str = "abdomen", spell: Spell | None = None) -> Depot:
    """Follow one portion for so many minutes, each minute from 0; a spell counts where it holds for insulin and place.

    Raises
    ------
    NoModel
        For an insulin or a place on the body without figures.
    """
    t50 = half_time_at(portion, body_site)
    return follow(
        portion.units, t50, absorption_of(portion.insulin).s, minutes, spell=felt_spell(spell, portion, body_site)
    )


def felt_spell(spell: Spell | None, portion: Portion, body_site: str) -> Spell | None:
    """Return the spell if it touches this insulin at this place."""
    felt = spell and portion.insulin.key in spell.row.insulins and body_site in spell.row.body_sites
    return spell if felt else None


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
        Body weight; it moves only the marker that onset and end are read at, and the fasting need.
    injection : Injection
        What is under the skin: as ordered, or after a slip.
    spell : Spell or None
        When the place, `body_site`, absorbs faster.
    """

    order: Order
    hours: Hours
    clear: Hours
    cloudy: Hours
    total: Hours
    weight_kg: float
    injection: Injection
    body_site: str
    spell: Spell | None

    @cached_property
    def _whole(self) -> dict[str, Hours]:
        """The three curves each minute over the whole horizon."""
        clear, cloudy = (
            follow_portion(portion, HORIZON_H * 60, body_site=self.body_site, spell=self.spell).action
            for portion in (self.injection.clear, self.injection.cloudy)
        )
        return {"clear": clear, "cloudy": cloudy, "total": clear + cloudy}

    @property
    def marker(self) -> float:
        """The action at which an insulin counts as begun or ended, in units per hour."""
        return the_facts().action["marker_units_per_kg_h"].value * self.weight_kg

    @property
    def fasting_need(self) -> float:
        """The action that a fasting body of this weight needs, in units per hour (Lepore 2000; read)."""
        return the_facts().action["basal_units_per_kg_h"].value * self.weight_kg

    def _above(self, part: Part, level: float | None) -> tuple[Hours, float, NDArray[np.intp]]:
        """Return a curve, the level or else the marker, and the minutes at which the curve is not below it."""
        curve, level = self._whole[part], self.marker if level is None else level
        return curve, level, np.flatnonzero(curve >= level)

    def onset(self, part: Part = "total", level: float | None = None) -> float | None:
        """Return the hour at which the action first reaches the marker, or another level, or None if it never does."""
        curve, level, reached = self._above(part, level)
        return _crossing(curve, level, reached[0] - 1) if len(reached) else None

    def end(self, part: Part = "total", level: float | None = None) -> float | None:
        """Return the hour at which the action last falls through the marker, or through another level.

        None if it never reached it, or is still above it after 72 h.
        """
        curve, level, reached = self._above(part, level)
        if not len(reached) or reached[-1] == len(curve) - 1:
            return None
        return _crossing(curve, level, reached[-1])

    def peak(self, part: Part = "total") -> float | None:
        """Return the hour of the greatest action.

        None if the action never reaches the marker, or still rises after 72 h.
        """
        curve = self._whole[part]
        top = int(np.argmax(curve))
        if curve[top] < self.marker or top == len(curve) - 1:
            return None
        before, at, after = curve[top - 1 : top + 2]
        return float((top + (before - after) / (before - 2 * at + after) / 2) / 60)

    def peak_rate(self, part: Part = "total") -> float:
        """Return the greatest action, in units per hour."""
        return float(self._whole[part].max())

    def humps(self, part: Part = "total") -> int:
        """Return how many times the curve rises to a top of its own."""
        slope = np.sign(np.diff(self._whole[part]))
        slope = slope[slope != 0]
        return int(((slope[:-1] > 0) & (slope[1:] < 0)).sum())

    def cloudy_overtakes(self) -> float | None:
        """Return the hour at which the cloudy insulin overtakes the clear one; None if it never does, or is ahead from the start."""
        ahead = self._whole["cloudy"] - self._whole["clear"]
        behind = np.flatnonzero(ahead[1:] < 0)
        if not len(behind) or behind[-1] + 2 >= len(ahead):
            return None
        return _crossing(ahead, 0.0, behind[-1] + 1)


def _crossing(curve: Hours, level: float, index: int) -> float:
    low, high = curve[index], curve[index + 1]
    return float((index + (level - low) / (high - low)) / 60)


def action_curves(
    order: Order,
    hours: ArrayLike,
    weight_kg: float = 70.0,
    *,
    body_site: str = "abdomen",
    spell: Spell | None = None,
    injection: Injection | None = None,
) -> ActionCurves:
    """Return the action of both insulins and of their sum.

    Parameters
    ----------
    order : Order
        One clear and one cloudy insulin.
    hours : array (n,)
        Hours after the injection, 0 to 72.
    weight_kg : float
        Body weight, kg.
    body_site : {"abdomen", "arm", "thigh", "buttock"}
        Where the dose is given.
    spell : Spell, optional
        Exercise or warmth that makes the place absorb faster, from :func:`.absorption.begin_spell`.
    injection : Injection, optional
        What is under the skin instead of what was ordered, from a function of :mod:`.injection`.

    Raises
    ------
    NoModel
        For an insulin without a model, a place on the body without figures, a dose larger than any syringe, or hours outside
        0 to 72.
    NotAnAmount
        For a dose or a weight that is not a number above 0.

    Notes
    -----
    The delays are solved exactly for an input that is straight between the minutes, then read at `hours`, linearly between
    minutes. Parameters, sources and how each is known stand in facts/action.toml.

    Examples
    --------
    >>> order = read_order("regular insulin 8 units and NPH insulin 20 units")
    >>> action_curves(order, [0, 2, 6]).total.round(1).tolist()
    [0.0, 2.5, 1.9]
    """
    at, minutes = checked_hours(hours)
    if isinstance(weight_kg, bool) or not 0 < weight_kg < math.inf:
        wrong = sentence("A weight of {weight_kg} kg is not possible. Enter the body weight in kg, above 0.")
        raise NotAnAmount(wrong.filled(weight_kg=weight_kg))
    injection = injection or as_ordered(order)
    on = grid(minutes)
    as_it_is = on_grid(at, on)
    parts = (
        follow_portion(portion, minutes, body_site=body_site, spell=spell).action
        for portion in (injection.clear, injection.cloudy)
    )
    clear, cloudy = (part if as_it_is else np.interp(at, on.hours, part) for part in parts)
    return ActionCurves(
        order=order,
        hours=at,
        clear=clear,
        cloudy=cloudy,
        total=clear + cloudy,
        weight_kg=weight_kg,
        injection=injection,
        body_site=body_site,
        spell=spell,
    )


def checked_hours(hours: ArrayLike) -> tuple[Hours, int]:
    """Return hours as an array (n,), and the minutes that reach over all of them.

    Raises
    ------
    NoModel
        For hours outside 0 to 72, or that are no list.
    """
    at = np.array(hours, dtype=float)
    if at.ndim != 1 or not at.size or not (at.min() >= 0 and at.max() <= HORIZON_H):
        wrong = sentence("The action curves cover hours 0 to {horizon_h} after the injection, as a list of hours.")
        raise NoModel(wrong.filled(horizon_h=HORIZON_H))
    return at, math.ceil(at.max() * 60 - 1e-9) or 1
