"""The bedside panel, driven from Python as a learner drives it from the page."""

import math
from dataclasses import replace
from html import unescape

import pytest

from mixlab.facts.reading import the_facts
from mixlab.panels import bedside
from mixlab.panels.decision.words import AGES, ALERT, ALONE, EARLIER, LAST_DOSE, MEALS, NO_READING, SWALLOW
from mixlab.quantities import Glucose
from mixlab.ward.site.in_force import example_sites

WARDS = {site.name: site for site in example_sites()}


@pytest.fixture
def panel():
    return bedside()


def answer(panel, number=0):
    return panel._seen[number].decision.choice


def test_it_begins_with_a_plain_give_under_the_teaching_site(panel):
    assert answer(panel) == "give"
    assert panel.site.value == "the teaching ward"
    assert "Decision: give" in panel.pictures[0].alt
    assert panel._columns[1].layout.display == "none"


def test_reading_and_slider_follow_each_other(panel):
    panel.slider.value = 64
    assert panel.reading.value == "64"
    assert answer(panel) == "hold and treat"
    panel.reading.value = " 131 "
    assert panel.slider.value == 131
    assert panel.reading.value == "131"
    assert answer(panel) == "give"


@pytest.mark.parametrize(
    ("typed", "choice", "slider"),
    [("LO", "hold and treat", 20), ("hi", "check first", 600), ("5.6 mmol/L", "give", 101)],
)
def test_what_the_meter_shows_instead_of_a_number_and_another_unit(panel, typed, choice, slider):
    panel.reading.value = typed
    assert panel.message == ""
    assert answer(panel) == choice
    assert panel.slider.value == slider


@pytest.mark.parametrize("typed", ["5.4", "", "-3", "nan", "inf", "99999", "ninety", "69.5", "5,4"])
def test_a_reading_that_cannot_be_is_asked_about_and_nothing_is_lost_or_decided(panel, typed):
    panel.meal.value = "not eating"
    panel.reading.value = typed
    assert panel.message
    assert panel.message in unescape(panel._notice.value)
    assert panel.pictures[0].stale
    assert all("Nothing is decided yet" in sheet.value for sheet in panel.sheets)
    assert panel.reading.value == typed
    panel.meal.value = "eating"  # still nothing is decided by the reading from before
    assert panel.pictures[0].stale
    assert panel.reading.value == typed
    panel.reading.value = "64"
    assert (panel.message, panel.pictures[0].stale) == ("", False)
    assert answer(panel) == "hold and treat"
    assert "Nothing is decided yet" not in panel.sheets[0].value
    assert panel._seen[0].observation.eating is True


def test_after_a_refused_reading_the_slider_decides_again(panel):
    panel.reading.value = "nonsense"
    panel.slider.value = 64
    assert (panel.message, panel.pictures[0].stale) == ("", False)
    assert panel.reading.value == "64"


def test_the_wrong_unit_is_asked_about_in_both_directions():
    panel = bedside()
    panel.reading.value = "5.4"
    assert "5.4 mmol/L" in panel.message
    panel = bedside(site=WARDS["the hill ward"])
    assert panel.reading.value == "6.7"
    panel.reading.value = "98"
    assert "98 mg/dL" in panel.message
    panel.reading.value = "98 mg/dL"
    assert panel.message == ""
    assert panel.slider.value == 5.4
    assert panel.reading.value == "98 mg/dL"


def test_after_a_refused_reading_another_ward_counts_in_its_own_unit(panel):
    panel.reading.value = "abc"
    panel.site.value = "the garden ward"
    assert panel.reading.value == "abc"
    assert panel.slider.options[-1] == 33.3
    panel.slider.value = 3.0
    assert panel.state.reading == Glucose(3.0, "mmol/L")
    assert answer(panel) == "hold and treat"


def test_a_reading_refused_on_one_ward_is_read_again_on_another(panel):
    panel.reading.value = "5.4"
    panel.site.value = "the garden ward"
    assert panel.message == ""
    assert panel.state.reading == Glucose(5.4, "mmol/L")
    assert answer(panel) == "give"


def test_a_ward_s_own_policy_is_not_replaced_by_an_example_of_its_name():
    teaching = WARDS["the teaching ward"]
    mine = replace(teaching, hold_line=replace(teaching.hold_line, value=100.0))
    panel = bedside(site=mine, beside=teaching)
    panel.reading.value = "90"
    assert [decision.choice for decision in panel.decisions] == ["hold and treat", "give"]
    panel.beside.value = ALONE
    assert [decision.choice for decision in panel.decisions] == ["hold and treat"]
    assert panel.site.value == "the teaching ward, as given"


