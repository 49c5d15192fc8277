"""What is seen in a written order before anything is concluded from it: its phrases and its unsafe ways of writing.

Which ways of writing are unsafe stands in `facts/notation.toml`, each with its pattern and what it was taken for.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cache, cached_property, lru_cache

from mixlab.facts.order_rows import NotationRow
from mixlab.facts.reading import the_facts
from mixlab.words import Sentence

from .time_words import time_of_day
from .tokens import Phrase, PieceOfText, lower, phrases, plain_letters


@dataclass(frozen=True, kw_only=True)
class Writing(PieceOfText):
    """One way of writing that has been misread, at one place of a text."""

    key: str
    row: NotationRow

    @property
    def write(self) -> Sentence:
        """What to write instead; a number with a needless or a missing zero is given as it should stand."""
        if "{" not in self.row.write.key:
            return self.row.write
        whole, _, rest = self.text.partition(".")
        rest = rest.rstrip("0")
        right = (whole.lstrip("0") or "0") + ("." if rest else "") + rest
        return self.row.write.filled(right=right, wrong=self.text)


@cache
def _patterns() -> tuple[tuple[str, NotationRow, re.Pattern[str]], ...]:
    return tuple((key, row, re.compile(row.pattern)) for key, row in the_facts().notation.items())


def writings(line: str) -> Iterator[Writing]:
    """Yield every unsafe way of writing in a plain text, kind by kind, each wherever it stands.

    Two kinds may lie over each other: ``"8.0U"`` has a zero after the point and a bare letter for units.
    """
    for key, row, pattern in _patterns():
        for match in pattern.finditer(line):
            yield Writing(key=key, row=row, start=match.start(), end=match.end(), text=match.group())


@dataclass(frozen=True, kw_only=True)
class WrittenOrder:
    """A text with its phrases and its unsafe ways of writing, before anything is concluded from them."""

    text: str
    plain: str
    phrases: tuple[Phrase, ...]
    writings: tuple[Writing, ...]

    def of(self, *kinds: str) -> list[Phrase]:
        """Return the phrases of these kinds, by place."""
        if len(kinds) == 1:
            return list(self._by_kind.get(kinds[0], ()))
        if self._by_kind.keys().isdisjoint(kinds):
            return []
        return [phrase for phrase in self.phrases if phrase.kind in kinds]

    @cached_property
    def _by_kind(self) -> dict[str, list[Phrase]]:
        found: dict[str, list[Phrase]] = {}
        for phrase in self.phrases:
            found.setdefault(phrase.kind, []).append(phrase)
        return found

    def typed(self, phrase: Phrase) -> str:
        """Return a phrase as it was typed."""
        return self.text[phrase.start : phrase.end]

    def stands_for(self, part: str) -> list[Writing]:
        """Return the unsafe ways of writing that were meant to give this part of an order."""
        return [writing for writing in self.writings if part in writing.row.stands_for]

    def unsafe(self, phrase: Phrase) -> bool:
        """Say whether an unsafe way of writing that stops the reading lies over this phrase."""
        return bool(self._stops) and any(start < phrase.end and phrase.start < end for start, end in self._stops)

    @cached_property
    def _stops(self) -> list[tuple[int, int]]:
        return [writing.place for writing in self.writings if writing.row.stops]


@lru_cache(maxsize=64)
def look_over(text: str) -> WrittenOrder:
    """Find the phrases and the unsafe ways of writing in a text of any length."""
    line = plain_letters(text)
    found = _which_half(_numbered_list(_one_name_for_one_insulin(list(phrases(lower(line))), line)))
    clocks = [it.place for it in found if it.kind in ("clock", "half clock")]
    seen = (
        writing
        for writing in writings(line)
        if not any(start <= writing.start and writing.end <= end for start, end in clocks)  # 'at 7.30' is no zero
    )
    return WrittenOrder(text=text, plain=line, phrases=tuple(found), writings=tuple(seen))


def _which_half(found: list[Phrase]) -> list[Phrase]:
    """Let a part of the day beside a clock time say which half of the day is meant: 'at 7:30 in the evening'."""
    kept = list(found)
    for at, phrase in enumerate(found):
        if phrase.kind != "half clock":
            continue
        beside = [it for it in found[max(at - 1, 0) : at + 2] if it.kind == "part of the day"]
        day = time_of_day(beside[0].text) if len(beside) == 1 else None
        hour, minute = (*re.findall(r"[0-9]+", phrase.text), "00")[:2]
        faces = [f"{int(hour) % 12 + late:02}:{minute}" for late in (0, 12)]
        fitting = [face for face in faces if day and day.holds(face)]
        if len(fitting) == 1:
            kept[at] = replace(phrase, kind="clock", text=f"at {fitting[0]}")
    return kept


def _numbered_list(found: list[Phrase]) -> list[Phrase]:
    """Take lines numbered 1, 2 and so on, or a) and b), for a list; any other number before a line stays a number."""
    items = [phrase.text[0] for phrase in found if phrase.kind == "item"]
    if not items:
        return found
    listed = len(items) > 1 and ("".join(items) in ("123456789"[: len(items)], "abcd"[: len(items)]))
    other = "number" if items[0].isdigit() else "unknown"
    return [replace(it, kind="bullet" if listed else other) if it.kind == "item" else it for it in found]


def _one_name_for_one_insulin(found: list[Phrase], line: str) -> list[Phrase]:
    """Take 'isophane (NPH) insulin' for one name."""
    kept: list[Phrase] = []
    last: Phrase | None = None
    for phrase in found:
        if phrase.kind == "insulin":
            if last is not None and last.value is phrase.value:
                between = lower(line[last.end : phrase.start]).replace("insulin", "").strip()
                if between == "(" and line[phrase.end :].lstrip()[:1] == ")":
                    phrase = Phrase(kind="filler", start=phrase.start, end=phrase.end, text=phrase.text)
            if phrase.kind == "insulin":
                last = phrase
        kept.append(phrase)
    return kept
