"""What a person types from a meter's screen: read, refused in words, or asked about; and how far a meter may be off."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mixlab.quantities import Glucose, NotAnAmount
from mixlab.ward.meter import WrongUnit, allowance, in_the_other_unit, off_the_meter, read_meter
from mixlab.ward.site.in_force import example_sites
from mixlab.ward.site.record import teaching_site

MG = teaching_site()
MMOL = next(site for site in example_sites() if site.glucose_unit == "mmol/L")

READ = [
    ("98", MG, Glucose(98, "mg/dL")),
    (" 98 ", MG, Glucose(98, "mg/dL")),
    ("98 mg/dL", MG, Glucose(98, "mg/dL")),
    ("98mg/dl", MG, Glucose(98, "mg/dL")),
    ("98 MG / DL", MG, Glucose(98, "mg/dL")),
    ("5.4", MMOL, Glucose(5.4, "mmol/L")),
    ("5.4 mmol/l", MMOL, Glucose(5.4, "mmol/L")),
    ("5", MMOL, Glucose(5, "mmol/L")),
    ("5.4\u00a0mmol/L", MMOL, Glucose(5.4, "mmol/L")),
    # a unit that is written counts, also where it is not the ward's
    ("98 mg/dL", MMOL, Glucose(98, "mg/dL")),
    ("5.4 mmol/L", MG, Glucose(5.4, "mmol/L")),
    ("98 mmol/L", MMOL, Glucose(98, "mmol/L")),
    ("5 mg/dL", MG, Glucose(5, "mg/dL")),
    # full-width digits, point and space
    ("９８", MG, Glucose(98, "mg/dL")),
    ("５．４\u3000ｍｍｏｌ／Ｌ", MG, Glucose(5.4, "mmol/L")),
    ("HI", MG, "HI"),
    ("hi", MMOL, "HI"),
    (" Lo ", MMOL, "LO"),
    # outside the meter in both units: a laboratory may have measured it
    ("700", MG, Glucose(700, "mg/dL")),
]


@pytest.mark.parametrize(("text", "site", "reading"), READ, ids=[text for text, *_ in READ])
def test_what_is_read(text, site, reading):
    assert read_meter(text, site) == reading


REFUSED = [
    ("", MG, "no reading. Write the number on the meter's screen, for example 98 mg/dL"),
    (" \n", MMOL, "for example 5.4 mmol/L"),
    ("ninety", MG, "'ninety' is not a reading"),
    ("high", MG, "Write HI or LO if the screen says so"),
    ("nan", MG, "not a reading"),
    ("inf", MG, "not a reading"),
    ("-5", MG, "below zero"),
    ("\u22125.4", MMOL, "below zero"),
    ("5,4", MMOL, "Write a point instead"),
    ("1,000", MG, "no comma between thousands"),
    (".9", MMOL, "Write a zero there"),
    ("5.", MMOL, "ends with a point"),
    ("5²", MG, "not one number"),
    ("5½", MMOL, "not one number"),
    ("1e2", MG, "not one number"),
    ("98 or 99", MG, "not one number"),
    ("98 mg", MG, "not one number"),
    ("98 %", MG, "not one number"),
    ("٩٨", MG, "not a reading"),
    ("69.5", MG, "finer than a meter shows"),
    ("5.45", MMOL, "finer than a meter shows"),
    ("0", MG, "No meter shows 0"),
    ("9999", MG, "Look at the screen again"),
    ("9" * 400, MG, "No meter shows 9999"),
    ("99999999", MMOL, "No meter shows 99999999 mmol/L"),
]


@pytest.mark.parametrize(("text", "site", "words"), REFUSED, ids=[text[:10] for text, *_ in REFUSED])
def test_what_is_refused_and_in_which_words(text, site, words):
    with pytest.raises(NotAnAmount, match=words) as refused:
        read_meter(text, site)
    assert not isinstance(refused.value, WrongUnit)


@pytest.mark.parametrize(
    ("text", "site", "meant"),
    [
        ("5.4", MG, Glucose(5.4, "mmol/L")),
        ("5", MG, Glucose(5, "mmol/L")),
        ("25.3", MG, Glucose(25.3, "mmol/L")),  # inside the meter's range, but finer than it shows mg/dL
        ("98", MMOL, Glucose(98, "mg/dL")),
        ("120", MMOL, Glucose(120, "mg/dL")),
    ],
)
def test_a_bare_number_that_fits_only_the_other_unit_is_asked_about(text, site, meant):
    with pytest.raises(WrongUnit, match=f"did you mean {text} {meant.unit}.*write it behind the number") as asked:
        read_meter(text, site)
    assert asked.value.meant == meant


@pytest.mark.parametrize(("text", "site"), [("25", MG), ("25", MMOL), ("30", MMOL)])
def test_a_number_that_fits_the_wards_own_unit_is_not_asked_about(text, site):
    assert read_meter(text, site) == Glucose(float(text), site.glucose_unit)


@settings(deadline=None)
@given(st.text(max_size=12) | st.text("0123456789.,- mgdlLoOhHiI/", max_size=8), st.sampled_from(example_sites()))
def test_any_text_is_read_or_refused_in_a_sentence(text, site):
    try:
        answer = read_meter(text, site)
    except NotAnAmount as refused:
        answer = str(refused)
    assert isinstance(answer, Glucose) or answer in ("HI", "LO") or answer.endswith(".")


@given(st.integers(1, 2000), st.sampled_from(example_sites()))
def test_no_number_changes_its_unit_or_its_size(number, site):
    assert read_meter(f"{number} mg/dL", site) == Glucose(number, "mg/dL")
    try:
        bare = read_meter(str(number), site)
    except NotAnAmount:
        return
    assert bare == Glucose(number, site.glucose_unit)


def test_the_ends_of_the_meter():
    assert [off_the_meter(Glucose(value, "mg/dL"), MG) for value in (20, 600)] == [None, None]
    assert off_the_meter(Glucose(19, "mg/dL"), MG) is MG.meter_low
    assert off_the_meter(Glucose(601, "mg/dL"), MG) is MG.meter_high
    assert off_the_meter(Glucose(33.4, "mmol/L"), MMOL) is MMOL.meter_high


@pytest.mark.parametrize(
    ("value", "unit", "meant"),
    [
        (5.4, "mg/dL", Glucose(5.4, "mmol/L")),
        (98, "mmol/L", Glucose(98, "mg/dL")),
        (98, "mg/dL", None),
        (5.4, "mmol/L", None),
        (700, "mg/dL", None),
        (0, "mg/dL", None),
        (0.5, "mmol/L", None),
    ],
)
def test_which_number_could_belong_to_the_other_unit(value, unit, meant):
    assert in_the_other_unit(Glucose(value, unit), MG) == meant


@given(st.integers(0, 1000))
def test_the_allowance_is_never_below_zero_and_widens_with_the_reading(value):
    low, high = allowance(Glucose(value, "mg/dL"))
    assert 0 <= low.value <= value <= high.value
    wider_low, wider_high = allowance(Glucose(value + 1, "mg/dL"))
    assert wider_high.value - wider_low.value >= high.value - low.value


def test_the_allowance_lies_around_the_number_on_the_screen():
    assert allowance(Glucose(69.6, "mg/dL")) == (Glucose(55, "mg/dL"), Glucose(85, "mg/dL"))


@pytest.mark.parametrize("typed", ["2001", "99999", "1" + 40 * "0", "99999 mmol/L"])
@pytest.mark.parametrize("site", example_sites(), ids=lambda site: site.name)
def test_an_absurd_number_is_refused_as_it_was_typed(typed, site):
    with pytest.raises(NotAnAmount, match=f"No meter shows {typed}"):
        read_meter(typed, site)
