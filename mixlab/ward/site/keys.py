"""Every key of a site file: what it is, what is allowed, and how it is read from a file and put on a site.

The teaching site, the reader, the checks, the file that mixlab writes and the comparison of two sites all go by this one table.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from types import MappingProxyType
from typing import Any, get_args

from mixlab.facts.reading import the_facts
from mixlab.facts.records import Sourced, TaughtTimes
from mixlab.files.faults import Place
from mixlab.quantities import GlucoseUnit
from mixlab.words import Sentence, joined, sentence

from .faults import SiteError
from .record import Site
from .values.amounts import Number, OpenedDays
from .values.choices import Handbook, Language, OneOf, Pairs, PolicyChoice, Steps, Stock
from .values.day import Clock, Meals
from .values.kind import Kind
from .values.lines import Line
from .values.words import InsulinName, Term, UnitWord, Words

FORMAT = 1
"""The format of site files that this mixlab reads."""


@dataclass(frozen=True)
class SiteKey:
    """One key of a site file.

    Attributes
    ----------
    heading : Sentence
        Under which heading the file has it.
    name : str
        The key; one inside a table carries the table's name: ``"terms.chart"``.
    kind : Kind
        How its value is read, written and described.
    fact_at : str
        Where among the facts its value on the teaching site stands; empty for the ward's name.
    what : Sentence
        What it is.
    """

    heading: Sentence
    name: str
    kind: Kind
    fact_at: str
    what: Sentence

    @property
    def field(self) -> str:
        """The field of `Site` that holds the value."""
        return self.name.partition(".")[0]

    @property
    def part(self) -> str:
        """The key inside that field, or empty."""
        return self.name.partition(".")[2]

    @property
    def place(self) -> Place:
        """Where it stands in a file: the key, after the table it stands in."""
        return (self.field, self.part) if self.part else (self.name,)

    @property
    def reason_line(self) -> str:
        """How a reason for it is written in a file: ``waiting = "…"``."""
        return f'"{self.name}" = "…"' if self.part else f'{self.name} = "…"'

    def allowed(self, site: Site) -> Sentence:
        """Return what is allowed, in the glucose unit of a site."""
        return self.kind.allowed(site.glucose_unit)

    def of(self, site: Site) -> Any:
        """Return the value on a site, as its record."""
        value = getattr(site, self.field)
        return value[self.part] if self.part else value

    def plain(self, site: Site) -> Any:
        """Return the value on a site as a file holds it: text, a number, a list or a table."""
        return self.kind.plain(self.of(site), site.glucose_unit)

    def same(self, one: Site, other: Site) -> bool:
        """Say whether two sites have the same value here, whoever says so."""
        return bool(_unsourced(self.of(one)) == _unsourced(self.of(other)))

    def put(self, site: Site, value: Any) -> Site:
        """Return the site with another value, given as its record."""
        if self.part:
            value = MappingProxyType({**getattr(site, self.field), self.part: value})
        return replace(site, **{self.field: value})

    def read(self, site: Site, written: Any, tables: Mapping[str, Any] = MappingProxyType({})) -> Site:
        """Return the site with what a file says of this key; who says so stays where the value stays.

        Parameters
        ----------
        site : Site
            The site that changes.
        written : object
            The value as TOML holds it.
        tables : mapping, optional
            The whole file: the ends of the meter are in its glucose unit.

        Raises
        ------
        SiteError
            If the value cannot be read.
        """
        try:
            changed = self.put(site, self.kind.read(written, self.of(site), tables))
        except SiteError as refused:
            raise SiteError(replace(fault, at=(*self.place, *fault.at)) for fault in refused.faults) from None
        return site if self.same(changed, site) else changed

    @property
    def fact(self) -> Any:
        """The fact behind the value on the teaching site, or the table of them; None for the ward's name."""
        found: Any = the_facts() if self.fact_at else None
        for part in filter(None, self.fact_at.split(".")):
            found = found[part] if isinstance(found, Mapping) else getattr(found, part)
        return found

    @property
    def source(self) -> Sentence:
        """Who says so on the teaching site, as printed, or nothing for the ward's name."""
        return the_facts().cite(self.fact) if self.fact else Sentence("")

    @property
    def note(self) -> Sentence:
        """What a reader of the teaching value should know besides, as the facts note it, or nothing."""
        if isinstance(self.fact, TaughtTimes):
            return joined((row.note for row in self.fact.rows), " ")
        return self.fact.note if self.fact else Sentence("")


