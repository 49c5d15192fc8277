"""A site: the lines, limits, stock, habits and words by which one ward works."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal
from functools import cache, cached_property
from types import MappingProxyType
from typing import Any

from mixlab.facts.records import ActionTimes, Fact, Sourced, Threshold
from mixlab.facts.shelf import shelf
from mixlab.facts.site_rows import ClockTimes, Policy
from mixlab.quantities import Glucose, GlucoseUnit
from mixlab.ward.insulin import Insulin
from mixlab.ward.meal import Meal
from mixlab.ward.syringe import Syringe, syringes
from mixlab.words import TERMS, Sentence, Voice, languages, sentence
from mixlab.words.translations import DEFAULT_LANGUAGE

from .glucose_lines import crosses, line_text

LOCAL_POLICY = "local-policy"
"""The source key of a value that a site file sets."""

LINES = ("hold_line", "level_2_line", "report_line", "near_low_line")
"""The glucose lines of a site."""

_PATTERNS = {
    "2026-11-26": "yyyy-MM-dd",
    "26 Nov 2026": "d MMM yyyy",
    "26/11/2026": "dd/MM/yyyy",
    "11/26/2026": "MM/dd/yyyy",
}
"""How each way of writing a date is asked for by a voice."""


@dataclass(frozen=True, kw_only=True)
class Site:
    """How one ward works. Amounts carry their unit and their source.

    Attributes
    ----------
    hold_line, level_2_line, report_line : Threshold
        Below the first the dose is held and the low treated; the second marks a serious low; past the third the dose is
        given and reported.
    near_low_line : Threshold or None
        Readings that are not low but reach this line are reported; None where the ward does not ask for it.
    rounding : Policy
        Whether a reading is compared with the lines as the meter shows it or unrounded; every line of the site follows it.
    reading_age : Fact
        Oldest reading to act on, min.
    meter_low, meter_high : Fact
        Ends of the meter's range, in the unit they name.
    carbohydrate, recheck : Fact
        Treatment of a low: g of fast carbohydrate, min until the next reading.
    dose_gap : Fact
        Hours; a dose given less than this ago could have been the one in question.
    earlier_low : Fact
        Hours; a low up to this long ago is told to the prescriber before the dose.
    meal_lead, waiting : Fact
        Min from injection to meal, and longest min from mixing to injection.
    meal_slack : Fact
        Min that the meal may be sooner or later than `meal_lead`.
    meals : tuple of Meal
        When meals are served.
    rounds, bedtime, waking : ClockTimes
        When somebody is due to see the patient, and when the patient goes to bed and wakes.
    gloves, second_check, recapping, push_back : Policy
        What the ward decides for itself: gloves for drawing up, who checks when, capping a clean needle, and pushing
        clear insulin back into its vial.
    air, resuspend : Policy
        Whether air goes into the vials, and whether the cloudy vial is rolled by count or until it is even.
    rolls, inversions : Fact
        How often the cloudy vial is rolled and turned over.
    stock : tuple of Syringe
        Syringes in the cupboard.
    never_mix : tuple of str
        Pairs that the ward forbids although they may share a syringe, such as ``"lispro + nph"``.
    opened_days : mapping of str to Fact
        Days that an opened vial is kept, by insulin.
    critical_steps : tuple of str
        Keys of the steps that must be right.
    taught : mapping of str to str
        Source key of the handbook row that is taught, by insulin.
    terms : mapping of str to str
        What the ward calls things, by the names of `words.TERMS`.
    language : str
        Tag of the language of the lessons.
    numbers, dates : Policy
        The decimal mark, and how a date is written.
    reasons : mapping of str to str
        The recorded reason of a value that needs one, by its key in the file.
    """

    name: str
    language: str
    numbers: Policy
    dates: Policy
    terms: Mapping[str, str]
    glucose_unit: GlucoseUnit
    rounding: Policy
    hold_line: Threshold
    level_2_line: Threshold
    report_line: Threshold
    near_low_line: Threshold | None = None
    reading_age: Fact
    meter_low: Fact
    meter_high: Fact
    carbohydrate: Fact
    recheck: Fact
    dose_gap: Fact
    earlier_low: Fact
    meal_lead: Fact
    waiting: Fact
    meal_slack: Fact
    meals: tuple[Meal, ...]
    rounds: ClockTimes
    bedtime: ClockTimes
    waking: ClockTimes
    gloves: Policy
    second_check: Policy
    recapping: Policy
    push_back: Policy
    air: Policy
    resuspend: Policy
    rolls: Fact
    inversions: Fact
    stock: tuple[Syringe, ...]
    never_mix: tuple[str, ...] = ()
    opened_days: Mapping[str, Fact]
    critical_steps: tuple[str, ...]
    taught: Mapping[str, str]
    reasons: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))

    def __post_init__(self) -> None:
        for name in LINES:
            line = getattr(self, name)
            if line is not None and line.rounding != self.rounding.value:
                object.__setattr__(self, name, replace(line, rounding=self.rounding.value))

    @cached_property
    def _hash(self) -> int:
        return hash((self.name, self.glucose_unit, self.hold_line, self.level_2_line, self.report_line))

    def __hash__(self) -> int:
        """Return a number that is worked out once, so that what follows from a site can be remembered by it."""
        return self._hash

    @property
    def hold_text(self) -> Sentence:
        """The hold line in words, such as "below 70 mg/dL"."""
        return line_text(self.hold_line)

    def readings_beside(self, line: Threshold) -> tuple[Glucose, Glucose]:
        """Return the last reading of this site's meter that crosses a line, and the first that does not."""
        step = Decimal(1) if self.glucose_unit == "mg/dL" else Decimal("0.1")
        middle = Glucose(line.value, line.unit).to(self.glucose_unit).shown()
        readings = [Glucose(float(middle + step * steps), self.glucose_unit) for steps in range(-2, 3)]
        if line.comparison in ("above", "at or above"):
            readings.reverse()
        crossing = [reading for reading in readings if crosses(reading, line)]
        return crossing[-1], readings[len(crossing)]

    def last_low(self) -> Glucose:
        """Return the highest reading, as this site's meter shows it, that is low here."""
        return self.readings_beside(self.hold_line)[0]

    def first_not_low(self) -> Glucose:
        """Return the lowest reading, as this site's meter shows it, that is not low here."""
        return self.readings_beside(self.hold_line)[1]

    @cached_property
    def voice(self) -> Voice:
        """How this site speaks; a term left as on the teaching site is said as its language says it."""
        renamed = tuple((name, self.terms[name]) for name in TERMS if self.terms[name] != teaching_site().terms[name])
        return Voice(
            language=self.language if self.language in languages() else DEFAULT_LANGUAGE,
            terms=renamed,
            numbers=self.numbers.value,
            dates=_PATTERNS[self.dates.value],
        )

    def cite(self, rule: Sourced) -> Sentence:
        """Return who says so, as printed for a learner."""
        return sentence("policy of {site}", site=self.name) if rule.source == LOCAL_POLICY else shelf().cite(rule)

    def times(self, insulin: Insulin) -> ActionTimes:
        """Return the handbook row of an insulin that is taught here."""
        return insulin.times_by(self.taught.get(insulin.key))

    def forbids(self, one: Insulin, other: Insulin) -> bool:
        """Say whether this site forbids a pair, whatever else is known of it."""
        return not {f"{one.key} + {other.key}", f"{other.key} + {one.key}"}.isdisjoint(self.never_mix)


