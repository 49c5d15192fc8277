"""The walk through a low, pressed from Python."""

from html import unescape

import pytest

from mixlab.panels import treat_low
from mixlab.quantities import Glucose
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
    press(panel, "15 g by mouth", "tell nurse in charge", "wait 15 min")
    panel.reading.value, panel.signs.value = "66", "none"
    press(panel, "measure")
    assert last(panel).decision.choice == "hold and treat"
    press(panel, "15 g by mouth", "wait 15 min")
    panel.reading.value, panel.signs.value = "92", "none"
    press(panel, "measure")
    assert last(panel).decision.choice == "hold and ask"
    press(panel, "food", "tell prescriber: “give it”")
    assert last(panel).decision.choice == "give and report"
    assert last(panel).minute == 30
    assert not any(moment.remark for moment in panel.moments)
    assert panel.record.value.count("<li>") == len(panel.moments) == 10
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
    assert len({type(event) for event in panel.events}) == 7
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


def test_undo_goes_back_to_how_the_patient_was_found_and_no_further(panel):
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


STARTS = {
    "sweating, trembling": ("61 mg/dL", "3.4 mmol/L", "due.fast-carbohydrate"),
    "drowsy": ("48 mg/dL", "2.7 mmol/L", "next_steps.treat-not-awake"),
    "unresponsive": ("LO", "LO", "next_steps.airway-first"),
    "fasting": ("65 mg/dL", "3.6 mmol/L", "due.treat-while-fasting"),
}


@pytest.mark.parametrize(("start", "shown"), STARTS.items(), ids=STARTS)
def test_the_start_of_the_walk_can_be_chosen_and_begins_anew(panel, start, shown):
    press(panel, "15 g by mouth")
    panel.set(start="unresponsive" if start != "unresponsive" else "fasting")
    assert panel.events == ()
    panel.set(start=start)
    here, there, due = shown
    assert (len(panel.moments), last(panel).decision.choice) == (
        1,
        "emergency" if start == "unresponsive" else "hold and treat",
    )
    assert due in last(panel).due.keys
    found = {"drowsy": "drowsiness", "fasting": "no signs, fasting"}.get(start, start)
    assert f"found with {here}, {found} →" in unescape(panel.record.value)
    assert dict(map(reversed, panel.start.options))[start] == f"{here}, {start}"
    assert dict(map(reversed, treat_low(site=example_sites()[3]).start.options))[start] == f"{there}, {start}"
    press(panel, "wait 5 min", "undo", "undo")
    assert panel.start.value == panel.state.start == start  # undo keeps how the patient was found


def test_a_patient_of_one_s_own_is_a_start_too_and_nobody_is_offered_twice():
    panel = treat_low(Observation(glucose="LO", signs=None, eating=True))
    assert panel.start.options[0] == ("LO, as given", "as given")
    panel.set(start="fasting")
    panel.set(start="as given")
    assert last(panel).observation.signs is None
    assert len(treat_low().start.options) == len(STARTS)


def test_what_was_tried_with_another_start_is_put_back(panel):
    press(panel, "15 g by mouth")
    with panel.trying(start="drowsy"):
        press(panel, "call for help")
    assert (panel.start.value, len(panel.events), last(panel).minute) == ("sweating, trembling", 1, 0)


def test_nobody_told_is_remarked_and_the_nurse_in_charge_has_a_button(panel):
    press(panel, "15 g by mouth", "wait 15 min")
    panel.reading.value, panel.signs.value = "94", "none"
    press(panel, "measure")
    assert "Nobody was told while the low was first treated" in panel.record.value
    press(panel, "undo", "tell nurse in charge")
    panel.reading.value, panel.signs.value = "94", "none"
    press(panel, "measure")
    assert "Not right:" not in panel.record.value
    assert "nurse in charge told" in panel.record.value


def test_after_three_treatments_by_mouth_the_panel_offers_none():
    panel = treat_low()
    for _ in range(3):
        assert "15 g" in unescape(panel.sheet.value)
        press(panel, "15 g by mouth", "tell nurse in charge", "wait 15 min")
        panel.reading.value, panel.signs.value = "66", "none"
        press(panel, "measure")
    assert "15 g" not in panel.sheet.value + str(last(panel).due)
    assert "glucagon or intravenous dextrose" in panel.sheet.value
    assert "glucagon or intravenous dextrose" in str(last(panel).due)
    press(panel, "15 g by mouth")
    assert "Treatment 4 by mouth" in panel.record.value


def test_the_amount_for_a_serious_low_has_a_button_of_its_own_and_less_is_remarked():
    panel = treat_low(Observation(glucose=Glucose(48, "mg/dL"), signs=(), eating=True, can_swallow=True))
    press(panel, "call for help", "15 g by mouth")
    assert [remark.key for remark in panel.moments[-1].remarks] == ["too-little-in-a-serious-low"]
    press(panel, "undo", "20 g by mouth")
    assert panel.moments[-1].remarks == ()
    assert "due.do-not-wait" in panel.moments[-1].due.keys
