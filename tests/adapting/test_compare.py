"""Comparing two sites: what differs is told, and nothing else differs."""

import hashlib
import os
import re
import subprocess
import sys
from dataclasses import fields, is_dataclass, replace
from functools import cache
from types import MappingProxyType

import pytest

from mixlab.adapting.cohort.prose import speak_notebook
from mixlab.adapting.compare import outputs
from mixlab.adapting.compare.changes import (
    Change,
    KindChanges,
    differences,
    fingerprint,
    sentences_in,
    stretches,
    way,
)
from mixlab.adapting.compare.comparison import compare_sites
from mixlab.adapting.compare.keys import changed_keys, key_words
from mixlab.adapting.compare.listings.day import DEMONSTRATION_DAYS
from mixlab.adapting.compare.listings.decisions import COURSES, PLAIN, demonstration_order
from mixlab.adapting.compare.listings.preparation import ORDERS, PAIRS, deeds
from mixlab.adapting.compare.outputs import Point, everything, kind_of_output, output_kinds
from mixlab.adapting.compare.signed_page import ROOM, rows_of
from mixlab.adapting.compare.telling import from_to, how_much_less_strict
from mixlab.care.decision.deciding import decide
from mixlab.care.dosing import CannotPrepare, choose_syringe, plan_dose
from mixlab.care.low.treatment import walk
from mixlab.care.order.checking import order_concerns
from mixlab.care.review.findings import review
from mixlab.launch.course import find_course
from mixlab.quantities import Glucose
from mixlab.ward.insulin import insulins
from mixlab.ward.observation import Observation
from mixlab.ward.order.order import Dose, Order, OrderError
from mixlab.ward.site.in_force import example_sites
from mixlab.ward.site.keys import KEYS
from mixlab.ward.site.record import Site, teaching_site
from mixlab.words import Sentence, Voice, counted, joined, sentence, speaking

SAID = {"sentences of decisions", "a low treated", "amounts for a low", "pictures", "lessons"}
DECIDED = {"decisions", *SAID, "terms"}
PREPARED = {"preparation", "the right run", "bench findings", "concerns", "pictures", "lessons"}
THE_DAY = {"times of the day", "sentences of the day", "pictures", "lessons"}
WORDS = {"terms"}


def line(value, comparison):
    return {"value": value, "unit": "mg/dL", "comparison": comparison}


# For each key another allowed value, and the kinds of output that it may move: a term moves the terms and
# nothing else, and the name, which its key tells, nothing.
ONE_KEY = {
    "name": ("the willow ward", set()),
    "language": ("en-GB", {"terms", "sentences"}),
    "numbers": ("comma", WORDS),
    "dates": ("26 Nov 2026", WORDS),
    "glucose_unit": ("mmol/L", DECIDED),
    "rounding": ("unrounded", DECIDED),
    "hold_line": (line(72, "below"), DECIDED),
    "level_2_line": (line(56, "below"), DECIDED),
    "report_line": (line(250, "above"), DECIDED),
    "urgent_high_line": (line(350, "above"), DECIDED),
    "near_low_line": (line(90, "below"), DECIDED),
    "near_low_answer": ("treat", DECIDED),
    "reading_age": (30, DECIDED),
    "meter_low": (10, DECIDED),
    "meter_high": (500, DECIDED),
    "carbohydrate": (20, DECIDED),
    "serious_carbohydrate": (25, DECIDED),
    "recheck": (10, DECIDED),
    "oral_treatments": (2, DECIDED),
    "earlier_low": (12, DECIDED),
    "dose_gap": (6, DECIDED),
    "meal_lead": (20, {*SAID, *THE_DAY, "concerns", "preparation"}),
    "meal_slack": (10, THE_DAY),
    "large_dose": (30, {"concerns"}),
    "short_times": ("short forms too", {"concerns"}),
    "waiting": (5, {*THE_DAY, *PREPARED}),
    "waiting_rapid": (3, {*THE_DAY, *PREPARED}),
    "rounds": (["08:00", "12:00", "20:00"], THE_DAY),
    "bedtime": ("22:30", THE_DAY),
    "waking": ("05:30", THE_DAY),
    "meals": ([{"name": "breakfast", "at": "08:30", "grams": 45}, {"name": "supper", "at": "18:00"}], THE_DAY),
    "stock": (["0.5-one", "1.0-two"], {*PREPARED, "syringes"}),
    **{
        name: (value, PREPARED)
        for name, value in {
            "gloves": "required", "recapping": "never", "push_back": "never", "air": "no air",
            "resuspend": "until even", "rolls": 20, "inversions": 20, "never_mix": ["lispro + nph"],
            "critical_steps": ["check_order", "draw_clear"],
        }.items()
    },
    "second_check": ("none", {*PREPARED, "sentences of decisions", "a low treated"}),  # a step of every give
    "terms.regular": ("soluble insulin", WORDS),
    "terms.nph": ("isophane insulin", WORDS),
    "terms.prescriber": ("doctor", WORDS),
    "terms.chart": ("drug chart", WORDS),
    "terms.unit": ("international unit", WORDS),
    "terms.units": ("international units", WORDS),
    **{f"opened_days.{key}": (21, PREPARED) for key, one in insulins().items() if one.row.mixing.may_share_with},
    **{
        f"taught.{insulin}": ([source], {*THE_DAY, "bench findings"})
        for insulin, source in {
            "regular": "afp-2009", "nph": "afp-2009", "lispro": "afp-2009", "aspart": "afp-2009", "glulisine": "afp-2009",
        }.items()
    },
}  # fmt: skip


