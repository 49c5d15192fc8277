"""The signs a patient has, how awake that makes them, and whether anything may be given by mouth."""

from __future__ import annotations

from typing import Literal

from mixlab.ward.observation import Observation
from mixlab.words import Sentence, sentence

Mouth = Literal["safe", "see first", "nothing"]
"""Whether a low may be treated by mouth: yes, only after a look at how the patient swallows, or not at all."""

_SIGN_WORDS = {
    "trembling": sentence("trembling"),
    "sweating": sentence("sweating"),
    "pounding-heart": sentence("pounding heart"),
    "anxiety": sentence("anxiety"),
    "hunger": sentence("hunger"),
    "pallor": sentence("pallor"),
    "poor-concentration": sentence("poor concentration"),
    "confusion": sentence("confusion"),
    "weakness": sentence("weakness"),
    "drowsiness": sentence("drowsiness"),
    "vision-change": sentence("vision change"),
    "difficulty-speaking": sentence("difficulty speaking"),
    "convulsion": sentence("convulsion"),
    "unresponsive": sentence("unresponsive"),
}
"""The signs of the facts in words."""

NEEDS_HELP = ("unresponsive", "convulsion")
"""Signs by which a patient needs another person's help, whatever the number."""

NOT_AWAKE = (*NEEDS_HELP, "drowsiness")
"""Signs of a patient who is not fully awake: nothing by mouth (ADA Standards, section 6; recalled)."""

_UNSURE = ("confusion", "difficulty-speaking")
"""Signs that leave it open whether a patient swallows safely (common practice, no source)."""

URGENT_SIGNS = frozenset((*NOT_AWAKE, *_UNSURE))
"""Signs by which help is called at once (common practice, no source)."""

_SIGN_OF = {"drowsy": "drowsiness", "unresponsive": "unresponsive"}
"""The sign that a state of alertness counts as."""


def sign_text(sign: str) -> Sentence:
    """Return a sign in words: ``"pounding heart"``."""
    return _SIGN_WORDS[sign]


def felt(observation: Observation) -> tuple[str, ...]:
    """Return the signs of a low: those ticked, and the one that the patient's alertness is."""
    signs = observation.signs or ()
    more = _SIGN_OF.get(observation.alertness or "awake")
    return signs if more is None or more in signs else (*signs, more)


def awake(observation: Observation) -> bool:
    """Say whether no sign speaks against a patient who is fully awake."""
    return not any(sign in NOT_AWAKE for sign in felt(observation))


def mouth(observation: Observation) -> Mouth:
    """Return whether a low may be treated by mouth.

    Nothing goes by mouth to a patient who cannot swallow or is not fully awake. Where nobody knows how a patient swallows who
    is confused or speaks badly, or nobody has looked how awake the patient is, that is seen first.
    """
    if observation.can_swallow is False or not awake(observation):
        return "nothing"
    unsure = observation.can_swallow is None and any(sign in _UNSURE for sign in felt(observation))
    return "see first" if unsure or observation.alertness is None else "safe"


def can_eat(observation: Observation) -> bool:
    """Say whether food may be given: not to a patient who fasts, vomits, will not eat, or takes nothing by mouth."""
    kept_from = observation.fasting or observation.vomiting or observation.eating is False
    return not kept_from and mouth(observation) != "nothing"
