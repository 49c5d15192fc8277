"""What a site file may hold, and turning it into what changes on a site; every fault is collected, none raised."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import TYPE_CHECKING, Any

from ..facts.record import ClockTimes, Fact, Policy, Threshold
from ..quantities import MINUTES_A_DAY, Glucose, GlucoseUnit, NotAClockTime, NotAnAmount, number_text, read_clock
from .lines import line_text
from .meal import Meal
from .syringe import syringes

if TYPE_CHECKING:
    from .site import Site

LOCAL_POLICY = "local-policy"
"""The source key of a value that a site file sets."""


@dataclass(frozen=True, kw_only=True)
class _Line:
    """A glucose line as a site file writes it."""

    __pydantic_config__ = {"extra": "forbid"}  # noqa: RUF012  # read by the checker in shelf, never changed

    value: float
    unit: GlucoseUnit
    comparison: str


@dataclass(frozen=True, kw_only=True)
class _Meal:
    """A meal as a site file writes it."""

    __pydantic_config__ = {"extra": "forbid"}  # noqa: RUF012

    name: str
    at: str
    grams: float | None = None


@dataclass(frozen=True, kw_only=True)
class SiteFile:
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
    earlier_low: float | None = None
    meal_lead: float | None = None
    waiting: float | None = None
    meal_slack: float | None = None
    meals: tuple[_Meal, ...] | None = None
    rounds: tuple[str, ...] | None = None
    bedtime: str | None = None
    waking: str | None = None
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


def changes(base: Site, written: SiteFile, faults: list[str], where: str) -> dict[str, Any]:
    """Return what a site file changes, as the fields of a site; add a sentence to `faults` for what cannot be."""
    changed: dict[str, Any] = {}
    for key in (field.name for field in fields(written)):
        value = getattr(written, key)
        if value is None:
            continue
        if isinstance(value, _Line):
            changed[key] = _line(key, value, faults, where)
        elif key == "stock":
            unknown = [name for name in value if name not in syringes()]
            if unknown or not value:
                named = f"no syringe is called {', '.join(map(repr, unknown))}" if unknown else "no syringe is in stock"
                faults.append(f"{where}.stock: {named}; choose from {', '.join(syringes())}")
            changed[key] = tuple(syringes()[name] for name in value if name in syringes())
        elif key == "meals":
            changed[key] = _meals(base, value, faults, where)
        elif isinstance(times := getattr(base, key), ClockTimes):
            at = _clock_times(value, faults, f"{where}.{key}")
            changed[key] = replace(times, at=at, source=LOCAL_POLICY, known="read", note="")
        elif isinstance(policy := getattr(base, key), Policy):
            if value in policy.choices:
                changed[key] = replace(policy, value=value, source=LOCAL_POLICY, known="read", note="")
            else:
                faults.append(f"{where}.{key}: write one of {', '.join(map(repr, policy.choices))}")
        elif isinstance(value, float):
            fact: Fact = getattr(base, key)
            if not 0 < value < float("inf"):
                faults.append(f"{where}.{key}: {value:g} is not possible; write a number of {fact.unit} above 0")
            unit = (written.glucose_unit or fact.unit) if key.startswith("meter_") else fact.unit
            changed[key] = replace(fact, value=value, unit=unit, source=LOCAL_POLICY, known="read", note="")
        else:
            changed[key] = value
    return changed


def _meals(base: Site, written: tuple[_Meal, ...], faults: list[str], where: str) -> tuple[Meal, ...]:
    """Return the meals of a file; what an order may call a meal stays as on the teaching site for a meal of that name."""
    known = {meal.name: meal for meal in base.meals}
    meals: list[Meal] = []
    for row in written:
        like = known.get(row.name, Meal(name=row.name, at="12:00"))
        try:
            meals.append(replace(like, at=row.at, grams=like.grams if row.grams is None else row.grams))
        except (NotAClockTime, NotAnAmount) as fault:
            faults.append(f"{where}.meals, {row.name}: {fault}")
    if not written:
        faults.append(f"{where}.meals: no meal is listed; write at least one, or take the key out")
    for what, each in (("name", [meal.name for meal in meals]), ("time", [meal.clock.face for meal in meals])):
        if len(set(each)) < len(each):
            faults.append(f"{where}.meals: two meals have the same {what}; give each its own")
    return tuple(meals)


def _clock_times(written: str | tuple[str, ...], faults: list[str], where: str) -> tuple[str, ...]:
    """Return clock times as the clock shows them, each once and in order."""
    times = set()
    for at in (written,) if isinstance(written, str) else written:
        try:
            times.add(read_clock(at))
        except NotAClockTime as fault:
            faults.append(f"{where}: {fault}")
    return tuple(time.face for time in sorted(times))


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


def order_faults(site: Site, where: str) -> list[str]:
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
    bed, waking = (read_clock(times.at[0]) for times in (site.bedtime, site.waking))
    if not 0 < bed.until(bed.next(waking)) < MINUTES_A_DAY * 2 // 3:
        faults.append(f"{where}.bedtime: from {bed} to {waking} leaves no day; correct bedtime or waking")
    low, high = (Glucose(end.value, end.unit).to("mg/dL").value for end in (site.meter_low, site.meter_high))  # type: ignore[arg-type]
    if low >= high:
        faults.append(
            f"{where}.meter_low: {number_text(site.meter_low.value)} does not lie below meter_high "
            f"({number_text(site.meter_high.value)} {site.meter_high.unit}); correct one of them"
        )
    return faults
