"""Kinds of values in a site file that are chosen: policies, insulins, syringes, steps and handbooks."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from mixlab.facts.reading import the_facts
from mixlab.facts.records import ActionTimes, TaughtTimes
from mixlab.facts.site_rows import ListRow, Policy, WardChoice
from mixlab.files.faults import Fault, nearest, shown
from mixlab.quantities import GlucoseUnit
from mixlab.ward.insulin import Insulin, insulins
from mixlab.ward.site.faults import SiteError, WithoutReason
from mixlab.ward.syringe import Syringe, syringes
from mixlab.words import Sentence, joined, languages, sentence

from .kind import OURS, Kind, refusal


@dataclass(frozen=True)
class OneOf(Kind):
    """One word out of a few."""

    words: tuple[str, ...]

    def choices(self) -> tuple[str, ...]:
        return self.words


@dataclass(frozen=True)
class Language(Kind):
    """A language that has a catalogue, or one of the two spellings of English."""

    def choices(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys((*languages(), "en-GB")))


@dataclass(frozen=True)
class PolicyChoice(Kind):
    """What a ward decides for itself, out of the choices of a policy."""

    policy: str

    @property
    def table(self) -> str:
        """The table of the facts that has the policy."""
        return "site_policies" if self.policy in the_facts().site_policies else "policies"

    @property
    def row(self) -> Policy:
        """The policy as the facts have it."""
        found: Policy = getattr(the_facts(), self.table)[self.policy]
        return found

    def choices(self) -> tuple[str, ...]:
        return self.row.choices

    def default(self, fact: Policy) -> Policy:
        return fact

    def read(self, written: object, old: Policy, tables: Mapping[str, Any]) -> Policy:
        return replace(old, value=super().read(written, old, tables), **OURS)

    def plain(self, value: Policy, measure: GlucoseUnit) -> object:
        return value.value

    def allowed(self, measure: GlucoseUnit) -> Sentence:
        row, choices = self.row, super().allowed(measure)
        if not isinstance(row, WardChoice) or not row.unusual:
            return choices
        unusual = joined(f'"{choice}"' for choice in row.unusual)
        return sentence("{choices}; with a reason under [reasons]: {unusual}", choices=choices, unusual=unusual)

    def faults(self, value: Policy, reason: str) -> Fault | None:
        row = self.row
        if reason or not isinstance(row, WardChoice) or value.value not in row.unusual:
            return None
        usual = ", ".join(repr(choice) for choice in row.choices if choice not in row.unusual)
        wrong = sentence(
            "{written} needs a recorded reason, for {because}", written=repr(value.value), because=row.because
        )
        return WithoutReason(wrong=wrong, allowed=sentence("write {usual}", usual=usual))


def _list_of(written: object, known: Mapping[str, Any], none: Sentence) -> list[str]:
    """Return a list of known keys, each once, in the order written; `none` says what is wrong with an empty one."""
    allowed = sentence("choose from {known}", known=", ".join(known))
    if not isinstance(written, list):
        wrong = sentence("{written} is not a list", written=shown(written))
        raise refusal(wrong, sentence("write a list in square brackets"))
    if not written:
        raise refusal(none, allowed)
    faults = []
    for each in written:
        if not isinstance(each, str) or each not in known:
            near = nearest(each, known) if isinstance(each, str) else ""
            wrong = sentence("{written} is not known here", written=shown(each))
            correct = sentence("correct it to {nearest}", nearest=repr(near)) if near else allowed
            faults.append(Fault(wrong=wrong, allowed=correct))
    if faults:
        raise SiteError(faults)
    return list(dict.fromkeys(written))


@dataclass(frozen=True)
class Stock(Kind):
    """The syringes in the cupboard."""

    def default(self, fact: ListRow) -> tuple[Syringe, ...]:
        return tuple(syringes()[key] for key in fact.value)

    def read(self, written: object, old: tuple[Syringe, ...], tables: Mapping[str, Any]) -> tuple[Syringe, ...]:
        return tuple(syringes()[key] for key in _list_of(written, syringes(), sentence("no syringe is in stock")))

    def plain(self, value: tuple[Syringe, ...], measure: GlucoseUnit) -> object:
        return [syringe.key for syringe in value]

    def allowed(self, measure: GlucoseUnit) -> Sentence:
        each = (sentence('"{key}": {syringe}', key=key, syringe=syringe.name) for key, syringe in syringes().items())
        return joined(each, "; ")


@dataclass(frozen=True)
class Steps(Kind):
    """Which steps of the preparation are critical."""

    def read(self, written: object, old: tuple[str, ...], tables: Mapping[str, Any]) -> tuple[str, ...]:
        steps = the_facts().steps
        named = _list_of(written, steps, sentence("no step is listed, and a wrong dose would pass"))
        return tuple(key for key in steps if key in named)

    def allowed(self, measure: GlucoseUnit) -> Sentence:
        return sentence(
            "any of {steps}; {always} always; to leave another one of the default out needs a reason",
            steps=", ".join(the_facts().steps),
            always=", ".join(the_facts().site_lists["always_critical"].value),
        )

    def faults(self, value: tuple[str, ...], reason: str) -> Fault | None:
        # Some steps never may be left out; of the others of the default somebody must say why.
        missing = [key for key in the_facts().site_lists["always_critical"].value if key not in value]
        if missing:
            wrong = sentence(
                "{steps} would no longer be critical, and no reason can allow it", steps=", ".join(missing)
            )
            return Fault(wrong=wrong, allowed=sentence("add {steps}", steps=", ".join(missing)))
        left_out = [key for key in the_facts().site_lists["critical_steps"].value if key not in value]
        if not left_out or reason:
            return None
        wrong = sentence("{steps} would no longer be critical, and no reason is recorded", steps=", ".join(left_out))
        return WithoutReason(wrong=wrong, allowed=sentence("add {steps}", steps=", ".join(left_out)))


@dataclass(frozen=True)
class Pairs(Kind):
    """Pairs that the ward forbids although they may share a syringe."""

    def choices(self) -> tuple[str, ...]:
        return mixable()

    def default(self, fact: object) -> tuple[str, ...]:
        return ()

    def read(self, written: object, old: tuple[str, ...], tables: Mapping[str, Any]) -> tuple[str, ...]:
        example = sentence(
            'write a list such as ["lispro + nph"], or [] for none; insulins: {known}', known=", ".join(insulins())
        )
        if not isinstance(written, list):
            raise refusal(sentence("{written} is not a list", written=shown(written)), example)
        pairs, faults = [], []
        for each in written:
            pair = _pair(each)
            if pair is None:
                wrong = sentence("{written} does not name two insulins", written=shown(each))
                faults.append(Fault(wrong=wrong, allowed=example))
            elif not pair[0].may_share_with(pair[1]):
                wrong = sentence("{one} and {other} are never mixed anyway", one=pair[0].name, other=pair[1].name)
                faults.append(Fault(wrong=wrong, allowed=sentence("take this pair out")))
            else:
                pairs.append(f"{pair[0].key} + {pair[1].key}")
        if faults:
            raise SiteError(faults)
        return tuple(sorted(set(pairs)))


def mixable() -> tuple[str, ...]:
    """Return the pairs that may share a syringe, the clear one first."""
    shelf_of = insulins().values()
    return tuple(
        f"{one.key} + {other.key}"
        for one in shelf_of
        for other in shelf_of
        if one.look == "clear" and one.may_share_with(other)
    )


def _pair(written: object) -> tuple[Insulin, Insulin] | None:
    if not isinstance(written, str):
        return None
    names = {name.casefold(): it for it in insulins().values() for name in (it.key, it.row.name, *it.row.also_called)}
    both = [names.get(part.strip().casefold()) for part in written.split("+")]
    if len(both) != 2 or both[0] is None or both[1] is None:
        return None
    clear, other = sorted((both[0], both[1]), key=lambda insulin: insulin.look == "cloudy")
    return clear, other


@dataclass(frozen=True)
class Handbook(Kind):
    """Which handbooks' action times are taught for one insulin; one alone may be written without brackets."""

    insulin: str

    def choices(self) -> tuple[str, ...]:
        """Return the handbooks that say of this insulin all that the row taught by default says."""
        row = the_facts().insulins[self.insulin]
        needed = [part for part in ("onset", "peak", "duration") if getattr(row.taught_times, part)]
        return tuple(times.source for times in row.times if all(getattr(times, part) for part in needed))

    def default(self, fact: TaughtTimes) -> tuple[str, ...]:
        return fact.sources

    def read(self, written: object, old: tuple[str, ...], tables: Mapping[str, Any]) -> tuple[str, ...]:
        if isinstance(written, str):
            return (super().read(written, old, tables),)
        choices = self.choices()
        named = _list_of(written, dict.fromkeys(choices), sentence("no handbook is chosen"))
        return tuple(source for source in choices if source in named)

    def each(self) -> list[Sentence]:
        """Return of each handbook when it lets the insulin start, be strongest and end, and which one it is."""
        rows = {times.source: times for times in the_facts().insulins[self.insulin].times}
        return [_hours(rows[source]) for source in self.choices()]


def _hours(times: ActionTimes) -> Sentence:
    title = re.split(r", | \(", the_facts().sources[times.source].title)[0]
    said = {"key": times.source, "onset": times.onset, "duration": times.duration, "title": title}
    if times.peak is None:
        return sentence('"{key}": starts {onset}, ends {duration} ({title})', **said)
    return sentence('"{key}": starts {onset}, strongest {peak}, ends {duration} ({title})', **said, peak=times.peak)
