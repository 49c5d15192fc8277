"""What was not right about what has just been done while a low is treated, each remark with its rule."""

from __future__ import annotations

from ..facts.shelf import shelf
from ..quantities import number_text
from ..ward.site import Site
from ..words import say
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
    what = say("did not respond") if "unresponsive" in helpless else say("had a convulsion")
    low = decision.choice == "hold and treat"
    rule = shelf().cite(shelf().notify["unresponsive-low"]) if low else COMMON
    return [say("Help was not called for a patient who {what}: call first ({rule}).", what=what, rule=rule)]


def _about(state: Progress, decision: Decision, event: Event, site: Site) -> list[str]:
    treat = decision.choice == "hold and treat"
    seen = state.observation
    since = None if state.treated_at is None else state.minute - state.treated_at
    recheck = say("{recheck} minutes", recheck=number_text(site.recheck.value))
    match event:
        case Carbohydrate(grams):
            return _by_mouth(state, decision, grams, site)
        case EmergencyTreatment() if not treat and not _asked_about_signs(state, decision, site):
            return [say("Nothing asks for treatment now: look before you treat ({common}).", common=COMMON)]
        case EmergencyTreatment() if treat and _takes_by_mouth(state) and not grave(seen, decision):
            return [say("The patient is awake and able to swallow: treat by mouth first ({common}).", common=COMMON)]
        case Wait(minutes) if treat and since is None and minutes > 0:
            return [say("A low was left waiting without treatment: treat first ({common}).", common=COMMON)]
        case Wait(minutes) if _signs(decision) and since is None and minutes > 0:
            return [
                say(
                    "A patient with signs was left waiting: measure again at once, and call if the signs stay ({common}).",
                    common=COMMON,
                )
            ]
        case Wait(minutes) if treat and since is not None and since + minutes > site.recheck.value:
            late = say("{since} minutes have passed since the treatment", since=number_text(round(since + minutes, 1)))
            return [
                say(
                    "{late}: measure after {recheck} ({recheck_2}).",
                    late=late,
                    recheck=recheck,
                    recheck_2=site.cite(site.recheck),
                )
            ]
        case Measure() if since is not None and since < site.recheck.value:
            early = say("Measured {since} minutes after the treatment", since=number_text(round(since, 1)))
            return [
                say(
                    "{early}, before it can have worked: wait {recheck} ({recheck_2}).",
                    early=early,
                    recheck=recheck,
                    recheck_2=site.cite(site.recheck),
                )
            ]
        case Eat():
            return _food(state, treat, site)
        case TellPrescriber(says_give) if treat and says_give:
            rule = shelf().cite(shelf().rules["earlier-low"])
            return [
                say(
                    "No insulin during a low, whoever says so: treat first, and tell the prescriber again with the new reading ({rule}).",
                    rule=rule,
                )
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
        why = say("cannot swallow safely") if awake(seen) else say("is not fully awake")
        return [say("Food, although the patient {why}: nothing by mouth ({common}).", why=why, common=COMMON)]
    if seen.fasting:
        return [say("Food, although the patient is fasting: ask first ({common}).", common=COMMON)]
    if seen.vomiting:
        return [
            say(
                "Food, although the patient vomits: ask first how the glucose is to be kept up ({common}).",
                common=COMMON,
            )
        ]
    if treat:
        rule = site.cite(site.carbohydrate)
        return [
            say(
                "Food is slow: fast carbohydrate first, and food once the reading is no longer {hold_text} ({rule}).",
                hold_text=site.hold_text,
                rule=rule,
            )
        ]
    if state.treated_at is not None:
        rule = site.cite(site.recheck)
        return [
            say(
                "Food before a reading in time has shown that the low is over: wait, measure, then food ({rule}).",
                rule=rule,
            )
        ]
    if state.see_swallowing:
        return [
            say(
                "Food, although nobody has seen how the patient swallows after being so drowsy: see to that first ({common}).",
                common=COMMON,
            )
        ]
    return []


def _by_mouth(state: Progress, decision: Decision, grams: float, site: Site) -> list[str]:
    seen, said, treat = state.observation, [], decision.choice == "hold and treat"
    way = mouth(seen)
    if way == "nothing":
        why = say("cannot swallow safely") if awake(seen) else say("is not fully awake")
        return [
            say(
                "By mouth, although the patient {why}: use the emergency protocol instead ({common}).",
                why=why,
                common=COMMON,
            )
        ]
    if way == "see first":
        return [
            say(
                "By mouth, although nobody knows that the patient is awake and swallows safely: see to that first ({common}).",
                common=COMMON,
            )
        ]
    if not treat and very_high(seen, site):
        high = say("very high") if look_at(seen.glucose, site).high else "high"
        said.append(
            say(
                "Nothing sweet at a {high} reading unless a fresh one is low: measure first ({common}).",
                high=high,
                common=COMMON,
            )
        )
    elif not treat and felt(seen):
        if not _asked_about_signs(state, decision, site):
            said.append(
                say(
                    "Signs, but a reading that is not low: take a fresh one first, and treat if that cannot be done at once ({common}).",
                    common=COMMON,
                )
            )
    elif not treat:
        rule = site.cite(site.hold_line)
        said.append(
            say(
                "Nothing asks for treatment now, the reading is not {hold_text}: look before you treat ({rule}).",
                hold_text=site.hold_text,
                rule=rule,
            )
        )
    elif grams < site.carbohydrate.value:
        taught, rule = number_text(site.carbohydrate.value), site.cite(site.carbohydrate)
        said.append(
            say(
                "{grams} g is less than the {taught} g taught here ({rule}).",
                grams=number_text(grams),
                taught=taught,
                rule=rule,
            )
        )
    if treat and state.treated_at is not None:
        recheck = number_text(site.recheck.value)
        said.append(
            say(
                "Treated again without a reading taken {recheck} minutes after the last treatment ({recheck_2}).",
                recheck=recheck,
                recheck_2=site.cite(site.recheck),
            )
        )
    return said
