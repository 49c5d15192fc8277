"""The notebooks' prose in a site's words: whole words of prose change, and nothing else does.

The names soluble and isophane stand for regular and NPH in British texts: common practice, no source. The British spellings
are recalled from memory; they were not compared with a dictionary.
"""

import json
import re
import tomllib
from dataclasses import replace
from importlib import resources
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from mixlab.adapting.cohort.prose import british, renamed, speak_notebook, speak_prose
from mixlab.ward.site.in_force import example_sites
from mixlab.ward.site.record import teaching_site

NOTEBOOKS = sorted((Path(__file__).parents[2] / "notebooks").glob("*.ipynb"))
TERMS = {
    "regular": "soluble insulin",
    "nph": "isophane insulin",
    "prescriber": "authorized doctor",
    "chart": "insulin chart",
    "unit": "international unit",
    "units": "international units",
}
RENAMING = replace(teaching_site(), terms=TERMS)
BRITISH_WARD = replace(teaching_site(), language="en-GB")
SPELLING = tomllib.loads((resources.files("mixlab.words") / "spelling.toml").read_text(encoding="utf-8"))


def markdown(content: bytes) -> list[str]:
    return ["".join(cell["source"]) for cell in json.loads(content)["cells"] if cell["cell_type"] == "markdown"]


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
class TestEveryNotebook:
    def test_the_teaching_site_says_it_byte_for_byte_as_written(self, path):
        content = path.read_bytes()
        assert speak_notebook(content, teaching_site()) == content

    def test_only_the_text_of_markdown_changes(self, path):
        content = path.read_bytes()
        spoken = speak_notebook(content, RENAMING)
        before, after = json.loads(content), json.loads(spoken)
        assert [cell["id"] for cell in before["cells"]] == [cell["id"] for cell in after["cells"]]
        for old, new in zip(before["cells"], after["cells"], strict=True):
            if old["cell_type"] == "code":
                assert new == old
            else:
                assert {**new, "source": None} == {**old, "source": None}
        assert {**before, "cells": None} == {**after, "cells": None}
        assert spoken.endswith(b"}\n")
        assert spoken != content

    def test_a_notebook_whose_words_are_given_back_is_the_old_one(self, path):
        """Every changed place is one of the terms: put the old terms back, and the old text is there."""
        for before, after in zip(
            markdown(path.read_bytes()), markdown(speak_notebook(path.read_bytes(), RENAMING)), strict=True
        ):
            old_words, new_words = _neutral(before), _neutral(after)
            assert new_words == old_words

    def test_no_old_name_of_an_insulin_is_left_outside_code(self, path):
        for text in markdown(speak_notebook(path.read_bytes(), RENAMING)):
            prose = re.sub(r"`[^`]*`|<[^>]*>", " ", text)
            assert not re.search(r"\b(regular|Regular|NPH|prescribers?)\b", prose), prose

    def test_what_was_spelled_british_once_stays_so(self, path):
        once = speak_notebook(path.read_bytes(), BRITISH_WARD)
        assert speak_notebook(once, BRITISH_WARD) == once


def _neutral(text):
    """Take out every term of either site, whatever its case, and the article before it."""
    terms = [*TERMS.values(), "soluble", "isophane", "international unit"]
    olds = ["regular insulin", "regular", "NPH insulin", "NPH", "prescriber", "chart", "units", "unit"]
    pattern = "|".join(re.escape(term) for term in sorted([*terms, *olds], key=len, reverse=True))
    return re.sub(rf"(?i)(\ban? )?\b(?:{pattern})(?=s?\b)", "…", text)


@pytest.mark.parametrize(
    ("written", "spoken"),
    [
        ("Draw regular insulin, then NPH insulin.", "Draw soluble insulin, then isophane insulin."),
        ("Regular insulin is clear. NPH is cloudy.", "Soluble insulin is clear. Isophane is cloudy."),
        ("regular 14 and NPH 26", "soluble 14 and isophane 26"),
        ("**A.** *NPH insulin 26 units*", "**A.** *Isophane insulin 26 international units*"),
        ("</summary>NPH sinks.", "</summary>Isophane sinks."),
        ("two things, e.g. NPH alone", "two things, e.g. isophane alone"),
        ("- regular\n- NPH", "- soluble\n- Isophane"),
        ("the **regular** insulin", "the **soluble** insulin"),
        ("An NPH dose, and a regular one", "An isophane dose, and a soluble one"),
        ("ask a prescriber", "ask an authorized doctor"),
        ("Prescribers and the prescriber's order", "Authorized doctors and the authorized doctor's order"),
        ("look at the chart, and chart it", "look at the insulin chart, and chart it"),
        ("write it on a chart", "write it on an insulin chart"),
        ("what most charts want", "what most insulin charts want"),
        (
            "half a unit, every unit, 8 units",
            "half an international unit, every international unit, 8 international units",
        ),
        ("which unit is meant, its own unit, the care unit", "which unit is meant, its own unit, the care unit"),
        ("regular meals, at regular intervals", "regular meals, at regular intervals"),
        ("irregular, prescribed, chartered, united", "irregular, prescribed, chartered, united"),
        ("REGULAR INSULIN", "SOLUBLE INSULIN"),
        ("a half-unit line", "a half-unit line"),
    ],
)
def test_a_term_is_said_as_the_site_says_it(written, spoken):
    assert speak_prose(written, RENAMING) == spoken


