"""Laws over decisions.toml, low.toml and what errors.toml breaks. Each prints every row that goes against it."""

import re
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import fields, is_dataclass
from itertools import pairwise
from typing import get_args

import pytest

from mixlab.facts.decision_rows import (
    Asks,
    Choice,
    DecisionTables,
    HowSoon,
    LowTables,
    NextStepRow,
    Person,
    SaidRow,
    Standing,
)
from mixlab.facts.reading import every_fact, the_facts
from mixlab.ward.site.record import teaching_site
from mixlab.words import Sentence, sentence
from mixlab.words.translations import places

FACTS = the_facts()
REASONS, STEPS, PARTS = FACTS.reasons, FACTS.next_steps, FACTS.parts
RANKS = [*FACTS.answers]
TABLES = {part.name: getattr(FACTS, part.name) for kind in (DecisionTables, LowTables) for part in fields(kind)}


def asked() -> Iterator[tuple[str, Asks]]:
    """Yield what every rule asks for, before and after the prescriber has answered."""
    for key, row in REASONS.items():
        yield key, row
        if row.once_answered is not None:
            yield f"{key}, once answered", row.once_answered


def sentences(row: object) -> Iterator[Sentence]:
    """Yield what is said of a row; what stands in its note is not."""
    if isinstance(row, Sentence):
        if row:
            yield row
    elif is_dataclass(row):
        yield from sentences([getattr(row, part.name) for part in fields(row) if part.name != "note"])
    elif isinstance(row, Mapping):
        yield from sentences([*row.values()])
    elif isinstance(row, list | tuple):
        for one in row:
            yield from sentences(one)


def test_the_words_for_answers_people_and_how_soon_are_all_there_in_their_order():
    assert [*get_args(Choice)] == RANKS
    assert [*FACTS.people] == [*get_args(Person)]
    assert [*FACTS.how_soon] == [*get_args(HowSoon)]


def test_every_row_is_asked_for_and_whatever_is_asked_for_is_a_row():
    asks = [one for _, one in asked()]
    parts = {key for key, row in PARTS.items() if row.fills == "signs"}  # said whoever asks
    named = {
        "next_steps": {key for one in (*asks, *FACTS.answers.values()) for key in one.steps},
        "parts": parts.union(key for one in asks for key in one.parts),
        "conditions": {key for one in asks for key in one.give_when},
        "people": {told.who for one in asks for told in one.tell},
        "how_soon": {told.how_soon for one in asks for told in one.tell},
    }
    assert named == {table: set(TABLES[table]) for table in named}


def test_every_step_of_an_answer_is_said_with_it():
    assert [
        (choice, key) for choice, row in FACTS.answers.items() for key in row.steps if choice not in STEPS[key].answers
    ] == []


def test_what_yields_to_a_row_that_yields_yields_to_what_that_one_yields_to():
    rules = [(key, other) for key, row in REASONS.items() for other in row.yields_to if other not in REASONS]
    steps = [
        (key, other)
        for key, row in STEPS.items()
        for other in row.yields_to
        if set(STEPS[other].yields_to) - set(row.yields_to) or not set(row.answers) & set(STEPS[other].answers)
    ]
    assert (rules, steps) == ([], [])


def test_every_way_that_things_can_stand_is_asked_about():
    used = {name for row in STEPS.values() for name in (*row.when, *row.unless)}
    used |= {name for row in PARTS.values() for name in row.unless}
    assert used == set(get_args(Standing))


def test_a_step_with_a_third_condition_is_refused():
    row = {"text": sentence("Wait."), "answers": ("give",), "source": "common-practice", "known": "common practice"}
    assert NextStepRow(**row, when=("high",), unless=("told",))
    with pytest.raises(ValueError, match="two conditions at most"):
        NextStepRow(**row, when=("high", "signs"), unless=("told",))


