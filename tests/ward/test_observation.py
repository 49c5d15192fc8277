"""An observation holds what can be, and refuses what cannot in a sentence that says what to do."""

import math

import pytest

from mixlab.quantities import Glucose, NotAnAmount
from mixlab.ward.observation import Earlier, Observation

LOW = Glucose(64, "mg/dL")

BAD = {
    "a bare number": ({"glucose": 100}, r"100 has no unit. Write Glucose\(100"),
    "a number in words": ({"glucose": "98"}, "'98' is not a reading"),
    "another word on the meter": ({"glucose": "ERR"}, "'ERR' is not a reading"),
    "small letters": ({"glucose": "hi"}, "'hi' is not a reading"),
    "signs without a list": ({"signs": "trembling"}, r"\('trembling',\)"),
    "signs in a set": ({"signs": {"trembling"}}, "Write the signs as a list"),
    "a sign not on the list": ({"signs": ("sweating", "blue hair")}, "'blue hair' is not a sign on the list.*sweating"),
    "a negative age": ({"minutes_old": -1}, "-1 minutes old. Enter how many"),
    "an age that is no number": ({"minutes_old": math.nan}, "nan minutes old"),
    "an age in words": ({"minutes_old": "10"}, "'10' minutes old"),
    "a last dose to come": ({"hours_since_dose": -0.5}, "-0.5 hours ago. Enter how many"),
    "a last dose at no time": ({"hours_since_dose": math.nan}, "nan hours ago"),
    "alertness in other words": ({"alertness": "sleepy"}, "'sleepy' does not say.*awake, drowsy, unresponsive"),
    "earlier readings bare": ({"earlier": (LOW,)}, "with its time"),
    "one earlier reading": ({"earlier": Earlier(LOW, 3)}, "written as a list"),
    "eating in words": ({"eating": "no"}, "eating is a question of yes or no.*None for not known"),
    "swallowing as a number": ({"can_swallow": 1}, "can_swallow is a question"),
    "vomiting not known": ({"vomiting": None}, "vomiting is a question.*True or False"),
    "fasting in words": ({"fasting": "yes"}, "fasting is a question"),
    "changed in words": ({"changed": "yes"}, "changed is a question"),
    "the meal late in words": ({"meal_late": "yes"}, "meal_late is a question.*True or False"),
    "food due not known": ({"food_due": None}, "food_due is a question.*True or False"),
    "before the treatment": ({"minutes_after_treatment": -1}, "-1 minutes after a treatment. Enter how many"),
    "no time after the treatment": ({"minutes_after_treatment": math.nan}, "nan minutes after a treatment"),
    "treated half a time": ({"treated_by_mouth": 0.5}, "0.5 times by mouth. Write how often"),
    "treated less than never": ({"treated_by_mouth": -1}, "-1 times by mouth"),
    "treated in words": ({"treated_by_mouth": True}, "True times by mouth"),
    "treated as a low not known": ({"treated_as_low": None}, "treated_as_low is a question.*True or False"),
    "the prescriber to wait in words": ({"prescriber_says_wait": "no"}, "prescriber_says_wait is a question"),
    "the prescriber in words": ({"prescriber_says_give": "yes"}, "prescriber_says_give is a question"),
}


@pytest.mark.parametrize(("found", "words"), BAD.values(), ids=BAD)
def test_what_cannot_be_is_refused_in_words(found, words):
    with pytest.raises(NotAnAmount, match=words):
        Observation(**found)


@pytest.mark.parametrize(
    ("glucose", "hours", "words"),
    [
        (64, 3, "64 has no unit"),
        (None, 3, "None has no unit"),
        (LOW, -1, "-1 hours ago"),
        (LOW, math.nan, "nan hours ago"),
        (LOW, None, "None hours ago"),
        (LOW, True, "True hours ago"),
    ],
)
def test_an_earlier_reading_that_cannot_be(glucose, hours, words):
    with pytest.raises(NotAnAmount, match=words):
        Earlier(glucose, hours)


def test_nothing_known_is_no_fault():
    nothing = Observation()
    assert (nothing.glucose, nothing.signs, nothing.eating, nothing.can_swallow) == (None, None, None, None)
    assert (nothing.meal_late, nothing.food_due, nothing.minutes_after_treatment) == (False, False, None)
    assert (nothing.prescriber_says_wait, nothing.treated_as_low) == (False, False)
    assert Observation(minutes_old=None, alertness=None, hours_since_dose=None) != nothing


def test_what_the_meter_shows_and_very_old_readings_are_held():
    found = Observation(glucose="HI", minutes_old=math.inf, earlier=(Earlier("LO", math.inf), Earlier(LOW, 0)))
    assert found.glucose == "HI"
    assert [one.hours_ago for one in found.earlier] == [math.inf, 0]


@pytest.mark.parametrize("signs", ["", False, 0, {}, ([],), (None,)], ids=repr)
def test_what_is_no_list_of_signs_is_not_taken_for_none_seen(signs):
    with pytest.raises(NotAnAmount):
        Observation(signs=signs)
