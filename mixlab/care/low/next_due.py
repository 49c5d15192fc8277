"""What is due next while a low is treated: which rows are said when. What they say stands in low.toml."""

from __future__ import annotations

from dataclasses import dataclass

from mixlab.care.decision.answers import Said
from mixlab.care.decision.bedside import AtBedside
from mixlab.care.decision.deciding import Decision
from mixlab.care.decision.readings import Reading, has_had_its_time, look_at, too_early, too_old
from mixlab.care.decision.signs import signs_and_no_low
from mixlab.care.decision.swallowing import by_mouth_used_up, can_eat, feels, mouth
from mixlab.facts.decision_rows import Person, Standing
from mixlab.facts.reading import the_facts
from mixlab.quantities import rounded_beside
from mixlab.ward.order.order import Order
from mixlab.ward.site.record import Site
from mixlab.words import Sentence, joined, sentence

from .progress import Progress, grave


@dataclass(frozen=True, kw_only=True)
class Due(Said):
    """What to do next, in a few short sentences.

    Attributes
    ----------
    keys : tuple of str
        Their rows, each behind the name of its table: ``"due.measure-now"``, ``"next_steps.nothing-sweet"``.
    """

    keys: tuple[str, ...]


_THEN = {True: "then-give", None: "then-tell", False: "and-do-not-give"}
"""What follows the food, by what the prescriber has said."""


def due(state: Progress, decision: Decision, order: Order, site: Site) -> Due:
    """Return what to do next.

    Parameters
    ----------
    state : Progress
        How far the treatment is.
    decision : Decision
        What it means for the dose now.
    order, site
        The dose that waits, and the ward.
    """
    at = AtBedside(order=order, observation=state.observation, site=site)
    keys = _due(state, decision, at)
    if not keys:  # nothing of a low is left: the decision goes on
        first = decision.steps[: _how_many(decision) if state.had_low else 2]
        keys = tuple(f"next_steps.{key}" for step in first for key in step.keys)
        return Due(keys=keys, text=joined((step.text for step in first), " "))
    left = 0.0 if state.since is None else rounded_beside(site.recheck.value - state.since, 0)
    values = {"left": left, "then": the_facts().due[_THEN[state.answer]].text, "whom": _whom(state)}
    if decision.give_when:
        values["what"] = decision.give_when[0].text.after_a_colon()
    return Due(keys=keys, text=joined((at.fill(_text(key), **values) for key in keys), " "))


def _how_many(decision: Decision) -> int:
    """Return how many steps lead to a dose that is given; two where it is held."""
    prepared = (at for at, step in enumerate(decision.steps, 1) if step.keys[-1].startswith("prepare-"))
    return next(prepared, 2)


def _whom(state: Progress) -> Sentence:
    """Return who is still to be told of the low."""
    waiting: dict[Person, bool] = {"nurse": not state.told_nurse, "prescriber": not state.told}
    people = (the_facts().people[who].text.after_a_colon() for who, waits in waiting.items() if waits)
    return joined(people, sentence(" and "))


def _text(name: str) -> Sentence:
    table, _, key = name.partition(".")
    facts = the_facts()
    if table == "reasons":
        return facts.reasons[key].finding
    return facts.next_steps[key].text if table == "next_steps" else facts.due[key].text


def _due(state: Progress, decision: Decision, at: AtBedside) -> tuple[str, ...]:
    """Return what is due, by key; empty where the decision alone says it."""
    seen, site, reading = at.observation, at.site, look_at(at.observation.glucose, at.site)
    call = ("due.call-for-help",) if not state.helped and grave(seen, reading) else ()
    if decision.choice == "emergency":
        team = () if state.helped else ("next_steps.call-in-an-emergency",)
        return (*team, "next_steps.airway-first", *_emergency_due(state, decision, reading, site))
    if decision.treat:
        return (*call, *_treatment_due(state, reading, site, at.standing))
    if too_early(seen, site):
        now = has_had_its_time(state.since, site)
        return (*call, "due.measure-now-after-an-early-reading" if now else "due.wait-after-an-early-reading")
    in_doubt = reading.doubted or too_old(seen.minutes_old, site)
    too_high = reading.above_meter and "told" not in at.standing and not in_doubt
    if signs_and_no_low(seen, reading) and decision.choice != "look and ask":
        return (*call, *_signs_due(state, reading, too_high, site))
    if too_high:
        return (*call, "due.call-about-a-high" if state.answer is None else "due.high-and-told")
    asked = [one.key for one in decision.because if one.choice == "check first"]
    if seen.food_due and all(the_facts().reasons[key].about in ("meal", "chart") for key in asked):
        return _food_due(state, decision)
    if asked:
        return (*call, "due.not-until")
    if state.had_low and state.answer is None:
        if state.ate_unasked:
            return ("due.tell-of-the-low", "due.ask-once-eaten")
        return ("due.tell-of-the-low", *(() if can_eat(seen) else ("due.ask-without-food",)))
    if seen.prescriber_says_wait:
        return ("reasons.prescriber-says-wait" if state.answer is None else "due.not-this-dose",)
    return ()


