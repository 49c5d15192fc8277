"""The site file whole: every key, what is unsafe, whatever else a file can be, and the site that is in force.

Nothing here is compared with a source outside: the values are those of facts/site.toml, and the rules are our own.
"""

import os
import tomllib
from contextlib import suppress
from dataclasses import fields
from importlib import resources

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from mixlab import read_order
from mixlab.facts.shelf import shelf
from mixlab.quantities import Glucose
from mixlab.ward import site as the_module
from mixlab.ward.insulin import insulins
from mixlab.ward.site import (
    Site,
    SiteError,
    crosses,
    example_sites,
    load_site,
    site_in_force,
    site_text,
    teaching_site,
    the_site,
    use_site,
    write_site_file,
)
from mixlab.ward.site_amounts import NOT_ASKED, Clock, Line, Meals, Number, limits_in
from mixlab.ward.site_checks import check_site
from mixlab.ward.site_choices import Choice, Handbook, InsulinName, OneOf, Pairs, Steps, Stock, UnitWord, Words, mixable
from mixlab.ward.site_keys import FORMAT, KEYS
from mixlab.ward.site_lines import LARGEST_FILE
from mixlab.words import speaking, voice_now

BASE = teaching_site()
BY_NAME = {key.name: key for key in KEYS}
WORKED = ("1-harbour.toml", "3-hill.toml", "4-orchard.toml")
WHOLE = site_text()


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("sites")


@pytest.fixture
def refused(tmp_path):
    """Return the faults of a file that cannot be used."""

    def faults_of(text, name="site.toml"):
        path = tmp_path / name
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        with pytest.raises(SiteError) as caught:
            load_site(path)
        assert str(caught.value).split("\n") == [str(fault) for fault in caught.value.faults]
        assert all(fault.wrong and fault.allowed for fault in caught.value.faults)
        return caught.value.faults

    return faults_of


@pytest.fixture
def load(tmp_path):
    def load(text):
        path = tmp_path / "site.toml"
        path.write_text(f'name = "ward 3"\n{text}', encoding="utf-8")
        return load_site(path)

    return load


def different(one, other):
    return [key.name for key in KEYS if not key.same(one, other)]


def through_a_file(site, folder):
    path = folder / "written.toml"
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
        assert key.says().endswith("."), key.name
        assert key.allowed(BASE), key.name
        assert bool(key.source()) == (key.name != "name"), key.name


def test_the_written_file_holds_every_key_once_with_its_default_and_source():
    tables = tomllib.loads(WHOLE)
    assert tables["format"] == FORMAT
    for key in KEYS:
        assert key.part in tables[key.field] if key.part else key.name in tables, key.name
        if key.source():
            first = f"Source: {key.source()}".split(",")[0]
            assert first in " ".join(WHOLE.replace("\n# ", " ").split()), key.name
    assert max(map(len, WHOLE.splitlines())) < 300
    assert len(WHOLE.encode()) < LARGEST_FILE / 20


@pytest.mark.parametrize("site", example_sites(), ids=lambda site: site.name)
def test_what_is_written_is_read_again_as_the_same_site(site, folder):
    again = through_a_file(site, folder)
    assert different(site, again) == []
    assert again.reasons == site.reasons
    assert check_site(site) == []
    assert site_text(again) == site_text(site)


def test_what_a_file_sets_is_the_policy_of_the_ward_and_what_it_leaves_out_is_not(folder, load):
    whole = through_a_file(BASE, folder)
    assert {whole.cite(whole.recheck), whole.cite(whole.opened_days["nph"]), whole.cite(whole.air)} == {
        "policy of the teaching ward"
    }
    part = load("[opened_days]\nnph = 31")
    assert part.cite(part.opened_days["nph"]) == "policy of ward 3"
    assert part.opened_days["regular"] is BASE.opened_days["regular"]


@pytest.mark.parametrize("name", WORKED)
def test_each_worked_hospital_and_home_is_complete(name):
    tables = tomllib.loads((resources.files("mixlab.ward") / "sites" / name).read_text(encoding="utf-8"))
    for key in KEYS:
        assert key.part in tables[key.field] if key.part else key.name in tables, key.name


