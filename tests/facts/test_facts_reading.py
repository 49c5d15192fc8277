"""The reader of the fact files finds every fault and lists them all at once, as sentences."""

import shutil
from dataclasses import fields
from importlib import resources
from typing import get_args

import pytest

from mixlab.facts.decision_rows import Standing
from mixlab.facts.reading import FILES, FactsError, every_fact, read_facts, the_facts
from mixlab.facts.records import Sourced
from mixlab.words import Sentence, sentence


@pytest.fixture
def folder(tmp_path):
    """Return a folder with a copy of the package's own fact files."""
    for name in FILES:
        with resources.as_file(resources.files("mixlab.facts") / name) as path:
            shutil.copy(path, tmp_path)
    return tmp_path


def edit(path, old, new):
    """Replace the first `old` of a file, which must be there."""
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")


def faults(folder):
    with pytest.raises(FactsError) as caught:
        read_facts(folder)
    return str(caught.value).splitlines()


def test_a_faultless_copy_reads_like_the_packages_own(folder):
    assert read_facts(folder) == the_facts()


def line_of(text):
    """Return the line of decisions.toml in which a text stands first."""
    return DECISIONS[: DECISIONS.index(text)].count("\n") + 1


DECISIONS = (resources.files("mixlab.facts") / "decisions.toml").read_text(encoding="utf-8")
NOT_EATING, WHILE_YOU_TREAT = line_of('when = ["not eating"]'), line_of("[next_steps.while-you-treat]")
*_FIRST, _LAST = (f"'{name}'" for name in get_args(Standing))
STANDINGS = f"{', '.join(_FIRST)} or {_LAST}"
FAULTS = {
    "unknown key": (
        "syringes.toml",
        "capacity_units = 30",
        'capacity_units = 30\ncolour = "blue"',
        "syringes.toml, line 5, syringes.0.3-half.colour: this key is not known here. Take it out or correct its spelling.",
    ),
    "unknown key deep in a row": (
        "insulins.toml",
        "onset = { low = 0.5,",
        "onset = { middle = 1, low = 0.5,",
        "insulins.toml, line 25, insulins.regular.times, row 1, onset, middle: this key is not known here. Take it out or correct "
        "its spelling.",
    ),
    "a standing that nobody knows": (
        "decisions.toml",
        'when = ["not eating"]',
        'when = ["not hungry"]',
        f"decisions.toml, line {NOT_EATING}, next_steps.if-they-will-not-eat.when, row 1: 'not hungry' is not "
        f"one of the words for it. Write one of {STANDINGS}. The nearest known one is not eating.",
    ),
    "a third condition": (
        "decisions.toml",
        'unless = ["serious", "urgent signs"]',
        'unless = ["serious", "urgent signs", "high"]',
        f"decisions.toml, line {WHILE_YOU_TREAT}, next_steps.while-you-treat: when and unless name two "
        "conditions at most; what needs a third is left to Python.",
    ),
    "no source": (
        "action.toml",
        'source = "lepore-2000"\n',
        "",
        "action.toml, line 49, action.basal_units_per_kg_h.source: this key is missing. Add it.",
    ),
    "blank source": (
        "action.toml",
        'source = "berman-1980"',
        'source = ""',
        "action.toml, line 28, action.effect_rate_per_h: Fact has no source: name who says so and how it is known.",
    ),
    "backward span": (
        "insulins.toml",
        "duration = { low = 5, high = 8 }",
        "duration = { low = 8, high = 5 }",
        "insulins.toml, line 27, insulins.regular.times, row 1, duration: A span of hours must run upwards from 0, not from 8.0 "
        "to 5.0.",
    ),
    "source not listed": (
        "sources.toml",
        "[sources.rnao]",
        "[sources.another]",
        "sources.toml: the source 'rnao' is used but not listed. Add it.",
    ),
    "source not used": (
        "sources.toml",
        "[sources.rnao]",
        '[sources.another]\ntitle = "Another"\n\n[sources.rnao]',
        "sources.toml: nothing uses the source 'another'. Take it out.",
    ),
    "unknown table": (
        "action.toml",
        "[absorption.regular]",
        "[extra]\n\n[absorption.regular]",
        "action.toml, line 5: the table [extra] is not known here. Take it out.",
    ),
}


