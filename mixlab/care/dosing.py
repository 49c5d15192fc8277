"""From an order to a plan: the syringe, both marks, the air for each vial, and the steps in order."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

from mixlab.facts.reading import the_facts
from mixlab.facts.records import Fact, StepRow
from mixlab.quantities import exact_units, units_text, units_to_ml
from mixlab.ward.insulin import Insulin
from mixlab.ward.order.order import Dose, Order
from mixlab.ward.site.in_force import the_site
from mixlab.ward.site.record import Site
from mixlab.ward.syringe import Syringe
from mixlab.words import Sentence, counted, joined, sentence


class CannotPrepare(ValueError):
    """An order that cannot be prepared as one mixed dose. The message says why and what to do."""


class MustNotMix(CannotPrepare):
    """The two insulins may not share a syringe."""


class DoseNotPossible(CannotPrepare):
    """A dose that is zero, negative or not a number."""


class FinerThanAnyLine(CannotPrepare):
    """A mark that falls between two lines of every syringe that could hold the total."""


class TooMuchForAnySyringe(CannotPrepare):
    """A total beyond the largest syringe in stock."""


@dataclass(frozen=True, kw_only=True)
class PlanStep:
    """One step at the bench: what to do, why, and who says so; a critical one must be right on this ward."""

    number: int
    key: str
    do: Sentence
    why: Sentence
    source: Sentence
    critical: bool

    def __str__(self) -> str:
        step = joined((self.number, self.do), ". ")
        return str(sentence("{step} (must be right)", step=step) if self.critical else step)


@dataclass(frozen=True, kw_only=True)
class Plan:
    """How to prepare one mixed dose. All amounts in units of U-100 insulin.

    Attributes
    ----------
    clear_mark, total_mark : int or float
        Where the stopper's edge stands after the clear draw, and after the cloudy draw.
    air_into_cloudy, air_into_clear : int or float
        Air that goes into each vial before its insulin is drawn: as much as the dose, or 0 where the ward gives no air.
    """

    order: Order
    site: Site
    clear: Dose
    cloudy: Dose
    syringe: Syringe
    clear_mark: float
    total_mark: float
    air_into_cloudy: float
    air_into_clear: float

    @property
    def total_ml(self) -> float:
        """Both doses together, in mL."""
        return units_to_ml(self.total_mark)

    @cached_property
    def steps(self) -> tuple[PlanStep, ...]:
        """What to do at the bench, in working order; worked out when somebody asks for it."""
        return tuple(_steps(self))


def plan_dose(order: Order, site: Site | None = None) -> Plan:
    """Plan the preparation of a mixed dose.

    Parameters
    ----------
    order : Order
        One clear and one cloudy insulin.
    site : Site, optional
        The one in force if not given.

    Raises
    ------
    NotOneClearOneCloudy
        Two clear or two cloudy insulins.
    MustNotMix
        An insulin that must not share a syringe with the other, or a pair that the ward forbids.
    DoseNotPossible
        A dose of zero, below zero, or not a number.
    FinerThanAnyLine
        A dose or total that no syringe in stock can show on a line.
    TooMuchForAnySyringe
        A total beyond the largest syringe in stock.

    Notes
    -----
    Clear first, then cloudy up to the sum, air beforehand into the cloudy vial and then into the clear one: Registered
    Nurses' Association of Ontario, best-practice guideline appendix (read).

    Examples
    --------
    >>> plan = plan_dose(read_order("regular insulin 8 units and NPH insulin 20 units"))
    >>> plan.clear_mark, plan.total_mark
    (8, 28)
    """
    site = the_site(site)
    for dose in order.doses:
        _check_dose(dose)
    _check_mixing(order, site)
    clear, cloudy = exact_units(order.clear.units), exact_units(order.cloudy.units)
    total = exact_units(Fraction(clear) + Fraction(cloudy))
    return Plan(
        order=order,
        site=site,
        clear=order.clear,
        cloudy=order.cloudy,
        syringe=choose_syringe(clear, total, site),
        clear_mark=clear,
        total_mark=total,
        air_into_cloudy=cloudy if gives_air(site) else 0,
        air_into_clear=clear if gives_air(site) else 0,
    )


def choose_syringe(clear_mark: float, total_mark: float, site: Site) -> Syringe:
    """Return the smallest syringe in stock that holds the total and has a line at both marks.

    Of two of the same size the one with the wider step is taken: its lines are easier to read, and finer lines have not
    made small doses more accurate (Keith 2004; read).

    Raises
    ------
    TooMuchForAnySyringe, FinerThanAnyLine
        If no syringe in stock will do.
    """
    holding = [syringe for syringe in site.stock if syringe.capacity_units >= total_mark]
    if not holding:
        largest = max(syringe.capacity_units for syringe in site.stock)
        wrong = sentence(
            "The total of {total_mark} is more than the largest syringe here holds ({largest}). Do not prepare it in parts by yourself: check the order with the {prescriber}."
        )
        raise TooMuchForAnySyringe(wrong.filled(total_mark=units_text(total_mark), largest=units_text(largest)))
    showing = [syringe for syringe in holding if syringe.shows(clear_mark) and syringe.shows(total_mark)]
    if not showing:
        finest = min(syringe.graduation_units for syringe in holding)
        raise FinerThanAnyLine(
            sentence(
                "No syringe here that holds {total_mark} has a line at both {clear_mark} and {total_mark}: its finest step is {finest}. Never judge between lines: get a syringe that has both lines, or ask the {prescriber}.",
                total_mark=units_text(total_mark),
                clear_mark=units_text(clear_mark),
                finest=units_text(finest),
            )
        )
    return min(showing, key=lambda syringe: (syringe.capacity_units, -syringe.graduation_units))


def _check_dose(dose: Dose) -> None:
    units = dose.units
    if isinstance(units, bool) or not isinstance(units, int | float | Fraction) or not math.isfinite(units):
        wrong = sentence("The dose of {insulin} is not a number. Read the order again; if it is unclear, ask.")
        raise DoseNotPossible(wrong.filled(insulin=dose.insulin.name))
    if units <= 0:
        wrong = sentence(
            "A dose of {amount} of {insulin} cannot be drawn up. Check the order: a mixed dose needs more than 0 {units} of each insulin."
        )
        raise DoseNotPossible(wrong.filled(amount=units_text(float(units)), insulin=dose.insulin.name))


def _check_mixing(order: Order, site: Site) -> None:
    first, second = (dose.insulin for dose in order.doses)
    for insulin in (first, second):
        if not insulin.row.mixing.may_share_with:
            wrong = sentence(
                "{insulin} must never share a syringe with another insulin: {why} Ask the {prescriber}; separate insulins are separate injections."
            )
            raise MustNotMix(wrong.filled(insulin=insulin.name, why=insulin.row.mixing.why))
    if first.look == second.look:
        return
    for insulin, other in ((first, second), (second, first)):
        if not insulin.may_share_with(other):
            wrong = sentence(
                "{insulin} must not share a syringe with {other}: {why} Ask the {prescriber}; separate insulins are separate injections."
            )
            raise MustNotMix(wrong.filled(insulin=insulin.name, other=other.name, why=insulin.row.mixing.why))
    if site.forbids(first, second):
        wrong = sentence(
            "{ban}, although elsewhere they may share a syringe. Do not draw them up together: ask the {prescriber}; separate insulins are separate injections."
        )
        raise MustNotMix(wrong.filled(ban=ban_text(first, second, site)))


def ban_text(one: Insulin, other: Insulin, site: Site) -> Sentence:
    """Return the sentence that a ward forbids a pair."""
    return sentence("{one} and {other} are not mixed at {ward}", one=one.name, other=other.name, ward=site.name)


def longest_wait(clear: Insulin, site: Site) -> Fact:
    """Return the longest wait from mixing to injecting on a ward: a rapid-acting insulin has a limit of its own."""
    return site.waiting_rapid if clear.row.group == "rapid-acting" else site.waiting


def gives_air(site: Site) -> bool:
    """Say whether a ward gives a vial air before it draws from it."""
    return site.air.value != "no air"


def _steps(plan: Plan) -> Iterator[PlanStep]:
    facts, site = the_facts(), plan.site
    words = {
        "clear": plan.clear.insulin.name,
        "cloudy": plan.cloudy.insulin.name,
        "clear_units": units_text(plan.clear.units),
        "cloudy_units": units_text(plan.cloudy.units),
        "total_units": units_text(plan.total_mark),
        "clear_mark": units_text(plan.clear.units),
        "total_mark": units_text(plan.total_mark),
        "syringe": plan.syringe.name,
        "rolls": site.rolls.value,
        "inversions": site.inversions.value,
        "waiting_minutes": longest_wait(plan.clear.insulin, site).value,
        "meal_lead_minutes": site.meal_lead.value,
        "clear_days": opened_text(plan.clear.insulin, site),
        "cloudy_days": opened_text(plan.cloudy.insulin, site),
    }
    keys = (key for key in facts.steps if gives_air(site) or key not in ("air_into_cloudy", "air_into_clear"))
    for number, key in enumerate(keys, 1):
        row = _step_row(key, site)
        yield PlanStep(
            number=number,
            key=key,
            do=row.do.filled_from(words),
            why=row.why.filled_from(words),
            source=facts.cite(row),
            critical=key in site.critical_steps,
        )


def _step_row(key: str, site: Site) -> StepRow:
    """Return how a ward does a step: the row that names the most of its policies, or the one for every ward."""
    facts = the_facts()
    fitting = [
        row
        for row in facts.steps_at.get(key, ())
        if all(getattr(site, policy).value == value for policy, value in row.where.items())
    ]
    return max(fitting, key=lambda row: len(row.where), default=facts.steps[key])


def opened_text(insulin: Insulin, site: Site) -> Sentence:
    """Return how long a ward keeps an opened vial: ``"28 days"``."""
    days = site.opened_days[insulin.key].value
    return counted(days, "{count} day", "{count} days", count=days)
