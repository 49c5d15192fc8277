"""What can be wrong with a site file: one fault, and the error that lists them all."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from difflib import get_close_matches
from typing import NamedTuple

from mixlab.facts.shelf import FactsError
from mixlab.words import Sentence, joined, say, sentence

Place = tuple[str | int, ...]
"""Where a value stands: keys, and the number of the row in a list of tables."""


@dataclass(frozen=True, kw_only=True)
class SiteFault:
    """One thing in a site file that cannot stay.

    Attributes
    ----------
    file : str
        The file's name, or the site's where no file was read.
    line : int or None
        Line of the file, counted from 1; None where no line is to blame.
    at : tuple of str or int
        The key, after the table and the row it stands in; empty for a fault of the whole file.
    wrong : Sentence
        What is wrong.
    allowed : Sentence
        What to do, or what is allowed.
    nearest : str
        The known key that looks most like one that is not known.
    """

    file: str = ""
    line: int | None = None
    at: Place = ()
    wrong: Sentence
    allowed: Sentence
    nearest: str = ""

    @property
    def key(self) -> str:
        """The key with its table and row, joined by points: ``"terms.chart"``, ``"meals.1.at"``."""
        return ".".join(map(str, self.at))

    @property
    def place(self) -> Sentence:
        """Where it is: the file, the line and the key, as far as they are known."""
        line = sentence("line {line}", line=self.line) if self.line else ""
        return joined((part for part in (self.file, line, place_text(self.at)) if part), ", ")

    def __str__(self) -> str:
        allowed = str(self.allowed)
        to_do = allowed[:1].upper() + allowed[1:]
        parts = {"place": self.place, "wrong": self.wrong, "allowed": to_do, "nearest": self.nearest}
        if self.nearest:
            return say("{place}: {wrong}. {allowed}. The nearest known one is {nearest}.", **parts)
        return say("{place}: {wrong}. {allowed}.", **parts)


def place_text(place: Place) -> Sentence:
    """Return where a value stands, to be read: ``"meals, row 2, at"``, ``"terms.chart"``."""
    text: str | Sentence = ""
    for part in place:
        if isinstance(part, int):
            text = sentence("{key}, row {row}", key=text, row=part + 1)
        elif isinstance(text, Sentence) or " " in text:
            text = joined((text, part), ", ")
        else:
            text = f"{text}.{part}" if text else part
    return joined((text,)) if text else Sentence("")


class Unsafe(NamedTuple):
    """What is wrong with a value that could be read, and what is allowed.

    Attributes
    ----------
    part : str
        The part of the value that is at fault, or empty.
    wrong, allowed : str
        As in `SiteFault`.
    without_reason : bool
        Whether a recorded reason would allow it.
    """

    part: str
    wrong: Sentence
    allowed: Sentence
    without_reason: bool = False


class SiteError(FactsError):
    """A site file that cannot be used. The message lists every fault, one a line, in the order of the file.

    Attributes
    ----------
    faults : tuple of SiteFault
        Every fault.
    """

    def __init__(self, faults: Iterable[SiteFault]) -> None:
        self.faults = tuple(sorted(faults, key=lambda fault: fault.line or 0))
        super().__init__(joined((sentence("{fault}", fault=fault) for fault in self.faults), "\n"))

    def _render_traceback_(self) -> list[str]:
        """Show a notebook's reader the sentences and not the way through the code."""
        return [str(fault) for fault in self.faults]


class Refused(Exception):
    """What a person wrote for one key cannot be read: for each part of it what is wrong and what is allowed."""

    def __init__(self, *faults: tuple[str, Sentence, Sentence]) -> None:
        super().__init__()
        self.faults = faults


def nearest(name: str, known: Iterable[str]) -> str:
    """Return the known name that looks most like another, or nothing where none does."""
    close = {each.casefold(): each for each in known}
    return next((close[found] for found in get_close_matches(name.casefold(), close, n=1, cutoff=0.5)), "")


def shown(written: object) -> Sentence:
    """Return what a person wrote, short enough for a sentence and on one line."""
    if isinstance(written, bool):
        return sentence("{written}", written=str(written).lower())
    if isinstance(written, int) and abs(written) > 10**15:
        return sentence("a number of very many digits")
    if isinstance(written, dict):
        return sentence("a table")
    if isinstance(written, list):
        return sentence("a list")
    text = repr(written) if isinstance(written, str) else str(written)
    return sentence("{written}", written=text if len(text) <= 50 else f"{text[:46]}…{text[-1]}")


_MARKUP = re.compile(r"[{}<>\[\]`$\\|*_#\"]")


def is_plain_text(written: object, longest: int) -> bool:
    """Say whether a text can stand in any sentence, page or picture as it is."""
    return (
        isinstance(written, str)
        and 1 <= len(written) <= longest
        and written == written.strip()
        and written.isprintable()
        and not _MARKUP.search(written)
    )
