"""Getting ready at the bench: hands, gloves, labels, looks and checks, rolling the cloudy vial, wiping stoppers."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import ClassVar

from mixlab.words import sentence

from .bench import Action, Bench
from .flow import free_vial


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
