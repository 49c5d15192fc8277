"""A site file: what it may leave out, and every fault named at once."""

from contextlib import suppress
from dataclasses import replace

import pytest

from mixlab import day_plan, read_order
from mixlab.facts.shelf import shelf as facts
from mixlab.quantities import Glucose
from mixlab.ward.insulin import insulins
from mixlab.ward.site.faults import SiteError
from mixlab.ward.site.glucose_lines import crosses, line_text
from mixlab.ward.site.in_force import example_sites, load_site
from mixlab.ward.site.record import teaching_site
from mixlab.ward.syringe import syringes
from mixlab.words import sentence

BASE = teaching_site()
REASON = "Ward policy 14 of March 2026, agreed with pharmacy"
OF_WARD_3 = sentence("policy of {site}", site="ward 3")
OURS = sentence("our assumption, no source")
LINE_OF_400 = '{value = 400, unit = "mg/dL", comparison = "above"}'


@pytest.fixture
def load(tmp_path):
    def write_and_load(text):
        path = tmp_path / "my_site.toml"
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return load_site(path)

    return write_and_load


def faults_of(load, text):
    with pytest.raises(SiteError) as refused:
        load(text)
    listed = str(refused.value).split("\n")
    assert listed == [str(fault) for fault in refused.value.faults]
    return listed


def places_of(load, text):
    """Return line and key of every fault."""
    with pytest.raises(SiteError) as refused:
        load(text)
    assert {fault.file for fault in refused.value.faults} == {"my_site.toml"}
    return [(fault.line, fault.key) for fault in refused.value.faults]


def test_what_a_file_leaves_out_stays_as_on_the_teaching_site(load):
    assert load('name = "ward 3"') == replace(BASE, name="ward 3")
    site = load('name = "ward 3"\nrecheck = 10\nstock = ["0.5-one"]')
    assert site.recheck.value == 10
    assert site.stock == (syringes()["0.5-one"],)
    assert (site.hold_line, site.carbohydrate) == (BASE.hold_line, BASE.carbohydrate)


def test_every_key_can_be_set(load):
    site = load(
        """
        name = "ward 3"
        glucose_unit = "mmol/L"
        hold_line = {value = 4.0, unit = "mmol/L", comparison = "below"}
        level_2_line = {value = 3, unit = "mmol/L", comparison = "at or below"}
        report_line = {value = 15, unit = "mmol/L", comparison = "at or above"}
        reading_age = 30
        meter_low = 0.6
        meter_high = 27.8
        carbohydrate = 20
        recheck = 10
        meal_lead = 45
        waiting = 5
        stock = ["1.0-two", "0.3-half"]
        """
    )
    assert (site.name, site.glucose_unit) == ("ward 3", "mmol/L")
    assert str(line_text(site.hold_line)) == "below 4.0 mmol/L"
    assert str(line_text(site.level_2_line)) == "at or below 3.0 mmol/L"
    assert str(line_text(site.report_line)) == "at or above 15.0 mmol/L"
    amounts = ("reading_age", "meter_low", "meter_high", "carbohydrate", "recheck", "meal_lead", "waiting")
    assert [getattr(site, key).value for key in amounts] == [30, 0.6, 27.8, 20, 10, 45, 5]
    assert [each.key for each in site.stock] == ["1.0-two", "0.3-half"]


def test_a_line_of_the_file_is_cited_as_local_policy(load):
    site = load('name = "ward 3"\nrecheck = 10')
    assert site.cite(site.recheck) == OF_WARD_3
    assert site.cite(site.reading_age) == sentence("common practice, no source")
    assert "2018" in str(site.cite(site.hold_line))


EVERYTHING_WRONG = """
        name = "ward 3"
        hold_line = {value = 70, unit = "mg/dL", comparison = "above"}
        report_line = {value = -1, unit = "mg/dL", comparison = "above"}
        reading_age = 0
        waiting = -5
        stock = ["0.3-half", "2.0-one", "thimble"]
        """


