"""What a site decides: the answer to every reading a meter can show, its sentences, and a low that is treated."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from mixlab.care.decision.answers import Choice
from mixlab.care.decision.deciding import Decision, decide
from mixlab.care.low.events import Carbohydrate, Eat, EmergencyTreatment, Event, Measure, TellPrescriber, Wait
from mixlab.care.low.treatment import walk
from mixlab.pages.low import event_words
from mixlab.quantities import Glucose, GlucoseUnit
from mixlab.ward.insulin import insulins
from mixlab.ward.observation import Earlier, Observation, OffScale
from mixlab.ward.order.order import Dose, Order
from mixlab.ward.site.record import Site
from mixlab.words import Voice, decimal_text, plural, say, sentence, speaking

from .outputs import Point, as_read, kind_of_output, named, reader

Reading = Glucose | OffScale

SCALES: dict[GlucoseUnit, tuple[int, int]] = {"mg/dL": (600, 1), "mmol/L": (333, 10)}
"""The last place of each unit's scale, and how many places are 1: a meter shows whole mg/dL and tenths of mmol/L."""

PLAIN: dict[str, Any] = {"signs": (), "eating": True}
"""A patient about whom nothing speaks against the dose but perhaps the reading."""

PLAIN_WORDS = sentence("no signs, eating").key
BEDSIDES: dict[str, dict[str, Any]] = {
    PLAIN_WORDS: PLAIN,
    sentence("sweating, eating").key: {**PLAIN, "signs": ("sweating",)},
    sentence("no signs, not eating").key: {**PLAIN, "eating": False},
    sentence("no signs, eating, reading 45 minutes old").key: {**PLAIN, "minutes_old": 45.0},
}
"""Patients to whom every reading is put."""

OLD, LOWS, EARLIER = sentence("old readings").key, sentence("earlier lows").key, sentence("an earlier dose").key
SIGNS, FASTING, TREATED = (
    sentence("patients with signs").key,
    sentence("patients who do not eat").key,
    sentence("after treatment").key,
)
ABOUT = (OLD, LOWS, EARLIER, SIGNS, FASTING, TREATED)
"""What a question is about, beside the reading itself."""

_BEDSIDE_ABOUT = dict(zip(BEDSIDES, ("", SIGNS, FASTING, OLD), strict=True))

USUAL = Glucose(120, "mg/dL")


def demonstration_order(clear: float = 8, cloudy: float = 20, *, key: str = "regular", **written: str) -> Order:
    """Return an order for a demonstration: units of a clear insulin and of NPH insulin."""
    doses = (Dose(insulin=insulins()[key], units=clear), Dose(insulin=insulins()["nph"], units=cloudy))
    return Order(doses=doses, route="subcut", **written)  # type: ignore[arg-type]  # text goes where text belongs


@dataclass(frozen=True, kw_only=True)
class Asked:
    """One question put to a site, and its decision; `about` is one of `ABOUT`, or empty where the reading alone asks."""

    point: Point
    about: str
    reading: Reading
    decision: Decision


Question = tuple[Point, str, Observation]


@lru_cache(maxsize=4)
def _questions(reading: Voice) -> tuple[Question, ...]:
    with speaking(reading):
        return tuple(_asked())


def _asked() -> Iterator[Question]:
    """Yield every reading at every bedside, and along every other scale one patient whose reading is usual."""
    for where, found in BEDSIDES.items():
        said = named(where)
        for measure, (last, parts) in SCALES.items():
            if "minutes_old" in found and measure != USUAL.unit:
                continue  # an old reading is old in either unit
            for place in range(last + 1):
                glucose = Glucose(place / parts if parts > 1 else place, measure)
                yield (
                    Point(named(sentence("{glucose}").key, glucose=glucose), said, place),
                    _BEDSIDE_ABOUT[where],
                    Observation(glucose=glucose, **found),
                )
        for end, word in enumerate(("LO", "HI")):
            point = Point(word, said, -9 * (end + 1))
            yield point, _BEDSIDE_ABOUT[where], Observation(glucose=word, **found)  # type: ignore[arg-type]
    usual = named(sentence("{glucose}, {found}").key, glucose=USUAL, found=named(PLAIN_WORDS))
    for about, words, places, found_at in _SCALES:
        for place in places:
            with as_read():
                at = words(place)
            yield Point(at, usual, place), about, Observation(glucose=USUAL, **PLAIN, **found_at(place))


def _earlier(value: int, hours: int) -> Earlier:
    return Earlier(Glucose(value, "mg/dL"), hours)


def _hours_ago(halves: int) -> str:
    hours = halves / 2
    return plural(hours, "last dose {count} hour ago", "last dose {count} hours ago", count=decimal_text(hours))


_SCALES: tuple[tuple[str, Callable[[int], str], range, Callable[[int], dict[str, Any]]], ...] = (
    (
        OLD,
        lambda n: plural(n, "reading {count} minute old", "reading {count} minutes old", count=n),
        range(181),
        lambda n: {"minutes_old": float(n)},
    ),
    (EARLIER, _hours_ago, range(49), lambda n: {"hours_since_dose": n / 2}),
    (
        LOWS,
        lambda n: plural(n, "an earlier low, {count} hour ago", "an earlier low, {count} hours ago", count=n),
        range(170),
        lambda n: {"earlier": (_earlier(58, n),)},
    ),
    (
        LOWS,
        lambda n: say("earlier reading {glucose}", glucose=Glucose(n, "mg/dL")),
        range(40, 160),
        lambda n: {"earlier": (_earlier(n, 2),)},
    ),
    (
        TREATED,
        lambda n: plural(
            n, "{count} minute after treatment of a low", "{count} minutes after treatment of a low", count=n
        ),
        range(61),
        lambda n: {"minutes_after_treatment": float(n)},
    ),
)
"""Scales along which one patient whose reading is usual is asked about: what each is about, its names, and its patients."""


