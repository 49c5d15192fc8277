"""Every legal pair on every syringe, every refusal by its name, and the steps in order."""

import math
import pickle
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mixlab.care.dosing import (
    CannotPrepare,
    DoseNotPossible,
    FinerThanAnyLine,
    MustNotMix,
    TooMuchForAnySyringe,
    choose_syringe,
    plan_dose,
)
from mixlab.facts.reading import the_facts
from mixlab.quantities import units_text
from mixlab.ward.insulin import insulins
from mixlab.ward.order.order import Dose, NotOneClearOneCloudy, Order
from mixlab.ward.site.record import teaching_site
from mixlab.ward.syringe import syringes
from mixlab.words import TERMS, sentence
from mixlab.words.translations import places

SITE = teaching_site()
MIXABLE = ["regular", "lispro", "aspart", "glulisine"]


def mixed(clear, cloudy, *, first="regular", second="nph", swap=False):
    doses = (Dose(insulin=insulins()[first], units=clear), Dose(insulin=insulins()[second], units=cloudy))
    return Order(doses=doses[::-1] if swap else doses)


def site_with(*keys):
    return replace(SITE, stock=tuple(syringes()[key] for key in keys))


@st.composite
def legal_pairs(draw):
    """Draw a syringe and two amounts that both stand on its lines."""
    syringe = draw(st.sampled_from(list(syringes().values())))
    lines = int(syringe.capacity_units / syringe.graduation_units)
    clear = draw(st.integers(1, lines - 1))
    cloudy = draw(st.integers(1, lines - clear))
    return syringe, clear * syringe.graduation_units, cloudy * syringe.graduation_units


@settings(deadline=None)
@given(legal_pairs(), st.sampled_from(MIXABLE), st.booleans())
def test_marks_air_and_volumes_agree(pair, first, swap):
    syringe, clear, cloudy = pair
    plan = plan_dose(mixed(clear, cloudy, first=first, swap=swap), site_with(syringe.key))
    assert plan.syringe is syringe
    assert (plan.clear_mark, plan.air_into_clear, plan.clear.units) == (clear, clear, clear)
    assert (plan.air_into_cloudy, plan.cloudy.units) == (cloudy, cloudy)
    assert plan.total_mark == plan.clear_mark + plan.air_into_cloudy
    assert plan.total_mark <= syringe.capacity_units
    assert syringe.shows(plan.clear_mark)
    assert syringe.shows(plan.total_mark)
    # 1 unit of U-100 is 0.01 mL: US Army subcourse MD0904 (read)
    assert plan.total_ml == pytest.approx(0.01 * clear + 0.01 * cloudy, abs=1e-12)


def test_every_whole_and_half_pair_of_the_half_unit_barrel():
    site = site_with("0.3-half")
    for twice_clear in range(1, 60):
        for twice_cloudy in range(1, 61 - twice_clear):
            plan = plan_dose(mixed(twice_clear / 2, twice_cloudy / 2), site)
            assert plan.total_mark == (twice_clear + twice_cloudy) / 2


@settings(deadline=None)
@given(st.integers(1, 199), st.integers(1, 199))
def test_no_smaller_syringe_would_do(twice_clear, twice_cloudy):
    order = mixed(twice_clear / 2, twice_cloudy / 2)
    total = (twice_clear + twice_cloudy) / 2
    fitting = [
        each
        for each in SITE.stock
        if each.capacity_units >= total
        and math.fmod(twice_clear / 2, each.graduation_units) == math.fmod(total, each.graduation_units) == 0
    ]
    if fitting:
        assert plan_dose(order).syringe.capacity_units == min(each.capacity_units for each in fitting)
    else:
        with pytest.raises(TooMuchForAnySyringe if total > 100 else FinerThanAnyLine):
            plan_dose(order)


@pytest.mark.parametrize(
    ("clear", "cloudy", "capacity", "graduation"),
    [
        (8, 20, 30, 1),
        (8.5, 20, 30, 0.5),
        (8.5, 20.5, 30, 0.5),
        (8, 20.5, 30, 0.5),
        (5, 25, 30, 1),
        (5, 26, 50, 1),
        (14, 26, 50, 1),
        (20, 30, 50, 1),
        (20, 32, 100, 1),
        (21, 31, 100, 1),
        (21, 30, 100, 1),
        (40, 60, 100, 1),
        (0.5, 0.5, 30, 0.5),
    ],
)
def test_the_smallest_syringe_with_the_widest_lines(clear, cloudy, capacity, graduation):
    # smallest U-100 syringe holding the total: common practice, no source
    syringe = plan_dose(mixed(clear, cloudy)).syringe
    assert (syringe.capacity_units, syringe.graduation_units) == (capacity, graduation)


