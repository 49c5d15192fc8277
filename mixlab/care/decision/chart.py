"""What the chart asks for: the order itself, the last dose, earlier readings, the word of the prescriber, a state that is new or changed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from mixlab.care.order.checking import concerns_of
from mixlab.care.order.concern import Concern
from mixlab.facts.decision_rows import Choice
from mixlab.facts.reading import the_facts
from mixlab.facts.records import NotifyRow
from mixlab.quantities import Glucose, rounded_beside
from mixlab.ward.observation import Earlier, Observation, OffScale
from mixlab.ward.order.order import Order
from mixlab.ward.site.glucose_lines import crosses
from mixlab.ward.site.record import Site
from mixlab.words import Sentence, counted, joined

from .answers import Reason, answer_text, reason, says_give, weight
from .readings import Reading, earlier_lows, look_at


@dataclass(frozen=True, kw_only=True)
class OrderAnswer:
    """What an order asks for by itself, before anybody has seen the patient: to hold and ask, or to go on to the patient.

    Attributes
    ----------
    because : tuple of Reason
        What has to be cleared up, the weightiest first; empty if nothing speaks against the order itself.
    """

    because: tuple[Reason, ...]

    @property
    def choice(self) -> Choice | None:
        """The answer that its reasons ask for; None where the patient decides, for no order is given by itself."""
        return self.because[0].choice if self.because else None

    @property
    def held(self) -> bool:
        """Whether nothing is drawn up before the prescriber has answered."""
        return bool(self.because)

    @property
    def headline(self) -> Sentence:
        """The answer in words; without one, that it is time to go on to the patient."""
        return answer_text(self.choice) if self.choice else the_facts().phrases["order-passes"].text

    @property
    def text(self) -> Sentence:
        """The answer and what has to be cleared up, as it is said wherever there is only an order."""
        headline = joined((self.headline, "."), "")
        return joined((headline, *(one.text for one in self.because)), " ").with_capitals()

    @property
    def for_the_lesson(self) -> Sentence:
        """What a plan that follows is for, where the order is held; nothing where it is not."""
        return the_facts().phrases["only-for-the-lesson"].text if self.held else Sentence("")


def answer_order(order: Order, site: Site) -> OrderAnswer:
    """Return what an order asks for by itself on a ward: the reasons are those of `decide`."""
    return answer_concerns(concerns_of(order, site), site)


def answer_concerns(concerns: Sequence[Concern], site: Site) -> OrderAnswer:
    """Return what the concerns about an order ask for; those that hold nothing back do not count."""
    found = _concern_reasons([one for one in concerns if one.holds], site)
    return OrderAnswer(because=tuple(sorted(found, key=weight)))


def _concern_reasons(concerns: Sequence[Concern], site: Site) -> Iterator[Reason]:
    """Yield what is to be done about concerns: what is missing, what contradicts or does not fit, a pair that is not mixed."""
    if pair := [one.name for one in concerns if one.key == "pair"]:
        yield reason("order-never-mixed", site, what=joined(pair, "; "))
    if missing := [one.name for one in concerns if one.kind == "missing"]:
        yield reason("order-not-complete", site, what=joined(missing, "; "))
    if unclear := [one.name for one in concerns if one.kind != "missing" and one.key != "pair"]:
        yield reason("order-not-clear", site, what=joined(unclear, "; "))


def chart_reasons(observation: Observation, reading: Reading, site: Site) -> Iterator[Reason]:
    """Yield what the chart asks for."""
    hours, gap = observation.hours_since_dose, site.dose_gap.value
    if hours is None:
        yield reason("last-dose-unknown", site)
    elif hours < gap:
        yield reason("last-dose-recent", site, ago=_ago(hours, gap), gap=gap)
    if observation.changed and reading.high_with_signs and not reading.doubted:
        yield reason("changed-and-high", site, told=says_give(observation))
    elif observation.changed:
        yield reason("changed-state", site)
    if observation.prescriber_says_wait:
        yield reason("prescriber-says-wait", site)
    yield from _low_reasons(observation, reading, site)
    if observation.earlier:
        yield from _high_reasons(observation, site)


def _ago(hours: float, limit: float) -> Sentence:
    """Return how long ago something was, said so that it lies on its own side of a limit of at least one hour."""
    minutes, hours = round(hours * 60), rounded_beside(hours, limit)
    if minutes < 60:
        return counted(minutes, "{count} minute ago", "{count} minutes ago", count=minutes)
    return counted(hours, "{count} hour ago", "{count} hours ago", count=hours)


def _low_reasons(observation: Observation, reading: Reading, site: Site) -> Iterator[Reason]:
    """Yield what earlier lows, and a treatment as a low, ask for."""
    told = says_give(observation)
    lows = [(one.hours_ago, seen) for one in observation.earlier if (seen := look_at(one.glucose, site)).low]
    recent = earlier_lows(observation, site)
    if recent:
        hours, latest = min(recent, key=lambda low: low[0])
        ago, holding = _ago(hours, site.earlier_low.value), the_facts().phrases["holding"].text
        yield reason("earlier-low", site, told=told, ago=ago, reading=latest.shown, holding=holding)
    row = the_facts().notify["several-lows"]
    # the reading of now counts, but alone it is no reason to look back
    if observation.earlier and sum(hours <= row.within_hours for hours, _ in lows) + reading.low >= row.times:
        call = row.do.after_a_colon()
        yield reason("several-lows", site, told=told, hours=row.within_hours, call=call)
    treated = observation.treated_as_low or observation.minutes_after_treatment is not None
    if treated and not recent and not reading.low:
        yield reason("treated-as-low", site, told=told)


def _high_reasons(observation: Observation, site: Site) -> Iterator[Reason]:
    """Yield what several high readings ask for, with the one of now."""
    since = (observation.minutes_old or 0) / 60
    now = () if observation.glucose is None else (Earlier(observation.glucose, since),)
    readings = (*now, *observation.earlier)
    row = the_facts().notify["high-twice"]
    if sum(one.hours_ago <= row.within_hours and _above(one.glucose, row) for one in readings) >= row.times:
        so, line = "changed" if observation.changed else "", Glucose(row.value, row.unit)
        yield reason("high-again", site, so=so, hours=row.within_hours, glucose=line, call=row.do)
    row = the_facts().notify["high-two-days"]
    high = [one.hours_ago for one in readings if one.hours_ago <= row.within_hours and _above(one.glucose, row)]
    if high and min(high) <= row.within_hours / 2 < max(high):
        yield reason("high-two-days", site, glucose=Glucose(row.value, row.unit), call=row.do)


def _above(glucose: Glucose | OffScale, row: NotifyRow) -> bool:
    return crosses(glucose, row) if isinstance(glucose, Glucose) else glucose == "HI"
