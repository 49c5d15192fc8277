"""The order that a lesson begins with: of a pair that the ward allows in one syringe."""

from __future__ import annotations

from mixlab.care.dosing import ban_text
from mixlab.facts.reading import the_facts
from mixlab.ward.insulin import Insulin, insulins
from mixlab.ward.site.in_force import the_site
from mixlab.ward.site.record import Site
from mixlab.ward.site.values.choices import mixable
from mixlab.words import Sentence, sentence


def lesson_order(clear: float = 8, cloudy: float = 20, site: Site | None = None) -> str:
    """Return the order of the lessons: of regular and NPH insulin, or of the first other pair if the ward forbids this one.

    Parameters
    ----------
    clear, cloudy : float
        The two doses in units.
    site : Site, optional
        The site in force if not given. Where it allows no pair, the order is the usual one, which is then refused.

    Examples
    --------
    >>> lesson_order(14, 26)
    'regular insulin 14 units and NPH insulin 26 units subcut 30 minutes before breakfast'
    """
    usual, *_ = _pairs()
    first, second = next(iter(_allowed(the_site(site))), usual)
    checks = the_facts().checks
    minutes = 30 if first.row.group == "short-acting" else checks["rapid_lead_minutes"].value
    return f"{first.row.name} {clear:g} units and {second.row.name} {cloudy:g} units subcut {minutes:g} minutes before breakfast"


def ban_on_the_lesson(site: Site) -> Sentence | None:
    """Say that a ward forbids the pair of the lessons, what to do, and what is taught instead; None where it allows it."""
    usual, *_ = _pairs()
    if not site.forbids(*usual):
        return None
    ban = sentence(
        "{ban} in one syringe. Ordered for one time, they are two syringes and two injections: ask the {prescriber}.",
        ban=ban_text(*usual, site),
    )
    for first, second in _allowed(site):
        return sentence(
            "{ban} This lesson goes on with {clear} and {cloudy}, which this ward allows in one syringe. What its text says of {usual} holds where it is mixed.",
            ban=ban,
            clear=first.name,
            cloudy=second.name,
            usual=usual[0].name,
        )
    return sentence("{ban} This ward allows no pair in one syringe, so nothing is drawn up here.", ban=ban)


def _pairs() -> list[tuple[Insulin, Insulin]]:
    """Return every pair that may share a syringe, the clear one first, that of the lessons before all others."""
    known = insulins()
    return [(known[first], known[second]) for first, second in (pair.split(" + ") for pair in mixable())]


def _allowed(site: Site) -> list[tuple[Insulin, Insulin]]:
    return [pair for pair in _pairs() if not site.forbids(*pair)]
