"""What the patient, the meal and the chart say about a dose: every finding beside the number on the meter."""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import lru_cache

from mixlab.facts.records import NotifyRow
from mixlab.facts.shelf import shelf
from mixlab.quantities import Glucose
from mixlab.ward.observation import Earlier, Observation, OffScale
from mixlab.ward.order.order import Order
from mixlab.ward.site.glucose_lines import crosses
from mixlab.ward.site.record import Site
from mixlab.words import Sentence, counted, joined, sentence

from .answers import COMMON, Reason, ReasonKey, after_a_colon
from .readings import Reading, look_at
from .swallowing import NEEDS_HELP, URGENT_SIGNS, felt, mouth, sign_text


@lru_cache(maxsize=4096)
def _citation(*rules: str) -> Sentence:
    facts = shelf()
    return joined((facts.cite(facts.rules[rule]) for rule in rules), "; ")


@lru_cache(maxsize=4096)
def _signs_citation() -> Sentence:
    facts = shelf()
    return facts.cite(facts.signs["trembling"])


def age_reason(minutes: float | None, site: Site) -> Reason | None:
    """Return what the age of a reading asks for, or None if it is young enough to act on."""
    if minutes is not None and minutes <= site.reading_age.value:
        return None
    limit = site.reading_age.value
    if minutes is None:
        text = sentence("The reading is of unknown age; act only on one taken within {limit} minutes.", limit=limit)
    elif math.isinf(minutes):
        text = sentence("The reading is very old; act only on one taken within {limit} minutes.", limit=limit)
    else:
        text = sentence(
            "The reading is {age} minutes old; act only on one taken within {limit} minutes.",
            age=round(minutes, 1),
            limit=limit,
        )
    key: ReasonKey = "reading-age-unknown" if minutes is None else "reading-too-old"
    return Reason(choice="check first", key=key, text=text, rule=site.cite(site.reading_age))


def early_reason(observation: Observation, reading: Reading, site: Site) -> Reason | None:
    """Return that a reading was taken too soon after a treatment to decide by, or None; a low is one at any time."""
    minutes = observation.minutes_after_treatment
    if minutes is None or minutes >= site.recheck.value or reading.low:
        return None
    text = sentence(
        "The reading was taken {minutes} minutes after the treatment, too early to decide by: measure again {recheck} minutes after it.",
        minutes=round(minutes, 1),
        recheck=site.recheck.value,
    )
    return Reason(choice="check first", key="reading-too-early", text=text, rule=site.cite(site.recheck))


_EMERGENCY = {
    "": sentence(
        "The patient needs help ({signs}), although the reading is not low: call for help now, whatever the number."
    ),
    "high": sentence(
        "The patient needs help ({signs}), and the reading is high: call for help now, whatever the number."
    ),
    "very high": sentence(
        "The patient needs help ({signs}), and the reading is very high: call for help now, whatever the number."
    ),
}
"""A patient who needs help and whose reading is no low, by how high it is."""

_SIGNS_WITH_HIGH = {
    "high": sentence(
        "{signs}, with a high reading: it can come from the high glucose itself, or the number can be wrong. It is no low until a fresh reading says so."
    ),
    "very high": sentence(
        "{signs}, with a very high reading: it can come from the high glucose itself, or the number can be wrong. It is no low until a fresh reading says so."
    ),
}
"""Signs beside a reading that is no low, by how high it is."""


def sign_reasons(observation: Observation, reading: Reading | None) -> Iterator[Reason]:
    """Yield what the signs and the alertness ask for. Signs outrank a reassuring number."""
    if observation.signs is None:
        text = sentence("Nobody has looked for signs of a low yet.")
        yield Reason(choice="check first", key="signs-not-looked-for", text=text, rule=COMMON)
    if observation.alertness is None:
        text = sentence("Nobody has looked how awake the patient is.")
        yield Reason(choice="check first", key="alertness-not-looked-at", text=text, rule=COMMON)
    signs = felt(observation)
    grave = joined(sign_text(sign) for sign in signs if sign in NEEDS_HELP)
    others = joined(sign_text(sign) for sign in signs if sign not in NEEDS_HELP)
    treat = reading is None or reading.low
    high = "" if reading is None or not reading.high_with_signs else "very high" if reading.high else "high"
    if grave and treat:
        call = shelf().notify["unresponsive-low"]
        text = sentence(
            "The patient needs help ({signs}): with a low or without a reading this is a low of level 3, at any number. {call}",
            signs=grave,
            call=call.do,
        )
        rule = joined((_citation("level-3"), shelf().cite(call)), "; ")
        yield Reason(choice="hold and treat", key="level-3", text=text, rule=rule)
    elif grave:
        text = _EMERGENCY[high].filled(signs=grave)
        rule = _high_rule(high) if high else _citation("level-3")
        yield Reason(choice="check first", key="emergency-not-low", text=text, rule=rule)
    if not others:
        return
    if reading is None:
        text = sentence("Signs of a low ({signs}) and no reading to be had: treat as a low.", signs=others)
        yield Reason(choice="hold and treat", key="signs-without-reading", text=text, rule=_signs_citation())
    elif reading.low:
        text = sentence("Signs of a low: {signs}.", signs=others)
        yield Reason(choice="hold and treat", key="signs-with-low", text=text, rule=_signs_citation())
    elif high:
        text = _SIGNS_WITH_HIGH[high].filled(signs=others.with_capitals())
        yield Reason(choice="check first", key="signs-with-high", text=text, rule=_high_rule(high))
    else:
        text = sentence(
            "Signs of a low ({signs}) although the reading is not low: the signs outrank the number.", signs=others
        )
        key: ReasonKey = "urgent-signs-not-low" if URGENT_SIGNS & set(signs) else "signs-outrank-number"
        yield Reason(choice="check first", key=key, text=text, rule=_signs_citation())


