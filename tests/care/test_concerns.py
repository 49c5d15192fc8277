"""What is unsafe about an order is listed in full, each with its place, its risk, what to write and who says so."""

import pickle
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mixlab.care.order.checking import order_concerns
from mixlab.care.order.concern import Concern
from mixlab.facts.reading import the_facts
from mixlab.ward.order.order import HasCondition
from mixlab.ward.order.reading import read_order
from mixlab.ward.site.record import teaching_site
from mixlab.ward.syringe import syringes
from mixlab.words import Voice, sentence, speaking

SAFE = "regular insulin 8 units and NPH insulin 20 units subcut 30 minutes before breakfast"
USUAL = read_order(SAFE)
TAIL = " subcut before breakfast"


def names(text, **more):
    return [str(concern.name) for concern in order_concerns(text, **more)]


def only(text, **more):
    concerns = order_concerns(text, **more)
    assert len(concerns) == 1, [str(concern) for concern in concerns]
    return concerns[0]


@pytest.mark.parametrize(
    "text",
    [
        SAFE,
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
    "condition": (
        "regular insulin 8 units and NPH insulin 20 units" + TAIL + ". Hold if glucose is less than 70 mg/dL.",
        "Hold if glucose is less than 70 mg/dL",
    ),
    "ready-mixture": ("premixed 70/30 insulin 16 units" + TAIL, "premixed 70/30 insulin"),
    "time-does-not-fit": ("regular insulin 8 units and NPH insulin 20 units subcut at bedtime", "at bedtime"),
    "two-readings": ("regular insulin 8-10 units and NPH insulin 20 units" + TAIL, "8-10 units"),
    "not-understood": ("regular insulin eightish units and NPH insulin 20 units" + TAIL, "eightish units"),
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
PLAIN_TAIL = "regular insulin 8 units and NPH insulin 20 units subcut "
PROVOKED |= {
    "times-contradict": (PLAIN_TAIL + "before breakfast at 22:00", "before breakfast at 22:00"),
    "not-to-give": ("Hold " + SAFE, "Hold"),
    "now": (PLAIN_TAIL + "once right now", "once right now"),
    "place": (SAFE.replace("subcut", "subcut into the thigh"), "into the thigh"),
    "course": (SAFE + " for three days", "for three days"),
    "not-due-now": (PLAIN_TAIL + "before breakfast tomorrow", "tomorrow"),
    "kept-apart": (SAFE + " in separate syringes", "in separate syringes"),
    "two-times": (PLAIN_TAIL + "before breakfast and before supper", "before supper"),
    "small-dose": ("regular insulin 1.5 units and NPH insulin 20 units" + TAIL, "1.5 units"),
    "large-dose": ("regular insulin 8 units and NPH insulin 52 units" + TAIL, "52 units"),
}
NEEDS_USUAL = {"not-the-usual-insulin", "far-from-usual", "swapped"}


def test_every_concern_of_the_facts_is_provoked_here():
    assert set(PROVOKED) == set(the_facts().concerns)


@pytest.mark.parametrize("key", PROVOKED)
def test_each_concern_is_found_at_its_place_with_what_to_write_and_its_source(key):
    text, words = PROVOKED[key]
    row = the_facts().concerns[key]
    usual = USUAL if key in NEEDS_USUAL else None
    found = [one for one in order_concerns(text, usual=usual) if one.key == key]
    assert len(found) == 1
    (concern,) = found
    assert (concern.kind, concern.write) == (row.kind, row.write)
    assert concern.text == (words or "")
    assert (concern.place is None) == (words is None)
    assert concern.place is None or text[slice(*concern.place)] == words
    assert concern.source
    assert concern.misread_as


@pytest.mark.parametrize("key", sorted(NEEDS_USUAL))
def test_without_the_usual_order_nothing_can_be_compared(key):
    assert order_concerns(PROVOKED[key][0]) == ()


# Ways of writing


@pytest.mark.parametrize("key", the_facts().notation)
def test_a_way_of_writing_is_found_in_its_example_under_its_own_key(key):
    row = the_facts().notation[key]
    (found,) = [one for one in order_concerns(row.example) if one.key == key]
    assert (found.kind, found.name, found.misread_as) == ("writing", row.title, row.misread_as)
    assert (found.write.key, found.source) == (row.write.key, the_facts().cite(row))


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
    assert str(concern.misread_as) == (
        "'regular insulin 8 units and NPH insulin 20 units' or 'regular insulin 20 units and NPH insulin 8 units'"
    )


# What is missing


def test_a_time_is_a_meal_or_a_clock_or_now_and_how_often_is_none():
    start = "regular insulin 8 units and NPH insulin 20 units subcut "
    for time in ("before supper", "at 17:30", "at 5 pm"):
        assert names(start + time) == []
    for time in ("now", "immediately"):
        assert names(start + time) == ["a dose for now, with no meal named"]
    for time in ("", "daily", "every evening", "every 12 hours", "today"):
        assert names(start + time) == ["the time is missing"]


def test_the_strength_matters_when_a_volume_or_another_strength_is_mentioned():
    missing, other = "the strength is missing", "the strength of the other insulin is missing"
    assert missing not in names(SAFE)
    assert missing in names("regular insulin 0.08 mL and NPH insulin 20 units" + TAIL)
    assert missing not in names("regular insulin U-100 0.08 mL and NPH insulin 20 units" + TAIL)
    assert other in names("regular insulin 8 units U-500 and NPH insulin 20 units" + TAIL)
    for text in ("8 units U-500 and NPH insulin 20 units", "8 units U-500 and NPH insulin 20 units U-100"):
        assert missing not in names(f"regular insulin {text}" + TAIL)
    assert other not in names("regular insulin 8 units U-500 and NPH insulin 20 units U-100" + TAIL)


# What the order says


def test_two_of_one_look_and_a_pair_that_must_not_mix_are_named_with_the_source_of_the_rule():
    both_clear = only("regular insulin 8 units and insulin lispro 20 units" + TAIL)
    assert (both_clear.key, both_clear.name.key) == (
        "pair",
        "{one} and {other} are both {look}, and a mixed dose is one clear and one cloudy insulin",
    )
    assert dict(both_clear.name.values) == {
        "one": sentence("{regular}"),
        "other": sentence("insulin lispro"),
        "look": sentence("clear"),
    }
    premixed = only("regular insulin 8 units and premixed 70/30 insulin 20 units" + TAIL)
    assert str(premixed.name) == "regular insulin and premixed 70/30 insulin must not share a syringe"
    assert premixed.source == the_facts().cite(the_facts().insulins["premixed-70-30"].mixing)


def test_the_stock_of_the_site_decides_what_is_too_much_and_what_no_line_shows():
    small = replace(teaching_site(), stock=(syringes()["0.3-one"],))
    assert names(with_doses(20, 20), site=small) == ["40 units in all, and the largest syringe here holds 30 units"]
    assert names(with_doses(8.5, 20), site=small) == ["no syringe here has a line at both 8.5 units and 28.5 units"]
    assert names(with_doses(8.5, 20)) == []


# Conditions, short forms for the time, ready mixtures, numbers with a zero, a slash


CONDITIONS = [
    "Hold if glucose is less than 70 mg/dL",
    "hold if glucose is below 3.9 mmol/L",
    "Hold for glucose under 70",
    "hold regular insulin if not eating",
    "Do not give if the blood glucose is 70 mg/dL or less",
    "Call the prescriber if glucose is above 300 mg/dL",
    "withhold when glucose before breakfast is 4.0 mmol/L or less",
    "Hold if glucose is less than seventy, or if vomiting",
    "glucose less than 70: hold",
    "unless fasting",
]


@pytest.mark.parametrize("condition", CONDITIONS)
def test_a_condition_is_one_concern_over_all_its_words_and_the_glucose_in_it_is_no_dose(condition):
    dose = "regular insulin 8 units and NPH insulin 20 units subcut 30 minutes before breakfast"
    for text in (f"{dose}. {condition}.", f"{dose}; {condition}", f"{dose}, {condition}", f"{condition}: {dose}"):
        concern = only(text, usual=USUAL)
        assert concern.key == "condition"
        assert str(concern.name).startswith("a condition in the order, such as 'hold if …'")
        assert concern.text == condition
        with pytest.raises(HasCondition, match=r"is a condition.*beside the dose.*ask the prescriber"):
            read_order(text)


def test_a_condition_ends_where_the_order_goes_on():
    for rest in (
        "give regular insulin 8 units and NPH insulin 20 units subcut before breakfast",
        "regular insulin 8 units and NPH insulin 20 units subcut before breakfast",
        "8 units regular and 20 units NPH under the skin before breakfast",
    ):
        for joint in (", ", "; ", ": ", "\n", ". ", " "):
            assert only(f"Hold if glucose is less than 70 mg/dL{joint}{rest}").text == (
                "Hold if glucose is less than 70 mg/dL"
            )
    wrapped = "regular 8 units, NPH 20 units, hold if glucose is\nless than 70 mg/dL, subcut, before breakfast"
    assert only(wrapped).text == "hold if glucose is\nless than 70 mg/dL"


def test_a_glucose_is_never_called_a_dose_wherever_it_stands():
    for glucose in ("70 mg/dL", "70mg/dL", "4.0 mmol/L", "70 to 100 mg/dL", "below 70 mg/dL", "7 mmol", "70 mg / dL"):
        for text in (f"{SAFE} {glucose}", f"{SAFE}. ({glucose})", f"{glucose}: {SAFE}", f"{SAFE}, target {glucose}"):
            found = [str(concern) for concern in order_concerns(text)]
            assert any("a condition in the order" in one for one in found), text
            assert not any(word in one for one in found for word in ("not in units", "zero after", "run together")), (
                found
            )


SHORT_FORMS = [
    "BID",
    "b.i.d.",
    "TID",
    "qAM",
    "q am",
    "stat",
    "ac",
    "ac breakfast",
    "a.c. lunch",
    "QID",
    "q12h",
    "tds",
    "in the AM",
]


@pytest.mark.parametrize("form", SHORT_FORMS)
def test_a_short_form_for_the_time_is_read_and_said_as_the_wards_style(form):
    for text in (
        f"regular insulin 8 units and NPH insulin 20 units subcut {form}",
        f"{form}: regular 8 units, NPH 20 units subcut",
    ):
        (concern,) = (one for one in order_concerns(text) if one.kind == "writing")
        assert (str(concern.name), concern.text.rstrip(":")) == ("a short form for the time", form)
        assert (concern.grade, concern.holds) == ("style", False)
        missing = not form.startswith(("ac", "a.c.", "stat"))  # how often says no time
        assert [one.key for one in order_concerns(text) if one.kind == "missing"] == ["time"] * missing
        assert "'before breakfast'" in str(concern.write)
        assert "'two times a day'" in str(concern.write)
        assert concern.source == sentence("common practice, no source")


def test_at_written_as_a_sign_before_a_meal_is_told_once_and_the_meal_is_not_told_again():
    found = order_concerns("regular insulin 8 units and NPH insulin 20 units subcut @ breakfast")
    assert [(one.text, str(one.name)) for one in found] == [
        ("@ breakfast", "@ for at"),
    ]


def test_how_often_in_words_is_understood_and_is_no_time():
    for often in ("two times daily", "two times a day", "three times a day", "twice a day"):
        assert names(f"regular insulin 8 units and NPH insulin 20 units subcut {often} before meals") == []
        assert names(f"regular insulin 8 units and NPH insulin 20 units subcut {often}") == ["the time is missing"]


def test_a_ready_mixture_alone_is_not_an_order_with_a_name_left_out():
    for text in ("premixed 70/30 insulin 16 units" + TAIL, "70/30 16 units" + TAIL):
        concern = only(text)
        assert concern.key == "ready-mixture"
        assert str(concern.name) == "a ready mixture, which is never mixed with another insulin"


def test_the_correction_of_a_zero_is_made_from_the_number_itself():
    rights = {"2.0": "2", "8.50": "8.5", "20.0": "20", ".5": "0.5", "0.0": "0"}
    for number, right in rights.items():
        found = order_concerns(f"regular insulin {number} units and NPH insulin 20 units" + TAIL)
        corrections = [str(one.write).rpartition(": ")[2] for one in found if one.kind == "writing"]
        assert corrections == [f"{right}, not {number}"]


def test_a_slash_between_the_insulins_is_told_as_a_slash():
    concern = only("NPH 20 units / regular 8 units" + TAIL)
    assert (str(concern.name), str(concern.write)) == ("a slash between the two insulins", "the word 'and'")
    assert "a slash between the two insulins" not in names("NPH/regular 70/30 16 units" + TAIL)
    assert names("NPH 20 units/kg and regular 8 units" + TAIL)[0] == "no fixed dose"


def test_what_is_left_to_a_scale_is_not_called_leave_to_work_a_dose_out():
    found = [str(one) for one in order_concerns("regular insulin sliding scale and NPH insulin 20 units" + TAIL)]
    assert any("no fixed dose; the reader may think that they may work out a dose themselves." in one for one in found)


# Beside the usual order


def with_doses(clear, cloudy):
    return f"regular insulin {clear} units and NPH insulin {cloudy} units" + TAIL


@pytest.mark.parametrize(
    ("clear", "cloudy", "name", "taken_for", "check"),
    [
        (80, 20, "10 times the usual 8 units", "'8U' with the U read as a 0, or 8 with a zero too many", "tenfold"),
        (0.8, 20, "the usual 8 units divided by 10", "8 with a zero too many or too few, or with a point", "tenfold"),
        (8, 2, "the usual 20 units divided by 10", "20 with a zero too many or too few, or with a point", "tenfold"),
        (84, 20, "10.5 times the usual 8 units", "'8U' with the U read as a 4.", "u_as_four"),
        (88, 20, "11 times the usual 8 units", "8 with a figure written or keyed twice.", "elevenfold"),
        (8, 220, "11 times the usual 20 units", "20 with a figure written or keyed twice.", "elevenfold"),
        (72, 20, "9 times the usual 8 units", "the usual 8, misread or miswritten.", "far_from_usual"),
        (16, 20, "2 times the usual 8 units", "the usual 8, misread or miswritten.", "far_from_usual"),
        (4, 20, "the usual 8 units divided by 2", "the usual 8, misread or miswritten.", "far_from_usual"),
        (8, 50, "2.5 times the usual 20 units", "the usual 20, misread or miswritten.", "far_from_usual"),
    ],
)
def test_a_dose_far_from_the_usual_one_is_found_with_the_misreading_that_explains_it(
    clear, cloudy, name, taken_for, check
):
    """The Joint Commission, 'Do Not Use' list (read): U mistaken for 0 and for 4; a figure twice: common practice, no source."""
    found = order_concerns(with_doses(clear, cloudy), usual=USUAL)
    (far,) = (one for one in found if one.key == "far-from-usual")
    assert (str(far.name), far.source) == (name, the_facts().cite(the_facts().checks[check]))
    assert f"it could be {taken_for}" in str(far)


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
    assert order_concerns(with_doses(48, 8), usual=usual) == ()


# The time. Regular insulin 30 minutes before a meal: American Family Physician 2009;79:29 (read); 30-45 minutes before it, and a
# rapid-acting insulin 0-15 minutes before it: Practical guidelines for hospital use of insulin, Table 3 (read).


def timed(insulin, when):
    return f"{insulin} 8 units and NPH insulin 20 units subcut {when}"


FITS = {
    "regular insulin": "30 minutes before breakfast, 45 min before supper, half an hour before lunch, before meals",
    "insulin lispro": "with breakfast, at lunch, 15 minutes before supper, 1 minute before lunch, with meals",
}
FITS |= dict.fromkeys(("insulin aspart", "insulin glulisine"), FITS["insulin lispro"])
FITS = {insulin: f"{times}, before breakfast, at 07:30" for insulin, times in FITS.items()}
NEVER = (
    "at bedtime, before bedtime, 15 minutes before bedtime, half an hour before bedtime, after supper, after meals, "
    "30 minutes after lunch, an hour before breakfast, 46 minutes before lunch, 2 hours before lunch, "
)
UNFIT = {
    "regular insulin": NEVER + "with breakfast, at lunch, 15 minutes before supper, 29 minutes before tea",
    "insulin lispro": NEVER + "30 minutes before breakfast, 16 min before lunch",
}


def each_time(table):
    return [(insulin, when) for insulin, times in table.items() for when in times.split(", ")]


@pytest.mark.parametrize(("insulin", "when"), each_time(FITS))
def test_a_time_that_fits_raises_no_concern(insulin, when):
    assert names(timed(insulin, when)) == []


@pytest.mark.parametrize(("insulin", "when"), each_time(UNFIT))
def test_a_time_that_does_not_fit_is_asked_about(insulin, when):
    concern = only(timed(insulin, when))
    regular = insulin == "regular insulin"
    said = f"30 minutes before a meal; this order says '{when}'" if regular else "0–15 minutes before a meal; "
    assert str(concern.name).startswith(f"{insulin} is taught for {said}")
    assert (concern.kind, concern.holds, concern.text) == ("contradictory", True, when)
    assert "ask the prescriber" in str(concern.write)
    rule = the_facts().bedside["meal_lead_minutes"] if regular else the_facts().checks["rapid_lead_minutes"]
    assert concern.source == the_facts().cite(rule)
    assert read_order(timed(insulin, when)).when == when


def test_how_early_is_told_in_minutes():
    told = {"30 minutes before lunch": 30, "half an hour before lunch": 30, "an hour before lunch": 60}
    for when, minutes in told.items():
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


def test_a_concern_is_a_value_that_every_ward_says_in_its_own_words():
    text = "regular insulin 80 units and NPH insulin 20.5 units subcut before breakfast"
    found = order_concerns(text, usual=USUAL)
    assert [one.key for one in found] == ["far-from-usual", "too-much"]
    assert set(found) == set(order_concerns(text, usual=USUAL))
    assert pickle.loads(pickle.dumps(found)) == found
    with speaking(Voice(terms=(("prescriber", "doctor"), ("units", "international units")), numbers="comma")):
        assert order_concerns(text, usual=USUAL) == found
        assert "100,5 international units in all" in str(found[1])
        assert "doctor" in str(found[0])
    assert "100.5 units in all" in str(found[1])


def test_a_text_too_long_for_an_order_is_one_concern():
    assert [one.kind for one in order_concerns("regular " * 100)] == ["writing"]


@settings(deadline=None)
@given(st.text(max_size=600), st.sampled_from([None, USUAL]))
def test_no_text_is_refused(text, usual):
    for concern in order_concerns(text, usual=usual):
        assert isinstance(concern, Concern)
        assert str(concern).endswith(".")
        assert concern.place is None or concern.text in (text[slice(*concern.place)], "")


@pytest.mark.parametrize("nothing", [None, 8, b"8 units"], ids=repr)
def test_what_is_no_text_is_a_concern_and_no_error(nothing):
    (found,) = order_concerns(nothing)
    assert (found.key, str(found.name), found.place) == ("not-understood", "words that are not understood", None)
