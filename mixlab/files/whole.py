"""A file or a folder is written whole or not at all: what stood there stays until the new one is complete."""

from __future__ import annotations

import errno
import os
import shutil
import stat
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from secrets import token_hex

from mixlab.words import Sentence, sentence

from .faults import Fault, FileError
from .text import A_FOLDER, NO_FILE


class CannotWrite(FileError):
    """A file or folder that cannot be written; what stood there is as it was."""

    @property
    def reason(self) -> Sentence:
        """What is in the way, without the place."""
        return self.faults[0].wrong


class Taken(CannotWrite):
    """Something stands already where a new file or folder was to be made."""


def write_whole(path: Path, content: str | bytes) -> None:
    """Write a file, in the place of one that is there; that one stays whole until the new one is on the disk.

    Where the path is a link, the file that it leads to is written, and the link stays.

    Parameters
    ----------
    path : Path
        The file.
    content : str or bytes
        All that it is to hold; text is written in UTF-8, its lines ending as they are.

    Raises
    ------
    CannotWrite
        If it cannot be written; nothing is changed then.
    """
    raw = _raw(path, content)
    with _refusals(path):
        target = Path(os.path.realpath(path))
        if target.is_symlink():
            raise CannotWrite.of(path, sentence("it is a link that leads to no file"), sentence("name a file"))
        if target.is_dir():
            raise CannotWrite.of(path, *A_FOLDER)
        if target.exists() and not target.is_file():
            raise CannotWrite.of(path, *NO_FILE)
        old = target.stat() if target.exists() else None
        if old is not None and not os.access(target, os.W_OK):
            raise CannotWrite.of(
                path, sentence("it is locked against writing"), sentence("unlock it, or choose another name")
            )
        with _beside(target, raw) as part:
            if old is not None:
                with suppress(OSError):  # a disk that keeps no rights
                    part.chmod(stat.S_IMODE(old.st_mode))
            part.replace(target)


def write_new(path: Path, content: str | bytes) -> None:
    """Write a file where none is; whatever stands there is left as it is.

    Parameters
    ----------
    path : Path
        The file.
    content : str or bytes
        All that it is to hold; text is written in UTF-8.

    Raises
    ------
    Taken
        If something of this name is there.
    CannotWrite
        If it cannot be written; nothing is left of it then.
    """
    raw = _raw(path, content)
    with _refusals(path):
        if path.exists() or path.is_symlink():
            raise FileExistsError
        with _beside(path, raw) as part:
            try:
                os.link(part, path)  # refused where anything stands, even when two write at once
            except FileExistsError:
                raise
            except OSError:  # a disk that gives a file no second name
                _reserve_and_replace(part, path)


@contextmanager
def new_folder(path: Path) -> Iterator[Path]:
    """Give a hidden folder to fill, and put it in its place when it is full; if that fails, nothing of it is left.

    Parameters
    ----------
    path : Path
        The folder to be made.

    Yields
    ------
    Path
        The hidden folder, beside it.

    Raises
    ------
    Taken
        If something of this name is there.
    CannotWrite
        If it cannot be written.
    """
    with _refusals(path):
        if path.exists() or path.is_symlink():
            raise FileExistsError
        draft = path.with_name(f".mixlab-{token_hex(8)}")
        draft.mkdir()
        try:
            yield draft
            _put_in_place(draft, path)
        finally:
            if draft.exists():
                shutil.rmtree(draft, ignore_errors=True)


def _put_in_place(draft: Path, path: Path) -> None:
    path.mkdir()  # refused where anything stands, even when two folders are made at once
    try:
        draft.replace(path)
    except OSError:  # a system that puts nothing in the place of an empty folder
        path.rmdir()
        draft.rename(path)
    except BaseException:
        with suppress(OSError):  # it is taken away only while it is empty
            path.rmdir()
        raise


_ANOTHER_FOLDER = sentence("choose another folder")


@contextmanager
def _beside(target: Path, raw: bytes) -> Iterator[Path]:
    """Write a hidden file beside another one, down to the disk, and see that nothing of it is left."""
    part = target.with_name(f".mixlab-{token_hex(8)}.part")
    try:
        with part.open("xb") as file:
            file.write(raw)
            file.flush()
            os.fsync(file.fileno())
        yield part
    finally:
        with suppress(OSError):
            part.unlink(missing_ok=True)


def _reserve_and_replace(part: Path, path: Path) -> None:
    path.open("xb").close()
    try:
        part.replace(path)
    except BaseException:
        path.unlink()
        raise


def _raw(path: Path, content: str | bytes) -> bytes:
    if isinstance(content, bytes):
        return content
    try:
        return content.encode("utf-8")
    except UnicodeEncodeError as error:
        line = content.count("\n", 0, error.start) + 1
        wrong, allowed = sentence("a sign in it cannot be saved as text"), sentence("type this line anew")
        raise CannotWrite([Fault(file=path.name, line=line, wrong=wrong, allowed=allowed)]) from None


@contextmanager
def _refusals(path: Path) -> Iterator[None]:
    """Say in words why the system writes nothing there."""
    try:
        named = b"\0" not in os.fsencode(path)
    except ValueError:
        named = False
    if not named:
        raise CannotWrite.of(path, sentence("no file can have such a name"), sentence("choose another name"))
    try:
        yield
    except FileExistsError:
        wrong = sentence("there is such a file already, and it is left as it is")
        raise Taken.of(path, wrong, sentence("choose another name")) from None
    except OSError as error:
        raise CannotWrite.of(path, *_why(path, error)) from error


def _why(path: Path, error: OSError) -> tuple[Sentence, Sentence]:
    """Return what is in the way of writing a file, and what to do."""
    folder = path.parent.absolute()
    number = error.errno
    if number == errno.ENAMETOOLONG:
        return sentence("its name is too long"), sentence("choose a shorter one")
    if number in (errno.ENOSPC, errno.EDQUOT, errno.EFBIG):
        return sentence("there is no room for it on this disk"), sentence("make room, or choose another folder")
    if isinstance(error, PermissionError) or number == errno.EROFS:
        return sentence("this computer does not let you write in {folder}", folder=folder), _ANOTHER_FOLDER
    if isinstance(error, FileNotFoundError | NotADirectoryError):
        return sentence("there is no folder {folder}", folder=folder), sentence("make it first, or choose another one")
    return sentence("it cannot be written in {folder}", folder=folder), _ANOTHER_FOLDER


def bytes_now(path: Path) -> bytes | None:
    """Return what stands in a file now; None if there is none or it cannot be read."""
    try:
        return path.read_bytes()
    except OSError:
        return None
