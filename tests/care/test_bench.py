"""The bench is physics: nothing is lost, nothing is judged, and what cannot be done says why and changes nothing."""

import math
import pickle
from dataclasses import fields, replace
from random import Random
from typing import ClassVar

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule, run_state_machine_as_test

from mixlab import read_order
from mixlab.care.bench.actions import (
    DrawTo,
    Invert,
    Pierce,
    PullAir,
    PushAir,
    PushBackTo,
    TapBubbles,
    Withdraw,
)
from mixlab.care.bench.bench import ACTIONS, Impossible, Trace, act, run, why_not
from mixlab.care.bench.checking import CHECK_SEES, LABEL_FINDS, SAYS
from mixlab.care.bench.handling import Cap, DiscardVial, Give, LayDown, Roll, Shake, Swab, TakeSyringe, TakeVial, Uncap
from mixlab.care.bench.runs import CLEAR, CLOUDY, OTHER, bench_for, right_run, vial_of
from mixlab.care.bench.vessels import Liquid
from mixlab.care.dosing import plan_dose
from mixlab.quantities import NotAnAmount
from mixlab.ward.insulin import insulins

ORDER = read_order("regular insulin 8 units and NPH insulin 20 units")
PLAN = plan_dose(ORDER)
TAKE, IN_CLEAR = TakeSyringe("0.3-one"), Pierce(CLEAR, "air")
CLOSE = {"abs": 1e-9, "rel": 0}


def bench(**vials):
    return bench_for(ORDER, **vials)


def done(*actions, start=None):
    return run(start or bench(), actions).last


def in_clear(*more):
    """A new syringe whose needle is in the clear vial, upside down."""
    return done(TAKE, IN_CLEAR, Invert(), *more)


def total(state):
    """All liquid and all air there is, wherever it went."""
    held, vials = state.syringe, state.vials.values()
    inside, inside_air = (held.all_liquid, held.all_air_ml) if held else (Liquid(), 0.0)
    liquid = sum([*(vial.liquid for vial in vials), inside, state.given, state.outside], Liquid())
    return liquid, sum(vial.air_ml for vial in vials) + inside_air + state.outside_air_ml


def balance(trace):
    """Nothing is lost and nothing comes but what is taken: a vial, or a syringe whose needle is full of air."""
    for _, action, before, after in trace:
        (liquid, air_ml), (now, now_air_ml) = total(before), total(after)
        if isinstance(action, TakeVial):
            liquid, air_ml = liquid + before.cupboard[action.vial].liquid, air_ml + before.cupboard[action.vial].air_ml
        elif isinstance(action, TakeSyringe):
            air_ml += after.syringe.all_air_ml
        assert now.ml == pytest.approx(liquid.ml, **CLOSE)
        assert now_air_ml == pytest.approx(air_ml, **CLOSE)
        for key in {*now.units, *liquid.units}:
            assert now.of(key) == pytest.approx(liquid.of(key), **CLOSE)


def nothing_is_below_zero(state):
    held = state.syringe
    liquids = [vial.liquid for vial in state.vials.values()]
    amounts = [vial.air_ml for vial in state.vials.values()]
    if held:
        liquids += [held.barrel, held.needle, held.film]
        amounts += [held.air_ml, held.bubbles_ml, held.needle_air_ml]
        assert held.mark <= held.kind.capacity + 1e-6
        dead_ml = state.physics.hub_ml if held.kind.separate_needle else state.physics.dead_ml
        assert held.needle.ml + held.needle_air_ml == pytest.approx(dead_ml)
    amounts += [part for liquid in liquids for part in (liquid.ml, *liquid.units.values())]
    assert min(amounts, default=0) >= -1e-9
    assert all(vial.kpa >= 0 and 0 <= vial.settled <= 1 for vial in state.vials.values())


OFTEN = 4 * [TakeSyringe, Pierce, Invert, DrawTo, Withdraw, PushBackTo, PullAir, PushAir, TakeVial]


