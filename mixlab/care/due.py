"""What is due next while a low is treated, and what was not right about what has just been done."""

from __future__ import annotations

from dataclasses import dataclass

from ..facts.shelf import shelf
from ..quantities import number_text
from ..ward.observation import Observation
from ..ward.site import Site
from .decision import Decision
from .next_steps import URGENT_SIGNS, by_mouth
from .reasons import COMMON, felt
from .treatment import Carbohydrate, Eat, EmergencyTreatment, Event, Measure, TellPrescriber, Wait


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
    eaten, helped : bool
        Whether food has followed the last treatment, and whether help has been called.
    answer : bool or None
        Whether the prescriber says to give the dose, since the last reading; None if not asked.
    """

    observation: Observation
    minute: float = 0
    treated_at: float | None = None
    had_low: bool = False
    eaten: bool = False
    helped: bool = False
    answer: bool | None = None


def due(state: Progress, decision: Decision, site: Site) -> str:
    """Return what to do next, in one or two sentences with the site's own numbers."""
    seen = state.observation
    call = "Call for help at once. " if not state.helped and _grave(seen, decision) else ""
    if decision.choice == "hold and treat":
        return call + _treatment_due(state, site)
    asked = {reason.key for reason in decision.because if reason.choice == "check first"}
    food_due = state.had_low and not state.eaten and asked <= _ABOUT_MEAL_AND_CHART
    if food_due:
        able = "" if by_mouth(seen) else " once the patient is awake and able to swallow"
        return f"The reading is no longer {site.hold_text}: food now{able}, as local policy says, then tell the prescriber."
    if asked:
        first = decision.give_when[0]
        return (
            f"{call}Do not give the insulin yet. Look, measure or ask until this holds: {first[0].lower()}{first[1:]}"
        )
    if state.had_low and state.answer is None:
        return "Tell the prescriber what was found, what was given and the new reading, and ask about the dose before anything is drawn up."
    if state.answer is False:
        return (
            "Do not give this dose: write down what the prescriber has said, and ask when to measure and decide again."
        )
    return decision.next_steps[0]


_ABOUT_MEAL_AND_CHART = {"meal-unknown", "last-dose-recent", "last-dose-unknown"}
"""Rules that ask to check first although nothing is wrong with the reading or the patient."""


def _treatment_due(state: Progress, site: Site) -> str:
    recheck = number_text(site.recheck.value)
    if state.treated_at is not None:
        left = site.recheck.value - (state.minute - state.treated_at)
        if left <= 0:
            return "Measure again now, and look for signs."
        return (
            f"Stay with the patient and measure again in {number_text(round(left, 1))} minutes, {recheck} minutes after the "
            "treatment."
        )
    if not by_mouth(state.observation):
        return (
            "Nothing by mouth: treat by the emergency protocol (glucagon or intravenous dextrose), then measure again after "
            f"{recheck} minutes."
        )
    return (
        f"No insulin now: if the patient is awake and able to swallow give {number_text(site.carbohydrate.value)} g of fast "
        f"carbohydrate, then measure again after {recheck} minutes."
    )


def _grave(seen: Observation, decision: Decision) -> bool:
    """Say whether help is called before anything else: a serious low, or a patient who is not fully awake."""
    serious = any(reason.key in ("level-2-line", "meter-shows-lo", "level-3") for reason in decision.because)
    return serious or not by_mouth(seen) or any(sign in URGENT_SIGNS for sign in felt(seen))


def remarks(state: Progress, decision: Decision, event: Event, site: Site) -> list[str]:
    """Return what was not right about an event, each with its rule, given what was known before it."""
    treat = decision.choice == "hold and treat"
    since = None if state.treated_at is None else state.minute - state.treated_at
    recheck = f"{number_text(site.recheck.value)} minutes"
    match event:
        case Carbohydrate(grams):
            return _by_mouth_remarks(state, grams, treat, site)
        case EmergencyTreatment() if not treat:
            return [f"Nothing asks for treatment now: look before you treat ({COMMON})."]
        case EmergencyTreatment() if state.observation.can_swallow and not _grave(state.observation, decision):
            return [f"The patient is awake and able to swallow: treat by mouth first ({COMMON})."]
        case Wait(minutes) if treat and since is None and minutes > 0:
            return [f"A low was left waiting without treatment: treat first ({COMMON})."]
        case Wait(minutes) if treat and since is not None and since + minutes > site.recheck.value:
            late = f"{number_text(round(since + minutes, 1))} minutes have passed since the treatment"
            return [f"{late}: measure after {recheck} ({site.cite(site.recheck)})."]
        case Measure() if since is not None and since < site.recheck.value:
            early = f"Measured {number_text(round(since, 1))} minutes after the treatment"
            return [f"{early}, before it can have worked: wait {recheck} ({site.cite(site.recheck)})."]
        case Eat() if not by_mouth(state.observation):
            return [f"Food, although the patient cannot swallow safely: nothing by mouth ({COMMON})."]
        case Eat() if treat:
            rule = site.cite(site.carbohydrate)
            return [
                f"Food is slow: fast carbohydrate first, and food once the reading is no longer {site.hold_text} ({rule})."
            ]
        case TellPrescriber(says_give) if treat and says_give:
            rule = shelf().cite(shelf().rules["earlier-low"])
            return [
                "No insulin during a low, whoever says so: treat first, and tell the prescriber again with the new reading "
                f"({rule})."
            ]
        case _:
            return []


def _by_mouth_remarks(state: Progress, grams: float, treat: bool, site: Site) -> list[str]:
    seen, said = state.observation, []
    if not by_mouth(seen):
        return [f"By mouth, although the patient cannot swallow safely: use the emergency protocol instead ({COMMON})."]
    if any(sign in URGENT_SIGNS for sign in felt(seen)):
        said.append(f"By mouth only if fully awake and able to swallow: see to that first ({COMMON}).")
    if not treat and felt(seen):
        said.append(
            f"Signs, but a reading that is not low: take a fresh one first, and treat if that cannot be done at once ({COMMON})."
        )
    elif not treat:
        rule = site.cite(site.hold_line)
        said.append(
            f"Nothing asks for treatment now, the reading is not {site.hold_text}: look before you treat ({rule})."
        )
    elif grams < site.carbohydrate.value:
        taught, rule = number_text(site.carbohydrate.value), site.cite(site.carbohydrate)
        said.append(f"{number_text(grams)} g is less than the {taught} g taught here ({rule}).")
    if treat and state.treated_at is not None:
        recheck = number_text(site.recheck.value)
        said.append(
            f"Treated again without a reading taken {recheck} minutes after the last treatment ({site.cite(site.recheck)})."
        )
    return said
