"""Units, millilitres, glucose and times of day, and printing them so that nobody misreads a number."""

import re
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mixlab.quantities import (
    MINUTES_A_DAY,
    ClockTime,
    Glucose,
    NotAClockTime,
    NotAnAmount,
    exact_units,
    figures_text,
    minutes_text,
    ml_text,
    ml_to_units,
    number_text,
    read_clock,
    rounded_beside,
    units_text,
    units_to_ml,
)
from mixlab.words import Voice, speaking


@pytest.mark.parametrize(
    ("value", "exact"),
    [(8, 8), (8.0, 8), (8.5, 8.5), (Fraction(17, 2), 8.5), (Fraction(8), 8), (Decimal("20.5"), 20.5), (0, 0), (-1, -1)],
)
def test_exact_units(value, exact):
    result = exact_units(value)
    assert result == exact
    assert type(result) is type(exact)


@pytest.mark.parametrize("value", [float("nan"), float("inf"), -float("inf"), Decimal("NaN"), True, "8", None, 8j])
def test_what_is_not_an_amount_of_units(value):
    with pytest.raises(NotAnAmount, match="not a number of units"):
        exact_units(value)


@pytest.mark.parametrize(("units", "ml"), [(1, 0.01), (16, 0.16), (28, 0.28), (40, 0.40), (100, 1.0)])
def test_units_and_volumes_of_u100(units, ml):
    # US Army subcourse MD0904: U-100 holds 100 units in each mL, 16 units are 0.16 mL (read)
    assert units_to_ml(units) == pytest.approx(ml, abs=1e-12)
    assert ml_to_units(ml) == pytest.approx(units, abs=1e-9)


def test_another_strength():
    # U-40: the mark for 10 units stands at 0.25 mL (computed)
    assert units_to_ml(10, units_per_ml=40) == 0.25
    assert ml_to_units(0.25, units_per_ml=40) == 10


@settings(deadline=None)
@given(st.integers(0, 2000))
def test_units_to_volume_and_back(twice):
    assert ml_to_units(units_to_ml(twice / 2)) == pytest.approx(twice / 2, abs=1e-9)


@pytest.mark.parametrize(
    ("value", "text"),
    [(8, "8"), (8.0, "8"), (0.5, "0.5"), (20.50, "20.5"), (100, "100"), (Fraction(17, 2), "8.5"), (0.1 + 0.2, "0.3")],
)
def test_numbers_are_printed_safely(value, text):
    assert str(number_text(value)) == text


@settings(deadline=None)
@given(st.integers(0, 4000))
def test_no_trailing_zero_and_always_a_leading_one(quarters):
    # Joint Commission, Do-not-use list: never X.0, never .X (read)
    for text in map(str, (number_text(quarters / 4), units_text(quarters / 4), ml_text(quarters / 4))):
        assert not re.search(r"\.\d*0(?!\d)|(?<!\d)\.", text)
        assert not re.search(r"\d[uU]\b|IU", text)


@pytest.mark.parametrize(
    ("value", "limit", "decimals", "said"),
    [
        (14.97, 15, 1, 14.9), (15.04, 15, 1, 15.1), (15, 15, 1, 15), (14.2, 15, 1, 14.2), (3.97, 4, 1, 3.9), (3.97, 24, 1, 4),
        (5.4, 5, 0, 6), (4.6, 5, 0, 4), (6.4, 5, 0, 6), (0.03, 0, 1, 0.1), (0, 0, 1, 0), (12.5, 12.52, 1, 12.5),
    ],
)  # fmt: skip
def test_a_number_is_not_rounded_onto_a_limit_beside_which_it_lies(value, limit, decimals, said):
    assert rounded_beside(value, limit, decimals) == said


@pytest.mark.parametrize(("units", "text"), [(1, "1 unit"), (1.0, "1 unit"), (0.5, "0.5 units"), (8, "8 units")])
def test_the_word_units_stands_in_full(units, text):
    assert str(units_text(units)) == text


@pytest.mark.parametrize(("units", "text"), [(28, "0.28 mL"), (40, "0.4 mL"), (8.5, "0.085 mL"), (100, "1 mL")])
def test_a_volume_as_text(units, text):
    assert str(ml_text(units)) == text


