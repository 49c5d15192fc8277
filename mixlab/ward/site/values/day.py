"""Clock times and meals in a site file."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any, cast

from mixlab.facts.reading import the_facts
from mixlab.facts.site_rows import ClockTimes
from mixlab.files.faults import Fault, nearest, shown
from mixlab.quantities import GlucoseUnit, NotAClockTime, read_clock
from mixlab.ward.meal import Meal
from mixlab.ward.site.faults import SiteError, WithoutReason, is_plain_text
from mixlab.words import Sentence, sentence

from .amounts import a_number, limits_text, no_number, outside
from .kind import OURS, Kind, refusal

NIGHT_BEGINS, NIGHT_ENDS = "22:00", "05:00"
"""Between these times no meal is usual; our assumption."""

MEAL_PARTS = ("name", "at", "grams", "also_called")
"""What can be written of a meal."""


@dataclass(frozen=True, kw_only=True)
class Clock(Kind):
    """One clock time, or a list of them."""

    several: bool = False

    def default(self, fact: ClockTimes) -> ClockTimes:
        return fact

    def read(self, written: object, old: ClockTimes, tables: Mapping[str, Any]) -> ClockTimes:
        example = sentence("write times of the 24-hour clock, as in {example}", example=self._example())
        if self.several and written == []:
            raise refusal(sentence("no round is listed"), sentence('write at least one time, as in ["07:00"]'))
        if isinstance(written, list) != self.several or not written:
            raise refusal(sentence("{written} is not allowed here", written=shown(written)), example)
        times, faults = set(), []
        for at in cast(list[str], written if isinstance(written, list) else [written]):
            try:
                times.add(read_clock(at))
            except NotAClockTime:
                wrong = sentence("{written} is no time of the 24-hour clock", written=shown(at))
                faults.append(Fault(wrong=wrong, allowed=example))
        if faults:
            raise SiteError(faults)
        return replace(old, at=tuple(time.face for time in sorted(times)), **OURS)

    def _example(self) -> str:
        return '["07:00", "18:30"]' if self.several else '"21:30"'

    def plain(self, value: ClockTimes, measure: GlucoseUnit) -> object:
        return list(value.at) if self.several else value.at[0]

    def allowed(self, measure: GlucoseUnit) -> Sentence:
        return sentence("times of the 24-hour clock, as in {example}", example=self._example())

    def faults(self, value: ClockTimes, reason: str) -> Fault | None:
        if not self.several or len(value.at) > 1 or reason:
            return None
        wrong = sentence("one round a day is unusual and has no recorded reason")
        return WithoutReason(wrong=wrong, allowed=sentence("write the time of every round"))


@dataclass(frozen=True, kw_only=True)
class Meals(Kind):
    """The meals of a day."""

    def default(self, fact: object) -> tuple[Meal, ...]:
        rows = the_facts().meals.values()
        return tuple(Meal(name=row.name, at=row.at, grams=row.grams, also_called=row.also_called) for row in rows)

    def read(self, written: object, old: tuple[Meal, ...], tables: Mapping[str, Any]) -> tuple[Meal, ...]:
        add = sentence('write [[meals]] and below it name = "breakfast" and at = "08:00", for each meal')
        if not isinstance(written, list):
            raise refusal(sentence("{written} is not a list of meals", written=shown(written)), add)
        if not written:
            raise refusal(sentence("no meal is listed"), add)
        known, faults, meals = {meal.name: meal for meal in old}, [], []
        for number, row in enumerate(written):
            if not isinstance(row, dict):
                wrong = sentence("{written} is not a meal", written=shown(row))
                faults.append(Fault(at=(number,), wrong=wrong, allowed=add))
            elif found := list(_meal_faults(row)):
                faults += [replace(fault, at=(number, *fault.at)) for fault in found]
            else:
                like = known.get(
                    row["name"], Meal(name=row["name"], at=row["at"])
                )  # what a meal of this name is called
                grams = like.grams if "grams" not in row else float(row["grams"])
                called = tuple(row.get("also_called", like.also_called))
                meals.append(replace(like, at=read_clock(row["at"]).face, grams=grams, also_called=called))
        each_name = [name for meal in meals for name in {meal.name, *meal.also_called}]
        if len(set(each_name)) < len(each_name):
            wrong, allowed = sentence("two meals have the same name"), sentence("give each meal a name of its own")
            faults.append(Fault(wrong=wrong, allowed=allowed))
        if len({meal.clock for meal in meals}) < len(meals):
            wrong, allowed = sentence("two meals have the same time"), sentence("give each meal a time of its own")
            faults.append(Fault(wrong=wrong, allowed=allowed))
        if faults:
            raise SiteError(faults)
        return tuple(meals)

    def plain(self, value: tuple[Meal, ...], measure: GlucoseUnit) -> object:
        return [
            {"name": meal.name, "at": meal.at, "grams": meal.grams, "also_called": list(meal.also_called)}
            for meal in value
        ]

    def allowed(self, measure: GlucoseUnit) -> Sentence:
        grams = limits_text(the_facts().limits["meal_grams"], "g")
        return sentence(
            "for each meal its name, when it is served, its carbohydrate ({grams}), other names of it", grams=grams
        )

    def faults(self, value: tuple[Meal, ...], reason: str) -> Fault | None:
        if reason:
            return None
        row = the_facts().limits["meal_grams"]
        for meal in value:
            if not read_clock(NIGHT_ENDS) <= meal.clock <= read_clock(NIGHT_BEGINS):
                wrong = sentence(
                    "{meal} at {at} is at night, and no reason is recorded", meal=meal.name, at=meal.clock.face
                )
                allowed = sentence("write a time from {first} to {last}", first=NIGHT_ENDS, last=NIGHT_BEGINS)
                return WithoutReason(wrong=wrong, allowed=allowed)
            if found := outside(meal.grams, row, row.unit, reason):
                return found
        return None


def _meal_faults(row: Mapping[str, Any]) -> Iterator[Fault]:
    for key in row:
        if key not in MEAL_PARTS:
            near = nearest(key, MEAL_PARTS)
            allowed = sentence("write only name, at, grams and also_called")
            if near:
                allowed = sentence("correct it to {nearest}", nearest=near)
            yield Fault(at=(key,), wrong=sentence("no part of a meal is called so"), allowed=allowed)
    for key in ("name", "at"):
        if key not in row:
            yield Fault(at=(key,), wrong=sentence("this part is missing"), allowed=sentence("add it to this meal"))
    others = row.get("also_called", [])
    if not isinstance(others, list):
        wrong, allowed = sentence("this is no list"), sentence("write a list of names, or take it out")
        yield Fault(at=("also_called",), wrong=wrong, allowed=allowed)
        others = []
    for name in (row.get("name", "meal"), *others):
        if not is_plain_text(name, 40):
            wrong = sentence("{written} is no name of a meal", written=shown(name))
            allowed = sentence("write 1 to 40 characters in quotation marks, without braces or other marks of markup")
            yield Fault(at=("name",), wrong=wrong, allowed=allowed)
        elif any(each.isdigit() for each in name) or name.casefold() == "bedtime":
            wrong = sentence("an order could not be read by a meal called {written}", written=shown(name))
            yield Fault(at=("name",), wrong=wrong, allowed=sentence('write a name without digits, and not "bedtime"'))
    try:
        read_clock(row.get("at", "00:00"))
    except NotAClockTime:
        wrong = sentence("{written} is no time of the 24-hour clock", written=shown(row["at"]))
        yield Fault(at=("at",), wrong=wrong, allowed=sentence('write it as in "08:00"'))
    limits = the_facts().limits["meal_grams"]
    grams = a_number(row.get("grams", limits.lowest))
    if grams is None or not limits.lowest <= grams <= limits.highest:
        wrong = sentence("{written} is no carbohydrate of a meal", written=shown(row["grams"]))
        allowed = sentence("write {low} to {high} g", low=f"{limits.lowest:g}", high=f"{limits.highest:g}")
        yield no_number(row["grams"], wrong, allowed, "grams")
