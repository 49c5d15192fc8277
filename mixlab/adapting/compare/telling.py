"""What differs between two sites, told: values, places on a scale, counts, the whole list and the proof."""

from __future__ import annotations

from collections.abc import Hashable, Iterator
from dataclasses import replace
from typing import TYPE_CHECKING, get_args

from mixlab.care.day.parts import Window
from mixlab.care.decision.answers import Choice
from mixlab.quantities import ClockTime, Glucose
from mixlab.words import Sentence, decimal_text, plural, say

from .changes import Change, ChangedStretch, KindChanges, differences, sentences_in, stretches, way
from .keys import key_words, reason_words

if TYPE_CHECKING:
    from .comparison import SiteComparison

MOST_PLACES = 3
"""Bedsides, doses or days that one line names off the decisions; the rest is counted."""

GIVEN = ("give", "give and report")


def how_much_less_strict(before: object, after: object) -> int:
    """Return 2 where a dose is given that was not, 1 where nobody is told or no low is treated any more, and else 0."""
    if after in GIVEN and before not in GIVEN:
        return 2
    return int((before, after) == ("give and report", "give") or (before == "hold and treat" and after != before))


def nothing_else(comparison: SiteComparison) -> str:
    """Say how much is the same on both sites."""
    total = sum(kind.same for kind in comparison.kinds)
    if not comparison.differing:
        return say("All {count} are the same on both, compared value by value.", count=grouped(total))
    return plural(
        total,
        "The other {count} is the same on both, compared value by value.",
        "The other {count} are the same on both, compared value by value.",
        count=grouped(total),
    )


def _proof_of(comparison: SiteComparison) -> str:
    """Say what is the same, and of what is wholly the same by which hash that can be checked."""
    whole = (kind for kind in comparison.kinds if not kind.count)
    names = ", ".join(f"{kind.kind.title} ({grouped(kind.same)}; {kind.same_sha256[:12]})" for kind in whole)
    nothing = nothing_else(comparison)
    return say("{nothing} Wholly the same (SHA-256): {names}.", nothing=nothing, names=names) if names else nothing


def kind_count_words(changes: KindChanges) -> str:
    """Say how many outputs of a kind differ, and of how many."""
    return plural(
        changes.count,
        "{title}: {count} of {all} differs",
        "{title}: {count} of {all} differ",
        title=changes.kind.title,
        count=grouped(changes.count),
        all=grouped(changes.of),
    )


def grouped(number: int) -> str:
    """Print a count in groups of three, with a narrow gap that no language takes for a decimal mark."""
    return f"{number:,}".replace(",", "\u202f")


def everything_of(comparison: SiteComparison) -> Iterator[tuple[str, tuple[str, ...]]]:
    """Yield all that differs: a heading, and a line for each thing; less strict answers first."""
    keys = (say("{rule} ({reason})", rule=key_words(one), reason=reason_words(one)) for one in comparison.keys)
    yield say("The site files"), tuple(keys)
    for changes in comparison.differing:
        yield kind_count_words(changes), tuple(_lines_of(changes))
    yield say("The proof"), (_proof_of(comparison),)


def _lines_of(changes: KindChanges) -> Iterator[str]:
    if changes.kind.shown:
        yield "; ".join(str(change.key) for change in changes.all_changes)
        return
    alike: dict[Hashable, list[Change]] = {}
    for change in changes.all_changes:
        for before, after in differences(change.before, change.after):
            found = alike.setdefault(way((before, after)), [])
            first = found[0] if found else Change(key=change.key, before=before, after=after)
            found.append(replace(first, key=change.key))
    ordered = sorted(alike.values(), key=lambda each: how_much_less_strict(each[0].before, each[0].after), reverse=True)
    most = None if changes.kind.name == "decisions" else MOST_PLACES
    for found in ordered:
        yield _difference(found[0], places_words(list(stretches(found)), most))


def _difference(change: Change, places: str) -> str:
    old, new = in_quotes(change.before), in_quotes(change.after)
    if change.before is None:
        return say("{places}: also {new}", places=places, new=new)
    if change.after is None:
        return say("{places}: no longer {old}", places=places, old=old)
    if old == new:
        return say("{places}: in another order", places=places)
    return say("{places}: {before} → {after}", places=places, before=old, after=new)


def place_words(stretch: ChangedStretch) -> str:
    """Say where something changes: from the first place of a scale to the last, and at which of its likes."""
    at = from_to(str(stretch.first.at), str(stretch.last.at)).removesuffix(".")
    where = [str(one) for one in stretch.where]
    if len(where) > MOST_PLACES:
        left = len(where) - MOST_PLACES
        where = [*where[:MOST_PLACES], plural(left, "and {count} more", "and {count} more", count=left)]
    return say("{at} ({where})", at=at, where="; ".join(where)) if where else at


def from_to(first: str, last: str) -> str:
    """Return two places on a scale as one stretch, with what both begin and end with said once: ``"70 to 71 mg/dL"``."""
    if first == last:
        return first
    one, other = first.split(" "), last.split(" ")
    room = min(len(one), len(other)) - 1
    head = next((at for at in range(room) if one[at] != other[at]), room)
    tail = next((at for at in range(room - head) if one[-1 - at] != other[-1 - at]), room - head)
    start, end = (" ".join(each[head : len(each) - tail]) for each in (one, other))
    return " ".join((*one[:head], say("{first} to {last}", first=start, last=end), *one[len(one) - tail :]))


def words_of(value: object) -> str:
    """Say a value: an answer as it is called, several times in a row, of a record its first sentence."""
    if isinstance(value, str):
        return say(value) if value in get_args(Choice) else value
    if isinstance(value, tuple):
        return ", ".join(map(words_of, value))
    if isinstance(value, int | float):
        return decimal_text(value)
    if value is None or isinstance(value, Sentence | Glucose | ClockTime | Window):
        return str(value or "")
    return str(next(sentences_in(value), ""))


def in_quotes(value: object) -> str:
    """Say a value, a whole sentence in its quotation marks."""
    words = words_of(value)
    return say("“{words}”", words=words) if words.endswith((".", ")", "?", "!")) else words


def places_words(turns: list[ChangedStretch], most: int | None) -> str:
    """Say where something changes; what lies beyond so many stretches is counted."""
    named = turns[:most]
    words = "; ".join(map(place_words, named))
    more = sum(one.count for one in turns[len(named) :])
    return (
        plural(more, "{places}; and {count} more", "{places}; and {count} more", places=words, count=more)
        if more
        else words
    )
