"""The site file whole: every key, what is unsafe, whatever else a file can be, and the site that is in force.

Nothing here is compared with a source outside: the values are those of facts/site.toml, and the rules are our own.
"""

import itertools
import pickle
import re
import subprocess
import sys
import tomllib
from contextlib import suppress
from dataclasses import fields, replace
from importlib import resources
from random import Random
from types import MappingProxyType

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from refused_sites import MMOL, REASON, REFUSED, line, reasons

from mixlab import read_order
from mixlab.facts.reading import the_facts
from mixlab.facts.records import Sourced, Span
from mixlab.files.faults import place_text
from mixlab.files.text import LARGEST
from mixlab.quantities import Glucose
from mixlab.ward.insulin import insulins
from mixlab.ward.site import in_force as the_module
from mixlab.ward.site.faults import SiteError
from mixlab.ward.site.glucose_lines import crosses
from mixlab.ward.site.in_force import (
    example_sites,
    load_site,
    site_in_force,
    the_site,
    use_site,
)
from mixlab.ward.site.keys import FORMAT, KEYS, TABLES
from mixlab.ward.site.record import Site, teaching_site
from mixlab.ward.site.safety import check_site
from mixlab.ward.site.values.amounts import NOT_ASKED, Number, OpenedDays, limits_in
from mixlab.ward.site.values.choices import Handbook, Pairs, PolicyChoice, Steps, Stock, mixable
from mixlab.ward.site.values.day import Clock, Meals
from mixlab.ward.site.values.lines import Line
from mixlab.ward.site.values.words import UnitWord, Words
from mixlab.ward.site.writing import site_text, write_site_file
from mixlab.words import TERMS, Voice, sentence, speaking, voice_now

BASE = teaching_site()
BY_NAME = {key.name: key for key in KEYS}
WORKED = ("1-harbour.toml", "3-hill.toml", "4-orchard.toml")
WHOLE = site_text()
DEFAULT_STEPS = list(BASE.critical_steps)
ALWAYS = ("read_labels", "draw_clear", "check_clear", "draw_cloudy", "check_total", "give_and_record")


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("sites")


def different(one, other):
    return [key.name for key in KEYS if not key.same(one, other)]


def through_a_file(site, folder):
    """Return a site written and read again; one that differs from the teaching site only by a name of its own."""
    path = folder / "written.toml"
    if site.name == BASE.name and different(site, BASE):
        path.write_text(site_text(BY_NAME["name"].read(site, "ward 3")), encoding="utf-8")
        return replace(load_site(path), name=site.name)
    path.write_text(site_text(site), encoding="utf-8")
    return load_site(path)


# ── The table of keys, and the file that mixlab writes ──


def test_every_field_of_a_site_has_a_key_and_every_key_a_field():
    assert {key.field for key in KEYS} == {field.name for field in fields(Site)} - {"reasons"}
    assert len(BY_NAME) == len(KEYS)
    for site in example_sites():
        for key in KEYS:
            key.of(site)


def test_every_key_says_what_it_is_what_is_allowed_and_who_says_so():
    for key in KEYS:
        assert key.what.key.endswith("."), key.name
        assert key.allowed(BASE), key.name
        assert bool(key.source) == (key.name != "name"), key.name


def test_the_written_file_and_each_worked_one_hold_every_key_with_its_default_and_source():
    assert tomllib.loads(WHOLE)["format"] == FORMAT
    worked = resources.files("mixlab.ward.site") / "worked"
    for tables in map(tomllib.loads, (WHOLE, *((worked / name).read_text(encoding="utf-8") for name in WORKED))):
        lacking = [
            key.name for key in KEYS if (key.part or key.name) not in (tables[key.field] if key.part else tables)
        ]
        assert lacking == [], tables["name"]
    for key in KEYS:
        if key.source:
            first = f"Source: {key.source}".split(",")[0]
            assert first in " ".join(WHOLE.replace("\n# ", " ").split()), key.name
    assert max(map(len, WHOLE.splitlines())) < 300
    assert len(WHOLE.encode()) < LARGEST / 20


