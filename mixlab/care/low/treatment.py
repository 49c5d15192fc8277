"""A low, treated and measured again until it is over: walked in time, one event after the other.

No glucose is simulated. The learner enters each new reading, and the walk says what was due and what was not right.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import accumulate

from mixlab.care.decision.deciding import Decision, decide
from mixlab.ward.observation import Observation
from mixlab.ward.order.order import Order
from mixlab.ward.site.in_force import the_site
from mixlab.ward.site.record import Site
from mixlab.words import Sentence, joined

from .events import Event
from .feedback import Remark, remarks
from .next_due import Due, due
from .progress import Progress, begin, compare, go_on


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
    due : Due
        What to do next.
    remarks : tuple of Remark
        What was not right about the event, each with its rule; empty if it was.
    """

    minute: float
    event: Event | None
    observation: Observation
    decision: Decision
    due: Due
    remarks: tuple[Remark, ...] = ()

    @property
    def remark(self) -> Sentence:
        """All that was not right, one after the other."""
        return joined((remark.text for remark in self.remarks), " ")


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

    Examples
    --------
    >>> from mixlab import Glucose, Observation, read_order, walk
    >>> from mixlab.care.low.events import Wait
    >>> order = read_order("regular insulin 8 units and NPH insulin 20 units")
    >>> low = Observation(glucose=Glucose(62, "mg/dL"), signs=(), eating=True, can_swallow=True)
    >>> found, waited = walk(order, low, (Wait(15),))
    >>> waited.minute, [remark.key for remark in waited.remarks]
    (15, ['low-left-waiting'])
    """
    site = the_site(site)
    decision = decide(order, found, site)
    state = begin(found, decision, site)
    start = Moment(minute=0, event=None, observation=found, decision=decision, due=due(state, decision, order, site))

    def after(last: tuple[Progress, Moment], event: Event) -> tuple[Progress, Moment]:
        before, moment = last
        state = go_on(before, event, moment.decision, site)
        now = decide(order, state.observation, site)
        state = compare(before, state, event, moment.decision, now, site)
        return state, Moment(
            minute=state.minute,
            event=event,
            observation=state.observation,
            decision=now,
            due=due(state, now, order, site),
            remarks=remarks(before, moment.decision, event, site),
        )

    return tuple(moment for _, moment in accumulate(events, after, initial=(state, start)))
