"""A comparison of two sites told in sentences, kind by kind, short enough for one page."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, get_args

from mixlab.care.decision.answers import Choice
from mixlab.facts.records import Fact
from mixlab.facts.shelf import shelf
from mixlab.quantities import Glucose, GlucoseUnit
from mixlab.ward.insulin import insulins
from mixlab.ward.site.keys import SiteKey
from mixlab.ward.site.record import Site
from mixlab.ward.syringe import syringes
from mixlab.words import decimal_text, plural, say

from .changes import Change, KindChanges, Stretch, Swaps, Wording, differences, stretches, swapped

if TYPE_CHECKING:
    from .comparison import KeyChange

LONGEST = 6
"""Lines that a kind gets on the page; the rest is counted and stays in the record."""

MOST_PLACES = 3
"""Bedsides, doses or days that one line names; the rest is counted."""


def counted(number: int) -> str:
    """Print a count in groups of three, with a narrow gap that no language takes for a decimal mark."""
    return f"{number:,}".replace(",", "\u202f")


def count_sentence(changes: KindChanges) -> str:
    """Say how many outputs of a kind differ, and of how many."""
    return plural(
        changes.count,
        "{title}: {count} of {all} differs; {same} are the same.",
        "{title}: {count} of {all} differ; {same} are the same.",
        title=say(changes.kind.title),
        count=counted(changes.count),
        all=counted(changes.of),
        same=counted(changes.same),
    )


@dataclass(frozen=True, kw_only=True)
class Telling:
    """How two sites are told apart.

    Attributes
    ----------
    wards : tuple of str
        Their names.
    policies : tuple of str
        How each names a rule of its own: where nothing but who says so differs, it is told in one line.
    terms, names : Swaps
        What each calls the same things, and itself: where nothing else differs, it is told in one line.
    longest : int
        How many lines a kind may have, unless it is told whole.
    """

    wards: tuple[str, str]
    policies: tuple[str, ...] = ()
    terms: Swaps = ()
    names: Swaps = ()
    longest: int = LONGEST

    def without_terms(self, changes: Iterable[Change]) -> tuple[Change, ...]:
        """Return changes as they would be if both sites used the second one's terms; those with no other are gone."""
        swaps = (*self.terms, *self.names)
        found = (
            replace(one, before=swapped(one.before or "", swaps), after=swapped(one.after or "", swaps))
            for one in changes
        )
        return tuple(one for one in found if one.before != one.after)

    def renamed(self, changes: KindChanges) -> int:
        """Return how many texts of a kind hold a term that the other site has another word for."""
        return sum(swapped(one.before or "", self.terms) != one.before for one in changes.changed)


@dataclass(frozen=True, kw_only=True)
class Section:
    """Some lines under a heading, which may be empty."""

    heading: str
    lines: tuple[str, ...]


ANSWERS = get_args(Choice)
GIVEN = ("give", "give and report")


def how_much_less_strict(wording: Wording) -> int:
    """Return 2 where a dose is given that was not, 1 where nobody is told or no low is treated any more, and else 0."""
    before, after = wording
    if after in GIVEN and before not in GIVEN:
        return 2
    return int((before, after) == ("give and report", "give") or (before == "hold and treat" and after != before))


def sections_of(changes: KindChanges, how: Telling) -> tuple[Section, ...]:
    """Return what differs in a kind: answers that are less strict first, and what has no room is counted."""
    if not changes.kind.whole:
        return (Section(heading="", lines=tuple(_lines_of(changes, how))),)
    found = sorted(stretches(changes.all_changes), key=lambda one: how_much_less_strict(one.wordings[0]), reverse=True)
    first = [one for one in found if how_much_less_strict(one.wordings[0])]
    rest = found[len(first) :]
    headings = (
        say("Less strict on {ward}:", ward=how.wards[1]),
        say("The other answers that differ:") if first else "",
    )
    return tuple(
        Section(heading=heading, lines=tuple(_stretch_line(one, one.examples, how, None) for one in part))
        for heading, part in zip(headings, (first, rest), strict=True)
        if part
    )


def _lines_of(changes: KindChanges, how: Telling) -> list[str]:
    changed = how.without_terms(changes.changed)
    simple = len(changes.changed) - len(changed)
    alone = (*changes.added, *changes.dropped)
    lines = list(_reworded(changed, how)) if changes.kind.wordy else []
    others = 0
    for stretch in stretches(alone if changes.kind.wordy else (*alone, *changed)):
        both = zip(stretch.wordings, stretch.examples, strict=True)
        wordings = [whole for words, whole in both if not _names_a_policy(words, how.policies)]
        if wordings:
            lines.append(_stretch_line(stretch, wordings, how, MOST_PLACES))
        else:
            others += stretch.count
    last = _other_source(others) if others else []
    if simple:
        last.append(
            plural(
                simple,
                "{count} text differs only in what things are called",
                "{count} texts differ only in what things are called",
                count=counted(simple),
            )
        )
    if len(lines) + len(last) <= how.longest:
        return [*lines, *last]
    room = how.longest - 1 - len(last)
    more = len(lines) - room
    return [*lines[:room], plural(more, "… and {count} more", "… and {count} more", count=counted(more)), *last]


def _names_a_policy(wording: Wording, policies: tuple[str, ...]) -> bool:
    """Say whether two wordings differ only in who says so; beside that, `difference` leaves one word on either side."""
    if not all(wording) and "".join(wording).strip("().") in _WHO_SAYS:
        return True
    return any(
        policy in words and len(words.replace(policy, " ").strip(" ().,;").split()) <= 2
        for policy in policies
        for words in wording
    )


