"""What is due next while a low is treated."""

from __future__ import annotations

from dataclasses import dataclass

from ..quantities import number_text
from ..ward.observation import Observation
from ..ward.site import Site
from ..words import mark, say
from .answers import SIGNS_AND_NO_LOW, TOO_HIGH, ReasonKey
from .case import look_for
from .check_steps import IF_SIGNS_STAY, NOTHING_SWEET, STAY_AND_MEASURE
from .decision import Decision
from .readings import look_at
from .reasons import SAYS_WAIT
from .swallowing import URGENT_SIGNS, awake, can_eat, felt, mouth
from .treat_steps import NOT_AWAKE, NOT_WAIT, PROTOCOL, SEE_FIRST


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


def due(state: Progress, decision: Decision, site: Site) -> str:
    """Return what to do next, in a few short sentences with the site's own numbers."""
    call = say("Call for help at once. ") if not state.helped and grave(state.observation, decision) else ""
    if decision.choice == "hold and treat":
        return call + _treatment_due(state, site)
    asked = {reason.key for reason in decision.because if reason.choice == "check first"}
    if "reading-too-early" in asked:
        return call + _too_early(state, site)
    too_high = bool(asked & TOO_HIGH) and not asked & _NOT_TO_GO_BY
    if asked & SIGNS_AND_NO_LOW:
        return call + _signs_due(state, too_high, site)
    if too_high:
        return call + (_CALL_ABOUT_HIGH if state.answer is None else _HIGH_AND_TOLD)
    if state.observation.food_due and asked <= _ABOUT_MEAL_AND_CHART:
        return _food_due(state, decision, site)
    if asked:
        first = decision.give_when[0]
        return say(
            "{call}Do not give the insulin yet. Look, measure or ask until this holds: {first}{first_2}",
            call=call,
            first=first[0].lower(),
            first_2=first[1:],
        )
    if state.had_low and state.answer is None:
        keep_up = "" if can_eat(state.observation) else say(" Ask too how the glucose is to be kept up without food.")
        return say(
            "Tell the prescriber what was given and the new reading, and ask about the dose before anything is drawn up.{keep_up}",
            keep_up=keep_up,
        )
    if state.observation.prescriber_says_wait:
        if state.answer is None:
            return SAYS_WAIT
        return say(
            "Do not give this dose: write down what the prescriber has said, and ask when to measure and decide again."
        )
    return " ".join(decision.next_steps[:2])


_NOT_TO_GO_BY: frozenset[ReasonKey] = frozenset(("which-unit", "reading-too-old", "reading-age-unknown"))
"""Rules by which a reading is looked at again before anyone is called about it."""

_CALL_ABOUT_HIGH = "Call the prescriber now, and send a sample to the laboratory; do not wait for it."
_HIGH_AND_TOLD = mark("Write down what the prescriber has said, and ask when to measure and call again.")
_SIGNS_AND_TOLD = mark(
    "Stay with the patient. Do what the prescriber has said, and call again at once if breathing gets fast or the patient gets drowsier."
)


def _treatment_due(state: Progress, site: Site) -> str:
    recheck, seen = number_text(site.recheck.value), state.observation
    told = "" if state.told else _HAVE_THEM_TOLD
    if state.treated_at is not None:
        return _recheck_due(state, state.treated_at, site)
    still, way, then = "", mouth(seen), say("measure again after {recheck} minutes", recheck=recheck)
    call = "" if state.told else say("call the nurse in charge and the prescriber now, and ")
    if state.still_low and seen.vomiting and way != "nothing":
        call = "" if state.told else "; call the nurse in charge and the prescriber"
        return say("Still low, and vomiting: emergency protocol now{call}. Then {then}.", call=call, then=then)
    if state.still_low:
        still, told = say("Still low after a treatment: {call}treat again. ", call=call), ""
    elif state.low_again:
        still, told = say("Low again: {call}treat. ", call=call), ""
    if way == "nothing":
        if not awake(seen):
            return say("{still}{not_awake} Then {then}.{told}", still=still, not_awake=NOT_AWAKE, then=then, told=told)
        return say(
            "{still}Nothing by mouth: treat by the {protocol}, then {then}.{told}",
            still=still,
            protocol=PROTOCOL,
            then=then,
            told=told,
        )
    down = (
        say(" If the drink does not stay down: {not_wait} {recheck} minutes.", not_wait=NOT_WAIT, recheck=recheck)
        if seen.vomiting
        else ""
    )
    if way == "see first":
        return say(
            "{still}No insulin now. {see_first} Treat, then {then}.{down}{told}",
            still=still,
            see_first=SEE_FIRST,
            then=then,
            down=down,
            told=told,
        )
    if seen.fasting:
        way_asked = say("A low is treated, also while fasting: ask at once which way, treat, then")
        return say(
            "{still}No insulin now. {way_asked} {then}.{down}{told}",
            still=still,
            way_asked=way_asked,
            then=then,
            down=down,
            told=told,
        )
    return say(
        "{still}No insulin now: if the patient is awake and able to swallow give {carbohydrate} g of fast carbohydrate, then {then}.{down}{told}",
        still=still,
        carbohydrate=number_text(site.carbohydrate.value),
        then=then,
        down=down,
        told=told,
    )


