"""The parts of a day plan: windows of time, when one insulin acts, visits and clashes."""

from __future__ import annotations

from dataclasses import dataclass

from mixlab.care.action.curves import ActionCurves, Part
from mixlab.facts.reading import the_facts
from mixlab.facts.records import Fact, RuleRow, Span, TaughtTimes
from mixlab.quantities import MINUTES_A_DAY, ClockTime
from mixlab.ward.meal import Meal
from mixlab.ward.order.order import Dose
from mixlab.words import Sentence, joined, say, sentence


@dataclass(frozen=True, kw_only=True)
class Window:
    """From one clock time to another; the two may be the same."""

    start: ClockTime
    end: ClockTime

    def holds(self, time: ClockTime) -> bool:
        """Say whether a time lies in it, its ends included."""
        return self.start <= time <= self.end

    def __str__(self) -> str:
        if self.start == self.end:
            return str(self.start)
        one_day = self.start.minutes // MINUTES_A_DAY == self.end.minutes // MINUTES_A_DAY
        return say("{start} to {end}", start=self.start.face if one_day else self.start, end=self.end)


@dataclass(frozen=True, kw_only=True)
class Acting:
    """When one insulin acts, on the clock: as handbooks teach it together, and as the model has it (None: no figure)."""

    dose: Dose
    row: TaughtTimes
    starts: Window | None
    strongest: Window | None
    ends: Window | None
    model_start: ClockTime | None
    model_strongest: ClockTime | None
    model_end: ClockTime | None

    @property
    def taught(self) -> tuple[ClockTime | None, ClockTime | None]:
        """The earliest start and the latest end that are taught."""
        return self.starts.start if self.starts else None, self.ends.end if self.ends else None

    def may_act_in(self, window: Window) -> bool:
        """Say whether by the taught times it can act at some time of a window; where no start or end is taught, it may."""
        start, end = self.taught
        return (start is None or start <= window.end) and (end is None or window.start <= end)


@dataclass(frozen=True, kw_only=True)
class PlannedMeal:
    """A meal at its place in the day of the dose."""

    meal: Meal
    at: ClockTime

    @property
    def name(self) -> Sentence:
        """What the meal is called."""
        return meal_name(self.meal)


def meal_name(meal: Meal) -> Sentence:
    """Return what a meal is called; a name that somebody typed stays as it is."""
    usual = {row.name for row in the_facts().meals.values()}
    return sentence(meal.name) if meal.name in usual else joined((meal.name,))


@dataclass(frozen=True, kw_only=True)
class Visit:
    """A time to check on the patient: when, what to look for and do, and whose rule it is.

    Attributes
    ----------
    key : {"meal", "clear", "cloudy", "before meal", "bedtime", "end"}
        What for.
    measure : bool
        Whether the glucose is measured whatever the patient looks like.
    """

    key: str
    window: Window
    measure: bool
    say: Sentence
    rule: RuleRow


@dataclass(frozen=True, kw_only=True)
class Clash:
    """Something that does not fit together: what is wrong and what to do, and whose rule it is.

    Attributes
    ----------
    key : str
        Its name in English, which the catalogue says.
    at : ClockTime
        Where in the day.
    limits : tuple of Fact
        The limits that were passed, each with its own source.
    """

    key: str
    at: ClockTime
    say: Sentence
    rule: RuleRow
    limits: tuple[Fact, ...]


def acting(given: ClockTime, dose: Dose, row: TaughtTimes, curves: ActionCurves | None) -> Acting:
    """Put the taught hours of one insulin, injected at `given`, and the model's on the clock."""

    def window(span: Span | None) -> Window | None:
        return None if span is None else Window(start=given.later(span.low * 60), end=given.later(span.high * 60))

    def time(hours: float | None) -> ClockTime | None:
        return None if hours is None else given.later(hours * 60)

    part: Part = dose.insulin.look
    start, strongest, end = (curves.onset(part), curves.peak(part), curves.end(part)) if curves else (None, None, None)
    return Acting(
        dose=dose,
        row=row,
        starts=window(row.onset),
        strongest=window(row.peak),
        ends=window(row.duration),
        model_start=time(start),
        model_strongest=time(strongest),
        model_end=time(end),
    )


def day_rule(rule: str, **words: object) -> tuple[Sentence, RuleRow]:
    """Fill the places of a rule of the day, and give the rule with it; every sentence begins with a capital letter."""
    row = the_facts().day_rules[rule]
    return sentence(row.say, **words).with_capitals(), row
