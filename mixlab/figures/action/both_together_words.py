"""The picture of both insulins and their sum: the record behind it, its words, and everything it shows described."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

import numpy as np

from mixlab.care.action.absorption import Hours
from mixlab.care.action.curves import ActionCurves, Part
from mixlab.care.action.handbooks import has_row, times_at
from mixlab.care.action.variation import Fan
from mixlab.facts.reading import the_facts
from mixlab.facts.records import TaughtTimes
from mixlab.quantities import number_text, units_text
from mixlab.ward.insulin import Insulin
from mixlab.ward.order.order import Order
from mixlab.ward.site.record import Site
from mixlab.words import say, sentence

from .bars import hours_text, moments, times_text
from .curves import LAST_HOUR
from .differences import difference_words, sentences
from .evidence_words import short_name

Look = Literal["clear", "cloudy"]

MARKER = sentence("counts as acting from here")

MODEL = sentence(
    "model: Berger–Rodbard form, numbers recalled, checked against clamp studies; for teaching, no one's glucose"
)

SEEN: tuple[Look, Look] = ("clear", "cloudy")

PARTS: tuple[Part, ...] = ("clear", "cloudy", "total")


@dataclass(frozen=True, kw_only=True)
class ActionSeen:
    """What is on the sheet.

    Attributes
    ----------
    curves : ActionCurves or None
        None where there is no model for an insulin.
    fan : Fan or None
        The spread of days, if it is shown.
    row : str or None
        The source key of the chosen handbook; None for what the site teaches.
    sum_shown : bool
        Whether the sum of both insulins, and anything that tells of it, may be seen.
    guess_h : float or None
        The hour at which the learner expects the highest point.
    beside : ActionCurves or None
        The same order as ordered at the abdomen, where `curves` differs from it.
    site : Site or None
        Whose taught times these are, also where the chosen handbook has none; the one in force if None.
    """

    order: Order
    curves: ActionCurves | None
    fan: Fan | None
    row: str | None
    sum_shown: bool
    guess_h: float | None
    beside: ActionCurves | None
    site: Site | None = None

    def times(self, look: Look) -> TaughtTimes:
        """Return the times that are shown of an insulin: those of the chosen handbook, or those taught where it has none."""
        return times_at(self.insulin(look), self.row, self.site)

    def stood_in(self, look: Look) -> bool:
        """Say whether the taught times stand in, because the chosen handbook has none of this insulin."""
        return self.row is not None and not has_row(self.insulin(look), self.row)

    def insulin(self, look: Look) -> Insulin:
        """Return the clear or the cloudy insulin of the order."""
        return (self.order.clear if look == "clear" else self.order.cloudy).insulin

    def name(self, part: Part) -> str:
        """Return the name of a line, with the units that are really under the skin."""
        if part == "total":
            return say("both together")
        units = (self.order.clear if part == "clear" else self.order.cloudy).units
        if self.curves:
            units = getattr(self.curves.injection, part).units
        return f"{self.insulin(part)} {units_text(float(f'{units:.3g}'))}"


def has_shoulder(curves: ActionCurves) -> bool:
    """Say whether the sum, once past its only highest point, is carried on by the cloudy insulin.

    It is where the cloudy insulin overtakes the clear one while the sum already falls and the cloudy one still rises.
    """
    top, carried, strongest = curves.peak("total"), curves.cloudy_overtakes(), curves.peak("cloudy")
    if curves.humps("total") != 1 or top is None or carried is None or strongest is None:
        return False
    return top < carried < strongest


def sum_words(curves: ActionCurves) -> str:
    """Return in a few words what shape the sum has, as computed."""
    humps, top = curves.humps("total"), curves.peak("total")
    if top is None:
        return say("no highest point above the line")
    if humps != 1:
        return say("{humps} tops, not one", humps=humps)
    if top > LAST_HOUR:
        return say("one highest point, after the {last_hour} h shown", last_hour=LAST_HOUR)
    if has_shoulder(curves):
        return say("one highest point, then a shoulder")
    return say("one highest point, no shoulder after it")


# The picture and its words ask in turn, and a held key comes back to fans that were seen before.
@lru_cache(maxsize=128)
def band_points(fan: Fan | None) -> dict[Look, tuple[Hours, Hours, Hours]]:
    """Return hours, and what 5 and 95 of 100 days stay below then, at 50 of the fan's hours, closer at the start."""
    if fan is None:
        return {}
    last = int(np.searchsorted(fan.hours, LAST_HOUR, side="right")) - 1
    at = np.unique(np.round(np.linspace(0, 1, 50) ** 2 * last).astype(int))
    few = Fan(hours=fan.hours[at], clear=fan.clear[:, at], cloudy=fan.cloudy[:, at], basis=fan.basis)
    edges = {look: few.band(look, 5, 95) for look in SEEN}
    return {look: (few.hours, low, high) for look, (low, high) in edges.items()}


