"""What a glucose reading says by itself on one ward: low, serious, high, off the meter, too old, or in the wrong unit."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

from mixlab.facts.reading import the_facts
from mixlab.facts.records import Fact, Threshold
from mixlab.quantities import Glucose, rounded_beside
from mixlab.ward.meter import allowance, in_the_other_unit, off_the_meter
from mixlab.ward.observation import Observation, OffScale
from mixlab.ward.site.glucose_lines import crosses, line_text
from mixlab.ward.site.record import Site
from mixlab.words import Sentence, joined

from .answers import Reason, reason, says_give
from .swallowing import by_mouth_used_up, felt


@dataclass(frozen=True, kw_only=True)
class Reading:
    """A reading, or that there is none, as one ward looks at it.

    Attributes
    ----------
    shown : Sentence
        As the meter shows it, in the ward's unit; or that there is no reading.
    on_hold_scale : Sentence
        The same in the unit of the hold line, in which it is compared.
    low, serious : bool
        Whether it crosses the hold line, and the line of a serious low. What the meter shows as ``LO`` does both.
    to_report, urgent, above_meter : bool
        Whether it crosses the report line, the line above which it is urgent, and whether it is too high for the meter.
    high_with_signs : bool
        Whether it is high enough that signs, vomiting or a changed state are not taken for a low: past the report line or
        the line of the notify row high-twice, whichever is lower.
    near_low : bool
        Whether it is not low but crosses the line near a low, or may be low by the meter's allowed error.
    near_by_the_meter : bool
        Whether the lowest glucose it may stand for is near a low.
    doubted : bool
        Whether the number may have been meant in the other unit.
    allowance : tuple of two Glucose, or None
        The lowest and highest true glucose it may stand for; None if the meter shows no number.
    known : bool
        Whether there is a reading; without one nothing else of it holds.
    """

    shown: Sentence
    on_hold_scale: Sentence
    low: bool
    serious: bool
    to_report: bool = False
    urgent: bool = False
    above_meter: bool
    high_with_signs: bool
    near_low: bool = False
    near_by_the_meter: bool = False
    doubted: bool = False
    allowance: tuple[Glucose, Glucose] | None = None
    known: bool = True

    @property
    def high(self) -> bool:
        """Whether it lies past the report line or above what the meter can show."""
        return self.to_report or self.above_meter

    @property
    def comfortable(self) -> bool:
        """Whether it is a number that is not low, not near it even by the meter's allowed error, not high, and not in doubt."""
        return self.allowance is not None and not (
            self.low or self.near_low or self.near_by_the_meter or self.high_with_signs or self.doubted
        )

    @property
    def not_low(self) -> bool:
        """Whether there is a reading, and it is not low."""
        return self.known and not self.low


@lru_cache(maxsize=4096)
def look_at(glucose: Glucose | OffScale | None, site: Site) -> Reading:
    """Look at a reading by a ward's lines, each in its own unit on the value as the meter shows it."""
    if not isinstance(glucose, Glucose):
        shown = joined((glucose,)) if glucose else the_facts().phrases["no-reading"].text
        low, high, known = glucose == "LO", glucose == "HI", glucose is not None
        return Reading(
            shown=shown, on_hold_scale=shown, low=low, serious=low, above_meter=high, high_with_signs=high, known=known
        )
    serious = crosses(glucose, site.level_2_line)
    low = serious or crosses(glucose, site.hold_line)
    high, above = not low and crosses(glucose, site.report_line), off_the_meter(glucose, site) is site.meter_high
    lowest, _ = allowance(glucose)
    near = site.near_low_line is not None and crosses(glucose, site.near_low_line)
    return Reading(
        shown=_shown(glucose.to(site.glucose_unit)),
        on_hold_scale=_shown(glucose.to(site.hold_line.unit)),
        low=low,
        serious=serious,
        to_report=high,
        urgent=high and site.urgent_high_line is not None and crosses(glucose, site.urgent_high_line),
        above_meter=above,
        high_with_signs=high or above or (not low and crosses(glucose, the_facts().notify["high-twice"])),
        near_low=not low and (near or crosses(lowest, site.hold_line)),
        near_by_the_meter=site.near_low_line is not None and crosses(lowest, site.near_low_line),
        doubted=in_the_other_unit(glucose, site) is not None,
        allowance=allowance(glucose),
    )


def _shown(glucose: Glucose) -> Sentence:
    """Return a reading as a meter shows it; readings that look alike there are alike."""
    return joined((glucose.shown(), glucose.unit), " ")


def earlier_lows(observation: Observation, site: Site) -> list[tuple[float, Reading]]:
    """Return the lows on the chart that still count, each behind the hours since then."""
    lows = ((one.hours_ago, look_at(one.glucose, site)) for one in observation.earlier)
    return [(hours, seen) for hours, seen in lows if seen.low and hours <= site.earlier_low.value]


