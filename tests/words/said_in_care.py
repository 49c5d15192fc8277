"""What is said of orders, readings and the bench: rows of a text and the words in it that come from elsewhere."""

import itertools
import json
import math
import re
import tempfile
import unicodedata
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import get_args

import pytest
from brackets import SITES, cases, tables

from mixlab import plan_dose, read_order
from mixlab.adapting.compare.outputs import REFUSALS
from mixlab.care.bench.actions import DrawTo, Invert, Pierce, PushBackTo, Withdraw
from mixlab.care.bench.bench import act, run, why_not
from mixlab.care.bench.checked_runs import AT_RANDOM, SYRINGES, TRAPS, syringe_to_check, trap_vials
from mixlab.care.bench.checking import CHECK_SEES, LABEL_FINDS, SAYS, SayCheck, SayLabel
from mixlab.care.bench.handling import Cap, CleanHands, DiscardSyringe, Give, LetDry, Roll, Shake, Swab, TakeSyringe
from mixlab.care.bench.runs import CLEAR, CLOUDY, bench_for, right_run, vial_of
from mixlab.care.bench.saved_attempt import CannotReplay, load_attempt, save_attempt
from mixlab.care.bench.variants import WRONG_RUNS, wrong_run
from mixlab.care.bench.vessels import CONDITIONS, HANDS, TIPS, VIAL_PLACES, Liquid, VialCondition
from mixlab.care.day.parts import Window
from mixlab.care.order.checking import order_concerns
from mixlab.care.order.comparisons import first_time
from mixlab.care.order.lesson import ban_on_the_lesson
from mixlab.care.review.findings import NOW, judge_check, review
from mixlab.facts.reading import the_facts
from mixlab.quantities import (
    ClockTime,
    Glucose,
    exact_units,
    meter_reading,
    minutes_text,
    ml_text,
    number_text,
    read_clock,
    units_text,
)  # fmt: skip
from mixlab.ward.insulin import insulins
from mixlab.ward.meal import Meal
from mixlab.ward.meter import read_meter
from mixlab.ward.observation import Earlier, Observation
from mixlab.ward.order.notation import look_over
from mixlab.ward.order.order import Ambiguous, Dose, Misspelt, Order
from mixlab.ward.order.problems import LONGEST_TEXT, find_problems
from mixlab.ward.site.values.choices import mixable
from mixlab.ward.syringe import syringes
from mixlab.words import sentence

Rows = Iterator[tuple[object, ...]]

DOSE = "regular insulin 8 units and NPH insulin 20 units"
PLAIN = read_order(DOSE)
TEACHING, MMOL = SITES[0], next(site for site in SITES if site.glucose_unit == "mmol/L")
TAIL = " subcut before breakfast"


def refused(make: Callable[..., object], *parts: object) -> str:
    with pytest.raises((*REFUSALS, CannotReplay)) as why:
        make(*parts)
    return str(why.value)


def order_of(first: str, clear: object, second: str, cloudy: object) -> Order:
    return Order(doses=(Dose(insulin=insulins()[first], units=clear), Dose(insulin=insulins()[second], units=cloudy)))


def lessons() -> Rows:
    """What a lesson begins with where a ward forbids its pair, or every pair."""
    for pairs in (("regular + nph",), mixable()):
        apart = replace(TEACHING, name="Annex C", never_mix=pairs)
        yield ban_on_the_lesson(apart), apart.name


# Orders, readings and amounts


def quoted(text: object, *places: object) -> list[str]:
    """Return what may be quoted of a text: the words at its place, and the times, whole or shortened."""
    if not isinstance(text, str):
        return []
    seen = look_over(text)
    times = [
        seen.typed(phrase)
        for phrase in seen.of("when", "clock", "half clock", "part of the day", "how often", "route", "meal")
    ]
    pieces = [*times, *(text[slice(*place)] for place in places if place)]
    return [way for one in pieces for way in (one, one.strip(), " ".join(one.split()), one[:40]) if len(way) > 1]


def times_read(text: str) -> list[str]:
    """Return the two times of an order as they are read, which need not be as they are typed."""
    order = read_order(text)
    return [first_time(order), str(order.again)]


