"""Everything that keeps a text from being read as an order, each as the error that would be raised."""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import pairwise
from typing import cast

from mixlab.quantities import units_text
from mixlab.ward.insulin import Insulin
from mixlab.words import Sentence, sentence

from .notation import WrittenOrder, look_over
from .order import CannotRead, MissingPart, OrderError, ReadyMixture
from .tokens import Phrase, clock_time
from .unreadable import ambiguous, between, unread

LONGEST_TEXT = 500
"""More letters than an order for two insulins needs."""

SAID_ONCE = ("route", "when", "clock", "how often")
"""Kinds of phrases that an order may hold once."""

_TIMES = SAID_ONCE[1:]
_NUMBERS = ("dose", "two numbers", "range", "comma", "volume", "other unit", "number", "figures")


def find_problems(text: str) -> Iterator[OrderError]:
    """Yield everything that keeps a text from being read as an order, the gravest kind first."""
    if not isinstance(text, str):
        yield CannotRead(sentence("An order is a line of text. Type it as the {prescriber} wrote it."))
        return
    if len(text) > LONGEST_TEXT:
        yield CannotRead(sentence("This text is too long for an order of two insulins. Type the order alone."))
        return
    written = look_over(text)
    yield from unread(written)
    yield from _missing(written)
    yield from _which_dose(written)
    yield from _said_twice(written)
    yield from _times_apart(written)


_NAMES_FOUND = (
    sentence(
        "No insulin is named; this lab prepares two insulins in one syringe. Name both, each with its dose in {units}."
    ),
    sentence(
        "1 insulin name found; this lab prepares two insulins in one syringe. Name both, each with its dose in {units}."
    ),
)
_DOSES_FOUND = (
    sentence("No dose in {units} was found for two insulins. Each insulin needs its own dose, written like '8 units'."),
    sentence("1 dose found for two insulins. Each insulin needs its own dose, written like '8 units'."),
)


def _missing(written: WrittenOrder) -> Iterator[OrderError]:
    run_together = len(written.stands_for("insulin"))
    names = len(written.of("insulin")) + run_together
    ready = [phrase for phrase in written.of("insulin") if _insulin_of(phrase).row.group == "premixed"]
    if names == 1 and ready:
        wrong = sentence(
            "'{typed}' is a ready mixture. It is never mixed with another insulin: ask the {prescriber} what is meant."
        )
        yield ReadyMixture(wrong.filled(typed=written.typed(ready[0])), place=ready[0].place)
        return
    if names < 2:
        yield MissingPart(_NAMES_FOUND[names], part="insulin")
    elif names > 2:
        wrong = sentence(
            "{count} insulin names found; this lab prepares two insulins in one syringe. Ask the {prescriber} which two are meant, and write each once."
        )
        yield CannotRead(wrong.filled(count=names))
    doses = len(written.of(*_NUMBERS)) + run_together
    if doses < 2:
        yield MissingPart(_DOSES_FOUND[doses], part="dose")
    elif doses > 2 and doses == len(written.of("dose")):
        wrong = sentence(
            "{count} doses in {units} found for two insulins. Each insulin needs one dose: ask the {prescriber}."
        )
        yield CannotRead(wrong.filled(count=doses))


def _which_dose(written: WrittenOrder) -> Iterator[OrderError]:
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
    one, other = (_insulin_of(phrase).name for phrase in names)
    few, many = (units_text(cast(float, dose.value)) for dose in doses)
    readings = tuple(
        sentence("{one} {its_dose} and {other} {other_dose}", one=one, its_dose=its, other=other, other_dose=others)
        for its, others in ((few, many), (many, few))
    )
    if few == many:
        readings = (readings[0], sentence("one dose of {amount}, written twice", amount=few))
    doubt = sentence(
        "Each dose has to stand beside its own insulin, without a comma or a word such as 'and' or 'of' that joins it to the other one."
    )
    yield ambiguous(doubt, readings, (items[0].start, items[-1].end))


def _insulin_of(phrase: Phrase) -> Insulin:
    return cast(Insulin, phrase.value)


def _said_twice(written: WrittenOrder) -> Iterator[OrderError]:
    """Refuse two times or routes, and a time that may be meant for one of the insulins only."""
    items = written.of("insulin", "dose")
    for kind in SAID_ONCE:
        found = written.of(*(("when", "meal") if kind == "when" else (kind,)))
        place = (found[0].start, found[-1].end) if found else (0, 0)
        said = [" ".join(written.typed(phrase).split()) for phrase in found]
        if len(found) > 1:
            different: tuple[Sentence | str, ...] = tuple(dict.fromkeys(said))
            if len(different) == 1:
                different = (sentence("both insulins in one injection"),)
            readings = (*different, sentence("each insulin in an injection of its own"))
            both = between(sentence(" and "), map(repr, said))
            yield ambiguous(sentence("The order says both {both}.", both=both), readings, place)
        elif found and found[0].kind == "meal":
            if written.unsafe(found[0]):
                continue  # told with the short form that stands before it
            wrong = sentence(
                "'{typed}' does not say whether before, with or after. Ask the {prescriber} for the time in relation to it."
            )
            yield CannotRead(wrong.filled(typed=said[0]), place=place)
        elif kind in _TIMES and found and items and items[0].start < found[0].start < items[-1].start:
            readings = (
                sentence("both insulins {time}", time=said[0]),
                sentence("only the first insulin {time}", time=said[0]),
            )
            yield ambiguous(sentence("'{typed}' stands between the two doses.", typed=said[0]), readings, place)


_HALVES = (
    ("before noon", r"\b(?:breakfast|morning)\b"),
    ("after noon", r"\b(?:supper|dinner|evening|night|bedtime)\b"),
)


def _times_apart(written: WrittenOrder) -> Iterator[OrderError]:
    """Refuse times of both halves of the day for one dose, such as 'before breakfast at 22:00'."""
    found = [(phrase, half) for phrase in written.of("when", "clock", "how often") if (half := _half(phrase))]
    if len({half for _, half in found}) > 1 and len({phrase.kind for phrase, _ in found}) > 1:
        said = tuple(dict.fromkeys(" ".join(written.typed(phrase).split()) for phrase, _ in found))
        places = [phrase.place for phrase, _ in found]
        place = (min(start for start, _ in places), max(end for _, end in places))
        times = between(sentence(" and "), map(repr, said))
        yield ambiguous(sentence("{times} are not the same time of day.", times=times), said, place)


def _half(phrase: Phrase) -> str | None:
    """Say in which half of the day a time lies, if it says so."""
    if phrase.kind == "clock":
        clock = clock_time(phrase.text)
        return None if clock < "04:00" else _HALVES[clock >= "12:00"][0]  # after midnight is night as well as morning
    return next((half for half, words in _HALVES if re.search(words, phrase.text)), None)
