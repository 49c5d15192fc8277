"""Read the TOML files of this folder into records; every fault in every file is listed at once.

This is the only module that knows pydantic, which checks types and refuses unknown keys. It is loaded with the first file
that is checked: it takes a quarter of the time in which mixlab is imported.
"""

from __future__ import annotations

import json
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, fields, is_dataclass
from functools import cache
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar, get_type_hints

from mixlab.words import Sentence, sentence

from .action_rows import AbsorptionRow, BodySiteRow, SpeedRow, TrialRow, VariationRow
from .decision_rows import DecisionTables, LowTables
from .order_rows import ConcernRow, NotationRow
from .records import (
    AfterRow,
    ErrorRow,
    Fact,
    GlucosePair,
    InsulinRow,
    NotifyRow,
    RuleRow,
    Sign,
    Source,
    Sourced,
    StepRow,
    SyringeRow,
    Threshold,
)
from .site_rows import ClockTimes, LimitsRow, ListRow, MealRow, Policy, WardChoice, WordRow

if TYPE_CHECKING:
    from pydantic_core import ErrorDetails

Record = TypeVar("Record")


class FactsError(ValueError):
    """Something in the fact files, or in a site file, is wrong. The message lists every fault, one a line."""


@dataclass(frozen=True, kw_only=True)
class Shelf(DecisionTables, LowTables):
    """Everything the fact files say. Each field is one table, each key one row of it."""

    sources: Mapping[str, Source]
    insulins: Mapping[str, InsulinRow]
    syringes: Mapping[str, SyringeRow]
    thresholds: Mapping[str, Threshold]
    glucose_pairs: tuple[GlucosePair, ...]
    signs: Mapping[str, Sign]
    notify: Mapping[str, NotifyRow]
    rules: Mapping[str, RuleRow]
    bedside: Mapping[str, Fact]
    technique: Mapping[str, Fact]
    steps: Mapping[str, StepRow]
    steps_at: Mapping[str, tuple[StepRow, ...]]
    policies: Mapping[str, Policy]
    bench: Mapping[str, Fact]
    errors: Mapping[str, ErrorRow]
    after_giving: Mapping[str, AfterRow]
    absorption: Mapping[str, AbsorptionRow]
    action: Mapping[str, Fact]
    body_sites: Mapping[str, BodySiteRow]
    speeds: Mapping[str, SpeedRow]
    variation: Mapping[str, VariationRow]
    trials: Mapping[str, TrialRow]
    day: Mapping[str, Fact]
    day_rules: Mapping[str, RuleRow]
    meals: Mapping[str, MealRow]
    rounds: Mapping[str, ClockTimes]
    notation: Mapping[str, NotationRow]
    concerns: Mapping[str, ConcernRow]
    checks: Mapping[str, Fact]
    limits: Mapping[str, LimitsRow]
    site_policies: Mapping[str, WardChoice]
    site_words: Mapping[str, WordRow]
    opened_days: Mapping[str, Fact]
    site_lists: Mapping[str, ListRow]

    def cite(self, fact: Sourced) -> Sentence:
        """Return the citation of a fact and how it is known, as printed for a learner."""
        if fact.known == "common practice":
            return sentence("common practice, no source")
        if fact.known == "assumed":
            return sentence("our assumption, no source")
        return sentence("{citation} ({known})", citation=self.sources[fact.source], known=sentence(fact.known))


HOW_KNOWN = (sentence("read"), sentence("recalled"), sentence("computed"))
"""How a fact with a published source is known, for the catalogue."""

