"""What is due next while a low is treated."""

from __future__ import annotations

from dataclasses import dataclass

from mixlab.care.decision.answers import SIGNS_AND_NO_LOW, TOO_HIGH, ReasonKey, after_a_colon
from mixlab.care.decision.assessment import FOOD_THEN_DOSE, look_for
from mixlab.care.decision.check_steps import NOTHING_SWEET, STAY_AND_MEASURE
from mixlab.care.decision.deciding import Decision
from mixlab.care.decision.readings import look_at
from mixlab.care.decision.reasons import SAYS_WAIT
from mixlab.care.decision.swallowing import URGENT_SIGNS, awake, can_eat, felt, mouth
from mixlab.care.decision.treat_steps import DOES_NOT_STAY_DOWN, NOT_AWAKE, PROTOCOL, SEE_FIRST
from mixlab.ward.observation import Observation
from mixlab.ward.site.record import Site
from mixlab.words import Sentence, joined, sentence


@dataclass(frozen=True, kw_only=True)
class Progress:
    """How far the treatment is.

    Attributes
    ----------
    observation : Observation
        What is known now.
    minute : float
        Minutes since the patient was found.
    treated_at : float or None
        The minute of the last treatment that no reading has followed in good time; None if there is none.
    had_low : bool
        Whether a low has been treated or found.
    still_low : bool
        Whether the last reading, taken in good time after a treatment, was still a low.
    low_again : bool
        Whether the last reading was a new low, after one that was not low.
    see_swallowing : bool
        Whether the patient was not fully awake and nobody has seen since how they swallow.
    signs_stay : bool
        Whether signs that the number does not explain were still there at a second reading.
    eaten, helped, told : bool
        Whether food has followed the end of the last low, whether help has been called, and whether the prescriber knows of the
        low, or that it has not gone.
    answer : bool or None
        Whether the prescriber says to give the dose, since the last reading; None if not asked.
    """

    observation: Observation
    minute: float = 0
    treated_at: float | None = None
    had_low: bool = False
    still_low: bool = False
    low_again: bool = False
    see_swallowing: bool = False
    signs_stay: bool = False
    eaten: bool = False
    helped: bool = False
    told: bool = False
    answer: bool | None = None


_ABOUT_MEAL_AND_CHART: set[ReasonKey] = {"meal-unknown", "last-dose-recent", "last-dose-unknown"}
"""Rules that ask to check first although nothing is wrong with the reading or the patient."""


def due(state: Progress, decision: Decision, site: Site) -> Sentence:
    """Return what to do next, in a few short sentences with the site's own numbers."""
    call = [sentence("Call for help at once.")] if not state.helped and grave(state.observation, decision) else []
    if decision.choice == "hold and treat":
        return _together(*call, *_treatment_due(state, site))
    asked = {reason.key for reason in decision.because if reason.choice == "check first"}
    if "reading-too-early" in asked:
        return _together(*call, _too_early(state, site))
    too_high = bool(asked & TOO_HIGH) and not asked & _NOT_TO_GO_BY
    if asked & SIGNS_AND_NO_LOW:
        return _together(*call, *_signs_due(state, too_high, site))
    if too_high:
        return _together(*call, _CALL_ABOUT_HIGH if state.answer is None else _HIGH_AND_TOLD)
    if state.observation.food_due and asked <= _ABOUT_MEAL_AND_CHART:
        return _food_due(state, decision, site)
    if asked:
        until = sentence(
            "Do not give the insulin yet. Look, measure or ask until this holds: {what}",
            what=after_a_colon(decision.give_when[0]),
        )
        return _together(*call, until)
    if state.had_low and state.answer is None:
        without = [] if can_eat(state.observation) else [_ASK_WITHOUT_FOOD]
        return _together(_TELL_OF_THE_LOW, *without)
    if state.observation.prescriber_says_wait:
        if state.answer is None:
            return SAYS_WAIT
        return sentence(
            "Do not give this dose: write down what the {prescriber} has said, and ask when to measure and decide again."
        )
    return _together(*decision.next_steps[:2])


