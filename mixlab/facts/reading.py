"""Read the TOML files of this folder into records; every fault in every file is listed at once."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, fields, is_dataclass, replace
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Any, get_type_hints

from mixlab.files.faults import ALIKE, Fault, FileError, nearest
from mixlab.files.records import check
from mixlab.files.text import Sort
from mixlab.files.toml import read_toml
from mixlab.words import Sentence, joined, sentence

from .action_rows import AbsorptionRow, BodySiteRow, SpeedRow, TrialRow, VariationRow
from .decision_rows import AnswerRow, DecisionTables, LowTables, SaidRow
from .order_rows import ConcernRow, NotationRow, TimeWordRow
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
    TaughtTimes,
    Threshold,
)
from .site_rows import ClockTimes, LimitsRow, ListRow, MealRow, Policy, WardChoice, WordRow


class FactsError(FileError):
    """Something in the fact files is wrong. The message lists every fault, one a line."""


@dataclass(frozen=True, kw_only=True)
class Facts(DecisionTables, LowTables):
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
    not_judged: Mapping[str, RuleRow]
    wrong_dose: Mapping[str, AnswerRow]
    wrong_dose_steps: Mapping[str, SaidRow]
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
    time_words: Mapping[str, TimeWordRow]
    limits: Mapping[str, LimitsRow]
    site_policies: Mapping[str, WardChoice]
    site_words: Mapping[str, WordRow]
    opened_days: Mapping[str, Fact]
    site_lists: Mapping[str, ListRow]

    def cite(self, fact: Sourced | TaughtTimes) -> Sentence:
        """Return the citation of a fact and how it is known, as printed for a learner; of several handbooks each."""
        if isinstance(fact, TaughtTimes):
            return joined(map(self.cite, fact.rows), "; ")
        if fact.known == "common practice":
            return sentence("common practice, no source")
        if fact.known == "assumed":
            return sentence("our assumption, no source")
        return sentence("{citation} ({known})", citation=self.sources[fact.source], known=sentence(fact.known))


HOW_KNOWN = (sentence("read"), sentence("recalled"), sentence("computed"))
"""How a fact with a published source is known, for the catalogue."""

FILES: dict[str, tuple[str, ...]] = {
    "sources.toml": ("sources",),
    "insulins.toml": ("insulins",),
    "syringes.toml": ("syringes",),
    "glucose.toml": ("thresholds", "glucose_pairs", "signs", "notify", "rules", "bedside"),
    "decisions.toml": tuple(get_type_hints(DecisionTables)),
    "low.toml": tuple(get_type_hints(LowTables)),
    "technique.toml": ("technique", "steps", "steps_at", "policies"),
    "bench.toml": ("bench",),
    "errors.toml": ("errors", "not_judged"),
    "wrong_dose.toml": ("wrong_dose", "wrong_dose_steps", "after_giving"),
    "action.toml": ("absorption", "action", "body_sites", "speeds", "variation"),
    "trials.toml": ("trials",),
    "day.toml": ("day", "day_rules", "meals", "rounds"),
    "notation.toml": ("notation", "concerns", "checks", "time_words"),
    "site.toml": ("limits", "site_policies", "site_words", "opened_days", "site_lists"),
}
"""Which tables each file holds; the fields of `Facts` say of what."""


def read_facts(folder: Path) -> Facts:
    """Read every fact file of a folder.

    Raises
    ------
    FactsError
        With every fault in every file: stray or missing files, unknown or missing keys, wrong types, a fact without a
        source, a source key that does not exist or that nothing uses.
    """
    strays = (path.name for path in folder.glob("*.toml") if path.name not in FILES)
    stray = sentence("this file is not known here")
    faults = [Fault(file=it, wrong=stray, allowed=_TAKE_OUT, nearest=nearest(it, FILES, 0.8)) for it in sorted(strays)]
    kinds, tables = get_type_hints(Facts), dict[str, Any]()
    for name, known in FILES.items():
        try:
            written = read_toml(folder / name, _FACT_FILE)
        except FileError as wrong:
            faults += wrong.faults
            continue
        for table in known:
            if table not in written.tables:
                faults.append(_fault(name, sentence("the table [{table}] is missing", table=table), _ADD))
                continue
            try:
                tables[table] = check(kinds[table], written, table)
            except FileError as wrong:
                faults += wrong.faults
        for table in sorted(written.tables.keys() - set(known)):
            unknown = _fault(
                name, sentence("the table [{table}] is not known here", table=table), _TAKE_OUT, table, known
            )
            faults.append(replace(unknown, line=written.line(table)))
    faults += _source_faults(tables)
    if faults:
        raise FactsError(faults)
    return Facts(**tables)


_FACT_FILE = Sort(name=sentence("fact file"), wanted=sentence("the text file with the facts"))

_TAKE_OUT, _ADD = sentence("take it out"), sentence("add it")


def _fault(file: str, wrong: Sentence, allowed: Sentence, name: str = "", known: Iterable[str] = ()) -> Fault:
    """Return a fault of a file, with the known name that looks most like the one that is wrong."""
    return Fault(file=file, wrong=wrong, allowed=allowed, nearest=nearest(name, known, ALIKE))


def _source_faults(tables: dict[str, Any]) -> list[Fault]:
    """Compare the sources named with the sources listed, as far as the tables could be read."""
    if "sources" not in tables:
        return []
    file, listed, used = "sources.toml", tables["sources"].keys(), {fact.source for fact in every_fact(tables)}
    missing, unused = sentence("the source '{key}' is used but not listed"), sentence("nothing uses the source '{key}'")
    faults = [_fault(file, missing.filled(key=key), _ADD, key, listed) for key in sorted(used - listed)]
    if len(tables) == sum(map(len, FILES.values())):
        faults += [_fault(file, unused.filled(key=key), _TAKE_OUT) for key in sorted(listed - used)]
    return faults


def every_fact(held: object) -> Iterator[Sourced]:
    """Yield every sourced record inside the facts, a table or a record, however deep."""
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
def the_facts() -> Facts:
    """Return the package's own facts, read once."""
    with resources.as_file(resources.files(__package__)) as folder:
        return read_facts(folder)