@pytest.mark.parametrize(
    ("clear", "cloudy", "total", "ml"),
    [
        (8, 20, 28, 0.28),  # computed by hand
        (14, 26, 40, 0.40),
        (6, 10, 16, 0.16),  # 16 units of U-100 are 0.16 mL: US Army subcourse MD0904 (read)
    ],
)
def test_the_worked_orders(clear, cloudy, total, ml):
    plan = plan_dose(mixed(clear, cloudy))
    assert (plan.air_into_cloudy, plan.air_into_clear, plan.clear_mark) == (cloudy, clear, clear)
    assert (plan.total_mark, plan.total_ml) == (total, pytest.approx(ml, abs=1e-12))


def test_whole_amounts_come_out_as_whole_numbers():
    plan = plan_dose(mixed(8.0, Fraction(20)))
    assert [type(x) for x in (plan.clear_mark, plan.total_mark, plan.air_into_clear, plan.air_into_cloudy)] == [int] * 4
    halves = plan_dose(mixed(8.5, 20.5))
    assert type(halves.total_mark) is int
    assert halves.total_mark == 29


NEVER = ["glargine", "detemir", "degludec", "premixed-70-30"]  # long-acting: common practice, no source


@pytest.mark.parametrize("first", [*MIXABLE, "nph", *NEVER])
@pytest.mark.parametrize("second", [*MIXABLE, "nph", *NEVER])
def test_only_a_clear_insulin_for_meals_and_nph_are_mixed(first, second):
    """Of every pair there is, whichever stands first; what must never share a syringe is refused with its own reason."""
    assert {*MIXABLE, "nph", *NEVER} == set(insulins())
    order, strict = mixed(8, 20, first=first, second=second), [key for key in (first, second) if key in NEVER]
    if strict:
        with pytest.raises(MustNotMix, match=r"must never share.*separate injections") as refused:
            plan_dose(order)
        assert str(refused.value).startswith(str(insulins()[strict[0]].name))
        assert str(insulins()[strict[0]].row.mixing.why) in str(refused.value)
    elif ("nph" in (first, second)) and first != second:
        assert plan_dose(order).total_mark == 28
    else:
        with pytest.raises(NotOneClearOneCloudy, match=f"are both {insulins()[first].look}"):
            plan_dose(order)


@pytest.mark.parametrize("which", [0, 1])
@pytest.mark.parametrize("units", [0, 0.0, -1, -0.5, math.nan, math.inf, -math.inf, True, "8", None])
def test_a_dose_that_is_not_an_amount(units, which):
    with pytest.raises(DoseNotPossible, match="regular insulin" if which == 0 else "NPH insulin"):
        plan_dose(mixed(*((units, 20) if which == 0 else (8, units))))


@pytest.mark.parametrize(
    ("clear", "cloudy"),
    [(8.3, 20), (8, 20.3), (8.25, 20), (8.3, 20.7), (8.5, 22), (20.5, 20), (20.5, 20.5), (0.1, 0.2), (49.5, 50)],
)
def test_finer_than_any_line(clear, cloudy):
    with pytest.raises(FinerThanAnyLine, match="Never judge between lines"):
        plan_dose(mixed(clear, cloudy))


@pytest.mark.parametrize(("clear", "cloudy"), [(41, 60), (1, 100), (50, 50.5), (8.3, 100), (1e6, 1e6)])
def test_more_than_the_largest_syringe(clear, cloudy):
    with pytest.raises(TooMuchForAnySyringe, match="100 units"):
        plan_dose(mixed(clear, cloudy))


def test_the_stock_of_the_site_decides():
    assert plan_dose(mixed(8, 20), site_with("1.0-one")).syringe.key == "1.0-one"
    with pytest.raises(FinerThanAnyLine, match="finest step is 2 units"):
        plan_dose(mixed(7, 21), site_with("1.0-two"))
    with pytest.raises(TooMuchForAnySyringe, match="50 units"):
        plan_dose(mixed(20, 31), site_with("0.3-one", "0.5-one"))
    assert choose_syringe(7, 28, site_with("1.0-two", "0.5-one")).key == "0.5-one"
    both = site_with("1.0-one", "1.0-two")  # a ward may keep two scales: the wider lines that show both marks
    assert [choose_syringe(clear, clear + 40, both).key for clear in (20, 21)] == ["1.0-two", "1.0-one"]


