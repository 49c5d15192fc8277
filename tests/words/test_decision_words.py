"""Every word of a decision and of a low that is walked goes through the catalogue, and no answer hangs on the words."""

import math
import pickle
import random
import re
from collections.abc import Iterator
from dataclasses import fields
from typing import get_args

import pytest
from pseudo import LANGUAGE, bare_words, every_site_speaks, in_brackets

from mixlab.adapting.catalogue import messages
from mixlab.care.decision.answers import Choice
from mixlab.care.decision.deciding import Decision, decide
from mixlab.care.decision.swallowing import sign_text
from mixlab.care.low.events import (
    CallForHelp,
    Carbohydrate,
    Eat,
    EmergencyTreatment,
    Event,
    Measure,
    TellPrescriber,
    Wait,
)
from mixlab.care.low.treatment import walk
from mixlab.facts.decision_rows import DecisionTables, LowTables
from mixlab.facts.shelf import shelf
from mixlab.quantities import Glucose, NotAnAmount
from mixlab.ward.observation import Earlier, Observation, OffScale
from mixlab.ward.order.reading import read_order
from mixlab.ward.site.in_force import example_sites
from mixlab.words import TERMS, Sentence, Voice, unsaid
from mixlab.words.catalogue import places

WHERE = (
    *("care/decision/", "care/low/"),
    *(f"facts.{table.name}" for tables in (DecisionTables, LowTables) for table in fields(tables)),
)
"""Where the sentences stand that a decision and a walk say."""
ORDERS = [
    read_order(text)
    for text in (
        "regular insulin 8 units and NPH insulin 20 units",
        "regular insulin 1 unit and NPH insulin 8.5 units",
        "insulin lispro 6 units and NPH insulin 14 units",
    )
]
SITES = example_sites()
SIGNS = tuple(shelf().signs)
MG_DL = (5.4, 15, 19, 40, 53, 62, 69, 70, 75, 84, 98, 110, 251, 260, 300, 301, 350, 600, 601)
MMOL_L = (2.9, 3.9, 5.4, 9.8, 14.0, 20.1, 33.4, 98.0)
AMOUNTS = (-1, math.nan, math.inf, "15", True, None)
DECISIONS, WALKS = 3000, 500


def glucose(chance: random.Random, *others: None) -> Glucose | OffScale | None:
    mg_dl, mmol_l = Glucose(chance.choice(MG_DL), "mg/dL"), Glucose(chance.choice(MMOL_L), "mmol/L")
    return chance.choice((mg_dl, mg_dl, mmol_l, chance.choice(("HI", "LO", *others))))


def seen(chance: random.Random) -> Observation:
    """Return a patient with one or a few things out of line."""

    def sometimes(usual: object, *others: object) -> object:
        return chance.choice(others) if chance.random() < 0.15 else usual

    some_signs = tuple(chance.sample(SIGNS, chance.randint(1, 2)))
    return Observation(
        glucose=glucose(chance, None),
        signs=sometimes((), some_signs, some_signs, None),
        eating=sometimes(True, False, None),
        minutes_old=sometimes(0.0, None, math.inf, 61, 90.26),
        vomiting=sometimes(False, True),
        fasting=sometimes(False, True),
        meal_late=sometimes(False, True),
        can_swallow=chance.choice((True, None, None, False)),
        alertness=sometimes("awake", "drowsy", "unresponsive", None),
        hours_since_dose=sometimes(math.inf, None, 1 / 60, 1, 2.5),
        earlier=tuple(
            Earlier(glucose(chance), chance.choice((0, 0.5, 1, 3, 12, 23, 30)))
            for _ in range(chance.choice((0, 0, 1, 2)))
        ),
        changed=sometimes(False, True),
        prescriber_says_give=sometimes(False, True),
        prescriber_says_wait=sometimes(False, True),
        food_due=sometimes(False, True),
        minutes_after_treatment=sometimes(None, 0, 5.5, 15),
        treated_as_low=sometimes(False, True),
    )


