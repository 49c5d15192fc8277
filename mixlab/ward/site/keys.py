"""Every key of a site file: what it is, what is allowed, and how it is read from a file and put on a site.

The reader, the checks, the file that mixlab writes and the comparison of two sites all go by this one table.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from types import MappingProxyType
from typing import Any, Protocol, get_args

from mixlab.facts.records import Sourced
from mixlab.facts.shelf import shelf
from mixlab.files.faults import Place
from mixlab.quantities import GlucoseUnit
from mixlab.ward.site.values.amounts import Number, OpenedDays
from mixlab.ward.site.values.choices import Handbook, OneOf, Pairs, PolicyChoice, Steps, Stock, all_languages
from mixlab.ward.site.values.day import Clock, Meals
from mixlab.ward.site.values.lines import Line
from mixlab.ward.site.values.words import InsulinName, Term, UnitWord, Words
from mixlab.words import TERMS, Sentence, sentence

from .record import Site, teaching_site

FORMAT = 1
"""The format of site files that this mixlab reads."""


class Kind(Protocol):
    """A kind of value: how it is read, written and described. Some also have `faults`, for what needs a reason."""

    def read(self, written: Any, old: Any, tables: Mapping[str, Any], /) -> Any:
        """Return the value for a site, or raise `Refused`."""

    def plain(self, value: Any, measure: GlucoseUnit, /) -> Any:
        """Return the value as TOML holds it, in a file of this glucose unit."""

    def allowed(self, measure: GlucoseUnit, /) -> Sentence:
        """Return what is allowed, in words."""


@dataclass(frozen=True, kw_only=True)
class SiteKey:
    """One key of a site file.

    Attributes
    ----------
    name : str
        The key; one inside a table carries the table's name: ``"terms.chart"``.
    heading : Sentence
        Under which heading the file has it.
    what : Sentence
        What it is, with a place for the insulin it is about; `says` fills it.
    kind : Kind
        How its value is read, written and described.
    insulin : str
        Key of the insulin it is about, or empty.
    """

    name: str
    heading: Sentence
    what: Sentence
    kind: Kind
    insulin: str = ""

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

    def says(self) -> Sentence:
        """Return what the key is."""
        return self.what.filled(insulin=sentence(shelf().insulins[self.insulin].name)) if self.insulin else self.what

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
        Refused
            If the value cannot be read.
        """
        changed = self.put(site, self.kind.read(written, self.of(site), tables))
        return site if self.same(changed, site) else changed

    @property
    def _default(self) -> Sourced | None:
        """The fact behind the teaching default."""
        facts = shelf()
        value: Any = self.of(teaching_site())
        if self.field == "taught":
            value = facts.insulins[self.insulin].taught_times
        elif self.name == "never_mix":
            value = facts.insulins["nph"].mixing
        elif self.name == "meals":
            value = next(iter(facts.meals.values()))
        elif self.field == "terms" or self.name in facts.site_words:
            value = facts.site_words[self.part or self.name]
        elif self.name in facts.site_lists:
            value = facts.site_lists[self.name]
        return value if isinstance(value, Sourced) else None

    def source(self) -> Sentence:
        """Return who says so on the teaching site, as printed, or nothing for the ward's name."""
        default = self._default
        return shelf().cite(default) if default else Sentence("")

    def note(self) -> Sentence:
        """Return what a reader of the default should know besides, as the facts note it, or nothing."""
        default = self._default
        return default.note if default else Sentence("")


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
THE_DAY = sentence("The day")
THE_MEALS = sentence("The meals")
PREPARING = sentence("Preparing the dose")
THE_WORDS = sentence("What things are called here")
THE_VIALS = sentence("Days that an opened vial is kept (the maker's label goes first)")
TEACHING = sentence("The handbook whose action times are taught")


