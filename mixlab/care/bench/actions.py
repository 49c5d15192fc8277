"""Everything a person can do at the bench, each as a small value that prints as the words that make it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import ClassVar, Literal, cast

from mixlab.words import joined, sentence

from .bench import SLACK_ML, Action, Bench, Impossible, bare, dip, draw, free_vial, in_vial, let_out, pull_ml, push
from .vessels import Held, Liquid, place_name


@dataclass(frozen=True)
class CleanHands(Action):
    """Clean the hands."""

    seconds: ClassVar[float] = 20.0

    def do(self, bench: Bench) -> Bench:
        return replace(bench, hands_clean=True)


@dataclass(frozen=True)
class PutOnGloves(Action):
    """Put on gloves."""

    def do(self, bench: Bench) -> Bench:
        return replace(bench, gloved=True)


@dataclass(frozen=True)
class ReadLabel(Action):
    """Read a vial's label: insulin, strength, dates."""

    vial: str

    def do(self, bench: Bench) -> Bench:
        bench.vial(self.vial)
        return bench


@dataclass(frozen=True)
class LookAt(Action):
    """Look closely at what is in a vial."""

    vial: str

    def do(self, bench: Bench) -> Bench:
        bench.vial(self.vial)
        return bench


@dataclass(frozen=True)
class HaveChecked(Action):
    """Have a second person check what is in the syringe now."""

    seconds: ClassVar[float] = 20.0

    def do(self, bench: Bench) -> Bench:
        bench.in_hand()
        return bench


@dataclass(frozen=True)
class Roll(Action):
    """Roll a vial between the palms and turn it over, so many times in all, a second each."""

    vial: str
    times: float

    def takes_s(self) -> float:
        """Return how many seconds it takes."""
        return self.times

    def do(self, bench: Bench) -> Bench:
        vial = free_vial(
            bench,
            self.vial,
            sentence("The needle is in the {vial} vial, which cannot be rolled now. Take the needle out first."),
        )
        even = vial.settled * bench.physics.left_by_roll**self.times
        return bench.with_vial(self.vial, replace(vial, settled=even, sediment_at_stopper=False))


@dataclass(frozen=True)
class Shake(Action):
    """Shake a vial."""

    vial: str

    def do(self, bench: Bench) -> Bench:
        vial = free_vial(
            bench,
            self.vial,
            sentence("The needle is in the {vial} vial, which cannot be shaken now. Take the needle out first."),
        )
        return bench.with_vial(self.vial, replace(vial, settled=0.0, froth=bench.physics.froth))


@dataclass(frozen=True)
class Swab(Action):
    """Wipe a vial's stopper with alcohol for so many seconds."""

    vial: str
    for_s: float

    def takes_s(self) -> float:
        """Return how many seconds it takes."""
        return self.for_s

    def do(self, bench: Bench) -> Bench:
        vial = free_vial(
            bench,
            self.vial,
            sentence("The needle is in the {vial} vial, which cannot be wiped now. Take the needle out first."),
        )
        wet_s = bench.physics.dry_s + self.for_s  # it begins to dry when the wiping ends
        return bench.with_vial(self.vial, replace(vial, wiped_s=vial.wiped_s + self.for_s, wet_s=wet_s))


@dataclass(frozen=True)
class LetDry(Action):
    """Wait half a minute for a wiped stopper to dry."""

    vial: str
    seconds: ClassVar[float] = 30.0

    def do(self, bench: Bench) -> Bench:
        bench.vial(self.vial)
        return bench


@dataclass(frozen=True)
class PullAir(Action):
    """Pull room air into the syringe until the stopper stands at a mark."""

    to: float

    def do(self, bench: Bench) -> Bench:
        held = bare(bench)
        if held.vial:
            raise Impossible(
                sentence("The needle is in the {vial} vial. Take it out to pull room air.", vial=place_name(held.vial))
            )
        ml = pull_ml(held, self.to)
        return replace(bench, syringe=replace(held, air_ml=held.air_ml + ml), outside_air_ml=bench.outside_air_ml - ml)


