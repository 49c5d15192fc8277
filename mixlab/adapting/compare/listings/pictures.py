"""What a site draws: every picture by its words.

Whole pictures are compared as they would be said in the plain voice, so that only what they show can differ.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial

import numpy as np

from mixlab.adapting.compare.outputs import REFUSALS, Point, kind_of_output, refused
from mixlab.care.action.absorption import NoFigures
from mixlab.care.action.curves import ActionCurves, action_curves
from mixlab.care.bench.runs import bench_for
from mixlab.care.dosing import plan_dose
from mixlab.figures.action.both_together_words import ActionSeen, describe_action
from mixlab.figures.action.curves import describe_curves
from mixlab.figures.action.evidence_words import Evidence, describe_evidence
from mixlab.figures.day.day_words import DaySeen
from mixlab.figures.day.describing import describe_day
from mixlab.figures.decision.bedside import Seen, describe_bedside
from mixlab.figures.decision.card import describe_card
from mixlab.figures.syringe.barrel_words import describe_barrel
from mixlab.figures.syringe.bench_words import describe_bench
from mixlab.quantities import Glucose
from mixlab.ward.observation import Observation, OffScale
from mixlab.ward.order.order import Order
from mixlab.ward.site.record import Site
from mixlab.words import Sentence, Voice, sentence, speaking

from .day import DEMONSTRATION_DAYS
from .decisions import PLAIN, asked


def _curves(order: Order) -> ActionCurves | None:
    try:
        return action_curves(order, np.arange(97) / 4)
    except NoFigures:
        return None


READINGS_SHOWN: dict[str, Glucose | OffScale] = {
    "61 mg/dL": Glucose(61, "mg/dL"),
    "120 mg/dL": Glucose(120, "mg/dL"),
    "320 mg/dL": Glucose(320, "mg/dL"),
    "6.7 mmol/L": Glucose(6.7, "mmol/L"),
    "HI": "HI",
}
"""Readings of the patients that the pictures show."""


@kind_of_output("pictures", sentence("Pictures, by their words"), shown=True)
def list_pictures(site: Site) -> Iterator[tuple[Point, object]]:
    """Yield the words of every picture: they say all that is drawn."""
    with speaking(Voice()):
        for name, words in pictures_of(site):
            try:
                yield Point(name), words()
            except REFUSALS as refusal:
                yield Point(name), refused(refusal)


def pictures_of(site: Site) -> Iterator[tuple[Sentence, Callable[[], str]]]:
    """Yield every picture by its name, with what says all that is drawn on it."""
    order = DEMONSTRATION_DAYS[0].order
    curves = _curves(order)
    action = ActionSeen(
        order=order, curves=curves, fan=None, row=None, sum_shown=True, guess_h=None, beside=None, site=site
    )
    yield sentence("picture of the barrel"), lambda: describe_barrel(plan_dose(order, site))
    yield sentence("picture of the curves"), lambda: describe_curves(order, curves, site)
    yield sentence("picture of when it acts"), lambda: describe_action(action)
    yield (
        sentence("picture of the day"),
        lambda: describe_day(DaySeen(plan=DEMONSTRATION_DAYS[0].plan(site), curves=curves, cover=None)),
    )
    yield sentence("picture of the bench"), lambda: describe_bench(bench_for(order, site), inside=True)
    for dose in (order.clear, order.cloudy):
        insulin = dose.insulin
        evidence = Evidence(order=order, look=insulin.look, curves=curves, fan=None, row=None, site=site)
        name = sentence("picture of who says what: {insulin}", insulin=insulin.name)
        yield name, partial(describe_evidence, evidence)
    for reading, glucose in READINGS_SHOWN.items():
        found = Observation(glucose=glucose, **PLAIN)
        decision = asked(site, found)
        bedside = Seen(order=order, observation=found, site=site, decision=decision)
        yield sentence("picture of the bedside, {reading}", reading=reading), partial(describe_bedside, bedside)
        yield sentence("decision card, {reading}", reading=reading), partial(describe_card, decision)
