"""What to do about a decision: the steps in order, whom to tell, and what must happen for a held dose to be given."""

from __future__ import annotations

from dataclasses import dataclass

from ..facts.record import Fact
from ..facts.shelf import shelf
from ..quantities import Glucose, number_text
from ..ward.observation import Observation
from ..ward.order import Order
from ..ward.site import Site, line_text
from .answers import Choice, ReasonKey
from .readings import Reading
from .reasons import NEEDS_HELP, age_reason, felt


@dataclass(frozen=True, kw_only=True)
class Case:
    """A decision as far as it is made: the answer, and the rules that the prescriber has not answered yet."""

    choice: Choice
    still_open: frozenset[ReasonKey]
    order: Order
    observation: Observation
    reading: Reading | None
    site: Site


LATER = (
    "Holding is not cancelling: record the time and the reason, decide again with a fresh reading, and give only what "
    "the prescriber then orders."
)

URGENT_SIGNS = frozenset((*NEEDS_HELP, "confusion", "drowsiness", "difficulty-speaking"))
"""Signs by which help is called at once (common practice, no source)."""

_ABOUT_MEAL: dict[ReasonKey, str] = {
    "vomiting": "See how much was eaten and kept down.",
    "fasting": "Ask until when the patient fasts.",
    "not-eating-clear": "Find out why the patient is not eating.",
}
"""What to find out before the prescriber is asked."""

_HIGH: frozenset[ReasonKey] = frozenset(("report-line", "high-twice", "high-two-days"))


def by_mouth(observation: Observation) -> bool:
    """Say whether treating by mouth may come into question: not if swallowing is unsafe or the patient needs help."""
    return observation.can_swallow is not False and not any(sign in NEEDS_HELP for sign in felt(observation))


def next_steps(case: Case) -> tuple[str, ...]:
    """Return what to do, in order; what cannot wait comes first, whatever reason won."""
    match case.choice:
        case "hold and treat":
            steps = _treat(case)
        case "check first":
            steps = _check(case)
        case "hold and ask":
            steps = _ask(case)
        case "give and report":
            steps = _report(case)
        case "give":
            steps = _give(case)
    return (*_urgent(case), *steps)


def _treat(case: Case) -> list[str]:
    site, hold_line = case.site, case.site.hold_text
    recheck = number_text(site.recheck.value)
    carbohydrate = f"{number_text(site.carbohydrate.value)} g"
    steps = [
        "Do not give the insulin now. Stay with the patient; call for help at once if they are drowsy, confused, convulsing or unresponsive.",
    ]
    if case.reading is None or age_reason(case.observation.minutes_old, site) is not None:
        steps.append("Take a fresh reading now if it can be done at once; do not delay treatment for it.")
    if case.still_open & {"meter-shows-lo", "below-meter"}:
        steps.append("Have so low a reading confirmed, by a second reading or by the laboratory, while you treat.")
    steps += _which_unit(case)
    if by_mouth(case.observation):
        steps += [
            f"Awake and able to swallow: fast carbohydrate as your protocol says ({carbohydrate} is taught here). If not: nothing by mouth, call for help "
            "at once and follow the emergency protocol (glucagon or intravenous dextrose).",
            f"Measure again after {recheck} minutes; repeat the treatment while the reading is {hold_line}.",
            "Once it has risen: food, as local policy says. Look for signs again.",
        ]
    else:
        steps += [
            "Nothing by mouth. Call for help at once and follow the emergency protocol (glucagon or intravenous dextrose); "
            "lay a patient who is not awake on the side.",
            f"Measure again after {recheck} minutes, or sooner if the protocol says so; treat on while the reading is {hold_line}.",
            "Food only once the patient is awake and able to swallow; until then the protocol says how to keep the glucose up. "
            "Look for signs again.",
        ]
    tell = "Tell the prescriber before the mixed dose: what was found, what was given, the new reading."
    return [*steps, tell, *_several(case), LATER]


def _several(case: Case) -> list[str]:
    return [f"Several lows: {shelf().notify['several-lows'].do.lower()}"] if "several-lows" in case.still_open else []


def _which_unit(case: Case) -> list[str]:
    asked = "which-unit" in case.still_open
    return ["Look at the unit on the meter's screen, and write it behind the number."] if asked else []


def _check(case: Case) -> list[str]:
    steps = [
        "Do not give the insulin yet.",
        "Wash and dry the finger, take a fresh sample, and look for signs and at the meal.",
        "If there are signs and no reading can be had at once, treat as a low.",
    ]
    if case.still_open & {"last-dose-recent", "last-dose-unknown"}:
        steps.append("Look at the chart and ask the nurse who was here before: has this dose been given already?")
    steps += _which_unit(case)
    if case.reading is not None and case.reading.above_meter:
        steps.append("Have the laboratory confirm a reading that is too high for the meter.")
    again = "Decide again with the new findings; if they still disagree, tell the prescriber."
    return [*steps, again, *_several(case), LATER]


