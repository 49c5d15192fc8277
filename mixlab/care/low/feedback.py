"""What was not right about what has just been done while a low is treated, each remark with its rule."""

from __future__ import annotations

from mixlab.care.decision.answers import COMMON, SIGNS_AND_NO_LOW
from mixlab.care.decision.deciding import Decision
from mixlab.care.decision.readings import look_at
from mixlab.care.decision.swallowing import NEEDS_HELP, awake, felt, mouth
from mixlab.facts.shelf import shelf
from mixlab.ward.site.record import Site
from mixlab.words import Sentence, sentence

from .events import CallForHelp, Carbohydrate, Eat, EmergencyTreatment, Event, Measure, TellPrescriber, Wait
from .next_due import Progress, grave, very_high


def remarks(state: Progress, decision: Decision, event: Event, site: Site) -> list[Sentence]:
    """Return what was not right about an event, each with its rule, given what was known before it."""
    return [*_no_help(state, decision, event), *_about(state, decision, event, site)]


def _no_help(state: Progress, decision: Decision, event: Event) -> list[Sentence]:
    helpless = [sign for sign in felt(state.observation) if sign in NEEDS_HELP]
    if state.helped or not helpless or isinstance(event, CallForHelp) or event == Wait(0):
        return []
    low = decision.choice == "hold and treat"
    rule = shelf().cite(shelf().notify["unresponsive-low"]) if low else COMMON
    if "unresponsive" in helpless:
        return [sentence("Help was not called for a patient who did not respond: call first ({rule}).", rule=rule)]
    return [sentence("Help was not called for a patient who had a convulsion: call first ({rule}).", rule=rule)]


def _about(state: Progress, decision: Decision, event: Event, site: Site) -> list[Sentence]:
    treat = decision.choice == "hold and treat"
    seen, common = state.observation, COMMON
    since = None if state.treated_at is None else state.minute - state.treated_at
    recheck, rule = site.recheck.value, site.cite(site.recheck)
    match event:
        case Carbohydrate(grams):
            return _by_mouth(state, decision, grams, site)
        case EmergencyTreatment() if not treat and not _asked_about_signs(state, decision, site):
            return [sentence("Nothing asks for treatment now: look before you treat ({rule}).", rule=common)]
        case EmergencyTreatment() if treat and _takes_by_mouth(state) and not grave(seen, decision):
            return [sentence("The patient is awake and able to swallow: treat by mouth first ({rule}).", rule=common)]
        case Wait(minutes) if treat and since is None and minutes > 0:
            return [sentence("A low was left waiting without treatment: treat first ({rule}).", rule=common)]
        case Wait(minutes) if _signs(decision) and since is None and minutes > 0:
            return [_SIGNS_LEFT_WAITING.filled(rule=common)]
        case Wait(minutes) if treat and since is not None and since + minutes > site.recheck.value:
            passed = round(since + minutes, 1)
            return [_WAITED_TOO_LONG.filled(passed=passed, recheck=recheck, rule=rule)]
        case Measure() if since is not None and since < site.recheck.value:
            passed = round(since, 1)
            return [_MEASURED_TOO_EARLY.filled(passed=passed, recheck=recheck, rule=rule)]
        case Eat():
            return _food(state, treat, site)
        case TellPrescriber(says_give) if treat and says_give:
            return [_NO_INSULIN_DURING_A_LOW.filled(rule=shelf().cite(shelf().rules["earlier-low"]))]
        case _:
            return []


_SIGNS_LEFT_WAITING = sentence(
    "A patient with signs was left waiting: measure again at once, and call if the signs stay ({rule})."
)
_WAITED_TOO_LONG = sentence(
    "{passed} minutes have passed since the treatment: measure after {recheck} minutes ({rule})."
)
_MEASURED_TOO_EARLY = sentence(
    "Measured {passed} minutes after the treatment, before it can have worked: wait {recheck} minutes ({rule})."
)
_NO_INSULIN_DURING_A_LOW = sentence(
    "No insulin during a low, whoever says so: treat first, and tell the {prescriber} again with the new reading ({rule})."
)


def _signs(decision: Decision) -> bool:
    return any(reason.key in SIGNS_AND_NO_LOW for reason in decision.because)


def _asked_about_signs(state: Progress, decision: Decision, site: Site) -> bool:
    """Say whether signs above the line stayed and the prescriber has been asked about treating them as a low."""
    return state.signs_stay and state.answer is not None and _signs(decision) and not very_high(state.observation, site)


