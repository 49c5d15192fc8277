"""The day after a mixed dose: the record behind the picture, its lists, and everything it shows in words."""

from __future__ import annotations

from dataclasses import dataclass
from string import ascii_uppercase

from mixlab.care.action.curves import ActionCurves
from mixlab.care.day.dose_day import Day
from mixlab.care.day.need import Cover
from mixlab.care.day.parts import Clash, Window
from mixlab.care.day.planning import DayPlan
from mixlab.facts.shelf import shelf
from mixlab.quantities import MINUTES_A_DAY, minutes_text, number_text, read_clock
from mixlab.words import say, sentence

BEFORE_MINUTES, AFTER_MINUTES = 60, MINUTES_A_DAY
"""What the picture shows: from so many minutes before the injection to so many after it."""

NEED_ASSUMPTION = sentence("teaching assumption: not a glucose, not a dose rule; compare only with another day")

NOTHING_FOUND = sentence("by the taught times;\nlook in all the same")

NO_CURVES = sentence("No model curve for this pair of insulins: taught times only, and no insulin against need.")

NO_COVER = sentence("Insulin against need is not shown for this day.")

MEALS_SET = sentence("Times and carbohydrate of the meals are those set for this plan; no study stands behind them.")

TAUGHT = (sentence("starts at {when}"), sentence("is strongest at {when}"), sentence("ends at {when}"))

Row = tuple[str, str, str, str]
"""A line of a list: its number or letter, when, what, and who says so."""


@dataclass(frozen=True, kw_only=True, eq=False)
class DaySeen:
    """What is on the sheet.

    Attributes
    ----------
    curves : ActionCurves or None
        None where there is no model for an insulin.
    cover : Cover or None
        The curves against the need of the meals that are eaten; None to leave it out.
    """

    plan: DayPlan
    curves: ActionCurves | None
    cover: Cover | None


def visit_rows(plan: DayPlan) -> list[Row]:
    """Return every visit by time: its number, when, what to look for and do, and whose rule it is."""
    return [
        (f"{number}", f"{visit.window}", str(visit.say), str(plan.site.cite(visit.rule)))
        for number, visit in enumerate(plan.visits, 1)
    ]


def clash_rows(plan: DayPlan) -> list[Row]:
    """Return every clash by time: its letter, when, what is wrong and what to do, and whose rule it is."""
    return [
        (letter, f"{clash.at}", str(clash.say), _cited(plan, clash))
        for letter, clash in zip(ascii_uppercase, plan.clashes, strict=False)
    ]


def _cited(plan: DayPlan, clash: Clash) -> str:
    """Return whose rule a clash is, and every limit that was passed with its own source."""
    limits = [
        say(
            "limit {value} {measure}: {source}",
            value=number_text(one.value),
            measure=say(one.unit),
            source=plan.site.cite(one),
        )
        for one in clash.limits
    ]
    return "; ".join([str(plan.site.cite(clash.rule)), *limits])


def basis_sentences(seen: DaySeen) -> list[str]:
    """Return whose the numbers of the picture are, a sentence each."""
    plan, facts, site = seen.plan, shelf(), seen.plan.site
    names = {one: one.dose.insulin.name for one in (plan.clear, plan.cloudy)}
    return [
        *(
            [say("When {meal} may come: {lead}.", meal=plan.meal.name, lead=lead(plan))]
            if plan.meal and plan.eat
            else []
        ),
        say(
            "From mixing to injecting at most {waiting}: {source}.",
            waiting=minutes_text(site.waiting.value),
            source=site.cite(site.waiting),
        ),
        *(
            say("Taught times of {insulin}: {source}.", insulin=name, source=site.cite(one.row))
            for one, name in names.items()
        ),
        *(
            [say("Model: {source}.", source=facts.cite(facts.absorption[plan.cloudy.dose.insulin.key]))]
            if seen.curves
            else []
        ),
        say(
            "Rounds: {rounds}; bedtime: {bedtime}; waking: {waking}.",
            rounds=site.cite(site.rounds),
            bedtime=site.cite(site.bedtime),
            waking=site.cite(site.waking),
        ),
        *([say(MEALS_SET)] if plan.meals else []),
        *([assumed(seen.cover)] if seen.cover else []),
    ]


def sleep_windows(plan: DayPlan) -> list[Window]:
    """Return when the patient sleeps, as far as the picture reaches."""
    first, last = plan.given_at.later(-BEFORE_MINUTES), plan.given_at.later(AFTER_MINUTES)
    (bed,), (waking,) = plan.site.bedtime.at, plan.site.waking.at
    nights = []
    for day in (-1, 0, 1):
        start = read_clock(bed).later(day * MINUTES_A_DAY)
        end = start.next(read_clock(waking))
        if max(start, first) < min(end, last):
            nights.append(Window(start=max(start, first), end=min(end, last)))
    return nights


def sleep_words(plan: DayPlan) -> str:
    """Return from when to when the patient sleeps: ``"asleep 21:30 to 06:30"``."""
    return say("asleep {bedtime} to {waking}", bedtime=plan.site.bedtime.at[0], waking=plan.site.waking.at[0])


def lead(plan: DayPlan) -> str:
    """Return who says how long after the injection the meal may come."""
    site, day = plan.site, Day(order=plan.order, site=plan.site, given=plan.given_at, meals=())
    low, high, lead = day.lead
    if lead is not site.meal_lead:
        return say(
            "{low} to {high} minutes after the injection, {source}",
            low=number_text(low),
            high=number_text(high),
            source=site.cite(lead),
        )
    return say(
        "{lead} after the injection, {lead_source}, and {slack} sooner or later, {slack_source}",
        lead=minutes_text(lead.value),
        lead_source=site.cite(lead),
        slack=minutes_text(site.meal_slack.value),
        slack_source=site.cite(site.meal_slack),
    )


def assumed(cover: Cover) -> str:
    """Return what the strip assumes, each figure with its source."""
    need, share, grams, minutes = cover.basis
    cite = shelf().cite
    used = cover.basal_share
    own = "" if used == share.value else say(", set to {used} for this day", used=number_text(used))
    return say(
        "Assumed: a fasting need of {need} {units} per kg and hour ({need_source}), of which the part {share} counts ({share_source}){own}; one {unit} for {grams} g of carbohydrate ({grams_source}); the need of a meal is greatest {time} after it begins ({time_source}).",
        need=number_text(need.value),
        need_source=cite(need),
        share=number_text(share.value),
        share_source=cite(share),
        own=own,
        grams=number_text(grams.value),
        grams_source=cite(grams),
        time=minutes_text(minutes.value),
        time_source=cite(minutes),
    )
