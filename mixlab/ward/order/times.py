"""The times of an order judged together: clock, meal, part of the day and how often."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import combinations, pairwise

from mixlab.words import Sentence, sentence

from .notation import WrittenOrder
from .order import Ambiguous, CannotRead, OrderError, TimesContradict
from .time_words import every_meal, time_of_day
from .tokens import Phrase, clock_time, numbers_in
from .unreadable import ambiguous, between

TIMES = ("when", "meal", "clock", "half clock", "part of the day")
"""Kinds of phrases that say at what time of a day."""

_KINDS_OF_TIME = (("when", "meal"), ("clock", "half clock"), ("part of the day",))


def moments(written: WrittenOrder) -> tuple[tuple[Phrase, ...], ...]:
    """Return the times of an order, those of one moment together; the word 'and' between two times begins another moment.

    A meal after 'and' takes the word before the meal of the moment before: 'before breakfast and supper'.
    """
    found: list[list[Phrase]] = []
    for phrase in written.of(*TIMES):
        if found and _joined_by_and(written, found[-1][-1], phrase):
            relation = next((it.text for it in found[-1] if it.kind == "when"), "")
            word = re.search(r"\b(?:before|after|with|at)\b", relation)
            if phrase.kind == "meal" and word:
                phrase = replace(phrase, kind="when", text=f"{word.group()} {phrase.text}")
            found.append([phrase])
        elif found:
            found[-1].append(phrase)
        else:
            found.append([phrase])
    return tuple(map(tuple, found))


def _joined_by_and(written: WrittenOrder, one: Phrase, other: Phrase) -> bool:
    between_them = [it for it in written.phrases if one.end <= it.start < other.start]
    return any(it.text == "and" for it in between_them) and not any(
        it.kind in ("insulin", "dose") for it in between_them
    )


def time_problems(written: WrittenOrder) -> Iterator[OrderError]:
    """Yield a refusal for everything about the times of an order that does not fit together."""
    groups = moments(written)
    if len(groups) > 2:
        yield says_all(written, [it for group in groups for it in group])
        return
    yield from _alone(written, groups)
    for group in groups:
        for kinds in _KINDS_OF_TIME:
            found = [phrase for phrase in group if phrase.kind in kinds]
            if len(found) > 1:
                yield says_all(written, found)
        yield from _apart(written, group)
    if len(groups) == 2 and not _two_moments(*groups):
        yield says_all(written, [*groups[0], *groups[1]])
    yield from _around(written)
    yield from _how_many(written, groups)


def says_all(written: WrittenOrder, found: Sequence[Phrase]) -> Ambiguous:
    """Return the refusal of what an order may say once and says several times.

    Parameters
    ----------
    written : WrittenOrder
        The order.
    found : sequence of Phrase
        What it says, by place.
    """
    said = [" ".join(written.typed(phrase).split()) for phrase in found]
    different: tuple[Sentence | str, ...] = tuple(dict.fromkeys(said))
    if len(different) == 1:
        different = (sentence("both insulins in one injection"),)
    doubt = sentence("The order says both {both}.", both=between(sentence(" and "), map(repr, said)))
    readings = (*different, sentence("each insulin in an injection of its own"))
    return ambiguous(doubt, readings, (found[0].start, found[-1].end))


def _alone(written: WrittenOrder, groups: tuple[tuple[Phrase, ...], ...]) -> Iterator[OrderError]:
    for phrase in (it for group in groups for it in group if it.kind == "meal" and not written.unsafe(it)):
        wrong = sentence(
            "'{typed}' does not say whether before, with or after. Ask the {prescriber} for the time in relation to it."
        )
        yield CannotRead(wrong.filled(typed=" ".join(written.typed(phrase).split())), place=phrase.place)


# Two times of one moment


def _apart(written: WrittenOrder, group: tuple[Phrase, ...]) -> Iterator[OrderError]:
    """Refuse times that are not the same time of day, such as 'before breakfast at 22:00'."""
    for one, other in combinations(group, 2):
        if not _fit(one, other):
            said = tuple(dict.fromkeys(" ".join(written.typed(it).split()) for it in (one, other)))
            times = between(sentence(" and "), map(repr, said))
            doubt = sentence("{times} are not the same time of day.", times=times)
            yield ambiguous(doubt, said, (one.start, other.end), TimesContradict)
            return


def _fit(one: Phrase, other: Phrase) -> bool:
    """Say whether two times of different kinds can be one time of day; two of one kind are told elsewhere."""
    if one.kind == other.kind or {one.kind, other.kind} & {"half clock", "meal"}:
        return True
    if every_meal(one.text) or every_meal(other.text):
        return False
    if other.kind == "clock":
        one, other = other, one
    its = time_of_day(other.text)
    if one.kind == "clock":
        return its is None or its.holds(clock_time(one.text))
    own = time_of_day(one.text)
    return own is None or its is None or own.fits(its)


# Two moments, and times on both sides of the doses


def _two_moments(one: tuple[Phrase, ...], other: tuple[Phrase, ...]) -> bool:
    """Say whether two groups of times can only be two different times of the day."""
    if any(every_meal(it.text) for it in (*one, *other)):
        return False
    for a in one:
        for b in other:
            if a.kind == b.kind == "clock" and clock_time(a.text) != clock_time(b.text):
                return True
            days = time_of_day(a.text), time_of_day(b.text)
            if a.kind == b.kind != "clock" and None not in days and days[0].words != days[1].words:  # type: ignore[union-attr]
                return True
            if a.kind != b.kind and not _fit(a, b):
                return True
    return False


_NOW = re.compile(r"\b(?:now|immediately)\Z")


def _around(written: WrittenOrder) -> Iterator[OrderError]:
    """Refuse a time before the first dose with another after the last, unless both can only be one moment."""
    items = written.of("insulin", "dose")
    now = [it for it in written.of("how often") if _NOW.search(it.text)]
    times = sorted((*written.of(*TIMES), *now), key=lambda it: it.start)
    for one, other in pairwise(times):
        around = bool(items) and one.start < items[0].start and items[-1].start < other.start
        parted = around and (one in now or other in now or one.kind == other.kind or not _fit(one, other))
        if parted or (_joined_by_and(written, one, other) and (one in now or other in now or around)):
            said = tuple(dict.fromkeys(" ".join(written.typed(it).split()) for it in (one, other)))
            readings = (
                *(sentence("both insulins {time}", time=time) for time in said),
                sentence("each insulin in an injection of its own"),
            )
            doubt = sentence(
                "The order has one time before the doses and another after them: {times}.",
                times=between(sentence(" and "), map(repr, said)),
            )
            yield ambiguous(doubt, readings, (one.start, other.end), TimesContradict)


# How often


_COUNTS = {"once": 1, "twice": 2, "two": 2, "2": 2, "three": 3, "3": 3, "four": 4, "4": 4}
_ONE_DAY = 24


def _how_many(written: WrittenOrder, groups: tuple[tuple[Phrase, ...], ...]) -> Iterator[OrderError]:
    """Refuse a number of doses a day that is not the number of the times."""
    said = [it for group in groups for it in group]
    for often in written.of("how often"):
        first, *_ = often.text.split()
        hours = numbers_in(often.text)[0] if often.text.endswith("hours") else None
        if hours is not None and (hours <= 0 or _ONE_DAY % hours):
            wrong = sentence(
                "'{typed}' is not an interval that can be given at the same times each day. Ask the {prescriber} how often it is to be given."
            )
            yield CannotRead(wrong.filled(typed=written.typed(often)), place=often.place)
            continue
        single = bool(_NOW.search(often.text)) or often.text.split()[-1] in ("once", "only")
        count = 1 if single else round(_ONE_DAY / hours) if hours else _COUNTS.get(first)
        if count is None or not said:
            continue
        fits = count > 1 if any(every_meal(it.text) for it in said) else count == len(groups)
        if any(it.kind == "when" and time_of_day(it.text) is None and not every_meal(it.text) for it in said):
            fits = True  # 'before a meal' names none
        if not fits:
            times = between(sentence(" and "), [repr(" ".join(written.typed(it).split())) for it in said])
            typed = " ".join(written.typed(often).split())
            doubt = sentence("'{often}' is not as often as {times}.", often=typed, times=times)
            place = (min(often.start, said[0].start), max(often.end, said[-1].end))
            yield ambiguous(
                doubt, (typed, between(sentence(" and "), [written.typed(it) for it in said])), place, TimesContradict
            )
