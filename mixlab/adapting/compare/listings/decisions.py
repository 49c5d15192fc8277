"""What a site decides: the answer to every reading a meter can show, what is said with it, and a low that is treated."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import Any

from mixlab.adapting.compare.outputs import Point, kind_of_output, unnamed
from mixlab.care.decision.answers import Choice
from mixlab.care.decision.deciding import Decision, decide
from mixlab.care.low.events import (
    Carbohydrate,
    Eat,
    EmergencyTreatment,
    Event,
    Measure,
    TellNurse,
    TellPrescriber,
    Wait,
)
from mixlab.care.low.treatment import walk
from mixlab.facts.reading import the_facts
from mixlab.quantities import Glucose, GlucoseUnit
from mixlab.ward.insulin import insulins
from mixlab.ward.observation import Earlier, Observation, OffScale
from mixlab.ward.order.order import Dose, Order
from mixlab.ward.site.record import Site
from mixlab.words import Sentence, counted, joined, sentence

SCALES: dict[GlucoseUnit, tuple[int, int]] = {"mg/dL": (600, 1), "mmol/L": (333, 10)}
"""The last place of each unit's scale, and how many places are 1: a meter shows whole mg/dL and tenths of mmol/L."""

PLAIN: dict[str, Any] = {"signs": (), "eating": True}
"""A patient about whom nothing speaks against the dose but perhaps the reading."""

OLD, LOWS, EARLIER = sentence("old readings"), sentence("earlier lows"), sentence("an earlier dose")
SIGNS, FASTING, TREATED = (
    sentence("patients with signs"),
    sentence("patients who do not eat"),
    sentence("after treatment"),
)
ABOUT = (OLD, LOWS, EARLIER, SIGNS, FASTING, TREATED)
"""What a question is about, beside the reading itself."""

PLAIN_WORDS = sentence("no signs, eating")
BEDSIDES: tuple[tuple[Sentence, Sentence, dict[str, Any]], ...] = (
    (PLAIN_WORDS, Sentence(""), PLAIN),
    (sentence("sweating, eating"), SIGNS, {**PLAIN, "signs": ("sweating",)}),
    (sentence("no signs, not eating"), FASTING, {**PLAIN, "eating": False}),
    (sentence("no signs, eating, reading 45 minutes old"), OLD, {**PLAIN, "minutes_old": 45.0}),
)
"""Patients to whom every reading is put: what they are called, what is asked with them, and what is found."""

USUAL = Glucose(120, "mg/dL")


def demonstration_order(clear: float = 8, cloudy: float = 20, *, key: str = "regular", **written: str | None) -> Order:
    """Return an order for a demonstration: units of a clear insulin and of NPH insulin, complete and due before breakfast."""
    minutes = 30 if insulins()[key].row.group == "short-acting" else the_facts().checks["rapid_lead_minutes"].value
    timed = {} if written else {"when": f"{minutes:g} minutes before breakfast"}
    doses = (Dose(insulin=insulins()[key], units=clear), Dose(insulin=insulins()["nph"], units=cloudy))
    return Order(doses=doses, route="subcut", **timed, **written)  # type: ignore[arg-type]  # text goes where text belongs


@dataclass(frozen=True, kw_only=True)
class Question:
    """One question put to every site; `about` is one of `ABOUT`, or empty where the reading alone asks."""

    point: Point
    about: Sentence
    found: Observation


@cache
def questions() -> dict[Point, Question]:
    """Return every reading at every bedside, and along every other scale one patient whose reading is usual."""
    asked = (Question(point=point, about=about, found=found) for point, about, found in _asked())
    return {one.point: one for one in asked}


def _asked() -> Iterator[tuple[Point, Sentence, Observation]]:
    for where, about, found in BEDSIDES:
        for measure, (last, parts) in SCALES.items():
            if "minutes_old" in found and measure != USUAL.unit:
                continue  # an old reading is old in either unit
            for place in range(last + 1):
                glucose = Glucose(place / parts if parts > 1 else place, measure)
                at = sentence("{glucose}", glucose=glucose)
                yield Point(at, where, place), about, Observation(glucose=glucose, **found)
        for end, word in enumerate(_ENDS):
            yield Point(joined((word,)), where, -9 * (end + 1)), about, Observation(glucose=word, **found)
    usual = sentence("{glucose}, {found}", glucose=USUAL, found=PLAIN_WORDS)
    for about, words, places, found_at in _SCALES:
        for place in places:
            yield Point(words(place), usual, place), about, Observation(glucose=USUAL, **PLAIN, **found_at(place))


_ENDS: tuple[OffScale, ...] = ("LO", "HI")


def _earlier(value: int, hours: int) -> Earlier:
    return Earlier(Glucose(value, "mg/dL"), hours)


_SCALES: tuple[tuple[Sentence, Callable[[int], Sentence], range, Callable[[int], dict[str, Any]]], ...] = (
    (
        OLD,
        lambda n: counted(n, "reading {count} minute old", "reading {count} minutes old", count=n),
        range(181),
        lambda n: {"minutes_old": float(n)},
    ),
    (
        EARLIER,
        lambda n: counted(n / 2, "last dose {count} hour ago", "last dose {count} hours ago", count=n / 2),
        range(49),
        lambda n: {"hours_since_dose": n / 2},
    ),
    (
        LOWS,
        lambda n: counted(n, "an earlier low, {count} hour ago", "an earlier low, {count} hours ago", count=n),
        range(170),
        lambda n: {"earlier": (_earlier(58, n),)},
    ),
    (
        LOWS,
        lambda n: sentence("earlier reading {glucose}", glucose=Glucose(n, "mg/dL")),
        range(40, 160),
        lambda n: {"earlier": (_earlier(n, 2),)},
    ),
    (
        TREATED,
        lambda n: counted(
            n, "{count} minute after treatment of a low", "{count} minutes after treatment of a low", count=n
        ),
        range(61),
        lambda n: {"minutes_after_treatment": float(n)},
    ),
)
"""Scales along which one patient whose reading is usual is asked about: what each is about, its names, and its patients."""


