"""A written order for two insulins in one syringe, and the ways an order can fail to be one."""

from __future__ import annotations

from dataclasses import dataclass, field

from mixlab.quantities import units_text
from mixlab.ward.insulin import Insulin
from mixlab.words import Sentence, say, sentence


class OrderError(ValueError):
    """An order that cannot be acted on as written. The message says what is wrong and what to do.

    Attributes
    ----------
    place : tuple of int or None
        Where it stands in the text as typed, from and up to, or None where it is about the whole text.
    """

    def __init__(self, message: Sentence, *, place: tuple[int, int] | None = None) -> None:
        super().__init__(message)
        self.place = place


class CannotRead(OrderError):
    """Part of the text is missing or not understood."""


class MissingPart(CannotRead):
    """An insulin, a dose or the unit of a dose is not there.

    Attributes
    ----------
    part : {"insulin", "dose", "unit"}
        What is missing.
    """

    def __init__(self, message: Sentence, *, part: str, place: tuple[int, int] | None = None) -> None:
        super().__init__(message, place=place)
        self.part = part


class NoFixedDose(CannotRead):
    """The dose is left to a scale, to need or to weight: there is no fixed dose to prepare."""


class NotInUnits(CannotRead):
    """A dose as a volume or a weight. Insulin is ordered in units, and nobody converts it alone."""


class OtherRoute(CannotRead):
    """A route other than under the skin: this lab prepares for no other, and no cloudy insulin is given into a vein."""


class OtherStrength(CannotRead):
    """A strength other than U-100."""


class HasCondition(CannotRead):
    """A condition, such as 'hold if …'. This lab does not read it, and the number in it is a glucose and no dose."""


class Misspelt(CannotRead):
    """A word that is nearly one this lab knows. It is never taken for that one.

    Attributes
    ----------
    meant : Sentence
        The known words it is nearly.
    """

    def __init__(self, message: Sentence, *, meant: Sentence, place: tuple[int, int]) -> None:
        super().__init__(message, place=place)
        self.meant = meant


class NoTime(CannotRead):
    """Words such as 'as soon as possible', which name no time."""


class OtherDay(CannotRead):
    """A day of the week or a date. This lab does not know what day it is."""


class ReadyMixture(CannotRead):
    """A ready mixture of two insulins, ordered as it is. It never shares a syringe with another insulin."""


class Ambiguous(OrderError):
    """The text could mean two things.

    Attributes
    ----------
    readings : tuple of Sentence
        The possible readings, at least two; the message quotes them.
    """

    def __init__(
        self, message: Sentence, *, readings: tuple[Sentence, ...], place: tuple[int, int] | None = None
    ) -> None:
        super().__init__(message, place=place)
        self.readings = readings


class TimesContradict(Ambiguous):
    """Two times, or a time and how often, that cannot both hold."""


class NotToGive(CannotRead):
    """An instruction not to give the dose, such as 'hold' or 'discontinue'."""


class KeptApart(CannotRead):
    """An instruction to give the two insulins in separate syringes. This lab prepares one syringe."""


class UnsafeWriting(OrderError):
    """The text uses a way of writing that has been misread as another dose, drug, route or time."""


class NotOneClearOneCloudy(OrderError):
    """The two insulins are both clear or both cloudy, so there is no 'clear before cloudy'."""


@dataclass(frozen=True, kw_only=True)
class OrderPart:
    """A part of an order and the place it was read from.

    Attributes
    ----------
    name : str
        "clear insulin", "clear dose", "cloudy insulin", "cloudy dose", "strength", "route", "when", "clock", "how often" or "again".
        Two insulins of one look give the same name twice.
    start, end : int
        The place in the text as typed: `text` is what stands from `start` up to `end`.
    """

    name: str
    start: int
    end: int
    text: str


@dataclass(frozen=True, kw_only=True)
class Dose:
    """So many units of one insulin."""

    insulin: Insulin
    units: float

    @property
    def written(self) -> str:
        """The dose as an order has it, which can be read again whoever speaks."""
        word = "unit" if self.units == 1 else "units"
        return f"{self.insulin.written} {float(self.units):.10g} {word}"

    def __str__(self) -> str:
        return say("{insulin} {amount}", insulin=self.insulin.name, amount=units_text(self.units))


@dataclass(frozen=True, kw_only=True)
class Order:
    """Two doses in the order they were written, with what else was written (None where the order has none of it).

    Attributes
    ----------
    doses : tuple of two Dose
        As written. `clear` and `cloudy` name them by the look of their vials.
    route : {"subcut", None}
        The only route this lab knows.
    when : str or None
        The time in relation to a meal, in words.
    strength : {"U-100", None}
        The only strength this lab knows.
    clock : str or None
        The time of day on the 24-hour clock, ``"07:30"``.
    how_often : str or None
        How often, and in what part of the day, in words: ``"daily"``, ``"every 12 hours"``, ``"this evening"``, ``"now"``.
    again : str or None
        The second time of the day at which the same mixture is given, in words: ``"before supper"``. What is prepared now is
        the dose of the first time.
    parts : tuple of Part
        Where each part stands in the text it was read from, by place; empty for an order that was not read. Two orders
        are equal whatever their places.
    typed : str
        The text it was read from; empty for an order that was not read. Two orders are equal however they were typed.
    """

    doses: tuple[Dose, Dose]
    route: str | None = None
    when: str | None = None
    strength: str | None = None
    clock: str | None = None
    how_often: str | None = None
    again: str | None = None
    parts: tuple[OrderPart, ...] = field(default=(), compare=False, repr=False)
    typed: str = field(default="", compare=False, repr=False)

    @property
    def clear(self) -> Dose:
        """The dose drawn first.

        Raises
        ------
        NotOneClearOneCloudy
            If the order does not name exactly one clear and one cloudy insulin.
        """
        return self._of_look("clear")

    @property
    def cloudy(self) -> Dose:
        """The dose drawn second; what `clear` raises, it raises too."""
        return self._of_look("cloudy")

    def _of_look(self, look: str) -> Dose:
        first, second = self.doses
        if first.insulin.look == second.insulin.look:
            wrong = sentence(
                "{first} and {second} are both {look}. A mixed dose is one clear and one cloudy insulin: ask the {prescriber} before anything is drawn up.",
                first=first.insulin.name,
                second=second.insulin.name,
                look=sentence(first.insulin.look),
            )
            raise NotOneClearOneCloudy(wrong)
        return first if first.insulin.look == look else second

    @property
    def written(self) -> str:
        """The order in plain words that `read_order` reads as this order again, whoever speaks."""
        first, second = self.doses
        clock = f"at {self.clock}" if self.clock else None
        again = f"and {self.again}" if self.again else None
        times = (self.how_often, self.when, clock, again) if again else (self.when, clock, self.how_often)
        parts = (f"{first.written} and {second.written}", self.strength, self.route, *times)
        return " ".join(part for part in parts if part)

    def __str__(self) -> str:
        return self.written