_WHO_SAYS = ("source", "known", "note", "taught")


def _unsourced(value: Any) -> Any:
    """Return a value without who says so; `rounding` is a key of its own, which every line follows."""
    if not isinstance(value, Sourced):
        return value
    left_out = (*_WHO_SAYS, "rounding")
    return {each.name: getattr(value, each.name) for each in fields(value) if each.name not in left_out}


THE_WARD = sentence("The ward and how it writes")
THE_LINES = sentence("Glucose: the lines, and the meter")
A_LOW = sentence("Low glucose, and earlier doses")
THE_DOSE = sentence("The dose and its meal")
THE_WORDS = sentence("What things are called here")


def _number(name: str, fact_at: str, what: Sentence) -> tuple[str, Kind, str, Sentence]:
    return name, Number(name), fact_at, what


def _line(name: str, threshold: str, what: Sentence, *, optional: bool = False) -> tuple[str, Kind, str, Sentence]:
    return name, Line(name, optional=optional), f"thresholds.{threshold}", what


def _policy(name: str, what: Sentence) -> tuple[str, Kind, str, Sentence]:
    return name, PolicyChoice(name), f"{PolicyChoice(name).table}.{name}", what


_MIXED = {it: sentence(row.name) for it, row in the_facts().insulins.items() if row.mixing.may_share_with}
"""The names of the insulins that are mixed; the others are in no lesson."""

