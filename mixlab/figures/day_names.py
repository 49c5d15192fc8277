"""The short words on the day picture: whose day it is, when to eat and to inject, and what differs from the order."""

from __future__ import annotations

from string import ascii_uppercase

from ..care.timing import DayPlan
from ..quantities import units_text

QUESTIONS = ("given early", "given late", "order's time", "no meal", "meal not eaten", "meal too late")
"""Clashes that forbid giving the dose until somebody has answered."""

NOT_ORDERED = "not as ordered"
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
    return f"Ordered: {dose_words(plan)}. Given: see {letter}" if letter else f"The day after {dose_words(plan)}"


def eat_words(plan: DayPlan) -> str:
    """Return when the dose's own meal may come, or why no time is given for it."""
    if plan.eat:
        return f"eat between {plan.eat.start.face} and {plan.eat.end.face}"
    if plan.meal:
        return f"this dose belongs to {plan.meal.meal.name}, only at {plan.meal.at.face}"
    return "no meal belongs to this dose"


def limit_words(plan: DayPlan) -> str:
    """Return what the clock says of drawing up and injecting, after "injected at …"."""
    for clash, letter in zip(plan.clashes, ascii_uppercase, strict=False):
        if clash.key in QUESTIONS:
            due = f"; ordered for {plan.due_at.face}" if plan.due_at else ""
            return f"not before the question in {letter} is answered{due}"
    mixed = "once mixed," if plan.mixed_at == plan.given_at else f"mixed at {plan.mixed_at.face}, so"
    due = f"; ordered for {plan.due_at.face}" if plan.due_at else ""
    return f"draw up from {plan.draw_up_from.face}; {mixed} inject by {plan.inject_by.face}{due}"