@pytest.mark.parametrize("site", example_sites(), ids=lambda site: site.name)
def test_what_is_written_is_read_again_as_the_same_site(site, folder):
    again = through_a_file(site, folder)
    assert different(site, again) == []
    assert again.reasons == site.reasons
    assert check_site(site) == []
    assert site_text(again) == site_text(site)


def test_what_a_file_sets_is_the_policy_of_the_ward_and_what_it_leaves_out_is_not(folder, load):
    whole = through_a_file(BASE, folder)
    assert whole == BASE
    assert whole.cite(whole.recheck) == BASE.cite(BASE.recheck) != sentence("policy of {site}", site=BASE.name)
    part = load("[opened_days]\nnph = 21")
    assert part.cite(part.opened_days["nph"]) == sentence("policy of {site}", site="ward 3")
    assert part.opened_days["regular"] is BASE.opened_days["regular"]


def test_the_worked_sites_differ_in_what_they_are_for():
    _, harbour, garden, hill, orchard = example_sites()
    assert (harbour.glucose_unit, hill.glucose_unit, orchard.glucose_unit) == ("mg/dL", "mmol/L", "mg/dL")
    assert hill.language == "en-GB"
    assert (orchard.terms["chart"], list(orchard.reasons)) == ("insulin chart", ["dates"])
    assert list(harbour.reasons) == ["opened_days.regular", "opened_days.nph"]
    assert [
        meal.name for meal in hill.meals if meal.is_called("30 minutes before dinner")
    ] == []  # so it is asked about
    assert different(garden, BASE) == [
        "name", "glucose_unit", "hold_line", "level_2_line", "report_line", "urgent_high_line", "near_low_line",
        "meter_low", "meter_high",
    ]  # fmt: skip


def test_a_file_is_never_written_over(tmp_path):
    path = tmp_path / "site.toml"
    assert write_site_file(path) == path
    path.write_text("mine", encoding="utf-8")
    with pytest.raises(SiteError, match="there is such a file already"):
        write_site_file(path)
    assert path.read_text(encoding="utf-8") == "mine"
    with pytest.raises(SiteError, match="there is no folder"):
        write_site_file(tmp_path / "nowhere" / "site.toml")


# ── Changing one key ──


FOLLOWING = {
    "hold_line": {"near_low_line"},
    "report_line": {"near_low_line", "urgent_high_line"},
    "carbohydrate": {"serious_carbohydrate"},
}
"""What moves with a key while it is left as it is taught."""


def plain_values(key):
    """Return a strategy of values that a file may give a key, on a site in mg/dL."""
    kind = key.kind
    match kind:
        case Number():
            _, low, high, _ = limits_in(kind.row, "mg/dL")
            return st.integers(int(low), int(high)) if kind.row.whole else st.floats(low, high)
        case Line():
            _, low, high, _ = limits_in(the_facts().limits[kind.limits], "mg/dL")
            line = st.fixed_dictionaries(
                {
                    "value": st.integers(int(low), int(high)),
                    "unit": st.just("mg/dL"),
                    "comparison": st.sampled_from(kind.comparisons),
                }
            )
            return line | st.just(NOT_ASKED) if kind.optional else line
        case Clock():
            at = st.times().map(lambda time: f"{time:%H:%M}")
            return st.lists(at, min_size=1) if kind.several else at
        case Meals():
            meal = st.fixed_dictionaries(
                {"name": st.sampled_from(("breakfast", "tea", "Abendbrot", "late 'snack'"))},
                optional={"grams": st.floats(0, 250), "also_called": st.just(["the second one"])},
            )
            return st.lists(meal, min_size=1, max_size=1).map(lambda rows: [{**row, "at": "9:05"} for row in rows])
        case Stock():
            return st.lists(st.sampled_from([syringe.key for syringe in BASE.stock]), min_size=1)
        case Steps():
            return st.lists(st.sampled_from(list(the_facts().steps))).map(lambda more: [*BASE.critical_steps, *more])
        case Pairs():
            return st.lists(st.sampled_from(mixable()))
        case UnitWord():
            return st.sampled_from(kind.words)
        case Words():
            return st.text(st.sampled_from("abcXYZ é'ßи中,.-()/"), min_size=1, max_size=kind.longest).filter(
                lambda text: text == text.strip() and not text.startswith("a ") and text != "a"
            )
        case PolicyChoice():
            return st.sampled_from([each for each in kind.row.choices if each not in getattr(kind.row, "unusual", ())])
    return st.sampled_from(kind.choices())