CHANGES = [
    ("age", "61 min old", "check first"),
    ("age", "60 min old", "give"),
    ("age", "of unknown age", "check first"),
    ("age", NO_READING, "check first"),
    ("meal", "eating, tray late", "hold and ask"),
    ("meal", "not eating", "hold and ask"),
    ("meal", "vomiting", "hold and ask"),
    ("meal", "fasting for a test", "hold and ask"),
    ("meal", "not known", "check first"),
    ("alertness", "drowsy", "check first"),
    ("alertness", "unresponsive", "emergency"),
    ("alertness", "nobody has looked", "check first"),
    ("swallow", "safe", "give"),
    ("swallow", "not safe", "hold and ask"),
    ("last_dose", "2 h ago", "check first"),
    ("last_dose", "8 h ago", "give"),
    ("last_dose", "not known", "check first"),
    ("earlier", "one low, 2 h ago", "hold and ask"),
    ("earlier", "two lows, 2 and 5 h ago", "hold and ask"),
    ("looked", False, "check first"),
    ("changed", True, "give and report"),
]


@pytest.mark.parametrize(("control", "value", "choice"), CHANGES, ids=[f"{row[0]}: {row[1]}" for row in CHANGES])
def test_each_control_reaches_the_decision_and_its_rule_is_marked_as_new(panel, control, value, choice):
    getattr(panel, control).value = value
    assert answer(panel) == choice
    if choice != "give":
        assert panel._seen[0].new
        assert "Before the last change: GIVE" in panel.pictures[0].alt


def test_no_reading_hides_what_was_typed_until_there_is_one_again(panel):
    panel.age.value = NO_READING
    assert panel._seen[0].observation.glucose is None
    assert panel.reading.value == "120"
    panel.reading.value = "131"
    assert panel.age.value == "just taken"
    assert answer(panel) == "give"
    panel.age.value = NO_READING
    panel.slider.value = 64
    assert panel.age.value == "just taken"
    assert answer(panel) == "hold and treat"


def test_every_choice_of_every_control_is_decided(panel):
    for control, options in (
        ("age", [*AGES, NO_READING]), ("meal", MEALS), ("alertness", ALERT), ("swallow", SWALLOW), ("last_dose", LAST_DOSE), ("earlier", EARLIER),
    ):  # fmt: skip
        assert [value for _, value in getattr(panel, control).options] == list(options)
        for option in options:
            getattr(panel, control).value = option
            assert panel._seen[0].decision.because
    assert math.inf in LAST_DOSE.values()


def test_every_sign_of_the_facts_has_a_box(panel):
    assert list(panel.signs) == list(the_facts().signs)
    panel.signs["sweating"].value = True
    assert answer(panel) == "check first"
    panel.looked.value = False  # what is seen has been looked for
    assert panel.looked.value is True
    panel.signs["sweating"].value = False
    assert answer(panel) == "give"


def test_after_a_low_the_prescriber_s_word_gives_the_dose_back(panel):
    panel.earlier.value = "one low, 2 h ago"
    panel.says_give.value = True
    assert answer(panel) == "give and report"


def test_two_sites_decide_about_the_same_patient(panel):
    panel.beside.value = "the hill ward"
    panel.reading.value = "71"
    assert [answer(panel, at) for at in (0, 1)] == ["hold and ask", "hold and treat"]
    assert panel._columns[1].layout.display == "flex"
    assert "At the hill ward" in panel.pictures[1].alt
    panel.reading.value = "72"
    assert [answer(panel, at) for at in (0, 1)] == ["hold and ask", "hold and ask"]
    panel.beside.value = ALONE
    assert panel._columns[1].layout.display == "none"


def test_another_site_keeps_the_reading_as_it_was_read(panel):
    panel.reading.value = "71"
    panel.site.value = "the hill ward"
    assert panel.reading.value == "71 mg/dL"
    assert panel.slider.value == 3.9
    assert panel.state.reading == Glucose(71, "mg/dL")
    assert answer(panel) == "hold and treat"
    assert "Before the last change: HOLD AND ASK" in panel.pictures[0].alt
    panel.slider.value = 4.0
    assert panel.reading.value == "4.0"
    assert answer(panel) == "hold and ask"
    assert panel._frame.readings["mixlab-bedside-slider"][panel.slider.index] == "4 mmol/L"


def test_the_sheet_lists_steps_words_to_others_and_rules(panel):
    panel.reading.value = "62"
    decision = panel._seen[0].decision
    for part in (*decision.next_steps, *decision.tell, *decision.give_when):
        assert str(part) in unescape(panel.sheets[0].value)
    assert "American Diabetes Association" in panel.sheets[0].value


def test_a_step_is_one_message_for_pictures_words_and_typed_reading(panel):
    sent = []
    panel._frame.send = lambda content, buffers=None: sent.append(content)
    panel.slider.value = 64
    (message,) = sent
    assert set(message["news"]) == {picture.model_id for picture in panel.pictures}
    assert panel.reading.model_id in message["controls"]
    assert panel.sheets[0].model_id in message["controls"]
    assert message["aloud"] == "the teaching ward: hold and treat."


def test_a_ward_called_like_the_choice_of_none_stands_beside_another():
    namesake = replace(example_sites()[0], name="no second site")
    panel = bedside(beside=namesake)
    panel.set(site="the harbour ward")
    assert len(panel.decisions) == 2
