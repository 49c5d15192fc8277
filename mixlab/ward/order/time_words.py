"""The words for a time of the day, each with when it is meant: `facts/notation.toml` has them."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache

from mixlab.facts.order_rows import TimeWordRow
from mixlab.facts.reading import the_facts
from mixlab.quantities import MINUTES_A_DAY, read_clock

_AFTER_A_MEAL = 120
"""Minutes by which 'after' a meal may be later than before it."""

_ONE_THIRD = 1 / 3


@dataclass(frozen=True, kw_only=True)
class TimeOfDay:
    """From when to when a phrase such as 'before breakfast' or 'this evening' is meant, in minutes after midnight."""

    opens: int
    closes: int
    words: tuple[str, ...]

    def holds(self, face: str) -> bool:
        """Say whether a clock time can be meant."""
        return (read_clock(face).minutes - self.opens) % MINUTES_A_DAY < self.closes - self.opens

    def fits(self, other: TimeOfDay) -> bool:
        """Say whether a meal and a part of the day can be one time: they share a third of the shorter one."""
        days = (-MINUTES_A_DAY, 0, MINUTES_A_DAY)
        common = (min(self.closes, other.closes + day) - max(self.opens, other.opens + day) for day in days)
        return sum(max(0, minutes) for minutes in common) >= _ONE_THIRD * min(self._minutes, other._minutes)

    @property
    def _minutes(self) -> int:
        return self.closes - self.opens


@cache
def _words() -> tuple[tuple[re.Pattern[str], TimeWordRow], ...]:
    rows = the_facts().time_words.values()
    return tuple((re.compile(rf"\b{re.escape(word)}\b"), row) for row in rows for word in row.words)


def words_for_times() -> tuple[str, ...]:
    """Return every word for a time of the day."""
    return tuple(word for row in the_facts().time_words.values() for word in row.words)


def time_of_day(text: str) -> TimeOfDay | None:
    """Return when the words of a phrase are meant, or None where they name no time of the day.

    Examples
    --------
    >>> time_of_day("before breakfast").holds("07:30"), time_of_day("before breakfast").holds("19:30")
    (True, False)
    >>> time_of_day("before a meal") is None
    True
    """
    plain = " ".join(text.split())
    row = next((row for pattern, row in _words() if pattern.search(plain)), None)
    if row is None:
        return None
    opens = read_clock(row.opens)
    closes = opens.next(read_clock(row.closes)).minutes + _AFTER_A_MEAL * plain.startswith("after ")
    return TimeOfDay(opens=opens.minutes, closes=closes, words=row.words)


def every_meal(text: str) -> bool:
    """Say whether a phrase means each meal of the day."""
    return bool(re.search(r"\b(?:meals|mealtimes|(?:each|every) meal)\b", " ".join(text.split())))
