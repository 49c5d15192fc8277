"""Give, hold or check: the decision before a dose, always with its reasons and with what to do next.

The most cautious answer that any finding asks for wins, and every finding is shown. Holding is never cancelling.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, get_args

from ..facts.record import Fact, Threshold
from ..facts.shelf import shelf
from ..quantities import Glucose, NotAnAmount, number_text
from ..ward.observation import Observation
from ..ward.order import Order
from ..ward.site import Site, crosses, line_text, teaching_site

Choice = Literal["hold and treat", "check first", "hold and ask", "give and report", "give"]
"""The answers, the most cautious first."""


@dataclass(frozen=True, kw_only=True)
class Reason:
    """One finding that speaks for an answer, with the rule behind it."""

    choice: Choice
    text: str
    rule: str

    def __str__(self) -> str:
        return f"{self.text} ({self.rule})"


@dataclass(frozen=True, kw_only=True)
class Decision:
    """What to do about a dose now.

    Attributes
    ----------
    choice : str
        The most cautious answer that any reason asks for.
    because : tuple of Reason
        Every reason, the weightiest first; never empty.
    next_steps : tuple of str
        What to do, in order, including what must happen for a held dose to be given.
    numbers : tuple of str
        Who says so, for every number in the steps that no reason speaks of.
    reading : str
        The reading as the meter shows it, or that there is none.
    """

    choice: Choice
    because: tuple[Reason, ...]
    next_steps: tuple[str, ...]
    numbers: tuple[str, ...]
    reading: str


_COMMON = "common practice, no source"


def decide(order: Order, observation: Observation, site: Site | None = None) -> Decision:
    """Decide whether the dose may be given now.

    Parameters
    ----------
    order : Order
        The dose in question.
    observation : Observation
        What was found at the bedside; what is not known is None.
    site : Site, optional
        Whose lines to use; the teaching site if not given.

    Raises
    ------
    NotAnAmount
        If the age of the reading is negative or not a number, or a sign is not on the list.
    """
    site = site or teaching_site()
    _refuse_nonsense(observation)
    reasons = sorted(
        [*_glucose_reasons(observation, site), *_sign_reasons(observation, site), *_meal_reasons(order, observation)],
        key=lambda reason: get_args(Choice).index(reason.choice),
    )
    if not reasons:
        reasons = [_all_clear(observation, site)]
    choice = reasons[0].choice
    shown = observation.glucose
    return Decision(
        choice=choice,
        because=tuple(reasons),
        next_steps=_next_steps(choice, order, observation, site),
        numbers=_numbers(choice, order, site),
        reading=str(shown.to(site.glucose_unit)) if shown else "no reading",
    )


def _refuse_nonsense(observation: Observation) -> None:
    age = observation.minutes_old
    if age is not None and not 0 <= age < float("inf"):
        raise NotAnAmount(f"A reading cannot be {age} minutes old. Enter how many minutes ago it was taken.")
    unknown = [sign for sign in observation.signs or () if sign not in shelf().signs]
    if unknown:
        raise NotAnAmount(f"{unknown[0]!r} is not a sign on the list. Choose from: {', '.join(shelf().signs)}.")


def _usable(observation: Observation, site: Site) -> bool:
    """Say whether there is a reading young enough to act on."""
    age = observation.minutes_old
    return observation.glucose is not None and age is not None and age <= site.reading_age.value


def _is_low(glucose: Glucose | None, site: Site) -> bool:
    return glucose is not None and crosses(glucose, site.hold_line)


def _off_the_meter(glucose: Glucose, site: Site) -> str | None:
    """Return 'below' or 'above' if the reading lies outside what the site's meter can measure."""
    low, high = site.meter_low, site.meter_high
    if float(glucose.to(low.unit).shown()) < low.value:  # type: ignore[arg-type]  # the facts' unit is a glucose unit
        return "below"
    if float(glucose.to(high.unit).shown()) > high.value:  # type: ignore[arg-type]
        return "above"
    return None


