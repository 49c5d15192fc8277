"""What holds insulin at the bench: vials, a syringe, and the liquid in them, each insulin apart.

Volumes are in mL, amounts in units; air is counted as the volume it has at room pressure. Nothing here judges.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, fields, replace
from functools import cache
from typing import Literal

from mixlab.facts.reading import the_facts
from mixlab.quantities import ml_to_units
from mixlab.words import Sentence, joined, sentence

VialCondition = Literal["good", "clumped", "discolored", "cloudy though clear insulin"]
"""How a vial looks on looking closely."""

Tip = Literal["air", "liquid"]
Hands = Literal["one hand", "two hands"]

CONDITIONS: dict[VialCondition, Sentence] = {
    "good": sentence("good"),
    "clumped": sentence("clumped"),
    "discolored": sentence("discolored"),
    "cloudy though clear insulin": sentence("cloudy though clear insulin"),
}
"""Every condition, and what it is called."""

VIAL_PLACES = {"clear": sentence("clear"), "cloudy": sentence("cloudy"), "other": sentence("other")}
"""Where a vial stands on the bench, by what is in it, and what the place is called."""

TIPS = {"air": sentence("air"), "liquid": sentence("liquid")}
"""What a needle's tip can be in, and what that is called."""

HANDS = {"one hand": sentence("one hand"), "two hands": sentence("two hands")}
"""With how many hands a needle is capped, and what that is called."""


def place_name(place: str) -> Sentence:
    """Return what a place on the bench is called; one that is none of `VIAL_PLACES` keeps the name that somebody gave it."""
    return VIAL_PLACES.get(place) or joined((place,))


ROOM_KPA = 101.325
"""Standard atmosphere, kPa (exact by definition: BIPM, The International System of Units)."""


@dataclass(frozen=True, kw_only=True)
class Physics:
    """The sizes the bench works with. Each is a fact or a named assumption; replace one to see what hangs on it.

    Attributes
    ----------
    dead_ml, hub_ml : float
        What stays in a fixed needle and at its foot when the plunger is at zero, and in a separate needle with its hub, mL.
    clear_layer, cloudy_layer : float
        Strength of the two layers of a settled vial, as shares of the label strength.
    even_s, evening : float
        Seconds of rolling and turning after which a settled vial is even, and the exponent by which the rest goes.
    resettle_min, settling_lag : float
        Minutes in which half of an even suspension has settled again, and the exponent by which that begins slowly.
    wet_tip_ml : float
        What clings to a needle tip that was in liquid, mL.
    froth, froth_min : float
        Share of air in what is drawn from a shaken vial, and minutes in which half the froth is gone.
    dry_s : float
        Seconds in which a wiped stopper dries.
    """

    dead_ml: float
    hub_ml: float
    clear_layer: float
    cloudy_layer: float
    even_s: float
    evening: float
    resettle_min: float
    settling_lag: float
    wet_tip_ml: float
    froth: float
    froth_min: float
    dry_s: float


@cache
def usual_physics() -> Physics:
    """Return the sizes of the facts, taken as they stand there."""
    return Physics(**{one.name: the_facts().bench[one.name].value for one in fields(Physics)})


@dataclass(frozen=True, kw_only=True)
class Liquid:
    """Some mL of liquid and the units of each insulin in it, by the insulin's key."""

    ml: float = 0.0
    units: Mapping[str, float] = field(default_factory=dict)

    def __add__(self, other: Liquid) -> Liquid:
        if not other.ml and not other.units:
            return self
        units = dict(self.units)
        for key, amount in other.units.items():
            units[key] = units.get(key, 0.0) + amount
        return Liquid(ml=self.ml + other.ml, units=units)

    def split(self, ml: float) -> tuple[Liquid, Liquid]:
        """Return `ml` of this liquid, evenly mixed, and what is left."""
        share = 0.0 if not self.ml else min(1.0, ml / self.ml)
        if share == 1.0:
            return self, Liquid()
        taken = {key: amount * share for key, amount in self.units.items()}
        left = {key: amount - taken[key] for key, amount in self.units.items()}
        return Liquid(ml=self.ml * share, units=taken), Liquid(ml=self.ml - self.ml * share, units=left)

    def of(self, insulin: str) -> float:
        """Return the units of one insulin."""
        return self.units.get(insulin, 0.0)


