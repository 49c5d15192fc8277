"""The panel on when insulins act, driven from Python as a learner drives it from the page."""

import math
from html import unescape

import pytest

from mixlab.facts.reading import the_facts
from mixlab.panels import when_it_acts
from mixlab.panels.action.words import (
    ACTION_PICTURES,
    CLEAR,
    CLOUDY,
    CURVES,
    DAY,
    FAN_HOURS,
    FANS,
    HOURS,
    NO_FAN,
    slips,
)
from mixlab.ward.site.in_force import example_sites

LISPRO = "insulin lispro 8 units and NPH insulin 20 units subcut 10 minutes before breakfast"


@pytest.fixture
def panel():
    return when_it_acts()


@pytest.fixture
def day():
    return when_it_acts(shown=DAY)


def alt(panel):
    return panel.pictures[panel.state.shown].alt


def displayed(part):
    return part.layout.display != "none"


def test_it_begins_with_the_curves_and_hides_the_sum(panel):
    assert panel.message == ""
    assert "Model, regular insulin 8 units" in alt(panel)
    assert "Model, both together" not in alt(panel)
    assert "Where will the highest point be?" in alt(panel)
    assert panel.show_sum.disabled


def test_the_sum_is_shown_only_after_a_guess_and_hidden_for_another(panel):
    panel.guess.value = 8.0
    assert not panel.show_sum.disabled
    assert panel.verdict == ""
    panel.show_sum.click()
    assert panel.verdict == (
        "You said 8 h; by the model the sum is strongest 2.7 h after the injection: one highest point, then a shoulder."
    )
    assert panel.verdict in panel._verdict.value
    assert panel.show_sum.description == "Hide the sum"
    panel.show_sum.click()
    assert panel.verdict == panel._verdict.value == ""


def test_a_sum_without_a_shoulder_is_not_said_to_have_one(panel):
    panel.guess.value, panel.order_text.value = 8.0, "regular insulin 30 units and NPH insulin 2 units before breakfast"
    panel.show_sum.click()
    assert panel.verdict.endswith("one highest point, no shoulder after it.")


def test_a_pair_without_a_model_refuses_what_only_a_model_can_show(panel):
    panel.order_text.value = LISPRO
    for control, value, back in (("slip", "the two doses swapped", "as ordered"), ("body_site", "thigh", "abdomen")):
        getattr(panel, control).value = value
        assert "cannot be shown" in panel.message
        assert panel.pictures[CURVES].stale
        getattr(panel, control).value = back
        assert panel.message == ""


def test_only_the_chosen_picture_and_its_controls_are_seen(panel):
    for shown in ACTION_PICTURES:
        panel.shown.value = shown
        seen = [picture for picture in dict.fromkeys(panel.pictures.values()) if displayed(picture)]
        assert seen == [panel.pictures[shown]]
        assert displayed(panel._guess_row) is (shown == CURVES)
        assert displayed(panel._meal_row) is displayed(panel._need_row) is displayed(panel.sheet) is (shown == DAY)
        assert displayed(panel._fan_row) is (shown != DAY)


def test_who_says_what_follows_the_choice_of_insulin(panel):
    panel.shown.value = CLEAR
    assert "Woodworth" in alt(panel)
    assert "10 units" in alt(panel)
    panel.shown.value = CLOUDY
    assert "Lepore" in alt(panel)
    panel.cloudy_units.value = 30
    assert "30 units" in alt(panel)


def test_a_clock_time_by_slider_or_typed_between_its_places(day):
    day.given_slider.value = "07:45"
    assert day.given_text.value == "07:45"
    assert str(day.plan.cloudy.strongest) == "11:45 to 17:45"
    day.given_text.value = "7:40"
    assert day.given_slider.value == "07:45"
    assert day.given_text.value == "7:40"
    assert str(day.plan.given_at) == "07:40"


def test_a_meal_moved_skipped_and_put_back(day):
    lunch = day.meals["lunch"]
    lunch.slider.value = "13:30"
    assert lunch.text.value == "13:30"
    assert [str(one.at) for one in day.plan.meals] == ["08:00", "13:30", "18:00"]
    assert [clash.key for clash in day.plan.clashes] == ["later meal late"]
    lunch.eaten.value = False
    assert [clash.key for clash in day.plan.clashes] == ["later meal not eaten"]
    assert "Lunch at 13:30 is not eaten" in day.sheet.value
    assert "lunch" in alt(day).lower()
    lunch.eaten.value, lunch.text.value = True, "12:00"
    assert "Nothing found by the taught times. Check on the patient all the same." in day.sheet.value


