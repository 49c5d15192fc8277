"""Comparing two sites: what differs is told, and nothing else differs."""

import hashlib
import re
from dataclasses import fields, is_dataclass
from functools import cache

import pytest

from mixlab.adapting import registry
from mixlab.adapting.catalogue import messages
from mixlab.adapting.changes import (
    Change,
    compare_outputs,
    difference,
    differences,
    fingerprint,
    reworded,
    stretches,
    swapped,
)  # fmt: skip
from mixlab.adapting.comparing import compare_sites
from mixlab.adapting.of_decisions import COURSES, PLAIN, demonstration_order
from mixlab.adapting.of_preparation import ORDERS, PAIRS, deeds
from mixlab.adapting.of_the_day import DAYS
from mixlab.adapting.registry import Point, everything, forget_kind, kind_of_output, output_kinds
from mixlab.adapting.telling import Telling, from_to, how_much_less_strict, key_words, sections_of
from mixlab.care.concerns import order_concerns
from mixlab.care.decision import decide
from mixlab.care.dosing import CannotPrepare, choose_syringe, plan_dose
from mixlab.care.review import review
from mixlab.care.timing import day_plan
from mixlab.care.treating import walk
from mixlab.quantities import Glucose
from mixlab.ward.insulin import insulins
from mixlab.ward.observation import Observation
from mixlab.ward.order import Dose, Order, OrderError
from mixlab.ward.site import Site, example_sites, teaching_site
from mixlab.ward.site_keys import KEYS
from mixlab.words import Voice, speaking

SAID = {"sentences of decisions", "a low treated", "amounts for a low", "pictures", "panels"}
DECIDED = {"decisions", *SAID, "terms"}
PREPARED = {"preparation", "the right run", "bench findings", "concerns", "pictures", "panels"}
THE_DAY = {"times of the day", "sentences of the day", "pictures", "panels"}
ANY_WORDS = {
    "sentences of decisions", "a low treated", "amounts for a low", "concerns", "preparation", "syringes", "the right run", "bench findings",
    "sentences of the day", "pictures", "panels", "terms", "sentences",
}  # fmt: skip


def line(value, comparison):
    return {"value": value, "unit": "mg/dL", "comparison": comparison}


# For each key another allowed value, and the kinds of output that it may move.
ONE_KEY = {
    "name": ("the willow ward", ANY_WORDS - {"syringes"}),
    "language": ("en-GB", ANY_WORDS),
    "numbers": ("comma", ANY_WORDS),
    "dates": ("26 Nov 2026", {"terms", "pictures", "panels"}),
    "glucose_unit": ("mmol/L", DECIDED),
    "rounding": ("unrounded", DECIDED),
    "hold_line": (line(72, "below"), DECIDED),
    "level_2_line": (line(56, "below"), DECIDED),
    "report_line": (line(250, "above"), DECIDED),
    "near_low_line": (line(90, "below"), DECIDED),
    "reading_age": (30, DECIDED),
    "meter_low": (10, DECIDED),
    "meter_high": (500, DECIDED),
    "carbohydrate": (20, DECIDED),
    "recheck": (10, DECIDED),
    "earlier_low": (12, DECIDED),
    "dose_gap": (6, DECIDED),
    "meal_lead": (20, {*SAID, *THE_DAY, "concerns", "preparation"}),
    "meal_slack": (10, THE_DAY),
    "waiting": (5, {*THE_DAY, *PREPARED}),
    "rounds": (["08:00", "12:00", "20:00"], THE_DAY),
    "bedtime": ("22:30", THE_DAY),
    "waking": ("05:30", THE_DAY),
    "meals": ([{"name": "breakfast", "at": "08:30", "grams": 45}, {"name": "supper", "at": "18:00"}], THE_DAY),
    "stock": (["0.5-one", "1.0-two"], {*PREPARED, "syringes"}),
    **{
        name: (value, PREPARED)
        for name, value in {
            "gloves": "required", "second_check": "none", "recapping": "never", "push_back": "never", "air": "no air",
            "resuspend": "until even", "rolls": 20, "inversions": 20, "never_mix": ["lispro + nph"],
            "critical_steps": ["check_order", "draw_clear"],
        }.items()
    },
    "terms.regular": ("soluble insulin", ANY_WORDS),
    "terms.nph": ("isophane insulin", ANY_WORDS),
    "terms.prescriber": ("doctor", ANY_WORDS),
    "terms.chart": ("drug chart", ANY_WORDS),
    "terms.unit": ("international unit", ANY_WORDS),
    "terms.units": ("international units", ANY_WORDS),
    **{f"opened_days.{key}": (21, PREPARED) for key, one in insulins().items() if one.row.mixing.may_share_with},
    **{
        f"taught.{insulin}": (source, {*THE_DAY, "pictures", "panels"})
        for insulin, source in {
            "regular": "afp-2009", "nph": "afp-2009", "lispro": "afp-2009", "aspart": "afp-2009", "glulisine": "afp-2009",
        }.items()
    },
}  # fmt: skip


