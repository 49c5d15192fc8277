"""A low, treated and measured again until it is over: walked in time, one event after the other.

No glucose is simulated. The learner enters each new reading, and the walk says what was due and what was not right.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import accumulate

from mixlab.care.decision.answers import SIGNS_AND_NO_LOW
from mixlab.care.decision.deciding import Decision, decide
from mixlab.care.decision.swallowing import awake, can_eat, mouth
from mixlab.ward.observation import Earlier, Observation
from mixlab.ward.order.order import Order
from mixlab.ward.site.at_site import at_its_site
from mixlab.ward.site.in_force import the_site
from mixlab.ward.site.record import Site
from mixlab.words import Sentence, joined

from .events import CallForHelp, Carbohydrate, Eat, EmergencyTreatment, Event, Measure, TellPrescriber, Wait
from .feedback import remarks
from .next_due import Progress, due

__all__ = [
    "CallForHelp",
    "Carbohydrate",
    "Eat",
    "EmergencyTreatment",
    "Event",
    "Measure",
    "Moment",
    "TellPrescriber",
    "Wait",
    "walk",
]


@dataclass(frozen=True, kw_only=True)
class Moment:
    """One moment of the walk.

    Attributes
    ----------
    minute : float
        Minutes since the patient was found.
    event : Event or None
        What has just been done; None at the start.
    observation : Observation
        What is known now. Readings and doses grow older while time passes; a replaced reading becomes an earlier one. Food is
        due after a low until the patient has eaten, if food may be given.
    decision : Decision
        What it means for the dose now.
    due : Sentence
        What to do next.
    remark : Sentence
        What was not right about the event, each with its rule; empty if it was.
    """

    minute: float
    event: Event | None
    observation: Observation
    decision: Decision
    due: Sentence
    remark: Sentence


@at_its_site
def walk(order: Order, found: Observation, events: tuple[Event, ...], site: Site | None = None) -> tuple[Moment, ...]:
    """Walk through the treatment of a low.

    Parameters
    ----------
    order : Order
        The dose that waits.
    found : Observation
        What was found at the start.
    events : tuple
        What was done, in order.
    site : Site, optional
        Whose rules to use; the one in force if not given.

    Returns
    -------
    tuple of Moment
        The start, then one moment for each event.

    Raises
    ------
    NotOneClearOneCloudy
        If the order does not name one clear and one cloudy insulin.
    NotAnAmount
        If an event brings a reading or a sign that cannot be.
    """
    site = the_site(site)
    decision = decide(order, found, site)
    state = _start(found, decision, site)
    start = Moment(
        minute=0, event=None, observation=found, decision=decision, due=due(state, decision, site), remark=Sentence("")
    )

    def go_on(last: tuple[Progress, Moment], event: Event) -> tuple[Progress, Moment]:
        before, moment = last
        over = moment.decision.choice != "hold and treat" and before.treated_at is None
        after = _with_food_due(_after(before, event, over, site))
        now = decide(order, after.observation, site)
        after = _noted(before, after, event, moment.decision, now)
        return after, Moment(
            minute=after.minute,
            event=event,
            observation=after.observation,
            decision=now,
            due=due(after, now, site),
            remark=joined(remarks(before, moment.decision, event, site), " "),
        )

    return tuple(moment for _, moment in accumulate(events, go_on, initial=(state, start)))


def _start(found: Observation, decision: Decision, site: Site) -> Progress:
    since, drowsy = found.minutes_after_treatment, not awake(found)
    if since is None or since >= site.recheck.value:
        # level 3 without a reading is a low at any number, whatever is measured later
        taken = found.treated_as_low or decision.because[0].key == "level-3"
        had_low = taken or _low(decision) or found.food_due
        return Progress(observation=replace(found, treated_as_low=taken), had_low=had_low, see_swallowing=drowsy)
    seen, treated_at = replace(found, treated_as_low=True), -since - (found.minutes_old or 0)
    return Progress(observation=seen, had_low=True, treated_at=treated_at, see_swallowing=drowsy)


def _with_food_due(state: Progress) -> Progress:
    food_due = state.had_low and not state.eaten and can_eat(state.observation)
    return replace(state, observation=replace(state.observation, food_due=food_due))


def _noted(before: Progress, after: Progress, event: Event, then: Decision, now: Decision) -> Progress:
    """Return the progress with what only two decisions side by side can tell: a low that stays, signs that stay."""
    low = now.choice == "hold and treat"
    new_low = low and then.choice != "hold and treat"
    after = replace(after, had_low=after.had_low or _low(now))
    if not isinstance(event, Measure):
        return after
    still_low = low and before.treated_at is not None and after.treated_at is None
    stay = _signs_without_a_low(then) and _signs_without_a_low(now)
    return replace(
        after,
        still_low=still_low,
        low_again=new_low and before.had_low and not still_low,
        signs_stay=stay,
        told=after.told and not (still_low or new_low),
    )


def _low(decision: Decision) -> bool:
    """Say whether the reading itself is a low."""
    return any(reason.key in ("below-hold-line", "level-2-line", "meter-shows-lo") for reason in decision.because)


def _signs_without_a_low(decision: Decision) -> bool:
    return any(reason.key in SIGNS_AND_NO_LOW for reason in decision.because)


def _after(state: Progress, event: Event, over: bool, site: Site) -> Progress:
    """Return the progress after an event; `over` says whether a low, if there was one, is shown to be over."""
    seen = state.observation
    match event:
        case Wait(minutes):
            return replace(state, minute=state.minute + minutes, observation=_older(seen, minutes))
        case Measure():
            earlier = seen.earlier
            if seen.glucose is not None:
                earlier = (*earlier, Earlier(seen.glucose, (seen.minutes_old or 0) / 60))
            since = None if state.treated_at is None else state.minute - state.treated_at
            new = replace(
                seen,
                glucose=event.glucose,
                minutes_old=0.0,
                signs=event.signs,
                earlier=earlier,
                alertness=seen.alertness if event.alertness == "as before" else event.alertness,
                can_swallow=seen.can_swallow if event.can_swallow == "as before" else event.can_swallow,
                minutes_after_treatment=since,
                prescriber_says_give=False,  # the word was about what was known before
            )
            drowsy = not awake(new) or (state.see_swallowing and event.can_swallow is not True)
            in_time = since is not None and since >= site.recheck.value
            treated_at = None if in_time else state.treated_at
            return replace(state, observation=new, treated_at=treated_at, answer=None, see_swallowing=drowsy)
        case Carbohydrate() if mouth(seen) != "safe":
            return state  # it is not known to treat a patient who may not swallow
        case Carbohydrate() | EmergencyTreatment():
            treated = replace(seen, treated_as_low=True)
            return replace(state, observation=treated, treated_at=state.minute, eaten=False, had_low=True)
        case Eat():
            return replace(state, eaten=state.eaten or (over and mouth(seen) != "nothing"))
        case TellPrescriber(says_give):
            new = replace(seen, prescriber_says_give=says_give, prescriber_says_wait=not says_give)
            return replace(state, observation=new, told=True, answer=says_give)
        case CallForHelp():
            return replace(state, helped=True)


def _older(seen: Observation, minutes: float) -> Observation:
    """Return the observation after so many minutes in which nobody looked."""
    hours = minutes / 60
    return replace(
        seen,
        minutes_old=None if seen.minutes_old is None else seen.minutes_old + minutes,
        hours_since_dose=None if seen.hours_since_dose is None else seen.hours_since_dose + hours,
        earlier=tuple(Earlier(one.glucose, one.hours_ago + hours) for one in seen.earlier),
    )
