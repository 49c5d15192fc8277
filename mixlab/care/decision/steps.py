"""What is done about a decision, in working order: the steps that its reasons and its answer ask for."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from itertools import groupby

from mixlab.facts.decision_rows import TREATING, Choice, Standing
from mixlab.facts.reading import the_facts
from mixlab.ward.site.record import Site
from mixlab.words import Sentence, joined

from .answers import Said, who_says_number
from .bedside import AtBedside, stands


@dataclass(frozen=True, kw_only=True)
class Step(Said):
    """Something to do; `keys` are its rows in the table of next steps, those of one breath together."""

    keys: tuple[str, ...]


@lru_cache(maxsize=8192)
def choose_steps(choice: Choice, asked: frozenset[str], standing: frozenset[Standing]) -> tuple[tuple[str, ...], ...]:
    """Return the steps to be said, by key, in working order, each with those of one breath.

    Parameters
    ----------
    choice : str
        The answer.
    asked : frozenset of str
        The steps that the reasons ask for; those of the answer come by themselves.
    standing : frozenset of str
        How things stand.
    """
    rows, asked = the_facts().next_steps, asked.union(the_facts().answers[choice].steps)
    fitting = {
        key for key in asked if choice in rows[key].answers and stands(standing, rows[key].when, rows[key].unless)
    }
    chosen = [key for key in rows if key in fitting and fitting.isdisjoint(rows[key].yields_to)]
    unit = "look-at-the-unit-now"
    if unit in chosen and "urgent signs" not in standing:  # a second's look may turn everything; help comes before it
        chosen = [unit, *(key for key in chosen if key != unit)]
    return tuple(tuple(keys) for _, keys in groupby(chosen, key=lambda key: rows[key].breath or key))


def say_steps(chosen: Iterable[tuple[str, ...]], at: AtBedside) -> tuple[Step, ...]:
    """Return steps with the values of this patient in their sentences."""
    rows = the_facts().next_steps
    return tuple(Step(keys=keys, text=joined([at.fill(rows[key].text) for key in keys], " ")) for keys in chosen)


def say_at_once(choice: Choice, chosen: Iterable[tuple[str, ...]], at: AtBedside) -> tuple[Step, ...]:
    """Return what of the steps stands on the card where something is done at once, line by line; nothing at other answers."""
    rows, keys = the_facts().next_steps, [key for several in chosen for key in several]
    shown = [key for key in keys if choice in TREATING and set(keys).isdisjoint(rows[key].short_yields_to)]
    return tuple(Step(keys=(key,), text=at.fill(words)) for key in shown for words in rows[key].short)


@lru_cache(maxsize=4096)
def numbers_of(chosen: tuple[tuple[str, ...], ...], site: Site) -> tuple[Sentence, ...]:
    """Return who says so, for every number of the ward that the steps state."""
    rows = the_facts().next_steps
    stated = dict.fromkeys(name for keys in chosen for key in keys for name in rows[key].numbers)
    return tuple(who_says_number(name, site) for name in stated)