def test_the_worked_sites_differ_in_what_they_are_for():
    _, harbour, garden, hill, orchard = example_sites()
    assert (harbour.glucose_unit, hill.glucose_unit, orchard.glucose_unit) == ("mg/dL", "mmol/L", "mg/dL")
    assert {name: hill.terms[name] for name in ("regular", "nph", "chart", "prescriber")} == {
        "regular": "soluble insulin",
        "nph": "isophane insulin",
        "chart": "drug chart",
        "prescriber": "doctor or nurse prescriber",
    }
    assert hill.language == "en-GB"
    assert (orchard.terms["chart"], list(orchard.reasons)) == ("insulin chart", ["dates"])
    assert different(garden, BASE) == [
        "name", "glucose_unit", "hold_line", "level_2_line", "report_line", "meter_low", "meter_high",
    ]  # fmt: skip


def test_a_file_is_never_written_over(tmp_path):
    path = tmp_path / "site.toml"
    assert write_site_file(path) == path
    path.write_text("mine", encoding="utf-8")
    with pytest.raises(SiteError, match="there is such a file already"):
        write_site_file(path)
    assert path.read_text(encoding="utf-8") == "mine"
    with pytest.raises(SiteError, match="cannot be written in"):
        write_site_file(tmp_path / "nowhere" / "site.toml")


# ── Changing one key ──


def plain_values(key):
    """Return a strategy of values that a file may give a key, on a site in mg/dL."""
    kind = key.kind
    match kind:
        case Number():
            _, low, high, _ = limits_in(kind.row, "mg/dL")
            return st.integers(int(low), int(high)) if kind.row.whole else st.floats(low, high)
        case Line():
            _, low, high, _ = limits_in(shelf().limits[kind.limits], "mg/dL")
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
            return st.lists(st.sampled_from(list(shelf().steps))).map(lambda more: [*BASE.critical_steps, *more])
        case Pairs():
            return st.lists(st.sampled_from(mixable()))
        case Handbook():
            return st.sampled_from(kind.sources)
        case InsulinName():
            return st.sampled_from(list(kind.names.values()))
        case UnitWord():
            return st.sampled_from(("unit", "units", "international unit", "insulin units"))
        case Words():
            return st.text(st.sampled_from("abcXYZ é'ßи中,.-()/"), min_size=1, max_size=kind.longest).filter(
                lambda text: text == text.strip()
            )
        case OneOf():
            return st.sampled_from(tuple(kind.choices()))
        case Choice():
            return st.sampled_from([each for each in kind.row.choices if each not in getattr(kind.row, "unusual", ())])
    raise AssertionError(key)


@settings(deadline=None, max_examples=400)
@given(st.data(), st.sampled_from(KEYS))
def test_changing_one_key_changes_that_key_alone_and_survives_the_file(folder, data, key):
    site = key.read(BASE, data.draw(plain_values(key)))
    assert set(different(BASE, site)) <= {key.name}
    if not check_site(site):  # a bedtime can leave no day, a line can cross another
        again = through_a_file(site, folder)
        assert different(site, again) == (["meter_low", "meter_high"] if site.glucose_unit == "mmol/L" else [])
        if site.glucose_unit == "mg/dL":
            assert different(BASE, again) == different(BASE, site)


@settings(deadline=None, max_examples=60)
@given(st.data())
def test_any_keys_together_survive_the_file(folder, data):
    site = BASE
    for key in data.draw(st.lists(st.sampled_from([key for key in KEYS if key.name != "glucose_unit"]), max_size=12)):
        site = key.read(site, data.draw(plain_values(key)))
    if not check_site(site):
        assert different(site, through_a_file(site, folder)) == []


def test_a_rounding_is_followed_by_every_line(load):
    """72 mg/dL is 3.9965 mmol/L (computed with 18.0156), which a meter shows as 4.0."""
    line = 'glucose_unit = "mmol/L"\nhold_line = {value = 4.0, unit = "mmol/L", comparison = "below"}\n'
    assert not crosses(Glucose(72, "mg/dL"), load(line).hold_line)
    site = load(f'{line}rounding = "unrounded"')
    assert crosses(Glucose(72, "mg/dL"), site.hold_line)
    assert not crosses(Glucose(73, "mg/dL"), site.hold_line)
    assert {site.level_2_line.rounding, site.report_line.rounding} == {"unrounded"}
    assert crosses(Glucose(3.96, "mmol/L"), site.hold_line)


