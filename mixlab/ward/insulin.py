"""The insulins on the shelf."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Literal

from mixlab.facts.reading import the_facts
from mixlab.facts.records import InsulinRow, TaughtTimes
from mixlab.words import TERMS, Sentence, sentence, voice_now


@dataclass(frozen=True, kw_only=True)
class Insulin:
    """One insulin: how a good vial of it looks, and what the facts say of it."""

    key: str
    look: Literal["clear", "cloudy"]
    row: InsulinRow

    @property
    def name(self) -> Sentence:
        """What it is called: a term that a site can rename, or its generic name."""
        return sentence(f"{{{self.key}}}" if self.key in TERMS else self.row.name)

    @property
    def written(self) -> str:
        """What an order calls it: the site's term for it, which an order can be read by, or its generic name."""
        return dict(voice_now().terms).get(self.key) or self.row.name

    def times_by(self, sources: Collection[str]) -> TaughtTimes:
        """Return what handbooks teach together, in hours, or the facts' own choice where none of them has this insulin."""
        rows = tuple(row for row in self.row.times if row.source in sources)
        return TaughtTimes(rows=rows) if rows else self.row.taught_times

    def may_share_with(self, other: Insulin) -> bool:
        """Say whether the two insulins may share one syringe."""
        return other.key in self.row.mixing.may_share_with

    def __repr__(self) -> str:
        return f"<{self.row.name}, {self.look}>"

    def __str__(self) -> str:
        return str(self.name)


@cache
def insulins() -> Mapping[str, Insulin]:
    """Return every insulin of the facts by its key."""
    rows = the_facts().insulins
    return MappingProxyType({k: Insulin(key=k, look=row.look, row=row) for k, row in rows.items()})
