"""Two wards side by side: the records behind the picture, and everything it shows in words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from mixlab.care.decision.answers import Choice, answer_text
from mixlab.quantities import ClockTime, Glucose, GlucoseUnit
from mixlab.words import plural, say

MarkKind = Literal["dose", "draw up", "eat", "meal", "visit", "round", "sleep"]
"""What stands on the strip of a day."""


@dataclass(frozen=True, kw_only=True)
class Zone:
    """Neighbouring readings with one answer."""

    start: Glucose
    end: Glucose
    choice: Choice


@dataclass(frozen=True, kw_only=True)
class DayMark:
    """One time of the day, or a window."""

    kind: MarkKind
    start: ClockTime
    end: ClockTime


@dataclass(frozen=True, kw_only=True)
class Ward:
    """One of the two wards.

    Attributes
    ----------
    lines : tuple of Glucose
        Its own glucose lines, in its own unit.
    zones : tuple of Zone
        The answers along all readings, for a patient without signs who eats.
    when_lo, when_hi : str
        The answers to LO and to HI.
    day : tuple of DayMark
        The day after the same dose.
    """

    name: str
    measure: GlucoseUnit
    lines: tuple[Glucose, ...]
    zones: tuple[Zone, ...]
    when_lo: Choice
    when_hi: Choice
    day: tuple[DayMark, ...]


@dataclass(frozen=True, kw_only=True)
class Flip:
    """Neighbouring readings that get another answer; `start` and `end` are words for LO and HI.

    `beside` is the unit of the second ward, where that is another one.
    """

    start: Glucose | Literal["LO", "HI"]
    end: Glucose | Literal["LO", "HI"]
    before: Choice
    after: Choice
    beside: GlucoseUnit | None = None

    def __str__(self) -> str:
        at = _from_to(self.start, self.end)
        if self.beside and isinstance(self.start, Glucose) and isinstance(self.end, Glucose):
            there = _from_to(self.start.to(self.beside), self.end.to(self.beside))
            at = say("{here} ({there})", here=at, there=there)
        return say("{at}: {before} → {after}", at=at, before=say(self.before), after=say(self.after))


def _from_to(start: Glucose | str, end: Glucose | str) -> str:
    return str(start) if str(start) == str(end) else say("{first} to {last}", first=number_of(start), last=end)


def number_of(reading: Glucose | str) -> str:
    """Return a reading as its meter shows it, without the unit: ``"70"``, ``"4.0"``; words as they are."""
    return str(reading).removesuffix(f" {reading.unit}") if isinstance(reading, Glucose) else reading


@dataclass(frozen=True, kw_only=True)
class Count:
    """How many outputs of one kind differ."""

    title: str
    differ: int
    of: int


@dataclass(frozen=True, kw_only=True)
class SiteChanges:
    """What is on the sheet.

    Attributes
    ----------
    keys : tuple of str
        What differs in the site files, a line each.
    times : tuple of str
        The times of the day that differ, a phrase each.
    also : tuple of str
        What else gets another answer beside the readings drawn, a phrase each.
    """

    before: Ward
    after: Ward
    flips: tuple[Flip, ...]
    counts: tuple[Count, ...]
    keys: tuple[str, ...]
    times: tuple[str, ...]
    also: tuple[str, ...] = ()


def also_words(seen: SiteChanges) -> str:
    """Say what else gets another answer, for the picture draws one patient only; empty where nothing does."""
    phrases = [say(phrase) for phrase in seen.also]
    if not phrases:
        return ""
    if len(phrases) > 1:
        last = phrases.pop()
        phrases = [say("{first} and {last}", first=", ".join(phrases), last=last)]
    return say("Other answers also for {whom}: see the list.", whom=phrases[0])


def count_words(count: Count) -> str:
    """Say how many outputs of a kind differ, and how many are the same."""
    if not count.differ:
        return plural(count.of, "the one is the same", "all {all} the same", all=_grouped(count.of))
    return say(
        "{differ} of {all} differ; {same} the same",
        differ=_grouped(count.differ),
        all=_grouped(count.of),
        same=_grouped(count.of - count.differ),
    )


def _grouped(number: int) -> str:
    return f"{number:,}".replace(",", "\u202f")


def describe_site_changes(seen: SiteChanges) -> str:
    """Return everything the picture shows in sentences."""
    before, after = seen.before, seen.after
    flips = say("Readings that get another answer: {flips}.", flips="; ".join(map(str, seen.flips)))
    counts = " ".join(f"{count.title}: {count_words(count)}." for count in seen.counts)
    parts = [
        say("From {before} to {after}.", before=before.name, after=after.name),
        _line_words(before),
        _line_words(after),
        flips if seen.flips else say("No reading gets another answer."),
        also_words(seen),
        counts,
        say("What the site files say: {keys}.", keys="; ".join(seen.keys))
        if seen.keys
        else say("The site files say the same in every key."),
        say("Times that differ on the day after the same dose: {times}.", times="; ".join(seen.times))
        if seen.times
        else say("No time of the day differs."),
        say("For teaching only: the {prescriber}'s order, local policy and licensed practice come first."),
    ]
    return " ".join(part for part in parts if part)


def _line_words(ward: Ward) -> str:
    zones = [(f"{number_of(zone.start)}–{zone.end}", zone.choice) for zone in ward.zones]
    answers = [("LO", ward.when_lo), *zones, ("HI", ward.when_hi)]
    said = "; ".join(say("{at}: {choice}", at=at, choice=answer_text(choice)) for at, choice in answers)
    return say(
        "{ward}, readings without signs, eating: {said}.", ward=f"{ward.name[:1].upper()}{ward.name[1:]}", said=said
    )
