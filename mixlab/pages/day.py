"""The lists of a day: what does not fit, what holds all day, when to look, and whose the numbers are."""

from __future__ import annotations

from mixlab.figures.day.day_words import DaySeen, basis_sentences, clash_rows, visit_rows
from mixlab.words import sentence

from .engine import render
from .order_answer import answer_parts


def day_html(seen: DaySeen) -> str:
    """Return what the order asks for, the clashes, what holds all day, the visits and whose the numbers are, each with whose rule it is."""
    plan = seen.plan
    return render(
        "day",
        clashes_title=sentence("What does not fit"),
        clashes=clash_rows(plan),
        nothing=sentence("Nothing found by the taught times. Check on the patient all the same."),
        standing_title=sentence("All day"),
        standing=[(words, plan.site.cite(rule)) for words, rule in plan.standing],
        visits_title=sentence("When to check on the patient"),
        visits=visit_rows(plan),
        heads=(sentence("No."), sentence("When"), sentence("What for")),
        first=sentence(" (first look)"),
        basis_title=sentence("Whose numbers these are"),
        basis=basis_sentences(seen),
        **answer_parts(plan.answer, for_a_plan=True),
    )