def any_action(draw):
    """One of all the actions there are, mostly with marks a person would choose."""
    kind = draw.choice([*ACTIONS.values(), *OFTEN])
    vial = draw.choice([CLEAR, CLOUDY, OTHER, "no such"] if draw.random() < 0.1 else [CLEAR, CLOUDY, OTHER])
    mark = draw.choice([0, 0.5, 1, 4, 8, 20, 28, 30, 31, 50, 100, draw.uniform(0, 40)])
    parts = {
        "vial": vial,
        "tip": draw.choice(["air", "liquid"]),
        "to": mark,
        "mark": mark,
        "finds": draw.choice([*LABEL_FINDS]),
        "sees": draw.choice([*CHECK_SEES]),
        "says": draw.choice([*SAYS]),
        "bubble_ml": draw.choice([0.0, 0.0, 0.014, 0.1]),
        "times": draw.randrange(30),
        "for_s": draw.choice([5, 10]),
        "minutes": draw.choice([1, 10, 90]),
        "hands": draw.choice(["one hand", "two hands"]),
        "kind": draw.choice(["0.3-one", "0.3-half", "1.0-two", "10 mL", "U-40", "separate needle", "no such"]),
    }
    return kind(**{name: parts[name] for name in (field.name for field in fields(kind))})


class AnyRun(RuleBasedStateMachine):
    """Whatever is done in whatever order."""

    tried = 0
    could: ClassVar[set[type]] = set()

    @initialize(strength=st.sampled_from([40.0, 100.0]), below=st.booleans())
    def begin(self, strength, below):
        self.refused = []
        self.state = bench(
            other=vial_of(insulins()["glargine"], strength=strength),
            cloudy=vial_of(insulins()["nph"], sediment_at_stopper=below),
        )

    @rule(seed=st.integers(0, 2**32))
    def do_much(self, seed):
        draw = Random(seed)
        for _ in range(300):
            action = any_action(draw)
            AnyRun.tried += 1
            before = self.state
            try:
                self.state = act(before, action)
                AnyRun.could.add(type(action))
            except Impossible as reason:
                self.refused.append(str(reason))
            else:
                balance(Trace(actions=(action,), states=(before, self.state)))
        assert all(reason.endswith(".") for reason in self.refused)
        if self.state.syringe and self.state.syringe.vial and draw.random() < 0.5:
            self.state = act(self.state, Withdraw())

    @invariant()
    def all_amounts_are_real(self):
        if hasattr(self, "state"):
            nothing_is_below_zero(self.state)


@pytest.mark.parametrize("runs", [2, pytest.param(40, marks=pytest.mark.long)])
def test_any_run(runs):
    """Sample: the first 2 of 40 long runs, in which every action there is was done."""
    AnyRun.tried, AnyRun.could = 0, set()
    health = list(HealthCheck)
    long = settings(
        max_examples=runs, stateful_step_count=20, deadline=None, derandomize=True, suppress_health_check=health
    )
    run_state_machine_as_test(AnyRun, settings=long)
    assert AnyRun.tried >= 2_500 * runs
    assert AnyRun.could == set(ACTIONS.values())


def test_an_action_prints_as_the_words_that_make_it_and_can_be_kept_in_a_set():
    assert repr(DrawTo(8)) == "DrawTo(to=8, bubble_ml=0.0)"
    assert eval(repr(Pierce(CLEAR, "air")), dict(ACTIONS)) == Pierce(CLEAR, "air")
    assert len({DrawTo(8), DrawTo(8), DrawTo(9)}) == 2


def test_undo_replay_and_running_again_give_equal_states():
    trace = run(bench(), right_run(PLAN))
    assert trace.up_to(len(trace) - 1).then(trace.actions[-1]) == trace
    assert run(trace.states[0], trace.actions) == trace
    assert trace.up_to(0) == Trace(actions=(), states=trace.states[:1])
    assert trace.up_to(-3) == trace.up_to(0)


@pytest.mark.parametrize(
    ("actions", "why"),
    [
        ([PullAir(5)], "no syringe in your hand"),
        ([TAKE, PullAir(31)], "The barrel ends at 30"),
        ([TAKE, PullAir(5), PullAir(4)], "stands at 5"),
        ([TAKE, DrawTo(5)], "in no vial"),
        ([TAKE, PushAir()], "no air in the syringe"),
        ([TAKE, TapBubbles()], "no bubble"),
        ([TAKE, PushBackTo(0)], "stands at 0"),
        ([TAKE, Give()], "no insulin in the barrel"),
        ([TAKE, TAKE], "a syringe in your hand"),
        ([TakeSyringe("5 L")], "no syringe '5 L' here"),
        ([TAKE, Cap("one hand"), IN_CLEAR], "The needle is capped"),
        ([TAKE, Uncap()], "no cap"),
        ([TAKE, Invert()], "in no vial"),
        ([TAKE, Pierce("spare", "air")], "no spare vial on the bench"),
        ([Roll("spare", 3)], "no spare vial on the bench"),
        ([TAKE, IN_CLEAR, Pierce(CLOUDY, "air")], "in the clear vial already"),
        ([TAKE, IN_CLEAR, Roll(CLEAR, 3)], "cannot be rolled now"),
        ([TAKE, IN_CLEAR, PullAir(3)], "Take it out to pull room air"),
        ([TAKE, IN_CLEAR, LayDown(3)], "before you lay the syringe down"),
        ([TAKE, IN_CLEAR, DiscardVial(CLEAR)], "cannot be thrown away now"),
        ([TakeVial(CLEAR)], "a clear vial on the bench already"),
        ([TakeVial("spare")], "no spare vial in the cupboard"),
    ],
)
def test_what_cannot_be_done_says_why_and_changes_nothing(actions, why):
    before = run(bench(), actions[:-1]).last
    kept = replace(before)
    with pytest.raises(Impossible, match=why):
        act(before, actions[-1])
    assert why in str(why_not(before, actions[-1]))
    assert before == kept
    with pytest.raises(Impossible, match=f"Step {len(actions)}"):
        run(bench(), actions)