TEACHING, HARBOUR, GARDEN, HILL, ORCHARD = example_sites()
COMPARED = [(TEACHING, HARBOUR), (TEACHING, HILL), (HILL, TEACHING), (ORCHARD, TEACHING)]
two_sites = pytest.mark.parametrize("pair", COMPARED, ids=lambda pair: f"{pair[0].name} to {pair[1].name}")


def one_key(name, value, site=TEACHING):
    (key,) = (key for key in KEYS if key.name == name)
    return key.read(site, value, {})


def plain(held):
    """Return all that a record holds, without the site it was made for, as nested tuples; its sentences are said."""
    if isinstance(held, Site):
        return "the site"
    if isinstance(held, Sentence):
        return str(held)
    if is_dataclass(held) and not isinstance(held, type):
        return (type(held).__name__, *(plain(getattr(held, part.name)) for part in fields(held)))
    if isinstance(held, tuple | list):
        return tuple(plain(one) for one in held)
    return str(held)


def listed(kind):
    """Return everything of a kind at the teaching site."""
    return everything(next(one for one in output_kinds() if one.name == kind), TEACHING)


compared = cache(compare_sites)
"""A comparison that several tests look at is made once."""


@cache
def by_another_way(site):
    """Hash records of care for a site, kind by kind, as they are said, without the comparison's own listings."""
    order, site = demonstration_order(), replace(site, name="the ward")
    with speaking(Voice()):
        found = [Observation(glucose=Glucose(value, "mg/dL"), **PLAIN) for value in range(0, 601, 9)]
        days = [day.plan(site) for day in DEMONSTRATION_DAYS]
        made = {
            "decisions": [decide(order, one, site).choice for one in found],
            "sentences of decisions": [plain(decide(order, one, site)) for one in found],
            "a low treated": [plain(walk(order, low, events, site)) for low, events in COURSES.values()],
            "concerns": [plain(order_concerns(text, site=site)) for text in ORDERS],
            "preparation": [_planned(pair, site) for pair in PAIRS],
            "bench findings": [plain(review(deed.order, deed.trace, site)) for deed in deeds()[::3]],
            "times of the day": [plain(_times(day)) for day in days],
            "sentences of the day": [plain(_said(day)) for day in days],
            "lessons": [speak_notebook(path.read_bytes(), _in_plain_words(site)) for path in NOTEBOOKS],
        }
    return {kind: hashlib.blake2b(repr(records).encode()).hexdigest() for kind, records in made.items()}


NOTEBOOKS = sorted(find_course().glob("*.ipynb"))


