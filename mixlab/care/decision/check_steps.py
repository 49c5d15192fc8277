"""The steps of a check: only those that an open reason asks for, what cannot wait first."""

from __future__ import annotations

from mixlab.words import Sentence, joined, sentence

from .answers import SIGNS_AND_NO_LOW, TOO_HIGH, ReasonKey
from .assessment import TO_THE_LABORATORY, Case, find_out, last_dose, last_step, look_for, questions, which_unit
from .swallowing import URGENT_SIGNS, felt

_FRESH: frozenset[ReasonKey] = frozenset(
    ("no-reading", "reading-too-old", "reading-age-unknown", "below-meter", *TOO_HIGH)
)
"""Rules that ask for a new reading."""

STAY_AND_MEASURE = sentence("Stay with the patient. Wash the finger, measure again now.")
IF_SIGNS_STAY = sentence(
    "If the signs stay: call the nurse in charge and the {prescriber} now and ask about treating as a low, above all if the meter's error reaches the line. Do not wait for the next reading."
)
IF_URGENT_SIGNS_STAY = sentence(
    "Call the nurse in charge and the {prescriber} now and ask about treating as a low, above all if the meter's error reaches the line. Do not wait for the next reading."
)
OTHER_CAUSES = sentence("If the signs stay, ask what else it can be: a low is not the only cause.")
"""A patient who is drowsy, confused or speaks badly above the line (common practice, no source)."""
NOTHING_SWEET = sentence("Nothing sweet unless a fresh reading is low.")
_HELP_AND_NOTHING_SWEET = sentence("Call for help; nothing sweet unless a fresh reading is low.")


def check(case: Case) -> list[Sentence]:
    """Return the steps of a check, in order; questions for the prescriber come after it."""
    still_open = case.still_open
    steps = [sentence("Do not give the insulin yet."), *which_unit(case), *_signs(case), *last_dose(case)]
    measured = bool(still_open & SIGNS_AND_NO_LOW)
    if "reading-too-early" in still_open:
        steps.append(
            sentence(
                "Stay with the patient, and measure again {minutes} minutes after the treatment.",
                minutes=case.site.recheck.value,
            )
        )
    if still_open & _FRESH and not measured:
        steps.append(sentence("Wash and dry the finger, take a fresh sample, and write down the time."))
        if "no-reading" in still_open:
            steps.append(sentence("If there are signs and no reading can be had at once, treat as a low."))
    if "signs-not-looked-for" in still_open:
        steps.append(sentence("Look for signs of a low."))
    if "alertness-not-looked-at" in still_open:
        steps.append(sentence("See how awake the patient is."))
    if "meal-unknown" in still_open:
        steps.append(sentence("Find out whether the patient will eat the meal."))
    if still_open & TOO_HIGH:
        if not still_open & (SIGNS_AND_NO_LOW | {"vomiting"}):
            steps.append(sentence("Look for {signs}.", signs=look_for(case.observation)))
        steps.append(TO_THE_LABORATORY)
    return [*steps, *([joined(find_out(case), " ")] if find_out(case) else []), *questions(case), last_step(case)]


def _signs(case: Case) -> list[Sentence]:
    """Return what is done about signs that do not fit the number: act, then call."""
    if not case.still_open & SIGNS_AND_NO_LOW:
        return []
    urgent = any(sign in URGENT_SIGNS for sign in felt(case.observation))
    if case.high_with_signs:
        look = sentence("Measure again now; look for {signs}.", signs=look_for(case.observation))
        return [joined((look, NOTHING_SWEET if urgent else _HELP_AND_NOTHING_SWEET), " ")]
    if urgent:
        return [STAY_AND_MEASURE, IF_URGENT_SIGNS_STAY, OTHER_CAUSES]
    return [STAY_AND_MEASURE, IF_SIGNS_STAY]
