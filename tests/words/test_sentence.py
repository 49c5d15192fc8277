"""A sentence is a value: it compares, hashes and pickles as what it means, and is said only when somebody says it."""

import pickle
from datetime import date
from decimal import Decimal
from fractions import Fraction

import pytest

from mixlab.quantities import ClockTime, Glucose, minutes_text, units_text
from mixlab.words import Catalogue, Sentence, Voice, counted, joined, say, sentence, speaking, voice

COMMA = Voice(numbers="comma", dates="d.M.yyyy", terms=(("units", "E"), ("prescriber", "doctor")))


def test_it_compares_and_hashes_by_what_it_means():
    one = sentence("Report it to the {prescriber}: {reading}.", reading=Glucose(64, "mg/dL"))
    same = sentence("Report it to the {prescriber}: {reading}.").filled(reading=Glucose(64, "mg/dL"))
    other = sentence("Report it to the {prescriber}: {reading}.", reading=Glucose(65, "mg/dL"))
    assert one == same
    assert one != other
    assert len({one, same, other}) == 2


def test_it_means_the_same_whoever_speaks():
    one = sentence("Report it to the {prescriber}.")
    with speaking(COMMA):
        assert sentence("Report it to the {prescriber}.") == one
        assert str(one) == "Report it to the doctor."
    with speaking(Voice()):
        assert str(one) == "Report it to the prescriber."


@pytest.mark.parametrize(
    ("value", "point", "comma"),
    [
        (8, "8", "8"),
        (8.0, "8", "8"),
        (0.5, "0.5", "0,5"),
        (Fraction(17, 2), "8.5", "8,5"),
        (Decimal("5.0"), "5.0", "5,0"),
        (date(2031, 3, 9), "2031-03-09", "9.3.2031"),
        (Glucose(5.04, "mmol/L"), "5.0 mmol/L", "5,0 mmol/L"),
        (ClockTime(450), "07:30", "07:30"),
        (units_text(1.5), "1.5 units", "1,5 E"),
        (sentence("{units} of {prescriber}"), "units of prescriber", "E of doctor"),
        ("as typed, 0.5", "as typed, 0.5", "as typed, 0.5"),
        (None, "None", "None"),
    ],
)
def test_what_stands_in_a_place_is_printed_as_the_site_writes_it(value, point, comma):
    one = sentence("[{value}]", value=value)
    with speaking(Voice()):
        assert str(one) == f"[{point}]"
    with speaking(COMMA):
        assert str(one) == f"[{comma}]"
    assert pickle.loads(pickle.dumps(one)) == one
    assert hash(one) == hash(sentence("[{value}]", value=value))


def test_a_place_may_say_how_its_value_is_printed():
    assert say("{value:g} and {text!r}", value=2.50, text="a") == "2.5 and 'a'"


def test_a_number_chooses_the_form_when_it_is_said():
    assert [str(counted(n, "{n} minute", "{n} minutes", n=n)) for n in (0, 1, 2)] == [
        "0 minutes",
        "1 minute",
        "2 minutes",
    ]
    assert str(minutes_text(90)) == "1 hour 30 minutes"


def test_sentences_can_be_joined_by_marks_or_by_a_sentence():
    parts = (sentence("sweating"), sentence("hunger"))
    assert str(joined(parts)) == "sweating, hunger"
    assert str(joined(parts, sentence(" and "))) == "sweating and hunger"
    assert joined(parts[:1]) is parts[0]
    assert not joined(())
    assert str(joined((" {not a place} ",))) == " {not a place} "


def test_a_sentence_that_goes_on_after_a_colon_begins_with_a_small_letter_in_english(monkeypatch):
    one = sentence("Call {prescriber}. Wait.").after_a_colon()
    assert str(sentence("Ask: {then}", then=one)) == "Ask: call prescriber. Wait."
    assert one != sentence("Call {prescriber}. Wait.")
    with speaking(Voice(terms=(("prescriber", "Doctor"),))):
        assert str(sentence("{prescriber} calls.").after_a_colon()) == "doctor calls."
    german = Catalogue(language="de", said={one.key: ("Rufen Sie {prescriber}. Warten Sie.",)}, form=lambda number: 0)
    monkeypatch.setattr(voice, "catalogue", lambda language: german)
    with speaking(Voice(language="de", terms=(("prescriber", "die Ärztin"),))):
        assert str(sentence("{then}", then=one)) == "Rufen Sie die Ärztin. Warten Sie."
    monkeypatch.undo()
    assert str(one.filled()) == str(one)


def test_each_sentence_can_begin_with_a_capital_letter():
    one = sentence("{meal} is late. {meal} is there?", meal="breakfast").with_capitals()
    assert str(one) == "Breakfast is late. Breakfast is there?"


def test_what_prints_a_sentence_makes_it_again():
    one = sentence("Treat: {amount}.", amount=units_text(2))
    names = {"sentence": sentence, "counted": counted}
    assert eval(repr(one), names) == one


def test_a_place_without_a_value_is_an_error_and_no_text():
    with pytest.raises(KeyError, match="reading"):
        str(sentence("Report {reading}."))


def test_nothing_to_say_is_false():
    assert not Sentence("")
    assert Sentence("x")