@cache
def teaching_site() -> Site:
    """Return the site of the lessons: every value is the teaching choice of the facts."""
    facts = shelf()
    bedside = facts.bedside
    policies: dict[str, Any] = {**facts.policies, **facts.site_policies}
    words = {name: row.value for name, row in facts.site_words.items()}
    unit: Any = words["glucose_unit"]
    return Site(
        name="the teaching ward",
        language=words["language"],
        terms=MappingProxyType({name: words[name] for name in TERMS}),
        glucose_unit=unit,
        hold_line=facts.thresholds["low"],
        level_2_line=facts.thresholds["level-2"],
        report_line=facts.thresholds["report"],
        near_low_line=None,
        reading_age=bedside["reading_age_minutes"],
        meter_low=bedside["meter_low"],
        meter_high=bedside["meter_high"],
        carbohydrate=bedside["carbohydrate_g"],
        recheck=bedside["recheck_minutes"],
        dose_gap=bedside["dose_gap_hours"],
        earlier_low=bedside["earlier_low_hours"],
        meal_lead=bedside["meal_lead_minutes"],
        waiting=bedside["waiting_minutes"],
        meal_slack=facts.day["meal_slack_minutes"],
        meals=tuple(
            Meal(name=row.name, at=row.at, grams=row.grams, also_called=row.also_called) for row in facts.meals.values()
        ),
        rounds=facts.rounds["ward"],
        bedtime=facts.rounds["bedtime"],
        waking=facts.rounds["waking"],
        **policies,
        rolls=facts.technique["rolls"],
        inversions=facts.technique["inversions"],
        stock=tuple(syringes()[key] for key in facts.site_lists["stock"].value),
        opened_days=MappingProxyType(dict(facts.opened_days)),
        critical_steps=facts.site_lists["critical_steps"].value,
        taught=MappingProxyType({key: row.taught_times.source for key, row in facts.insulins.items()}),
    )
