"""Clock times and meals in a site file."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, cast

from mixlab.facts.shelf import shelf
from mixlab.facts.site_rows import ClockTimes
from mixlab.quantities import GlucoseUnit, NotAClockTime, read_clock
from mixlab.ward.meal import Meal
from mixlab.ward.site.faults import Refused, Unsafe, is_plain_text, nearest, shown
from mixlab.words import Sentence, sentence

from .amounts import NIGHT_BEGINS, NIGHT_ENDS, OURS, a_number, limits_text, no_number, outside

MEAL_PARTS = ("name", "at", "grams", "also_called")
"""What can be written of a meal."""


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
            if found := outside(meal.grams, row, row.unit, reason):
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