@dataclass(frozen=True, kw_only=True)
class Vial:
    """One vial.

    Attributes
    ----------
    insulin : str
        Key of the insulin on the label.
    suspension : bool
        Whether this insulin is cloudy and settles.
    strength : float
        Units per mL on the label.
    condition : {"good", "clumped", "discolored", "cloudy though clear insulin"}
        How it looks on looking closely.
    past_date : bool
        Whether the opened-vial date, or the expiry date, on the label has passed.
    opened_days, expires_in_days : int
        Days since the opening that is written on it, and until the expiry date; fewer than 0 once that has passed.
    liquid, air_ml : Liquid, float
        What is inside.
    inner_ml : float
        Room for liquid and air together, mL.
    settled : float
        0 for an even suspension, 1 for one that has stood.
    sediment_at_stopper : bool
        Whether the settled layer lies at the stopper: after the vial has stood upside down.
    froth : float
        Share of air in what would be drawn now.
    wiped_s, wet_s : float
        For how many seconds the stopper was wiped, and in how many more it will be dry.
    """

    insulin: str
    suspension: bool
    strength: float = 100.0
    condition: VialCondition = "good"
    past_date: bool = False
    opened_days: int = 1
    expires_in_days: int = 200
    liquid: Liquid
    air_ml: float
    inner_ml: float
    settled: float = 0.0
    sediment_at_stopper: bool = False
    froth: float = 0.0
    inverted: bool = False
    wiped_s: float = 0.0
    wet_s: float = 0.0

    @property
    def wet(self) -> bool:
        """Whether the stopper is still wet with alcohol."""
        return self.wet_s > 0

    @property
    def kpa(self) -> float:
        """Gas pressure above the liquid, kPa: at one temperature it goes as the air over the room it has (Boyle)."""
        return ROOM_KPA * self.air_ml / (self.inner_ml - self.liquid.ml)

    def near(self, physics: Physics) -> tuple[float, float]:
        """Return the volume of the layer at the needle, mL, and the strength of its own insulin there, units/mL."""
        volume, amount = self.liquid.ml, self.liquid.of(self.insulin)
        if not self.suspension or self.settled == 0 or not volume:
            return volume, amount / volume if volume else 0.0
        thin, thick = physics.clear_layer * self.strength, physics.cloudy_layer * self.strength
        cloudy_ml = min(max((amount - thin * volume) / (thick - thin), 0.0), volume)
        thin = min(thin, amount / volume)
        rest = amount - thin * (volume - cloudy_ml)
        layer, settled = volume - cloudy_ml, thin
        if self.sediment_at_stopper:
            layer, settled = cloudy_ml, rest / cloudy_ml if cloudy_ml else 0.0
        return layer, settled * self.settled + amount / volume * (1 - self.settled)

    def give(self, ml: float, physics: Physics) -> tuple[Liquid, Vial]:
        """Return `ml` of what is at the needle, and the vial without it; more than the layer holds takes the next one too."""
        own, volume = self.liquid.of(self.insulin), self.liquid.ml
        layer, strength = self.near(physics)
        first = min(ml, layer)
        amount = strength * first
        if ml > first and volume > layer:
            amount += (own - strength * layer) / (volume - layer) * (ml - first)
        amount = min(amount, own)
        share = min(1.0, ml / volume) if volume else 0.0
        units = {key: all_of * share for key, all_of in self.liquid.units.items()} | {self.insulin: amount}
        left = {key: all_of - units[key] for key, all_of in self.liquid.units.items()}
        return Liquid(ml=ml, units=units), replace(self, liquid=Liquid(ml=max(volume - ml, 0.0), units=left))

    def roll(self, seconds: float, physics: Physics) -> Vial:
        """Return the vial after it was rolled and turned for some seconds; a second time goes on from there."""
        to_go = self.settled ** (1 / physics.evening) - seconds / physics.even_s
        return replace(self, settled=max(to_go, 0.0) ** physics.evening, sediment_at_stopper=False)

    def wait(self, minutes: float, physics: Physics) -> Vial:
        """Return the vial after it has stood for some minutes."""
        rested = replace(
            self, froth=self.froth * 0.5 ** (minutes / physics.froth_min), wet_s=max(self.wet_s - 60 * minutes, 0.0)
        )
        if not self.suspension:
            return rested
        stood = (-math.log2(1 - self.settled)) ** (1 / physics.settling_lag) if self.settled < 1 else math.inf
        settled = 1 - 0.5 ** ((stood + minutes / physics.resettle_min) ** physics.settling_lag)
        return replace(rested, settled=settled)


@dataclass(frozen=True, kw_only=True)
class SyringeKind:
    """A syringe as it comes out of its wrapper.

    Attributes
    ----------
    capacity, step : float
        Largest mark and distance between two lines, in what its scale counts.
    per_ml : float
        What its scale counts in one mL: 100 for a U-100 insulin syringe.
    separate_needle : bool
        Whether the needle is put on, with a hub that holds liquid.
    """

    name: Sentence
    capacity: float
    step: float
    per_ml: float = 100.0
    separate_needle: bool = False


@dataclass(frozen=True, kw_only=True)
class Held:
    """The syringe in hand: what is in its barrel and in its needle, and where the needle is.

    Attributes
    ----------
    barrel, air_ml, bubbles_ml
        Liquid, air, and air as bubbles in the liquid.
    needle, needle_air_ml
        What the dead space holds, the needle's tube and what is at its foot: always full of one or the other. The next draw
        brings it into the barrel, and an injection leaves it behind.
    film : Liquid
        What clings to the tip.
    vial : str or None
        The place of the vial the needle is in.
    tip : {"air", "liquid"}
        What the tip is in.
    """

    kind: SyringeKind
    barrel: Liquid = field(default_factory=Liquid)
    air_ml: float = 0.0
    bubbles_ml: float = 0.0
    needle: Liquid = field(default_factory=Liquid)
    needle_air_ml: float
    film: Liquid = field(default_factory=Liquid)
    vial: str | None = None
    tip: Tip = "air"
    capped: Hands | None = None
    touched: bool = False
    labeled: bool = False

    @classmethod
    def new(cls, kind: SyringeKind, physics: Physics) -> Held:
        """Take a syringe out of its wrapper: stopper at zero, needle full of air."""
        return cls(kind=kind, needle_air_ml=physics.hub_ml if kind.separate_needle else physics.dead_ml)

    @property
    def all_liquid(self) -> Liquid:
        """What is in the barrel and in the needle, and what clings to it."""
        return self.barrel + self.needle + self.film

    @property
    def all_air_ml(self) -> float:
        """The air in the barrel and in the needle, mL."""
        return self.air_ml + self.bubbles_ml + self.needle_air_ml

    @property
    def mark(self) -> float:
        """Where the stopper's edge stands on the scale."""
        return ml_to_units(self.barrel.ml + self.air_ml + self.bubbles_ml, self.kind.per_ml)
