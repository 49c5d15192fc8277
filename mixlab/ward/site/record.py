"""A site: the lines, limits, stock, habits and words by which one ward works."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal
from functools import cache, cached_property
from types import MappingProxyType

from mixlab.facts.reading import the_facts
from mixlab.facts.records import Fact, Sourced, TaughtTimes, Threshold
from mixlab.facts.site_rows import ClockTimes, Policy
from mixlab.quantities import Glucose, GlucoseUnit
from mixlab.ward.insulin import Insulin
from mixlab.ward.meal import Meal
from mixlab.ward.syringe import Syringe
from mixlab.words import TERMS, Sentence, Voice, languages, sentence
from mixlab.words.translations import DEFAULT_LANGUAGE

from .glucose_lines import crosses, line_text
from .values.kind import LOCAL_POLICY

LINES = ("hold_line", "level_2_line", "report_line", "urgent_high_line", "near_low_line")
"""The glucose lines of a site."""

SAME_LINE = 0.5
"""Lines closer than this, in mg/dL, are one line: 54 mg/dL and 3.0 mmol/L differ by the rounding of a meter only."""

_PATTERNS = {
    "2026-11-26": "yyyy-MM-dd",
    "26 Nov 2026": "d MMM yyyy",
    "26/11/2026": "dd/MM/yyyy",
    "11/26/2026": "MM/dd/yyyy",
}
"""How each way of writing a date is asked for by a voice."""


@dataclass(frozen=True, kw_only=True)
class Site:
    """How one ward works. Amounts carry their unit and their source. What each field is stands in `KEYS`.

    `near_low_line` and `urgent_high_line` are None where the ward does not ask for them. Left as they are taught, the first lies
    as far above the hold line as a meter may be off, and the second never below the report line, both in the ward's unit; so
    left, `serious_carbohydrate` is never less than `carbohydrate`. `never_mix` holds pairs such as ``"lispro + nph"``,
    `critical_steps` the keys of steps, `taught` the source keys of the handbooks of each
    insulin, which are taught together. `reasons` is the recorded reason of
    a value that needs one, by its key in the file.
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
    urgent_high_line: Threshold | None = None
    near_low_line: Threshold | None = None
    near_low_answer: Policy
    reading_age: Fact
    meter_low: Fact
    meter_high: Fact
    carbohydrate: Fact
    serious_carbohydrate: Fact
    recheck: Fact
    oral_treatments: Fact
    dose_gap: Fact
    earlier_low: Fact
    meal_lead: Fact
    waiting: Fact
    large_dose: Fact
    short_times: Policy
    waiting_rapid: Fact
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
    taught: Mapping[str, tuple[str, ...]]
    reasons: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))

    def __post_init__(self) -> None:
        taught = the_facts().thresholds["near-low"]
        if self.near_low_line is not None and self.near_low_line.source == taught.source:
            object.__setattr__(self, "near_low_line", self._line_near_a_low(taught))
        if self.urgent_line_follows and self.urgent_high_line is not None:
            object.__setattr__(self, "urgent_high_line", self._urgent_line())
        if self.serious_amount_follows and self.serious_carbohydrate.value < self.carbohydrate.value:
            object.__setattr__(self, "serious_carbohydrate", self.carbohydrate)
        for name in LINES:
            line = getattr(self, name)
            if line is not None and line.rounding != self.rounding.value:
                object.__setattr__(self, name, replace(line, rounding=self.rounding.value))

    @property
    def near_line_follows(self) -> bool:
        """Whether the line near a low is left as it is taught, and so follows the hold line."""
        return self.near_low_line is None or self.near_low_line.source == the_facts().thresholds["near-low"].source

    @property
    def urgent_line_follows(self) -> bool:
        """Whether the line of an urgent high is left as it is taught, and so never lies below the report line."""
        taught = the_facts().thresholds["urgent-high"].source
        return self.urgent_high_line is None or self.urgent_high_line.source == taught

    @property
    def serious_amount_follows(self) -> bool:
        """Whether the amount for a serious low is left as it is taught, and so is never less than the one for any low."""
        return self.serious_carbohydrate in (the_facts().bedside["serious_carbohydrate_g"], self.carbohydrate)

    def _urgent_line(self) -> Threshold:
        """Return the taught line of an urgent high, or the report line if that lies higher, in the unit of the report line."""
        taught, report = the_facts().thresholds["urgent-high"], self.report_line
        value, high = (Glucose(line.value, line.unit).to("mg/dL").value for line in (taught, report))
        if high >= value - SAME_LINE:
            return replace(taught, value=report.value, unit=report.unit, comparison=report.comparison)
        return replace(taught, value=float(Glucose(value, "mg/dL").to(report.unit).shown()), unit=report.unit)

    def _line_near_a_low(self, taught: Threshold) -> Threshold | None:
        """Return the hold line and the meter's allowance, as the meter shows it; None where no reading lies between the lines."""
        hold, report, allowed = self.hold_line, self.report_line, the_facts().bedside["meter_allowance_mg_dl"].value
        above = Glucose(hold.value, hold.unit).to("mg/dL").value + allowed
        if above >= Glucose(report.value, report.unit).to("mg/dL").value:
            return None
        return replace(taught, value=float(Glucose(above, "mg/dL").to(hold.unit).shown()), unit=hold.unit)

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

    def cite(self, rule: Sourced | TaughtTimes) -> Sentence:
        """Return who says so, as printed for a learner."""
        ours = isinstance(rule, Sourced) and rule.source == LOCAL_POLICY
        return sentence("policy of {site}", site=self.name) if ours else the_facts().cite(rule)

    def times(self, insulin: Insulin) -> TaughtTimes:
        """Return the action times of an insulin that are taught here: all the handbooks chosen for it, together."""
        return insulin.times_by(self.taught.get(insulin.key, ()))

    def forbids(self, one: Insulin, other: Insulin) -> bool:
        """Say whether this site forbids a pair, whatever else is known of it."""
        return not {f"{one.key} + {other.key}", f"{other.key} + {one.key}"}.isdisjoint(self.never_mix)


@cache
def teaching_site() -> Site:
    """Return the site of the lessons: every value is the teaching choice of the facts.

    Examples
    --------
    >>> str(teaching_site().hold_text)
    'below 70 mg/dL'
    """
    from .keys import KEYS  # each key names the fact behind it, and needs this record

    facts = the_facts()
    return Site(
        name="the teaching ward",
        terms=MappingProxyType({name: facts.site_words[name].value for name in TERMS}),
        opened_days=MappingProxyType(dict(facts.opened_days)),
        taught=MappingProxyType({key: row.taught_times.sources for key, row in facts.insulins.items()}),
        **{key.name: key.kind.default(key.fact) for key in KEYS if key.fact_at and not key.part},
    )
