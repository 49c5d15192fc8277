"""The model beside every handbook: what of each row lies inside, and what does not."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from mixlab.facts.reading import the_facts
from mixlab.facts.records import ActionTimes, Span, TaughtTimes
from mixlab.ward.insulin import Insulin
from mixlab.ward.site.in_force import the_site
from mixlab.ward.site.record import Site
from mixlab.words import Sentence, say, sentence

from .curves import ActionCurves

TaughtMoment = Literal["starts", "strongest", "ends"]

_MOMENTS: dict[TaughtMoment, Sentence] = {
    "starts": sentence("{insulin} starts: taught {taught}; model {model}; {verdict}. {source}."),
    "strongest": sentence("{insulin} strongest: taught {taught}; model {model}; {verdict}. {source}."),
    "ends": sentence("{insulin} ends: taught {taught}; model {model}; {verdict}. {source}."),
}


@dataclass(frozen=True, kw_only=True)
class TaughtTime:
    """One figure of a handbook's row, in h, and the model's hour, or None where it has none."""

    insulin: Insulin
    row: ActionTimes
    moment: TaughtMoment
    taught: Span
    model: float | None

    @property
    def inside(self) -> bool:
        """Whether the model's hour lies inside the handbook's figure."""
        return self.model is not None and self.taught.low <= self.model <= self.taught.high

    def __str__(self) -> str:
        model = None if self.model is None else sentence("{hours} h", hours=Decimal(f"{self.model:.1f}"))
        return say(
            _MOMENTS[self.moment],
            insulin=self.insulin.name,
            taught=self.taught,
            model=model or sentence("none"),
            verdict=sentence("inside") if self.inside else sentence("OUTSIDE"),
            source=the_facts().cite(self.row),
        )


def times_at(insulin: Insulin, source: str | None, site: Site | None = None) -> TaughtTimes:
    """Return a handbook's times of an insulin, or those taught at the site where it has none or none is asked for."""
    return insulin.times_by((source,)) if source and has_row(insulin, source) else the_site(site).times(insulin)


def has_row(insulin: Insulin, source: str) -> bool:
    """Say whether a handbook has a row of an insulin."""
    return any(row.source == source for row in insulin.row.times)


def against_handbooks(curves: ActionCurves) -> Iterator[TaughtTime]:
    """Yield every figure that a handbook has for the two insulins of an order, beside the model's."""
    for dose in (curves.order.clear, curves.order.cloudy):
        part = dose.insulin.look
        hours = (curves.onset(part), curves.peak(part), curves.end(part))
        for row in dose.insulin.row.times:
            figures: tuple[tuple[TaughtMoment, Span | None], ...] = (
                ("starts", row.onset), ("strongest", row.peak), ("ends", row.duration),
            )  # fmt: skip
            for (moment, span), model in zip(figures, hours, strict=True):
                if span:
                    yield TaughtTime(insulin=dose.insulin, row=row, moment=moment, taught=span, model=model)


def handbook_misses(curves: ActionCurves | None) -> tuple[TaughtTime, ...]:
    """Return the figures of handbooks that the model lies outside of; none where an insulin has no model.

    Examples
    --------
    >>> curves = action_curves(read_order("regular insulin 8 units and NPH insulin 20 units"), [0, 24])
    >>> len(handbook_misses(curves))
    23
    """
    return () if curves is None else tuple(one for one in against_handbooks(curves) if not one.inside)