def words_meant(problem: object) -> list[str]:
    """Return the words of an order that a slip may stand for: those, like the words typed, are never translated."""
    return re.findall(r"'(\w+)'", str(problem.meant)) if isinstance(problem, Misspelt) else []


def problems() -> Rows:
    orders = tables("ward/orders.py")
    hidden = ("regular insulin ï¿¾8\u2060 units", "regular insulin 8\u20650 units")
    for text in (
        *(row[0] for row in orders["REFUSED"]),
        *tables("ward/judged_orders.py")["REFUSED"],
        *tables("ward/judged_orders_second.py")["REFUSED"],
        *orders["fuzzed"](400),
        None,
        *hidden,
        "x" * (LONGEST_TEXT + 1),
    ):
        letters = [unicodedata.name(letter, "").lower() for letter in text or ""]
        for problem in find_problems(text):
            said = (*quoted(text, problem.place), *words_meant(problem))
            said = (*said, *(word for each in said for word in each.split()))  # a slip is quoted alone
            yield problem, *said, *(name for name in letters if name and f"⟧{name}⟦" in str(problem))
            if isinstance(problem, Ambiguous):
                yield from ((reading, *said) for reading in problem.readings)
    two_clear = order_of("regular", 8, "lispro", 8)
    yield (refused(lambda: two_clear.clear),)
    yield from ((dose,) for dose in two_clear.doses)


def concerns() -> Rows:
    usual = read_order(f"{DOSE} subcut 30 minutes before breakfast")
    lispro = read_order("insulin lispro 8 units and NPH insulin 20 units")
    doses = ((80, 20), (0.8, 20), (84, 20), (88, 20), (8, 2), (8, 220), (16, 20), (4, 20), (20, 8))
    half, four = (read_order(f"regular {units} units and NPH 20 units") for units in (5.5, 4))
    never = replace(TEACHING, name="ward 5", never_mix=("regular + nph",))
    asked = [
        *((f"regular insulin {one} units and NPH insulin {other} units{TAIL}", usual, None) for one, other in doses),
        ("regular insulin 0.5 units and NPH insulin 20 units", half, None),
        ("regular insulin 44 units and NPH insulin 20 units", four, None),
        (f"insulin aspart 80 units and NPH insulin 20 units{TAIL}", lispro, None),
        (f"insulin glargine 8 units and NPH insulin 20 units{TAIL}", usual, None),
        (f"insulin detemir 8 units and insulin lispro 6 units{TAIL}", None, None),
        (f"regular insulin 8 units and insulin lispro 20 units{TAIL}", None, None),
        (f"regular insulin 8 units U-500 and NPH insulin 20 units{TAIL}", None, None),
        *(
            (f"{insulin} 8 units and NPH insulin 20 units subcut {when}", None, None)
            for insulin in ("regular insulin", "insulin lispro")
            for when in ("at bedtime", "after supper", "20 minutes before lunch", "an hour before breakfast")
        ),
        ("y" * (LONGEST_TEXT + 1), None, None),
        (None, None, None),
        *((row.example, None, None) for row in the_facts().notation.values()),
        *((text, usual, None) for text, _ in tables("care/test_concerns.py")["PROVOKED"].values()),
        *((text, None, None) for text in tables("ward/judged_orders.py")["SAID"]),
        (f"{DOSE} subcut 30 minutes before breakfast", None, never),
    ]
    for text, known, site in asked:
        for one in order_concerns(text, usual=known, site=site):
            said = (*quoted(text, one.place), "ward 5", *(times_read(text) if one.key == "two-times" else ()))
            yield one, *said, one.source
            yield from ((words, *said) for words in (one.name, one.misread_as, one.write, one.risk, one.source))
    for one in order_concerns(f"{DOSE} subcut 30 minutes before brekfast", usual=None, site=TEACHING):
        yield one.name, "brekfast", "breakfast"


