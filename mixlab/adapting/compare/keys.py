"""The keys in which two site files differ, in the words of a ward: what a key is, its two values, its reason, and which is stricter."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, get_args

from mixlab.facts.reading import the_facts
from mixlab.facts.records import Fact
from mixlab.quantities import Glucose, GlucoseUnit
from mixlab.ward.insulin import insulins
from mixlab.ward.site.glucose_lines import IN_WORDS
from mixlab.ward.site.keys import KEYS, THE_WARD, THE_WORDS, SiteKey
from mixlab.ward.site.record import Site
from mixlab.ward.site.values.choices import PolicyChoice
from mixlab.ward.syringe import syringes
from mixlab.words import decimal_text, say


@dataclass(frozen=True, kw_only=True)
class KeyChange:
    """One key of a site that differs.

    Attributes
    ----------
    before, after : object
        Its value on each site, as a file holds it.
    measures : tuple of str
        What a number is counted in on each site; empty where it is no number.
    reason : str
        The reason that the second site records, or else the first; empty where neither does.
    whose : str
        The site whose reason it is.
    """

    key: SiteKey
    before: Any
    after: Any
    measures: tuple[str, str]
    reason: str
    whose: str

    @property
    def only_words(self) -> bool:
        """Whether it is a name or a way of writing: nobody does anything otherwise."""
        return self.key.heading in (THE_WARD, THE_WORDS)

    @property
    def less_strict(self) -> bool:
        """Whether the second site's value asks for less; of most glucose lines the answers say it, and not the number."""
        name = self.key.field
        if name in LOWER_LINE_IS_LESS_STRICT:
            return _reaches_lower(self.before, self.after)
        if name in HIGHER_LINE_IS_LESS_STRICT:
            return _begins_higher(self.before, self.after)
        if name in CHOICES_BY_CARE:
            order = CHOICES_BY_CARE[name]
            return order.index(self.after) > order.index(self.before)
        if name in LISTS:
            return bool(set(self.before) - set(self.after))
        if name in MORE_IS_LESS_STRICT:
            return bool(self.after > self.before)
        return name in LESS_IS_LESS_STRICT and bool(self.after < self.before)


CHOICES_BY_CARE = {
    "gloves": ("required", "not required"),
    "second_check": ("each draw", "once, at the end", "none"),
    "recapping": ("never", "one hand"),
    "push_back": ("never", "allowed"),
    "short_times": ("in words", "short forms too"),
    "air": ("as much as the dose", "no air"),
    "near_low_answer": ("treat", "hold and ask", "give and report"),
}
"""What a ward chooses, the most careful first; our assumption, no source."""

LISTS = ("rounds", "never_mix", "critical_steps")
"""Rounds, forbidden pairs and steps that must be right: to leave one out is less strict."""

MORE_IS_LESS_STRICT = (
    *("large_dose", "reading_age", "waiting", "waiting_rapid", "recheck"),
    *("oral_treatments", "meal_slack", "opened_days"),
)
"""Larger doses not asked about, older readings, longer waits, more treatments by mouth, more room for a meal and older vials; our assumption, no source."""

LESS_IS_LESS_STRICT = ("earlier_low", "dose_gap", "carbohydrate", "serious_carbohydrate", "rolls", "inversions")
"""Hours for which something is asked about, what a low is treated with, and how often a vial is moved; our assumption, no source."""

LOWER_LINE_IS_LESS_STRICT = ("level_2_line",)
"""The line of a serious low: both answers are to hold and treat, so the answers do not show that nobody is called at once."""

HIGHER_LINE_IS_LESS_STRICT = ("urgent_high_line",)
"""The line above which a high reading is urgent: of a dose that waits anyway the answers do not show that nobody is called now."""

NEITHER = (
    *("glucose_unit", "rounding", "hold_line", "report_line", "near_low_line", "meter_low", "meter_high"),
    *("meal_lead", "bedtime", "waking", "stock", "resuspend", "meals", "taught"),
)
"""What is not less strict by its value: of the lines the answers tell it, the rest is another way; our assumption, no source."""


def _reaches_lower(before: Mapping[str, Any], after: Mapping[str, Any]) -> bool:
    """Say whether a line calls fewer readings low than another does."""
    old, new = (Glucose(line["value"], line["unit"]).to("mg/dL").value for line in (before, after))
    if abs(old - new) < 0.1:
        return bool(before["comparison"] == "at or below" and after["comparison"] == "below")
    return new < old


def _begins_higher(before: object, after: object) -> bool:
    """Say whether a line calls fewer readings urgent than another does; to have none calls none so."""
    if not isinstance(before, Mapping) or not isinstance(after, Mapping):
        return isinstance(before, Mapping)
    old, new = (Glucose(line["value"], line["unit"]).to("mg/dL").value for line in (before, after))
    if abs(old - new) < 0.1:
        return bool(before["comparison"] == "at or above" and after["comparison"] == "above")
    return new > old


def changed_keys(before: Site, after: Site) -> tuple[KeyChange, ...]:
    """Return the keys in which two sites differ, in the order of a site file."""
    return tuple(
        KeyChange(
            key=key,
            before=key.plain(before),
            after=key.plain(after),
            measures=(_measure_of(key, before), _measure_of(key, after)),
            reason=after.reasons.get(key.name, "") or before.reasons.get(key.name, ""),
            whose=after.name if key.name in after.reasons else before.name,
        )
        for key in KEYS
        if key.plain(before) != key.plain(after)
    )


