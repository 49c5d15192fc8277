"""Whether the values of a site go together and are safe, or have a recorded reason; every fault is listed, none raised."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import cast

from mixlab.facts.records import Fact, Threshold
from mixlab.files.faults import Fault, nearest
from mixlab.quantities import Glucose, GlucoseUnit, read_clock
from mixlab.ward.site.values.words import UNIT_WORDS, is_english, pairs_of_unit_words
from mixlab.words import sentence

from .faults import WithoutReason
from .glucose_lines import line_text
from .keys import KEYS, TABLES
from .record import LINES, SAME_LINE, Site, teaching_site

SHORTEST_REASON = 6
"""Words of the shortest recorded reason."""

SHORTEST_NIGHT, LONGEST_NIGHT = 5, 12
"""Hours from bedtime to waking; our assumption."""


TAKEN = {"patient", "nurse", "second nurse", "student", "student nurse", "label", "order", "policy", "vial", "syringe"}
"""Words that the steps use for somebody or something else than the one who orders, and the place where it is written."""


def check_site(site: Site, passing: frozenset[str] = frozenset(), written: frozenset[str] = frozenset()) -> list[Fault]:
    """Return what is unsafe on a site, or contradicts itself.

    Parameters
    ----------
    site : Site
        The site.
    passing : frozenset of str, optional
        Keys that are at fault already; they are not checked.
    written : frozenset of str, optional
        Keys that stand in the file; of two values that do not go together, one of these is named.
    """
    follows = {
        "near_low_line": site.near_line_follows,
        "urgent_high_line": site.urgent_line_follows,
        "serious_carbohydrate": site.serious_amount_follows,
    }
    passing = passing | {name for name, so in follows.items() if so}
    faults = [*_reason_faults(site), *_unit_faults(site, passing), *_word_faults(site, passing)]
    seen = passing | {fault.key for fault in faults}
    for key in KEYS:
        found = None if key.name in seen else key.kind.faults(key.of(site), site.reasons.get(key.name, ""))
        if found is None:
            continue
        wrong, allowed = found.wrong, found.allowed
        if isinstance(found, WithoutReason):
            allowed = sentence("{allowed}, or add {line} under [reasons]", allowed=allowed, line=key.reason_line)
        elif key.name == "hold_line" and "level_2_line" not in seen and _below_serious(site):
            serious = line_text(site.level_2_line)
            wrong = sentence("{wrong}; it even lies below a serious low ({serious})", wrong=wrong, serious=serious)
        faults.append(Fault(at=(*key.place, *found.at), wrong=wrong, allowed=allowed))
        seen |= {key.name}
    return [*faults, *(fault for fault in _order_faults(site, seen, written) if fault.key not in seen)]


def _reason_faults(site: Site) -> Iterator[Fault]:
    names = [key.name for key in KEYS]
    for key, reason in site.reasons.items():
        near = ""
        if key in TABLES:
            wrong = sentence("a reason belongs to one key of this table")
            first = next(each.reason_line for each in KEYS if each.field == key)
            allowed = sentence("write {line}", line=first)
        elif key not in names:
            wrong = sentence("there is no key of this name to give a reason for")
            allowed, near = sentence("take it out or correct its spelling"), nearest(key, names)
        elif not isinstance(reason, str) or not _tells(reason):
            wrong = sentence("this says too little for somebody who reads it next year")
            allowed = sentence(
                'say which policy or who decided, and when, as in "Ward policy 14 of March 2026, agreed with pharmacy"'
            )
        else:
            continue
        yield Fault(at=("reasons", key), wrong=wrong, allowed=allowed, nearest=near)


def _tells(reason: str) -> bool:
    """Say whether a reason has words enough, and a year: whether it is a good one a person has to judge."""
    dated = re.search(r"\b20\d\d\b", reason)
    return len(reason.split()) >= SHORTEST_REASON and dated is not None and reason.isprintable()


def _word_faults(site: Site, passing: frozenset[str]) -> Iterator[Fault]:
    """Refuse a word for one unit beside another one's word for several, and a word that means something else already."""
    terms, ours = site.terms, teaching_site().terms
    both = (terms["unit"], terms["units"])
    if is_english(site.language) and both not in UNIT_WORDS and passing.isdisjoint({"terms.unit", "terms.units"}):
        wrong = sentence("{one} and {several} do not go together", one=repr(both[0]), several=repr(both[1]))
        yield Fault(at=("terms", "units"), wrong=wrong, allowed=pairs_of_unit_words())
    another = sentence('write who may change the order, such as "doctor", or where it is written, such as "drug chart"')
    for name in ("prescriber", "chart"):
        if terms[name].casefold() in TAKEN and f"terms.{name}" not in passing:
            wrong = sentence("{word} already means somebody or something else in the steps", word=repr(terms[name]))
            yield Fault(at=("terms", name), wrong=wrong, allowed=another)
    for name, word in terms.items():
        others = {other for each, other in (*terms.items(), *ours.items()) if each != name}
        if word in others and f"terms.{name}" not in passing:
            wrong = sentence("{word} is what something else is called", word=repr(word))
            yield Fault(at=("terms", name), wrong=wrong, allowed=sentence("give each thing a word of its own"))


