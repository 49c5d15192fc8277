"""What the large picture of a mixed dose's action says, in words."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

import numpy as np

from mixlab.care.action.absorption import Hours
from mixlab.care.action.curves import ActionCurves, Part
from mixlab.care.action.handbooks import row_at
from mixlab.care.action.variation import Fan
from mixlab.facts.records import ActionTimes
from mixlab.facts.shelf import shelf
from mixlab.quantities import number_text, units_text
from mixlab.ward.insulin import Insulin
from mixlab.ward.order.order import Order
from mixlab.ward.site.record import Site
from mixlab.words import say, sentence

from .curves import LAST_HOUR, times_text
from .differences import difference_words, sentences

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
    row : str
        The source key of the chosen handbook row.
    sum_shown : bool
        Whether the sum of both insulins, and anything that tells of it, may be seen.
    guess_h : float or None
        The hour at which the learner expects the highest point.
    beside : ActionCurves or None
        The same order as ordered at the abdomen, where `curves` differs from it.
    site : Site or None
        Whose taught row stands in where the chosen handbook has none; the one in force if None.
    """

    order: Order
    curves: ActionCurves | None
    fan: Fan | None
    row: str
    sum_shown: bool
    guess_h: float | None
    beside: ActionCurves | None
    site: Site | None = None

    def times(self, look: Look) -> ActionTimes:
        """Return the row that is shown of an insulin: the chosen one, or the taught one where there is none."""
        return row_at(self.insulin(look), self.row, self.site)

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
    return (
        say("one highest point, then a shoulder")
        if has_shoulder(curves)
        else say("one highest point, no shoulder after it")
    )


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


def moments(curves: ActionCurves | None, part: Part) -> tuple[float | None, float | None, float | None]:
    """Return when a part starts, is strongest and ends, by the model."""
    return (curves.onset(part), curves.peak(part), curves.end(part)) if curves else (None, None, None)


def hours_text(hours: float) -> str:
    """Print hours to a tenth: ``"2.7 h"``."""
    return f"{number_text(round(hours, 1))} h"


def row_words(seen: ActionSeen, look: Look) -> str:
    """Return the taught times of the chosen row, and the model's start, strongest hour and end."""
    times = seen.times(look)
    start, peak, end = moments(seen.curves, look)
    taught = say("{insulin}: taught {hours}", insulin=seen.insulin(look), hours=times_text(times))
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
    facts, other = shelf(), [look for look in SEEN if seen.times(look).source != seen.row]
    cited = dict.fromkeys(facts.cite(seen.times(look)) for look in SEEN if look not in other)
    words = say(
        "Taught (bar from start to end, dark where strongest): {sources}",
        sources="; ".join(map(str, cited)) or say("no row of the chosen source"),
    )
    for look in other:
        source = facts.sources[seen.times(look).source]
        named_so = ", ".join(part for part in (source.title.split(",")[0], source.edition) if part)
        words += say(
            "; {insulin} has no row there, its taught row: {source}", insulin=seen.insulin(look), source=named_so
        )
    return words


def notices(seen: ActionSeen) -> list[str]:
    """Return what a reader must know about these curves, one sentence each."""
    if seen.curves is None:
        return [say("No model for this pair: taught times only.")]
    return sentences(difference_words(seen.curves))