def _takes_by_mouth(state: Progress) -> bool:
    """Say whether nothing speaks for another way: swallowing was seen, no fasting and no vomiting."""
    seen = state.observation
    return bool(seen.can_swallow) and not seen.fasting and not seen.vomiting


def _food(state: Progress, treat: bool, site: Site) -> list[Sentence]:
    seen, common = state.observation, COMMON
    if mouth(seen) == "nothing":
        return [(_FOOD_CANNOT_SWALLOW if awake(seen) else _FOOD_NOT_AWAKE).filled(rule=common)]
    if seen.fasting:
        return [sentence("Food, although the patient is fasting: ask first ({rule}).", rule=common)]
    if seen.vomiting:
        return [_FOOD_WHILE_VOMITING.filled(rule=common)]
    if treat:
        return [_FOOD_IS_SLOW.filled(hold_line=site.hold_text, rule=site.cite(site.carbohydrate))]
    if state.treated_at is not None:
        return [_FOOD_TOO_EARLY.filled(rule=site.cite(site.recheck))]
    if state.see_swallowing:
        return [_FOOD_SWALLOWING_NOT_SEEN.filled(rule=common)]
    return []


_FOOD_CANNOT_SWALLOW = sentence("Food, although the patient cannot swallow safely: nothing by mouth ({rule}).")
_FOOD_NOT_AWAKE = sentence("Food, although the patient is not fully awake: nothing by mouth ({rule}).")
_FOOD_WHILE_VOMITING = sentence(
    "Food, although the patient vomits: ask first how the glucose is to be kept up ({rule})."
)
_FOOD_IS_SLOW = sentence(
    "Food is slow: fast carbohydrate first, and food once the reading is no longer {hold_line} ({rule})."
)
_FOOD_TOO_EARLY = sentence(
    "Food before a reading in time has shown that the low is over: wait, measure, then food ({rule})."
)
_FOOD_SWALLOWING_NOT_SEEN = sentence(
    "Food, although nobody has seen how the patient swallows after being so drowsy: see to that first ({rule})."
)


def _by_mouth(state: Progress, decision: Decision, grams: float, site: Site) -> list[Sentence]:
    seen, treat, common = state.observation, decision.choice == "hold and treat", COMMON
    said: list[Sentence] = []
    way = mouth(seen)
    if way == "nothing":
        return [(_MOUTH_CANNOT_SWALLOW if awake(seen) else _MOUTH_NOT_AWAKE).filled(rule=common)]
    if way == "see first":
        return [_MOUTH_NOT_SEEN.filled(rule=common)]
    if not treat and seen.glucose is not None and very_high(seen, site):
        said.append((_SWEET_AT_VERY_HIGH if look_at(seen.glucose, site).high else _SWEET_AT_HIGH).filled(rule=common))
    elif not treat and felt(seen):
        if not _asked_about_signs(state, decision, site):
            said.append(_SWEET_AND_NOT_LOW.filled(rule=common))
    elif not treat:
        said.append(_NOTHING_ASKS.filled(hold_line=site.hold_text, rule=site.cite(site.hold_line)))
    elif grams < site.carbohydrate.value:
        said.append(
            sentence(
                "{grams} g is less than the {taught} g taught here ({rule}).",
                grams=grams,
                taught=site.carbohydrate.value,
                rule=site.cite(site.carbohydrate),
            )
        )
    if treat and state.treated_at is not None:
        said.append(
            sentence(
                "Treated again without a reading taken {recheck} minutes after the last treatment ({rule}).",
                recheck=site.recheck.value,
                rule=site.cite(site.recheck),
            )
        )
    return said


_MOUTH_CANNOT_SWALLOW = sentence(
    "By mouth, although the patient cannot swallow safely: use the emergency protocol instead ({rule})."
)
_MOUTH_NOT_AWAKE = sentence(
    "By mouth, although the patient is not fully awake: use the emergency protocol instead ({rule})."
)
_MOUTH_NOT_SEEN = sentence(
    "By mouth, although nobody knows that the patient is awake and swallows safely: see to that first ({rule})."
)
_SWEET_AT_HIGH = sentence("Nothing sweet at a high reading unless a fresh one is low: measure first ({rule}).")
_SWEET_AT_VERY_HIGH = sentence(
    "Nothing sweet at a very high reading unless a fresh one is low: measure first ({rule})."
)
_SWEET_AND_NOT_LOW = sentence(
    "Signs, but a reading that is not low: take a fresh one first, and treat if that cannot be done at once ({rule})."
)
_NOTHING_ASKS = sentence(
    "Nothing asks for treatment now, the reading is not {hold_line}: look before you treat ({rule})."
)
