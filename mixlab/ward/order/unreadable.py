"""What stands in a text that is not read: unsafe writing, other routes and strengths, two numbers, unknown words."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator

from mixlab.quantities import units_text
from mixlab.words import Sentence, joined, sentence

from .notation import WrittenOrder
from .order import (
    Ambiguous,
    CannotRead,
    HasCondition,
    KeptApart,
    MissingPart,
    NoFixedDose,
    NoTime,
    NotInUnits,
    NotToGive,
    OrderError,
    OtherDay,
    OtherRoute,
    OtherStrength,
    ReadyMixture,
    UnsafeWriting,
)
from .slips import slip_in, unknown_runs
from .tokens import INVISIBLE, TURNS_THE_TEXT, Phrase, numbers_in


def unread(written: WrittenOrder) -> Iterator[OrderError]:
    """Yield a refusal for everything in a text that is not read, the gravest kind first."""
    yield from _invisible(written)
    yield from _brackets(written)
    yield from _unsafe(written)
    yield from _not_prepared_here(written)
    yield from _two_numbers(written)
    yield from sorted(_not_understood(written), key=lambda problem: problem.place or (0, 0))


def ambiguous(
    doubt: Sentence,
    readings: Iterable[Sentence | str],
    place: tuple[int, int],
    kind: type[Ambiguous] = Ambiguous,
) -> Ambiguous:
    """Return the refusal of what could mean two things or more, with all its readings.

    Parameters
    ----------
    doubt : Sentence
        What is not clear.
    readings : iterable of Sentence or str
        What it could mean; words of the order stand as they are.
    place : tuple of int
        Where it stands in the text.
    kind : type, optional
        Which refusal of that sort.
    """
    each = tuple(joined((one,)) for one in readings)
    meant = between(sentence(", or "), (sentence("'{one}'", one=one) for one in each))
    return kind(
        sentence("{doubt} It could mean {meant}. Ask the {prescriber} which is meant.", doubt=doubt, meant=meant),
        readings=each,
        place=place,
    )


def between(word: Sentence, parts: Iterable[Sentence | str]) -> Sentence:
    """Return some parts one after the other, with a word such as "and" between them."""
    first, *others = parts
    return joined((first, *(one for part in others for one in (word, part))), "")


def _invisible(written: WrittenOrder) -> Iterator[OrderError]:
    for found in re.finditer(INVISIBLE, written.plain):
        name = unicodedata.name(written.text[found.start()], "").lower()
        wrong = sentence(
            "Between the letters stands a character that cannot be seen ({name}). It could hide another dose: type the order again."
        )
        yield CannotRead(wrong.filled(name=name or sentence("a character without a name")), place=found.span())
    for found in TURNS_THE_TEXT.finditer(written.text):
        name = unicodedata.name(found.group(), "").lower()
        wrong = sentence(
            "The text holds a character that cannot be seen and that changes the direction of writing ({name}). What you see may not be what is read: type the order again."
        )
        yield CannotRead(wrong.filled(name=name), place=found.span())


def _brackets(written: WrittenOrder) -> Iterator[OrderError]:
    open_at: list[int] = []
    listed = {phrase.end - 1 for phrase in written.of("bullet")}  # '1)' begins a line of a list
    for found in re.finditer(r"[()]", written.plain):
        if found.start() in listed:
            continue
        if found.group() == "(":
            open_at.append(found.start())
        elif open_at:
            open_at.pop()
        else:
            open_at.append(found.start())
            break
    if open_at:
        wrong = sentence(
            "A bracket stands alone. It could be taken for a 1, or hide the end of a number: ask the {prescriber} to write the order again."
        )
        yield CannotRead(wrong, place=(open_at[0], open_at[0] + 1))


def _unsafe(written: WrittenOrder) -> Iterator[OrderError]:
    for writing in written.writings:
        if writing.row.stops:
            wrong = sentence(
                "'{typed}' is not safe to act on: it {risk} {misread_as}. Do not decode it: ask the {prescriber} to write the order again with {write}.",
                typed=written.text[writing.start : writing.end].strip(),
                risk=writing.row.risk,
                misread_as=writing.row.misread_as,
                write=writing.write,
            )
            yield UnsafeWriting(wrong, place=writing.place)


READY_MIXTURE = sentence(
    "'{typed}' is a ready mixture. It is never mixed with another insulin: ask the {prescriber} what is meant."
)
_NOT_PREPARED_HERE = {
    "other route": (
        OtherRoute,
        sentence(
            "'{typed}': this lab prepares doses for under the skin only, and a cloudy insulin is never given into a vein. Draw nothing up: ask the {prescriber}."
        ),
    ),
    "other strength": (
        OtherStrength,
        sentence(
            "'{typed}': this lab prepares U-100 insulin only. Never convert in your head: ask the {prescriber} and the pharmacy."
        ),
    ),
    "no fixed dose": (
        NoFixedDose,
        sentence(
            "'{typed}' does not give a fixed dose for this injection. Do not work one out yourself: ask the {prescriber} for both doses in {units}."
        ),
    ),
    "ready mixture": (ReadyMixture, READY_MIXTURE),
    "no time": (
        NoTime,
        sentence(
            "'{typed}' does not say when. A mixed dose goes with a meal: ask the {prescriber} for the time, before which meal or at what time on the clock."
        ),
    ),
    "another day": (
        OtherDay,
        sentence(
            "'{typed}' says on which day, and this lab does not know what day it is. On a ward you compare it with today's date and give nothing before that day; ask the {prescriber} if it may be meant for now."
        ),
    ),
    "condition": (
        HasCondition,
        sentence(
            "'{typed}' is a condition, and this lab does not work with it. On a ward you keep it beside the dose and check it against the reading at the bedside before you give anything; ask the {prescriber} if it is not clear."
        ),
    ),
    "a scale": (
        NoFixedDose,
        sentence(
            "'{typed}' is a line of a scale: the dose depends on the glucose, and this lab does not choose it. On a ward you measure first, read the line for that reading, and have it checked as the policy says; ask the {prescriber} which doses are fixed."
        ),
    ),
    "not to give": (
        NotToGive,
        sentence(
            "'{typed}' tells you not to give it, and this lab prepares only a dose that is to be given. Draw nothing up: read the {chart} again, tell the nurse in charge, and ask the {prescriber} which dose is meant and for how long."
        ),
    ),
    "apart": (
        KeptApart,
        sentence(
            "'{typed}' keeps the two insulins apart, and this lab prepares them in one syringe. On a ward you do as the order says: two syringes and two injections, each checked by itself. Do not mix them."
        ),
    ),
}


def _not_prepared_here(written: WrittenOrder) -> Iterator[OrderError]:
    for phrase in (
        *written.of("not to give", "apart"),
        *written.of("other route", "other strength", "no fixed dose", "a scale"),
        *written.of("ready mixture", "another day", "condition", "no time"),
    ):
        error, wrong = _NOT_PREPARED_HERE[phrase.kind]
        typed = written.typed(phrase)
        yield error(
            wrong.filled(typed=" ".join(typed.split()) if "\n" in typed or "  " in typed else typed), place=phrase.place
        )


def _two_numbers(written: WrittenOrder) -> Iterator[OrderError]:
    for phrase in written.of("range", "comma", "two numbers", "half clock", "half of the day"):
        quoted, place = written.typed(phrase), phrase.place
        if phrase.kind == "half of the day":
            doubt = sentence("'{typed}' does not say whether afternoon or evening.", typed=quoted)
            yield ambiguous(doubt, (sentence("in the afternoon"), sentence("in the evening")), place)
            continue
        if phrase.kind == "half clock":
            hour, minute = (*re.findall(r"[0-9]+", phrase.text), "00")[:2]
            early, late = int(hour) % 12, int(hour) % 12 + 12
            yield ambiguous(
                sentence("'{typed}' does not say which half of the day.", typed=quoted),
                (
                    sentence("at {clock}", clock=f"{early:02}:{minute}"),
                    sentence("at {clock}", clock=f"{late:02}:{minute}"),
                ),
                place,
            )
            continue
        if phrase.kind == "comma":
            whole, rest = re.findall(r"[0-9]+", phrase.text)
            numbers: list[int | float] = [float(f"{whole}.{rest}"), int(whole + rest)]
            doubt = sentence("The comma in '{typed}' can be a decimal comma or none.", typed=quoted)
        else:
            numbers = numbers_in(phrase.text)
            if "/" in phrase.text and numbers[-1]:
                numbers = [numbers[0] / numbers[-1], *numbers]
            doubt = sentence("'{typed}' gives two numbers for one dose.", typed=quoted)
        readings = tuple(units_text(number) for number in dict.fromkeys(numbers))
        if len(readings) > 1:
            yield ambiguous(doubt, readings, place)
        else:
            yield CannotRead(
                sentence("'{typed}' is not a plain dose. Ask the {prescriber} to write one number.", typed=quoted),
                place=place,
            )


_NOT_IN_UNITS = sentence(
    "'{typed}' is not a dose in {units}. Insulin is ordered in {units}: ask the {prescriber}; never convert it yourself."
)
_NOT_UNDERSTOOD = sentence("'{typed}' is not understood. Check the spelling, or ask the {prescriber} what is meant.")
_NOT_A_DOSE = {
    "number": sentence(
        "'{typed}' is not a dose: it has no unit. Ask the {prescriber} to write the word 'units'; never add it yourself."
    ),
    "torn": sentence(
        "'{typed}' is torn apart by the end of a line, and half of it could be read alone. Ask the {prescriber} to write the number and its unit on one line."
    ),
    "volume": _NOT_IN_UNITS,
    "other unit": _NOT_IN_UNITS,
    "figures": sentence(
        "'{typed}' is not a dose this lab can be sure of. Write each dose as a plain number and the word units, for example '8 units'; if the order itself is written so, ask the {prescriber}."
    ),
    "minutes": sentence(
        "'{typed}' does not fit a time this lab can be sure of. Ask the {prescriber} to write one time, for example '30 minutes before breakfast'."
    ),
}


_COULD_BE_A_CLOCK = re.compile(r"([01]?[0-9]|2[0-3])[.:]?([0-5][0-9])")
_A_CLOCK = sentence(
    "'{typed}' has no unit: it could be a dose or a clock time. Ask the {prescriber}; a time is written 'at {clock}', and a dose with the word 'units'."
)


def _not_understood(written: WrittenOrder) -> Iterator[OrderError]:
    """Refuse unknown words and numbers that are no dose, by their place."""
    runs = unknown_runs(written)
    for start, end in runs:
        quoted = written.text[start:end] if end - start <= 40 else f"{written.text[start : start + 40]} …"
        slip = slip_in(quoted, (start, end))
        if slip:
            yield slip
            continue
        why = _NOT_A_DOSE["figures"] if any(letter.isdigit() for letter in quoted) else _NOT_UNDERSTOOD
        yield CannotRead(why.filled(typed=quoted), place=(start, end))
    for phrase in written.of(*_NOT_A_DOSE):
        place = _with_what_is_glued(written, phrase)
        typed = " ".join(written.text[slice(*place)].split())
        message = _NOT_A_DOSE[phrase.kind].filled(typed=typed)
        clock = _COULD_BE_A_CLOCK.fullmatch(phrase.text)
        if clock:
            message = _A_CLOCK.filled(typed=typed, clock=f"{int(clock[1]):02}:{clock[2]}")
        if written.unsafe(phrase) or any(start <= phrase.start < end for start, end in runs):
            continue
        if phrase.kind == "number":
            yield MissingPart(message, part="unit", place=place)
        else:
            yield (NotInUnits if phrase.kind in ("volume", "other unit") else CannotRead)(message, place=place)


def _with_what_is_glued(written: WrittenOrder, phrase: Phrase) -> tuple[int, int]:
    """Return the place of figures together with the sign before them, as in ',5'."""
    before = re.search(r"[^\w\s]*\Z", written.plain[: phrase.start]) if phrase.kind == "figures" else None
    return (before.start() if before else phrase.start), phrase.end
