"""What is done with needle and plunger, each action a small value that prints as the words that make it, and what then moves."""

from __future__ import annotations

from dataclasses import replace

from mixlab.words import sentence

from .bench import SLACK_ML, Action, Bench, Impossible, out_of_vials
from .vessels import Held, Liquid, Tip, Vial, place_name


class PullAir(Action):
    """Pull room air into the syringe until the stopper stands at a mark."""

    to: float

    def do(self, bench: Bench) -> Bench:
        refusal = sentence("The needle is in the {vial} vial. Take it out to pull room air.")
        held = out_of_vials(bench.bare_syringe(), refusal)
        ml = _pull_ml(held, self.to)
        return replace(bench, syringe=replace(held, air_ml=held.air_ml + ml), outside_air_ml=bench.outside_air_ml - ml)


class Pierce(Action):
    """Put the needle through a vial's stopper, the vial upright, with the tip in the air above the liquid or in the liquid."""

    vial: str
    tip: Tip

    def do(self, bench: Bench) -> Bench:
        held, vial = bench.bare_syringe(), bench.vial(self.vial)
        out_of_vials(held, sentence("The needle is in the {vial} vial already. Take it out first."))
        held = replace(held, vial=self.vial, tip=self.tip)
        return _dip(bench, held, vial) if self.tip == "liquid" else replace(bench, syringe=held)


class PushAir(Action):
    """Push all the air out of the syringe, into the vial the needle is in or into the room."""

    def do(self, bench: Bench) -> Bench:
        held = bench.bare_syringe()
        if not held.air_ml:
            raise Impossible(sentence("There is no air in the syringe to push. Pull air to a mark first."))
        return _push(bench, held, held.air_ml)


class Invert(Action):
    """Turn the vial over with the needle in it, or back."""

    def do(self, bench: Bench) -> Bench:
        held, vial, place = bench.in_vial()
        vial = replace(vial, inverted=not vial.inverted)
        if not vial.inverted or not vial.liquid.ml:
            return replace(bench.with_vial(place, vial), syringe=replace(held, tip="air"))
        return _dip(bench, replace(held, tip="liquid"), vial)


class DrawTo(Action):
    """Pull the plunger, the needle in a vial, until the stopper stands at a mark; a bubble of some mL may slip in."""

    to: float
    bubble_ml: float = 0.0

    def do(self, bench: Bench) -> Bench:
        held, vial, place = bench.in_vial()
        ml = _pull_ml(held, self.to)
        if held.tip == "liquid":
            return _draw(bench, held, vial, ml, self.bubble_ml)
        if vial.air_ml < ml:
            raise Impossible(sentence("There is not so much air in the {vial} vial.", vial=place_name(place)))
        vial = replace(vial, air_ml=vial.air_ml - ml)
        return replace(bench.with_vial(place, vial), syringe=replace(held, air_ml=held.air_ml + ml))


class TapBubbles(Action):
    """Tap the barrel until its bubbles rise to the needle, and push just them out."""

    def do(self, bench: Bench) -> Bench:
        held = bench.bare_syringe()
        if not held.bubbles_ml:
            raise Impossible(sentence("There is no bubble in the barrel."))
        emptied = replace(bench, syringe=replace(held, bubbles_ml=0.0))
        return _let_out(emptied, Liquid(), held.bubbles_ml)


class PushBackTo(Action):
    """Push the plunger until the stopper stands at a lower mark; what comes out goes where the needle is."""

    to: float

    def do(self, bench: Bench) -> Bench:
        held = bench.bare_syringe()
        ml = (held.mark - self.to) / held.kind.per_ml
        if ml <= SLACK_ML:
            raise Impossible(
                sentence("The stopper stands at {mark}: it can only be pushed below that.", mark=round(held.mark, 2))
            )
        return _push(bench, held, ml)


class Withdraw(Action):
    """Take the needle out of the vial, the vial upright again."""

    def do(self, bench: Bench) -> Bench:
        held, vial, place = bench.in_vial()
        return replace(
            bench.with_vial(place, replace(vial, inverted=False)), syringe=replace(held, vial=None, tip="air")
        )


def _pull_ml(held: Held, to: float) -> float:
    """Return how many mL the plunger moves out to reach a mark, or say that it cannot."""
    if to > held.kind.capacity:
        raise Impossible(
            sentence("The barrel ends at {capacity}. The plunger would come out.", capacity=held.kind.capacity)
        )
    ml = (to - held.mark) / held.kind.per_ml
    if ml <= SLACK_ML:
        raise Impossible(
            sentence("The stopper stands at {mark}: it can only be pulled beyond that.", mark=round(held.mark, 2))
        )
    return ml


