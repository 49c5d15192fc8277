"""The glucose lines of a ward: whether a reading crosses one, and how it is printed."""

from __future__ import annotations

import operator
from decimal import Decimal

from ..facts.record import Threshold
from ..quantities import Glucose

_COMPARE = {"below": operator.lt, "at or below": operator.le, "above": operator.gt, "at or above": operator.ge}


def crosses(glucose: Glucose, line: Threshold) -> bool:
    """Say whether a reading crosses a line, compared in the line's own unit on the value as a meter shows it."""
    return bool(_COMPARE[line.comparison](glucose.to(line.unit).shown(), Decimal(repr(float(line.value)))))


def line_text(line: Threshold) -> str:
    """Print a line with its comparison and unit: ``"below 70 mg/dL"``, ``"below 4.0 mmol/L"``."""
    return f"{line.comparison} {Glucose(line.value, line.unit)}"
