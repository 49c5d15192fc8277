"""What was not right about what has just been done while a low is treated. What is said of it stands in low.toml."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from mixlab.care.decision.answers import Said, who_says
from mixlab.care.decision.deciding import Decision
from mixlab.care.decision.readings import has_had_its_time, look_at
from mixlab.care.decision.signs import signs_and_no_low
from mixlab.care.decision.swallowing import awake, by_mouth_used_up, feels, felt, mouth
from mixlab.facts.reading import the_facts
from mixlab.quantities import rounded_beside
from mixlab.ward.site.record import Site

from .events import CallForHelp, Carbohydrate, Eat, EmergencyTreatment, Event, Measure, TellPrescriber, Wait
from .progress import Progress, grave


@dataclass(frozen=True, kw_only=True)
class Remark(Said):
    """Something that was not right, and who says so; `key` is its row in the table of feedback."""

    key: str


def remarks(state: Progress, decision: Decision, event: Event, site: Site) -> tuple[Remark, ...]:
    """Return what was not right about an event, each with its rule, given what was known before it."""
    low, recheck = decision.treat, site.recheck.value
    values: dict[str, object] = {
        "hold_line": site.hold_text,
        "recheck": recheck,
        "taught": site.carbohydrate.value,
        "taught_if_serious": site.serious_carbohydrate.value,
        "oral_treatments": site.oral_treatments.value,
        "protocol": the_facts().phrases["protocol"].text,
        "times": state.observation.treated_by_mouth + 1,
        "failures": state.failures,
    }
    if isinstance(event, Carbohydrate):
        values["grams"] = event.grams
    if state.since is not None:
        passed = state.since + (event.minutes if isinstance(event, Wait) else 0)
        values["passed"] = rounded_beside(passed, recheck)

    def remark(key: str) -> Remark:
        row = the_facts().feedback[key]
        rule = who_says(row, (low and row.cites_in_a_low) or row.cites, site)
        return Remark(key=key, text=row.text.filled_from({**values, "rule": rule}))

    return tuple(
        map(remark, (*_no_help(state, event), *_nobody_told(state, low, event, site), *_about(state, low, event, site)))
    )


def _no_help(state: Progress, event: Event) -> Iterator[str]:
    """Yield that help was not called for a patient with signs by which it is called at once."""
    signs = felt(state.observation)
    if state.helped or not feels(state.observation, "urgent") or isinstance(event, CallForHelp) or event == Wait(0):
        return
    for sign, key in _NO_HELP.items():
        if sign in signs:
            yield key
            return
    yield "no-help-confused"


_NO_HELP = {
    "unresponsive": "no-help-unresponsive",
    "convulsion": "no-help-convulsion",
    "drowsiness": "no-help-drowsy",
}
"""What is said where nobody called for help, by the gravest sign; by any other urgent sign the patient is confused."""


def _nobody_told(state: Progress, treat: bool, event: Event, site: Site) -> Iterator[str]:
    """Yield that nobody was told while the low was first treated, and that a low which stays was left to the nurse alone."""
    match event:
        case Measure() if state.since is not None and has_had_its_time(state.since, site):
            if state.treated_here and state.failures == 0 and state.nobody_told:
                yield "nobody-told"
        case Wait(minutes) if treat and minutes > 0 and state.failures > 1 and not state.told:
            yield "still-low-and-not-called"


def _about(state: Progress, treat: bool, event: Event, site: Site) -> Iterator[str]:
    """Yield what was not right about an event, by key; `treat` says whether a low is to be treated."""
    seen, since, reading = state.observation, state.since, look_at(state.observation.glucose, site)
    match event:
        case Carbohydrate(grams):
            yield from _by_mouth(state, treat, grams, site)
        case EmergencyTreatment() if not treat and not _asked_about_signs(state, site):
            yield "protocol-not-called-for"
        case EmergencyTreatment() if treat and not grave(seen, reading) and not by_mouth_used_up(seen, site):
            if seen.can_swallow and not seen.fasting and not seen.vomiting:
                yield "by-mouth-comes-first"
        case Wait(minutes) if treat and since is None and minutes > 0:
            yield "low-left-waiting"
        case Wait(minutes) if signs_and_no_low(seen, reading) and since is None and minutes > 0:
            yield "signs-left-waiting"
        case Wait(minutes) if treat and since is not None and since + minutes > site.recheck.value:
            yield "waited-too-long"
        case Measure() if not has_had_its_time(since, site):
            yield "measured-too-early"
        case Eat():
            yield from _food(state, treat)
        case TellPrescriber(says_give) if treat and says_give:
            yield "insulin-during-a-low"


def _asked_about_signs(state: Progress, site: Site) -> bool:
    """Say whether signs above the line stayed and the prescriber has been asked about treating them as a low."""
    reading = look_at(state.observation.glucose, site)
    above = signs_and_no_low(state.observation, reading) and not reading.high_with_signs
    return state.signs_stay and state.answer is not None and above


def _food(state: Progress, treat: bool) -> Iterator[str]:
    seen = state.observation
    if mouth(seen) == "nothing":
        yield "food-cannot-swallow" if awake(seen) else "food-not-awake"
    elif seen.fasting:
        yield "food-while-fasting"
    elif seen.vomiting:
        yield "food-while-vomiting"
    elif treat:
        yield "food-is-slow"
    elif state.treated_at is not None:
        yield "food-too-early"
    elif state.see_swallowing:
        yield "food-swallowing-not-seen"


def _by_mouth(state: Progress, treat: bool, grams: float, site: Site) -> Iterator[str]:
    seen, way = state.observation, mouth(state.observation)
    reading = look_at(seen.glucose, site)
    if way == "nothing":
        yield "by-mouth-cannot-swallow" if awake(seen) else "by-mouth-not-awake"
    elif way == "see first":
        yield "by-mouth-not-seen"
    elif treat:
        if by_mouth_used_up(seen, site):
            yield "no-more-by-mouth"
        if reading.serious and grams < site.serious_carbohydrate.value:
            yield "too-little-in-a-serious-low"
        elif grams < site.carbohydrate.value:
            yield "too-little-carbohydrate"
        if state.treated_at is not None:
            yield "treated-again-unmeasured"
        if seen.fasting and not state.told:
            yield "by-mouth-while-fasting"
    elif reading.high_with_signs:
        yield "sweet-at-a-very-high" if reading.high else "sweet-at-a-high"
    elif not felt(seen):
        yield "carbohydrate-not-called-for"
    elif not _asked_about_signs(state, site):
        yield "signs-and-not-low"
