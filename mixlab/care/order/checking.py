"""Everything unsafe about a written order: how it is written, what is missing, and what it says.

Nothing here decides whether a dose is right for a person; each concern ends with asking the prescriber.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from functools import lru_cache

from mixlab.care.dosing import FinerThanAnyLine, TooMuchForAnySyringe, ban_text, choose_syringe
from mixlab.facts.reading import the_facts
from mixlab.quantities import exact_units, units_text
from mixlab.ward.insulin import Insulin
from mixlab.ward.order.notation import Writing, WrittenOrder, look_over
from mixlab.ward.order.order import (
    Ambiguous,
    HasCondition,
    KeptApart,
    MissingPart,
    Misspelt,
    NoFixedDose,
    NoTime,
    NotInUnits,
    NotToGive,
    Order,
    OrderError,
    OtherDay,
    OtherRoute,
    OtherStrength,
    ReadyMixture,
    TimesContradict,
    UnsafeWriting,
)
from mixlab.ward.order.problems import LONGEST_TEXT, find_problems
from mixlab.ward.order.reading import order_of, read_order
from mixlab.ward.site.in_force import the_site
from mixlab.ward.site.record import Site
from mixlab.words import joined, sentence

from .comparisons import against_taught_times, against_usual, comparable, first_time
from .concern import Concern, TextPlace, concern_of


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
        The ward, for its syringes and the pairs that it forbids; the one in force if not given.

    Returns
    -------
    tuple of Concern
        Empty if nothing was found, which does not make the order right for a patient.

    Notes
    -----
    Ways of writing: the Joint Commission's 'Do Not Use' list (read) and further lists named with each row of
    `facts/notation.toml`. Doses are compared only in an order that can be read: no dose is guessed.

    Examples
    --------
    >>> [concern.text for concern in order_concerns("regular 8U, NPH 20 units subcut at 07:30")]
    ['8U']
    """
    site = the_site(site)
    if not isinstance(text, str):
        return (concern_of("not-understood"),)
    if len(text) > LONGEST_TEXT:
        return (concern_of("not-understood", (0, len(text))),)
    written = look_over(text)
    refusals = list(find_problems(text))
    found = [
        *(_of_writing(writing, text) for writing in written.writings if _said_here(writing, site)),
        *(_of_problem(it, text) for it in refusals if not isinstance(it, UnsafeWriting)),
        *_missing(written),
        *_pair(written, site),
        *(_of_order(order_of(written), text, usual, site) if not refusals else ()),
    ]
    return tuple(sorted(dict.fromkeys(found), key=lambda one: one.place or (len(text), len(text))))


def _said_here(writing: Writing, site: Site) -> bool:
    """Say whether a way of writing is told on a ward: only its own style is for the ward to choose."""
    return writing.row.grade != "style" or site.short_times.value == "in words"


def concerns_of(order: Order, site: Site) -> tuple[Concern, ...]:
    """List what is to be cleared up about an order before it is acted on, by its text, or by its parts if it has none.

    Cautions, and ways of writing that a ward only avoids, do not count here; what must not be written so is refused when it is read.
    """
    return _concerns_of(order, order.typed, site)


@lru_cache(maxsize=4096)
def _concerns_of(order: Order, typed: str, site: Site) -> tuple[Concern, ...]:
    # doses may have been changed since it was read
    text = typed if typed and read_order(typed) == order else order.written
    return tuple(one for one in order_concerns(text, site=site) if one.holds)


def _of_writing(writing: Writing, text: str) -> Concern:
    return Concern(
        key=writing.key,
        name=writing.row.title,
        kind="writing",
        place=(writing.start, writing.end),
        text=text[writing.start : writing.end],
        misread_as=writing.row.misread_as,
        write=writing.write,
        source=the_facts().cite(writing.row),
        grade=writing.row.grade,
    )


_KEYS: tuple[tuple[type[OrderError], str], ...] = (
    (TimesContradict, "times-contradict"),
    (Ambiguous, "two-readings"),
    (NotToGive, "not-to-give"),
    (OtherDay, "not-due-now"),
    (NoTime, "time"),
    (KeptApart, "kept-apart"),
    (NoFixedDose, "no-fixed-dose"),
    (HasCondition, "condition"),
    (ReadyMixture, "ready-mixture"),
    (OtherRoute, "other-route"),
    (OtherStrength, "other-strength"),
    (NotInUnits, "not-in-units"),
)


