"""Keeping the catalogues whole: what is new is added, what is gone is taken out, and no translation is lost on the way."""

import re
import tomllib
from pathlib import Path

import pytest
from babel.messages.pofile import read_po, write_po

import mixlab.words
from mixlab.adapting import catalogue
from mixlab.adapting.catalogue import Message, bring_up_to_date, messages
from mixlab.words import Voice, say, speaking
from mixlab.words.spelling import british

FOLDER = Path(mixlab.words.__file__).parent


@pytest.fixture
def file(tmp_path):
    """A language's file that is whole: every sentence said as it stands."""
    path = tmp_path / "de.po"
    bring_up_to_date(path)
    with path.open("rb") as opened:
        held = read_po(opened, locale="de")
    for entry in held:
        if entry.id:
            entry.string = entry.id
    with path.open("wb") as opened:
        write_po(opened, held, width=0)
    return path


def entries(path):
    with path.open("rb") as opened:
        return {
            entry.id if isinstance(entry.id, str) else entry.id[0]: entry.string
            for entry in read_po(opened, locale="de")
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


def test_a_guess_stays_marked_as_one_and_is_told(file):
    guessed = messages()[0].sentence
    with file.open("rb") as opened:
        held = read_po(opened, locale="de")
    held[guessed].flags.add("fuzzy")
    with file.open("wb") as opened:
        write_po(opened, held, width=0)
    assert bring_up_to_date(file) == [guessed]
    with file.open("rb") as opened:
        assert read_po(opened, locale="de").get(guessed).fuzzy


def test_a_new_language_gets_a_file_with_every_sentence(tmp_path):
    file = tmp_path / "de.po"
    assert len(bring_up_to_date(file)) == len(messages())
    assert set(entries(file)) == {message.sentence for message in messages()}


def test_the_command_writes_only_what_is_asked_for(tmp_path, monkeypatch, capsys):
    monkeypatch.setattr(catalogue.resources, "files", lambda _: tmp_path)
    monkeypatch.setattr(catalogue, "messages", messages)
    assert catalogue.keep_catalogue([]) == 0
    assert list(tmp_path.iterdir()) == []
    for wrong in ("en-GB", "en-US", "no such language", "../de"):
        assert catalogue.keep_catalogue([wrong]) == 2
        assert wrong in capsys.readouterr().out
    assert list(tmp_path.iterdir()) == []
    assert catalogue.keep_catalogue(["de"]) == 0
    assert [path.name for path in tmp_path.iterdir()] == ["de.po"]


def test_a_file_that_cannot_be_written_anew_is_not_lost(file, monkeypatch):
    before = file.read_bytes()
    monkeypatch.setattr(catalogue, "write_po", lambda *_, **__: 1 / 0)
    with pytest.raises(ZeroDivisionError):
        bring_up_to_date(file)
    assert file.read_bytes() == before


def test_commonwealth_english_is_the_same_but_for_its_spelling():
    """The pairs of `words/spelling.toml` are recalled."""
    respelled = {one.sentence for one in messages() if british(one.sentence) != one.sentence}
    assert respelled
    spoken = Voice(language="en-GB")
    assert {one for one in respelled if spoken.find(one) == (one,)} == set()
    assert {one.sentence for one in messages() if spoken.find(one.sentence) != Voice().find(one.sentence)} == respelled


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