def _in_plain_words(site):
    """Return a site that calls and writes everything as the teaching site does."""
    base = teaching_site()
    return replace(site, terms=base.terms, language=base.language, numbers=base.numbers, dates=base.dates)


def _planned(pair, site):
    one, few, other, more = pair
    doses = (Dose(insulin=insulins()[one], units=few), Dose(insulin=insulins()[other], units=more))
    try:
        return plain(plan_dose(Order(doses=doses), site))
    except (CannotPrepare, OrderError) as refusal:
        return str(refusal)


def _times(plan):
    windows = [(acting.starts, acting.strongest, acting.ends) for acting in (plan.clear, plan.cloudy)]
    meals = [meal.at.minutes for meal in plan.meals]
    return plan.draw_up_from.minutes, plan.inject_by.minutes, meals, plain(windows), [at.minutes for at in plan.rounds]


def _said(plan):
    return (
        [str(look.say) for look in plan.visits],
        [str(clash.say) for clash in plan.clashes],
        [str(words) for words, _ in plan.standing],
    )


def test_every_key_is_changed_below():
    assert {key.name for key in KEYS} == ONE_KEY.keys()


def the_kinds_moved(names, may_move):
    """Change keys at once; return the kinds that a comparison says are moved, once nothing else differs in another way."""
    keys = [key for key in KEYS if key.name in names]
    base = other = teaching_site()
    for key in keys:
        other = key.read(other, ONE_KEY[key.name][0], {})
    comparison = compare_sites(base, other)
    # The ends of the meter are written in the unit of the site.
    assert {change.key.name for change in comparison.keys} - {*names} <= (
        {"meter_low", "meter_high"} if "glucose_unit" in names else set()
    )
    moved = {changes.kind.name for changes in comparison.differing}
    assert moved <= may_move
    before, after = by_another_way(base), by_another_way(other)
    for kind in before.keys() - moved:
        assert before[kind] == after[kind], f"{kind} differs for {names}, and the comparison does not say so"
    return moved


@pytest.mark.long
@pytest.mark.parametrize("name", ONE_KEY)
def test_changing_one_key_changes_only_what_is_reported(name):
    may_move = ONE_KEY[name][1]
    assert bool(the_kinds_moved({name}, may_move)) == bool(may_move), f"{name} moves nothing that a learner sees"


def those_that_may_move_the_same():
    """Return sets of keys that can be changed at once; another unit or rounding changes the lines, too."""
    together = {}
    for name, (_, may_move) in ONE_KEY.items():
        alone = name if name in ("glucose_unit", "rounding") else ""
        together.setdefault((alone, frozenset(may_move)), set()).add(name)
    return [(names, may_move) for (_, may_move), names in together.items()]


@pytest.mark.parametrize(
    ("names", "may_move"),
    those_that_may_move_the_same(),
    ids=lambda each: f"{min(each, default='nothing')}, {len(each)}",
)
def test_changing_keys_at_once_changes_only_what_is_reported(names, may_move):
    """Sample: every key, but those that may move the same kinds are changed at once."""
    assert bool(the_kinds_moved(names, may_move)) == bool(may_move)


@pytest.mark.parametrize("name", ONE_KEY)
def test_every_key_moves_something_that_a_learner_sees(name):
    value, may_move = ONE_KEY[name]
    base, other = TEACHING, one_key(name, value)
    kinds = [kind for kind in reversed(output_kinds()) if kind.name in may_move]  # what takes long stands first
    assert any(everything(kind, base) != everything(kind, other) for kind in kinds) == bool(may_move)


@pytest.mark.parametrize("name", [name for name in ONE_KEY if name.startswith("terms.")])
def test_a_renamed_term_is_told_once(name):
    (changes,) = compare_sites(TEACHING, one_key(name, ONE_KEY[name][0])).differing
    (change,) = changes.changed
    assert (changes.kind.name, change.after) == ("terms", ONE_KEY[name][0])


def test_the_other_way_sees_what_the_comparison_reports():
    one, other = by_another_way(TEACHING), by_another_way(HARBOUR)
    moved = {changes.kind.name for changes in compare_sites(TEACHING, HARBOUR).differing}
    assert {kind for kind in one if one[kind] != other[kind]} <= moved
    assert "decisions" in moved
    assert one["decisions"] != other["decisions"] or one["sentences of decisions"] != other["sentences of decisions"]