def test_a_step_of_an_answer_that_treats_has_short_words_or_a_reason_and_no_other_has_either():
    row = {"text": sentence("Wait."), "source": "common-practice", "known": "common practice"}
    short, off = {"short": (sentence("Wait."),)}, {"off_card": "telling"}
    for treats, words in ((("emergency", "give"), short), (("hold and treat",), off), (("give",), {})):
        assert NextStepRow(**row, answers=treats, **words)
    for treats, words in (
        (("hold and treat",), {}),
        (("emergency",), short | off),
        (("give",), short),
        (("give",), off),
    ):
        with pytest.raises(ValueError, match="either short words or a reason"):
            NextStepRow(**row, answers=treats, **words)


def test_short_words_yield_only_to_short_words_that_can_stand_beside_them():
    assert [
        (key, other)
        for key, row in STEPS.items()
        for other in row.short_yields_to
        if not (row.short and STEPS[other].short and set(row.answers) & set(STEPS[other].answers))
    ] == []


def test_a_row_that_says_nothing_is_refused():
    with pytest.raises(ValueError, match="text says nothing"):
        SaidRow(text=sentence(""), source="common-practice", known="common practice")


def test_the_rules_stand_in_order_of_their_answer():
    """A patient who needs help comes first, then the lows."""
    offenders = [
        pair
        for pair in pairwise(REASONS)
        if RANKS.index(REASONS[pair[0]].answer) > RANKS.index(REASONS[pair[1]].answer)
    ]
    assert offenders == []


def test_the_word_of_the_prescriber_answers_questions_and_highs_and_never_a_low():
    answered = {key: row for key, row in REASONS.items() if row.once_answered}
    bolder = {key for key, row in answered.items() if RANKS.index(row.once_answered.answer) > RANKS.index(row.answer)}
    assert bolder == set(answered)
    assert {row.answer for row in answered.values()} <= {"hold and ask", "check first"}
    checked = {key for key, row in answered.items() if row.answer == "check first"}
    assert checked == {"meter-shows-hi", "above-meter"}
    assert {answered[key].once_answered.answer for key in checked} == {"give and report"}


def test_who_holds_the_dose_says_when_it_may_be_given_and_who_gives_it_does_not():
    offenders = [where for where, asks in asked() if bool(asks.give_when) == asks.answer.startswith("give")]
    assert offenders == ["meter-shows-hi, once answered", "above-meter, once answered"]  # for a dose held otherwise


def test_who_waits_for_the_prescriber_tells_the_prescriber_and_goes_on_by_that_word():
    def names_the_prescriber(key: str) -> bool:
        return FACTS.conditions[key].text.key.startswith("The {prescriber}")

    held = [(where, asks) for where, asks in asked() if asks.answer in ("check first", "hold and ask")]
    assert [
        where for where, asks in held if ("later" in asks.steps) != any(map(names_the_prescriber, asks.give_when))
    ] == []
    assert [
        where for where, asks in asked() if "later" in asks.steps and "prescriber" not in {one.who for one in asks.tell}
    ] == []


def cited() -> Iterator[tuple[str, str]]:
    for key, row in REASONS.items():
        lines = [row.line, *(other.line for other in row.but.values())]
        cites = [*row.cites, *(name for other in row.but.values() for name in other.cites)]
        yield from ((key, name) for name in (*cites, *lines) if name)
    for key, row in FACTS.feedback.items():
        yield from ((key, name) for name in (*row.cites, *row.cites_in_a_low))


def test_every_citation_names_a_fact_or_a_line_or_number_of_the_ward():
    def exists(name: str) -> bool:
        table, _, key = name.partition(".")
        return hasattr(teaching_site(), key) if table == "site" else key in getattr(FACTS, table)

    named = [*cited()]
    assert len(named) > 30
    assert [one for one in named if not exists(one[1])] == []


NUMBERS = {
    "carbohydrate": "carbohydrate",
    "serious_carbohydrate": "serious_carbohydrate",
    "recheck": "recheck",
    "oral_treatments": "oral_treatments",
    "lead": "meal_lead",
}
"""The places of a step that are numbers of the ward."""