@pytest.mark.parametrize("key", KEYS, ids=[key.name for key in KEYS])
@settings(deadline=None, max_examples=settings.default.max_examples // 15)
@given(data=st.data())
def test_changing_one_key_changes_that_key_alone_and_survives_the_file(folder, data, key):
    """Every key always, with two values each; in the long lane with 26."""
    site = key.read(BASE, data.draw(plain_values(key)))
    follows = FOLLOWING.get(key.name, set())  # unless the file sets it
    assert set(different(BASE, site)) <= {key.name} | follows
    if not check_site(site):  # a bedtime can leave no day, a line can cross another
        again = through_a_file(site, folder)
        assert different(site, again) == (["meter_low", "meter_high"] if site.glucose_unit == "mmol/L" else [])
        if site.glucose_unit == "mg/dL":
            assert different(BASE, again) == different(BASE, site)


@settings(deadline=None)
@given(st.data())
def test_any_keys_together_survive_the_file(folder, data):
    site = BASE
    for key in data.draw(st.lists(st.sampled_from([key for key in KEYS if key.name != "glucose_unit"]), max_size=12)):
        site = key.read(site, data.draw(plain_values(key)))
    assume(not check_site(site))  # hypothesis fails the test if too few pass
    assert different(site, through_a_file(site, folder)) == []


def test_a_rounding_is_followed_by_every_line(load):
    """72 mg/dL is 3.9965 mmol/L (computed with 18.0156), which a meter shows as 4.0."""
    line = MMOL + 'hold_line = {value = 4.0, unit = "mmol/L", comparison = "below"}\n'
    assert not crosses(Glucose(72, "mg/dL"), load(line).hold_line)
    site = load(f'{line}rounding = "unrounded"')
    assert crosses(Glucose(72, "mg/dL"), site.hold_line)
    assert not crosses(Glucose(73, "mg/dL"), site.hold_line)
    assert {site.level_2_line.rounding, site.report_line.rounding} == {"unrounded"}
    assert crosses(Glucose(3.96, "mmol/L"), site.hold_line)


def test_one_handbook_or_several_are_taught_by_insulin(load):
    nph, regular = insulins()["nph"], insulins()["regular"]
    one, listed = load('[taught]\nnph = "ompc-2007"'), load('[taught]\nnph = ["ompc-2007"]')
    assert one.taught == listed.taught  # a file of the days when one was chosen reads as it did
    assert one.times(nph).sources == ("ompc-2007",)
    assert one.times(regular) == regular.row.taught_times
    both = load('[taught]\nnph = ["aap-2003", "afp-2009", "aap-2003"]')
    assert both.times(nph).sources == ("afp-2009", "aap-2003")  # each once, in the order of the shelf
    times = both.times(nph)
    assert (times.onset, times.peak, times.duration) == (
        Span(low=0, high=3),
        Span(low=4, high=14),
        Span(low=10, high=24),
    )
    assert all(BASE.times(insulin) == insulin.row.taught_times for insulin in insulins().values())


def test_a_pair_can_be_forbidden_and_never_allowed(load):
    site = load('never_mix = ["NPH insulin + lispro", "lispro + isophane"]')
    nph, lispro, regular = (insulins()[key] for key in ("nph", "lispro", "regular"))
    assert site.never_mix == ("lispro + nph",)
    assert site.forbids(nph, lispro)
    assert site.forbids(lispro, nph)
    assert not site.forbids(regular, nph)


# ── Words ──


@pytest.mark.parametrize("name", ["regular", "nph"])
def test_an_order_is_read_by_every_name_that_a_site_may_give_an_insulin(name):
    for word in BY_NAME[f"terms.{name}"].kind.choices():
        other = "NPH insulin" if name == "regular" else "regular insulin"
        order = read_order(f"{word} 8 units and {other} 20 units subcut 30 minutes before breakfast")
        assert {dose.insulin.key for dose in order.doses} == {"regular", "nph"}, word


def test_a_site_speaks_by_its_terms_and_leaves_the_rest_to_its_language():
    hill, harbour = example_sites()[3], example_sites()[1]
    assert dict(hill.voice.terms) == {
        "regular": "soluble insulin",
        "nph": "isophane insulin",
        "chart": "drug chart",
        "prescriber": "doctor or nurse prescriber",
    }
    assert dict(harbour.voice.terms) == {"chart": "medication record"}
    assert (hill.voice.dates, BASE.voice.dates, BASE.voice.terms) == ("d MMM yyyy", "yyyy-MM-dd", ())


# ── What a file may not say, and what it may ──


@pytest.mark.parametrize("text", REFUSED, ids=lambda text: ascii(text[:80]))
def test_what_a_file_may_not_say_is_refused_at_its_line_in_words(text, refused):
    told = REFUSED[text] if isinstance(REFUSED[text], tuple) else (REFUSED[text],)
    for fault, expected in zip(refused(text), told, strict=True):
        place, _, words = expected.partition(": ")
        assert f"{fault.line or '-'} {fault.key}" == place
        assert words in str(fault)
        assert str(fault).startswith("site.toml")
        assert str(fault).endswith(".")


ACCEPTED = [
    "waiting = 3",
    *(f"waiting = {minutes}{reasons('waiting')}" for minutes in (20, 30)),
    f"recheck = 30{reasons('recheck')}",
    "recheck = 20",
    "oral_treatments = 2",
    f"oral_treatments = 1{reasons('oral_treatments')}",
    line("hold_line", 70),
    *(line("hold_line", value) + reasons("hold_line") for value in (69, 63)),
    line("level_2_line", 50) + reasons("level_2_line"),
    line("report_line", 450, comparison="above") + reasons("report_line"),
    MMOL + line("hold_line", 3.9, "mmol/L"),
    MMOL + line("hold_line", 3.5, "mmol/L") + reasons("hold_line"),
    'air = "no air"\nreasons.air = "Our vials have a vented device, pharmacy, May 2026."',
    f"critical_steps = {list(ALWAYS)}{reasons('critical_steps')}",
    "[opened_days]\nnph = 28",
    f'[opened_days]\nnph = 42\n[reasons]\n"opened_days.nph" = "{REASON}"',
    f'[opened_days]\nnph = 42\n[reasons.opened_days]\nnph = "{REASON}"',
    '[reasons]\nwaiting = "Our round takes so long, 2026"',
    '[terms]\nunit = "international unit"\nunits = "international units"',
    '[terms]\nchart = "theatre"\nprescriber = "theatre nurse"',
    'bedtime = "02:30"\nwaking = "07:30"',
    'bedtime = "20:00"\nwaking = "08:00"',
]


@pytest.mark.parametrize("text", ACCEPTED)
def test_what_is_usual_or_has_a_reason_is_taken_as_it_is_written(text, load):
    site = load(text)
    for name, value in tomllib.loads(text).items():
        for part, each in value.items() if name in TABLES else [("", value)]:
            key = BY_NAME.get(f"{name}.{part}" if part else name)
            assert key is None or key.plain(site) == each


def test_a_reason_is_kept_beside_its_value(load):
    site = load(f'waiting = 20\nreasons = {{waiting = "{REASON}"}}')
    assert site.reasons == {"waiting": REASON}
    assert f'\n[reasons]\nwaiting = "{REASON}"\n' in site_text(site)


@pytest.mark.parametrize("step", ALWAYS)
def test_some_steps_stay_critical_for_any_reason(refused, step):
    steps = [each for each in DEFAULT_STEPS if each != step]
    (fault,) = refused(f'critical_steps = {steps}\nreasons.critical_steps = "{REASON}"')
    assert str(fault) == (
        f"site.toml, line 2, critical_steps: {step} would no longer be critical, and no reason can allow it. Add {step}."
    )


@pytest.mark.parametrize("step", sorted({*DEFAULT_STEPS} - {*ALWAYS}))
def test_the_other_critical_steps_are_left_out_with_a_reason(refused, load, step):
    steps = [each for each in DEFAULT_STEPS if each != step]
    (fault,) = refused(f"critical_steps = {steps}")
    assert str(fault.allowed) == f'add {step}, or add critical_steps = "…" under [reasons]'
    assert load(f'critical_steps = {steps}\nreasons.critical_steps = "{REASON}"').critical_steps == tuple(steps)


NEEDS_A_REASON = {
    "waiting": "waiting = 20",
    "hold_line": 'hold_line = {value = 65, unit = "mg/dL", comparison = "below"}',
    "air": 'air = "no air"',
    "rounds": 'rounds = ["07:00"]',
    "meals": 'meals = [{name = "tea", at = "23:00"}]',
    "opened_days.nph": "[opened_days]\nnph = 30",
}


@pytest.mark.parametrize("key", NEEDS_A_REASON)
def test_a_fault_that_a_reason_mends_prints_the_line_to_add(refused, load, key):
    """The line printed is put under [reasons] as it stands, with a reason between its marks."""
    (fault,) = refused(f"{NEEDS_A_REASON[key]}")
    _, _, line = str(fault.allowed).partition(", or add ")
    line = line.removesuffix(" under [reasons]")
    site = load(f"{NEEDS_A_REASON[key]}\n[reasons]\n{line.replace('…', REASON)}")
    assert dict(site.reasons) == {key: REASON}


def test_a_vial_is_kept_as_long_as_its_insulin_or_by_the_label_at_hand():
    assert OpenedDays(insulin="detemir").row.usual_high == the_facts().opened_days["detemir"].value
    assert OpenedDays(insulin="detemir").allowed("mg/dL") == sentence("{low} to {high} days", low=1, high=42)


# ── The name, the comments and the sources ──


def test_another_ward_does_not_keep_the_name_of_the_teaching_ward(refused, folder):
    for name in (BASE.name, BASE.name.upper()):
        (fault,) = refused(f'name = "{name}"\nwaiting = 10'.encode())
        assert str(fault) == (
            "site.toml, line 1, name: this ward differs from the teaching ward and still has its name. Give it a name of "
            "its own."
        )
    path = folder / "same.toml"
    path.write_text(f'name = "{BASE.name}"\nwaiting = 15', encoding="utf-8")
    assert load_site(path) == BASE


def test_each_key_is_as_the_fact_says_whose_source_it_prints():
    for key in KEYS:
        assert (key.kind.default(key.fact) == key.of(BASE)) if key.fact_at else key.name == "name", key.name
    assert {key.part for key in KEYS if key.field == "terms"} == set(TERMS)
    assert BY_NAME["opened_days.nph"].source != BY_NAME["terms.nph"].source


def test_the_cupboard_is_our_assumption_and_sends_you_to_look():
    stock = BY_NAME["stock"]
    assert stock.source == sentence("our assumption, no source")
    assert stock.note.key.endswith("what your cupboard holds, look there.")
    assert {syringe.key for syringe in BASE.stock} == set(the_facts().syringes) - {"1.0-two"}  # one scale of 1 mL


def test_a_site_is_written_in_its_own_words_and_the_teaching_site_in_those_of_who_asks():
    hill = example_sites()[3]
    order = "the doctor or nurse prescriber's order"
    assert order in site_text(hill)
    assert order not in site_text(BASE)
    with speaking(hill.voice):
        assert order in site_text()
        assert order not in site_text(BASE)


@pytest.mark.parametrize("width", [60, 70, 80, 90, 118])
def test_no_key_and_no_number_is_broken_at_its_hyphen(monkeypatch, width):
    monkeypatch.setattr("mixlab.files.toml._WIDTH", width)
    assert [line for line in site_text().splitlines() if line.endswith("-")] == []


def test_the_comments_of_the_file():
    lines = WHOLE.splitlines()
    assert lines[lines.index(f"format = {FORMAT}") - 1] == "# Leave this as it is."
    headings = [line for line in lines if line.startswith("# ──")]
    assert len(set(headings)) == len(headings)
    opening = " ".join(WHOLE.split("format =")[0].replace("\n# ", " ").split())
    assert "is as on the teaching ward; only name must stand." in opening
    assert "What stands under [reasons] is shown in every comparison" in opening
    offered = [source for key in KEYS if isinstance(key.kind, Handbook) for source in key.kind.choices()]
    ends = [line for line in lines if re.match(r'#   "[a-z0-9-]+": starts .+, ends .+ \(.+\)$', line)]
    assert [line.split('"')[1] for line in ends] == offered  # one line each, whole, however long
    assert (
        '#   "afp-2009": starts 30–60 min, strongest 2–4 h, ends 8–10 h (American Family Physician 2009;79:29)' in lines
    )


# ── Whatever else a file can be ──


def test_a_fault_is_told_in_the_words_of_whoever_reads_it(refused):
    """What is kept of it is where it stands and what is meant; the decimal mark is the reader's."""
    (fault,) = refused(
        b'name = "x"\n[[meals]]\nname = "breakfast"\nat = "08:00"\n[[meals]]\nname = "tea"\nat = "16:00"\ngrams = 150.5'
    )
    assert (fault.at, str(fault.place)) == (("meals",), "site.toml, line 2, meals")
    assert fault.wrong == sentence("{written} is unusual and has no recorded reason", written=150.5)
    assert str(fault).startswith("site.toml, line 2, meals: 150.5 is unusual")
    with speaking(Voice(numbers="comma")):
        assert str(fault).startswith("site.toml, line 2, meals: 150,5 is unusual")
        assert str(SiteError([fault])) == str(fault)


def test_faults_keys_and_sites_mean_the_same_whoever_speaks(refused):
    hill = example_sites()[3]

    def meant():
        faults = [refused(text) for text in REFUSED]
        keys = [(key.what, key.allowed(hill), key.source, key.note, key.heading) for key in KEYS]
        site = [hill.hold_text, *(hill.cite(key.of(hill)) for key in KEYS if isinstance(key.of(hill), Sourced))]
        return faults, keys, site, [(it.name, it.key) for it in (*insulins().values(), *hill.stock)]

    plain = meant()
    with speaking(hill.voice):
        assert meant() == plain
    assert pickle.loads(pickle.dumps(plain)) == plain
    assert len({fault for faults in plain[0] for fault in faults}) > 150


@pytest.mark.parametrize(
    ("place", "text"),
    [
        ((), ""),
        (("waiting",), "waiting"),
        (("terms", "chart"), "terms.chart"),
        (("meals", 1, "at"), "meals, row 2, at"),
        (("meals", 0), "meals, row 1"),
        (("re check", "x"), "re check, x"),
        (("hold_line", "value"), "hold_line.value"),
    ],
)
def test_a_place_is_read_as_a_person_counts(place, text):
    assert str(place_text(place)) == text
    assert bool(place_text(place)) == bool(text)


def test_what_is_no_file(tmp_path):
    for path, words in {tmp_path: "this is a folder", tmp_path / "nothing.toml": "there is no such file in"}.items():
        with pytest.raises(SiteError, match=words) as caught:
            load_site(path)
        assert len(caught.value.faults) == 1


def test_a_mark_at_the_beginning_and_other_line_ends_do_no_harm(tmp_path):
    path = tmp_path / "site.toml"
    path.write_bytes(b"\xef\xbb\xbf" + WHOLE.replace("\n", "\r\n").encode())
    assert different(load_site(path), BASE) == []


@settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.binary(max_size=300) | st.text(max_size=200).map(lambda text: text.encode("utf-8", "surrogatepass")))
def test_whatever_stands_in_a_file_nothing_but_faults_comes_of_it(folder, raw):
    path = folder / "garbage.toml"
    path.write_bytes(raw)
    with pytest.raises(SiteError):
        load_site(path)


