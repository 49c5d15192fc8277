"""What is read and said at the bench: a vial's label in dates, what a learner finds on it, and the words of a second nurse."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta
from typing import ClassVar

from mixlab.words import Sentence, sentence

from .bench import Action, Bench
from .vessels import Vial

TODAY = date(2026, 6, 15)
"""The day on which the bench is played: an assumption, so that every label can be read in dates."""

LONG_EXPIRED = 40
"""For how many days a vial whose date has passed is taken to have expired, where its label gives no other day."""

MAY_BE_USED = sentence("may be used").key

LABEL_FINDS: dict[str, Sentence] = {
    MAY_BE_USED: sentence("may be used"),
    "another insulin": sentence("another insulin"),
    "another strength": sentence("another strength"),
    "expired": sentence("expired"),
    "opened too long": sentence("opened too long"),
}
"""What a learner can say of a label, and what that is called."""

NOTHING_WRONG = sentence("nothing wrong").key

CHECK_SEES: dict[str, Sentence] = {
    NOTHING_WRONG: sentence("nothing wrong"),
    "another amount": sentence("another amount"),
    **{key: words for key, words in LABEL_FINDS.items() if key != MAY_BE_USED},
    "a vial that looks wrong": sentence("a vial that looks wrong"),
    "another kind of syringe": sentence("another kind of syringe"),
    "a bubble": sentence("a bubble"),
}
"""What a second nurse can see when she compares order, labels and the syringe at eye level, and what that is called."""

SAYS = {"pass": sentence("pass"), "stop": sentence("stop")}
"""What a second nurse can say, and what that is called."""


def opened_on(vial: Vial) -> date:
    """Return the date of opening on a vial's label."""
    return TODAY - timedelta(days=vial.opened_days)


def expires_on(vial: Vial) -> date:
    """Return the expiry date on a vial's label."""
    days = -LONG_EXPIRED if vial.past_date and vial.expires_in_days >= 0 else vial.expires_in_days
    return TODAY + timedelta(days=days)


def is_expired(vial: Vial) -> bool:
    """Say whether the expiry date on a vial's label has passed."""
    return expires_on(vial) < TODAY


class SayLabel(Action):
    """Say what a vial's label shows: that the vial may be used, or why not."""

    vial: str
    finds: str
    words: ClassVar[Mapping[str, Mapping[str, Sentence]]] = {"finds": LABEL_FINDS}

    def do(self, bench: Bench) -> Bench:
        bench.vial(self.vial)
        return bench


class SayCheck(Action):
    """Say, as the second nurse, at which mark the plunger stands, what is wrong, and whether the syringe may go on."""

    seconds: ClassVar[float] = 20.0
    mark: float
    sees: str
    says: str
    words: ClassVar[Mapping[str, Mapping[str, Sentence]]] = {"sees": CHECK_SEES, "says": SAYS}

    def do(self, bench: Bench) -> Bench:
        bench.in_hand()
        return bench
