"""Slips of the pen: a word that is nearly a known one, or holds a letter that only looks like one of ours.

Such a word is never taken for the known one. Words for numbers are not among those compared: nobody is told a dose.
"""

from __future__ import annotations

import re
import unicodedata
from functools import cache

from mixlab.ward.insulin import insulins
from mixlab.words import joined, sentence

from .notation import WrittenOrder
from .order import CannotRead, Misspelt
from .patterns import WORTH
from .time_words import words_for_times

_SLIP = sentence("'{typed}' is not understood. Did the {prescriber} mean {meant}? Do not guess: ask.")
_OTHER_ALPHABET = sentence(
    "'{typed}' holds a letter of another alphabet ({name}) that looks like one of ours. What you see may not be what is read: type the order again."
)

_OTHER_WORDS = ("unit", "units", "subcut", "subcutaneous", "subcutaneously", "before", "meal", "meals", "minutes")
_SHORTEST = 4
"""Letters of a word before a slip in it is told; an insulin's short name is told from three."""


@cache
def _known() -> tuple[tuple[str, bool], ...]:
    """Return each known word, and whether it is of an insulin's name."""
    names = {word for it in insulins().values() for name in (it.row.name, *it.row.also_called) for word in name.split()}
    names = {word.lower() for word in names if word.isalpha()}
    others = {word for phrase in words_for_times() for word in phrase.split()} | set(_OTHER_WORDS)
    return tuple((word, word in names) for word in sorted(names | others))


def words_meant(word: str) -> tuple[str, ...]:
    """Return the known words that are one slip away: a letter left out, put in, changed, or two letters exchanged.

    A known word has none, and neither has a word for a number.

    Examples
    --------
    >>> words_meant("regualr"), words_meant("brekfast"), words_meant("metformin")
    (('regular',), ('breakfast',), ())
    """
    typed = re.sub(r"[^\w]+", "", word).lower()
    if typed in WORTH or any(typed == known for known, _ in _known()):
        return ()
    least = (_SHORTEST, _SHORTEST - 1)
    return tuple(
        known.upper() if known == "nph" else known
        for known, is_name in _known()
        if min(len(typed), len(known)) >= least[is_name] and _one_slip(typed, known)
    )


def slip_in(quoted: str, place: tuple[int, int]) -> CannotRead | None:
    """Return the refusal of words that are not understood, if one of them is a slip or holds a letter of another alphabet."""
    if foreign := other_alphabet(quoted):
        return CannotRead(_OTHER_ALPHABET.filled(typed=quoted, name=foreign), place=place)
    for word in quoted.split():
        if known := words_meant(word):
            meant = joined((sentence("'{one}'", one=one) for one in known), sentence(" or "))
            return Misspelt(_SLIP.filled(typed=word, meant=meant), meant=meant, place=place)
    return None


def _one_slip(one: str, other: str) -> bool:
    short, long = sorted((one, other), key=len)
    if len(long) - len(short) > 1 or short == long:
        return False
    same = next((at for at, (a, b) in enumerate(zip(short, long, strict=False)) if a != b), len(short))
    if len(short) < len(long):
        return short[same:] == long[same + 1 :]
    exchanged = short[same + 1 : same + 2] + short[same : same + 1] + short[same + 2 :]
    return short[same + 1 :] == long[same + 1 :] or exchanged == long[same:]


def other_alphabet(text: str) -> str:
    """Return the name of the first letter of another alphabet among plain letters, or nothing.

    Examples
    --------
    >>> other_alphabet("r\u0435gular"), other_alphabet("regular")
    ('cyrillic small letter ie', '')
    """
    if text.isascii() or not re.search("[A-Za-z]", text):
        return ""
    names = (unicodedata.name(letter, "").lower() for letter in text if letter.isalpha() and not letter.isascii())
    return next((name for name in names if not name.startswith("latin")), "")


_UNIT = ("international", "unit", "units")


def unknown_runs(written: WrittenOrder) -> list[tuple[int, int]]:
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
