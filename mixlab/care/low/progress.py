"""How far the treatment of a low is, and what each event does to it."""

from __future__ import annotations

from dataclasses import dataclass, replace

from mixlab.care.decision.deciding import Decision
from mixlab.care.decision.readings import Reading, has_had_its_time, look_at
from mixlab.care.decision.signs import signs_and_no_low
from mixlab.care.decision.swallowing import awake, can_eat, feels, mouth
from mixlab.ward.observation import Earlier, Observation
from mixlab.ward.site.record import Site

from .events import (
    CallForHelp,
    Carbohydrate,
    Eat,
    EmergencyTreatment,
    Event,
    Measure,
    TellNurse,
    TellPrescriber,
    Wait,
)


@dataclass(frozen=True, kw_only=True)
class Progress:
    """How far the treatment is.

    Attributes
    ----------
    observation : Observation
        What is known now.
    minute : float
        Minutes since the patient was found.
    treated_at : float or None
        The minute of the last treatment that no reading has followed in good time; None if there is none.
    had_low : bool
        Whether a low has been treated or found.
    by_protocol : bool
        Whether the last treatment was not by mouth.
    failures : int
        How many treatments of this low have not ended it, each by a reading taken in good time.
    still_low : bool
        Whether the last reading, taken in good time after a treatment, was still a low.
    low_again : bool
        Whether the last reading was a new low, after one that was not low.
    see_swallowing : bool
        Whether the patient was not fully awake and nobody has seen since how they swallow.
    signs_stay : bool
        Whether signs that the number does not explain were still there at a second reading.
    ate_unasked : bool
        Whether that food answered the question whether the patient would eat.
    eaten, helped : bool
        Whether food has followed the end of the last low, and whether help has been called.
    told_nurse, told : bool
        Whether the nurse in charge, and the prescriber, know of the low, or that it has not gone.
    answer : bool or None
        Whether the prescriber says to give the dose, since the last reading; None if not asked.
    """

    observation: Observation
    minute: float = 0
    treated_at: float | None = None
    had_low: bool = False
    by_protocol: bool = False
    failures: int = 0
    still_low: bool = False
    low_again: bool = False
    see_swallowing: bool = False
    signs_stay: bool = False
    eaten: bool = False
    ate_unasked: bool = False
    helped: bool = False
    told_nurse: bool = False
    told: bool = False
    answer: bool | None = None

    @property
    def since(self) -> float | None:
        """Minutes since the last treatment that no reading has followed in good time; None if there is none."""
        return None if self.treated_at is None else self.minute - self.treated_at

    @property
    def treated_here(self) -> bool:
        """Whether a treatment has been given since the patient was found, and not only before."""
        return self.by_protocol or self.observation.treated_by_mouth > 0

    @property
    def nobody_told(self) -> bool:
        """Whether nobody has been called or told."""
        return not (self.helped or self.told_nurse or self.told)


def grave(observation: Observation, reading: Reading) -> bool:
    """Say whether help is called before anything else: a serious low, or a patient who is not fully awake."""
    return reading.serious or mouth(observation) == "nothing" or feels(observation, "urgent")


def begin(found: Observation, decision: Decision, site: Site) -> Progress:
    """Return how far the treatment of a patient is who has just been found."""
    since, drowsy = found.minutes_after_treatment, not awake(found)
    if since is None or has_had_its_time(since, site):
        # level 3 without a reading is a low at any number, whatever is measured later
        taken = found.treated_as_low or since is not None or (feels(found, "needs-help") and decision.treat)
        had_low = taken or look_at(found.glucose, site).low or found.food_due
        return Progress(observation=replace(found, treated_as_low=taken), had_low=had_low, see_swallowing=drowsy)
    seen, treated_at = replace(found, treated_as_low=True), -since - (found.minutes_old or 0)
    return Progress(observation=seen, had_low=True, treated_at=treated_at, see_swallowing=drowsy)


def go_on(state: Progress, event: Event, decision: Decision, site: Site) -> Progress:
    """Return the progress after an event, given the decision before it."""
    over = not decision.treat and state.treated_at is None
    after = _after(state, event, over, site)
    food_due = after.had_low and not after.eaten and can_eat(after.observation)
    return replace(after, observation=replace(after.observation, food_due=food_due))


