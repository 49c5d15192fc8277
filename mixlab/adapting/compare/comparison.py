"""Comparing two sites: everything a learner would see differently, and the proof that nothing else changed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from html import escape
from io import StringIO
from typing import Any

from mixlab.figures.sites.two_wards import draw_site_changes
from mixlab.figures.sites.two_wards_words import SiteChanges, describe_site_changes
from mixlab.figures.style import PAGE, ROOM, Size
from mixlab.ward.site.keys import KEYS, SiteKey
from mixlab.ward.site.record import Site
from mixlab.words import plural, say, speaking

from . import day as of_the_day
from . import decisions as of_decisions
from . import preparation as of_preparation
from . import terms as of_words
from .changes import KindChanges, compare_outputs
from .outputs import everything, output_kinds
from .picture import site_changes
from .report import LONGEST, Section, Telling, count_sentence, counted, key_words, measure_of, sections_of

LISTINGS = (of_decisions, of_preparation, of_the_day, of_words)
"""The modules that list what there is; each registers its kinds when it is loaded, and later ones do the same."""


@dataclass(frozen=True, kw_only=True)
class KeyChange:
    """One key of a site that differs.

    Attributes
    ----------
    key : SiteKey
        The key.
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


@dataclass(frozen=True, kw_only=True)
class SiteComparison:
    """Two sites, compared over everything a learner can see.

    Attributes
    ----------
    before, after : Site
        The two sites.
    keys : tuple of KeyChange
        The keys that differ, in the order of a site file.
    kinds : tuple of KindChanges
        Every kind of output, also those in which nothing differs.
    """

    before: Site
    after: Site
    keys: tuple[KeyChange, ...]
    kinds: tuple[KindChanges, ...]

    @property
    def differing(self) -> tuple[KindChanges, ...]:
        """The kinds in which anything differs."""
        return tuple(kind for kind in self.kinds if kind.count)

    def of(self, name: str) -> KindChanges:
        """Return what differs in one kind.

        Raises
        ------
        KeyError
            If there is no kind of that name.
        """
        for changes in self.kinds:
            if changes.kind.name == name:
                return changes
        raise KeyError(f"There is no kind of output {name!r}.")

    @property
    def _policies(self) -> tuple[str, ...]:
        """How the two sites name a rule of their own."""
        found = []
        for site in (self.before, self.after):
            with speaking(site.voice):
                found.append(say("policy of {site}", site=site.name))
        return tuple(found)

    def _telling(self, longest: int = LONGEST) -> Telling:
        return Telling(
            wards=(self.before.name, self.after.name),
            policies=self._policies,
            terms=tuple((one.before, one.after) for one in self.keys if one.key.field == "terms"),
            names=tuple((one.before, one.after) for one in self.keys if one.key.name == "name"),
            longest=longest,
        )

    def _terms_line(self) -> Iterator[str]:
        """Yield once what is called otherwise, and how often that is read."""
        how = self._telling()
        count = sum(how.renamed(kind) for kind in self.differing)
        if not how.terms or not count:
            return
        (old, new), *more = how.terms
        first = say("{new} for {old}", new=new[:1].upper() + new[1:], old=old)
        others = plural(len(more), "{count} other term", "{count} other terms", count=len(more))
        names = say("{first}, and {others}", first=first, others=others) if more else first
        yield plural(
            count,
            "{names}, in {count} text: not told again where nothing else differs. Quoted below in the words of {ward} on both sides.",
            "{names}, in {count} texts: not told again where nothing else differs. Quoted below in the words of {ward} on both sides.",
            names=names,
            ward=how.wards[1],
            count=counted(count),
        )

    def report(self, longest: int = LONGEST) -> list[str]:
        """Return the comparison as plain sentences.

        What has no room in a list of `longest` lines is counted; decisions before a dose are told whole.
        """
        return [line.strip() for line in self._lines(longest)]

    def _lines(self, longest: int) -> Iterator[str]:
        yield say("What changes for learners from {before} to {after}.", before=self.before.name, after=self.after.name)
        if not self.keys and not self.differing:
            yield _nothing()
        for change in self.keys:
            yield f"  {key_line(change)}"
        yield from self._terms_line()
        how = self._telling(longest)
        for changes in self.differing:
            yield count_sentence(changes)
            for section in sections_of(changes, how):
                if section.heading:
                    yield f"  {section.heading}"
                yield from (f"  {line}" for line in section.lines)
        yield self.proof()

    def proof(self) -> str:
        """Say what is the same, and by which hashes that can be checked."""
        same = [kind for kind in self.kinds if not kind.count]
        total = sum(kind.same for kind in self.kinds)
        names = ", ".join(f"{say(kind.kind.title)} ({counted(kind.same)}; {kind.same_sha256[:12]})" for kind in same)
        counted_total = plural(
            total,
            "Of all that is compared, nothing else changes: {count} output is the same on both, compared letter for letter (SHA-256).",
            "Of all that is compared, nothing else changes: {count} outputs are the same on both, compared letter for letter (SHA-256).",
            count=counted(total),
        )
        return say("{total} Wholly the same: {names}.", total=counted_total, names=names) if names else counted_total

    def __str__(self) -> str:
        return "\n".join(self._lines(LONGEST))

    @cached_property
    def picture(self) -> SiteChanges:
        """What the picture of the comparison shows."""
        return site_changes(self)

    def page_html(self, size: Size = PAGE) -> str:
        """Return the comparison as one page: the picture and, below it, the words."""
        drawn = StringIO()
        draw_site_changes(self.picture, size).figure.savefig(drawn, format="svg", metadata={"Date": None})
        svg = drawn.getvalue()[drawn.getvalue().index("<svg") :]
        words = escape(describe_site_changes(self.picture), quote=True)
        picture = svg.replace(
            "<svg ", f'<svg role="img" aria-label="{words}" style="max-width: 100%; height: auto" ', 1
        )
        return f'<article class="mixlab-sites">{picture}{self._words_html()}</article>'

    def _words_html(self) -> str:
        keys = "".join(f"<li>{escape(key_line(change))}</li>" for change in self.keys)
        how = self._telling()
        terms = "".join(f"<p>{escape(line)}</p>" for line in self._terms_line())
        kinds = "".join(
            f"<h4>{escape(count_sentence(changes))}</h4>" + "".join(map(_section_html, sections_of(changes, how)))
            for changes in self.differing
        )
        (first, *_) = self.report()
        heading = f"<h3>{escape(first)}</h3>"
        if not self.keys and not self.differing:
            heading += f"<p><b>{escape(_nothing())}</b></p>"
        return f"{heading}{f'<ul>{keys}</ul>' if keys else ''}{terms}{kinds}<p>{escape(self.proof())}</p>"

    def _repr_mimebundle_(self, **_: Any) -> dict[str, str]:
        return {"text/plain": str(self), "text/html": self.page_html(ROOM)}


