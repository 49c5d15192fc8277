"""A sentence as a value: what is meant, with the amounts, times and sentences inside it; it is said only at the edge.

``str`` says a sentence in the voice then in force. Until then it compares, hashes and pickles as what it means.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from string import Formatter
from typing import Any

from .translations import ENGLISH, places
from .voice import date_text, decimal_text, voice_now

_BEGINS = re.compile(r"(^|[.?!] )([^\W\d_])")


@dataclass(frozen=True, slots=True, repr=False)
class Sentence:
    """Something a learner can read, before anybody has said it.

    Attributes
    ----------
    key : str
        The sentence in English, with the names of its places in braces; the catalogue knows it by this text.
    values : tuple of (str, object)
        What stands in the places: numbers, glucose readings, clock times, dates, names, and other sentences.
    many : str
        The English sentence for a number other than one; empty where nothing is counted.
    number : float
        What is counted.
    capitals : bool
        Whether each sentence of it begins with a capital letter, whatever stands in its places.
    goes_on : bool
        Whether it goes on after the colon of another sentence. In English it then begins with a small letter; every other
        language keeps the letter that its translator wrote.
    """

    key: str
    values: tuple[tuple[str, object], ...] = ()
    many: str = ""
    number: float = 1
    capitals: bool = False
    goes_on: bool = False

    def filled(self, **values: object) -> Sentence:
        """Return the same sentence with more of its places filled."""
        return replace(self, values=tuple(sorted({**dict(self.values), **values}.items())))

    def filled_from(self, values: Mapping[str, object]) -> Sentence:
        """Return the same sentence with its places filled from values that many sentences share; it holds no others."""
        wanted = places(self.key) | places(self.many) if self.many else places(self.key)
        return self.filled(**{name: value for name, value in values.items() if name in wanted})

    def with_capitals(self) -> Sentence:
        """Return the same sentence, each sentence of it beginning with a capital letter."""
        return replace(self, capitals=True)

    def after_a_colon(self) -> Sentence:
        """Return the same sentence as it goes on after the colon of another one."""
        return replace(self, goes_on=True)

    def __str__(self) -> str:
        voice = voice_now()
        text = voice.form(self.key, self.many, self.number)
        if "{" in text:
            as_given = _places_with_a_format(text)
            text = text.format(**{n: v if n in as_given else _said(v) for n, v in self.values})
        if self.capitals:
            return _BEGINS.sub(lambda begins: begins[0].upper(), text)
        return f"{text[:1].lower()}{text[1:]}" if self.goes_on and voice.language in ENGLISH else text

    def __bool__(self) -> bool:
        """Return whether there is anything to say."""
        return bool(self.key)

    def __repr__(self) -> str:
        values = "".join(f", {name}={value!r}" for name, value in self.values)
        return (
            f"counted({self.number!r}, {self.key!r}, {self.many!r}{values})"
            if self.many
            else f"sentence({self.key!r}{values})"
        )

    @classmethod
    def __get_pydantic_core_schema__(cls, _source: Any, text: Callable[[Any], Any]) -> dict[str, Any]:
        """Let a text in a fact file become a sentence."""
        return {"type": "function-after", "function": {"type": "no-info", "function": cls}, "schema": text(str)}


def sentence(key: str | Sentence, /, **values: object) -> Sentence:
    """Return a sentence of the catalogue with its places filled.

    Parameters
    ----------
    key : str or Sentence
        The sentence in English, or one whose places are still to be filled.
    **values
        What stands in the places; the places of `TERMS` are filled in when the sentence is said.
    """
    return key.filled(**values) if isinstance(key, Sentence) else Sentence(key, tuple(sorted(values.items())))


def counted(number: float, one: str, many: str, /, **values: object) -> Sentence:
    """Return a sentence that takes the form which a number asks for, by the rules of the language it is said in.

    Parameters
    ----------
    number : float
        What is counted.
    one, many : str
        The sentence in English for one and for another number.
    **values
        What stands in the places.
    """
    return Sentence(one, tuple(sorted(values.items())), many, number)


def joined(parts: Iterable[object], by: str | Sentence = ", ") -> Sentence:
    """Return sentences, names and numbers one after the other.

    Parameters
    ----------
    parts : iterable
        What stands one after the other; without any, the result is empty.
    by : str or Sentence
        What stands between them: marks that need no translation, or a sentence such as ``sentence(" and ")``.
    """
    found = tuple(parts)
    if len(found) == 1 and isinstance(found[0], Sentence):
        return found[0]
    between, values = (by, ()) if isinstance(by, str) else ("{by}", (("by", by),))
    places = [f"part{at}" for at in range(len(found))]
    return Sentence(between.join(f"{{{place}}}" for place in places), (*zip(places, found, strict=True), *values))


def say(words: str | Sentence, /, **values: object) -> str:
    """Say a sentence in the words of who speaks: only figures, pages, panels and handouts do.

    Parameters
    ----------
    words : str or Sentence
        The sentence, or its English text.
    **values
        What stands in its places.

    Examples
    --------
    >>> say("Wait {minutes} minutes.", minutes=5)
    'Wait 5 minutes.'
    """
    return str(sentence(words, **values))


def plural(number: float, one: str, many: str, /, **values: object) -> str:
    """Say a sentence in the form that a number asks for.

    Parameters
    ----------
    number : float
        What is counted.
    one, many : str
        The sentence in English for one and for another number.
    **values
        What stands in the places.
    """
    return str(counted(number, one, many, **values))


@lru_cache(maxsize=8192)
def _places_with_a_format(template: str) -> frozenset[str]:
    """Return the places that say themselves how their value is printed, such as ``{value:g}``."""
    return frozenset(name for _, name, spec, conversion in Formatter().parse(template) if name and (spec or conversion))


def _said(value: object) -> object:
    """Print what stands in a place as the site writes it."""
    if isinstance(value, bool):
        return value
    if isinstance(value, Decimal):  # figures as a meter shows them: each one is kept
        return str(value).replace(".", decimal_text(0.5)[1])
    if isinstance(value, int | float | Fraction):
        return decimal_text(value)
    return date_text(value) if isinstance(value, date) else value