def test_a_handbook_is_taught_by_insulin(load):
    site = load('[taught]\nnph = "ompc-2007"')
    nph, regular = insulins()["nph"], insulins()["regular"]
    assert site.times(nph).source == "ompc-2007"
    assert site.times(regular) is regular.times
    assert all(BASE.times(insulin) is insulin.times for insulin in insulins().values())


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
    for word in BY_NAME[f"terms.{name}"].kind.names.values():
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
    with speaking(hill.voice):
        assert "doctor or nurse prescriber's order" in site_text()


@pytest.mark.parametrize(
    "word", ["U", "u", "IU", "iu", "E", "IE", "un", "Units", "UNITS", "1 unit", "units.", "mL", "doses"]
)
def test_units_are_a_word_in_full(refused, word):
    for key in ("unit", "units"):
        (fault,) = refused(f'name = "ward 3"\n[terms]\n{key} = "{word}"')
        assert (fault.line, fault.key) == (3, f"terms.{key}")
        assert "misread" in fault.wrong


@pytest.mark.parametrize(
    "word",
    ["", " ", "x" * 41, "{chart}", "<b>chart</b>", "the\\nchart", "a`b", "$x$", "# chart", " chart", "a\\u0000b"],
)
def test_names_of_the_ward_are_plain_text(refused, word):
    (fault,) = refused(f'name = "ward 3"\n[terms]\nchart = "{word}"')
    assert (fault.line, fault.key) == (3, "terms.chart")


def test_an_insulin_has_only_its_own_generic_names(refused):
    faults = refused('name = "ward 3"\n[terms]\nregular = "isophane insulin"\nnph = "cloudy"')
    assert [fault.key for fault in faults] == ["terms.regular", "terms.nph"]


# ── What is unsafe ──

UNSAFE = {
    "waiting = 120": "waiting",
    "waiting = 3": None,
    "waiting = 20": "waiting",
    'waiting = 20\nreasons = {waiting = "Our round takes so long."}': None,
    'waiting = 61\nreasons = {waiting = "Our round takes so long."}': "waiting",
    'hold_line = {value = 53, unit = "mg/dL", comparison = "below"}': "hold_line",
    'hold_line = {value = 62, unit = "mg/dL", comparison = "below"}': "hold_line",
    'hold_line = {value = 62, unit = "mg/dL", comparison = "below"}\n[reasons]\nhold_line = "A trial on our ward."': None,
    'hold_line = {value = 50, unit = "mg/dL", comparison = "below"}\n[reasons]\nhold_line = "A trial on our ward."': "hold_line",
    'hold_line = {value = 69.5, unit = "mg/dL", comparison = "below"}': "hold_line.value",
    'glucose_unit = "mmol/L"\nhold_line = {value = 3.5, unit = "mmol/L", comparison = "below"}': None,
    'glucose_unit = "mmol/L"\nhold_line = {value = 3.4, unit = "mmol/L", comparison = "below"}': "hold_line",
    'glucose_unit = "mmol/L"\nhold_line = {value = 71, unit = "mg/dL", comparison = "below"}': "hold_line",
    'hold_line = {value = 4.0, unit = "mmol/L", comparison = "below"}': "hold_line",
    "recheck = 45": "recheck",
    "carbohydrate = 100": "carbohydrate",
    "rolls = 10.5": "rolls",
    'air = "no air"': "air",
    'air = "no air"\nreasons.air = "Our vials have a vented device."': None,
    'dates = "11/26/2026"': "dates",
    'mixing = ["glargine + nph"]': "mixing",
    'may_mix = ["glargine + nph"]': "may_mix",
    'never_mix = ["glargine + nph"]': "never_mix",
    'never_mix = ["lispro"]': "never_mix",
    "critical_steps = []": "critical_steps",
    'critical_steps = ["check_order"]': "critical_steps",
    'critical_steps = ["check_order"]\nreasons.critical_steps = "First lesson of the year."': None,
    "[opened_days]\nnph = 57": "opened_days.nph",
    "[opened_days]\nnph = 50": "opened_days.nph",
    '[opened_days]\nnph = 50\n[reasons]\n"opened_days.nph" = "The label says so here."': None,
    '[opened_days]\nnph = 50\n[reasons.opened_days]\nnph = "The label says so here."': None,
    '[taught]\nnph = "basal-review"': "taught.nph",  # it gives no onset and no peak
    '[reasons]\nwaiting = "because"': "reasons.waiting",
    '[reasons]\nwating = "It is our own habit."': "reasons.wating",
    "[reasons]\nwaiting = 3": "reasons.waiting",
    "reasons = 3": "reasons",
    "terms = 3": "terms",
    'terms = {chart = 3, chat = "x"}': "two",
}


