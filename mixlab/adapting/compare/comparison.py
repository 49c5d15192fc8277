"""Comparing two sites: everything a learner would see differently, and the proof that nothing else changed."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from io import StringIO
from typing import Any

from mixlab.figures.sites.two_wards import draw_site_changes
from mixlab.figures.sites.two_wards_words import SiteChanges, describe_site_changes
from mixlab.figures.style import PAGE, ROOM, Size
from mixlab.pages.comparison import comparison_html
from mixlab.ward.site.record import Site

from .changes import KindChanges
from .keys import KeyChange, changed_keys
from .listings import day, decisions, pictures, preparation, terms
from .outputs import everything, output_kinds
from .picture import site_changes
from .signed_page import Page, page_of
from .telling import everything_of

LISTINGS = (decisions, preparation, day, pictures, terms)
"""The modules that list what there is; each registers its kinds when it is loaded, and later ones do the same."""


@dataclass(frozen=True, kw_only=True)
class SiteComparison:
    """Two sites, compared over everything a learner can see: the keys that differ, and every kind of output."""

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

    def page(self) -> Page:
        """Return the page that a policy owner signs: what a nurse does differently, what is less strict first."""
        return page_of(self)

    def report(self) -> list[str]:
        """Return the page that a policy owner signs, line by line."""
        return [line.strip() for line in self.page().lines()]

    def everything(self) -> list[str]:
        """Return the whole list behind the page: every key and every output that differs."""
        return [line for heading, lines in everything_of(self) for line in (heading, *lines)]

    def __str__(self) -> str:
        return "\n".join(self.page().lines())

    @cached_property
    def picture(self) -> SiteChanges:
        """What the picture of the comparison shows."""
        return site_changes(self)

    def page_html(self, size: Size = PAGE) -> str:
        """Return the page to sign, below it the picture, and the whole list folded."""
        drawn, page = StringIO(), self.page()
        draw_site_changes(self.picture, size).figure.savefig(drawn, format="svg", metadata={"Date": None})
        return comparison_html(
            title=page.title,
            sections=page.sections,
            notes=page.notes,
            signature=page.signature,
            picture=drawn.getvalue(),
            picture_words=describe_site_changes(self.picture),
            whole=tuple(everything_of(self)),
        )

    def _repr_mimebundle_(self, **_: Any) -> dict[str, str]:
        return {"text/plain": str(self), "text/html": self.page_html(ROOM)}


def compare_sites(before: Site, after: Site) -> SiteComparison:
    """Compare everything a learner sees on two sites, value by value; it is told in the words of who speaks then.

    Parameters
    ----------
    before, after : Site
        The sites.

    Returns
    -------
    SiteComparison
        Every difference, and how much is the same.

    Examples
    --------
    >>> from mixlab import example_sites
    >>> teaching, harbour, *_ = example_sites()
    >>> compare_sites(teaching, harbour).report()[0]
    'From the teaching ward to the harbour ward: what a nurse is taught to do differently'
    """
    return SiteComparison(
        before=before,
        after=after,
        keys=changed_keys(before, after),
        kinds=tuple(
            KindChanges(kind=kind, before=everything(kind, before), after=everything(kind, after))
            for kind in output_kinds()
        ),
    )