def _glucose_reasons(observation: Observation, site: Site) -> list[Reason]:
    glucose, age = observation.glucose, observation.minutes_old
    if glucose is None:
        return [Reason(choice="check first", text="There is no glucose reading.", rule=_COMMON)]
    found: list[Reason] = []
    if not _usable(observation, site):
        old = f"{number_text(age)} minutes old" if age is not None else "of unknown age"
        limit = number_text(site.reading_age.value)
        found.append(
            Reason(
                choice="check first",
                text=f"The reading is {old}; act only on one taken within {limit} minutes.",
                rule=site.cite(site.reading_age),
            )
        )
    end = _off_the_meter(glucose, site)
    if end:
        fact = site.meter_low if end == "below" else site.meter_high
        found.append(
            Reason(
                choice="check first",
                text=f"{glucose} lies {end} what the meter can measure ({number_text(fact.value)} {fact.unit}).",
                rule=site.cite(fact),
            )
        )
    if crosses(glucose, site.level_2_line):
        found.append(_line_reason("hold and treat", glucose, site.level_2_line, "a serious low", site))
    elif _is_low(glucose, site):
        found.append(_line_reason("hold and treat", glucose, site.hold_line, "a low", site))
    elif crosses(glucose, site.report_line):
        found.append(_line_reason("give and report", glucose, site.report_line, "high enough to report", site))
    return found


def _line_reason(choice: Choice, glucose: Glucose, line: Threshold, meaning: str, site: Site) -> Reason:
    reading = glucose.to(line.unit)
    return Reason(
        choice=choice,
        text=f"{reading} is {line_text(line)}: {meaning}.",
        rule=site.cite(line),
    )


def _sign_reasons(observation: Observation, site: Site) -> list[Reason]:
    signs = observation.signs
    if signs is None:
        return [Reason(choice="check first", text="Nobody has looked for signs of a low yet.", rule=_COMMON)]
    if not signs:
        return []
    named = ", ".join(sign.replace("-", " ") for sign in signs)
    rule = site.cite(shelf().signs[signs[0]])
    if observation.glucose is None:
        text = f"Signs of a low ({named}) and no reading to be had: treat as a low."
        return [Reason(choice="hold and treat", text=text, rule=rule)]
    if _is_low(observation.glucose, site):
        return [Reason(choice="hold and treat", text=f"Signs of a low: {named}.", rule=rule)]
    text = f"Signs of a low ({named}) although the reading is not low: the signs outrank the number."
    return [Reason(choice="check first", text=text, rule=rule)]


def _meal_reasons(order: Order, observation: Observation) -> list[Reason]:
    if observation.eating is None:
        return [Reason(choice="check first", text="It is not known whether the patient will eat.", rule=_COMMON)]
    if observation.eating:
        return []
    clear, cloudy = order.clear.insulin, order.cloudy.insulin
    text = (
        f"The patient is not eating: {clear} is for this meal, and {cloudy} works on for hours, so each is its own question "
        "for the prescriber."
    )
    return [Reason(choice="hold and ask", text=text, rule=_COMMON)]


def _all_clear(observation: Observation, site: Site) -> Reason:
    assert observation.glucose is not None  # without a reading there is a reason to check first
    reading = observation.glucose.to(site.hold_line.unit)
    return Reason(
        choice="give",
        text=f"{reading} is not {line_text(site.hold_line)}, no signs of a low, and the patient is eating.",
        rule=site.cite(site.hold_line),
    )


