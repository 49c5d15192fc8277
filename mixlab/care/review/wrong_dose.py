"""After a wrong dose: its grade by what was injected of each insulin, and what to do then.

Too much of one insulin counts before too little of the other, so that the more cautious grade wins. What is done then stands
in wrong_dose.toml, for the bench, the lessons and the day of a dose alike.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from mixlab.facts.reading import the_facts
from mixlab.quantities import units_text
from mixlab.ward.insulin import Insulin, insulins
from mixlab.ward.order.order import Order
from mixlab.ward.site.record import Site
from mixlab.words import Sentence, counted, joined, sentence

from .run_record import rounded_units


@dataclass(frozen=True, kw_only=True)
class GivenDose:
    """A given dose with which something was wrong.

    Attributes
    ----------
    grade : {"too-much", "too-little", "process"}
        Too much of an insulin, or else too little of one, or else each amount right and something else wrong.
    title : Sentence
        The grade in words.
    amounts : Sentence
        Each insulin apart: what was injected, what was ordered, and how far it is off.
    steps : tuple of str
        What to do, in order: keys of the facts; `told` are their sentences.
    rule : Sentence
        Who says so, and whose hours count.
    """

    grade: str
    title: Sentence
    amounts: Sentence
    steps: tuple[str, ...]
    told: tuple[Sentence, ...]
    rule: Sentence

    @property
    def in_a_breath(self) -> Sentence:
        """The amounts if one is wrong, and then all that is to be done, one sentence after the other."""
        told = joined(self.told, " ")
        return told if self.grade == "process" else sentence("{amounts}. {told}", amounts=self.amounts, told=told)

    def __str__(self) -> str:
        return str(sentence("{title}: {done}", title=self.title, done=self.in_a_breath))


def judge_given(order: Order, given: Mapping[str, float], close: float, site: Site) -> GivenDose:
    """Return the grade of a given dose with which something was wrong, and what to do.

    Parameters
    ----------
    order : Order
        What was ordered.
    given : mapping of str to float
        What was injected in all, units of each insulin by its key.
    close : float
        How far an insulin may be off and still count as right, units.
    site : Site
        Whose handbook and whose words count.

    Examples
    --------
    >>> from mixlab import read_order, teaching_site
    >>> order = read_order("regular insulin 8 units and NPH insulin 20 units")
    >>> swapped = judge_given(order, {"regular": 20, "nph": 8}, 0.5, teaching_site())
    >>> print(swapped.title, swapped.amounts, sep=": ")
    Too much insulin was given: regular insulin 20 units instead of 8 units: 12 units too much; NPH insulin 8 units instead of 20 units: 12 units too little
    """
    ordered = {dose.insulin.key: float(dose.units) for dose in (order.clear, order.cloudy)}
    off = {key: given.get(key, 0.0) - ordered.get(key, 0.0) for key in {**ordered, **given}}
    facts, grade = the_facts(), _grade(off, close)
    row = facts.wrong_dose[grade]
    words, rule = dict[str, object](), site.cite(row)
    if grade == "too-much":
        longest, hours = _longest(given, close, site)
        words = {"insulin": longest.name, "hours": counted(hours, "{count} hour", "{count} hours", count=hours)}
        cited = sentence("{hours} of {insulin}: {source}", source=site.cite(site.times(longest)), **words)
        rule = joined((rule, cited), "; ")
    return GivenDose(
        grade=grade,
        title=row.text,
        amounts=joined(
            (
                _amount(key, given.get(key, 0.0), ordered.get(key), close)
                for key in off
                if key in ordered or off[key] > close
            ),
            "; ",
        ),
        steps=row.steps,
        told=tuple(facts.wrong_dose_steps[key].text.filled_from(words) for key in row.steps),
        rule=rule,
    )


def _grade(off: Mapping[str, float], close: float) -> str:
    if max(off.values()) > close:
        return "too-much"
    return "too-little" if min(off.values()) < -close else "process"


def _longest(given: Mapping[str, float], close: float, site: Site) -> tuple[Insulin, float]:
    """Return the insulin that acts longest of those given, and its hours by the handbook taught at the site."""
    hours = {insulins()[key]: _lasts(insulins()[key], site) for key, amount in given.items() if amount > close}
    return max(hours.items(), key=lambda one: one[1])


def _lasts(insulin: Insulin, site: Site) -> float:
    duration = site.times(insulin).duration
    return duration.high if duration else 0.0


def _amount(key: str, given: float, ordered: float | None, close: float) -> Sentence:
    """Return what was injected of an insulin beside what was ordered, and how far that is off; None for one nobody ordered."""
    off = round(given, 2) - (ordered or 0.0)
    words = sentence("{insulin} {amount} instead of {dose}: {off} too much")
    if ordered is None:
        words = sentence("{insulin} {amount}, not ordered: {off} too much")
    elif abs(given - ordered) <= close:
        words = sentence("{insulin} {amount}, ordered {dose}: within half a line")
    elif off < 0:
        words = sentence("{insulin} {amount} instead of {dose}: {off} too little")
    return words.filled_from(
        {
            "insulin": insulins()[key].name,
            "amount": rounded_units(given),
            "dose": units_text(ordered or 0.0),
            "off": rounded_units(abs(off)),
        }
    )
