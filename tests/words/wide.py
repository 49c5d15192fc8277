"""A language made for tests in which every letter of the catalogue is a full-width one, and the tables of other tests.

In it a plain letter has not gone through the catalogue, not even where it stands inside a sentence that has: `pseudo` cannot
see that, for its brackets hide what was put into a sentence.
"""

import re
import runpy
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from functools import cache
from pathlib import Path

from pseudo import bare_words, every_site_speaks

from mixlab.adapting.catalogue import messages
from mixlab.words import Catalogue, Voice, catalogue, voice

LANGUAGE = "x-wide"


class _Wide(Mapping[str, tuple[str, ...]]):
    def __init__(self) -> None:
        self.known = {one.sentence: (one.sentence, one.many) for one in messages()}

    def __getitem__(self, sentence: str) -> tuple[str, ...]:
        return tuple(_wide(form) for form in self.known[sentence] if form)

    def __iter__(self) -> Iterator[str]:
        return iter(self.known)

    def __len__(self) -> int:
        return len(self.known)


def _wide(form: str) -> str:
    return re.sub(r"{[^{}]*}|[A-Za-z]", lambda it: it[0] if it[0][0] == "{" else chr(ord(it[0]) + 0xFEE0), form)


@cache
def _catalogue() -> Catalogue:
    return Catalogue(language=LANGUAGE, said=_Wide(), form=lambda number: 0 if number == 1 else 1)


@contextmanager
def in_wide_letters() -> Iterator[Voice]:
    """Say everything in full-width letters meanwhile; the voice knows which sentences it was asked for."""
    look_up = catalogue.catalogue
    voice.catalogue = lambda language: _catalogue() if language == LANGUAGE else look_up(language)
    speaker = Voice(language=LANGUAGE)
    try:
        with every_site_speaks(speaker):
            yield speaker
    finally:
        voice.catalogue = look_up


def bare(text: str, *data: str) -> list[str]:
    """Return the bare words of a text that is no markup: `<` and `>` are signs in it."""
    return bare_words(_no_tags(text), *map(_no_tags, data))


def plain_words(text: str, *data: str) -> list[str]:
    """Return the words of a text in plain letters; citations, symbols of units and `data` do not count."""
    return re.findall(r"[A-Za-z]{2,}", " ".join(bare(text, *data)))


def _no_tags(text: str) -> str:
    return text.replace("<", "~").replace(">", "~")


def asked(speaker: Voice) -> frozenset[str]:
    """Return the sentences that were said by a voice."""
    return frozenset(sentence for sentence, *_ in speaker._prepared)


def sentences_of(*modules: str) -> set[str]:
    """Return the sentences of the catalogue that stand in these modules."""
    return {one.sentence for one in messages() if one.where.partition(":")[0] in modules}


@cache
def tables(file: str) -> dict[str, object]:
    """Return everything that another test file defines, such as its tables of refusals."""
    return runpy.run_path(str(Path(__file__).parents[1] / file))


def cases(file: str, test: str) -> list[tuple[object, ...]]:
    """Return the rows with which a parametrized test of another file is called."""
    (mark,) = [mark for mark in tables(file)[test].pytestmark if mark.name == "parametrize"]
    return [row if isinstance(row, tuple) else (row,) for row in mark.args[1]]