@pytest.mark.parametrize("text", UNSAFE, ids=lambda text: text.replace("\n", "; "))
def test_what_is_unsafe_is_refused_or_has_a_reason(text, refused, load):
    if UNSAFE[text] is None:
        site = load(text)
        assert all(len(reason.split()) >= 3 for reason in site.reasons.values())
        return
    faults = refused(f'name = "ward 3"\n{text}')
    keys = ["terms.chat", "terms.chart"] if UNSAFE[text] == "two" else [UNSAFE[text]]
    assert [fault.key for fault in faults] == keys
    assert all(fault.line for fault in faults)


def test_a_reason_is_kept_beside_its_value(load):
    site = load('waiting = 20\nreasons = {waiting = "Our round takes so long."}')
    assert site.reasons == {"waiting": "Our round takes so long."}
    assert 'waiting = "Our round takes so long."' in site_text(site)


def test_a_pair_that_must_not_be_mixed_cannot_be_allowed(refused):
    (fault,) = refused('name = "ward 3"\nmay_mix = ["glargine + nph"]')
    assert str(fault) == (
        "site.toml, line 2, may_mix: take it out; never_mix forbids a pair, and nothing allows one; what must not be mixed "
        "cannot be allowed by a site file."
    )


# ── Whatever else a file can be ──