def test_a_step_that_states_a_number_of_the_ward_says_which():
    offenders = [
        key
        for key, row in STEPS.items()
        if {NUMBERS[place] for place in places(row.text.key) & NUMBERS.keys()} != set(row.numbers)
    ]
    assert offenders == []
    assert [
        (key, place)
        for key, row in STEPS.items()
        for words in row.short
        for place in places(words.key) & NUMBERS.keys()
        if NUMBERS[place] not in row.numbers
    ] == []
    assert [name for row in REASONS.values() for name in row.numbers if not hasattr(teaching_site(), name)] == []


def test_no_amount_is_written_in_a_sentence():
    written = re.compile(r"\d+ ?(?:units?|g|mg|mmol|minutes|hours)\b")
    said = [
        (table, key, words.key) for table in TABLES for key, row in TABLES[table].items() for words in sentences(row)
    ]
    assert len(said) > 250
    assert [one for one in said if written.search(one[2])] == []


# What a nurse does first hangs on these words: a table, the key of its row, and what the row's sentence must hold.
SAYS = {
    "next_steps": {
        **dict.fromkeys(
            ("treat-not-awake", "treat-nothing-by-mouth", "nothing-by-mouth", "see-how-the-patient-swallows"),
            r"nothing by mouth",
        ),
        **dict.fromkeys(
            (
                *("fast-carbohydrate", "fast-carbohydrate-while-fasting"),
                *("fast-carbohydrate-in-a-serious-low", "fast-carbohydrate-in-a-serious-low-while-fasting"),
            ),
            r"if not: nothing by mouth",
        ),
        "do-not-wait": r"do not wait \{recheck\} minutes: call again at once",
        "call-about-an-urgent-high": r"^call the \{prescriber\} now.*do not leave the insulin out without an answer",
        **dict.fromkeys(("hold-now", "hold-yet"), r"^do not give the insulin"),
        **dict.fromkeys(("nothing-sweet", "help-and-nothing-sweet"), r"nothing sweet unless"),
        "call-and-stay": r"^call for help at once and stay",
        **dict.fromkeys(
            ("call-and-stay-unsure", "call-and-stay-nothing-by-mouth"),
            r"^call for help at once and stay.*nothing by mouth",
        ),
        "if-it-gets-worse": r"call for help at once",
        "call-for-a-serious-low": r"call for help now",
        "not-this-dose": r"^not this dose|has said not to give this dose",
        "no-food-by-mouth": r"^no food by mouth",
        "no-food-once-risen": r": no food",
        "food-once-awake": r"^food only once the patient is awake",
        "hold-until-the-meal": r"^hold the injection",
        **dict.fromkeys(("measure-again", "measure-again-by-protocol"), r"^measure again after"),
        "look-for-the-last-dose": r"do not give it",
        "not-left-out": r"must not simply be left out",
        # a give: the patient, the allergies, and the second check as the ward has it
        "name-the-patient": r"two identifiers .* allergies against the order .* again at the bedside",
        "each-draw-checked": r"^have a second nurse check each draw against the order: which insulin, how much",
        "syringe-checked": r"^have a second nurse check the filled syringe against the order before you inject",
        "check-it-yourself": r"read the labels, both amounts and the order once more yourself before you inject",
        # near a low: asked, the tray first, measured again
        "tray-first": r"^put the tray in front of the patient before you inject, and ask whether the usual time .* still holds.*without the tray do not",
        "ask-near-a-low": r"^tell the nurse in charge now, look for signs of a low, and measure again",
        "give-near-a-low": r"only when the tray .* not lower, .* and the nurse in charge knows.*if it is lower.*do not give it",
        "give-near-a-low-without-a-meal": r"^do not give the dose until the \{prescriber\} knows.*and has said what to give",
        "near-a-low-once-told": r"^measure again just before the dose.*lower, do not give the dose",
        "look-for-signs-before-the-dose": r"signs of a low once more just before the dose, and measure again soon after",
        "tell-the-nurse-in-charge": r"^tell the nurse in charge before you draw up",
        # a high
        "ketones-by-policy": r"ketones as your policy says, and report",
        "call-about-high-and-changed": r"^call the \{prescriber\} at once.*before anything is drawn up.*call again",
        "before-a-high-dose": r"look for \{signs\}.*hold the dose and call",
        # an emergency: call, airway, breathing, position, and then the glucose
        "call-in-an-emergency": r"^call the emergency team now, and stay",
        "airway-first": r"^airway and breathing.*not breathing normally: start resuscitation.*on their side.*nothing into the mouth",
        "treat-the-low-in-an-emergency": r"^then the glucose.*nothing by mouth, and do not wait",
        # one vague sign
        "look-and-ask": r"other signs of a low.*when they last ate.*a second sign.*measure again and tell the nurse in charge",
        "no-more-by-mouth": r"^nothing more by mouth.*call the \{prescriber\}, treat by the \{protocol\}, and measure again",
    },
    "conditions": {
        "tray-in-front": r"tray is in front of the patient",
        "measured-and-not-lower": r"measured again, and the reading is not lower",
        "nurse-in-charge-knows": r"nurse in charge knows of the reading",
        "looked-and-asked": r"looked and asked, and nothing else points to a low",
    },
    "short": {
        "call-in-an-emergency": r"^call the emergency team now",
        "airway-first": r"^open the airway.*start resuscitation.*turn on the side.*nothing into the mouth",
        **dict.fromkeys(
            ("call-and-stay", "call-and-stay-unsure", "call-and-stay-nothing-by-mouth"),
            r"^call for help at once and stay",
        ),
        "call-for-a-serious-low": r"call for help now, and stay",
        "if-it-gets-worse": r"^stay.*worse: call for help at once",
        "treat-not-awake": r"^not fully awake: nothing by mouth.*on their side.*\{protocol\}",
        "treat-nothing-by-mouth": r"nothing by mouth\. call for help at once.*\{protocol\}",
        "no-more-by-mouth": r"^nothing more by mouth\. call the \{prescriber\} now.*emergency protocol; measure",
        "see-how-the-patient-swallows": r"^first see: awake.*if not sure: nothing by mouth",
        "fast-carbohydrate": r"^awake, able to swallow: .*if not: emergency protocol",
        "fast-carbohydrate-while-fasting": r"^if by mouth \(awake, swallowing\): .*if not: protocol",
        "treat-while-fasting": r"ask at once by which route.*no food",
        "if-it-does-not-stay-down": r"emergency protocol; do not wait",
        "treat-the-low-in-an-emergency": r"\{protocol\}",
        **dict.fromkeys(("measure-again", "measure-again-by-protocol"), r"^measure .*while \{hold_line\}"),
    },
    "due": {
        "no-insulin-now": r"^give no insulin now",
        "treat-while-fasting": r"^treat now, also while fasting, and give no insulin",
        "fast-carbohydrate": r"^treat now and give no insulin: if the patient is awake and able to swallow",
        "fast-carbohydrate-in-a-serious-low": r"^treat now and give no insulin: if the patient is awake and able to swallow",
        "do-not-wait": r"do not wait: call again at once",
        "no-more-by-mouth": r"nothing more by mouth.*prescriber\} is needed now; treat by the \{protocol",
        "while-you-treat": r"^while you treat, .* if you are alone, treat first",
        "while-you-treat-with-help": r"^while you treat, somebody else tells",
        "somebody-else-tells": r"^somebody else tells .*do not leave the patient",
        "by-protocol": r"^nothing by mouth",
        "and-do-not-give": r"do not give this dose",
        "not-until": r"^do not give the insulin yet",
        "not-this-dose": r"^do not give this dose",
        "swallowing-then-food": r"^first check that the patient is fully awake and swallows safely",
        **dict.fromkeys(("still-low", "low-again"), r"treat"),
        **dict.fromkeys(("measure-now", "measure-now-after-an-early-reading"), r"^measure again now"),
    },
    "feedback": {
        **dict.fromkeys(("by-mouth-cannot-swallow", "by-mouth-not-awake"), r"use the emergency protocol instead"),
        **dict.fromkeys(("food-cannot-swallow", "food-not-awake"), r"nothing by mouth"),
        **dict.fromkeys(("sweet-at-a-high", "sweet-at-a-very-high"), r"^nothing sweet"),
        "insulin-during-a-low": r"^do not give it yet: the low is not over",
        **dict.fromkeys(("no-help-unresponsive", "no-help-convulsion"), r"call for help first"),
        **dict.fromkeys(("no-help-drowsy", "no-help-confused"), r"call for help at once"),
        "no-more-by-mouth": r"call the \{prescriber\}, and treat by the \{protocol\}",
    },
}


