"""A site: the lines, limits and stock by which one ward works, and reading them from a file."""

from __future__ import annotations

import operator
from dataclasses import dataclass, fields, replace
from decimal import Decimal
from functools import cache, cached_property
from importlib import resources
from pathlib import Path
from typing import Any

from ..facts.record import Fact, Policy, Sourced, Threshold
from ..facts.shelf import FactsError, check, read_toml, shelf
from ..quantities import Glucose, GlucoseUnit, number_text
from .syringe import Syringe, syringes

LOCAL_POLICY = "local-policy"
"""The source key of a value that a site file sets."""

_COMPARE = {"below": operator.lt, "at or below": operator.le, "above": operator.gt, "at or above": operator.ge}


class SiteError(FactsError):
    """A site file that cannot be used. The message lists every fault, one a line."""


def crosses(glucose: Glucose, line: Threshold) -> bool:
    """Say whether a reading crosses a line, compared in the line's own unit on the value as a meter shows it."""
    return bool(_COMPARE[line.comparison](glucose.to(line.unit).shown(), Decimal(repr(float(line.value)))))


def line_text(line: Threshold) -> str:
    """Print a line with its comparison and unit: ``"below 70 mg/dL"``, ``"below 4.0 mmol/L"``."""
    return f"{line.comparison} {Glucose(line.value, line.unit)}"


@dataclass(frozen=True, kw_only=True)
class Site:
    """How one ward works. Amounts carry their unit and their source.

    Attributes
    ----------
    hold_line, level_2_line, report_line : Threshold
        Below the first the dose is held and the low treated; the second marks a serious low; past the third the dose is
        given and reported.
    near_low_line : Threshold or None
        Readings that are not low but reach this line are reported; None where the ward does not ask for it.
    reading_age : Fact
        Oldest reading to act on, min.
    meter_low, meter_high : Fact
        Ends of the meter's range, in the unit they name.
    carbohydrate, recheck : Fact
        Treatment of a low: g of fast carbohydrate, min until the next reading.
    dose_gap : Fact
        Hours; a dose given less than this ago could have been the one in question.
    meal_lead, waiting : Fact
        Min from injection to meal, and longest min from mixing to injection.
    gloves, second_check, recapping, push_back : Policy
        What the ward decides for itself: gloves for drawing up, who checks when, capping a clean needle, and pushing
        clear insulin back into its vial.
    stock : tuple of Syringe
        Syringes in the cupboard.
    """

    name: str
    glucose_unit: GlucoseUnit
    hold_line: Threshold
    level_2_line: Threshold
    report_line: Threshold
    near_low_line: Threshold | None = None
    reading_age: Fact
    meter_low: Fact
    meter_high: Fact
    carbohydrate: Fact
    recheck: Fact
    dose_gap: Fact
    meal_lead: Fact
    waiting: Fact
    gloves: Policy
    second_check: Policy
    recapping: Policy
    push_back: Policy
    stock: tuple[Syringe, ...]

    @cached_property
    def _hash(self) -> int:
        return hash((self.name, self.glucose_unit, self.hold_line, self.level_2_line, self.report_line))

    def __hash__(self) -> int:
        """Return a number that is worked out once, so that what follows from a site can be remembered by it."""
        return self._hash

    @cached_property
    def hold_text(self) -> str:
        """The hold line in words, such as "below 70 mg/dL"."""
        return line_text(self.hold_line)

    def cite(self, rule: Sourced) -> str:
        """Return who says so, as printed for a learner."""
        return f"policy of {self.name}" if rule.source == LOCAL_POLICY else shelf().cite(rule)


@cache
def teaching_site() -> Site:
    """Return the site of the lessons: every value is the teaching choice of the facts."""
    facts = shelf()
    bedside = facts.bedside
    return Site(
        name="the teaching ward",
        glucose_unit="mg/dL",
        hold_line=facts.thresholds["low"],
        level_2_line=facts.thresholds["level-2"],
        report_line=facts.thresholds["report"],
        near_low_line=None,
        reading_age=bedside["reading_age_minutes"],
        meter_low=bedside["meter_low"],
        meter_high=bedside["meter_high"],
        carbohydrate=bedside["carbohydrate_g"],
        recheck=bedside["recheck_minutes"],
        dose_gap=bedside["dose_gap_hours"],
        meal_lead=bedside["meal_lead_minutes"],
        waiting=bedside["waiting_minutes"],
        **facts.policies,
        stock=tuple(syringes().values()),
    )


@cache
def example_sites() -> tuple[Site, ...]:
    """Return the teaching site and, after it, the invented wards of the lessons, each with a policy of its own."""
    with resources.as_file(resources.files(__package__) / "sites") as folder:
        return (teaching_site(), *(load_site(path) for path in sorted(folder.glob("*.toml"))))


@dataclass(frozen=True, kw_only=True)
class _Line:
    """A glucose line as a site file writes it."""

    __pydantic_config__ = {"extra": "forbid"}  # noqa: RUF012  # read by the checker in shelf, never changed

    value: float
    unit: GlucoseUnit
    comparison: str