def test_amounts_are_values_that_each_ward_says_in_its_own_way():
    amounts = units_text(8.5), ml_text(28), number_text(0.5), figures_text("5.40"), minutes_text(90)
    assert amounts == (units_text(8.5), ml_text(28), number_text(0.5), figures_text("5.40"), minutes_text(90))
    assert len({*amounts, units_text(8), ml_text(8), minutes_text(30)}) == 8
    said = ["8.5 units", "0.28 mL", "0.5", "5.40", "1 hour 30 minutes"]
    assert list(map(str, amounts)) == said
    with speaking(Voice(numbers="comma", terms=(("units", "international units"),))):
        assert list(map(str, amounts)) == ["8,5 international units", "0,28 mL", "0,5", "5,40", "1 hour 30 minutes"]
        assert str(Glucose(5.4, "mmol/L")) == "5,4 mmol/L"


def test_what_is_wrong_with_an_amount_is_said_by_whoever_reads_it():
    with pytest.raises(NotAnAmount) as refused:
        exact_units(float("nan"))
    (why,) = refused.value.args
    assert why.key == "{value} is not a number of units. Write the dose as a number, for example 8 or 8.5."
    assert str(why) == str(refused.value)


@pytest.mark.parametrize("value", [float("nan"), float("inf"), -1, -0.1, True, "64", None])
def test_what_is_not_a_glucose(value):
    with pytest.raises(NotAnAmount):
        Glucose(value, "mg/dL")


@pytest.mark.parametrize("unit", ["mg", "mmol", "", None, "MG/DL"])
def test_a_glucose_needs_a_unit(unit):
    with pytest.raises(NotAnAmount, match="not a glucose unit"):
        Glucose(64, unit)


@pytest.mark.parametrize(
    ("mmol_l", "mg_dl"),
    # computed with 18.0156 (molar mass 180.156 g/mol, checked against molmass in tests/published)
    [(2.997, 54), (3.886, 70), (5.551, 100), (7.771, 140), (9.991, 180), (13.877, 250), (16.652, 300), (22.203, 400)],
)
def test_glucose_in_the_other_unit(mmol_l, mg_dl):
    assert Glucose(mg_dl, "mg/dL").to("mmol/L").value == pytest.approx(mmol_l, abs=5e-4)
    assert Glucose(mmol_l, "mmol/L").to("mg/dL").value == pytest.approx(mg_dl, abs=0.01)


@settings(deadline=None)
@given(st.floats(0, 1000), st.sampled_from(["mg/dL", "mmol/L"]), st.sampled_from(["mg/dL", "mmol/L"]))
def test_there_and_back(value, unit, other):
    reading = Glucose(value, unit)
    assert reading.to(other).to(unit).value == pytest.approx(value, rel=1e-12, abs=1e-300)
    assert reading.to(unit) is reading


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [
        (64, "mg/dL", "64 mg/dL"),
        (69.5, "mg/dL", "70 mg/dL"),
        (70.5, "mg/dL", "71 mg/dL"),
        (69.4, "mg/dL", "69 mg/dL"),
        (4, "mmol/L", "4.0 mmol/L"),
        (3.95, "mmol/L", "4.0 mmol/L"),
        (3.94, "mmol/L", "3.9 mmol/L"),
        (0, "mg/dL", "0 mg/dL"),
    ],
)
def test_a_reading_is_shown_as_a_meter_shows_it(value, unit, text):
    assert str(Glucose(value, unit)) == text


def test_a_glucose_beyond_any_meter_is_refused():
    with pytest.raises(NotAnAmount, match="beyond any meter"):
        Glucose(1e30, "mg/dL")


MOMENT = st.integers(-2 * MINUTES_A_DAY, 3 * MINUTES_A_DAY).map(ClockTime)


@pytest.mark.parametrize(
    ("text", "minutes"),
    [("07:30", 450), ("7:30", 450), (" 07:30\n", 450), ("00:00", 0), ("0:05", 5), ("19:05", 1145), ("23:59", 1439)],
)
def test_a_time_of_day_is_read(text, minutes):
    assert read_clock(text) == ClockTime(minutes)


