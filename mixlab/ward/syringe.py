"""The insulin syringes a site may have in stock."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from types import MappingProxyType

from mixlab.facts.reading import the_facts
from mixlab.quantities import units_text, units_to_ml
from mixlab.words import Sentence, sentence


@dataclass(frozen=True, kw_only=True)
class Syringe:
    """A U-100 insulin syringe with a fixed needle; capacities and graduations in units, the scale's length in mm."""

    key: str
    capacity_units: int
    graduation_units: float
    numbered_every_units: int
    scale_length_mm: float

    @property
    def name(self) -> Sentence:
        """What to ask for at the cupboard."""
        size = sentence("{volume} mL", volume=units_to_ml(self.capacity_units))
        if self.graduation_units == 0.5:
            return sentence("{size} U-100 insulin syringe with a line every half {unit}", size=size)
        if self.graduation_units == 1:
            return sentence("{size} U-100 insulin syringe with a line every {unit}", size=size)
        step = units_text(self.graduation_units)
        return sentence("{size} U-100 insulin syringe with a line every {step}", size=size, step=step)

    def shows(self, units: float) -> bool:
        """Say whether a line of the scale stands at exactly this amount."""
        return 0 <= units <= self.capacity_units and Fraction(units) % Fraction(self.graduation_units) == 0

    def __str__(self) -> str:
        return str(self.name)


@cache
def syringes() -> Mapping[str, Syringe]:
    """Return every syringe of the facts by its key.

    Examples
    --------
    >>> str(syringes()["0.3-half"])
    '0.3 mL U-100 insulin syringe with a line every half unit'
    """
    return MappingProxyType(
        {
            key: Syringe(
                key=key,
                capacity_units=row.capacity_units,
                graduation_units=row.graduation_units,
                numbered_every_units=row.numbered_every_units,
                scale_length_mm=row.scale_length_mm,
            )
            for key, row in the_facts().syringes.items()
        }
    )
