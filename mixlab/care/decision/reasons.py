"""What the patient, the meal and the chart say about a dose: every finding beside the number on the meter."""

from __future__ import annotations

import math
from collections.abc import Iterator

from mixlab.facts.records import NotifyRow
from mixlab.facts.shelf import shelf
from mixlab.quantities import Glucose, number_text
from mixlab.ward.observation import Earlier, Observation, OffScale
from mixlab.ward.order.order import Order
from mixlab.ward.site.glucose_lines import crosses
from mixlab.ward.site.record import Site
from mixlab.words import mark, plural, remembered, say

from .answers import COMMON, Reason, ReasonKey
from .readings import Reading, look_at
from .swallowing import NEEDS_HELP, URGENT_SIGNS, felt, mouth, sign_text


@remembered
def _citation(rule: str) -> str:
    facts = shelf()
    return facts.cite(facts.rules[rule])


@remembered
def _signs_citation() -> str:
    facts = shelf()
    return facts.cite(facts.signs["trembling"])


def age_reason(minutes: float | None, site: Site) -> Reason | None:
    """Return what the age of a reading asks for, or None if it is young enough to act on."""
    if minutes is not None and minutes <= site.reading_age.value:
        return None
    limit = number_text(site.reading_age.value)
    if minutes is None:
        text = say("The reading is of unknown age; act only on one taken within {limit} minutes.", limit=limit)
    elif math.isinf(minutes):
        text = say("The reading is very old; act only on one taken within {limit} minutes.", limit=limit)
    else:
        text = say(
            "The reading is {age} minutes old; act only on one taken within {limit} minutes.",
            age=number_text(round(minutes, 1)),
            limit=limit,
        )
    key: ReasonKey = "reading-age-unknown" if minutes is None else "reading-too-old"
    return Reason(choice="check first", key=key, text=text, rule=site.cite(site.reading_age))


def early_reason(observation: Observation, reading: Reading, site: Site) -> Reason | None:
    """Return that a reading was taken too soon after a treatment to decide by, or None; a low is one at any time."""
    minutes = observation.minutes_after_treatment
    if minutes is None or minutes >= site.recheck.value or reading.low:
        return None
    text = say(
        "The reading was taken {minutes} minutes after the treatment, too early to decide by: measure again {recheck} minutes after it.",
        minutes=number_text(round(minutes, 1)),
        recheck=number_text(site.recheck.value),
    )
    return Reason(choice="check first", key="reading-too-early", text=text, rule=site.cite(site.recheck))


_EMERGENCY = {
    "": mark(
        "The patient needs help ({signs}), although the reading is not low: call for help now, whatever the number."
    ),
    "high": mark("The patient needs help ({signs}), and the reading is high: call for help now, whatever the number."),
    "very high": mark(
        "The patient needs help ({signs}), and the reading is very high: call for help now, whatever the number."
    ),
}
"""A patient who needs help and whose reading is no low, by how high it is."""

_SIGNS_WITH_HIGH = {
    "high": mark(
        "{signs}, with a high reading: it can come from the high glucose itself, or the number can be wrong. It is no low until a fresh reading says so."
    ),
    "very high": mark(
        "{signs}, with a very high reading: it can come from the high glucose itself, or the number can be wrong. It is no low until a fresh reading says so."
    ),
}
"""Signs beside a reading that is no low, by how high it is."""


def sign_reasons(observation: Observation, reading: Reading | None) -> Iterator[Reason]:
    """Yield what the signs and the alertness ask for. Signs outrank a reassuring number."""
    if observation.signs is None:
        text = say("Nobody has looked for signs of a low yet.")
        yield Reason(choice="check first", key="signs-not-looked-for", text=text, rule=say(COMMON))
    if observation.alertness is None:
        text = say("Nobody has looked how awake the patient is.")
        yield Reason(choice="check first", key="alertness-not-looked-at", text=text, rule=say(COMMON))
    signs = felt(observation)
    grave = ", ".join(sign_text(sign) for sign in signs if sign in NEEDS_HELP)
    others = ", ".join(sign_text(sign) for sign in signs if sign not in NEEDS_HELP)
    treat = reading is None or reading.low
    high = "" if reading is None or not reading.high_with_signs else "very high" if reading.high else "high"
    if grave and treat:
        call = shelf().notify["unresponsive-low"]
        text = say(
            "The patient needs help ({signs}): with a low or without a reading this is a low of level 3, at any number. {call}",
            signs=grave,
            call=say(call.do),
        )
        rule = f"{_citation('level-3')}; {shelf().cite(call)}"
        yield Reason(choice="hold and treat", key="level-3", text=text, rule=rule)
    elif grave:
        text = say(_EMERGENCY[high], signs=grave)
        rule = _high_rule(high) if high else _citation("level-3")
        yield Reason(choice="check first", key="emergency-not-low", text=text, rule=rule)
    if not others:
        return
    if reading is None:
        text = say("Signs of a low ({signs}) and no reading to be had: treat as a low.", signs=others)
        yield Reason(choice="hold and treat", key="signs-without-reading", text=text, rule=_signs_citation())
    elif reading.low:
        text = say("Signs of a low: {signs}.", signs=others)
        yield Reason(choice="hold and treat", key="signs-with-low", text=text, rule=_signs_citation())
    elif high:
        text = say(_SIGNS_WITH_HIGH[high], signs=f"{others[0].upper()}{others[1:]}")
        yield Reason(choice="check first", key="signs-with-high", text=text, rule=_high_rule(high))
    else:
        text = say(
            "Signs of a low ({signs}) although the reading is not low: the signs outrank the number.", signs=others
        )
        key: ReasonKey = "urgent-signs-not-low" if URGENT_SIGNS & set(signs) else "signs-outrank-number"
        yield Reason(choice="check first", key=key, text=text, rule=_signs_citation())


