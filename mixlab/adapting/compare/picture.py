"""What the picture of two sites shows, taken from their comparison."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby
from typing import TYPE_CHECKING, Literal

from mixlab.care.day.planning import DayPlan
from mixlab.figures.day.day_words import sleep_windows
from mixlab.figures.sites.two_wards_words import Count, DayMark, Flip, SiteChanges, Ward, Zone
from mixlab.quantities import Glucose
from mixlab.ward.site.record import Site
from mixlab.words import say

from .changes import Change
from .keys import key_words, two_values
from .listings.day import DEMONSTRATION_DAYS, planned_days
from .listings.decisions import also_other, answer_off_scale, answers_along
from .telling import words_of

if TYPE_CHECKING:
    from .comparison import SiteComparison

_ENDS: tuple[Literal["LO", "HI"], ...] = ("LO", "HI")


def site_changes(comparison: SiteComparison) -> SiteChanges:
    """Return what the picture shows, the line of each ward in its own unit."""
    before, after = comparison.before, comparison.after
    return SiteChanges(
        before=_ward(before),
        after=_ward(after),
        flips=_flips(before, after),
        counts=tuple(
            Count(title=str(changes.kind.title), differ=changes.count, of=changes.of) for changes in comparison.kinds
        ),
        keys=tuple(key_words(change) for change in comparison.keys),
        also=tuple(one.key for one in also_other(before, after)),
        times=_times(comparison),
    )


def _times(comparison: SiteComparison) -> tuple[str, ...]:
    """Return the times of the drawn day that differ; of it alone, for that is what the picture shows."""
    drawn = (
        one for one in comparison.of("times of the day").all_changes if one.key.where == DEMONSTRATION_DAYS[0].name
    )
    return tuple(_time(change, comparison.before.name, comparison.after.name) for change in drawn)


def _time(change: Change, before: str, after: str) -> str:
    if change.before is None or change.after is None:
        ward, at = (after, change.after) if change.before is None else (before, change.before)
        return say("only on {ward}: {what}, {at}", ward=ward, what=change.key.at, at=words_of(at))
    return f"{change.key.at}: {two_values(_listed(change.before), _listed(change.after))}"


def _listed(times: object) -> str | list[str]:
    """Return times as a list where there are several."""
    return [words_of(one) for one in times] if isinstance(times, tuple) else words_of(times)


def _lines(site: Site) -> Iterator[Glucose]:
    """Yield the ward's own lines in its own unit, as its meter shows them."""
    for line in (site.level_2_line, site.hold_line, site.near_low_line, site.report_line, site.urgent_high_line):
        if line is not None:
            glucose = Glucose(line.value, line.unit).to(site.glucose_unit)
            yield Glucose(float(glucose.shown()), site.glucose_unit)


def _ward(site: Site) -> Ward:
    answers = answers_along(site, site.glucose_unit)
    _, plan = next(planned_days(site))
    return Ward(
        name=site.name,
        measure=site.glucose_unit,
        lines=tuple(_lines(site)),
        zones=tuple(
            Zone(start=run[0][0], end=run[-1][0], choice=choice)
            for choice, run in ((choice, list(run)) for choice, run in groupby(answers, key=lambda one: one[1]))
        ),
        when_lo=answer_off_scale(site, "LO"),
        when_hi=answer_off_scale(site, "HI"),
        day=tuple(_marks(plan)) if isinstance(plan, DayPlan) else (),
    )


def _marks(plan: DayPlan) -> list[DayMark]:
    marks = [DayMark(kind="draw up", start=plan.draw_up_from, end=plan.inject_by)]
    marks += [DayMark(kind="dose", start=plan.given_at, end=plan.given_at)]
    if plan.eat:
        marks.append(DayMark(kind="eat", start=plan.eat.start, end=plan.eat.end))
    marks += [DayMark(kind="meal", start=meal.at, end=meal.at) for meal in plan.meals]
    marks += [DayMark(kind="visit", start=visit.window.start, end=visit.window.end) for visit in plan.visits]
    marks += [DayMark(kind="round", start=at, end=at) for at in plan.rounds]
    marks += [DayMark(kind="sleep", start=night.start, end=night.end) for night in sleep_windows(plan)]
    return marks


def _flips(before: Site, after: Site) -> tuple[Flip, ...]:
    """Return the readings that get another answer, on the first ward's meter; the second ward's unit stands beside."""
    measure = before.glucose_unit
    beside = after.glucose_unit if after.glucose_unit != measure else None
    pairs = [
        (reading, old, new)
        for (reading, old), (_, new) in zip(answers_along(before, measure), answers_along(after, measure), strict=True)
    ]
    runs = (list(run) for _, run in groupby(pairs, key=lambda pair: pair[1:]))
    flips = [
        Flip(start=run[0][0], end=run[-1][0], before=run[0][1], after=run[0][2], beside=beside)
        for run in runs
        if run[0][1] != run[0][2]
    ]
    for end in _ENDS:
        old, new = answer_off_scale(before, end), answer_off_scale(after, end)
        if old != new:
            flips.append(Flip(start=end, end=end, before=old, after=new))
    return tuple(flips)
