"""The levels of hypoglycaemia as published, each edition with its own 70, carried through to the decision."""

from dataclasses import replace

import pytest
from aloud import said

from mixlab.care.decision.deciding import decide
from mixlab.care.low.events import Carbohydrate, Wait
from mixlab.care.low.treatment import walk
from mixlab.facts.reading import the_facts
from mixlab.quantities import Glucose
from mixlab.ward.observation import Earlier, Observation
from mixlab.ward.order.reading import read_order
from mixlab.ward.site.glucose_lines import crosses
from mixlab.ward.site.in_force import example_sites
from mixlab.ward.site.record import teaching_site

ORDER = read_order("regular insulin 14 units and NPH insulin 26 units subcut 30 minutes before breakfast")
LINES = the_facts().thresholds

# key of the line in the facts, reading, unit, low by that publication
EDITIONS = [
    # ADA Standards, Glycemic Targets, Diabetes Care 2017;40(Suppl 1), Table 6.3: level 1 at or below 70 (read)
    ("low-2017", 69, "mg/dL", True),
    ("low-2017", 70, "mg/dL", True),
    ("low-2017", 71, "mg/dL", False),
    # ADA Standards, section 6, from 2018 on: level 1 below 70 and at least 54 (recalled)
    ("low", 69, "mg/dL", True),
    ("low", 70, "mg/dL", False),
    ("low", 71, "mg/dL", False),
    # Diabetes Canada guideline 2013: below 4.0 mmol/L (recalled); 71 is 3.941, 72 is 3.9965 and shown as 4.0 (computed)
    ("low-below-4", 71, "mg/dL", True),
    ("low-below-4", 72, "mg/dL", False),
    ("low-below-4", 3.9, "mmol/L", True),
    ("low-below-4", 4.0, "mmol/L", False),
    # ADA Standards, level 2 below 54 (2017 read)
    ("level-2", 53, "mg/dL", True),
    ("level-2", 54, "mg/dL", False),
]


@pytest.mark.parametrize(("key", "value", "unit", "low"), EDITIONS)
def test_each_publication_draws_its_own_line(key, value, unit, low):
    reading = Glucose(value, unit)
    assert crosses(reading, LINES[key]) is low
    site = replace(teaching_site(), hold_line=LINES[key], level_2_line=LINES["level-2"])
    decision = said(decide(ORDER, Observation(glucose=reading, signs=(), eating=True), site), site)
    assert decision.choice == ("hold and treat" if low else "hold and ask")
    assert any(str(the_facts().cite(LINES[key])) in one.rule for one in decision.because)


@pytest.mark.parametrize(("mg_dl", "mmol_l"), [(50, "2.8"), (70, "3.9"), (140, "7.8"), (180, "10.0")])
def test_printed_pairs(mg_dl, mmol_l):
    """PMC5309204, figure 2 (read): readings printed in both units."""
    assert str(Glucose(mg_dl, "mg/dL").to("mmol/L").shown()) == mmol_l


def judged(value, unit="mg/dL", site=None, **found):
    """Return the decision on a reading with nothing else wrong, but for what is named."""
    glucose = value if value is None or isinstance(value, str) else Glucose(value, unit)
    return said(decide(ORDER, Observation(**{"glucose": glucose, "signs": (), "eating": True, **found}), site), site)


def keys(decision):
    return {reason.key for reason in decision.because}


def test_the_study_group_calls_below_3_mmol_per_liter_serious():
    """International Hypoglycaemia Study Group, diagnosis statement (read): below 3.0 mmol/L, printed beside 54 mg/dL."""
    line = LINES["level-2-study-group"]
    assert [crosses(Glucose(value, "mmol/L"), line) for value in (2.9, 3.0)] == [True, False]
    assert [crosses(Glucose(value, "mg/dL"), line) for value in (53, 54)] == [True, False]  # 2.94 and 2.997, computed
    site = replace(teaching_site(), level_2_line=line)
    assert "level-2-line" in keys(judged(2.9, "mmol/L", site))
    assert "below-hold-line" in keys(judged(3.0, "mmol/L", site))


@pytest.mark.parametrize("site", example_sites(), ids=lambda site: site.name)
def test_level_3_has_no_number(site):
    """ADA Standards 2017, Table 6.3 (read): level 3 has no threshold; help of another person is needed."""
    for value in (40, 62, 90, 250):
        decision = judged(value, site=site, alertness="unresponsive")
        assert keys(decision) & {"level-3", "emergency-not-low"}
        assert decision.next_steps[0].startswith("Call the emergency team now")


