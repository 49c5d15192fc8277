"""What a site says of preparing a dose: concerns, plans, syringes, the right run, and what is found wrong at the bench."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache

from mixlab.adapting.compare.outputs import REFUSALS, Point, kind_of_output, refused
from mixlab.care.bench.bench import Trace, run
from mixlab.care.bench.handling import Cap, LabelSyringe, LayDown, Roll, Uncap
from mixlab.care.bench.runs import CLOUDY, bench_for, right_run
from mixlab.care.bench.variants import RIGHT_VARIANTS, WRONG_RUNS, right_variant, wrong_run
from mixlab.care.dosing import CannotPrepare, FinerThanAnyLine, Plan, TooMuchForAnySyringe, choose_syringe, plan_dose
from mixlab.care.order.checking import order_concerns
from mixlab.care.order.concern import Concern
from mixlab.care.review.findings import review
from mixlab.pages.bench import step_words
from mixlab.pages.order import KINDS
from mixlab.panels.bench.words import RUNS
from mixlab.quantities import units_text
from mixlab.ward.insulin import insulins
from mixlab.ward.order.order import Dose, Order
from mixlab.ward.order.reading import read_order
from mixlab.ward.site.record import Site, teaching_site
from mixlab.words import Sentence, joined, sentence

from .decisions import demonstration_order

ORDERS = (
    "regular insulin 8 units and NPH insulin 20 units subcut 30 minutes before breakfast",
    "regular insulin 8 units and NPH insulin 20 units subcut 20 minutes before breakfast",
    "regular insulin 8 units and NPH insulin 20 units subcut 45 minutes before supper",
    "regular insulin 80 units and NPH insulin 20 units subcut 30 minutes before breakfast",
    "regular insulin 20 units and NPH insulin 8 units subcut 30 minutes before breakfast",
    "regular insulin 4.5 units and NPH insulin 14 units subcut before breakfast",
    "regular insulin 36 units and NPH insulin 74 units subcut before supper",
    "regular insulin 9 units and NPH insulin 62 units subcut before breakfast",
    "insulin lispro 6 units and NPH insulin 18 units subcut with breakfast",
    "Regular 8U and NPH 20.0 units before breakfast",
    "regular insulin 8 units and NPH insulin 20 units",
    "regular insulin 8 units and NPH insulin 20 units subcut BID AC",
    "insulin lispro 40 units and NPH insulin 20 units subcut with breakfast",
    "regular insulin 8 units and NPH insulin, hold if glucose below 90 mg/dL",
)
"""Orders as written, safe and unsafe: invented for demonstration."""

PAIRS = (
    ("regular", 8, "nph", 20),
    ("regular", 7, "nph", 15),
    ("regular", 4.5, "nph", 14),
    ("regular", 16, "nph", 35),
    ("regular", 9, "nph", 62),
    ("regular", 36, "nph", 74),
    ("lispro", 6, "nph", 18),
    ("aspart", 6, "nph", 18),
    ("glulisine", 6, "nph", 18),
    ("glargine", 18, "regular", 6),
    ("detemir", 18, "regular", 6),
    ("premixed-70-30", 18, "regular", 6),
)
"""Pairs and doses: odd and half units, totals near and past the end of a barrel, and pairs that may not be mixed."""


@kind_of_output("concerns", sentence("Concerns about an order"))
def list_concerns(site: Site) -> Iterator[tuple[Point, object]]:
    """Yield every concern about every order, by the words it is about."""
    usual = read_order(ORDERS[0])
    for text in ORDERS:
        for one in order_concerns(text, usual=usual, site=site):
            yield Point(_concern_name(one), joined((text,))), one


def _concern_name(one: Concern) -> Sentence:
    kind = sentence(KINDS[one.kind])
    if not one.text:
        return sentence("{kind}: {name}", kind=kind, name=one.name)
    return sentence("{kind}, “{words}”", kind=kind, words=" ".join(one.text.split()))


@kind_of_output("preparation", sentence("Steps, marks and air of a dose"))
def list_preparations(site: Site) -> Iterator[tuple[Point, object]]:
    """Yield every step, mark and amount of air of every order, or why it is refused."""
    for one, few, other, more in PAIRS:
        order = Order(doses=(Dose(insulin=insulins()[one], units=few), Dose(insulin=insulins()[other], units=more)))
        name = sentence("{order}", order=order)
        try:
            plan = plan_dose(order, site)
        except REFUSALS as refusal:
            yield Point(sentence("refused"), name), refused(refusal)
        else:
            yield from _parts_of(plan, name)


def _parts_of(plan: Plan, name: Sentence) -> Iterator[tuple[Point, object]]:
    yield Point(sentence("syringe"), name), plan.syringe.name
    yield Point(sentence("mark of the clear insulin"), name), units_text(plan.clear_mark)
    yield Point(sentence("mark of both"), name), units_text(plan.total_mark)
    yield Point(sentence("air into the cloudy vial"), name), units_text(plan.air_into_cloudy)
    yield Point(sentence("air into the clear vial"), name), units_text(plan.air_into_clear)
    for step in plan.steps:
        must = sentence("must be right") if step.critical else Sentence("")
        key = Point(sentence("step '{step}'", step=step.key.replace("_", " ")), name)
        yield key, (step.do, must, step.why, step.source)


TOTALS: tuple[tuple[Sentence, float, tuple[float, ...]], ...] = (
    (sentence("both doses even"), 2.0, tuple(float(total) for total in range(4, 121, 2))),
    (sentence("an odd clear dose"), 1.0, tuple(float(total) for total in range(2, 121))),
    (sentence("a half unit in the clear dose"), 1.5, tuple(total + 0.5 for total in range(2, 120))),
)
"""Totals by what lines they ask for, each with its clear dose; units."""

NO_SYRINGE: dict[type[CannotPrepare], Sentence] = {
    FinerThanAnyLine: sentence("no syringe has a line at both marks"),
    TooMuchForAnySyringe: sentence("no syringe holds so much"),
}


@kind_of_output("syringes", sentence("Syringe taken for each total"))
def list_syringes(site: Site) -> Iterator[tuple[Point, object]]:
    """Yield the syringe for every total up to 120 units, or why there is none; `list_preparations` has the sentences."""
    for words, clear, totals in TOTALS:
        for place, total in enumerate(totals):
            at = sentence("{total}, of them {clear} clear", total=units_text(total), clear=units_text(clear))
            try:
                taken = choose_syringe(clear, total, site).name
            except CannotPrepare as refusal:
                taken = NO_SYRINGE[type(refusal)]
            yield Point(at, words, place), taken


@kind_of_output("the right run", sentence("The right run at the bench, step by step"))
def list_right_run(site: Site) -> Iterator[tuple[Point, object]]:
    """Yield what is done in a right run of this ward, and what its own review says; or why there is none."""
    try:
        plan = plan_dose(demonstration_order(), site)
        trace = run(bench_for(plan.order, site), right_run(plan))
    except REFUSALS as refusal:
        yield Point(sentence("the right run")), refused(refusal)
        return
    for _, action, _, after in trace:
        step = step_words(action, after)
        yield Point(step), step
    for one in review(plan.order, trace, site):
        yield Point(sentence("found: {finding}", finding=run_name(one.name))), one


@dataclass(frozen=True, kw_only=True)
class Deed:
    """Something done at the bench whatever the ward; `place` is its place on a scale of its like."""

    name: Sentence
    place: int | None = None
    order: Order
    trace: Trace


@cache
def deeds() -> tuple[Deed, ...]:
    """Return wrong runs, right ones, and some along a scale.

    They are made from the teaching site's own right run, so that one and the same deed is judged by both wards.
    """
    return tuple(_done())


def _done() -> Iterator[Deed]:
    plan = plan_dose(demonstration_order(), teaching_site())
    made = [wrong_run(name, plan) for name in WRONG_RUNS] + [right_variant(name, plan) for name in RIGHT_VARIANTS]
    for one in made:
        yield Deed(name=run_name(one.name), order=one.plan.order, trace=one.trace())
    *drawn, give, discard = right_run(plan)
    held = run(bench_for(plan.order, plan.site), drawn)
    for place, minutes in enumerate(WAITS):
        trace = held
        for action in (Cap("one hand"), LabelSyringe(), LayDown(minutes), Uncap(), give, discard):
            trace = trace.then(action)
        name = sentence("laid down for {count} min", count=minutes)
        yield Deed(name=name, place=place, order=plan.order, trace=trace)
    for place, times in enumerate(ROLLS):
        actions = [Roll(CLOUDY, times) if isinstance(action, Roll) else action for action in right_run(plan)]
        trace = run(bench_for(plan.order, plan.site), actions)
        name = sentence("rolled {count} times", count=times)
        yield Deed(name=name, place=place, order=plan.order, trace=trace)


WAITS = (*range(1, 21), *range(22, 62, 2))
"""Minutes for which the filled syringe is laid down."""

ROLLS = (2, 5, 8, 10, 15, 20, 25, 30, 35, 40, 60)


@kind_of_output("bench findings", sentence("Findings at the bench"))
def list_findings(site: Site) -> Iterator[tuple[Point, object]]:
    """Yield what a review by this ward finds in every run, one and the same run for all wards."""
    for deed in deeds():
        found = review(deed.order, deed.trace, site)
        for given in [one.given for one in found if one.given][:1]:
            after = sentence("after the dose was given")
            yield Point(after, deed.name) if deed.place is None else Point(deed.name, after, deed.place), given
        for finding in found:
            what = run_name(finding.name)
            yield Point(what, deed.name) if deed.place is None else Point(deed.name, what, deed.place), finding


def run_name(name: str) -> Sentence:
    """Return what a run or a finding is called."""
    words = name.replace("-", " ")
    return sentence(words) if words in RUNS else joined((words,))