def _together(*sentences: Sentence) -> Sentence:
    return joined(sentences, " ")


_TELL_OF_THE_LOW = sentence(
    "Tell the {prescriber} what was given and the new reading, and ask about the dose before anything is drawn up."
)
_ASK_WITHOUT_FOOD = sentence("Ask too how the glucose is to be kept up without food.")

_NOT_TO_GO_BY: frozenset[ReasonKey] = frozenset(("which-unit", "reading-too-old", "reading-age-unknown"))
"""Rules by which a reading is looked at again before anyone is called about it."""

_CALL_ABOUT_HIGH = sentence("Call the {prescriber} now, and send a sample to the laboratory; do not wait for it.")
_HIGH_AND_TOLD = sentence("Write down what the {prescriber} has said, and ask when to measure and call again.")
_SIGNS_AND_TOLD = sentence(
    "Stay with the patient. Do what the {prescriber} has said, and call again at once if breathing gets fast or the patient gets drowsier."
)


def _treatment_due(state: Progress, site: Site) -> list[Sentence]:
    seen, way, recheck = state.observation, mouth(state.observation), site.recheck.value
    told = [] if state.told else [_HAVE_THEM_TOLD]
    if state.treated_at is not None:
        return _recheck_due(state, state.treated_at, site)
    if state.still_low and seen.vomiting and way != "nothing":
        then = sentence("Then measure again after {recheck} minutes.", recheck=recheck)
        return [_STILL_LOW_AND_VOMITING if state.told else _STILL_LOW_AND_VOMITING_CALL, then]
    still = []
    if state.still_low:
        still, told = [_STILL_LOW if state.told else _STILL_LOW_CALL], []
    elif state.low_again:
        still, told = [_LOW_AGAIN if state.told else _LOW_AGAIN_CALL], []
    if way == "nothing":
        if not awake(seen):
            return [*still, NOT_AWAKE, sentence("Then measure again after {recheck} minutes.", recheck=recheck), *told]
        return [*still, _BY_PROTOCOL.filled(protocol=PROTOCOL, recheck=recheck), *told]
    down = [DOES_NOT_STAY_DOWN.filled(recheck=recheck)] if seen.vomiting else []
    if way == "see first":
        first = (sentence("No insulin now."), SEE_FIRST)
        return [
            *still,
            *first,
            sentence("Treat, then measure again after {recheck} minutes.", recheck=recheck),
            *down,
            *told,
        ]
    if seen.fasting:
        return [*still, _WHILE_FASTING.filled(recheck=recheck), *down, *told]
    grams = site.carbohydrate.value
    return [*still, _BY_MOUTH.filled(carbohydrate=grams, recheck=recheck), *down, *told]


_STILL_LOW = sentence("Still low after a treatment: treat again.")
_STILL_LOW_CALL = sentence(
    "Still low after a treatment: call the nurse in charge and the {prescriber} now, and treat again."
)
_STILL_LOW_AND_VOMITING = sentence("Still low, and vomiting: emergency protocol now.")
_STILL_LOW_AND_VOMITING_CALL = sentence(
    "Still low, and vomiting: emergency protocol now; call the nurse in charge and the {prescriber}."
)
_LOW_AGAIN = sentence("Low again: treat.")
_LOW_AGAIN_CALL = sentence("Low again: call the nurse in charge and the {prescriber} now, and treat.")
_BY_PROTOCOL = sentence("Nothing by mouth: treat by the {protocol}, then measure again after {recheck} minutes.")
_WHILE_FASTING = sentence(
    "No insulin now. A low is treated, also while fasting: ask at once which way, treat, then measure again after {recheck} minutes."
)
_BY_MOUTH = sentence(
    "No insulin now: if the patient is awake and able to swallow give {carbohydrate} g of fast carbohydrate, then measure again after {recheck} minutes."
)
_HAVE_THEM_TOLD = sentence("Have the nurse in charge and the {prescriber} told now.")