@pytest.mark.parametrize("site", example_sites(), ids=lambda site: site.name)
def test_a_site_beside_itself_reports_nothing(site):
    comparison = compared(site, site)
    assert not comparison.keys
    assert not comparison.differing
    assert all(changes.same == changes.of > 0 for changes in comparison.kinds)
    assert "same in every key" in str(comparison)


def test_swapped_sites_swap_the_report():
    there, back = compare_sites(TEACHING, ORCHARD), compare_sites(ORCHARD, TEACHING)
    assert [(one.key, one.before, one.after) for one in there.keys] == [
        (one.key, one.after, one.before) for one in back.keys
    ]
    for one, other in zip(there.kinds, back.kinds, strict=True):
        assert {it.key: (it.before, it.after) for it in one.all_changes} == {
            it.key: (it.after, it.before) for it in other.all_changes
        }
        assert one.same_sha256 == other.same_sha256
        assert fingerprint(one.before) == fingerprint(other.after)
        assert fingerprint(one.after) == fingerprint(other.before)


def test_exactly_70_flips_between_the_two_editions():
    """The 2017 edition calls 70 mg/dL low, those from 2018 on do not (facts/glucose.toml: read, and recalled)."""
    found = compare_sites(TEACHING, one_key("hold_line", line(70, "at or below"))).of("decisions").all_changes
    plain_ones = {str(one.key): (one.before, one.after) for one in found if str(one.key).endswith(", no signs, eating")}
    assert plain_ones["70 mg/dL, no signs, eating"] == ("hold and ask", "hold and treat")
    turned = {key for key in plain_ones if "mg/dL" in key and "earlier" not in key}
    assert turned == {
        "70 mg/dL, no signs, eating",
        "85 mg/dL, no signs, eating",
    }  # the near-low band lies beside the line


def test_names_and_values_are_said_in_the_words_of_who_reads():
    renamed = compare_sites(TEACHING, one_key("gloves", "required"))
    assert any("NPH insulin" in line for line in renamed.everything())
    with speaking(Voice(terms=(("nph", "isophane insulin"),))):
        lines = renamed.everything()
    assert any("isophane insulin" in line for line in lines)
    assert not any("NPH" in line for line in lines)


def test_a_later_kind_joins_by_registering_itself(monkeypatch):
    monkeypatch.setattr(outputs, "_kinds", dict(outputs._kinds))

    @kind_of_output("worksheets", sentence("Worksheets"))
    def list_worksheets(site):
        yield Point(sentence("worksheet {number}", number=1)), sentence("Hold {line}.", line=site.hold_text)

    (change,) = compare_sites(TEACHING, HARBOUR).of("worksheets").changed
    said = (str(change.key), str(change.before), str(change.after))
    assert said == ("worksheet 1", "Hold below 70 mg/dL.", "Hold at or below 70 mg/dL.")


def test_what_cannot_be_planned_is_an_output():
    found = compare_sites(TEACHING, one_key("never_mix", ["regular + nph"]))
    for kind in ("preparation", "the right run", "pictures"):
        assert any(str(one.after).startswith("refused: ") for one in found.of(kind).all_changes), kind


def _scale(name, *places, where="eating", before="give", after="hold"):
    at = [Point(sentence("{n} mg/dL", n=place), joined((where,)), place) for place in places]
    return [Change(key=point, before=before, after=after) for point in at]


def test_neighbors_that_change_alike_are_one_stretch():
    changes = [*_scale("a", 70, 71, 73), *_scale("a", 70, 71, where="asleep"), *_scale("a", 74, after="ask")]
    told = [(str(one.first.at), str(one.last.at), [*map(str, one.where)], one.count) for one in stretches(changes)]
    assert told == [
        ("70 mg/dL", "71 mg/dL", ["eating", "asleep"], 4),
        ("73 mg/dL", "73 mg/dL", ["eating"], 1),
        ("74 mg/dL", "74 mg/dL", ["eating"], 1),
    ]