def _dip(bench: Bench, held: Held, vial: Vial) -> Bench:
    """Put the tip into a vial's liquid: what clings to it stays there, and the same is taken on."""
    assert held.vial is not None
    physics = bench.physics
    if vial.liquid.ml <= 2 * physics.wet_tip_ml:
        raise Impossible(sentence("There is no liquid in the {vial} vial.", vial=place_name(held.vial)))
    pool = vial.liquid + held.film
    film, pool = pool.split(min(physics.wet_tip_ml, pool.ml / 2))
    return replace(bench.with_vial(held.vial, replace(vial, liquid=pool)), syringe=replace(held, film=film))


def _draw(bench: Bench, held: Held, vial: Vial, ml: float, bubble_ml: float) -> Bench:
    """Draw liquid: first what stands in the needle, liquid or air, then what is at its tip."""
    place = held.vial
    assert place is not None
    before = held.needle.ml + held.needle_air_ml
    share = min(1.0, ml / before) if before else 0.0
    bubble = min(bubble_ml, ml - share * before, vial.air_ml)
    need = ml - bubble
    if need > vial.liquid.ml + SLACK_ML:
        raise Impossible(
            sentence("The {vial} vial holds only {ml} mL.", vial=place_name(place), ml=round(vial.liquid.ml, 3))
        )
    taken, vial = vial.give(min(need, vial.liquid.ml), bench.physics)
    if vial.froth:
        froth = min(vial.froth * (taken.ml - share * before), vial.air_ml - bubble)
        back, taken = taken.split(froth)
        vial = replace(vial, liquid=vial.liquid + back)
        bubble += froth
    vial = replace(vial, air_ml=vial.air_ml - bubble)
    stays, taken = taken.split(share * before)
    pushed, left = held.needle.split(share * held.needle.ml)
    held = replace(
        held,
        barrel=held.barrel + pushed + taken,
        bubbles_ml=held.bubbles_ml + share * held.needle_air_ml + bubble,
        needle=left + stays,
        needle_air_ml=held.needle_air_ml * (1 - share),
    )
    return replace(bench.with_vial(place, vial), syringe=held)


def _push(bench: Bench, held: Held, ml: float) -> Bench:
    """Push so much out: what is nearest the needle first, bubbles last; the needle lets out what it held before.

    With the needle down, in a vial that stands upright, liquid lies at the needle; otherwise the air does.
    """
    down = held.vial is not None and not bench.vials[held.vial].inverted
    air = min(held.air_ml, max(ml - held.barrel.ml, 0.0) if down else ml)
    liquid, barrel = held.barrel.split(min(held.barrel.ml, ml - air))
    bubbles = min(held.bubbles_ml, ml - air - liquid.ml)
    held = replace(held, air_ml=held.air_ml - air, barrel=barrel, bubbles_ml=held.bubbles_ml - bubbles)
    out_air, room = air + bubbles, held.needle.ml + held.needle_air_ml
    moving = liquid.ml + out_air
    if room and moving:
        share = min(1.0, moving / room)
        stays = share * room / moving
        out, kept = held.needle.split(share * held.needle.ml)
        inside, liquid = liquid.split(stays * liquid.ml)
        old_air, new_air = share * held.needle_air_ml, stays * out_air
        held = replace(held, needle=kept + inside, needle_air_ml=held.needle_air_ml - old_air + new_air)
        liquid, out_air = liquid + out, out_air - new_air + old_air
    return _let_out(replace(bench, syringe=held), liquid, out_air)


def _let_out(bench: Bench, liquid: Liquid, air_ml: float) -> Bench:
    """Put liquid and air where the needle is: into a vial, or outside."""
    place = bench.in_hand().vial
    if place is None:
        return replace(bench, outside=bench.outside + liquid, outside_air_ml=bench.outside_air_ml + air_ml)
    vial = bench.vials[place]
    full = vial.liquid + liquid
    if full.ml > vial.inner_ml - 0.05:
        raise Impossible(sentence("The {vial} vial is full.", vial=place_name(place)))
    return bench.with_vial(place, replace(vial, liquid=full, air_ml=vial.air_ml + air_ml))
