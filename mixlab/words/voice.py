"""Who speaks: the language, the terms and the way of writing numbers and dates of one site."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction
from functools import lru_cache

from .translations import DEFAULT_LANGUAGE, TERMS, Forms, catalogue

_TERM = re.compile("{(" + "|".join([*TERMS, *(name.capitalize() for name in TERMS)]) + ")}")

WORDLESS = re.compile(
    r"\{\w+\}|(?:[\W\d_]|\{(?!" + "|".join(rf"{name}\}}" for name in TERMS) + r")\w+\})*", re.IGNORECASE
)
"""A sentence with nothing to translate: one place alone, or marks and places, none of which is a term."""

_DECIMAL_MARK = {"point": "en", "comma": "de"}
"""How a site writes numbers, and a locale that writes them so."""


@dataclass(frozen=True, kw_only=True)
class Voice:
    """How one site speaks.

    Attributes
    ----------
    language : str
        The tag of a language that has a catalogue.
    terms : tuple of (str, str)
        What the site calls the things in `TERMS`; what is left out keeps the name it has in the language.
    numbers : {"point", "comma"}
        The decimal mark.
    dates : str
        How a date is written, as a CLDR pattern.
    """

    language: str = DEFAULT_LANGUAGE
    terms: tuple[tuple[str, str], ...] = ()
    numbers: str = "point"
    dates: str = "yyyy-MM-dd"
    _prepared: dict[Forms, Forms] = field(default_factory=dict, init=False, repr=False, compare=False)
    _hash: int = field(default=0, init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "_hash", hash((self.language, self.terms, self.numbers, self.dates)))

    def __hash__(self) -> int:
        """Return a number worked out once: what is remembered is remembered by voice."""
        return self._hash

    def term(self, name: str) -> str:
        """Return what the site calls one of `TERMS`."""
        return dict(self.terms).get(name) or catalogue(self.language).find(TERMS[name], (TERMS[name],))[0]

    def find(self, sentence: str, *others: str) -> Forms:
        """Return a sentence in every form it has, its terms filled in."""
        asked = (sentence, *others)
        forms = self._prepared.get(asked)
        if forms is None:
            found = catalogue(self.language).find(sentence, asked) if not WORDLESS.fullmatch(sentence) else asked
            forms = self._prepared[asked] = tuple(_TERM.sub(self._fill, form) for form in found)
        return forms

    def form(self, one: str, many: str, number: float) -> str:
        """Return the form of a sentence that a number asks for; a sentence without letters needs no catalogue."""
        if many:
            forms = self.find(one, many)
            return forms[min(catalogue(self.language).form(number), len(forms) - 1)]
        return self.find(one)[0]

    def _fill(self, place: re.Match[str]) -> str:
        name = place[1]
        term = self.term(name.lower())
        return f"{term[0].upper()}{term[1:]}" if name[0].isupper() else term


_plain = Voice()
_default: Voice | None = None
_ask_whose: Callable[[], Voice] = Voice
_speaking: ContextVar[Voice | None] = ContextVar("speaking", default=None)


def voice_now() -> Voice:
    """Return whose words are being said."""
    return _speaking.get() or _default or _first()


def _first() -> Voice:
    """Ask, before the first sentence, whose words are to be said; what is said meanwhile is plain."""
    with speaking(_plain):
        speak_by_default(_ask_whose())
    return _default or _plain


def ask_before_the_first_sentence(whose: Callable[[], Voice]) -> None:
    """Have it asked, before anything is said by nobody in particular, whose words those are."""
    global _ask_whose
    _ask_whose = whose


def speak_by_default(voice: Voice) -> None:
    """Let a voice say everything that nobody else is asked to say."""
    global _default  # the one place: it follows the site in force
    _default = voice


@contextmanager
def speaking(voice: Voice) -> Iterator[None]:
    """Say everything in these words meanwhile."""
    before = _speaking.set(voice)
    try:
        yield
    finally:
        _speaking.reset(before)


@lru_cache(maxsize=8)
def _decimal_mark(numbers: str) -> str:
    if numbers == "point":
        return "."
    from babel.numbers import get_decimal_symbol  # only where a site writes numbers in another way

    return get_decimal_symbol(_DECIMAL_MARK[numbers])


def decimal_text(value: float | Fraction) -> str:
    """Print a number safely, with the decimal mark of who speaks: no trailing zero, always a leading zero."""
    text = f"{float(value):.10g}"
    numbers = voice_now().numbers
    return text if numbers == "point" else text.replace(".", _decimal_mark(numbers))


def date_text(day: date) -> str:
    """Print a date as the site writes dates."""
    from babel.dates import format_date

    voice = voice_now()
    return format_date(day, voice.dates, locale=voice.language.replace("-", "_"))
