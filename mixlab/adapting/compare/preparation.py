"""What a site says of preparing a dose: concerns, plans, syringes, the right run, and what is found wrong at the bench."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache

from mixlab.care.bench.bench import Trace, run
from mixlab.care.bench.getting_ready import Roll
from mixlab.care.bench.handling import Cap, LabelSyringe, LayDown, Uncap
from mixlab.care.bench.right_variants import RIGHT_VARIANTS, right_variant
from mixlab.care.bench.runs import CLOUDY, bench_for, right_run
from mixlab.care.bench.variants import WRONG_RUNS, wrong_run
from mixlab.care.dosing import CannotPrepare, FinerThanAnyLine, Plan, TooMuchForAnySyringe, choose_syringe, plan_dose
from mixlab.care.order.checking import order_concerns
from mixlab.care.order.concern import Concern
from mixlab.care.review.findings import Finding, review
from mixlab.pages.bench import step_words
from mixlab.pages.order import KINDS
from mixlab.panels.bench.words import RUNS
from mixlab.quantities import units_text
from mixlab.ward.insulin import insulins
from mixlab.ward.order.order import Dose, Order, OrderError
from mixlab.ward.order.reading import read_order
from mixlab.ward.site.record import Site, teaching_site
from mixlab.words import say, sentence, speaking

from .decisions import demonstration_order
from .outputs import Point, as_read, each_once, kind_of_output, named

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


@kind_of_output("concerns", title=sentence("Concerns about an order").key)
def list_concerns(site: Site) -> Mapping[str, str]:
    """Return every concern about every order, by the words it is about."""
    usual = read_order(ORDERS[0])
    return each_once(
        (Point(_concern_name(one), text), str(one))
        for text in ORDERS
        for one in order_concerns(text, usual=usual, site=site)
    )


def _concern_name(one: Concern) -> str:
    with as_read():
        if not one.text:
            return say("{kind}: {name}", kind=say(KINDS[one.kind]), name=one.name)
        return say("{kind}, “{words}”", kind=say(KINDS[one.kind]), words=" ".join(one.text.split()))


def _pairs() -> Iterator[Order]:
    for one, few, other, more in PAIRS:
        yield Order(doses=(Dose(insulin=insulins()[one], units=few), Dose(insulin=insulins()[other], units=more)))


@kind_of_output("preparation", title=sentence("Steps, marks and air of a dose").key)
def list_preparations(site: Site) -> Mapping[str, str]:
    """Return every step, mark and amount of air of every order, or why it is refused."""

    def parts() -> Iterator[tuple[str, str]]:
        for order in _pairs():
            name = named(sentence("{order}").key, order=order)
            try:
                plan = plan_dose(order, site)
            except (CannotPrepare, OrderError) as refusal:
                yield Point(named(sentence("refused").key), name), str(refusal)
                continue
            yield from _parts_of(plan, name)

    return each_once(parts())


def _parts_of(plan: Plan, name: str) -> Iterator[tuple[str, str]]:
    yield Point(named(sentence("syringe").key), name), str(plan.syringe.name)
    yield Point(named(sentence("mark of the clear insulin").key), name), str(units_text(plan.clear_mark))
    yield Point(named(sentence("mark of both").key), name), str(units_text(plan.total_mark))
    yield Point(named(sentence("air into the cloudy vial").key), name), str(units_text(plan.air_into_cloudy))
    yield Point(named(sentence("air into the clear vial").key), name), str(units_text(plan.air_into_clear))
    for step in plan.steps:
        key = Point(named(sentence("step '{step}'").key, step=step.key.replace("_", " ")), name)
        yield key, "\n".join(map(str, (step, step.why, step.source)))


TOTALS = {
    sentence("both doses even").key: (2.0, [float(total) for total in range(4, 121, 2)]),
    sentence("an odd clear dose").key: (1.0, [float(total) for total in range(2, 121)]),
    sentence("a half unit in the clear dose").key: (1.5, [total + 0.5 for total in range(2, 120)]),
}
"""Totals by what lines they ask for, each with its clear dose; units."""

_ROOM_ON_SCALE = 1000
"""More than any class has totals, so that the last of one class is no neighbour of the first of the next."""


NO_SYRINGE: dict[type[CannotPrepare], str] = {
    FinerThanAnyLine: sentence("no syringe has a line at both marks").key,
    TooMuchForAnySyringe: sentence("no syringe holds so much").key,
}


@kind_of_output("syringes", title=sentence("Syringe taken for each total").key)
def list_syringes(site: Site) -> Mapping[str, str]:
    """Return the syringe for every total up to 120 units, or why there is none; `list_preparations` has the sentences."""

    def chosen() -> Iterator[tuple[str, str]]:
        for number, (words, (clear, totals)) in enumerate(TOTALS.items()):
            for place, total in enumerate(totals, number * _ROOM_ON_SCALE):
                try:
                    text = str(choose_syringe(clear, total, site).name)
                except CannotPrepare as refusal:
                    text = say(NO_SYRINGE[type(refusal)])
                with as_read():
                    at = say("{total}, of them {clear} clear", total=units_text(total), clear=units_text(clear))
                yield Point(at, named(words), place), text

    return dict(chosen())


@kind_of_output("the right run", title=sentence("The right run at the bench, step by step").key)
def list_right_run(site: Site) -> Mapping[str, str]:
    """Return what is done in a right run of this ward, and what its own review says."""
    plan = plan_dose(demonstration_order(), site)
    trace = run(bench_for(plan.order, site), right_run(plan))
    with as_read():
        names = [str(step_words(action, after)) for _, action, _, after in trace]
    steps = [(name, str(step_words(action, after))) for name, (_, action, _, after) in zip(names, trace, strict=True)]
    found = [
        (named(sentence("found: {finding}").key, finding=run_name(one.name)), finding_text(one))
        for one in review(plan.order, trace, site)
    ]
    return each_once([*steps, *found])


@dataclass(frozen=True, kw_only=True)
class Deed:
    """Something done at the bench whatever the ward; `place` is its place on a scale of its like.

    Its `name` is that of a run, or marked for the catalogue with a place for how many; `called` says it.
    """

    name: str
    place: int | None = None
    count: int = 0
    order: Order
    trace: Trace


@cache
def deeds() -> tuple[Deed, ...]:
    """Return wrong runs, right ones, and some along a scale.

    They are made from the teaching site's own right run, so that one and the same deed is judged by both wards.
    """
    with speaking(teaching_site().voice):
        return tuple(_done())


def _done() -> Iterator[Deed]:
    plan = plan_dose(demonstration_order(), teaching_site())
    made = [wrong_run(name, plan) for name in WRONG_RUNS] + [right_variant(name, plan) for name in RIGHT_VARIANTS]
    for one in made:
        yield Deed(name=one.name, order=one.plan.order, trace=one.trace())
    *drawn, give, discard = right_run(plan)
    held = run(bench_for(plan.order, plan.site), drawn)
    for place, minutes in enumerate(WAITS):
        trace = held
        for action in (Cap("one hand"), LabelSyringe(), LayDown(minutes), Uncap(), give, discard):
            trace = trace.then(action)
        name = sentence("laid down for {count} min").key
        yield Deed(name=name, place=place, count=minutes, order=plan.order, trace=trace)
    for place, times in enumerate(ROLLS):
        actions = [Roll(CLOUDY, times) if isinstance(action, Roll) else action for action in right_run(plan)]
        trace = run(bench_for(plan.order, plan.site), actions)
        name = sentence("rolled {count} times").key
        yield Deed(name=name, place=place, count=times, order=plan.order, trace=trace)


WAITS = (*range(1, 21), *range(22, 62, 2))
"""Minutes for which the filled syringe is laid down."""

ROLLS = (2, 5, 8, 10, 15, 20, 25, 30, 35, 40, 60)


@kind_of_output("bench findings", title=sentence("Findings at the bench").key)
def list_findings(site: Site) -> Mapping[str, str]:
    """Return what a review by this ward finds in every run, one and the same run for all wards."""
    return each_once(
        (_finding_name(deed, run_name(finding.name)), finding_text(finding))
        for deed in deeds()
        for finding in review(deed.order, deed.trace, site)
    )


def _finding_name(deed: Deed, finding: str) -> Point:
    name = called(deed)
    return Point(finding, name) if deed.place is None else Point(name, finding, deed.place)


def run_name(name: str) -> str:
    """Return a run or a finding by its name, in the words of who reads."""
    return named(RUNS[name]) if name in RUNS else name.replace("-", " ")


def called(deed: Deed) -> str:
    """Return what was done at the bench, in the words of who reads."""
    return run_name(deed.name) if deed.place is None else named(deed.name, count=deed.count)


def finding_text(finding: Finding) -> str:
    """Return all that is said of a finding, a line each."""
    return "\n".join(
        str(line)
        for line in (
            finding,
            finding.dose,
            finding.patient,
            finding.vial,
            say(finding.now),
            finding.rule,
            finding.doubt,
        )
    )
