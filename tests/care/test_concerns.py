"""What is unsafe about an order is listed in full, each with its place, its risk, what to write and who says so."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mixlab.care.concerns import Concern, order_concerns
from mixlab.facts.shelf import shelf
from mixlab.ward.reading import read_order
from mixlab.ward.site import teaching_site
from mixlab.ward.syringe import syringes

SAFE = "regular insulin 8 units and NPH insulin 20 units subcut 30 minutes before breakfast"
USUAL = read_order(SAFE)
TAIL = " subcut before breakfast"


def names(text, **more):
    return [concern.name for concern in order_concerns(text, **more)]


def only(text, **more):
    concerns = order_concerns(text, **more)
    assert len(concerns) == 1, [str(concern) for concern in concerns]
    return concerns[0]


@pytest.mark.parametrize(
    "text",
    [
        SAFE,
        "regular insulin 8 units and NPH insulin 20 units subcut now",
        "regular insulin 8 units and NPH insulin 20 units subcut once right now",
        "NPH insulin twenty units, regular insulin eight units, U-100, under the skin, at 07:30 every day.",
        "insulin lispro 8 units and NPH insulin 20 units, 100 units/mL, subcutaneously with supper",
    ],
)
def test_a_complete_and_plainly_written_order_raises_no_concern(text):
    assert order_concerns(text) == ()
    assert order_concerns(SAFE, usual=USUAL) == ()


# One order for each row of the facts, with the words it must point at (None: it is about the whole order).
PROVOKED = {
    "insulin": ("regular insulin 8 units and 20 units" + TAIL, None),
    "dose": ("regular insulin 8 units and NPH insulin" + TAIL, None),
    "unit": ("regular insulin 8 and NPH insulin 20 units" + TAIL, "8"),
    "route": ("regular insulin 8 units and NPH insulin 20 units before breakfast", None),
    "time": ("regular insulin 8 units and NPH insulin 20 units subcut every day", None),
    "strength": ("regular insulin 0.08 mL and NPH insulin 20 units" + TAIL, "0.08 mL"),
    "two-readings": ("regular insulin 8-10 units and NPH insulin 20 units" + TAIL, "8-10 units"),
    "not-understood": ("regular insulin about 8 units and NPH insulin 20 units" + TAIL, "about"),
    "no-fixed-dose": (
        "regular insulin sliding scale and NPH insulin 20 units before breakfast subcut",
        "sliding scale",
    ),
    "other-route": ("regular insulin 8 units and NPH insulin 20 units IV before breakfast", "IV"),
    "other-strength": ("regular insulin 8 units U-500 and NPH insulin 20 units U-100" + TAIL, "U-500"),
    "not-in-units": ("regular insulin 8 mg and NPH insulin 20 units" + TAIL, "8 mg"),
    "pair": ("insulin glargine 8 units and NPH insulin 20 units" + TAIL, "insulin glargine 8 units and NPH insulin"),
    "no-dose": ("regular insulin 0 units and NPH insulin 20 units" + TAIL, "0 units"),
    "too-much": ("regular insulin 60 units and NPH insulin 50 units" + TAIL, "60 units and NPH insulin 50 units"),
    "between-lines": (
        "regular insulin 8.3 units and NPH insulin 20 units" + TAIL,
        "8.3 units and NPH insulin 20 units",
    ),
    "not-the-usual-insulin": ("insulin lispro 8 units and NPH insulin 20 units" + TAIL, "8 units"),
    "far-from-usual": ("regular insulin 17 units and NPH insulin 20 units" + TAIL, "17 units"),
    "swapped": ("regular insulin 15 units and NPH insulin 13 units" + TAIL, "15 units and NPH insulin 13 units"),
}
NEEDS_USUAL = {"not-the-usual-insulin", "far-from-usual", "swapped"}


def test_every_concern_of_the_facts_is_provoked_here():
    assert set(PROVOKED) == set(shelf().concerns)


@pytest.mark.parametrize("key", PROVOKED)
def test_each_concern_is_found_at_its_place_with_what_to_write_and_its_source(key):
    text, words = PROVOKED[key]
    row = shelf().concerns[key]
    usual = USUAL if key in NEEDS_USUAL else None
    found = [one for one in order_concerns(text, usual=usual) if (one.kind, one.write) == (row.kind, row.write)]
    assert len(found) == 1
    (concern,) = found
    assert concern.text == (words or "")
    assert (concern.place is None) == (words is None)
    assert concern.place is None or text[slice(*concern.place)] == words
    assert concern.source
    assert concern.misread_as


@pytest.mark.parametrize("key", sorted(NEEDS_USUAL))
def test_without_the_usual_order_nothing_can_be_compared(key):
    assert order_concerns(PROVOKED[key][0]) == ()


# Ways of writing


def test_each_way_of_writing_is_found_wherever_it_stands_and_two_may_lie_over_each_other():
    text = "regular insulin 8.0U and NPH insulin 20U SC before breakfast"
    assert [(one.text, one.place) for one in order_concerns(text)] == [
        ("8.0", (16, 19)),
        ("8.0U", (16, 20)),
        ("20U", (37, 40)),
        ("SC", (41, 43)),
    ]


def test_an_unsafe_writing_is_not_told_twice_and_what_it_stood_for_is_not_called_missing():
    for text in ("regular insulin 8U and NPH20 units SC qhs", "regular insulin 8 IU and NPH insulin 20units sub q HS"):
        concerns = order_concerns(text)
        assert len(concerns) == 4
        assert {concern.kind for concern in concerns} == {"writing"}


def test_everything_is_listed_not_only_what_comes_first():
    text = "regular insulin 8U and glargine 20-22 units IV sliding scale"
    kinds = [(one.kind, one.text) for one in order_concerns(text)]
    assert ("writing", "8U") in kinds
    assert ("writing", "20-22 units") in kinds
    assert ("content", "IV") in kinds
    assert ("content", "sliding scale") in kinds
    assert ("missing", "") in kinds
    assert any("must not share" in name for name in names(text))


def test_places_are_places_in_the_text_as_typed():
    text = "ｒｅｇｕｌａｒ\u00a0８Ｕ\nNPH 20 units\r\nＳＣ before breakfast"
    assert [one.text for one in order_concerns(text)] == ["８Ｕ", "ＳＣ"]


def test_concerns_are_sorted_by_place_and_what_has_none_comes_last():
    for text in ("NPH20 8U SC qd U-500 8-10 units", "8U NPH", "regular 8 and NPH 20"):
        places = [concern.place or (len(text), len(text)) for concern in order_concerns(text)]
        assert places == sorted(places)
        assert len(places) > 2


def test_what_can_be_read_in_two_ways_is_given_with_both():
    concern = only("regular insulin and NPH insulin 8 units and 20 units" + TAIL)
    assert concern.misread_as == (
        "'regular insulin 8 units and NPH insulin 20 units' or 'regular insulin 20 units and NPH insulin 8 units'"
    )


# What is missing


def test_a_time_is_a_meal_or_a_clock_or_now_and_how_often_is_none():
    start = "regular insulin 8 units and NPH insulin 20 units subcut "
    for time in ("before supper", "at 17:30", "at 5 pm", "now", "immediately"):
        assert names(start + time) == []
    for time in ("", "daily", "every evening", "every 12 hours", "today"):
        assert names(start + time) == ["the time is missing"]


def test_the_strength_matters_when_a_volume_or_another_strength_is_mentioned():
    missing = "the strength is missing"
    assert missing not in names(SAFE)
    assert missing in names("regular insulin 0.08 mL and NPH insulin 20 units" + TAIL)
    assert missing not in names("regular insulin U-100 0.08 mL and NPH insulin 20 units" + TAIL)
    assert missing in names("regular insulin 8 units U-500 and NPH insulin 20 units" + TAIL)
    assert missing not in names("regular insulin 8 units U-500 and NPH insulin 20 units U-100" + TAIL)


# What the order says


def test_two_of_one_look_and_a_pair_that_must_not_mix_are_named_with_the_source_of_the_rule():
    both_clear = only("regular insulin 8 units and insulin lispro 20 units" + TAIL)
    assert both_clear.name == (
        "regular insulin and insulin lispro are both clear, and a mixed dose is one clear and one cloudy insulin"
    )
    premixed = only("regular insulin 8 units and premixed 70/30 insulin 20 units" + TAIL)
    assert premixed.name == "regular insulin and premixed 70/30 insulin must not share a syringe"
    assert premixed.source == shelf().cite(shelf().insulins["premixed-70-30"].mixing)


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


def test_tenfold_and_elevenfold_carry_their_own_source_and_other_distances_are_our_assumption():
    checks = shelf().checks
    for clear, key in ((80, "tenfold"), (88, "elevenfold"), (72, "far_from_usual"), (16, "far_from_usual")):
        found = [one for one in order_concerns(with_doses(clear, 20), usual=USUAL) if "times the usual" in one.name]
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
    concern = only("insulin aspart 8 units and NPH insulin 20 units" + TAIL, usual=USUAL)
    assert concern.name == "insulin aspart, where the usual one is regular insulin"


def test_a_usual_order_that_cannot_be_compared_is_left_out():
    both_clear = read_order("regular insulin 8 units and insulin lispro 20 units")
    nothing = read_order("regular insulin 0 units and NPH insulin 0 units")
    for usual in (both_clear, nothing):
        assert order_concerns(with_doses(80, 8), usual=usual) == ()


def test_the_stock_of_the_site_decides_what_is_too_much_and_what_no_line_shows():
    small = replace(teaching_site(), stock=(syringes()["0.3-one"],))
    assert names(with_doses(20, 20), site=small) == ["40 units in all, and the largest syringe here holds 30 units"]
    assert names(with_doses(8.5, 20), site=small) == ["no syringe here has a line at both 8.5 units and 28.5 units"]
    assert names(with_doses(8.5, 20)) == []


# The words


def test_a_concern_reads_as_a_sentence():
    assert str(only("regular insulin 8U and NPH insulin 20 units" + TAIL)) == (
        "'8U': U for units; it can be taken for 0, 4 or cc. Needed: the word 'units', with a space after the number. "
        "Source: The Joint Commission, Official 'Do Not Use' list, 2009 and 2017 (read)."
    )
    assert str(only("regular insulin 8 units and NPH insulin 20 units before supper")) == (
        "The route is missing; it may be filled in with another route. Needed: the route in words, such as 'subcut'. "
        "Source: common practice, no source."
    )


def test_a_text_too_long_for_an_order_is_one_concern():
    assert [one.kind for one in order_concerns("regular " * 100)] == ["writing"]


@settings(deadline=None)
@given(st.text(max_size=600), st.sampled_from([None, USUAL]))
def test_no_text_is_refused(text, usual):
    for concern in order_concerns(text, usual=usual):
        assert isinstance(concern, Concern)
        assert str(concern).endswith(".")
        assert concern.place is None or concern.text in (text[slice(*concern.place)], "")