FILES: dict[str, dict[str, Any]] = {
    "sources.toml": {"sources": Mapping[str, Source]},
    "insulins.toml": {"insulins": Mapping[str, InsulinRow]},
    "syringes.toml": {"syringes": Mapping[str, SyringeRow]},
    "glucose.toml": {
        "thresholds": Mapping[str, Threshold],
        "glucose_pairs": tuple[GlucosePair, ...],
        "signs": Mapping[str, Sign],
        "notify": Mapping[str, NotifyRow],
        "rules": Mapping[str, RuleRow],
        "bedside": Mapping[str, Fact],
    },
    "decisions.toml": get_type_hints(DecisionTables),
    "low.toml": get_type_hints(LowTables),
    "technique.toml": {
        "technique": Mapping[str, Fact],
        "steps": Mapping[str, StepRow],
        "steps_at": Mapping[str, tuple[StepRow, ...]],
        "policies": Mapping[str, Policy],
    },
    "bench.toml": {"bench": Mapping[str, Fact]},
    "errors.toml": {"errors": Mapping[str, ErrorRow], "after_giving": Mapping[str, AfterRow]},
    "action.toml": {
        "absorption": Mapping[str, AbsorptionRow],
        "action": Mapping[str, Fact],
        "body_sites": Mapping[str, BodySiteRow],
        "speeds": Mapping[str, SpeedRow],
        "variation": Mapping[str, VariationRow],
    },
    "trials.toml": {"trials": Mapping[str, TrialRow]},
    "day.toml": {
        "day": Mapping[str, Fact],
        "day_rules": Mapping[str, RuleRow],
        "meals": Mapping[str, MealRow],
        "rounds": Mapping[str, ClockTimes],
    },
    "notation.toml": {
        "notation": Mapping[str, NotationRow],
        "concerns": Mapping[str, ConcernRow],
        "checks": Mapping[str, Fact],
    },
    "site.toml": {
        "limits": Mapping[str, LimitsRow],
        "site_policies": Mapping[str, WardChoice],
        "site_words": Mapping[str, WordRow],
        "opened_days": Mapping[str, Fact],
        "site_lists": Mapping[str, ListRow],
    },
}
"""Which tables each file holds, and of what."""


def check(kind: type[Record], data: object, where: str) -> tuple[Record | None, list[str]]:
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
    from pydantic import TypeAdapter, ValidationError

    try:
        # As JSON, so that the checker takes a list for a tuple and still refuses a text where a number belongs.
        return TypeAdapter(kind).validate_json(json.dumps(data, default=str), strict=True), []
    except ValidationError as error:
        return None, [_sentence(fault, where) for fault in error.errors()]


_SAY = {
    "missing": "this key is missing; add it",
    "unexpected_keyword_argument": "this key is not known here; take it out or correct its spelling",
    "float_type": "write a number",
    "int_type": "write a whole number",
    "int_from_float": "write a whole number",
    "finite_number": "write a number that ends",
    "string_type": "write text in quotation marks",
    "bool_type": "write true or false",
    "tuple_type": "write a list in square brackets",
    "dict_type": "write a table",
    "dataclass_type": "write a table with keys of its own",
}
"""What a person should do about a fault, by the checker's name for it."""


def _sentence(fault: ErrorDetails, where: str) -> str:
    place = "".join(f", row {part + 1}" if isinstance(part, int) else f".{part}" for part in fault["loc"])
    if fault["type"] == "literal_error":
        return f"{where}{place}: write one of {fault['ctx']['expected']}"
    return f"{where}{place}: {_SAY.get(fault['type'], fault['msg'].removeprefix('Value error, '))}"


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
    faults = [f"{name}: this file is not known here; take it out" for name in _stray(folder)]
    tables: dict[str, Any] = {}
    for name, kinds in FILES.items():
        raw, problems = read_toml(folder / name)
        faults += problems
        if problems:
            continue
        faults += [
            f"{name}: the table [{table}] is not known here; take it out" for table in sorted(raw.keys() - kinds)
        ]
        for table, kind in kinds.items():
            if table not in raw:
                faults.append(f"{name}: the table [{table}] is missing; add it")
                continue
            records, problems = check(kind, raw[table], f"{name}: {table}")
            faults += problems
            if records is not None:
                tables[table] = records
    faults += _source_faults(tables)
    if faults:
        raise FactsError("\n".join(faults))
    return Shelf(**tables)


def _stray(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.glob("*.toml") if path.name not in FILES)


def _source_faults(tables: dict[str, Any]) -> list[str]:
    """Compare the sources named with the sources listed, as far as the tables could be read."""
    if "sources" not in tables:
        return []
    listed, used = tables["sources"].keys(), {fact.source for fact in every_fact(tables)}
    faults = [f"sources.toml: the source '{key}' is used but not listed; add it" for key in sorted(used - listed)]
    if len(tables) == sum(len(kinds) for kinds in FILES.values()):
        faults += [f"sources.toml: nothing uses the source '{key}'; take it out" for key in sorted(listed - used)]
    return faults


def every_fact(held: object) -> Iterator[Sourced]:
    """Yield every sourced record inside a shelf, a table or a record, however deep."""
    if isinstance(held, Sourced):
        yield held
    if is_dataclass(held):
        held = [getattr(held, field.name) for field in fields(held)]
    if isinstance(held, Mapping):
        held = held.values()
    if isinstance(held, Iterable) and not isinstance(held, str):
        for item in held:
            yield from every_fact(item)


@cache
def shelf() -> Shelf:
    """Return the package's own facts, read once."""
    with resources.as_file(resources.files(__package__)) as folder:
        return read_shelf(folder)