def too_old(minutes: float | None, site: Site) -> bool:
    """Say whether a reading is too old to act on; one of unknown age is."""
    return minutes is None or minutes > site.reading_age.value


def has_had_its_time(minutes: float | None, site: Site) -> bool:
    """Say whether a treatment so many minutes ago, if there was one, has had its time to work."""
    return minutes is None or minutes >= site.recheck.value


def too_early(observation: Observation, site: Site) -> bool:
    """Say whether a reading was taken too soon after a treatment to decide by; a low is one at any time."""
    in_time = has_had_its_time(observation.minutes_after_treatment, site)
    return look_at(observation.glucose, site).not_low and not in_time


def reading_reasons(observation: Observation, site: Site) -> Iterator[Reason]:
    """Yield what the reading, its age, the time since a treatment and the number of treatments ask for."""
    if _is_treated(observation, site) and by_mouth_used_up(observation, site):
        yield reason("by-mouth-used-up", site, oral_treatments=site.oral_treatments.value)
    if observation.glucose is None:
        yield reason("no-reading", site)
        return
    yield from _number_reasons(observation.glucose, site, says_give(observation))
    minutes, limit = observation.minutes_old, site.reading_age.value
    if minutes is None:
        yield reason("reading-age-unknown", site, limit=limit)
    elif math.isinf(minutes):
        yield reason("reading-too-old", site, so="very old", limit=limit)
    elif too_old(minutes, site):
        yield reason("reading-too-old", site, age=rounded_beside(minutes, limit), limit=limit)
    after, recheck = observation.minutes_after_treatment, site.recheck.value
    if after is not None and too_early(observation, site):
        yield reason("reading-too-early", site, minutes=rounded_beside(after, recheck), recheck=recheck)


def _is_treated(observation: Observation, site: Site) -> bool:
    """Say whether a ward treats what was found: a low, a reading near one where it treats these too, signs without a reading."""
    glucose = observation.glucose
    if glucose is None:
        return bool(felt(observation))
    near = isinstance(glucose, Glucose) and site.near_low_line and crosses(glucose, site.near_low_line)
    return look_at(glucose, site).low or bool(near and site.near_low_answer.value == "treat")


@lru_cache(maxsize=4096)
def _number_reasons(glucose: Glucose | OffScale, site: Site, told: bool) -> tuple[Reason, ...]:
    if glucose == "LO":
        return (reason("meter-shows-lo", site, end=_end_text(site.meter_low)),)
    if glucose == "HI":
        return (reason("meter-shows-hi", site, told=told, end=_end_text(site.meter_high)),)
    return (*_line_reasons(glucose, site, told), *_meter_reasons(glucose, site, told))


def _line_reasons(glucose: Glucose, site: Site, told: bool) -> Iterator[Reason]:
    """Yield which line of the ward the reading crosses: one, the gravest."""
    reading = look_at(glucose, site)

    def crossed(key: str, line: Threshold) -> Reason:
        return reason(key, site, told=told, glucose=glucose.to(line.unit), line=line_text(line))

    if reading.serious:
        yield crossed("level-2-line", site.level_2_line)
    elif reading.low:
        yield crossed("below-hold-line", site.hold_line)
    elif reading.urgent and site.urgent_high_line:
        yield crossed("urgent-high-line", site.urgent_high_line)
    elif reading.to_report:
        yield crossed("report-line", site.report_line)
    elif site.near_low_line and crosses(glucose, site.near_low_line):
        match site.near_low_answer.value:
            case "treat":
                yield crossed("near-a-low-treated", site.near_low_line)
            case "give and report":
                yield crossed("near-a-low-reported", site.near_low_line)
            case _:
                yield crossed("near-a-low", site.near_low_line)


def _meter_reasons(glucose: Glucose, site: Site, told: bool) -> Iterator[Reason]:
    """Yield what the meter itself leaves open: the end of its range, the unit, and how far it may be off."""
    reading, end, meant = look_at(glucose, site), off_the_meter(glucose, site), in_the_other_unit(glucose, site)
    if reading.above_meter:
        yield reason("above-meter", site, told=told, glucose=glucose, end=_end_text(site.meter_high))
    elif end is not None:
        yield reason("below-meter", site, glucose=glucose, end=_end_text(end))
    if meant is not None:
        yield reason("which-unit", site, number=glucose.value, measure=glucose.unit, other=meant.unit)
    low, high = allowance(glucose)
    if not reading.low and end is None and crosses(low, site.hold_line):
        yield reason(
            "allowance-reaches-line",
            site,
            glucose=glucose.to(site.glucose_unit),
            low=low.to(site.glucose_unit).shown(),
            high=high.to(site.glucose_unit),
            hold_line=site.hold_text,
        )


def _end_text(end: Fact) -> Sentence:
    """Return an end of the meter's range: ``"20 mg/dL"``."""
    return joined((end.value, end.unit), " ")