@pytest.mark.parametrize(
    "text",
    [
        *(
            "",
            " ",
            "7",
            "730",
            "0730",
            "7:3",
            "07.30",
            "07:30 pm",
            "07:30:00",
            "24:00",
            "12:60",
            "99:99",
            "-1:00",
            "+7:30",
        ),
        *("007:30", "7 :30", "07:30 08:30", "٠٧:٣٠", "noon", None, 7.5, 730, ("07:30",), b"07:30"),
    ],
)
def test_what_is_no_time_of_day(text):
    with pytest.raises(
        NotAClockTime, match=r"is no time of day\. Write it on the 24-hour clock, for example 07:30 or 19:05\."
    ):
        read_clock(text)


@settings(deadline=None)
@given(MOMENT)
def test_the_face_of_a_clock_is_read_as_the_same_time_of_day(moment):
    assert re.fullmatch(r"\d\d:\d\d", moment.face)
    assert read_clock(moment.face).minutes == moment.minutes % MINUTES_A_DAY
    assert str(moment).startswith(moment.face)


@settings(deadline=None)
@given(MOMENT, MOMENT)
def test_the_next_time_a_clock_shows_something_is_within_a_day_and_shows_it(moment, other):
    following = moment.next(other)
    assert following.face == other.face
    assert 0 <= moment.until(following) < MINUTES_A_DAY
    assert following.next(other) == following
    assert moment.next(moment) == moment
    if moment.minutes <= other.minutes < moment.minutes + MINUTES_A_DAY:
        assert following == other


@settings(deadline=None)
@given(MOMENT, MOMENT, st.integers(-5000, 5000))
def test_until_and_later_undo_each_other(moment, other, minutes):
    assert moment.until(moment.later(minutes)) == minutes
    assert moment.later(moment.until(other)) == other
    assert moment.until(other) == -other.until(moment)
    assert moment.later(minutes).later(-minutes) == moment
    assert (moment < other) == (moment.until(other) > 0)
    assert moment.later(MINUTES_A_DAY).face == moment.face


@pytest.mark.parametrize(("minutes", "later"), [(4.998, 5), (10.002, 10), (89.6, 90), (-0.4, 0)])
def test_later_by_a_part_of_a_minute_is_to_the_nearest_minute(minutes, later):
    assert ClockTime(450).later(minutes) == ClockTime(450 + later)


@pytest.mark.parametrize(
    ("minutes", "text"),
    [
        (450, "07:30"),
        (0, "00:00"),
        (-5, "23:55 the day before"),
        (MINUTES_A_DAY, "00:00 the next day"),
        (1440 + 90, "01:30 the next day"),
        (2 * MINUTES_A_DAY + 90, "01:30 on day 3"),
    ],
)
def test_a_time_names_its_day_where_it_is_another(minutes, text):
    assert str(ClockTime(minutes)) == text


@pytest.mark.parametrize(
    ("minutes", "text"),
    [
        (0, "0 minutes"),
        (1, "1 minute"),
        (45, "45 minutes"),
        (60, "1 hour"),
        (61, "1 hour 1 minute"),
        (90, "1 hour 30 minutes"),
        (120, "2 hours"),
        (16.2, "16 minutes"),
        (120.0, "2 hours"),
    ],
)
def test_a_length_of_time_in_words(minutes, text):
    assert str(minutes_text(minutes)) == text


@settings(deadline=None)
@given(st.integers(0, 5000))
def test_a_length_of_time_in_words_can_be_read_back(minutes):
    text = str(minutes_text(minutes))
    found = {word.rstrip("s"): (int(count), word) for count, word in re.findall(r"(\d+) (\w+)", text)}
    hours, rest = (found.get(word, (0, ""))[0] for word in ("hour", "minute"))
    assert 60 * hours + rest == minutes
    assert rest < 60
    assert all(word.endswith("s") == (count != 1) for count, word in found.values())
    assert re.fullmatch(r"\d+ \w+(?: \d+ minutes?)?", text)
