"""The drawn decision: where a reading stands, what is marked as new, and that moving equals drawing anew."""

import itertools
import math
from dataclasses import replace

import numpy as np
import pytest
from drawings import boxes, moves_as_drawn_anew, parts, words_outside, written

from mixlab.care.decision.deciding import decide
from mixlab.figures.decision.bedside import WIDTH, Seen, describe_bedside, draw_bedside, found_words
from mixlab.figures.decision.card import draw_card
from mixlab.figures.style import PAGE, ROOM
from mixlab.quantities import Glucose
from mixlab.ward.observation import Earlier, Observation
from mixlab.ward.order.reading import read_order
from mixlab.ward.site.glucose_lines import line_text
from mixlab.ward.site.in_force import example_sites
from mixlab.ward.site.record import teaching_site

ORDER = read_order("insulin glulisine 8.5 units and NPH insulin 20.5 units subcut 15 minutes before breakfast")
USUAL = Glucose(120, "mg/dL")
WARDS = example_sites()
READINGS = ("LO", "HI", None, *(Glucose(value, "mg/dL") for value in (5, 53, 62, 71, 120, 350)), Glucose(98, "mmol/L"))
FOUND = (
    {"signs": (), "eating": True},
    {"signs": None, "eating": False, "vomiting": True},
    {
        "signs": ("sweating", "confusion", "difficulty-speaking", "vision-change", "poor-concentration"),
        "eating": None,
        "hours_since_dose": None,
        "alertness": None,
        "minutes_old": 61,
        "can_swallow": False,
        "changed": True,
        "earlier": (Earlier(Glucose(58, "mg/dL"), 2), Earlier(Glucose(55, "mg/dL"), 5)),
    },
)


def look(glucose=USUAL, site=None, before=None, **found):
    found = Observation(**{"glucose": glucose, "signs": (), "eating": True, **found})
    site = site or teaching_site()
    return Seen(order=ORDER, observation=found, site=site, decision=decide(ORDER, found, site), before=before)


def words(drawn):
    return written(parts(drawn), "words")


def every_case():
    before = None
    for site, glucose, found in itertools.product(WARDS, READINGS, FOUND):
        seen = look(glucose, site, before, **found)
        before = seen.decision
        yield seen


def test_moving_a_drawing_gives_what_drawing_anew_gives():
    moves_as_drawn_anew(lambda seen: draw_bedside(seen, ROOM), [(seen,) for seen in list(every_case())[::7]])


@pytest.mark.parametrize("size", [ROOM, PAGE], ids=["room", "page"])
def test_no_words_leave_the_picture(size):
    drawn = draw_bedside(look(), size)
    for seen in every_case():
        drawn.show(seen)
        assert len(boxes(drawn)) > 20
        assert not words_outside(drawn, 3)


def test_what_the_meter_cannot_measure_stands_at_its_end_of_the_line():
    spots = {shown: parts(draw_bedside(look(shown)))["reading-marker"].get_xy()[0][0] for shown in ("LO", "HI")}
    assert spots == pytest.approx({"LO": place(1), "HI": place(5000)})
    found = parts(draw_bedside(look("HI")))
    assert found["zone-off"].get_xy()[:, 0].min() == pytest.approx(place(600))
    assert found["zone-name-off"].get_text() == "HI: check"
    assert parts(draw_bedside(look(None)))["reading-marker"].get_xy().shape[0] < 4


def test_the_words_of_a_line_far_up_stand_before_it():
    site = teaching_site()
    far = replace(site, report_line=replace(site.report_line, value=500.0, comparison="at or above"))
    drawn = draw_bedside(look(site=far), ROOM)
    words = parts(drawn)["line-name-report"]
    box = words.get_window_extent()
    assert box.x1 < place(500) < WIDTH
    near = parts(draw_bedside(look(), ROOM))["line-name-report"]
    assert near.get_position()[0] > place(300)


