"""The short words on the day picture: whose day it is, when to eat and to inject, and what differs from the order."""

from __future__ import annotations

from string import ascii_uppercase

from ..care.timing import DayPlan
from ..quantities import units_text
from ..words import mark, say

QUESTIONS = (
    mark("given early"),
    mark("given late"),
    mark("order's time"),
    mark("no meal"),
    mark("meal not eaten"),
    mark("meal too late"),
)
"""Clashes that forbid giving the dose until somebody has answered."""

NOT_ORDERED = mark("not as ordered")
"""The key of the clash that says what was given instead of the order."""


def dose_words(plan: DayPlan) -> str:
    """Return the ordered dose: ``"regular insulin 8 units and NPH insulin 20 units"``."""
    return " and ".join(f"{dose.insulin} {units_text(dose.units)}" for dose in (plan.order.clear, plan.order.cloudy))


def slip_letter(plan: DayPlan) -> str:
    """Return the letter of the clash that says what was given instead of the order; nothing for a dose as ordered."""
    lettered = zip(ascii_uppercase, plan.clashes, strict=False)
    return next((letter for letter, clash in lettered if clash.key == NOT_ORDERED), "")


def title_words(plan: DayPlan) -> str:
    """Return whose day it is; of a dose that was not given so, that it was only ordered."""
    letter = slip_letter(plan)
    return (
        say("Ordered: {dose_words}. Given: see {letter}", dose_words=dose_words(plan), letter=letter)
        if letter
        else say("The day after {dose_words}", dose_words=dose_words(plan))
    )


def eat_words(plan: DayPlan) -> str:
    """Return when the dose's own meal may come, or why no time is given for it."""
    if plan.eat:
        return say("eat between {start} and {end}", start=plan.eat.start.face, end=plan.eat.end.face)
    if plan.meal:
        return say("this dose belongs to {meal}, only at {meal_2}", meal=plan.meal.meal.name, meal_2=plan.meal.at.face)
    return say("no meal belongs to this dose")


def limit_words(plan: DayPlan) -> str:
    """Return what the clock says of drawing up and injecting, after "injected at …"."""
    for clash, letter in zip(plan.clashes, ascii_uppercase, strict=False):
        if clash.key in QUESTIONS:
            due = f"; ordered for {plan.due_at.face}" if plan.due_at else ""
            return say("not before the question in {letter} is answered{due}", letter=letter, due=due)
    mixed = (
        say("once mixed,")
        if plan.mixed_at == plan.given_at
        else say("mixed at {mixed_at}, so", mixed_at=plan.mixed_at.face)
    )
    due = f"; ordered for {plan.due_at.face}" if plan.due_at else ""
    return f"draw up from {plan.draw_up_from.face}; {mixed} inject by {plan.inject_by.face}{due}"
