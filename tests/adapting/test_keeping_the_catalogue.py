"""Keeping the catalogues whole: what is new is added, what is gone is taken out, and no translation is lost on the way."""

import re
import shutil
import tomllib
from pathlib import Path

import pytest
from babel.messages.pofile import read_po

import mixlab.words
from mixlab.adapting import catalogue
from mixlab.adapting.catalogue import Message, bring_up_to_date, messages
from mixlab.adapting.cohort.prose import british
from mixlab.words import Voice, say, speaking

FOLDER = Path(mixlab.words.__file__).parent


@pytest.fixture
def file(tmp_path):
    return Path(shutil.copy(FOLDER / "en-GB.po", tmp_path / "en-GB.po"))


def entries(path):
    with path.open("rb") as opened:
        return {
            entry.id if isinstance(entry.id, str) else entry.id[0]: entry.string
            for entry in read_po(opened, locale="en_GB")
            if entry.id
        }


def test_what_is_whole_stays_as_it_is(file):
    before = entries(file)
    assert bring_up_to_date(file) == []
    assert entries(file) == before


def test_a_new_sentence_is_added_and_told_and_an_old_one_is_taken_out(file, monkeypatch):
    kept = messages()[1:]
    new = Message(sentence="A sentence that is new.", where="tests:1")
    monkeypatch.setattr(catalogue, "messages", lambda: (*kept, new))
    assert bring_up_to_date(file) == [new.sentence]
    after = entries(file)
    assert messages()[0].sentence not in after
    assert after[new.sentence] == ""
    assert after[kept[0].sentence]


def test_an_empty_file_of_a_new_language_is_filled_with_every_sentence(tmp_path):
    file = tmp_path / "de.po"
    file.write_text("", encoding="utf-8")
    assert len(bring_up_to_date(file)) == len(messages())
    assert set(entries(file)) == {message.sentence for message in messages()}


def test_a_file_that_cannot_be_written_anew_is_not_lost(file, monkeypatch):
    before = file.read_bytes()
    monkeypatch.setattr(catalogue, "write_po", lambda *_, **__: 1 / 0)
    with pytest.raises(ZeroDivisionError):
        bring_up_to_date(file)
    assert file.read_bytes() == before


def test_commonwealth_english_is_spelled_so_throughout():
    """The pairs of `words/spelling.toml` are recalled; a sentence may be worded otherwise, never spelled the American way."""
    wrong = {
        said
        for held in entries(FOLDER / "en-GB.po").values()
        for said in ([held] if isinstance(held, str) else held)
        if british(said) != said
    }
    assert not wrong


def test_american_english_is_spelled_so_throughout():
    with (FOLDER / "spelling.toml").open("rb") as opened:
        british_words = set(tomllib.load(opened)["words"].values())
    wrong = {
        one.sentence
        for one in messages()
        if british_words & set(re.findall(r"[a-z]+", re.sub(r"\{[^}]*\}", "", one.sentence.lower())))
    }
    assert not wrong


def test_a_site_with_commonwealth_english_is_heard():
    with speaking(Voice(language="en-GB")):
        assert say("labeled") == "labelled"