@pytest.mark.parametrize(("table", "key"), [(table, key) for table, keys in SAYS.items() for key in keys])
def test_a_row_that_keeps_a_patient_safe_says_so(table, key):
    text = " ".join(words.key for words in STEPS[key].short) if table == "short" else TABLES[table][key].text.key
    assert re.search(SAYS[table][key], text, re.IGNORECASE), text


BOLD = re.compile(
    r"(?<!not )(?<!not to )\bgive (?:the|this|that) (?:insulin|dose)|\bdo not (?:measure|call|treat|tell|stay)"
    r"|(?<!no )\b(?:sugar|drink|food|sweet|carbohydrate)\b[^.:;]*\bby mouth\b",
    re.IGNORECASE,
)
"""What no sentence says to a nurse whose patient is not ready for the dose."""

GIVES_LATER = {"food-then-dose", "then-give", "order-stands", "give-near-a-low"}
"""Rows that let a dose be given, and name what must come before."""


def test_no_sentence_of_an_answer_that_waits_is_bold():
    waiting = {
        f"{table} {key}": row.text.key
        for table in ("next_steps", "due", "feedback")
        for key, row in TABLES[table].items()
        if key not in GIVES_LATER and not any(answer.startswith("give") for answer in getattr(row, "answers", ()))
    }
    waiting |= {f"short {key} {at}": words.key for key, row in STEPS.items() for at, words in enumerate(row.short)}
    assert len(waiting) > 100
    assert {name: text for name, text in waiting.items() if BOLD.search(text)} == {}


