"""A site: the lines, limits and stock by which one ward works, and reading them from a file."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache, cached_property
from importlib import resources
from pathlib import Path

from ..facts.record import ClockTimes, Fact, Policy, Sourced, Threshold
from ..facts.shelf import FactsError, check, read_toml, shelf
from ..quantities import GlucoseUnit
from .lines import crosses, line_text
from .meal import Meal
from .site_file import LOCAL_POLICY, SiteFile, changes, order_faults
from .syringe import Syringe, syringes

__all__ = [
    "LOCAL_POLICY",
    "Site",
    "SiteError",
    "crosses",
    "example_sites",
    "line_text",
    "load_site",
    "teaching_site",
]


class SiteError(FactsError):
    """A site file that cannot be used. The message lists every fault, one a line."""


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
    earlier_low : Fact
        Hours; a low up to this long ago is told to the prescriber before the dose.
    meal_lead, waiting : Fact
        Min from injection to meal, and longest min from mixing to injection.
    meal_slack : Fact
        Min that the meal may be sooner or later than `meal_lead`.
    meals : tuple of Meal
        When meals are served.
    rounds, bedtime, waking : ClockTimes
        When somebody is due to see the patient, and when the patient goes to bed and wakes.
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
    earlier_low: Fact
    meal_lead: Fact
    waiting: Fact
    meal_slack: Fact
    meals: tuple[Meal, ...]
    rounds: ClockTimes
    bedtime: ClockTimes
    waking: ClockTimes
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
        earlier_low=bedside["earlier_low_hours"],
        meal_lead=bedside["meal_lead_minutes"],
        waiting=bedside["waiting_minutes"],
        meal_slack=facts.day["meal_slack_minutes"],
        meals=tuple(
            Meal(name=row.name, at=row.at, grams=row.grams, also_called=row.also_called) for row in facts.meals.values()
        ),
        rounds=facts.rounds["ward"],
        bedtime=facts.rounds["bedtime"],
        waking=facts.rounds["waking"],
        **facts.policies,
        stock=tuple(syringes().values()),
    )


@cache
def example_sites() -> tuple[Site, ...]:
    """Return the teaching site and, after it, the invented wards of the lessons, each with a policy of its own."""
    with resources.as_file(resources.files(__package__) / "sites") as folder:
        return (teaching_site(), *(load_site(path) for path in sorted(folder.glob("*.toml"))))


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
    written: SiteFile | None = None
    if not faults:
        written, faults = check(SiteFile, raw, path.name)
    if written is None:
        raise SiteError("\n".join(faults))
    base = teaching_site()
    site = replace(base, **changes(base, written, faults, path.name))
    faults += order_faults(site, path.name) if not faults else []
    if faults:
        raise SiteError("\n".join(faults))
    return site
