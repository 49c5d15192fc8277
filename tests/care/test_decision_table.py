"""The rules in Python and their rows in the facts: none without the other, and each where a newcomer looks for it."""

import ast
import inspect
import json
import pickle
import random
import tomllib
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from brackets import SITES as WORKED
from said_of_patients import CHANCES, ORDERS, RARE, event, low, seen

import mixlab
from mixlab.care.decision import chart, deciding, meal, readings, signs
from mixlab.care.decision.deciding import Decision, decide
from mixlab.care.low.events import EmergencyTreatment
from mixlab.care.low.treatment import Moment, walk
from mixlab.facts.reading import the_facts
from mixlab.words import Sentence, Voice, speaking

FACTS = the_facts()
SITES = (*WORKED, replace(WORKED[0], near_low_answer=replace(WORKED[0].near_low_answer, value="treat")))
WALKS = 500
PACKAGE = Path(mixlab.__file__).parent
ABOUT = {"reading": readings, "signs": signs, "meal": meal, "chart": chart, "whole": deciding}
"""The module in which a rule stands, by what it is about."""


def rules_of(module: object) -> Iterator[str]:
    """Yield the keys of the rules that a module names: what `reason`, or a helper of one name, is called with."""
    for node in ast.walk(ast.parse(inspect.getsource(module))):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in ("reason", "crossed"):
            key = node.args[0]
            if isinstance(key, ast.Constant):
                yield key.value


def test_every_rule_is_a_row_and_every_row_a_rule_in_the_module_of_what_it_is_about():
    in_python = {about: sorted({*rules_of(module)}) for about, module in ABOUT.items()}
    in_the_table = {about: sorted(key for key, row in FACTS.reasons.items() if row.about == about) for about in ABOUT}
    assert in_python == in_the_table


def named_in(path: Path) -> set[str]:
    """Return the texts of a file that could be keys: its constants, or its keys and values, also behind the name of a table."""
    words: set[str] = set()

    def note(held: object) -> None:
        if isinstance(held, dict):
            for key, value in held.items():
                note(key)
                note(value)
        elif isinstance(held, list):
            for one in held:
                note(one)
        elif isinstance(held, str):
            words.update((held, held.rpartition(".")[2]))

    if path.suffix == ".toml":
        note(tomllib.loads(path.read_text(encoding="utf-8")))
    else:
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            note(node.value if isinstance(node, ast.Constant) else None)
    return words


def test_a_rule_stands_in_three_files_at_most():
    where = defaultdict(list)
    for path in sorted((*PACKAGE.rglob("*.py"), *PACKAGE.rglob("*.toml"))):
        for key in FACTS.reasons.keys() & named_in(path):
            where[key].append(path.relative_to(PACKAGE).as_posix())
    assert where.keys() == FACTS.reasons.keys()
    assert {key: files for key, files in where.items() if len(files) > 3} == {}


def is_wordless(text: str) -> bool:
    """Say whether a sentence in Python only puts others together, or says no more than how long ago something was."""
    return text in (" and ", "{rule}; the line: {line}") or (text.startswith("{count} ") and text.endswith(" ago"))


def said_in(node: ast.AST) -> Iterator[str]:
    for call in ast.walk(node):
        if (
            isinstance(call, ast.Call)
            and isinstance(call.func, ast.Name)
            and call.func.id in ("sentence", "counted", "say")
        ):
            yield from (
                part.value for part in call.args if isinstance(part, ast.Constant) and isinstance(part.value, str)
            )


def test_no_clinical_sentence_stands_in_python():
    """Refusals of an amount stand beside the amount; whatever a nurse would review is a row."""
    found = {
        f"{path.name}: {text}"
        for room in ("decision", "low")
        for path in (PACKAGE / "care" / room).glob("*.py")
        if path.name != "events.py"
        for text in said_in(ast.parse(path.read_text(encoding="utf-8")))
        if not is_wordless(text)
    }
    assert found == set()


def wild(chance: random.Random):
    """Return a patient with many things out of line at once."""
    found = seen(chance)
    for _ in range(chance.choice((0, 0, 1, 2, 4))):
        other = seen(chance)
        names = chance.sample([*vars(found)], chance.randint(0, 9))
        found = type(found)(**{**vars(found), **{name: getattr(other, name) for name in names}})
    return found