@pytest.mark.parametrize("what", FAULTS)
def test_a_fault_is_named_with_its_place(folder, what):
    name, old, new, fault = FAULTS[what]
    edit(folder / name, old, new)
    assert fault in faults(folder)


def test_a_missing_table_is_named(folder):
    text = (folder / "technique.toml").read_text(encoding="utf-8")
    (folder / "technique.toml").write_text(text[text.index("[steps.") :], encoding="utf-8")
    assert faults(folder) == ["technique.toml: the table [technique] is missing. Add it."]


def test_a_stray_file_is_a_fault(folder):
    (folder / "more.toml").touch()
    assert faults(folder) == ["more.toml: this file is not known here. Take it out."]


def test_a_missing_file_is_a_fault(folder):
    (folder / "syringes.toml").unlink()
    assert faults(folder) == [f"syringes.toml: there is no such file in {folder}. Correct its name."]


def test_a_file_that_is_not_text_or_not_a_file_is_a_fault(folder):
    (folder / "action.toml").write_bytes(b"\xff\xfe\x00")
    (folder / "syringes.toml").unlink()
    (folder / "syringes.toml").mkdir()
    assert faults(folder) == [
        "syringes.toml: this is a folder. Name the file in it.",
        "action.toml: it is text in UTF-16. Save it as text in UTF-8.",
    ]


def test_every_fault_in_every_file_is_listed_at_once(folder):
    chosen = ["unknown key", "backward span", "a third condition", "no source", "source not listed"]
    for what in chosen:
        name, old, new, _ = FAULTS[what]
        edit(folder / name, old, new)
    (folder / "more.toml").touch()
    assert set(faults(folder)) == {
        "more.toml: this file is not known here. Take it out.",
        *(FAULTS[what][3] for what in chosen),
    }


def test_every_fact_goes_however_deep():
    found = list(every_fact(the_facts().insulins["nph"]))
    insulin = the_facts().insulins["nph"]
    assert found == [insulin.look_source, insulin.mixing, *insulin.times]


def test_what_a_learner_reads_of_a_fact_is_a_sentence_and_what_code_compares_is_none():
    rows = [*every_fact(the_facts()), *the_facts().body_sites.values()]
    said = [(row, field.name) for row in rows for field in fields(row) if field.type == "Sentence"]
    assert [(row, name) for row, name in said if not isinstance(getattr(row, name), Sentence)] == []
    assert {(type(row).__name__, name) for row, name in said if name != "note"} == {
        *(("Miscibility", "why"), ("NotifyRow", "do"), ("RuleRow", "say"), ("StepRow", "do"), ("StepRow", "why")),
        *(("ErrorRow", part) for part in ("title", "dose", "patient", "vial", "do", "doubt")),
        *(("AfterRow", "do"), ("BodySiteRow", "name"), ("SpeedRow", "name"), ("WardChoice", "because")),
        *(("NotationRow", part) for part in ("title", "misread_as", "write")),
        *(("ConcernRow", part) for part in ("title", "misread_as", "write", "risk")),
        *(("ReasonRow", part) for part in ("finding", "question", "then", "headline")),
        *((kind, "text") for kind in ("SaidRow", "AnswerRow", "NextStepRow", "PartRow", "HowSoonRow", "FeedbackRow")),
        ("HowSoonRow", "besides"),
    }


def test_citations_say_how_a_fact_is_known():
    facts = the_facts()
    assert facts.cite(facts.thresholds["report"]) == sentence("common practice, no source")
    rnao = facts.cite(Sourced(source="rnao", known="read"))
    assert dict(rnao.values) == {"citation": facts.sources["rnao"], "known": sentence("read")}
    assert str(rnao).startswith("Registered Nurses' Association of Ontario")
    assert str(facts.cite(facts.thresholds["low"])).endswith("2018 and later (recalled)")
