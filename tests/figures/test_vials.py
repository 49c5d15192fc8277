"""The drawn bench without pixels: what stands where, and what is told closed and open."""

import re
from dataclasses import replace

import numpy as np
import pytest
from drawings import boxes, moves_as_drawn_anew, parts, reach, words_on_words, words_outside

from mixlab import plan_dose, read_order
from mixlab.care.bench.actions import DrawTo, Invert, Pierce, PullAir, PushAir
from mixlab.care.bench.bench import Bench, run
from mixlab.care.bench.handling import DiscardSyringe, DiscardVial, TakeSyringe
from mixlab.care.bench.runs import TRAP_SYRINGES, bench_for, right_run
from mixlab.care.bench.variants import WRONG_RUNS, wrong_run
from mixlab.care.bench.vessels import Held, Liquid, SyringeKind, usual_physics
from mixlab.figures import style
from mixlab.figures.syringe import bench as vials
from mixlab.figures.syringe.bench_words import (
    describe_bench,
    is_cloudy,
    label_words,
    look_words,
)
from mixlab.figures.syringe.in_hand import mark_text

PLAN = plan_dose(read_order("regular insulin 8 units and NPH insulin 20 units"))
BENCH = bench_for(PLAN.order)
RIGHT = run(BENCH, right_run(PLAN))
KINDS = list(BENCH.kinds.values())


def draw(bench, inside=False, size=style.ROOM):
    return parts(vials.draw_bench(bench, size, inside))


def span(box):
    low, high = box.get_xy().min(axis=0), box.get_xy().max(axis=0)
    return low[0], high[0], low[1], high[1]


def height(box):
    return np.ptp(box.get_xy()[:, 1])


def width(box):
    return np.ptp(reach(box))


def after(kind, trace=RIGHT):
    """The bench after the last action of a kind."""
    return [state for _, action, _, state in trace if isinstance(action, kind)][-1]


def holding(kind, **inside):
    held = replace(Held.new(kind, usual_physics()), **inside)
    return replace(BENCH, syringe=held)


def words(found):
    return [one.get_text() for one in found.values() if hasattr(one, "get_text") and one.get_text()]


def test_the_level_is_the_share_of_the_vial_that_is_liquid():
    for state in (BENCH, RIGHT.last):
        found = draw(state)
        vial = state.vials["clear"]
        assert height(found["vial-0-clear"]) == pytest.approx(
            height(found["vial-0-glass"]) * vial.liquid.ml / vial.inner_ml
        )


def test_a_vial_upside_down_has_its_stopper_below_and_its_liquid_at_the_stopper():
    clear = next(state for _, action, _, state in RIGHT if isinstance(action, Invert))
    found = draw(clear)
    _, _, low, high = span(found["vial-0-stopper"])
    assert high <= span(found["vial-0-glass"])[2]
    assert span(found["vial-0-clear"])[2] == span(found["vial-0-glass"])[2]  # air is above
    assert "upside down" in found["vial-0-words-1"].get_text()
    upright = draw(BENCH)
    assert span(upright["vial-0-stopper"])[2] >= span(upright["vial-0-glass"])[3]
    assert low < span(upright["vial-0-stopper"])[2]


@pytest.mark.parametrize(
    ("inverted", "at_stopper", "dense_below"),
    [(False, False, True), (True, True, True), (True, False, False), (False, True, False)],
)
def test_the_dense_layer_lies_where_it_settled(inverted, at_stopper, dense_below):
    vial = replace(BENCH.vials["cloudy"], inverted=inverted, sediment_at_stopper=at_stopper)
    found = draw(BENCH.with_vial("cloudy", vial))
    thin, dense = found["vial-1-clear"], found["vial-1-cloudy"]
    assert (span(dense)[2] < span(thin)[2]) == dense_below
    assert height(thin) + height(dense) == pytest.approx(height(found["vial-1-glass"]) * 10 / 12)
    assert height(dense) / height(thin) == pytest.approx((1 - 0.01) / (2.3 - 1))  # Lucidi 2018: 1 % over 230 %
    assert found["vial-1-tag"].get_text() == "settled"


@pytest.mark.parametrize(("settled", "word", "look"), [(0, "even", "cloudy"), (0.5, "partly settled", "partly")])
def test_how_even_a_suspension_is_stands_in_words(settled, word, look):
    found = draw(BENCH.with_vial("cloudy", replace(BENCH.vials["cloudy"], settled=settled)))
    assert found["vial-1-tag"].get_text() == word
    assert height(found[f"vial-1-{look}"]) > 0
    assert found[f"vial-1-{look}"].get_hatch()
    assert height(found["vial-1-clear"]) == 0
    assert not found["vial-0-clear"].get_hatch()


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.name)
def test_the_stopper_stands_true_to_scale_on_every_syringe(kind):
    mark = kind.capacity * 0.4
    found = draw(holding(kind, barrel=Liquid(ml=mark / kind.per_ml, units={"regular": 1.0})))
    zero = span(found["barrel-glass"])[0]
    assert span(found["barrel-stopper"])[0] == pytest.approx(zero + mark * vials.count_wide(kind))
    assert width(found["barrel-clear"]) == pytest.approx(mark * vials.count_wide(kind))
    bore = height(found["barrel-glass"]) / vials.POINTS_PER_MM
    assert np.pi * bore**2 / 4 * vials.scale_mm(kind) / 1000 == pytest.approx(kind.capacity / kind.per_ml)
    zoom = width(found["lens-stopper"]) / width(found["barrel-stopper"])
    numbers = [found[f"lens-number-{at}"] for at in range(12)]
    shown = [one for one in numbers if one.get_text()]
    assert shown
    for one in shown:
        counts = float(one.get_text()) * (1 if kind.per_ml > 10 else kind.per_ml)
        at = span(found["lens-stopper"])[0] + (counts - mark) * vials.count_wide(kind) * zoom
        assert one.get_position()[0] == pytest.approx(at)


