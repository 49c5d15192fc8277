"""A cohort copy: a folder with the notebooks in a site's words, the site file and a stamp, made whole or not at all."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from datetime import date
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

from mixlab.adapting.catalogue import half_translated
from mixlab.files.faults import FileError
from mixlab.files.text import Sort, read_bytes
from mixlab.files.whole import CannotWrite, Taken, new_folder, write_whole
from mixlab.launch.course import COHORT_FILE, FIRST_NOTEBOOK, find_course, is_cohort, list_material
from mixlab.launch.refusals import CannotOpenError
from mixlab.ward.site.faults import SiteError
from mixlab.ward.site.in_force import SITE_FILE, load_site, site_in_force
from mixlab.ward.site.reading import SITE_SORT
from mixlab.ward.site.record import Site
from mixlab.ward.site.writing import site_text
from mixlab.words import say, sentence

from .changed_since import CohortError, Stamp, digest, reading_digest
from .prose import speak_notebook

LONGEST_NAME = 60
"""Letters that a cohort's name may have."""

_RESERVED = re.compile(r"con|prn|aux|nul|(?:com|lpt)\d", re.IGNORECASE)
"""Names that one system or another does not allow for a folder."""


@dataclass(frozen=True, kw_only=True, repr=False)
class Cohort:
    """A folder that was made for one cohort, the site that its notebooks follow, and its stamp."""

    folder: Path
    site: Site
    stamp: Stamp

    def __repr__(self) -> str:
        return say(
            "{folder} holds the notebooks for {cohort}, which follow {site}. To open them: mixlab --folder {path}",
            folder=self.folder.name,
            cohort=self.stamp.cohort,
            site=self.site.name,
            path=f'"{self.folder}"',
        )


def cohort_copy(name: str, site_file: str | Path | None = None, folder: str | Path = ".") -> Cohort:
    """Make a folder with the notebooks, the site file and a stamp for one cohort.

    Parameters
    ----------
    name : str
        The cohort's name; the new folder is named after it.
    site_file : str or Path, optional
        The site file, copied byte for byte; by default a file of the site in force, with every key.
    folder : str or Path
        Where the new folder is made.

    Returns
    -------
    Cohort
        The new folder; the site in force stays as it was.

    Raises
    ------
    CohortError
        If the name cannot be used, a folder of this name is there already, or nothing can be written; nothing is made.
    SiteError
        With every fault of the site file; nothing is made.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as folder:
    ...     cohort_copy("Autumn, group B", folder=folder).folder.name
    'autumn-group-b'
    """
    title, folder_name = _named(name)
    course = _course()
    given = None if site_file is None else Path(site_file).expanduser()
    site = site_in_force() if given is None else load_site(given)
    try:
        site_bytes = site_text(site).encode() if given is None else _site_bytes(given)
        place = Path(folder).expanduser().absolute()
        made = place / folder_name
        if place.exists() and not place.is_dir():
            raise CohortError("{place} is a file, not a folder: name a folder for the copies.", place=place)
        if not place.is_dir():
            raise CohortError("There is no folder {place}: make it first, or name another one.", place=place)
        with new_folder(made) as draft:
            write_whole(draft / SITE_FILE, site_bytes)
            site = load_site(draft / SITE_FILE)  # what was written is what is followed
            if lacking := half_translated(site.language):
                raise CohortError(
                    "No copy was made: {lacking} Translate them first, or let the site file name another language.",
                    lacking=lacking,
                )
            stamp = _fill(draft, course, site, title)
    except Taken as taken:
        raise CohortError(
            "A folder or file {name} stands in {place} already and is left as it is: give this cohort another name.",
            name=made.name,
            place=made.parent,
        ) from taken
    except CannotWrite as fault:
        raise CohortError(
            "No copy was made in {place} ({reason}): name a folder that you may write to, with room for the notebooks.",
            place=Path(folder).absolute(),
            reason=fault.reason,
        ) from fault
    return Cohort(folder=made, site=site, stamp=stamp)


def _named(name: object) -> tuple[str, str]:
    """Return a cohort's name, and the name of its folder: small letters and digits, with hyphens between the words."""
    if not isinstance(name, str) or not name.strip():
        raise CohortError('A cohort needs a name in quotation marks, such as "autumn group B".')
    title = unicodedata.normalize("NFC", name.strip())
    if len(title) > LONGEST_NAME:
        raise CohortError(
            "The cohort's name has {count} letters: {longest} are allowed. Choose a shorter one.",
            count=len(title),
            longest=LONGEST_NAME,
        )
    if not title.isprintable() or re.search(r"[/\\]", title) or title.startswith("."):
        raise CohortError(
            "A cohort's name is no path: write it on one line without a slash, and without a full stop in front."
        )
    kept = "".join(each if unicodedata.category(each)[0] in "LMN" else " " for each in title)
    folder_name = "-".join(kept.lower().split())
    if not folder_name:
        raise CohortError("The cohort's name has neither letters nor digits: give the folder a name to be found by.")
    if _RESERVED.fullmatch(folder_name):
        raise CohortError(
            "Some computers allow no folder named {name}: add a word to the cohort's name.", name=folder_name
        )
    return title, folder_name


def _course() -> Path:
    try:
        course = find_course()
    except CannotOpenError as missing:
        raise CohortError(_NO_NOTEBOOKS) from missing
    if is_cohort(course):
        raise CohortError(
            "The notebooks of this mixlab are a cohort's copy themselves: make copies with one that has its own notebooks."
        )
    return course


def _site_bytes(given: Path) -> bytes:
    try:
        return read_bytes(given, SITE_SORT)
    except FileError as wrong:
        raise SiteError(wrong.faults) from wrong


_NO_NOTEBOOKS = sentence("The notebooks are missing from this installation: install mixlab again.")
_MATERIAL = Sort(name=sentence("file of a lesson"), wanted=sentence("a file of a lesson"), largest=100_000_000)


def _fill(draft: Path, course: Path, site: Site, title: str) -> Stamp:
    for original in list_material(course):
        name = original.relative_to(course)
        if name.as_posix() == SITE_FILE:
            continue
        copy = draft / name
        copy.parent.mkdir(parents=True, exist_ok=True)
        try:
            content = read_bytes(original, _MATERIAL)
            spoken = speak_notebook(content, site) if copy.suffix == ".ipynb" else content
        except ValueError as damaged:
            raise CohortError(
                "The notebook {name} is damaged in this installation: install mixlab again.", name=name.as_posix()
            ) from damaged
        write_whole(copy, spoken)
    if not (draft / FIRST_NOTEBOOK).is_file():
        raise CohortError(_NO_NOTEBOOKS)
    files = {
        path.relative_to(draft).as_posix(): read_bytes(path, _MATERIAL)
        for path in sorted(draft.rglob("*"))
        if path.is_file()
    }
    stamp = Stamp(
        cohort=title,
        written=date.today(),
        mixlab=_version(),
        site=site.name,
        files={name: digest(content) for name, content in files.items()},
        texts={name: reading_digest(content) for name, content in files.items() if name.endswith(".ipynb")},
    )
    write_whole(draft / COHORT_FILE, stamp.text())
    return stamp


def _version() -> str:
    try:
        return version("mixlab")
    except PackageNotFoundError:
        return "unknown"
