"""An order that can be read, compared with the patient's usual one and with the times that are taught."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from mixlab.facts.reading import the_facts
from mixlab.facts.records import Fact
from mixlab.quantities import units_text
from mixlab.ward.order.order import Dose, Order
from mixlab.ward.order.tokens import numbers_in
from mixlab.ward.site.record import Site
from mixlab.words import Sentence, joined, sentence

from .concern import Concern, TextPlace, concern_of


def against_usual(order: Order, usual: Order, places: list[TextPlace], text: str) -> Iterator[Concern]:
    """Yield what differs from the usual order: another insulin, a dose far from the usual one, doses that look swapped.

    A dose is compared with the usual dose of the same insulin, or of one with the same look out of the same group; with no
    other, for another kind of insulin has doses of its own.

    Parameters
    ----------
    order, usual : Order
        What was read, and what the patient usually has.
    places : list of tuple of int
        Where each dose of the order stands.
    text : str
        The order as typed.
    """
    pairs = [(dose, comparable(dose, usual), place) for dose, place in zip(order.doses, places, strict=True)]
    for dose, known, place in pairs:
        if known is None:
            if dose.insulin not in [one.insulin for one in usual.doses]:
                name = sentence(
                    "{insulin}, where the usual order has {had}, so that its dose cannot be compared",
                    insulin=dose.insulin.name,
                    had=joined((one.insulin.name for one in usual.doses), sentence(" and ")),
                )
                yield concern_of("not-the-usual-insulin", place, text, name=name)
            continue
        if dose.insulin != known.insulin:
            name = sentence(
                "{insulin}, where the usual one is {usual}", insulin=dose.insulin.name, usual=known.insulin.name
            )
            yield concern_of("not-the-usual-insulin", place, text, name=name)
        yield from _how_far(dose, known, place, text)
    (one, known_one, start), (other, known_other, end) = pairs
    if known_one is None or known_other is None:
        return
    if _nearer(one, known_other, known_one) and _nearer(other, known_one, known_other):
        first, second = (joined((each.insulin.name, units_text(each.units)), " ") for each in (known_one, known_other))
        meant = sentence("the usual {first} and {second}", first=first, second=second)
        yield concern_of("swapped", (start[0], end[1]), text, misread_as=meant)


def comparable(dose: Dose, usual: Order) -> Dose | None:
    """Return the usual dose that a dose is compared with, or None where there is no such dose.

    Parameters
    ----------
    dose : Dose
        As ordered.
    usual : Order
        What the patient usually has.
    """
    same = [one for one in usual.doses if one.insulin == dose.insulin]
    kind = (dose.insulin.look, dose.insulin.row.group)
    alike = same or [one for one in usual.doses if (one.insulin.look, one.insulin.row.group) == kind]
    return alike[0] if len(alike) == 1 and alike[0].units > 0 else None


def _nearer(dose: Dose, to: Dose, than: Dose) -> bool:
    return abs(dose.units - to.units) < abs(dose.units - than.units)


def _how_far(dose: Dose, known: Dose, place: TextPlace, text: str) -> Iterator[Concern]:
    """Yield that a dose is far from the usual one, up or down, with the misreading that would explain it."""
    times = Fraction(str(dose.units)) / Fraction(str(known.units))
    found = _explained(dose, known, max(times, 1 / times)) if times else None
    if found is None:
        return
    fact, meant = found
    taken = meant.filled_from({"usual": known.units, "four": the_facts().checks["u_as_four"].value})
    up, down = sentence("{ratio} times the usual {amount}"), sentence("the usual {amount} divided by {ratio}")
    ratio = round(float(max(times, 1 / times)), 1)
    share = (up if times > 1 else down).filled(ratio=ratio, amount=units_text(known.units))
    yield concern_of("far-from-usual", place, text, name=share, misread_as=taken, source=the_facts().cite(fact))


def _explained(dose: Dose, known: Dose, fold: Fraction) -> tuple[Fact, Sentence] | None:
    """Return the check that a dose fails, and the misreading, with places for the usual dose and the figure that U looks like."""
    checks = the_facts().checks
    written, usual = _figures(dose.units), _figures(known.units)
    four = checks["u_as_four"]
    if fold == Fraction(checks["tenfold"].value):
        if written == f"{usual}0":
            return checks["tenfold"], sentence(
                "'{usual}U' with the U read as a 0, or {usual} with a zero too many or too few, or with a point not seen"
            )
        return checks["tenfold"], sentence("{usual} with a zero too many or too few, or with a point not seen")
    if written == usual + _figures(four.value):
        if len(set(written)) == 1:
            return four, sentence(
                "'{usual}U' with the U read as a {four}, or {usual} with a figure written or keyed twice"
            )
        return four, sentence("'{usual}U' with the U read as a {four}")
    if fold == Fraction(checks["elevenfold"].value):
        if dose.units > known.units:
            return checks["elevenfold"], sentence("{usual} with a figure written or keyed twice")
        return checks["elevenfold"], sentence("{usual} with a figure left out")
    if fold >= Fraction(checks["far_from_usual"].value):
        return checks["far_from_usual"], sentence("the usual {usual}, misread or miswritten")
    return None


def _figures(value: float) -> str:
    """Return a number as it is written in an order, to compare what can be taken for what."""
    return f"{float(value):.10g}"


def against_taught_times(order: Order, text: str, site: Site) -> Iterator[Concern]:
    """Yield each mealtime insulin of an order whose written time is not the one it is taught for.

    Regular insulin: 30 minutes before a meal (American Family Physician 2009;79:29, read), to 45 (Practical guidelines for
    hospital use of insulin, Table 3, read). A rapid-acting insulin: 0–15 minutes before a meal (the same table, read). A
    clock time says nothing of a meal and is not compared. A ward with a time of its own for regular insulin is compared with it.
    """
    for name, when in (("when", order.when), ("again", order.again)):
        if when and _BY_A_MEAL.search(when):
            places = [(part.start, part.end) for part in order.parts if part.name == name]
            yield from _against_taught_time(order, when, (places[0][0], places[-1][1]), text, site)


_BY_A_MEAL = re.compile(r"\b(?:before|after|with)\b|\bat\s+(?!night\b)[a-z]")


def _against_taught_time(order: Order, when: str, place: TextPlace, text: str, site: Site) -> Iterator[Concern]:
    time = meal_time(when)
    checks = the_facts().checks
    lead, latest = site.meal_lead, checks["rapid_lead_minutes"]
    longest = max(lead.value, checks["regular_lead_minutes"].value)
    for insulin in dict.fromkeys(dose.insulin for dose in order.doses):
        if insulin.row.group == "short-acting" and not time.fits(lead.value, longest):
            source = lead
            name = sentence("{insulin} is taught for {minutes} minutes before a meal; this order says '{when}'")
        elif insulin.row.group == "rapid-acting" and not time.fits(0, latest.value):
            source = latest
            name = (
                sentence("{insulin} is taught for 0–{most} minutes before a meal; {minutes} is early")
                if time.minutes is not None
                else sentence("{insulin} is taught for 0–{most} minutes before a meal; this order says '{when}'")
            )
        else:
            continue
        minutes = lead.value if source is lead else time.longest
        words = {"insulin": insulin.name, "minutes": minutes, "most": latest.value, "when": when}
        yield concern_of("time-does-not-fit", place, text, name=name.filled_from(words), source=site.cite(source))


@dataclass(frozen=True, kw_only=True)
class MealTime:
    """A time in relation to a meal: how many minutes before it, or None where 'before' says no number.

    Where an order gives a span, such as '30 to 45 minutes', `minutes` is the shorter lead and `longest` the longer one.
    """

    before_a_meal: bool
    minutes: float | None
    longest: float | None

    def fits(self, least: float, most: float) -> bool:
        """Say whether it can be so many minutes before a meal."""
        spans = self.minutes is None or self.longest is None or least <= self.minutes <= self.longest <= most
        return self.before_a_meal and spans


def meal_time(when: str) -> MealTime:
    """Read the words of an order's time; 'with' and 'at' a meal are 0 minutes before it."""
    amount, relation, meal = re.split(r"\b(before|after|with|at)\b", when, maxsplit=1)
    if "bedtime" in meal or relation == "after":
        return MealTime(before_a_meal=False, minutes=None, longest=None)
    if relation in ("with", "at"):
        return MealTime(before_a_meal=True, minutes=0, longest=0)
    if not amount.strip():
        return MealTime(before_a_meal=True, minutes=None, longest=None)
    if re.search(r"immediately|just|right|directly", amount):
        return MealTime(before_a_meal=True, minutes=0, longest=0)
    scale = 60 if "hour" in amount else 1
    worth = numbers_in(amount) or [1]  # 'an hour'
    return MealTime(before_a_meal=True, minutes=min(worth) * scale, longest=max(worth) * scale)


def first_time(order: Order) -> str:
    """Return the time of the dose that is prepared now, in the words of an order for two times a day."""
    clock = f"at {order.clock}" if order.clock else None
    return " ".join(part for part in (order.when, clock) if part) or str(order.how_often)
