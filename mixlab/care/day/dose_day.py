"""A dose on the clock of its day: the meal it belongs to, the other meals, and when each insulin acts."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property

from mixlab.care.order.comparisons import meal_time
from mixlab.facts.reading import the_facts
from mixlab.facts.records import Fact
from mixlab.quantities import MINUTES_A_DAY, ClockTime, read_clock
from mixlab.ward.meal import Meal
from mixlab.ward.order.order import Order
from mixlab.ward.site.record import Site
from mixlab.words import Sentence, sentence

from .parts import PlannedMeal, Window, meal_name

_ANY_MEAL = re.compile(r"\b(?:a|the|each|every) meal\b|\bmeals\b")


class CannotPlan(ValueError):
    """Times that make no day. The message says what is wrong and what to do."""


class MealBeforeDose(CannotPlan):
    """The meal that the dose belongs to lies before it."""


class MealsAtOnce(CannotPlan):
    """Two meals at the same time."""


class NoSuchRow(CannotPlan):
    """A handbook that has no row for either insulin."""


@dataclass(frozen=True, kw_only=True)
class Day:
    """A dose at its time, with the meals as they were listed.

    Raises
    ------
    MealsAtOnce
        For two meals at one time.
    MealBeforeDose
        For a dose after the meal it belongs to.
    CannotPlan
        For an order that wants the dose after a meal.
    """

    order: Order
    site: Site
    given: ClockTime
    meals: tuple[Meal, ...]

    def __post_init__(self) -> None:
        if self.order.when and re.search(r"\bafter\b", self.order.when):
            wrong = sentence(
                "The order says '{when}'. A day is planned here for a dose before its meal only: ask the {prescriber}, or the ward's policy, when to check on the patient."
            )
            raise CannotPlan(wrong.filled(when=self.order.when))
        by_time: dict[ClockTime, Meal] = {}
        for meal in self.meals:
            other = by_time.pop(meal.clock, None)
            by_time[meal.clock] = meal
            if other:
                raise MealsAtOnce(
                    sentence(
                        "{one} and {other} are both at {served}. Give each its own time.",
                        one=meal_name(other),
                        other=meal_name(meal),
                        served=meal.at,
                    ).with_capitals()
                )
        own = self.own
        if own and own.at < self.given:
            raise MealBeforeDose(
                sentence(
                    "{meal} at {served} lies before the dose at {injected}. A wrong time? Correct it. If the patient has eaten: do not give the dose yet, and do not leave it out either. Measure, and ask the nurse in charge or the {prescriber} now; what is given, and when, is their decision. Already given: measure, and tell the nurse in charge and the {prescriber} now.",
                    meal=own.name,
                    served=own.at.face,
                    injected=self.given.face,
                ).with_capitals()
            )

    @cached_property
    def own(self) -> PlannedMeal | None:
        """The meal the dose belongs to: the one the order names, or the first after its clock time, or the nearest, if near."""
        when = self.order.when
        named = [meal for meal in self.meals if when and (meal.is_called(when) or self._known(meal).is_called(when))]
        if when and not named and not _ANY_MEAL.search(when):
            return None
        by_clock = self.order.clock if not named else None
        meant = self._nearest(read_clock(by_clock)) if by_clock else self.given
        placed = [
            PlannedMeal(meal=meal, at=meant.next(meal.clock) if by_clock else self._nearest(meal.clock))
            for meal in named or self.meals
        ]
        if not placed:
            return None
        nearest = min(placed, key=lambda one: (abs(meant.until(one.at)), one.at < meant))
        near = abs(meant.until(nearest.at)) <= the_facts().day["meal_for_minutes"].value
        return nearest if named or near else None

    @property
    def far(self) -> bool:
        """Whether the dose's own meal is so long after it, and the dose so early, that it cannot have been meant for now."""
        own, due, facts = self.own, self.due, the_facts().day
        if own is None or self.given.until(own.at) <= facts["meal_for_minutes"].value:
            return False
        return due is None or self.given.until(due) > facts["late_minutes"].value

    @property
    def unfed(self) -> bool:
        """Whether the clear insulin may act with no meal in time."""
        own, eat = self.own, self.eat
        return own is None or eat is None or not own.meal.eaten or own.at > eat.end

    def usual(self, meal: Meal) -> ClockTime:
        """Return when the ward serves a meal of this name: its own time if the ward has none."""
        return self._known(meal).clock

    def _known(self, meal: Meal) -> Meal:
        """Return the ward's meal of this name, or the meal itself."""
        return next((one for one in self.site.meals if one.is_called(meal.name)), meal)

    def _nearest(self, clock: ClockTime) -> ClockTime:
        """Return the time at which the clock shows this nearest to the dose, before or after it."""
        after = self.given.next(clock)
        return after if self.given.until(after) <= MINUTES_A_DAY // 2 else after.later(-MINUTES_A_DAY)

    @cached_property
    def placed(self) -> tuple[PlannedMeal, ...]:
        """Every meal from the dose on, by time."""
        own = self.own
        others = [
            PlannedMeal(meal=meal, at=self.given.next(meal.clock))
            for meal in self.meals
            if own is None or meal is not own.meal
        ]
        return tuple(sorted([*([own] if own else []), *others], key=lambda one: one.at))

    @property
    def lead(self) -> tuple[float, float, Fact]:
        """From how many to how many minutes after the injection the meal may come, and the rule."""
        if self.order.clear.insulin.row.group == "rapid-acting":
            latest = the_facts().checks["rapid_lead_minutes"]
            return 0, latest.value, latest
        lead, slack = self.site.meal_lead, self.site.meal_slack.value
        return max(lead.value - slack, 0), lead.value + slack, lead

    @property
    def lead_text(self) -> Sentence:
        """The rule in words: ``"30 minutes before a meal (this plan lets 15 to 45 pass)"``."""
        low, high, rule = self.lead
        between = sentence("{low} to {high}", low=low, high=high)
        if rule is not self.site.meal_lead:
            return sentence("{between} minutes before a meal", between=between)
        taught = sentence("{minutes} minutes before a meal (this plan lets {between} pass)")
        return taught.filled(minutes=rule.value, between=between)

    @property
    def eat(self) -> Window | None:
        """When the dose's own meal may come."""
        low, high, _ = self.lead
        return Window(start=self.given.later(low), end=self.given.later(high)) if self.own and not self.far else None

    @property
    def ordered_lead(self) -> float | None:
        """How many minutes before its meal the order wants the dose; None if it does not say."""
        return meal_time(self.order.when).minutes if self.order.when else None

    @property
    def due(self) -> ClockTime | None:
        """When the order wants the dose: by its clock time, or so many minutes before the ward's time of its meal."""
        if self.order.clock:
            return self._nearest(read_clock(self.order.clock))
        if self.ordered_lead is None or self.own is None:
            return None
        return self._nearest(self.usual(self.own.meal)).later(-self.ordered_lead)

    def every(self, at: Iterable[str]) -> Iterator[ClockTime]:
        """Yield each time of day as it comes in the 24 hours after the dose, by time."""
        yield from sorted(self.given.next(read_clock(each)) for each in at)

    @property
    def bedtime(self) -> ClockTime:
        """When the patient next goes to bed."""
        (at,) = self.every(self.site.bedtime.at)
        return at

    def sleeps_in(self, window: Window) -> bool:
        """Say whether the patient sleeps at some time of a window."""
        return self.sleep_in(window) is not None

    def sleep_in(self, window: Window) -> Window | None:
        """Return the part of a window in which the patient sleeps."""
        bed, waking = (read_clock(times.at[0]) for times in (self.site.bedtime, self.site.waking))
        sleeping = self.asleep(window.start)
        start = window.start if sleeping else window.start.next(bed)
        return Window(start=start, end=min(window.end, start.next(waking))) if sleeping or start < window.end else None

    def asleep(self, time: ClockTime) -> bool:
        """Say whether the patient sleeps then."""
        bed, waking = (read_clock(times.at[0]) for times in (self.site.bedtime, self.site.waking))
        return bed.until(bed.next(time)) < bed.until(bed.next(waking))
