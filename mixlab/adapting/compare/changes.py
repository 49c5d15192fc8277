"""What differs between two lists of outputs, and neighbours on a scale that differ alike told as one stretch."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from difflib import SequenceMatcher
from functools import lru_cache
from hashlib import sha256
from html import unescape
from itertools import zip_longest

from .outputs import OutputKind, Point


@dataclass(frozen=True, kw_only=True)
class Change:
    """One output that is not the same on both sites.

    Attributes
    ----------
    key : str
        What it is; a `Point` where it stands on a scale.
    before, after : str or None
        What a learner sees on the first and on the second site; None where there is no such output.
    """

    key: str
    before: str | None
    after: str | None


@dataclass(frozen=True, kw_only=True)
class KindChanges:
    """Everything of one kind, compared.

    Attributes
    ----------
    changed, added, dropped : tuple of Change
        What differs, what only the second site has, and what only the first one has.
    same : int
        How many outputs are the same on both.
    same_sha256, before_sha256, after_sha256 : str
        Of what is the same, and of everything on each site, with the names.
    """

    kind: OutputKind
    changed: tuple[Change, ...]
    added: tuple[Change, ...]
    dropped: tuple[Change, ...]
    same: int
    same_sha256: str
    before_sha256: str
    after_sha256: str

    @property
    def all_changes(self) -> tuple[Change, ...]:
        """What differs in any way."""
        return (*self.added, *self.dropped, *self.changed)

    @property
    def count(self) -> int:
        """How many outputs differ in any way."""
        return len(self.changed) + len(self.added) + len(self.dropped)

    @property
    def of(self) -> int:
        """How many outputs there are, each counted once."""
        return self.count + self.same


def compare_outputs(kind: OutputKind, before: Mapping[str, str], after: Mapping[str, str]) -> KindChanges:
    """Compare everything of one kind on two sites."""
    same = {key: text for key, text in before.items() if after.get(key) == text}
    whole = fingerprint(same)
    one, other = (whole if len(same) == len(each) else fingerprint(each) for each in (before, after))
    return KindChanges(
        kind=kind,
        changed=tuple(
            Change(key=key, before=text, after=after[key])
            for key, text in before.items()
            if key in after and key not in same
        ),
        added=tuple(Change(key=key, before=None, after=text) for key, text in after.items() if key not in before),
        dropped=tuple(Change(key=key, before=text, after=None) for key, text in before.items() if key not in after),
        same=len(same),
        same_sha256=whole,
        before_sha256=one,
        after_sha256=other,
    )


def fingerprint(outputs: Mapping[str, str]) -> str:
    """Return the SHA-256 of outputs with their names, whatever their order."""
    parts = (part for item in sorted(outputs.items()) for part in item)
    return sha256("".join(f"{len(part)}:{part}" for part in parts).encode()).hexdigest()


Wording = tuple[str, str]
"""Words on the first site, and on the second in their place; empty where there are none."""

Swaps = tuple[Wording, ...]
"""What each of the two sites calls one and the same thing."""

LONGEST_WORDING = 90
LONGEST_SENTENCE = 320
_SHORT = 110


@dataclass(frozen=True, kw_only=True)
class Stretch:
    """What changes alike: neighbours on a scale, and the same on several scales; or one output that stands on none.

    Attributes
    ----------
    first, last : str
        Where it begins and ends; the same for one place alone.
    where : tuple of str
        The scales; empty off a scale.
    count : int
        How many outputs it stands for.
    wordings : tuple of Wording
        What differs: short texts as they are, and of longer ones the words that differ.
    examples : tuple of Wording
        For each of these the whole sentences, as the first of the outputs has them.
    """

    first: str
    last: str
    where: tuple[str, ...]
    count: int
    wordings: tuple[Wording, ...]
    examples: tuple[Wording, ...] = ()


def stretches(changes: Iterable[Change]) -> tuple[Stretch, ...]:
    """Join neighbours that change alike, and then scales with the same stretch."""
    runs: list[tuple[list[Change], tuple[Wording, ...]]] = []
    open_runs: dict[str, tuple[list[Change], tuple[Wording, ...]]] = {}
    for change in changes:
        wordings = difference(change)
        scale = change.key.where if isinstance(change.key, Point) else ""
        latest = open_runs.get(scale)
        if latest is not None and _goes_on(latest[0][-1].key, change.key) and latest[1] == wordings:
            latest[0].append(change)
        else:
            open_runs[scale] = ([change], wordings)
            runs.append(open_runs[scale])
    merged: dict[tuple[str, str, tuple[Wording, ...]], Stretch] = {}
    for run, wordings in runs:
        first, last = (one.key.at if isinstance(one.key, Point) else str(one.key) for one in (run[0], run[-1]))
        where = (run[0].key.where,) if isinstance(run[0].key, Point) and run[0].key.where else ()
        known = merged.get((first, last, wordings))
        merged[first, last, wordings] = Stretch(
            first=first,
            last=last,
            where=(*(known.where if known else ()), *where),
            count=len(run) + (known.count if known else 0),
            wordings=wordings,
            examples=known.examples if known else tuple(whole for _, whole in differences(run[0])),
        )
    return tuple(merged.values())


def _goes_on(one: str, other: str) -> bool:
    return (
        isinstance(one, Point)
        and isinstance(other, Point)
        and one.place is not None
        and (one.where, one.place + 1) == (other.where, other.place)
    )


def difference(change: Change) -> tuple[Wording, ...]:
    """Return what differs: short texts as they are, and of longer ones the words that differ."""
    return tuple(words for words, _ in differences(change))


def differences(change: Change) -> tuple[tuple[Wording, Wording], ...]:
    """Return what differs, each with the whole sentences in which it does."""
    before, after = change.before or "", change.after or ""
    if change.before is None or change.after is None:
        alone = opening(before), opening(after)
        return ((alone, alone),)
    if max(len(before), len(after)) <= _SHORT and "\n" not in before + after:
        return (((before, after), (before, after)),)
    return tuple({words: (words, whole) for words, whole in reversed(reworded(before, after))}.values())[::-1]


@lru_cache(maxsize=65536)
def reworded(before: str, after: str) -> tuple[tuple[Wording, Wording], ...]:
    """Return what differs in a text, sentence by sentence; a text whose order alone differs gives it whole."""
    pairs: list[tuple[Wording, Wording]] = []
    for aside in (False, True):  # what stands in brackets, mostly who says so, is matched with its like
        old, new = ([one for one in _sentences(text) if one.startswith("(") is aside] for text in (before, after))
        pairs += _matched(old, new)
    whole = shortened(before), shortened(after)
    return tuple(pairs) or ((whole, whole),)


def _matched(old: list[str], new: list[str]) -> Iterator[tuple[Wording, Wording]]:
    gone, come = [one for one in old if one not in new], [one for one in new if one not in old]
    if len(gone) == len(come):
        yield from (_with_whole(one, other) for one, other in zip(gone, come, strict=True))
        return
    for tag, start, end, other_start, other_end in SequenceMatcher(None, old, new, autojunk=False).get_opcodes():
        if tag != "equal":
            both = zip_longest(old[start:end], new[other_start:other_end], fillvalue="")
            yield from (_with_whole(one, other) for one, other in both)


def _with_whole(one: str, other: str) -> tuple[Wording, Wording]:
    return _difference(one, other), (shortened(one, LONGEST_SENTENCE), shortened(other, LONGEST_SENTENCE))


@lru_cache(maxsize=4096)
def _sentences(text: str) -> tuple[str, ...]:
    """Return the sentences of a text, and what stands in brackets as sentences of their own, brackets and all."""
    found: list[str] = []
    for line in unescape(_TAGS.sub("\n", text)).split("\n"):
        rest, asides = _apart(line) if "(" in line else (line, [])
        found += [part.strip() for part in (*_ENDS.split(rest), *asides) if _WORDS.search(part)]
    return tuple(found)


def _apart(line: str) -> tuple[str, list[str]]:
    """Return a line without what stands in brackets, and that; a line whose brackets do not close stays whole.

    A bracket right behind a letter or a number, as in a citation, belongs to its word.
    """
    rest, asides, depth, start, apart = "", [], 0, 0, False
    for at, sign in enumerate(line):
        if sign == "(":
            if not depth and (not at or line[at - 1] == " "):
                rest, start, apart = rest + line[start:at].rstrip(), at, True
            depth += 1
        elif sign == ")" and depth:
            depth -= 1
            if not depth and apart:
                asides.append(line[start : at + 1])
                start, apart = at + 1, False
    return (line, []) if depth else ((rest + line[start:]).replace("..", "."), asides)


_WORDS = re.compile(r"\w")
_TAGS = re.compile(r"</?[a-z][^>]*>")
_ENDS = re.compile(r"(?<=[.!?]) (?=[A-Z])")


def swapped(text: str, swaps: Swaps) -> str:
    """Return a text with the second site's names for things in place of the first site's; its own names stay."""
    if not swaps:
        return text
    pattern, names = _swapping(swaps)

    def other(found: re.Match[str]) -> str:
        name = names[found[0]]
        return _capital(name) if _BEGINS.search(text, max(found.start() - 2, 0), found.start()) else name

    return pattern.sub(other, text)


@lru_cache(maxsize=64)
def _swapping(swaps: Swaps) -> tuple[re.Pattern[str], dict[str, str]]:
    both = {**{new: new for _, new in swaps}, **dict(swaps)}
    names = {_capital(old): _capital(new) for old, new in both.items()} | both
    longest_first = sorted(names, key=len, reverse=True)
    return re.compile(rf"(?<!\w)(?:{'|'.join(map(re.escape, longest_first))})(?!\w)"), names


def _capital(name: str) -> str:
    return name[:1].upper() + name[1:]


_BEGINS = re.compile(r"(?:[.!?] |[\n>]|\A)\Z")


@lru_cache(maxsize=65536)
def _difference(one: str, other: str) -> Wording:
    """Return two sentences without the words they begin and end with alike, but one on either side."""
    old, new = one.split(" "), other.split(" ")
    if not one or not other:
        return shortened(one, LONGEST_WORDING), shortened(other, LONGEST_WORDING)
    head = next((at for at, (a, b) in enumerate(zip(old, new, strict=False)) if a != b), min(len(old), len(new)))
    room = min(len(old), len(new)) - head
    tail = next((at for at in range(room) if old[-1 - at] != new[-1 - at]), room)
    start, end = max(head - 1, 0), max(tail - 1, 0)
    words = (" ".join(each[start : len(each) - end]) for each in (old, new))
    first, second = (shortened(each, LONGEST_WORDING) for each in words)
    return first, second


def shortened(text: str, longest: int = _SHORT) -> str:
    """Return a text on one line, cut where it is long."""
    line = " ".join(text.split())
    return line if len(line) <= longest else f"{line[: longest - 2].rstrip()} …"


def opening(text: str) -> str:
    """Return how a text begins: as many whole sentences as have room, and one at least."""
    first, *rest = _ENDS.split(" ".join(text.split()))
    for sentence in rest:
        if len(first) + len(sentence) > _SHORT:
            return f"{first} …"
        first = f"{first} {sentence}"
    return first