def _high_rule(high: str) -> str:
    """Return who says that signs with a high reading are no low; a reading short of the report line has a line of its own."""
    if high == "very high":
        return say(COMMON)
    return say("{rule}; the line: {line}", rule=say(COMMON), line=shelf().cite(shelf().notify["high-twice"]))


def says_give(observation: Observation) -> bool:
    """Say whether the prescriber wants the dose given now. A word to wait goes before it."""
    return observation.prescriber_says_give and not observation.prescriber_says_wait


def _ask(key: ReasonKey, finding: str, question: str, rule: str, observation: Observation, short: str = "") -> Reason:
    """Return a question for the prescriber, or, once it has been answered, that it has."""
    if says_give(observation):
        answered = say(
            "{finding}: asked and answered. The {prescriber} says to give this dose now.", finding=short or finding
        )
        return Reason(choice="give", key=key, text=answered, rule=rule)
    return Reason(choice="hold and ask", key=key, text=f"{finding}: {question}", rule=rule)


def meal_reasons(order: Order, observation: Observation, reading: Reading | None) -> Iterator[Reason]:
    """Yield what the meal asks for. Without one each insulin is its own question."""
    if observation.eating is None:
        text = say("It is not known whether the patient will eat.")
        yield Reason(choice="check first", key="meal-unknown", text=text, rule=say(COMMON))
    if observation.can_swallow is False:
        question = say("the meal may not be eaten, and a low could not be treated by mouth.")
        yield _ask("cannot-swallow", say("The patient cannot swallow safely"), question, say(COMMON), observation)
    if observation.vomiting:
        question = say("the meal may not stay down, so call as soon as possible.")
        yield _ask("vomiting", say("The patient vomits"), question, _citation("eats-too-little"), observation)
    rules = shelf().rules
    if observation.fasting:
        finding = say("The patient fasts for a test or an operation")
        fasting = rules["fasting"]
        yield _ask("fasting", finding, say(fasting.say), _citation("fasting"), observation)
    if observation.eating is False or observation.fasting:
        clear, cloudy = rules["clear-without-a-meal"], rules["cloudy-without-a-meal"]
        meant_for = say(clear.say, clear=order.clear.insulin)
        question = " ".join((say("call as soon as possible."), f"{meant_for[0].upper()}{meant_for[1:]}"))
        rule = f"{_citation('clear-without-a-meal')}; {_citation('eats-too-little')}"
        short = say("Not eating, {insulin}", insulin=order.clear.insulin)
        yield _ask("not-eating-clear", say("The patient is not eating"), question, rule, observation, short)
        question = say(cloudy.say, cloudy=order.cloudy.insulin)
        rule = _citation("cloudy-without-a-meal")
        short = say("Not eating, {insulin}", insulin=order.cloudy.insulin)
        yield _ask("not-eating-cloudy", say("The patient is not eating"), question, rule, observation, short)
    if observation.meal_late:
        question = say("hold the injection until the meal is on its way, and ask if it will be long.")
        yield _ask("meal-late", say("The meal is late"), question, say(COMMON), observation)
    if observation.food_due and not (reading is not None and reading.low):
        text = say("A low has been treated and nothing has been eaten since: food comes before the dose.")
        if observation.fasting or mouth(observation) == "nothing":
            text = say(
                "A low has been treated and nothing has been eaten since: without food, ask how the glucose is to be kept up before the dose."
            )
        yield Reason(choice="hold and ask", key="food-due", text=text, rule=say(COMMON))