def _recheck_due(state: Progress, treated_at: float, site: Site) -> list[Sentence]:
    left = site.recheck.value - (state.minute - treated_at)
    if left <= 0:
        return [sentence("Measure again now, and look for signs.")]
    again = sentence(
        "Stay with the patient and measure again in {left} minutes, {recheck} minutes after the treatment.",
        left=round(left, 1),
        recheck=site.recheck.value,
    )
    return [again] if state.told else [again, _HAVE_THEM_TOLD]


def _too_early(state: Progress, site: Site) -> Sentence:
    left = 0.0 if state.treated_at is None else site.recheck.value - (state.minute - state.treated_at)
    if left <= 0:
        return sentence("Measure again now, and look for signs: the last reading was too early to decide by.")
    return sentence(
        "Stay, and measure again in {left} minutes: this reading was too early to decide by.",
        left=round(left, 1),
    )


def _signs_due(state: Progress, too_high: bool, site: Site) -> list[Sentence]:
    high = very_high(state.observation, site)
    if state.treated_at is not None and not high:
        return _recheck_due(state, state.treated_at, site)
    if high and (state.answer is not None or (state.signs_stay and state.told)):
        return [_SIGNS_AND_TOLD]
    if high:
        call = [_CALL_ABOUT_HIGH] if too_high and not state.told else []
        if state.signs_stay and not call:
            call = [sentence("The signs stay: call the nurse in charge and the {prescriber} now.")]
        signs = look_for(state.observation)
        look = sentence("Stay with the patient and measure again now; look for {signs}.", signs=signs)
        return [*call, look, NOTHING_SWEET]
    if not state.signs_stay:
        return [STAY_AND_MEASURE]
    if state.answer is None:
        return [_SIGNS_STAY]
    return [
        sentence("Do what the {prescriber} has said about the signs, stay with the patient, and measure again soon.")
    ]


_SIGNS_STAY = sentence(
    "The signs stay: call the nurse in charge and the {prescriber} now and ask about treating as a low, above all if the meter's error reaches the line. Do not wait for the next reading."
)


def _food_due(state: Progress, decision: Decision, site: Site) -> Sentence:
    never_low = any(reason.key == "treated-as-low" for reason in decision.because)
    if state.see_swallowing:
        over = (_NOT_LOW if never_low else _NO_LONGER_LOW).filled(hold_line=site.hold_text)
        then = sentence("then give the dose as the {prescriber} said") if state.answer is True else _after_food(state)
        return _together(over, _SWALLOWING_THEN_FOOD.filled(then=then))
    if state.answer is True:
        return FOOD_THEN_DOSE
    food = _NOT_LOW_FOOD_NOW if never_low else _NO_LONGER_LOW_FOOD_NOW
    return food.filled(hold_line=site.hold_text, then=_after_food(state))


_NOT_LOW = sentence("The reading is not {hold_line}.")
_NO_LONGER_LOW = sentence("The reading is no longer {hold_line}.")
_NOT_LOW_FOOD_NOW = sentence("The reading is not {hold_line}: food now, as local policy says, {then}.")
_NO_LONGER_LOW_FOOD_NOW = sentence("The reading is no longer {hold_line}: food now, as local policy says, {then}.")
_SWALLOWING_THEN_FOOD = sentence(
    "First see that the patient is fully awake and swallows safely, then food as local policy says, {then}. If you are not sure: nothing by mouth; ask how the glucose is to be kept up."
)


def _after_food(state: Progress) -> Sentence:
    if state.answer is None:
        return sentence("then tell the {prescriber}")
    return sentence("and do not give this dose: the {prescriber} said so")


def very_high(seen: Observation, site: Site) -> bool:
    """Say whether the reading is so high that signs with it are not treated as a low."""
    return seen.glucose is not None and look_at(seen.glucose, site).high_with_signs


def grave(seen: Observation, decision: Decision) -> bool:
    """Say whether help is called before anything else: a serious low, or a patient who is not fully awake."""
    serious = any(reason.key in ("level-2-line", "meter-shows-lo", "level-3") for reason in decision.because)
    return serious or mouth(seen) == "nothing" or any(sign in URGENT_SIGNS for sign in felt(seen))