# A teaching page for emergency doctors on the management of hypoglycaemia, Table 1, and the International Hypoglycaemia Study Group (read)
AUTONOMIC = {"trembling", "pounding-heart", "sweating", "anxiety", "hunger", "pallor"}
NEUROGLYCOPENIC = {
    *("poor-concentration", "confusion", "weakness", "drowsiness", "vision-change", "difficulty-speaking"),
    *("convulsion", "unresponsive"),  # the list says coma
}


def test_the_published_lists_of_signs():
    signs = the_facts().signs
    assert {key for key, sign in signs.items() if sign.group == "autonomic"} == AUTONOMIC
    assert {key for key, sign in signs.items() if sign.group == "neuroglycopenic"} == NEUROGLYCOPENIC


@pytest.mark.parametrize("sign", sorted(AUTONOMIC | NEUROGLYCOPENIC))
def test_each_published_sign_outranks_a_reassuring_number(sign):
    """That signs outrank the number, and are looked for before every dose: common practice, no source."""
    answer = {"unresponsive": "emergency", "convulsion": "emergency"}.get(sign, "check first")
    vague = sign in the_facts().sign_classes["vague"].signs  # alone, at a comfortable reading
    assert judged(120, signs=(sign,)).choice == ("look and ask" if vague else answer)
    assert judged(84, signs=(sign,)).choice == answer
    assert judged(62, signs=(sign,)).choice == ("hold and treat" if answer == "check first" else answer)
    assert judged(120, signs=None).choice == "check first"


def test_fifteen_grams_and_fifteen_minutes():
    """ADA guidance for patients, the 15–15 rule (recalled), walked in time."""
    low = Observation(glucose=Glucose(62, "mg/dL"), signs=(), eating=True)
    walked = said(walk(ORDER, low, (Carbohydrate(15), Wait(15))))
    assert "give 15 g of fast carbohydrate, then measure again after 15 minutes" in walked[0].due
    assert "measure again in 15 minutes" in walked[1].due
    assert walked[2].due.startswith("Measure again now")
    assert [moment.remark for moment in walked] == ["", "", ""]


def test_only_who_is_awake_and_can_swallow_is_treated_by_mouth():
    """ADA Standards, section 6 (recalled): by mouth only if awake and able to swallow."""
    for found in ({"can_swallow": False}, {"alertness": "unresponsive"}, {"alertness": "drowsy"}):
        assert "15 g" not in " ".join(judged(62, **found).next_steps)
    assert "Awake and able to swallow" in " ".join(judged(62).next_steps)


# ISO 15197:2013, as given in PMC4525642, Table 1 (read): 15 mg/dL either way below 100 mg/dL, 15 % from there up.
# The limits of each reading are computed by hand.
ALLOWED = [(62, 47, 77), (70, 55, 85), (99, 84, 114), (100, 85, 115), (200, 170, 230), (300, 255, 345), (10, 0, 25)]


@pytest.mark.parametrize(("value", "low", "high"), ALLOWED)
def test_how_far_a_meter_may_be_off(value, low, high):
    decision = judged(value)
    assert decision.allowance == (Glucose(low, "mg/dL"), Glucose(high, "mg/dL"))
    assert "ISO 15197:2013" in decision.allowance_rule


def test_the_same_allowance_in_the_other_unit():
    """15 mg/dL is 0.83 mmol/L (computed), so 3.9 mmol/L may stand for 3.07 to 4.73."""
    low, high = judged(3.9, "mmol/L").allowance
    assert (low.value, high.value) == pytest.approx((3.067, 4.733), abs=0.001)


def earlier(*readings):
    return tuple(Earlier(Glucose(value, "mg/dL"), hours) for value, hours in readings)


TEACHING = teaching_site()
LONG_TERM_CARE = next(site for site in example_sites() if site.near_low_answer.value == "give and report")
TABLE_6 = "Diabetes Care 2016, Table 6 (read)"
TABLE_4 = "Diabetes Spectrum 2020;33:236, Table 4"