def _section_html(section: Section) -> str:
    heading = f"<p><b>{escape(section.heading)}</b></p>" if section.heading else ""
    lines = "".join(f"<li>{escape(line)}</li>" for line in section.lines)
    return f"{heading}<ul>{lines}</ul>"


def _nothing() -> str:
    return say("Nothing: the two sites are the same in every key and in everything that is generated.")


def key_line(change: KeyChange) -> str:
    """Return what a key is, its two values, and the reason that is recorded."""
    line = key_words(change)
    if not change.reason:
        return line
    return say("{line} (reason of {ward}: {reason})", line=line, ward=change.whose, reason=change.reason)


def changed_keys(before: Site, after: Site) -> tuple[KeyChange, ...]:
    """Return the keys in which two sites differ."""
    return tuple(
        KeyChange(
            key=key,
            before=key.plain(before),
            after=key.plain(after),
            measures=(measure_of(key, before), measure_of(key, after)),
            reason=after.reasons.get(key.name, "") or before.reasons.get(key.name, ""),
            whose=after.name if key.name in after.reasons else before.name,
        )
        for key in KEYS
        if key.plain(before) != key.plain(after)
    )


def compare_sites(before: Site, after: Site) -> SiteComparison:
    """Compare everything a learner sees on two sites.

    Parameters
    ----------
    before, after : Site
        The sites. What a learner sees on each is in the words of that site; what it is called, in the words of who
        speaks now.

    Returns
    -------
    SiteComparison
        Every difference, and how much is the same.
    """
    return SiteComparison(
        before=before,
        after=after,
        keys=changed_keys(before, after),
        kinds=tuple(
            compare_outputs(kind, everything(kind, before), everything(kind, after)) for kind in output_kinds()
        ),
    )
