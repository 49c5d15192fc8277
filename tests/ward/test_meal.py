"""A meal of the ward's day: its time, its carbohydrate and what an order may call it."""

import math
from dataclasses import FrozenInstanceError

import pytest

from mixlab import Meal, teaching_site
from mixlab.quantities import ClockTime, NotAClockTime, NotAnAmount


def test_a_meal_is_eaten_and_has_60_g_unless_it_is_said_otherwise():
    meal = Meal(name="lunch", at="12:00")
    assert (meal.grams, meal.eaten, meal.also_called) == (60, True, ())
    assert meal.clock == ClockTime(720)
    with pytest.raises(FrozenInstanceError):
        meal.eaten = False


@pytest.mark.parametrize(("at", "minutes"), [("00:00", 0), ("7:05", 425), (" 07:05 ", 425), ("23:59", 1439)])
def test_when_it_is_served(at, minutes):
    assert Meal(name="a meal", at=at).clock.minutes == minutes


@pytest.mark.parametrize("at", ["", "noon", "24:00", "12.00", "12:60", None, 720])
def test_a_meal_at_no_time_of_day(at):
    with pytest.raises(NotAClockTime, match=r"no time of day\. Write it on the 24-hour clock, for example 07:30"):
        Meal(name="lunch", at=at)


@pytest.mark.parametrize("grams", [-1, -0.5, math.nan, math.inf, True, "60", None])
def test_carbohydrate_that_is_no_amount(grams):
    with pytest.raises(NotAnAmount, match=r"g of carbohydrate is not possible\. Enter a number from 0\."):
        Meal(name="lunch", at="12:00", grams=grams)


def test_a_meal_without_carbohydrate_is_a_meal():
    assert Meal(name="broth", at="12:00", grams=0).grams == 0


def test_what_an_order_may_call_the_teaching_wards_meals():
    breakfast, lunch, supper = teaching_site().meals
    called = {
        "30 minutes before breakfast": breakfast,
        "half an hour before the morning meal": breakfast,
        "with lunch": lunch,
        "before the midday meal": lunch,
        "before supper": supper,
        "at the evening meal": supper,
        "before dinner": supper,
        "30 min before tea": supper,
        "before meals": None,
        "at bedtime": None,
    }
    for words, meal in called.items():
        assert [one for one in (breakfast, lunch, supper) if one.is_called(words)] == ([meal] if meal else [])
