"""The page that a policy owner signs: what a nurse does differently, what is less strict first, each with its reason."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import count
from typing import TYPE_CHECKING

from mixlab.ward.site.keys import A_LOW, THE_DOSE, THE_LINES
from mixlab.ward.site.record import Site
from mixlab.words import plural, say

from .changes import ChangedStretch, stretches
from .keys import KeyChange, key_words, reason_words
from .listings.decisions import asked, questions
from .telling import grouped, how_much_less_strict, nothing_else, places_words, words_of

if TYPE_CHECKING:
    from .comparison import SiteComparison

ROOM, WIDTH = 52, 100
"""Lines of a printed page, and letters of a line."""


@dataclass(frozen=True, kw_only=True)
class DifferingRule:
    """One rule that differs, or None for answers that no single key turns, and the answers that turn, less strict first."""

    change: KeyChange | None
    turns: tuple[ChangedStretch, ...]

    @property
    def less_strict(self) -> int:
        """How much less strict the second ward is here: 0 where it is not."""
        by_answers = max((how_much_less_strict(one.before, one.after) for one in self.turns), default=0)
        return max(by_answers, int(self.change is not None and self.change.less_strict))

    def lines(self, most: int | None) -> tuple[str, ...]:
        """Return the rule with its reason, and for each way in which answers turn where they do; `most` places each."""
        first = say("Several rules together") if self.change is None else key_words(self.change)
        if self.change is not None and (self.change.reason or self.less_strict):
            first = say("{rule} ({reason})", rule=first, reason=reason_words(self.change))
        ways: dict[tuple[object, object], list[ChangedStretch]] = {}
        for turn in self.turns:
            ways.setdefault((turn.before, turn.after), []).append(turn)
        return (first, *(_turned(both, turns, most) for both, turns in ways.items()))


def _turned(both: tuple[object, object], turns: list[ChangedStretch], most: int | None) -> str:
    before, after = map(words_of, both)
    return say("{before} → {after}: {places}", before=before, after=after, places=places_words(turns, most))


def rows_of(comparison: SiteComparison) -> tuple[DifferingRule, ...]:
    """Return what a nurse does differently, rule by rule, what is less strict first."""
    doing = {change.key.name: change for change in comparison.keys if not change.only_words}
    turned: dict[str, list[ChangedStretch]] = {name: [] for name in doing}
    cause = _Cause(comparison.before, comparison.after, doing.values())
    for stretch in stretches(comparison.of("decisions").changed):
        turned.setdefault(cause.of(stretch), []).append(stretch)
    rows = (DifferingRule(change=doing.get(name), turns=_less_strict_first(turns)) for name, turns in turned.items())
    return tuple(sorted(rows, key=lambda row: row.less_strict, reverse=True))


def _less_strict_first(turns: Iterable[ChangedStretch]) -> tuple[ChangedStretch, ...]:
    return tuple(sorted(turns, key=lambda one: how_much_less_strict(one.before, one.after), reverse=True))


class _Cause:
    """Which key turns an answer: tried by changing one key at a time, on the first site and then back on the second."""

    def __init__(self, before: Site, after: Site, changes: Iterable[KeyChange]) -> None:
        keys = [one.key for one in changes if one.key.heading in (THE_LINES, A_LOW, THE_DOSE)]
        self._alone = {key.name: key.put(before, key.of(after)) for key in keys}
        self._without = {key.name: key.put(after, key.of(before)) for key in keys}

    def of(self, turn: ChangedStretch) -> str:
        """Return the name of the key: the one that turns it alone, else one without which it stays; empty for none."""
        found = questions()[turn.first].found
        alone = (name for name, site in self._alone.items() if asked(site, found).choice == turn.after)
        needed = (name for name, site in self._without.items() if asked(site, found).choice != turn.after)
        return next(alone, None) or next(needed, "")


@dataclass(frozen=True, kw_only=True)
class Page:
    """The page that is signed: headings, each with its rules, then notes and the proof, and a line for name and date.

    Of a rule the first line names it, and the others say which answers turn.
    """

    title: str
    sections: tuple[tuple[str, tuple[tuple[str, ...], ...]], ...]
    notes: tuple[str, ...]
    signature: str

    def lines(self) -> Iterator[str]:
        """Yield the page line by line, as it is printed."""
        yield self.title
        numbers = count(1)
        for heading, rows in self.sections:
            yield heading
            for first, *more in rows:
                yield f"  {next(numbers)}. {first}"
                yield from (f"     {line}" for line in more)
        yield from self.notes
        yield self.signature

    @property
    def height(self) -> int:
        """How many printed lines it takes."""
        return sum(1 + max(len(line) - 1, 0) // WIDTH for line in self.lines())


def page_of(comparison: SiteComparison) -> Page:
    """Return the page, as full as it has room: places fall away first, then rules that are not less strict are counted.

    What is less strict is never left out; where that alone is more than a page holds, it runs on to the next one.
    """
    rows = rows_of(comparison)
    less = [row for row in rows if row.less_strict]
    sizes = [(len(rows), 4), (len(rows), 1), *((told, 1) for told in range(len(rows) - 1, len(less) - 1, -1))]
    pages = (_page(comparison, less, rows[len(less) : told], len(rows) - told, most) for told, most in sizes)
    return next((page for page in pages if page.height <= ROOM), None) or _page(
        comparison, less, (), len(rows) - len(less), 1
    )


def _page(
    comparison: SiteComparison, less: Sequence[DifferingRule], others: Sequence[DifferingRule], untold: int, most: int
) -> Page:
    before, after = comparison.before.name, comparison.after.name
    told = [row.lines(most) for row in others]
    if untold:
        more = plural(
            untold, "{count} more rule, in the whole list", "{count} more rules, in the whole list", count=untold
        )
        told.append((more,))
    sections = (
        (say("Less strict on {ward} (read these first):", ward=after), tuple(row.lines(most) for row in less)),
        (say("Other differences from {ward}:", ward=before), tuple(told)),
    )
    return Page(
        title=say("From {before} to {after}: what a nurse is taught to do differently", before=before, after=after),
        sections=tuple((heading, rows) for heading, rows in sections if rows),
        notes=tuple(_notes(comparison, any(row.change and not row.change.reason for row in others))),
        signature=say(
            "Read and compared with our written policy.  Name: ____________________________  Date: ________________"
        ),
    )


def _notes(comparison: SiteComparison, without_reason: bool) -> Iterator[str]:
    if not comparison.keys and not comparison.differing:
        yield say("Nothing: the two sites are the same in every key and in everything that is generated.")
    if without_reason:
        yield say("Where no reason stands beside a rule, the site file records none.")
    words = [key_words(change) for change in comparison.keys if change.only_words and change.key.name != "name"]
    if words:
        yield say("Only called or written otherwise: {words}.", words="; ".join(words))
    if comparison.differing:
        yield say(
            "Of {all} answers, steps, times, pictures and texts that learners meet {count} differ: the whole list names them.",
            all=grouped(sum(changes.of for changes in comparison.kinds)),
            count=grouped(sum(changes.count for changes in comparison.kinds)),
        )
    yield nothing_else(comparison)
    yield say("For teaching only: this page changes no policy and allows no dose.")