def key_words(change: KeyChange) -> str:
    """Say what a key is and its two values, in the words of the ward and not in those of a file."""
    what = str(change.key.what).rstrip(".")
    for measure in change.measures:
        what = what.removesuffix(say(", in {measure}", measure=_unit(measure))) if measure else what
    return say("{what}: {values}", what=what, values=_key_values(change))


def reason_words(change: KeyChange) -> str:
    """Say why a key differs, as the site file records it."""
    if not change.reason:
        return say("no reason is recorded")
    return say("reason of {ward}: {reason}", ward=change.whose, reason=change.reason)


def _measure_of(key: SiteKey, site: Site) -> str:
    """Return what the number of a key is counted in, the ends of the meter in the unit of the site; empty for no number."""
    value = key.of(site)
    if not isinstance(value, Fact):
        return ""
    return site.glucose_unit if value.unit in get_args(GlucoseUnit) else value.unit


def _key_values(change: KeyChange) -> str:
    before, after = change.before, change.after
    if change.key.name == "meals":
        return "; ".join(_meal_changes(before, after)) or say("in another order")
    if any(change.measures):
        return _numbers(before, after, *change.measures)
    name = say if isinstance(change.key.kind, PolicyChoice) else _NAMES.get(change.key.field)
    if name is not None:
        before, after = (
            [name(one) for one in each] if isinstance(each, list) else name(each) if isinstance(each, str) else each
            for each in (before, after)
        )
    return two_values(before, after)


def _pair_name(pair: str) -> str:
    one, other = (insulins()[key] for key in pair.split(" + "))
    return say("{one} with {other}", one=one, other=other)


_NAMES: Mapping[str, Callable[[str], str]] = {
    "stock": lambda key: str(syringes()[key].name),
    "never_mix": _pair_name,
    "critical_steps": lambda key: key.replace("_", " "),
    "taught": lambda key: the_facts().sources[key].title,
    "near_low_line": lambda word: say("not asked for"),
    "urgent_high_line": lambda word: say("not asked for"),
}
"""How a reader knows what a file names by a key."""


def _numbers(before: float, after: float, measure: str, other: str) -> str:
    old, new = decimal_text(before), decimal_text(after)
    if measure != other:
        return say("{before} → {after}", before=_measured(old, measure), after=_measured(new, other))
    if after == 1:  # the plural stands with the number that asks for it
        return say("{before} → {after}", before=_measured(old, measure), after=new)
    return say("{before} → {after}", before=old, after=_measured(new, other))


def _measured(number: str, measure: str) -> str:
    return say("{number} {measure}", number=number, measure=_unit(measure))


def _unit(measure: str) -> str:
    return measure if measure in get_args(GlucoseUnit) else say(measure)


def _meal_changes(before: list[dict[str, Any]], after: list[dict[str, Any]]) -> Iterator[str]:
    """Yield each meal that is gone, has come, or has another time, amount or name."""
    old, new = ({meal["name"]: meal for meal in each} for each in (before, after))
    for name in (*old, *(name for name in new if name not in old)):
        if name not in new:
            yield say("no longer {meal} at {at}", meal=say(name), at=old[name]["at"])
        elif name not in old:
            yield say("also {meal} at {at}", meal=say(name), at=new[name]["at"])
        elif old[name] != new[name]:
            yield say("{meal}: {changes}", meal=say(name), changes=", ".join(_one_meal(old[name], new[name])))


def _one_meal(old: dict[str, Any], new: dict[str, Any]) -> Iterator[str]:
    if old["at"] != new["at"]:
        yield say("{before} → {after}", before=old["at"], after=new["at"])
    if old["grams"] != new["grams"]:
        yield _numbers(old["grams"], new["grams"], "g", "g")
    if old["also_called"] != new["also_called"]:
        names = (_listed(meal["also_called"]) for meal in (old, new))
        yield say("also called {before} → {after}", **dict(zip(("before", "after"), names, strict=True)))


def _listed(names: list[str]) -> str:
    return (
        say("{first} or {last}", first=", ".join(names[:-1]), last=names[-1])
        if len(names) > 1
        else "".join(names) or say("none")
    )


def plain_text(value: object) -> str:
    """Print the value of a site key for a reader: a glucose line in words, numbers and lists as they are written."""
    if isinstance(value, dict):
        return say(IN_WORDS[value["comparison"]], glucose=Glucose(value["value"], value["unit"]))
    if isinstance(value, list):
        return ", ".join(plain_text(part) for part in value) or say("none")
    if isinstance(value, bool) or not isinstance(value, int | float):
        return str(value)
    return decimal_text(value)


def two_values(before: object, after: object) -> str:
    """Return two values of a key; of two lists only what is not in both."""
    if isinstance(before, list) and isinstance(after, list) and before and after:
        gone, come = [one for one in before if one not in after], [one for one in after if one not in before]
        said = [say("no longer {gone}", gone=plain_text(gone))] if gone else []
        said += [say("also {come}", come=plain_text(come))] if come else []
        if said:
            return "; ".join(said)
    return say("{before} → {after}", before=plain_text(before), after=plain_text(after))