def row_words(seen: ActionSeen, look: Look) -> str:
    """Return the taught times, and the model's start, strongest hour and end."""
    start, peak, end = moments(seen.curves, look)
    taught = say("{insulin}: taught {hours}", insulin=seen.insulin(look), hours=times_text(seen.times(look)))
    if seen.curves is None:
        return taught
    if start is None:
        return say("{taught}; model: too little to count as acting", taught=taught)
    return say(
        "{taught}; model starts {start}{strongest}, {over}",
        taught=taught,
        start=hours_text(start),
        strongest="" if peak is None else say(", strongest {hours}", hours=hours_text(peak)),
        over=say("not over after 72 h") if end is None else say("ends {hours}", hours=hours_text(end)),
    )


def source_words(seen: ActionSeen) -> str:
    """Return where the taught times come from; an insulin without a row of the chosen source says so."""
    facts, other = the_facts(), [look for look in SEEN if seen.stood_in(look)]
    rows = [row for look in SEEN if look not in other for row in seen.times(look).rows]
    cited = dict.fromkeys(str(facts.cite(row)) for row in rows)
    if len(cited) > 2:  # no room for more: each is cited in the words of the picture
        cited = dict.fromkeys(f"{short_name(facts.sources[row.source])} ({say(row.known)})" for row in rows)
    words = say(
        "Taught (bar from start to end, dark where strongest): {sources}",
        sources="; ".join(cited) or say("no row of the chosen source"),
    )
    for look in other:
        books = [facts.sources[source] for source in seen.times(look).sources]
        named_so = [", ".join(part for part in (book.title.split(",")[0], book.edition) if part) for book in books]
        words += say(
            "; {insulin} has no row there, taught: {source}", insulin=seen.insulin(look), source="; ".join(named_so)
        )
    return words


def notices(seen: ActionSeen) -> list[str]:
    """Return what a reader must know about these curves, one sentence each."""
    if seen.curves is None:
        return [say("No model for this pair: taught times only.")]
    return sentences(difference_words(seen.curves))


def describe_action(seen: ActionSeen) -> str:
    """Return what the sheet shows in words; while the sum is hidden, nothing of it."""
    curves, said = seen.curves, [_taught_words(seen, look) for look in SEEN]
    said += notices(seen)
    if curves:
        said += [*_cited_changes(curves), *(_part_words(seen, curves, look) for look in SEEN)]
        said += [_overtaking(seen, curves), *_spread(seen, curves), _beside_words(seen), _marker_words(curves)]
        if seen.sum_shown:
            both = _part_words(seen, curves, "total")
            said.append(say("{both} It has {shape}.", both=both, shape=sum_words(curves)))
        else:
            said.append(say("The line of both together is hidden. Where will the highest point be?"))
    if seen.guess_h is not None:
        guess = hours_text(seen.guess_h)
        said.append(say("Your guess of its highest point: {hours} after the injection.", hours=guess))
    said += sentences([say(MODEL)]) if curves else []
    return " ".join(filter(None, said))


def _taught_words(seen: ActionSeen, look: Look) -> str:
    facts, times = the_facts(), seen.times(look)
    missing = ""
    if seen.row and seen.stood_in(look):
        missing = say(", for {source} has no row for it", source=facts.sources[seen.row])
    return say(
        "Taught, {insulin}: {hours} ({source}{missing}).",
        insulin=seen.insulin(look),
        hours=times_text(times),
        source=facts.cite(times),
        missing=missing,
    )


