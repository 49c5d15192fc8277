"""Amounts as the ward reads them: insulin units, millilitres, glucose in two units, and how to print them safely.

Whole and half units are exact in binary, so an ``int`` or a ``float`` holds every amount a syringe can show without
rounding; :func:`exact_units` turns any number into that form and refuses what is not a number.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_UP, Decimal
from fractions import Fraction
from typing import Literal, get_args

from .words import Sentence, counted, joined, say, sentence

GlucoseUnit = Literal["mg/dL", "mmol/L"]

GLUCOSE_MOLAR_MASS = 180.156
"""Molar mass of glucose, C6H12O6, in g/mol (recalled; tests/published recomputes it with an independent library)."""

MG_DL_PER_MMOL_L = GLUCOSE_MOLAR_MASS / 10
"""1 mmol/L of glucose in mg/dL: g/mol is mg/mmol, and a litre is ten decilitres (computed)."""

UNITS_PER_ML = 100
"""U-100 insulin: 100 units in each millilitre, so 1 unit is 0.01 mL (US Army subcourse MD0904; read)."""

_BEYOND_ANY_METER = 1_000_000

_DECIMALS = {"mg/dL": Decimal(1), "mmol/L": Decimal("0.1")}


class NotAnAmount(ValueError):
    """A value that cannot be an amount: not a number, infinite, or negative where that makes no sense."""


def exact_units(value: float | Fraction | Decimal) -> int | float:
    """Return an amount of insulin as a plain number, whole amounts as ``int``.

    Parameters
    ----------
    value : int, float, Fraction or Decimal
        Units of insulin.

    Raises
    ------
    NotAnAmount
        If the value is not a finite number.
    """
    number = isinstance(value, int | float | Fraction | Decimal) and not isinstance(value, bool)
    if not number or not math.isfinite(value):
        wrong = sentence("{value} is not a number of units. Write the dose as a number, for example 8 or 8.5.")
        raise NotAnAmount(wrong.filled(value=value if number else repr(value)))
    exact = Fraction(value)
    return exact.numerator if exact.denominator == 1 else float(exact)


def units_to_ml(units: float, units_per_ml: float = UNITS_PER_ML) -> float:
    """Return the volume in mL that holds `units` at a strength of `units_per_ml` units/mL."""
    return units / units_per_ml


def ml_to_units(ml: float, units_per_ml: float = UNITS_PER_ML) -> float:
    """Return the units held by `ml` at a strength of `units_per_ml` units/mL."""
    return ml * units_per_ml


def rounded_beside(value: float, limit: float, decimals: int = 1) -> float:
    """Return a number rounded, but never onto or across a limit beside which it lies: what is said must not read as if it did.

    Parameters
    ----------
    value : float
        What is rounded: 14.97 minutes.
    limit : float
        What it has been compared with: 15 minutes, of which 14.97 falls short, said as 14.9.
    decimals : int
        How many decimals are said.
    """
    near = round(value, decimals)
    if value == limit or (near != limit and (near < limit) == (value < limit)):
        return near
    away = ROUND_FLOOR if value < limit else ROUND_CEILING
    return float(Decimal(value).quantize(Decimal(1).scaleb(-decimals), away))


def number_text(value: float | Fraction) -> Sentence:
    """Return a number to be printed safely: no trailing zero, always a leading zero (Joint Commission, Do-not-use list; read)."""
    return sentence("{value}", value=value)


def figures_text(figures: str) -> Sentence:
    """Return figures, each of which is kept, to be printed with the decimal mark of who speaks."""
    return sentence("{value}", value=Decimal(figures))


def units_text(units: float) -> Sentence:
    """Return an amount of insulin with the word in full.

    Examples
    --------
    >>> [str(units_text(units)) for units in (8, 1, 0.5)]
    ['8 units', '1 unit', '0.5 units']
    """
    return counted(units, "{count} {unit}", "{count} {units}", count=units)


def ml_text(units: float) -> Sentence:
    """Return the volume of `units` of U-100 insulin: ``"0.28 mL"``."""
    return sentence("{volume} mL", volume=round(units_to_ml(units), 4))


@dataclass(frozen=True)
class Glucose:
    """A blood glucose reading, in the unit of the meter that gave it.

    Parameters
    ----------
    value : float
        The reading.
    unit : {"mg/dL", "mmol/L"}
        Its unit; there is no default, so that a bare number is never guessed at.

    Raises
    ------
    NotAnAmount
        If the value is not a finite number or is negative, or the unit is unknown.
    """

    value: float
    unit: GlucoseUnit

    def __post_init__(self) -> None:
        value = self.value
        if self.unit not in get_args(GlucoseUnit):
            wrong = sentence("{measure!r} is not a glucose unit. Use 'mg/dL' or 'mmol/L'.")
        elif isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
            wrong = sentence("{value!r} is not a glucose reading. Enter the number that the meter shows.")
        elif value > _BEYOND_ANY_METER:
            wrong = sentence("A glucose of {value:g} {measure} is beyond any meter. Enter the number it shows.")
        elif value < 0:
            wrong = sentence("A glucose of {value:g} {measure} is below zero. Enter the number the meter shows.")
        else:
            return
        raise NotAnAmount(wrong.filled_from({"value": value, "measure": self.unit}))

    def to(self, unit: GlucoseUnit) -> Glucose:
        """Return the same glucose in another unit, unrounded (1 mmol/L = 18.0156 mg/dL)."""
        if unit == self.unit:
            return self
        factor = MG_DL_PER_MMOL_L if unit == "mg/dL" else 1 / MG_DL_PER_MMOL_L
        return Glucose(self.value * factor, unit)

    def shown(self) -> Decimal:
        """Return the value as a meter shows it: whole mg/dL, or mmol/L to one decimal, halves rounded up."""
        return Decimal(repr(float(self.value))).quantize(_DECIMALS[self.unit], ROUND_HALF_UP)

    def __str__(self) -> str:
        return say("{value} {measure}", value=self.shown(), measure=self.unit)


def meter_reading(value: float, unit: GlucoseUnit) -> Glucose:
    """Return what a person read off a meter.

    Raises
    ------
    NotAnAmount
        As for `Glucose`, and if the number is finer than a meter shows, such as 69.5 mg/dL.
    """
    reading = Glucose(value, unit)
    if abs(float(reading.shown()) - value) > 1e-9:
        wrong = sentence("{value:g} {measure} is finer than a meter shows. Enter the number on the meter's screen.")
        raise NotAnAmount(wrong.filled(value=value, measure=unit))
    return reading


MINUTES_A_DAY = 24 * 60

_CLOCK = re.compile(r"([01]?[0-9]|2[0-3]):([0-5][0-9])")


class NotAClockTime(ValueError):
    """Something that is no time of day on the 24-hour clock."""


@dataclass(frozen=True, order=True)
class ClockTime:
    """A time on the ward's clock.

    Parameters
    ----------
    minutes : int
        Minutes after midnight of the day in question; those past a whole day are on a day after it.
    """

    minutes: int

    def later(self, minutes: float) -> ClockTime:
        """Return the time so many minutes later, to the nearest minute; earlier if they are negative."""
        return ClockTime(self.minutes + round(minutes))

    def next(self, other: ClockTime) -> ClockTime:
        """Return the first time at or after this one at which the clock shows what `other` shows."""
        return ClockTime(self.minutes + (other.minutes - self.minutes) % MINUTES_A_DAY)

    def until(self, other: ClockTime) -> int:
        """Return the minutes from this time to another, negative if it is earlier."""
        return other.minutes - self.minutes

    @property
    def face(self) -> str:
        """What the clock shows, whatever the day: ``"07:30"``."""
        hour, minute = divmod(self.minutes % MINUTES_A_DAY, 60)
        return f"{hour:02}:{minute:02}"

    def __str__(self) -> str:
        days = self.minutes // MINUTES_A_DAY
        if not days:
            return self.face
        if days == -1:
            return say("{clock} the day before", clock=self.face)
        if days == 1:
            return say("{clock} the next day", clock=self.face)
        return say("{clock} on day {day}", clock=self.face, day=days + 1)


def read_clock(text: str) -> ClockTime:
    """Return a time of day from what a person typed: ``"07:30"`` or ``"7:30"``.

    Raises
    ------
    NotAClockTime
        For anything else.
    """
    match = _CLOCK.fullmatch(text.strip()) if isinstance(text, str) else None
    if match is None:
        wrong = sentence("{text!r} is no time of day. Write it on the 24-hour clock, for example 07:30 or 19:05.")
        raise NotAClockTime(wrong.filled(text=text))
    return ClockTime(int(match[1]) * 60 + int(match[2]))


def minutes_text(minutes: float) -> Sentence:
    """Return a length of time: ``"45 minutes"``, ``"2 hours"``, ``"1 hour 30 minutes"``."""
    hours, rest = divmod(round(minutes), 60)
    in_hours = counted(hours, "{count} hour", "{count} hours", count=hours)
    in_minutes = counted(rest, "{count} minute", "{count} minutes", count=rest)
    if hours and rest:
        return joined((in_hours, in_minutes), " ")
    return in_hours if hours else in_minutes
