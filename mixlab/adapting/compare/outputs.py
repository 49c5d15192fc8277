"""The kinds of things a learner can see or read, each with the function that lists all of them for one site.

A kind joins the comparison of sites by registering itself: `kind_of_output`, with its name and a marked title, decorates a
function that takes a site and returns what a learner sees there, each under what it is.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from functools import lru_cache

from mixlab.ward.site.record import Site
from mixlab.words import Voice, say, sentence, speaking, voice_now

Listing = Callable[[Site], Mapping[str, str]]
"""Lists every output of one kind under a site: what it is, and the text a learner sees."""


class Point(str):
    """The name of an output that has its like elsewhere: one reading of a meter at several bedsides, one step of several doses.

    What changes alike is told once, for all of them.

    Attributes
    ----------
    at : str
        What it is: ``"68 mg/dL"``.
    where : str
        At which of its likes: ``"no signs, eating"``.
    place : int or None
        Its place on a scale, where neighbours differ by 1 and are told as one stretch; None off a scale.
    """

    at: str
    where: str
    place: int | None

    def __new__(cls, at: str, where: str, place: int | None = None) -> Point:
        """Name the output by its place and its scale."""
        point = super().__new__(cls, f"{at}, {where}" if where else at)
        point.at, point.where, point.place = at, where, place
        return point


@dataclass(frozen=True, kw_only=True)
class OutputKind:
    """One kind of output.

    Attributes
    ----------
    name : str
        Its short name in the code.
    title : str
        What a reader calls it, for the catalogue.
    wordy : bool
        Whether its outputs are long texts, of which only what differs is told.
    whole : bool
        Whether everything that differs is told, however much it is.
    listing : callable
        Lists all of them for a site.
    """

    name: str
    title: str
    wordy: bool
    whole: bool
    listing: Listing


_kinds: dict[str, OutputKind] = {}


def kind_of_output(name: str, *, title: str, wordy: bool = False, whole: bool = False) -> Callable[[Listing], Listing]:
    """Register a function as the list of everything of one kind.

    Parameters
    ----------
    name : str
        Short name of the kind.
    title : str
        What a reader calls it, marked for the catalogue.
    wordy : bool
        Whether its outputs are long texts.
    whole : bool
        Whether everything that differs is told, however much it is.

    Raises
    ------
    ValueError
        If another function has the name already.
    """

    def register(listing: Listing) -> Listing:
        known = _kinds.get(name)
        if known is not None and _home(known.listing) != _home(listing):
            raise ValueError(f"There is a kind of output {name!r} already, listed by {_home(known.listing)}.")
        _kinds[name] = OutputKind(name=name, title=title, wordy=wordy, whole=whole, listing=listing)
        return listing

    return register


def _home(listing: Listing) -> str:
    return f"{listing.__module__}.{listing.__qualname__}"


def forget_kind(name: str) -> None:
    """Take a kind out again; the kinds of a package that is no longer used are not compared."""
    del _kinds[name]


def output_kinds() -> tuple[OutputKind, ...]:
    """Return every kind in the order in which they were registered."""
    return tuple(_kinds.values())


_reader: ContextVar[Voice | None] = ContextVar("reader", default=None)


def reader() -> Voice:
    """Return the voice of who reads the comparison."""
    return _reader.get() or voice_now()


@contextmanager
def as_read() -> Iterator[None]:
    """Say everything in the words of who reads the comparison meanwhile: names of outputs, alike for both sites."""
    with speaking(reader()):
        yield


def named(sentence: str, /, **values: object) -> str:
    """Say what an output is in the words of who reads the comparison; the values too are printed in them."""
    with as_read():
        return say(sentence, **values)


def everything(kind: OutputKind, site: Site) -> Mapping[str, str]:
    """Return everything of one kind: its texts in the words of the site, its names in those of who reads."""
    return _everything(kind, site, voice_now())


@lru_cache(maxsize=128)
def _everything(kind: OutputKind, site: Site, reader: Voice) -> Mapping[str, str]:
    before = _reader.set(reader)
    try:
        with speaking(site.voice):
            return kind.listing(site)
    finally:
        _reader.reset(before)


def each_once(outputs: Iterable[tuple[str, str]]) -> dict[str, str]:
    """Return outputs by their names; of two with one name the second is numbered."""
    found: dict[str, str] = {}
    for name, text in outputs:
        number, own = 1, name
        while own in found:
            number += 1
            at = named(
                sentence("{name}, number {number}").key,
                name=name.at if isinstance(name, Point) else name,
                number=number,
            )
            own = Point(at, name.where) if isinstance(name, Point) else at
        found[own] = text
    return found