# American Diabetes Association, statement on long-term care, Diabetes Care 2016, Table 6, and Diabetes Spectrum
# 2020;33:236, Table 4 (both read): what is found, the site, the rule that speaks, the answer, who is named
CALL_ROWS = {
    "below 70 and unresponsive": (
        {"value": 64, "alertness": "unresponsive"},
        *(TEACHING, "level-3", "emergency", TABLE_4),
    ),
    "several below 70": (
        {"value": 120, "earlier": earlier((64, 3), (68, 20))},
        *(TEACHING, "several-lows", "hold and ask", TABLE_6),
    ),
    "70 to 100, at 70": ({"value": 70}, LONG_TERM_CARE, "near-a-low-reported", "give and report", TABLE_4),
    "70 to 100, at 100": ({"value": 100}, LONG_TERM_CARE, "near-a-low-reported", "give and report", TABLE_4),
    "above 250 twice in 24 hours": (
        {"value": 251, "earlier": earlier((260, 20))},
        *(TEACHING, "high-again", "give and report", TABLE_4),
    ),
    "above 250 twice in 24 hours, changed state": (
        {"value": 251, "earlier": earlier((260, 20)), "changed": True},
        *(TEACHING, "high-again", "hold and ask", TABLE_6),
    ),
    "above 300 on two days running": (
        {"value": 301, "earlier": earlier((310, 30))},
        *(TEACHING, "high-two-days", "give and report", TABLE_6),
    ),
    "too high for the meter": ({"value": "HI"}, TEACHING, "meter-shows-hi", "check first", TABLE_6),
    "too high for the meter, called about": (
        {"value": "HI", "prescriber_says_give": True},
        *(TEACHING, "meter-shows-hi", "give and report", TABLE_6),
    ),
    "not eating": ({"value": 120, "eating": False}, TEACHING, "not-eating-clear", "hold and ask", TABLE_6),
    "vomiting": ({"value": 120, "vomiting": True}, TEACHING, "vomits", "hold and ask", TABLE_6),
}


@pytest.mark.parametrize(("found", "site", "key", "choice", "named"), CALL_ROWS.values(), ids=CALL_ROWS)
def test_when_long_term_care_calls(found, site, key, choice, named):
    decision = judged(site=site, **found)
    (reason,) = (reason for reason in decision.because if reason.key == key)
    assert decision.choice == choice
    assert named in reason.rule
    called = found.get("prescriber_says_give", False)
    told = "The nurse in charge: " if called else f"The {site.terms['prescriber']}: "
    assert any(person.startswith(told) for person in decision.tell)


BESIDE_THE_CALL_ROWS = {
    "101 is not near a low": ({"value": 101}, LONG_TERM_CARE),
    "70 to 100 is reported only where the site asks for it": ({"value": 90}, TEACHING),
    "one low a day before": ({"value": 120, "earlier": earlier((64, 25), (66, 26))}, TEACHING),
    "exactly 250": ({"value": 250, "earlier": earlier((250, 20))}, TEACHING),
    "above 250 once": ({"value": 251}, TEACHING),
    "exactly 300": ({"value": 200, "earlier": earlier((300, 2), (300, 30))}, TEACHING),
}


@pytest.mark.parametrize(("found", "site"), BESIDE_THE_CALL_ROWS.values(), ids=BESIDE_THE_CALL_ROWS)
def test_where_long_term_care_does_not_call(found, site):
    decision = judged(site=site, **found)
    assert decision.choice == "give"
    assert decision.tell == ()


def test_the_lines_of_the_call_rows_as_printed():
    printed = {key: (row.value, row.unit, row.comparison) for key, row in the_facts().notify.items()}
    assert printed == {
        "unresponsive-low": (70, "mg/dL", "below"),
        "several-lows": (70, "mg/dL", "below"),
        "near-low": (100, "mg/dL", "at or below"),
        "high-twice": (250, "mg/dL", "above"),
        "high-two-days": (300, "mg/dL", "above"),
    }


def test_without_a_meal_nothing_is_halved_and_not_all_is_stopped():
    """Practical guidelines for hospital use of insulin, Table 3 (read): type 1 diabetes always needs some insulin."""
    decision = judged(120, eating=False)
    asked = {reason.key: reason for reason in decision.because}
    assert "Practical guidelines for hospital use of insulin, Table 3 (read)" in asked["not-eating-cloudy"].rule
    assert "always needs some insulin" in asked["not-eating-cloudy"].text
    assert "Do not change or halve a dose yourself" in " ".join(decision.next_steps)


def test_after_a_low_the_prescriber_is_told_before_the_mixed_dose_and_the_dose_is_not_canceled():
    """ADA Standards, section 16 (recalled); Australian regional health service, protocol CPP0071 (read)."""
    held = judged(120, earlier=earlier((64, 2)))
    assert held.choice == "hold and ask"
    assert "section 16" in held.because[0].rule
    assert "CPP0071 (read)" in held.because[0].rule
    assert "Holding is not canceling" in held.next_steps[-1]
    assert judged(120, earlier=earlier((64, 2)), prescriber_says_give=True).choice == "give and report"
