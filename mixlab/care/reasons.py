"""What the patient, the meal and the chart say about a dose: every finding beside the number on the meter."""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import cache

from ..facts.record import NotifyRow
from ..facts.shelf import shelf
from ..quantities import Glucose, number_text
from ..ward.observation import Earlier, Observation, OffScale
from ..ward.order import Order
from ..ward.site import Site, crosses
from .answers import Reason, ReasonKey
from .readings import Reading, look_at

COMMON = "common practice, no source"

NEEDS_HELP = ("unresponsive", "convulsion")
"""Signs by which a patient needs another person's help, whatever the number."""

_SIGN_OF = {"drowsy": "drowsiness", "unresponsive": "unresponsive"}
"""The sign that a state of alertness counts as."""

_A_DAY = 24.0


def felt(observation: Observation) -> tuple[str, ...]:
    """Return the signs of a low: those ticked, and the one that the patient's alertness is."""
    signs = observation.signs or ()
    more = _SIGN_OF.get(observation.alertness or "awake")
    return signs if more is None or more in signs else (*signs, more)


@cache
def _citation(rule: str) -> str:
    facts = shelf()
    return facts.cite(facts.rules[rule])


@cache
def _signs_citation() -> str:
    facts = shelf()
    return facts.cite(facts.signs["trembling"])


def age_reason(minutes: float | None, site: Site) -> Reason | None:
    """Return what the age of a reading asks for, or None if it is young enough to act on."""
    if minutes is not None and minutes <= site.reading_age.value:
        return None
    old = "of unknown age" if minutes is None else "very old"
    if minutes is not None and math.isfinite(minutes):
        old = f"{number_text(round(minutes, 1))} minutes old"
    return Reason(
        choice="check first",
        key="reading-age-unknown" if minutes is None else "reading-too-old",
        text=f"The reading is {old}; act only on one taken within {number_text(site.reading_age.value)} minutes.",
        rule=site.cite(site.reading_age),
    )


def sign_reasons(observation: Observation, reading: Reading | None) -> Iterator[Reason]:
    """Yield what the signs and the alertness ask for. Signs outrank a reassuring number."""
    if observation.signs is None:
        text = "Nobody has looked for signs of a low yet."
        yield Reason(choice="check first", key="signs-not-looked-for", text=text, rule=COMMON)
    if observation.alertness is None:
        text = "Nobody has looked how awake the patient is."
        yield Reason(choice="check first", key="alertness-not-looked-at", text=text, rule=COMMON)
    signs = felt(observation)
    grave = ", ".join(_words(sign) for sign in signs if sign in NEEDS_HELP)
    others = ", ".join(_words(sign) for sign in signs if sign not in NEEDS_HELP)
    treat = reading is None or reading.low
    if grave and treat:
        call = shelf().notify["unresponsive-low"]
        text = f"The patient needs help ({grave}): with a low or without a reading this is a low of level 3, at any number. {call.do}"
        rule = f"{_citation('level-3')}; {shelf().cite(call)}"
        yield Reason(choice="hold and treat", key="level-3", text=text, rule=rule)
    elif grave:
        text = (
            f"The patient needs help ({grave}) although the reading is not low: call for help now, whatever the number."
        )
        yield Reason(choice="check first", key="emergency-not-low", text=text, rule=_citation("level-3"))
    if not others:
        return
    if reading is None:
        text = f"Signs of a low ({others}) and no reading to be had: treat as a low."
        yield Reason(choice="hold and treat", key="signs-without-reading", text=text, rule=_signs_citation())
    elif reading.low:
        text = f"Signs of a low: {others}."
        yield Reason(choice="hold and treat", key="signs-with-low", text=text, rule=_signs_citation())
    else:
        text = f"Signs of a low ({others}) although the reading is not low: the signs outrank the number."
        yield Reason(choice="check first", key="signs-outrank-number", text=text, rule=_signs_citation())


@cache
def _words(sign: str) -> str:
    return sign.replace("-", " ")


def _ask(key: ReasonKey, text: str, rule: str, observation: Observation) -> Reason:
    """Return a question for the prescriber, or, once it has been answered, that it has."""
    if observation.prescriber_says_give:
        answered = f"{text} The prescriber has been told and says to give this dose now."
        return Reason(choice="give", key=key, text=answered, rule=rule)
    return Reason(choice="hold and ask", key=key, text=text, rule=rule)


