"""The steps of a check: only those that an open reason asks for, what cannot wait first."""

from __future__ import annotations

from ..quantities import number_text
from .answers import TOO_HIGH, ReasonKey
from .case import TO_THE_LABORATORY, Case, find_out, last_dose, last_step, questions, which_unit
from .swallowing import URGENT_SIGNS, felt

_FRESH: frozenset[ReasonKey] = frozenset(
    ("no-reading", "reading-too-old", "reading-age-unknown", "below-meter", *TOO_HIGH)
)
"""Rules that ask for a new reading."""

STAY_AND_MEASURE = "Stay with the patient. Wash the finger, measure again now."
IF_SIGNS_STAY = (
    "If the signs stay: call the nurse in charge and the prescriber now and ask about treating as a low, above all if the "
    "meter's error reaches the line. Do not wait for the next reading."
)
HIGH_WITH_SIGNS = "Measure again now; look for vomiting, fast breathing, drowsiness."
NOTHING_SWEET = "nothing sweet unless a fresh reading is low."


def check(case: Case) -> list[str]:
    """Return the steps of a check, in order; questions for the prescriber come after it."""
    still_open = case.still_open
    steps = ["Do not give the insulin yet.", *which_unit(case), *_signs(case), *last_dose(case)]
    measured = bool(still_open & {"signs-outrank-number", "emergency-not-low", "signs-with-high"})
    if "reading-too-early" in still_open:
        minutes = number_text(case.site.recheck.value)
        steps.append(f"Stay with the patient, and measure again {minutes} minutes after the treatment.")
    if still_open & _FRESH and not measured:
        steps.append("Wash and dry the finger, take a fresh sample, and write down the time.")
        if "no-reading" in still_open:
            steps.append("If there are signs and no reading can be had at once, treat as a low.")
    if "signs-not-looked-for" in still_open:
        steps.append("Look for signs of a low.")
    if "alertness-not-looked-at" in still_open:
        steps.append("See how awake the patient is.")
    if "meal-unknown" in still_open:
        steps.append("Find out whether the patient will eat the meal.")
    if still_open & TOO_HIGH:
        if "signs-with-high" not in still_open:
            steps.append("Look for vomiting, fast breathing and drowsiness.")
        steps.append(TO_THE_LABORATORY)
    return [*steps, *([" ".join(find_out(case))] if find_out(case) else []), *questions(case), last_step(case)]


def _signs(case: Case) -> list[str]:
    """Return what is done about signs that do not fit the number: act, then call."""
    if case.high and case.still_open & {"signs-with-high", "emergency-not-low"}:
        called = any(sign in URGENT_SIGNS for sign in felt(case.observation))
        return [f"{HIGH_WITH_SIGNS} {'N' if called else 'Call for help; n'}{NOTHING_SWEET[1:]}"]
    if case.still_open & {"signs-outrank-number", "emergency-not-low", "signs-with-high"}:
        return [STAY_AND_MEASURE, IF_SIGNS_STAY]
    return []