NUMBERS = ["0", "-1", "9.5", "28", "1e400", "nan", "0xffffffffffffffffffff", "true", "07:00:00", "1979-05-27"]
OTHERS = ['""', '"x"', '"012"', '"3,9"', "[]", '[["x"]]', "[[], {}]", "{}", "{value = 70}", '{name = "x"}', "{a = [1]}"]
PLAIN_VALUES = (*NUMBERS, *OTHERS)


@pytest.mark.parametrize("every", [4, pytest.param(1, marks=pytest.mark.long)])
def test_every_key_is_read_or_refused_at_its_line_with_every_plain_value(folder, every):
    """Sample: every fourth pair of a key and a value; each key has four values or more, and each value ten keys."""
    assert len(KEYS) > 40
    assert len(PLAIN_VALUES) % 4
    for key, value in itertools.islice(itertools.product(KEYS, PLAIN_VALUES), 0, None, every):
        read_or_refused(folder, key, value)


@pytest.mark.parametrize("count", [300, pytest.param(1500, marks=pytest.mark.long)])
def test_any_key_anywhere_is_read_or_refused(folder, count):
    """Sample: the first 300 of the 1,500 files; every name and every value stands in one of them."""
    tables = ("[terms]", "[opened_days]", "[taught]", "[reasons]", "[meals]", "[[meals]]", "[[rounds]]", "[hold_line]")
    parts = {"name", "at", "grams", "also_called", "value", "unit", "comparison", "format", "reasons", "1", '"a.b"'}
    names = sorted({name for key in KEYS for name in (key.field, key.part or key.field)} | parts)
    values = (*PLAIN_VALUES, '"mmol/L"', '"NPH insulin"')
    draw, path, refused, written = Random(7), folder / "anywhere.toml", 0, ""
    for _ in range(count):
        lines = [f"{draw.choice(names)} = {draw.choice(values)}" for _ in range(draw.randint(1, 5))]
        lines.insert(draw.randint(0, len(lines) - 1), draw.choice(tables))
        path.write_text("\n".join(lines), encoding="utf-8")
        written += "\n".join(["", *lines, ""])
        try:
            load_site(path)
        except SiteError:
            refused += 1
    assert refused > count * 14 / 15
    assert all(f"\n{name} = " in written for name in names)
    assert all(f" = {value}\n" in written for value in values)