def test_every_fault_is_listed_at_once(load):
    assert places_of(load, EVERYTHING_WRONG) == [
        (3, "hold_line.comparison"),
        (4, "report_line.value"),
        (5, "reading_age"),
        (6, "waiting"),
        (7, "stock"),
        (7, "stock"),
    ]
    faults = faults_of(load, EVERYTHING_WRONG)
    assert faults[0] == (
        "my_site.toml, line 3, hold_line.comparison: 'above' is not one of them. Write one of 'below', 'at or below'."
    )
    assert faults[2] == (
        "my_site.toml, line 5, reading_age: 0 is not safe, and no reason can allow it. Write 15 to 60 minutes, and 5 to "
        "120 with a reason under [reasons]."
    )
    assert "'2.0-one' is not known here. Correct it to '1.0-one'." in faults[4]
    assert "'thimble' is not known here. Choose from 0.3-half, 0.3-one, 0.5-one, 1.0-one, 1.0-two." in faults[5]


def test_every_wrong_key_and_type_is_listed_at_once(load):
    text = """
        glucose_unit = "mg"
        recheck = "ten"
        waiting = true
        hold = 70
        hold_line = {value = 70, comparison = "below", edition = 2017}
        """
    assert places_of(load, text) == [
        (None, "name"),
        (2, "glucose_unit"),
        (3, "recheck"),
        (4, "waiting"),
        (5, "hold"),
        (6, "hold_line.unit"),
        (6, "hold_line.edition"),
    ]
    assert faults_of(load, text)[4].endswith(
        "no key is called so. Take it out or correct its spelling. The nearest known one is hold_line."
    )


@pytest.mark.parametrize("value", ["nan", "inf", "-inf", "0", "0.0", "-70"])
def test_amounts_that_are_none(load, value):
    assert len(faults_of(load, f'name = "ward 3"\nrecheck = {value}')) == 1
    line = f'hold_line = {{value = {value}, unit = "mg/dL", comparison = "below"}}'
    assert len(faults_of(load, f'name = "ward 3"\n{line}')) == 1


@pytest.mark.parametrize(
    ("lines", "key"),
    [
        ('hold_line = {value = 50, unit = "mg/dL", comparison = "below"}', "hold_line"),
        ('hold_line = {value = 2.9, unit = "mmol/L", comparison = "below"}', "hold_line"),
        ('level_2_line = {value = 71, unit = "mg/dL", comparison = "below"}', "level_2_line"),
        (
            'level_2_line = {value = 65, unit = "mg/dL", comparison = "below"}\n'
            'hold_line = {value = 64, unit = "mg/dL", comparison = "below"}\n'
            f'reasons = {{hold_line = "{REASON}", level_2_line = "{REASON}"}}',
            "hold_line",
        ),
        ('report_line = {value = 70, unit = "mg/dL", comparison = "above"}', "report_line"),
        ('report_line = {value = 3.8, unit = "mmol/L", comparison = "above"}', "report_line"),
        ("meter_low = 600", "meter_low"),
        ("meter_high = 10", "meter_high"),
        (f'meter_low = 55\nreasons = {{meter_low = "{REASON}"}}', "meter_low"),  # 54 cannot be seen
        (f'meter_high = 390\nreport_line = {LINE_OF_400}\nreasons = {{meter_high = "{REASON}"}}', "meter_high"),
        (f'meter_high = 300\nreport_line = {LINE_OF_400}\nreasons = {{meter_high = "{REASON}"}}', "meter_high"),
    ],
)
def test_crossing_lines_are_refused(load, lines, key):
    ((_, where),) = places_of(load, f'name = "ward 3"\n{lines}')
    assert where == key


def test_an_empty_cupboard_is_refused(load):
    (fault,) = faults_of(load, 'name = "ward 3"\nstock = []')
    assert "no syringe is in stock" in fault


def test_a_file_that_is_not_there(tmp_path):
    with pytest.raises(SiteError, match=r"my_site\.toml: there is no such file in .*\. Correct its name\."):
        load_site(tmp_path / "my_site.toml")


def test_a_folder(tmp_path):
    with pytest.raises(SiteError, match="this is a folder"):
        load_site(str(tmp_path))


def test_a_file_that_is_not_toml(load):
    (fault,) = faults_of(load, "name: ward 3")
    assert fault == "my_site.toml, line 1: the equals sign is missing. Write the key, an equals sign and the value."


def test_a_file_that_is_not_utf8(load):
    (fault,) = faults_of(load, b'name = "ward \xe9"')
    assert fault == "my_site.toml, line 1: it is not text in UTF-8. Save it as text in UTF-8."