def asked(site: Site, found: Observation) -> Decision:
    """Return the decision of a site about the dose of the demonstration."""
    return decide(demonstration_order(), found, site)


def decided(site: Site) -> dict[Point, Decision]:
    """Return the site's decision to every question."""
    return _decided(unnamed(site))


@lru_cache(maxsize=8)
def _decided(site: Site) -> dict[Point, Decision]:
    order = demonstration_order()
    return {point: decide(order, one.found, site) for point, one in questions().items()}


def also_other(before: Site, after: Site) -> tuple[Sentence, ...]:
    """Return which of `ABOUT` get another answer somewhere."""
    one, other = decided(before), decided(after)
    found = {each.about for point, each in questions().items() if one[point].choice != other[point].choice}
    return tuple(about for about in ABOUT if about in found)


def answers_along(site: Site, measure: GlucoseUnit) -> tuple[tuple[Glucose, Choice], ...]:
    """Return the answer to every reading of one unit, for a patient without signs who eats."""
    return tuple(
        (one.found.glucose, decided(site)[point].choice)
        for point, one in questions().items()
        if point.where == PLAIN_WORDS and isinstance(one.found.glucose, Glucose) and one.found.glucose.unit == measure
    )


def answer_off_scale(site: Site, word: OffScale) -> Choice:
    """Return the answer to what the meter shows beyond its range, for a patient without signs who eats."""
    point = next(each for each, one in questions().items() if one.found.glucose == word)
    return decided(site)[point].choice


@kind_of_output("decisions", sentence("Decisions before a dose"))
def list_decisions(site: Site) -> Iterator[tuple[Point, object]]:
    """Yield the answer to every question, by its key: whatever it is called, it is the same answer."""
    for point, decision in decided(site).items():
        yield point, decision.choice


@kind_of_output("sentences of decisions", sentence("Sentences of the decisions"))
def list_decision_sentences(site: Site) -> Iterator[tuple[Point, object]]:
    """Yield every decision whole: its reasons, steps, whom to tell, and when the dose may be given."""
    yield from decided(site).items()


LOW = Observation(glucose=Glucose(61, "mg/dL"), signs=("sweating", "trembling"), eating=True, can_swallow=True)
SERIOUS = Observation(glucose=Glucose(44, "mg/dL"), signs=("confusion",), eating=True, alertness="drowsy")
_WELL, _LOW_STILL = Measure(Glucose(94, "mg/dL"), ()), Measure(Glucose(63, "mg/dL"), ("sweating",))
_TREATED_STILL_LOW: tuple[Event, ...] = (Carbohydrate(20), TellNurse(), Wait(20), _LOW_STILL)

COURSES: dict[Sentence, tuple[Observation, tuple[Event, ...]]] = {
    sentence("61 mg/dL with signs, treated, well"): (
        LOW,
        (Carbohydrate(15), TellNurse(), Wait(15), _WELL, Eat(), TellPrescriber(says_give=True)),
    ),
    sentence("61 mg/dL with signs, treated, low still"): (
        LOW,
        (Carbohydrate(20), Wait(20), _LOW_STILL, Carbohydrate(20), Wait(20), _WELL, Eat()),
    ),
    sentence("61 mg/dL with signs, treated three times, low still"): (
        LOW,
        (*_TREATED_STILL_LOW * 3, TellNurse(), TellPrescriber(says_give=False), EmergencyTreatment(), Wait(20), _WELL),
    ),
    sentence("44 mg/dL and drowsy, by protocol"): (
        SERIOUS,
        (EmergencyTreatment(), Wait(15), Measure(Glucose(80, "mg/dL"), (), "awake", True), Eat()),
    ),
}
"""Lows as they are found, and what is done about them: demonstration values, no advice."""


@kind_of_output("a low treated", sentence("A low, treated and measured again"))
def list_treatments(site: Site) -> Iterator[tuple[Point, object]]:
    """Yield every moment of a few courses: what is done, what is due then, what was not right, and the decision."""
    order = demonstration_order()
    for words, (found, events) in COURSES.items():
        for number, moment in enumerate(walk(order, found, events, site), 1):
            name = sentence("{course}, moment {number}", course=words, number=number)
            yield Point(name), (moment.event, moment.due, moment.remarks, moment.decision)


@kind_of_output("amounts for a low", sentence("Carbohydrate and times for a low"))
def list_amounts(site: Site) -> Iterator[tuple[Point, object]]:
    """Yield what is due and what was not right for every amount of carbohydrate, and every time until the next reading."""
    order, low = demonstration_order(), sentence("for a low")
    for grams in range(1, 61):
        (*_, last) = walk(order, LOW, (Carbohydrate(grams),), site)
        yield Point(sentence("{grams} g of carbohydrate", grams=grams), low, grams), (last.due, last.remarks)
    for minutes in range(1, 61):
        (*_, last) = walk(order, LOW, (Carbohydrate(20), Wait(minutes), _WELL), site)
        at = counted(minutes, "measured after {minutes} minute", "measured after {minutes} minutes", minutes=minutes)
        yield Point(at, low, minutes), (last.decision.choice, last.due, last.remarks)
