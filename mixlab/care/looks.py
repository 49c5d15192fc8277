"""When to look in after a mixed dose, and for what."""

from __future__ import annotations

from collections.abc import Iterator

from .day import Day
from .moments import Acting, Look, Window, say


def looks(day: Day, clear: Acting, cloudy: Acting) -> Iterator[Look]:
    """Yield every look of the 24 hours after the dose; times without a figure in the handbook give none."""
    names = {"clear": clear.dose.insulin, "cloudy": cloudy.dose.insulin}
    if day.eat and day.own:
        yield _look(
            "meal",
            Window(start=min(day.own.at, day.eat.end), end=day.eat.end),
            "look-meal",
            measure=False,
            meal=day.own.meal.name,
            **names,
        )
    for one in (clear, cloudy):
        if one.strongest:
            look = one.dose.insulin.look
            night = day.sleeps_in(one.strongest)
            rule = "look-night" if night else f"look-{look}"
            measure = night or look == "cloudy"
            yield _look(look, one.strongest, rule, measure=measure, insulin=one.dose.insulin)
    for planned in day.placed:
        if planned is not day.own:
            at = max(day.given, planned.at.later(-day.site.meal_lead.value))
            yield _look(
                "before meal", Window(start=at, end=at), "look-before-meal", measure=True, meal=planned.meal.name
            )
    yield _bedtime(day, cloudy)
    if cloudy.ends:
        yield _look("end", cloudy.ends, "look-end", measure=True, end=cloudy.ends.end, **names)


def _bedtime(day: Day, cloudy: Acting) -> Look:
    """Return the look at bedtime: the snack question, as far as the cloudy insulin still acts."""
    at = day.bedtime
    window, insulin = Window(start=at, end=at), cloudy.dose.insulin
    if cloudy.strongest and cloudy.strongest.end > at and day.sleeps_in(cloudy.strongest):
        peak = cloudy.strongest
        return _look("bedtime", window, "look-bedtime-night", measure=True, cloudy=insulin, when=peak)
    if cloudy.may_act_at(at) and cloudy.ends:
        return _look("bedtime", window, "look-bedtime", measure=True, cloudy=insulin, end=cloudy.ends.end)
    return _look("bedtime", window, "look-bedtime-done", measure=True, cloudy=insulin)


def _look(key: str, window: Window, rule: str, *, measure: bool, **words: object) -> Look:
    sentence, row = say(rule, **words)
    return Look(key=key, window=window, measure=measure, say=sentence, rule=row)
