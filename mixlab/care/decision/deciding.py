"""Give, hold or check: the decision before a dose, always with its reasons and with what to do next.

The most cautious answer that any finding asks for wins, and every finding is shown. Holding is never cancelling.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from mixlab.quantities import Glucose
from mixlab.ward.observation import Observation
from mixlab.ward.order.order import Order
from mixlab.ward.site.at_site import at_its_site
from mixlab.ward.site.in_force import the_site
from mixlab.ward.site.record import Site
from mixlab.words import Sentence, sentence

from .answers import ASKED, COMMON, Choice, Reason, ReasonKey, weight
from .assessment import HANGS_ON_THE_UNIT, Case
from .next_steps import eats, next_steps, numbers
from .readings import Reading, allowance_rule, look_at
from .reasons import age_reason, chart_reasons, early_reason, meal_reasons, says_give, sign_reasons
from .reporting import give_when, tell

__all__ = ["Choice", "Decision", "Reason", "ReasonKey", "decide"]


@dataclass(frozen=True, kw_only=True)
class Decision:
    """What to do about a dose now.

    Attributes
    ----------
    choice : str
        The most cautious answer that any reason asks for.
    because : tuple of Reason
        Every reason, the weightiest first; never empty.
    next_steps : tuple of Sentence
        What to do, in order, including what must happen for a held dose to be given.
    numbers : tuple of Sentence
        Who says so, for every number in the steps that no reason speaks of.
    reading : Sentence
        The reading as the meter shows it, or that there is none.
    tell : tuple of Sentence
        Whom to tell, and how soon.
    give_when : tuple of Sentence
        What must happen for the dose to be given later; empty if it may be given now.
    allowance : tuple of two Glucose, or None
        The lowest and highest true glucose that the reading may stand for, in the reading's own unit, by the meter's
        allowed error; None without a number.
    allowance_rule : Sentence
        Who says so; empty without a number.
    """

    choice: Choice
    because: tuple[Reason, ...]
    next_steps: tuple[Sentence, ...]
    numbers: tuple[Sentence, ...]
    reading: Sentence
    tell: tuple[Sentence, ...]
    give_when: tuple[Sentence, ...]
    allowance: tuple[Glucose, Glucose] | None
    allowance_rule: Sentence


@at_its_site
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
    """
    site = the_site(site)
    told = says_give(observation)
    reading = None if observation.glucose is None else look_at(observation.glucose, site, told)
    because = _reasons(order, observation, reading, site)
    choice = because[0].choice
    keys = tuple(reason.key for reason in because if reason.choice != "give" or reason.key == "allowance-reaches-line")
    if "which-unit" in keys:
        keys = tuple(key for key in keys if key not in HANGS_ON_THE_UNIT)
    case = Case(
        choice=choice,
        still_open=frozenset(keys),
        answered=frozenset(reason.key for reason in because if reason.key in ASKED) if told else frozenset(),
        order=order,
        observation=observation,
        reading=reading,
        site=site,
    )
    held = choice not in ("give", "give and report")
    at_once = case.high_and_ill or (held and case.high and not told)
    reach = reading.allowance if reading else None
    return Decision(
        choice=choice,
        because=because,
        next_steps=next_steps(case),
        numbers=numbers(case),
        reading=reading.shown if reading else sentence("no reading"),
        tell=tell(case.still_open, at_once=at_once, told=told),
        give_when=give_when(keys, site.hold_text, order.clear.insulin.name, order.cloudy.insulin.name) if held else (),
        allowance=reach,
        allowance_rule=allowance_rule() if reach else Sentence(""),
    )


def _reasons(order: Order, observation: Observation, reading: Reading | None, site: Site) -> tuple[Reason, ...]:
    found: list[Reason] = []
    if reading is None:
        text = sentence("There is no glucose reading.")
        found.append(Reason(choice="check first", key="no-reading", text=text, rule=COMMON))
    else:
        found += reading.because
        old = age_reason(observation.minutes_old, site)
        if old is not None:
            found.append(old)
        early = early_reason(observation, reading, site)
        if early is not None:
            found.append(early)
    found += sign_reasons(observation, reading)
    found += meal_reasons(order, observation, reading)
    found += chart_reasons(observation, reading, site)
    if reading is not None and all(reason.choice == "give" for reason in found):
        found.append(_nothing_against(reading.on_hold_scale, eats(observation), site))
    if all(reason.choice in ("give", "give and report") for reason in found):
        found.append(_withholding())
    return tuple(sorted(found, key=weight))


@lru_cache(maxsize=4096)
def _withholding() -> Reason:
    text = sentence(
        "Leaving the dose out without asking would harm too: glucose rises without insulin, and in type 1 diabetes ketoacidosis can follow."
    )
    return Reason(choice="give", key="withholding-harms", text=text, rule=COMMON)


@lru_cache(maxsize=4096)
def _nothing_against(glucose: Sentence, meal_comes: bool, site: Site) -> Reason:
    if meal_comes:
        text = sentence(
            "{glucose} is not {line}, no signs of a low, and the patient is eating.",
            glucose=glucose,
            line=site.hold_text,
        )
    else:
        text = sentence("{glucose} is not {line}, no signs of a low.", glucose=glucose, line=site.hold_text)
    return Reason(choice="give", key="nothing-against", text=text, rule=site.cite(site.hold_line))
