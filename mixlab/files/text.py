"""The text of a file, taken whole; whatever else stands under its name is refused in words."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import islice
from pathlib import Path

from mixlab.words import Sentence, sentence

from .faults import ALIKE, Fault, FileError, nearest

LARGEST = 1_000_000
"""Bytes of the largest file that is read; a file of any sort that mixlab knows has far fewer."""

_LOOKED_THROUGH = 1000
"""Names in a folder among which the nearest one is looked for."""


@dataclass(frozen=True, kw_only=True)
class Sort:
    """What sort of file is wanted.

    Attributes
    ----------
    name : Sentence
        What such a file is called: "site file".
    wanted : Sentence
        What a person should name instead of a file that holds no text.
    largest : int
        Bytes of the largest one that is read.
    """

    name: Sentence
    wanted: Sentence
    largest: int = LARGEST


A_FOLDER = (sentence("this is a folder"), sentence("name the file in it"))
NO_FILE = (sentence("this is no file"), sentence("name a text file"))
"""What is wrong with what is no file, and what to do."""


class MissingFile(FileError):
    """There is no file of this name."""


def read_text(path: Path, sort: Sort) -> str:
    """Return the text of a file, each line ending in one sign, without a mark of the byte order in front.

    Parameters
    ----------
    path : Path
        The file.
    sort : Sort
        What is expected there.

    Raises
    ------
    FileError
        If it is no file, too large, or no text in UTF-8; a missing file is told with the nearest name in its folder.
    """
    raw = read_bytes(path, sort)
    as_utf8 = sentence("save it as text in UTF-8")
    if raw[:2] in (b"\xff\xfe", b"\xfe\xff"):
        raise FileError.of(path, sentence("it is text in UTF-16"), as_utf8)
    if b"\0" in raw:
        raise FileError.of(path, sentence("it is not text"), sentence("name {wanted}", wanted=sort.wanted))
    try:
        return raw.decode("utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        fault = Fault(file=path.name, line=line, wrong=sentence("it is not text in UTF-8"), allowed=as_utf8)
        raise FileError([fault]) from None


def read_bytes(path: Path, sort: Sort) -> bytes:
    """Return what a file holds, byte for byte.

    Parameters
    ----------
    path : Path
        The file.
    sort : Sort
        What is expected there.

    Raises
    ------
    FileError
        If it is no file, too large, or cannot be read; a missing file is told with the nearest name in its folder.
    """
    try:
        if path.is_dir():
            raise FileError.of(path, *A_FOLDER)
        size = path.stat().st_size
        if not path.is_file():
            raise FileError.of(path, *NO_FILE)
        if size > sort.largest:
            wrong = sentence(
                "it has {size} MB, and no {sort} needs more than {largest} MB",
                size=f"{size / 1e6:.3g}",
                sort=sort.name,
                largest=f"{sort.largest / 1e6:g}",
            )
            raise FileError.of(path, wrong, sentence("look whether this is the right file"))
        return path.read_bytes()
    except (FileNotFoundError, NotADirectoryError):
        wrong = sentence("there is no such file in {folder}", folder=path.parent.absolute())
        raise MissingFile.of(path, wrong, sentence("correct its name"), _nearest_beside(path)) from None
    except PermissionError:
        wrong = sentence("this computer does not let you read it")
        raise FileError.of(path, wrong, sentence("ask whoever keeps the file for the right to read it")) from None
    except (OSError, ValueError) as error:
        if isinstance(error, FileError):
            raise
        wrong = sentence("it cannot be read from this disk")
        raise FileError.of(
            path, wrong, sentence("copy it into the folder of the lessons, and look at its name")
        ) from None


def _nearest_beside(path: Path) -> str:
    """Return the file of the same kind in the folder whose name looks most like a missing one, or nothing."""
    try:
        beside = islice((each.name for each in path.parent.iterdir() if each.suffix == path.suffix), _LOOKED_THROUGH)
        names = {name.removesuffix(path.suffix): name for name in beside}
    except OSError:
        return ""
    return names.get(nearest(path.stem, names, ALIKE), "")