def test_why_something_cannot_be_done_is_a_value():
    empty = done(TakeSyringe("0.3-one"), PullAir(5))
    why = why_not(empty, PullAir(4))
    assert (why.key, dict(why.values)) == (
        "The stopper stands at {mark}: it can only be pulled beyond that.",
        {"mark": 5},
    )
    assert not why_not(empty, PullAir(6))
    with pytest.raises(Impossible) as refused:
        run(empty, [PullAir(6), PullAir(4)])
    assert dict(refused.value.reason.values)["reason"] == why.filled(mark=6)
    assert pickle.loads(pickle.dumps(refused.value)).reason == refused.value.reason


def test_an_empty_vial_gives_nothing():
    vial = vial_of(insulins()["regular"])
    nearly = replace(vial, liquid=Liquid(ml=0.05, units={"regular": 5.0}))
    start = done(TAKE, IN_CLEAR, Invert(), start=bench(clear=nearly))
    with pytest.raises(Impossible, match=r"holds only 0\.05 mL"):
        act(start, DrawTo(8))
    empty = replace(vial, liquid=Liquid())
    with pytest.raises(Impossible, match="no liquid in the clear vial"):
        done(TAKE, Pierce(CLEAR, "liquid"), start=bench(clear=empty))


@pytest.mark.parametrize("bad", [math.nan, math.inf, -1, "8", None, True])
def test_an_amount_that_is_none_is_refused_by_name(bad):
    with pytest.raises(NotAnAmount, match="Write a number of 0 or more"):
        DrawTo(bad)


@pytest.mark.parametrize(("kind", "parts"), [(Pierce, (CLEAR, "up")), (Cap, ("three hands",)), (Roll, (3, 3))])
def test_a_word_the_bench_does_not_know_is_refused(kind, parts):
    with pytest.raises(NotAnAmount, match=r"is not a (tip|hands|vial)"):
        kind(*parts)


@pytest.mark.parametrize("bad", [8, None, "DrawTo(8)", DrawTo])
def test_what_is_no_action_is_refused(bad):
    with pytest.raises(TypeError, match="is not an action"):
        act(bench(), bad)


def test_the_first_draw_brings_the_air_of_the_needle_and_no_bubble_that_would_matter():
    """A fixed needle's dead volume goes into the barrel on the next draw; a bubble has a cause of its own."""
    state = in_clear(DrawTo(8))
    dead_ml = state.physics.dead_ml
    assert state.syringe.mark == pytest.approx(8)
    assert state.syringe.bubbles_ml == pytest.approx(dead_ml)
    assert 100 * dead_ml <= 0.2
    assert state.syringe.barrel.of("regular") == pytest.approx(8 - 100 * dead_ml)
    assert in_clear(DrawTo(8, bubble_ml=0.014)).syringe.bubbles_ml == pytest.approx(0.014 + dead_ml)
    cleared = run(state, [TapBubbles(), DrawTo(8)]).last
    assert cleared.syringe.bubbles_ml == 0
    assert cleared.syringe.barrel.of("regular") == pytest.approx(8)


def test_a_tip_in_the_air_draws_air():
    state = done(TAKE, IN_CLEAR, DrawTo(8))
    assert state.syringe.air_ml == pytest.approx(0.08)
    assert not state.syringe.barrel.units


def test_what_is_pushed_out_in_the_open_is_lost():
    trace = run(bench(), [TAKE, IN_CLEAR, Invert(), DrawTo(20), TapBubbles(), Withdraw(), PushBackTo(10)])
    assert trace.last.outside.of("regular") > 7
    balance(trace)


