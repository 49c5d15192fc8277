"""What a site shows of the day after a dose, and its pictures and panels in words."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np

from mixlab.care.action.absorption import NoFigures
from mixlab.care.action.curves import ActionCurves, action_curves
from mixlab.care.bench.runs import bench_for
from mixlab.care.day.parts import Clash, Look, Window
from mixlab.care.day.planning import DayPlan, day_plan
from mixlab.care.decision.deciding import decide
from mixlab.care.dosing import plan_dose
from mixlab.care.low.treatment import walk
from mixlab.care.order.checking import order_concerns
from mixlab.care.review.findings import review
from mixlab.figures.action.curves import describe_curves
from mixlab.figures.action.describing import describe_action
from mixlab.figures.action.evidence_words import Evidence, describe_evidence
from mixlab.figures.action.large_words import ActionSeen
from mixlab.figures.day.day_words import DaySeen, basis_sentences, clash_rows, look_rows
from mixlab.figures.day.describing import describe_day
from mixlab.figures.decision.bedside import Seen, describe_bedside
from mixlab.figures.decision.card import describe_card
from mixlab.figures.syringe.barrel_words import describe_barrel
from mixlab.figures.syringe.bench_words import describe_bench
from mixlab.pages.day import day_html
from mixlab.pages.decision import decision_html
from mixlab.pages.low import moment_html
from mixlab.pages.order import order_html, verdict_words
from mixlab.pages.review import review_html
from mixlab.quantities import MINUTES_A_DAY, ClockTime, Glucose
from mixlab.ward.observation import Observation
from mixlab.ward.order.order import Order
from mixlab.ward.site.record import Site
from mixlab.words import sentence

from .decisions import COURSES, PLAIN, demonstration_order
from .outputs import Point, each_once, kind_of_output, named
from .preparation import ORDERS, called, deeds

HOURS = np.arange(97) / 4
"""Where the curves are read, h."""

DAYS = (
    (demonstration_order(when="30 minutes before breakfast"), "07:30", None),
    (demonstration_order(when="30 minutes before breakfast"), "07:50", "07:25"),
    (demonstration_order(6, 14, when="30 minutes before supper"), "17:10", "17:05"),
    (demonstration_order(6, 14), "21:00", None),
    (demonstration_order(6, 18, key="lispro", when="with breakfast"), "08:00", None),
    (demonstration_order(6, 18, key="aspart", when="with breakfast"), "08:00", None),
    (demonstration_order(6, 18, key="glulisine", when="with breakfast"), "08:00", None),
)
"""Doses, when they are given, and when they were mixed where that is earlier: invented for demonstration."""


def planned_days(site: Site) -> Iterator[tuple[str, DayPlan]]:
    """Yield the days, each by its name."""
    for order, given, mixed in DAYS:
        name = named(
            sentence("{clear} and {cloudy} at {given}").key, clear=order.clear, cloudy=order.cloudy, given=given
        )
        if mixed:
            name = named(sentence("{dose} (mixed at {mixed})").key, dose=name, mixed=mixed)
        yield name, day_plan(order, given, site=site, mixed_at=mixed)


def clock_text(time: ClockTime) -> str:
    """Print a time of the day after a dose, alike in every language: ``"07:30"``, ``"01:30 +1"``."""
    day = time.minutes // MINUTES_A_DAY
    return f"{time.face} {day:+}" if day else time.face


def _span(window: Window) -> str:
    start, end = clock_text(window.start), clock_text(window.end)
    return start if start == end else f"{start}–{end}"


TIMES: dict[str, str] = {
    "draw_up_from": sentence("draw up from").key,
    "inject_by": sentence("inject by").key,
    "due_at": sentence("ordered for").key,
    "eat": sentence("its meal may come").key,
}
"""The times of a day that stand alone."""


_LOOKS: dict[str, str] = {
    "meal": sentence("look at its meal").key,
    "clear": sentence("look while {clear} is strongest").key,
    "cloudy": sentence("look while {cloudy} is strongest").key,
    "bedtime": sentence("look at bedtime").key,
    "end": sentence("look until {cloudy} ends").key,
}
"""Looks that stand alone; that before a later meal is named by the meal."""


def _look_name(plan: DayPlan, look: Look) -> str:
    if look.key in _LOOKS:
        return named(_LOOKS[look.key], clear=plan.clear.dose.insulin, cloudy=plan.cloudy.dose.insulin)
    meal = min((meal for meal in plan.meals if meal.at >= look.window.start), key=lambda meal: meal.at, default=None)
    return (
        named(sentence("look before {meal}").key, meal=meal.meal.name)
        if meal
        else named(sentence("look before a meal").key)
    )


def _clash_name(plan: DayPlan, clash: Clash) -> str:
    if clash.key == "nobody at peak":
        for acting in (plan.clear, plan.cloudy):
            insulin = acting.dose.insulin
            if (
                acting.strongest
                and acting.strongest.start == clash.at
                and str(insulin.name).lower() in str(clash.say).lower()
            ):
                return named(sentence("does not fit: nobody is due when {insulin} is strongest").key, insulin=insulin)
    return named(sentence("does not fit: {what}").key, what=named(clash.key))


@kind_of_output("times of the day", title=sentence("Times of the bedside day").key)
def list_times(site: Site) -> Mapping[str, str]:
    """Return every time of every day, in figures only."""

    def times() -> Iterator[tuple[str, str]]:
        for name, plan in planned_days(site):
            for field, words in TIMES.items():
                at = getattr(plan, field)
                if at is not None:
                    said = _span(at) if isinstance(at, Window) else clock_text(at)
                    yield Point(named(words), name), said
            for meal in plan.meals:
                yield Point(named(sentence("{meal} served").key, meal=meal.meal.name), name), clock_text(meal.at)
            for acting in (plan.clear, plan.cloudy):
                spans = {
                    sentence("starts").key: acting.starts,
                    sentence("is strongest").key: acting.strongest,
                    sentence("ends").key: acting.ends,
                }
                for verb, window in spans.items():
                    if window is not None:
                        key = Point(
                            named(sentence("{insulin} {verb}").key, insulin=acting.dose.insulin, verb=named(verb)), name
                        )
                        yield key, _span(window)
            for look in plan.looks:
                yield Point(_look_name(plan, look), name), _span(look.window)
            for clash in plan.clashes:
                yield Point(_clash_name(plan, clash), name), clock_text(clash.at)
            yield Point(named(sentence("rounds").key), name), ", ".join(map(clock_text, plan.rounds))

    return each_once(times())


@kind_of_output("sentences of the day", title=sentence("Sentences of the bedside day").key, wordy=True)
def list_day_sentences(site: Site) -> Mapping[str, str]:
    """Return all that is said of every day, what does not fit and when to look in."""

    def sentences() -> Iterator[tuple[str, str]]:
        for name, plan in planned_days(site):
            for look, (_, when, words, who) in zip(plan.looks, look_rows(plan), strict=True):
                key = Point(_look_name(plan, look), name)
                yield key, "\n".join((when, words, who, str(look.measure)))
            for clash, (_, when, words, who) in zip(plan.clashes, clash_rows(plan), strict=False):
                key = Point(_clash_name(plan, clash), name)
                yield key, "\n".join((when, words, who))
            for at, (told, rule) in enumerate(plan.standing):
                key = Point(named(sentence("all day, {number}").key, number=at + 1), name)
                yield key, f"{told}\n{plan.site.cite(rule)}"
            seen = DaySeen(plan=plan, curves=None, cover=None)
            yield Point(named(sentence("whose numbers").key), name), "\n".join(basis_sentences(seen))

    return each_once(sentences())


def _curves(order: Order) -> ActionCurves | None:
    try:
        return action_curves(order, HOURS)
    except NoFigures:
        return None


FOUND = {
    "61 mg/dL": Observation(glucose=Glucose(61, "mg/dL"), **PLAIN),
    "120 mg/dL": Observation(glucose=Glucose(120, "mg/dL"), **PLAIN),
    "320 mg/dL": Observation(glucose=Glucose(320, "mg/dL"), **PLAIN),
    "6.7 mmol/L": Observation(glucose=Glucose(6.7, "mmol/L"), **PLAIN),
    "HI": Observation(glucose="HI", **PLAIN),
}
"""Patients that the pictures and the panels show."""


@kind_of_output("pictures", title=sentence("Pictures, by their words").key, wordy=True)
def list_pictures(site: Site) -> Mapping[str, str]:
    """Return the words of every picture: they say all that is drawn."""
    order, _, _ = DAYS[0]
    curves, plan = _curves(order), plan_dose(order, site)
    day = day_plan(order, "07:30", site=site, curves=curves)
    source = site.taught[order.clear.insulin.key]
    seen = ActionSeen(
        order=order, curves=curves, fan=None, row=source, sum_shown=True, guess_h=None, beside=None, site=site
    )
    bench = bench_for(order, site)
    pictures = {
        named(sentence("picture of the barrel").key): describe_barrel(plan),
        named(sentence("picture of the curves").key): describe_curves(order, curves, site),
        named(sentence("picture of when it acts").key): describe_action(seen),
        named(sentence("picture of the day").key): describe_day(DaySeen(plan=day, curves=curves, cover=None)),
        named(sentence("picture of the bench").key): describe_bench(bench, inside=True),
    }
    for look in ("clear", "cloudy"):
        name = named(sentence("picture of who says what: {insulin}").key, insulin=getattr(order, look).insulin)
        source = site.taught[getattr(order, look).insulin.key]
        shown = Evidence(order=order, look=look, curves=curves, fan=None, row=source, site=site)
        pictures[name] = describe_evidence(shown)
    for reading, found in FOUND.items():
        decision = decide(order, found, site)
        bedside = Seen(order=order, observation=found, site=site, decision=decision)
        pictures[named(sentence("picture of the bedside, {reading}").key, reading=reading)] = describe_bedside(bedside)
        pictures[named(sentence("decision card, {reading}").key, reading=reading)] = describe_card(decision)
    return pictures


@kind_of_output("panels", title=sentence("Lists and sheets on the panels").key, wordy=True)
def list_panels(site: Site) -> Mapping[str, str]:
    """Return the sheets and lists that panels show beside their pictures."""
    order, _, _ = DAYS[0]

    def sheets() -> Iterator[tuple[str, str]]:
        for reading, found in FOUND.items():
            yield (
                named(sentence("sheet at the bedside, {reading}").key, reading=reading),
                decision_html(decide(order, found, site)),
            )
        for course, (found, events) in COURSES.items():
            lines = "\n".join(map(moment_html, walk(order, found, events, site)))
            yield named(sentence("log: {course}").key, course=named(course)), lines
        for text in ORDERS:
            concerns = order_concerns(text, site=site)
            yield (
                named(sentence("answer to the order '{text}'").key, text=text),
                order_html(text, concerns, verdict_words(text, concerns)),
            )
        for deed in deeds()[::9]:
            findings = review(deed.order, deed.trace, site)
            yield named(sentence("review: {deed}").key, deed=called(deed)), review_html(findings, deed.trace)
        for name, plan in planned_days(site):
            shown = DaySeen(plan=plan, curves=None, cover=None)
            yield named(sentence("lists of the day: {day}").key, day=name), day_html(shown)

    return each_once(sheets())
