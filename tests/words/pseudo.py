"""A language made for tests: every sentence of the catalogue stands in brackets, and nothing else does.

What a learner can read in it without brackets has not gone through the catalogue.
"""

import re
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from functools import cache

from mixlab.adapting.catalogue import messages
from mixlab.facts.shelf import shelf
from mixlab.ward.site.record import Site
from mixlab.words import Catalogue, Voice, catalogue, speak_by_default, voice_now

LANGUAGE = "x-brackets"


class _Brackets(Mapping[str, tuple[str, ...]]):
    def __init__(self) -> None:
        self.known = {one.sentence: (one.sentence, one.many) for one in messages()}

    def __getitem__(self, sentence: str) -> tuple[str, ...]:
        return tuple(f"⟦{form}⟧" for form in self.known[sentence] if form)

    def __iter__(self) -> Iterator[str]:
        return iter(self.known)

    def __len__(self) -> int:
        return len(self.known)


@cache
def brackets() -> Catalogue:
    return Catalogue(language=LANGUAGE, said=_Brackets(), form=lambda number: 0 if number == 1 else 1)


@contextmanager
def in_brackets() -> Iterator[None]:
    """Say everything in brackets meanwhile."""
    with knowing_brackets(), every_site_speaks(Voice(language=LANGUAGE)):
        yield


@contextmanager
def knowing_brackets() -> Iterator[None]:
    """Let a voice speak in brackets meanwhile; nobody does so unasked."""
    look_up = catalogue.catalogue
    from mixlab.words import voice

    voice.catalogue = lambda language: brackets() if language == LANGUAGE else look_up(language)  # type: ignore[assignment]
    try:
        yield
    finally:
        voice.catalogue = look_up


@contextmanager
def every_site_speaks(speaker: Voice) -> Iterator[None]:
    """Let every site, and everything that nobody else says, speak in one voice meanwhile."""
    before, own = voice_now(), Site.__dict__["voice"]
    Site.voice = property(lambda site: speaker)  # type: ignore[assignment, method-assign]
    speak_by_default(speaker)
    try:
        yield
    finally:
        Site.voice = own  # type: ignore[method-assign]
        speak_by_default(before)


_SYMBOLS = re.compile(r"\b(?:mg/dL|mmol/L|mL|min|mU/L|pmol/L|kg|h|g|U-100|U-40|HI|LO|HbA1c|am|pm)\b")
_MARKUP = re.compile(r"<style.*?</style>|<[^>]*>|&\w+;", re.DOTALL)


def bare_words(text: str, *data: str) -> list[str]:
    """Return the words of a text that stand outside all brackets; citations, symbols of units and `data` do not count."""
    text = _MARKUP.sub(" ", text)
    while (shorter := re.sub(r"⟦[^⟦⟧]*⟧", " ", text)) != text:
        text = shorter
    if not _words(text):  # as it should be: what is known need not be looked for
        return []
    for known in sorted({*(str(source) for source in shelf().sources.values()), *data}, key=len, reverse=True):
        text = text.replace(known, " ")
    return _words(text)


def _words(text: str) -> list[str]:
    return re.findall(r"[^\W\d_]{2,}", _SYMBOLS.sub(" ", text))
