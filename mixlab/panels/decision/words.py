"""What stands on the bedside panel: the choices and what they mean, the state, and the sheet of steps and reasons."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from mixlab.care.decision.deciding import decide
from mixlab.figures.decision.bedside import Seen, describe_bedside
from mixlab.pages.decision import decision_html
from mixlab.quantities import Glucose
from mixlab.ward.observation import Alertness, Earlier, Observation, OffScale
from mixlab.ward.order.order import Order
from mixlab.ward.site.record import Site
from mixlab.words import sentence, speaking

JUST_TAKEN = sentence("just taken").key
NO_READING = sentence("none to be had").key
ALONE = ""  # no ward is called so

AGES: dict[str, float | None] = {
    JUST_TAKEN: 0.0, sentence("30 min old").key: 30.0, sentence("60 min old").key: 60.0, sentence("61 min old").key: 61.0,
    sentence("3 h old").key: 180.0, sentence("of unknown age").key: None,
}  # fmt: skip
MEALS: dict[str, dict[str, Any]] = {
    sentence("eating").key: {"eating": True},
    sentence("eating, tray late").key: {"eating": True, "meal_late": True},
    sentence("not eating").key: {"eating": False},
    sentence("vomiting").key: {"eating": False, "vomiting": True},
    sentence("fasting for a test").key: {"eating": False, "fasting": True},
    sentence("not known").key: {"eating": None},
}
ALERT: dict[str, Alertness | None] = {
    sentence("awake").key: "awake", sentence("drowsy").key: "drowsy", sentence("unresponsive").key: "unresponsive", sentence("nobody has looked").key: None,
}  # fmt: skip
SWALLOW: dict[str, bool | None] = {
    sentence("not tried").key: None,
    sentence("safe").key: True,
    sentence("not safe").key: False,
}
LAST_DOSE: dict[str, float | None] = {
    sentence("none that could be this one").key: math.inf, sentence("8 h ago").key: 8.0, sentence("2 h ago").key: 2.0, sentence("not known").key: None,
}  # fmt: skip
EARLIER: dict[str, tuple[Earlier, ...]] = {
    sentence("none out of line").key: (),
    sentence("one low, 2 h ago").key: (Earlier(glucose=Glucose(58, "mg/dL"), hours_ago=2.0),),
    sentence("two lows, 2 and 5 h ago").key: (
        Earlier(glucose=Glucose(58, "mg/dL"), hours_ago=2.0),
        Earlier(glucose=Glucose(61, "mg/dL"), hours_ago=5.0),
    ),
    sentence("280 mg/dL, 6 h ago").key: (Earlier(glucose=Glucose(280, "mg/dL"), hours_ago=6.0),),
}
"""What the choices mean: demonstration values, no advice."""


@dataclass(frozen=True, kw_only=True)
class BedsideState:
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


def decide_at(state: BedsideState, order: Order, site: Site, before: Seen | None = None) -> Seen:
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


def bedside_words(seen: Seen) -> tuple[str, str]:
    """Return the picture in words and the sheet, in the words of the site that decided."""
    with speaking(seen.site.voice):
        return describe_bedside(seen), decision_html(seen.decision)