def compare(before: Progress, after: Progress, event: Event, then: Decision, now: Decision, site: Site) -> Progress:
    """Return the progress with what only two decisions side by side can tell: a low that stays, signs that stay."""
    low = now.treat
    new_low = low and not then.treat
    after = replace(after, had_low=after.had_low or look_at(after.observation.glucose, site).low)
    if not isinstance(event, Measure):
        return after
    in_time = after.treated_at is None
    still_low = low and before.treated_at is not None and in_time
    failures = 0 if new_low or (in_time and not low) else before.failures + still_low
    stay = all(signs_and_no_low(one.observation, look_at(one.observation.glucose, site)) for one in (before, after))
    return replace(
        after,
        failures=failures,
        still_low=still_low,
        low_again=new_low and before.had_low and not still_low,
        signs_stay=stay,
        told_nurse=after.told_nurse and not (still_low or new_low),
        told=after.told and not (still_low or new_low),
    )


def _after(state: Progress, event: Event, over: bool, site: Site) -> Progress:
    """Return the progress after an event; `over` says whether a low, if there was one, is shown to be over."""
    seen = state.observation
    match event:
        case Wait(minutes):
            return replace(state, minute=state.minute + minutes, observation=_older(seen, minutes))
        case Measure():
            return _measured(state, event, site)
        case Carbohydrate():
            counted = replace(seen, treated_by_mouth=seen.treated_by_mouth + 1)
            if mouth(seen) != "safe":  # it is not known to treat a patient who may not swallow
                return replace(state, observation=counted)
            return _treated(replace(state, observation=counted, by_protocol=False))
        case EmergencyTreatment():
            return _treated(replace(state, by_protocol=True))
        case Eat():
            eaten = over and mouth(seen) != "nothing"
            known = replace(seen, eating=True) if eaten and seen.eating is None else seen
            return replace(
                state, observation=known, eaten=state.eaten or eaten, ate_unasked=state.ate_unasked or known != seen
            )
        case TellNurse():
            return replace(state, told_nurse=True)
        case TellPrescriber(says_give):
            new = replace(seen, prescriber_says_give=says_give, prescriber_says_wait=not says_give)
            if over:  # the prescriber knows how it was treated: a low that comes after is a new one
                new = replace(new, treated_by_mouth=0)
            return replace(state, observation=new, told=True, answer=says_give)
        case CallForHelp():
            return replace(state, helped=True)


def _treated(state: Progress) -> Progress:
    seen = replace(state.observation, treated_as_low=True)
    return replace(state, observation=seen, treated_at=state.minute, eaten=False, had_low=True)


def _measured(state: Progress, event: Measure, site: Site) -> Progress:
    seen, earlier = state.observation, state.observation.earlier
    if seen.glucose is not None:
        earlier = (*earlier, Earlier(seen.glucose, (seen.minutes_old or 0) / 60))
    new = replace(
        seen,
        glucose=event.glucose,
        minutes_old=0.0,
        signs=event.signs,
        earlier=earlier,
        alertness=seen.alertness if event.alertness == "as before" else event.alertness,
        minutes_after_treatment=state.since,
        prescriber_says_give=False,  # the word was about what was known before
    )
    if event.can_swallow != "as before":
        new = replace(new, can_swallow=event.can_swallow)
    elif seen.can_swallow and _in_doubt(new) and not _in_doubt(seen):  # who is newly drowsy or confused is seen anew
        new = replace(new, can_swallow=None)
    drowsy = not awake(new) or (state.see_swallowing and event.can_swallow is not True)
    treated_at = None if has_had_its_time(state.since, site) else state.treated_at
    return replace(state, observation=new, treated_at=treated_at, answer=None, see_swallowing=drowsy)


def _in_doubt(seen: Observation) -> bool:
    """Say whether a sign leaves open whether the patient swallows safely."""
    return feels(seen, "unsure") or not awake(seen)


def _older(seen: Observation, minutes: float) -> Observation:
    """Return the observation after so many minutes in which nobody looked."""
    hours = minutes / 60
    return replace(
        seen,
        minutes_old=None if seen.minutes_old is None else seen.minutes_old + minutes,
        hours_since_dose=None if seen.hours_since_dose is None else seen.hours_since_dose + hours,
        earlier=tuple(Earlier(one.glucose, one.hours_ago + hours) for one in seen.earlier),
    )