compared = cache(compare_sites)
"""A comparison that several tests look at is made once."""


def other_site(key, value):
    """Return the teaching site with one key changed, read as from a file."""
    return key.read(teaching_site(), value, {})


def plain(held):
    """Return all that a record holds, without the site it was made for, as nested tuples."""
    if isinstance(held, Site):
        return "the site"
    if is_dataclass(held) and not isinstance(held, type):
        return (type(held).__name__, *(plain(getattr(held, part.name)) for part in fields(held)))
    if isinstance(held, tuple | list):
        return tuple(plain(one) for one in held)
    return str(held)


@cache
def by_another_way(site):
    """Hash records of care for a site, kind by kind, without the comparison's own listings."""
    order = demonstration_order()
    with speaking(site.voice):
        found = [Observation(glucose=Glucose(value, "mg/dL"), **PLAIN) for value in range(0, 601, 9)]
        made = {
            "decisions": [decide(order, one, site).choice for one in found],
            "sentences of decisions": [plain(decide(order, one, site)) for one in found],
            "a low treated": [plain(walk(order, low, events, site)) for low, events in COURSES.values()],
            "concerns": [plain(order_concerns(text, site=site)) for text in ORDERS],
            "preparation": [_planned(pair, site) for pair in PAIRS],
            "bench findings": [plain(review(deed.order, deed.trace, site)) for deed in deeds()[::3]],
            "times of the day": [plain(_times(day_plan(ordered, at, site=site))) for ordered, at, _ in DAYS],
            "sentences of the day": [plain(_said(day_plan(ordered, at, site=site))) for ordered, at, _ in DAYS],
        }
    return {kind: hashlib.blake2b(repr(records).encode()).hexdigest() for kind, records in made.items()}


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
        [look.say for look in plan.looks],
        [clash.say for clash in plan.clashes],
        [words for words, _ in plan.standing],
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
    assert the_kinds_moved({name}, ONE_KEY[name][1]), f"{name} moves nothing that a learner sees"


def those_that_may_move_the_same():
    """Return sets of keys that can be changed at once; another unit or rounding changes the lines, too."""
    together = {}
    for name, (_, may_move) in ONE_KEY.items():
        alone = name if name in ("glucose_unit", "rounding") else ""
        together.setdefault((alone, frozenset(may_move)), set()).add(name)
    return [(names, may_move) for (_, may_move), names in together.items()]


@pytest.mark.parametrize(
    ("names", "may_move"), those_that_may_move_the_same(), ids=lambda each: f"{min(each)} and {len(each) - 1} more"
)
def test_changing_keys_at_once_changes_only_what_is_reported(names, may_move):
    """Sample: every key, but those that may move the same kinds are changed at once."""
    assert the_kinds_moved(names, may_move)


@pytest.mark.parametrize("name", ONE_KEY)
def test_every_key_moves_something_that_a_learner_sees(name):
    key = next(key for key in KEYS if key.name == name)
    value, may_move = ONE_KEY[name]
    base, other = teaching_site(), other_site(key, value)
    kinds = [kind for kind in reversed(output_kinds()) if kind.name in may_move]  # what takes long stands first
    assert any(everything(kind, base) != everything(kind, other) for kind in kinds)


