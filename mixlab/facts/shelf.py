"""Read the TOML files of this folder into records; every fault in every file is listed at once.

This is the only module that knows pydantic, which checks types and refuses unknown keys.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields, is_dataclass
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Any, TypeVar

from pydantic import TypeAdapter, ValidationError

from .record import (
    AbsorptionRow,
    Fact,
    GlucosePair,
    InsulinRow,
    Sign,
    Source,
    Sourced,
    StepRow,
    SyringeRow,
    Threshold,
)

Record = TypeVar("Record")


class FactsError(ValueError):
    """Something in the fact files, or in a site file, is wrong. The message lists every fault, one a line."""


@dataclass(frozen=True, kw_only=True)
class Shelf:
    """Everything the fact files say. Each field is one file, each key one row of it."""

    sources: Mapping[str, Source]
    insulins: Mapping[str, InsulinRow]
    syringes: Mapping[str, SyringeRow]
    thresholds: Mapping[str, Threshold]
    glucose_pairs: tuple[GlucosePair, ...]
    signs: Mapping[str, Sign]
    bedside: Mapping[str, Fact]
    technique: Mapping[str, Fact]
    steps: Mapping[str, StepRow]
    absorption: Mapping[str, AbsorptionRow]
    action: Mapping[str, Fact]

    def cite(self, fact: Sourced) -> str:
        """Return the citation of a fact and how it is known, as printed for a learner."""
        if fact.known == "common practice":
            return "common practice, no source"
        return f"{self.sources[fact.source]} ({fact.known})"


FILES = {
    "sources.toml": {"sources": Mapping[str, Source]},
    "insulins.toml": {"insulins": Mapping[str, InsulinRow]},
    "syringes.toml": {"syringes": Mapping[str, SyringeRow]},
    "glucose.toml": {
        "thresholds": Mapping[str, Threshold],
        "glucose_pairs": tuple[GlucosePair, ...],
        "signs": Mapping[str, Sign],
        "bedside": Mapping[str, Fact],
    },
    "technique.toml": {"technique": Mapping[str, Fact], "steps": Mapping[str, StepRow]},
    "action.toml": {"absorption": Mapping[str, AbsorptionRow], "action": Mapping[str, Fact]},
}
"""Which tables each file holds, and of what."""


def check(kind: type[Record] | Any, data: Any, where: str) -> tuple[Record | None, list[str]]:
    """Turn plain data into records.

    Parameters
    ----------
    kind : type
        The record, or a mapping or tuple of records.
    data : object
        What the TOML file holds.
    where : str
        The file and table, to begin each fault with.

    Returns
    -------
    tuple
        The records (None if there are faults), and the faults, each one a sentence.
    """
    try:
        return _adapter(kind).validate_python(data), []
    except ValidationError as error:
        faults = []
        for fault in error.errors():
            place = ".".join(str(part) for part in fault["loc"])
            message = fault["msg"].removeprefix("Value error, ")
            if fault["type"] == "unexpected_keyword_argument":
                message = "this key is not known here; take it out or correct its spelling"
            faults.append(f"{where}{'.' if place else ''}{place}: {message}")
        return None, faults


@cache
def _adapter(kind: Any) -> TypeAdapter[Any]:
    return TypeAdapter(kind)


def read_toml(path: Path) -> tuple[dict[str, Any], list[str]]:
    """Read one TOML file; return its tables and, if it cannot be read, the fault as a sentence."""
    try:
        return tomllib.loads(path.read_text(encoding="utf-8")), []
    except IsADirectoryError:
        return {}, [f"{path.name}: this is a folder; name the file in it."]
    except FileNotFoundError:
        return {}, [f"{path.name}: there is no such file in {path.parent.absolute()}."]
    except UnicodeDecodeError:
        return {}, [f"{path.name}: not a text file in UTF-8; save it as UTF-8 text."]
    except tomllib.TOMLDecodeError as error:
        return {}, [f"{path.name}: not written as TOML: {error}."]
    except OSError as error:
        return {}, [f"{path.name}: cannot be read: {error.strerror}."]


def read_shelf(folder: Path) -> Shelf:
    """Read every fact file of a folder.

    Raises
    ------
    FactsError
        With every fault in every file: stray or missing files, unknown or missing keys, wrong types, a fact without a
        source, a source key that does not exist or that nothing uses.
    """
    faults = [f"{path.name}: this file is not known here" for path in _stray(folder)]
    tables: dict[str, Any] = {}
    for name, kinds in FILES.items():
        raw, problems = read_toml(folder / name)
        faults += problems
        if problems:
            continue
        faults += [f"{name}: the table [{table}] is not known here" for table in raw.keys() - kinds.keys()]
        for table, kind in kinds.items():
            if table not in raw:
                faults.append(f"{name}: the table [{table}] is missing")
                continue
            tables[table], problems = check(kind, raw[table], f"{name}: {table}")
            faults += problems
    if not faults:
        faults = _source_faults(tables)
    if faults:
        raise FactsError("\n".join(faults))
    return Shelf(**tables)


def _stray(folder: Path) -> Iterator[Path]:
    return (path for path in sorted(folder.glob("*.toml")) if path.name not in FILES)


def _source_faults(tables: dict[str, Any]) -> list[str]:
    sources = tables["sources"]
    used = {fact.source for fact in every_fact(tables)}
    unknown = [f"sources.toml: the source '{key}' is used but not listed" for key in sorted(used - sources.keys())]
    unused = [f"sources.toml: nothing uses the source '{key}'" for key in sorted(sources.keys() - used)]
    return unknown + unused


def every_fact(held: Any) -> Iterator[Sourced]:
    """Yield every sourced record inside a shelf, a table or a record, however deep."""
    if isinstance(held, Sourced):
        yield held
    if is_dataclass(held):
        held = [getattr(held, field.name) for field in fields(held)]
    if isinstance(held, Mapping):
        held = held.values()
    if isinstance(held, list | tuple) or (hasattr(held, "__iter__") and not isinstance(held, str)):
        for item in held:
            yield from every_fact(item)


@cache
def shelf() -> Shelf:
    """Return the package's own facts, read once."""
    with resources.as_file(resources.files(__package__)) as folder:
        return read_shelf(folder)