@dataclass(frozen=True, kw_only=True)
class _SiteFile:
    """The keys a site file may hold; each one left out stays as on the teaching site."""

    __pydantic_config__ = {"extra": "forbid"}  # noqa: RUF012

    name: str
    glucose_unit: GlucoseUnit | None = None
    hold_line: _Line | None = None
    level_2_line: _Line | None = None
    report_line: _Line | None = None
    near_low_line: _Line | None = None
    reading_age: float | None = None
    meter_low: float | None = None
    meter_high: float | None = None
    carbohydrate: float | None = None
    recheck: float | None = None
    dose_gap: float | None = None
    meal_lead: float | None = None
    waiting: float | None = None
    gloves: str | None = None
    second_check: str | None = None
    recapping: str | None = None
    push_back: str | None = None
    stock: tuple[str, ...] | None = None


_SENSE = {
    "hold_line": ("below", "at or below"),
    "level_2_line": ("below", "at or below"),
    "report_line": ("above", "at or above"),
    "near_low_line": ("below", "at or below"),
}


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
    """
    path = Path(path)
    raw, faults = read_toml(path)
    written: _SiteFile | None = None
    if not faults:
        written, faults = check(_SiteFile, raw, path.name)
    if written is None:
        raise SiteError("\n".join(faults))
    base = teaching_site()
    site = replace(base, **_changes(base, written, faults, path.name))
    faults += _order_faults(site, path.name) if not faults else []
    if faults:
        raise SiteError("\n".join(faults))
    return site


def _changes(base: Site, written: _SiteFile, faults: list[str], where: str) -> dict[str, Any]:
    changes: dict[str, Any] = {}
    for key in (field.name for field in fields(written)):
        value = getattr(written, key)
        if value is None:
            continue
        if isinstance(value, _Line):
            changes[key] = _line(key, value, faults, where)
        elif key == "stock":
            unknown = [name for name in value if name not in syringes()]
            if unknown or not value:
                named = f"no syringe is called {', '.join(map(repr, unknown))}" if unknown else "no syringe is in stock"
                faults.append(f"{where}.stock: {named}; choose from {', '.join(syringes())}")
            changes[key] = tuple(syringes()[name] for name in value if name in syringes())
        elif isinstance(policy := getattr(base, key), Policy):
            if value in policy.choices:
                changes[key] = replace(policy, value=value, source=LOCAL_POLICY, known="read", note="")
            else:
                faults.append(f"{where}.{key}: write one of {', '.join(map(repr, policy.choices))}")
        elif isinstance(value, float):
            fact: Fact = getattr(base, key)
            if not 0 < value < float("inf"):
                faults.append(f"{where}.{key}: {value:g} is not possible; write a number of {fact.unit} above 0")
            unit = (written.glucose_unit or fact.unit) if key.startswith("meter_") else fact.unit
            changes[key] = replace(fact, value=value, unit=unit, source=LOCAL_POLICY, known="read", note="")
        else:
            changes[key] = value
    return changes


def _line(key: str, value: _Line, faults: list[str], where: str) -> Threshold | None:
    if value.comparison not in _SENSE[key]:
        faults.append(f"{where}.{key}.comparison: write one of {', '.join(map(repr, _SENSE[key]))}")
        return None
    if not 0 < value.value < float("inf"):
        faults.append(f"{where}.{key}.value: {value.value:g} is not a glucose; write a number of {value.unit} above 0")
        return None
    return Threshold(
        value=value.value,
        unit=value.unit,
        comparison=value.comparison,  # type: ignore[arg-type]  # checked above
        source=LOCAL_POLICY,
        known="read",
    )


def _order_faults(site: Site, where: str) -> list[str]:
    """Refuse lines that cross, such as a serious low above the hold line, and a meter that ends before it begins."""
    serious, hold, report = (
        Glucose(line.value, line.unit).to("mg/dL").value
        for line in (site.level_2_line, site.hold_line, site.report_line)
    )
    faults = []
    if hold < serious:
        faults.append(
            f"{where}.hold_line: it lies under the line of a serious low ({line_text(site.level_2_line)}); raise it"
        )
    if report <= hold:
        faults.append(
            f"{where}.report_line: it does not lie above the hold line ({line_text(site.hold_line)}); raise it"
        )
    near = site.near_low_line and Glucose(site.near_low_line.value, site.near_low_line.unit).to("mg/dL").value
    if near and near <= hold:
        faults.append(f"{where}.near_low_line: it does not lie above the hold line ({site.hold_text}); raise it")
    if near and near >= report:
        faults.append(
            f"{where}.near_low_line: it does not lie below the report line ({line_text(site.report_line)}); lower it"
        )
    low, high = (Glucose(end.value, end.unit).to("mg/dL").value for end in (site.meter_low, site.meter_high))  # type: ignore[arg-type]
    if low >= high:
        faults.append(
            f"{where}.meter_low: {number_text(site.meter_low.value)} does not lie below meter_high "
            f"({number_text(site.meter_high.value)} {site.meter_high.unit}); correct one of them"
        )
    return faults
