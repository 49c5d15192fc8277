"""The loop of a low, walked in time: what is due, what was not right, and when the dose may be given."""

import math

import pytest
from aloud import said
from hypothesis import given, settings
from hypothesis import strategies as st

from mixlab.care.decision.deciding import decide
from mixlab.care.low import treatment
from mixlab.care.low.events import CallForHelp, Carbohydrate, Eat, EmergencyTreatment, Measure, TellPrescriber, Wait
from mixlab.quantities import Glucose, NotAnAmount
from mixlab.ward.observation import Earlier, Observation
from mixlab.ward.order.order import NotOneClearOneCloudy
from mixlab.ward.order.reading import read_order
from mixlab.ward.site.in_force import example_sites

ORDER = read_order("regular insulin 14 units and NPH insulin 26 units subcut 30 minutes before breakfast")
HILL = next(site for site in example_sites() if site.name == "the hill ward")


def walk(order, start, events, site=None):
    """Return the moments of a walk as they are read."""
    return said(treatment.walk(order, start, events, site), site)


def mg(value):
    return Glucose(value, "mg/dL")


def found(value=62, **more):
    """Return a low with nothing else wrong, but for what is named."""
    glucose = mg(value) if isinstance(value, int) else value
    return Observation(**{"glucose": glucose, "signs": (), "eating": True, "can_swallow": True, **more})


def look(value, signs=(), **more):
    """Return a new reading, with signs looked for and absent, but for what is named."""
    return Measure(mg(value) if isinstance(value, int) else value, signs=signs, **more)


RIGHT = (
    Carbohydrate(15),
    Wait(15),
    look(66),
    Carbohydrate(15),
    Wait(15),
    look(94),
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
            "before you inject (taught for regular insulin: 30 minutes after the injection). Prepare and give the dose as "
            "ordered: regular insulin 14 units and NPH insulin 26 units",
        )
    ):
        assert words in due[at]


@pytest.mark.parametrize("left_out", [Eat(), TellPrescriber(says_give=True)], ids=["food", "word"])
def test_what_is_left_out_stays_due(left_out):
    last = walk(ORDER, found(), tuple(event for event in RIGHT if event != left_out))[-1]
    assert ("Food first" if left_out == Eat() else "Tell the prescriber") in last.due
    assert last.decision.choice == "hold and ask"


def test_food_is_due_again_after_another_low():
    again = (look(60), Carbohydrate(15), Wait(15), look(90))
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
    waited, measured, later = walk(ORDER, start, (Wait(20), look(90), Wait(60)))[1:]
    assert (waited.observation.minutes_old, waited.minute) == (30, 20)
    assert waited.observation.hours_since_dose == pytest.approx(5 + 1 / 3)
    assert [one.glucose for one in measured.observation.earlier] == [mg(80), mg(62)]
    assert [one.hours_ago for one in measured.observation.earlier] == pytest.approx([2 + 1 / 3, 0.5])
    assert measured.observation.minutes_old == 0
    assert [one.hours_ago for one in later.observation.earlier] == pytest.approx([3 + 1 / 3, 1.5])
    # a reading that has grown too old is measured again before anything else
    assert walk(ORDER, start, (look(90), Eat(), Wait(61)))[-1].decision.choice == "check first"


def test_unknown_times_stay_unknown():
    last = walk(ORDER, found(minutes_old=None, hours_since_dose=None), (Wait(20),))[-1]
    assert (last.observation.minutes_old, last.observation.hours_since_dose) == (None, None)
    assert walk(ORDER, found(), (Wait(20),))[-1].observation.hours_since_dose == math.inf