def test_the_sheet_lists_every_look_with_whose_rule_it_is(day):
    assert len(day.plan.visits) == 7
    for words in (*(look.say for look in day.plan.visits), *(words for words, _ in day.plan.standing)):
        assert str(words) in unescape(day.sheet.value)
    plan, cited = day.plan, day.sheet.value[day.sheet.value.index("Whose numbers") :]
    numbers = (
        plan.site.meal_lead,
        plan.site.waiting,
        plan.clear.row,
        plan.cloudy.row,
        plan.site.rounds,
        plan.site.waking,
    )
    for fact in (*numbers, plan.site.meal_slack, *day._view.cover.basis, the_facts().absorption["nph"]):
        assert str(plan.site.cite(fact)) in unescape(cited)
    assert day.sheet.value.count("common practice, no source") >= 7


@pytest.mark.parametrize("slip", list(slips()))
def test_every_slip_is_named_and_the_ordered_dose_stands_beside_it(panel, slip):
    panel.slip.value = slip
    assert panel.message == ""
    assert (panel._view.beside is None) is (slip == "as ordered")
    assert str(panel._view.curves.injection.words) in alt(panel) or slip == "as ordered"


def test_place_and_spell_change_the_curves_and_say_so(panel):
    usual = panel._view.curves.peak("clear")
    panel.body_site.value = "thigh"
    assert panel._view.beside is not None
    later = panel._view.curves.peak("clear")
    assert later == pytest.approx(2.86, abs=0.02)  # computed outside this package
    panel.spell.value = "leg-exercise"
    assert panel._view.curves.peak("clear") == pytest.approx(1.58, abs=0.03)  # computed outside this package
    assert "leg exercise" in alt(panel).lower()
    panel.spell_start.value = 120
    assert panel._view.curves.spell.start_minutes == 120
    panel.body_site.value, panel.spell.value = "abdomen", "sauna"
    assert panel._view.beside is not None
    panel.fan.value, panel.spell_start.value = "day to day", 33  # between two steps of five minutes
    assert panel.message == ""
    panel.spell.value, panel.fan.value = "nothing", NO_FAN
    assert panel._view.curves.peak("clear") == usual
    assert panel._view.beside is None


def test_a_slip_and_a_spell_are_the_first_things_that_do_not_fit(day):
    day.slip.value = "the two doses swapped"
    assert day.plan.clashes[0].key == "not as ordered"
    assert "20 units of regular insulin" in day.sheet.value
    day.slip.value, day.body_site.value, day.spell.value = "as ordered", "thigh", "leg-exercise"
    assert [clash.key for clash in day.plan.clashes] == ["acts sooner", "exercise"]
    day.body_site.value = "abdomen"  # where exercise of the legs moves no insulin, but uses glucose
    assert [clash.key for clash in day.plan.clashes] == ["exercise"]


@pytest.mark.parametrize("fan", FANS)
def test_the_fan_opens_and_closes(panel, fan):
    panel.fan.value = fan
    assert (panel._view.fan is None) is (fan == NO_FAN)
    assert ("90 of 100" in alt(panel)) is (fan != NO_FAN)
    panel.shown.value = DAY
    assert panel._view.fan is None


def test_the_fan_is_as_wide_as_asked_and_goes_where_the_curves_go(panel):
    def spread():
        low, high = panel._view.fan.band("cloudy", 5, 95)
        return (high - low).max()

    panel.fan.value = "day to day"
    narrow = spread()
    panel.fan.value = "wide"
    assert spread() > 1.3 * narrow
    (middle,) = panel._view.fan.band("clear", 50)
    panel.body_site.value = "thigh"
    (later,) = panel._view.fan.band("clear", 50)
    assert FAN_HOURS[later.argmax()] > FAN_HOURS[middle.argmax()] + 0.4  # the model: 2.9 instead of 2.2 h
    assert later.max() < middle.max()


def test_the_fan_s_hours_run_evenly_enough_over_the_day():
    assert (FAN_HOURS[0], FAN_HOURS[-1], HOURS[-1]) == (0, 24, 24)
    assert ((FAN_HOURS[1:] - FAN_HOURS[:-1]) > 0).all()
    assert (FAN_HOURS[1:] - FAN_HOURS[:-1]).max() <= 1


def test_another_handbook_moves_the_taught_times_and_not_the_model(day):
    model = day.plan.cloudy.model_strongest
    assert str(day.plan.cloudy.strongest) == "11:30 to 17:30"  # two handbooks together
    day.row.value = "niddk-2009"
    assert str(day.plan.cloudy.strongest) == "15:30"
    assert "Osteopathic" not in alt(day)
    day.row.value = "afp-2009"
    assert str(day.plan.cloudy.strongest) == "11:30 to 15:30"
    day.row.value = "taught here"
    assert day.plan.cloudy.model_strongest == model
    assert "Osteopathic" in alt(day)


def test_the_need_that_is_assumed_can_be_changed(day):
    before = day._view.cover.uncovered(0, 24)
    day.basal.value = 1.0
    assert day._view.cover.uncovered(0, 24) < before


