"""The walk through a low, pressed from Python."""

from html import unescape

import pytest

from mixlab.panels import treat_low
from mixlab.ward.observation import Observation
from mixlab.ward.site.in_force import example_sites


@pytest.fixture
def panel():
    return treat_low()


def press(panel, *names):
    for name in names:
        panel.buttons[name].click()


def last(panel):
    return panel.moments[-1]


def test_the_taught_way_ends_with_the_dose_given_and_no_remark(panel):
    assert last(panel).decision.choice == "hold and treat"
    press(panel, "15 g by mouth", "wait 15 min")
    panel.reading.value, panel.signs.value = "66", "none"
    press(panel, "measure")
    assert last(panel).decision.choice == "hold and treat"
    press(panel, "15 g by mouth", "wait 15 min")
    panel.reading.value, panel.signs.value = "92", "none"
    press(panel, "measure")
    assert last(panel).decision.choice == "hold and ask"
    press(panel, "food", "tell prescriber: “give it”")
    assert last(panel).decision.choice == "give"
    assert last(panel).minute == 30
    assert not any(moment.remark for moment in panel.moments)
    assert panel.record.value.count("<li>") == len(panel.moments) == 9
    assert "minute 30: measured 92 mg/dL, no signs" in panel.record.value


def test_what_was_not_right_is_said_with_its_rule(panel):
    press(panel, "wait 5 min", "15 g by mouth", "wait 5 min")
    panel.reading.value = "64"
    press(panel, "measure")
    assert panel.record.value.count("Not right:") == 2
    assert "before it can have worked" in panel.record.value
    assert "15–15 rule" in panel.record.value


def test_the_signs_box_and_every_button_do_what_they_say(panel):
    for name in panel.buttons:
        if name not in ("measure", "undo"):
            press(panel, name)
    assert len(panel.events) == len(panel.buttons) - 2
    assert len({type(event) for event in panel.events}) == 6
    panel.reading.value, panel.signs.value = "90", "sweating, trembling"
    press(panel, "measure")
    assert last(panel).observation.signs == ("sweating", "trembling")
    assert last(panel).decision.choice == "check first"


def test_nobody_who_was_not_looked_at_is_without_signs(panel):
    press(panel, "15 g by mouth", "wait 15 min")
    panel.reading.value, panel.signs.value = "88", "none"
    press(panel, "measure")
    assert last(panel).observation.signs == ()
    assert panel.signs.value == "not looked for"
    panel.reading.value = "90"
    press(panel, "measure")
    assert last(panel).observation.signs is None
    assert last(panel).decision.choice == "check first"
    assert "nobody looked for signs" in panel.record.value


def test_who_was_unresponsive_can_wake_up():
    panel = treat_low(Observation(glucose="LO", signs=("unresponsive",), eating=True, alertness="unresponsive"))
    press(panel, "call for help", "not by mouth, by protocol", "wait 15 min")
    panel.reading.value, panel.signs.value = "96", "none"
    press(panel, "measure")
    assert last(panel).observation.alertness == "unresponsive"
    panel.reading.value, panel.signs.value = "97", "none"
    panel.alertness.value, panel.swallow.value = "awake", "safe"
    press(panel, "measure")
    assert (last(panel).observation.alertness, last(panel).observation.can_swallow) == ("awake", True)
    assert panel.alertness.value == "as before"


@pytest.mark.parametrize("typed", ["", "5.4", "abc", "-1"])
def test_a_reading_that_cannot_be_is_refused_and_kept(panel, typed):
    press(panel, "15 g by mouth")
    panel.reading.value = typed
    press(panel, "measure")
    assert panel.message
    assert panel.message in unescape(panel._notice.value)
    assert len(panel.events) == 1
    assert panel.reading.value == typed
    press(panel, "wait 15 min")
    assert panel.message == ""


def test_picture_and_sheet_follow_and_say_what_turned(panel):
    press(panel, "15 g by mouth", "wait 15 min")
    panel.reading.value, panel.signs.value = "92", "none"
    press(panel, "measure")
    assert "Before the last change: HOLD AND TREAT" in panel.picture.alt
    assert all(str(step) in unescape(panel.sheet.value) for step in last(panel).decision.next_steps)


def test_undo_to_the_start_and_no_further(panel):
    press(panel, "15 g by mouth", "wait 15 min", "undo")
    assert len(panel.events) == 1
    press(panel, "undo", "undo")
    assert panel.events == ()


def test_it_follows_the_site_and_the_patient():
    hill = example_sites()[3]
    panel = treat_low(
        Observation(glucose="LO", signs=("unresponsive",), eating=None, alertness="unresponsive"), site=hill
    )
    assert "20 g by mouth" in panel.buttons
    assert "wait 10 min" in panel.buttons
    press(panel, "wait 10 min")
    assert last(panel).minute == 10
    press(panel, "20 g by mouth")
    assert "By mouth, although the patient is not fully awake" in str(last(panel).remark)
    assert "found with LO, unresponsive" in panel.record.value


def test_signs_that_come_later_can_be_entered_and_a_number_is_typed_anew(panel):
    press(panel, "15 g by mouth", "wait 15 min")
    panel.reading.value, panel.signs.value = "65", "confusion"
    press(panel, "measure")
    assert last(panel).observation.signs == ("confusion",)
    assert "measured 65 mg/dL, confusion" in panel.record.value
    press(panel, "wait 15 min", "measure")
    assert "There is no reading" in panel.message
    assert len(panel.events) == 4
