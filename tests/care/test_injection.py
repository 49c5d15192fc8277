"""What is under the skin: the units of each slip, its curves by the reference, and what is refused."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mixlab import action_curves, read_order
from mixlab.care.action.absorption import NoFigures, NoModel
from mixlab.care.action.injection import (
    as_ordered,
    contaminated,
    from_clear_layer,
    from_sediment,
    half_time_at,
    swapped,
)
from mixlab.facts.reading import the_facts
from mixlab.quantities import NotAnAmount
from mixlab.ward.order.order import NotOneClearOneCloudy

HOURS = np.arange(24 * 60 + 1) / 60
ORDER = read_order("regular insulin 8 units and NPH insulin 20 units")
LISPRO = read_order("insulin lispro 8 units and NPH insulin 20 units")
SLIPS = {
    "as ordered": as_ordered,
    "swapped": swapped,
    "clear layer": from_clear_layer,
    "sediment": from_sediment,
    "half as cloudy": lambda order: contaminated(order, 0.5),
}


def sized(clear, cloudy):
    return replace(ORDER, doses=(replace(ORDER.clear, units=clear), replace(ORDER.cloudy, units=cloudy)))


UNITS = st.integers(1, 200).map(lambda twice: twice / 2)


def amounts(injection):
    return [(each.insulin.key, each.units, each.depot_units) for each in (injection.clear, injection.cloudy)]


NOT_ROLLED = "the NPH insulin vial was not rolled and the {} was drawn: about {} units of NPH insulin".format


@pytest.mark.parametrize(
    ("slip", "regular", "nph", "basis", "words"),
    [
        ("as ordered", (8, 8), 20, (), "as ordered"),
        ("swapped", (20, 20), 8, (), "the two doses swapped: 20 units of regular insulin and 8 units of NPH insulin"),
        ("clear layer", (8, 8), 0.2, ("clear_layer",), NOT_ROLLED("clear layer", 0.2)),
        ("sediment", (8, 8), 46, ("cloudy_layer",), NOT_ROLLED("sediment", 46)),
        ("half as cloudy", (4, 8), 24, (), "if 50 % of the regular insulin behaved as NPH insulin (our upper bound, no study)"),
    ],
)  # fmt: skip
def test_the_units_of_each_slip_what_they_rest_on_and_its_words(slip, regular, nph, basis, words):
    injection = SLIPS[slip](ORDER)
    clear, cloudy = amounts(injection)
    assert clear == ("regular", *map(pytest.approx, regular))
    assert cloudy == ("nph", pytest.approx(nph), pytest.approx(nph))
    assert injection.basis == tuple(the_facts().bench[key] for key in basis)  # a layer's strength
    assert injection.slipped is (slip != "as ordered")
    assert str(injection.words) == words


@settings(deadline=None)
@given(UNITS, UNITS, st.floats(0, 1))
def test_neither_a_swap_nor_contamination_makes_or_loses_a_unit(clear, cloudy, fraction):
    order = sized(clear, cloudy)
    for injection in (as_ordered(order), swapped(order), contaminated(order, fraction)):
        assert injection.clear.units + injection.cloudy.units == pytest.approx(clear + cloudy)
    assert amounts(swapped(sized(cloudy, clear))) == amounts(as_ordered(order))
    assert contaminated(order, fraction).clear.depot_units == clear


def test_no_contamination_is_the_injection_as_ordered():
    plain, none = (action_curves(ORDER, HOURS, injection=each) for each in (None, contaminated(ORDER, 0)))
    np.testing.assert_array_equal(plain.clear, none.clear)
    np.testing.assert_array_equal(plain.cloudy, none.cloudy)
    assert action_curves(ORDER, HOURS, injection=contaminated(ORDER, 1)).clear.max() == 0


def test_the_slip_and_not_the_order_decides_whether_the_curves_are_extrapolated():
    assert [slip(ORDER).extrapolated for slip in SLIPS.values()] == [False, False, False, True, False]
    assert swapped(sized(8, 40.5)).extrapolated
    assert not from_clear_layer(sized(8, 60)).extrapolated


@pytest.mark.parametrize(
    ("body_site", "regular", "nph"),
    [("abdomen", 1, 1), ("arm", 1.3, 1), ("thigh", 1.5, 1.05), ("buttock", 1.5, 1.05)],
)
def test_the_place_multiplies_the_half_time(body_site, regular, nph):
    # T50 at the abdomen: 0.05 · 8 + 1.7 = 2.1 h, and 0.18 · 20 + 4.9 = 8.5 h (Berger and Rodbard 1989; recalled)
    injection = as_ordered(ORDER)
    assert half_time_at(injection.clear, body_site) == pytest.approx(2.1 * regular, abs=1e-12)
    assert half_time_at(injection.cloudy, body_site) == pytest.approx(8.5 * nph, abs=1e-12)


@pytest.mark.parametrize("slip", SLIPS.values(), ids=SLIPS)
def test_every_slip_refuses_an_order_that_cannot_be_given(slip):
    for order in (sized(0, 20), sized(8, 0), sized(8, -1), sized(math.nan, 20), sized(8, True)):
        with pytest.raises(NotAnAmount, match=r"No action can be computed for .*\. Enter a dose above 0\."):
            slip(order)
    for order in (sized(500, 20), sized(8, 100.5)):
        with pytest.raises(NoModel, match=r"no insulin syringe here holds more than 100 units\. Check the dose with"):
            slip(order)
    with pytest.raises(
        NoFigures, match=r"no action curve for insulin lispro .* for NPH insulin and regular insulin only"
    ):
        slip(LISPRO)
    with pytest.raises(NotOneClearOneCloudy):
        slip(replace(ORDER, doses=(ORDER.clear, LISPRO.clear)))


def test_a_full_syringe_is_not_refused():
    assert amounts(as_ordered(sized(100, 100)))[0][1] == 100
