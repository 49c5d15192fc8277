"""When to check on the patient after a mixed dose, and for what."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from mixlab.quantities import ClockTime
from mixlab.words import sentence

from .dose_day import Day
from .parts import Acting, PlannedMeal, Visit, Window, day_rule


def find_visits(day: Day, clear: Acting, cloudy: Acting, *, slipped: bool) -> Iterator[Visit]:
    """Yield every visit of the 24 hours after the dose; times without a figure in the handbook give none.

    After a slip every visit is a reading: nobody knows the hours of what was given.
    """
    for visit in _visits(day, clear, cloudy):
        yield replace(visit, measure=visit.measure or slipped)


def _visits(day: Day, clear: Acting, cloudy: Acting) -> Iterator[Visit]:
    first, second = clear.dose.insulin, cloudy.dose.insulin
    if day.eat and day.own:
        window = Window(start=min(day.own.at, day.eat.end), end=day.eat.end)
        yield _visit("meal", window, "look-meal", measure=day.unfed, meal=day.own.name, clear=first, cloudy=second)
        if day.own.at > day.eat.end and day.own.meal.eaten:
            yield _visit("meal", day.own.at, "look-late-tray", meal=day.own.name)
    if clear.strongest:
        yield _clear(day, clear, clear.strongest)
    if cloudy.strongest:
        rule = "look-night" if day.sleeps_in(cloudy.strongest) else "look-cloudy"
        yield _visit("cloudy", cloudy.strongest, rule, insulin=cloudy.dose.insulin.name)
    for planned in day.placed:
        if planned is not day.own or day.far:
            yield from _before_meal(day, planned)
    yield _bedtime(day, cloudy)
    if cloudy.ends:
        yield _visit("end", cloudy.ends, "look-end", end=cloudy.ends.end, clear=first, cloudy=second)


def _clear(day: Day, clear: Acting, peak: Window) -> Visit:
    """Return the visit at the clear insulin's strongest hours; with no meal in time, or in sleep, a look is not enough."""
    night = day.sleeps_in(peak)
    rule = "look-night" if night else "look-clear-no-food" if day.unfed else "look-clear"
    return _visit("clear", peak, rule, measure=night or day.unfed, insulin=clear.dose.insulin.name)


def _before_meal(day: Day, planned: PlannedMeal) -> Iterator[Visit]:
    """Yield the reading before a later meal, and one at its usual time as well if it comes late."""
    name, lead = planned.name, day.site.meal_lead.value
    usual = day.given.next(day.usual(planned.meal))
    rule = "look-before-meal" if planned.meal.eaten else "look-no-meal"
    if usual < planned.at:
        at = max(day.given, usual.later(-lead))
        yield _visit("before meal", at, "look-usual-time", meal=name, served=planned.at)
    at = max(day.given, planned.at.later(-lead))
    yield _visit("before meal", at, rule, meal=name, cloudy=day.order.cloudy.insulin)


def _bedtime(day: Day, cloudy: Acting) -> Visit:
    """Return the visit at bedtime: the snack question, as far as the cloudy insulin still acts."""
    at, insulin = day.bedtime, cloudy.dose.insulin
    if cloudy.strongest and cloudy.strongest.end > at and day.sleeps_in(cloudy.strongest):
        return _visit("bedtime", at, "look-bedtime-night", cloudy=insulin, when=cloudy.strongest)
    if cloudy.may_act_in(Window(start=at, end=at)):
        until = sentence("until {end}", end=cloudy.ends.end) if cloudy.ends else sentence("all night")
        return _visit("bedtime", at, "look-bedtime", cloudy=insulin, until=until)
    return _visit("bedtime", at, "look-bedtime-done", cloudy=insulin)


def _visit(key: str, at: Window | ClockTime, rule: str, /, *, measure: bool = True, **words: object) -> Visit:
    """Return a visit, with a reading if nothing else is said, in a window or at one time."""
    window = at if isinstance(at, Window) else Window(start=at, end=at)
    what, row = day_rule(rule, **words)
    return Visit(key=key, window=window, measure=measure, say=what, rule=row)
