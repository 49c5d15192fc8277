"""What can be wrong with a site file: one fault, and the error that lists them all."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from difflib import get_close_matches
from typing import NamedTuple

from mixlab.facts.shelf import FactsError
from mixlab.words import say


@dataclass(frozen=True, kw_only=True)
class SiteFault:
    """One thing in a site file that cannot stay.

    Attributes
    ----------
    file : str
        The file's name, or the site's where no file was read.
    line : int or None
        Line of the file, counted from 1; None where no line is to blame.
    key : str
        The key, with the table or row it stands in; empty for a fault of the whole file.
    wrong : str
        What is wrong.
    allowed : str
        What to do, or what is allowed.
    nearest : str
        The known key that looks most like one that is not known.
    """

    file: str = ""
    line: int | None = None
    key: str = ""
    wrong: str
    allowed: str
    nearest: str = ""

    @property
    def place(self) -> str:
        """Where it is: the file, the line and the key, as far as they are known."""
        line = say("line {line}", line=self.line) if self.line else ""
        return ", ".join(part for part in (self.file, line, self.key) if part)

    def __str__(self) -> str:
        to_do = self.allowed[:1].upper() + self.allowed[1:]
        parts = {"place": self.place, "wrong": self.wrong, "allowed": to_do, "nearest": self.nearest}
        if self.nearest:
            return say("{place}: {wrong}. {allowed}. The nearest known one is {nearest}.", **parts)
        return say("{place}: {wrong}. {allowed}.", **parts)


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
    wrong: str
    allowed: str
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
        super().__init__("\n".join(map(str, self.faults)))

    def _render_traceback_(self) -> list[str]:
        """Show a notebook's reader the sentences and not the way through the code."""
        return [str(fault) for fault in self.faults]


class Refused(Exception):
    """What a person wrote for one key cannot be read: for each part of it what is wrong and what is allowed."""

    def __init__(self, *faults: tuple[str, str, str]) -> None:
        super().__init__()
        self.faults = faults


def nearest(name: str, known: Iterable[str]) -> str:
    """Return the known name that looks most like another, or nothing where none does."""
    close = {each.casefold(): each for each in known}
    return next((close[found] for found in get_close_matches(name.casefold(), close, n=1, cutoff=0.5)), "")


def shown(written: object) -> str:
    """Print what a person wrote, short enough for a sentence and on one line."""
    if isinstance(written, bool):
        return str(written).lower()
    if isinstance(written, int) and abs(written) > 10**15:
        return say("a number of very many digits")
    if isinstance(written, dict):
        return say("a table")
    if isinstance(written, list):
        return say("a list")
    text = repr(written) if isinstance(written, str) else str(written)
    return text if len(text) <= 50 else f"{text[:46]}…{text[-1]}"


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