def _high_rule(high: str) -> Sentence:
    """Return who says that signs with a high reading are no low; a reading short of the report line has a line of its own."""
    if high == "very high":
        return COMMON
    return sentence("{rule}; the line: {line}", rule=COMMON, line=shelf().cite(shelf().notify["high-twice"]))


def says_give(observation: Observation) -> bool:
    """Say whether the prescriber wants the dose given now. A word to wait goes before it."""
    return observation.prescriber_says_give and not observation.prescriber_says_wait


def _ask(
    key: ReasonKey,
    finding: Sentence,
    question: Sentence,
    rule: Sentence,
    observation: Observation,
    short: Sentence | None = None,
) -> Reason:
    """Return a question for the prescriber, or, once it has been answered, that it has."""
    if says_give(observation):
        answered = sentence(
            "{finding}: asked and answered. The {prescriber} says to give this dose now.", finding=short or finding
        )
        return Reason(choice="give", key=key, text=answered, rule=rule)
    return Reason(choice="hold and ask", key=key, text=joined((finding, question), ": "), rule=rule)


def meal_reasons(order: Order, observation: Observation, reading: Reading | None) -> Iterator[Reason]:
    """Yield what the meal asks for. Without one each insulin is its own question."""
    if observation.eating is None:
        text = sentence("It is not known whether the patient will eat.")
        yield Reason(choice="check first", key="meal-unknown", text=text, rule=COMMON)
    if observation.can_swallow is False:
        question = sentence("the meal may not be eaten, and a low could not be treated by mouth.")
        yield _ask("cannot-swallow", sentence("The patient cannot swallow safely"), question, COMMON, observation)
    if observation.vomiting:
        question = sentence("the meal may not stay down, so call as soon as possible.")
        yield _ask("vomiting", sentence("The patient vomits"), question, _citation("eats-too-little"), observation)
    rules = shelf().rules
    if observation.fasting:
        finding = sentence("The patient fasts for a test or an operation")
        fasting = rules["fasting"]
        yield _ask("fasting", finding, fasting.say, _citation("fasting"), observation)
    if observation.eating is False or observation.fasting:
        clear, cloudy = rules["clear-without-a-meal"], rules["cloudy-without-a-meal"]
        meant_for = clear.say.filled(clear=order.clear.insulin.name).with_capitals()
        question = joined((sentence("call as soon as possible."), meant_for), " ")
        rule = _citation("clear-without-a-meal", "eats-too-little")
        short = sentence("Not eating, {insulin}", insulin=order.clear.insulin.name)
        yield _ask("not-eating-clear", sentence("The patient is not eating"), question, rule, observation, short)
        question = cloudy.say.filled(cloudy=order.cloudy.insulin.name)
        rule = _citation("cloudy-without-a-meal")
        short = sentence("Not eating, {insulin}", insulin=order.cloudy.insulin.name)
        yield _ask("not-eating-cloudy", sentence("The patient is not eating"), question, rule, observation, short)
    if observation.meal_late:
        question = sentence("hold the injection until the meal is on its way, and ask if it will be long.")
        yield _ask("meal-late", sentence("The meal is late"), question, COMMON, observation)
    if observation.food_due and not (reading is not None and reading.low):
        text = sentence("A low has been treated and nothing has been eaten since: food comes before the dose.")
        if observation.fasting or mouth(observation) == "nothing":
            text = sentence(
                "A low has been treated and nothing has been eaten since: without food, ask how the glucose is to be kept up before the dose."
            )
        yield Reason(choice="hold and ask", key="food-due", text=text, rule=COMMON)


