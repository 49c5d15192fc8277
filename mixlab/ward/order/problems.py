"""Everything that keeps a text from being read as an order, each as the error that would be raised."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from itertools import pairwise, takewhile
from typing import cast

from mixlab.quantities import exact_units, units_text
from mixlab.ward.insulin import Insulin
from mixlab.words import sentence

from .notation import WrittenOrder, look_over
from .order import CannotRead, MissingPart, OrderError, ReadyMixture
from .times import TIMES, says_all, time_problems
from .tokens import Phrase
from .unreadable import READY_MIXTURE, ambiguous, unread

LONGEST_TEXT = 500
"""More letters than an order for two insulins needs."""

_NUMBERS = ("dose", "torn", "two numbers", "range", "comma", "volume", "other unit", "number", "figures")


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
    yield from _disagreeing(written)
    yield from _said_twice(written)
    yield from time_problems(written)


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
    names = len(written.of("insulin")) + len(written.stands_for("insulin"))
    ready = [phrase for phrase in written.of("insulin") if _insulin_of(phrase).row.group == "premixed"]
    if names == 1 and ready:
        yield ReadyMixture(READY_MIXTURE.filled(typed=written.typed(ready[0])), place=ready[0].place)
        return
    if names < 2:
        yield MissingPart(_NAMES_FOUND[names], part="insulin")
    elif names > 2:
        wrong = sentence(
            "{count} insulin names found; this lab prepares two insulins in one syringe. Ask the {prescriber} which two are meant, and write each once."
        )
        yield CannotRead(wrong.filled(count=names))
    if names < 2 and written.of("ready mixture"):
        return
    doses = len(written.of(*_NUMBERS)) + len(written.stands_for("dose"))
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
    first, between, second = (_break(written, a, b) for a, b in pairwise(items))
    inside = max(first, second)
    bound = any(items[1].start < of.start < items[2].start for of in written.of("of"))  # '8 units of NPH'
    if beside and not bound and (not inside or inside < between):
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
        "Each dose has to stand beside its own insulin. Here a comma, a line end or a word such as 'and' or 'of' parts them as strongly as it parts one dose from the other."
    )
    yield ambiguous(doubt, readings, (items[0].start, items[-1].end))


_LITTLE, _WORD, _STOP, _LINE, _EMPTY_LINE = 1, 2, 3, 4, 5
"""How strongly two parts are kept apart: by a bracket or a time, by a comma or 'and', by a stop, by a line, by an empty line."""


def _break(written: WrittenOrder, one: Phrase, other: Phrase) -> int:
    """Return how strongly two phrases are kept apart by what stands between them; 0 for not at all."""
    strongest = 0
    for at, phrase in enumerate(written.phrases):
        if not one.end <= phrase.start < other.start:
            continue
        if phrase.kind == "line":
            strength = _EMPTY_LINE if phrase.text.count("\n") > 1 else _LINE
        elif phrase.kind == "bullet":
            strength = _EMPTY_LINE
        elif phrase.text == "(":
            inner = list(takewhile(lambda it: it.text != ")", written.phrases[at + 1 :]))
            beside = ("filler", "look", "strength")
            strength = 0 if all(it is other or it.kind in beside for it in inner) else _WORD  # 'regular (8 units)'
        elif phrase.text == ")":
            strength = 0
        elif phrase.kind == "break":
            strength = _STOP if phrase.text.strip() in (";", ".", "..") else _WORD
        else:
            strength = _LITTLE if phrase.kind in ("dash", "route", "how often", "course", "place", *TIMES) else 0
        strongest = max(strongest, strength)
    return strongest


def _disagreeing(written: WrittenOrder) -> Iterator[OrderError]:
    """Refuse a total that is not the sum of the doses, and a look or kind that is not that of the insulin beside it."""
    doses = written.of("dose")
    for phrase in written.of("total") if len(doses) == 2 else ():
        its, whole = (cast(float, dose.value) for dose in doses), cast(float, phrase.value)
        added = exact_units(sum(map(Fraction, its)))
        if added != whole:
            doubt = sentence(
                "The order says {whole} in all, and its two doses are {added} in all.",
                whole=units_text(whole),
                added=units_text(added),
            )
            readings = (units_text(whole), units_text(added))
            yield ambiguous(doubt, readings, phrase.place)
    for phrase in written.of("look"):
        if phrase.text not in {word for it in _beside(written, phrase) for word in (it.look, it.row.group)}:
            wrong = sentence(
                "'{typed}' does not fit the insulin beside it. Ask the {prescriber} which insulin is meant."
            )
            yield CannotRead(wrong.filled(typed=written.typed(phrase)), place=phrase.place)


def _beside(written: WrittenOrder, phrase: Phrase) -> list[Insulin]:
    """Return the insulins that a word stands beside, with only a bracket, a filler or another such word between."""
    at = written.phrases.index(phrase)
    sides = (reversed(written.phrases[:at]), iter(written.phrases[at + 1 :]))
    first = (
        next((it for it in side if it.kind not in ("filler", "look") and it.text not in "()"), None) for side in sides
    )
    return [_insulin_of(it) for it in first if it is not None and it.kind == "insulin"]


def _insulin_of(phrase: Phrase) -> Insulin:
    return cast(Insulin, phrase.value)


def _said_twice(written: WrittenOrder) -> Iterator[OrderError]:
    """Refuse two routes, and a time that may be meant for one of the insulins only."""
    items = written.of("insulin", "dose")
    for kind in ("route", "how often"):
        found = written.of(kind)
        if len(found) > 1:
            yield says_all(written, found)
    for phrase in written.of(*TIMES, "how often"):
        if items and items[0].start < phrase.start < items[-1].start:
            said = " ".join(written.typed(phrase).split())
            readings = (
                sentence("both insulins {time}", time=said),
                sentence("only the first insulin {time}", time=said),
            )
            yield ambiguous(sentence("'{typed}' stands between the two doses.", typed=said), readings, phrase.place)
