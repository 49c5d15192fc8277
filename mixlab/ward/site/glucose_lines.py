"""The glucose lines of a ward: whether a reading crosses one, and how it is printed."""

from __future__ import annotations

import operator
from decimal import Decimal

from mixlab.facts.records import Threshold
from mixlab.quantities import Glucose
from mixlab.words import Sentence, sentence

_COMPARE = {"below": operator.lt, "at or below": operator.le, "above": operator.gt, "at or above": operator.ge}

IN_WORDS = {
    "below": sentence("below {glucose}"),
    "at or below": sentence("at or below {glucose}"),
    "above": sentence("above {glucose}"),
    "at or above": sentence("at or above {glucose}"),
}


def crosses(glucose: Glucose, line: Threshold) -> bool:
    """Say whether a reading crosses a line, compared in the line's own unit.

    The reading is taken as a meter shows it in that unit, or unrounded where the line's `rounding` says so.
    """
    there = glucose.to(line.unit)
    reading = there.shown() if line.rounding == "as the meter shows" else Decimal(repr(float(there.value)))
    return bool(_COMPARE[line.comparison](reading, Decimal(repr(float(line.value)))))


def line_text(line: Threshold) -> Sentence:
    """Return a line with its comparison and unit: ``"below 70 mg/dL"``, ``"below 4.0 mmol/L"``."""
    return sentence(IN_WORDS[line.comparison], glucose=Glucose(line.value, line.unit))