def test_a_vial_with_hardly_any_air_gives_no_more_than_it_has():
    start = bench(cloudy=replace(vial_of(insulins()["nph"]), air_ml=0.02))
    trace = run(start, [Shake(CLOUDY), TAKE, Pierce(CLOUDY, "air"), Invert(), DrawTo(28, 0.014)])
    assert trace.last.vials[CLOUDY].air_ml == pytest.approx(0)
    balance(trace)


def test_what_the_hub_held_comes_out_first_and_the_mixture_stays_in_it():
    clear = [TakeSyringe("separate needle"), IN_CLEAR, Invert(), DrawTo(8), TapBubbles(), DrawTo(8)]
    state = done(Roll(CLOUDY, 40), *clear, Withdraw(), Pierce(CLOUDY, "air"), Invert(), DrawTo(28))
    assert state.syringe.needle.of("nph") == pytest.approx(4.9, abs=0.05)
    back = act(state, PushBackTo(18))
    share = back.syringe.barrel.of("regular") / back.syringe.barrel.ml
    assert back.syringe.needle.of("regular") / back.syringe.needle.ml == pytest.approx(share)


def test_what_a_needle_holds_comes_into_the_barrel_with_the_next_draw_and_not_into_the_vial():
    clear = [TAKE, IN_CLEAR, Invert(), DrawTo(8), TapBubbles(), DrawTo(8), Withdraw()]
    state = done(Roll(CLOUDY, 20), *clear, Pierce(CLOUDY, "air"), Invert(), DrawTo(28))
    dead = 100 * state.physics.dead_ml
    assert state.syringe.barrel.of("regular") == pytest.approx(8 + dead, abs=0.03)
    assert state.syringe.barrel.of("nph") == pytest.approx(20 - dead, abs=0.03)
    assert 0 < state.vials[CLOUDY].liquid.of("regular") < 0.05  # what clung to the tip


@pytest.mark.parametrize("parts", [(6,), (2, 4), (1, 1, 1, 3), (20,)])
def test_rolling_in_parts_makes_a_vial_as_even_as_rolling_at_once(parts):
    assert done(*(Roll(CLOUDY, part) for part in parts)).vials[CLOUDY].settled == pytest.approx(0, abs=1e-6)


def test_settling_after_rolling_is_away_from_the_stopper_again():
    upside = bench(cloudy=vial_of(insulins()["nph"], sediment_at_stopper=True))
    state = done(Roll(CLOUDY, 20), LayDown(300), start=upside)
    assert not state.vials[CLOUDY].sediment_at_stopper
    assert state.vials[CLOUDY].settled > 0.99


def test_a_full_vial_takes_no_more():
    small = bench(cloudy=replace(vial_of(insulins()["nph"]), inner_ml=10.1))
    start = run(small, [TAKE, IN_CLEAR, Invert(), DrawTo(20), Withdraw(), Pierce(CLOUDY, "air")]).last
    with pytest.raises(Impossible, match="The cloudy vial is full"):
        act(start, PushBackTo(0))


def test_shaking_makes_froth_that_goes_with_time():
    shaken = done(Shake(CLOUDY))
    assert shaken.vials[CLOUDY].froth == pytest.approx(0.1, rel=0.01)
    assert shaken.vials[CLOUDY].settled == pytest.approx(0, abs=1e-6)
    assert run(shaken, [LayDown(10)]).last.vials[CLOUDY].froth == pytest.approx(0.05, rel=0.02)
    assert done(Shake(CLEAR), LayDown(100)).vials[CLEAR].froth < 0.001


def test_a_bare_needle_laid_down_is_touched_and_a_capped_one_is_not():
    assert done(TAKE, LayDown(1)).syringe.touched
    assert not done(TAKE, Cap("one hand"), LayDown(1)).syringe.touched


def test_a_discarded_vial_is_gone_and_a_new_one_is_as_fresh_as_the_cupboard():
    trace = run(bench(), [DiscardVial(CLEAR), TakeVial(CLEAR)])
    assert CLEAR not in trace.states[1].vials
    assert trace.last.vials[CLEAR].liquid == bench().vials[CLEAR].liquid
    balance(trace)


def test_the_clock_counts_what_takes_time():
    assert done(LayDown(7)).clock_s == 420
    assert done(Swab(CLEAR, 10)).clock_s == 10
    assert done(Roll(CLOUDY, 20)).clock_s == 20