def _next_steps(choice: Choice, order: Order, observation: Observation, site: Site) -> tuple[str, ...]:
    hold_line = line_text(site.hold_line)
    recheck = number_text(site.recheck.value)
    carbohydrate = f"{number_text(site.carbohydrate.value)} g"
    meal = (
        f" (taught for {order.clear.insulin}: {number_text(site.meal_lead.value)} minutes after the injection)"
        if _has_meal_lead(order)
        else ""
    )
    later = (
        "Holding is not cancelling: record the time and the reason, decide again with a fresh reading, and give only what "
        "the prescriber then orders."
    )
    ask = f"Ask separately about {order.clear} and {order.cloudy}. Do not change or halve a dose yourself."
    match choice:
        case "hold and treat":
            steps = [
                "Do not give the insulin now. Stay with the patient; call for help at once if they are drowsy, confused, convulsing or unresponsive.",
                f"Awake and able to swallow: fast carbohydrate as your protocol says ({carbohydrate} is taught here). If not: nothing by mouth, call for help "
                "at once and follow the emergency protocol (glucagon or intravenous dextrose).",
                f"Measure again after {recheck} minutes; repeat the treatment while the reading is {hold_line}.",
                "Once it has risen: food, as local policy says. Look for signs again.",
                "Tell the prescriber before the mixed dose: what was found, what was given, the new reading.",
                later,
            ]
            if not _usable(observation, site):
                steps.insert(1, "Take a fresh reading now if it can be done at once; do not delay treatment for it.")
        case "check first":
            steps = [
                "Do not give the insulin yet.",
                "Wash and dry the finger, take a fresh sample, and look for signs and at the meal.",
                "If there are signs and no reading can be had at once, treat as a low.",
                "Decide again with the new findings; if they still disagree, tell the prescriber.",
                later,
            ]
        case "hold and ask":
            steps = [
                "Do not give the insulin yet. Find out why the patient is not eating.",
                ask,
                "Keep measuring glucose and looking for signs while you wait.",
                later,
            ]
        case "give and report":
            steps = [
                "Before the dose look for vomiting, drowsiness, fast breathing or thirst. If you see any, hold the dose and call "
                "the prescriber at once.",
                f"Report the reading to the prescriber: it is {line_text(site.report_line)}. Ask first if your policy says so.",
                f"If the order stands, prepare and give it: {order.clear} and {order.cloudy}.",
                "Record dose, site, time and glucose; measure again as ordered.",
            ]
        case "give":
            steps = [
                f"Prepare and give the dose as ordered: {order.clear} and {order.cloudy}.",
                f"See that the meal comes on time{meal}.",
                "Record dose, site, time and glucose; look in when each insulin is strongest.",
            ]
    return (*_urgent_steps(choice, observation, site), *steps)


def _has_meal_lead(order: Order) -> bool:
    """Say whether the time from injection to meal that is taught is meant for this clear insulin."""
    return order.clear.insulin.row.group == "short-acting"


def _numbers(choice: Choice, order: Order, site: Site) -> tuple[str, ...]:
    named: dict[Choice, tuple[Fact, ...]] = {
        "hold and treat": (site.carbohydrate, site.recheck),
        "give": (site.meal_lead,) if _has_meal_lead(order) else (),
    }
    return tuple(f"{number_text(fact.value)} {fact.unit}: {site.cite(fact)}" for fact in named.get(choice, ()))


_URGENT_SIGNS = ("unresponsive", "convulsion", "confusion", "drowsiness", "difficulty-speaking")


def _urgent_steps(choice: Choice, observation: Observation, site: Site) -> list[str]:
    """Return what comes before everything else, whatever reason won: help for the patient, and word to the prescriber."""
    glucose, signs = observation.glucose, observation.signs or ()
    urgent = []
    if any(sign in _URGENT_SIGNS for sign in signs):
        urgent.append(
            "Call for help at once and stay with the patient: nothing by mouth unless fully awake and able to swallow. Follow "
            "the emergency protocol."
        )
    elif glucose is not None and crosses(glucose, site.level_2_line):
        urgent.append("A serious low: call for help now and have the prescriber told while you treat.")
    if choice in ("hold and ask", "check first") and glucose is not None and crosses(glucose, site.report_line):
        urgent.append(f"Tell the prescriber now that the reading is {line_text(site.report_line)}; do not wait.")
    return urgent