WAIT = sentence("Wait {time} and tell the {prescriber}.", time=counted(15, "{n} minute", "{n} minutes", n=15))


def test_of_a_record_only_the_sentences_that_differ_are_told_like_beside_like():
    sooner = sentence(WAIT, time=counted(10, "{n} minute", "{n} minutes", n=10))
    stay, go = sentence("Stay."), sentence("Go.")
    assert differences((stay, WAIT), (stay, sooner)) == ((WAIT, sooner),)
    assert differences((WAIT, stay), (sooner, go)) == ((WAIT, sooner), (stay, go))
    assert differences((stay,), (stay, go)) == ((None, go),)
    assert differences((stay, go), (go, stay)) == (((stay, go), (go, stay)),)  # the order is a difference, too
    assert list(sentences_in((stay, ((WAIT,), 3)))) == [stay, WAIT]


def test_what_differs_in_one_way_is_told_once_whatever_else_a_sentence_holds():
    def low(reading, limit):
        return sentence("{reading} is below {limit}", reading=reading, limit=limit)

    assert way((low(61, 70), low(61, 72))) == way((low(62, 70), low(62, 72)))
    assert way((low(61, 70), low(61, 72))) != way((low(61, 70), low(61, 73)))
    there = Glucose(61, "mg/dL"), Glucose(61, "mg/dL").to("mmol/L")
    assert way((low(there[0], 70), low(there[1], 70))) == way(
        (low(Glucose(90, "mg/dL"), 70), low(Glucose(5.0, "mmol/L"), 70))
    )


def test_hashes_are_of_names_and_values_together():
    def of(**outputs):
        return {Point(joined((name,))): value for name, value in outputs.items()}

    told = [
        of(ab="c"),
        of(a="bc"),
        of(b="c"),
        of(a="c"),
        of(a="c", b="c"),
        {},
        of(a=1),
        of(a="1"),
        of(a=(1,)),
        of(a=WAIT),
    ]
    assert len(set(map(fingerprint, told))) == len(told)
    assert fingerprint(of(a="c", b="d")) == fingerprint(of(b="d", a="c"))
    assert of(a=1) == of(a=1.0)
    assert fingerprint(of(a=1)) == fingerprint(of(a=1.0))  # equal values, equal fingerprints
    one = KindChanges(kind=output_kinds()[0], before=of(ab="c"), after=of(a="bc"))
    assert (one.same, one.count) == (0, 2)
    with pytest.raises(TypeError, match="No output may hold"):
        fingerprint(of(a=object()))


def test_fingerprints_are_the_same_in_another_run():
    """No hash of a run, no address and no order of a set goes into the proof."""
    code = (
        "from mixlab.adapting.compare.comparison import everything, output_kinds\n"
        "from mixlab.adapting.compare.changes import fingerprint\n"
        "from mixlab.ward.site.record import teaching_site\n"
        "site = teaching_site()\n"
        "print(*(fingerprint(everything(kind, site)) for kind in output_kinds() if kind.name in %r))"
    )
    cheap = {"syringes", "preparation", "concerns", "a low treated", "times of the day", "terms"}
    done = subprocess.run(
        [sys.executable, "-c", code % cheap],
        env={**os.environ, "PYTHONHASHSEED": "7"},
        capture_output=True,
        text=True,
        check=True,
    )
    here = [fingerprint(everything(kind, TEACHING)) for kind in output_kinds() if kind.name in cheap]
    assert done.stdout.split() == here


@two_sites
def test_every_difference_of_values_is_one_that_is_read(pair):
    """A value that no sentence says must not make two outputs differ."""
    for changes in compare_sites(*pair).differing:
        if changes.kind.shown:
            continue
        for change in changes.changed:
            for before, after in differences(change.before, change.after):
                assert str(before) != str(after), (changes.kind.name, str(change.key))


def test_the_page_holds_the_picture_the_folded_list_and_every_word_is_escaped():
    (key,) = (key for key in KEYS if key.name == "terms.chart")
    page = compare_sites(TEACHING, key.put(TEACHING, "<b>chart</b>")).page_html()
    assert page.count("<svg ") == 1
    assert 'role="img" aria-label="From the teaching ward' in page
    assert "<b>chart" not in page
    assert page.index("Read and compared") < page.index("<svg ") < page.index("<details>")


