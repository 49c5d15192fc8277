"""What has changed in a cohort's folder since it was made: the stamp that tells what was put into it."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from hashlib import sha256
from pathlib import Path, PurePosixPath

from mixlab.files.faults import FileError
from mixlab.files.records import check
from mixlab.files.text import MissingFile, Sort
from mixlab.files.toml import comment, quoted, read_toml
from mixlab.launch.course import COHORT_FILE, text_of_cells
from mixlab.words import Sentence, date_text, say, sentence


class CohortError(Exception):
    """Why a cohort's folder cannot be made or read, in a sentence of the catalogue that also says what to do."""

    def __init__(self, words: str | Sentence, **values: object) -> None:
        super().__init__(say(words, **values))

    def _render_traceback_(self) -> list[str]:
        """Show a notebook's reader the sentence and not the way through the code."""
        return [str(self)]


@dataclass(frozen=True, kw_only=True)
class Stamp:
    """What a cohort's folder held when it was made.

    Attributes
    ----------
    cohort, site, mixlab : str
        The names of the cohort and of its site, and the version of mixlab that made the folder.
    written : date
        The day it was made.
    files : mapping of str to str
        SHA-256 of the site file and of every notebook as copied, by name.
    texts : mapping of str to str
        SHA-256 of what a person reads in a notebook, which running it leaves as it is.
    """

    cohort: str
    written: date
    mixlab: str
    site: str
    files: Mapping[str, str]
    texts: Mapping[str, str]

    def __post_init__(self) -> None:
        """Refuse a stamp of no file, or of one that is not in its folder."""
        paths = [PurePosixPath(name) for name in self.files]
        if not paths or any(path.is_absolute() or ".." in path.parts or "\\" in str(path) for path in paths):
            raise ValueError(sentence("a stamp names the files in its folder"))

    def text(self) -> str:
        """Return the stamp as a commented TOML file."""
        about = [
            say("The stamp of a cohort's folder: mixlab wrote it and reads it. Leave it as it is."),
            say("For teaching only: the {prescriber}'s order, the ward's own policy and licensed practice come first."),
        ]
        head = {"cohort": self.cohort, "mixlab": self.mixlab, "site": self.site}
        lines = [*comment(*about), "", f"written = {self.written.isoformat()}"]
        lines += [f"{key} = {quoted(value)}" for key, value in head.items()]
        lines += ["", *comment(say("SHA-256 of each file as it was copied.")), "[files]"]
        lines += [f"{quoted(name)} = {quoted(value)}" for name, value in self.files.items()]
        lines += ["", *comment(say("SHA-256 of what is read in a notebook, without what it printed when it was run."))]
        lines += ["[texts]", *(f"{quoted(name)} = {quoted(value)}" for name, value in self.texts.items())]
        return "\n".join(lines) + "\n"


@dataclass(frozen=True, kw_only=True)
class StampedFolder:
    """A cohort's folder as it stands now, beside its stamp: which files read differently, and which are gone.

    Having run a notebook does not count.
    """

    folder: Path
    stamp: Stamp
    changed: tuple[str, ...]
    missing: tuple[str, ...]

    @property
    def is_as_stamped(self) -> bool:
        """Whether everything a person reads is as it was made."""
        return not self.changed and not self.missing

    def __str__(self) -> str:
        said = [
            say(
                "Made for {cohort} on {day} with mixlab {version}, after the site file of {site}.",
                cohort=self.stamp.cohort,
                day=date_text(self.stamp.written),
                version=self.stamp.mixlab,
                site=self.stamp.site,
            )
        ]
        changed, missing = ", ".join(self.changed), ", ".join(self.missing)
        if changed:
            said.append(
                say("Changed since: {names}. Look through them, or make a new copy under another name.", names=changed)
            )
        if missing:
            said.append(say("Missing: {names}. Put them back, or make a new copy under another name.", names=missing))
        if self.is_as_stamped:
            said.append(say("All files read as they were made."))
        return "\n".join(said)


def cohort_stamp(folder: str | Path) -> StampedFolder:
    """Read the stamp of a cohort's folder and compare the files with it.

    Raises
    ------
    CohortError
        If there is no stamp, or it cannot be read.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> from mixlab import cohort_copy
    >>> with TemporaryDirectory() as folder:
    ...     made = cohort_copy("Autumn, group B", folder=folder).folder
    ...     (made / "00_start_here.ipynb").unlink()
    ...     cohort_stamp(made).missing
    ('00_start_here.ipynb',)
    """
    folder = Path(folder).expanduser().absolute()
    stamp = _read(folder)
    contents = {name: _content(folder / name) for name in stamp.files}
    return StampedFolder(
        folder=folder,
        stamp=stamp,
        changed=tuple(name for name, held in contents.items() if held is not None and _is_changed(stamp, name, held)),
        missing=tuple(name for name, held in contents.items() if held is None),
    )


def digest(content: bytes) -> str:
    """Return the SHA-256 of a file's content, as sixty-four hexadecimal digits."""
    return sha256(content).hexdigest()


def reading_digest(content: bytes) -> str:
    """Return the SHA-256 of what a person reads in a notebook: the kind and the text of each cell.

    Raises
    ------
    ValueError
        If the content is no notebook.
    """
    return digest(json.dumps(text_of_cells(content)).encode())


def _content(path: Path) -> bytes | None:
    try:
        return path.read_bytes()
    except OSError:
        return None


def _is_changed(stamp: Stamp, name: str, content: bytes) -> bool:
    try:
        return digest(content) != stamp.files[name] and reading_digest(content) != stamp.texts.get(name)
    except ValueError:
        return True


def _read(folder: Path) -> Stamp:
    path = folder / COHORT_FILE
    try:
        return check(Stamp, read_toml(path, _SORT))
    except MissingFile as missing:
        raise CohortError(
            "{folder} is not a cohort's folder: it holds no {stamp}. Name the folder that the copy was made in.",
            folder=folder,
            stamp=COHORT_FILE,
        ) from missing
    except FileError as fault:
        raise CohortError(
            "The stamp {stamp} in {folder} cannot be read any more: make a new copy under another name.",
            stamp=COHORT_FILE,
            folder=folder,
        ) from fault


_SORT = Sort(name=sentence("stamp"), wanted=sentence("the stamp that mixlab wrote"))
