"""What is set out at the bench for an order, and the right run: the plan's own steps."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from mixlab.care.dosing import Plan, gives_air, plan_dose
from mixlab.facts.reading import the_facts
from mixlab.ward.insulin import Insulin
from mixlab.ward.order.order import Order
from mixlab.ward.site.in_force import the_site
from mixlab.ward.site.record import Site
from mixlab.ward.syringe import Syringe
from mixlab.words import sentence

from .actions import DrawTo, Invert, Pierce, PullAir, PushAir, TapBubbles, Withdraw
from .bench import Action, Bench, Trace, run
from .handling import (
    CleanHands,
    DiscardSyringe,
    Give,
    HaveChecked,
    LetDry,
    LookAt,
    PutOnGloves,
    ReadLabel,
    Roll,
    Swab,
    TakeSyringe,
)
from .vessels import VIAL_PLACES, Liquid, SyringeKind, Vial, usual_physics

CLEAR, CLOUDY, OTHER = VIAL_PLACES
"""The places of the vials on the bench."""

WIPE_S = 10
"""For how many seconds a right run wipes a stopper: the longer end of what the facts note as taught."""


def rolls(site: Site | None = None) -> float:
    """Return how often a vial is rolled and turned in all on a ward, or on the one in force; more than enough to be even."""
    ward = the_site(site)
    return ward.rolls.value + ward.inversions.value


def vial_of(insulin: Insulin, **looks: Any) -> Vial:
    """Return a full vial of an insulin, a cloudy one settled; `looks` are fields of `Vial` that differ.

    Examples
    --------
    >>> from mixlab import read_order
    >>> order = read_order("regular insulin 8 units and NPH insulin 20 units")
    >>> vial_of(order.cloudy.insulin, condition="clumped").settled
    1.0
    """
    facts = the_facts().bench
    ml, air = facts["vial_ml"].value, facts["headspace_ml"].value
    suspension = insulin.look == "cloudy"
    vial = Vial(
        insulin=insulin.key,
        suspension=suspension,
        liquid=Liquid(),
        air_ml=air,
        inner_ml=ml + air,
        settled=float(suspension),
    )
    vial = replace(vial, **looks)
    return replace(vial, liquid=Liquid(ml=ml, units={insulin.key: ml * vial.strength}))


def kind_of(syringe: Syringe) -> SyringeKind:
    """Return an insulin syringe of the ward as the bench knows it."""
    return SyringeKind(name=syringe.name, capacity=syringe.capacity_units, step=syringe.graduation_units)


TRAP_SYRINGES = {
    "10 mL": SyringeKind(name=sentence("10 mL syringe with a scale in mL"), capacity=100, step=1, per_ml=10),
    "U-40": SyringeKind(
        name=sentence("2 mL U-40 insulin syringe with a line every unit"), capacity=80, step=1, per_ml=40
    ),
    "separate needle": SyringeKind(
        name=sentence("1 mL U-100 insulin syringe with a separate needle"), capacity=100, step=1, separate_needle=True
    ),
}
"""Syringes that a bench may hold as a trap; their sizes are of our own making, so that any order finds room in them."""


def bench_for(order: Order, site: Site | None = None, **vials: Vial) -> Bench:
    """Set out a bench for an order: its two vials, the ward's syringes, and the traps.

    Parameters
    ----------
    order : Order
        One clear and one cloudy insulin.
    site : Site, optional
        The one in force if not given; its stock is what can be taken.
    **vials : Vial
        Vials for the places ``clear``, ``cloudy`` and ``other``, in place of good ones.

    Raises
    ------
    CannotPrepare
        As `plan_dose`.

    Examples
    --------
    >>> from mixlab import read_order
    >>> list(bench_for(read_order("regular insulin 8 units and NPH insulin 20 units")).vials)
    ['clear', 'cloudy']
    """
    plan = plan_dose(order, site)
    good = {CLEAR: vial_of(plan.clear.insulin), CLOUDY: vial_of(plan.cloudy.insulin)}
    kinds = {syringe.key: kind_of(syringe) for syringe in plan.site.stock} | TRAP_SYRINGES
    return Bench(physics=usual_physics(), vials=good | vials, cupboard=vials | good, kinds=kinds)


def right_run(
    plan: Plan, bench: Bench | None = None, *, syringe: str | None = None, clear_mark: float | None = None
) -> tuple[Action, ...]:
    """Return the plan's own steps as actions at the bench: air where the ward gives it, clear, cloudy, checks, and the dose given.

    Parameters
    ----------
    plan : Plan
        What to prepare.
    bench : Bench, optional
        Where; the one that `bench_for` sets out if not given.
    syringe : str, optional
        A key of the bench's syringes, in place of the plan's.
    clear_mark : float, optional
        A mark for the clear draw, in place of the plan's.

    Raises
    ------
    Impossible
        If this syringe cannot do it.

    Examples
    --------
    >>> from mixlab import plan_dose, read_order
    >>> *_, draw, _, _, _, _ = right_run(plan_dose(read_order("regular insulin 8 units and NPH insulin 20 units")))
    >>> draw
    DrawTo(to=28, bubble_ml=0.0)
    """
    clear, gives = plan.clear_mark if clear_mark is None else clear_mark, gives_air(plan.site)
    start = [
        CleanHands(),
        *([PutOnGloves()] if plan.site.gloves.value == "required" else []),
        *(look(place) for place in (CLEAR, CLOUDY) for look in (ReadLabel, LookAt)),
        Roll(CLOUDY, rolls(plan.site)),
        LookAt(CLOUDY),
        TakeSyringe(syringe or plan.syringe.key),
        *(wipe for place in (CLOUDY, CLEAR) for wipe in (Swab(place, WIPE_S), LetDry(place))),
        *([PullAir(plan.air_into_cloudy), Pierce(CLOUDY, "air"), PushAir(), Withdraw()] if gives else []),
        *([PullAir(plan.air_into_clear), Pierce(CLEAR, "air"), PushAir()] if gives else [Pierce(CLEAR, "air")]),
        Invert(),
        DrawTo(clear),
    ]
    trace = run(bench or bench_for(plan.order, plan.site), start)
    while trace.last.syringe is not None and trace.last.syringe.bubbles_ml > 1e-9:
        trace = trace.then(TapBubbles()).then(DrawTo(clear))
    return (
        *trace.actions,
        HaveChecked(),
        Withdraw(),
        Pierce(CLOUDY, "air"),
        Invert(),
        DrawTo(plan.total_mark),
        Withdraw(),
        HaveChecked(),
        Give(),
        DiscardSyringe(),
    )


@dataclass(frozen=True, kw_only=True)
class Run:
    """A run ready to be played: what was ordered, where, and what is done there."""

    name: str
    plan: Plan
    bench: Bench
    actions: tuple[Action, ...]

    def trace(self) -> Trace:
        """Do it."""
        return run(self.bench, self.actions)