def meal_reasons(order: Order, observation: Observation) -> Iterator[Reason]:
    """Yield what the meal asks for. Without one each insulin is its own question."""
    if observation.eating is None:
        text = "It is not known whether the patient will eat."
        yield Reason(choice="check first", key="meal-unknown", text=text, rule=COMMON)
    if observation.can_swallow is False:
        text = "The patient cannot swallow safely: the meal may not be eaten, and a low could not be treated by mouth."
        yield _ask("cannot-swallow", text, COMMON, observation)
    if observation.vomiting:
        text = "The patient vomits, so the meal may not stay down: call as soon as possible."
        yield _ask("vomiting", text, _citation("eats-too-little"), observation)
    if observation.fasting:
        text = f"The patient fasts for a test or an operation: {shelf().rules['fasting'].say}"
        yield _ask("fasting", text, _citation("fasting"), observation)
    if observation.eating is False or observation.fasting:
        say = "The patient is not eating: {question}"
        rules = shelf().rules
        clear = rules["clear-without-a-meal"].say.format(clear=order.clear.insulin)
        rule = f"{_citation('clear-without-a-meal')}; {_citation('eats-too-little')}"
        yield _ask(
            "not-eating-clear",
            say.format(question=f"call as soon as possible. {clear[0].upper()}{clear[1:]}"),
            rule,
            observation,
        )
        cloudy = rules["cloudy-without-a-meal"].say.format(cloudy=order.cloudy.insulin)
        yield _ask("not-eating-cloudy", say.format(question=cloudy), _citation("cloudy-without-a-meal"), observation)


def chart_reasons(observation: Observation, reading: Reading | None, site: Site) -> Iterator[Reason]:
    """Yield what the chart asks for: the last dose, earlier readings, and a state that is new or changed."""
    hours = observation.hours_since_dose
    if hours is None:
        text = "It is not known when the last dose was given: look at the chart, so that none is given twice."
        yield Reason(choice="check first", key="last-dose-unknown", text=text, rule=COMMON)
    elif hours < site.dose_gap.value:
        text = (
            f"The last dose was {_hours(hours)} ago, less than {number_text(site.dose_gap.value)} hours: could this dose have "
            "been given already?"
        )
        yield Reason(choice="check first", key="last-dose-recent", text=text, rule=site.cite(site.dose_gap))
    if observation.changed:
        text = "The patient's state is new or changed: the prescriber is told of it with the reading."
        yield Reason(choice="give and report", key="changed-state", text=text, rule=COMMON)
    if observation.earlier:
        yield from _lows(observation, reading, site)
        yield from _highs(observation)


def _hours(hours: float) -> str:
    return f"{number_text(round(hours, 1))} hour{'' if round(hours, 1) == 1 else 's'}"


def _lows(observation: Observation, reading: Reading | None, site: Site) -> Iterator[Reason]:
    lows = [one for one in observation.earlier if one.hours_ago <= _A_DAY and look_at(one.glucose, site).low]
    if not lows:
        return
    latest = min(lows, key=lambda one: one.hours_ago)
    facts = shelf()
    text = (
        f"{look_at(latest.glucose, site).shown} {_hours(latest.hours_ago)} ago was a low: {facts.rules['earlier-low'].say} "
        f"{facts.rules['holding-is-not-cancelling'].say}"
    )
    rule = f"{_citation('earlier-low')}; {_citation('holding-is-not-cancelling')}"
    yield _ask("earlier-low", text, rule, observation)
    row = facts.notify["several-lows"]
    if len(lows) + (reading is not None and reading.low) >= row.times:
        text = f"Several lows within {number_text(row.within_hours)} hours. {row.do}"
        yield _ask("several-lows", text, facts.cite(row), observation)


def _highs(observation: Observation) -> Iterator[Reason]:
    facts = shelf()
    since = (observation.minutes_old or 0) / 60
    now = () if observation.glucose is None else (Earlier(observation.glucose, since),)
    readings = (*now, *observation.earlier)
    row = facts.notify["high-twice"]
    if sum(one.hours_ago <= row.within_hours and _above(one.glucose, row) for one in readings) >= row.times:
        changed = ", and the patient's state is new or changed" if observation.changed else ""
        text = (
            f"Two or more readings within {number_text(row.within_hours)} hours are above {Glucose(row.value, row.unit)}{changed}. "
            f"{row.do}"
        )
        rule = (
            f"{_citation('high-with-a-changed-state')}; {facts.cite(row)}" if observation.changed else facts.cite(row)
        )
        yield Reason(choice="give and report", key="high-twice", text=text, rule=rule)
    row = facts.notify["high-two-days"]
    high = [one.hours_ago for one in readings if one.hours_ago <= row.within_hours and _above(one.glucose, row)]
    if high and min(high) <= _A_DAY < max(high):
        text = f"Readings on two days running are above {Glucose(row.value, row.unit)}. {row.do}"
        yield Reason(choice="give and report", key="high-two-days", text=text, rule=facts.cite(row))


def _above(glucose: Glucose | OffScale, row: NotifyRow) -> bool:
    return crosses(glucose, row) if isinstance(glucose, Glucose) else glucose == "HI"
