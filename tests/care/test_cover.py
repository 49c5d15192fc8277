"""Insulin acting against an assumed need: the reference's figures, the balance of the areas, and what is refused."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mixlab import Meal, action_curves, day_plan, read_order
from mixlab.care.day.need import cover, eaten_meals
from mixlab.facts.reading import the_facts
from mixlab.quantities import NotAnAmount

HOURS = np.arange(24 * 60 + 1) / 60
ORDER = read_order("regular insulin 8 units and NPH insulin 20 units subcut 30 minutes before breakfast")


def sized(clear, cloudy):
    return replace(ORDER, doses=(replace(ORDER.clear, units=clear), replace(ORDER.cloudy, units=cloudy)))


SETS = {1: action_curves(ORDER, HOURS, 70), 2: action_curves(sized(14, 26), HOURS, 82)}
ON_TIME = ((0.5, 60), (4.5, 60), (10.5, 60))
LATE = ((0.5, 60), (6.5, 60), (10.5, 60))
SKIPPED = ((0.5, 60), (10.5, 60))


@pytest.mark.parametrize(
    ("which", "meals", "units"),
    [(1, ON_TIME, 2.34), (1, LATE, 3.18), (1, SKIPPED, 5.92), (2, ON_TIME, 4.27), (2, LATE, 5.19), (2, SKIPPED, 8.80)],
)
def test_the_units_beyond_need_are_those_of_the_reference(which, meals, units):
    # computed, action-model sheet section 10
    assert cover(SETS[which], meals).uncovered(4.5, 10.5) == pytest.approx(units, abs=0.02)


@pytest.mark.parametrize(("which", "units"), [(1, 3.14), (2, 5.91)])
@pytest.mark.parametrize("meals", [ON_TIME, LATE, SKIPPED])
def test_what_happens_at_lunch_changes_nothing_before_it(which, units, meals):
    assert cover(SETS[which], meals).uncovered(0, 4.5) == pytest.approx(units, abs=0.02)


@pytest.mark.parametrize("which", SETS)
def test_a_skipped_lunch_leaves_more_uncovered_than_a_late_one_and_a_late_one_more_than_one_on_time(which):
    skipped, late, on_time = (cover(SETS[which], meals).uncovered(4.5, 10.5) for meals in (SKIPPED, LATE, ON_TIME))
    assert skipped > late > on_time


@pytest.mark.parametrize(("which", "fasting"), [(1, 0.65625), (2, 0.76875)])
def test_without_a_meal_the_need_is_a_part_of_the_fasting_need(which, fasting):
    # 0.75 × 0.0125 units/kg/h (Lepore 2000; read) at 70 and 82 kg (computed)
    np.testing.assert_allclose(cover(SETS[which], ()).need, fasting, rtol=1e-12)
    np.testing.assert_allclose(cover(SETS[which], (), 0.5).need, fasting * 0.5 / 0.75, rtol=1e-12)
    assert cover(SETS[which], (), 0).need.max() == 0


def test_a_meal_of_60_g_needs_5_units():
    for begins in (-1, 0, 0.5, 4.5, 10.5):
        area = np.trapezoid(cover(SETS[1], ((begins, 60),), 0).need, HOURS)
        before = 0 if begins >= 0 else 5 * (1 - math.exp(begins / (40 / 60)) * (1 - begins / (40 / 60)))
        assert area == pytest.approx(5 - before, abs=0.002)


def test_a_meals_need_begins_with_it_and_is_greatest_40_minutes_later():
    need = cover(SETS[1], ((4.5, 60),), 0).need
    assert need[HOURS <= 4.5].max() == 0
    assert HOURS[np.argmax(need)] == pytest.approx(4.5 + 40 / 60, abs=1e-9)
    # greatest: 5 units / (40/60 h) / e (computed)
    assert need.max() == pytest.approx(7.5 / math.e, abs=1e-9)


HOUR = st.floats(0, 24)


@settings(deadline=None)
@given(st.sampled_from([1, 2]), st.lists(st.tuples(HOUR, st.floats(0, 150)), max_size=5), HOUR, HOUR, st.floats(0, 3))
def test_uncovered_less_missing_is_the_area_between_action_and_need(which, meals, one, other, share):
    strip, (start, end) = cover(SETS[which], meals, share), sorted((one, other))
    upto = np.unique(np.concatenate([[start], strip.hours[(strip.hours > start) & (strip.hours < end)], [end]]))
    area = np.trapezoid(np.interp(upto, HOURS, strip.action - strip.need), upto)
    assert strip.uncovered(start, end) - strip.missing(start, end) == pytest.approx(area, abs=1e-9)
    assert strip.uncovered(start, end) >= 0
    assert strip.missing(start, end) >= 0


@settings(deadline=None)
@given(st.sampled_from([1, 2]), st.lists(st.tuples(HOUR, st.floats(1, 150)), min_size=1, max_size=5), HOUR, HOUR)
def test_a_meal_left_out_never_leaves_less_uncovered(which, meals, one, other):
    start, end = sorted((one, other))
    fed, unfed = cover(SETS[which], meals), cover(SETS[which], meals[1:])
    assert unfed.uncovered(start, end) >= fed.uncovered(start, end) - 1e-12
    assert unfed.missing(start, end) <= fed.missing(start, end) + 1e-12


def test_areas_of_neighboring_spans_add_up():
    strip = cover(SETS[1], ON_TIME)
    assert strip.uncovered(1.01, 3.003) + strip.uncovered(3.003, 9.99) == pytest.approx(
        strip.uncovered(1.01, 9.99), abs=1e-5
    )


@pytest.mark.parametrize("share", [-0.01, math.nan, math.inf, True])
def test_a_share_of_the_fasting_need_that_is_none(share):
    with pytest.raises(
        NotAnAmount, match=r"of the fasting need is not possible\. Enter a number from 0, such as 0\.75\."
    ):
        cover(SETS[1], (), share)


def test_the_strip_names_its_assumptions():
    facts = the_facts().action
    keys = ("basal_units_per_kg_h", "basal_share", "grams_per_unit", "meal_minutes")
    assert cover(SETS[1], ()).basis == tuple(facts[key] for key in keys)
    assert [facts[key].known for key in keys] == ["read", "assumed", "assumed", "assumed"]


def test_the_eaten_meals_of_a_plan_are_those_of_the_reference():
    plan = day_plan(ORDER, "07:30")
    assert eaten_meals(plan) == ON_TIME
    meals = [Meal(name="breakfast", at="08:00"), Meal(name="lunch", at="12:00", eaten=False), Meal(name="supper", at="18:00", grams=45)]  # fmt: skip
    assert eaten_meals(day_plan(ORDER, "07:30", meals)) == ((0.5, 60), (10.5, 45))
    night = read_order("regular insulin 8 units and NPH insulin 20 units")
    assert eaten_meals(day_plan(night, "23:45", [Meal(name="late", at="00:15")])) == ((0.5, 60),)
