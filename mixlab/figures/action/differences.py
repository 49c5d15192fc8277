"""How what a model's curve follows differs from the order at the abdomen: the same words on every picture."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from mixlab.care.action.absorption import Spell
from mixlab.care.action.curves import ActionCurves, felt_spell
from mixlab.care.action.injection import Portion
from mixlab.facts.reading import the_facts
from mixlab.quantities import units_text
from mixlab.words import joined, say, sentence


def difference_words(
    curves: ActionCurves,
    looks: Sequence[Literal["clear", "cloudy"]] = ("clear", "cloudy"),
    *,
    slip: bool = True,
    brief: bool = False,
) -> list[str]:
    """Return what a reader must know about the curves of one insulin or of both, a phrase each; empty for a plain dose.

    Said are: what lies beyond the model's doses, a slip, another place on the body, and a spell with what it changes.

    Parameters
    ----------
    slip : bool
        Whether to say of a slip.
    brief : bool
        Whether to say no more than that there was a slip, and from when to when a spell lasts.
    """
    facts = the_facts()
    portions = [getattr(curves.injection, look) for look in looks]
    limit = facts.action["extrapolated_above_units"].value
    said = []
    if any(one.depot_units > limit for one in portions):
        said.append(say("extrapolated above {limit}, our own limit", limit=units_text(limit)))
    if curves.injection.slipped and slip:
        words = curves.injection.words
        said.append(say("not as ordered") if brief else say("not as ordered: {slip}", slip=words))
    if curves.body_site != "abdomen":
        said.append(say("given in the {place}", place=say(facts.body_sites[curves.body_site].name)))
    if curves.spell:
        lasting = _lasting(curves.spell)
        said.append(lasting if brief else f"{lasting}: {_changes(curves, curves.spell, portions)}")
    return said


def _lasting(spell: Spell) -> str:
    return say(
        "{what} from minute {start} to {end}",
        what=say(spell.row.name),
        start=spell.start_minutes,
        end=spell.end_minutes,
    )


def _changes(curves: ActionCurves, spell: Spell, portions: Sequence[Portion]) -> str:
    felt = [one.insulin.name for one in portions if felt_spell(spell, one, curves.body_site)]
    if felt:
        return say("{insulins} leaves the tissue faster", insulins=joined(felt, sentence(" and ")))
    if spell.row.uses_glucose:
        return say("no change in the curve; exercise lowers glucose all the same")
    return say("no change in the curve")


def sentences(phrases: Sequence[str]) -> list[str]:
    """Return phrases as sentences."""
    return [f"{phrase[0].upper()}{phrase[1:]}." for phrase in phrases]
