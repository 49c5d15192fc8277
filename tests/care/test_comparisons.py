"""Orders beside the usual one, and beside the times that are taught."""

from dataclasses import replace

import pytest

from mixlab.care.order.checking import order_concerns
from mixlab.facts.shelf import shelf
from mixlab.ward.order.reading import read_order
from mixlab.ward.site.record import teaching_site

USUAL = read_order("regular insulin 8 units and NPH insulin 20 units subcut 30 minutes before breakfast")
TAIL = " subcut before breakfast"


def names(text, **more):
    return [str(concern.name) for concern in order_concerns(text, **more)]


def only(text, **more):
    concerns = order_concerns(text, **more)
    assert len(concerns) == 1, [str(concern) for concern in concerns]
    return concerns[0]


def with_doses(clear, cloudy):
    return f"regular insulin {clear} units and NPH insulin {cloudy} units" + TAIL


@pytest.mark.parametrize(
    ("clear", "cloudy", "name"),
    [
        (80, 20, "10 times the usual 8 units"),
        (0.8, 20, "the usual 8 units divided by 10"),
        (88, 20, "11 times the usual 8 units"),
        (8, 2, "the usual 20 units divided by 10"),
        (8, 220, "11 times the usual 20 units"),
        (16, 20, "2 times the usual 8 units"),
        (4, 20, "the usual 8 units divided by 2"),
        (8, 50, "2.5 times the usual 20 units"),
    ],
)
def test_a_dose_far_from_the_usual_one_is_found_up_and_down(clear, cloudy, name):
    assert name in names(with_doses(clear, cloudy), usual=USUAL)


@pytest.mark.parametrize(
    ("clear", "said"),
    [
        (80, "it could be '8U' with the U read as a 0, or 8 with a zero too many"),
        (84, "it could be '8U' with the U read as a 4."),
        (88, "it could be 8 with a figure written or keyed twice."),
        (0.8, "it could be 8 with a zero too many or too few, or with a point not seen"),
        (17, "it could be the usual 8, misread or miswritten."),
    ],
)
def test_the_misreading_that_would_explain_a_dose_is_named(clear, said):
    """The Joint Commission, 'Do Not Use' list (read): U mistaken for 0 and for 4; a figure twice: common practice, no source."""
    assert any(said in str(one) for one in order_concerns(with_doses(clear, 20), usual=USUAL))


def test_tenfold_and_elevenfold_carry_their_own_source_and_other_distances_are_our_assumption():
    checks = shelf().checks
    for clear, key in (
        (80, "tenfold"),
        (84, "u_as_four"),
        (88, "elevenfold"),
        (72, "far_from_usual"),
        (16, "far_from_usual"),
    ):
        concerns = order_concerns(with_doses(clear, 20), usual=USUAL)
        found = [one for one in concerns if one.name.key == "{ratio} times the usual {amount}"]
        assert [one.source for one in found] == [shelf().cite(checks[key])]


def test_elevenfold_down_is_exact_in_halves():
    usual = read_order("regular insulin 5.5 units and NPH insulin 20 units")
    assert "the usual 5.5 units divided by 11" in names(with_doses(0.5, 20), usual=usual)


@pytest.mark.parametrize(("clear", "cloudy"), [(8, 20), (9, 21), (12, 22), (15, 36), (4.5, 11)])
def test_a_dose_near_the_usual_one_raises_no_concern(clear, cloudy):
    assert [name for name in names(with_doses(clear, cloudy), usual=USUAL) if "usual" in name] == []


def test_doses_look_swapped_only_when_each_is_nearer_to_the_usual_dose_of_the_other():
    swapped = "doses that look swapped"
    for clear, cloudy in ((20, 8), (15, 13), (19, 9)):
        assert swapped in names(with_doses(clear, cloudy), usual=USUAL)
    for clear, cloudy in ((14, 14), (20, 20), (8, 8), (13, 15)):
        assert swapped not in names(with_doses(clear, cloudy), usual=USUAL)
    written_the_other_way_round = "NPH insulin 8 units and regular insulin 20 units" + TAIL
    assert swapped in names(written_the_other_way_round, usual=USUAL)
    assert swapped not in names("NPH insulin 20 units and regular insulin 8 units" + TAIL, usual=USUAL)


def test_another_insulin_than_usual_is_asked_about():
    rapid = read_order("insulin lispro 8 units and NPH insulin 20 units")
    concern = only("insulin aspart 8 units and NPH insulin 20 units" + TAIL, usual=rapid)
    assert str(concern.name) == "insulin aspart, where the usual one is insulin lispro"
    assert "10 times the usual 8 units" in names("insulin aspart 80 units and NPH insulin 20 units" + TAIL, usual=rapid)


