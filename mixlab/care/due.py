"""What is due next while a low is treated."""

from __future__ import annotations

from dataclasses import dataclass

from ..quantities import number_text
from ..ward.observation import Observation
from ..ward.site import Site
from .answers import TOO_HIGH
from .check_steps import IF_SIGNS_STAY, STAY_AND_MEASURE
from .decision import Decision
from .swallowing import URGENT_SIGNS, awake, can_eat, felt, mouth
from .treat_steps import NOT_AWAKE, PROTOCOL, SEE_FIRST


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
    signs_stay : bool
        Whether signs that the number does not explain were still there at a second reading.
    eaten, helped, told : bool
        Whether food has followed the last treatment, whether help has been called, and whether the prescriber knows of the
        low, or that it has not gone.
    answer : bool or None
        Whether the prescriber says to give the dose, since the last reading; None if not asked.
    """

    observation: Observation
    minute: float = 0
    treated_at: float | None = None
    had_low: bool = False
    still_low: bool = False
    signs_stay: bool = False
    eaten: bool = False
    helped: bool = False
    told: bool = False
    answer: bool | None = None


SIGNS_AND_NO_LOW = frozenset(("signs-outrank-number", "emergency-not-low", "signs-with-high"))
"""Rules about signs that the number does not explain."""

_ABOUT_MEAL_AND_CHART = {"meal-unknown", "last-dose-recent", "last-dose-unknown"}
"""Rules that ask to check first although nothing is wrong with the reading or the patient."""


def due(state: Progress, decision: Decision, site: Site) -> str:
    """Return what to do next, in a few short sentences with the site's own numbers."""
    call = "Call for help at once. " if not state.helped and grave(state.observation, decision) else ""
    if decision.choice == "hold and treat":
        return call + _treatment_due(state, site)
    asked = {reason.key for reason in decision.because if reason.choice == "check first"}
    if "reading-too-early" in asked:
        return call + _too_early(state, site)
    if asked & SIGNS_AND_NO_LOW:
        return call + _signs_due(state, very_high(decision))
    if state.observation.food_due and asked <= _ABOUT_MEAL_AND_CHART:
        return _food_due(state, site)
    if asked:
        first = decision.give_when[0]
        return (
            f"{call}Do not give the insulin yet. Look, measure or ask until this holds: {first[0].lower()}{first[1:]}"
        )
    if state.had_low and state.answer is None:
        keep_up = "" if can_eat(state.observation) else " Ask too how the glucose is to be kept up without food."
        return f"Tell the prescriber what was given and the new reading, and ask about the dose before anything is drawn up.{keep_up}"
    if state.answer is False:
        return (
            "Do not give this dose: write down what the prescriber has said, and ask when to measure and decide again."
        )
    return " ".join(decision.next_steps[:2])


def _treatment_due(state: Progress, site: Site) -> str:
    recheck, seen = number_text(site.recheck.value), state.observation
    told = "" if state.told else " Have the nurse in charge and the prescriber told now."
    if state.treated_at is not None:
        left = site.recheck.value - (state.minute - state.treated_at)
        if left <= 0:
            return "Measure again now, and look for signs."
        return (
            f"Stay with the patient and measure again in {number_text(round(left, 1))} minutes, {recheck} minutes after the "
            f"treatment.{told}"
        )
    still = ""
    if state.still_low:
        call = "" if state.told else "call the nurse in charge and the prescriber now, and "
        still, told = f"Still low after a treatment: {call}treat again. ", ""
    way, then = mouth(seen), f"measure again after {recheck} minutes"
    if way == "nothing":
        if not awake(seen):
            return f"{still}{NOT_AWAKE} Then {then}.{told}"
        return f"{still}Nothing by mouth: treat by the {PROTOCOL}, then {then}.{told}"
    if way == "see first":
        return f"{still}No insulin now. {SEE_FIRST} Treat, then {then}.{told}"
    if seen.fasting:
        return f"{still}No insulin now. A low is treated, also while fasting: ask at once which way, treat, then {then}.{told}"
    return (
        f"{still}No insulin now: if the patient is awake and able to swallow give {number_text(site.carbohydrate.value)} g of fast "
        f"carbohydrate, then {then}.{told}"
    )


def _too_early(state: Progress, site: Site) -> str:
    left = 0.0 if state.treated_at is None else site.recheck.value - (state.minute - state.treated_at)
    if left <= 0:
        return "Measure again now, and look for signs: the last reading was too early to decide by."
    return f"Stay, and measure again in {number_text(round(left, 1))} minutes: this reading was too early to decide by."


def _signs_due(state: Progress, high: bool) -> str:
    if high:
        return (
            "Stay with the patient and measure again now; look for vomiting, fast breathing, drowsiness. Nothing sweet unless a "
            "fresh reading is low."
        )
    if not state.signs_stay:
        return STAY_AND_MEASURE
    if state.answer is None:
        return IF_SIGNS_STAY.replace("If the signs stay", "The signs stay")
    return "Do what the prescriber has said about the signs, stay with the patient, and measure again soon."


def _food_due(state: Progress, site: Site) -> str:
    if state.answer is True:
        return "Food first, as local policy says. Then give the dose as the prescriber said."
    then = "then tell the prescriber" if state.answer is None else "and do not give this dose: the prescriber said so"
    return f"The reading is no longer {site.hold_text}: food now, as local policy says, {then}."


def very_high(decision: Decision) -> bool:
    """Say whether the reading lies past the report line or above the meter: signs with it are not treated as a low."""
    return any(reason.key in ("report-line", *TOO_HIGH) for reason in decision.because)


def grave(seen: Observation, decision: Decision) -> bool:
    """Say whether help is called before anything else: a serious low, or a patient who is not fully awake."""
    serious = any(reason.key in ("level-2-line", "meter-shows-lo", "level-3") for reason in decision.because)
    return serious or mouth(seen) == "nothing" or any(sign in URGENT_SIGNS for sign in felt(seen))
