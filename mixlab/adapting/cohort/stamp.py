"""The stamp of a cohort's folder: what was put into it, and what has changed since."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from hashlib import sha256
from pathlib import Path, PurePosixPath
from typing import Literal

from mixlab.files.faults import FileError
from mixlab.files.records import check
from mixlab.files.text import MissingFile, Sort
from mixlab.files.toml import comment, quoted, read_toml
from mixlab.launch.course import COHORT_FILE
from mixlab.words import date_text, say, sentence

State = Literal["as stamped", "run since", "changed", "missing"]


class CohortError(Exception):
    """Why a cohort's folder cannot be made or read, in a sentence that also says what to do."""

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
    """A cohort's folder as it stands now, beside its stamp.

    Attributes
    ----------
    folder : Path
        The folder.
    stamp : Stamp
        What it held when it was made.
    states : mapping of str to str
        For each of its files: as stamped, run since, changed or missing.
    """

    folder: Path
    stamp: Stamp
    states: Mapping[str, State] = field(repr=False)

    @property
    def is_as_stamped(self) -> bool:
        """Whether everything a person reads is as it was made; having run a notebook does not count."""
        return not self.changed and not self.missing

    @property
    def changed(self) -> tuple[str, ...]:
        """The files that read differently now."""
        return self._in("changed")

    @property
    def missing(self) -> tuple[str, ...]:
        """The files that are gone."""
        return self._in("missing")

    @property
    def run_since(self) -> tuple[str, ...]:
        """The notebooks that were run and saved, and read as before."""
        return self._in("run since")

    def _in(self, state: State) -> tuple[str, ...]:
        return tuple(name for name, each in self.states.items() if each == state)

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
        if self.changed:
            names = ", ".join(self.changed)
            said.append(
                say("Changed since: {names}. Look through them, or make a new copy under another name.", names=names)
            )
        if self.missing:
            names = ", ".join(self.missing)
            said.append(say("Missing: {names}. Put them back, or make a new copy under another name.", names=names))
        if self.is_as_stamped:
            said.append(say("All files read as they were made."))
        return "\n".join(said)


def cohort_stamp(folder: str | Path) -> StampedFolder:
    """Read the stamp of a cohort's folder and compare the files with it.

    Raises
    ------
    CohortError
        If there is no stamp, or it cannot be read.
    """
    folder = Path(folder).expanduser().absolute()
    stamp = _read(folder)
    states = {name: _state(folder / name, stamp, name) for name in stamp.files}
    return StampedFolder(folder=folder, stamp=stamp, states=states)


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
    try:
        read = [[cell["cell_type"], "".join(cell["source"])] for cell in json.loads(content)["cells"]]
    except (KeyError, TypeError, RecursionError) as fault:
        raise ValueError("This is no notebook.") from fault
    return digest(json.dumps(read).encode())


def _state(path: Path, stamp: Stamp, name: str) -> State:
    try:
        content = path.read_bytes()
    except OSError:
        return "missing"
    if digest(content) == stamp.files[name]:
        return "as stamped"
    try:
        return "run since" if reading_digest(content) == stamp.texts.get(name) else "changed"
    except ValueError:
        return "changed"


def _read(folder: Path) -> Stamp:
    path = folder / COHORT_FILE
    try:
        return check(Stamp, read_toml(path, _SORT))
    except MissingFile as missing:
        raise CohortError(
            say(
                "{folder} is not a cohort's folder: it holds no {stamp}. Name the folder that the copy was made in.",
                folder=folder,
                stamp=COHORT_FILE,
            )
        ) from missing
    except FileError as fault:
        raise CohortError(
            say(
                "The stamp {stamp} in {folder} cannot be read any more: make a new copy under another name.",
                stamp=COHORT_FILE,
                folder=folder,
            )
        ) from fault


_SORT = Sort(name=sentence("stamp"), wanted=sentence("the stamp that mixlab wrote"))