def test_the_marks_are_said_as_each_scale_counts():
    assert mark_text(KINDS[0], 8) == "8 units"
    assert mark_text(TRAP_SYRINGES["U-40"], 8) == "8 units of the U-40 scale"
    assert mark_text(TRAP_SYRINGES["10 mL"], 8) == "0.8 mL (line 8)"


def test_scale_lengths_of_insulin_syringes_are_those_of_iso_8537():
    """ISO 8537, table of sizes (read in a poor scan): 0.3 mL 41 mm, 0.5 mL 43 mm, 1 mL 57 mm."""
    for units, mm in ((30, 41), (50, 43), (100, 57)):
        assert vials.scale_mm(SyringeKind(name="one", capacity=units, step=1)) == mm


@pytest.mark.parametrize(("mm", "units"), [(1, 0.05), (2, 0.42), (3, 1.41)])
def test_a_bubble_is_drawn_as_the_ball_it_is(mm, units):
    """Volume of a ball, pi d^3 / 6 (geometry): 0.05, 0.42 and 1.41 units for 1, 2 and 3 mm."""
    kind = TRAP_SYRINGES["separate needle"]
    found = draw(holding(kind, barrel=Liquid(ml=0.2, units={"regular": 20.0}), bubbles_ml=units / 100))
    assert width(found["barrel-bubble"]) / vials.POINTS_PER_MM == pytest.approx(mm, rel=0.05)
    assert "bubbles" in found["syringe-words-1"].get_text()


@pytest.mark.parametrize("inside", [False, True])
def test_a_bubble_is_drawn_in_the_one_cloudy_liquid_too(inside):
    states = wrong_run("bubble-left", PLAN).trace().states
    both = next(state for state in states if state.syringe and state.syringe.mark == pytest.approx(28))
    found = draw(both, inside)
    low, high = span(found["barrel-cloudy"])[:2]
    left, right = span(found["barrel-bubble"])[:2]
    assert low <= left < right < high  # a large one is a plug at the needle
    assert width(found["barrel-clear"]) == 0
    assert "bubbles" in describe_bench(both, inside)


def test_air_in_the_barrel_is_white():
    state = run(BENCH, [TakeSyringe("1.0-one"), PullAir(20)]).last
    found = draw(state)
    assert width(found["barrel-clear"]) == width(found["barrel-cloudy"]) == 0
    assert found["syringe-words-1"].get_text() == "barrel: air"


def test_air_rises_to_the_needle_or_away_from_it_when_the_needle_points_down():
    kind = TRAP_SYRINGES["separate needle"]
    up = holding(kind, barrel=Liquid(ml=0.2, units={"regular": 20.0}), air_ml=0.1)
    down = replace(up, syringe=replace(up.syringe, vial="clear"))
    zero, wide = span(draw(up)["barrel-glass"])[0], vials.count_wide(kind)
    assert span(draw(up)["barrel-clear"])[0] == pytest.approx(zero + 10 * wide)
    assert span(draw(down)["barrel-clear"])[0] == pytest.approx(zero)


def test_the_needle_stands_with_its_tip_in_air_or_liquid():
    taken = run(BENCH, [TakeSyringe("1.0-one")])
    level = span(draw(BENCH)["vial-0-clear"])[3]
    for tip, above in (("air", True), ("liquid", False)):
        found = draw(taken.then(Pierce("clear", tip)).last)
        assert (span(found["needle"])[2] > level) == above
        assert f"tip in {tip}" in found["syringe-words-0"].get_text()
    assert height(draw(taken.last)["needle"]) == 0


def test_closed_the_liquid_is_one_fill_and_no_amount_of_an_insulin_is_told():
    full = after(DrawTo)
    found = draw(full)
    assert width(found["barrel-cloudy"]) == pytest.approx(28 * vials.count_wide(full.syringe.kind))
    assert width(found["barrel-clear"]) == 0
    for told in (*words(found), describe_bench(full)):
        assert not re.search(r"units of (regular|NPH)|pressure|inside:", told)