def decided(site: Site) -> tuple[Asked, ...]:
    """Return every question, named in the words of who reads, with the site's decision."""
    return _decided(site, reader())


@lru_cache(maxsize=8)
def _decided(site: Site, reading: Voice) -> tuple[Asked, ...]:
    order = demonstration_order()
    return tuple(
        Asked(point=point, about=about, reading=found.glucose, decision=decide(order, found, site))  # type: ignore[arg-type]
        for point, about, found in _questions(reading)
    )


def also_other(before: Site, after: Site) -> tuple[str, ...]:
    """Return which of `ABOUT` get another answer somewhere."""
    pairs = zip(decided(before), decided(after), strict=True)
    found = {one.about for one, other in pairs if one.decision.choice != other.decision.choice}
    return tuple(about for about in ABOUT if about in found)


def answers_along(site: Site, measure: GlucoseUnit) -> tuple[tuple[Glucose, Choice], ...]:
    """Return the answer to every reading of one unit, for a patient without signs who eats."""
    last, _ = SCALES[measure]
    first = next(at for at, one in enumerate(decided(site)) if one.reading == Glucose(0, measure))
    return tuple(
        (one.reading, one.decision.choice)
        for one in decided(site)[first : first + last + 1]
        if isinstance(one.reading, Glucose)
    )


def answer_off_scale(site: Site, word: OffScale) -> Choice:
    """Return the answer to what the meter shows beyond its range, for a patient without signs who eats."""
    return next(one.decision.choice for one in decided(site) if one.reading == word)


@kind_of_output("decisions", title=sentence("Decisions before a dose").key, whole=True)
def list_decisions(site: Site) -> Mapping[str, str]:
    """Return the answer to every question, by its name in the code: whatever it is called, it is the same answer."""
    return {one.point: one.decision.choice for one in decided(site)}


@kind_of_output("sentences of decisions", title=sentence("Sentences of the decisions").key, wordy=True)
def list_decision_sentences(site: Site) -> Mapping[str, str]:
    """Return all that is said with every answer."""
    return {one.point: decision_text(one.decision) for one in decided(site)}


def decision_text(decision: Decision) -> str:
    """Return all that is said of a decision, a line each."""
    reach = " ".join(map(str, decision.allowance or ()))
    return "\n".join(
        str(line)
        for line in (
            say(decision.choice),
            decision.reading,
            *decision.because,
            *decision.next_steps,
            *decision.numbers,
            *decision.tell,
            *decision.give_when,
            reach,
            decision.allowance_rule,
        )
    )


LOW = Observation(glucose=Glucose(61, "mg/dL"), signs=("sweating", "trembling"), eating=True, can_swallow=True)
SERIOUS = Observation(glucose=Glucose(44, "mg/dL"), signs=("confusion",), eating=True, alertness="drowsy")
_WELL, _LOW_STILL = Measure(Glucose(94, "mg/dL"), ()), Measure(Glucose(63, "mg/dL"), ("sweating",))

COURSES: dict[str, tuple[Observation, tuple[Event, ...]]] = {
    sentence("61 mg/dL with signs, treated, well").key: (
        LOW,
        (Carbohydrate(15), Wait(15), _WELL, Eat(), TellPrescriber(says_give=True)),
    ),
    sentence("61 mg/dL with signs, treated, low still").key: (
        LOW,
        (Carbohydrate(20), Wait(20), _LOW_STILL, Carbohydrate(20), Wait(20), _WELL, Eat()),
    ),
    sentence("44 mg/dL and drowsy, by protocol").key: (
        SERIOUS,
        (EmergencyTreatment(), Wait(15), Measure(Glucose(80, "mg/dL"), (), "awake", True), Eat()),
    ),
}
"""Lows as they are found, and what is done about them: demonstration values, no advice."""


@kind_of_output("a low treated", title=sentence("A low, treated and measured again").key, wordy=True)
def list_treatments(site: Site) -> Mapping[str, str]:
    """Return every moment of a few courses."""
    order = demonstration_order()
    return {
        named(sentence("{course}, moment {number}").key, course=named(words), number=number): "\n".join(
            map(str, (event_words(moment), moment.due, moment.remark, decision_text(moment.decision)))
        )
        for words, (found, events) in COURSES.items()
        for number, moment in enumerate(walk(order, found, events, site), 1)
    }


@kind_of_output("amounts for a low", title=sentence("Carbohydrate and times for a low").key)
def list_amounts(site: Site) -> Mapping[str, str]:
    """Return what is said of every amount of carbohydrate, and of every time until the next reading."""
    order, low = demonstration_order(), named(sentence("for a low").key)

    def said() -> Iterator[tuple[str, str]]:
        for grams in range(1, 61):
            (*_, last) = walk(order, LOW, (Carbohydrate(grams),), site)
            at = named(sentence("{grams} g of carbohydrate").key, grams=grams)
            yield Point(at, low, grams), f"{last.due}\n{last.remark}"
        for minutes in range(1, 61):
            (*_, last) = walk(order, LOW, (Carbohydrate(20), Wait(minutes), _WELL), site)
            with as_read():
                at = plural(
                    minutes, "measured after {minutes} minute", "measured after {minutes} minutes", minutes=minutes
                )
            yield Point(at, low, minutes), f"{say(last.decision.choice)}\n{last.due}\n{last.remark}"

    return dict(said())
