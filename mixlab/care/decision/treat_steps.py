"""The steps of a low: hold the dose, treat by the way that is safe, measure again, food, and the prescriber."""

from __future__ import annotations

from mixlab.words import Sentence, joined, sentence

from .assessment import LATER, Case, last_dose, several_lows, which_unit
from .reasons import age_reason
from .swallowing import URGENT_SIGNS, awake, felt, mouth

PROTOCOL = sentence("emergency protocol (glucagon or intravenous dextrose)")

NOT_AWAKE = sentence(
    "Not fully awake: nothing by mouth. Emergency protocol (glucagon or intravenous dextrose). Lay the patient on the side."
)
DOES_NOT_STAY_DOWN = sentence("If the drink does not stay down: emergency protocol, do not wait {recheck} minutes.")
SEE_FIRST = sentence(
    "First see that the patient is awake and swallows safely. If you are not sure: nothing by mouth, emergency protocol."
)
WHILE_FASTING = sentence(
    "A low is treated, also while fasting. Ask at once which way: many protocols use intravenous dextrose. No food; tell the team doing the test or operation."
)
_BY_MOUTH = sentence(
    "Awake and able to swallow: fast carbohydrate as your protocol says ({carbohydrate} g is taught here). If not: nothing by mouth, call for help at once and follow the {protocol}."
)
_BY_MOUTH_WHILE_FASTING = sentence(
    "By mouth only if that is the answer: fast carbohydrate as your protocol says ({carbohydrate} g is taught here). If not: nothing by mouth, call for help at once and follow the {protocol}."
)


def treat(case: Case) -> list[Sentence]:
    """Return the steps of a low, in order."""
    site, seen = case.site, case.observation
    steps = [_hold(case)]
    if case.reading is None or age_reason(seen.minutes_old, site) is not None:
        steps.append(sentence("Take a fresh reading now if it can be done at once; do not delay treatment for it."))
    if case.still_open & {"meter-shows-lo", "below-meter"}:
        steps.append(
            sentence("Have so low a reading confirmed, by a second reading or by the laboratory, while you treat.")
        )
    steps += which_unit(case) if any(sign in URGENT_SIGNS for sign in felt(seen)) else []  # else it stands before all
    steps += [*_sugar(case), *_again(case), *last_dose(case)]
    return [
        *steps,
        sentence("Tell the {prescriber} the new reading, and ask about the dose."),
        *several_lows(case),
        LATER,
    ]


def _hold(case: Case) -> Sentence:
    hold = sentence(
        "Do not give the insulin now. Stay with the patient; have the nurse in charge and the {prescriber} told now."
    )
    serious = case.reading is not None and case.reading.serious
    if serious or any(sign in URGENT_SIGNS for sign in felt(case.observation)):
        return hold  # help has been called by the step before
    worse = sentence("If the patient becomes drowsy or confused, convulses or does not respond: call for help at once.")
    return joined((hold, worse), " ")


def _sugar(case: Case) -> list[Sentence]:
    seen, way = case.observation, mouth(case.observation)
    steps, protocol = [WHILE_FASTING] if seen.fasting else [], PROTOCOL
    if way == "nothing":
        unsafe = sentence("Nothing by mouth. Call for help at once and follow the {protocol}.", protocol=protocol)
        return [*steps, unsafe if awake(seen) else NOT_AWAKE]
    if way == "see first":
        steps.append(SEE_FIRST)
    by_mouth = _BY_MOUTH_WHILE_FASTING if seen.fasting else _BY_MOUTH
    steps.append(by_mouth.filled(carbohydrate=case.site.carbohydrate.value, protocol=protocol))
    if seen.vomiting:
        steps.append(DOES_NOT_STAY_DOWN.filled(recheck=case.site.recheck.value))
    return steps


def _again(case: Case) -> list[Sentence]:
    seen, recheck, hold_line = case.observation, case.site.recheck.value, case.site.hold_text
    nothing = mouth(seen) == "nothing"
    again = (_AGAIN_BY_PROTOCOL if nothing else _AGAIN).filled(recheck=recheck, hold_line=hold_line)
    if seen.fasting:
        food = [sentence("Once it has risen: no food. Ask how the glucose is to be kept up.")]
    elif nothing:
        food = [_FOOD_ONCE_AWAKE]
    else:
        food = [sentence("Once it has risen: food, as local policy says.")]
    if seen.vomiting and not seen.fasting:
        food.append(sentence("If nothing stays down, ask now how the glucose is to be kept up."))
    elif seen.eating is False and not seen.fasting:
        food.append(sentence("If they will not eat, ask now how the glucose is to be kept up."))
    return [again, joined((*food, sentence("Look for signs again.")), " ")]


_AGAIN = sentence("Measure again after {recheck} minutes; repeat the treatment while the reading is {hold_line}.")
_AGAIN_BY_PROTOCOL = sentence(
    "Measure again after {recheck} minutes, or sooner if the protocol says so; treat on while the reading is {hold_line}."
)
_FOOD_ONCE_AWAKE = sentence(
    "Food only once the patient is awake and able to swallow; until then the protocol says how to keep the glucose up."
)