@pytest.mark.parametrize(
    ("comparison", "low", "at", "high"),
    [
        ("below", True, False, False),
        ("at or below", True, True, False),
        ("above", False, False, True),
        ("at or above", False, True, True),
    ],
)
def test_the_four_comparisons(comparison, low, at, high):
    line = replace(BASE.hold_line, comparison=comparison)
    assert [crosses(Glucose(value, "mg/dL"), line) for value in (69, 70, 71)] == [low, at, high]


@pytest.mark.parametrize(
    ("key", "name"),
    [
        ("0.3-half", "0.3 mL U-100 insulin syringe with a line every half unit"),
        ("0.5-one", "0.5 mL U-100 insulin syringe with a line every unit"),
        ("1.0-two", "1 mL U-100 insulin syringe with a line every 2 units"),
    ],
)
def test_a_syringe_is_called_by_size_and_line(key, name):
    assert str(syringes()[key]) == name


def test_where_a_scale_has_lines():
    half, two = syringes()["0.3-half"], syringes()["1.0-two"]
    assert [half.shows(units) for units in (0, 0.5, 30, 30.5, 0.25, -0.5)] == [True, True, True, False, False, False]
    assert [two.shows(units) for units in (2, 3, 100, 102)] == [True, False, True, False]


def test_who_may_share_with_whom():
    shelf = insulins()
    assert shelf["regular"].may_share_with(shelf["nph"])
    assert not shelf["glargine"].may_share_with(shelf["nph"])
    assert repr(shelf["nph"]) == "<NPH insulin, cloudy>"
    assert shelf["regular"].times_by(None) is shelf["regular"].row.taught_times


def test_the_ends_of_the_meter_are_written_in_the_sites_own_unit(tmp_path):
    file = tmp_path / "site.toml"
    lines = {"hold_line": ("3.9", "below"), "level_2_line": ("3.0", "below"), "report_line": ("16.7", "above")}
    text = 'name = "the practice ward"\nglucose_unit = "mmol/L"\nmeter_low = 1.1\nmeter_high = 33.3\n'
    for name, (value, comparison) in lines.items():
        text += f'{name} = {{value = {value}, unit = "mmol/L", comparison = "{comparison}"}}\n'
    file.write_text(text)
    site = load_site(file)
    assert (site.meter_high.value, site.meter_high.unit) == (33.3, "mmol/L")


def test_the_example_sites_begin_with_the_teaching_site_and_have_names_of_their_own():
    sites = example_sites()
    assert sites[0] is BASE
    assert len({site.name for site in sites}) == len(sites) == 5
    assert sites is example_sites()


def test_each_example_site_draws_its_hold_line_elsewhere_or_reports_more():
    lines = {site.name: str(site.hold_text) for site in example_sites()}
    assert lines == {
        "the teaching ward": "below 70 mg/dL",
        "the harbour ward": "at or below 70 mg/dL",
        "the garden ward": "below 3.9 mmol/L",
        "the hill ward": "below 4.0 mmol/L",
        "the orchard house": "below 70 mg/dL",
    }
    near = {site.name: str(line_text(site.near_low_line)) for site in example_sites() if site.near_low_line}
    assert near == {"the orchard house": "at or below 100 mg/dL"}


def test_the_near_low_line_and_the_dose_gap_can_be_set(load):
    site = load('name = "ward 3"\nnear_low_line = {value = 100, unit = "mg/dL", comparison = "below"}\ndose_gap = 6')
    assert str(line_text(site.near_low_line)) == "below 100 mg/dL"
    assert site.cite(site.near_low_line) == OF_WARD_3
    assert (site.dose_gap.value, site.cite(site.dose_gap)) == (6, OF_WARD_3)
    assert (BASE.near_low_line, BASE.cite(BASE.dose_gap)) == (None, OURS)


def test_how_long_an_earlier_low_counts_can_be_set(load):
    site = load('name = "ward 3"\nearlier_low = 12')
    assert (site.earlier_low.value, site.cite(site.earlier_low)) == (12, OF_WARD_3)
    assert (BASE.earlier_low.value, BASE.cite(BASE.earlier_low)) == (24, OURS)


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ('near_low_line = {value = 100, unit = "mg/dL", comparison = "above"}', "'below', 'at or below'"),
        ('near_low_line = {value = 70, unit = "mg/dL", comparison = "below"}', "does not lie above the hold line"),
        ('near_low_line = {value = 301, unit = "mg/dL", comparison = "below"}', "no reason can allow it"),
        (
            'near_low_line = {value = 120, unit = "mg/dL", comparison = "below"}\n'
            'report_line = {value = 120, unit = "mg/dL", comparison = "above"}',
            "no reason can allow it",
        ),
    ],
)
def test_a_near_low_line_that_cannot_be(load, line, words):
    (fault,) = faults_of(load, f'name = "ward 3"\n{line}')
    assert words in fault