@dataclass(frozen=True)
class Pierce(Action):
    """Put the needle through a vial's stopper, the vial upright, with the tip in the air above the liquid or in the liquid."""

    vial: str
    tip: str

    def do(self, bench: Bench) -> Bench:
        held, vial = bare(bench), bench.vial(self.vial)
        if held.vial:
            raise Impossible(
                sentence("The needle is in the {vial} vial already. Take it out first.", vial=place_name(held.vial))
            )
        held = replace(held, vial=self.vial, tip=cast(Literal["air", "liquid"], self.tip))
        if self.tip == "air":
            return replace(bench, syringe=held)
        return dip(bench, held, vial)


@dataclass(frozen=True)
class PushAir(Action):
    """Push all the air out of the syringe, into the vial the needle is in or into the room."""

    def do(self, bench: Bench) -> Bench:
        held = bare(bench)
        if not held.air_ml:
            raise Impossible(sentence("There is no air in the syringe to push. Pull air to a mark first."))
        return push(bench, held, held.air_ml)


@dataclass(frozen=True)
class Invert(Action):
    """Turn the vial over with the needle in it, or back."""

    def do(self, bench: Bench) -> Bench:
        held, vial, place = in_vial(bench)
        vial = replace(vial, inverted=not vial.inverted)
        if not vial.inverted or not vial.liquid.ml:
            return replace(bench.with_vial(place, vial), syringe=replace(held, tip="air"))
        return dip(bench, replace(held, tip="liquid"), vial)


@dataclass(frozen=True)
class DrawTo(Action):
    """Pull the plunger, the needle in a vial, until the stopper stands at a mark; a bubble of some mL may slip in."""

    to: float
    bubble_ml: float = 0.0

    def do(self, bench: Bench) -> Bench:
        held, vial, place = in_vial(bench)
        ml = pull_ml(held, self.to)
        if held.tip == "liquid":
            return draw(bench, held, vial, ml, self.bubble_ml)
        if vial.air_ml < ml:
            raise Impossible(sentence("There is not so much air in the {vial} vial.", vial=place_name(place)))
        vial = replace(vial, air_ml=vial.air_ml - ml)
        return replace(bench.with_vial(place, vial), syringe=replace(held, air_ml=held.air_ml + ml))


@dataclass(frozen=True)
class TapBubbles(Action):
    """Tap the barrel until its bubbles rise to the needle, and push just them out."""

    def do(self, bench: Bench) -> Bench:
        held = bare(bench)
        if not held.bubbles_ml:
            raise Impossible(sentence("There is no bubble in the barrel."))
        emptied = replace(bench, syringe=replace(held, bubbles_ml=0.0))
        return let_out(emptied, Liquid(), held.bubbles_ml)


@dataclass(frozen=True)
class PushBackTo(Action):
    """Push the plunger until the stopper stands at a lower mark; what comes out goes where the needle is."""

    to: float

    def do(self, bench: Bench) -> Bench:
        held = bare(bench)
        ml = (held.mark - self.to) / held.kind.per_ml
        if ml <= SLACK_ML:
            raise Impossible(
                sentence("The stopper stands at {mark}: it can only be pushed below that.", mark=round(held.mark, 2))
            )
        return push(bench, held, ml)


@dataclass(frozen=True)
class Withdraw(Action):
    """Take the needle out of the vial, the vial upright again."""

    def do(self, bench: Bench) -> Bench:
        held, vial, place = in_vial(bench)
        return replace(
            bench.with_vial(place, replace(vial, inverted=False)), syringe=replace(held, vial=None, tip="air")
        )


@dataclass(frozen=True)
class Cap(Action):
    """Put the cap back on the needle."""

    hands: str

    def do(self, bench: Bench) -> Bench:
        held = bare(bench)
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
        return replace(bench, syringe=replace(bench.in_hand(), labelled=True))


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
        held = bare(bench)
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


ACTIONS: dict[str, type[Action]] = {
    name: kind
    for name, kind in list(globals().items())
    if isinstance(kind, type) and issubclass(kind, Action) and kind is not Action
}
"""Every action by its name."""