def read_or_refused(folder, key, value):
    path = folder / "types.toml"
    head = f'name = "x"\n[{key.field}]\n' if key.part else '\nname = "x"\n' if key.name != "name" else "\n\n"
    path.write_text(f"{head}{key.part or key.name} = {value}", encoding="utf-8")
    faults = ()
    try:
        load_site(path)
    except SiteError as error:
        faults = error.faults
    assert {fault.line for fault in faults} <= {3}
    assert [fault.key for fault in faults if not fault.key.startswith(key.name)] == []


@settings(deadline=None)
@given(st.integers(0, len(WHOLE)), st.integers(0, 40), st.text(max_size=5))
def test_a_file_cut_or_typed_into_anywhere_is_read_or_refused(folder, at, length, typed):
    path = folder / "cut.toml"
    path.write_bytes((WHOLE[:at] + typed + WHOLE[at + length :]).encode("utf-8", "replace"))
    site = BASE
    with suppress(SiteError):
        site = load_site(path)
    assert check_site(site) == []


# ── The site in force ──


@pytest.fixture
def nowhere(tmp_path, monkeypatch):
    """Begin with no site in force, in an empty folder; afterwards put everything back."""
    before = voice_now()
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("MIXLAB_SITE", raising=False)
    monkeypatch.setattr(the_module, "_in_force", None)
    yield tmp_path
    the_module.speak_by_default(before)


