"""The phrases an order is made of, found one after another so that no part of a text is ever skipped.

A text is first made plain, letter for letter, so that every place in it is a place in the text as typed.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import cache, lru_cache

from ..quantities import exact_units
from .insulin import Insulin, insulins

INVISIBLE = "\u2060"
"""What an invisible character inside a word or a number is turned into."""

_LINE_ENDS = "\n\v\f\r\x1c\x1d\x1e\x85\u2028\u2029"

_ONES = ["one", "two", "three", "four", "five", "six", "seven", "eight", "nine"]
_TEENS = ["ten", "eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen"]
_TENS = ["twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"]
_WORTH = {
    "zero": 0,
    **{word: worth for worth, word in enumerate(_ONES + _TEENS, 1)},
    **{word: 10 * worth for worth, word in enumerate(_TENS, 2)},
}


_PLAIN_ASCII = {place: "\n" if chr(place) in _LINE_ENDS else " " for place in range(128) if chr(place).isspace()}


def plain(text: str) -> str:
    """Return a text of the same length with full-width forms, odd spaces and hyphens made plain.

    Nothing else is changed: a half sign stays one and never becomes figures. An invisible character inside a word or a
    number becomes `INVISIBLE`, anywhere else a space.
    """
    if text.isascii():
        return text.translate(_PLAIN_ASCII)
    made = "".join(map(_plain_character, text))
    return _HIDDEN_OUTSIDE.sub(lambda hidden: " " * len(hidden.group()), made)


_HIDDEN_OUTSIDE = re.compile(rf"(?:(?<=\s)|\A){INVISIBLE}+|{INVISIBLE}+(?=\s|\Z)")


@lru_cache(maxsize=4096)
def _plain_character(character: str) -> str:
    if "\uff01" <= character <= "\uff5e":
        return chr(ord(character) - 0xFEE0)
    if character in "\u2010\u2011":
        return "-"
    if character.isspace():
        return "\n" if character in _LINE_ENDS else " "
    return INVISIBLE if unicodedata.category(character) == "Cf" else character


def lower(text: str) -> str:
    """Return the text with its plain capital letters small; letters of other alphabets stay as they are."""
    return text.lower() if text.isascii() else "".join(c.lower() if c.isascii() else c for c in text)


@dataclass(frozen=True, kw_only=True, slots=True)
class Phrase:
    """One phrase of an order: its kind, its place, its text made plain and small.

    `value` is what a dose or an insulin stands for: units, or the insulin.
    """

    kind: str
    start: int
    end: int
    text: str
    value: Insulin | float | None = None


_BELOW_100 = rf"(?:(?:{'|'.join(_TENS)})(?:(?:-|\s+)(?:{'|'.join(_ONES)}))?|{'|'.join(_TEENS)}|{'|'.join(_ONES)})"
_WORDS = (
    rf"(?:(?:(?:(?:{'|'.join(_ONES)}|a)\s+thousand|(?:{'|'.join(_ONES)}|a)\s+hundred(?:\s+(?:and\s+)?{_BELOW_100})?"
    rf"|{_BELOW_100}|zero)\b(?:\s+and\s+a\s+half\b)?|half\s+an?\b)(?!-))"
)
_FIGURES = r"(?:(?:0|[1-9][0-9]{0,3})(?:\.[0-9]{0,3}[1-9])?(?![\w]))"
NUMBER = rf"(?:{_FIGURES}|{_WORDS})"
"""A number of units, in figures without a needless zero, or in words."""

_START = r"(?<![\w./+-])(?<![0-9],)"
_UNITS = r"\s+units?(?!\w)"
_MEAL = (
    r"(?:breakfast|lunch|dinner|supper|tea|the (?:morning|midday|evening) meal|bedtime|(?:a|the|each|every) meal|meals)"
)
_AMOUNT_OF_TIME = rf"(?:[1-9][0-9]?|{_WORDS}) ?(?:minutes|minute|mins|min|hours|hour)|half an hour|an hour"
_HALF_DAY = r"\s*[ap]\.?m\b\.?"
_NOT_UNITS = r"(?![\w:])(?!\s*units?\b)"
_AT_NUMBER = r"(?<![\w:.,/-])(?:\bat )?"
_DAY = r"(?:morning|afternoon|evening|night)"

# Kind, where it can begin, pattern; earlier rows go first. A phrase begins with a figure (9), a word (w) or a sign (.).
# In the patterns a space stands for any run of spaces, and a space with a question mark for a run that may be empty.
_ROWS = (
    ("line", ".", r"\s*\n\s*"),
    ("space", ".", r"\s+"),
    ("insulin", "9w", "{insulins}"),
    ("strength", "9w", r"(?<![\w-])(?:u-?100|100 units? ?(?:/|per) ?ml)(?![\w-])"),
    ("other strength", "9w", r"(?<![\w-])(?:u-?[0-9]+|[0-9]+ ?units? ?(?:/|per) ?ml)(?!\w)"),
    ("no fixed dose", "9", rf"{_START}{NUMBER} units? ?(?:/|per\b) ?\w+"),
    ("no fixed dose", "w", r"\b(?:(?:as )?(?:per|by|on)(?: an?| the)? )?(?:insulin )?sliding(?:[\s-]+scale)?\b"),
    (
        "no fixed dose",
        "w",
        r"\b(?:as )?(?:per|by|on|according to|depending on)(?: an?| the)? "
        r"(?:scale|protocol|algorithm|blood glucose|blood sugar|glucose|carbohydrates?|weight|response|need)\b",
    ),
    (
        "no fixed dose",
        "w",
        r"\b(?:as|when|if) (?:needed|required|directed|necessary)\b|(?<![\w.])p\.?r\.?n\b\.?|\bcorrection(?:al)?\b"
        r"|\b(?:supplemental|titrated?|adjust(?:ed)?|variable|(?:usual|same) dose)\b",
    ),
    ("two numbers", "9", rf"{_START}{NUMBER} ?\( ?{NUMBER}(?:{_UNITS})? ?\){_UNITS}"),
    ("two numbers", "9", rf"{_START}{NUMBER}{_UNITS} ?\( ?{NUMBER}(?:{_UNITS})? ?\)"),
    ("range", "9", rf"{_START}{NUMBER}(?:{_UNITS})? ?(?:-|–|—|/|\bto\b|\bor\b) ?{NUMBER}{_UNITS}"),
    ("range", "w", rf"\bbetween {NUMBER}(?:{_UNITS})? and {NUMBER}{_UNITS}"),
    ("comma", "9", rf"{_START}[0-9]{{1,4}},[0-9]{{1,3}}{_UNITS}"),
    ("when", "9", rf"(?<![\w.,/–-])(?:{_AMOUNT_OF_TIME}) (?:before|after) {_MEAL}\b"),
    ("when", "w", rf"(?<![\w.,/–-])(?:before|with|after|at) {_MEAL}\b"),
    ("clock", "9w", rf"{_AT_NUMBER}(?:1[0-2]|0?[1-9])(?:[:.][0-5][0-9])?{_HALF_DAY}{_NOT_UNITS}"),
    (
        "clock",
        "9w",
        rf"{_AT_NUMBER}(?:[01][0-9]|2[0-3]):[0-5][0-9](?: ?(?:hours|hrs|h)\b)?(?!{_HALF_DAY}){_NOT_UNITS}",
    ),
    ("clock", "w", rf"\bat (?:[01][0-9]|2[0-3])[0-5][0-9](?: ?(?:hours|hrs|h)\b)?(?![.,/-]){_NOT_UNITS}"),
    ("clock", "9w", rf"{_AT_NUMBER}(?:12 )?(?:noon|midnight)\b"),
    ("half clock", "9w", rf"{_AT_NUMBER}[1-9]:[0-5][0-9](?![.,/-][0-9]){_NOT_UNITS}"),
    ("half clock", "w", rf"\bat (?:1[0-2]|[1-9])(?![.,/-][0-9]){_NOT_UNITS}"),
    (
        "how often",
        "w",
        rf"\b(?:(?:once|twice) (?:daily|a day|every day)|daily|every day|each day)(?: in the {_DAY})?\b",
    ),
    ("how often", "w", rf"\bevery other day\b|\b(?:every|each|this|in the|tomorrow) {_DAY}\b|\bnightly\b"),
    ("how often", "w", rf"\bevery (?:[1-9][0-9]?|{_WORDS}) hours\b"),
    ("how often", "w", rf"\b(?:one dose only|once only|once)(?: (?:right now|now|today|tonight|this {_DAY}))?\b"),
    ("how often", "w", r"\b(?:right now|now|immediately|today|tonight|tomorrow)\b"),
    ("route", "w", r"\bsubcut\b\.?|\b(?:by )?subcutaneous(?:ly| injection)?\b|\bunder the skin\b"),
    (
        "other route",
        "w",
        r"(?<![\w.])(?:i\.?v\b\.?(?: (?:push|bolus|infusion|drip))?|ivp\b|i\.?m\b\.?|p\.?o\b\.?|s\.?l\b\.?)"
        r"|\b(?:intravenous(?:ly)?|intramuscular(?:ly)?|intradermal(?:ly)?|sublingual(?:ly)?|orally|inhaled|by mouth)\b"
        r"|\b(?:into (?:a|the) (?:vein|muscle)|under the tongue|(?:(?:by|as) )?(?:an )?infusion|(?:by|via) pump)\b",
    ),
    ("minutes", "9", r"[0-9][0-9.,–-]* ?(?:minutes|minute|mins|min|hours|hour)(?!\w)"),
    ("dose", "9", rf"{_START}{NUMBER}{_UNITS}"),
    ("volume", "9", rf"{_START}{NUMBER} ?(?:mls?|millilit(?:er|re)s?)(?!\w)"),
    (
        "other unit",
        "9",
        rf"{_START}{NUMBER} ?(?:mg|mcg|g|grams?|milligrams?|micrograms?|drops?|marks?|lines?|clicks?)(?!\w)",
    ),
    ("number", "9", rf"{_START}{NUMBER}(?![\w.,:/-]*[0-9])"),
    ("figures", "9", r"[0-9](?:[^\s;()]*[^\s;().,:])?"),
    ("meal", "w", rf"\b{_MEAL}\b"),
    ("of", "w", r"\bof\b"),
    ("break", "w.", r"\b(?:and|plus|then|with|mixed|mix|combined)\b|[,;+()]|\.{1,2}(?=\s|\Z)"),
    (
        "filler",
        "w.",
        r"\b(?:insulin|human|give|inject|administer|prepare|draw up|in (?:one|a single|the same) syringe|together"
        r"|strength|dose|please|order)\b|[:\"'“”‘’!]",
    ),
    ("bullet", ".", r"[-•*](?=\s+[a-z])"),
    ("unknown", "9w.", r"[\w'’-]*\w|\S"),
)

_BEGINNING = re.compile(r"[0-9]|[^\W\d_]+|")
_NUMBER_BEGINS = frozenset((*_WORTH, "a", "an", "half"))


@cache
def _lexicon() -> tuple[dict[str, tuple[re.Pattern[str], list[str]]], dict[str, Insulin]]:
    names = {name.lower(): it for it in insulins().values() for name in (it.name, *it.row.also_called)}
    longest_first = sorted(names, key=len, reverse=True)
    known = r"(?<![\w/-])(?:" + "|".join(re.escape(name).replace("\\ ", " ") for name in longest_first) + r")(?![\w/-])"
    found = {}
    for beginnings in ("9", "w", ".", "9w"):
        rows = [(kind, pattern) for kind, where, pattern in _ROWS if set(where) & set(beginnings)]
        joined = "|".join(f"({pattern.replace('{insulins}', known)})" for _, pattern in rows)
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
        What `plain` and `lower` return.
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
        if kind == "insulin":
            value = names[" ".join(text.split())]
        elif kind == "dose":
            value = numbers_in(text)[0]
        elif kind == "two numbers":
            numbers = numbers_in(text)
            kind, value = ("dose", numbers[0]) if len(set(numbers)) == 1 else (kind, None)
        elif kind == "bullet" and line[:start].rstrip(" ")[-1:] not in ("", "\n"):
            kind = "unknown"
        yield Phrase(kind=kind, start=start, end=place, text=text, value=value)


_ANY_NUMBER = re.compile(rf"\b{NUMBER}")


def numbers_in(text: str) -> list[int | float]:
    """Return the numbers of a phrase in figures or in words: 20 for ``"twenty units"``, 8.5 for ``"eight and a half"``."""
    return [_worth(match.group()) for match in _ANY_NUMBER.finditer(text)]


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
            worth += _WORTH.get(word, 0)
    return exact_units(worth)
