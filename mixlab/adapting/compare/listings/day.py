"""What a site shows of the day after a dose: its times, and all that is said of it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from mixlab.adapting.compare.outputs import REFUSALS, Point, kind_of_output, refused
from mixlab.care.day.parts import Clash, Visit, Window
from mixlab.care.day.planning import DayPlan, day_plan
from mixlab.care.dosing import longest_wait
from mixlab.facts.records import Sourced, TaughtTimes
from mixlab.quantities import ClockTime, read_clock
from mixlab.ward.order.order import Order
from mixlab.ward.site.record import Site
from mixlab.words import Sentence, counted, sentence

from .decisions import demonstration_order


@dataclass(frozen=True, kw_only=True)
class DemonstrationDay:
    """A dose invented for demonstration, and when it is given: by the ward's own meals, whenever they are served.

    Attributes
    ----------
    meal : str
        The meal it is given before; the ward's first or last one where no meal is called so. Empty for the evening, at
        the ward's bedtime.
    minutes : int
        How long before it the dose is injected.
    mixed : int
        How long before the injection it was mixed.
    """

    order: Order
    meal: str
    minutes: int
    mixed: int = 0

    @property
    def name(self) -> Sentence:
        """What the day is called, alike on every ward."""
        words = {"clear": self.order.clear, "cloudy": self.order.cloudy}
        if not self.meal:
            name = sentence("{clear} and {cloudy}, at bedtime", **words)
        elif not self.minutes:
            name = sentence("{clear} and {cloudy}, with {meal}", **words, meal=sentence(self.meal))
        else:
            name = sentence(
                "{clear} and {cloudy}, {minutes} minutes before {meal}",
                **words,
                minutes=self.minutes,
                meal=sentence(self.meal),
            )
        if not self.mixed:
            return name
        return counted(
            self.mixed,
            "{dose} (mixed {count} minute earlier)",
            "{dose} (mixed {count} minutes earlier)",
            dose=name,
            count=self.mixed,
        )

    def plan(self, site: Site) -> DayPlan:
        """Return the day on a ward.

        Raises
        ------
        CannotPlan
            As `day_plan`.
        """
        given = self._before(site).later(-self.minutes)
        return day_plan(self.order, given.face, site=site, mixed_at=given.later(-self.mixed).face)

    def _before(self, site: Site) -> ClockTime:
        """Return when its meal is served, or, in the evening, when the patient goes to bed."""
        if not self.meal:
            return read_clock(site.bedtime.at[0])
        by_time = sorted(site.meals, key=lambda meal: meal.clock)
        usual = by_time[0] if self.meal == FIRST else by_time[-1]
        return next((meal for meal in by_time if meal.is_called(self.meal)), usual).clock


FIRST, LAST = "breakfast", "supper"

DEMONSTRATION_DAYS = (
    DemonstrationDay(order=demonstration_order(when="30 minutes before breakfast"), meal=FIRST, minutes=30),
    DemonstrationDay(order=demonstration_order(when="30 minutes before breakfast"), meal=FIRST, minutes=10, mixed=25),
    DemonstrationDay(order=demonstration_order(6, 14, when="30 minutes before supper"), meal=LAST, minutes=50, mixed=5),
    DemonstrationDay(order=demonstration_order(6, 14, when=None), meal="", minutes=0),
    *(
        DemonstrationDay(order=demonstration_order(6, 18, key=key, when="with breakfast"), meal=FIRST, minutes=0)
        for key in ("lispro", "aspart", "glulisine")
    ),
)
"""Doses, when they are given, and how long they waited."""


def planned_days(site: Site) -> Iterator[tuple[Sentence, DayPlan | Sentence]]:
    """Yield the days, each with its name; what cannot be planned, as its refusal."""
    for day in DEMONSTRATION_DAYS:
        try:
            yield day.name, day.plan(site)
        except REFUSALS as refusal:
            yield day.name, refused(refusal)


TIMES = {
    "draw_up_from": sentence("draw up from"),
    "inject_by": sentence("inject by"),
    "due_at": sentence("ordered for"),
    "eat": sentence("its meal may come"),
}
"""The times of a day that stand alone."""

_SPANS = {
    "starts": sentence("starts"),
    "strongest": sentence("is strongest"),
    "ends": sentence("ends"),
}

_VISITS = {
    "meal": sentence("look at its meal"),
    "clear": sentence("look while {clear} is strongest"),
    "cloudy": sentence("look while {cloudy} is strongest"),
    "bedtime": sentence("look at bedtime"),
    "end": sentence("look until {cloudy} ends"),
}
"""Visits that stand alone; that before a later meal is named by the meal."""


def _visit_name(plan: DayPlan, visit: Visit) -> Sentence:
    if visit.key in _VISITS:
        words = {"clear": plan.clear.dose.insulin.name, "cloudy": plan.cloudy.dose.insulin.name}
        return _VISITS[visit.key].filled_from(words)
    meal = min((meal for meal in plan.meals if meal.at >= visit.window.start), key=lambda meal: meal.at, default=None)
    return sentence("look before {meal}", meal=meal.name) if meal else sentence("look before a meal")


def _clash_name(clash: Clash) -> Sentence:
    if clash.key == "nobody at peak":
        insulin = dict(clash.say.values)["insulin"]
        return sentence("does not fit: nobody is due when {insulin} is strongest", insulin=insulin)
    return sentence("does not fit: {what}", what=sentence(clash.key))


def _span(window: Window) -> Window | ClockTime:
    return window.start if window.start == window.end else window


@kind_of_output("times of the day", sentence("Times of the bedside day"))
def list_times(site: Site) -> Iterator[tuple[Point, object]]:
    """Yield every time of every day."""
    for name, plan in planned_days(site):
        if isinstance(plan, Sentence):
            yield Point(sentence("refused"), name), plan
            continue
        for field, words in TIMES.items():
            at = getattr(plan, field)
            if at is not None:
                yield Point(words, name), at
        for meal in plan.meals:
            yield Point(sentence("{meal} served", meal=meal.name), name), meal.at
        for acting in (plan.clear, plan.cloudy):
            for part, verb in _SPANS.items():
                window = getattr(acting, part)
                if window is not None:
                    what = sentence("{insulin} {verb}", insulin=acting.dose.insulin.name, verb=verb)
                    yield Point(what, name), _span(window)
        for visit in plan.visits:
            yield Point(_visit_name(plan, visit), name), _span(visit.window)
        for clash in plan.clashes:
            yield Point(_clash_name(clash), name), clash.at
        yield Point(sentence("rounds"), name), plan.rounds


@kind_of_output("sentences of the day", sentence("Sentences of the bedside day"))
def list_day_sentences(site: Site) -> Iterator[tuple[Point, object]]:
    """Yield all that is said of every day, what does not fit and when to look in, each with whose rule it is."""
    for name, plan in planned_days(site):
        if isinstance(plan, Sentence):
            yield Point(sentence("refused"), name), plan
            continue
        for visit in plan.visits:
            yield Point(_visit_name(plan, visit), name), (visit.say, site.cite(visit.rule), visit.measure)
        for clash in plan.clashes:
            limits = tuple((limit.value, limit.unit, site.cite(limit)) for limit in clash.limits)
            yield Point(_clash_name(clash), name), (clash.say, site.cite(clash.rule), *limits)
        for number, (told, rule) in enumerate(plan.standing, 1):
            yield Point(sentence("all day, {number}", number=number), name), (told, site.cite(rule))
        rules: tuple[Sourced | TaughtTimes, ...] = (
            plan.clear.row,
            plan.cloudy.row,
            longest_wait(plan.order.clear.insulin, site),
            site.rounds,
            site.bedtime,
            site.waking,
        )
        yield Point(sentence("whose numbers"), name), tuple(map(site.cite, rules))
