"""Whom to tell of a finding, and how soon; and what must be so before a held dose may be given."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

from mixlab.facts.decision_rows import HowSoon, Person, Told
from mixlab.facts.reading import the_facts
from mixlab.words import joined

from .answers import Reason, Said
from .bedside import AtBedside


@dataclass(frozen=True, kw_only=True)
class Tell(Said):
    """Somebody to be told, and how soon, by their rows in the tables of people and of how soon."""

    who: Person
    how_soon: HowSoon


@dataclass(frozen=True, kw_only=True)
class Condition(Said):
    """Something that must be so before a held dose may be given; `key` is its row in the table of conditions."""

    key: str


@lru_cache(maxsize=4096)
def whom_to_tell(told: frozenset[Told], *, at_once: bool, answered: bool = False) -> tuple[Tell, ...]:
    """Return whom to tell of what the reasons found, each person once, as soon as the most urgent of them asks.

    Parameters
    ----------
    told : frozenset of Told
        Who is told of something, and how soon, by the reasons that ask for it.
    at_once : bool
        Whether the prescriber is told at once, whatever they ask for.
    answered : bool
        Whether the prescriber knows everything and the dose is given: the nurse in charge is told instead.
    """
    urgency = [*the_facts().how_soon]
    when: dict[Person, list[HowSoon]] = {}
    for one in sorted(told, key=lambda one: urgency.index(one.how_soon)):
        when.setdefault(one.who, []).append(one.how_soon)
    if at_once:
        when["prescriber"] = ["at-once"]
    if answered and "prescriber" in when:
        when = {who: soon for who, soon in when.items() if who not in ("prescriber", "supervising-nurse")}
        when.setdefault("nurse", ["before-drawing-up"])
    if when.get("nurse", [""])[0] == "at-once":
        when.pop("supervising-nurse", None)  # there is no time for a second way
    return tuple(_words(person, when[person]) for person in the_facts().people if person in when)


def _words(person: Person, when: list[HowSoon]) -> Tell:
    """Return whom to tell and how soon; what else comes later is said besides, where the table has words for it."""
    rows, soonest = the_facts().how_soon, when[0]
    soon, besides = rows[soonest].text, rows[when[-1]].besides
    if besides and soonest not in ("at-once", when[-1]):
        soon = besides.filled(soon=soon)
    return Tell(who=person, how_soon=soonest, text=joined((the_facts().people[person].text, ": ", soon, "."), ""))


def conditions(asking: Iterable[Reason], at: AtBedside) -> tuple[Condition, ...]:
    """Return what must be so before the dose may be given, each once, in order of weight."""
    keys = dict.fromkeys(key for one in asking for key in one.asks.give_when)
    return tuple(Condition(key=key, text=at.fill(the_facts().conditions[key].text)) for key in keys)
