"""The law of the barrel: in runs altered at random no wrong dose passes, and no finding says what its amounts deny."""

import re
from dataclasses import fields, replace
from functools import cache
from random import Random

import pytest

from mixlab import read_order
from mixlab.care.bench.actions import DrawTo, Invert, Pierce, PullAir, PushAir, PushBackTo, TapBubbles, Withdraw
from mixlab.care.bench.bench import Impossible, run
from mixlab.care.bench.handling import DiscardSyringe, Give, LayDown, Roll, Shake, TakeSyringe
from mixlab.care.bench.runs import CLEAR, CLOUDY, OTHER, bench_for, right_run, vial_of
from mixlab.care.bench.variants import WRONG_RUNS, wrong_run
from mixlab.care.dosing import plan_dose
from mixlab.care.review.findings import review
from mixlab.care.review.run_record import NEEDLE_UNITS
from mixlab.care.review.sizes import BENDS, BOTH, SIZES
from mixlab.ward.insulin import insulins

ORDERS = [
    read_order(text)
    for text in (
        "regular insulin 8 units and NPH insulin 20 units",
        "NPH insulin 26 units and regular insulin 14 units",
        "insulin lispro 6 units and NPH insulin 18 units",
        "regular insulin 3 units and NPH insulin 7 units",
    )
]
SAYS = {
    **BENDS,
    **SIZES,
    **dict.fromkeys(("wrong-vial", "long-acting-in-the-mix", "premixed-in-the-mix", "one-insulin-missing"), BOTH),
}
"""The findings about a dose, and of which insulins they speak."""


@cache
def starts(number):
    """Right and wrong runs of an order, from which an altered one begins."""
    plan = plan_dose(ORDERS[number])
    made = [right_run(plan)]
    for name in WRONG_RUNS:
        try:
            made.append(wrong_run(name, plan).actions)
        except Impossible:
            continue
    return made


def any_action(draw):
    """One action with marks and vials that a person might choose."""
    parts = {
        "vial": draw.choice([CLEAR, CLOUDY, CLEAR, CLOUDY, OTHER]),
        "tip": draw.choice(["air", "air", "liquid"]),
        "to": draw.choice([0, 1, 4, 6, 8, 10, 14, 20, 24, 26, 28, 30, draw.randrange(50)]),
        "bubble_ml": draw.choice([0.0, 0.0, 0.014]),
        "times": draw.randrange(12),
        "minutes": draw.choice([1, 5, 12, 30]),
        "kind": draw.choice(["0.3-one", "0.3-half", "0.5-one", "1.0-two", "10 mL", "U-40", "separate needle"]),
    }
    often = [Pierce, Invert, DrawTo, DrawTo, Withdraw, PushBackTo, PushBackTo, PullAir, PushAir, TapBubbles]
    kind = draw.choice([*often, TakeSyringe, DiscardSyringe, LayDown, Roll, Shake, Give])
    return kind(**{one.name: parts[one.name] for one in fields(kind)})


def altered(draw):
    """An order, a bench and a run: a right or a wrong one with up to four things changed; what cannot be done is left out."""
    number = draw.randrange(len(ORDERS))
    actions = list(draw.choice(starts(number)) if draw.random() < 0.5 else starts(number)[0])
    for _ in range(draw.randrange(5)):
        at = draw.randrange(len(actions))
        match draw.choice(["drop", "again", "swap", "other", "mark", "vial"]):
            case "drop":
                del actions[at]
            case "again":
                actions.insert(at, draw.choice(actions))
            case "swap":
                to = draw.randrange(len(actions))
                actions[at], actions[to] = actions[to], actions[at]
            case "other":
                actions.insert(at, any_action(draw))
            case "mark":
                drawn = [spot for spot, one in enumerate(actions) if hasattr(one, "to")]
                if drawn:
                    spot = draw.choice(drawn)
                    actions[spot] = replace(actions[spot], to=any_mark(draw, actions[spot].to))
            case "vial":
                if hasattr(actions[at], "vial"):
                    actions[at] = replace(actions[at], vial=draw.choice([CLEAR, CLOUDY, OTHER]))
    vials = {OTHER: vial_of(insulins()[draw.choice(["glargine", "lispro", "premixed-70-30"])])}
    if draw.random() < 0.1:
        vials[CLOUDY] = vial_of(insulins()["nph"], sediment_at_stopper=True, strength=draw.choice([100.0, 40.0]))
    trace = run(bench_for(ORDERS[number], **vials))
    for action in actions:
        try:
            trace = trace.then(action)
        except Impossible:
            continue
    return ORDERS[number], trace


def any_mark(draw, mark):
    return max(0, draw.choice([0, mark - 4, mark - 1, mark + 1, mark + 2, mark + 8, 2 * mark]))


