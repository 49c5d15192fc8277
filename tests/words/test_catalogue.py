"""The catalogue is whole: every sentence is in it once, in the terms of the site, and every language has all of it."""

import ast
import re
from pathlib import Path

import pytest
from babel.messages.pofile import read_po

import mixlab
from mixlab.adapting.catalogue import messages
from mixlab.words import TERMS, catalogue, languages
from mixlab.words.catalogue import places

CODE = sorted(Path(mixlab.__file__).parent.rglob("*.py"))
SAYING = {"say", "mark", "plural"}
MESSAGES = {message.sentence: message for message in messages()}


def saying(tree):
    return [
        node
        for node in ast.walk(tree)
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in SAYING
    ]


def calls():
    return [(path, node) for path in CODE for node in saying(ast.parse(path.read_text(encoding="utf-8")))]


def test_no_sentence_is_built_before_it_is_looked_up():
    built = [
        f"{path.name}:{node.lineno}"
        for path, node in calls()
        for argument in node.args[node.func.id == "plural" :]
        if isinstance(argument, ast.JoinedStr | ast.BinOp)
    ]
    assert not built


def test_every_sentence_in_the_code_is_gathered():
    """Also one that is said inside a formatted text, where a gatherer by tokens would not look."""
    lost = [
        f"{path.name}:{node.lineno} {argument.value!r}"
        for path, node in calls()
        for argument in node.args[: 1 if node.func.id != "plural" else 2]
        if isinstance(argument, ast.Constant) and isinstance(argument.value, str) and argument.value not in MESSAGES
    ]
    assert not lost


def test_no_value_takes_the_place_of_a_term():
    taken = [
        f"{path.name}:{node.lineno} {keyword.arg}"
        for path, node in calls()
        for keyword in node.keywords
        if keyword.arg and keyword.arg.lower() in TERMS
    ]
    assert not taken


def test_what_a_sentence_names_and_what_it_is_given_agree():
    wrong = []
    for path, node in calls():
        if node.func.id == "mark" or any(keyword.arg is None for keyword in node.keywords):
            continue
        sentences = [one.value for one in node.args if isinstance(one, ast.Constant) and isinstance(one.value, str)]
        if not sentences:
            continue
        named = {re.match(r"\w+", place)[0] for one in sentences for place in places(one)}
        given = {keyword.arg for keyword in node.keywords}
        if {name for name in named if name.lower() not in TERMS} != given:
            wrong.append(f"{path.name}:{node.lineno} {sorted(named ^ given)}")
    assert not wrong


AS_THEY_ARE = re.compile(r"facts\.(?:insulins|trials)|care/scoreboard|ward/site_choices")
"""Where the generic names themselves stand: the facts of each insulin, studies by what they gave, and keys of a site file."""

BARE = re.compile(r"\b(prescribers?|chart|regular insulin|NPH|soluble|isophane|neutral)\b", re.IGNORECASE)


def test_a_thing_that_a_site_can_rename_is_never_called_by_its_name():
    """But for the generic names themselves, and for what stands in quotation marks: what somebody wrote or is to write."""
    named = []
    for sentence, message in MESSAGES.items():
        said = re.sub(r"""\{[^}]*\}|'[^']*'|"[^"]*\"""", "", sentence)
        if BARE.search(said) and sentence not in TERMS.values() and not AS_THEY_ARE.match(message.where):
            named.append(f"{message.where}: {sentence}")
    assert not named, "\n".join(named)


def own_places(sentence):
    """Return the places that the code fills, without those of the terms."""
    return {place for place in places(sentence) if place.lower() not in TERMS}


@pytest.mark.parametrize("language", languages()[1:])
class TestLanguage:
    @pytest.fixture
    def entries(self, language):
        with (Path(catalogue.__file__).parent / f"{language}.po").open("rb") as file:
            read = read_po(file, locale=language.replace("-", "_"))
        return {entry.id if isinstance(entry.id, str) else entry.id[0]: entry for entry in read if entry.id}

    def test_it_has_every_sentence_and_no_other(self, language, entries):
        assert set(entries) == set(MESSAGES)

    def test_every_entry_is_whole_and_sure(self, language, entries):
        assert [key for key, entry in entries.items() if entry.fuzzy] == []
        said = catalogue.catalogue(language).said
        assert [key for key in MESSAGES if not all(said.get(key, ("",)))] == []

    def test_every_entry_fills_the_same_places(self, language, entries):
        said = catalogue.catalogue(language).said
        wrong = [
            key
            for key, message in MESSAGES.items()
            if own_places(said[key][-1]) != own_places(message.many or message.sentence)
        ]
        assert not wrong