BAD_FILES = {
    "an empty file": (b"", [(None, "name")], "this key is missing"),
    "text in UTF-16": ('name = "ward 3"'.encode("utf-16"), [(None, "")], "UTF-16"),
    "another encoding": ('\n\nname = "Stationsküche"'.encode("latin-1"), [(3, "")], "not text in UTF-8"),
    "a picture": (b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR", [(None, "")], "it is not text"),
    "a newer format": (b'format = 2\nshiny = true\nname = ""', [(1, "format")], "newer format (2), and this mixlab reads format 1"),
    "no format": (b'format = "one"\nname = "x"', [(1, "format")], "no format of a site file"),
    "a key twice": (b'name = "x"\nrecheck = 10\nrecheck = 15', [(3, "recheck")], "already written on line 2"),
    "a table twice": (
        b'name = "x"\n[terms]\nchart = "a"\n[opened_days]\n[terms]\nchart = "b"',
        [(5, "terms"), (6, "terms.chart")],
        "already written on line 2",
    ),
    "no equals sign": (b"name: ward 3", [(1, "")], "equals sign is missing"),
    "an open text": (b'name = "x"\nbedtime = "21:30\n', [(2, "bedtime")], "a text has no mark at its end"),
    "an open list": (b'name = "x"\nrounds = ["07:00"', [(2, "rounds")], "list does not end"),
    "no quotation marks": (b"name = ward 3", [(1, "name")], "not written as a key and its value"),
    "a number of 5000 digits": (b'name = "x"\nrecheck = ' + b"9" * 5000, [(2, "recheck")], "very many digits"),
    "a hexadecimal number of 5000 digits": (b'name = "x"\nrecheck = 0x' + b"f" * 5000, [(2, "recheck")], "very many digits"),
    "too deep": (b'name = "x"\nrounds = ' + b"[" * 100_000, [(None, "")], "too deep"),
    "a date": (b'name = "x"\nbedtime = 21:30:00', [(2, "bedtime")], "no time of the 24-hour clock"),
    "a table for a number": (b'name = "x"\n[recheck]\nvalue = 10', [(2, "recheck")], "a table is not a number"),
    "a key quoted": (b'name = "x"\n"re check" = 10', [(2, "re check")], "no key is called so"),
    "meals as a table": (b'name = "x"\n[meals]\nname = "tea"', [(2, "meals")], "not a list of meals"),
    "a meal that is none": (b'name = "x"\nmeals = [3]', [(2, "meals, row 1")], "not a meal"),
    "keys in a text of many lines": (
        b'name = """\nrecheck = 10\n"""\nrecheck = 0',
        [(1, "name"), (4, "recheck")],
        "cannot stand in a sentence",
    ),
}  # fmt: skip


@pytest.mark.parametrize("what", BAD_FILES)
def test_a_file_that_is_none_is_refused_in_a_sentence(what, refused):
    raw, places, words = BAD_FILES[what]
    faults = refused(raw)
    assert [(fault.line, fault.key) for fault in faults] == places
    assert words in faults[0].wrong
    assert all(str(fault).startswith("site.toml") and str(fault).endswith(".") for fault in faults)


def test_a_file_of_50_mb_is_refused_before_it_is_read(tmp_path, monkeypatch):
    path = tmp_path / "site.toml"
    with path.open("wb") as file:
        file.truncate(50_000_000)
    monkeypatch.setattr("pathlib.Path.read_bytes", lambda _: pytest.fail("the file was read"))
    with pytest.raises(SiteError, match="it has 50 MB"):
        load_site(path)


def test_what_is_no_file(tmp_path):
    os.mkfifo(tmp_path / "pipe")
    for path, words in {
        tmp_path: "this is a folder",
        tmp_path / "nothing.toml": "there is no such file in",
        tmp_path / "pipe": "this is no file",
        "a\0b": "cannot be read from this disk",
        "x" * 5000: "cannot be read from this disk",
    }.items():
        with pytest.raises(SiteError) as caught:
            load_site(path)
        assert words in str(caught.value)
        assert len(caught.value.faults) == 1


def test_a_file_that_may_not_be_read(tmp_path, monkeypatch):
    path = tmp_path / "site.toml"
    path.write_text('name = "x"', encoding="utf-8")

    def forbid(_):
        raise PermissionError

    monkeypatch.setattr("pathlib.Path.read_bytes", forbid)
    with pytest.raises(SiteError, match="does not let you read it"):
        load_site(path)


def test_a_mark_at_the_beginning_and_other_line_ends_do_no_harm(tmp_path):
    path = tmp_path / "site.toml"
    path.write_bytes(b"\xef\xbb\xbf" + WHOLE.replace("\n", "\r\n").encode())
    assert different(load_site(path), BASE) == []


def test_the_nearest_key_is_named(refused):
    faults = refused(
        'name = "x"\nwating = 10\nnever_mixed = []\nzzz = 1\n[terms]\nprescribr = "x"\n[opened_day]\nnph = 3'
    )
    assert [(fault.line, fault.key, fault.nearest) for fault in faults] == [
        (2, "wating", "waiting"),
        (3, "never_mixed", "never_mix"),
        (4, "zzz", ""),
        (6, "terms.prescribr", "prescriber"),
        (7, "opened_day", "opened_days"),
    ]
    assert "there are format" in faults[2].wrong


@settings(deadline=None, max_examples=300, suppress_health_check=[HealthCheck.too_slow])
@given(st.binary(max_size=300) | st.text(max_size=200).map(lambda text: text.encode("utf-8", "surrogatepass")))
def test_whatever_stands_in_a_file_nothing_but_faults_comes_of_it(folder, raw):
    path = folder / "garbage.toml"
    path.write_bytes(raw)
    with pytest.raises(SiteError):
        load_site(path)


VALUES = st.recursive(
    st.sampled_from(
        [
            "0",
            "-1",
            "1e400",
            "nan",
            "true",
            '""',
            '"x"',
            "[]",
            "{}",
            "07:00:00",
            "1979-05-27",
            "0xffffffffffffffffffff",
            "9.5",
        ]
    ),
    lambda inner: (
        st.lists(inner, max_size=3).map(lambda each: f"[{', '.join(each)}]")
        | st.lists(inner, max_size=2).map(
            lambda each: "{" + ", ".join(f"value{n} = {it}" for n, it in enumerate(each)) + "}"
        )
    ),
    max_leaves=4,
)


@settings(deadline=None, max_examples=300)
@given(st.sampled_from(KEYS), VALUES)
def test_whatever_type_a_key_is_given_it_is_read_or_refused_at_its_line(folder, key, value):
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


@settings(deadline=None, max_examples=200)
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


def test_a_site_made_by_hand_is_checked_too(nowhere):
    unsafe = BY_NAME["waiting"].read(BASE, 180)
    with pytest.raises(SiteError, match=r"waiting: .*180 is not safe"):
        use_site(unsafe)
    assert site_in_force() is BASE


def test_a_faulty_file_in_the_folder_is_never_passed_over(nowhere):
    (nowhere / "site.toml").write_text("waiting = 180", encoding="utf-8")
    for _ in range(2):
        with pytest.raises(SiteError):
            site_in_force()
