"""Kinds of values in a site file that are measured: numbers, glucose lines, clock times and meals."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, cast, get_args

from mixlab.facts.records import ClockTimes, Fact, LimitsRow, Threshold
from mixlab.facts.shelf import shelf
from mixlab.quantities import Glucose, GlucoseUnit, NotAClockTime, read_clock
from mixlab.ward.meal import Meal
from mixlab.ward.site.faults import Refused, Unsafe, is_plain_text, nearest, shown
from mixlab.ward.site.record import LOCAL_POLICY
from mixlab.words import Sentence, sentence

OURS: dict[str, Any] = {"source": LOCAL_POLICY, "known": "read", "note": ""}
"""What a fact says of its source once a site file has set it."""

MEASURES = (sentence("minutes"), sentence("hours"), sentence("days"), sentence("times"), sentence("g"))
"""The units of a number that are words, for the catalogue."""

NOT_ASKED = "not asked for"
"""What stands in the file for a line that the ward does not have."""

MEAL_PARTS = ("name", "at", "grams", "also_called")
"""What can be written of a meal."""

NIGHT_BEGINS, NIGHT_ENDS = "22:00", "05:00"
"""Between these times no meal is usual; our assumption."""

_NUMBER = re.compile(r"(0|[1-9][0-9]{0,4})(?:[.,][0-9]{1,2})?")
_ABOVE, _BELOW = ("above", "at or above"), ("below", "at or below")


def a_number(written: object) -> float | None:
    """Return what was written as a number with an end, or None if it is none."""
    if isinstance(written, bool) or not isinstance(written, int | float) or not abs(written) < 10**15:
        return None
    return float(written)


def no_number(written: object, wrong: Sentence, allowed: Sentence) -> tuple[Sentence, Sentence]:
    """Return what to say of what is no number: of one in quotation marks that it stands in them, else the words given."""
    if not isinstance(written, str) or not _NUMBER.fullmatch(written.strip()):
        return wrong, allowed
    number = written.strip().replace(",", ".")
    return sentence("{written} stands in quotation marks", written=shown(written)), sentence(
        "write it bare: {number}", number=number
    )


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


@dataclass(frozen=True, kw_only=True)
class Number:
    """A number of minutes, hours, days, grams or turns, or one end of the meter in the unit of the site."""

    limits: str

    @property
    def row(self) -> LimitsRow:
        """The limits of this number."""
        return shelf().limits[self.limits]

    def read(self, written: object, old: Fact, tables: Mapping[str, Any]) -> Fact:
        """Return the fact with the number written; an end of the meter is in the unit of the file."""
        value = a_number(written)
        if value is None:
            wrong = sentence("{written} is not a number", written=shown(written))
            allowed = sentence("write a number, such as {example}", example=old.value)
            raise Refused(("", *no_number(written, wrong, allowed)))
        measure = old.unit
        if measure in get_args(GlucoseUnit) and value <= 0:
            wrong = sentence("{written} is not a glucose", written=shown(written))
            raise Refused(("", wrong, sentence("write a number above 0")))
        if measure in get_args(GlucoseUnit) and tables.get("glucose_unit") in get_args(GlucoseUnit):
            measure = tables["glucose_unit"]
        return replace(old, value=value, unit=measure, **OURS)

    def plain(self, value: Fact, measure: GlucoseUnit) -> float:
        """Return the number as a file holds it; an end of the meter in the glucose unit of the file, as a meter shows it."""
        if value.unit in get_args(GlucoseUnit) and value.unit != measure:
            return float(Glucose(value.value, cast(GlucoseUnit, value.unit)).to(measure).shown())
        return value.value

    def allowed(self, measure: GlucoseUnit) -> Sentence:
        """Return which numbers are allowed."""
        row = self.row
        return limits_text(row, measure if row.unit in get_args(GlucoseUnit) else row.unit)

    def faults(self, value: Fact, reason: str) -> Unsafe | None:
        """Return what is wrong with a number that lies outside its limits, or is unusual and has no reason."""
        return _outside(value.value, self.row, value.unit, reason, self.allowed(cast(GlucoseUnit, value.unit)))


@dataclass(frozen=True, kw_only=True)
class OpenedDays(Number):
    """Days that an opened vial of one insulin is kept: as long as taught, and longer only by the label at hand."""

    limits: str = "opened_days"
    insulin: str

    @property
    def row(self) -> LimitsRow:
        """The limits of this insulin: usual is up to what is taught of it."""
        row = shelf().limits[self.limits]
        return replace(row, usual_high=shelf().opened_days[self.insulin].value)

    def faults(self, value: Fact, reason: str) -> Unsafe | None:
        """Return what is wrong with the days; more than are taught need the days of the label in their reason."""
        if (
            (found := super().faults(value, reason))
            or value.value <= self.row.usual_high
            or f"{value.value:g}" in reason
        ):
            return found
        wrong = sentence(
            "the reason does not give the {days} days that the label of the vials at hand must give", days=value.value
        )
        return Unsafe("", wrong, sentence("write them into the reason, with who read the label and when"), False)

    def allowed(self, measure: GlucoseUnit) -> Sentence:
        """Return how many days are allowed."""
        low, _, usual_high, high = limits_in(self.row, "days")
        if usual_high == high:
            return sentence("{low} to {high} days", low=low, high=high)
        return sentence(
            "{low} to {usual_high} days; up to {high} only where the label at hand says so, with that as the reason",
            low=low,
            usual_high=usual_high,
            high=high,
        )


def _outside(value: float, row: LimitsRow, measure: str, reason: str, limits: Sentence | None = None) -> Unsafe | None:
    low, usual_low, usual_high, high = limits_in(row, measure)
    allowed = sentence("write {limits}", limits=limits or limits_text(row, measure))
    if not low <= value <= high:
        return Unsafe("", sentence("{written} is not safe, and no reason can allow it", written=value), allowed)
    if row.whole and value != int(value):
        return Unsafe("", sentence("{written} is not a whole number", written=value), allowed)
    if not usual_low <= value <= usual_high and not reason:
        wrong = sentence("{written} is unusual and has no recorded reason", written=value)
        usual = sentence("write {low} to {high} {measure}", low=usual_low, high=usual_high, measure=_measure(measure))
        return Unsafe("", wrong, usual, True)
    return None


@dataclass(frozen=True, kw_only=True)
class Line:
    """A glucose line: value, unit and comparison; or none, where the ward may do without."""

    limits: str
    optional: bool = False

    @property
    def comparisons(self) -> tuple[str, ...]:
        """How a reading can cross this line."""
        return _ABOVE if self.limits == "report_line" else _BELOW

    def read(self, written: object, old: Threshold | None, tables: Mapping[str, Any]) -> Threshold | None:
        """Return the line written."""
        if self.optional and written == NOT_ASKED:
            return None
        if not isinstance(written, dict):
            wrong = sentence("{written} is not a glucose line", written=shown(written))
            raise Refused(("", wrong, self._form(old, tables)))
        known = ("value", "unit", "comparison")
        faults = [
            (key, sentence("this part is missing"), self._form(old, tables) if key == "value" else self._part(key))
            for key in known
            if key not in written
        ]
        faults += [
            (key, sentence("no part of a line is called so"), sentence("write only value, unit and comparison"))
            for key in written
            if key not in known
        ]
        value = a_number(written.get("value"))
        if "value" in written and (value is None or value <= 0):
            wrong = sentence("{written} is not a glucose", written=shown(written["value"]))
            faults.append(("value", *no_number(written["value"], wrong, sentence("write a number above 0"))))
        for key in ("unit", "comparison"):
            if key in written and written[key] not in (get_args(GlucoseUnit) if key == "unit" else self.comparisons):
                faults.append(
                    (key, sentence("{written} is not one of them", written=shown(written[key])), self._part(key))
                )
        if faults or value is None:
            raise Refused(*faults)
        return Threshold(value=value, unit=written["unit"], comparison=written["comparison"], **OURS)

    def _part(self, key: str) -> Sentence:
        choices = get_args(GlucoseUnit) if key == "unit" else self.comparisons
        return sentence("write one of {choices}", choices=", ".join(map(repr, choices)))

    def _form(self, old: Threshold | None, tables: Mapping[str, Any]) -> Sentence:
        """Return how a line is written, with the line that there is as the example, in the glucose unit of the file."""
        usual = Glucose(shelf().limits[self.limits].usual_high, "mg/dL")
        example = Glucose(old.value, old.unit) if old else usual
        named = tables.get("glucose_unit")
        unit = cast(GlucoseUnit, named if named in get_args(GlucoseUnit) else example.unit)
        return sentence(
            'write it as {{value = {value}, unit = "{measure}", comparison = "{comparison}"}}',
            value=str(example.to(unit).shown()),
            measure=unit,
            comparison=self.comparisons[0],
        )

    def plain(self, value: Threshold | None, measure: GlucoseUnit) -> object:
        """Return the line as a file holds it."""
        if value is None:
            return NOT_ASKED
        return {"value": value.value, "unit": value.unit, "comparison": value.comparison}

    def allowed(self, measure: GlucoseUnit) -> Sentence:
        """Return which lines are allowed."""
        limits = limits_text(shelf().limits[self.limits], measure)
        one, other = self.comparisons
        if self.optional:
            return sentence('{limits}, "{one}" or "{other}"; or "not asked for"', limits=limits, one=one, other=other)
        return sentence('{limits}, "{one}" or "{other}"', limits=limits, one=one, other=other)

    def faults(self, value: Threshold | None, reason: str) -> Unsafe | None:
        """Return what is wrong with a line that is finer than a meter, outside its limits, or unusual without a reason."""
        if value is None:
            return None
        if abs(float(Glucose(value.value, value.unit).shown()) - value.value) > 1e-9:
            wrong = sentence("{written} is finer than a meter shows", written=value.value)
            return Unsafe("value", wrong, sentence("write whole mg/dL, or mmol/L with one decimal"))
        return _outside(value.value, shelf().limits[self.limits], value.unit, reason)


@dataclass(frozen=True, kw_only=True)
class Clock:
    """One clock time, or a list of them."""

    several: bool = False

    def read(self, written: object, old: ClockTimes, tables: Mapping[str, Any]) -> ClockTimes:
        """Return the times written, each once and in order."""
        example = sentence("write times of the 24-hour clock, as in {example}", example=self._example())
        if self.several and written == []:
            raise Refused(("", sentence("no round is listed"), sentence('write at least one time, as in ["07:00"]')))
        if isinstance(written, list) != self.several or not written:
            raise Refused(("", sentence("{written} is not allowed here", written=shown(written)), example))
        times, faults = set(), []
        for at in cast(list[str], written if isinstance(written, list) else [written]):
            try:
                times.add(read_clock(at))
            except NotAClockTime:
                faults.append(("", sentence("{written} is no time of the 24-hour clock", written=shown(at)), example))
        if faults:
            raise Refused(*faults)
        return replace(old, at=tuple(time.face for time in sorted(times)), **OURS)

    def _example(self) -> str:
        return '["07:00", "18:30"]' if self.several else '"21:30"'

    def plain(self, value: ClockTimes, measure: GlucoseUnit) -> object:
        """Return the times as a file holds them."""
        return list(value.at) if self.several else value.at[0]

    def allowed(self, measure: GlucoseUnit) -> Sentence:
        """Return which times are allowed."""
        return sentence("times of the 24-hour clock, as in {example}", example=self._example())

    def faults(self, value: ClockTimes, reason: str) -> Unsafe | None:
        """Return what is wrong with a single round a day that has no reason."""
        if not self.several or len(value.at) > 1 or reason:
            return None
        wrong = sentence("one round a day is unusual and has no recorded reason")
        return Unsafe("", wrong, sentence("write the time of every round"), True)


@dataclass(frozen=True, kw_only=True)
class Meals:
    """The meals of a day."""

    def read(self, written: object, old: tuple[Meal, ...], tables: Mapping[str, Any]) -> tuple[Meal, ...]:
        """Return the meals written; one of a known name keeps its carbohydrate and what an order may call it."""
        add = sentence('write [[meals]] and below it name = "breakfast" and at = "08:00", for each meal')
        if not isinstance(written, list):
            raise Refused(("", sentence("{written} is not a list of meals", written=shown(written)), add))
        if not written:
            raise Refused(("", sentence("no meal is listed"), add))
        known, faults, meals = {meal.name: meal for meal in old}, [], []
        for number, row in enumerate(written):
            there = f"{number}"
            if not isinstance(row, dict):
                faults.append((there, sentence("{written} is not a meal", written=shown(row)), add))
                continue
            found = list(_meal_faults(row))
            faults += [(f"{there}.{part}" if part else there, wrong, allowed) for part, wrong, allowed in found]
            if not found:
                like = known.get(row["name"], Meal(name=row["name"], at=row["at"]))
                grams = like.grams if "grams" not in row else float(row["grams"])
                called = tuple(row.get("also_called", like.also_called))
                meals.append(replace(like, at=read_clock(row["at"]).face, grams=grams, also_called=called))
        each_name = [name for meal in meals for name in {meal.name, *meal.also_called}]
        if len(set(each_name)) < len(each_name):
            faults.append(("", sentence("two meals have the same name"), sentence("give each meal a name of its own")))
        if len({meal.clock for meal in meals}) < len(meals):
            faults.append(("", sentence("two meals have the same time"), sentence("give each meal a time of its own")))
        if faults:
            raise Refused(*faults)
        return tuple(meals)

    def plain(self, value: tuple[Meal, ...], measure: GlucoseUnit) -> object:
        """Return the meals as a file holds them."""
        return [
            {"name": meal.name, "at": meal.at, "grams": meal.grams, "also_called": list(meal.also_called)}
            for meal in value
        ]

    def allowed(self, measure: GlucoseUnit) -> Sentence:
        """Return what belongs to a meal."""
        grams = limits_text(shelf().limits["meal_grams"], "g")
        return sentence(
            "for each meal its name, when it is served, its carbohydrate ({grams}), other names of it", grams=grams
        )

    def faults(self, value: tuple[Meal, ...], reason: str) -> Unsafe | None:
        """Return what is wrong with a meal at night, or one with very much carbohydrate, that has no reason."""
        if reason:
            return None
        row = shelf().limits["meal_grams"]
        for meal in value:
            if not read_clock(NIGHT_ENDS) <= meal.clock <= read_clock(NIGHT_BEGINS):
                wrong = sentence(
                    "{meal} at {at} is at night, and no reason is recorded", meal=meal.name, at=meal.clock.face
                )
                allowed = sentence("write a time from {first} to {last}", first=NIGHT_ENDS, last=NIGHT_BEGINS)
                return Unsafe("", wrong, allowed, True)
            if found := _outside(meal.grams, row, row.unit, reason):
                return found
        return None


def _meal_faults(row: Mapping[str, Any]) -> list[tuple[str, Sentence, Sentence]]:
    known = MEAL_PARTS
    faults = [
        (key, sentence("no part of a meal is called so"), sentence("write only name, at, grams and also_called"))
        if not nearest(key, known)
        else (
            key,
            sentence("no part of a meal is called so"),
            sentence("correct it to {nearest}", nearest=nearest(key, known)),
        )
        for key in row
        if key not in known
    ]
    faults += [
        (key, sentence("this part is missing"), sentence("add it to this meal")) for key in known[:2] if key not in row
    ]
    names = [row.get("name", "meal"), *(row["also_called"] if isinstance(row.get("also_called"), list) else [])]
    if "also_called" in row and not isinstance(row["also_called"], list):
        faults.append(("also_called", sentence("this is no list"), sentence("write a list of names, or take it out")))
    for name in names:
        if not is_plain_text(name, 40):
            wrong = sentence("{written} is no name of a meal", written=shown(name))
            allowed = sentence("write 1 to 40 characters in quotation marks, without braces or other marks of markup")
            faults.append(("name", wrong, allowed))
        elif any(each.isdigit() for each in name) or name.casefold() == "bedtime":
            wrong = sentence("an order could not be read by a meal called {written}", written=shown(name))
            faults.append(("name", wrong, sentence('write a name without digits, and not "bedtime"')))
    if "at" in row:
        try:
            read_clock(row["at"])
        except NotAClockTime:
            wrong = sentence("{written} is no time of the 24-hour clock", written=shown(row["at"]))
            faults.append(("at", wrong, sentence('write it as in "08:00"')))
    if "grams" in row:
        grams, limits = a_number(row["grams"]), shelf().limits["meal_grams"]
        if grams is None or not limits.lowest <= grams <= limits.highest:
            wrong = sentence("{written} is no carbohydrate of a meal", written=shown(row["grams"]))
            allowed = sentence("write {low} to {high} g", low=f"{limits.lowest:g}", high=f"{limits.highest:g}")
            faults.append(("grams", *no_number(row["grams"], wrong, allowed)))
    return faults
