"""The day at the bedside: what a mixed dose given at a clock time means for meals, and when to check on the patient."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from mixlab.care.action.absorption import NoFigures
from mixlab.care.action.curves import ActionCurves, action_curves
from mixlab.care.action.handbooks import has_row, times_at
from mixlab.care.decision.chart import OrderAnswer, answer_order
from mixlab.care.dosing import longest_wait
from mixlab.facts.records import RuleRow
from mixlab.quantities import MINUTES_A_DAY, ClockTime, read_clock
from mixlab.ward.meal import Meal
from mixlab.ward.order.order import Order
from mixlab.ward.site.in_force import the_site
from mixlab.ward.site.record import Site
from mixlab.words import Sentence, sentence

from .clashes import find_clashes
from .dose_day import CannotPlan, Day, NoSuchRow
from .parts import Acting, Clash, PlannedMeal, Visit, Window, acting, day_rule
from .visits import cloudy_looks, find_visits


@dataclass(frozen=True, kw_only=True)
class DayPlan:
    """A mixed dose on the clock.

    Attributes
    ----------
    answer : OrderAnswer
        What the order asks for by itself; where it is held, the day is planned as if it had been cleared up.
    mixed_at : ClockTime
        The end of mixing.
    draw_up_from, inject_by : ClockTime
        Not mixed before the first; once mixed, injected by the second.
    due_at : ClockTime or None
        When the order wanted it; None if it does not say.
    meal, eat : PlannedMeal, Window or None
        The meal the dose belongs to, and when it may come.
    both_taught, both_model : Window or None
        When both can act, by the handbook's widest reading and by the model.
    meals, visits, rounds, clashes : tuple
        By time: every meal of the 24 hours after the dose, when to check on the patient, when somebody is due anyway, and what
        does not fit together.
    """

    order: Order
    site: Site
    answer: OrderAnswer
    given_at: ClockTime
    mixed_at: ClockTime
    draw_up_from: ClockTime
    inject_by: ClockTime
    due_at: ClockTime | None
    meal: PlannedMeal | None
    eat: Window | None
    meals: tuple[PlannedMeal, ...]
    clear: Acting
    cloudy: Acting
    both_taught: Window | None
    both_model: Window | None
    visits: tuple[Visit, ...]
    rounds: tuple[ClockTime, ...]
    clashes: tuple[Clash, ...]

    @property
    def standing(self) -> tuple[tuple[Sentence, RuleRow], ...]:
        """What holds all day, each with its rule: before drawing up, and for a low whenever it is found."""
        return day_rule("before-drawing-up", at=self.draw_up_from), day_rule("when-low")


def day_plan(
    order: Order,
    given_at: str,
    meals: Sequence[Meal] | None = None,
    site: Site | None = None,
    *,
    mixed_at: str | None = None,
    row: str | None = None,
    curves: ActionCurves | None = None,
) -> DayPlan:
    """Return the day after a mixed dose.

    Parameters
    ----------
    order : Order
        One clear and one cloudy insulin.
    given_at : str
        When it is injected, on the 24-hour clock: ``"07:30"``.
    meals : sequence of Meal, optional
        The day's meals in any order; the ward's if not given. A meal of a dose is the one its order names, or else the
        nearest; every other stands where the clock first shows its time after that.
    site : Site, optional
        The ward in force if not given.
    mixed_at : str, optional
        When mixing was done; `given_at` if not given.
    row : str, optional
        One handbook, by its source key; what the site teaches if not given, or where that handbook has nothing for an
        insulin.
    curves : ActionCurves, optional
        The model's curves of this dose, with a weight, a place, a slip or a spell of its own.

    Raises
    ------
    NotAClockTime
        For a time that is none.
    CannotPlan
        For mixing after the injection, an order for after a meal, or curves of other doses; MealBeforeDose and MealsAtOnce
        for meals that cannot be.
    NoSuchRow
        For a handbook that has a row for neither insulin.
    NotOneClearOneCloudy, NotAnAmount, NoModel
        For an order that is no mixed dose, or a dose of 0 or more than any syringe holds.

    Examples
    --------
    >>> order = read_order("regular insulin 8 units and NPH insulin 20 units subcut 30 minutes before breakfast")
    >>> for visit in day_plan(order, "07:30").visits[:2]:
    ...     print(visit.window, visit.key)
    08:00 to 08:15 meal
    09:30 to 11:30 clear
    """
    site = the_site(site)
    given = read_clock(given_at)
    mixed = given if mixed_at is None else _before(given, read_clock(mixed_at))
    if row is not None and not any(has_row(dose.insulin, row) for dose in order.doses):
        unknown = sentence("No handbook {row!r} has a row for these insulins. Choose one of {handbooks}.")
        raise NoSuchRow(unknown.filled(row=row, handbooks=", ".join(handbook_keys(order))))
    if curves and curves.order.doses != order.doses:
        others = sentence("These are the curves of {other}, not of {order}. Compute them for this order.")
        raise CannotPlan(others.filled(other=curves.order, order=order))
    curves = curves or _curves(order)
    day = Day(order=order, site=site, given=given, meals=tuple(site.meals if meals is None else meals))
    clear, cloudy = (
        acting(given, dose, times_at(dose.insulin, row, site), curves) for dose in (order.clear, order.cloudy)
    )
    rounds = tuple(day.every(site.rounds.at))
    looks = cloudy_looks(day, cloudy, rounds)
    visits = tuple(find_visits(day, clear, cloudy, looks, slipped=bool(curves and curves.injection.slipped)))
    alone = [visit.window.start for visit in visits if visit.key == "cloudy"]
    clashes = find_clashes(day, mixed, (clear, cloudy), alone, rounds, curves)
    most = longest_wait(order.clear.insulin, site).value
    return DayPlan(
        order=order,
        site=site,
        answer=answer_order(order, site),
        given_at=given,
        mixed_at=mixed,
        draw_up_from=given.later(-most),
        inject_by=mixed.later(most),
        due_at=day.due,
        meal=day.own,
        eat=day.eat,
        meals=day.placed,
        clear=clear,
        cloudy=cloudy,
        both_taught=_overlap(clear.taught, cloudy.taught),
        both_model=_overlap((clear.model_start, clear.model_end), (cloudy.model_start, cloudy.model_end)),
        visits=tuple(sorted(visits, key=lambda visit: visit.window.start)),
        rounds=rounds,
        clashes=tuple(sorted(clashes, key=lambda clash: clash.at)),
    )


def handbook_keys(order: Order) -> tuple[str, ...]:
    """Return the source keys of the handbooks that have a row for both insulins."""
    return tuple(row.source for row in order.clear.insulin.row.times if has_row(order.cloudy.insulin, row.source))


def _curves(order: Order) -> ActionCurves | None:
    try:
        return action_curves(order, (0.0, 24.0))
    except NoFigures:
        return None


def _before(given: ClockTime, mixed: ClockTime) -> ClockTime:
    """Return when mixing was done: the last time before the injection that the clock showed it."""
    waited = (given.minutes - mixed.minutes) % MINUTES_A_DAY
    if waited > MINUTES_A_DAY // 2:
        wrong = sentence("Mixed at {mixed}, which is after the injection at {given}. Correct one of the two times.")
        raise CannotPlan(wrong.filled(mixed=mixed, given=given))
    return given.later(-waited)


def _overlap(*spans: tuple[ClockTime | None, ClockTime | None]) -> Window | None:
    starts, ends = [start for start, _ in spans if start], [end for _, end in spans if end]
    if len(starts) < len(spans) or len(ends) < len(spans) or max(starts) >= min(ends):
        return None
    return Window(start=max(starts), end=min(ends))
