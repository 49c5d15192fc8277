"""From a site file to a site: every fault of the file is collected, none is raised before the end."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from pathlib import Path
from types import MappingProxyType
from typing import Any, get_args

from mixlab.files.faults import Fault, FileError, Place, nearest, shown
from mixlab.files.text import Sort
from mixlab.files.toml import Written, read_toml
from mixlab.quantities import GlucoseUnit
from mixlab.ward.site.values.amounts import Number
from mixlab.ward.site.values.day import MEAL_PARTS
from mixlab.ward.site.values.lines import Line
from mixlab.words import Sentence, sentence

from .faults import SiteError
from .keys import FORMAT, KEYS, TABLES, SiteKey
from .record import LINES, Site, teaching_site
from .safety import check_site

_OF_THE_FILE = ("format", "reasons")

SITE_SORT = Sort(name=sentence("site file"), wanted=sentence("the text file with the keys of your site"))
"""What the one door for outside text expects under the name of a site file."""

_NUMBERS = frozenset(key.name for key in KEYS if isinstance(key.kind, Number | Line))

_MIXING = ("mixing", "may_mix", "may_share_with", "mix", "mixable", "allow_mix", "always_mix")
"""What a team might call a key that would allow a pair; there is none."""


def read_site(path: str | Path) -> Site:
    """Read a site file; what it leaves out stays as on the teaching site.

    Raises
    ------
    SiteError
        With every fault of the file.
    """
    try:
        written = read_toml(Path(path), SITE_SORT, _NUMBERS)
    except FileError as unread:
        raise SiteError(unread.faults) from None
    tables = written.tables
    if newer := _format_fault(written):
        raise SiteError([newer])
    faults = [*_unknown(written)]
    if "name" not in tables:
        faults.append(written.fault(("name",), sentence("this key is missing"), sentence("add the name of the ward")))
    site = _reasons(written, teaching_site())
    for key in KEYS:
        table = tables.get(key.field) if key.part else tables
        name = key.part or key.name
        if not isinstance(table, dict) or name not in table:
            continue
        try:
            site = key.read(site, table[name], tables)
        except SiteError as refused:
            for fault in refused.faults:
                faults.append(written.fault(fault.at, *(_strayed(written, fault.at) or (fault.wrong, fault.allowed))))
    passing = frozenset(key.name for key in KEYS if any(fault.at[: len(key.place)] == key.place for fault in faults))
    for fault in check_site(site, passing, frozenset(tables)):
        line = written.line(*fault.at) or written.line(*fault.key.split("."))
        if line is None and fault.key in LINES:  # the unit of the file, and not the line, was changed
            line = written.line("glucose_unit")
        faults.append(replace(fault, file=written.file, line=line))
    if "name" not in passing and (unnamed := _keeps_the_name(written, site)):
        faults.append(unnamed)
    if faults:
        raise SiteError(faults)
    return site


def _keeps_the_name(written: Written, site: Site) -> Fault | None:
    """Refuse another ward under the name of the teaching ward: its policy would be taken for the teaching default."""
    ours = teaching_site()
    same_name = "name" in written.tables and site.name.casefold() == ours.name.casefold()
    if not same_name or all(key.name == "name" or key.same(site, ours) for key in KEYS):
        return None
    wrong = sentence("this ward differs from the teaching ward and still has its name")
    return written.fault(("name",), wrong, sentence("give it a name of its own"))


def _format_fault(written: Written) -> Fault | None:
    """Refuse a file of a newer format at once: what its keys mean is not known."""
    found = written.tables.get("format", FORMAT)
    if isinstance(found, bool) or not isinstance(found, int) or found < 1:
        wrong = sentence("{written} is no format of a site file", written=shown(found))
        return written.fault(("format",), wrong, sentence("write format = {format}", format=FORMAT))
    if found > FORMAT:
        wrong = sentence(
            "this file is of a newer format ({found}), and this mixlab reads format {format}",
            found=shown(found),
            format=FORMAT,
        )
        return written.fault(("format",), wrong, sentence("install a newer mixlab"))
    return None


def _unknown(written: Written) -> Iterator[Fault]:
    """Refuse keys that are not known, in the file and in its tables, each with the known one that is nearest."""
    known = dict.fromkeys((*_OF_THE_FILE, *(key.field for key in KEYS)))
    for name, value in written.tables.items():
        if name.casefold() in _MIXING:
            wrong = sentence("what must not be mixed cannot be allowed by a site file")
            allowed = sentence("take it out; never_mix forbids a pair, and nothing allows one")
            yield written.fault((name,), wrong, allowed)
        elif name not in known:
            yield _not_known(written, (name,), name, known)
        elif name in (*TABLES, "reasons") and not isinstance(value, dict):
            wrong = sentence("{written} is not a table", written=shown(value))
            yield written.fault((name,), wrong, sentence("write [{table}], and its keys below it", table=name))
        elif name in TABLES:
            parts = dict.fromkeys(key.part for key in KEYS if key.field == name)
            for part in value:
                if part not in parts:
                    yield _not_known(written, (name, part), part, parts)


def _not_known(written: Written, place: Place, name: str, known: Mapping[str, Any]) -> Fault:
    if elsewhere := _belongs(written, place):
        return written.fault(place, *elsewhere)
    wrong = sentence("no key is called so")
    near = nearest(name, known)
    if written.value(*place) in get_args(GlucoseUnit):
        near = "glucose_unit"
    allowed = sentence("take it out or correct its spelling")
    if not near:
        allowed = sentence("take it out, or look for its name in the file that write_site_file writes")
    return written.fault(place, wrong, allowed, near)


def _strayed(written: Written, place: Place) -> tuple[Sentence, Sentence] | None:
    """Say where a key belongs that stands in a row of the meals, as what is written below them does."""
    in_a_meal = place[0] == "meals" and len(place) == 3 and place[2] not in MEAL_PARTS
    return _belongs(written, place) if in_a_meal else None


def _belongs(written: Written, place: Place) -> tuple[Sentence, Sentence] | None:
    """Say what is wrong and what to do with a key that is known, but not here; nothing of one that is not known."""
    *around, name = place
    if around and (name in _OF_THE_FILE or any(key.name == name for key in KEYS)):
        return _STRAY, sentence("write it above the first line in square brackets")
    homes = [key for key in KEYS if key.part == name and key.field not in around]
    if not homes or (value := written.value(*place)) in get_args(GlucoseUnit):
        return None
    homes = [key for key in homes if _takes(key, value, written)] or homes
    tables = ", ".join(f"[{key.field}]" for key in homes)
    allowed = sentence("write it below {tables}") if len(homes) == 1 else sentence("write it below one of {tables}")
    return _STRAY, allowed.filled(tables=tables)


_STRAY = sentence("this key does not belong here")


def _takes(key: SiteKey, value: object, written: Written) -> bool:
    try:
        key.read(teaching_site(), value, written.tables)
    except SiteError:
        return False
    return True


def _reasons(written: Written, site: Site) -> Site:
    """Return the site with the reasons of a file; `check_site` looks at each.

    A key inside a table may be written as ``"terms.chart"`` or as a table of its own.
    """
    found = written.tables.get("reasons")
    if not isinstance(found, dict):
        return site
    flat: dict[str, Any] = {}
    for key, reason in found.items():
        if isinstance(reason, dict) and key in TABLES:
            flat |= {f"{key}.{part}": each for part, each in reason.items()}
        else:
            flat[key] = reason
    return replace(site, reasons=MappingProxyType(flat))
