"""The kinds of things a learner can see or read, each with the function that lists all of them for one site.

An output is a value: keys, numbers, times, sentences, records of these. Two wards are compared by these values, and a sentence
is said only when somebody is told of it. A kind joins by registering itself: `kind_of_output` decorates its listing.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from types import MappingProxyType

from mixlab.care.action.absorption import NoModel
from mixlab.care.bench.bench import Impossible
from mixlab.care.day.dose_day import CannotPlan
from mixlab.care.dosing import CannotPrepare
from mixlab.quantities import NotAClockTime, NotAnAmount
from mixlab.ward.order.order import OrderError
from mixlab.ward.site.record import Site
from mixlab.words import Sentence, say, sentence

REFUSALS = (CannotPlan, CannotPrepare, Impossible, NoModel, NotAClockTime, NotAnAmount, OrderError)
"""What a ward's own lines, times and bans can forbid; each carries its reason."""

_ANY_WARD = sentence("the ward")
"""What a ward is called while it is compared: its name is told once, and not with every rule of its own."""


@dataclass(frozen=True, slots=True)
class Point:
    """The name of an output.

    Attributes
    ----------
    at : Sentence
        What it is: "68 mg/dL".
    where : Sentence
        At which of its likes: "no signs, eating". What changes alike is told once, for all of them.
    place : int or None
        Its place on a scale, where neighbours differ by 1 and are told as one stretch; None off a scale.
    """

    at: Sentence
    where: Sentence = Sentence("")  # noqa: RUF009  # frozen
    place: int | None = None

    def __str__(self) -> str:
        return say("{at}, {where}", at=self.at, where=self.where) if self.where else str(self.at)


Listing = Callable[[Site], Iterable[tuple[Point, object]]]
"""Lists every output of one kind under a site: its name and its value."""


@dataclass(frozen=True, kw_only=True)
class OutputKind:
    """One kind of output: its short name in the code, what a reader calls it, and what lists all of them for a site.

    Where whole pictures or sheets are `shown`, that one differs is told by its name alone.
    """

    name: str
    title: Sentence
    listing: Listing
    shown: bool = False


_kinds: dict[str, OutputKind] = {}


def kind_of_output(name: str, title: Sentence, *, shown: bool = False) -> Callable[[Listing], Listing]:
    """Register a function as the list of everything of one kind; the parameters are those of `OutputKind`."""

    def register(listing: Listing) -> Listing:
        _kinds[name] = OutputKind(name=name, title=title, listing=listing, shown=shown)
        return listing

    return register


def output_kinds() -> tuple[OutputKind, ...]:
    """Return every kind in the order in which they were registered."""
    return tuple(_kinds.values())


def everything(kind: OutputKind, site: Site) -> Mapping[Point, object]:
    """Return everything of one kind by its name, for a ward that is called no name of its own.

    Of two outputs with one name the second is numbered.
    """
    return _everything(kind, unnamed(site))


@lru_cache(maxsize=128)
def _everything(kind: OutputKind, site: Site) -> Mapping[Point, object]:
    found: dict[Point, object] = {}
    for name, value in kind.listing(site):
        number, own = 1, name
        while own in found:
            number += 1
            own = replace(name, at=sentence("{name}, number {number}", name=name.at, number=number))
        found[own] = value
    return MappingProxyType(found)


def unnamed(site: Site) -> Site:
    """Return a site as it is compared: without its name and its recorded reasons."""
    return replace(site, name=_ANY_WARD, reasons=MappingProxyType({}))  # type: ignore[arg-type]  # said like any name


def refused(why: Exception) -> Sentence:
    """Return what cannot be planned or drawn as an output: the refusal with its reason."""
    return sentence("refused: {why}", why=why.args[0])
