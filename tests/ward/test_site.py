"""A site file: what it may leave out, and every fault named at once."""

from dataclasses import replace

import pytest
from refused_sites import MMOL, line

from mixlab import day_plan, read_order
from mixlab.facts.reading import the_facts as facts
from mixlab.quantities import Glucose
from mixlab.ward.insulin import insulins
from mixlab.ward.site.glucose_lines import crosses, line_text
from mixlab.ward.site.in_force import example_sites
from mixlab.ward.site.record import teaching_site
from mixlab.ward.site.safety import check_site
from mixlab.ward.syringe import syringes
from mixlab.words import sentence

BASE = teaching_site()
OF_WARD_3 = sentence("policy of {site}", site="ward 3")
OURS = sentence("our assumption, no source")


def test_what_a_file_leaves_out_stays_as_on_the_teaching_site(load):
    assert load("") == replace(BASE, name="ward 3")
    site = load('recheck = 10\nstock = ["0.5-one"]')
    assert site.recheck.value == 10
    assert site.stock == (syringes()["0.5-one"],)
    assert (site.hold_line, site.carbohydrate) == (BASE.hold_line, BASE.carbohydrate)


def test_a_line_of_the_file_is_cited_as_local_policy(load):
    site = load("recheck = 10")
    assert site.cite(site.recheck) == OF_WARD_3
    assert site.cite(site.reading_age) == sentence("common practice, no source")
    assert "2018" in str(site.cite(site.hold_line))


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
    assert shelf["regular"].times_by(()) == shelf["regular"].row.taught_times


def test_the_ends_of_the_meter_are_written_in_the_sites_own_unit(load):
    site = load(f"{MMOL}{line('hold_line', 3.9, 'mmol/L')}\nmeter_low = 1.1\nmeter_high = 33.3")
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
    near = {site.name: (str(line_text(site.near_low_line)), site.near_low_answer.value) for site in example_sites()}
    assert near == {  # 15 mg/dL, 0.83 mmol/L, above the hold line: ISO 15197:2013 (read), added by us
        "the teaching ward": ("below 85 mg/dL", "hold and ask"),
        "the harbour ward": ("below 85 mg/dL", "hold and ask"),
        "the garden ward": ("below 4.7 mmol/L", "hold and ask"),
        "the hill ward": ("below 4.8 mmol/L", "hold and ask"),
        "the orchard house": ("at or below 100 mg/dL", "give and report"),
    }


@pytest.mark.parametrize(("hold", "near"), [(65, 80), (70, 85), (80, 95), (100, 115)])
def test_the_line_near_a_low_follows_the_hold_line_where_a_ward_leaves_it_alone(hold, near):
    assert replace(BASE, hold_line=replace(BASE.hold_line, value=hold)).near_low_line.value == near
    own = replace(BASE, near_low_line=replace(BASE.near_low_line, value=120, source="local-policy", note=sentence("")))
    assert replace(own, hold_line=replace(BASE.hold_line, value=hold)).near_low_line.value == 120


def test_the_urgent_line_left_as_taught_never_lies_below_the_report_line_and_stands_in_its_unit():
    urgent = {site.name: str(line_text(site.urgent_high_line)) for site in example_sites()}
    assert set(urgent.values()) == {"above 400 mg/dL", "above 22.2 mmol/L"}
    for value, comparison, urgent_line in (
        (350, "above", "above 400 mg/dL"),
        (400, "at or above", "at or above 400 mg/dL"),
        (450, "above", "above 450 mg/dL"),
    ):
        high = replace(BASE, report_line=replace(BASE.report_line, value=value, comparison=comparison))
        assert str(line_text(high.urgent_high_line)) == urgent_line
        again = replace(high, report_line=BASE.report_line)
        assert str(line_text(again.urgent_high_line)) == "above 400 mg/dL"
        assert [fault.key for fault in check_site(high)] == (["report_line"] if value == 450 else [])


def test_the_amount_for_a_serious_low_is_never_less_than_that_for_any_low(load):
    assert BASE.serious_carbohydrate.value == 20
    for written, grams in (("carbohydrate = 25", 25), ("carbohydrate = 10", 20), ("serious_carbohydrate = 30", 30)):
        assert load(written).serious_carbohydrate.value == grams


def test_the_near_low_line_and_the_dose_gap_can_be_set(load):
    site = load('near_low_line = {value = 100, unit = "mg/dL", comparison = "below"}\ndose_gap = 6')
    assert str(line_text(site.near_low_line)) == "below 100 mg/dL"
    assert site.cite(site.near_low_line) == OF_WARD_3
    assert (site.dose_gap.value, site.cite(site.dose_gap)) == (6, OF_WARD_3)
    assert (str(line_text(BASE.near_low_line)), BASE.cite(BASE.dose_gap)) == ("below 85 mg/dL", OURS)
    assert (BASE.earlier_low.value, BASE.cite(BASE.earlier_low)) == (24, OURS)


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
    site = load('meals = [{name = "supper", at = "17:00"}, {name = "late snack", at = "21:00"}]')
    assert [meal.also_called for meal in site.meals] == [BASE.meals[2].also_called, ()]
    order = read_order("regular insulin 8 units and NPH insulin 20 units subcut 30 minutes before the evening meal")
    plan = day_plan(order, "16:30", site=site)
    assert (plan.meal.meal, plan.meals[1].meal) == site.meals


def test_rounds_are_kept_each_once_and_in_order(load):
    assert load('rounds = ["21:30", "7:00", "07:00"]').rounds.at == ("07:00", "21:30")


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