def test_the_other_way_sees_what_the_comparison_reports():
    base, harbour = example_sites()[:2]
    one, other = by_another_way(base), by_another_way(harbour)
    moved = {changes.kind.name for changes in compared(base, harbour).differing}
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
    base, orchard = example_sites()[0], example_sites()[-1]
    there, back = compared(base, orchard), compared(orchard, base)
    assert [(one.key, one.before, one.after) for one in there.keys] == [
        (one.key, one.after, one.before) for one in back.keys
    ]
    for one, other in zip(there.kinds, back.kinds, strict=True):
        assert {(it.key, it.before, it.after) for it in one.all_changes} == {
            (it.key, it.after, it.before) for it in other.all_changes
        }
        assert (one.same_sha256, one.before_sha256, one.after_sha256) == (
            other.same_sha256, other.after_sha256, other.before_sha256,
        )  # fmt: skip


def test_exactly_70_flips_between_the_two_editions():
    """The 2017 edition calls 70 mg/dL low, those from 2018 on do not (facts/glucose.toml: read, and recalled)."""
    base = teaching_site()
    key = next(key for key in KEYS if key.name == "hold_line")
    found = compared(base, key.read(base, line(70, "at or below"), {})).of("decisions").all_changes
    plain_ones = {str(one.key): (one.before, one.after) for one in found if one.key.endswith(", no signs, eating")}
    assert plain_ones["70 mg/dL, no signs, eating"] == ("give", "hold and treat")
    assert {key for key in plain_ones if "mg/dL" in key and "earlier" not in key} == {"70 mg/dL, no signs, eating"}


def test_names_of_outputs_stay_the_same_in_other_words():
    base = other = teaching_site()
    for name in ("numbers", "terms.units", "terms.nph"):
        other = one_key(name, ONE_KEY[name][0], other)
    for changes in compared(base, other).kinds:
        if changes.kind.name in ("decisions", "times of the day", "preparation", "syringes", "terms"):
            assert not changes.added, (changes.kind.name, changes.added[:2])
            assert not changes.dropped


def test_the_reader_s_words_name_the_outputs():
    base = teaching_site()
    (kind,) = (kind for kind in output_kinds() if kind.name == "preparation")
    usual, renamed = everything(kind, base), {}
    with speaking(Voice(terms=(("nph", "isophane insulin"),))):
        renamed = everything(kind, base)
    assert list(usual.values()) == list(renamed.values())
    assert any("isophane" in key for key in renamed)
    assert not any("isophane" in key for key in usual)


def test_a_later_kind_joins_by_registering_itself():
    @kind_of_output("worksheets", title="Worksheets")
    def list_worksheets(site):
        return {"worksheet 1": f"Hold {site.hold_text}."}

    try:
        base, harbour = example_sites()[:2]
        (change,) = compare_sites(base, harbour).of("worksheets").changed
        assert change == Change(key="worksheet 1", before="Hold below 70 mg/dL.", after="Hold at or below 70 mg/dL.")
        with pytest.raises(ValueError, match="already"):
            kind_of_output("worksheets", title="Worksheets")(lambda site: {})
    finally:
        forget_kind("worksheets")
    assert "worksheets" not in {kind.name for kind in output_kinds()}


def test_neighbours_that_change_alike_are_one_stretch():
    changes = [Change(key=Point(f"{n} mg/dL", "eating", n), before="give", after="hold") for n in (70, 71, 73)]
    changes += [Change(key=Point(f"{n} mg/dL", "asleep", n), before="give", after="hold") for n in (70, 71)]
    changes += [Change(key=Point("74 mg/dL", "eating", 74), before="give", after="ask")]
    assert [(one.first, one.last, one.where, one.count) for one in stretches(changes)] == [
        ("70 mg/dL", "71 mg/dL", ("eating", "asleep"), 4),
        ("73 mg/dL", "73 mg/dL", ("eating",), 1),
        ("74 mg/dL", "74 mg/dL", ("eating",), 1),
    ]


def test_of_long_texts_only_the_words_that_differ_are_told():
    before = (
        "Wait 15 minutes.\nThen measure again, and again, until the glucose is not below 70 mg/dL any more. Tell it.\n"
        * 2
    )
    change = Change(key="a", before=before, after=before.replace("15 minutes", "10 minutes"))
    assert difference(change) == (("Wait 15 minutes.", "Wait 10 minutes."),)


