"""Words in a site file: names, terms and what a unit is called."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from mixlab.facts.reading import the_facts
from mixlab.files.faults import shown
from mixlab.quantities import GlucoseUnit
from mixlab.ward.site.faults import is_plain_text
from mixlab.words import Sentence, sentence

from .kind import Kind, refusal


@dataclass(frozen=True, kw_only=True)
class Words(Kind):
    """A text of the ward's own."""

    longest: int = 40

    def read(self, written: object, old: str, tables: Mapping[str, Any]) -> str:
        if not is_plain_text(written, self.longest):
            wrong = sentence("{written} cannot stand in a sentence", written=shown(written))
            raise refusal(wrong, sentence("write {allowed}", allowed=self.allowed("mg/dL")))
        return str(written)

    def allowed(self, measure: GlucoseUnit) -> Sentence:
        return sentence(
            "1 to {longest} characters on one line, without braces or other marks of markup", longest=self.longest
        )


def is_english(language: object) -> bool:
    """Say whether a tag of a language, as a site file names it, is one of English."""
    return str(language).split("-")[0] == "en"


@dataclass(frozen=True, kw_only=True)
class Term(Words):
    """What the ward calls somebody or something; sentences put their own article before it."""

    def read(self, written: object, old: str, tables: Mapping[str, Any]) -> str:
        term = super().read(written, old, tables)
        if any(each.isdigit() for each in term):
            wrong = sentence("{written} has a digit, which could be taken for a dose", written=shown(term))
            raise refusal(wrong, sentence("write it without digits"))
        if is_english(tables.get("language", "en")) and term.split()[0].casefold() in ("a", "an", "the"):
            wrong = sentence("{written} begins with an article, and the sentences have their own", written=shown(term))
            raise refusal(wrong, sentence("write it without a, an or the"))
        return term

    def allowed(self, measure: GlucoseUnit) -> Sentence:
        return sentence(
            "1 to {longest} characters on one line, without an article, digits, braces or other marks of markup",
            longest=self.longest,
        )


UNIT_WORDS = (("unit", "units"), ("international unit", "international units"))
"""The words for one unit and for several, in English."""


@dataclass(frozen=True, kw_only=True)
class UnitWord(Words):
    """The word for one unit, or for several, in full; in English one of a closed list."""

    several: bool = False
    shortest: int = 4

    @property
    def words(self) -> tuple[str, ...]:
        """The English words that are allowed here."""
        return tuple(pair[self.several] for pair in UNIT_WORDS)

    def read(self, written: object, old: str, tables: Mapping[str, Any]) -> str:
        english = is_english(tables.get("language", "en"))
        whole = isinstance(written, str) and len(written) >= self.shortest and written.replace(" ", "").isalpha()
        if not whole or not is_plain_text(written, self.longest):
            misread = sentence(
                "{written} is not the word in full, and a short form has been misread as a number",
                written=shown(written),
            )
            allowed = pairs_of_unit_words() if english else sentence("write {allowed}", allowed=self.allowed("mg/dL"))
            raise refusal(misread, allowed)
        if english and written not in self.words:
            small = str(written).casefold()
            wrong = sentence("{written} is not a unit that a U-100 syringe shows")
            if small in self.words:
                wrong = sentence("{written} is not written in small letters")
            elif small in (pair[not self.several] for pair in UNIT_WORDS):
                wrong = (
                    sentence("{written} is the word for one")
                    if self.several
                    else sentence("{written} is the word for several")
                )
            raise refusal(wrong.filled(written=shown(written)), pairs_of_unit_words())
        return str(written)

    def allowed(self, measure: GlucoseUnit) -> Sentence:
        first, second = self.words
        return sentence(
            'the word in full, never one or two letters; in English "{first}" or "{second}"', first=first, second=second
        )


def pairs_of_unit_words() -> Sentence:
    """Return which words for units go together."""
    return sentence('write "unit" and "units", or "international unit" and "international units"')


@dataclass(frozen=True)
class InsulinName(Kind):
    """A generic name of one insulin, one that an order is read by and that says that it is an insulin."""

    insulin: str

    def choices(self) -> tuple[str, ...]:
        """Return every name of the insulin that ends in "insulin"."""
        row = the_facts().insulins[self.insulin]
        return tuple(name for name in (row.name, *row.also_called) if name.casefold().endswith(" insulin"))

    def read(self, written: object, old: str, tables: Mapping[str, Any]) -> str:
        if not isinstance(written, str) or written.casefold() not in map(str.casefold, self.choices()):
            wrong = sentence("{written} is no generic name of this insulin in full", written=shown(written))
            raise refusal(wrong, sentence("write one of {names}", names=self.allowed("mg/dL")))
        return written