def faults_of(order, trace):
    """Everything in which a review of a run goes against the law."""
    findings = review(order, trace)
    names = {one.name for one in findings}
    assert not any("+0.0 %" in str(one.amount) or "-0.0 %" in str(one.amount) for one in findings), "of nothing"
    gave = next(((one, before) for _, one, before, _ in trace if isinstance(one, Give)), None)
    if gave is None:
        return
    held = gave[1].in_hand()
    close = held.kind.step / 2
    off = {dose.insulin.look: trace.last.given.of(dose.insulin.key) - float(dose.units) for dose in order.doses}
    for look, amount in off.items():
        if abs(amount) > close and not any(look in SAYS.get(name, ()) for name in names):
            yield f"{look} is off by {amount:.2f}, and nothing speaks of it"
        dose = next(float(one.units) for one in order.doses if one.insulin.look == look)
        if dose + amount <= min(NEEDLE_UNITS, dose / 2) and not names & SAYS.keys():
            yield f"{look} is missing, and nothing is said"
    in_barrel = {dose.insulin.look: held.barrel.of(dose.insulin.key) - float(dose.units) for dose in order.doses}
    clear, cloudy = in_barrel["clear"], in_barrel["cloudy"]
    agrees = {
        "doses-swapped": min(abs(clear), abs(cloudy)) > close and (clear > 0) != (cloudy > 0),
        "same-insulin-twice": min(abs(clear), abs(cloudy)) > close and (clear > 0) != (cloudy > 0),
        "clear-dose-off": abs(clear) > close,
        "cloudy-dose-off": abs(cloudy) > close,
        "cloudy-overdrawn": cloudy > close,
        "drawn-to-the-second-number": cloudy < -close and abs(clear) <= close,
    }
    yield from (
        f"{name} beside clear {clear:+.2f}, cloudy {cloudy:+.2f}" for name in names if not agrees.get(name, True)
    )
    yield from wrongly_graded(order, trace, findings, close)


STEPS = {
    "too-much": ["stay", "measure-now", "call", "treat-as-told", "watch", "hand-over", "report"],
    "too-little": ["measure-now", "tell", "no-top-up", "report"],
    "process": ["tell-the-nurse", "report"],
}
"""What is done after a wrong dose, in the order in which it is done (common practice, no source)."""

ANOTHER = re.compile(r"(start|begin|draw|drawn|prepare|prepared) (up )?(again|anew)")
"""What asks for another dose."""


def grade_of(order, trace, close):
    """The grade that the amounts injected in all ask for, computed here and nowhere else."""
    ordered = {one.insulin.key: float(one.units) for one in order.doses}
    injected = trace.last.given.units
    if any(units > ordered.get(key, 0) + close for key, units in injected.items()):
        return "too-much"
    return "too-little" if any(injected.get(key, 0) < units - close for key, units in ordered.items()) else "process"


def wrongly_graded(order, trace, findings, close):
    """A given dose whose grade, steps or findings are not those that its amounts ask for."""
    graded, meant = {one.given for one in findings if one.given}, grade_of(order, trace, close)
    if [(one.grade, [*one.steps]) for one in graded] not in (
        [(meant, STEPS[meant])],
        [] if meant == "process" else None,
    ):
        yield f"graded {[(one.grade, one.steps) for one in graded]} and not {meant}"
    for one in findings:
        before, *_ = str(one.do).partition("Next time, before giving:")
        told = re.sub(r"Not given yet: [^.]*\.|a dose not given yet [^.]*\.", "", before)
        if was_given(trace, one.step) and (one.now == "discard and start again" or ANOTHER.search(told)):
            yield f"{one.name} asks for another dose once this one is given: {told}"
        if one.given and one.now != "tell someone":
            yield f"{one.name} tells nobody of a given dose"


def was_given(trace, step):
    """Whether the syringe in hand at a step was given later, or at that step."""
    for number, action, *_ in trace:
        if number >= step and isinstance(action, Give):
            return True
        if number > step and isinstance(action, TakeSyringe | DiscardSyringe):
            return False
    return False


@pytest.mark.parametrize("runs", [300, pytest.param(10_000, marks=pytest.mark.long)])
def test_no_wrong_dose_passes_and_every_finding_agrees_with_its_amounts(runs):
    """Sample: the first 300 of 10,000 altered runs."""
    bad, given, wrong = [], 0, 0
    for seed in range(runs):
        order, trace = altered(Random(seed))
        given += bool(trace.last.given.ml)
        faults = list(faults_of(order, trace))
        wrong += any(abs(trace.last.given.of(one.insulin.key) - float(one.units)) > 0.5 for one in order.doses)
        bad += [(seed, fault) for fault in faults]
    assert bad == []
    assert given > runs / 2
    assert wrong > runs / 4  # the altered runs really are wrong