def test_an_order_of_sentences_that_differs_is_a_difference():
    before, after = "First this.\nThen that.", "Then that.\nFirst this."
    changes = compare_outputs(output_kinds()[0], {"a": before}, {"a": after})
    assert changes.count == 1
    assert difference(changes.changed[0])


def test_hashes_are_of_names_and_texts_together():
    prints = [fingerprint(one) for one in ({"ab": "c"}, {"a": "bc"}, {"b": "c"}, {"a": "c"}, {"a": "c", "b": "c"}, {})]
    assert len(set(prints)) == len(prints)
    assert fingerprint({"a": "c", "b": "d"}) == fingerprint({"b": "d", "a": "c"})
    one = compare_outputs(output_kinds()[0], {"ab": "c"}, {"a": "bc"})
    assert (one.same, one.count) == (0, 2)
    assert one.before_sha256 != one.after_sha256


def test_the_report_is_of_one_page_and_says_what_stays():
    base, harbour = example_sites()[:2]
    lines = compared(base, harbour).report()
    assert len(lines) < 110
    assert lines[0] == "What changes for learners from the teaching ward to the harbour ward."
    assert any(line.startswith("70 mg/dL") and "give → hold and treat" in line for line in lines)
    assert "SHA-256" in lines[-1]
    assert "… and" in " ".join(lines)  # what is left out is counted


def test_nothing_is_left_out_of_the_record():
    base, harbour = example_sites()[:2]
    comparison = compared(base, harbour)
    for changes in comparison.kinds:
        ours, theirs = everything(changes.kind, base), everything(changes.kind, harbour)
        assert changes.of == len(ours.keys() | theirs.keys())
        assert {one.key for one in changes.all_changes} == {
            key for key in ours.keys() | theirs.keys() if ours.get(key) != theirs.get(key)
        }


def test_the_page_holds_the_picture_and_every_word_is_escaped():
    base = teaching_site()
    (key,) = (key for key in KEYS if key.name == "terms.chart")
    page = compared(base, key.put(base, "<b>chart</b>")).page_html()
    assert page.count("<svg ") == 1
    assert 'role="img" aria-label="From the teaching ward' in page
    assert "<b>chart" not in page


def test_speaking_does_not_leak_out_of_a_comparison():
    base, harbour = example_sites()[:2]
    compare_sites(base, harbour)
    assert registry._reader.get() is None


def test_every_sentence_of_the_catalogue_is_compared():
    base = teaching_site()
    said = everything(next(kind for kind in output_kinds() if kind.name == "sentences"), base)
    with speaking(base.voice):
        for message in messages():
            others = () if message.many is None else (message.many,)
            assert said[message.sentence] == "\n".join(base.voice.find(message.sentence, *others)), message


TEACHING, HARBOUR, GARDEN, HILL, ORCHARD = example_sites()
COMPARED = [(TEACHING, HILL), (ORCHARD, TEACHING)]
LONG = [pytest.param(pair, marks=pytest.mark.long) for pair in ((TEACHING, HARBOUR), (HILL, TEACHING))]
# Sample: a ward in mmol/L as the new site, and one in mg/dL as the old site.
two_sites = pytest.mark.parametrize("pair", [*COMPARED, *LONG], ids=lambda pair: f"{pair[0].name} to {pair[1].name}")


def one_key(name, value, site=TEACHING):
    (key,) = (key for key in KEYS if key.name == name)
    return key.read(site, value, {})


@two_sites
def test_no_decision_that_differs_is_left_out_of_print_or_page(pair):
    comparison = compared(*pair)
    changes = comparison.of("decisions")
    told = [line for section in sections_of(changes, Telling(wards=("a", "b"), longest=1)) for line in section.lines]
    assert sum(one.count for one in stretches(changes.changed)) == changes.count
    assert len(told) == len(stretches(changes.changed))
    printed, page = comparison.report(longest=1), comparison.page_html()
    for line in told:
        assert line in printed
        assert line.replace("'", "&#x27;") in page
        assert "more" not in line  # neither places nor lines are counted instead


