"""The signs a patient has, how awake that makes them, and whether anything may be given by mouth."""

from __future__ import annotations

from functools import cache
from typing import Literal

from mixlab.facts.reading import the_facts
from mixlab.ward.observation import Observation
from mixlab.ward.site.record import Site
from mixlab.words import Sentence

Mouth = Literal["safe", "see first", "nothing"]
"""Whether a low may be treated by mouth: yes, only after a look at how the patient swallows, or not at all."""

_SIGN_OF = {"drowsy": "drowsiness", "unresponsive": "unresponsive"}
"""The sign that a state of alertness counts as."""


def sign_text(sign: str) -> Sentence:
    """Return a sign in words: ``"pounding heart"``."""
    return the_facts().sign_words[sign]


@cache
def signs_of(name: str) -> frozenset[str]:
    """Return the signs of a class in decisions.toml: ``"urgent"``."""
    return frozenset(the_facts().sign_classes[name].signs)


def felt(observation: Observation) -> tuple[str, ...]:
    """Return the signs of a low: those ticked, and the one that the patient's alertness is."""
    signs = observation.signs or ()
    more = _SIGN_OF.get(observation.alertness or "awake")
    return signs if more is None or more in signs else (*signs, more)


def feels(observation: Observation, name: str) -> bool:
    """Say whether the patient has a sign of a class."""
    return not signs_of(name).isdisjoint(felt(observation))


def awake(observation: Observation) -> bool:
    """Say whether no sign speaks against a patient who is fully awake."""
    return not feels(observation, "not-awake")


def mouth(observation: Observation) -> Mouth:
    """Return whether a low may be treated by mouth.

    Nothing goes by mouth to a patient who cannot swallow or is not fully awake. Where nobody knows how a patient swallows who
    is confused or speaks badly, or nobody has looked how awake the patient is, that is seen first.
    """
    if observation.can_swallow is False or not awake(observation):
        return "nothing"
    unsure = observation.can_swallow is None and feels(observation, "unsure")
    return "see first" if unsure or observation.alertness is None else "safe"


def by_mouth_used_up(observation: Observation, site: Site) -> bool:
    """Say whether a low has been treated by mouth as often as the ward does it: what follows is the prescriber's."""
    return observation.treated_by_mouth >= site.oral_treatments.value


def can_eat(observation: Observation) -> bool:
    """Say whether food may be given: not to a patient who fasts, vomits, will not eat, or takes nothing by mouth."""
    kept_from = observation.fasting or observation.vomiting or observation.eating is False
    return not kept_from and mouth(observation) != "nothing"


def eats(observation: Observation) -> bool:
    """Say whether a meal is coming on time, can be swallowed and will stay down."""
    return observation.eating is True and not no_meal(observation) and not observation.meal_late


def no_meal(observation: Observation) -> bool:
    """Say whether a meal is not eaten, or cannot be swallowed or may not stay down; one that is late or not known may be."""
    kept_from = observation.fasting or observation.vomiting or observation.can_swallow is False
    return kept_from or observation.eating is False