_TABLE: dict[Sentence, tuple[tuple[str, Kind, str, Sentence], ...]] = {
    THE_WARD: (
        ("name", Words(longest=60), "", sentence("What the ward is called where its policy is named.")),
        ("language", Language(), "site_words.language", sentence("The language, and with it the spelling.")),
        _policy("numbers", sentence("The mark before the decimals in what is shown.")),
        _policy("dates", sentence("How 26 November 2026 is written in what is shown.")),
    ),
    THE_LINES: (
        ("glucose_unit", OneOf(get_args(GlucoseUnit)), "site_words.glucose_unit", sentence("The unit of glucose.")),
        _policy("rounding", sentence("How a reading is compared with a line.")),
        _line("hold_line", "low", sentence("Low: hold the dose and treat the low.")),
        _line("level_2_line", "level-2", sentence("A serious low.")),
        _line("report_line", "report", sentence("High enough to report to the {prescriber}.")),
        _line(
            "urgent_high_line",
            "urgent-high",
            sentence("So high that the {prescriber} is called now, and the dose waits."),
            optional=True,
        ),
        _line("near_low_line", "near-low", sentence("Not low, but close to it."), optional=True),
        _policy("near_low_answer", sentence("What is done about a reading that is close to low.")),
        _number("reading_age", "bedside.reading_age_minutes", sentence("Oldest reading to act on, in minutes.")),
        _number("meter_low", "bedside.meter_low", sentence("The lowest reading that the meter shows.")),
        _number("meter_high", "bedside.meter_high", sentence("The highest reading that the meter shows.")),
    ),
    A_LOW: (
        _number("carbohydrate", "bedside.carbohydrate_g", sentence("Fast carbohydrate for a low, in g.")),
        _number(
            "serious_carbohydrate", "bedside.serious_carbohydrate_g", sentence("The same for a serious low, in g.")
        ),
        _number("recheck", "bedside.recheck_minutes", sentence("Minutes until a low is measured again.")),
        _number(
            "oral_treatments",
            "bedside.oral_treatments",
            sentence("How often one low is treated by mouth at most, before the {prescriber} takes over."),
        ),
        _number("earlier_low", "bedside.earlier_low_hours", sentence("Hours for which an earlier low is told first.")),
        _number(
            "dose_gap",
            "bedside.dose_gap_hours",
            sentence("Hours since the last dose below which the {chart} is checked first."),
        ),
    ),
    THE_DOSE: (
        _number("meal_lead", "bedside.meal_lead_minutes", sentence("Minutes from the injection to the meal.")),
        _number("meal_slack", "day.meal_slack_minutes", sentence("Minutes that the meal may be sooner or later.")),
        _number(
            "waiting",
            "bedside.waiting_minutes",
            sentence("Longest wait from mixing {regular} with {nph} to injecting, in minutes."),
        ),
        _number(
            "waiting_rapid",
            "bedside.waiting_rapid_minutes",
            sentence("Longest wait from mixing a rapid-acting insulin with {nph} to injecting, in minutes."),
        ),
    ),
    sentence("Orders"): (
        _number(
            "large_dose",
            "checks.large_dose_units",
            sentence("A single dose above which the order check asks, in {units}."),
        ),
        _policy("short_times", sentence("Times of an order in words, or in short forms such as BID too.")),
    ),
    sentence("The day"): (
        ("rounds", Clock(several=True), "rounds.ward", sentence("Planned rounds.")),
        ("bedtime", Clock(), "rounds.bedtime", sentence("When patients go to bed.")),
        ("waking", Clock(), "rounds.waking", sentence("When patients wake.")),
    ),
    sentence("Preparing the dose"): (
        ("stock", Stock(), "site_lists.stock", sentence("The syringes in the cupboard.")),
        _policy("gloves", sentence("Gloves for drawing up.")),
        _policy("second_check", sentence("When a second nurse checks.")),
        _policy("recapping", sentence("Capping a clean needle that is carried.")),
        _policy("push_back", sentence("Pushing clear insulin back into its own vial.")),
        _policy("air", sentence("Air into each vial before its dose is drawn.")),
        _policy("resuspend", sentence("How long the cloudy vial is rolled.")),
        _number("rolls", "technique.rolls", sentence("How often the cloudy vial is rolled.")),
        _number("inversions", "technique.inversions", sentence("How often the cloudy vial is turned over.")),
        ("never_mix", Pairs(), "insulins.nph.mixing", sentence("Pairs that this ward does not allow in one syringe.")),
        ("critical_steps", Steps(), "site_lists.critical_steps", sentence("The steps that must be right.")),
    ),
    sentence("The meals"): (("meals", Meals(), "meals.breakfast", sentence("The meals of a day.")),),
    THE_WORDS: (
        ("terms.regular", InsulinName("regular"), "site_words.regular", sentence("The clear short-acting insulin.")),
        ("terms.nph", InsulinName("nph"), "site_words.nph", sentence("The cloudy intermediate-acting insulin.")),
        ("terms.prescriber", Term(), "site_words.prescriber", sentence("Who may change the order.")),
        ("terms.chart", Term(), "site_words.chart", sentence("Where orders and doses are written down.")),
        ("terms.unit", UnitWord(), "site_words.unit", sentence("One unit of insulin.")),
        ("terms.units", UnitWord(several=True), "site_words.units", sentence("Several units of insulin.")),
    ),
    sentence("Days that an opened vial is kept (the maker's label goes first)"): tuple(
        (
            f"opened_days.{it}",
            OpenedDays(insulin=it),
            f"opened_days.{it}",
            sentence("Days for a vial of {insulin}.", insulin=insulin),
        )
        for it, insulin in _MIXED.items()
    ),
    sentence("The handbooks whose action times are taught"): tuple(
        (
            f"taught.{it}",
            Handbook(it),
            f"insulins.{it}.taught_times",
            sentence("Action times of {insulin}, from the earliest to the latest of these handbooks.", insulin=insulin),
        )
        for it, insulin in _MIXED.items()
    ),
}


KEYS: tuple[SiteKey, ...] = tuple(
    SiteKey(heading, name, kind, fact_at, what)
    for heading, rows in _TABLE.items()
    for name, kind, fact_at, what in rows
)
"""Every key, in the order of the file. `format` and `[reasons]` belong to the file and not to how a ward works."""

TABLES = tuple(dict.fromkeys(key.field for key in KEYS if key.part))
"""The tables that hold keys of their own."""
