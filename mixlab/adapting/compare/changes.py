"""What differs between two lists of outputs, the proof of what is the same, and neighbours on a scale that differ alike."""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Iterator, Mapping
from dataclasses import dataclass, fields, is_dataclass
from decimal import Decimal
from fractions import Fraction
from functools import cached_property, lru_cache
from hashlib import sha256
from typing import get_args

from mixlab.quantities import Glucose, GlucoseUnit
from mixlab.words import Sentence

from .outputs import OutputKind, Point


@dataclass(frozen=True, kw_only=True)
class Change:
    """One output that is not the same on both sites; None where a site has no such output."""

    key: Point
    before: object
    after: object


@dataclass(frozen=True, kw_only=True)
class KindChanges:
    """Everything of one kind on two sites, compared value by value."""

    kind: OutputKind
    before: Mapping[Point, object]
    after: Mapping[Point, object]

    @cached_property
    def all_changes(self) -> tuple[Change, ...]:
        """What differs in any way: what only the second site has, what only the first has, and what differs on both."""
        keys = (
            *(key for key in self.after if key not in self.before),
            *(key for key in self.before if key not in self.after),
            *(key for key in self.before if key in self.after and self.before[key] != self.after[key]),
        )
        return tuple(Change(key=key, before=self.before.get(key), after=self.after.get(key)) for key in keys)

    @property
    def changed(self) -> tuple[Change, ...]:
        """What both sites have and differs."""
        return tuple(one for one in self.all_changes if one.key in self.before and one.key in self.after)

    @property
    def count(self) -> int:
        """How many outputs differ in any way."""
        return len(self.all_changes)

    @property
    def of(self) -> int:
        """How many outputs there are, each counted once."""
        return len(self.before.keys() | self.after.keys())

    @property
    def same(self) -> int:
        """How many outputs are the same on both."""
        return self.of - self.count

    @cached_property
    def same_sha256(self) -> str:
        """The fingerprint of what is the same, with the names."""
        differing = {one.key for one in self.all_changes}
        return fingerprint({key: value for key, value in self.before.items() if key not in differing})


def fingerprint(outputs: Mapping[Point, object]) -> str:
    """Return the SHA-256 of outputs with their names, whatever their order; equal values have equal fingerprints."""
    return sha256("".join(sorted(_written(item) for item in outputs.items())).encode()).hexdigest()


def _written(value: object) -> str:
    """Write a value down, so that two are written alike exactly where they are equal."""
    if isinstance(value, str):
        return f"s{len(value)}:{value}"
    if value is None:
        return "-"
    if isinstance(value, int | float | Fraction | Decimal):
        number = Fraction(value)
        return f"n{number.numerator}/{number.denominator};"
    if isinstance(value, tuple):
        return f"({''.join(map(_written, value))})"
    if isinstance(value, Mapping):
        return f"{{{''.join(sorted(map(_written, value.items())))}}}"
    return _written_record(value)


@lru_cache(maxsize=1 << 16)
def _written_record(value: object) -> str:
    if not is_dataclass(value) or isinstance(value, type):
        raise TypeError(f"No output may hold {value!r}: it is no key, number, sentence or record of these.")
    parts = "".join(_written(getattr(value, part.name)) for part in fields(value) if part.compare)
    return f"{type(value).__name__}({parts})"


def sentences_in(value: object) -> Iterator[Sentence]:
    """Yield each sentence that a value holds, in its order."""
    if isinstance(value, Sentence):
        yield from (value,) if value else ()
    elif isinstance(value, tuple):
        for part in value:
            yield from sentences_in(part)
    elif is_dataclass(value) and not isinstance(value, type):
        for each in fields(value):
            yield from sentences_in(getattr(value, each.name))


Both = tuple[object, object]
"""A value on the first site and on the second; None where there is none."""


@lru_cache(maxsize=1 << 14)
def differences(before: object, after: object) -> tuple[Both, ...]:
    """Return what differs: the sentences that are not on both sides, like beside like; without any, the whole values."""
    if before is None or after is None:
        return ((before, after),)
    old, new = tuple(sentences_in(before)), tuple(sentences_in(after))
    gone = [one for one in dict.fromkeys(old) if one not in new]
    come = [one for one in dict.fromkeys(new) if one not in old]
    like = {}
    for one in gone:
        found = next((each for each in come if (each.key, each.many) == (one.key, one.many)), None)
        if found is not None:
            like[one] = found
            come.remove(found)
    left = [one for one in gone if one not in like]
    if len(left) == len(come) == 1:
        like |= dict(zip(left, come, strict=True))
        come = []
    return (*((one, like.get(one)) for one in gone), *((None, one) for one in come)) or ((before, after),)


def way(both: Both) -> Hashable:
    """Return how something differs, whatever else stands in its sentence: what differs in one way is told once."""
    one, other = both
    if isinstance(one, Glucose) and isinstance(other, Glucose) and one.to(other.unit).shown() == other.shown():
        return one.unit, other.unit
    if not isinstance(one, Sentence) or not isinstance(other, Sentence) or one.key != other.key:
        return tuple(each.key if isinstance(each, Sentence) and each.values else each for each in both)
    values = [(old, new) for (_, old), (_, new) in zip(one.values, other.values, strict=False) if old != new]
    in_units = [each for each in values if set(each) <= set(get_args(GlucoseUnit))]
    return (one.key, *map(way, in_units or values))


@dataclass(frozen=True, kw_only=True)
class ChangedStretch:
    """What changes alike: neighbours on a scale, and the same on several scales; or one output that stands on none.

    Attributes
    ----------
    first, last : Point
        Where it begins and ends; the same for one place alone.
    where : tuple of Sentence
        The scales; empty off a scale.
    count : int
        How many outputs it stands for.
    """

    first: Point
    last: Point
    where: tuple[Sentence, ...]
    count: int
    before: object
    after: object


def stretches(changes: Iterable[Change]) -> tuple[ChangedStretch, ...]:
    """Join neighbours that change alike, and then scales with the same stretch."""
    runs: list[list[Change]] = []
    open_runs: dict[Sentence, list[Change]] = {}
    for change in changes:
        latest = open_runs.get(change.key.where)
        if latest is not None and _goes_on(latest[-1], change):
            latest.append(change)
        else:
            open_runs[change.key.where] = [change]
            runs.append(open_runs[change.key.where])
    merged: dict[tuple[object, ...], list[list[Change]]] = {}
    for run in runs:
        merged.setdefault((run[0].key.at, run[-1].key.at, run[0].before, run[0].after), []).append(run)
    return tuple(
        ChangedStretch(
            first=alike[0][0].key,
            last=alike[0][-1].key,
            where=tuple(dict.fromkeys(run[0].key.where for run in alike if run[0].key.where)),
            count=sum(map(len, alike)),
            before=alike[0][0].before,
            after=alike[0][0].after,
        )
        for alike in merged.values()
    )


def _goes_on(one: Change, other: Change) -> bool:
    return (
        one.key.place is not None
        and one.key.place + 1 == other.key.place
        and (one.before, one.after) == (other.before, other.after)
    )
