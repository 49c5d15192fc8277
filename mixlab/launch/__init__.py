"""Open the course: copy its notebooks to a working folder and show them in JupyterLab, on this machine only.

``mixlab`` and ``python -m mixlab`` both come here. JupyterLab runs as a program of its own, with the defaults that
stand in ``defaults``; the learner's own settings are read and left as they are.
"""

import argparse
import os
import sys
from collections.abc import Sequence
from importlib.util import find_spec
from pathlib import Path

from .course import SITE_FILE, check_cohort, copy_notebooks, find_course, is_cohort
from .lab import SITE_VARIABLE, run_lab
from .refusals import CannotOpenError, check_port, check_site_file, refuse_exposure


def main(arguments: Sequence[str] | None = None, *, course: Path | None = None) -> int:
    """Copy the notebooks and open JupyterLab on the first one, until Ctrl-C.

    Parameters
    ----------
    arguments : sequence of str, optional
        The words after ``mixlab`` on the command line, and by default those.
    course : Path, optional
        The folder to copy the notebooks from; by default those that came with mixlab.

    Returns
    -------
    int
        0 when the learner ended it, 2 when it could not be opened; a sentence on the error stream says why.
    """
    asked, extra = _read_arguments(arguments)
    try:
        refuse_exposure(extra)
        if find_spec("jupyterlab") is None:
            raise CannotOpenError(
                "JupyterLab is not installed: run `python -m pip install jupyterlab`, then try again."
            )
        if asked.port is not None:
            check_port(asked.port)
        folder: Path = asked.folder.expanduser().absolute()
        site = _choose_site(asked.site, folder)
        if is_cohort(folder):
            check_cohort(folder)
        elif kept := copy_notebooks(course or find_course(), folder):
            print(f"Kept your own {', '.join(kept)}; the course's differ. For fresh copies: mixlab --folder NEW-FOLDER")
        run_lab(folder, asked.port, extra, site)
    except CannotOpenError as why:
        print(f"mixlab: {why}", file=sys.stderr)
        return 2
    except KeyboardInterrupt:
        pass
    return 0


def _read_arguments(arguments: Sequence[str] | None) -> tuple[argparse.Namespace, list[str]]:
    reader = argparse.ArgumentParser(
        prog="mixlab",
        description="Copy the course's notebooks to a folder and open them in JupyterLab, on this machine only.",
        epilog="Every other option is handed to JupyterLab (python -m jupyterlab --help-all lists them).",
        allow_abbrev=False,
    )
    reader.add_argument(
        "--folder",
        type=Path,
        default=Path("mixlab-notebooks"),
        help="where your notebooks are kept, or the folder of a cohort; a file that is there is never overwritten "
        "(default: %(default)s)",
    )
    reader.add_argument(
        "--site",
        type=Path,
        metavar="FILE",
        help=f"the site file that the notebooks follow (default: the file that {SITE_VARIABLE} names, or else "
        f"{SITE_FILE} beside the notebooks)",
    )
    reader.add_argument("--port", type=_read_port, help="the port to answer on (default: the first free one from 8888)")
    return reader.parse_known_args(arguments)


def _choose_site(asked: Path | None, folder: Path) -> Path | None:
    """Return the site file to hand on: that of the cohort, the one asked for, or the one named before; None for none."""
    if is_cohort(folder):
        if asked is not None:
            raise CannotOpenError(f"{folder} is a cohort's folder with a site file of its own: leave --site out.")
        return folder / SITE_FILE
    named = os.environ.get(SITE_VARIABLE, "").strip()
    site = asked or (Path(named) if named else None)
    if site is None:
        return None
    site = site.expanduser().absolute()
    check_site_file(site)
    return site


def _read_port(text: str) -> int:
    if not (text.isascii() and text.isdigit() and 1 <= int(text) <= 65535):
        raise argparse.ArgumentTypeError(f"{text!r} is not a port: give a whole number from 1 to 65535")
    return int(text)
