"""No threshold, term or policy number stands in code: a ward that changes every one of them meets none of the old ones."""

import ast
import re
from dataclasses import replace
from pathlib import Path
from types import MappingProxyType

import mixlab
from mixlab.adapting.compare import comparison as comparing
from mixlab.adapting.compare.changes import sentences_in
from mixlab.adapting.compare.listings.pictures import pictures_of
from mixlab.adapting.compare.outputs import everything, output_kinds
from mixlab.adapting.site_desk import PREVIEWS
from mixlab.facts.records import Fact, Threshold
from mixlab.ward.site.record import teaching_site
from mixlab.ward.site.safety import check_site
from mixlab.words import say, speaking

assert comparing.LISTINGS  # they register what there is

TEACHING = teaching_site()


def changed(name, value, **also):
    return {name: replace(getattr(TEACHING, name), value=value, source="local-policy", known="read", **also)}


ODD = replace(
    TEACHING,
    name="the odd ward",
    **changed("hold_line", 77),
    **changed("level_2_line", 57),
    **changed("report_line", 311),
    **changed("reading_age", 43),
    **changed("meter_low", 23),
    **changed("meter_high", 577),
    **changed("urgent_high_line", 395),
    **changed("carbohydrate", 17),
    **changed("serious_carbohydrate", 23),
    **changed("recheck", 13),
    **changed("oral_treatments", 2),
    **changed("dose_gap", 7),
    **changed("earlier_low", 31),
    **changed("meal_lead", 37),
    **changed("meal_slack", 11),
    **changed("waiting", 9),
    **changed("waiting_rapid", 4),
    **changed("large_dose", 47),
    **changed("rolls", 19),
    **changed("inversions", 18),
    opened_days=MappingProxyType({key: replace(fact, value=25) for key, fact in TEACHING.opened_days.items()}),
    terms=MappingProxyType(
        {
            **TEACHING.terms,
            "regular": "soluble insulin",
            "nph": "isophane insulin",
            "prescriber": "ordering nurse",
            "chart": "drug sheet",
        }
    ),
)

OLD = {
    "hold_line": r"below 70 mg/dL",
    "level_2_line": r"below 54 mg/dL",
    "report_line": r"above 300 mg/dL",
    "urgent_high_line": r"above 400 mg/dL",
    "reading_age": r"within 60 minutes|within 1 hour",
    "meter": r"\b20 (?:mg/dL )?(?:to|and|–) 600",
    "carbohydrate": r"[Gg]ive 15 g|\b15 g taught",
    "serious_carbohydrate": r"[Gg]ive 20 g|\b20 g (?:is )?taught",
    "recheck": r"(?:after|in|again) 15 minutes",
    "waiting_rapid": r"at once[^.]*: 5 minutes",
    "waiting": r"allows 15|15 minutes of mixing|at most 15|(?:15|5) minutes from mixing|limit is 15",
    "dose_gap": r"less than 4 hours",
    "meal_lead": r"\b30 minutes after",
    "rolls": r"\b10 times (?:between|and)",
    "opened_days": r"(?:for|than|within) (?:28|42) days",
    "terms": r"\bprescriber|\bthe chart\b",
}
"""What the policy of the teaching ward reads like, by the key. A bare number may also be a reading, a study's or a label's."""

NAMES = re.compile(r"\bregular insulin|\bNPH\b")
"""The names of the two insulins; an order that is quoted, and a title, keep them."""

SPOKEN = {"sentences of decisions", "a low treated", "preparation", "the right run"}
ASKED = re.compile(r"reading 6[01] minutes old")
"""A case of a reading of that age, which the sentence then tells."""


def said(kind, site):
    """Yield the name of every output of a kind, and all that a learner reads there, in the words of the ward."""
    with speaking(site.voice):
        if kind.name == "pictures":
            yield from ((str(name), words()) for name, words in pictures_of(site))
            return
        for key, value in everything(kind, site).items():
            words = value if isinstance(value, str) else "\n".join(map(say, sentences_in(value)))
            yield str(key), words


def on_the_panels(site):
    """Yield every panel of the desk by its name, and all that it says."""
    for name, make in PREVIEWS.items():
        panel = make(site=site)
        told, waiting = [], [panel]
        while waiting:
            one = waiting.pop()
            waiting += getattr(one, "children", ())
            told += [str(getattr(one, part, "")) for part in ("value", "description", "alt")]
        yield name, "\n".join(told)
        panel.close()


def test_the_odd_ward_is_one_that_could_be():
    assert not check_site(ODD)


def test_nothing_that_is_generated_for_it_says_an_old_number_or_name():
    met = {}
    for kind in output_kinds():
        if kind.name in ("sentences", "terms"):  # the catalogue itself, its places not filled in
            continue
        for key, text in said(kind, ODD):
            for name, pattern in OLD.items():
                found = re.search(pattern, text)
                if found and not ASKED.search(key):
                    met.setdefault((name, kind.name), (key, text[max(0, found.start() - 60) : found.end() + 60]))
            if kind.name in SPOKEN and NAMES.search(text):
                met.setdefault(("names", kind.name), (key, text))
    for key, text in on_the_panels(ODD):
        for name, pattern in OLD.items():
            found = re.search(pattern, text)
            if found:
                met.setdefault((name, "panels"), (key, text[max(0, found.start() - 60) : found.end() + 60]))
    assert not met, "\n".join(f"{where}: {words}" for where, words in met.items())


LINES = {70, 54, 300, 3.9, 16.7}
FREE = re.compile(r"facts|ward/site/|words|launch|adapting/compare/listings/|figures/")
"""Where such a number may stand: in facts, as a size of a drawing, and in the grid of readings that a comparison asks about."""
WEIGHT = re.compile(r"weight_kg")


def test_what_is_looked_for_is_what_the_teaching_ward_says():
    assert {kind.name for kind in output_kinds()} >= SPOKEN
    texts = "\n".join(text for kind in output_kinds() for _, text in said(kind, TEACHING))
    assert [name for name, pattern in OLD.items() if not re.search(pattern, texts)] == []
    assert NAMES.search(texts)


def test_no_line_of_glucose_is_a_number_in_code():
    met = []
    package = Path(mixlab.__file__).parent
    for path in sorted(package.rglob("*.py")):
        where = path.relative_to(package).as_posix()
        if FREE.search(where):
            continue
        lines = path.read_text(encoding="utf-8").splitlines()
        for node in ast.walk(ast.parse("\n".join(lines))):
            line = lines[getattr(node, "lineno", 1) - 1].strip()
            if (
                isinstance(node, ast.Constant)
                and type(node.value) in (int, float)
                and node.value in LINES
                and not WEIGHT.search(line)
            ):
                met.append(f"{where}:{node.lineno}: {line}")
    assert not met, "\n".join(met)


def test_every_number_of_a_site_is_among_those_that_the_odd_ward_changes():
    numbers = {name for name in vars(TEACHING) if isinstance(getattr(TEACHING, name), Fact | Threshold)}
    assert {name for name in numbers if getattr(ODD, name) == getattr(TEACHING, name)} == set()