# The page that is signed


@two_sites
def test_the_page_is_one_page_and_ends_with_a_line_to_sign(pair):
    comparison = compare_sites(*pair)
    lines = comparison.report()
    assert comparison.page().height <= ROOM
    assert lines[0] == f"From {pair[0].name} to {pair[1].name}: what a nurse is taught to do differently"
    assert "Read and compared with our written policy.  Name: ___" in lines[-1]
    assert any(line.startswith("The other ") for line in lines)
    assert "SHA-256" in comparison.everything()[-1]


@two_sites
def test_every_rule_and_every_answer_that_turns_is_on_the_page_or_counted_and_in_the_list(pair):
    comparison = compare_sites(*pair)
    rules = [change for change in comparison.keys if not change.only_words]
    page = str(comparison)
    missing = [change for change in rules if key_words(change) not in page]
    counted_as = re.search(r"(\d+) more rules?, in the whole list", page)
    assert len(missing) == (int(counted_as[1]) if counted_as else 0)
    assert not any(change.less_strict for change in missing)
    listed = comparison.everything()
    assert all(any(line.startswith(key_words(change)) for line in listed) for change in comparison.keys)
    assert sum(turn.count for row in rows_of(comparison) for turn in row.turns) == comparison.of("decisions").count
    assert page.count(" → ") > len(rules) - len(missing)
    told = "\n".join(listed[listed.index(next(line for line in listed if line.startswith("Decisions before"))) :])
    for stretch in stretches(comparison.of("decisions").changed):
        assert from_to(str(stretch.first.at), str(stretch.last.at)) in told


@two_sites
def test_less_strict_rules_come_first_under_their_heading(pair):
    comparison = compare_sites(*pair)
    rows = rows_of(comparison)
    assert [row.less_strict for row in rows] == sorted((row.less_strict for row in rows), reverse=True)
    turned = {(one.before, one.after) for one in comparison.of("decisions").changed}
    less = {both for both in turned if how_much_less_strict(*both)}
    assert less <= {(turn.before, turn.after) for row in rows if row.less_strict for turn in row.turns}
    assert comparison.report()[1] == f"Less strict on {pair[1].name} (read these first):"


def test_what_counts_as_less_strict():
    given, held = ("give", "give and report"), ("check first", "hold and ask", "hold and treat")
    assert all(how_much_less_strict(before, after) == 2 for before in held for after in given)
    assert how_much_less_strict("give and report", "give") == 1
    assert {how_much_less_strict("hold and treat", after) for after in ("check first", "hold and ask")} == {1}
    for before, after in (
        ("give", "give and report"),
        ("hold and treat", "hold and treat"),
        *((one, other) for one in (*given, "check first", "hold and ask") for other in held),
    ):
        assert how_much_less_strict(before, after) == 0


@pytest.mark.parametrize(
    ("name", "less", "more"),
    [
        ("waiting", 15, 5), ("reading_age", 60, 30), ("gloves", "not required", "required"), ("recapping", "one hand", "never"),
        ("second_check", "once, at the end", "each draw"), ("rolls", 10, 20), ("never_mix", [], ["lispro + nph"]),
        ("rounds", ["08:00", "20:00"], ["08:00", "12:00", "20:00"]), ("push_back", "allowed", "never"),
        ("level_2_line", line(50, "below"), line(54, "below")), ("level_2_line", line(54, "below"), line(56, "below")),
        ("level_2_line", line(54, "below"), line(54, "at or below")), ("carbohydrate", 12, 15), ("carbohydrate", 15, 20),
        ("meal_slack", 20, 15), ("air", "no air", "as much as the dose"), ("large_dose", 60, 40),
        ("short_times", "short forms too", "in words"),
    ],
)  # fmt: skip
def test_a_rule_that_asks_for_less_is_less_strict_in_one_direction_only(name, less, more):
    reason = {name: "a recorded reason of this ward"}
    key = next(key for key in KEYS if key.name == name)
    one, other = (key.read(TEACHING, value, reason) for value in (more, less))
    (there,), (back,) = (changed_keys(*pair) for pair in ((one, other), (other, one)))
    assert there.less_strict
    assert not back.less_strict


