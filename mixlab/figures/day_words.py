"""The day after a mixed dose: the record behind the picture, its lists, and everything it shows in words."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from string import ascii_uppercase

from ..care.action import ActionCurves
from ..care.cover import Cover
from ..care.day import Day
from ..care.moments import Acting, Clash, Window
from ..care.timing import DayPlan
from ..facts.shelf import shelf
from ..quantities import MINUTES_A_DAY, minutes_text, number_text, read_clock, units_text
from ..words import mark, say
from .day_names import eat_words, limit_words, slip_letter, title_words
from .differences import difference_words, sentences

BEFORE_MINUTES, AFTER_MINUTES = 60, MINUTES_A_DAY
"""What the picture shows: from so many minutes before the injection to so many after it."""

ASSUMPTION = "teaching assumption: not a glucose, not a dose rule; compare only with another day"
NOTHING_FOUND = "by the taught times;\nlook in all the same"
NO_CURVES = mark("No model curve for this pair of insulins: taught times only, and no insulin against need.")
NO_COVER = mark("Insulin against need is not shown for this day.")

MEALS_SET = "Times and carbohydrate of the meals are those set for this plan; no study stands behind them."

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


def look_rows(plan: DayPlan) -> list[Row]:
    """Return every look by time: its number, when, what to look for and do, and whose rule it is."""
    return [
        (f"{number}", f"{look.window}", look.say, plan.site.cite(look.rule))
        for number, look in enumerate(plan.looks, 1)
    ]


def clash_rows(plan: DayPlan) -> list[Row]:
    """Return every clash by time: its letter, when, what is wrong and what to do, and whose rule it is."""
    return [
        (letter, f"{clash.at}", clash.say, _cited(plan, clash))
        for letter, clash in zip(ascii_uppercase, plan.clashes, strict=False)
    ]


def _cited(plan: DayPlan, clash: Clash) -> str:
    """Return whose rule a clash is, and every limit that was passed with its own source."""
    limits = [
        say("limit {one} {measure}: {one_2}", one=number_text(one.value), measure=one.unit, one_2=plan.site.cite(one))
        for one in clash.limits
    ]
    return "; ".join([plan.site.cite(clash.rule), *limits])


def basis_sentences(seen: DaySeen) -> list[str]:
    """Return whose the numbers of the picture are, a sentence each."""
    plan, facts, site = seen.plan, shelf(), seen.plan.site
    names = {one: one.dose.insulin.name for one in (plan.clear, plan.cloudy)}
    return [
        *(
            [say("When {meal} may come: {lead}.", meal=plan.meal.meal.name, lead=_lead(plan))]
            if plan.meal and plan.eat
            else []
        ),
        say(
            "From mixing to injecting at most {waiting}: {waiting_2}.",
            waiting=minutes_text(site.waiting.value),
            waiting_2=site.cite(site.waiting),
        ),
        *(say("Taught times of {name}: {row}.", name=name, row=site.cite(one.row)) for one, name in names.items()),
        *(
            [say("Model: {absorption}.", absorption=facts.cite(facts.absorption[plan.cloudy.dose.insulin.key]))]
            if seen.curves
            else []
        ),
        f"Rounds: {site.cite(site.rounds)}; bedtime: {site.cite(site.bedtime)}; waking: {site.cite(site.waking)}.",
        *([MEALS_SET] if plan.meals else []),
        *([_assumed(seen.cover)] if seen.cover else []),
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


def describe_day(seen: DaySeen) -> str:
    """Return everything the picture shows in sentences, with who says so."""
    plan = seen.plan
    looks, clashes = look_rows(plan), clash_rows(plan)
    parts = [
        f"{title_words(plan)}.",
        *_injection(plan),
        *_meals(plan),
        *_insulin(seen, plan.clear),
        *_insulin(seen, plan.cloudy),
        *_together(seen),
        *_rounds(plan),
        say(
            "What does not fit: {part}.",
            part=len(plan.clashes) or " ".join([say("nothing found"), *NOTHING_FOUND.splitlines()]),
        ),
        *(
            say(
                "{letter}, {key}, {when}: {words} Rule: {who}.",
                letter=letter,
                key=clash.key,
                when=when,
                words=words,
                who=who,
            )
            for clash, (letter, when, words, who) in zip(plan.clashes, clashes, strict=False)
        ),
        *(say("{words} Rule: {rule}.", words=words, rule=plan.site.cite(rule)) for words, rule in plan.standing),
        say("Looks: {looks}.", looks=len(looks)),
        *(
            say(
                "Look {number}, {when}, {which}: {words} Rule: {who}.",
                number=number,
                when=when,
                which="measure" if look.measure else say("look and ask"),
                words=words,
                who=who,
            )
            for look, (number, when, words, who) in zip(plan.looks, looks, strict=True)
        ),
        *_cover(seen),
        say("For teaching only: the prescriber's order, local policy and licensed practice come first."),
    ]
    return " ".join(parts)


def _upper(words: str) -> str:
    return f"{words[0].upper()}{words[1:]}"


def _injection(plan: DayPlan) -> Iterator[str]:
    cite, waiting = plan.site.cite, plan.site.waiting
    if limit_words(plan).startswith("not before"):
        yield say("Injected at {given_at}, but {limit_words}.", given_at=plan.given_at, limit_words=limit_words(plan))
        return
    due = say(" Ordered for {due_at}.", due_at=plan.due_at) if plan.due_at else ""
    mixed = (
        say("Mixed at {mixed_at}, so", mixed_at=plan.mixed_at) if plan.mixed_at != plan.given_at else say("Once mixed,")
    )
    yield say(
        "Injected at {given_at}.{due} Draw up from {draw_up_from}. {mixed} inject by {inject_by}.",
        given_at=plan.given_at,
        due=due,
        draw_up_from=plan.draw_up_from,
        mixed=mixed,
        inject_by=plan.inject_by,
    )
    yield say(
        "Mixed insulin waits at most {waiting}. Rule: {waiting_2}.",
        waiting=minutes_text(waiting.value),
        waiting_2=cite(waiting),
    )


def _meals(plan: DayPlan) -> Iterator[str]:
    for one in plan.meals:
        eaten = "eaten" if one.meal.eaten else say("not eaten")
        yield say(
            "{meal} at {one}, {grams} g of carbohydrate, {eaten}.",
            meal=_upper(one.meal.name),
            one=one.at,
            grams=number_text(one.meal.grams),
            eaten=eaten,
        )
        if one is plan.meal and plan.eat:
            yield say(
                "This dose belongs to {meal}, which may come from {eat}. Rule: {lead}.",
                meal=one.meal.name,
                eat=plan.eat,
                lead=_lead(plan),
            )
        elif one is plan.meal:
            yield f"{_upper(eat_words(plan))}."
    yield MEALS_SET if plan.meals else say("No meal is planned.")
    if plan.meal is None:
        yield f"{_upper(eat_words(plan))}."


def _lead(plan: DayPlan) -> str:
    """Return who says how long after the injection the meal may come."""
    site, day = plan.site, Day(order=plan.order, site=plan.site, given=plan.given_at, meals=())
    low, high, lead = day.lead
    if lead is not site.meal_lead:
        return say(
            "{low} to {high} minutes after the injection, {lead}",
            low=number_text(low),
            high=number_text(high),
            lead=site.cite(lead),
        )
    return say(
        "{lead} after the injection, {lead_2}, and {meal_slack} sooner or later, {meal_slack_2}",
        lead=minutes_text(lead.value),
        lead_2=site.cite(lead),
        meal_slack=minutes_text(site.meal_slack.value),
        meal_slack_2=site.cite(site.meal_slack),
    )


def _insulin(seen: DaySeen, acting: Acting) -> Iterator[str]:
    name, facts = acting.dose.insulin, shelf()
    windows = {"starts": acting.starts, "is strongest": acting.strongest, "ends": acting.ends}
    taught = ", ".join(
        say("{verb} at {window}", verb=verb, window=window) for verb, window in windows.items() if window
    )
    letter = slip_letter(seen.plan)
    ordered, follows = ("ordered: ", say(", of what is in, see {letter}", letter=letter)) if letter else ("", "")
    yield f"{_upper(str(name))}, {name.look}, {ordered}{units_text(acting.dose.units)}."
    yield say("Taught: {part}. Handbook: {row}.", part=taught or say("no times"), row=seen.plan.site.cite(acting.row))
    if seen.curves is None:
        return
    start, top, end = acting.model_start, acting.model_strongest, acting.model_end
    begun = say("starts at {start}, is strongest at {part}, ", start=start, part=top or say("no hour that can be told"))
    over = say("ends at {end}", end=end) if end else say("has no end that can be told")
    yield say(
        "Model{follows}: {which}.",
        follows=follows,
        which=begun + over if start else say("never acts enough to count as begun"),
    )
    yield say("The model's numbers are recalled: {absorption}.", absorption=facts.cite(facts.absorption[name.key]))


def _together(seen: DaySeen) -> Iterator[str]:
    plan, facts = seen.plan, shelf()
    if plan.both_taught:
        yield say("Both insulins can act from {both_taught}, by the taught times.", both_taught=plan.both_taught)
    if plan.both_model:
        yield say("By the model both act from {both_model}.", both_model=plan.both_model)
    curves = seen.curves
    if curves:
        marker = facts.action["marker_units_per_kg_h"]
        yield (
            say(
                "The model's start and end are where an insulin passes {marker} units per hour, for a body of {weight_kg} kg: {marker_2}.",
                marker=number_text(round(curves.marker, 3)),
                weight_kg=number_text(curves.weight_kg),
                marker_2=facts.cite(marker),
            )
        )
        yield from sentences(difference_words(curves))


def _rounds(plan: DayPlan) -> Iterator[str]:
    site = plan.site
    due = ", ".join(str(at) for at in plan.rounds)
    yield say(
        "Somebody is due at {part}. Rule: {rounds}.",
        part=due or say("no time of these 24 hours"),
        rounds=site.cite(site.rounds),
    )
    nights, waking = " and ".join(say("from {night}", night=night) for night in sleep_windows(plan)), site.waking
    yield say("The patient sleeps {part}.", part=nights or say("at no set time"))
    yield f"Bedtime: {site.cite(site.bedtime)}; waking: {site.cite(waking)}."


def _cover(seen: DaySeen) -> Iterator[str]:
    cover, curves, plan = seen.cover, seen.curves, seen.plan
    if curves is None:
        yield NO_CURVES
        return
    if cover is None:
        yield NO_COVER
        return
    yield say("Insulin acting against an assumed need, in units per hour, is a {assumption}.", assumption=ASSUMPTION)
    last = plan.given_at.later(float(cover.hours[-1]) * 60)
    for start, end in pairwise(sorted({plan.given_at, last, *(one.at for one in plan.meals if one.at < last)})):
        hours = [plan.given_at.until(time) / 60 for time in (start, end)]
        beyond, missing = (units_text(round(units(*hours), 1)) for units in (cover.uncovered, cover.missing))
        yield say(
            "From {start} to {end}: {beyond} beyond the assumed need, {missing} of need beyond insulin.",
            start=start,
            end=end,
            beyond=beyond,
            missing=missing,
        )
    yield _assumed(cover)


def _assumed(cover: Cover) -> str:
    """Return what the strip assumes, each figure with its source."""
    need, share, grams, minutes = cover.basis
    cite = shelf().cite
    used = cover.basal_share
    own = "" if used == share.value else say(", set to {used} for this day", used=number_text(used))
    return (
        f"Assumed: a fasting need of {number_text(need.value)} units per kg and hour ({cite(need)}), of which "
        f"the part {number_text(share.value)} counts ({cite(share)}){own}; one unit for {number_text(grams.value)} g of carbohydrate "
        f"({cite(grams)}); the need of a meal is greatest {minutes_text(minutes.value)} after it begins ({cite(minutes)})."
    )
