"""The order under the lens, in words: every place marked, whether it can be acted on, and what has to be cleared up."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from mixlab.care.decision.chart import OrderAnswer
from mixlab.care.order.concern import Concern
from mixlab.ward.order.order import OrderError
from mixlab.ward.order.reading import read_order
from mixlab.words import Sentence, sentence

from .engine import Shown, render
from .order_answer import answer_parts

KINDS = {
    "writing": sentence("how it is written"),
    "missing": sentence("what is missing"),
    "contradictory": sentence("what contradicts itself"),
    "not due": sentence("what is not due now"),
    "content": sentence("what it says"),
    "caution": sentence("take care"),
}
"""What each kind of concern is called."""

GRADES = {
    "must not": sentence("must not be written so: a published list names it"),
    "avoid": sentence("better written otherwise; the order is read"),
    "style": sentence("not how this ward writes; the order is read"),
}
"""What each grade of an unsafe way of writing is called."""

ORDER_CAUTION = sentence("Teaching only. A list never finds everything: when in doubt, ask the {prescriber}.")


def verdict_words(text: str, concerns: tuple[Concern, ...]) -> Sentence:
    """Return what the order reads as, or why it is not acted on.

    Parameters
    ----------
    text : str
        The order as it was written.
    concerns : tuple of Concern
        What is to be cleared up about it.
    """
    try:
        order = read_order(text)
    except OrderError as refusal:
        return sentence("Not to be acted on. {refusal}", refusal=refusal)
    if any(concern.holds for concern in concerns):
        return sentence(
            "It reads as: {order}. Do not act on it yet: clear up what stands below with the {prescriber}.", order=order
        )
    if concerns:
        return sentence(
            "It reads as: {order}. Nothing below keeps it back, but read it before you go on; whether the dose is right for this patient is not for this page to say.",
            order=order,
        )
    return sentence(
        "It reads as: {order}. Nothing unsafe was found in how it is written; whether the dose is right for this patient is not for this page to say.",
        order=order,
    )


def order_html(text: str, concerns: tuple[Concern, ...], answer: OrderAnswer, verdict: Shown, fault: Shown = "") -> str:
    """Return the marked order, the answer, the verdict and the concerns as a list.

    Parameters
    ----------
    text : str
        The order as it was written.
    concerns : tuple of Concern
        What is to be cleared up about it; they are numbered in this order.
    answer : OrderAnswer
        What the order asks for by itself.
    verdict : Sentence or str
        What it reads as, or why it is not acted on.
    fault : Sentence or str
        Why it cannot be compared with the usual order; empty if it can.
    """
    return render(
        "order",
        parts=_cut(text, concerns),
        verdict=verdict,
        fault=fault,
        concerns=[(GRADES.get(concern.grade or "", KINDS[concern.kind]), concern) for concern in concerns],
        **answer_parts(answer),
        caution=ORDER_CAUTION,
    )


def _cut(text: str, concerns: tuple[Concern, ...]) -> Iterator[tuple[list[str], bool, str]]:
    """Cut an order's text wherever a concern begins or ends.

    Yield for each part its lines, whether a concern is about it, and the numbers of the concerns that end there.
    """
    places = [(at, concern.place) for at, concern in enumerate(concerns, 1) if concern.place]
    cuts = sorted({0, len(text), *(end for _, place in places for end in place)})
    for start, end in pairwise(cuts):
        unsafe = any(place[0] <= start and end <= place[1] for _, place in places)
        yield text[start:end].split("\n"), unsafe, ",".join(str(at) for at, place in places if place[1] == end)