def test_open_the_two_insulins_are_one_cloudy_liquid_and_their_units_are_told():
    full = after(DrawTo)
    found = draw(full, inside=True)
    regular, nph = full.syringe.barrel.of("regular"), full.syringe.barrel.of("nph")
    wide = vials.count_wide(full.syringe.kind)
    for part, zoomed in (("barrel", 1), ("lens", width(found["lens-stopper"]) / width(found["barrel-stopper"]))):
        assert width(found[f"{part}-cloudy"]) == pytest.approx(28 * wide * zoomed)
        assert found[f"{part}-cloudy"].get_hatch()
        assert width(found[f"{part}-clear"]) == 0
    said = " ".join(words(found))
    assert f"inside: {round(regular, 2):g} units of regular" in said
    assert f"inside: {round(nph, 2):g} units of NPH" in said
    assert "% of room pressure" in said


def test_open_the_nph_in_the_clear_vial_is_told():
    last = wrong_run("cloudy-drawn-first", PLAN).trace().last
    amount = last.vials["clear"].liquid.of("nph")
    assert amount > 0
    assert f"{amount:.1g} units of NPH" in describe_bench(last, inside=True)
    assert f"{amount:.1g} units of NPH" in draw(last, inside=True)["vial-0-words-3"].get_text()


def test_pressure_is_told_as_a_share_of_the_room_by_boyle():
    """Boyle's law: 10 mL of liquid under 2 mL of air; 0.2 mL drawn without air first leaves 2 / 2.2 of the pressure."""
    trace = run(BENCH, [TakeSyringe("1.0-one"), Pierce("clear", "air"), Invert(), DrawTo(20)])
    vial = trace.last.vials["clear"]
    share = vial.air_ml / (12 - vial.liquid.ml) * 100
    assert share == pytest.approx(2 / 2.2 * 100, abs=0.6)  # the air of the needle fills a little of the barrel
    assert draw(trace.last, inside=True)["vial-0-words-4"].get_text() == f"{share:.1f} % of room pressure"
    air = run(BENCH, [TakeSyringe("1.0-one"), PullAir(20), Pierce("clear", "air"), PushAir()]).last
    assert draw(air, inside=True)["vial-0-words-4"].get_text() == "110.0 % of room pressure"


def test_a_barrel_with_no_more_milk_than_a_settled_clear_layer_looks_clear():
    assert not is_cloudy(Liquid(ml=0.1, units={"regular": 9.98, "nph": 0.02}), usual_physics())
    assert is_cloudy(Liquid(ml=0.1, units={"regular": 9, "nph": 1}), usual_physics())


def moments():
    yield Bench(physics=usual_physics()), False
    for name in ("wrong-vial", "scale-not-in-units", "late-bubble", "shaken"):
        states = wrong_run(name, PLAN).trace().states
        yield from ((state, inside) for state, inside in zip(states[::6], [False, True] * 20, strict=False))
    yield run(BENCH, [DiscardVial("clear")]).last, True


def test_moving_a_drawing_gives_what_drawing_anew_gives():
    moves_as_drawn_anew(
        lambda bench, inside=False: vials.draw_bench(bench, style.ROOM, inside),
        list(moments()),
        vials.draw_bench(BENCH, style.ROOM),
    )


@pytest.fixture(scope="module")
def drawn():
    """One drawing that is moved from moment to moment, which gives what drawing anew gives."""
    return vials.draw_bench(BENCH, style.ROOM)


@pytest.mark.parametrize("name", WRONG_RUNS)
def test_no_words_leave_the_picture_or_run_into_the_lens(drawn, name):
    trace = wrong_run(name, PLAN).trace()
    left, low, _, high = vials._LENS
    for state in (after(DrawTo, trace), after(Pierce, trace), trace.last):
        drawn.show(state, inside=True)
        assert not words_outside(drawn)
        for text, box in boxes(drawn):
            if (text.get_gid() or "").startswith("syringe-words") and box.y0 < low + high:
                assert box.x1 <= left, text
            assert text.get_fontsize() >= style.ROOM.small


@pytest.mark.parametrize("name", ["wrong-vial", "late-bubble", "premixed-in-the-mix", "scale-not-in-units"])
def test_no_words_run_into_other_words(drawn, name):
    for state in wrong_run(name, PLAN).trace().states[::3]:
        drawn.show(state, inside=True)
        assert not words_on_words(drawn, 0.01, 1.5, but="number")


def test_an_empty_hand_and_a_missing_vial_are_said():
    gone = run(BENCH, [TakeSyringe("1.0-one"), DiscardSyringe(), DiscardVial("clear")]).last
    found = draw(gone)
    assert found["syringe-title"].get_text() == "No syringe in hand"
    assert found["vial-0-words-0"].get_text() == "no vial here"
    assert height(found["vial-0-glass"]) == 0
    assert describe_bench(gone).startswith("No syringe in hand")


def test_label_and_look_tell_what_the_picture_does_not():
    vial = replace(BENCH.vials["cloudy"], past_date=True, condition="clumped")
    assert label_words(vial) == (
        "The label says: NPH insulin, 100 units in each mL, expires 2026-05-06, opened 2026-06-14. Today is 2026-06-15."
    )
    assert look_words(vial) == "Seen in the vial: clumped."
    assert "settled" in look_words(BENCH.vials["cloudy"])
