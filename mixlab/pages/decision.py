"""The sheet of a decision: what to do next, whom to tell, what must happen for the dose to be given later, and why."""

from __future__ import annotations

from mixlab.care.decision.deciding import Decision
from mixlab.words import sentence

from .engine import render


def decision_html(decision: Decision) -> str:
    """Return every step, whom to tell, what must happen for the dose to be given later, and every reason with its rule."""
    return render(
        "decision",
        steps=(sentence("Next"), decision.next_steps),
        lists=(
            (sentence("Tell"), decision.tell),
            (sentence("For the dose to be given later"), decision.give_when),
            (sentence("Why, and who says so"), (*decision.because, *decision.numbers)),
        ),
    )
