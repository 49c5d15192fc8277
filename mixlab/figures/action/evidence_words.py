"""One insulin of an order and all that is said about when it acts: the record behind the picture, and its words."""

from __future__ import annotations

import re
import textwrap
from dataclasses import dataclass
from typing import Literal

import numpy as np

from mixlab.care.action.curves import ActionCurves
from mixlab.care.action.handbooks import has_row, times_at
from mixlab.care.action.injection import Portion
from mixlab.care.action.studies import spread_words
from mixlab.care.action.variation import Fan
from mixlab.facts.action_rows import TrialRow
from mixlab.facts.reading import the_facts
from mixlab.facts.records import ActionTimes, Source, TaughtTimes
from mixlab.quantities import number_text, units_text
from mixlab.ward.insulin import Insulin
from mixlab.ward.order.order import Dose, Order
from mixlab.ward.site.record import Site
from mixlab.words import say, sentence

from .bars import hours_text, moments, times_text
from .differences import difference_words, sentences

MOMENTS = {"onset": sentence("starts"), "peak": sentence("strongest"), "end": sentence("ends")}

TrialLine = dict[str, TrialRow]
"""What one study measured after one dose, by moment."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Evidence:
    """One insulin of an order, with all that is said about when it acts.

    Attributes
    ----------
    curves : ActionCurves or None
        None where there is no model for this order.
    fan : Fan or None
        How the model differs from day to day; None to leave it out.
    row : str or None
        The source of the one handbook to be marked; None for all that the site teaches, which also stand in where it has no
        row of this insulin.
    site : Site or None
        Whose taught times those are; the one in force if None.
    """

    order: Order
    look: Literal["clear", "cloudy"]
    curves: ActionCurves | None
    fan: Fan | None
    row: str | None
    site: Site | None = None

    @property
    def dose(self) -> Dose:
        """The dose of this insulin as ordered."""
        return self.order.clear if self.look == "clear" else self.order.cloudy

    @property
    def chosen(self) -> TaughtTimes:
        """The times of the handbooks to be marked."""
        return times_at(self.dose.insulin, self.row, self.site)

    @property
    def has_row(self) -> bool:
        """Whether the source named by `row` says anything about this insulin; of what the site teaches it always does."""
        return self.row is None or has_row(self.dose.insulin, self.row)

    @property
    def portion(self) -> Portion | None:
        """What the model follows of this insulin; None without a model."""
        return None if self.curves is None else getattr(self.curves.injection, self.look)

    @property
    def model_hours(self) -> dict[str, float | None]:
        """When the model has this insulin start, act most and end; nothing without a model."""
        return dict(zip(MOMENTS, moments(self.curves, self.look), strict=True)) if self.curves else {}

    @property
    def peak_days(self) -> tuple[float, float] | None:
        """The hours between which 90 of 100 days have their greatest action; None without a fan."""
        if self.fan is None or self.curves is None:
            return None
        days = self.fan.clear if self.look == "clear" else self.fan.cloudy
        low, high = np.percentile(self.fan.hours[days.argmax(axis=1)], (5, 95))
        return float(low), float(high)


def trial_lines(insulin: Insulin) -> tuple[TrialLine, ...]:
    """Return what studies of this insulin alone measured, the smallest dose first."""
    found: dict[tuple[object, ...], list[TrialLine]] = {}
    for trial in the_facts().trials.values():
        if trial.insulin == insulin.key and trial.moment in MOMENTS:
            lines = found.setdefault((trial.source, trial.units, trial.body_site), [{}])
            if trial.moment in lines[-1]:
                lines.append({})
            lines[-1][trial.moment] = trial
    every = (line for lines in found.values() for line in lines)
    return tuple(sorted(every, key=lambda line: (not any_of(line).dose_told, any_of(line).units)))


def any_of(line: TrialLine) -> TrialRow:
    """Return one row of a line, for what all of them share."""
    return next(iter(line.values()))


def short_name(source: Source) -> str:
    """Return the first words of a citation and its year, if it has one: ``"Heinemann 1989"``."""
    year = re.search(r"\b(?:19|20)\d\d\b", f"{source.title} {source.edition}")
    head = re.split(r"\s*[,(;:]|\s+(?:19|20)\d\d\b", source.title)[0]
    short = textwrap.shorten(head, 32, placeholder=" …")
    return f"{re.sub(r'( (of|and|for|the|&))+ …$', ' …', short)}{f' {year[0]}' if year else ''}"


def dose_words(trial: TrialRow) -> str:
    """Return the dose of a study, or that it is not known."""
    return str(units_text(trial.units[0])) if trial.dose_told else say("dose unknown")


def missing_words(times: ActionTimes) -> str:
    """Return which times a source does not give, in words."""
    if times.onset is None:
        return say("no start given") if times.peak else say("no start and no strongest hours given")
    return "" if times.peak else say("no strongest hours given")


def no_model_words(order: Order) -> str:
    """Return why there is no curve, in words."""
    without = [str(dose.insulin) for dose in order.doses if dose.insulin.key not in the_facts().absorption]
    if not without:
        return say("The model draws no curve for this order.")
    return say("The model draws no curve: it has no numbers for {insulins}.", insulins=say(" and ").join(without))


def notice_words(evidence: Evidence) -> list[str]:
    """Return how what the model follows differs from the order at the abdomen, and what it was not made for."""
    return [] if evidence.curves is None else difference_words(evidence.curves, (evidence.look,))


def model_units(evidence: Evidence) -> str:
    """Return the dose that the model follows, in words."""
    return "" if evidence.portion is None else str(units_text(float(f"{evidence.portion.units:.3g}")))


def describe_evidence(evidence: Evidence) -> str:
    """Return everything the picture shows in sentences: handbooks, studies, then the model."""
    insulin = evidence.dose.insulin
    told = [
        say(
            "Who says what about {insulin} ({look}), ordered as {amount}.",
            insulin=insulin,
            look=say(evidence.look),
            amount=units_text(evidence.dose.units),
        ),
        say("All hours count from the injection. Handbooks, {count} sources.", count=len(insulin.row.times)),
        *(_book_sentence(times, times in evidence.chosen.rows) for times in insulin.row.times),
    ]
    if len(evidence.chosen.rows) > 1:
        told.append(
            say("Taught together, from the earliest to the latest: {hours}.", hours=times_text(evidence.chosen))
        )
    if evidence.row and not evidence.has_row:
        source = short_name(the_facts().sources[evidence.row])
        told.append(
            say("{source} has no row for {insulin}; what is taught of it is marked.", source=source, insulin=insulin)
        )
    return " ".join([*told, *_study_sentences(insulin), *_model_sentences(evidence)])


def _book_sentence(times: ActionTimes, chosen: bool) -> str:
    told = [times_text(times), missing_words(times)]
    sentence = f"{the_facts().cite(times)}: {'; '.join(filter(None, told))}."
    return say("Marked, taught here: {row}", row=sentence) if chosen else sentence


def _study_sentences(insulin: Insulin) -> list[str]:
    lines = trial_lines(insulin)
    if not lines:
        return [say("No study of {insulin} alone stands among our facts.", insulin=insulin)]
    told = [say("Studies of {insulin} alone.", insulin=insulin)]
    for line, some in zip(lines, map(any_of, lines), strict=True):
        place = ""
        if some.body_site != "abdomen":
            place = say(", into the {place}", place=say(the_facts().body_sites[some.body_site].name))
        figures = "; ".join(f"{say(MOMENTS[moment])} {_figure(line[moment])}" for moment in MOMENTS if moment in line)
        notes = " ".join(dict.fromkeys(say(trial.note) for trial in line.values() if trial.note))
        told.append(f"{the_facts().cite(some)}, {dose_words(some)}{place}: {figures}.{f' {notes}' if notes else ''}")
    return told


def _figure(trial: TrialRow) -> str:
    value, low, high = (number_text(round(hour, 2)) for hour in (trial.value, trial.low, trial.high))
    if low == high:
        return say("{value} h, no spread given", value=value)
    return say("{value} h ({low} to {high} h, {spread})", value=value, low=low, high=high, spread=spread_words(trial))


def _model_sentences(evidence: Evidence) -> list[str]:
    curves, insulin = evidence.curves, evidence.dose.insulin
    if curves is None:
        return [no_model_words(evidence.order)]
    facts, hours = the_facts(), evidence.model_hours
    if hours["onset"] is None:
        when = say("never acts enough to count as begun")
    else:
        said = (say("after more than 72 h") if hour is None else hours_text(hour) for hour in hours.values())
        when = ", ".join(f"{say(MOMENTS[moment])} {hour}" for moment, hour in zip(hours, said, strict=True))
    told = [
        say(
            "The model for {amount}: {when}. Its curve is a shape without a scale. It has the form of {source}; its numbers are recalled and were checked against clamp studies.",
            amount=model_units(evidence),
            when=when,
            source=facts.cite(facts.absorption[insulin.key]),
        ),
        say(
            "Start and end are where the action passes {amount} {units} per hour, for {weight} kg: {source}.",
            amount=number_text(round(curves.marker, 3)),
            weight=number_text(curves.weight_kg),
            source=facts.cite(facts.action["marker_units_per_kg_h"]),
        ),
    ]
    return [*told, *_day_sentences(evidence), *sentences(notice_words(evidence))]


def _day_sentences(evidence: Evidence) -> list[str]:
    fan, days, look = evidence.fan, evidence.peak_days, evidence.look
    if fan is None or days is None or evidence.curves is None:
        return []
    top = int(np.argmax(np.interp(fan.hours, evidence.curves.hours, getattr(evidence.curves, look))))
    most = evidence.curves.peak_rate(look)
    pale, dark = (
        say(" and ").join(f"{edge[top] / most:.0%}".replace("%", " %") for edge in fan.band(look, *percents))
        for percents in ((5, 95), (25, 75))
    )
    row = fan.basis[0 if look == "clear" else 1]
    return [
        say(
            "From day to day one person differs: on 90 of 100 days the dose is strongest between {first} and {last}{later}. At the hour where the model is strongest, the action lies between {pale} of the model's on 90 of 100 days, between {dark} on 50: {source}.",
            first=hours_text(days[0]),
            last=hours_text(days[1]),
            later=say(" or later") if days[1] >= fan.hours[-1] else "",
            pale=pale,
            dark=dark,
            source=the_facts().cite(row),
        )
    ]
