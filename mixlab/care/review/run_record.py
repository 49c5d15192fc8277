"""A run as the rules of a review look at it: its draws, what was pierced, what was given.

Rules about vials and people look at the whole run. Rules about the dose look at the syringe that counts: the one that was
given, or else the last one taken.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import islice

from mixlab.care.bench.actions import DrawTo, Pierce, PushAir, PushBackTo, TapBubbles
from mixlab.care.bench.bench import Action, Bench, Trace
from mixlab.care.bench.handling import Give, TakeSyringe, TakeVial
from mixlab.care.bench.vessels import Held, Liquid, Vial, place_name
from mixlab.quantities import units_text
from mixlab.ward.insulin import insulins
from mixlab.ward.order.order import Order
from mixlab.ward.site.record import Site
from mixlab.words import Sentence, joined, sentence

TRACE_UNITS = 1e-6
"""Less than this is nothing: what is left of rounding, units."""

LEAST_SAID = 0.001
"""Less than this prints as 0, units."""

MIXED_UNITS = 0.1
"""From so much of each of two insulins on, the barrel holds a mixture; less is what a wet tip carries, units."""

NEEDLE_UNITS = 0.3
"""No more of an insulin than this is what a fixed needle brings along, and no dose of it, units."""


@dataclass(frozen=True, kw_only=True)
class Pierced:
    """One piercing of a stopper: its step, the place of the vial, and the vial before it."""

    step: int
    place: str
    vial: Vial


@dataclass(frozen=True, kw_only=True)
class Draw(Pierced):
    """One pull of liquid into the barrel: the bench before and after, and the syringe after."""

    before: Bench
    after: Bench
    held: Held


Spotted = tuple[int, Sentence, float | None]
"""What a rule saw: after which action, how big, and in units where it is an amount of insulin."""

Rule = Callable[["Watched"], Iterable[Spotted]]
"""What looks at a run and tells what it saw."""

NO_SIZE = Sentence("")
"""How big a finding is that has no size."""


class Watched:
    """What the rules ask about a run."""

    def __init__(self, order: Order, trace: Trace, site: Site) -> None:
        self.order, self.trace, self.site = order, trace, site
        self.clear, self.cloudy = order.clear.insulin.key, order.cloudy.insulin.key
        self.doses = {self.clear: float(order.clear.units), self.cloudy: float(order.cloudy.units)}
        self.steps = list(trace)

    def of(self, *kinds: type[Action]) -> Iterator[tuple[int, Action, Bench, Bench]]:
        """Yield the steps of some kinds."""
        return (step for step in self.steps if isinstance(step[1], kinds))

    def of_syringe(self, *kinds: type[Action]) -> Iterator[tuple[int, Action, Bench, Bench]]:
        """Yield the steps of some kinds with the syringe that counts."""
        return (step for step in self.of(*kinds) if self.start < step[0] < self.end)

    @cached_property
    def given(self) -> tuple[int, Bench, Bench] | None:
        """The step that first gave a dose, and the bench before and after."""
        return next(((number, before, after) for number, _, before, after in self.of(Give)), None)

    @cached_property
    def start(self) -> int:
        """The number of the step that took the syringe which counts: the one given, or else the last."""
        return self.syringe_at(self.given[0] if self.given else len(self.steps) + 1)

    @cached_property
    def end(self) -> int:
        """The number of the step that took the next syringe, or one past the last step."""
        after = (number for number, *_ in self.of(TakeSyringe) if number > self.start)
        return next(after, len(self.steps) + 1)

    def syringe_at(self, number: int) -> int:
        """Return the step that took the syringe which a step was done with; 0 for the one that was there from the start."""
        return max((at for at, *_ in self.of(TakeSyringe) if at < number), default=0)

    def went_in(self, number: int) -> bool:
        """Say whether the syringe which a step was done with was given, sooner or later."""
        return any(self.syringe_at(at) == self.syringe_at(number) for at, *_ in self.of(Give))

    @cached_property
    def draws(self) -> list[Draw]:
        """Every draw of liquid with the syringe that counts."""
        found = []
        for step, _, before, after in self.of_syringe(DrawTo):
            held, place = after.in_hand(), before.in_hand().vial
            if held.tip == "liquid" and place is not None:
                vial = before.vials[place]
                found.append(Draw(step=step, place=place, vial=vial, before=before, after=after, held=held))
        return found

    def draws_of(self, insulin: str) -> list[Draw]:
        """Return the draws from vials of one insulin."""
        return [draw for draw in self.draws if draw.vial.insulin == insulin]

    def came(self, place: str, number: int) -> int:
        """Return the step at which the vial at a place came on the bench, seen from a later step; 0 for the first one."""
        taken = (at for at, action, *_ in self.of(TakeVial) if at < number and place_of(action) == place)
        return max(taken, default=0)

    @cached_property
    def pierced(self) -> list[Pierced]:
        """Every piercing."""
        steps = ((number, place_of(action), before) for number, action, before, _ in self.of(Pierce))
        return [Pierced(step=number, place=place, vial=before.vials[place]) for number, place, before in steps]

    def done_to(self, kind: type[Action], place: str, number: int) -> list[int]:
        """Return the steps at which something was done to the vial at a place, before a step."""
        since = self.came(place, number)
        return [at for at, action, *_ in self.of(kind) if since < at < number and place_of(action) == place]

    @cached_property
    def plunged(self) -> list[int]:
        """Every step of the syringe that counts at which its plunger moved."""
        return [number for number, *_ in self.of_syringe(DrawTo, PushBackTo, TapBubbles, PushAir)]

    @cached_property
    def filled(self) -> Bench:
        """The bench when the syringe that counts held what was to be given."""
        return self.given[1] if self.given else self.trace.last

    @property
    def barrel(self) -> Liquid:
        """What was to be given."""
        held = self.filled.syringe
        return held.barrel if held else Liquid()

    @cached_property
    def tolerance(self) -> float:
        """Half a step of the syringe in hand, in what its scale counts."""
        held = self.filled.syringe
        return held.kind.step / 2 if held else 0.5

    @cached_property
    def last_step(self) -> int:
        """The last step that changed what is in the barrel before it was given."""
        return max(self.plunged, default=len(self.trace))

    @cached_property
    def mixed(self) -> tuple[int, Bench] | None:
        """The step after which two insulins were in the barrel, and the bench then."""
        for number, _, _, after in self.steps[self.start : self.end - 1]:
            held = after.syringe
            if held and is_mixed(held.barrel):
                return number, after
        return None

    def off(self, insulin: str) -> float:
        """How far what was to be given differs from the order, units."""
        return self.barrel.of(insulin) - self.doses[insulin]

    def amounts(self, of: Liquid | None = None) -> Sentence:
        """Return what is in the barrel or in another liquid, each insulin apart, and what was ordered."""
        held = self.barrel if of is None else of
        each = (
            sentence(
                "{insulin} {amount} instead of {dose}",
                insulin=insulins()[key].name,
                amount=rounded_units(held.of(key)),
                dose=units_text(dose),
            )
            for key, dose in self.doses.items()
        )
        return joined(each, "; ")


def first_of(steps: Iterable[int]) -> Iterator[Spotted]:
    """Yield the first of some steps, without a size; nothing if there is none."""
    yield from ((step, NO_SIZE, None) for step in islice(steps, 1))


def vial_text(place: str) -> Sentence:
    """Return what a vial is called by its place."""
    return sentence("the {vial} vial", vial=place_name(place))


def rounded_units(amount: float) -> Sentence:
    """Return a computed amount, to two places or, below a tenth, to its first one."""
    if abs(amount) < LEAST_SAID:
        return units_text(0)
    return units_text(float(f"{amount:.2f}") if abs(amount) >= 0.1 else float(f"{amount:.1g}"))


def place_of(action: Action) -> str:
    """Return the place of the vial that an action names; empty if it names none."""
    return str(getattr(action, "vial", ""))


def is_clear(vial: Vial) -> bool:
    """Say whether the insulin on the label is a clear one."""
    return insulins()[vial.insulin].look == "clear"


def is_mixed(liquid: Liquid) -> bool:
    """Say whether liquid is a mixture, more than what a wet tip carries."""
    return sum(amount > MIXED_UNITS for amount in liquid.units.values()) > 1