def test_weight_moves_start_and_end_and_no_peak(panel):
    light = panel._view.curves
    panel.weight.value = 100
    heavy = panel._view.curves
    assert heavy.onset() > light.onset()
    assert heavy.peak() == light.peak()


def test_an_insulin_without_a_model_still_has_taught_times(day):
    day.order_text.value = LISPRO
    assert day.message == ""
    assert day._view.curves is day._view.cover is day._view.fan is None
    assert "insulin lispro" in alt(day)
    for shown in ACTION_PICTURES:
        day.shown.value = shown
        assert any(words in alt(day) for words in ("No model for this pair", "draws no curve", "No model curve"))


def test_a_site_of_its_own_with_nobody_at_night():
    hill = next(site for site in example_sites() if site.name == "the hill ward")
    order = "regular insulin 8 units and NPH insulin 20 units 30 minutes before supper"
    panel = when_it_acts(order, "17:30", hill, DAY)
    assert [clash.key for clash in panel.plan.clashes] == ["nobody at peak", "nobody at peak"]
    assert "nobody is due to look then" in panel.sheet.value


@pytest.mark.parametrize(
    ("control", "value", "sentence"),
    [
        ("weight", -70, "Enter the body weight in kg, above 0"),
        ("weight", 0, "Enter the body weight in kg, above 0"),
        ("weight", math.nan, "Enter the body weight in kg, above 0"),
        ("given_text", "half past", "Write it on the 24-hour clock"),
        ("given_text", "25:00", "Write it on the 24-hour clock"),
        ("given_text", "08:20", "lies before the dose"),
        ("order_text", "regular insulin 8U and NPH insulin 20 units", "U"),
    ],
)
def test_what_cannot_be_is_said_kept_and_marked(day, control, value, sentence):
    shown = alt(day)
    getattr(day, control).value = value
    assert sentence in day.message
    assert day.message[:20] in unescape(day._notice.value)
    assert all(picture.stale for picture in day.pictures.values())
    assert day.sheet.value == ""
    kept = getattr(day, control).value
    assert kept == value or (isinstance(value, float) and math.isnan(kept))
    assert alt(day) == shown


@pytest.mark.parametrize(
    ("meal", "at", "sentence"),
    [("breakfast", "07:00", "lies before the dose"), ("lunch", "08:00", "both at"), ("lunch", "noon", "24-hour clock")],
)
def test_meals_that_cannot_be_are_refused_and_can_be_put_right(day, meal, at, sentence):
    usual = day.meals[meal].text.value
    day.meals[meal].text.value = at
    assert sentence in day.message
    assert day.pictures[DAY].stale
    assert day.meals[meal].text.value == at
    day.shown.value = CURVES
    day.shown.value = DAY
    assert day.meals[meal].text.value == at  # it stays, and stays refused, until it is put right
    assert sentence in day.message
    day.meals[meal].text.value = usual
    assert day.message == ""
    assert not day.pictures[DAY].stale
    assert len(day.plan.meals) == 3
    assert "When to check on the patient" in day.sheet.value


def test_a_change_of_picture_while_refused_shows_nothing_new(day):
    day.weight.value = -1
    day.shown.value = CURVES
    assert day.pictures[CURVES].stale
    assert displayed(day.pictures[CURVES])
    day.weight.value = 70
    assert not day.pictures[CURVES].stale


def test_a_step_travels_in_one_message(panel, monkeypatch):
    sent = []
    monkeypatch.setattr(type(panel._frame), "send", lambda self, content, *more: sent.append(content))
    panel.clear_units.value = 9
    assert len(sent) == 1
    (content,) = sent
    assert list(content["news"]) == [panel.pictures[CURVES].model_id]


@pytest.mark.parametrize("shown", [CLOUDY, DAY])
def test_a_picture_chosen_while_an_order_is_refused_shows_the_last_good_one_of_what_was_chosen(shown):
    panel = when_it_acts()
    panel.set(clear=14, cloudy=26)
    good = when_it_acts("regular insulin 14 units and NPH insulin 26 units subcut 30 minutes before breakfast")
    good.set(shown=shown)
    panel.set(order="nothing of the kind")
    panel.set(shown=shown)
    assert panel.pictures[shown].stale
    assert panel.pictures[shown].alt == good.pictures[shown].alt


def test_trying_leaves_no_picture_of_what_was_tried():
    panel, untouched = when_it_acts(), when_it_acts()
    with panel.trying(clear=33, cloudy=7):
        panel.set(shown=DAY)
    for each in (panel, untouched):
        each.set(order="nothing of the kind")
        each.set(shown=DAY)
    assert panel.pictures[DAY].alt == untouched.pictures[DAY].alt