_WHO_SAYS = ("common practice, no source", "our assumption, no source", "read", "recalled", "computed")
"""The ends of citations; they come and go with what is cited."""


def _other_source(count: int) -> list[str]:
    return [
        plural(
            count,
            "{count} text names another source of a rule",
            "{count} texts name another source of a rule",
            count=counted(count),
        )
    ]


def _reworded(changed: Iterable[Change], how: Telling) -> Iterator[str]:
    """Tell which words stand in place of which, the most frequent first, each with one whole sentence as an example."""
    found: Counter[Wording] = Counter()
    example: dict[Wording, Wording] = {}
    others = 0
    for change in changed:
        own = [both for both in differences(change) if not _names_a_policy(both[0], how.policies)]
        cores = {_core(words): whole for words, whole in own}
        found.update(cores.keys())
        example = cores | example
        others += not own
    for core, count in found.most_common():
        old, new = example[core]
        values = {"old": old, "new": new, "count": counted(count)}
        if not old:
            yield plural(count, "{count} text also says “{new}”", "{count} texts also say “{new}”", **values)
        elif not new:
            yield plural(count, "{count} text no longer says “{old}”", "{count} texts no longer say “{old}”", **values)
        else:
            yield plural(
                count,
                "{count} text: “{old}” → “{new}”",
                "{count} texts, such as: “{old}” → “{new}”",
                **values,
            )
    if others:
        yield from _other_source(others)


def _core(wording: Wording) -> Wording:
    """Return two wordings without the word on either side that both share, and without what ends the sentence."""
    old, new = (words.rstrip(".,;:)").split() for words in wording)
    while len(old) > 1 and len(new) > 1 and old[0] == new[0]:
        old, new = old[1:], new[1:]
    while len(old) > 1 and len(new) > 1 and old[-1] == new[-1]:
        old, new = old[:-1], new[:-1]
    first, second = (" ".join(words).strip(".,;:()").casefold() for words in (old, new))
    return first, second


def _stretch_line(stretch: Stretch, wordings: Iterable[Wording], how: Telling, most: int | None) -> str:
    at = from_to(stretch.first, stretch.last)
    if stretch.where:
        where = _where(tuple(dict.fromkeys(stretch.where)), most)
        at = say("{at}, {where}", at=at, where=where) if "(" in where else say("{at} ({where})", at=at, where=where)
    (old, new), *more = wordings
    if not old or not new:
        ward, only = (how.wards[1], new) if not old else (how.wards[0], old)
        if at == only:
            return say("only on {ward}: {words}", ward=ward, words=only)
        return say("{at}: only on {ward}: {words}", at=at, ward=ward, words=only)
    rest = (
        plural(len(more), " (and {count} more change)", " (and {count} more changes)", count=len(more)) if more else ""
    )
    return say("{at}: {before} → {after}{rest}", at=at, before=_quoted(old), after=_quoted(new), rest=rest)


def _quoted(words: str) -> str:
    """Return an answer as it is called, figures and names as they are, and a sentence in its quotation marks."""
    if words in ANSWERS:
        return say(words)
    return say("“{words}”", words=words) if words.endswith((".", ")", "?", "!")) else words


def from_to(first: str, last: str) -> str:
    """Return two places on a scale as one stretch, with what both begin and end with said once: ``"70 to 71 mg/dL"``."""
    if first == last:
        return first
    one, other = first.split(" "), last.split(" ")
    room = min(len(one), len(other)) - 1
    head = next((at for at in range(room) if one[at] != other[at]), room)
    tail = next((at for at in range(room - head) if one[-1 - at] != other[-1 - at]), room - head)
    middles = (" ".join(each[head : len(each) - tail]) for each in (one, other))
    start, end = middles
    middle = say("{first} to {last}", first=start, last=end)
    return " ".join((*one[:head], middle, *one[len(one) - tail :]))


def _where(places: tuple[str, ...], most: int | None) -> str:
    if most is None or len(places) <= most:
        return "; ".join(places)
    left = len(places) - most
    more = plural(left, "and {count} more", "and {count} more", count=left)
    return "; ".join((*places[:most], more))


def key_words(change: KeyChange) -> str:
    """Say what a key is and its two values, in the words of the ward and not in those of a file."""
    what = str(change.key.says()).rstrip(".")
    for measure in change.measures:
        what = what.removesuffix(say(", in {measure}", measure=say(measure))) if measure else what
    return say("{what}: {values}", what=what, values=_key_values(change))


def measure_of(key: SiteKey, site: Site) -> str:
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
    name = _NAMES.get(change.key.field)
    if name is not None:
        before, after = (
            [name(one) for one in each] if isinstance(each, list) else name(each) for each in (before, after)
        )
    return two_values(before, after)


def _pair_name(pair: str) -> str:
    one, other = (insulins()[key] for key in pair.split(" + "))
    return say("{one} with {other}", one=one, other=other)


_NAMES: Mapping[str, Callable[[str], str]] = {
    "stock": lambda key: str(syringes()[key].name),
    "never_mix": _pair_name,
    "critical_steps": lambda key: key.replace("_", " "),
    "taught": lambda key: shelf().sources[key].title,
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
    return say("{number} {measure}", number=number, measure=say(measure))


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
        return say(
            "{comparison} {glucose}", comparison=value["comparison"], glucose=Glucose(value["value"], value["unit"])
        )
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
