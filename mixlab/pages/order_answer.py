"""What an order asks for by itself, in the same words wherever there is only an order: the check, the day, the printed steps."""

from __future__ import annotations

from mixlab.care.decision.chart import OrderAnswer, answer_order
from mixlab.care.dosing import Plan
from mixlab.figures.decision.card import mark_of, outline_of

from .engine import render


def order_answer_html(answer: OrderAnswer, *, for_a_plan: bool = False) -> str:
    """Return the answer with its sign, and what has to be cleared up; see `answer_parts`."""
    return render("order_answer", **answer_parts(answer, for_a_plan=for_a_plan))


def answer_parts(answer: OrderAnswer, *, for_a_plan: bool = False) -> dict[str, object]:
    """Return what the template of an order's answer shows; an order that is not held has no sign, only words.

    Parameters
    ----------
    answer : OrderAnswer
        What the order asks for by itself.
    for_a_plan : bool
        Whether a plan of the order follows: of a held one it is said what that is for.
    """
    lines = [one.text for one in answer.because]
    if for_a_plan and answer.held:
        lines.append(answer.for_the_lesson)
    mark, color = mark_of(answer.choice) if answer.choice else ("", "")
    outline = outline_of(answer.choice) if answer.choice else ()
    return {
        "mark": mark,
        "color": color,
        "outline": " ".join(f"{x:.1f},{-y:.1f}" for x, y in outline),
        "headline": answer.headline.with_capitals(),
        "lines": lines,
    }


def printed_steps(plan: Plan) -> str:
    """Return the steps at the bench as they are printed, a line each, below what the order asks for by itself.

    Examples
    --------
    >>> order = read_order("regular insulin 8 units and NPH insulin 20 units subcut 30 minutes before breakfast")
    >>> print(printed_steps(plan_dose(order)).splitlines()[0])
    Nothing against the order itself: go on to the patient.
    """
    answer = answer_order(plan.order, plan.site)
    head = [answer.text, answer.for_the_lesson] if answer.held else [answer.text]
    return "\n".join(map(str, (*head, *plan.steps)))
