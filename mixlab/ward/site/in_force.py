"""The site everything follows: the one in force, the teaching site, the worked sites, and reading one from a file."""

from __future__ import annotations

import os
from functools import cache
from importlib import resources
from pathlib import Path

from mixlab.files.faults import Fault
from mixlab.words import speak_by_default

from .faults import SiteError
from .record import Site, teaching_site

SITE_VARIABLE = "MIXLAB_SITE"
"""The environment variable that names a site file."""

SITE_FILE = "site.toml"
"""The site file that is looked for in the folder of the notebook."""

_in_force: Site | None = None


def load_site(path: str | Path) -> Site:
    """Read a site file (TOML). What it leaves out stays as on the teaching site.

    Parameters
    ----------
    path : str or Path
        The file. Only `name` is required.

    Raises
    ------
    SiteError
        With every fault in the file.

    Examples
    --------
    >>> from tempfile import mkdtemp
    >>> from mixlab import write_site_file
    >>> load_site(write_site_file(Path(mkdtemp()) / "site.toml")) == teaching_site()
    True
    """
    from .reading import read_site  # the table of keys is loaded with the first file that is read

    return read_site(path)


@cache
def example_sites() -> tuple[Site, ...]:
    """Return the teaching site and, after it, the invented wards of the lessons, each with a policy of its own.

    Examples
    --------
    >>> [site.name for site in example_sites()][:2]
    ['the teaching ward', 'the harbour ward']
    """
    with resources.as_file(resources.files(__package__) / "worked") as folder:
        return (teaching_site(), *(load_site(path) for path in sorted(folder.glob("*.toml"))))


def use_site(site: Site | str | Path | None) -> Site:
    """Put a site in force for everything that is not told another one.

    Parameters
    ----------
    site : Site, str, Path or None
        The site, or its file; None goes back to what the surroundings name: the file in the variable ``MIXLAB_SITE``,
        or `site.toml` in the current folder, or else the teaching site.

    Returns
    -------
    Site
        The site that is now in force.

    Raises
    ------
    SiteError
        With every fault; the site that was in force stays in force.

    Examples
    --------
    >>> before = site_in_force()
    >>> use_site(example_sites()[1]).name
    'the harbour ward'
    >>> use_site(before) is before
    True
    """
    global _in_force  # the one place where the site in force is kept
    chosen = _around() if site is None else _checked(site)
    _in_force = chosen
    speak_by_default(chosen.voice)
    return chosen


def site_in_force() -> Site:
    """Return the site that everything follows which is not told another one.

    Raises
    ------
    SiteError
        If no site was put in force and the file that the surroundings name is faulty: nothing is taught by another
        ward's numbers unasked.

    Examples
    --------
    >>> site_in_force().name
    'the teaching ward'
    """
    return _in_force or use_site(None)


def the_site(site: Site | None = None) -> Site:
    """Return the site that was given, or the one in force."""
    return site or _in_force or use_site(None)


def _around() -> Site:
    named = os.environ.get(SITE_VARIABLE, "").strip()
    if named:
        return load_site(named)
    return load_site(SITE_FILE) if Path(SITE_FILE).exists() else teaching_site()


def _checked(site: Site | str | Path) -> Site:
    if not isinstance(site, Site):
        return load_site(site)
    from .keys import KEYS
    from .safety import check_site

    faults: list[Fault] = []
    tables = {"glucose_unit": site.glucose_unit, "language": site.language}
    for key in KEYS:
        try:
            key.read(site, key.plain(site), tables)
        except SiteError as refused:
            faults += refused.faults
    if faults := [*faults, *check_site(site, frozenset(fault.key for fault in faults))]:
        raise SiteError(faults)
    return site
