"""The picture of the day after a mixed dose, described in words."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import chain, pairwise

from mixlab.care.day.parts import Acting
from mixlab.care.day.planning import DayPlan
from mixlab.care.dosing import longest_wait
from mixlab.facts.reading import the_facts
from mixlab.figures.action.differences import difference_words, sentences
from mixlab.quantities import minutes_text, number_text, units_text
from mixlab.words import plural, say

from .day_words import (
    MEALS_SET,
    NEED_ASSUMPTION,
    NO_COVER,
    NO_CURVES,
    NOTHING_FOUND,
    TAUGHT,
    DaySeen,
    assumed,
    clash_rows,
    eat_words,
    lead,
    limit_words,
    question_letter,
    sleep_windows,
    slip_letter,
    title_words,
    visit_rows,
)


def describe_day(seen: DaySeen) -> str:
    """Return everything the picture shows in sentences, with who says so."""
    plan = seen.plan
    told = (
        [f"{title_words(plan)}."],
        _order(plan),
        _injection(plan),
        _meals(plan),
        _insulin(seen, plan.clear),
        _insulin(seen, plan.cloudy),
        _together(seen),
        _rounds(plan),
        _clashes(plan),
        _visits(plan),
        _cover(seen),
        [say("For teaching only: the {prescriber}'s order, local policy and licensed practice come first.")],
    )
    return " ".join(chain(*told))


def _clashes(plan: DayPlan) -> Iterator[str]:
    nothing = " ".join([say("nothing found"), *say(NOTHING_FOUND).splitlines()])
    yield say("What does not fit: {found}.", found=len(plan.clashes) or nothing)
    for clash, (letter, when, words, who) in zip(plan.clashes, clash_rows(plan), strict=False):
        values = {"letter": letter, "name": say(clash.key), "when": when, "words": words, "who": who}
        yield say("{letter}, {name}, {when}: {words} Rule: {who}.", **values)
    for standing, rule in plan.standing:
        yield say("{words} Rule: {who}.", words=standing, who=plan.site.cite(rule))


def _visits(plan: DayPlan) -> Iterator[str]:
    yield say("Looks: {count}.", count=len(plan.visits))
    for visit, (number, when, words, who) in zip(plan.visits, visit_rows(plan), strict=True):
        how = say("measure") if visit.measure else say("look and ask")
        values = {"number": number, "when": when, "how": how, "words": words, "who": who}
        yield say("Look {number}, {when}, {how}: {words} Rule: {who}.", **values)


def _upper(words: str) -> str:
    return f"{words[0].upper()}{words[1:]}"


def _order(plan: DayPlan) -> Iterator[str]:
    yield str(plan.answer.text)
    if plan.answer.held:
        yield str(plan.answer.for_the_lesson)


def _injection(plan: DayPlan) -> Iterator[str]:
    cite, waiting = plan.site.cite, longest_wait(plan.order.clear.insulin, plan.site)
    if plan.answer.held:
        due = say(" Ordered for {due}.", due=plan.due_at) if plan.due_at else ""
        yield say("Injected at {injected}.{due}", injected=plan.given_at, due=due)
        return
    if question_letter(plan):
        yield say("Injected at {injected}, but {limit}.", injected=plan.given_at, limit=limit_words(plan))
        return
    inject = say("Once mixed, inject at once, by {last} at the latest.", last=plan.inject_by)
    if plan.mixed_at != plan.given_at:
        inject = say(
            "Mixed at {mixed}, so inject at once, by {last} at the latest.", mixed=plan.mixed_at, last=plan.inject_by
        )
    yield say(
        "Injected at {injected}.{due} Draw up from {first}. {inject}",
        injected=plan.given_at,
        due=say(" Ordered for {due}.", due=plan.due_at) if plan.due_at else "",
        first=plan.draw_up_from,
        inject=inject,
    )
    longest = minutes_text(waiting.value)
    yield say(
        "Inject at once after mixing; this ward's limit is {waiting}. Rule: {source}.",
        waiting=longest,
        source=cite(waiting),
    )


def _meals(plan: DayPlan) -> Iterator[str]:
    for one in plan.meals:
        eaten = say("eaten") if one.meal.eaten else say("not eaten")
        values = {"meal": _upper(str(one.name)), "served": one.at, "grams": number_text(one.meal.grams), "eaten": eaten}
        yield say("{meal} at {served}, {grams} g of carbohydrate, {eaten}.", **values)
        if one is plan.meal and plan.eat:
            yield say(
                "This dose belongs to {meal}, which may come from {eat}. Rule: {lead}.",
                meal=one.name,
                eat=plan.eat,
                lead=lead(plan),
            )
        elif one is plan.meal:
            yield f"{_upper(eat_words(plan))}."
    yield say(MEALS_SET) if plan.meals else say("No meal is planned.")
    if plan.meal is None:
        yield f"{_upper(eat_words(plan))}."


def _insulin(seen: DaySeen, acting: Acting) -> Iterator[str]:
    name, facts = acting.dose.insulin, the_facts()
    windows = zip(TAUGHT, (acting.starts, acting.strongest, acting.ends), strict=True)
    taught = ", ".join(say(words, when=window) for words, window in windows if window)
    letter = slip_letter(seen.plan)
    amount = units_text(acting.dose.units)
    ordered = say("ordered: {amount}", amount=amount) if letter else amount
    yield f"{_upper(str(name))}, {say(name.look)}, {ordered}."
    source = seen.plan.site.cite(acting.row)
    yield say("Taught: {taught}.", taught=taught or say("no times"))
    books = len(acting.row.rows)
    yield plural(books, "Handbook: {source}.", "{count} handbooks together: {source}.", count=books, source=source)
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
    if letter:
        yield say("Model, of what is in, see {letter}: {when}.", letter=letter, when=when)
    else:
        yield say("Model: {when}.", when=when)
    yield say("The model's numbers are recalled: {source}.", source=facts.cite(facts.absorption[name.key]))


def _together(seen: DaySeen) -> Iterator[str]:
    plan, facts = seen.plan, the_facts()
    if plan.both_taught:
        yield say("Both insulins can act from {when}, by the taught times.", when=plan.both_taught)
    if plan.both_model:
        yield say("By the model both act from {when}.", when=plan.both_model)
    curves = seen.curves
    if curves:
        yield say(
            "The model's start and end are where an insulin passes {amount} {units} per hour, for a body of {weight} kg: {source}.",
            amount=number_text(round(curves.marker, 3)),
            weight=number_text(curves.weight_kg),
            source=facts.cite(facts.action["marker_units_per_kg_h"]),
        )
        yield from sentences(difference_words(curves))


def _rounds(plan: DayPlan) -> Iterator[str]:
    site = plan.site
    due = ", ".join(map(str, plan.rounds)) or say("no time of these 24 hours")
    yield say("Somebody is due at {rounds}. Rule: {source}.", rounds=due, source=site.cite(site.rounds))
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
    assumption = say(NEED_ASSUMPTION)
    yield say("Insulin acting against an assumed need, in {units} per hour, is a {assumption}.", assumption=assumption)
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
    yield assumed(cover)
