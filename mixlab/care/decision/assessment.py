"""A decision as far as it is made, and the sentences that the steps of several answers share."""

from __future__ import annotations

from dataclasses import dataclass

from mixlab.facts.shelf import shelf
from mixlab.quantities import Glucose, units_text
from mixlab.ward.observation import Observation
from mixlab.ward.order.order import Dose, Order
from mixlab.ward.site.record import Site
from mixlab.words import Sentence, joined, sentence

from .answers import ASKED, SIGNS_AND_NO_LOW, TOO_HIGH, Choice, ReasonKey, after_a_colon
from .readings import Reading
from .reasons import says_give
from .swallowing import awake, felt, mouth


@dataclass(frozen=True, kw_only=True)
class Case:
    """A decision as far as it is made.

    Attributes
    ----------
    choice : str
        The answer.
    still_open : frozenset of str
        The rules that still ask for something. While the unit of the number is open, what hangs on the number is left out.
    answered : frozenset of str
        The questions that the prescriber has answered by saying to give the dose.
    order, observation, reading, site
        What was decided about, by whose lines.
    """

    choice: Choice
    still_open: frozenset[ReasonKey]
    answered: frozenset[ReasonKey]
    order: Order
    observation: Observation
    reading: Reading | None
    site: Site

    @property
    def high(self) -> bool:
        """Whether the reading is past the report line or above the meter, and its unit is not in doubt."""
        return self.reading is not None and self.reading.high and "which-unit" not in self.still_open

    @property
    def high_with_signs(self) -> bool:
        """Whether the reading is high enough that signs are not taken for a low, and its unit is not in doubt."""
        return self.reading is not None and self.reading.high_with_signs and "which-unit" not in self.still_open

    @property
    def told(self) -> bool:
        """Whether the prescriber has been told and says to give the dose."""
        return says_give(self.observation)

    @property
    def high_and_ill(self) -> bool:
        """Whether a high reading meets vomiting or a changed state that the prescriber has not answered for."""
        seen = self.observation
        return self.high_with_signs and (seen.vomiting or seen.changed) and not self.told


HANGS_ON_THE_UNIT: frozenset[ReasonKey] = frozenset(("report-line", *TOO_HIGH))
"""Rules that say nothing as long as nobody knows the unit of the number."""

FOR_THE_PRESCRIBER: frozenset[ReasonKey] = (
    (ASKED - {"meal-late"})
    | TOO_HIGH
    | {"emergency-not-low", "urgent-signs-not-low", "signs-with-high", "prescriber-says-wait"}
)
"""Rules after which the dose waits for the word of the prescriber. A meal that is late may come before it."""

LATER = sentence(
    "Holding is not canceling: record the time and the reason, decide again with a fresh reading, and give only what the {prescriber} then orders."
)
ORDER_STANDS = sentence(
    "When that is done, decide again at once. If nothing speaks against it, the order stands: give it on time."
)

NOT_LEFT_OUT = sentence("The insulin must not simply be left out: call, and call again if nobody answers.")
VOMITING_AND_DROWSY = sentence("Vomiting and drowsy: call at once, and ask about ketones too.")
"""Of any reading that is not low (common practice, no source)."""
FOOD_THEN_DOSE = sentence("Food first, as local policy says. Then give the dose as the {prescriber} said.")
NO_FOOD = sentence("No food by mouth now: ask how the glucose is to be kept up before the dose.")


def look_for(observation: Observation) -> Sentence:
    """Return what to look for at a high reading, without what is known already (common practice, no source)."""
    known = (
        (sentence("vomiting"), observation.vomiting),
        (sentence("fast breathing"), False),
        (sentence("drowsiness"), not awake(observation)),
    )
    *first, last = (sign for sign, is_known in known if not is_known)
    return joined((joined(first), last), sentence(" and ")) if first else last


def ketoacidosis(case: Case) -> list[Sentence]:
    """Return what is done about a patient who vomits, at a reading that is high, or who is drowsy besides."""
    if not case.high_with_signs or "vomiting" not in case.still_open:
        drowsy = "drowsiness" in felt(case.observation)
        return [VOMITING_AND_DROWSY] if case.observation.vomiting and drowsy else []
    # with signs, the look comes first of all and is not asked for twice
    look = not case.still_open & SIGNS_AND_NO_LOW
    first = _KETOACIDOSIS[case.high, look]
    if look:
        first = first.filled(signs=look_for(case.observation))
    return [joined((first, NOT_LEFT_OUT if case.high else _CALL_AT_ONCE), " ")]


