"""Vials, liquids and needles: layers, settling, pressure and what a draw leaves behind."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from mixlab.care.bench.runs import vial_of
from mixlab.care.bench.vessels import ROOM_KPA, Liquid, usual_physics
from mixlab.ward.insulin import insulins

PHYSICS = usual_physics()
NPH, REGULAR = vial_of(insulins()["nph"]), vial_of(insulins()["regular"])


@given(st.floats(0, 10), st.floats(0, 12))
def test_a_split_loses_nothing(ml, part):
    liquid = Liquid(ml=ml, units={"regular": 3 * ml, "nph": ml})
    one, other = liquid.split(part)
    assert one.ml + other.ml == pytest.approx(ml)
    assert one.of("nph") + other.of("nph") == pytest.approx(ml)
    assert one.ml == pytest.approx(min(part, ml))


@given(st.floats(0, 1), st.booleans(), st.floats(0.001, 9.99))
def test_both_layers_together_hold_all_the_insulin(settled, below, ml):
    vial = replace(NPH, settled=settled, sediment_at_stopper=below)
    taken, left = vial.give(ml, PHYSICS)
    assert taken.of("nph") + left.liquid.of("nph") == pytest.approx(1000)
    assert taken.ml + left.liquid.ml == pytest.approx(10)
    assert 0 <= taken.of("nph") <= 1000
    every, none = vial.give(10, PHYSICS)
    assert every.of("nph") == pytest.approx(1000)
    assert none.liquid.of("nph") == pytest.approx(0, abs=1e-9)


def test_an_even_vial_gives_what_its_label_says():
    assert replace(NPH, settled=0.0).give(0.2, PHYSICS)[0].of("nph") == pytest.approx(20)
    assert REGULAR.give(0.08, PHYSICS)[0].of("regular") == pytest.approx(8)


def test_rolling_a_settled_draw_leaves_the_rest_too_strong():
    """A clear layer drawn off leaves its NPH behind: the next person draws too much from a rolled vial."""
    _, left = NPH.give(2.0, PHYSICS)
    assert replace(left, settled=0.0).give(0.2, PHYSICS)[0].of("nph") == pytest.approx(20 * 998 / 800, rel=1e-3)


def test_settling_goes_on_from_where_it_stands():
    once = replace(NPH, settled=0.0).wait(20, PHYSICS)
    twice = replace(NPH, settled=0.0).wait(8, PHYSICS).wait(12, PHYSICS)
    assert once.settled == pytest.approx(twice.settled)
    assert NPH.wait(5, PHYSICS).settled == 1
    assert REGULAR.wait(500, PHYSICS).settled == 0


def test_a_vial_at_rest_is_at_room_pressure():
    assert NPH.kpa == ROOM_KPA


def test_a_stranger_in_the_vial_is_drawn_in_its_share():
    vial = replace(REGULAR, liquid=Liquid(ml=10, units={"regular": 1000.0, "nph": 2.0}))
    taken, _ = vial.give(1, PHYSICS)
    assert taken.of("nph") == pytest.approx(0.2)