_HAVE_THEM_TOLD = mark(" Have the nurse in charge and the prescriber told now.")


def _recheck_due(state: Progress, treated_at: float, site: Site) -> str:
    left = site.recheck.value - (state.minute - treated_at)
    if left <= 0:
        return say("Measure again now, and look for signs.")
    return say(
        "Stay with the patient and measure again in {left} minutes, {recheck} minutes after the treatment.{which}",
        left=number_text(round(left, 1)),
        recheck=number_text(site.recheck.value),
        which="" if state.told else _HAVE_THEM_TOLD,
    )


def _too_early(state: Progress, site: Site) -> str:
    left = 0.0 if state.treated_at is None else site.recheck.value - (state.minute - state.treated_at)
    if left <= 0:
        return say("Measure again now, and look for signs: the last reading was too early to decide by.")
    return say(
        "Stay, and measure again in {left} minutes: this reading was too early to decide by.",
        left=number_text(round(left, 1)),
    )


def _signs_due(state: Progress, too_high: bool, site: Site) -> str:
    high = very_high(state.observation, site)
    if state.treated_at is not None and not high:
        return _recheck_due(state, state.treated_at, site)
    if high and (state.answer is not None or (state.signs_stay and state.told)):
        return _SIGNS_AND_TOLD
    if high:
        call = f"{_CALL_ABOUT_HIGH} " if too_high and not state.told else ""
        if state.signs_stay and not call:
            call = say("The signs stay: call the nurse in charge and the prescriber now. ")
        look = look_for(state.observation)
        return f"{call}Stay with the patient and measure again now; look for {look}. N{NOTHING_SWEET[1:]}"
    if not state.signs_stay:
        return STAY_AND_MEASURE
    if state.answer is None:
        return IF_SIGNS_STAY.replace(say("If the signs stay"), say("The signs stay"))
    return say("Do what the prescriber has said about the signs, stay with the patient, and measure again soon.")


def _food_due(state: Progress, decision: Decision, site: Site) -> str:
    was_low = "not" if any(reason.key == "treated-as-low" for reason in decision.because) else say("no longer")
    over = say("The reading is {was_low} {hold_text}", was_low=was_low, hold_text=site.hold_text)
    if state.see_swallowing:
        then = say("then give the dose as the prescriber said") if state.answer is True else _after_food(state)
        return (
            f"{over}. First see that the patient is fully awake and swallows safely, then food as local policy says, {then}. If "
            "you are not sure: nothing by mouth; ask how the glucose is to be kept up."
        )
    if state.answer is True:
        return say("Food first, as local policy says. Then give the dose as the prescriber said.")
    return say("{over}: food now, as local policy says, {after_food}.", over=over, after_food=_after_food(state))


def _after_food(state: Progress) -> str:
    return (
        say("then tell the prescriber")
        if state.answer is None
        else say("and do not give this dose: the prescriber said so")
    )


def very_high(seen: Observation, site: Site) -> bool:
    """Say whether the reading is so high that signs with it are not treated as a low."""
    return seen.glucose is not None and look_at(seen.glucose, site).high_with_signs


def grave(seen: Observation, decision: Decision) -> bool:
    """Say whether help is called before anything else: a serious low, or a patient who is not fully awake."""
    serious = any(reason.key in ("level-2-line", "meter-shows-lo", "level-3") for reason in decision.because)
    return serious or mouth(seen) == "nothing" or any(sign in URGENT_SIGNS for sign in felt(seen))
