"""What was not right about what has just been done while a low is treated, each remark with its rule."""

from __future__ import annotations

from ..facts.shelf import shelf
from ..quantities import number_text
from ..ward.site import Site
from .answers import COMMON, SIGNS_AND_NO_LOW
from .decision import Decision
from .due import Progress, grave, very_high
from .readings import look_at
from .swallowing import NEEDS_HELP, awake, felt, mouth
from .treatment import CallForHelp, Carbohydrate, Eat, EmergencyTreatment, Event, Measure, TellPrescriber, Wait


def remarks(state: Progress, decision: Decision, event: Event, site: Site) -> list[str]:
    """Return what was not right about an event, each with its rule, given what was known before it."""
    return [*_no_help(state, decision, event), *_about(state, decision, event, site)]


def _no_help(state: Progress, decision: Decision, event: Event) -> list[str]:
    helpless = [sign for sign in felt(state.observation) if sign in NEEDS_HELP]
    if state.helped or not helpless or isinstance(event, CallForHelp) or event == Wait(0):
        return []
    what = "did not respond" if "unresponsive" in helpless else "had a convulsion"
    low = decision.choice == "hold and treat"
    rule = shelf().cite(shelf().notify["unresponsive-low"]) if low else COMMON
    return [f"Help was not called for a patient who {what}: call first ({rule})."]


def _about(state: Progress, decision: Decision, event: Event, site: Site) -> list[str]:
    treat = decision.choice == "hold and treat"
    seen = state.observation
    since = None if state.treated_at is None else state.minute - state.treated_at
    recheck = f"{number_text(site.recheck.value)} minutes"
    match event:
        case Carbohydrate(grams):
            return _by_mouth(state, decision, grams, site)
        case EmergencyTreatment() if not treat and not _asked_about_signs(state, decision, site):
            return [f"Nothing asks for treatment now: look before you treat ({COMMON})."]
        case EmergencyTreatment() if treat and _takes_by_mouth(state) and not grave(seen, decision):
            return [f"The patient is awake and able to swallow: treat by mouth first ({COMMON})."]
        case Wait(minutes) if treat and since is None and minutes > 0:
            return [f"A low was left waiting without treatment: treat first ({COMMON})."]
        case Wait(minutes) if _signs(decision) and since is None and minutes > 0:
            return [
                f"A patient with signs was left waiting: measure again at once, and call if the signs stay ({COMMON})."
            ]
        case Wait(minutes) if treat and since is not None and since + minutes > site.recheck.value:
            late = f"{number_text(round(since + minutes, 1))} minutes have passed since the treatment"
            return [f"{late}: measure after {recheck} ({site.cite(site.recheck)})."]
        case Measure() if since is not None and since < site.recheck.value:
            early = f"Measured {number_text(round(since, 1))} minutes after the treatment"
            return [f"{early}, before it can have worked: wait {recheck} ({site.cite(site.recheck)})."]
        case Eat():
            return _food(state, treat, site)
        case TellPrescriber(says_give) if treat and says_give:
            rule = shelf().cite(shelf().rules["earlier-low"])
            return [
                "No insulin during a low, whoever says so: treat first, and tell the prescriber again with the new reading "
                f"({rule})."
            ]
        case _:
            return []


def _signs(decision: Decision) -> bool:
    return any(reason.key in SIGNS_AND_NO_LOW for reason in decision.because)


def _asked_about_signs(state: Progress, decision: Decision, site: Site) -> bool:
    """Say whether signs above the line stayed and the prescriber has been asked about treating them as a low."""
    return state.signs_stay and state.answer is not None and _signs(decision) and not very_high(state.observation, site)


def _takes_by_mouth(state: Progress) -> bool:
    """Say whether nothing speaks for another way: swallowing was seen, no fasting and no vomiting."""
    seen = state.observation
    return bool(seen.can_swallow) and not seen.fasting and not seen.vomiting


def _food(state: Progress, treat: bool, site: Site) -> list[str]:
    seen = state.observation
    if mouth(seen) == "nothing":
        why = "cannot swallow safely" if awake(seen) else "is not fully awake"
        return [f"Food, although the patient {why}: nothing by mouth ({COMMON})."]
    if seen.fasting:
        return [f"Food, although the patient is fasting: ask first ({COMMON})."]
    if seen.vomiting:
        return [f"Food, although the patient vomits: ask first how the glucose is to be kept up ({COMMON})."]
    if treat:
        rule = site.cite(site.carbohydrate)
        return [
            f"Food is slow: fast carbohydrate first, and food once the reading is no longer {site.hold_text} ({rule})."
        ]
    if state.treated_at is not None:
        rule = site.cite(site.recheck)
        return [f"Food before a reading in time has shown that the low is over: wait, measure, then food ({rule})."]
    if state.see_swallowing:
        return [
            f"Food, although nobody has seen how the patient swallows after being so drowsy: see to that first ({COMMON})."
        ]
    return []


def _by_mouth(state: Progress, decision: Decision, grams: float, site: Site) -> list[str]:
    seen, said, treat = state.observation, [], decision.choice == "hold and treat"
    way = mouth(seen)
    if way == "nothing":
        why = "cannot swallow safely" if awake(seen) else "is not fully awake"
        return [f"By mouth, although the patient {why}: use the emergency protocol instead ({COMMON})."]
    if way == "see first":
        return [
            f"By mouth, although nobody knows that the patient is awake and swallows safely: see to that first ({COMMON})."
        ]
    if not treat and very_high(seen, site):
        high = "very high" if look_at(seen.glucose, site).high else "high"
        said.append(f"Nothing sweet at a {high} reading unless a fresh one is low: measure first ({COMMON}).")
    elif not treat and felt(seen):
        if not _asked_about_signs(state, decision, site):
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
