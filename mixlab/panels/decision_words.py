"""What stands on the bedside panel: the choices and what they mean, the state, and the sheet of steps and reasons."""

from __future__ import annotations

import math
from dataclasses import dataclass
from html import escape
from typing import Any

from mixlab.care.decision.deciding import Decision, decide
from mixlab.figures.decision.bedside import Seen, describe_bedside
from mixlab.quantities import Glucose
from mixlab.ward.observation import Alertness, Earlier, Observation, OffScale
from mixlab.ward.order.order import Order
from mixlab.ward.site.record import Site
from mixlab.words import mark, say, speaking

JUST_TAKEN = mark("just taken")
NO_READING = mark("none to be had")
ALONE = mark("no second site")

AGES: dict[str, float | None] = {
    JUST_TAKEN: 0.0, mark("30 min old"): 30.0, mark("60 min old"): 60.0, mark("61 min old"): 61.0,
    mark("3 h old"): 180.0, mark("of unknown age"): None,
}  # fmt: skip
MEALS: dict[str, dict[str, Any]] = {
    mark("eating"): {"eating": True},
    mark("eating, tray late"): {"eating": True, "meal_late": True},
    mark("not eating"): {"eating": False},
    mark("vomiting"): {"eating": False, "vomiting": True},
    mark("fasting for a test"): {"eating": False, "fasting": True},
    mark("not known"): {"eating": None},
}
ALERT: dict[str, Alertness | None] = {
    mark("awake"): "awake", mark("drowsy"): "drowsy", mark("unresponsive"): "unresponsive", mark("nobody has looked"): None,
}  # fmt: skip
SWALLOW: dict[str, bool | None] = {mark("not tried"): None, mark("safe"): True, mark("not safe"): False}
LAST_DOSE: dict[str, float | None] = {
    mark("none that could be this one"): math.inf, mark("8 h ago"): 8.0, mark("2 h ago"): 2.0, mark("not known"): None,
}  # fmt: skip
EARLIER: dict[str, tuple[Earlier, ...]] = {
    mark("none out of line"): (),
    mark("one low, 2 h ago"): (Earlier(glucose=Glucose(58, "mg/dL"), hours_ago=2.0),),
    mark("two lows, 2 and 5 h ago"): (
        Earlier(glucose=Glucose(58, "mg/dL"), hours_ago=2.0),
        Earlier(glucose=Glucose(61, "mg/dL"), hours_ago=5.0),
    ),
    mark("280 mg/dL, 6 h ago"): (Earlier(glucose=Glucose(280, "mg/dL"), hours_ago=6.0),),
}
"""What the choices mean: demonstration values, no advice."""


@dataclass(frozen=True, kw_only=True)
class State:
    """What the controls say. `signs` is None while nobody has looked; `beside` is None for one site alone."""

    reading: Glucose | OffScale
    age: str = JUST_TAKEN
    meal: str = "eating"
    signs: tuple[str, ...] | None = ()
    alertness: str = "awake"
    swallow: str = "not tried"
    last_dose: str = "none that could be this one"
    earlier: str = "none out of line"
    changed: bool = False
    says_give: bool = False
    site: Site
    beside: Site | None = None

    @property
    def observation(self) -> Observation:
        """The same as care takes it."""
        return Observation(
            glucose=None if self.age == NO_READING else self.reading,
            minutes_old=AGES.get(self.age),
            signs=self.signs,
            alertness=ALERT[self.alertness],
            can_swallow=SWALLOW[self.swallow],
            hours_since_dose=LAST_DOSE[self.last_dose],
            earlier=EARLIER[self.earlier],
            changed=self.changed,
            prescriber_says_give=self.says_give,
            **MEALS[self.meal],
        )


def see(state: State, order: Order, site: Site, before: Seen | None = None) -> Seen:
    """Decide at one site, beside what was decided before."""
    found = state.observation
    with speaking(site.voice):
        decision = decide(order, found, site)
    return Seen(
        order=order,
        observation=found,
        site=site,
        decision=decision,
        before=before.decision if before else None,
    )


def words_of(seen: Seen) -> tuple[str, str]:
    """Return the picture in words and the sheet, in the words of the site that decided."""
    with speaking(seen.site.voice):
        return describe_bedside(seen), sheet_html(seen.decision)


def sheet_html(decision: Decision) -> str:
    """Return every step, whom to tell, what must happen for the dose to be given later, and every reason with its rule."""
    parts = (
        (say("Next"), "ol", decision.next_steps),
        (say("Tell"), "ul", decision.tell),
        (say("For the dose to be given later"), "ul", decision.give_when),
        (say("Why, and who says so"), "ul", [*map(str, decision.because), *decision.numbers]),
    )
    return "".join(
        f"<b>{title}</b><{kind}>{''.join(f'<li>{escape(one)}</li>' for one in lines)}</{kind}>"
        for title, kind, lines in parts
        if lines
    )