def test_what_was_found_is_said_in_words():
    seen = look(vomiting=True, eating=False, can_swallow=False, minutes_old=61, signs=("sweating",))
    said = found_words(seen.observation)
    assert (
        said
        == "Reading 61 min old · Signs of a low: sweating · Meal: not eating, vomiting · Awake · Cannot swallow safely"
    )
    assert "Reading very old" in found_words(look(minutes_old=math.inf).observation)
    assert "Last dose: 8.1 h ago" in found_words(look(hours_since_dose=8.0833333).observation)
    assert "fasting for a test" in found_words(look(fasting=True).observation)
    assert "vomiting" not in found_words(look(fasting=True).observation)


def test_what_has_no_room_is_counted():
    seen = look("HI", signs=("confusion",), eating=False, vomiting=True, hours_since_dose=None)
    said = words(draw_bedside(seen, ROOM))
    steps = [line for line in said if line.removeprefix("Next: ")[:1].isdigit()]
    left = len(seen.decision.next_steps) - len(steps)
    assert left > 0
    assert said[-1] == f"… {left} more steps in the list."
    at = next(at for at, line in enumerate(said) if line.endswith("more in the list."))
    texts = [str(reason.text) for reason in seen.decision.because]
    shown = [line for line in said[:at] if any(text.startswith(line[:30]) for text in texts)]
    assert said[at] == f"… {len(seen.decision.because) - len(shown)} more in the list."


def place(value, unit="mg/dL", site=None):
    drawn = draw_bedside(look(Glucose(value, unit), site))
    return parts(drawn)["reading-marker"].get_xy()[0][0]


def test_equal_ratios_are_equally_far_apart_in_both_units():
    assert place(200) - place(100) == pytest.approx(place(100) - place(50))
    assert place(180.156) == pytest.approx(place(10, "mmol/L"))
    lowest, highest = place(1), place(5000)
    assert lowest < place(30) < place(600) < highest


@pytest.mark.parametrize("site", WARDS, ids=lambda site: site.name)
def test_the_zones_meet_at_the_lines_of_the_site(site):
    found = parts(draw_bedside(look(site=site)))
    edges = {
        zone: found[f"zone-{zone}"].get_xy()[:, 0] for zone in ("low", "near-low", "give", "report", "urgent", "off")
    }
    hold, report = (
        place(site.hold_line.value, site.hold_line.unit),
        place(site.report_line.value, site.report_line.unit),
    )
    near = site.near_low_line
    give = hold if near is None else place(near.value, near.unit)
    assert edges["low"].max() == pytest.approx(hold) == pytest.approx(edges["near-low"].min())
    assert edges["near-low"].max() == pytest.approx(give) == pytest.approx(edges["give"].min())
    assert edges["give"].max() == pytest.approx(report) == pytest.approx(edges["report"].min())
    urgent = place(site.urgent_high_line.value, site.urgent_high_line.unit)
    assert edges["report"].max() == pytest.approx(urgent) == pytest.approx(edges["urgent"].min())
    assert edges["urgent"].max() == pytest.approx(edges["off"].min())
    assert str(line_text(site.urgent_high_line)) == found["line-name-urgent"].get_text()
    assert found["zone-name-urgent"].get_text() == "ask now"
    drawn = draw_bedside(look(site=replace(site, urgent_high_line=None)))
    found = parts(drawn)
    assert (found["line-name-urgent"].get_text(), found["zone-name-urgent"].get_text()) == ("", "")
    assert found["zone-report"].get_xy()[:, 0].max() == pytest.approx(edges["off"].min())


