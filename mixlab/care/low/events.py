"""What can be done about a low: the events of its treatment, each a small record."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from mixlab.quantities import Glucose, NotAnAmount
from mixlab.ward.observation import Alertness, OffScale
from mixlab.words import Sentence, sentence


@dataclass(frozen=True)
class Carbohydrate:
    """Fast carbohydrate by mouth, in g."""

    grams: float

    def __post_init__(self) -> None:
        _refuse(self.grams, _NO_GRAMS)
        if self.grams == 0:
            raise NotAnAmount(sentence("0 g of carbohydrate treat nobody. Write how much was given."))


@dataclass(frozen=True)
class EmergencyTreatment:
    """Treatment not by mouth, as the emergency protocol says (glucagon or intravenous dextrose)."""


@dataclass(frozen=True)
class Wait:
    """Time that passes, in minutes."""

    minutes: float

    def __post_init__(self) -> None:
        _refuse(self.minutes, _NO_MINUTES)


@dataclass(frozen=True)
class Measure:
    """A new reading, and what was seen with it.

    Signs are None if nobody looked for them, empty if looked for and absent. What is `"as before"` was not looked at again.
    """

    glucose: Glucose | OffScale
    signs: tuple[str, ...] | None = None
    alertness: Alertness | Literal["as before"] = "as before"
    can_swallow: bool | Literal["as before"] = "as before"


@dataclass(frozen=True)
class Eat:
    """Food once the glucose has risen."""


@dataclass(frozen=True)
class TellNurse:
    """Word to the nurse in charge of all that was found."""


@dataclass(frozen=True)
class TellPrescriber:
    """Word to the prescriber of all that was found, and whether the answer is to give this dose now."""

    says_give: bool


@dataclass(frozen=True)
class CallForHelp:
    """A call for help."""


Event = Carbohydrate | EmergencyTreatment | Wait | Measure | Eat | TellNurse | TellPrescriber | CallForHelp


_NO_GRAMS = sentence("There cannot be {amount!r} g of carbohydrate. Write how much was given, as a number.")
_NO_MINUTES = sentence("There cannot be {amount!r} minutes of waiting. Write how many minutes pass, as a number.")


def _refuse(amount: object, why: Sentence) -> None:
    if isinstance(amount, bool) or not isinstance(amount, int | float) or not math.isfinite(amount) or amount < 0:
        raise NotAnAmount(why.filled(amount=amount))