def test_without_a_file_the_teaching_site_is_in_force(nowhere):
    assert site_in_force() is BASE
    assert the_site() is BASE
    assert the_site(example_sites()[1]) is example_sites()[1]


@pytest.mark.parametrize(
    ("site", "call", "printed"),
    [
        (
            'name = "ward 3"\n[terms]\nregular = "soluble insulin"',
            "from mixlab.ward.insulin import insulins; print(insulins()['regular'].name)",
            "soluble insulin",
        ),
        (
            "waiting = 600",
            "from mixlab.ward.insulin import insulins; print(insulins()['regular'].name)",
            "regular insulin",
        ),
        (
            "waiting = 600",
            "from mixlab.ward.site.faults import SiteError\nfrom mixlab import read_order, plan_dose\n"
            "order = read_order('regular insulin 8 units and NPH insulin 20 units subcut before breakfast')\n"
            "try: plan_dose(order)\nexcept SiteError as why: print(len(why.faults))",
            "2",
        ),
    ],
)
def test_the_first_sentence_of_all_is_said_as_the_folder_s_site_says_it_or_plainly(tmp_path, site, call, printed):
    """A faulty file is told by what needs the site, and not by what only speaks."""
    (tmp_path / "site.toml").write_text(site, encoding="utf-8")
    done = subprocess.run([sys.executable, "-c", call], cwd=tmp_path, capture_output=True, text=True, check=False)
    assert done.stdout == f"{printed}\n", done.stderr