def readings_and_amounts() -> Rows:
    for text, site, _ in tables("ward/test_meter.py")["REFUSED"]:
        typed = text.strip()
        yield refused(read_meter, text, site), typed, repr(typed), "98 mg/dL", "5.4 mmol/L"
    for text, site in (("5.4", TEACHING), ("98", MMOL), (98, TEACHING)):
        yield refused(read_meter, text, site), "98 mg/dL", "5.4 mmol/L"
    for found, _ in tables("ward/test_observation.py")["BAD"].values():
        said = [each for value in found.values() for each in (value if isinstance(value, tuple | set) else (value,))]
        said = [str(each) for each in said if len(str(each)) > 1]
        yield (
            refused(lambda found=found: Observation(**found)),
            *found,
            *the_facts().signs,
            "awake, drowsy, unresponsive",
            *said,
            "nan",
        )
    for glucose, hours in ((64, 3), (None, 3), (Glucose(64, "mg/dL"), -1)):
        yield refused(Earlier, glucose, hours), "None"
    for make, *value in (
        *((Glucose, value, "mg/dL") for value in (-1, 1e7, math.nan, "98")),
        (Glucose, 98, "mg"),
        (meter_reading, 69.5, "mg/dL"),
        (exact_units, "8"),
        (exact_units, math.inf),
        (read_clock, "25:30"),
        (lambda grams: Meal(name="breakfast", at="08:00", grams=grams), -1),
    ):
        yield refused(make, *value), "nan", "inf", "'mg'"
    yield from ((text(number),) for text in (number_text, units_text) for number in (0, 0.5, 1, 8))
    yield from ((ml_text(units),) for units in (1, 28))
    yield from ((minutes_text(minutes),) for minutes in (0, 1, 45, 60, 61, 90, 120, 150))
    times = [ClockTime(minutes) for minutes in (-60, 450, 1500, 3000)]
    yield from ((each,) for each in (*times, Glucose(5.4, "mmol/L"), *syringes().values()))
    yield from ((Window(start=start, end=end),) for start, end in itertools.product(times, times))


# The bench


def plans() -> Rows:
    for clear, cloudy, first in ((8, 20, "regular"), (1, 0.5, "lispro"), (40, 60, "aspart"), (8.5, 20, "glulisine")):
        plan = plan_dose(order_of(first, clear, "nph", cloudy))
        for step in plan.steps:
            yield from ((words,) for words in (step, step.do, step.why, step.source))
        yield from ((kind.name,) for kind in bench_for(plan.order).kinds.values())
    bad = [("regular", units, "nph", 50) for units in (0, -1, 1, math.nan, "8", 8.3, 60, 100)]
    for parts in (*((one, 8, other, 20) for one, other in itertools.product(insulins(), repeat=2)), *bad):
        try:
            plan_dose(order_of(*parts))
        except REFUSALS as why:
            yield why, "nan"
    nph = insulins()["nph"]
    choosy = replace(nph, row=replace(nph.row, mixing=replace(nph.row.mixing, may_share_with=("lispro",))))
    doses = (Dose(insulin=insulins()["regular"], units=8), Dose(insulin=choosy, units=20))
    yield (refused(lambda: plan_dose(Order(doses=doses))),)
    banned = replace(TEACHING, never_mix=("lispro + nph",))
    yield (refused(lambda: plan_dose(order_of("lispro", 8, "nph", 20), banned)),)


def reviews() -> Rows:
    plan = plan_dose(PLAIN)
    right = right_run(plan)
    traces = []
    for name in WRONG_RUNS:
        made = wrong_run(name, plan)
        gave = next((at for at, one in enumerate(made.actions) if isinstance(one, Give)), len(made.actions))
        traces += [(made.plan, made.trace().up_to(count)) for count in (gave, len(made.trace()))]
    for actions in (
        *([Swab(CLEAR, times) if one == Swab(CLEAR, 10) else one for one in right] for times in (1, 2)),
        [one for one in right if one != LetDry(CLOUDY)],
        [each for one in right for each in ((one, Cap("two hands")) if isinstance(one, Give) else (one,))],
        [CleanHands()],
    ):
        traces.append((plan, run(bench_for(PLAIN), actions)))
    for condition in get_args(VialCondition):
        spoilt = vial_of(insulins()["regular"], condition=condition, strength=40.0)
        traces.append((plan, run(bench_for(PLAIN, clear=spoilt), right)))
    for each, trace in traces:
        for one in review(each.order, trace, each.site):
            yield one, one.rule
            yield from ((words, one.rule) for words in (NOW[one.now], one.title, one.amount, one.dose))
            yield from ((words, one.rule) for words in (one.patient, one.vial, one.do, one.doubt))
            yield (one.rule,)
            yield from ((words, one.given.rule) for words in ([one.given, one.given.amounts] if one.given else []))
    tables = (VIAL_PLACES, CONDITIONS, TIPS, HANDS, NOW, LABEL_FINDS, CHECK_SEES, SAYS)
    yield from ((one,) for names in tables for one in names.values())
    yield from ((sentence(name),) for name in (*TRAPS, AT_RANDOM))


