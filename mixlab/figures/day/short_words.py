"""The short words on the day picture: whose day it is, when to eat and to inject, and what differs from the order."""

from __future__ import annotations

from string import ascii_uppercase

from mixlab.care.day.planning import DayPlan
from mixlab.quantities import units_text
from mixlab.words import say

QUESTIONS = (
    "given early",
    "given late",
    "order's time",
    "no meal",
    "meal not eaten",
    "meal too late",
)
"""Clashes that forbid giving the dose until somebody has answered."""

NOT_ORDERED = "not as ordered"
"""The key of the clash that says what was given instead of the order."""


def dose_line(plan: DayPlan) -> str:
    """Return the ordered dose: ``"regular insulin 8 units and NPH insulin 20 units"``."""
    return say(" and ").join(
        f"{dose.insulin} {units_text(dose.units)}" for dose in (plan.order.clear, plan.order.cloudy)
    )


def slip_letter(plan: DayPlan) -> str:
    """Return the letter of the clash that says what was given instead of the order; nothing for a dose as ordered."""
    lettered = zip(ascii_uppercase, plan.clashes, strict=False)
    return next((letter for letter, clash in lettered if clash.key == NOT_ORDERED), "")


def title_words(plan: DayPlan) -> str:
    """Return whose day it is; of a dose that was not given so, that it was only ordered."""
    letter = slip_letter(plan)
    return (
        say("Ordered: {doses}. Given: see {letter}", doses=dose_line(plan), letter=letter)
        if letter
        else say("The day after {doses}", doses=dose_line(plan))
    )


def eat_words(plan: DayPlan) -> str:
    """Return when the dose's own meal may come, or why no time is given for it."""
    if plan.eat:
        return say("eat between {start} and {end}", start=plan.eat.start.face, end=plan.eat.end.face)
    if plan.meal:
        return say("this dose belongs to {meal}, only at {served}", meal=plan.meal.name, served=plan.meal.at.face)
    return say("no meal belongs to this dose")


def question_letter(plan: DayPlan) -> str:
    """Return the letter of the first clash that forbids giving the dose until somebody has answered; nothing if none does."""
    lettered = zip(ascii_uppercase, plan.clashes, strict=False)
    return next((letter for letter, clash in lettered if clash.key in QUESTIONS), "")


def limit_words(plan: DayPlan) -> str:
    """Return what the clock says of drawing up and injecting, after "injected at …"."""
    due = say("; ordered for {due}", due=plan.due_at.face) if plan.due_at else ""
    if letter := question_letter(plan):
        return say("not before the question in {letter} is answered{due}", letter=letter, due=due)
    first, last = plan.draw_up_from.face, plan.inject_by.face
    if plan.mixed_at == plan.given_at:
        return say("draw up from {first}; once mixed, inject by {last}{due}", first=first, last=last, due=due)
    return say(
        "draw up from {first}; mixed at {mixed}, so inject by {last}{due}",
        first=first,
        mixed=plan.mixed_at.face,
        last=last,
        due=due,
    )
