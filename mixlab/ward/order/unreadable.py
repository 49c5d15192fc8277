"""What stands in a text that is not read: unsafe writing, other routes and strengths, two numbers, unknown words."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator

from mixlab.quantities import units_text
from mixlab.words import mark, say

from .notation import Written
from .order import (
    Ambiguous,
    CannotRead,
    HasCondition,
    MissingPart,
    NoFixedDose,
    NotInUnits,
    OrderError,
    OtherRoute,
    OtherStrength,
    UnsafeWriting,
)
from .tokens import INVISIBLE, numbers_in


def unread(written: Written) -> Iterator[OrderError]:
    """Yield a refusal for everything in a text that is not read, the gravest kind first."""
    yield from _invisible(written)
    yield from _unsafe(written)
    yield from _not_prepared_here(written)
    yield from _conditions(written)
    yield from _two_numbers(written)
    yield from sorted(_not_understood(written), key=lambda problem: problem.place or (0, 0))


def ambiguous(what: str, readings: tuple[str, ...], place: tuple[int, int]) -> Ambiguous:
    """Return the refusal of what could mean two things or more, with all its readings."""
    meant = say(", or ").join(f"'{one}'" for one in readings)
    return Ambiguous(
        say("{doubt} It could mean {meant}. Ask the {prescriber} which is meant.", doubt=what, meant=meant),
        readings=readings,
        place=place,
    )


def _invisible(written: Written) -> Iterator[OrderError]:
    for found in re.finditer(INVISIBLE, written.plain):
        name = unicodedata.name(written.text[found.start()], say("a character without a name")).lower()
        yield CannotRead(
            say(
                "Between the letters stands a character that cannot be seen ({name}). It could hide another dose: type the order again.",
                name=name,
            ),
            place=found.span(),
        )


def _unsafe(written: Written) -> Iterator[OrderError]:
    for writing in written.writings:
        if writing.row.stops:
            yield UnsafeWriting(
                say(
                    "'{typed}' is not safe to act on: it {risk} {misread_as}. Do not decode it: ask the {prescriber} to write the order again with {write}.",
                    typed=written.text[writing.start : writing.end].strip(),
                    risk=say(writing.row.risk),
                    misread_as=say(writing.row.misread_as),
                    write=writing.write,
                ),
                place=(writing.start, writing.end),
            )


def _not_prepared_here(written: Written) -> Iterator[OrderError]:
    for phrase in written.of("other route", "other strength", "no fixed dose"):
        quoted, place = written.typed(phrase), (phrase.start, phrase.end)
        if phrase.kind == "other route":
            yield OtherRoute(
                say(
                    "'{typed}': this lab prepares doses for under the skin only, and a cloudy insulin is never given into a vein. Draw nothing up: ask the {prescriber}.",
                    typed=quoted,
                ),
                place=place,
            )
        elif phrase.kind == "other strength":
            yield OtherStrength(
                say(
                    "'{typed}': this lab prepares U-100 insulin only. Never convert in your head: ask the {prescriber} and the pharmacy.",
                    typed=quoted,
                ),
                place=place,
            )
        else:
            yield NoFixedDose(
                say(
                    "'{typed}' does not give a fixed dose for this injection. Do not work one out yourself: ask the {prescriber} for both doses in {units}.",
                    typed=quoted,
                ),
                place=place,
            )


def _conditions(written: Written) -> Iterator[OrderError]:
    for phrase in written.of("condition"):
        yield HasCondition(
            say(
                "'{typed}' is a condition, and this lab does not read it. Keep it beside the dose, and ask the {prescriber} if it is not clear.",
                typed=" ".join(written.typed(phrase).split()),
            ),
            place=(phrase.start, phrase.end),
        )


def _two_numbers(written: Written) -> Iterator[OrderError]:
    for phrase in written.of("range", "comma", "two numbers", "half clock"):
        quoted, place = written.typed(phrase), (phrase.start, phrase.end)
        if phrase.kind == "half clock":
            hour, minute = (*re.findall(r"[0-9]+", phrase.text), "00")[:2]
            early, late = int(hour) % 12, int(hour) % 12 + 12
            yield ambiguous(
                say("'{typed}' does not say which half of the day.", typed=quoted),
                (
                    say("at {clock}", clock=f"{early:02}:{minute}"),
                    say("at {clock}", clock=f"{late:02}:{minute}"),
                ),
                place,
            )
            continue
        if phrase.kind == "comma":
            whole, rest = re.findall(r"[0-9]+", phrase.text)
            numbers: list[int | float] = [float(f"{whole}.{rest}"), int(whole + rest)]
            what = say("The comma in '{typed}' can be a decimal comma or none.", typed=quoted)
        else:
            numbers = numbers_in(phrase.text)
            if "/" in phrase.text and numbers[-1]:
                numbers = [numbers[0] / numbers[-1], *numbers]
            what = say("'{typed}' gives two numbers for one dose.", typed=quoted)
        readings = tuple(units_text(number) for number in dict.fromkeys(numbers))
        if len(readings) > 1:
            yield ambiguous(what, readings, place)
        else:
            yield CannotRead(
                say("'{typed}' is not a plain dose. Ask the {prescriber} to write one number.", typed=quoted),
                place=place,
            )


_NOT_IN_UNITS = mark(
    "'{typed}' is not a dose in {units}. Insulin is ordered in {units}: ask the {prescriber}; never convert it yourself."
)
_NOT_UNDERSTOOD = mark("'{typed}' is not understood. Check the spelling, or ask the {prescriber} what is meant.")
_NOT_A_DOSE = {
    "number": mark(
        "'{typed}' is not a dose: it has no unit. Ask the {prescriber} to write the word 'units'; never add it yourself."
    ),
    "volume": _NOT_IN_UNITS,
    "other unit": _NOT_IN_UNITS,
    "figures": mark(
        "'{typed}' is not a dose this lab can be sure of. Write each dose as a plain number and the word units, for example '8 units'; if the order itself is written so, ask the {prescriber}."
    ),
    "minutes": mark(
        "'{typed}' does not fit a time this lab can be sure of. Ask the {prescriber} to write one time, for example '30 minutes before breakfast'."
    ),
}


def _not_understood(written: Written) -> Iterator[OrderError]:
    """Refuse unknown words and numbers that are no dose, by their place."""
    runs = _unknown_runs(written)
    for start, end in runs:
        quoted = written.text[start:end] if end - start <= 40 else f"{written.text[start : start + 40]} …"
        why = _NOT_A_DOSE["figures"] if any(letter.isdigit() for letter in quoted) else _NOT_UNDERSTOOD
        yield CannotRead(say(why, typed=quoted), place=(start, end))
    for phrase in written.of(*_NOT_A_DOSE):
        message = say(_NOT_A_DOSE[phrase.kind], typed=written.typed(phrase))
        place = (phrase.start, phrase.end)
        if written.unsafe(phrase) or any(start <= phrase.start < end for start, end in runs):
            continue
        if phrase.kind == "number":
            yield MissingPart(message, part="unit", place=place)
        else:
            yield (NotInUnits if phrase.kind in ("volume", "other unit") else CannotRead)(message, place=place)


_UNIT = ("international", "unit", "units")


def _unknown_runs(written: Written) -> list[tuple[int, int]]:
    """Return the places of unknown words, together with what is glued to their end or unknown beside them."""
    runs: list[tuple[int, int]] = []
    running = told = False
    for phrase in written.phrases:
        told = written.unsafe(phrase) or (told and phrase.text in _UNIT)  # the unit was told of with its number
        glued = running and phrase.start == runs[-1][1] and phrase.text.strip(",;.+\n ")
        if told or not (phrase.kind == "unknown" or glued):
            running = False
            continue
        start = runs.pop()[0] if running else phrase.start
        runs.append((start, phrase.end))
        running = True
    return runs
