"""A decision as far as it is made, and the sentences that the steps of several answers share."""

from __future__ import annotations

from dataclasses import dataclass

from ..facts.shelf import shelf
from ..ward.observation import Observation
from ..ward.order import Order
from ..ward.site import Site
from .answers import ASKED, TOO_HIGH, Choice, ReasonKey
from .readings import Reading


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
    def high_and_ill(self) -> bool:
        """Whether a high reading meets vomiting or a changed state that the prescriber has not answered for."""
        seen = self.observation
        return self.high and (seen.vomiting or seen.changed) and not seen.prescriber_says_give


HANGS_ON_THE_UNIT: frozenset[ReasonKey] = frozenset(("report-line", *TOO_HIGH))
"""Rules that say nothing as long as nobody knows the unit of the number."""

FOR_THE_PRESCRIBER: frozenset[ReasonKey] = (ASKED - {"meal-late"}) | TOO_HIGH | {"emergency-not-low", "signs-with-high"}
"""Rules after which the dose waits for the word of the prescriber. A meal that is late may come before it."""

LATER = (
    "Holding is not cancelling: record the time and the reason, decide again with a fresh reading, and give only what "
    "the prescriber then orders."
)
ORDER_STANDS = (
    "When that is done, decide again at once. If nothing speaks against it, the order stands: give it on time."
)

LOOK_FOR_KETOACIDOSIS = (
    "High and vomiting can be ketoacidosis: look for fast breathing and drowsiness; ask about ketones. The insulin must not "
    "simply be left out: call, and call again if nobody answers."
)

TO_THE_LABORATORY = (
    "Send a sample to the laboratory, but do not wait for it before you call: insulin may be needed urgently."
)


def last_step(case: Case) -> str:
    """Return how a held dose goes on: by the word of the prescriber, or by the order that stands."""
    return LATER if case.choice == "hold and treat" or case.still_open & FOR_THE_PRESCRIBER else ORDER_STANDS


def which_unit(case: Case) -> list[str]:
    """Return the step that settles the unit of a number."""
    asked = "which-unit" in case.still_open
    return ["Look at the unit on the meter's screen first, and write it behind the number."] if asked else []


def last_dose(case: Case) -> list[str]:
    """Return the steps that settle whether the dose has been given already."""
    if not case.still_open & {"last-dose-recent", "last-dose-unknown"}:
        return []
    return [
        "Look at the chart, and ask the nurse who was here before: has this dose been given? If it has, or nobody can say: do "
        "not give it; tell the nurse in charge. If it was given twice: measure at once and call."
    ]


_ABOUT_MEAL: dict[ReasonKey, str] = {
    "vomiting": "See how much was eaten and kept down.",
    "fasting": "Ask until when the patient fasts.",
    "not-eating-clear": "Find out why the patient is not eating.",
}
"""What to find out before the prescriber is asked."""


def find_out(case: Case) -> list[str]:
    """Return what to find out about the meal before the prescriber is asked."""
    fasts = "fasting" in case.still_open
    return [
        words
        for key, words in _ABOUT_MEAL.items()
        if key in case.still_open and not (fasts and key == "not-eating-clear")
    ]


def questions(case: Case) -> list[str]:
    """Return what to do about the rules that the prescriber is asked about, and the food that is due."""
    steps, seen = [], case.observation
    if case.high and "vomiting" in case.still_open:
        steps.append(LOOK_FOR_KETOACIDOSIS)
    if "food-due" in case.still_open:
        then = " Then give the dose as the prescriber said." if seen.prescriber_says_give else ""
        steps.append(f"Food first, as local policy says.{then}")
    if "meal-late" in case.still_open:
        steps.append("Hold the injection until the meal is on its way; ask if it will be long.")
    if "earlier-low" in case.still_open:
        steps.append("Tell the prescriber of the earlier low, what was given for it, and the reading now.")
    if "cannot-swallow" in case.still_open:
        steps.append("Nothing by mouth. Have the swallowing assessed, and ask how a low is to be treated.")
    asked = case.still_open & ASKED
    if asked:
        ask = "If it will be long, ask" if asked == {"meal-late"} else "Ask"
        steps += [
            f"{ask} separately about {case.order.clear} and {case.order.cloudy}. Do not change or halve a dose yourself.",
            "Keep measuring glucose and looking for signs while you wait.",
        ]
    return steps + several_lows(case)


def several_lows(case: Case) -> list[str]:
    """Return what is done about several lows."""
    return [f"Several lows: {shelf().notify['several-lows'].do.lower()}"] if "several-lows" in case.still_open else []