def test_sites_are_told_apart_although_their_number_is_worked_out_once():
    other = replace(BASE, recheck=replace(BASE.recheck, value=10))
    assert other != BASE
    assert {BASE: 1, other: 2}[replace(BASE)] == 1


def test_the_day_of_the_teaching_ward():
    assert [(meal.name, meal.at, meal.grams, meal.eaten) for meal in BASE.meals] == [
        ("breakfast", "08:00", 60, True),
        ("lunch", "12:00", 60, True),
        ("supper", "18:00", 60, True),
    ]
    assert BASE.rounds.at == facts().rounds["ward"].at
    assert {"08:00", "18:00", "21:30"} <= set(BASE.rounds.at)  # somebody is at the trays, and at bedtime
    assert (BASE.bedtime.at, BASE.meal_slack.value) == (("21:30",), 15)
    assert {BASE.cite(each) for each in (BASE.rounds, BASE.bedtime)} == {OURS}


def test_the_wards_day_can_be_set(load):
    site = load(
        """
        name = "ward 3"
        rounds = ["06:00", "12:30", "22:00"]
        bedtime = "22:00"
        meal_slack = 10
        [[meals]]
        name = "breakfast"
        at = "7:15"
        [[meals]]
        name = "supper"
        at = "17:15"
        grams = 45
        [[meals]]
        name = "late snack"
        at = "21:45"
        """
    )
    assert (site.rounds.at, site.bedtime.at) == (("06:00", "12:30", "22:00"), ("22:00",))
    assert site.meal_slack.value == 10
    assert [(meal.name, meal.clock.face, meal.grams) for meal in site.meals] == [
        ("breakfast", "07:15", 60),
        ("supper", "17:15", 45),
        ("late snack", "21:45", 60),
    ]
    assert [site.cite(each) for each in (site.rounds, site.bedtime, site.meal_slack)] == [OF_WARD_3] * 3
    assert site.rounds.note == ""


def test_a_meal_of_a_known_name_keeps_what_an_order_may_call_it(load):
    site = load('name = "ward 3"\nmeals = [{name = "supper", at = "17:00"}, {name = "late snack", at = "21:00"}]')
    assert [meal.also_called for meal in site.meals] == [BASE.meals[2].also_called, ()]
    order = read_order("regular insulin 8 units and NPH insulin 20 units subcut 30 minutes before the evening meal")
    plan = day_plan(order, "16:30", site=site)
    assert (plan.meal.meal, plan.meals[1].meal) == site.meals


def test_every_fault_of_the_wards_day_is_listed_at_once(load):
    text = """
        name = "ward 3"
        rounds = ["06:00", "noon", "25:00"]
        bedtime = "late"
        meal_slack = 0
        [[meals]]
        name = "breakfast"
        at = "eight"
        [[meals]]
        name = "lunch"
        at = "12:00"
        grams = -5
        """
    assert places_of(load, text) == [
        (3, "rounds"),
        (3, "rounds"),
        (4, "bedtime"),
        (5, "meal_slack"),
        (8, "meals.0.at"),
        (12, "meals.1.grams"),
    ]
    assert ["24-hour clock" in fault for fault in faults_of(load, text)] == [True, True, True, False, True, False]


@pytest.mark.parametrize(
    ("meals", "words"),
    [
        ("[]", "no meal is listed"),
        (
            '[{name = "tea", at = "8:00"}, {name = "juice", at = "08:00"}]',
            "two meals have the same time. Give each meal a time of its own.",
        ),
        (
            '[{name = "tea", at = "08:00"}, {name = "tea", at = "16:00"}]',
            "two meals have the same name. Give each meal a name of its own.",
        ),
    ],
)
def test_meals_that_make_no_day(load, meals, words):
    (fault,) = faults_of(load, f'name = "ward 3"\nmeals = {meals}')
    assert fault.startswith("my_site.toml, line 2, meals: ")
    assert words in fault


