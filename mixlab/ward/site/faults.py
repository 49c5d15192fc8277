"""What can be wrong with a site file or one of its values."""

from __future__ import annotations

import re
from typing import NamedTuple

from mixlab.files.faults import FileError
from mixlab.words import Sentence


class Unsafe(NamedTuple):
    """What is wrong with a value that could be read, and what is allowed.

    Attributes
    ----------
    part : str
        The part of the value that is at fault, or empty.
    wrong, allowed : Sentence
        As in `Fault`.
    without_reason : bool
        Whether a recorded reason would allow it.
    """

    part: str
    wrong: Sentence
    allowed: Sentence
    without_reason: bool = False


class SiteError(FileError):
    """A site file that cannot be used. The message lists every fault, one a line, in the order of the file."""


class Refused(Exception):
    """What a person wrote for one key cannot be read: for each part of it what is wrong and what is allowed."""

    def __init__(self, *faults: tuple[str, Sentence, Sentence]) -> None:
        super().__init__()
        self.faults = faults


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