def test_each_answer_stands_under_the_rule_that_turns_it():
    for pair in COMPARED:
        for row in rows_of(compare_sites(*pair)):
            if row.turns:
                assert row.change is not None
                assert row.change.key.heading.key.split(",")[0] in (
                    "Glucose: the lines",
                    "Low glucose",
                    "The dose and its meal",
                )
    lines = compare_sites(TEACHING, one_key("recheck", 10)).report()
    assert lines[2:4] == [
        "1. Minutes until a low is measured again: 15 → 10 minutes",
        "check first → hold and ask: 10 to 14 minutes after treatment of a low (120 mg/dL, no signs, eating)",
    ]


def test_the_recorded_reason_stands_beside_its_rule():
    reason = "Ward policy 14 of March 2026, agreed with pharmacy"
    other = replace(one_key("waiting", 20), reasons=MappingProxyType({"waiting": reason}), name="ward 3")
    lines = compare_sites(TEACHING, other).report()
    assert (
        lines[2]
        == f"1. Longest wait from mixing regular insulin with NPH insulin to injecting: 15 → 20 minutes (reason of ward 3: {reason})"
    )


def test_a_page_without_room_counts_what_is_not_less_strict():
    site = TEACHING
    for name, (value, _) in ONE_KEY.items():
        if name not in ("glucose_unit", "language"):
            site = one_key(name, value, site)
    for pair in ((TEACHING, site), (site, TEACHING)):
        comparison = compare_sites(*pair)
        page, printed = comparison.page(), "\n".join(comparison.report())
        told = [row for heading, rows in page.sections if heading.startswith("Less strict") for row in rows]
        assert len(told) >= sum(change.less_strict for change in comparison.keys)  # none of them is only counted
        assert (
            page.height <= ROOM or not re.search("^Other differences", printed, re.MULTILINE) or "more rule" in printed
        )
        assert ": ;" not in printed


def test_the_clear_dose_is_said_with_every_total():
    outputs_of = listed("syringes")
    whole = re.compile(r"(\d+(?:\.\d)?) units, of them (\d+(?:\.\d)?) units? clear, (.*)")
    seen = set()
    for name, taken in outputs_of.items():
        total, clear, words = whole.fullmatch(str(name)).groups()
        total, clear = float(total), float(clear)
        seen.add((words, clear))
        assert clear < total
        if words == "both doses even":
            assert clear % 2 == (total - clear) % 2 == 0
        elif words == "an odd clear dose":
            assert clear % 2 == 1
            assert total % 1 == 0
        else:
            assert clear % 1 == 0.5
        try:
            assert taken == choose_syringe(clear, total, TEACHING).name
        except CannotPrepare:
            assert str(taken).startswith("no syringe")
    assert seen == {("both doses even", 2), ("an odd clear dose", 1), ("a half unit in the clear dose", 1.5)}


def test_without_the_one_unit_barrel_only_odd_doses_find_none():
    lines = compare_sites(TEACHING, ORCHARD).everything()
    (line,) = (line for line in lines if "→ no syringe has a line" in line and "1 unit clear" in line)
    assert line.startswith("51 to 100 units, of them 1 unit clear (an odd clear dose)")
    assert any(
        line.startswith("52 to 100 units, of them 2 units clear") for line in compare_sites(TEACHING, HILL).everything()
    )


CODE = re.compile(
    r"\w\(\)|\w\(\w+=|^[A-Z]\w+[A-Z]\w+:|\b[a-z]+_[a-z_0-9]+\b|'': |\bthe (?:first|second) site\b|\(\d+\)$|sentence\("
)