def test_the_bold_words_are_known_when_they_stand_there():
    for said in (
        "Give the insulin now.", "Not fully awake: sugar by mouth, then a drink.", "Do not measure again.", "Give this dose: write down."
    ):  # fmt: skip
        assert BOLD.search(said)


def test_a_finding_of_a_wrong_dose_is_never_put_right_in_the_syringe():
    """An amount that is wrong is discarded or told; what is put right here, or is fine, has not changed a dose."""
    wrong = {key: row.now for key, row in FACTS.errors.items() if row.harm == "a wrong dose"}
    assert len(wrong) > 15
    assert {key: now for key, now in wrong.items() if now not in ("discard and start again", "tell someone")} == {}
    unchanged = [key for key, row in FACTS.errors.items() if row.dose.key.startswith("The amounts are not changed")]
    assert len(unchanged) > 5
    assert set(unchanged).isdisjoint(wrong)


ERROR_SAYS = {
    "not-rolled-again": r"^roll and turn the vial again before you draw.*you need not discard it",
    "waited-too-long": r"^inject at once after mixing; the ward's limit only allows for what comes between",
    "rapid-mixture-waited": r"\{clear\} with \{cloudy\} is injected at once.*not a time to wait with a filled syringe",
    "wrong-syringe-passed": r"order, both vials and the syringe at eye level.*says? what she sees before she hears the dose",
    "stopper-not-dry": r"^go on",
    "doses-swapped": r"^discard the syringe.*point to the name, then to its number",
    "one-insulin-missing": r"^discard the syringe and prepare both insulins",
}
"""What a finding tells the learner to do, where the words decide: key of a row of errors.toml, and what it must hold."""