def chart_reasons(observation: Observation, reading: Reading | None, site: Site) -> Iterator[Reason]:
    """Yield what the chart asks for: the last dose, earlier readings, and a state that is new or changed."""
    hours = observation.hours_since_dose
    if hours is None:
        text = sentence(
            "It is not known when the last dose was given: look at the {chart}, so that none is given twice."
        )
        yield Reason(choice="check first", key="last-dose-unknown", text=text, rule=COMMON)
    elif hours < site.dose_gap.value:
        text = sentence(
            "The last dose was {ago}, less than {gap} hours: could this dose have been given already?",
            ago=_ago(hours),
            gap=site.dose_gap.value,
        )
        yield Reason(choice="check first", key="last-dose-recent", text=text, rule=site.cite(site.dose_gap))
    if observation.changed:
        text = sentence(
            "The patient's state is new or changed. Report to the {prescriber} what is new or changed, with the reading."
        )
        yield Reason(choice="give and report", key="changed-state", text=text, rule=COMMON)
    if observation.prescriber_says_wait:
        yield Reason(choice="hold and ask", key="prescriber-says-wait", text=SAYS_WAIT, rule=COMMON)
    lows = list(_lows(observation, reading, site)) if observation.earlier else []
    yield from lows
    known = (reading is not None and reading.low) or any(low.key == "earlier-low" for low in lows)
    if observation.treated_as_low and not known:
        finding = sentence("Treated as a low, and the {prescriber} has not yet said to give the dose")
        question = sentence("ask before anything is drawn up.")
        yield _ask("treated-as-low", finding, question, COMMON, observation, sentence("Treated as a low"))
    if observation.earlier:
        yield from _highs(observation)


SAYS_WAIT = sentence(
    "The {prescriber} has said not to give this dose. A new reading does not change that: tell the reading, and ask again."
)


def _ago(hours: float) -> Sentence:
    if hours < 1:
        minutes = round(hours * 60)
        return counted(minutes, "{count} minute ago", "{count} minutes ago", count=minutes)
    return counted(round(hours, 1), "{count} hour ago", "{count} hours ago", count=round(hours, 1))


_IF_TOLD = sentence("If the {prescriber} has already been told and has ordered since, say so (told, says give).")


def _lows(observation: Observation, reading: Reading | None, site: Site) -> Iterator[Reason]:
    window, facts = site.earlier_low.value, shelf()
    lows = [(one.hours_ago, seen) for one in observation.earlier if (seen := look_at(one.glucose, site)).low]
    recent = [low for low in lows if low[0] <= window]
    if recent:
        hours, latest = min(recent, key=lambda low: low[0])
        finding = sentence("A low {ago}, {reading}", ago=_ago(hours), reading=latest.shown)
        told, not_cancelled = facts.rules["earlier-low"].say, facts.rules["holding-is-not-cancelling"].say
        question = joined((told, not_cancelled, _IF_TOLD), " ")
        hours_back = joined((window, " ", sentence(site.earlier_low.unit), ": ", site.cite(site.earlier_low)), "")
        rule = joined((_citation("earlier-low", "holding-is-not-cancelling"), hours_back), "; ")
        yield _ask("earlier-low", finding, question, rule, observation)
    row = facts.notify["several-lows"]
    if sum(hours <= row.within_hours for hours, _ in lows) + (reading is not None and reading.low) >= row.times:
        finding = sentence("Several lows within {hours} hours", hours=row.within_hours)
        yield _ask("several-lows", finding, after_a_colon(row.do), facts.cite(row), observation)


_HIGH_TWICE = sentence("Two or more readings within {hours} hours are above {glucose}.")
_HIGH_TWICE_AND_CHANGED = sentence(
    "Two or more readings within {hours} hours are above {glucose}, and the patient's state is new or changed."
)


def _highs(observation: Observation) -> Iterator[Reason]:
    facts = shelf()
    since = (observation.minutes_old or 0) / 60
    now = () if observation.glucose is None else (Earlier(observation.glucose, since),)
    readings = (*now, *observation.earlier)
    row = facts.notify["high-twice"]
    if sum(one.hours_ago <= row.within_hours and _above(one.glucose, row) for one in readings) >= row.times:
        found = _HIGH_TWICE_AND_CHANGED if observation.changed else _HIGH_TWICE
        text = found.filled(hours=row.within_hours, glucose=Glucose(row.value, row.unit))
        ill = (_citation("high-with-a-changed-state"),) if observation.changed else ()
        rule = joined((*ill, facts.cite(row)), "; ")
        yield Reason(choice="give and report", key="high-twice", text=joined((text, row.do), " "), rule=rule)
    row = facts.notify["high-two-days"]
    high = [one.hours_ago for one in readings if one.hours_ago <= row.within_hours and _above(one.glucose, row)]
    if high and min(high) <= row.within_hours / 2 < max(high):
        text = sentence("Readings on two days running are above {glucose}.", glucose=Glucose(row.value, row.unit))
        yield Reason(
            choice="give and report", key="high-two-days", text=joined((text, row.do), " "), rule=facts.cite(row)
        )


def _above(glucose: Glucose | OffScale, row: NotifyRow) -> bool:
    return crosses(glucose, row) if isinstance(glucose, Glucose) else glucose == "HI"