_CALL_AT_ONCE = sentence("Call the {prescriber} at once.")
_KETOACIDOSIS = {
    (True, True): sentence("High and vomiting can be ketoacidosis: look for {signs}; ask about ketones."),
    (True, False): sentence("High and vomiting can be ketoacidosis: ask about ketones."),
    (False, True): sentence(
        "High and vomiting can be ketoacidosis, also below the report line: look for {signs}; ask about ketones."
    ),
    (False, False): sentence("High and vomiting can be ketoacidosis, also below the report line: ask about ketones."),
}
"""By whether the reading is past the report line, and whether signs are still to be looked for."""


TO_THE_LABORATORY = sentence(
    "Send a sample to the laboratory, but do not wait for it before you call: insulin may be needed urgently."
)


def last_step(case: Case) -> Sentence:
    """Return how a held dose goes on: by the word of the prescriber, or by the order that stands."""
    waits = case.choice == "hold and treat" or case.still_open & FOR_THE_PRESCRIBER
    return LATER if waits else ORDER_STANDS


def which_unit(case: Case) -> list[Sentence]:
    """Return the step that settles the unit of a number."""
    if "which-unit" not in case.still_open:
        return []
    if case.choice != "hold and treat":
        return [sentence("Look at the unit on the meter's screen first, and write it behind the number.")]
    measure = case.observation.glucose.unit if isinstance(case.observation.glucose, Glucose) else ""
    return [
        sentence(
            "Look at the unit on the meter's screen now, it takes a second. If it is really {measure}, or you cannot tell: go on as below.",
            measure=measure,
        )
    ]


def last_dose(case: Case) -> list[Sentence]:
    """Return the steps that settle whether the dose has been given already."""
    if not case.still_open & {"last-dose-recent", "last-dose-unknown"}:
        return []
    return [
        sentence(
            "Look at the {chart}, and ask the nurse who was here before: has this dose been given? If it has, or nobody can say: do not give it; tell the nurse in charge. If it was given twice: measure at once and call."
        )
    ]


_ABOUT_MEAL: dict[ReasonKey, Sentence] = {
    "vomiting": sentence("See how much was eaten and kept down."),
    "fasting": sentence("Ask until when the patient fasts."),
    "not-eating-clear": sentence("Find out why the patient is not eating."),
}
"""What to find out before the prescriber is asked."""


def find_out(case: Case) -> list[Sentence]:
    """Return what to find out about the meal before the prescriber is asked."""
    fasts = "fasting" in case.still_open
    return [
        words
        for key, words in _ABOUT_MEAL.items()
        if key in case.still_open and not (fasts and key == "not-eating-clear")
    ]


_ASK = sentence("Ask separately about {clear} and {cloudy}. Do not change or halve a dose yourself.")
_ASK_IF_LONG = sentence(
    "If it will be long, ask separately about {clear} and {cloudy}. Do not change or halve a dose yourself."
)


def dose_text(dose: Dose) -> Sentence:
    """Return a dose as it stands in a step: ``"regular insulin 8 units"``."""
    return joined((dose.insulin.name, units_text(dose.units)), " ")


def questions(case: Case) -> list[Sentence]:
    """Return what to do about the rules that the prescriber is asked about, and the food that is due."""
    steps, seen = ketoacidosis(case), case.observation
    if "prescriber-says-wait" in case.still_open:
        steps.append(sentence("Not this dose: the {prescriber} has said so. Tell the new reading, and ask again."))
    if "food-due" in case.still_open and (seen.fasting or mouth(seen) == "nothing"):
        steps.append(NO_FOOD)
    elif "food-due" in case.still_open:
        steps.append(FOOD_THEN_DOSE if case.told else sentence("Food first, as local policy says."))
    if "meal-late" in case.still_open:
        steps.append(sentence("Hold the injection until the meal is on its way; ask if it will be long."))
    if "earlier-low" in case.still_open:
        steps.append(sentence("Tell the {prescriber} of the earlier low, what was given for it, and the reading now."))
    if "treated-as-low" in case.still_open:
        steps.append(
            sentence("Tell the {prescriber} why it was treated as a low, what was given for it, and the reading now.")
        )
    if "cannot-swallow" in case.still_open:
        steps.append(sentence("Nothing by mouth. Have the swallowing assessed, and ask how a low is to be treated."))
    asked = case.still_open & (ASKED | {"prescriber-says-wait"})
    if asked:
        ask = _ASK_IF_LONG if asked == {"meal-late"} else _ASK
        steps += [
            ask.filled(clear=dose_text(case.order.clear), cloudy=dose_text(case.order.cloudy)),
            sentence("Keep measuring glucose and looking for signs while you wait."),
        ]
    return steps + several_lows(case)


def several_lows(case: Case) -> list[Sentence]:
    """Return what is done about several lows."""
    if "several-lows" not in case.still_open:
        return []
    return [sentence("Several lows: {what}", what=after_a_colon(shelf().notify["several-lows"].do))]
