"""A written order for two insulins in one syringe, and reading one without ever guessing a dose."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache
from itertools import pairwise

from ..quantities import exact_units, units_text
from .insulin import Insulin, insulins


class OrderError(ValueError):
    """An order that cannot be acted on as written. The message says what is wrong and what to do."""


class CannotRead(OrderError):
    """Part of the text is missing or not understood."""


class Ambiguous(OrderError):
    """The text could mean two things."""


class UnsafeWriting(OrderError):
    """The text uses a way of writing that has been misread as another dose."""


class NotOneClearOneCloudy(OrderError):
    """The two insulins are both clear or both cloudy, so there is no 'clear before cloudy'."""


@dataclass(frozen=True, kw_only=True)
class Dose:
    """So many units of one insulin."""

    insulin: Insulin
    units: float

    def __str__(self) -> str:
        return f"{self.insulin.name} {units_text(self.units)}"


@dataclass(frozen=True, kw_only=True)
class Order:
    """Two doses in the order they were written, with route and time as written (None where the order has none).

    Attributes
    ----------
    doses : tuple of two Dose
        As written. `clear` and `cloudy` name them by the look of their vials.
    route : {"subcut", None}
        The only route this lab knows.
    when : str or None
        The time in relation to a meal, in words.
    """

    doses: tuple[Dose, Dose]
    route: str | None = None
    when: str | None = None

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
        """The dose drawn second.

        Raises
        ------
        NotOneClearOneCloudy
            If the order does not name exactly one clear and one cloudy insulin.
        """
        return self._of_look("cloudy")

    def _of_look(self, look: str) -> Dose:
        first, second = self.doses
        if first.insulin.look == second.insulin.look:
            raise NotOneClearOneCloudy(
                f"{first.insulin} and {second.insulin} are both {first.insulin.look}. A mixed dose is one clear and one "
                "cloudy insulin: ask the prescriber before anything is drawn up."
            )
        return first if first.insulin.look == look else second

    def __str__(self) -> str:
        first, second = self.doses
        return " ".join(part for part in (f"{first} and {second}", self.route, self.when) if part)


_MEAL = r"(?:breakfast|lunch|dinner|supper|tea|the (?:morning|midday|evening) meal|bedtime|(?:a|the|each) meal|meals)"
_WHEN = re.compile(rf"(?:\b[1-9]\d? ?(?:minutes|minute|mins|min) )?\b(?:before|with|after|at) {_MEAL}\b")
_ROUTE = re.compile(r"\b(?:subcut|subcutaneous|subcutaneously|by subcutaneous injection|under the skin)\b\.?")
_FILLER = re.compile(
    r"\b(?:insulin|human|give|inject|draw up|mix|mixed|and|plus|with|then|of|in (?:one|the same) syringe|u-100)\b|[,;:+]|\.(?=\s|$)"
)
_BREAK = re.compile(r"[,;+]|\.(?=\s)|\b(?:and|plus|then|with|mix|mixed)\b")
_NUMBER = r"(?<![\w.,/-])(?P<number>(?:0|[1-9][0-9]{0,3})(?:\.[0-9]{0,3}[1-9])?)"
_DOSE = re.compile(_NUMBER + r" units?\b(?! ?(?:/|per\b))")
_UNSAFE = (
    (r"\d ?[uU]\b(?!-100)", "a bare U after the number has been read as 0, 4 or cc", "the word 'units'"),
    (r"(?i)\d ?(?:i\.?u\.?)\b", "IU has been read as IV or 10", "the word 'units'"),
    (r"\d\.0+(?!\d)", "a trailing zero has been read as ten times the dose", "the whole number alone, 8 not 8 point 0"),
    (
        r"(?<!\d)\.\d",
        "a missing leading zero has been read as ten times the dose",
        "a zero before the point, as in 0.5",
    ),
    (r"(?i)\b(?:sc|sq|s\.c|s/c|sub ?q)\b", "SC and SQ have been read as SL or '5 every'", "'subcut'"),
)
"""Ways of writing that are refused: pattern, what happened with it, what to write (Joint Commission, Do-not-use list,
2009 and 2017, and NCC MERP, dangerous abbreviations; both read)."""


@cache
def _insulin_names() -> tuple[re.Pattern[str], dict[str, Insulin]]:
    names = {name.lower(): it for it in insulins().values() for name in (it.name, *it.row.also_called)}
    longest_first = sorted(names, key=len, reverse=True)
    return re.compile(r"(?<![\w/-])(?:" + "|".join(map(re.escape, longest_first)) + r")(?![\w/-])"), names


def read_order(text: str) -> Order:
    """Read a plainly written order for two insulins.

    Understood: the two insulins in either order, each with a whole or decimal number and the word units, generic names
    and their trade synonyms in any case, the subcutaneous route, and a time in relation to a meal. Everything else is
    refused by name; no part of a text is ever skipped and no dose is guessed.

    Parameters
    ----------
    text : str
        For example ``"regular insulin 8 units and NPH insulin 20 units subcut 30 minutes before breakfast"``.

    Raises
    ------
    UnsafeWriting
        A way of writing that has been misread as another dose.
    Ambiguous
        The text could mean two things.
    CannotRead
        Something is missing or not understood; the message quotes it.
    """
    if not isinstance(text, str):
        raise CannotRead("An order is a line of text. Type it as the prescriber wrote it.")
    if len(text) > 500:
        raise CannotRead("This text is too long for an order of two insulins. Type the order alone.")
    line = " ".join("; ".join(text.strip().splitlines()).split())
    _refuse_unsafe(line)
    rest = line.lower()
    when, rest = _take(_WHEN, rest)
    route, rest = _take(_ROUTE, rest)
    found: list[tuple[int, Insulin | float]] = []
    pattern, names = _insulin_names()
    for match in pattern.finditer(rest):
        found.append((match.start(), names[match.group()]))
    rest = pattern.sub(lambda match: " " * len(match.group()), rest)
    for match in _DOSE.finditer(rest):
        found.append((match.start(), exact_units(float(match["number"]))))
    rest = _DOSE.sub(lambda match: " " * len(match.group()), rest)
    _refuse_leftovers(_FILLER.sub(" ", rest).split())
    found.sort(key=lambda place_and_item: place_and_item[0])
    doses = _pair([item for _, item in found])
    _refuse_breaks_inside_doses(rest, [place for place, _ in found])
    if when and found[0][0] < when.start() < found[-1][0]:
        raise Ambiguous(
            f"'{when.group()}' stands between the two doses: it is not certain whether it is meant for both. Write it at the "
            "end, or ask the prescriber."
        )
    return Order(doses=doses, route="subcut" if route else None, when=when.group() if when else None)


def _take(pattern: re.Pattern[str], text: str) -> tuple[re.Match[str] | None, str]:
    """Cut the one match out of the text, leaving a gap of the same length."""
    found = list(pattern.finditer(text))
    if len(found) > 1:
        quoted = " and ".join(f"'{match.group()}'" for match in found)
        raise Ambiguous(f"The order says both {quoted}. Ask the prescriber which is meant.")
    if not found:
        return None, text
    (match,) = found
    return match, text[: match.start()] + ";".ljust(len(match.group())) + text[match.end() :]


def _refuse_unsafe(line: str) -> None:
    for pattern, history, instead in _UNSAFE:
        match = re.search(pattern, line)
        if match:
            raise UnsafeWriting(
                f"'{match.group().strip()}' is not safe to act on: {history}. Do not decode it: ask the prescriber to write "
                f"the order again with {instead}."
            )


def _refuse_leftovers(leftovers: list[str]) -> None:
    if not leftovers:
        return
    quoted = "', '".join(leftovers[:4])
    if any(any(character.isdigit() for character in word) for word in leftovers):
        raise CannotRead(
            f"'{quoted}' is not a dose this lab can be sure of. Write each dose as a plain number and the word units, for "
            "example '8 units'; if the order itself is written so, ask the prescriber."
        )
    raise CannotRead(f"'{quoted}' is not understood. Check the spelling, or ask the prescriber what is meant.")


def _refuse_breaks_inside_doses(rest: str, places: list[int]) -> None:
    """Refuse 'regular, 8 units NPH, 20 units': commas that pair the middle number with the other insulin."""
    first, between, second = (_BREAK.search(rest, *span) for span in pairwise(places))
    bound = re.search(r"\bof\b", rest[places[1] : places[2]])  # '8 units of NPH': bound to the name that follows
    if (first or second or bound) and not between:
        raise Ambiguous(
            "A comma, a full stop or a word such as 'and' or 'of' stands so that a dose could belong to the other one. Write "
            "each dose beside its own insulin, or ask the prescriber."
        )


def _pair(items: list[Insulin | float]) -> tuple[Dose, Dose]:
    named = [item for item in items if isinstance(item, Insulin)]
    numbers = [item for item in items if not isinstance(item, Insulin)]
    if len(named) != 2:
        what = "No insulin is named" if not named else f"{len(named)} insulin name{'s' * (len(named) > 1)} found"
        raise CannotRead(
            f"{what}; this lab prepares two insulins in one syringe. Name both, each with its dose in units."
        )
    if len(numbers) != 2:
        what = (
            "No dose in units was found"
            if not numbers
            else f"{len(numbers)} dose{'s' * (len(numbers) > 1)} in units found"
        )
        raise CannotRead(f"{what} for two insulins. Each insulin needs its own dose, written like '8 units'.")
    pairs = (items[:2], items[2:])
    doses = []
    for pair in pairs:
        insulin = next((item for item in pair if isinstance(item, Insulin)), None)
        units = next((item for item in pair if not isinstance(item, Insulin)), None)
        if insulin is None or units is None:
            raise Ambiguous(
                f"It is not certain which dose belongs to {named[0]} and which to {named[1]}. Write each dose beside its own "
                "insulin, or ask the prescriber."
            )
        doses.append(Dose(insulin=insulin, units=units))
    return doses[0], doses[1]