NOT_RIGHT = {
    "measured too early": (found(), (Carbohydrate(15), Wait(5), look(66)), "Measured 5 minutes after", "15–15"),
    "treated again without a reading": (
        found(),
        (Carbohydrate(15), Wait(15), Carbohydrate(15)),
        "Treated again without a reading taken 15 minutes after",
        "15–15",
    ),
    "treated again after an early reading": (
        found(),
        (Carbohydrate(15), Wait(5), look(66), Carbohydrate(15)),
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
    "by mouth, drowsy": (found(alertness="drowsy"), (Carbohydrate(15),), "is not fully awake: use", "common practice"),
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
    "by mouth, drowsy and said to swallow": (
        found(signs=("drowsiness",), can_swallow=True),
        (Carbohydrate(15),),
        "is not fully awake: use the emergency protocol",
        "common practice",
    ),
    "by mouth, confused and swallowing not known": (
        found(signs=("confusion",), can_swallow=None),
        (Carbohydrate(15),),
        "nobody knows that the patient is awake and swallows safely",
        "common practice",
    ),
    "protocol at a very high reading": (
        found(350, signs=("drowsiness",), alertness="awake"),
        (EmergencyTreatment(),),
        "look before you treat",
        "common practice",
    ),
    "sweets at a very high reading": (
        found(350, signs=("sweating",)),
        (Carbohydrate(15),),
        "Nothing sweet at a very high reading",
        "common practice",
    ),
    "food, fasting": (
        found(eating=False, fasting=True),
        (Carbohydrate(15), Wait(15), look(90), Eat()),
        "Food, although the patient is fasting: ask first",
        "common practice",
    ),
    "food, not awake": (found(alertness="drowsy"), (Eat(),), "Food, although the patient is not fully awake", "common"),
    "signs left waiting": (
        found(85, signs=("sweating",)),
        (Wait(15),),
        "A patient with signs was left waiting: measure again at once",
        "common practice",
    ),
    "no help, unresponsive": (
        found(alertness="unresponsive"),
        (EmergencyTreatment(),),
        "Help was not called for a patient who did not respond: call first",
        "Table 6",
    ),
    "no help, convulsion": (
        found(signs=("convulsion",)),
        (EmergencyTreatment(),),
        "Help was not called for a patient who had a convulsion: call first",
        "Table 6",
    ),
    "no help, unresponsive and not low": (
        found(120, alertness="unresponsive"),
        (look(118),),
        "Help was not called for a patient who did not respond: call first",
        "common practice",
    ),
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
    "an early look that waits on": (found(), (Carbohydrate(15), Wait(5), look(66), Wait(10), look(75))),
    "more than is taught": (found(), (Carbohydrate(20),)),
    "help first": (found(40), (CallForHelp(), Carbohydrate(15))),
    "protocol, cannot swallow": (found(can_swallow=False), (CallForHelp(), EmergencyTreatment(), Wait(15))),
    "protocol, swallowing not tried": (found(can_swallow=None), (EmergencyTreatment(),)),
    "told, and told not to give": (found(), (TellPrescriber(says_give=False),)),
    "signs and no reading": (found(None, signs=("sweating",)), (Carbohydrate(15), Wait(15), look(90))),
    "help for a patient who does not respond": (found(alertness="unresponsive"), (CallForHelp(), EmergencyTreatment())),
    "protocol, fasting": (found(eating=False, fasting=True), (EmergencyTreatment(),)),
    "protocol, vomiting": (found(vomiting=True), (EmergencyTreatment(),)),
    "by mouth, confused and seen to swallow": (found(signs=("confusion",)), (CallForHelp(), Carbohydrate(15))),
    "signs that stay, treated once the prescriber has been asked": (
        found(85, signs=("sweating",)),
        (look(84, ("sweating",)), TellPrescriber(says_give=False), Carbohydrate(15)),
    ),
    "waiting after a treatment with signs left": (
        found(),
        (Carbohydrate(15), Wait(5), look(80, ("sweating",)), Wait(10)),
    ),
}


@pytest.mark.parametrize(("start", "events"), FINE.values(), ids=FINE)
def test_what_was_right_is_not_remarked(start, events):
    assert remarks(start, *events)[-1] == ""


def test_after_an_early_reading_the_wait_goes_on():
    moments = walk(ORDER, found(), (Carbohydrate(15), Wait(5), look(66), Wait(10), look(66)))
    assert "measure again in 10 minutes" in moments[3].due
    assert "Measure again now" in moments[4].due
    assert "give 15 g" in moments[5].due


def test_a_patient_who_cannot_swallow_goes_the_other_way():
    start = found("LO", signs=("unresponsive",), can_swallow=False)
    events = (
        *(CallForHelp(), EmergencyTreatment(), Wait(15)),
        *(look(88, alertness="drowsy"), look(101, alertness="awake", can_swallow=True), Eat()),
    )
    moments = walk(ORDER, start, events)
    assert moments[0].due.startswith("Call for help at once. Not fully awake: nothing by mouth. Emergency protocol")
    assert moments[1].due.startswith("Not fully awake: nothing by mouth")
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
    last = walk(ORDER, start, (EmergencyTreatment(), Wait(15), look(120)))[-1]
    assert (last.observation.alertness, last.observation.can_swallow) == ("unresponsive", False)
    assert last.decision.choice == "check first"
    assert last.due.startswith("Call for help at once")


def test_the_numbers_are_those_of_the_site():
    low = found(Glucose(3.8, "mmol/L"))
    moments = walk(ORDER, low, (Carbohydrate(15), Wait(10), look(Glucose(4.0, "mmol/L"))), HILL)
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


# What a nurse educator asked of the walk. Rules of the trade without a number: common practice, no source.


def last(start, *events, site=None):
    return walk(ORDER, start, events, site)[-1]


def test_a_measurement_does_not_say_that_signs_were_looked_for():
    assert Measure(mg(94)).signs is None
    moment = last(found(), Carbohydrate(15), Wait(15), Measure(mg(94)))
    assert moment.decision.choice == "check first"
    assert moment.due.endswith("somebody has looked for signs of a low.")


@pytest.mark.parametrize(
    "start",
    [found(alertness="drowsy"), found(signs=("drowsiness",)), found(signs=("confusion",), can_swallow=None)],
    ids=["drowsy", "drowsiness", "confusion"],
)
def test_sugar_by_mouth_does_not_count_for_who_may_not_swallow(start):
    before, after = walk(ORDER, start, (CallForHelp(), Carbohydrate(15)))[1:]
    assert after.due == before.due
    assert "nothing by mouth" in after.due.lower()
    assert "left waiting without treatment" in last(start, CallForHelp(), Carbohydrate(15), Wait(15)).remark
    treated = last(start, CallForHelp(), EmergencyTreatment())
    assert treated.due.startswith("Stay with the patient and measure again in 15 minutes")


@pytest.mark.parametrize("eating", [True, False])
def test_a_fasting_patient_is_treated_and_not_fed(eating):
    start = found(eating=eating, fasting=True)
    events = (EmergencyTreatment(), Wait(15), look(94), TellPrescriber(says_give=True))
    moments = walk(ORDER, start, events)
    assert "also while fasting: ask at once which way" in moments[0].due
    assert moments[3].due.startswith("Tell the prescriber")
    assert "how the glucose is to be kept up without food" in moments[3].due
    assert moments[4].decision.choice == "give"
    assert not any("food now" in moment.due or "Food first" in moment.due for moment in moments)


@pytest.mark.parametrize("more", [{"eating": False}, {"vomiting": True}], ids=["not eating", "vomiting"])
def test_who_cannot_eat_is_asked_about_instead_of_fed(more):
    moment = last(found(**more), Carbohydrate(15), Wait(15), look(94))
    assert "food now" not in moment.due
    assert "how the glucose is to be kept up" in moment.due


def test_the_prescriber_is_told_of_a_low_now_and_of_the_new_reading_later():
    told = "Have the nurse in charge and the prescriber told now."
    assert told in last(found()).due
    assert told in last(found(), Carbohydrate(15)).due
    early = walk(ORDER, found(), (TellPrescriber(says_give=False), *RIGHT[:-1]))
    assert early[1].remark == ""
    assert told not in early[1].due
    assert "Tell the prescriber what was given and the new reading" in early[-1].due


def test_the_dose_is_not_given_while_food_is_due():
    asked, told, fed = walk(ORDER, found(), (*RIGHT[:-2], TellPrescriber(says_give=True), Eat()))[-3:]
    assert "food now" in asked.due
    assert told.due == "Food first, as local policy says. Then give the dose as the prescriber said."
    assert (told.decision.choice, fed.decision.choice) == ("hold and ask", "give")
    refused = last(found(), *RIGHT[:-2], TellPrescriber(says_give=False))
    assert "food now" in refused.due
    assert "do not give this dose" in refused.due


def test_an_early_reading_does_not_end_a_low():
    moments = walk(ORDER, found(), (Carbohydrate(15), Wait(5), look(90), Eat(), TellPrescriber(says_give=True)))
    for moment in moments[3:]:
        assert moment.decision.choice == "check first"
        assert moment.due == "Stay, and measure again in 10 minutes: this reading was too early to decide by."
    again = walk(ORDER, found(), (Carbohydrate(15), Wait(5), look(90), Wait(10), look(92)))
    assert again[-2].due == "Measure again now, and look for signs: the last reading was too early to decide by."
    assert again[-1].decision.choice == "hold and ask"
    assert "food now" in again[-1].due
    assert last(found(), Carbohydrate(15), Wait(10), look(90), site=HILL).decision.choice == "hold and ask"


def test_a_walk_may_start_in_the_middle_of_a_treatment():
    start = found(90, minutes_after_treatment=5, minutes_old=2, earlier=(Earlier(mg(60), 0.2),))
    assert "measure again in 8 minutes" in last(start).due
    assert "food now" in last(start, Wait(8), look(92)).due
    assert "food now" in last(found(food_due=True, earlier=(Earlier(mg(60), 0.5),), value=94)).due


def test_signs_that_stay_above_the_line_are_called_about():
    start = found(85, signs=("sweating",))
    first, second, told = walk(ORDER, start, (look(86, ("sweating",)), TellPrescriber(says_give=False)))
    assert first.due == "Stay with the patient. Wash the finger, measure again now."
    assert second.due.startswith(
        "The signs stay: call the nurse in charge and the prescriber now and ask about treating"
    )
    assert second.remark == ""
    assert told.due.startswith("Do what the prescriber has said about the signs")
    assert last(found(85), look(86, ("sweating",))).due == first.due  # seen for the first time
    assert "was left waiting" in last(start, look(86, ("sweating",)), Wait(5)).remark
    assert last(start, look(86)).decision.choice == "give"


def test_a_very_high_reading_with_signs_is_not_treated_as_a_low():
    moment = last(found(350, signs=("drowsiness",)))
    assert moment.due.startswith("Call for help at once. Stay with the patient and measure again now")
    assert "Nothing sweet unless a fresh reading is low" in moment.due
    start = found(400, alertness="unresponsive")
    for events in ((), (look(400),), (CallForHelp(), look(400))):
        assert "treating as a low" not in last(start, *events).due
        assert "Nothing sweet" in last(start, *events).due
    moment = last(start, CallForHelp(), look(400), TellPrescriber(says_give=False), EmergencyTreatment())
    assert "look before you treat" in moment.remark


def test_food_given_to_a_patient_who_is_not_awake_does_not_count():
    start = found(alertness="drowsy")
    events = (
        *(CallForHelp(), EmergencyTreatment(), Eat(), Wait(15)),
        look(94, alertness="awake", can_swallow=True),
    )
    assert "food now" in last(start, *events).due


def test_a_low_that_stays_is_called_about_and_treated_again():
    still = "Still low after a treatment: call the nurse in charge and the prescriber now, and treat again."
    first = (Carbohydrate(15), Wait(15), look(66))
    assert last(found(), *first).due.startswith(still)
    assert still not in last(found(), *first, Carbohydrate(15)).due
    assert last(found(), *first, TellPrescriber(says_give=False)).due.startswith(
        "Still low after a treatment: treat again."
    )
    assert still not in last(found(), look(66)).due
    # word of the low itself is not word that it stays
    assert last(found(), TellPrescriber(says_give=False), *first).due.startswith(still)


def test_help_that_was_called_is_not_asked_for_again():
    assert last(found(alertness="unresponsive"), CallForHelp(), EmergencyTreatment(), Wait(15)).remark == ""


EVENTS = st.lists(
    st.builds(Carbohydrate, st.sampled_from([1, 10, 15, 20]))
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
    moments = treatment.walk(ORDER, found(value), events, site)
    assert len(moments) == len(events) + 1
    told = waits = treated = False
    for moment in moments:
        assert moment.decision == decide(ORDER, moment.observation, site)
        assert str(moment.due).endswith(".")
        if isinstance(moment.event, TellPrescriber | Measure):
            told = isinstance(moment.event, TellPrescriber) and moment.event.says_give
        if isinstance(moment.event, TellPrescriber):
            waits = not moment.event.says_give
        treated |= isinstance(moment.event, EmergencyTreatment)
        if moment.decision.choice.startswith("give"):
            assert not waits
            assert told or not treated
        if moment.decision.choice.startswith("give") and any(
            one.decision.choice == "hold and treat" for one in moments
        ):
            assert not moment.observation.food_due
            lows = [key for key in (reason.key for reason in moment.decision.because) if key == "earlier-low"]
            assert told or not lows
    assert [moment.minute for moment in moments] == sorted(moment.minute for moment in moments)


# What a second nurse educator asked of the walk. Rules of the trade without a number: common practice, no source.


@pytest.mark.parametrize(
    ("start", "treatment", "better"),
    [
        (found(95, signs=("sweating",)), Carbohydrate(15), look(120)),
        (found(95, alertness="drowsy"), EmergencyTreatment(), look(120, alertness="awake", can_swallow=True)),
    ],
    ids=["sweating", "drowsy"],
)
def test_signs_treated_as_a_low_are_asked_about_like_a_low(start, treatment, better):
    moments = walk(ORDER, start, (TellPrescriber(says_give=False), treatment, Wait(15), better, Eat()))
    assert moments[4].decision.choice == "hold and ask"
    assert moments[4].observation.food_due
    assert moments[4].due == (
        "The reading is not below 70 mg/dL: food now, as local policy says, then tell the prescriber."
    )
    assert moments[5].decision.choice == "hold and ask"
    assert moments[5].due.startswith("Tell the prescriber what was given and the new reading")
    assert walk(ORDER, start, (treatment, Wait(15), better, Eat()))[-1].decision.because[0].key == "treated-as-low"
    given = (treatment, Wait(15), better, Eat(), TellPrescriber(says_give=True))
    assert last(start, *given).decision.choice == "give"


def test_signs_without_a_reading_end_with_the_word_of_the_prescriber():
    start = found(None, signs=("sweating",))
    moment = last(start, Carbohydrate(15), Wait(15), look(90), Eat())
    assert moment.decision.choice == "hold and ask"
    assert moment.due.startswith("Tell the prescriber")
    assert "before anything is drawn up" in moment.due
    # nothing was treated, nothing was low: nothing to ask
    for events in ((look(90),), (Wait(1), look(90))):
        moment = last(start, *events)
        assert moment.decision.choice == "give"
        assert "Tell the prescriber" not in moment.due
    assert last(found(None, alertness="unresponsive"), look(90, alertness="awake")).decision.choice == "hold and ask"


def test_a_no_stays_until_the_prescriber_says_otherwise():
    no, measured, yes = walk(
        ORDER, found(120), (TellPrescriber(says_give=False), look(125), TellPrescriber(says_give=True))
    )[1:]
    assert (no.decision.choice, measured.decision.choice, yes.decision.choice) == (*["hold and ask"] * 2, "give")
    assert no.due.startswith("Do not give this dose")
    assert measured.due == (
        "The prescriber has said not to give this dose. A new reading does not change that: tell the reading, and ask again."
    )


@pytest.mark.parametrize(
    ("value", "words"),
    [(260, "Nothing sweet at a high reading"), (345, "Nothing sweet at a very high reading")],
)
def test_sugar_at_a_high_reading_with_confusion_is_no_treatment(value, words):
    moment = last(found(value, signs=("confusion",)), CallForHelp(), Carbohydrate(15))
    assert words in moment.remark
    assert "treat if that cannot be done" not in moment.remark
    assert "othing sweet unless a fresh reading is low" in last(found(value, signs=("confusion",))).due
    assert "othing sweet" not in last(found(250, signs=("confusion",))).due


def test_before_food_it_is_seen_how_a_patient_swallows_who_was_not_awake():
    start = found(40, alertness="unresponsive")
    events = (CallForHelp(), EmergencyTreatment(), Wait(15), look(94, alertness="awake"))
    assert last(start, *events).due == (
        "The reading is no longer below 70 mg/dL. First see that the patient is fully awake and swallows safely, then food as "
        "local policy says, then tell the prescriber. If you are not sure: nothing by mouth; ask how the glucose is to be kept "
        "up."
    )
    assert last(start, *events, Eat()).remark == (
        "Food, although nobody has seen how the patient swallows after being so drowsy: see to that first (common practice, "
        "no source)."
    )
    assert "then give the dose as the prescriber said" in last(start, *events, TellPrescriber(says_give=True)).due
    seen_to = (*events, look(96, can_swallow=True))
    assert "food now" in last(start, *seen_to).due
    assert last(start, *seen_to, Eat()).remark == ""
    # seen while awake, then drowsy again: to be seen anew
    again = (*seen_to, look(96, alertness="drowsy"), look(97, alertness="awake"))
    assert "First see that the patient is fully awake" in last(start, *again).due
    drowsy_later = (Carbohydrate(15), Wait(15), look(75, alertness="drowsy"), look(90, alertness="awake"))
    assert "First see that the patient" in last(found(), *drowsy_later).due


def test_a_second_low_is_reported_again():
    first = (TellPrescriber(says_give=False), *RIGHT[:-1])
    again = (
        "Low again: call the nurse in charge and the prescriber now, and treat. No insulin now: if the patient is awake"
    )
    assert last(found(), *first, Wait(30), look(60)).due.startswith(again)
    assert "call the nurse" not in last(found(), *first, Wait(30), look(60), TellPrescriber(says_give=False)).due
    assert "prescriber told now" in last(found(), *first, Wait(30), look(60), Carbohydrate(15)).due
    # the first low of the walk is not one again, but what was told before it was not of it
    fresh = last(found(120), TellPrescriber(says_give=False), look(60)).due
    assert "Low again" not in fresh
    assert "Have the nurse in charge and the prescriber told now." in fresh
    assert "Low again" not in last(found(), look(60)).due


def test_a_low_while_vomiting():
    start = found(vomiting=True)
    down = "If the drink does not stay down: emergency protocol, do not wait {} minutes."
    assert down.format(15) in last(start).due
    assert down.format(10) in last(start, site=HILL).due
    assert "stay down" not in last(found()).due
    still = last(start, Carbohydrate(15), Wait(15), look(66))
    assert still.due.startswith(
        "Still low, and vomiting: emergency protocol now; call the nurse in charge and the prescriber."
    )
    told = last(start, Carbohydrate(15), Wait(15), look(66), TellPrescriber(says_give=False))
    assert "call the nurse" not in told.due
    fed = last(start, Carbohydrate(15), Wait(15), look(90), Eat())
    assert fed.remark == (
        "Food, although the patient vomits: ask first how the glucose is to be kept up (common practice, no source)."
    )


def test_a_reading_too_high_for_the_meter_is_called_about():
    start = found("HI")
    assert last(start).due == "Call the prescriber now, and send a sample to the laboratory; do not wait for it."
    assert last(start, TellPrescriber(says_give=False)).due == (
        "Write down what the prescriber has said, and ask when to measure and call again."
    )
    assert last(start, TellPrescriber(says_give=False), look("HI")).due.startswith("Call the prescriber now")
    assert "a fresh reading" in last(found("HI", minutes_old=90)).due
    assert last(start, TellPrescriber(says_give=True)).decision.choice == "give and report"


def test_signs_that_stay_at_a_high_reading_once_told():
    start = found("HI", signs=("sweating",))
    said = (
        "Stay with the patient. Do what the prescriber has said, and call again at once if breathing gets fast or the patient "
        "gets drowsier."
    )
    assert "measure again now" in last(start, look("HI", ("sweating",))).due
    told = (look("HI", ("sweating",)), TellPrescriber(says_give=False))
    assert last(start, *told).due == said
    assert last(start, *told, Wait(15), look(590, ("sweating",))).due == said


def test_food_before_the_low_is_over_is_not_the_food_after_it():
    assert "food now" in last(found(), Carbohydrate(15), Eat(), Wait(15), look(94)).due
    early = (Carbohydrate(15), Wait(5), look(90), Eat())
    words = "Food before a reading in time has shown that the low is over: wait, measure, then food ("
    assert last(found(), *early).remark.startswith(words)
    assert "food now" in last(found(), *early, Wait(10), look(92)).due
    assert last(found(), *RIGHT[:-2], Eat()).remark == ""


def test_the_prescriber_is_called_about_signs_at_a_high_reading():
    call = "Call the prescriber now, and send a sample to the laboratory; do not wait for it. Stay with the patient and measure"
    assert last(found("HI", signs=("sweating",))).due.startswith(call)
    start = found(260, signs=("sweating",))
    assert last(start).due.startswith("Stay with the patient and measure again now")
    stay = last(start, look(258, ("sweating",))).due
    assert stay.startswith("The signs stay: call the nurse in charge and the prescriber now. Stay with the patient")


def test_signs_treated_as_a_low_are_measured_again_in_time():
    start = found(85, signs=("sweating",))
    treated, later = walk(ORDER, start, (Carbohydrate(15), Wait(15)))[1:]
    assert treated.due == (
        "Stay with the patient and measure again in 15 minutes, 15 minutes after the treatment. Have the nurse in charge and the "
        "prescriber told now."
    )
    assert later.due == "Measure again now, and look for signs."


def test_no_carbohydrate_is_no_treatment():
    with pytest.raises(NotAnAmount, match="0 g of carbohydrate treat nobody"):
        Carbohydrate(0)