@pytest.mark.parametrize("key", ERROR_SAYS)
def test_what_is_done_about_a_finding_says_so(key):
    text = FACTS.errors[key].do.key
    assert re.search(ERROR_SAYS[key], text, re.IGNORECASE), text


def test_a_vial_that_holds_another_insulin_is_taken_out_of_use():
    """Common practice, no source."""
    spoiled = {key: row.do.key for key, row in FACTS.errors.items() if "for everyone who uses it" in row.vial.key}
    assert len(spoiled) >= 4
    assert {key: do for key, do in spoiled.items() if "out of use" not in do} == {}


def test_nobody_is_told_to_halve_a_dose():
    """Practical guidelines for hospital use of insulin, Table 3 (read): type 1 diabetes always needs some insulin."""
    said = [words.key for table in TABLES.values() for row in table.values() for words in sentences(row)]
    halves = [words for words in said if re.search("hal(f|ve)", words)]
    assert halves
    assert [words for words in halves if not words.endswith("Do not change or halve a dose yourself.")] == []


def test_every_sentence_begins_and_ends_as_one():
    whole = [
        (f"{table}.{key}", row.text.key)
        for table in ("next_steps", "conditions", "feedback")
        for key, row in TABLES[table].items()
    ]
    whole += [(f"short.{key}", words.key) for key, row in STEPS.items() for words in row.short]
    whole += [(key, row.finding.key) for key, row in REASONS.items() if not row.question]
    whole += [(key, row.question.key) for key, row in REASONS.items() if row.question]
    assert [key for key, words in whole if not words.endswith((".", "?", "call}"))] == []
    assert [key for key, row in REASONS.items() if row.question and row.finding.key.endswith(".")] == []
    assert [key for key, row in STEPS.items() if not row.text.key[0].isupper()] == []


def test_no_two_rows_of_a_table_say_the_same():
    same = ("next_steps", "conditions", "due", "feedback", "phrases", "people", "parts", "how_soon")
    twice = [
        (table, words)
        for table in same
        for words, count in Counter(row.text.key for row in TABLES[table].values()).items()
        if count > 1
    ]
    assert twice == []


def test_the_signs_are_those_of_the_facts():
    assert [*FACTS.sign_words] == [*FACTS.signs]
    classes = {key: set(row.signs) for key, row in FACTS.sign_classes.items()}
    assert all(signs <= set(FACTS.signs) for signs in classes.values())
    assert classes["urgent"] == classes["not-awake"] | classes["unsure"]
    assert classes["needs-help"] < classes["not-awake"]


def test_every_row_has_a_source_and_says_what_to_check_before_printing():
    facts = [fact for table in TABLES.values() for fact in every_fact(table)]
    assert len(facts) == sum(len(table) for table in TABLES.values()) - len(FACTS.sign_words)
    assert {fact.source for fact in facts} <= set(FACTS.sources)
    assert [fact for fact in facts if fact.known == "recalled" and "check before printing" not in fact.note.key] == []


def test_every_error_breaks_steps_of_the_plan_in_working_order():
    steps = [*FACTS.steps]
    offenders = [
        key
        for key, row in FACTS.errors.items()
        if not row.breaks or [*row.breaks] != [step for step in steps if step in row.breaks]
    ]
    assert offenders == []


def test_every_step_of_the_plan_is_broken_by_some_error():
    """Whether the order was looked at is the decision, not the bench."""
    broken = {step for row in FACTS.errors.values() for step in row.breaks}
    assert set(FACTS.steps) - broken == {"check_order"}
