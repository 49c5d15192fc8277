"""What hands do at the bench besides needle and plunger: getting ready, vials, and a syringe capped, labeled, given, discarded."""

from __future__ import annotations

from dataclasses import replace
from typing import ClassVar

from mixlab.words import joined, sentence

from .bench import Action, Bench, Impossible, out_of_vials
from .vessels import Hands, Held, Liquid, place_name

_TAKE_IT_OUT = sentence("The needle is in the {vial} vial. Take it out first.")


class CleanHands(Action):
    """Clean the hands."""

    seconds: ClassVar[float] = 20.0

    def do(self, bench: Bench) -> Bench:
        return replace(bench, hands_clean=True)


class PutOnGloves(Action):
    """Put on gloves."""

    def do(self, bench: Bench) -> Bench:
        return replace(bench, gloved=True)


class _WithVial(Action):
    """Something done with a vial that leaves it as it was."""

    vial: str

    def do(self, bench: Bench) -> Bench:
        bench.vial(self.vial)
        return bench


class ReadLabel(_WithVial):
    """Read a vial's label: insulin, strength, dates."""


class LookAt(_WithVial):
    """Look closely at what is in a vial."""


class HaveChecked(Action):
    """Have a second person check what is in the syringe now."""

    seconds: ClassVar[float] = 20.0

    def do(self, bench: Bench) -> Bench:
        bench.in_hand()
        return bench


class Roll(Action):
    """Roll a vial between the palms and turn it over, so many times in all, a second each."""

    vial: str
    times: float

    def takes_s(self) -> float:
        return self.times

    def do(self, bench: Bench) -> Bench:
        refusal = sentence("The needle is in the {vial} vial, which cannot be rolled now. Take the needle out first.")
        vial = bench.free_vial(self.vial, refusal)
        return bench.with_vial(self.vial, vial.roll(self.takes_s(), bench.physics))


class Shake(Action):
    """Shake a vial."""

    vial: str

    def do(self, bench: Bench) -> Bench:
        refusal = sentence("The needle is in the {vial} vial, which cannot be shaken now. Take the needle out first.")
        vial = bench.free_vial(self.vial, refusal)
        return bench.with_vial(self.vial, replace(vial, settled=0.0, froth=bench.physics.froth))


class Swab(Action):
    """Wipe a vial's stopper with alcohol for so many seconds."""

    vial: str
    for_s: float

    def takes_s(self) -> float:
        return self.for_s

    def do(self, bench: Bench) -> Bench:
        refusal = sentence("The needle is in the {vial} vial, which cannot be wiped now. Take the needle out first.")
        vial = bench.free_vial(self.vial, refusal)
        wet_s = bench.physics.dry_s + self.for_s  # it begins to dry when the wiping ends
        return bench.with_vial(self.vial, replace(vial, wiped_s=vial.wiped_s + self.for_s, wet_s=wet_s))


class LetDry(_WithVial):
    """Wait half a minute for a wiped stopper to dry."""

    seconds: ClassVar[float] = 30.0


class Cap(Action):
    """Put the cap back on the needle."""

    hands: Hands

    def do(self, bench: Bench) -> Bench:
        held = out_of_vials(bench.bare_syringe(), _TAKE_IT_OUT)
        return replace(bench, syringe=replace(held, capped=self.hands))


class Uncap(Action):
    """Take the cap off the needle."""

    def do(self, bench: Bench) -> Bench:
        held = bench.in_hand()
        if held.capped is None:
            raise Impossible(sentence("There is no cap on the needle."))
        return replace(bench, syringe=replace(held, capped=None))


class LabelSyringe(Action):
    """Label the syringe: patient, both insulins, both doses, time."""

    def do(self, bench: Bench) -> Bench:
        return replace(bench, syringe=replace(bench.in_hand(), labeled=True))


class LayDown(Action):
    """Lay everything down for some minutes; a needle without a cap touches the bench."""

    minutes: float

    def takes_s(self) -> float:
        return self.minutes * 60

    def do(self, bench: Bench) -> Bench:
        if bench.syringe is None:
            return bench
        refusal = sentence("The needle is in the {vial} vial. Take it out before you lay the syringe down.")
        held = out_of_vials(bench.syringe, refusal)
        return replace(bench, syringe=replace(held, touched=held.touched or held.capped is None))


class Give(Action):
    """Inject what is in the barrel; what the needle holds stays behind."""

    def do(self, bench: Bench) -> Bench:
        held = out_of_vials(bench.bare_syringe(), _TAKE_IT_OUT)
        if not held.barrel.ml:
            raise Impossible(sentence("There is no insulin in the barrel to give."))
        return replace(
            bench,
            syringe=replace(held, barrel=Liquid(), air_ml=0.0, bubbles_ml=0.0),
            given=bench.given + held.barrel,
            outside_air_ml=bench.outside_air_ml + held.air_ml + held.bubbles_ml,
        )


class DiscardSyringe(Action):
    """Drop the syringe with all that is in it into the sharps box."""

    def do(self, bench: Bench) -> Bench:
        held = out_of_vials(bench.in_hand(), _TAKE_IT_OUT)
        return replace(
            bench,
            syringe=None,
            outside=bench.outside + held.all_liquid,
            outside_air_ml=bench.outside_air_ml + held.all_air_ml,
        )


class TakeSyringe(Action):
    """Take a new syringe out of its wrapper."""

    kind: str

    def do(self, bench: Bench) -> Bench:
        if bench.syringe is not None:
            raise Impossible(sentence("There is a syringe in your hand. Discard it before you take another."))
        if self.kind not in bench.kinds:
            refusal = sentence("There is no syringe {kind!r} here. Choose from: {kinds}.")
            raise Impossible(refusal.filled(kind=self.kind, kinds=joined(bench.kinds)))
        return replace(bench, syringe=Held.new(bench.kinds[self.kind], bench.physics))


class DiscardVial(Action):
    """Throw a vial away."""

    vial: str

    def do(self, bench: Bench) -> Bench:
        refusal = sentence(
            "The needle is in the {vial} vial, which cannot be thrown away now. Take the needle out first."
        )
        vial = bench.free_vial(self.vial, refusal)
        return replace(
            bench,
            vials={place: one for place, one in bench.vials.items() if place != self.vial},
            outside=bench.outside + vial.liquid,
            outside_air_ml=bench.outside_air_ml + vial.air_ml,
        )


class TakeVial(Action):
    """Take a fresh vial from the cupboard and put it at its place."""

    vial: str

    def do(self, bench: Bench) -> Bench:
        name = place_name(self.vial)
        if self.vial in bench.vials:
            refusal = sentence("There is a {vial} vial on the bench already. Discard it before you take another.")
            raise Impossible(refusal.filled(vial=name))
        if self.vial not in bench.cupboard:
            refusal = sentence("There is no {vial} vial in the cupboard. Choose from: {cupboard}.")
            raise Impossible(refusal.filled(vial=name, cupboard=joined(map(place_name, bench.cupboard))))
        return bench.with_vial(self.vial, bench.cupboard[self.vial])