def _emergency_due(state: Progress, decision: Decision, reading: Reading, site: Site) -> tuple[str, ...]:
    """Return what is due in an emergency once the team is called and the airway is open: nobody leaves the patient to call."""
    told = () if state.told and state.told_nurse else ("due.somebody-else-tells",)
    if state.treated_at is not None and not reading.high_with_signs:
        return ("due.measure-now" if has_had_its_time(state.since, site) else "due.stay-and-measure-in", *told)
    if decision.treat:
        return ("next_steps.treat-the-low-in-an-emergency", "due.then-measure", *told)
    if reading.high_with_signs:
        return ("due.signs-at-a-high-and-told" if state.answer is not None else "due.stay-and-look-for", *told)
    if not state.signs_stay:
        return ("next_steps.stay-and-measure", *told)
    return ("next_steps.if-urgent-signs-stay" if state.answer is None else "due.signs-and-told",)


def _treatment_due(state: Progress, reading: Reading, site: Site, standing: frozenset[Standing]) -> tuple[str, ...]:
    """Return what is due while a low is to be treated: first the treatment, then who is told meanwhile."""
    while_you_treat = "due.while-you-treat-with-help" if grave(state.observation, reading) else "due.while-you-treat"
    told = () if state.told and state.told_nurse else (while_you_treat,)
    vomiting, nothing = "vomiting" in standing, "nothing by mouth" in standing
    limit = site.oral_treatments.value
    too_often = state.observation.treated_by_mouth > limit and not state.by_protocol
    worse = ("due.do-not-wait",) if "serious" in standing else ()
    if state.treated_at is not None and not too_often:
        return (*_recheck_due(state, site), *worse)
    if state.still_low and vomiting and not nothing:
        return ("due.still-low-and-vomiting", "due.then-measure", *told)
    still = ("due.still-low",) if state.still_low else ("due.low-again",) if state.low_again else ()
    if "not awake" in standing:
        return (*still, "next_steps.treat-not-awake", "due.then-measure", *told)
    if nothing:
        return (*still, "due.by-protocol", *told)
    if by_mouth_used_up(state.observation, site):
        return ("due.no-more-by-mouth", "due.then-measure", *told)
    down = ("next_steps.if-it-does-not-stay-down",) if vomiting else ()
    if "see first" in standing:
        first = ("due.no-insulin-now", "next_steps.see-how-the-patient-swallows", "due.treat-then-measure")
        return (*still, *first, *worse, *down, *told)
    amount = "due.fast-carbohydrate-in-a-serious-low" if "serious" in standing else "due.fast-carbohydrate"
    return (*still, "due.treat-while-fasting" if "fasting" in standing else amount, *worse, *down, *told)


def _recheck_due(state: Progress, site: Site) -> tuple[str, ...]:
    if has_had_its_time(state.since, site):
        return ("due.measure-now",)
    return ("due.stay-and-measure-in", *(() if state.told and state.told_nurse else ("due.tell-now",)))


def _signs_due(state: Progress, reading: Reading, too_high: bool, site: Site) -> tuple[str, ...]:
    high = reading.high_with_signs
    if state.treated_at is not None and not high:
        return _recheck_due(state, site)
    if high and (state.answer is not None or (state.signs_stay and state.told)):
        return ("due.signs-at-a-high-and-told",)
    if high:
        call: tuple[str, ...] = ()
        if too_high and not state.told:
            call = ("due.call-about-a-high",)
        elif state.signs_stay:
            call = ("due.signs-stay-at-a-high",)
        sweet = () if mouth(state.observation) == "nothing" else ("next_steps.nothing-sweet",)
        return (*call, "due.stay-and-look-for", *sweet)
    if not state.signs_stay:
        return ("next_steps.stay-and-measure",)
    if state.answer is not None:
        return ("due.signs-and-told",)
    return ("next_steps.if-urgent-signs-stay" if feels(state.observation, "urgent") else "due.signs-stay",)


def _food_due(state: Progress, decision: Decision) -> tuple[str, ...]:
    never_low = any(one.key == "treated-as-low" for one in decision.because)
    over = "due.not-low" if never_low else "due.no-longer-low"
    if state.see_swallowing:
        return (over, "due.swallowing-then-food")
    return ("next_steps.food-then-dose",) if state.answer is True else (f"{over}-food-now",)