def test_the_meter_s_allowance_stands_about_the_reading():
    """ISO 15197:2013 (read): 15 mg/dL below 100 mg/dL, 15 % from there up."""
    for value, low, high in ((70, 55, 85), (62, 47, 77), (200, 170, 230)):
        drawn = draw_bedside(look(Glucose(value, "mg/dL")))
        ends = parts(drawn)["allowance"].get_xdata()
        assert (np.nanmin(ends), np.nanmax(ends)) == pytest.approx((place(low), place(high)))
        assert f"a meter may be off: {low} to {high} mg/dL" in parts(drawn)["reading"].get_text()


def test_what_the_last_change_turned_is_marked_and_what_it_silenced_is_named():
    seen = look(Glucose(120, "mg/dL"), before=look(Glucose(64, "mg/dL")).decision)
    drawn = draw_bedside(seen)
    assert "before the last change: HOLD AND TREAT" in parts(drawn)["before"].get_text()
    said = words(drawn)
    assert any(line.startswith("No longer: 64 mg/dL is below 70 mg/dL") for line in said)
    news = [line.startswith("NEW: ") for line in said]
    barred = [len(parts(drawn)[f"bar-{at}"].get_xy()) > 3 for at in range(len(said))]
    assert barred[0]
    assert all(bar for bar, new in zip(barred, news, strict=True) if new)
    gone = next(at for at, line in enumerate(said) if line.startswith("No longer"))
    assert not barred[gone]
    assert "Before the last change: HOLD AND TREAT. New:" in describe_bedside(seen)
    assert "No longer: 64 mg/dL" in describe_bedside(seen)


def test_a_change_that_turns_nothing_says_so():
    seen = look(Glucose(62, "mg/dL"), signs=("sweating",), before=look(Glucose(64, "mg/dL")).decision)
    assert seen.new == ("signs-of-low",) or len(seen.new) == 1
    assert parts(draw_bedside(seen))["before"].get_text() == "the last change did not turn the answer"
    same = look(Glucose(62, "mg/dL"), before=look(Glucose(64, "mg/dL")).decision)
    assert parts(draw_bedside(same))["before"].get_text() == ""


def test_a_reading_in_another_unit_is_shown_as_it_is_compared():
    hill = WARDS[3]
    assert hill.hold_line.unit == "mmol/L"
    drawn = draw_bedside(look(Glucose(72, "mg/dL"), hill))
    assert parts(drawn)["reading"].get_text().startswith("72 mg/dL, compared as 4.0 mmol/L")


def test_the_words_say_every_step_whom_to_tell_and_what_must_happen():
    seen = look(Glucose(60, "mg/dL"), eating=False)
    said = describe_bedside(seen)
    for part in (*seen.decision.next_steps, *seen.decision.tell, *seen.decision.give_when):
        assert str(part) in said
    assert "ISO 15197" in said


@pytest.mark.parametrize("size", [PAGE, ROOM], ids=["page", "room"])
@pytest.mark.parametrize("value", [30, 62, 75, 84, 150, 320])
def test_the_whole_answer_stands_on_the_card(value, size):
    found = Observation(glucose=Glucose(value, "mg/dL"), signs=(), eating=True)
    order = read_order("regular insulin 8 units and NPH insulin 20 units subcut 30 minutes before breakfast")
    assert not words_outside(draw_card(decide(order, found), size), 1)


@pytest.mark.parametrize("answer", ["treat", "hold and ask", "give and report"])
@pytest.mark.parametrize("site", WARDS, ids=lambda site: site.name)
def test_the_line_names_near_a_low_what_is_decided_there(site, answer):
    site = replace(site, near_low_answer=replace(site.near_low_answer, value=answer))
    found = Observation(glucose=site.first_not_low(), signs=(), eating=True)
    order = read_order("regular insulin 8 units and NPH insulin 20 units subcut 30 minutes before breakfast")
    decided = decide(order, found, site)
    drawn = parts(draw_bedside(Seen(order=order, observation=found, site=site, decision=decided)))
    assert drawn["zone-name-near-low"].get_text() in decided.choice
    assert (drawn["zone-name-near-low"].get_text() != "") == (site.near_low_line is not None)
