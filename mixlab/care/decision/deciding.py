"""Give, hold or check: the decision before a dose, always with its reasons and with what to do next.

The most cautious answer that any finding asks for wins, and every finding is shown. Holding is never cancelling. Python says
when a rule speaks; what it says, and what it asks for, stands in facts/decisions.toml.
"""

from __future__ import annotations

from dataclasses import dataclass

from mixlab.facts.decision_rows import Sign
from mixlab.facts.reading import the_facts
from mixlab.quantities import Glucose
from mixlab.ward.observation import Observation
from mixlab.ward.order.order import Order
from mixlab.ward.site.glucose_lines import line_text
from mixlab.ward.site.in_force import the_site
from mixlab.ward.site.record import Site
from mixlab.words import Sentence

from .answers import Choice, Reason, answer_text, reason, weight
from .bedside import AtBedside
from .chart import answer_order, chart_reasons
from .meal import meal_reasons
from .readings import Reading, look_at, reading_reasons
from .signs import sign_reasons
from .steps import Step, choose_steps, numbers_of, say_at_once, say_steps
from .swallowing import eats
from .telling import Condition, Tell, conditions, whom_to_tell

__all__ = ["Choice", "Condition", "Decision", "Reason", "Step", "Tell", "decide"]


@dataclass(frozen=True, kw_only=True)
class Decision:
    """What to do about a dose now. Everything in it carries the key of its row in facts/decisions.toml.

    Attributes
    ----------
    choice : str
        The most cautious answer that any reason asks for.
    because : tuple of Reason
        Every reason, the weightiest first; never empty.
    treat : bool
        Whether a low is treated now: at "hold and treat", and in an emergency unless the reading is not low.
    steps : tuple of Step
        What to do, in order, including what must happen for a held dose to be given.
    at_once : tuple of Step
        The same in at most five short lines, where a low is treated or help is called; what only comes later is left out.
    numbers : tuple of Sentence
        Who says so, for every number of the ward in the steps.
    reading : Sentence
        The reading as the meter shows it, or that there is none.
    tell : tuple of Tell
        Whom to tell, and how soon.
    give_when : tuple of Condition
        What must be so for the dose to be given later; empty if it may be given now.
    allowance : tuple of two Glucose, or None
        The lowest and highest true glucose that the reading may stand for, in the reading's own unit, by the meter's
        allowed error; None without a number.
    allowance_rule : Sentence
        Who says so; empty without a number.
    """

    choice: Choice
    because: tuple[Reason, ...]
    treat: bool
    steps: tuple[Step, ...]
    at_once: tuple[Step, ...]
    numbers: tuple[Sentence, ...]
    reading: Sentence
    tell: tuple[Tell, ...]
    give_when: tuple[Condition, ...]
    allowance: tuple[Glucose, Glucose] | None
    allowance_rule: Sentence

    @property
    def headline(self) -> Sentence:
        """The answer in words, or the words of the reason that decides, where its row has some."""
        first = self.because[0]
        return (not first.answered and the_facts().reasons[first.key].headline) or answer_text(self.choice)

    @property
    def sign(self) -> Choice | Sign:
        """What is drawn for the answer: its own sign, or that of the reason that decides."""
        first = self.because[0]
        return (None if first.answered else the_facts().reasons[first.key].sign) or self.choice

    @property
    def next_steps(self) -> tuple[Sentence, ...]:
        """The steps in words."""
        return tuple(step.text for step in self.steps)

    @property
    def held(self) -> bool:
        """Whether nothing is drawn up now: at every answer that does not let the dose be given."""
        return not self.choice.startswith("give")


def decide(order: Order, observation: Observation, site: Site | None = None) -> Decision:
    """Decide whether the dose may be given now.

    Parameters
    ----------
    order : Order
        The dose in question.
    observation : Observation
        What was found at the bedside; what is not known is None.
    site : Site, optional
        Whose lines to use; the one in force if not given.

    Raises
    ------
    NotOneClearOneCloudy
        If the order does not name one clear and one cloudy insulin.

    Examples
    --------
    >>> from mixlab import Glucose, Observation, decide, read_order
    >>> order = read_order("regular insulin 8 units and NPH insulin 20 units subcut 30 minutes before breakfast")
    >>> decision = decide(order, Observation(glucose=Glucose(64, "mg/dL"), signs=(), eating=True))
    >>> decision.choice, [reason.key for reason in decision.because]
    ('hold and treat', ['below-hold-line'])
    """
    site = the_site(site)
    reading = look_at(observation.glucose, site)
    because = _reasons(order, observation, reading, site)
    asking = _asking(because)
    asked = frozenset(key for one in asking for key in one.asks.steps)
    parts = frozenset(key for one in asking for key in one.asks.parts)
    told = frozenset(told for one in asking for told in one.asks.tell)
    choice = because[0].choice
    at = AtBedside(order=order, observation=observation, site=site, parts=parts)
    chosen = choose_steps(choice, asked, at.standing)
    held = not choice.startswith("give")
    return Decision(
        choice=choice,
        because=because,
        treat=choice == "hold and treat" or (choice == "emergency" and not reading.not_low),
        steps=say_steps(chosen, at),
        at_once=say_at_once(choice, chosen, at),
        numbers=numbers_of(chosen, site),
        reading=reading.shown,
        tell=whom_to_tell(told, at_once=_high_and_held_or_ill(at, held), answered=not held and "told" in at.standing),
        give_when=conditions(asking, at) if held else (),
        allowance=reading.allowance,
        allowance_rule=the_facts().cite(the_facts().bedside["meter_allowance_mg_dl"])
        if reading.allowance
        else Sentence(""),
    )


def _reasons(order: Order, observation: Observation, reading: Reading, site: Site) -> tuple[Reason, ...]:
    """Return every reason, the weightiest first."""
    found = [
        *answer_order(order, site).because,
        *reading_reasons(observation, site),
        *sign_reasons(observation, reading, site),
        *meal_reasons(order, observation, reading, site),
        *chart_reasons(observation, reading, site),
    ]
    if reading.known and all(one.choice == "give" for one in found):
        so, line = "eats" if eats(observation) else "", site.hold_text
        high = line_text(site.report_line)
        found.append(reason("nothing-against", site, so=so, glucose=reading.on_hold_scale, line=line, report_line=high))
    if all(one.choice.startswith("give") for one in found):
        found.append(reason("withholding-harms", site))
    return tuple(sorted(found, key=weight))


def _asking(because: tuple[Reason, ...]) -> tuple[Reason, ...]:
    """Return the reasons that ask for something: not those that yield to one that speaks too."""
    keys, rows = {one.key for one in because}, the_facts().reasons
    return tuple(one for one in because if keys.isdisjoint(rows[one.key].yields_to))


def _high_and_held_or_ill(at: AtBedside, held: bool) -> bool:
    """Say whether a high reading that the prescriber does not know of meets a dose that is held, vomiting or a changed state."""
    ill = "too high for a low" in at.standing and (at.observation.vomiting or at.observation.changed)
    return "told" not in at.standing and (ill or (held and "high" in at.standing))