def event(chance: random.Random) -> Event:
    signs = chance.choice(((), (), ("sweating",), ("confusion",), ("unresponsive",), None))
    measured = Measure(
        glucose(chance),
        signs,
        chance.choice(("as before", "as before", "awake", "drowsy", "unresponsive")),
        chance.choice(("as before", True, False)),
    )
    return chance.choice(
        (
            *(measured, measured, Carbohydrate(chance.choice((10, 15, 20))), Wait(chance.choice((0, 5, 15, 40, 61)))),
            *(TellPrescriber(chance.random() < 0.5), EmergencyTreatment(), Eat(), CallForHelp()),
        )
    )


def sentences(decision: Decision) -> Iterator[Sentence]:
    yield from (decision.reading, decision.allowance_rule)
    for reason in decision.because:
        yield from (reason.text, reason.rule)
    yield from decision.numbers
    yield from (one.text for one in (*decision.steps, *decision.tell, *decision.give_when))


def texts(decision: Decision) -> Iterator[str]:
    yield from map(str, (*sentences(decision), *decision.because, *(decision.allowance or ())))


def refusals() -> Iterator[str]:
    for kind in (Carbohydrate, Wait):
        for amount in (*AMOUNTS, *([0] if kind is Carbohydrate else [])):
            with pytest.raises(NotAnAmount) as refused:
                kind(amount)
            yield str(refused.value)


def low(value: float | str, **more: object) -> Observation:
    found = value if isinstance(value, str) else Glucose(value, "mg/dL")
    return Observation(**{"glucose": found, "signs": (), "eating": True, "can_swallow": True, **more})


def look(value: float, *signs: str, **more: object) -> Measure:
    return Measure(Glucose(value, "mg/dL"), signs, **more)


STILL = (Carbohydrate(15), Wait(15), look(66))
AWAKE_AGAIN = (EmergencyTreatment(), Wait(15), look(120, alertness="awake"))
NO, YES = TellPrescriber(says_give=False), TellPrescriber(says_give=True)
RARE = (
    (low(62), (*STILL, NO)),
    (low(62, vomiting=True), (*STILL, NO)),
    (low(62), (*STILL, Carbohydrate(15), Wait(15), look(94), Eat(), look(60), NO)),
    (low(62, fasting=True), (NO, EmergencyTreatment(), Wait(15), look(94))),
    (low(95, alertness="drowsy"), (*AWAKE_AGAIN, NO, YES, Eat())),
    (low(40, alertness="unresponsive"), (*AWAKE_AGAIN, NO, YES, Eat())),
    (low(95, signs=("sweating",)), (Carbohydrate(15), Wait(15), look(120), YES, Eat())),
    (low(95, signs=("sweating",)), (look(96, "sweating"), NO)),
    (low(260, signs=("sweating",)), (look(258, "sweating"), Carbohydrate(15))),
    (low("HI", signs=("sweating",)), (Carbohydrate(15), NO)),
)
"""Walks to what chance comes by seldom."""


def everything() -> tuple[list[str], set[str], set[Choice]]:
    """Return every text of many decisions and walks, always the same ones, with the rules and the answers met."""
    chance, said, rules, answers = random.Random(1), list(refusals()), set(), set()
    for _ in range(DECISIONS):
        decision = decide(chance.choice(ORDERS), seen(chance), chance.choice(SITES))
        said += texts(decision)
        rules |= {reason.key for reason in decision.because}
        answers.add(decision.choice)
    some = ((seen(chance), tuple(event(chance) for _ in range(chance.randint(1, 8)))) for _ in range(WALKS))
    for found, events in (*RARE, *some):
        for moment in walk(chance.choice(ORDERS), found, events, chance.choice(SITES)):
            said += map(str, (moment.due, moment.remark))
    said += map(str, map(sign_text, SIGNS))
    said += (str(row.text) for row in shelf().answers.values())
    return said, rules, answers


