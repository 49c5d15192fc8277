"""Saying a sentence: in the terms of the site, in the form a number asks for, with its way of writing numbers and dates."""

from datetime import date
from io import BytesIO

import pytest

from mixlab.words import (
    TERMS,
    Voice,
    date_text,
    decimal_text,
    languages,
    plural,
    say,
    speaking,
    translations,
    unsaid,
    voice,
    voice_now,
)
from mixlab.words.translations import Catalogue, read_catalogue

HILL = Voice(language="en-US", terms=(("regular", "soluble insulin"), ("chart", "drug chart")), numbers="comma")


def test_a_sentence_is_filled_in():
    assert say("Wait {minutes} minutes.", minutes=5) == "Wait 5 minutes."
    assert say("Clean your hands.") == "Clean your hands."


def test_a_term_is_the_site_s_and_begins_a_sentence_with_a_capital():
    assert say("{Regular} is clear: see the {chart}.") == "Regular insulin is clear: see the chart."
    with speaking(HILL):
        assert say("{Regular} is clear: see the {chart}.") == "Soluble insulin is clear: see the drug chart."
        assert say("Ask the {prescriber}.") == "Ask the prescriber."
    assert say("{Regular}") == "Regular insulin"


def test_every_term_has_a_place_in_both_cases():
    for name, term in TERMS.items():
        assert say(f"{{{name}}}") == term
        assert say(f"{{{name.capitalize()}}}") == f"{term[0].upper()}{term[1:]}"


def test_speaking_ends_even_after_an_error():
    before = voice_now()
    with pytest.raises(RuntimeError), speaking(HILL):
        raise RuntimeError
    assert voice_now() is before


@pytest.mark.parametrize(("number", "said"), [(1, "1 unit"), (0, "0 units"), (0.5, "0.5 units"), (2, "2 units")])
def test_english_counts_one_and_the_rest(number, said):
    assert plural(number, "{count} {unit}", "{count} {units}", count=number) == said


POLISH = """
msgid ""
msgstr "Content-Type: text/plain; charset=utf-8\\n"

msgid "{count} hour"
msgid_plural "{count} hours"
msgstr[0] "{count} godzina"
msgstr[1] "{count} godziny"
msgstr[2] "{count} godzin"

msgid "Wait {minutes} minutes."
msgstr "Czekaj {hours} minut."

msgid "Clean your hands."
msgstr ""
"""


COUNTED = 'msgid "{count}'


@pytest.fixture
def polish(monkeypatch):
    read = read_catalogue("pl", BytesIO(POLISH.encode()))
    monkeypatch.setattr(
        voice, "catalogue", lambda language: read if language == "pl" else translations.catalogue(language)
    )
    with speaking(Voice(language="pl")):
        yield read


# The rules for Polish: Unicode CLDR, plural rules, cardinal, pl (through Babel; the four sentences are recalled).
@pytest.mark.parametrize(
    ("count", "said"), [(1, "godzina"), (2, "godziny"), (5, "godzin"), (22, "godziny"), (12, "godzin")]
)
def test_a_language_with_more_forms_than_two(polish, count, said):
    assert plural(count, "{count} hour", "{count} hours", count=count) == f"{count} {said}"


def test_an_entry_whose_place_nobody_fills_stays_english_and_is_reported(polish):
    assert say("Wait {minutes} minutes.", minutes=5) == "Wait 5 minutes."
    assert "Wait {minutes} minutes." in unsaid("pl")


def test_an_empty_entry_stays_english_and_is_reported(polish):
    assert say("Clean your hands.") == "Clean your hands."
    assert "Clean your hands." in unsaid("pl")


@pytest.mark.parametrize(
    "entry",
    [
        'msgid "measure"\nmsgstr "zmierz {}"',
        'msgid "measure"\nmsgstr "zmierz }"',
        'msgid "measure"\nmsgstr "zmierz {"',
        '#, fuzzy\nmsgid "measure"\nmsgstr "zmierz"',
        'msgctxt "elsewhere"\nmsgid "measure"\nmsgstr "zmierz"',
        'msgid "measure"\nmsgstr "<img src=x onerror=alert(1)>zmierz"',
        'msgid "measure"\nmsgstr "zmierz <b"',
        'msgid "Draw {amount}."\nmsgstr "Pobierz {amount:.0f}."',
        'msgid "Draw {amount}."\nmsgstr "Pobierz {amount!r}."',
        'msgid "Draw {amount}."\nmsgstr "Pobierz {amount} {prescriber:d}."',
        'msgid "Draw {amount}."\nmsgstr "Pobierz {amount:{foo}}."',
    ],
)
def test_an_entry_that_cannot_be_said_as_it_is_meant_is_left_out_and_the_others_are_kept(entry):
    others = 'msgid "Clean your hands."\nmsgstr "Umyj ręce."\n\nmsgid "<b>Tell</b> the {prescriber}."\nmsgstr "<b>Powiedz</b>: {Prescriber}."'
    read = read_catalogue("pl", BytesIO(f"{POLISH.split(COUNTED)[0]}\n{others}\n\n{entry}\n".encode()))
    assert [*read.said] == ["Clean your hands.", "<b>Tell</b> the {prescriber}."]


def test_what_is_said_in_the_default_language_is_never_missing():
    say("A sentence that no catalogue has.")
    assert not unsaid("en-US")


def test_a_language_that_does_not_exist_is_refused_with_those_that_do():
    with pytest.raises(KeyError, match="en-US"):
        translations.catalogue("xx")
    assert languages()[0] == "en-US"


def test_numbers_have_no_trailing_zero_and_the_site_s_decimal_mark():
    assert [decimal_text(number) for number in (8.0, 0.5, 1000, 8.25)] == ["8", "0.5", "1000", "8.25"]
    with speaking(HILL):
        assert decimal_text(8.5) == "8,5"


# CLDR date patterns; the day is invented.
@pytest.mark.parametrize(("pattern", "said"), [("yyyy-MM-dd", "2026-03-07"), ("d MMM yyyy", "7 Mar 2026")])
def test_dates_are_written_as_the_site_writes_them(pattern, said):
    with speaking(Voice(dates=pattern)):
        assert date_text(date(2026, 3, 7)) == said


def test_a_sentence_that_was_said_alone_still_has_its_plural():
    assert say("{count} stone", count=1) == "1 stone"
    assert plural(2, "{count} stone", "{count} stones", count=2) == "2 stones"


def test_equal_voices_are_one_key():
    assert Voice(terms=(("chart", "x"),)) == Voice(terms=(("chart", "x"),))
    assert hash(Voice()) == hash(Voice()) != hash(HILL)


def test_a_catalogue_finds_the_english_sentence_where_it_has_none():
    lacking = Catalogue(language="yy", form=lambda number: 0)
    assert lacking.find("a", ("a", "b")) == ("a", "b")
    assert unsaid("yy") == {"a"}
