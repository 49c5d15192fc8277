"""The course's notebooks: where they are, and how a learner gets a copy without losing any work."""

import json
import os
from pathlib import Path
from tempfile import NamedTemporaryFile

from .refusals import CannotOpenError

FIRST_NOTEBOOK = "00_start_here.ipynb"
SITE_FILE = "site.toml"
COHORT_FILE = "cohort.toml"
"""The stamp of a folder that was made for one cohort, with notebooks and a site file of its own."""


def find_course() -> Path:
    """Find the notebooks that came with mixlab: inside the installed package, or beside it in the project's folder.

    Raises
    ------
    CannotOpenError
        When there are none.
    """
    package = Path(__file__).parents[1]
    for place in (package / "_notebooks", package.parent / "notebooks"):
        if (place / FIRST_NOTEBOOK).is_file():
            return place
    raise CannotOpenError("The course's notebooks are missing from this installation: install mixlab again.")


def copy_notebooks(course: Path, folder: Path) -> list[str]:
    """Copy the notebooks and their data into a folder, and leave every file that is already there as it is.

    Parameters
    ----------
    course, folder : Path
        Where the notebooks come from and where they go; the folder is made if need be. Hidden files and Python code
        stay behind.

    Returns
    -------
    list of str
        The names of files that were kept although the course's copy reads differently.

    Raises
    ------
    CannotOpenError
        When the folder cannot be made or written to.
    """
    kept = []
    try:
        if folder.is_file():
            raise CannotOpenError(
                f"{folder} is a file, not a folder: name a folder for the notebooks with --folder PATH."
            )
        folder.mkdir(parents=True, exist_ok=True)
        for original in list_material(course):
            name = original.relative_to(course)
            copy = folder / name
            copy.parent.mkdir(parents=True, exist_ok=True)
            if not _copy_new(original, copy) and _reads_otherwise(original, copy):
                kept.append(name.as_posix())
    except OSError as fault:
        raise CannotOpenError(
            f"The notebooks cannot be put into {folder} ({fault.strerror or fault}): "
            "name a folder that you may write to with --folder PATH."
        ) from fault
    return kept


def list_material(course: Path) -> list[Path]:
    """Return the notebooks of a folder and their data; not hidden files, Python code, or what was made for a cohort."""
    cohorts = {stamp.parent for stamp in course.rglob(COHORT_FILE)} - {course}
    return [
        path
        for path in sorted(course.rglob("*"))
        if path.is_file()
        and path.suffix != ".py"
        and path != course / COHORT_FILE
        and cohorts.isdisjoint(path.parents)
        and not any(part.startswith((".", "__")) for part in path.relative_to(course).parts)
    ]


def is_cohort(folder: Path) -> bool:
    """Say whether a folder was made for one cohort."""
    return (folder / COHORT_FILE).is_file()


def check_cohort(folder: Path) -> None:
    """See that a cohort's folder can be opened as it stands; nothing is added to it and nothing replaced.

    Raises
    ------
    CannotOpenError
        When its main notebook or its site file is missing, or it cannot be written to.
    """
    for name in (FIRST_NOTEBOOK, SITE_FILE):
        if not (folder / name).is_file():
            raise CannotOpenError(f"The cohort's folder {folder} has no {name}: make a new cohort copy.")
    try:
        with NamedTemporaryFile(dir=folder, prefix=".mixlab-"):
            pass
    except OSError as fault:
        raise CannotOpenError(
            f"Your work could not be saved in {folder} ({fault.strerror or fault}): "
            "copy the cohort's folder to a place that you may write to, and name the copy with --folder PATH."
        ) from fault


def _copy_new(original: Path, copy: Path) -> bool:
    """Copy a file whole or not at all, and only where nothing stands, even when two copies are made at once."""
    content = original.read_bytes()
    # A folder that takes no draft is refused even when nothing is to be copied: it could not save a learner's work.
    with NamedTemporaryFile(dir=copy.parent, prefix=".mixlab-") as draft:
        draft.write(content)
        draft.flush()
        Path(draft.name).chmod(0o644)
        try:
            os.link(draft.name, copy)  # refused where a file stands
        except FileExistsError:
            return False
        except OSError:  # a disk without links, such as a memory stick
            return _write_new(content, copy)
    return True


def _write_new(content: bytes, copy: Path) -> bool:
    try:
        new = copy.open("xb")  # refused where a file stands
    except FileExistsError:
        return False
    try:
        with new:
            new.write(content)
    except OSError:
        copy.unlink()  # half a notebook would be kept for ever
        raise
    return True


def _reads_otherwise(original: Path, copy: Path) -> bool:
    """Whether two files differ in what a person reads."""

    def read(path: Path) -> object:
        content = path.read_bytes()
        try:
            return text_of_cells(content) if path.suffix == ".ipynb" else content
        except ValueError:
            return content

    return not copy.is_file() or read(original) != read(copy)


def text_of_cells(content: bytes) -> list[tuple[str, str]]:
    """Return what a person reads in a notebook, whatever it printed when it was run: the kind and the text of each cell.

    Raises
    ------
    ValueError
        If the content is no notebook.
    """
    try:
        return [(cell["cell_type"], "".join(cell["source"])) for cell in json.loads(content)["cells"]]
    except (KeyError, TypeError, RecursionError) as fault:
        raise ValueError("This is no notebook.") from fault