KEPT = [
    "`regular insulin 8U + NPH20 units`",
    "``NPH ` gray``",
    "```\nregular insulin 8 units\ncolor\n```",
    "~~~toml\nNPH = 'gray'\n~~~",
    '<img alt="NPH and gray" src="regular.png">',
    "<a href='https://regular.example/NPH'>",
    "<code>NPH units</code>",
    "[the prescriber's chart](regular insulin.ipynb)",
    "![NPH, gray](prescriber.png)",
    "https://example.org/regular/NPH-color",
    "<!-- NPH is gray -->",
    "{color} {units}",
    "my_NPH_color",
]


@pytest.mark.parametrize("kept", KEPT)
def test_code_links_tags_and_places_are_left_alone(kept):
    everything = replace(RENAMING, language="en-GB")
    written = f"Draw NPH and see gray.\n\n{kept}\n\nDraw NPH and see gray."
    spoken = f"Draw isophane and see grey.\n\n{kept}\n\nDraw isophane and see grey."
    assert speak_prose(written, everything) == spoken


def test_a_notebook_without_a_word_to_change_is_not_even_laid_out_anew():
    content = b'{"cells": [{"cell_type": "markdown", "source": "No term \\u00e9 here."}]}'
    assert speak_notebook(content, RENAMING) == content
    assert speak_notebook(content.replace(b"No term", b"NPH"), RENAMING) != content.replace(b"No term", b"NPH")


def test_a_code_span_ends_with_its_paragraph():
    assert speak_prose("a stray ` here\n\nNPH ` there", RENAMING) == "a stray ` here\n\nIsophane ` there"


def test_a_bare_name_loses_the_word_insulin_and_one_without_it_stays_whole():
    short = replace(
        teaching_site(), terms={**teaching_site().terms, "regular": "neutral", "nph": "human isophane insulin"}
    )
    assert speak_prose("regular insulin and NPH", short) == "neutral and human isophane"


def test_a_site_of_another_language_leaves_the_english_text_as_it_is():
    elsewhere = replace(RENAMING, language="de")
    assert speak_prose("regular insulin is not gray", elsewhere) == "regular insulin is not gray"


def test_only_renamed_terms_count():
    assert renamed(teaching_site()) == {}
    assert renamed(RENAMING) == TERMS
    assert [site.name for site in example_sites() if "regular" in renamed(site)] == ["the hill ward"]


@pytest.mark.parametrize("content", [b"", b"[]", b"{}", b"null", b'{"cells": 3}', b'{"cells": [{}]}', b"\xff\xfe"])
def test_what_is_no_notebook_is_refused(content):
    with pytest.raises(ValueError):  # noqa: PT011  # the sentence for people is the caller's
        speak_notebook(content, RENAMING)


# Spelling


@pytest.mark.parametrize(
    ("american", "spelled"),
    [
        ("hypoglycemia", "hypoglycaemia"),
        ("Labeled and discolored", "Labelled and discoloured"),
        ("GRAY", "GREY"),
        ("two milliliters", "two millilitres"),
        ("to practice; a license; the meter; a program", "to practice; a license; the meter; a program"),
        ("American Academy of Pediatrics, pediatric", "American Academy of Pediatrics, paediatric"),
        ("Glycemic\nTargets", "Glycemic\nTargets"),
        ("grayscale, colorize", "grayscale, colorize"),
    ],
)
def test_british_spelling(american, spelled):
    assert british(american) == spelled


def test_the_table_turns_american_words_into_british_ones_and_never_back():
    words = SPELLING["words"]
    assert len(words) > 200
    offenders = [
        (old, new)
        for old, new in words.items()
        if old == new or new in words or not (old + new).isalpha() or (old + new) != (old + new).lower()
    ]
    assert offenders == []
    assert list(SPELLING["names"]) == sorted(SPELLING["names"])


@given(st.text(max_size=200))
def test_any_text_is_taken_and_spelling_twice_changes_no_more(text):
    once = british(text)
    assert british(once) == once
    speak_prose(text, replace(RENAMING, language="en-GB"))


@given(st.lists(st.sampled_from([*"`[](){}<>!~*_ \n", "NPH", "https://", "</", "<!--", "gray", '"', "'"]), max_size=60))
def test_unfinished_marks_never_stop_it(parts):
    text = "".join(parts)
    speak_prose(text, replace(RENAMING, language="en-GB"))
    assert speak_prose(text, teaching_site()) == text