def test_the_folders_file_is_in_force_and_the_variables_before_it(nowhere, monkeypatch):
    (nowhere / "site.toml").write_text('name = "ward 3"', encoding="utf-8")
    (nowhere / "other.toml").write_text('name = "ward 4"', encoding="utf-8")
    assert site_in_force().name == "ward 3"
    monkeypatch.setenv("MIXLAB_SITE", str(nowhere / "other.toml"))
    assert site_in_force().name == "ward 3"  # it is looked for once
    assert use_site(None).name == "ward 4"
    assert site_in_force() is site_in_force()


def test_a_site_is_put_in_force_with_its_words_and_a_bad_file_leaves_it(nowhere):
    hill = example_sites()[3]
    assert use_site(hill) is hill
    assert voice_now() == hill.voice
    bad = nowhere / "bad.toml"
    bad.write_text('name = "x"\nwaiting = 180', encoding="utf-8")
    (nowhere / "site.toml").mkdir()
    for other in (bad, str(bad), nowhere / "nothing.toml", None, nowhere):
        with pytest.raises(SiteError):
            use_site(other)
        assert site_in_force() is hill
        assert voice_now() == hill.voice
    (nowhere / "site.toml").rmdir()
    assert use_site(None) is BASE
    assert example_sites()[0] is teaching_site() is BASE


def test_a_faulty_file_in_the_folder_is_never_passed_over(nowhere):
    (nowhere / "site.toml").write_text("waiting = 180", encoding="utf-8")
    for _ in range(2):
        with pytest.raises(SiteError):
            site_in_force()


def test_a_site_made_by_hand_is_checked_like_a_file():
    with pytest.raises(SiteError) as wrong:
        use_site(replace(BASE, name="{x}", terms=MappingProxyType({**BASE.terms, "units": "U"})))
    assert {fault.key for fault in wrong.value.faults} >= {"name", "terms.units"}
    assert site_in_force() is teaching_site()
