"""The answers before a dose, and a reason for one of them: a row of decisions.toml with the values of this patient."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache, lru_cache

from mixlab.facts.decision_rows import Asks, Choice, OnceAnswered
from mixlab.facts.reading import the_facts
from mixlab.facts.records import Sourced
from mixlab.ward.observation import Observation
from mixlab.ward.site.record import Site
from mixlab.words import Sentence, joined, sentence

__all__ = ["Choice", "Reason", "Said", "answer_text", "reason", "says_give", "weight", "who_says", "who_says_number"]


@dataclass(frozen=True, kw_only=True)
class Said:
    """What is said by rows of decisions.toml or low.toml; `text` is their sentence with the values of this patient."""

    text: Sentence

    def __str__(self) -> str:
        return str(self.text)


@dataclass(frozen=True, kw_only=True)
class Reason(Said):
    """One finding that speaks for an answer, with the rule behind it.

    Attributes
    ----------
    choice : str
        The answer it asks for.
    key : str
        Its row in the table of reasons; it does not change with the numbers.
    text : Sentence
        The finding, and what it means.
    rule : Sentence
        Who says so: a citation, "policy of" a ward, or "common practice, no source".
    answered : bool
        Whether the prescriber, who knows of it, has answered it by saying to give the dose.
    """

    choice: Choice
    key: str
    rule: Sentence
    answered: bool = False

    def __str__(self) -> str:
        return f"{self.text} ({self.rule})"

    @property
    def asks(self) -> Asks:
        """What its row asks for, before or after the prescriber has answered."""
        return _asks(self.key, self.answered)


@lru_cache(maxsize=256)
def _asks(key: str, answered: bool) -> Asks:
    row = the_facts().reasons[key]
    return row.once_answered if answered and row.once_answered else row


def answer_text(choice: Choice) -> Sentence:
    """Return what an answer is called: the `text` of its row in decisions.toml."""
    return the_facts().answers[choice].text


def says_give(observation: Observation) -> bool:
    """Say whether the prescriber wants the dose given now. A word to wait goes before it."""
    return observation.prescriber_says_give and not observation.prescriber_says_wait


def reason(key: str, site: Site, *, so: str = "", told: bool = False, **values: object) -> Reason:
    """Return what a rule says of this patient.

    Parameters
    ----------
    key : str
        Its row in the table of reasons.
    site : Site
        The ward whose lines it looks at.
    so : str
        The row's other finding that holds here; empty for its usual one.
    told : bool
        Whether the prescriber knows everything and says to give the dose.
    **values
        What stands in the places of its sentences.
    """
    row, asks = the_facts().reasons[key], _asks(key, told)
    answered = isinstance(asks, OnceAnswered)
    finding = row.but[so].finding if so else row.finding
    if isinstance(asks, OnceAnswered) and not asks.then:
        short = (asks.finding or finding).filled_from(values)
        text = the_facts().phrases["asked-and-answered"].text.filled(finding=short)
    else:
        more, by = (row.question, ": ") if row.question else (asks.then, " ")
        text = joined([part.filled_from(values) for part in (finding, more) if part], by)
    return Reason(choice=asks.answer, key=key, text=text, rule=_rule(key, so, site), answered=answered)


@lru_cache(maxsize=4096)
def _rule(key: str, so: str, site: Site) -> Sentence:
    """Return who says so: what the row cites, then the numbers of the ward, and the line that goes with it."""
    row = the_facts().reasons[key]
    other = row.but.get(so)
    said = who_says(row, (other and other.cites) or row.cites, site, row.numbers)
    line = other.line if other else row.line
    return sentence("{rule}; the line: {line}", rule=said, line=_cite(line, site)) if line else said


def who_says(row: Sourced, cites: Sequence[str], site: Site, numbers: Sequence[str] = ()) -> Sentence:
    """Return who says what a row says.

    Parameters
    ----------
    row : Sourced
        Its own source is printed where it cites nothing.
    cites : sequence of str
        The facts, or the lines and numbers of the ward, whose citations are printed instead: ``rules.level-3``, ``site.recheck``.
    site : Site
        The ward.
    numbers : sequence of str
        The numbers of the ward that are printed behind them.
    """
    said = [*(_cite(name, site) for name in cites), *(who_says_number(name, site) for name in numbers)]
    return joined(said, "; ") if said else the_facts().cite(row)


def who_says_number(name: str, site: Site) -> Sentence:
    """Return a number of the ward and who says so: ``"15 min: policy of ward 3"``."""
    fact = getattr(site, name)
    return joined((fact.value, " ", sentence(fact.unit), ": ", site.cite(fact)), "")


def _cite(name: str, site: Site) -> Sentence:
    table, _, key = name.partition(".")
    return site.cite(getattr(site, key)) if table == "site" else the_facts().cite(getattr(the_facts(), table)[key])


@cache
def _in_order() -> dict[str, int]:
    """Return where every answer and every rule stands in its table."""
    return {key: at for table in (the_facts().answers, the_facts().reasons) for at, key in enumerate(table)}


def weight(found: Reason) -> tuple[int, int]:
    """Return what reasons are sorted by: the most cautious answer first, and within it the weightiest rule."""
    return _in_order()[found.choice], _in_order()[found.key]
