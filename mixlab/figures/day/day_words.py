"""The day after a mixed dose: the record behind the picture, its lists, and the short words on it."""

from __future__ import annotations

from dataclasses import dataclass
from string import ascii_uppercase

from mixlab.care.action.curves import ActionCurves
from mixlab.care.day.dose_day import Day
from mixlab.care.day.need import Cover
from mixlab.care.day.parts import Clash, Window
from mixlab.care.day.planning import DayPlan
from mixlab.care.dosing import longest_wait
from mixlab.facts.reading import the_facts
from mixlab.quantities import MINUTES_A_DAY, minutes_text, number_text, read_clock, units_text
from mixlab.words import say, sentence

BEFORE_MINUTES, AFTER_MINUTES = 60, MINUTES_A_DAY
"""What the picture shows: from so many minutes before the injection to so many after it."""

NEED_ASSUMPTION = sentence("teaching assumption: not a glucose, not a dose rule; compare only with another day")

NOTHING_FOUND = sentence("by the taught times;\ncheck on the patient all the same")

NO_CURVES = sentence("No model curve for this pair of insulins: taught times only, and no insulin against need.")

NO_COVER = sentence("Insulin against need is not shown for this day.")

MEALS_SET = sentence("Times and carbohydrate of the meals are those set for this plan; no study stands behind them.")

TAUGHT = (sentence("starts at {when}"), sentence("is strongest at {when}"), sentence("ends at {when}"))

QUESTIONS = ("given early", "given late", "order's time", "no meal", "meal not eaten", "meal too late")
"""Clashes that forbid giving the dose until somebody has answered."""

NOT_ORDERED = "not as ordered"
"""The key of the clash that says what was given instead of the order."""

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
    cited = [str(plan.site.cite(clash.rule))]
    for one in clash.limits:
        value, unit, source = number_text(one.value), say(one.unit), plan.site.cite(one)
        cited.append(say("limit {value} {measure}: {source}", value=value, measure=unit, source=source))
    return "; ".join(cited)


def basis_sentences(seen: DaySeen) -> list[str]:
    """Return whose the numbers of the picture are, a sentence each."""
    plan, facts, site = seen.plan, the_facts(), seen.plan.site
    said = []
    if plan.meal and plan.eat:
        said.append(say("When {meal} may come: {lead}.", meal=plan.meal.name, lead=lead(plan)))
    waiting = longest_wait(plan.order.clear.insulin, site)
    longest = minutes_text(waiting.value)
    said.append(
        say(
            "Inject at once after mixing; the limit is {waiting}: {source}.", waiting=longest, source=site.cite(waiting)
        )
    )
    for one in (plan.clear, plan.cloudy):
        name, source = one.dose.insulin.name, site.cite(one.row)
        said.append(say("Taught times of {insulin}: {source}.", insulin=name, source=source))
    if seen.curves:
        said.append(say("Model: {source}.", source=facts.cite(facts.absorption[plan.cloudy.dose.insulin.key])))
    cited = {name: site.cite(getattr(site, name)) for name in ("rounds", "bedtime", "waking")}
    said.append(say("Rounds: {rounds}; bedtime: {bedtime}; waking: {waking}.", **cited))
    said += [say(MEALS_SET)] if plan.meals else []
    said += [assumed(seen.cover)] if seen.cover else []
    return said


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
    cite = the_facts().cite
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


def slip_letter(plan: DayPlan) -> str:
    """Return the letter of the clash that says what was given instead of the order; nothing for a dose as ordered."""
    return _letter(plan, NOT_ORDERED)


def _letter(plan: DayPlan, *keys: str) -> str:
    lettered = zip(ascii_uppercase, plan.clashes, strict=False)
    return next((letter for letter, clash in lettered if clash.key in keys), "")


def title_words(plan: DayPlan) -> str:
    """Return whose day it is; of a dose that was not given so, that it was only ordered."""
    doses = (f"{dose.insulin} {units_text(dose.units)}" for dose in (plan.order.clear, plan.order.cloudy))
    both = say(" and ").join(doses)
    if letter := slip_letter(plan):
        return say("Ordered: {doses}. Given: see {letter}", doses=both, letter=letter)
    return say("The day after {doses}", doses=both)


def eat_words(plan: DayPlan) -> str:
    """Return when the dose's own meal may come, or why no time is given for it."""
    if plan.eat:
        return say("eat between {start} and {end}", start=plan.eat.start.face, end=plan.eat.end.face)
    if plan.meal:
        return say("this dose belongs to {meal}, only at {served}", meal=plan.meal.name, served=plan.meal.at.face)
    return say("no meal belongs to this dose")


def question_letter(plan: DayPlan) -> str:
    """Return the letter of the first clash that forbids giving the dose until somebody has answered; nothing if none does."""
    return _letter(plan, *QUESTIONS)


def held_words(plan: DayPlan) -> str:
    """Return that the order is held, and what its day is for."""
    return say("{headline}. {lesson}", headline=plan.answer.headline.with_capitals(), lesson=plan.answer.for_the_lesson)


def limit_words(plan: DayPlan) -> str:
    """Return what the clock says of drawing up and injecting, after "injected at …"; of a held order, that nothing is drawn up."""
    if plan.answer.held:
        return held_words(plan)
    due = say("; ordered for {due}", due=plan.due_at.face) if plan.due_at else ""
    if letter := question_letter(plan):
        return say("not before the question in {letter} is answered{due}", letter=letter, due=due)
    first, last = plan.draw_up_from.face, plan.inject_by.face
    if plan.mixed_at == plan.given_at:
        return say(
            "draw up from {first} and inject at once, by {last}{due}",
            first=first,
            last=last,
            due=due,
        )
    return say(
        "draw up from {first}; mixed at {mixed}, so inject at once, by {last} at the latest{due}",
        first=first,
        mixed=plan.mixed_at.face,
        last=last,
        due=due,
    )
