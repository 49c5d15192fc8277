"""Reading a written order without ever guessing a dose."""

from __future__ import annotations

from collections.abc import Sequence
from typing import cast

from mixlab.ward.insulin import Insulin

from .notation import WrittenOrder, look_over
from .order import Dose, Order, OrderPart
from .problems import find_problems
from .times import moments
from .tokens import Phrase, clock_time


def read_order(text: str) -> Order:
    """Read a plainly written order for two insulins.

    Understood: the two insulins in either order under their generic names, each with a dose in figures or words and the
    word units; the strength U-100; the subcutaneous route; a time in relation to a meal, a clock time, and how often; on
    one line or several. Everything else is refused by name; no part of a text is ever skipped and no dose is guessed.

    Parameters
    ----------
    text : str
        For example ``"regular insulin 8 units and NPH insulin 20 units subcut 30 minutes before breakfast"``.

    Returns
    -------
    Order
        With the place of each part in the text as typed.

    Raises
    ------
    UnsafeWriting
        A way of writing that has been misread as another dose, drug, route or time.
    Ambiguous
        The text could mean two things; `readings` has both.
    MissingPart, NoFixedDose, NotInUnits, OtherRoute, OtherStrength
        What is missing, or what this lab does not prepare.
    CannotRead
        Something else that is not understood; the message quotes it.

    Examples
    --------
    >>> order = read_order("regular insulin 8 units and NPH insulin 20 units subcut 30 minutes before breakfast")
    >>> order.clear.units, order.cloudy.units, order.when
    (8, 20, '30 minutes before breakfast')
    """
    for problem in find_problems(text):
        raise problem
    return order_of(look_over(text))


def order_of(written: WrittenOrder) -> Order:
    """Return the order of a text in which no problem was found."""
    pairs = list(zip(written.of("insulin"), written.of("dose"), strict=True))
    said = {kind: written.of(kind) for kind in ("route", "strength", "how often")}
    now, *later = moments(written) or ((),)
    said |= {kind: [it for it in now if it.kind == kind] for kind in ("when", "clock", "part of the day")}
    said["how often"] = [*said["how often"], *said.pop("part of the day")]
    named = [(kind, phrase) for kind, found in said.items() for phrase in found]
    named += [("again", phrase) for moment in later for phrase in moment]
    for name, dose in pairs:
        look = cast(Insulin, name.value).look
        named += [(f"{look} insulin", name), (f"{look} dose", dose)]
    parts = (
        OrderPart(name=name, start=phrase.start, end=phrase.end, text=written.typed(phrase)) for name, phrase in named
    )
    return Order(
        doses=(_dose(*pairs[0]), _dose(*pairs[1])),
        route="subcut" if said["route"] else None,
        when=_words(said["when"]),
        strength="U-100" if said["strength"] else None,
        clock=clock_time(said["clock"][0].text) if said["clock"] else None,
        how_often=_words(said["how often"]),
        again=" ".join(_moment(phrase) for moment in later for phrase in moment) or None,
        parts=tuple(sorted(parts, key=lambda part: part.start)),
        typed=written.text,
    )


def _dose(name: Phrase, dose: Phrase) -> Dose:
    return Dose(insulin=cast(Insulin, name.value), units=cast(float, dose.value))


def _words(found: Sequence[Phrase]) -> str | None:
    return " ".join(word for phrase in found for word in phrase.text.split()) or None


def _moment(phrase: Phrase) -> str:
    return f"at {clock_time(phrase.text)}" if phrase.kind == "clock" else " ".join(phrase.text.split())