@pytest.mark.parametrize(
    ("line", "where"),
    [
        ('meals = [{name = "tea"}]', "meals.0.at"),
        ('meals = [{name = "tea", at = "16:00", eaten = false}]', "meals.0.eaten"),
        ('meals = [{name = "tea", at = "16:00", grams = "60"}]', "meals.0.grams"),
        ('rounds = "06:00"', "rounds"),
        ('bedtime = ["22:00"]', "bedtime"),
        ("waking = 6", "waking"),
        ('bedtime = "07:00"', "bedtime"),  # to 06:30: no day is left
        ('waking = "21:30"', "waking"),
        ('waking = "02:00"', "waking"),  # a night of four and a half hours
        ('bedtime = "18:00"', "bedtime"),  # one of twelve and a half
        ('rounds = ["07:00"]', "rounds"),
        ('meals = [{name = "supper", at = "22:30"}]', "meals"),
        ('meals = [{name = "supper", at = "04:00"}]', "meals"),
        ('meals = [{name = "meal 2", at = "16:00"}]', "meals.0.name"),
        ('meals = [{name = "Bedtime", at = "16:00"}]', "meals.0.name"),
        ('meals = [{name = "tea", at = "16:00", grams = 160}]', "meals"),
    ],
)
def test_the_wards_day_written_wrongly(load, line, where):
    assert places_of(load, f'name = "ward 3"\n{line}') == [(2, where)]


@pytest.mark.parametrize("line", ['rounds = ["07:00"]', 'meals = [{name = "late tea", at = "23:00", grams = 200}]'])
def test_what_is_unusual_in_the_wards_day_is_taken_with_a_reason(load, line):
    key = line.partition(" ")[0]
    assert load(f'name = "ward 3"\n{line}\nreasons = {{{key} = "{REASON}"}}').reasons == {key: REASON}


def test_an_empty_list_of_rounds_is_told_how_a_round_is_written(load):
    assert faults_of(load, 'name = "ward 3"\nrounds = []') == [
        'my_site.toml, line 2, rounds: no round is listed. Write at least one time, as in ["07:00"].'
    ]


@pytest.mark.parametrize("hours", [("02:30", "07:30"), ("20:00", "08:00")])
def test_the_shortest_and_the_longest_night_are_taken(load, hours):
    bedtime, waking = hours
    site = load(f'name = "ward 3"\nbedtime = "{bedtime}"\nwaking = "{waking}"')
    assert (site.bedtime.at, site.waking.at) == ((bedtime,), (waking,))


def test_rounds_are_kept_each_once_and_in_order_or_refused(load):
    # so says the record of clock times
    with suppress(SiteError):
        assert load('name = "ward 3"\nrounds = ["21:30", "7:00", "07:00"]').rounds.at == ("07:00", "21:30")


@pytest.mark.parametrize(
    ("site", "last_low", "first_not_low"),
    [(0, "69 mg/dL", "70 mg/dL"), (1, "70 mg/dL", "71 mg/dL"), (2, "3.8 mmol/L", "3.9 mmol/L"),
     (3, "3.9 mmol/L", "4.0 mmol/L"), (4, "69 mg/dL", "70 mg/dL")],
)  # fmt: skip
def test_the_readings_beside_the_hold_line_are_those_the_wards_meter_shows(site, last_low, first_not_low):
    ward = example_sites()[site]
    assert (str(ward.last_low()), str(ward.first_not_low())) == (last_low, first_not_low)
    assert crosses(ward.last_low(), ward.hold_line)
    assert not crosses(ward.first_not_low(), ward.hold_line)


def test_the_readings_beside_a_high_line_lie_the_other_way_round():
    high, below = BASE.readings_beside(BASE.report_line)
    assert (str(high), str(below)) == ("301 mg/dL", "300 mg/dL")
    hill = example_sites()[3]
    assert [str(one) for one in hill.readings_beside(hill.report_line)] == ["15.0 mmol/L", "14.9 mmol/L"]
    in_the_other_unit = replace(BASE, hold_line=hill.hold_line)
    assert [str(in_the_other_unit.last_low()), str(in_the_other_unit.first_not_low())] == ["71 mg/dL", "72 mg/dL"]
