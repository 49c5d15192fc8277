"""The day after a mixed dose: the record behind the picture, its lists, and everything it shows in words."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from string import ascii_uppercase

from mixlab.care.action.curves import ActionCurves
from mixlab.care.day.dose_day import Day
from mixlab.care.day.need import Cover
from mixlab.care.day.parts import Acting, Clash, Window
from mixlab.care.day.planning import DayPlan
from mixlab.facts.shelf import shelf
from mixlab.figures.action.differences import difference_words, sentences
from mixlab.quantities import MINUTES_A_DAY, minutes_text, number_text, read_clock, units_text
from mixlab.words import say, sentence

from .short_words import eat_words, limit_words, question_letter, slip_letter, title_words

BEFORE_MINUTES, AFTER_MINUTES = 60, MINUTES_A_DAY
"""What the picture shows: from so many minutes before the injection to so many after it."""

ASSUMPTION = sentence("teaching assumption: not a glucose, not a dose rule; compare only with another day")
NOTHING_FOUND = sentence("by the taught times;\nlook in all the same")
NO_CURVES = sentence("No model curve for this pair of insulins: taught times only, and no insulin against need.")
NO_COVER = sentence("Insulin against need is not shown for this day.")

MEALS_SET = sentence("Times and carbohydrate of the meals are those set for this plan; no study stands behind them.")

_TAUGHT = (sentence("starts at {when}"), sentence("is strongest at {when}"), sentence("ends at {when}"))

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
        (f"{number}", f"{look.window}", str(look.say), str(plan.site.cite(look.rule)))
        for number, look in enumerate(plan.looks, 1)
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
            [say("When {meal} may come: {lead}.", meal=plan.meal.name, lead=_lead(plan))]
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
            "What does not fit: {found}.",
            found=len(plan.clashes) or " ".join([say("nothing found"), *say(NOTHING_FOUND).splitlines()]),
        ),
        *(
            say(
                "{letter}, {name}, {when}: {words} Rule: {who}.",
                letter=letter,
                name=say(clash.key),
                when=when,
                words=words,
                who=who,
            )
            for clash, (letter, when, words, who) in zip(plan.clashes, clashes, strict=False)
        ),
        *(say("{words} Rule: {who}.", words=words, who=plan.site.cite(rule)) for words, rule in plan.standing),
        say("Looks: {count}.", count=len(looks)),
        *(
            say(
                "Look {number}, {when}, {how}: {words} Rule: {who}.",
                number=number,
                when=when,
                how=say("measure") if look.measure else say("look and ask"),
                words=words,
                who=who,
            )
            for look, (number, when, words, who) in zip(plan.looks, looks, strict=True)
        ),
        *_cover(seen),
        say("For teaching only: the {prescriber}'s order, local policy and licensed practice come first."),
    ]
    return " ".join(parts)


def _upper(words: str) -> str:
    return f"{words[0].upper()}{words[1:]}"


def _injection(plan: DayPlan) -> Iterator[str]:
    cite, waiting = plan.site.cite, plan.site.waiting
    if question_letter(plan):
        yield say("Injected at {injected}, but {limit}.", injected=plan.given_at, limit=limit_words(plan))
        return
    due = say(" Ordered for {due}.", due=plan.due_at) if plan.due_at else ""
    if plan.mixed_at == plan.given_at:
        inject = say("Once mixed, inject by {last}.", last=plan.inject_by)
    else:
        inject = say("Mixed at {mixed}, so inject by {last}.", mixed=plan.mixed_at, last=plan.inject_by)
    yield say(
        "Injected at {injected}.{due} Draw up from {first}. {inject}",
        injected=plan.given_at,
        due=due,
        first=plan.draw_up_from,
        inject=inject,
    )
    yield say(
        "Mixed insulin waits at most {waiting}. Rule: {source}.",
        waiting=minutes_text(waiting.value),
        source=cite(waiting),
    )


def _meals(plan: DayPlan) -> Iterator[str]:
    for one in plan.meals:
        eaten = say("eaten") if one.meal.eaten else say("not eaten")
        yield say(
            "{meal} at {served}, {grams} g of carbohydrate, {eaten}.",
            meal=_upper(str(one.name)),
            served=one.at,
            grams=number_text(one.meal.grams),
            eaten=eaten,
        )
        if one is plan.meal and plan.eat:
            yield say(
                "This dose belongs to {meal}, which may come from {eat}. Rule: {lead}.",
                meal=one.name,
                eat=plan.eat,
                lead=_lead(plan),
            )
        elif one is plan.meal:
            yield f"{_upper(eat_words(plan))}."
    yield say(MEALS_SET) if plan.meals else say("No meal is planned.")
    if plan.meal is None:
        yield f"{_upper(eat_words(plan))}."


def _lead(plan: DayPlan) -> str:
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


def _insulin(seen: DaySeen, acting: Acting) -> Iterator[str]:
    name, facts = acting.dose.insulin, shelf()
    windows = zip(_TAUGHT, (acting.starts, acting.strongest, acting.ends), strict=True)
    taught = ", ".join(say(words, when=window) for words, window in windows if window)
    letter = slip_letter(seen.plan)
    amount = units_text(acting.dose.units)
    ordered = say("ordered: {amount}", amount=amount) if letter else amount
    yield f"{_upper(str(name))}, {say(name.look)}, {ordered}."
    yield say(
        "Taught: {taught}. Handbook: {source}.",
        taught=taught or say("no times"),
        source=seen.plan.site.cite(acting.row),
    )
    if seen.curves is None:
        return
    start, top, end = acting.model_start, acting.model_strongest, acting.model_end
    when = say("never acts enough to count as begun")
    if start:
        when = say(
            "starts at {start}, is strongest at {peak}, {over}",
            start=start,
            peak=top or say("no hour that can be told"),
            over=say("ends at {end}", end=end) if end else say("has no end that can be told"),
        )
    yield (
        say("Model, of what is in, see {letter}: {when}.", letter=letter, when=when)
        if letter
        else say("Model: {when}.", when=when)
    )
    yield say("The model's numbers are recalled: {source}.", source=facts.cite(facts.absorption[name.key]))


def _together(seen: DaySeen) -> Iterator[str]:
    plan, facts = seen.plan, shelf()
    if plan.both_taught:
        yield say("Both insulins can act from {when}, by the taught times.", when=plan.both_taught)
    if plan.both_model:
        yield say("By the model both act from {when}.", when=plan.both_model)
    curves = seen.curves
    if curves:
        marker = facts.action["marker_units_per_kg_h"]
        yield (
            say(
                "The model's start and end are where an insulin passes {amount} {units} per hour, for a body of {weight} kg: {source}.",
                amount=number_text(round(curves.marker, 3)),
                weight=number_text(curves.weight_kg),
                source=facts.cite(marker),
            )
        )
        yield from sentences(difference_words(curves))


def _rounds(plan: DayPlan) -> Iterator[str]:
    site = plan.site
    due = ", ".join(str(at) for at in plan.rounds)
    yield say(
        "Somebody is due at {rounds}. Rule: {source}.",
        rounds=due or say("no time of these 24 hours"),
        source=site.cite(site.rounds),
    )
    nights = say(" and ").join(say("from {night}", night=night) for night in sleep_windows(plan))
    yield say("The patient sleeps {when}.", when=nights or say("at no set time"))
    yield say("Bedtime: {bedtime}; waking: {waking}.", bedtime=site.cite(site.bedtime), waking=site.cite(site.waking))


def _cover(seen: DaySeen) -> Iterator[str]:
    cover, curves, plan = seen.cover, seen.curves, seen.plan
    if curves is None:
        yield say(NO_CURVES)
        return
    if cover is None:
        yield say(NO_COVER)
        return
    yield say(
        "Insulin acting against an assumed need, in {units} per hour, is a {assumption}.", assumption=say(ASSUMPTION)
    )
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
