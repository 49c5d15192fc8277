"""Everything that keeps a text from being read as an order, each as the error that would be raised."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator
from itertools import pairwise

from ..quantities import units_text
from .order import (
    Ambiguous,
    CannotRead,
    MissingPart,
    NoFixedDose,
    NotInUnits,
    OrderError,
    OtherRoute,
    OtherStrength,
    UnsafeWriting,
)
from .phrases import INVISIBLE, Phrase, numbers_in
from .written import Written, look_over

LONGEST_TEXT = 500
"""More letters than an order for two insulins needs."""

SAID_ONCE = ("route", "when", "clock", "how often")
"""Kinds of phrases that an order may hold once."""

_TIMES = SAID_ONCE[1:]
_NUMBERS = ("dose", "two numbers", "range", "comma", "volume", "other unit", "number", "figures")


def problems(text: str) -> Iterator[OrderError]:
    """Yield everything that keeps a text from being read as an order, the gravest kind first."""
    if not isinstance(text, str):
        yield CannotRead("An order is a line of text. Type it as the prescriber wrote it.")
        return
    if len(text) > LONGEST_TEXT:
        yield CannotRead("This text is too long for an order of two insulins. Type the order alone.")
        return
    written = look_over(text)
    yield from _invisible(written)
    yield from _unsafe(written)
    yield from _not_prepared_here(written)
    yield from _two_numbers(written)
    yield from sorted(_not_understood(written), key=lambda problem: problem.place or (0, 0))
    yield from _missing(written)
    yield from _which_dose(written)
    yield from _said_twice(written)


def _ambiguous(what: str, readings: tuple[str, ...], place: tuple[int, int]) -> Ambiguous:
    meant = ", or ".join(f"'{one}'" for one in readings)
    return Ambiguous(
        f"{what} It could mean {meant}. Ask the prescriber which is meant.", readings=readings, place=place
    )


def _invisible(written: Written) -> Iterator[OrderError]:
    for found in re.finditer(INVISIBLE, written.plain):
        name = unicodedata.name(written.text[found.start()], "a character without a name").lower()
        yield CannotRead(
            f"Between the letters stands a character that cannot be seen ({name}). It could hide another dose: type the order "
            "again.",
            place=found.span(),
        )


def _unsafe(written: Written) -> Iterator[OrderError]:
    for writing in written.writings:
        if writing.row.stops:
            yield UnsafeWriting(
                f"'{written.text[writing.start : writing.end].strip()}' is not safe to act on: it has been read as "
                f"{writing.row.misread_as}. Do not decode it: ask the prescriber to write the order again with "
                f"{writing.row.write}.",
                place=(writing.start, writing.end),
            )


def _not_prepared_here(written: Written) -> Iterator[OrderError]:
    for phrase in written.of("other route", "other strength", "no fixed dose"):
        quoted, place = written.typed(phrase), (phrase.start, phrase.end)
        if phrase.kind == "other route":
            yield OtherRoute(
                f"'{quoted}': this lab prepares doses for under the skin only, and a cloudy insulin is never given into a vein. "
                "Draw nothing up: ask the prescriber.",
                place=place,
            )
        elif phrase.kind == "other strength":
            yield OtherStrength(
                f"'{quoted}': this lab prepares U-100 insulin only. Never convert in your head: ask the prescriber and the "
                "pharmacy.",
                place=place,
            )
        else:
            yield NoFixedDose(
                f"'{quoted}' does not give a fixed dose for this injection. Do not work one out yourself: ask the prescriber "
                "for both doses in units.",
                place=place,
            )


def _two_numbers(written: Written) -> Iterator[OrderError]:
    for phrase in written.of("range", "comma", "two numbers", "half clock"):
        quoted, place = written.typed(phrase), (phrase.start, phrase.end)
        if phrase.kind == "half clock":
            hour, minute = (*re.findall(r"[0-9]+", phrase.text), "00")[:2]
            early, late = int(hour) % 12, int(hour) % 12 + 12
            yield _ambiguous(
                f"'{quoted}' does not say which half of the day.",
                (f"at {early:02}:{minute}", f"at {late:02}:{minute}"),
                place,
            )
            continue
        if phrase.kind == "comma":
            whole, rest = re.findall(r"[0-9]+", phrase.text)
            numbers: list[int | float] = [float(f"{whole}.{rest}"), int(whole + rest)]
            what = f"The comma in '{quoted}' can be a decimal comma or none."
        else:
            numbers = numbers_in(phrase.text)
            what = f"'{quoted}' gives two numbers for one dose."
        readings = tuple(units_text(number) for number in dict.fromkeys(numbers))
        if len(readings) > 1:
            yield _ambiguous(what, readings, place)
        else:
            yield CannotRead(f"'{quoted}' is not a plain dose. Ask the prescriber to write one number.", place=place)


_NOT_A_DOSE = {
    "number": "is not a dose: it has no unit. Ask the prescriber to write the word 'units'; never add it yourself.",
    "volume": "is not a dose in units. Insulin is ordered in units: ask the prescriber; never convert it yourself.",
    "other unit": "is not a dose in units. Insulin is ordered in units: ask the prescriber; never convert it yourself.",
    "figures": "is not a dose this lab can be sure of. Write each dose as a plain number and the word units, for example "
    "'8 units'; if the order itself is written so, ask the prescriber.",
    "minutes": "does not fit a time this lab can be sure of. Ask the prescriber to write one time, for example '30 minutes "
    "before breakfast'.",
}


def _not_understood(written: Written) -> Iterator[OrderError]:
    """Refuse unknown words and numbers that are no dose, by their place."""
    runs = _unknown_runs(written)
    for start, end in runs:
        quoted = written.text[start:end] if end - start <= 40 else f"{written.text[start : start + 40]} …"
        why = "is not understood. Check the spelling, or ask the prescriber what is meant."
        if any(letter.isdigit() for letter in quoted):
            why = _NOT_A_DOSE["figures"]
        yield CannotRead(f"'{quoted}' {why}", place=(start, end))
    for phrase in written.of(*_NOT_A_DOSE):
        message, place = f"'{written.typed(phrase)}' {_NOT_A_DOSE[phrase.kind]}", (phrase.start, phrase.end)
        if written.unsafe(phrase) or any(start <= phrase.start < end for start, end in runs):
            continue
        if phrase.kind == "number":
            yield MissingPart(message, part="unit", place=place)
        else:
            yield (NotInUnits if phrase.kind in ("volume", "other unit") else CannotRead)(message, place=place)


def _unknown_runs(written: Written) -> list[tuple[int, int]]:
    """Return the places of unknown words, together with what is glued to their end or unknown beside them."""
    runs: list[tuple[int, int]] = []
    running = unsafe = False
    for phrase in written.phrases:
        was_unsafe, unsafe = unsafe, written.unsafe(phrase)
        told = unsafe or (was_unsafe and phrase.text in ("unit", "units"))  # the unit was told of with its number
        glued = running and phrase.start == runs[-1][1] and phrase.text.strip(",;.+\n ")
        if told or not (phrase.kind == "unknown" or glued):
            running = False
            continue
        start = runs.pop()[0] if running else phrase.start
        runs.append((start, phrase.end))
        running = True
    return runs


def _missing(written: Written) -> Iterator[OrderError]:
    run_together = len(written.stands_for("insulin"))
    names = len(written.of("insulin")) + run_together
    if names < 2:
        what = "No insulin is named" if not names else "1 insulin name found"
        yield MissingPart(
            f"{what}; this lab prepares two insulins in one syringe. Name both, each with its dose in units.",
            part="insulin",
        )
    elif names > 2:
        yield CannotRead(
            f"{names} insulin names found; this lab prepares two insulins in one syringe. Ask the prescriber which two are "
            "meant, and write each once."
        )
    doses = len(written.of(*_NUMBERS)) + run_together
    if doses < 2:
        what = "No dose in units was found" if not doses else "1 dose found"
        yield MissingPart(
            f"{what} for two insulins. Each insulin needs its own dose, written like '8 units'.", part="dose"
        )
    elif doses > 2 and doses == len(written.of("dose")):
        yield CannotRead(
            f"{doses} doses in units found for two insulins. Each insulin needs one dose: ask the prescriber."
        )


def _which_dose(written: Written) -> Iterator[OrderError]:
    """Refuse doses that could belong to the other insulin."""
    items = written.of("insulin", "dose")
    names, doses = written.of("insulin"), written.of("dose")
    if (len(names), len(doses)) != (2, 2):
        return
    beside = all({a.kind, b.kind} == {"insulin", "dose"} for a, b in (items[:2], items[2:]))
    first, between, second = (
        any(
            phrase.kind in ("break", "line", "bullet", *SAID_ONCE) and a.start < phrase.start < b.start
            for phrase in written.phrases
        )
        for a, b in pairwise(items)
    )
    bound = any(items[1].start < of.start < items[2].start for of in written.of("of"))  # '8 units of NPH'
    if beside and not ((first or second or bound) and not between):
        return
    (one, other), (few, many) = (phrase.value for phrase in names), (_units(dose) for dose in doses)
    readings = tuple(f"{one} {a} and {other} {b}" for a, b in ((few, many), (many, few)))
    if few == many:
        readings = (readings[0], f"one dose of {few}, written twice")
    yield _ambiguous(
        "Each dose has to stand beside its own insulin, without a comma or a word such as 'and' or 'of' that joins it to the "
        "other one.",
        readings,
        (items[0].start, items[-1].end),
    )


def _units(dose: Phrase) -> str:
    assert isinstance(dose.value, int | float)
    return units_text(dose.value)


def _said_twice(written: Written) -> Iterator[OrderError]:
    """Refuse two times or routes, and a time that may be meant for one of the insulins only."""
    items = written.of("insulin", "dose")
    for kind in SAID_ONCE:
        found = written.of(*(("when", "meal") if kind == "when" else (kind,)))
        place = (found[0].start, found[-1].end) if found else (0, 0)
        said = [" ".join(written.typed(phrase).split()) for phrase in found]
        if len(found) > 1:
            different = tuple(dict.fromkeys(said))
            each = "each insulin in an injection of its own"
            readings = (*different, each) if len(different) > 1 else ("both insulins in one injection", each)
            yield _ambiguous(f"The order says both {' and '.join(map(repr, said))}.", readings, place)
        elif found and found[0].kind == "meal":
            yield CannotRead(
                f"'{said[0]}' does not say whether before, with or after. Ask the prescriber for the time in relation to it.",
                place=place,
            )
        elif kind in _TIMES and found and items and items[0].start < found[0].start < items[-1].start:
            readings = (f"both insulins {said[0]}", f"only the first insulin {said[0]}")
            yield _ambiguous(f"'{said[0]}' stands between the two doses.", readings, place)
