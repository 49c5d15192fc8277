"""A low, treated and measured again until it is over: walked in time, one event after the other.

No glucose is simulated. The learner enters each new reading, and the walk says what was due and what was not right.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import accumulate

from ..ward.observation import Earlier, Observation
from ..ward.order import Order
from ..ward.site import Site, teaching_site
from .decision import Decision, decide
from .due import Progress, due, remarks
from .next_steps import by_mouth
from .treatment import CallForHelp, Carbohydrate, Eat, EmergencyTreatment, Event, Measure, TellPrescriber, Wait

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
        What is known now. Readings and doses grow older while time passes; a replaced reading becomes an earlier one.
    decision : Decision
        What it means for the dose now.
    due : str
        What to do next.
    remark : str
        What was not right about the event, each with its rule; empty if it was.
    """

    minute: float
    event: Event | None
    observation: Observation
    decision: Decision
    due: str
    remark: str


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
        Whose rules to use; the teaching site if not given.

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
    site = site or teaching_site()
    decision = decide(order, found, site)
    state = Progress(observation=found, had_low=decision.choice == "hold and treat")
    start = Moment(
        minute=0, event=None, observation=found, decision=decision, due=due(state, decision, site), remark=""
    )

    def go_on(last: tuple[Progress, Moment], event: Event) -> tuple[Progress, Moment]:
        before, moment = last
        after = _after(before, event, site)
        now = decide(order, after.observation, site)
        after = replace(after, had_low=after.had_low or now.choice == "hold and treat")
        return after, Moment(
            minute=after.minute,
            event=event,
            observation=after.observation,
            decision=now,
            due=due(after, now, site),
            remark=" ".join(remarks(before, moment.decision, event, site)),
        )

    return tuple(moment for _, moment in accumulate(events, go_on, initial=(state, start)))


def _after(state: Progress, event: Event, site: Site) -> Progress:
    seen = state.observation
    match event:
        case Wait(minutes):
            return replace(state, minute=state.minute + minutes, observation=_older(seen, minutes))
        case Measure():
            earlier = seen.earlier
            if seen.glucose is not None:
                earlier = (*earlier, Earlier(seen.glucose, (seen.minutes_old or 0) / 60))
            new = replace(
                seen,
                glucose=event.glucose,
                minutes_old=0.0,
                signs=event.signs,
                earlier=earlier,
                alertness=seen.alertness if event.alertness == "as before" else event.alertness,
                can_swallow=seen.can_swallow if event.can_swallow == "as before" else event.can_swallow,
                prescriber_says_give=False,  # the word was about what was known before
            )
            in_time = state.treated_at is not None and state.minute - state.treated_at >= site.recheck.value
            return replace(state, observation=new, treated_at=None if in_time else state.treated_at, answer=None)
        case Carbohydrate() if not by_mouth(seen):
            return state  # it treats nobody who cannot swallow
        case Carbohydrate() | EmergencyTreatment():
            return replace(state, treated_at=state.minute, eaten=False)
        case Eat():
            return replace(state, eaten=True)
        case TellPrescriber(says_give):
            return replace(state, observation=replace(seen, prescriber_says_give=says_give), answer=says_give)
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
