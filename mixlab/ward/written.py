"""What is seen in a written order before anything is concluded from it: its phrases and its unsafe ways of writing."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache, lru_cache

from ..facts.record import NotationRow
from ..facts.shelf import shelf
from .phrases import Phrase, lower, phrases, plain


@dataclass(frozen=True, kw_only=True)
class Writing:
    """One way of writing that has been misread, at one place of a text."""

    key: str
    row: NotationRow
    start: int
    end: int


@cache
def _patterns() -> tuple[tuple[str, NotationRow, re.Pattern[str]], ...]:
    return tuple((key, row, re.compile(row.pattern)) for key, row in shelf().notation.items())


def writings(line: str) -> Iterator[Writing]:
    """Yield every unsafe way of writing in a plain text, kind by kind, each wherever it stands.

    Two kinds may lie over each other: ``"8.0U"`` has a zero after the point and a bare letter for units.
    """
    for key, row, pattern in _patterns():
        for match in pattern.finditer(line):
            yield Writing(key=key, row=row, start=match.start(), end=match.end())


@dataclass(frozen=True, kw_only=True)
class Written:
    """A text with its phrases and its unsafe ways of writing, before anything is concluded from them."""

    text: str
    plain: str
    phrases: tuple[Phrase, ...]
    writings: tuple[Writing, ...]

    def of(self, *kinds: str) -> list[Phrase]:
        """Return the phrases of these kinds, by place."""
        return [phrase for phrase in self.phrases if phrase.kind in kinds]

    def typed(self, phrase: Phrase) -> str:
        """Return a phrase as it was typed."""
        return self.text[phrase.start : phrase.end]

    def stands_for(self, part: str) -> list[Writing]:
        """Return the unsafe ways of writing that were meant to give this part of an order."""
        return [writing for writing in self.writings if part in writing.row.stands_for]

    def unsafe(self, phrase: Phrase) -> bool:
        """Say whether an unsafe way of writing that stops the reading lies over this phrase."""
        return bool(self.writings) and any(
            w.row.stops and w.start < phrase.end and phrase.start < w.end for w in self.writings
        )


@lru_cache(maxsize=64)
def look_over(text: str) -> Written:
    """Find the phrases and the unsafe ways of writing in a text of any length."""
    line = plain(text)
    found = _one_name_for_one_insulin(list(phrases(lower(line))), line)
    return Written(text=text, plain=line, phrases=tuple(found), writings=tuple(writings(line)))


def _one_name_for_one_insulin(found: list[Phrase], line: str) -> list[Phrase]:
    """Take 'isophane (NPH) insulin' for one name."""
    kept: list[Phrase] = []
    for phrase in found:
        insulins = [earlier for earlier in kept if earlier.kind == "insulin"]
        if phrase.kind == "insulin" and insulins and insulins[-1].value is phrase.value:
            between = lower(line[insulins[-1].end : phrase.start]).replace("insulin", "").strip()
            if between == "(" and line[phrase.end :].lstrip()[:1] == ")":
                phrase = Phrase(kind="filler", start=phrase.start, end=phrase.end, text=phrase.text)
        kept.append(phrase)
    return kept
