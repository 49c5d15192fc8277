"""The bench at one moment, in words: each vial, the syringe, and if asked what is really inside."""

from __future__ import annotations

from mixlab.care.bench.bench import Bench
from mixlab.care.bench.checking import TODAY, expires_on, opened_on
from mixlab.care.bench.runs import CLEAR, CLOUDY, OTHER
from mixlab.care.bench.vessels import ROOM_KPA, Held, Liquid, Physics, Vial, place_name
from mixlab.quantities import UNITS_PER_ML, figures_text, number_text, units_text
from mixlab.ward.insulin import insulins
from mixlab.words import say, sentence

from .in_hand import SHOWN_UNITS, mark_text

EVEN, SETTLED = 0.05, 0.95
"""Below the first a suspension is called even, from the second on settled (an assumption, for words and looks only)."""


def short(insulin: str) -> str:
    """Return an insulin's name without the word: ``"NPH"``."""
    return str(insulins()[insulin].name).replace("insulin", "").strip()


def is_cloudy(liquid: Liquid, physics: Physics) -> bool:
    """Say whether a liquid looks cloudy: with no more suspension in it than a settled vial's clear layer, it looks clear."""
    milk = sum(units for key, units in liquid.units.items() if insulins()[key].look == "cloudy")
    return milk > physics.clear_layer * UNITS_PER_ML * liquid.ml * 1.001


def places_of(bench: Bench) -> list[str]:
    """Return every place of the bench, whether a vial stands there now or not, from left to right."""
    usual = (CLEAR, CLOUDY, OTHER)
    return sorted({**bench.cupboard, **bench.vials}, key=lambda place: (*usual, place).index(place))


def evenness(vial: Vial) -> str:
    """Return how a suspension stands, as one of `_EVENNESS`; empty for a clear insulin."""
    if not vial.suspension:
        return ""
    if vial.froth > 0.01:
        return "frothy"
    return "even" if vial.settled < EVEN else "settled" if vial.settled >= SETTLED else "partly settled"


_EVENNESS = {
    "": sentence("clear, colorless, nothing floats in it"),
    sentence("even").key: sentence("evenly milky, no clumps"),
    sentence("frothy").key: sentence("milky, with froth on top"),
    sentence("settled").key: sentence("a clear layer and a dense white layer: settled"),
    sentence("partly settled").key: sentence("streaks and a dense layer: partly settled"),
}


def label_words(vial: Vial) -> str:
    """Return what is printed and written on a vial's label; whether it may be used is for the reader to find."""
    words = sentence(
        "The label says: {insulin}, {strength} in each mL, expires {expires}, opened {opened}. Today is {today}.",
        insulin=insulins()[vial.insulin].name,
        strength=units_text(vial.strength),
        expires=expires_on(vial).isoformat(),
        opened=opened_on(vial).isoformat(),
        today=TODAY.isoformat(),
    )
    return str(words)


def look_words(vial: Vial) -> str:
    """Return what is seen on looking closely at a vial."""
    good = vial.condition == "good"
    return say("Seen in the vial: {seen}.", seen=say(_EVENNESS[evenness(vial)] if good else vial.condition))


def evenness_word(vial: Vial) -> str:
    """Say in a word how a suspension stands; empty for a clear insulin."""
    return say(word) if (word := evenness(vial)) else ""


def amounts(liquid: Liquid, first: str = "") -> list[tuple[str, str]]:
    """Return each insulin of a liquid and its amount in words, one named insulin first, traces too small to print left out."""
    keys = sorted((key for key, units in liquid.units.items() if units >= SHOWN_UNITS), key=lambda key: key != first)
    return [(key, str(units_text(_round(liquid.units[key])))) for key in keys]


def _round(units: float) -> float:
    """Return an amount as finely as it can mean something: four figures, and never finer than a thousandth."""
    return round(units, 1 if units >= 100 else 2 if units >= 1 else 3)


def vial_words(place: str, vial: Vial, inside: bool) -> list[str]:
    """Return what is to be read beside a vial, a line each, and if asked what is really inside."""
    stopper = say("not wiped") if not vial.wiped_s else say("wiped, still wet") if vial.wet else say("wiped, dry")
    turned = say(", upside down") if vial.inverted else ""
    words = [
        str(insulins()[vial.insulin].name),
        say("{place} vial{turned}", place=place_name(place), turned=turned),
        say("stopper {stopper}", stopper=stopper),
    ]
    if not inside:
        return words
    held = amounts(vial.liquid, vial.insulin)
    told = [say("{amount} of {insulin}", amount=units, insulin=short(key)) for key, units in held]
    own, *others = told or [say("empty")]
    more = "+ " + ", ".join(others) if others else say("nothing else in it")
    percent = figures_text(f"{vial.kpa / ROOM_KPA * 100:.1f}")
    return [*words[:2], own, more, say("{percent} % of room pressure", percent=percent)]


def syringe_words(bench: Bench, inside: bool) -> list[str]:
    """Return the syringe's name, its reading, and more lines."""
    held = bench.syringe
    if held is None:
        told = amounts(bench.given) if inside else []
        given = (say("given: {amount} of {insulin}", amount=units, insulin=short(key)) for key, units in told)
        return [say("No syringe in hand"), "", *given]
    bubbles, air = held.bubbles_ml * UNITS_PER_ML, held.air_ml * UNITS_PER_ML
    seen = [say("air")] if air >= SHOWN_UNITS else []
    if held.barrel.ml:
        seen.append(say("cloudy liquid") if is_cloudy(held.barrel, bench.physics) else say("clear liquid"))
    if bubbles >= SHOWN_UNITS:
        seen.append(say("bubbles"))
    words = [
        str(held.kind.name),
        say("Stopper at {mark}", mark=mark_text(held.kind, held.mark)),
        _needle_words(held),
        say("barrel: {seen}", seen=", ".join(seen) or say("nothing")),
    ]
    if held.labeled:
        words.append(say("labeled"))
    if inside:
        for key, units in amounts(held.barrel):
            words.append(say("inside: {amount} of {insulin}", amount=units, insulin=short(key)))
        if bubbles >= SHOWN_UNITS:
            words.append(say("bubbles: {amount}", amount=units_text(round(bubbles, 2))))
    return words


def _needle_words(held: Held) -> str:
    if held.vial:
        place = place_name(held.vial)
        if held.tip == "air":
            return say("needle in {place} vial, tip in air", place=place)
        return say("needle in {place} vial, tip in liquid", place=place)
    if not held.capped:
        return say("needle in no vial")
    return say("needle capped, with one hand") if held.capped == "one hand" else say("needle capped, with two hands")


def describe_bench(bench: Bench, inside: bool = False) -> str:
    """Return the drawn bench in words."""
    title, reading, *lines = syringe_words(bench, inside)
    said = [title, "; ".join(part for part in (reading, *lines) if part)]
    for place, vial in bench.vials.items():
        name, where, *more = vial_words(place, vial, inside)
        words = [f"{where}: {name}", evenness_word(vial), f"{number_text(round(vial.liquid.ml, 2))} mL", *more]
        said.append(", ".join(word for word in words if word))
    return ". ".join(one[0].upper() + one[1:] for one in said if one) + "."