def chart_reasons(observation: Observation, reading: Reading | None, site: Site) -> Iterator[Reason]:
    """Yield what the chart asks for: the last dose, earlier readings, and a state that is new or changed."""
    hours = observation.hours_since_dose
    if hours is None:
        text = say("It is not known when the last dose was given: look at the {chart}, so that none is given twice.")
        yield Reason(choice="check first", key="last-dose-unknown", text=text, rule=say(COMMON))
    elif hours < site.dose_gap.value:
        text = say(
            "The last dose was {ago}, less than {gap} hours: could this dose have been given already?",
            ago=_ago(hours),
            gap=number_text(site.dose_gap.value),
        )
        yield Reason(choice="check first", key="last-dose-recent", text=text, rule=site.cite(site.dose_gap))
    if observation.changed:
        text = say(
            "The patient's state is new or changed. Report to the {prescriber} what is new or changed, with the reading."
        )
        yield Reason(choice="give and report", key="changed-state", text=text, rule=say(COMMON))
    if observation.prescriber_says_wait:
        yield Reason(choice="hold and ask", key="prescriber-says-wait", text=say(SAYS_WAIT), rule=say(COMMON))
    lows = list(_lows(observation, reading, site)) if observation.earlier else []
    yield from lows
    known = (reading is not None and reading.low) or any(low.key == "earlier-low" for low in lows)
    if observation.treated_as_low and not known:
        finding = say("Treated as a low, and the {prescriber} has not yet said to give the dose")
        question = say("ask before anything is drawn up.")
        yield _ask("treated-as-low", finding, question, say(COMMON), observation, say("Treated as a low"))
    if observation.earlier:
        yield from _highs(observation)


SAYS_WAIT = mark(
    "The {prescriber} has said not to give this dose. A new reading does not change that: tell the reading, and ask again."
)


def _ago(hours: float) -> str:
    if hours < 1:
        minutes = round(hours * 60)
        return plural(minutes, "{count} minute ago", "{count} minutes ago", count=minutes)
    return plural(round(hours, 1), "{count} hour ago", "{count} hours ago", count=number_text(round(hours, 1)))


def _lows(observation: Observation, reading: Reading | None, site: Site) -> Iterator[Reason]:
    window, facts = site.earlier_low.value, shelf()
    lows = [(one.hours_ago, seen) for one in observation.earlier if (seen := look_at(one.glucose, site)).low]
    recent = [low for low in lows if low[0] <= window]
    if recent:
        hours, latest = min(recent, key=lambda low: low[0])
        told, not_cancelled = facts.rules["earlier-low"], facts.rules["holding-is-not-cancelling"]
        finding = say("A low {ago}, {reading}", ago=_ago(hours), reading=latest.shown)
        question = " ".join(
            (
                say(told.say),
                say(not_cancelled.say),
                say("If the {prescriber} has already been told and has ordered since, say so (told, says give)."),
            )
        )
        hours_back = f"{number_text(window)} {say(site.earlier_low.unit)}: {site.cite(site.earlier_low)}"
        rule = f"{_citation('earlier-low')}; {_citation('holding-is-not-cancelling')}; {hours_back}"
        yield _ask("earlier-low", finding, question, rule, observation)
    row = facts.notify["several-lows"]
    if sum(hours <= row.within_hours for hours, _ in lows) + (reading is not None and reading.low) >= row.times:
        finding = say("Several lows within {hours} hours", hours=number_text(row.within_hours))
        question = say(row.do)
        yield _ask("several-lows", finding, f"{question[0].lower()}{question[1:]}", facts.cite(row), observation)


_HIGH_TWICE = mark("Two or more readings within {hours} hours are above {glucose}.")
_HIGH_TWICE_AND_CHANGED = mark(
    "Two or more readings within {hours} hours are above {glucose}, and the patient's state is new or changed."
)


def _highs(observation: Observation) -> Iterator[Reason]:
    facts = shelf()
    since = (observation.minutes_old or 0) / 60
    now = () if observation.glucose is None else (Earlier(observation.glucose, since),)
    readings = (*now, *observation.earlier)
    row = facts.notify["high-twice"]
    if sum(one.hours_ago <= row.within_hours and _above(one.glucose, row) for one in readings) >= row.times:
        text = say(
            _HIGH_TWICE_AND_CHANGED if observation.changed else _HIGH_TWICE,
            hours=number_text(row.within_hours),
            glucose=Glucose(row.value, row.unit),
        )
        rule = (
            f"{_citation('high-with-a-changed-state')}; {facts.cite(row)}" if observation.changed else facts.cite(row)
        )
        yield Reason(choice="give and report", key="high-twice", text=f"{text} {say(row.do)}", rule=rule)
    row = facts.notify["high-two-days"]
    high = [one.hours_ago for one in readings if one.hours_ago <= row.within_hours and _above(one.glucose, row)]
    if high and min(high) <= row.within_hours / 2 < max(high):
        text = say("Readings on two days running are above {glucose}.", glucose=Glucose(row.value, row.unit))
        yield Reason(choice="give and report", key="high-two-days", text=f"{text} {say(row.do)}", rule=facts.cite(row))


def _above(glucose: Glucose | OffScale, row: NotifyRow) -> bool:
    return crosses(glucose, row) if isinstance(glucose, Glucose) else glucose == "HI"
