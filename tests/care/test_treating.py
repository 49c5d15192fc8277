"""The loop of a low, walked in time: what is due, what was not right, and when the dose may be given."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mixlab.care.decision import decide
from mixlab.care.treating import (
    CallForHelp,
    Carbohydrate,
    Eat,
    EmergencyTreatment,
    Measure,
    TellPrescriber,
    Wait,
    walk,
)
from mixlab.quantities import Glucose, NotAnAmount
from mixlab.ward.observation import Earlier, Observation
from mixlab.ward.order import NotOneClearOneCloudy
from mixlab.ward.reading import read_order
from mixlab.ward.site import example_sites

ORDER = read_order("regular insulin 14 units and NPH insulin 26 units subcut 30 minutes before breakfast")
HILL = next(site for site in example_sites() if site.name == "the hill ward")


def mg(value):
    return Glucose(value, "mg/dL")


def found(value=62, **more):
    """Return a low with nothing else wrong, but for what is named."""
    glucose = mg(value) if isinstance(value, int) else value
    return Observation(**{"glucose": glucose, "signs": (), "eating": True, "can_swallow": True, **more})


RIGHT = (
    Carbohydrate(15),
    Wait(15),
    Measure(mg(66)),
    Carbohydrate(15),
    Wait(15),
    Measure(mg(94)),
    Eat(),
    TellPrescriber(says_give=True),
)


def remarks(start, *events, site=None):
    return [moment.remark for moment in walk(ORDER, start, events, site)]


def test_a_low_treated_as_taught_ends_with_the_word_of_the_prescriber():
    moments = walk(ORDER, found(), RIGHT)
    assert [moment.event for moment in moments] == [None, *RIGHT]
    assert [moment.minute for moment in moments] == [0, 0, 15, 15, 15, 30, 30, 30, 30]
    assert [moment.decision.choice for moment in moments] == [*["hold and treat"] * 6, *["hold and ask"] * 2, "give"]
    assert [moment.remark for moment in moments] == [""] * 9
    due = [moment.due for moment in moments]
    for at, words in enumerate(
        (
            "give 15 g of fast carbohydrate, then measure again after 15 minutes",
            "measure again in 15 minutes",
            "Measure again now",
            "give 15 g of fast carbohydrate",
            "measure again in 15 minutes",
            "Measure again now",
            "food now",
            "Tell the prescriber",
            "Prepare and give the dose as ordered: regular insulin 14 units and NPH insulin 26 units",
        )
    ):
        assert words in due[at]


@pytest.mark.parametrize("left_out", [Eat(), TellPrescriber(says_give=True)], ids=["food", "word"])
def test_what_is_left_out_stays_due(left_out):
    last = walk(ORDER, found(), tuple(event for event in RIGHT if event != left_out))[-1]
    assert ("food now" if left_out == Eat() else "Tell the prescriber") in last.due
    if left_out != Eat():
        assert last.decision.choice == "hold and ask"


def test_food_is_due_again_after_another_low():
    again = (Measure(mg(60)), Carbohydrate(15), Wait(15), Measure(mg(90)))
    assert "food now" in walk(ORDER, found(), (*RIGHT, Wait(30), *again))[-1].due


def test_a_prescriber_who_says_no_is_followed():
    last = walk(ORDER, found(), (*RIGHT[:-1], TellPrescriber(says_give=False)))[-1]
    assert last.decision.choice == "hold and ask"
    assert last.due.startswith("Do not give this dose")


def test_the_word_of_the_prescriber_ends_with_the_next_reading():
    early = walk(ORDER, found(), (TellPrescriber(says_give=True), *RIGHT[:-1]))
    assert "No insulin during a low, whoever says so" in early[1].remark
    assert early[1].decision.choice == "hold and treat"
    assert early[-1].decision.choice == "hold and ask"
    assert not early[-1].observation.prescriber_says_give


def test_time_makes_readings_and_doses_older_and_a_new_reading_keeps_the_old_one():
    start = found(minutes_old=10, hours_since_dose=5, earlier=(Earlier(mg(80), 2),))
    waited, measured, later = walk(ORDER, start, (Wait(20), Measure(mg(90)), Wait(60)))[1:]
    assert (waited.observation.minutes_old, waited.minute) == (30, 20)
    assert waited.observation.hours_since_dose == pytest.approx(5 + 1 / 3)
    assert [one.glucose for one in measured.observation.earlier] == [mg(80), mg(62)]
    assert [one.hours_ago for one in measured.observation.earlier] == pytest.approx([2 + 1 / 3, 0.5])
    assert measured.observation.minutes_old == 0
    assert [one.hours_ago for one in later.observation.earlier] == pytest.approx([3 + 1 / 3, 1.5])
    # a reading that has grown too old is measured again before anything else
    assert walk(ORDER, start, (Measure(mg(90)), Eat(), Wait(61)))[-1].decision.choice == "check first"


def test_unknown_times_stay_unknown():
    last = walk(ORDER, found(minutes_old=None, hours_since_dose=None), (Wait(20),))[-1]
    assert (last.observation.minutes_old, last.observation.hours_since_dose) == (None, None)
    assert walk(ORDER, found(), (Wait(20),))[-1].observation.hours_since_dose == math.inf


NOT_RIGHT = {
    "measured too early": (found(), (Carbohydrate(15), Wait(5), Measure(mg(66))), "Measured 5 minutes after", "15–15"),
    "treated again without a reading": (
        found(),
        (Carbohydrate(15), Wait(15), Carbohydrate(15)),
        "Treated again without a reading taken 15 minutes after",
        "15–15",
    ),
    "treated again after an early reading": (
        found(),
        (Carbohydrate(15), Wait(5), Measure(mg(66)), Carbohydrate(15)),
        "Treated again without a reading taken 15 minutes after",
        "15–15",
    ),
    "too little": (found(), (Carbohydrate(10),), "10 g is less than the 15 g taught here", "15–15"),
    "by mouth, cannot swallow": (
        found(can_swallow=False),
        (Carbohydrate(15),),
        "By mouth, although",
        "common practice",
    ),
    "by mouth, unresponsive": (found(alertness="unresponsive"), (Carbohydrate(15),), "By mouth, although", "common"),
    "by mouth, convulsion": (found(signs=("convulsion",)), (Carbohydrate(15),), "By mouth, although", "common"),
    "by mouth, drowsy": (found(alertness="drowsy"), (Carbohydrate(15),), "only if fully awake", "common practice"),
    "treated, not low": (found(120), (Carbohydrate(15),), "look before you treat", "Standards of Care"),
    "treated, signs and not low": (
        found(120, signs=("sweating",)),
        (Carbohydrate(15),),
        "take a fresh one first",
        "common practice",
    ),
    "protocol, not low": (found(120), (EmergencyTreatment(),), "look before you treat", "common practice"),
    "protocol, awake": (found(), (EmergencyTreatment(),), "treat by mouth first", "common practice"),
    "waited without treatment": (found(), (Wait(15),), "left waiting without treatment", "common practice"),
    "waited too long": (found(), (Carbohydrate(15), Wait(40)), "40 minutes have passed", "15–15"),
    "food too early": (found(), (Eat(),), "Food is slow", "15–15"),
    "food, cannot swallow": (found(can_swallow=False), (Eat(),), "Food, although", "common practice"),
    "the dose during a low": (found(), (TellPrescriber(says_give=True),), "No insulin during a low", "section 16"),
}


@pytest.mark.parametrize(("start", "events", "words", "rule"), NOT_RIGHT.values(), ids=NOT_RIGHT)
def test_what_was_not_right_is_remarked_with_its_rule(start, events, words, rule):
    last = remarks(start, *events)[-1]
    assert words in last
    assert rule in last
    assert last.endswith(").")


FINE = {
    "an early look that waits on": (found(), (Carbohydrate(15), Wait(5), Measure(mg(66)), Wait(10), Measure(mg(75)))),
    "more than is taught": (found(), (Carbohydrate(20),)),
    "help first": (found(40), (CallForHelp(), Carbohydrate(15))),
    "protocol, cannot swallow": (found(can_swallow=False), (CallForHelp(), EmergencyTreatment(), Wait(15))),
    "protocol, swallowing not tried": (found(can_swallow=None), (EmergencyTreatment(),)),
    "told, and told not to give": (found(), (TellPrescriber(says_give=False),)),
    "signs and no reading": (found(None, signs=("sweating",)), (Carbohydrate(15), Wait(15), Measure(mg(90)))),
}


@pytest.mark.parametrize(("start", "events"), FINE.values(), ids=FINE)
def test_what_was_right_is_not_remarked(start, events):
    assert remarks(start, *events)[-1] == ""


def test_after_an_early_reading_the_wait_goes_on():
    moments = walk(ORDER, found(), (Carbohydrate(15), Wait(5), Measure(mg(66)), Wait(10), Measure(mg(66))))
    assert "measure again in 10 minutes" in moments[3].due
    assert "Measure again now" in moments[4].due
    assert "give 15 g" in moments[5].due


def test_a_patient_who_cannot_swallow_goes_the_other_way():
    start = found("LO", signs=("unresponsive",), can_swallow=False)
    events = (
        *(CallForHelp(), EmergencyTreatment(), Wait(15)),
        *(Measure(mg(88), alertness="drowsy"), Measure(mg(101), alertness="awake", can_swallow=True), Eat()),
    )
    moments = walk(ORDER, start, events)
    assert moments[0].due.startswith("Call for help at once. Nothing by mouth: treat by the emergency protocol")
    assert moments[1].due.startswith("Nothing by mouth")
    assert all(" g of" not in moment.due for moment in moments)
    # drowsy is a sign, whatever the number; awake and risen: food, then the prescriber
    assert [moment.decision.choice for moment in moments[4:]] == ["check first", "hold and ask", "hold and ask"]
    assert moments[5].due.startswith("The reading is no longer below 70 mg/dL: food now, as")
    assert moments[6].due.startswith("Tell the prescriber")


def test_sugar_by_mouth_treats_nobody_who_cannot_swallow():
    moments = walk(ORDER, found(can_swallow=False), (Carbohydrate(15), Wait(15)))
    assert all("emergency protocol" in moment.due for moment in moments)


def test_nobody_wakes_up_by_being_measured():
    start = found(alertness="unresponsive", can_swallow=False)
    last = walk(ORDER, start, (EmergencyTreatment(), Wait(15), Measure(mg(120))))[-1]
    assert (last.observation.alertness, last.observation.can_swallow) == ("unresponsive", False)
    assert last.decision.choice == "check first"
    assert last.due.startswith("Call for help at once")


def test_the_numbers_are_those_of_the_site():
    low = found(Glucose(3.8, "mmol/L"))
    moments = walk(ORDER, low, (Carbohydrate(15), Wait(10), Measure(Glucose(4.0, "mmol/L"))), HILL)
    assert "give 20 g of fast carbohydrate, then measure again after 10 minutes" in moments[0].due
    assert "15 g is less than the 20 g taught here (policy of the hill ward)" in moments[1].remark
    assert moments[3].remark == ""
    assert moments[3].due.startswith("The reading is no longer below 4.0 mmol/L: food now")


def test_what_is_missing_is_said_when_the_low_is_over():
    last = walk(ORDER, found(eating=None), (*RIGHT[:-1],))[-1]
    assert last.due.endswith("it is known whether the patient will eat.")
    assert "food now" in walk(ORDER, found(eating=None), RIGHT[:-2])[-1].due


@pytest.mark.parametrize("amount", [-1, math.nan, math.inf, "15", True, None])
@pytest.mark.parametrize("event", [Carbohydrate, Wait])
def test_amounts_that_are_none(event, amount):
    with pytest.raises(NotAnAmount, match=r"There cannot be .*Write how"):
        event(amount)


def test_a_reading_without_a_unit_is_refused():
    with pytest.raises(NotAnAmount, match="has no unit"):
        walk(ORDER, found(), (Measure(90),))


def test_two_clear_insulins_are_no_order_to_walk_with():
    with pytest.raises(NotOneClearOneCloudy):
        walk(read_order("regular insulin 8 units and insulin lispro 20 units"), found(), ())


EVENTS = st.lists(
    st.builds(Carbohydrate, st.sampled_from([0, 10, 15, 20]))
    | st.builds(Wait, st.sampled_from([0, 5, 15, 61, 1500]))
    | st.builds(
        Measure,
        st.sampled_from(["HI", "LO"]) | st.builds(mg, st.integers(0, 700)),
        st.sampled_from([(), ("sweating",), ("unresponsive",), None]),
        st.sampled_from(["as before", "awake", "drowsy", "unresponsive"]),
        st.sampled_from(["as before", True, False]),
    )
    | st.builds(TellPrescriber, st.booleans())
    | st.sampled_from([EmergencyTreatment(), Eat(), CallForHelp()]),
    max_size=12,
).map(tuple)


@settings(deadline=None)
@given(st.integers(0, 700), EVENTS, st.sampled_from(example_sites()))
def test_any_walk_holds_together(value, events, site):
    moments = walk(ORDER, found(value), events, site)
    assert len(moments) == len(events) + 1
    told = False
    for moment in moments:
        assert moment.decision == decide(ORDER, moment.observation, site)
        assert moment.due.endswith(".")
        if isinstance(moment.event, TellPrescriber | Measure):
            told = isinstance(moment.event, TellPrescriber) and moment.event.says_give
        if moment.decision.choice.startswith("give") and any(
            one.decision.choice == "hold and treat" for one in moments
        ):
            lows = [key for key in (reason.key for reason in moment.decision.because) if key == "earlier-low"]
            assert told or not lows
    assert [moment.minute for moment in moments] == sorted(moment.minute for moment in moments)
