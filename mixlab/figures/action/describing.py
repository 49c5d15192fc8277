"""The large picture of a mixed dose's action, described in words."""

from __future__ import annotations

import numpy as np

from mixlab.care.action.curves import ActionCurves, Part
from mixlab.facts.shelf import shelf
from mixlab.quantities import number_text, units_text
from mixlab.words import say

from .curves import LAST_HOUR, times_text
from .differences import sentences
from .large_words import MODEL, PARTS, SEEN, ActionSeen, band_points, hours_text, moments, notices, sum_words


def describe_action(seen: ActionSeen) -> str:
    """Return what the sheet shows in words; while the sum is hidden, nothing of it."""
    facts, curves = shelf(), seen.curves
    said = []
    for look in SEEN:
        insulin = seen.insulin(look)
        times = seen.times(look)
        missing = (
            "" if times.source == seen.row else say(", for {source} has no row for it", source=facts.sources[seen.row])
        )
        said.append(
            say(
                "Taught, {insulin}: {hours} ({source}{missing}).",
                insulin=insulin,
                hours=times_text(times),
                source=facts.cite(times),
                missing=missing,
            )
        )
    said += notices(seen)
    if curves:
        said += _cited_changes(curves)
        said += [_part_words(seen, curves, look) for look in SEEN]
        said += [_overtaking(seen, curves), *_spread(seen, curves), _beside_words(seen)]
        marker = facts.action["marker_units_per_kg_h"]
        level = say(
            "{amount} {units} per hour at {weight} kg",
            amount=number_text(round(curves.marker, 2)),
            weight=number_text(curves.weight_kg),
        )
        said.append(say("An insulin counts as acting from {level} ({source}).", level=level, source=facts.cite(marker)))
    if curves and seen.sum_shown:
        said.append(
            say(
                "{both} It has {shape}.",
                both=_part_words(seen, curves, "total"),
                shape=sum_words(curves),
            )
        )
    elif curves:
        said.append(say("The line of both together is hidden. Where will the highest point be?"))
    if seen.guess_h is not None:
        said.append(
            say(
                "Your guess of its highest point: {hours} after the injection.",
                hours=hours_text(seen.guess_h),
            )
        )
    said += sentences([say(MODEL)]) if curves else []
    return " ".join(sentence for sentence in said if sentence)


def _part_words(seen: ActionSeen, curves: ActionCurves, part: Part) -> str:
    start, peak, end = moments(curves, part)
    name = say("Model, {name}:", name=seen.name(part))
    if start is None:
        return say("{name} too little to count as acting.", name=name)
    rate = units_text(round(curves.peak_rate(part), 1))
    strongest = (
        "" if peak is None else say(", strongest at {hours} with {rate} per hour", hours=hours_text(peak), rate=rate)
    )
    return say(
        "{name} starts at {start}{strongest}, {over}.",
        name=name,
        start=hours_text(start),
        strongest=strongest,
        over=say("is not over after 72 h") if end is None else say("ends at {hours}", hours=hours_text(end)),
    )


def _overtaking(seen: ActionSeen, curves: ActionCurves) -> str:
    clear, cloudy, hour = seen.insulin("clear"), seen.insulin("cloudy"), curves.cloudy_overtakes()
    if hour is not None:
        return say(
            "From {hours} on {cloudy} acts more than {clear}.",
            hours=hours_text(hour),
            cloudy=cloudy,
            clear=clear,
        )
    ahead = curves.clear - curves.cloudy
    if ahead.min() < 0 < ahead.max():
        return say("Now {clear} acts more, now {cloudy}.", clear=clear, cloudy=cloudy)
    first, second = (clear, cloudy) if ahead.max() > 0 else (cloudy, clear)
    return say("At every hour shown {first} acts more than {second}.", first=first, second=second)


def _spread(seen: ActionSeen, curves: ActionCurves) -> list[str]:
    """Return between what each insulin acts on 90 of 100 days, at the hour where the model has it strongest."""
    said = []
    for look, (hours, low, high) in band_points(seen.fan).items():
        peak = curves.peak(look)
        if seen.fan and peak is not None and peak <= LAST_HOUR:
            span = "–".join(str(number_text(round(float(np.interp(peak, hours, edge)), 1))) for edge in (low, high))
            row = seen.fan.basis[SEEN.index(look)]
            said.append(
                say(
                    "On 90 of 100 simulated days {insulin} acts with {span} {units} per hour at {hours} (spread after {source}).",
                    insulin=seen.insulin(look),
                    span=span,
                    hours=hours_text(peak),
                    source=shelf().cite(row),
                )
            )
    return said


def _beside_words(seen: ActionSeen) -> str:
    if seen.beside is None:
        return ""
    parts = PARTS if seen.sum_shown else SEEN
    peaks = [(seen.insulin(part) if part != "total" else say("both"), seen.beside.peak(part)) for part in parts]
    strongest = ", ".join(
        say("{name} at {hours}", name=name, hours=hours_text(peak)) for name, peak in peaks if peak is not None
    )
    return say("Thin gray, as ordered at the abdomen: strongest {strongest}.", strongest=strongest) if strongest else ""


def _cited_changes(curves: ActionCurves) -> list[str]:
    """Return what the place, the spell and the slip rest on."""
    facts = shelf()
    said = [say("For the slip: {source}.", source=facts.cite(fact)) for fact in curves.injection.basis]
    if curves.body_site != "abdomen":
        for look in SEEN:
            insulin = getattr(curves.injection, look).insulin
            factor = facts.body_sites[curves.body_site].half_time[insulin.key]
            said.append(
                say(
                    "There {insulin} takes {factor} times as long ({source}).",
                    insulin=insulin,
                    factor=number_text(factor.value),
                    source=facts.cite(factor),
                )
            )
    if curves.spell:
        said.append(say("How much faster: {source}.", source=facts.cite(curves.spell.row)))
    return said