@two_sites
def test_less_strict_answers_come_first_under_their_heading(pair):
    comparison = compared(*pair)
    sections = sections_of(comparison.of("decisions"), Telling(wards=tuple(site.name for site in pair)))
    turned = {(one.before, one.after) for one in comparison.of("decisions").changed}
    less = {f"{before} → {after}" for before, after in turned if how_much_less_strict((before, after))}
    assert less
    first, *rest = sections
    assert first.heading == f"Less strict on {pair[1].name}:"
    assert {line.rpartition(": ")[2] for line in first.lines} == less
    assert not any(line.rpartition(": ")[2] in less for section in rest for line in section.lines)
    lines = comparison.report()
    assert lines.index(first.heading) == 1 + next(
        at for at, one in enumerate(lines) if one.startswith("Decisions before")
    )


def test_what_counts_as_less_strict():
    given, held = ("give", "give and report"), ("check first", "hold and ask", "hold and treat")
    assert all(how_much_less_strict((before, after)) == 2 for before in held for after in given)
    assert how_much_less_strict(("give and report", "give")) == 1
    assert {how_much_less_strict(("hold and treat", after)) for after in ("check first", "hold and ask")} == {1}
    for before, after in (
        ("give", "give and report"),
        ("hold and treat", "hold and treat"),
        *((one, other) for one in (*given, "check first", "hold and ask") for other in held),
    ):
        assert how_much_less_strict((before, after)) == 0


def test_a_shorter_recheck_gives_sooner_and_stands_first():
    lines = compared(TEACHING, one_key("recheck", 10)).report()
    at = lines.index("Less strict on the teaching ward:")
    assert (
        lines[at + 1] == "10 to 14 minutes after treatment of a low (120 mg/dL, no signs, eating): check first → give"
    )


def test_the_clear_dose_is_said_with_every_total():
    (kind,) = (kind for kind in output_kinds() if kind.name == "syringes")
    outputs = everything(kind, TEACHING)
    whole = re.compile(r"(\d+(?:\.\d)?) units, of them (\d+(?:\.\d)?) units? clear, (.*)")
    seen = set()
    for name, text in outputs.items():
        total, clear, words = whole.fullmatch(name).groups()
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
            assert text == choose_syringe(clear, total, TEACHING).name
        except CannotPrepare:
            assert text.startswith("no syringe")
    assert seen == {("both doses even", 2), ("an odd clear dose", 1), ("a half unit in the clear dose", 1.5)}


def test_without_the_one_unit_barrel_only_odd_doses_find_none():
    lines = compared(TEACHING, ORCHARD).report()
    (line,) = (line for line in lines if "no syringe has a line" in line and "→" in line)
    assert line.startswith("51 to 100 units, of them 1 unit clear (an odd clear dose): ")
    assert any(
        line.startswith("52 to 100 units, of them 2 units clear") for line in compared(TEACHING, HARBOUR).report()
    )


CODE = re.compile(
    r"\w\(\)|\w\(\w+=|^[A-Z]\w+[A-Z]\w+:|\b[a-z]+_[a-z_0-9]+\b|'': |\bthe (?:first|second) site\b|\(\d+\)$"
)


@two_sites
def test_neither_names_nor_report_nor_picture_hold_code(pair):
    comparison = compared(*pair)
    listed = [one.kind for one in comparison.kinds if one.kind.name != "sentences"]  # they have named places
    names = [key for kind in listed for key in everything(kind, pair[0])]
    for said in (*names, *comparison.report(), *comparison.picture.keys, *comparison.picture.times):
        if not said.startswith("“"):
            assert not CODE.search(said), said


@pytest.mark.parametrize("pair", [(TEACHING, HILL), pytest.param((HILL, TEACHING), marks=pytest.mark.long)])
def test_gloves_are_told_in_the_words_of_the_step(pair):
    assert "only on the hill ward: put on gloves" in compared(*pair).report()


def test_what_is_counted_has_its_number():
    ones = re.compile(r"\b1 (?:minutes|hours|units|days|grams)\b")
    for kind in output_kinds():
        for name in everything(kind, TEACHING):
            assert not ones.search(name), name


@two_sites
def test_every_bracket_of_an_example_closes(pair):
    comparison = compared(*pair)
    for changes in comparison.differing:
        for change in changes.changed[::7]:
            for _, whole in differences(change):
                for words in whole:
                    if not words.endswith("…"):
                        assert words.count("(") == words.count(")"), words