class Listening(Voice):
    """A voice that notes what it was asked for, and puts what is filled in outside the brackets of a sentence."""

    def find(self, sentence: str, *others: str) -> tuple[str, ...]:
        HEARD.add(sentence)
        return tuple(PLACE.sub(r"⟧\1⟦", form) for form in super().find(sentence, *others))


HEARD: set[str] = set()
PLACE = re.compile(r"(\{[^{}]*\})")
DATA = (*(site.name for site in SITES), *map(repr, AMOUNTS))
"""What may stand in a sentence as it is."""


@pytest.fixture(scope="module")
def plain():
    with every_site_speaks(Voice()):
        return everything()


@pytest.fixture(scope="module")
def in_other_words():
    before = unsaid(LANGUAGE)
    with in_brackets(), every_site_speaks(Listening(language=LANGUAGE)):
        said = everything()
        assert unsaid(LANGUAGE) == before
        return said


def test_no_word_bypasses_the_catalogue(in_other_words):
    said, rules, answers = in_other_words
    bare = {text: words for text in set(said) if (words := bare_words(text, *DATA))}
    assert not bare
    assert rules == set(shelf().reasons)
    assert answers == set(get_args(Choice))


def test_the_answers_do_not_hang_on_the_words(plain, in_other_words):
    """Without the brackets the same is said; only a capital letter made by hand may differ."""
    assert in_other_words[1:] == plain[1:]
    for text, english in zip(in_other_words[0], plain[0], strict=True):
        assert re.sub("[⟦⟧]", "", text).casefold() == english.casefold()


def test_every_sentence_of_the_table_and_of_these_rooms_is_said_by_some_case(in_other_words):
    here = {one.sentence for one in messages() if one.where.startswith(WHERE)}
    assert len(here) > 250
    assert here - HEARD == set()


def inside(sentence: Sentence) -> Iterator[Sentence]:
    """Yield a sentence and every sentence that stands in it."""
    yield sentence
    for _, value in sentence.values:
        if isinstance(value, Sentence):
            yield from inside(value)


def test_a_sentence_holds_what_it_says_and_nothing_else():
    """What is not said would make two sentences differ that say the same."""
    chance, met = random.Random(2), set()
    for _ in range(DECISIONS // 3):
        met.update(sentences(decide(chance.choice(ORDERS), seen(chance), chance.choice(SITES))))
    for found, events in RARE:
        for moment in walk(ORDERS[0], found, events):
            met |= {moment.due.text, moment.remark}
    assert len(met) > 500
    for one in met:
        for part in inside(one):
            asked = places(part.key) | places(part.many)
            assert {name for name, _ in part.values} == {name for name in asked if name.lower() not in TERMS}, part
            assert not any(isinstance(value, list | dict) for _, value in part.values), part
    assert pickle.loads(pickle.dumps(met)) == met


def test_answers_and_signs_are_called_what_the_code_calls_them():
    answers = shelf().answers
    assert [*answers] == [str(row.text) for row in answers.values()] == [*get_args(Choice)]
    assert [str(sign_text(sign)) for sign in SIGNS] == [sign.replace("-", " ") for sign in SIGNS]


def test_a_site_that_renames_its_terms_is_told_all_of_it_in_them(plain):
    own = (("prescriber", "duty doctor"), ("chart", "medicine sheet"), ("units", "international units"))
    with every_site_speaks(Voice(terms=own)):
        said, *_ = everything()
    there = " ".join(said)
    for _, term in own:
        assert term in there
    back = {"duty doctor": "prescriber", "medicine sheet": "chart", "international units": "units"}
    for text, english in zip(said, plain[0], strict=True):
        for renamed, term in back.items():
            text = text.replace(renamed, term).replace(renamed.capitalize(), term.capitalize())
        assert text == english
        assert "  " not in text
        assert "{" not in text
