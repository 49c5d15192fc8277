"""What to do about a decision: the steps in order, whom to tell, and what must happen for a held dose to be given."""

from __future__ import annotations

from functools import lru_cache

from mixlab.facts.records import Fact
from mixlab.facts.shelf import shelf
from mixlab.quantities import Glucose, units_text
from mixlab.ward.observation import Observation
from mixlab.ward.order.order import Order
from mixlab.ward.site.glucose_lines import line_text
from mixlab.ward.site.record import Site
from mixlab.words import Sentence, joined, sentence

from .answers import TOO_HIGH, ReasonKey
from .assessment import Case, dose_text, find_out, last_step, questions, which_unit
from .check_steps import check
from .swallowing import URGENT_SIGNS, Mouth, felt, mouth
from .treat_steps import treat

_HIGH: frozenset[ReasonKey] = frozenset(("report-line", "high-twice", "high-two-days"))


def next_steps(case: Case) -> tuple[Sentence, ...]:
    """Return what to do, in order; what cannot wait comes first, whatever reason won."""
    match case.choice:
        case "hold and treat":
            steps = treat(case)
        case "check first":
            steps = check(case)
        case "hold and ask":
            steps = _ask(case)
        case "give and report":
            steps = _report(case)
        case "give":
            steps = _give(case)
    return (*_unit_first(case), *_urgent(case), *steps)


def _unit_first(case: Case) -> list[Sentence]:
    """Return the look at the unit of a low, which takes a second; it comes after the call for a patient who needs help."""
    helpless = any(sign in URGENT_SIGNS for sign in felt(case.observation))
    return which_unit(case) if case.choice == "hold and treat" and not helpless else []


def _ask(case: Case) -> list[Sentence]:
    first = joined((sentence("Do not give the insulin yet."), *find_out(case)), " ")
    return [first, *questions(case), last_step(case)]


def _report(case: Case) -> list[Sentence]:
    told = case.told
    steps = _read_back(case)
    if case.high_and_ill:
        steps.append(_HIGH_AND_CHANGED)
    if case.still_open & (_HIGH | TOO_HIGH):
        steps.append(_BEFORE_A_DOSE_ONCE_TOLD if told else _BEFORE_A_HIGH_DOSE)
    if "near-low" in case.still_open or "allowance-reaches-line" in case.still_open:
        steps.append(_LOOK_AGAIN)
    if case.still_open & TOO_HIGH:
        steps.append(_LABORATORY_ONCE_TOLD)
    report = _what_to_report(case)
    if report and not case.high_and_ill:
        steps.append((_REPORT_ONCE_TOLD if told else _REPORT).filled(report=report))
    if "changed-state" in case.still_open and not case.high_and_ill:
        steps.append(sentence("Report to the {prescriber} what is new or changed, with the reading."))
    record = sentence("Record dose, site, time and glucose; measure again as ordered.")
    return [*steps, *_meal(case), _prepare(case), record]


def _what_to_report(case: Case) -> Sentence:
    facts, near = shelf(), case.site.near_low_line
    twice, two_days = (facts.notify[row] for row in ("high-twice", "high-two-days"))
    said: dict[ReasonKey, Sentence] = {
        "report-line": sentence("it is {line}", line=line_text(case.site.report_line)),
        "near-low": sentence("it is {line}, near a low", line=line_text(near)) if near else Sentence(""),
        "high-two-days": sentence(
            "readings above {glucose} on two days running", glucose=Glucose(two_days.value, two_days.unit)
        ),
        "high-twice": sentence(
            "readings above {glucose} at least twice within {hours} hours",
            glucose=Glucose(twice.value, twice.unit),
            hours=twice.within_hours,
        ),
    }
    if case.still_open & TOO_HIGH:
        said.pop("report-line")  # the prescriber has been told of more than that
    return joined((text for key, text in said.items() if key in case.still_open), "; ")


_REPORT = sentence("Report the reading to the {prescriber}: {report}. Ask first if your policy says so.")
_REPORT_ONCE_TOLD = sentence("Report the reading to the {prescriber}, if that is not done: {report}.")
_HIGH_AND_CHANGED = sentence(
    "Call the {prescriber} at once with what is new and the reading; ask about ketones, and whether the order stands, before anything is drawn up."
)
_BEFORE_A_HIGH_DOSE = sentence(
    "Before the dose look for vomiting, drowsiness, fast breathing or thirst. If you see any, hold the dose and call the {prescriber} at once."
)
_BEFORE_A_DOSE_ONCE_TOLD = sentence(
    "Before the dose look for drowsiness and fast breathing. If you see either and have not told it, call the {prescriber} again at once."
)
_LABORATORY_ONCE_TOLD = sentence(
    "Send a sample to the laboratory, but do not wait for it: insulin may be needed urgently. Report its result to the {prescriber}."
)
_LOOK_AGAIN = sentence("Look for signs of a low once more just before the dose, and measure again soon after it.")


def _give(case: Case) -> list[Sentence]:
    return [
        *_read_back(case),
        *([_LOOK_AGAIN] if "allowance-reaches-line" in case.still_open else []),
        *_meal(case),
        _prepare(case),
        sentence("Record dose, site, time and glucose; look in when each insulin is strongest."),
    ]


_WHO: dict[ReasonKey, Sentence] = {
    "cannot-swallow": sentence("who cannot swallow safely"),
    "vomiting": sentence("who is vomiting"),
    "fasting": sentence("who is fasting"),
    "not-eating-clear": sentence("who is not eating"),
    "meal-late": sentence("whose meal is late"),
}
"""The patient, by what the prescriber has answered about the meal."""