def test_an_example_is_a_whole_sentence():
    before = (
        "The ward asks (policy of a (here)) for this. Wait 15 minutes, then look again at the patient and measure. End."
    )
    (both,) = reworded(before, before.replace("15", "10"))
    assert both[1] == (
        "Wait 15 minutes, then look again at the patient and measure.",
        "Wait 10 minutes, then look again at the patient and measure.",
    )
    (both,) = reworded(before, before.replace("(here)", "(there)"))
    assert both[1] == ("(policy of a (here))", "(policy of a (there))")


def test_terms_are_swapped_as_whole_words_and_keep_their_capitals():
    swaps = (
        ("regular insulin", "soluble insulin"),
        ("NPH insulin", "isophane insulin"),
        ("unit", "international unit"),
    )
    said = "Regular insulin, then NPH insulin. NPH insulin last; 1 unit, no unity, no subunit."
    assert swapped(said, swaps) == (
        "Soluble insulin, then isophane insulin. Isophane insulin last; 1 international unit, no unity, no subunit."
    )
    assert swapped(swapped(said, swaps), swaps) == swapped(said, swaps)


def test_terms_are_told_once_at_the_top():
    other = one_key("terms.chart", "drug chart", one_key("terms.prescriber", "doctor"))
    comparison = compared(TEACHING, other)
    lines = comparison.report()
    (line,) = (line for line in lines if "not told again" in line)
    assert line.startswith("Doctor for prescriber, and 1 other term, in ")
    assert line == lines[3]
    for changes in comparison.differing:
        at = next(at for at, one in enumerate(lines) if one.startswith(f"{changes.kind.title}: "))
        assert lines[at + 1] == f"{changes.count:,} text".replace(",", "\u202f") + (
            " differs only in what things are called"
            if changes.count == 1
            else "s differ only in what things are called"
        )
    assert "not told again" not in str(compared(TEACHING, one_key("recheck", 10)))


VALUES = {
    "reading_age": (30, "Oldest reading to act on: 60 → 30 minutes"),
    "waiting": (1, "Longest wait from mixing to injecting: 15 minutes → 1"),
    "carbohydrate": (20, "Fast carbohydrate for a low: 15 → 20 g"),
    "meter_low": (10, "The lowest reading that the meter shows: 20 → 10 mg/dL"),
    "never_mix": (["lispro + nph"], "Pairs forbidden here although they may share a syringe: none → insulin lispro with NPH insulin"),
}  # fmt: skip


def test_the_values_of_keys_are_in_the_words_of_the_ward():
    other = TEACHING
    for name, (value, _) in VALUES.items():
        other = one_key(name, value, other)
    said = {change.key.name: key_words(change) for change in compared(TEACHING, other).keys}
    assert said == {name: words for name, (_, words) in VALUES.items()}


def test_a_meal_tells_only_what_is_new_of_it():
    meals = [dict(meal) for meal in next(key for key in KEYS if key.name == "meals").plain(TEACHING)]
    for meal in meals:
        if meal["name"] == "lunch":
            meal |= {"also_called": ["noon meal"], "grams": 45}
    said = key_words(compared(TEACHING, one_key("meals", meals)).keys[0])
    assert "lunch: 60 → 45 g, also called " in said
    assert said.endswith(" → noon meal")
    assert "no longer" not in said
    said = key_words(compared(TEACHING, one_key("meals", meals[:1])).keys[0])
    assert "no longer lunch at 12:00; no longer supper at 18:00" in said


def test_the_ends_of_the_meter_print_each_ward_s_unit():
    lines = compared(TEACHING, HILL).report()
    assert "The lowest reading that the meter shows: 20 mg/dL → 1.1 mmol/L" in lines


def test_the_name_of_a_day_says_when_it_was_mixed():
    (kind,) = (kind for kind in output_kinds() if kind.name == "times of the day")
    assert any(
        name.startswith("draw up from, ") and name.endswith("at 07:50 (mixed at 07:25)")
        for name in everything(kind, TEACHING)
    )


def test_nobody_at_a_peak_names_the_insulin():
    found = compared(TEACHING, ORCHARD).of("times of the day")
    alone = [str(one.key) for one in found.added]
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


def test_the_proof_is_of_all_that_is_compared():
    assert compared(TEACHING, HARBOUR).proof().startswith("Of all that is compared, nothing else changes: ")
