"""What a glucose reading says by itself on one ward: low, serious, high, off the meter, or perhaps in the wrong unit."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from mixlab.facts.records import Fact, Threshold
from mixlab.facts.shelf import shelf
from mixlab.quantities import Glucose
from mixlab.ward.meter import allowance, in_the_other_unit, off_the_meter
from mixlab.ward.observation import OffScale
from mixlab.ward.site.glucose_lines import crosses, line_text
from mixlab.ward.site.record import Site
from mixlab.words import Sentence, joined, sentence

from .answers import COMMON, Choice, Reason, ReasonKey


@dataclass(frozen=True, kw_only=True)
class Reading:
    """A reading as one ward looks at it.

    Attributes
    ----------
    shown : Sentence
        As the meter shows it, in the ward's unit.
    on_hold_scale : Sentence
        The same in the unit of the hold line, in which it is compared.
    low, serious : bool
        Whether it crosses the hold line, and the line of a serious low. What the meter shows as ``LO`` does both.
    to_report, above_meter : bool
        Whether it crosses the report line, and whether it is too high for the meter.
    high_with_signs : bool
        Whether it is high enough that signs, vomiting or a changed state are not taken for a low: past the report line or
        the line of the notify row high-twice, whichever is lower.
    because : tuple of Reason
        What it asks for by itself.
    allowance : tuple of two Glucose, or None
        The lowest and highest true glucose it may stand for; None if the meter shows no number.
    """

    shown: Sentence
    on_hold_scale: Sentence
    low: bool
    serious: bool
    to_report: bool
    above_meter: bool
    high_with_signs: bool
    because: tuple[Reason, ...]
    allowance: tuple[Glucose, Glucose] | None

    @property
    def high(self) -> bool:
        """Whether it lies past the report line or above what the meter can show."""
        return self.to_report or self.above_meter


@lru_cache(maxsize=4096)
def look_at(glucose: Glucose | OffScale, site: Site, answered: bool = False) -> Reading:
    """Look at a reading by a ward's lines, each in its own unit on the value as the meter shows it.

    `answered` says that the prescriber has been told and says to give: that answers a reading above the meter's range.
    """
    return _number(glucose, site, answered) if isinstance(glucose, Glucose) else _off_scale(glucose, site, answered)


_ANSWERED = sentence(
    "Asked and answered. The {prescriber} says to give this dose now; have the laboratory confirm the reading besides."
)


def _off_scale(shown: OffScale, site: Site, answered: bool) -> Reading:
    low = shown == "LO"
    if low:
        text = sentence(
            "The meter shows LO: the glucose lies below {end}. Treat it as a serious low, and confirm it while you treat.",
            end=_end_text(site.meter_low),
        )
        found = Reason(choice="hold and treat", key="meter-shows-lo", text=text, rule=site.cite(site.meter_low))
    else:
        text = sentence("The meter shows HI: the glucose lies above {end}.", end=_end_text(site.meter_high))
        then = _ANSWERED if answered else sentence("Call the {prescriber}, and have the laboratory confirm it.")
        found = Reason(
            choice="give and report" if answered else "check first",
            key="meter-shows-hi",
            text=joined((text, then), " "),
            rule=_too_high(site),
        )
    return Reading(
        shown=joined((shown,)),
        on_hold_scale=joined((shown,)),
        low=low,
        serious=low,
        to_report=False,
        above_meter=not low,
        high_with_signs=not low,
        because=(found,),
        allowance=None,
    )


def _number(glucose: Glucose, site: Site, answered: bool) -> Reading:
    serious = crosses(glucose, site.level_2_line)
    low = serious or crosses(glucose, site.hold_line)
    high = not low and crosses(glucose, site.report_line)
    because = []
    if serious:
        because.append(_line("hold and treat", "level-2-line", glucose, site.level_2_line, site))
    elif low:
        because.append(_line("hold and treat", "below-hold-line", glucose, site.hold_line, site))
    elif high:
        because.append(_line("give and report", "report-line", glucose, site.report_line, site))
    elif site.near_low_line and crosses(glucose, site.near_low_line):
        because.append(_near_low(glucose, site.near_low_line, site))
    end = off_the_meter(glucose, site)
    above = end is site.meter_high
    if end is not None:
        because.append(_off_the_meter(glucose, end, above, answered, site))
    meant = in_the_other_unit(glucose, site)
    if meant is not None:
        text = sentence(
            "Is it {number} {measure}, or was {number} {other} meant? Look at the unit on the meter's screen.",
            number=glucose.value,
            measure=glucose.unit,
            other=meant.unit,
        )
        because.append(Reason(choice="check first", key="which-unit", text=text, rule=COMMON))
    reach = allowance(glucose)
    if not low and end is None and crosses(reach[0], site.hold_line):
        because.append(_allowance(glucose, reach, site))
    return Reading(
        shown=_shown(glucose.to(site.glucose_unit)),
        on_hold_scale=_shown(glucose.to(site.hold_line.unit)),
        low=low,
        serious=serious,
        to_report=high,
        above_meter=above,
        high_with_signs=high or above or (not low and crosses(glucose, shelf().notify["high-twice"])),
        because=tuple(because),
        allowance=reach,
    )


def _shown(glucose: Glucose) -> Sentence:
    """Return a reading as a meter shows it; readings that look alike there are alike."""
    return joined((glucose.shown(), glucose.unit), " ")


def _off_the_meter(glucose: Glucose, end: Fact, above: bool, answered: bool, site: Site) -> Reason:
    if not above:
        text = sentence("{glucose} lies below what the meter can measure ({end}).", glucose=glucose, end=_end_text(end))
        return Reason(choice="check first", key="below-meter", text=text, rule=site.cite(end))
    text = sentence("{glucose} lies above what the meter can measure ({end}).", glucose=glucose, end=_end_text(end))
    return Reason(
        choice="give and report" if answered else "check first",
        key="above-meter",
        text=joined((text, _ANSWERED), " ") if answered else text,
        rule=_too_high(site),
    )


def _end_text(end: Fact) -> Sentence:
    """Return an end of the meter's range: ``"20 mg/dL"``."""
    return joined((end.value, end.unit), " ")