def checks() -> Rows:
    """What is found of every syringe that a second nurse can be handed, whatever she says of it, and of every label."""
    plan = plan_dose(PLAIN)
    for name, mark, sees, says in itertools.product(SYRINGES, (8, 12), CHECK_SEES, SAYS):
        said = syringe_to_check(plan, name).trace().then(SayCheck(mark, sees, says))
        yield from ((one.amount, one.rule) for one in judge_check(PLAIN, said))
    for name, finds in itertools.product(TRAPS, LABEL_FINDS):
        labels = run(bench_for(PLAIN, **trap_vials(plan, name)), [SayLabel(CLEAR, finds), SayLabel(CLOUDY, finds)])
        yield from ((one.amount, one.rule) for one in review(PLAIN, labels))


def the_impossible() -> Rows:
    inside = [TakeSyringe("0.3-one"), Pierce(CLEAR, "air")]
    more = (Shake(CLEAR), Swab(CLEAR, 3), Give(), Cap("one hand"), DiscardSyringe(), DrawTo(31), DrawTo(0))
    known = cases("care/test_bench.py", "test_what_cannot_be_done_says_why_and_changes_nothing")
    clear = vial_of(insulins()["regular"])
    dry, drawn = replace(clear, liquid=Liquid()), [*inside, Invert(), DrawTo(8)]
    usual = bench_for(PLAIN)
    tried = [
        *((usual, list(actions)) for actions, *_ in known),
        *((usual, [*inside, one]) for one in more),
        (bench_for(PLAIN, clear=replace(clear, liquid=Liquid(ml=0.05, units={"regular": 5.0}))), drawn),
        (bench_for(PLAIN, clear=dry), [drawn[0], Pierce(CLEAR, "liquid")]),
        (bench_for(PLAIN, clear=replace(dry, air_ml=0.01)), [*inside, DrawTo(8)]),
    ]
    for bench, actions in tried:
        data = (*map(repr, actions), "'5 L'", *bench.kinds, "spare")
        yield refused(run, bench, actions), *data
        yield why_not(run(bench, actions[:-1]).last, actions[-1]), *data
    start = run(usual, [TakeSyringe("0.3-one"), Pierce(CLOUDY, "air"), Invert(), DrawTo(20)]).last
    full = start.with_vial(CLEAR, replace(clear, inner_ml=clear.liquid.ml + 0.06))
    yield (refused(act, run(full, [Withdraw(), Pierce(CLEAR, "air")]).last, PushBackTo(0)),)
    typed = ("air, liquid", "one hand, two hands", "'three hands'", "'up'", "DrawTo", "Pierce", "Cap", "Roll")
    typed += ("⟧to⟦", "⟧tip⟦", "⟧hands⟦", "⟧vial⟦")
    for make, *parts in ((DrawTo, "8"), (DrawTo, -1), (Pierce, CLEAR, "up"), (Cap, "three hands"), (Roll, 3, 3)):
        yield refused(make, *parts), *typed


def attempts() -> Rows:
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "attempt.json"
        data = (folder, file.name, "practice", "Is a directory", "vials", "site", "actions", "⟧order⟦")

        def told(content: str | None = None, site: object = None) -> tuple[str, ...]:
            if content is not None:
                file.write_text(content)
            return refused(lambda: load_attempt(file).trace(site)), *data

        for content, _ in cases("care/test_attempt.py", "test_a_bad_file_is_named_in_one_sentence"):
            yield told(content)
        save_attempt(file, DOSE, run(bench_for(PLAIN), [CleanHands()]))
        yield told(site=replace(TEACHING, name="practice"))
        saved = json.loads(file.read_text())
        yield told(json.dumps(saved | {"actions": [{"do": "PushAir"}]}))
        yield told(json.dumps(saved | {"order": ""}))
        file.unlink()
        yield told()
        file.mkdir()
        yield told()