def _ask(case: Case) -> list[str]:
    clear, cloudy = case.order.clear, case.order.cloudy
    steps = [
        " ".join(("Do not give the insulin yet.", *(_ABOUT_MEAL[key] for key in _ABOUT_MEAL if key in case.still_open)))
    ]
    if "earlier-low" in case.still_open:
        steps.append("Tell the prescriber of the earlier low, what was given for it, and the reading now.")
    if "cannot-swallow" in case.still_open:
        steps.append("Nothing by mouth. Have the swallowing assessed, and ask how a low is to be treated.")
    steps += [
        f"Ask separately about {clear} and {cloudy}. Do not change or halve a dose yourself.",
        "Keep measuring glucose and looking for signs while you wait.",
    ]
    return [*steps, *_several(case), LATER]


def _report(case: Case) -> list[str]:
    facts, steps = shelf(), []
    if case.still_open & _HIGH:
        steps.append(
            "Before the dose look for vomiting, drowsiness, fast breathing or thirst. If you see any, hold the dose and call "
            "the prescriber at once."
        )
    if "near-low" in case.still_open or "allowance-reaches-line" in case.still_open:
        steps.append(_LOOK_AGAIN)
    twice, two_days = (facts.notify[row] for row in ("high-twice", "high-two-days"))
    near = case.site.near_low_line
    said: dict[ReasonKey, str] = {
        "report-line": f"it is {line_text(case.site.report_line)}",
        "near-low": f"it is {line_text(near)}, near a low" if near else "",
        "high-two-days": f"readings above {Glucose(two_days.value, two_days.unit)} on two days running",
        "high-twice": f"readings above {Glucose(twice.value, twice.unit)} at least twice within {number_text(twice.within_hours)} hours",
        "changed-state": "and the patient's state is new or changed",
    }
    report = "; ".join(text for key, text in said.items() if key in case.still_open)
    steps += [
        f"Report the reading to the prescriber: {report}. Ask first if your policy says so.",
        f"If the order stands, prepare and give it: {case.order.clear} and {case.order.cloudy}.",
        "Record dose, site, time and glucose; measure again as ordered.",
    ]
    return steps


_LOOK_AGAIN = "Look for signs of a low once more just before the dose, and measure again soon after it."


def _give(case: Case) -> list[str]:
    order, lead = case.order, case.site.meal_lead
    meal = (
        f" (taught for {order.clear.insulin}: {number_text(lead.value)} minutes after the injection)"
        if _has_meal_lead(order)
        else ""
    )
    on_time = f"See that the meal comes on time{meal}."
    without = "Give only what the prescriber has ordered for a patient without a meal, and measure more often."
    return [
        *([_LOOK_AGAIN] if "allowance-reaches-line" in case.still_open else []),
        f"Prepare and give the dose as ordered: {order.clear} and {order.cloudy}.",
        on_time if eats(case.observation) else without,
        "Record dose, site, time and glucose; look in when each insulin is strongest.",
    ]


def eats(observation: Observation) -> bool:
    """Say whether a meal is coming, can be swallowed and will stay down."""
    kept = not observation.fasting and not observation.vomiting and observation.can_swallow is not False
    return observation.eating is True and kept


def _has_meal_lead(order: Order) -> bool:
    """Say whether the time from injection to meal that is taught is meant for this clear insulin."""
    return order.clear.insulin.row.group == "short-acting"


def numbers(case: Case) -> tuple[str, ...]:
    """Return who says so, for every amount and time in the steps that no reason speaks of."""
    site = case.site
    named: tuple[Fact, ...] = ()
    if case.choice == "hold and treat":
        named = (site.carbohydrate, site.recheck) if by_mouth(case.observation) else (site.recheck,)
    elif case.choice == "give" and _has_meal_lead(case.order) and eats(case.observation):
        named = (site.meal_lead,)
    return tuple(f"{number_text(fact.value)} {fact.unit}: {site.cite(fact)}" for fact in named)


def _urgent(case: Case) -> list[str]:
    """Return what comes before everything else, whatever reason won: help for the patient, and word to the prescriber."""
    reading, urgent = case.reading, []
    if any(sign in URGENT_SIGNS for sign in felt(case.observation)):
        urgent.append(
            "Call for help at once and stay with the patient: nothing by mouth unless fully awake and able to swallow. Follow "
            "the emergency protocol."
        )
    elif reading is not None and reading.serious:
        urgent.append("A serious low: call for help now and have the prescriber told while you treat.")
    if case.choice in ("hold and ask", "check first") and reading is not None:
        if reading.to_report:
            line = line_text(case.site.report_line)
            urgent.append(f"Tell the prescriber now that the reading is {line}; do not wait.")
        elif reading.above_meter:
            urgent.append("Tell the prescriber now that the reading is too high for the meter; do not wait.")
    return urgent
