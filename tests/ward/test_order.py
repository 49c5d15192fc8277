"""What an order is, how it is printed, and what its refusals carry."""

from dataclasses import FrozenInstanceError, replace

import pytest

from mixlab.ward.insulin import insulins
from mixlab.ward.order.order import (
    Dose,
    NotOneClearOneCloudy,
    Order,
    OrderPart,
)
from mixlab.ward.order.reading import read_order
from mixlab.words import Voice, speaking


def dose(key, units):
    return Dose(insulin=insulins()[key], units=units)


ORDER = Order(doses=(dose("nph", 20), dose("regular", 8)))


def test_clear_and_cloudy_are_named_by_their_look_in_whichever_order_they_stand():
    swapped = replace(ORDER, doses=ORDER.doses[::-1])
    for order in (ORDER, swapped):
        assert (order.clear, order.cloudy) == (dose("regular", 8), dose("nph", 20))
    assert swapped != ORDER


@pytest.mark.parametrize(
    ("one", "other", "look"), [("regular", "lispro", "clear"), ("nph", "premixed-70-30", "cloudy")]
)
def test_two_of_one_look_have_no_clear_and_cloudy(one, other, look):
    order = Order(doses=(dose(one, 8), dose(other, 20)))
    for part in ("clear", "cloudy"):
        with pytest.raises(NotOneClearOneCloudy, match=f"both {look}.*ask the prescriber"):
            getattr(order, part)


def test_an_order_prints_the_word_units_and_all_that_was_said():
    assert str(ORDER) == "NPH insulin 20 units and regular insulin 8 units"
    full = replace(ORDER, route="subcut", when="before supper", strength="U-100", clock="17:30", how_often="daily")
    assert str(full) == ("NPH insulin 20 units and regular insulin 8 units U-100 subcut before supper at 17:30 daily")


def test_a_dose_is_written_in_plain_words_with_a_point_and_one_unit_is_one():
    assert [dose("regular", units).written for units in (1, 0.5, 8.5, 20)] == [
        "regular insulin 1 unit",
        "regular insulin 0.5 units",
        "regular insulin 8.5 units",
        "regular insulin 20 units",
    ]
    assert ORDER.written == str(ORDER) == "NPH insulin 20 units and regular insulin 8 units"


def test_an_order_is_written_with_the_wards_own_names_and_never_its_comma_or_its_word_for_units():
    terms = (("nph", "isophane insulin"), ("units", "international units"), ("unit", "international unit"))
    with speaking(Voice(terms=terms, numbers="comma")):
        halves = replace(ORDER, doses=(dose("nph", 20.5), dose("regular", 1)), clock="17:30")
        assert str(halves) == "isophane insulin 20.5 units and regular insulin 1 unit at 17:30"
        assert str(halves.doses[0]) == "isophane insulin 20,5 international units"
        assert read_order(str(halves)) == halves


def test_where_the_parts_stood_makes_no_other_order_and_none_can_be_changed():
    placed = replace(ORDER, parts=(OrderPart(name="route", start=3, end=9, text="subcut"),))
    assert placed == ORDER
    assert hash(placed) == hash(ORDER)
    with pytest.raises(FrozenInstanceError):
        placed.route = "subcut"