@pytest.fixture(scope="module")
def met():
    """Return many decisions and moments of walks, always the same ones."""
    chance, decisions, moments = random.Random(3), [], []
    for _ in range(2 * CHANCES):
        decisions.append(decide(chance.choice(ORDERS), wild(chance), chance.choice(SITES)))
    some = ((wild(chance), tuple(event(chance) for _ in range(chance.randint(1, 8)))) for _ in range(WALKS))
    for found, events in (*RARE, (low(62), (EmergencyTreatment(),)), *some):
        moments += walk(chance.choice(ORDERS), found, events, chance.choice(SITES))
    return decisions, moments


def keys_met(decisions: list[Decision], moments: list[Moment]) -> dict[str, set[str]]:
    keys: dict[str, set[str]] = defaultdict(set)
    for decision in (*decisions, *(moment.decision for moment in moments)):
        keys["answers"].add(decision.choice)
        keys["reasons"] |= {one.key for one in decision.because}
        keys["next_steps"] |= {key for step in decision.steps for key in step.keys}
        keys["people"] |= {one.who for one in decision.tell}
        keys["how_soon"] |= {one.how_soon for one in decision.tell}
        keys["conditions"] |= {one.key for one in decision.give_when}
    for moment in moments:
        keys["feedback"] |= {one.key for one in moment.remarks}
        for name in moment.due.keys:
            table, _, key = name.partition(".")
            assert key in getattr(FACTS, table)
            keys[table].add(key)
    return keys


THEN = {"then-give", "then-tell", "and-do-not-give"}
"""Rows of what is due that only stand inside another."""


def test_every_row_is_reached(met):
    keys = keys_met(*met)
    keys["due"] |= THEN
    assert {
        table: sorted(getattr(FACTS, table).keys() - keys[table])
        for table in keys
        if getattr(FACTS, table).keys() - keys[table]
    } == {}
    assert keys.keys() == {"answers", "reasons", "next_steps", "people", "how_soon", "conditions", "feedback", "due"}


def test_every_step_that_a_rule_asks_for_is_said_for_it(met):
    decisions, moments = met
    said = {
        (one.key, one.answered, key)
        for decision in (*decisions, *(moment.decision for moment in moments))
        for one in decision.because
        for step in decision.steps
        for key in step.keys
        if key in one.asks.steps
    }
    asked = {(key, False, step) for key, row in FACTS.reasons.items() for step in row.steps}
    asked |= {
        (key, True, step) for key, row in FACTS.reasons.items() if row.once_answered for step in row.once_answered.steps
    }
    assert asked - said == set()


def meaning(decision: Decision) -> dict[str, object]:
    """Return what of a decision needs no words: what could be stored."""
    return {
        "choice": decision.choice,
        "because": [(one.key, one.answered) for one in decision.because],
        "steps": [step.keys for step in decision.steps],
        "tell": [(one.who, one.how_soon) for one in decision.tell],
        "give_when": [one.key for one in decision.give_when],
    }


def test_a_decision_holds_its_meaning_whoever_speaks(met):
    """Two wards that differ only in their words decide the same, sentence for sentence, until it is said."""
    decisions, _ = met
    chance = random.Random(4)
    for _ in range(200):
        order, found, site = chance.choice(ORDERS), wild(chance), chance.choice(SITES)
        with speaking(Voice(terms=(("prescriber", "duty doctor"),))):
            theirs = decide(order, found, site)
        assert theirs == decide(order, found, site)
    for decision in decisions[:500]:
        assert pickle.loads(pickle.dumps(decision)) == decision
        assert json.dumps(meaning(decision))


def test_the_words_of_a_decision_are_those_of_its_rows(met):
    """No step, condition or finding says anything that its row does not."""

    def keys_in(words: Sentence) -> set[str]:
        inside = [value for _, value in words.values if isinstance(value, Sentence)]
        return {words.key}.union(*map(keys_in, inside))

    decisions, moments = met
    for decision in decisions:
        for step in decision.steps:
            assert {FACTS.next_steps[key].text.key for key in step.keys} <= keys_in(step.text)
        for one in decision.give_when:
            assert one.text.key == FACTS.conditions[one.key].text.key
    for moment in moments:
        for remark in moment.remarks:
            assert remark.text.key == FACTS.feedback[remark.key].text.key
