"""Everything a person can do at the bench, each as a small value that prints as the words that make it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal, cast

from mixlab.words import sentence

from .bench import SLACK_ML, Action, Bench, Impossible
from .flow import bare_syringe, dip, draw, in_vial, let_out, pull_ml, push
from .getting_ready import CleanHands, HaveChecked, LetDry, LookAt, PutOnGloves, ReadLabel, Roll, Shake, Swab
from .handling import Cap, DiscardSyringe, DiscardVial, Give, LabelSyringe, LayDown, TakeSyringe, TakeVial, Uncap
from .vessels import Liquid, place_name


@dataclass(frozen=True)
class PullAir(Action):
    """Pull room air into the syringe until the stopper stands at a mark."""

    to: float

    def do(self, bench: Bench) -> Bench:
        held = bare_syringe(bench)
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
        held, vial = bare_syringe(bench), bench.vial(self.vial)
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
        held = bare_syringe(bench)
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
        held = bare_syringe(bench)
        if not held.bubbles_ml:
            raise Impossible(sentence("There is no bubble in the barrel."))
        emptied = replace(bench, syringe=replace(held, bubbles_ml=0.0))
        return let_out(emptied, Liquid(), held.bubbles_ml)


@dataclass(frozen=True)
class PushBackTo(Action):
    """Push the plunger until the stopper stands at a lower mark; what comes out goes where the needle is."""

    to: float

    def do(self, bench: Bench) -> Bench:
        held = bare_syringe(bench)
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


ACTIONS: dict[str, type[Action]] = {
    kind.__name__: kind
    for kind in (
        CleanHands,
        PutOnGloves,
        ReadLabel,
        LookAt,
        HaveChecked,
        Roll,
        Shake,
        Swab,
        LetDry,
        PullAir,
        Pierce,
        PushAir,
        Invert,
        DrawTo,
        TapBubbles,
        PushBackTo,
        Withdraw,
        Cap,
        Uncap,
        LabelSyringe,
        LayDown,
        Give,
        DiscardSyringe,
        TakeSyringe,
        DiscardVial,
        TakeVial,
    )
}
"""Every action by its name."""
