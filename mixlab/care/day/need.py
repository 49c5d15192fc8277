"""Insulin acting against an assumed need, to compare one day with another: never a glucose, never a dose rule.

The need is part of the fasting need (Lepore 2000; read) and, for each meal, a hump whose area is the meal's carbohydrate at
an assumed 12 g for each unit, greatest an assumed 40 minutes after the meal begins.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from mixlab.care.action.absorption import Hours
from mixlab.care.action.curves import ActionCurves
from mixlab.facts.reading import the_facts
from mixlab.facts.records import Fact
from mixlab.quantities import NotAnAmount
from mixlab.words import sentence

from .planning import DayPlan


@dataclass(frozen=True, kw_only=True, eq=False)
class Cover:
    """Action against need.

    Attributes
    ----------
    hours, action, need : array (n,)
        Hours after the injection; units per hour acting, and needed by the assumptions.
    basal_share : float
        The part of the fasting need that is assumed.
    basis : tuple of Fact
        The assumptions.
    """

    hours: Hours
    action: Hours
    need: Hours
    basal_share: float
    basis: tuple[Fact, ...]

    def uncovered(self, start: float, end: float) -> float:
        """Return the units that act beyond the need between two hours: ∫ max(A − need, 0), by trapezoids."""
        return self._area(self.action - self.need, start, end)

    def missing(self, start: float, end: float) -> float:
        """Return the units that are needed beyond what acts between two hours."""
        return self._area(self.need - self.action, start, end)

    def _area(self, beyond: Hours, start: float, end: float) -> float:
        inside = (self.hours > start) & (self.hours < end)
        at = np.concatenate([[start], self.hours[inside], [end]])
        return float(np.trapezoid(np.maximum(np.interp(at, self.hours, beyond), 0), at))


def cover(curves: ActionCurves, meals: Iterable[tuple[float, float]], basal_share: float | None = None) -> Cover:
    """Return action against need for meals at their hours.

    Parameters
    ----------
    curves : ActionCurves
        The dose; its hours are those of the answer.
    meals : iterable of (hours, grams)
        When each meal begins, in hours after the injection, and its carbohydrate in g.
    basal_share : float, optional
        The part of the fasting need, from 0; the assumed 0.75 if not given.

    Raises
    ------
    NotAnAmount
        For a share that is not a number from 0.
    """
    facts = the_facts().action
    share, grams_per_unit, minutes = facts["basal_share"], facts["grams_per_unit"], facts["meal_minutes"]
    part = share.value if basal_share is None else basal_share
    if isinstance(part, bool) or not 0 <= part < math.inf:
        wrong = sentence("{part} of the fasting need is not possible. Enter a number from 0, such as 0.75.")
        raise NotAnAmount(wrong.filled(part=part))
    peak = minutes.value / 60
    need = np.full_like(curves.hours, part * curves.fasting_need)
    for begins, grams in meals:
        x = np.maximum(curves.hours - begins, 0) / peak
        need += grams / grams_per_unit.value * x * np.exp(-x) / peak
    return Cover(
        hours=curves.hours,
        action=curves.total,
        need=need,
        basal_share=part,
        basis=(facts["basal_units_per_kg_h"], share, grams_per_unit, minutes),
    )


def eaten_meals(plan: DayPlan) -> tuple[tuple[float, float], ...]:
    """Return the hours after the injection and the carbohydrate in g of every meal of a plan that is eaten."""
    return tuple((plan.given_at.until(one.at) / 60, one.meal.grams) for one in plan.meals if one.meal.eaten)