_LINE: dict[ReasonKey, Sentence] = {
    "level-2-line": sentence("{glucose} is {line}: a serious low."),
    "below-hold-line": sentence("{glucose} is {line}: a low."),
    "report-line": sentence("{glucose} is {line}: high enough to report."),
}
"""What it means that a reading crosses a line."""


def _line(choice: Choice, key: ReasonKey, glucose: Glucose, line: Threshold, site: Site) -> Reason:
    text = _LINE[key].filled(glucose=glucose.to(line.unit), line=line_text(line))
    return Reason(choice=choice, key=key, text=text, rule=site.cite(line))


def _near_low(glucose: Glucose, line: Threshold, site: Site) -> Reason:
    text = sentence(
        "{glucose} is {line}: not low, but near it. Call as soon as possible.",
        glucose=glucose.to(line.unit),
        line=line_text(line),
    )
    rule = joined((site.cite(line), shelf().cite(shelf().notify["near-low"])), "; ")
    return Reason(choice="give and report", key="near-low", text=text, rule=rule)


def _allowance(glucose: Glucose, reach: tuple[Glucose, Glucose], site: Site) -> Reason:
    low, high = (end.to(site.glucose_unit) for end in reach)
    text = sentence(
        "By the meter's allowed error {glucose} may stand for {low} to {high}, so the true glucose may be {hold_line}, and some people have no warning signs: look again for signs, and measure again soon.",
        glucose=glucose.to(site.glucose_unit),
        low=low.shown(),
        high=high,
        hold_line=line_text(site.hold_line),
    )
    facts = shelf()
    rule = joined((allowance_rule(), facts.cite(facts.rules["no-warning"])), "; ")
    return Reason(choice="give", key="allowance-reaches-line", text=text, rule=rule)


@lru_cache(maxsize=4096)
def allowance_rule() -> Sentence:
    """Return who says how far a meter may be off."""
    return shelf().cite(shelf().bedside["meter_allowance_mg_dl"])


def _too_high(site: Site) -> Sentence:
    facts = shelf()
    return joined((site.cite(site.meter_high), facts.cite(facts.rules["too-high-for-the-meter"])), "; ")