def _keys() -> tuple[SiteKey, ...]:
    def key(name: str, heading: Sentence, kind: Kind, what: Sentence, insulin: str = "") -> SiteKey:
        return SiteKey(name=name, heading=heading, what=what, kind=kind, insulin=insulin)

    def number(name: str) -> Number:
        return Number(limits=name)

    def line(name: str, optional: bool = False) -> Line:
        return Line(limits=name, optional=optional)

    mixed = [it for it, row in shelf().insulins.items() if row.mixing.may_share_with]  # the others are in no lesson
    terms: dict[str, tuple[Kind, Sentence]] = {
        "regular": (InsulinName(insulin="regular"), sentence("The clear short-acting insulin.")),
        "nph": (InsulinName(insulin="nph"), sentence("The cloudy intermediate-acting insulin.")),
        "prescriber": (Term(), sentence("Who may change the order.")),
        "chart": (Term(), sentence("Where orders and doses are written down.")),
        "unit": (UnitWord(), sentence("One unit of insulin.")),
        "units": (UnitWord(several=True), sentence("Several units of insulin.")),
    }
    if set(terms) != set(TERMS):
        raise AssertionError("The site's terms are those of mixlab.words.")
    return (
        key("name", THE_WARD, Words(longest=60), sentence("What the ward is called where its policy is named.")),
        key("language", THE_WARD, OneOf(choices=all_languages), sentence("The language, and with it the spelling.")),
        key(
            "numbers",
            THE_WARD,
            PolicyChoice(policy="numbers"),
            sentence("The mark before the decimals in what is shown."),
        ),
        key(
            "dates",
            THE_WARD,
            PolicyChoice(policy="dates"),
            sentence("How 26 November 2026 is written in what is shown."),
        ),
        key("glucose_unit", THE_LINES, OneOf(choices=lambda: get_args(GlucoseUnit)), sentence("The unit of glucose.")),
        key("rounding", THE_LINES, PolicyChoice(policy="rounding"), sentence("How a reading is compared with a line.")),
        key("hold_line", THE_LINES, line("hold_line"), sentence("Low: hold the dose and treat the low.")),
        key("level_2_line", THE_LINES, line("level_2_line"), sentence("A serious low.")),
        key("report_line", THE_LINES, line("report_line"), sentence("High enough to report to the {prescriber}.")),
        key(
            "near_low_line",
            THE_LINES,
            line("near_low_line", True),
            sentence("Not low, but near it: tell the {prescriber}."),
        ),
        key("reading_age", THE_LINES, number("reading_age"), sentence("Oldest reading to act on, in minutes.")),
        key("meter_low", THE_LINES, number("meter_low"), sentence("The lowest reading that the meter shows.")),
        key("meter_high", THE_LINES, number("meter_high"), sentence("The highest reading that the meter shows.")),
        key("carbohydrate", A_LOW, number("carbohydrate"), sentence("Fast carbohydrate for a low, in g.")),
        key("recheck", A_LOW, number("recheck"), sentence("Minutes until a low is measured again.")),
        key("earlier_low", A_LOW, number("earlier_low"), sentence("Hours for which an earlier low is told first.")),
        key(
            "dose_gap",
            A_LOW,
            number("dose_gap"),
            sentence("Hours since the last dose below which the {chart} is checked first."),
        ),
        key("meal_lead", THE_DOSE, number("meal_lead"), sentence("Minutes from the injection to the meal.")),
        key("meal_slack", THE_DOSE, number("meal_slack"), sentence("Minutes that the meal may be sooner or later.")),
        key("waiting", THE_DOSE, number("waiting"), sentence("Longest wait from mixing to injecting, in minutes.")),
        key("rounds", THE_DAY, Clock(several=True), sentence("Planned rounds.")),
        key("bedtime", THE_DAY, Clock(), sentence("When patients go to bed.")),
        key("waking", THE_DAY, Clock(), sentence("When patients wake.")),
        key("stock", PREPARING, Stock(), sentence("The syringes in the cupboard.")),
        key("gloves", PREPARING, PolicyChoice(policy="gloves"), sentence("Gloves for drawing up.")),
        key("second_check", PREPARING, PolicyChoice(policy="second_check"), sentence("When a second nurse checks.")),
        key(
            "recapping",
            PREPARING,
            PolicyChoice(policy="recapping"),
            sentence("Capping a clean needle that is carried."),
        ),
        key(
            "push_back",
            PREPARING,
            PolicyChoice(policy="push_back"),
            sentence("Pushing clear insulin back into its own vial."),
        ),
        key("air", PREPARING, PolicyChoice(policy="air"), sentence("Air into each vial before its dose is drawn.")),
        key("resuspend", PREPARING, PolicyChoice(policy="resuspend"), sentence("How long the cloudy vial is rolled.")),
        key("rolls", PREPARING, number("rolls"), sentence("How often the cloudy vial is rolled.")),
        key("inversions", PREPARING, number("inversions"), sentence("How often the cloudy vial is turned over.")),
        key("never_mix", PREPARING, Pairs(), sentence("Pairs that this ward does not allow in one syringe.")),
        key("critical_steps", PREPARING, Steps(), sentence("The steps that must be right.")),
        key("meals", THE_MEALS, Meals(), sentence("The meals of a day.")),
        *(key(f"terms.{name}", THE_WORDS, kind, what) for name, (kind, what) in terms.items()),
        *(
            key(f"opened_days.{it}", THE_VIALS, OpenedDays(insulin=it), sentence("Days for a vial of {insulin}."), it)
            for it in mixed
        ),
        *(
            key(f"taught.{it}", TEACHING, Handbook(insulin=it), sentence("Action times of {insulin}."), it)
            for it in mixed
        ),
    )


KEYS: tuple[SiteKey, ...] = _keys()
"""Every key, in the order of the file. `format` and `[reasons]` belong to the file and not to how a ward works."""

TABLES = tuple(dict.fromkeys(key.field for key in KEYS if key.part))
"""The tables that hold keys of their own."""
