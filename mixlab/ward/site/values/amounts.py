"""Numbers in a site file: minutes, hours, days, grams, turns and the ends of the meter, each within its limits."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, cast, get_args

from mixlab.facts.reading import the_facts
from mixlab.facts.records import Fact
from mixlab.facts.site_rows import LimitsRow
from mixlab.files.faults import Fault, shown
from mixlab.quantities import Glucose, GlucoseUnit
from mixlab.ward.site.faults import SiteError, WithoutReason
from mixlab.words import Sentence, sentence

from .kind import OURS, Kind, refusal

NUMBER_MEASURES = (sentence("minutes"), sentence("hours"), sentence("days"), sentence("times"), sentence("g"))
"""The units of a number that are words, for the catalogue."""

NOT_ASKED = "not asked for"
"""What stands in the file for a line that the ward does not have."""

_NUMBER = re.compile(r"(0|[1-9][0-9]{0,4})(?:[.,][0-9]{1,2})?")

ABOVE, BELOW = ("above", "at or above"), ("below", "at or below")


def a_number(written: object) -> float | None:
    """Return what was written as a number with an end, or None if it is none."""
    if isinstance(written, bool) or not isinstance(written, int | float) or not abs(written) < 10**15:
        return None
    return float(written)


def glucose_unit_in(tables: Mapping[str, Any]) -> GlucoseUnit | None:
    """Return the glucose unit that a file names, or None where it names none that is known."""
    return next((unit for unit in get_args(GlucoseUnit) if unit == tables.get("glucose_unit")), None)


def no_number(written: object, wrong: Sentence, allowed: Sentence, *at: str) -> Fault:
    """Return what to say of what is no number: of one in quotation marks that it stands in them, else the words given."""
    if isinstance(written, str) and _NUMBER.fullmatch(written.strip()):
        wrong = sentence("{written} stands in quotation marks", written=shown(written))
        allowed = sentence("write it bare: {number}", number=written.strip().replace(",", "."))
    return Fault(at=at, wrong=wrong, allowed=allowed)


def limits_in(limits: LimitsRow, measure: str) -> tuple[float, float, float, float]:
    """Return lowest, usual low, usual high and highest in a unit of glucose, as a meter shows them, or as they stand."""
    each = (limits.lowest, limits.usual_low, limits.usual_high, limits.highest)
    if limits.unit not in get_args(GlucoseUnit) or measure == limits.unit:
        return each
    low, usual_low, usual_high, high = (float(Glucose(value, "mg/dL").to("mmol/L").shown()) for value in each)
    return low, usual_low, usual_high, high


def _measure(measure: str) -> str | Sentence:
    """Return a unit to be said; those of glucose are symbols."""
    return measure if measure in get_args(GlucoseUnit) else sentence(measure)


def limits_text(limits: LimitsRow, measure: str) -> Sentence:
    """Return what a number may be: ``"10 to 30 minutes, and 5 to 60 with a reason under [reasons]"``."""
    low, usual_low, usual_high, high = limits_in(limits, measure)
    if (low, high) == (usual_low, usual_high):
        return sentence("{low} to {high} {measure}", low=low, high=high, measure=_measure(measure))
    return sentence(
        "{usual_low} to {usual_high} {measure}, and {low} to {high} with a reason under [reasons]",
        usual_low=usual_low,
        usual_high=usual_high,
        low=low,
        high=high,
        measure=_measure(measure),
    )


@dataclass(frozen=True)
class Number(Kind):
    """A number of minutes, hours, days, grams or turns, or one end of the meter in the unit of the site."""

    limits: str

    @property
    def row(self) -> LimitsRow:
        """The limits of this number."""
        return the_facts().limits[self.limits]

    def default(self, fact: Fact) -> Fact:
        return fact

    def read(self, written: object, old: Fact, tables: Mapping[str, Any]) -> Fact:
        value = a_number(written)
        if value is None:
            wrong = sentence("{written} is not a number", written=shown(written))
            allowed = sentence("write a number, such as {example}", example=old.value)
            raise SiteError([no_number(written, wrong, allowed)])
        if old.unit not in get_args(GlucoseUnit):
            return replace(old, value=value, **OURS)
        if value <= 0:
            wrong = sentence("{written} is not a glucose", written=shown(written))
            raise refusal(wrong, sentence("write a number above 0"))
        return replace(old, value=value, unit=glucose_unit_in(tables) or old.unit, **OURS)

    def plain(self, value: Fact, measure: GlucoseUnit) -> float:
        if value.unit in get_args(GlucoseUnit) and value.unit != measure:
            return float(Glucose(value.value, cast(GlucoseUnit, value.unit)).to(measure).shown())
        return value.value

    def allowed(self, measure: GlucoseUnit) -> Sentence:
        row = self.row
        return limits_text(row, measure if row.unit in get_args(GlucoseUnit) else row.unit)

    def faults(self, value: Fact, reason: str) -> Fault | None:
        return outside(value.value, self.row, value.unit, reason, self.allowed(cast(GlucoseUnit, value.unit)))


@dataclass(frozen=True, kw_only=True)
class OpenedDays(Number):
    """Days that an opened vial of one insulin is kept: as long as taught, and longer only by the label at hand."""

    limits: str = "opened_days"
    insulin: str

    @property
    def row(self) -> LimitsRow:
        """The limits of this insulin: usual is up to what is taught of it."""
        row = the_facts().limits[self.limits]
        return replace(row, usual_high=the_facts().opened_days[self.insulin].value)

    def faults(self, value: Fact, reason: str) -> Fault | None:
        found = super().faults(value, reason)
        if found or value.value <= self.row.usual_high or f"{value.value:g}" in reason:
            return found
        wrong = sentence(
            "the reason does not give the {days} days that the label of the vials at hand must give", days=value.value
        )
        return Fault(wrong=wrong, allowed=sentence("write them into the reason, with who read the label and when"))

    def allowed(self, measure: GlucoseUnit) -> Sentence:
        low, _, usual_high, high = limits_in(self.row, "days")
        if usual_high == high:
            return sentence("{low} to {high} days", low=low, high=high)
        return sentence(
            "{low} to {usual_high} days; up to {high} only where the label at hand says so, with that as the reason",
            low=low,
            usual_high=usual_high,
            high=high,
        )


def outside(value: float, row: LimitsRow, measure: str, reason: str, limits: Sentence | None = None) -> Fault | None:
    """Say what is unsafe about a number by the limits of its key; None where nothing is."""
    low, usual_low, usual_high, high = limits_in(row, measure)
    allowed = sentence("write {limits}", limits=limits or limits_text(row, measure))
    if not low <= value <= high:
        return Fault(
            wrong=sentence("{written} is not safe, and no reason can allow it", written=value), allowed=allowed
        )
    if row.whole and value != int(value):
        return Fault(wrong=sentence("{written} is not a whole number", written=value), allowed=allowed)
    if not usual_low <= value <= usual_high and not reason:
        wrong = sentence("{written} is unusual and has no recorded reason", written=value)
        usual = sentence("write {low} to {high} {measure}", low=usual_low, high=usual_high, measure=_measure(measure))
        return WithoutReason(wrong=wrong, allowed=usual)
    return None
