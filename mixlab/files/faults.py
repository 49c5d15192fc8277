"""What can be wrong with a file: one fault, and the error that lists them all."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path
from typing import Self

from mixlab.words import Sentence, joined, say, sentence

Place = tuple[str | int, ...]
"""Where a value stands: keys, and the number of the row in a list."""

ALIKE = 0.6
"""How much of a name must be as in a known one before that is named as the nearest."""

NO_WORDS = Sentence("")
"""What stands in a fault where there is nothing to say."""


@dataclass(frozen=True, kw_only=True)
class Fault:
    """One thing in a file that cannot stay.

    Attributes
    ----------
    file : str
        The file's name, or empty where no file was read.
    line : int or None
        Line of the file, counted from 1; None where no line is to blame.
    at : tuple of str or int
        The key, after the table and the row it stands in; empty for a fault of the whole file.
    wrong : Sentence
        What is wrong.
    allowed : Sentence
        What to do, or what is allowed; empty where `wrong` says it.
    nearest : str
        The known name that looks most like one that is not known.
    """

    file: str = ""
    line: int | None = None
    at: Place = ()
    wrong: Sentence
    allowed: Sentence = NO_WORDS
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
        wrong, allowed = str(self.wrong).removesuffix("."), str(self.allowed)
        parts = {"place": self.place, "wrong": wrong, "allowed": allowed[:1].upper() + allowed[1:]}
        if not allowed:
            return say("{place}: {wrong}.", **parts)
        if self.nearest:
            return say(
                "{place}: {wrong}. {allowed}. The nearest known one is {nearest}.", nearest=self.nearest, **parts
            )
        return say("{place}: {wrong}. {allowed}.", **parts)


class FileError(ValueError):
    """A file that cannot be used. The message lists every fault, one a line, in the order of the file.

    Attributes
    ----------
    faults : tuple of Fault
        Every fault.
    """

    def __init__(self, faults: Iterable[Fault]) -> None:
        listed = tuple(faults)
        files = list(dict.fromkeys(fault.file for fault in listed))
        self.faults = tuple(sorted(listed, key=lambda fault: (files.index(fault.file), fault.line or 0)))
        super().__init__(joined((sentence("{fault}", fault=fault) for fault in self.faults), "\n"))

    @classmethod
    def of(cls, path: Path, wrong: Sentence, allowed: Sentence, near: str = "") -> Self:
        """Return the one fault of a whole file.

        Parameters
        ----------
        path : Path
            The file; its name is told, or the whole path where it has none.
        wrong, allowed : Sentence
            What is wrong, and what to do.
        near : str
            The nearest known name.
        """
        return cls([Fault(file=path.name or str(path), wrong=wrong, allowed=allowed, nearest=near)])

    def __reduce__(self) -> tuple[type[FileError], tuple[tuple[Fault, ...]]]:
        """Return what it is made from: its faults, and not its message."""
        return type(self), (self.faults,)

    def _render_traceback_(self) -> list[str]:
        """Show a notebook's reader the sentences and not the way through the code."""
        return [str(fault) for fault in self.faults]


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
    return joined((text,)) if text else NO_WORDS


def nearest(name: str, known: Iterable[str], alike: float = 0.5) -> str:
    """Return the known name that looks most like another, or nothing where none does.

    Parameters
    ----------
    name : str
        What a person wrote.
    known : iterable of str
        The names that there are.
    alike : float
        How much of the two must be the same, from 0 to 1.
    """
    close = {each.casefold(): each for each in known}
    return next((close[found] for found in get_close_matches(name.casefold(), close, n=1, cutoff=alike)), "")


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
