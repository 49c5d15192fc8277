"""Reading a written order without ever guessing a dose."""

from __future__ import annotations

from collections.abc import Sequence

from mixlab.ward.insulin import Insulin

from .notation import WrittenOrder, look_over
from .order import Dose, Order, OrderPart
from .problems import SAID_ONCE, find_problems
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
    text = written.text
    doses, names = written.of("dose"), written.of("insulin")
    pairs = list(zip(names, doses, strict=True))
    said = {kind: written.of(kind) for kind in (*SAID_ONCE, "strength")}
    parts = [
        *(
            part
            for name, dose in pairs
            for part in (
                _part(f"{_look(name)} insulin", name, text),
                _part(f"{_look(name)} dose", dose, text),
            )
        ),
        *(_part(kind, phrase, text) for kind, found in said.items() for phrase in found),
    ]
    return Order(
        doses=(_dose(*pairs[0]), _dose(*pairs[1])),
        route="subcut" if said["route"] else None,
        when=_words(said["when"]),
        strength="U-100" if said["strength"] else None,
        clock=clock_time(said["clock"][0].text) if said["clock"] else None,
        how_often=_words(said["how often"]),
        parts=tuple(sorted(parts, key=lambda part: part.start)),
    )


def _insulin(phrase: Phrase) -> Insulin:
    assert isinstance(phrase.value, Insulin)
    return phrase.value


def _look(phrase: Phrase) -> str:
    return _insulin(phrase).look


def _dose(name: Phrase, dose: Phrase) -> Dose:
    assert isinstance(dose.value, int | float)
    return Dose(insulin=_insulin(name), units=dose.value)


def _part(name: str, phrase: Phrase, text: str) -> OrderPart:
    return OrderPart(name=name, start=phrase.start, end=phrase.end, text=text[phrase.start : phrase.end])


def _words(found: Sequence[Phrase]) -> str | None:
    return " ".join(found[0].text.split()) if found else None
