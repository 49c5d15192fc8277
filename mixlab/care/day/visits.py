"""When to check on the patient after a mixed dose, and for what."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise

from mixlab.facts.reading import the_facts
from mixlab.quantities import ClockTime
from mixlab.words import joined, sentence

from .dose_day import Day
from .parts import Acting, PlannedMeal, Visit, Window, day_rule


def cloudy_looks(day: Day, cloudy: Acting, rounds: Sequence[ClockTime]) -> tuple[ClockTime, ...]:
    """Return when to measure while the cloudy insulin is taught to be strongest, by time.

    Rounds that lie well apart; where nobody is due for longer than the patient may go unseen, or in all of the sleep, a look
    stands all the same.
    """
    peak, facts = cloudy.strongest, the_facts().day
    if peak is None:
        return ()
    looks: list[ClockTime] = []
    for at in rounds:
        apart = not looks or looks[-1].until(at) >= facts["peak_apart_minutes"].value
        if peak.holds(at) and apart and not (day.asleep(at) and at.face == day.bedtime.face):
            looks.append(at)
    most = facts["peak_unseen_minutes"].value
    for start, end in list(pairwise((peak.start, *looks, peak.end))):
        parts = math.ceil(start.until(end) / most)
        looks += [start.later(start.until(end) * part / parts) for part in range(1, parts)]
    night = day.sleep_in(peak)
    long = night and night.start.until(night.end) > facts["peak_room_minutes"].value
    if night and long and not any(night.holds(at) for at in looks):
        looks.append(_middle(night))
    return tuple(sorted(looks)) or (_middle(peak),)


def _middle(window: Window) -> ClockTime:
    return window.start.later(window.start.until(window.end) / 2)


def find_visits(
    day: Day, clear: Acting, cloudy: Acting, looks: Sequence[ClockTime], *, slipped: bool
) -> Iterator[Visit]:
    """Yield every visit of the 24 hours after the dose; times without a figure in the handbooks give none.

    Parameters
    ----------
    day : Day
        The dose and its meals.
    clear, cloudy : Acting
        When each insulin acts.
    looks : sequence of ClockTime
        When to measure while the cloudy one is taught to be strongest, from `cloudy_looks`.
    slipped : bool
        Whether something else was given than ordered: every visit is then a reading, for nobody knows its hours.
    """
    for visit in _visits(day, clear, cloudy, looks):
        yield replace(visit, measure=visit.measure or slipped)


def _visits(day: Day, clear: Acting, cloudy: Acting, looks: Sequence[ClockTime]) -> Iterator[Visit]:
    first, second = clear.dose.insulin, cloudy.dose.insulin
    if day.eat and day.own:
        window = Window(start=min(day.own.at, day.eat.end), end=day.eat.end)
        yield _visit("meal", window, "look-meal", measure=day.unfed, meal=day.own.name, clear=first, cloudy=second)
        if day.own.at > day.eat.end and day.own.meal.eaten:
            yield _visit("meal", day.own.at, "look-late-tray", meal=day.own.name)
    if clear.strongest:
        yield _clear(day, clear, clear.strongest)
    measured = [*(visit for planned in day.placed for visit in _before_meal(day, planned)), _bedtime(day, cloudy)]
    for visit in measured:
        yield _strongest_too(visit, cloudy)
    room = the_facts().day["peak_room_minutes"].value
    for at in looks:
        if not any(
            abs(at.until(visit.window.start)) <= room for visit in measured
        ):  # who measures then looks for this too
            rule = "look-night" if day.asleep(at) else "look-cloudy"
            yield _visit("cloudy", at, rule, insulin=cloudy.dose.insulin.name)
    if cloudy.ends:
        yield _visit("end", cloudy.ends, "look-end", end=cloudy.ends.end, clear=first, cloudy=second)


def _clear(day: Day, clear: Acting, peak: Window) -> Visit:
    """Return the visit at the clear insulin's strongest hours; with no meal in time, or in sleep, a look is not enough."""
    night = day.sleeps_in(peak)
    rule = "look-night" if night else "look-clear-no-food" if day.unfed else "look-clear"
    return _visit("clear", peak, rule, measure=night or day.unfed, insulin=clear.dose.insulin.name)


def _strongest_too(visit: Visit, cloudy: Acting) -> Visit:
    """Return a reading that says first, while the cloudy insulin is taught to be strongest, that it is."""
    peak = cloudy.strongest
    if peak is None or not peak.holds(visit.window.start) or visit.rule is the_facts().day_rules["look-bedtime-night"]:
        return visit
    strongest, _ = day_rule("strongest-too", insulin=cloudy.dose.insulin.name, when=peak)
    return replace(visit, say=joined((strongest, visit.say), " "))


def _before_meal(day: Day, planned: PlannedMeal) -> Iterator[Visit]:
    """Yield the reading before a later meal, and one at its usual time as well if it comes late."""
    if planned is day.own and not day.far:
        return
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
    longest = max(row.duration.high for row in insulin.row.times if row.duration)
    return _visit("bedtime", at, "look-bedtime-done", cloudy=insulin, longest=longest)


def _visit(key: str, at: Window | ClockTime, rule: str, /, *, measure: bool = True, **words: object) -> Visit:
    """Return a visit, with a reading if nothing else is said, in a window or at one time."""
    window = at if isinstance(at, Window) else Window(start=at, end=at)
    what, row = day_rule(rule, **words)
    return Visit(key=key, window=window, measure=measure, say=what, rule=row)
