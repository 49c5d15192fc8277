"""When to check on the patient after a mixed dose, and for what."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

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
    names = {"clear": clear.dose.insulin, "cloudy": cloudy.dose.insulin}
    if day.eat and day.own:
        window = Window(start=min(day.own.at, day.eat.end), end=day.eat.end)
        yield _visit("meal", window, "look-meal", measure=day.unfed, meal=day.own.name, **names)
        if day.own.at > day.eat.end and day.own.meal.eaten:
            late = Window(start=day.own.at, end=day.own.at)
            yield _visit("meal", late, "look-late-tray", measure=True, meal=day.own.name)
    if clear.strongest:
        yield _clear(day, clear, clear.strongest)
    if cloudy.strongest:
        rule = "look-night" if day.sleeps_in(cloudy.strongest) else "look-cloudy"
        yield _visit("cloudy", cloudy.strongest, rule, measure=True, insulin=cloudy.dose.insulin.name)
    for planned in day.placed:
        if planned is not day.own or day.far:
            yield from _before_meal(day, planned)
    yield _bedtime(day, cloudy)
    if cloudy.ends:
        yield _visit("end", cloudy.ends, "look-end", measure=True, end=cloudy.ends.end, **names)


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
        window = Window(start=at, end=at)
        yield _visit("before meal", window, "look-usual-time", measure=True, meal=name, served=planned.at)
    at = max(day.given, planned.at.later(-lead))
    cloudy = day.order.cloudy.insulin
    yield _visit("before meal", Window(start=at, end=at), rule, measure=True, meal=name, cloudy=cloudy)


def _bedtime(day: Day, cloudy: Acting) -> Visit:
    """Return the visit at bedtime: the snack question, as far as the cloudy insulin still acts."""
    at = day.bedtime
    window, insulin = Window(start=at, end=at), cloudy.dose.insulin
    if cloudy.strongest and cloudy.strongest.end > at and day.sleeps_in(cloudy.strongest):
        return _visit("bedtime", window, "look-bedtime-night", measure=True, cloudy=insulin, when=cloudy.strongest)
    if cloudy.may_act_at(at):
        until = sentence("until {end}", end=cloudy.ends.end) if cloudy.ends else sentence("all night")
        return _visit("bedtime", window, "look-bedtime", measure=True, cloudy=insulin, until=until)
    return _visit("bedtime", window, "look-bedtime-done", measure=True, cloudy=insulin)


def _visit(key: str, window: Window, rule: str, *, measure: bool, **words: object) -> Visit:
    what, row = day_rule(rule, **words)
    return Visit(key=key, window=window, measure=measure, say=what, rule=row)
