"""The meals of a ward's day."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from mixlab.quantities import ClockTime, NotAnAmount, read_clock
from mixlab.words import sentence


@dataclass(frozen=True, kw_only=True)
class Meal:
    """A meal, when it is served, and whether it is eaten.

    Parameters
    ----------
    name : str
        What the ward calls it.
    at : str
        When it is served, on the 24-hour clock: ``"08:00"``.
    grams : float
        Its carbohydrate in g; used for the cover strip only.
    eaten : bool
        Whether it is eaten.
    also_called : tuple of str
        What an order may call it.

    Raises
    ------
    NotAClockTime
        For a time that is none.
    NotAnAmount
        For an amount of carbohydrate that is not a number from 0.
    """

    name: str
    at: str
    grams: float = 60
    eaten: bool = True
    also_called: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        read_clock(self.at)
        number = isinstance(self.grams, int | float) and not isinstance(self.grams, bool)
        if not number or not 0 <= self.grams < math.inf:
            raise NotAnAmount(
                sentence("{grams!r} g of carbohydrate is not possible. Enter a number from 0.", grams=self.grams)
            )

    @property
    def clock(self) -> ClockTime:
        """When it is served, on the day of the dose."""
        return read_clock(self.at)

    def is_called(self, words: str) -> bool:
        """Say whether words such as "30 minutes before breakfast" name this meal."""
        names = "|".join(re.escape(name) for name in (self.name, *self.also_called))
        return re.search(rf"\b(?:{names})\b", words, re.IGNORECASE) is not None