def _of_problem(problem: OrderError, text: str) -> Concern:
    if isinstance(problem, MissingPart):
        key = problem.part
    else:
        key = next((key for kind, key in _KEYS if isinstance(problem, kind)), "not-understood")
    if isinstance(problem, Misspelt):
        name = sentence("perhaps {meant}, with a slip of the pen", meant=problem.meant)
        return concern_of(key, problem.place, text, name=name, misread_as=problem.meant)
    readings = problem.readings if isinstance(problem, Ambiguous) else ()
    meant = joined((joined(("'", one, "'"), "") for one in readings), sentence(" or "))
    return concern_of(key, problem.place, text, misread_as=meant)


def _missing(written: WrittenOrder) -> Iterator[Concern]:
    """Route and time always; the strength where a volume or another strength makes it matter."""
    if not (written.of("route", "other route") or written.stands_for("route")):
        yield concern_of("route")
    now = [phrase for phrase in written.of("how often") if phrase.text.split()[-1] in ("now", "immediately")]
    timed = written.of("when", "clock", "half clock") or written.stands_for("time")
    if not (timed or now or written.of("no time")):
        yield concern_of("time")
    if now and not (timed or written.of("meal")):
        yield concern_of("now", now[0].place, written.text)
    for kind in ("place", "course"):
        for phrase in written.of(kind):
            yield concern_of(kind, phrase.place, written.text)
    for phrase in written.of("how often", "part of the day"):
        if "tomorrow" in phrase.text:
            yield concern_of("not-due-now", phrase.place, written.text)
    strengths, others = len(written.of("strength")), len(written.of("other strength"))
    volumes = written.of("volume")
    if (volumes and not strengths + others) or (others and strengths + others < 2):
        where = (volumes or written.of("other strength"))[0]
        name = sentence("the strength of the other insulin is missing") if others else None
        yield concern_of("strength", (where.start, where.end), written.text, name=name)


def _pair(written: WrittenOrder, site: Site) -> Iterator[Concern]:
    names = written.of("insulin")
    if len(names) != 2:
        return
    one, other = (name.value for name in names)
    assert isinstance(one, Insulin)
    assert isinstance(other, Insulin)
    place = (names[0].start, names[1].end)
    if one.may_share_with(other):
        if site.forbids(one, other):
            rule = sentence("policy of {site}", site=site.name)
            yield concern_of("pair", place, written.text, name=ban_text(one, other, site), source=rule)
        return
    strict = next((insulin for insulin in (one, other) if not insulin.row.mixing.may_share_with), one)
    if one.look == other.look and one.row.mixing.may_share_with and other.row.mixing.may_share_with:
        name = sentence(
            "{one} and {other} are both {look}, and a mixed dose is one clear and one cloudy insulin",
            one=one.name,
            other=other.name,
            look=sentence(one.look),
        )
    else:
        name = sentence("{one} and {other} must not share a syringe", one=one.name, other=other.name)
    yield concern_of("pair", place, written.text, name=name, source=the_facts().cite(strict.row.mixing))


def _of_order(order: Order, text: str, usual: Order | None, site: Site) -> Iterator[Concern]:
    doses = [part for part in order.parts if part.name.endswith("dose")]
    places: list[TextPlace] = [(part.start, part.end) for part in doses]
    for dose, place in zip(order.doses, places, strict=True):
        if dose.units <= 0:
            yield concern_of("no-dose", place, text)
        elif dose.units < the_facts().checks["small_dose_units"].value:
            yield concern_of("small-dose", place, text)
        elif dose.units > site.large_dose.value and not (usual and comparable(dose, usual)):
            above = sentence("a dose above {most}", most=units_text(site.large_dose.value))
            yield concern_of("large-dose", place, text, name=above, source=site.cite(site.large_dose))
    first = next((dose for dose in order.doses if dose.insulin.look == "clear"), order.doses[1])
    total = exact_units(Fraction(order.doses[0].units) + Fraction(order.doses[1].units))
    both = (places[0][0], places[1][1])
    try:
        choose_syringe(first.units, total, site)
    except TooMuchForAnySyringe:
        largest = max(syringe.capacity_units for syringe in site.stock)
        name = sentence(
            "{total} in all, and the largest syringe here holds {largest}",
            total=units_text(total),
            largest=units_text(largest),
        )
        yield concern_of("too-much", both, text, name=name)
    except FinerThanAnyLine:
        name = sentence(
            "no syringe here has a line at both {amount} and {total}",
            amount=units_text(first.units),
            total=units_text(total),
        )
        yield concern_of("between-lines", both, text, name=name)
    again = [part for part in order.parts if part.name == "again"]
    if again:
        name = sentence(
            "two times of the day for the same mixture; the one prepared here is '{first}', the other '{again}'",
            first=first_time(order),
            again=order.again,
        )
        yield concern_of("two-times", (again[0].start, again[-1].end), text, name=name)
    yield from against_taught_times(order, text, site)
    if usual is not None:
        yield from against_usual(order, usual, places, text)
