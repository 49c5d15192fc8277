"""Units, millilitres and glucose, and printing them so that nobody misreads a number."""

import re
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mixlab.quantities import (
    Glucose,
    NotAnAmount,
    exact_units,
    ml_text,
    ml_to_units,
    number_text,
    units_text,
    units_to_ml,
)


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
    assert number_text(value) == text


@settings(deadline=None)
@given(st.integers(0, 4000))
def test_no_trailing_zero_and_always_a_leading_one(quarters):
    # Joint Commission, Do-not-use list: never X.0, never .X (read)
    for text in (number_text(quarters / 4), units_text(quarters / 4), ml_text(quarters / 4)):
        assert not re.search(r"\.\d*0(?!\d)|(?<!\d)\.", text)
        assert not re.search(r"\d[uU]\b|IU", text)


@pytest.mark.parametrize(("units", "text"), [(1, "1 unit"), (1.0, "1 unit"), (0.5, "0.5 units"), (8, "8 units")])
def test_the_word_units_stands_in_full(units, text):
    assert units_text(units) == text


@pytest.mark.parametrize(("units", "text"), [(28, "0.28 mL"), (40, "0.4 mL"), (8.5, "0.085 mL"), (100, "1 mL")])
def test_a_volume_as_text(units, text):
    assert ml_text(units) == text


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