@pytest.mark.parametrize("insulin", ["insulin glargine", "insulin detemir", "insulin lispro"])
def test_a_dose_is_not_compared_with_that_of_another_kind_of_insulin_of_the_same_look(insulin):
    for units in (8, 30, 80, 88):
        found = names(f"{insulin} {units} units and NPH insulin 20 units" + TAIL, usual=USUAL)
        assert (
            f"{insulin}, where the usual order has regular insulin and NPH insulin, so that its dose cannot be compared"
        ) in found
        assert not any("times the usual" in name or "swapped" in name for name in found)


def test_a_usual_order_of_two_insulins_of_one_look_is_compared_name_by_name():
    usual = read_order("regular insulin 8 units and insulin lispro 20 units")
    found = names("insulin lispro 8 units and regular insulin 20 units" + TAIL, usual=usual)
    assert "doses that look swapped" in found
    of_one_group = read_order("insulin lispro 8 units and insulin aspart 5 units")
    assert "10 times the usual 8 units" in names("insulin lispro 80 units and NPH insulin 20 units", usual=of_one_group)


def test_a_usual_order_that_cannot_be_compared_is_left_out():
    usual = read_order("regular insulin 0 units and NPH insulin 0 units")
    assert order_concerns(with_doses(80, 8), usual=usual) == ()


# The time. Regular insulin 30 minutes before a meal: American Family Physician 2009;79:29 (read); 30-45 minutes before it, and a
# rapid-acting insulin 0-15 minutes before it: Practical guidelines for hospital use of insulin, Table 3 (read).


def timed(insulin, when):
    return f"{insulin} 8 units and NPH insulin 20 units subcut {when}"


FITS_REGULAR = [
    "before breakfast",
    "30 minutes before breakfast",
    "45 min before supper",
    "half an hour before lunch",
    "before meals",
]
FITS_RAPID = [
    "before breakfast",
    "with breakfast",
    "at lunch",
    "15 minutes before supper",
    "1 minute before lunch",
    "with meals",
]
NEVER = [
    "at bedtime",
    "before bedtime",
    "15 minutes before bedtime",
    "after supper",
    "30 minutes after lunch",
    "after meals",
]
NEVER += ["an hour before breakfast", "half an hour before bedtime", "46 minutes before lunch", "2 hours before lunch"]


@pytest.mark.parametrize("when", [*FITS_REGULAR, "at 07:30", "now"])
def test_a_time_that_fits_regular_insulin_raises_no_concern(when):
    assert names(timed("regular insulin", when)) == []


@pytest.mark.parametrize("insulin", ["insulin lispro", "insulin aspart", "insulin glulisine"])
@pytest.mark.parametrize("when", [*FITS_RAPID, "at 07:30", "now"])
def test_a_time_that_fits_a_rapid_acting_insulin_raises_no_concern(insulin, when):
    assert names(timed(insulin, when)) == []


@pytest.mark.parametrize(
    "when", [*NEVER, "with breakfast", "at lunch", "15 minutes before supper", "29 minutes before tea"]
)
def test_a_time_that_does_not_fit_regular_insulin_is_asked_about(when):
    concern = only(timed("regular insulin", when))
    assert str(concern.name) == f"regular insulin is taught for 30 minutes before a meal; this order says '{when}'"
    assert (concern.kind, concern.text) == ("content", when)
    assert "ask the prescriber" in str(concern.write)
    assert concern.source == shelf().cite(shelf().bedside["meal_lead_minutes"])
    assert read_order(timed("regular insulin", when)).when == when


@pytest.mark.parametrize("when", [*NEVER, "30 minutes before breakfast", "16 min before lunch"])
def test_a_time_that_does_not_fit_a_rapid_acting_insulin_is_asked_about(when):
    concern = only(timed("insulin lispro", when))
    assert str(concern.name).startswith("insulin lispro is taught for 0–15 minutes before a meal; ")
    assert (concern.kind, concern.text) == ("content", when)
    assert concern.source == shelf().cite(shelf().checks["rapid_lead_minutes"])


def test_how_early_is_told_in_minutes():
    for when, minutes in (
        ("30 minutes before lunch", 30),
        ("half an hour before lunch", 30),
        ("an hour before lunch", 60),
    ):
        assert str(only(timed("insulin lispro", when)).name).endswith(f"; {minutes} is early")


def test_the_time_of_regular_insulin_is_the_one_of_the_ward():
    later = replace(teaching_site(), meal_lead=replace(teaching_site().meal_lead, value=20))
    assert names(timed("regular insulin", "20 minutes before lunch"), site=later) == []
    assert names(timed("regular insulin", "15 minutes before lunch"), site=later) == [
        "regular insulin is taught for 20 minutes before a meal; this order says '15 minutes before lunch'"
    ]


def test_an_insulin_that_no_meal_times_is_not_compared_with_one():
    found = names("insulin glargine 8 units and NPH insulin 20 units subcut at bedtime")
    assert not any("is taught for" in name for name in found)