def _read_back(case: Case) -> list[Sentence]:
    """Return the first steps of a dose that the prescriber wants given although the meal is in doubt."""
    fasts = "fasting" in case.answered
    who = [words for key, words in _WHO.items() if key in case.answered and not (fasts and key == "not-eating-clear")]
    if not who:
        return []
    clear, cloudy = (
        sentence("all {amount} of {insulin}", amount=units_text(dose.units), insulin=dose.insulin.name)
        for dose in (case.order.clear, case.order.cloudy)
    )
    return [
        sentence(
            "Read the order back: {clear} and {cloudy}, to a patient {who}? Write down the answer, and give exactly that.",
            clear=clear,
            cloudy=cloudy,
            who=joined(who, sentence(" and ")),
        ),
        sentence("Measure more often, and know how a low would be treated."),
    ]


def _prepare(case: Case) -> Sentence:
    clear, cloudy = dose_text(case.order.clear), dose_text(case.order.cloudy)
    doses = sentence("{clear} and {cloudy}", clear=clear, cloudy=cloudy)
    if case.answered & _WHO.keys():
        return sentence("If the answer is yes, prepare and give the dose: {doses}.", doses=doses)
    if case.choice == "give":
        return sentence("Prepare and give the dose as ordered: {doses}.", doses=doses)
    return sentence("If the order stands, prepare and give it: {doses}.", doses=doses)


def _meal(case: Case) -> list[Sentence]:
    """Return the look at the meal before the injection; without one the prescriber has been asked."""
    if not eats(case.observation):
        return []
    taught = case.order.clear.insulin.name if _has_meal_lead(case.order) else None
    return [_meal_comes(taught, case.site.meal_lead.value, "allowance-reaches-line" in case.still_open)]


@lru_cache(maxsize=4096)
def _meal_comes(taught_for: Sentence | None, lead: float, near: bool) -> Sentence:
    comes = sentence("See that the meal is really coming before you inject.")
    if taught_for is not None:
        comes = sentence(
            "See that the meal is really coming before you inject (taught for {insulin}: {lead} minutes after the injection).",
            insulin=taught_for,
            lead=lead,
        )
    return joined((comes, _WAIT_FOR_THE_TRAY), " ") if near else comes


_WAIT_FOR_THE_TRAY = sentence("Ask whether to wait until the tray is at the bedside.")


def eats(observation: Observation) -> bool:
    """Say whether a meal is coming on time, can be swallowed and will stay down."""
    kept = not observation.fasting and not observation.vomiting and observation.can_swallow is not False
    return observation.eating is True and kept and not observation.meal_late


def _has_meal_lead(order: Order) -> bool:
    """Say whether the time from injection to meal that is taught is meant for this clear insulin."""
    return order.clear.insulin.row.group == "short-acting"


def numbers(case: Case) -> tuple[Sentence, ...]:
    """Return who says so, for every amount and time in the steps that no reason speaks of."""
    named: tuple[str, ...] = ()
    if case.choice == "hold and treat":
        named = ("recheck",) if mouth(case.observation) == "nothing" else ("carbohydrate", "recheck")
    elif case.choice == "check first" and "reading-too-early" in case.still_open:
        named = ("recheck",)
    elif case.choice.startswith("give") and _has_meal_lead(case.order) and eats(case.observation):
        named = ("meal_lead",)
    return _who_says(named, case.site)


@lru_cache(maxsize=4096)
def _who_says(named: tuple[str, ...], site: Site) -> tuple[Sentence, ...]:
    facts: tuple[Fact, ...] = tuple(getattr(site, name) for name in named)
    return tuple(joined((fact.value, " ", sentence(fact.unit), ": ", site.cite(fact)), "") for fact in facts)


def _urgent(case: Case) -> list[Sentence]:
    """Return what comes before everything else, whatever reason won: help for the patient, and word to the prescriber."""
    reading = case.reading
    urgent: list[Sentence] = []
    if any(sign in URGENT_SIGNS for sign in felt(case.observation)):
        urgent.append(_CALL_AND_STAY[mouth(case.observation)])
    elif reading is not None and reading.serious:
        urgent.append(sentence("A serious low: call for help now and have the {prescriber} told while you treat."))
    if case.choice not in ("hold and ask", "check first"):
        return urgent
    signs = case.still_open & {"signs-with-high", "emergency-not-low"}
    if case.high and not case.told:
        if case.still_open & TOO_HIGH:
            urgent.append(
                sentence("Tell the {prescriber} now that the reading is too high for the meter; do not wait.")
            )
        else:
            line = line_text(case.site.report_line)
            urgent.append(sentence("Tell the {prescriber} now that the reading is {line}; do not wait.", line=line))
    elif case.high and signs:
        urgent.append(sentence("Tell the {prescriber} now of the signs; do not wait."))
    elif case.high_with_signs and signs:
        urgent.append(sentence("Tell the {prescriber} now of the signs and the reading; do not wait."))
    return urgent


_CALL_AND_STAY: dict[Mouth, Sentence] = {
    "safe": sentence("Call for help at once and stay with the patient."),
    "see first": sentence(
        "Call for help at once and stay with the patient: nothing by mouth unless fully awake and able to swallow."
    ),
    "nothing": sentence("Call for help at once and stay with the patient: nothing by mouth."),
}
"""Help for a patient in danger, by whether anything may go by mouth."""