def _marker_words(curves: ActionCurves) -> str:
    amount, weight = number_text(round(curves.marker, 2)), number_text(curves.weight_kg)
    level = say("{amount} {units} per hour at {weight} kg", amount=amount, weight=weight)
    marker = the_facts().action["marker_units_per_kg_h"]
    return say("An insulin counts as acting from {level} ({source}).", level=level, source=the_facts().cite(marker))


def _part_words(seen: ActionSeen, curves: ActionCurves, part: Part) -> str:
    start, peak, end = moments(curves, part)
    name = say("Model, {name}:", name=seen.name(part))
    if start is None:
        return say("{name} too little to count as acting.", name=name)
    strongest = ""
    if peak is not None:
        rate = units_text(round(curves.peak_rate(part), 1))
        strongest = say(", strongest at {hours} with {rate} per hour", hours=hours_text(peak), rate=rate)
    over = say("is not over after 72 h") if end is None else say("ends at {hours}", hours=hours_text(end))
    return say(
        "{name} starts at {start}{strongest}, {over}.",
        name=name,
        start=hours_text(start),
        strongest=strongest,
        over=over,
    )


def _overtaking(seen: ActionSeen, curves: ActionCurves) -> str:
    clear, cloudy, hour = seen.insulin("clear"), seen.insulin("cloudy"), curves.cloudy_overtakes()
    if hour is not None:
        at = hours_text(hour)
        return say("From {hours} on {cloudy} acts more than {clear}.", hours=at, cloudy=cloudy, clear=clear)
    ahead = curves.clear - curves.cloudy
    if ahead.min() < 0 < ahead.max():
        return say("Now {clear} acts more, now {cloudy}.", clear=clear, cloudy=cloudy)
    first, second = (clear, cloudy) if ahead.max() > 0 else (cloudy, clear)
    return say("At every hour shown {first} acts more than {second}.", first=first, second=second)


def _spread(seen: ActionSeen, curves: ActionCurves) -> Iterator[str]:
    """Say between what each insulin acts on 90 of 100 days, at the hour where the model has it strongest."""
    for look, (hours, low, high) in band_points(seen.fan).items():
        peak = curves.peak(look)
        if seen.fan and peak is not None and peak <= LAST_HOUR:
            ends = (round(float(np.interp(peak, hours, edge)), 1) for edge in (low, high))
            yield say(
                "On 90 of 100 simulated days {insulin} acts with {span} {units} per hour at {hours} (spread after {source}).",
                insulin=seen.insulin(look),
                span="–".join(str(number_text(end)) for end in ends),
                hours=hours_text(peak),
                source=the_facts().cite(seen.fan.basis[SEEN.index(look)]),
            )


def _beside_words(seen: ActionSeen) -> str:
    if seen.beside is None:
        return ""
    parts = PARTS if seen.sum_shown else SEEN
    peaks = [(seen.insulin(part) if part != "total" else say("both"), seen.beside.peak(part)) for part in parts]
    told = [say("{name} at {hours}", name=name, hours=hours_text(peak)) for name, peak in peaks if peak is not None]
    return (
        say("Thin gray, as ordered at the abdomen: strongest {strongest}.", strongest=", ".join(told)) if told else ""
    )


def _cited_changes(curves: ActionCurves) -> Iterator[str]:
    """Say what the place, the spell and the slip rest on."""
    facts = the_facts()
    for fact in curves.injection.basis:
        yield say("For the slip: {source}.", source=facts.cite(fact))
    if curves.body_site != "abdomen":
        for look in SEEN:
            insulin = getattr(curves.injection, look).insulin
            factor = facts.body_sites[curves.body_site].half_time[insulin.key]
            yield say(
                "There {insulin} takes {factor} times as long ({source}).",
                insulin=insulin,
                factor=number_text(factor.value),
                source=facts.cite(factor),
            )
    if curves.spell:
        yield say("How much faster: {source}.", source=facts.cite(curves.spell.row))
