"""Everything unsafe about a written order: how it is written, what is missing, and what it says.

Nothing here decides whether a dose is right for a person; each concern ends with asking the prescriber.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from ..facts.record import ConcernRow, NotationRow, Sourced
from ..facts.shelf import shelf
from ..quantities import exact_units, number_text, units_text
from ..ward.doubts import LONGEST_TEXT, problems
from ..ward.insulin import Insulin
from ..ward.order import (
    Ambiguous,
    Dose,
    MissingPart,
    NoFixedDose,
    NotInUnits,
    Order,
    OrderError,
    OtherRoute,
    OtherStrength,
    UnsafeWriting,
)
from ..ward.reading import read_order
from ..ward.site import Site, teaching_site
from ..ward.written import Writing, Written, look_over
from .dosing import FinerThanAnyLine, TooMuchForAnySyringe, choose_syringe

Place = tuple[int, int]

_NOW = ("now", "immediately")
"""How often, in words that also say the time."""


@dataclass(frozen=True, kw_only=True)
class Concern:
    """One thing about an order that has to be cleared up before anything is drawn up.

    Attributes
    ----------
    name : str
        What it is, as a short phrase.
    kind : {"writing", "missing", "content"}
        Whether it lies in how the order is written, in what is not there, or in what it says.
    place : tuple of int or None
        From where and up to where in the text as typed; None if it is about the whole order.
    text : str
        The words there, as typed.
    misread_as : str
        What it has been, or could be, taken for.
    write : str
        What is to be written instead.
    source : str
        Who says so and how it is known, as printed.
    """

    name: str
    kind: Literal["writing", "missing", "content"]
    place: Place | None
    text: str
    misread_as: str
    write: str
    source: str

    def __str__(self) -> str:
        quoted = f"'{' '.join(self.text.split())}': {self.name}" if self.text else self.name[:1].upper() + self.name[1:]
        risk = "it may be filled in with" if self.kind == "missing" else "it can be taken for"
        return f"{quoted}; {risk} {self.misread_as}. Needed: {self.write}. Source: {self.source}."


def order_concerns(text: str, *, usual: Order | None = None, site: Site | None = None) -> tuple[Concern, ...]:
    """List everything unsafe about a written order, by its place in the text; what has no place comes last.

    Parameters
    ----------
    text : str
        The order as the prescriber wrote it. No text is refused.
    usual : Order, optional
        The patient's usual order. Without it no dose can be compared: neither a tenfold or elevenfold dose nor swapped
        doses can be suspected.
    site : Site, optional
        The ward, for its syringes; the teaching site if not given.

    Returns
    -------
    tuple of Concern
        Empty if nothing was found, which does not make the order right for a patient.

    Notes
    -----
    Ways of writing: the Joint Commission's 'Do Not Use' list (read) and further lists named with each row of
    `facts/notation.toml`. Doses are compared only in an order that can be read: no dose is guessed.
    """
    if len(text) > LONGEST_TEXT:
        return (_concern("not-understood", text="", place=(0, len(text))),)
    written = look_over(text)
    refusals = list(problems(text))
    found = [
        *(_of_writing(writing, text) for writing in written.writings),
        *(_of_problem(it, text) for it in refusals if not isinstance(it, UnsafeWriting)),
        *_missing(written),
        *_pair(written),
        *(_of_doses(read_order(text), text, usual, site) if not refusals else ()),
    ]
    return tuple(sorted(dict.fromkeys(found), key=lambda concern: concern.place or (len(text), len(text))))


def _concern(
    key: str,
    *,
    place: Place | None = None,
    text: str = "",
    name: str = "",
    misread_as: str = "",
    source: Sourced | None = None,
) -> Concern:
    row: ConcernRow = shelf().concerns[key]
    return Concern(
        name=name or row.title,
        kind=row.kind,
        place=place,
        text=text,
        misread_as=misread_as or row.misread_as,
        write=row.write,
        source=shelf().cite(source or row),
    )


def _of_writing(writing: Writing, text: str) -> Concern:
    row: NotationRow = writing.row
    return Concern(
        name=row.title,
        kind="writing",
        place=(writing.start, writing.end),
        text=text[writing.start : writing.end],
        misread_as=row.misread_as,
        write=row.write,
        source=shelf().cite(row),
    )


_KEYS: tuple[tuple[type[OrderError], str], ...] = (
    (Ambiguous, "two-readings"),
    (NoFixedDose, "no-fixed-dose"),
    (OtherRoute, "other-route"),
    (OtherStrength, "other-strength"),
    (NotInUnits, "not-in-units"),
)


def _of_problem(problem: OrderError, text: str) -> Concern:
    if isinstance(problem, MissingPart):
        key = problem.part
    else:
        key = next((key for kind, key in _KEYS if isinstance(problem, kind)), "not-understood")
    place = problem.place
    meant = " or ".join(f"'{one}'" for one in problem.readings) if isinstance(problem, Ambiguous) else ""
    return _concern(key, place=place, text=text[slice(*place)] if place else "", misread_as=meant)


def _missing(written: Written) -> Iterator[Concern]:
    """Route and time always; the strength where a volume or another strength makes it matter."""
    if not (written.of("route", "other route") or written.stands_for("route")):
        yield _concern("route")
    now = [phrase for phrase in written.of("how often") if phrase.text.split()[-1] in _NOW]
    if not (written.of("when", "clock", "half clock") or now or written.stands_for("time")):
        yield _concern("time")
    strengths, others = len(written.of("strength")), len(written.of("other strength"))
    volumes = written.of("volume")
    if (volumes and not strengths + others) or (others and strengths + others < 2):
        where = (volumes or written.of("other strength"))[0]
        yield _concern("strength", place=(where.start, where.end), text=written.typed(where))


def _pair(written: Written) -> Iterator[Concern]:
    names = written.of("insulin")
    if len(names) != 2:
        return
    one, other = (name.value for name in names)
    assert isinstance(one, Insulin)
    assert isinstance(other, Insulin)
    if one.may_share_with(other):
        return
    strict = next((insulin for insulin in (one, other) if not insulin.row.mixing.may_share_with), one)
    if one.look == other.look and one.row.mixing.may_share_with and other.row.mixing.may_share_with:
        name = f"{one} and {other} are both {one.look}, and a mixed dose is one clear and one cloudy insulin"
    else:
        name = f"{one} and {other} must not share a syringe"
    yield _concern(
        "pair",
        place=(names[0].start, names[1].end),
        text=written.text[names[0].start : names[1].end],
        name=name,
        source=strict.row.mixing,
    )


def _of_doses(order: Order, text: str, usual: Order | None, site: Site | None) -> Iterator[Concern]:
    doses = [part for part in order.parts if part.name.endswith("dose")]
    places: list[Place] = [(part.start, part.end) for part in doses]
    for dose, place in zip(order.doses, places, strict=True):
        if dose.units <= 0:
            yield _at("no-dose", place, text)
    first = order.doses[0] if order.doses[0].insulin.look == "clear" else order.doses[1]
    total = exact_units(Fraction(order.doses[0].units) + Fraction(order.doses[1].units))
    both = (places[0][0], places[1][1])
    try:
        choose_syringe(first.units, total, site or teaching_site())
    except TooMuchForAnySyringe:
        largest = max(syringe.capacity_units for syringe in (site or teaching_site()).stock)
        name = f"{units_text(total)} in all, and the largest syringe here holds {units_text(largest)}"
        yield _at("too-much", both, text, name=name)
    except FinerThanAnyLine:
        name = f"no syringe here has a line at both {units_text(first.units)} and {units_text(total)}"
        yield _at("between-lines", both, text, name=name)
    if usual is not None:
        yield from _against_usual(order, usual, places, text)


def _at(key: str, place: Place, text: str, *, name: str = "", misread_as: str = "") -> Concern:
    return _concern(key, place=place, text=text[slice(*place)], name=name, misread_as=misread_as)


def _against_usual(order: Order, usual: Order, places: list[Place], text: str) -> Iterator[Concern]:
    """Compare each dose with the usual one of the same look, and both together."""
    pairs = [(dose, _of_look(usual, dose), place) for dose, place in zip(order.doses, places, strict=True)]
    for dose, known, place in pairs:
        if known is None:
            continue
        if dose.insulin != known.insulin:
            name = f"{dose.insulin}, where the usual one is {known.insulin}"
            yield _at("not-the-usual-insulin", place, text, name=name)
        yield from _how_far(dose, known, place, text)
    (one, other), (known_one, known_other) = (pairs[0][0], pairs[1][0]), (pairs[0][1], pairs[1][1])
    if known_one is None or known_other is None or one.insulin.look == other.insulin.look:
        return
    if _nearer(one, known_other, known_one) and _nearer(other, known_one, known_other):
        yield _at("swapped", (places[0][0], places[1][1]), text, misread_as=f"the usual {known_one} and {known_other}")


def _of_look(order: Order, dose: Dose) -> Dose | None:
    alike = [one for one in order.doses if one.insulin.look == dose.insulin.look]
    return alike[0] if len(alike) == 1 and alike[0].units > 0 else None


def _nearer(dose: Dose, to: Dose, than: Dose) -> bool:
    return abs(dose.units - to.units) < abs(dose.units - than.units)


def _how_far(dose: Dose, known: Dose, place: Place, text: str) -> Iterator[Concern]:
    """Yield the first check that a dose fails: exactly tenfold, exactly elevenfold, or far from the usual dose, up or down."""
    checks = shelf().checks
    times = Fraction(str(dose.units)) / Fraction(str(known.units))
    if times == 0:
        return
    fold = max(times, 1 / times)
    tenfold, elevenfold, far = (checks[key] for key in ("tenfold", "elevenfold", "far_from_usual"))
    if fold == Fraction(tenfold.value):
        fact, taken = tenfold, f"{units_text(known.units)} with a zero too many or too few, or a point not seen"
    elif fold == Fraction(elevenfold.value):
        fact, taken = elevenfold, f"{units_text(known.units)} with one figure too many or too few"
    elif fold >= Fraction(far.value):
        fact, taken = far, f"the usual {units_text(known.units)}"
    else:
        return
    ratio = number_text(round(float(fold), 1))
    share = (
        f"{ratio} times the usual {units_text(known.units)}"
        if times > 1
        else f"the usual {units_text(known.units)} divided by {ratio}"
    )
    yield _concern("far-from-usual", place=place, text=text[slice(*place)], name=share, misread_as=taken, source=fact)
