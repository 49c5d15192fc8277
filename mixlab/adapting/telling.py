"""A comparison of two sites told in sentences, kind by kind, short enough for one page."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from ..quantities import Glucose
from ..words import decimal_text, plural, say
from .changes import KindChanges, Stretch, Wording, difference, stretches

LONGEST = 6
"""Lines that a kind gets on the page; the rest is counted and stays in the record."""

MOST_PLACES = 3
"""Bedsides, doses or days that one line names; the rest is counted."""


def counted(number: int) -> str:
    """Print a count in groups of three, with a narrow gap that no language takes for a decimal mark."""
    return f"{number:,}".replace(",", "\u202f")


def count_sentence(changes: KindChanges) -> str:
    """Say how many outputs of a kind differ, and of how many."""
    return plural(
        changes.count,
        "{title}: {count} of {all} differs; {same} are the same.",
        "{title}: {count} of {all} differ; {same} are the same.",
        title=say(changes.kind.title),
        count=counted(changes.count),
        all=counted(changes.of),
        same=counted(changes.same),
    )


def lines_of(changes: KindChanges, policies: tuple[str, ...] = (), longest: int = LONGEST) -> list[str]:
    """Return what differs in a kind, a line each; what has no room is counted.

    Parameters
    ----------
    changes : KindChanges
        The kind.
    policies : tuple of str
        How the two sites name a rule of their own: where nothing but who says so differs, it is told in one line.
    longest : int
        How many lines it may have.
    """
    told = (*changes.added, *changes.dropped) if changes.kind.wordy else changes.all_changes
    lines = list(_reworded(changes, policies)) if changes.kind.wordy else []
    others = 0
    for stretch in stretches(told):
        wordings = [one for one in stretch.wordings if not _names_a_policy(one, policies)]
        if wordings:
            lines.append(_stretch_line(stretch, wordings))
        else:
            others += stretch.count
    last = _other_source(others) if others else []
    if len(lines) + len(last) <= longest:
        return [*lines, *last]
    room = longest - 1 - len(last)
    more = len(lines) - room
    return [*lines[:room], plural(more, "… and {count} more", "… and {count} more", count=counted(more)), *last]


def _names_a_policy(wording: Wording, policies: tuple[str, ...]) -> bool:
    """Say whether two wordings differ only in who says so; beside that, `difference` leaves one word on either side."""
    if not all(wording) and len("".join(wording).split()) <= 2 and "".join(wording).startswith("("):
        return True  # the end of a citation
    return any(
        policy in words and len(words.replace(policy, " ").strip(" ().,;").split()) <= 2
        for policy in policies
        for words in wording
    )


def _other_source(count: int) -> list[str]:
    return [
        plural(
            count,
            "{count} text names another source of a rule",
            "{count} texts name another source of a rule",
            count=counted(count),
        )
    ]


def _reworded(changes: KindChanges, policies: tuple[str, ...]) -> Iterator[str]:
    """Tell which words stand in place of which, the most frequent first, each with one example of where they stand."""
    found: Counter[Wording] = Counter()
    example: dict[Wording, Wording] = {}
    others = 0
    for change in changes.changed:
        own = [one for one in difference(change) if not _names_a_policy(one, policies)]
        cores = {_core(one): one for one in own}
        found.update(cores.keys())
        example = cores | example
        others += not own
    for core, count in found.most_common():
        old, new = example[core]
        values = {"old": old, "new": new, "count": counted(count)}
        if not old:
            yield plural(count, "{count} text also says “{new}”", "{count} texts also say “{new}”", **values)
        elif not new:
            yield plural(count, "{count} text no longer says “{old}”", "{count} texts no longer say “{old}”", **values)
        elif count == 1:
            yield say("1 text: “{old}” → “{new}”", **values)
        else:
            yield plural(
                count,
                "{count} text, such as: “{old}” → “{new}”",
                "{count} texts, such as: “{old}” → “{new}”",
                **values,
            )
    if others:
        yield from _other_source(others)


def _core(wording: Wording) -> Wording:
    """Return two wordings without the word on either side that both share, and without what ends the sentence."""
    old, new = (words.rstrip(".,;:)").split() for words in wording)
    while len(old) > 1 and len(new) > 1 and old[0] == new[0]:
        old, new = old[1:], new[1:]
    while len(old) > 1 and len(new) > 1 and old[-1] == new[-1]:
        old, new = old[:-1], new[:-1]
    first, second = (" ".join(words).strip(".,;:()").casefold() for words in (old, new))
    return first, second


def _stretch_line(stretch: Stretch, wordings: list[Wording]) -> str:
    at = stretch.first
    if stretch.first != stretch.last:
        at = say("{first} to {last}", first=stretch.first, last=stretch.last)
    if stretch.where:
        at = say("{at} ({where})", at=at, where=_where(tuple(dict.fromkeys(stretch.where))))
    (old, new), *more = wordings
    if not old:
        return say("{at}: only on the second site: {after}", at=at, after=new)
    if not new:
        return say("{at}: only on the first site: {before}", at=at, before=old)
    rest = (
        plural(len(more), " (and {count} more change)", " (and {count} more changes)", count=len(more)) if more else ""
    )
    return say("{at}: {before} → {after}{rest}", at=at, before=say(old), after=say(new), rest=rest)


def _where(places: tuple[str, ...]) -> str:
    if len(places) <= MOST_PLACES:
        return "; ".join(places)
    left = len(places) - MOST_PLACES
    more = plural(left, "and {count} more", "and {count} more", count=left)
    return "; ".join((*places[:MOST_PLACES], more))


def plain_text(value: object) -> str:
    """Print the value of a site key for a reader: a glucose line in words, numbers and lists as they are written."""
    if isinstance(value, dict) and "comparison" in value:
        return say(
            "{comparison} {glucose}", comparison=value["comparison"], glucose=Glucose(value["value"], value["unit"])
        )
    if isinstance(value, dict):
        parts = [part for part in value.values() if part not in ("", [])]
        return " ".join(plain_text(part) for part in parts)
    if isinstance(value, list):
        return ", ".join(plain_text(part) for part in value) or say("none")
    if isinstance(value, bool) or not isinstance(value, int | float):
        return str(value)
    return decimal_text(value)


def two_values(before: object, after: object) -> str:
    """Return two values of a key; of two lists only what is not in both."""
    if isinstance(before, list) and isinstance(after, list) and before and after:
        gone, come = [one for one in before if one not in after], [one for one in after if one not in before]
        said = [say("no longer {gone}", gone=plain_text(gone))] if gone else []
        said += [say("also {come}", come=plain_text(come))] if come else []
        if said:
            return "; ".join(said)
    return say("{before} → {after}", before=plain_text(before), after=plain_text(after))