def test_the_teaching_stock_has_one_scale_of_1_ml():
    assert [syringe.key for syringe in teaching_site().stock if syringe.capacity_units == 100] == ["1.0-one"]


@pytest.mark.parametrize("error", [MustNotMix, DoseNotPossible, FinerThanAnyLine, TooMuchForAnySyringe])
def test_every_refusal_is_a_refusal_to_prepare(error):
    assert issubclass(error, CannotPrepare)
    assert issubclass(error, ValueError)


def test_the_steps_stand_in_order_with_the_right_numbers():
    # air, then clear, then cloudy to the sum: Registered Nurses' Association of Ontario, guideline appendix (read)
    plan = plan_dose(mixed(8, 20))
    assert [step.number for step in plan.steps] == list(range(1, len(plan.steps) + 1))
    steps = {step.key: step for step in plan.steps}
    keys = list(steps)
    rnao = ["air_into_cloudy", "air_into_clear", "draw_clear", "draw_cloudy"]
    assert [key for key in keys if key in rnao] == rnao
    assert keys.index("resuspend") < keys.index("air_into_cloudy")
    assert keys.index("draw_clear") < keys.index("check_clear") < keys.index("draw_cloudy") < keys.index("check_total")
    said = {key: str(step.do) for key, step in steps.items()}
    assert "Draw 20 units of air. Stand the NPH insulin vial" in said["air_into_cloudy"]
    assert "Draw 8 units of air. Push it into the regular insulin vial" in said["air_into_clear"]
    assert "the line for 8 units" in said["draw_clear"]
    assert "the line for 28 units" in said["draw_cloudy"]
    assert "the total of 28 units" in said["check_total"]
    assert str(plan.syringe.name) in said["choose_syringe"]
    assert "15 minutes from mixing" in said["give_and_record"]  # 5 to 15 minutes: common practice, no source
    assert str(steps["draw_clear"]).startswith(f"{steps['draw_clear'].number}. Turn")


def test_a_step_is_the_sentence_of_the_facts_with_the_amounts_of_this_order_in_it():
    for step in plan_dose(mixed(8, 20)).steps:
        row = the_facts().steps[step.key]
        assert (step.do.key, step.why.key) == (row.do.key, row.why.key)
        assert {name for name, _ in step.do.values} == own_places(row.do)
    amounts = dict({step.key: step for step in plan_dose(mixed(8, 20)).steps}["draw_cloudy"].do.values)
    assert amounts["total_mark"] == units_text(28)
    assert amounts["cloudy"] == sentence("{nph}")


def own_places(words):
    return {place for place in places(words.key) if place.lower() not in TERMS}


def test_a_plan_for_another_dose_differs_only_in_the_steps_that_name_it():
    first, second = (plan_dose(mixed(8, cloudy)).steps for cloudy in (20, 21))
    assert pickle.loads(pickle.dumps(first)) == first
    assert hash(first) == hash(plan_dose(mixed(8, 20)).steps)
    assert [one.key for one, other in zip(first, second, strict=True) if one != other] == [
        "check_order",
        "choose_syringe",
        "air_into_cloudy",
        "draw_cloudy",
        "check_total",
    ]
    waiting = replace(SITE, waiting=replace(SITE.waiting, value=5))
    there = plan_dose(mixed(8, 20), waiting).steps
    assert [one.key for one, other in zip(first, there, strict=True) if one != other] == ["give_and_record"]
    assert "5 minutes from mixing" in str(there[-1].do)


@settings(deadline=None)
@given(legal_pairs(), st.sampled_from(MIXABLE))
def test_every_step_has_a_reason_and_a_source_and_no_empty_place(pair, first):
    syringe, clear, cloudy = pair
    for step in plan_dose(mixed(clear, cloudy, first=first), site_with(syringe.key)).steps:
        assert step.do
        assert step.why
        assert step.source
        assert not set("{}") & set(f"{step.do} {step.why} {step.source}")
        assert ".0 unit" not in str(step.do)
