"""What is done with a syringe or a vial besides drawing: capped, labeled, laid down, given, thrown away, taken anew."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal, cast

from mixlab.words import joined, sentence

from .bench import Action, Bench, Impossible
from .flow import bare_syringe, free_vial
from .vessels import Held, Liquid, place_name


@dataclass(frozen=True)
class Cap(Action):
    """Put the cap back on the needle."""

    hands: str

    def do(self, bench: Bench) -> Bench:
        held = bare_syringe(bench)
        if held.vial:
            raise Impossible(
                sentence("The needle is in the {vial} vial. Take it out first.", vial=place_name(held.vial))
            )
        return replace(bench, syringe=replace(held, capped=cast(Literal["one hand", "two hands"], self.hands)))


@dataclass(frozen=True)
class Uncap(Action):
    """Take the cap off the needle."""

    def do(self, bench: Bench) -> Bench:
        held = bench.in_hand()
        if held.capped is None:
            raise Impossible(sentence("There is no cap on the needle."))
        return replace(bench, syringe=replace(held, capped=None))


@dataclass(frozen=True)
class LabelSyringe(Action):
    """Label the syringe: patient, both insulins, both doses, time."""

    def do(self, bench: Bench) -> Bench:
        return replace(bench, syringe=replace(bench.in_hand(), labeled=True))


@dataclass(frozen=True)
class LayDown(Action):
    """Lay everything down for some minutes; a needle without a cap touches the bench."""

    minutes: float

    def takes_s(self) -> float:
        """Return how many seconds it takes."""
        return self.minutes * 60

    def do(self, bench: Bench) -> Bench:
        held = bench.syringe
        if held is None:
            return bench
        if held.vial:
            raise Impossible(
                sentence(
                    "The needle is in the {vial} vial. Take it out before you lay the syringe down.",
                    vial=place_name(held.vial),
                )
            )
        return replace(bench, syringe=replace(held, touched=held.touched or held.capped is None))


@dataclass(frozen=True)
class Give(Action):
    """Inject what is in the barrel; what the needle holds stays behind."""

    def do(self, bench: Bench) -> Bench:
        held = bare_syringe(bench)
        if held.vial:
            raise Impossible(
                sentence("The needle is in the {vial} vial. Take it out first.", vial=place_name(held.vial))
            )
        if not held.barrel.ml:
            raise Impossible(sentence("There is no insulin in the barrel to give."))
        return replace(
            bench,
            syringe=replace(held, barrel=Liquid(), air_ml=0.0, bubbles_ml=0.0),
            given=bench.given + held.barrel,
            outside_air_ml=bench.outside_air_ml + held.air_ml + held.bubbles_ml,
        )


@dataclass(frozen=True)
class DiscardSyringe(Action):
    """Drop the syringe with all that is in it into the sharps box."""

    def do(self, bench: Bench) -> Bench:
        held = bench.in_hand()
        if held.vial:
            raise Impossible(
                sentence("The needle is in the {vial} vial. Take it out first.", vial=place_name(held.vial))
            )
        air = held.air_ml + held.bubbles_ml + held.lumen_air_ml + held.hub_air_ml
        return replace(
            bench,
            syringe=None,
            outside=bench.outside + held.barrel + held.lumen + held.hub + held.film,
            outside_air_ml=bench.outside_air_ml + air,
        )


@dataclass(frozen=True)
class TakeSyringe(Action):
    """Take a new syringe out of its wrapper."""

    kind: str

    def do(self, bench: Bench) -> Bench:
        if bench.syringe is not None:
            raise Impossible(sentence("There is a syringe in your hand. Discard it before you take another."))
        if self.kind not in bench.kinds:
            raise Impossible(
                sentence(
                    "There is no syringe {kind!r} here. Choose from: {kinds}.",
                    kind=self.kind,
                    kinds=joined(bench.kinds),
                )
            )
        held = Held.new(bench.kinds[self.kind], bench.physics)
        brought = bench.brought_air_ml + held.lumen_air_ml + held.hub_air_ml
        return replace(bench, syringe=held, brought_air_ml=brought)


@dataclass(frozen=True)
class DiscardVial(Action):
    """Throw a vial away."""

    vial: str

    def do(self, bench: Bench) -> Bench:
        vial = free_vial(
            bench,
            self.vial,
            sentence("The needle is in the {vial} vial, which cannot be thrown away now. Take the needle out first."),
        )
        return replace(
            bench,
            vials={place: one for place, one in bench.vials.items() if place != self.vial},
            outside=bench.outside + vial.liquid,
            outside_air_ml=bench.outside_air_ml + vial.air_ml,
        )


@dataclass(frozen=True)
class TakeVial(Action):
    """Take a fresh vial from the cupboard and put it at its place."""

    vial: str

    def do(self, bench: Bench) -> Bench:
        if self.vial in bench.vials:
            raise Impossible(
                sentence(
                    "There is a {vial} vial on the bench already. Discard it before you take another.",
                    vial=place_name(self.vial),
                )
            )
        if self.vial not in bench.cupboard:
            raise Impossible(
                sentence(
                    "There is no {vial} vial in the cupboard. Choose from: {cupboard}.",
                    vial=place_name(self.vial),
                    cupboard=joined(map(place_name, bench.cupboard)),
                )
            )
        vial = bench.cupboard[self.vial]
        return replace(
            bench.with_vial(self.vial, vial),
            brought=bench.brought + vial.liquid,
            brought_air_ml=bench.brought_air_ml + vial.air_ml,
        )
