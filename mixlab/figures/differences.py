"""How what a model's curve follows differs from the order at the abdomen: the same words on every picture."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from ..care.action import ActionCurves, felt_spell
from ..facts.shelf import shelf
from ..quantities import units_text
from ..words import say


def difference_words(
    curves: ActionCurves, looks: Sequence[Literal["clear", "cloudy"]] = ("clear", "cloudy")
) -> list[str]:
    """Return what a reader must know about the curves of one insulin or of both, a phrase each; empty for a plain dose.

    Said are: what lies beyond the model's doses, a slip, another place on the body, and a spell with what it changes.
    """
    facts = shelf()
    portions = [getattr(curves.injection, look) for look in looks]
    limit = facts.action["extrapolated_above_units"].value
    phrases = {
        f"extrapolated above {units_text(limit)}, our own limit": any(one.depot_units > limit for one in portions),
        f"not as ordered: {curves.injection.words}": curves.injection.slipped,
        f"given in the {facts.body_sites[curves.body_site].name}": curves.body_site != "abdomen",
    }
    said = [phrase for phrase, true in phrases.items() if true]
    if spell := curves.spell:
        felt = [one.insulin.name for one in portions if felt_spell(spell, one, curves.body_site)]
        changes = (
            say("{felt} leaves the tissue faster", felt=" and ".join(felt)) if felt else say("no change in the curve")
        )
        if not felt and spell.row.uses_glucose:
            changes += "; exercise lowers glucose all the same"
        said.append(
            say(
                "{row} from minute {start_minutes} to {end_minutes}: {changes}",
                row=spell.row.name,
                start_minutes=spell.start_minutes,
                end_minutes=spell.end_minutes,
                changes=changes,
            )
        )
    return said


def sentences(phrases: Sequence[str]) -> list[str]:
    """Return phrases as sentences."""
    return [f"{phrase[0].upper()}{phrase[1:]}." for phrase in phrases]
