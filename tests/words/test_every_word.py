"""Every letter on a screen passed through the catalogue: each surface is shown in the one language made for tests."""

import pickle
import random
from collections.abc import Iterator
from dataclasses import fields
from functools import cache
from typing import get_args

import pytest
import said_in_care as care
import said_in_pictures as pictures
import said_of_patients as patients
import said_on_panels as panels
from brackets import SITES, bare_words, heard, in_brackets, knowing_brackets, sentences_of, unmarked

from mixlab import decide
from mixlab.care.bench.vessels import CONDITIONS, HANDS, TIPS, VIAL_PLACES, VialCondition
from mixlab.care.decision.answers import Choice
from mixlab.care.decision.swallowing import sign_text
from mixlab.care.low.treatment import walk
from mixlab.care.review.findings import NOW
from mixlab.facts.decision_rows import DecisionTables, LowTables
from mixlab.facts.reading import the_facts
from mixlab.words import TERMS, Sentence
from mixlab.words.translations import places

pytestmark = pytest.mark.usefixtures("closing_panels")

SURFACES = {
    f"{make.__name__} {where.__name__.replace('_', ' ')}": make
    for where, makes in (
        (care, (care.lessons, care.problems, care.concerns, care.readings_and_amounts)),
        (care, (care.plans, care.reviews, care.checks, care.the_impossible, care.attempts)),
        (patients, (patients.decisions, patients.lows, patients.days, patients.curves_and_studies)),
        (pictures, (pictures.curves, pictures.actions, pictures.day, pictures.bedsides_and_cards, pictures.bench)),
        (panels, panels.PANELS),
    )
    for make in makes
}


@cache
def said(surface: str) -> tuple[set[tuple[str, tuple[str, ...]]], frozenset[str]]:
    """Return all texts of a surface in brackets, each with what else may stand in it, and the sentences that were said."""
    make = SURFACES[surface]
    if make in panels.PANELS:
        with knowing_brackets() as speaker:
            rows = {(str(text), tuple(map(str, data))) for text, *data in panels.on_the_panel(make, speaker)}
    else:
        with in_brackets() as speaker:
            rows = {(unmarked(str(text)), tuple(unmarked(str(each)) for each in data)) for text, *data in make()}
    return rows, heard(speaker)


@pytest.mark.parametrize("surface", SURFACES)
def test_every_letter_passed_through_the_catalogue(surface):
    rows, _ = said(surface)
    assert any("⟦" in text for text, _ in rows)
    assert not {text: words for text, data in rows if (words := bare_words(text, *data))}


HERE = (
    "quantities.py",
    *(f"care/{room}" for room in ("dosing", "order/", "bench/", "review/", "decision/", "low/")),
    *(f"ward/{name}" for name in ("meal", "meter", "observation", "syringe", "order/")),
    *(f"facts.{table}" for table in ("wrong_dose", "after_giving")),
    *(f"facts.{table.name}" for tables in (DecisionTables, LowTables) for table in fields(tables)),
)


def test_every_sentence_of_the_table_and_of_these_rooms_is_said_on_some_surface():
    all_heard = frozenset().union(*(said(surface)[1] for surface in SURFACES if SURFACES[surface] not in panels.PANELS))
    here, facts = sentences_of(*HERE), the_facts()
    here |= {part.key for row in facts.errors.values() for part in (row.title, row.do, row.dose)}
    here |= {row.write.key for row in (*facts.concerns.values(), *facts.notation.values())}
    here |= {row.title.key for row in facts.notation.values()} | {row.say.key for row in facts.day_rules.values()}
    assert len(here) > 400
    assert here - all_heard == set()


def test_a_bare_word_is_found():
    assert bare_words("⟦one ⟧two⟦ three⟧") == ["two"]
    assert bare_words("⟦cut …") == []
    assert bare_words("⟦run ⟧DrawTo(to=8)⟦ by ⟧hand") == ["hand"]


def inside(sentence: Sentence) -> Iterator[Sentence]:
    """Yield a sentence and every sentence that stands in it."""
    yield sentence
    for _, value in sentence.values:
        if isinstance(value, Sentence):
            yield from inside(value)


def test_a_sentence_holds_what_it_says_and_nothing_else():
    """What is not said would make two sentences differ that say the same."""
    chance, met = random.Random(2), set()
    for _ in range(patients.CHANCES // 3):
        found, order, site = patients.seen(chance), chance.choice(patients.ORDERS), chance.choice(SITES)
        met.update(patients.sentences(decide(order, found, site)))
    for found, events in patients.RARE:
        for moment in walk(care.PLAIN, found, events):
            met |= {moment.due.text, moment.remark}
    assert len(met) > 500
    for one in met:
        for part in inside(one):
            asked = places(part.key) | places(part.many)
            assert {name for name, _ in part.values} == {name for name in asked if name.lower() not in TERMS}, part
            assert not any(isinstance(value, list | dict) for _, value in part.values), part
    assert pickle.loads(pickle.dumps(met)) == met


def test_what_the_code_calls_a_thing_is_its_word_in_the_catalogue():
    answers = the_facts().answers
    assert [*answers] == [str(row.text) for row in answers.values()] == [*get_args(Choice)]
    assert [str(sign_text(sign)) for sign in the_facts().signs] == [
        sign.replace("-", " ") for sign in the_facts().signs
    ]
    assert get_args(VialCondition) == tuple(CONDITIONS)
    assert {row.now for row in the_facts().errors.values()} <= {*NOW}
    for names in (CONDITIONS, VIAL_PLACES, TIPS, HANDS, NOW):
        assert [name.key for name in names.values()] == list(names)