def _unit_faults(site: Site, passing: frozenset[str]) -> Iterator[Fault]:
    """Refuse a line in the other unit, also one that is left as on the teaching site: a policy is written in one unit."""
    own = site.glucose_unit
    for name in () if "glucose_unit" in passing else LINES:
        line = getattr(site, name)
        if line and line.unit != own and name not in passing:
            there = Glucose(line.value, line.unit)
            wrong = sentence(
                "glucose_unit is {own}, and this line is still in {other} ({there} is {here})",
                own=own,
                other=line.unit,
                there=there,
                here=there.to(own),
            )
            yield Fault(at=(name,), wrong=wrong, allowed=sentence("write it in {own} as your policy has it", own=own))


def _mg_dl(line: Threshold | Fact) -> float:
    return Glucose(line.value, cast(GlucoseUnit, line.unit)).to("mg/dL").value


def _below_serious(site: Site) -> bool:
    return _mg_dl(site.hold_line) < _mg_dl(site.level_2_line) - SAME_LINE


_NAMED = {
    "hold_line": sentence("the hold line ({line})"),
    "level_2_line": sentence("the line of a serious low ({line})"),
    "report_line": sentence("the report line ({line})"),
    "urgent_high_line": sentence("the line of an urgent high ({line})"),
    "near_low_line": sentence("the line near a low ({line})"),
}

_BELOW_ANOTHER = (
    ("level_2_line", "hold_line"),
    ("hold_line", "report_line"),
    ("hold_line", "near_low_line"),
    ("near_low_line", "report_line"),
    ("report_line", "urgent_high_line"),
)
"""Which line lies below which; only a serious low may begin where a low does."""


def _order_faults(site: Site, passing: frozenset[str], written: frozenset[str]) -> Iterator[Fault]:
    """Refuse lines that cross, a meter that ends before it begins or cannot see a line, a day without hours, too little in a serious low.

    Of the two values that do not go together the one that the file sets is at fault.
    """
    for lower, upper in _BELOW_ANOTHER:
        low, high = getattr(site, lower), getattr(site, upper)
        if low is None or high is None or not passing.isdisjoint({lower, upper}):
            continue
        gap = _mg_dl(high) - _mg_dl(low)
        if gap > SAME_LINE or (lower == "level_2_line" and gap >= -SAME_LINE):
            continue
        if upper in written or lower not in written:
            other, wrong, allowed = (low, lower), sentence("it does not lie above {other}"), sentence("raise it")
        else:
            other, wrong, allowed = (high, upper), sentence("it does not lie below {other}"), sentence("lower it")
        named = _NAMED[other[1]].filled(line=line_text(other[0]))
        key = lower if other[1] == upper else upper
        yield Fault(at=(key,), wrong=wrong.filled(other=named), allowed=allowed)
    yield from _other_faults(site, passing, written)


def _other_faults(site: Site, passing: frozenset[str], written: frozenset[str]) -> Iterator[Fault]:
    bed, waking = (read_clock(times.at[0]) for times in (site.bedtime, site.waking))
    hours = bed.until(bed.next(waking)) / 60
    limits = {"low": SHORTEST_NIGHT, "high": LONGEST_NIGHT}
    lowest, highest = _mg_dl(site.meter_low), _mg_dl(site.meter_high)
    serious, report = _mg_dl(site.level_2_line), _mg_dl(site.report_line)
    unseen = sentence("set the meter's ends and the line so that it can")
    for at_fault, keys, wrong, allowed in (
        (
            not SHORTEST_NIGHT <= hours <= LONGEST_NIGHT,
            ("bedtime", "waking"),
            sentence("from {bed} to {waking} is no night of {low} to {high} hours", bed=bed, waking=waking, **limits),
            sentence("correct bedtime or waking"),
        ),
        (
            not lowest < serious < highest,
            ("meter_low", "level_2_line", "meter_high"),
            sentence("the meter cannot show a serious low ({line})", line=line_text(site.level_2_line)),
            unseen,
        ),
        (
            report > highest + SAME_LINE,
            ("meter_high", "report_line"),
            sentence("the meter cannot show a reading at the report line ({line})", line=line_text(site.report_line)),
            unseen,
        ),
        (
            site.serious_carbohydrate.value < site.carbohydrate.value,
            ("serious_carbohydrate", "carbohydrate"),
            sentence(
                "{serious} g for a serious low is less than the {grams} g for any low",
                serious=site.serious_carbohydrate.value,
                grams=site.carbohydrate.value,
            ),
            sentence("give at least as much in a serious low"),
        ),
    ):
        if at_fault and passing.isdisjoint(keys):
            one, other, *_ = keys
            yield Fault(at=(one if one in written or other not in written else other,), wrong=wrong, allowed=allowed)