@two_sites
def test_neither_names_nor_page_nor_list_nor_picture_hold_code(pair):
    comparison = compare_sites(*pair)
    of_sentences = {str(key) for key in comparison.of("sentences").before}  # they have named places
    names = [str(key) for changes in comparison.kinds for key in changes.before if changes.kind.name != "sentences"]
    for said in (
        *names,
        *comparison.report(),
        *comparison.everything(),
        *comparison.picture.keys,
        *comparison.picture.times,
    ):
        if said.partition(": ")[0] not in of_sentences and not any(
            said.startswith(key) for key in of_sentences if "{" in key
        ):
            assert not CODE.search(said), said


def test_gloves_are_told_in_the_words_of_the_step():
    assert "put on gloves: also put on gloves" in compare_sites(TEACHING, HILL).everything()


def test_what_is_counted_has_its_number():
    ones = re.compile(r"(?<![.,])\b1 (?:minutes|hours|units|days|grams)\b")
    for kind in output_kinds():
        for name in everything(kind, TEACHING):
            assert not ones.search(str(name)), name


@pytest.mark.parametrize(
    ("name", "value", "said"),
    [
        ("reading_age", 30, "Oldest reading to act on: 60 → 30 minutes"),
        ("waiting", 1, "Longest wait from mixing regular insulin with NPH insulin to injecting: 15 minutes → 1"),
        ("carbohydrate", 20, "Fast carbohydrate for a low: 15 → 20 g"),
        ("meter_low", 10, "The lowest reading that the meter shows: 20 → 10 mg/dL"),
        ("never_mix", ["lispro + nph"], "Pairs that this ward does not allow in one syringe: none → insulin lispro with NPH insulin"),
    ],
)  # fmt: skip
def test_the_values_of_keys_are_in_the_words_of_the_ward(name, value, said):
    (change,) = changed_keys(TEACHING, one_key(name, value))
    assert key_words(change) == said


def test_a_meal_tells_only_what_is_new_of_it():
    meals = [dict(meal) for meal in next(key for key in KEYS if key.name == "meals").plain(TEACHING)]
    for meal in meals:
        if meal["name"] == "lunch":
            meal |= {"also_called": ["noon meal"], "grams": 45}
    said = key_words(changed_keys(TEACHING, one_key("meals", meals))[0])
    assert "lunch: 60 → 45 g, also called " in said
    assert said.endswith(" → noon meal")
    assert "no longer" not in said
    said = key_words(changed_keys(TEACHING, one_key("meals", meals[:1]))[0])
    assert "no longer lunch at 12:00; no longer supper at 18:00" in said


def test_the_ends_of_the_meter_print_each_ward_s_unit():
    lines = [key_words(change) for change in changed_keys(TEACHING, HILL)]
    assert "The lowest reading that the meter shows: 20 mg/dL → 1.1 mmol/L" in lines


def test_the_name_of_a_day_says_when_it_was_mixed():
    outputs_of = listed("times of the day")
    names = [str(name) for name in outputs_of]
    assert any(
        name.startswith("draw up from, ") and name.endswith("10 minutes before breakfast (mixed 25 minutes earlier)")
        for name in names
    )


def test_nobody_at_a_peak_names_the_insulin():
    found = compared(TEACHING, ORCHARD).of("times of the day")
    alone = [str(one.key) for one in found.all_changes if one.key not in found.before]
    assert any(name.startswith("does not fit: nobody is due when regular insulin is strongest") for name in alone)
    assert not any("nobody" in str(one.key) for one in found.changed)  # one peak is never told as another one


@pytest.mark.parametrize(
    ("first", "last", "said"),
    [
        ("70 mg/dL", "71 mg/dL", "70 to 71 mg/dL"),
        ("70 mg/dL", "70 mg/dL", "70 mg/dL"),
        ("reading 31 minutes old", "reading 60 minutes old", "reading 31 to 60 minutes old"),
        ("after 1 minute", "after 9 minutes", "after 1 minute to 9 minutes"),
        ("LO", "HI", "LO to HI"),
    ],
)
def test_a_stretch_says_once_what_both_ends_share(first, last, said):
    assert from_to(first, last) == said


def test_the_proof_names_what_is_wholly_the_same():
    proof = compare_sites(TEACHING, HARBOUR).everything()[-1]
    assert proof.startswith("The other ")
    assert "Concerns about an order (22; " in proof
