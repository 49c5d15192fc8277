"""The phrases an order is made of, found one after another so that no part of a text is ever skipped.

A text is first made plain, letter for letter, so that every place in it is a place in the text as typed.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import cache, lru_cache

from mixlab.quantities import exact_units
from mixlab.ward.insulin import Insulin, insulins

from .patterns import NUMBER, ROWS, WORTH

INVISIBLE = "\u2060"
"""What an invisible character inside a word or a number is turned into."""

_LINE_ENDS = "\n\v\f\r\x1c\x1d\x1e\x85\u2028\u2029"

_PLAIN_ASCII = {place: "\n" if chr(place) in _LINE_ENDS else " " for place in range(128) if chr(place).isspace()}


TURNS_THE_TEXT = re.compile("[\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069]")
"""Invisible characters that change the direction of writing, so that what is seen is not what is read."""


def plain_letters(text: str) -> str:
    """Return a text of the same length with full-width forms, odd spaces and hyphens made plain.

    Nothing else is changed: a half sign stays one and never becomes figures. An invisible character inside a word or a
    number becomes `INVISIBLE`, anywhere else a space.
    """
    if text.isascii():
        return text.translate(_PLAIN_ASCII)
    made = "".join(map(_plain_character, text))
    return _HIDDEN_OUTSIDE.sub(lambda hidden: " " * len(hidden.group()), made)


_HIDDEN_OUTSIDE = re.compile(rf"(?:(?<=\s)|\A){INVISIBLE}+|{INVISIBLE}+(?=\s|\Z)")


# Not every character of the category Cf: a few of them are signs that show, and such a sign is refused as unknown.
_CANNOT_BE_SEEN = re.compile(
    "[\u00ad\u061c\u180e\u200b-\u200f\u202a-\u202e\u2060-\u206f\ufeff\ufff9-\ufffb\U000e0001\U000e0020-\U000e007f]"
)


@lru_cache(maxsize=4096)
def _plain_character(character: str) -> str:
    if "\uff01" <= character <= "\uff5e":
        return chr(ord(character) - 0xFEE0)
    if character in "\u2010\u2011":
        return "-"
    if character.isspace():
        return "\n" if character in _LINE_ENDS else " "
    return INVISIBLE if _CANNOT_BE_SEEN.match(character) else character


def lower(text: str) -> str:
    """Return the text with its plain capital letters small; letters of other alphabets stay as they are."""
    return text.lower() if text.isascii() else "".join(c.lower() if c.isascii() else c for c in text)


@dataclass(frozen=True, kw_only=True, slots=True)
class PieceOfText:
    """A piece of a text made plain and small, and where it stands: from `start` up to `end`."""

    start: int
    end: int
    text: str

    @property
    def place(self) -> tuple[int, int]:
        """Where it stands in the text, from and up to."""
        return self.start, self.end


@dataclass(frozen=True, kw_only=True, slots=True)
class Phrase(PieceOfText):
    """One phrase of an order: its kind, and what a dose or an insulin stands for: units, or the insulin."""

    kind: str
    value: Insulin | float | None = None


_BEGINNING = re.compile(r"[0-9]|[^\W\d_]+|")
_NUMBER_BEGINS = frozenset((*WORTH, "a", "an", "half"))


@cache
def _lexicon() -> tuple[dict[str, tuple[re.Pattern[str], list[str]]], dict[str, Insulin]]:
    names = {name.lower(): it for it in insulins().values() for name in (it.row.name, *it.row.also_called)}
    longest_first = sorted(names, key=len, reverse=True)
    listed = "(?:" + "|".join(re.escape(name).replace("\\ ", " ") for name in longest_first) + r")(?![\w-])(?!/[0-9])"
    known = r"(?<![\w-])(?<![0-9]/)" + listed
    found = {}
    for beginnings in ("9", "w", ".", "9w"):
        rows = [(kind, pattern) for kind, where, pattern in ROWS if set(where) & set(beginnings)]
        joined = "|".join(f"({pattern.replace('{insulins}', known).replace('{names}', listed)})" for _, pattern in rows)
        spaced = joined.replace(" ?", r"\s*").replace(" ", r"\s+")
        found[beginnings] = re.compile(spaced), [kind for kind, _ in rows]
    return found, names


def _beginning(line: str, place: int) -> str:
    begins = _BEGINNING.match(line, place)
    first = begins.group() if begins else ""
    if not first:
        return "."
    return "9" if first[0].isdigit() else "9w" if first in _NUMBER_BEGINS else "w"


def phrases(line: str) -> Iterator[Phrase]:
    """Yield every phrase of a plain text, from its beginning to its end; spaces are left out and line ends kept.

    Parameters
    ----------
    line : str
        What `plain_letters` and `lower` return.
    """
    lexicon, names = _lexicon()
    place = 0
    while place < len(line):
        pattern, kinds = lexicon[_beginning(line, place)]
        match = pattern.match(line, place)
        assert match is not None
        assert match.lastindex is not None
        start, place = match.span()
        kind, text = kinds[match.lastindex - 1], match.group()
        if kind == "space":
            continue
        value: Insulin | float | None = None
        if kind == "short form":
            kind, text = in_words(text)
        if kind == "insulin":
            value = names[" ".join(text.split())]
        elif kind in ("dose", "total"):
            value = numbers_in(text)[0]
        elif kind == "two numbers":
            numbers = numbers_in(text)
            kind, value = ("dose", numbers[0]) if len(set(numbers)) == 1 else (kind, None)
        elif kind == "bullet" and not _begins_a_line(line, start):
            kind = "dash" if _DASH_BETWEEN_WORDS.match(line, start) else "unknown"
        elif kind == "item" and not _begins_a_line(line, start):
            kind, place, text = "number" if text[0].isdigit() else "unknown", start + 1, text[:1]
        yield Phrase(kind=kind, start=start, end=place, text=text, value=value)


_DASH_BETWEEN_WORDS = re.compile(r"(?<=[^\S\n])[-–—][^\S\n]")


def _begins_a_line(line: str, place: int) -> bool:
    return line[:place].rstrip(" ")[-1:] in ("", "\n")


_SHORT = {
    **dict.fromkeys(("bid", "bd"), ("how often", "two times a day")),
    **dict.fromkeys(("tid", "tds"), ("how often", "three times a day")),
    **dict.fromkeys(("qid", "qds"), ("how often", "four times a day")),
    "stat": ("how often", "now"),
    "mane": ("part of the day", "in the morning"),
    "nocte": ("part of the day", "at night"),
    "intheam": ("part of the day", "in the morning"),
    **dict.fromkeys(("qam", "everyam", "eacham"), ("part of the day", "every morning")),
    **dict.fromkeys(("qpm", "everypm", "eachpm", "inthepm"), ("half of the day", "")),
}


_BY_A_MEAL = re.compile(r"(?:(?P<amount>.*\S)\s+)?(?P<half>[ap])\.?c\b\.?\s*(?P<meal>\S.*)?", re.DOTALL)


def in_words(short: str) -> tuple[str, str]:
    """Return the kind and the words of a short form for a time: ``"two times a day"`` for ``"b.i.d."``."""
    meal = _BY_A_MEAL.fullmatch(short)
    if meal:
        amount = f"{meal['amount']} " if meal["amount"] else ""
        return "when", f"{amount}{'before' if meal['half'] == 'a' else 'after'} {meal['meal'] or 'meals'}"
    letters = re.sub(r"[.\s]", "", short)
    if letters in _SHORT:
        kind, words = _SHORT[letters]
        return kind, words or short
    return "how often", f"every {int(re.sub(r'[^0-9]', '', letters))} hours"


_ANY_NUMBER = re.compile(rf"\b{NUMBER}")


def numbers_in(text: str) -> list[int | float]:
    """Return the numbers of a phrase in figures or in words: 20 for ``"twenty units"``, 8.5 for ``"eight and a half"``."""
    return [_worth(match.group()) for match in _ANY_NUMBER.finditer(text)]


@lru_cache(maxsize=4096)
def _worth(number: str) -> int | float:
    if number[0].isdigit():
        return exact_units(float(number))
    worth = Fraction(0)
    for word in re.split(r"[-\s]+", number):
        if word in ("hundred", "thousand"):
            worth = max(worth, Fraction(1)) * (100 if word == "hundred" else 1000)
        elif word == "half":
            worth += Fraction(1, 2)
        else:
            worth += WORTH.get(word, 0)
    return exact_units(worth)


def clock_time(text: str) -> str:
    """Print a clock time on the 24-hour clock."""
    if "noon" in text or "mid" in text:
        return "00:00" if "midnight" in text else "12:00"
    figures = re.findall(r"[0-9]+", text)
    hour, minute = (figures[0][:2], figures[0][2:]) if len(figures[0]) == 4 else (*figures, "0")[:2]
    half = re.search(r"([ap])\.?m\b", text)
    late = 12 * (half[1] == "p") if half else 0
    return f"{(int(hour) % 12 if half else int(hour)) + late:02}:{int(minute):02}"
