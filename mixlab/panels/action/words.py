"""The state of the panel on when insulins act, what follows from it, and its words."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import lru_cache, partial
from typing import Literal

import numpy as np

from mixlab.care.action.absorption import NoFigures, NoModel, begin_spell
from mixlab.care.action.curves import ActionCurves, action_curves
from mixlab.care.action.injection import Injection, as_ordered, contaminated, from_clear_layer, from_sediment, swapped
from mixlab.care.action.variation import Fan, Width, day_to_day
from mixlab.care.day.need import Cover, cover, eaten_meals
from mixlab.care.day.planning import DayPlan, day_plan
from mixlab.care.dosing import plan_dose
from mixlab.facts.reading import the_facts
from mixlab.figures.action.both_together_words import ActionSeen, sum_words
from mixlab.figures.action.evidence_words import Evidence, short_name
from mixlab.figures.day.day_words import DaySeen
from mixlab.panels.order_panel import HOURS
from mixlab.quantities import number_text
from mixlab.ward.order.order import Order
from mixlab.ward.order.reading import read_order
from mixlab.ward.site.record import Site
from mixlab.words import plural, say, sentence

FAN_HOURS = np.concatenate([np.arange(60) / 6, np.arange(10, 25)])
"""What the fan is drawn at: every ten minutes for ten hours, then every hour up to 24 h."""

CURVES, CLEAR, CLOUDY, DAY = (
    sentence("the curves").key,
    sentence("clear: who says what").key,
    sentence("cloudy: who says what").key,
    sentence("the day at the bedside").key,
)
ACTION_PICTURES = (CURVES, CLEAR, CLOUDY, DAY)

NO_FAN = sentence("off").key
FANS: tuple[str, ...] = (NO_FAN, sentence("day to day").key, sentence("wide").key)

NO_SPELL = sentence("nothing").key

TAUGHT_HERE = sentence("taught here").key
"""What stands for a handbook where the site's own choice is shown, of one or of several."""

AS_ORDERED = sentence("as ordered").key

_CONTAMINATED = sentence("{percent} % of the clear acts as cloudy").key


def slips() -> dict[str, Callable[[Order], Injection]]:
    """Return what can be under the skin, by the words of the drop-down in English."""
    named: dict[str, Callable[[Order], Injection]] = {
        AS_ORDERED: as_ordered,
        sentence("the two doses swapped").key: swapped,
        sentence("cloudy not rolled, clear layer drawn").key: from_clear_layer,
        sentence("cloudy not rolled, sediment drawn").key: from_sediment,
    }
    return named | {slip: partial(contaminated, fraction=part) for slip, part in _contaminations().items()}


def slip_words(slip: str) -> str:
    """Return one of `slips` as it is said."""
    part = _contaminations().get(slip)
    return say(slip) if part is None else say(_CONTAMINATED, percent=number_text(100 * part))


def _contaminations() -> dict[str, float]:
    parts = [the_facts().action[key].value for key in ("contaminated_drop", "contaminated_much")]
    return {_CONTAMINATED.format(percent=f"{100 * part:g}"): part for part in parts}


@dataclass(frozen=True, kw_only=True)
class MealState:
    """A meal as its controls say it: its time as typed."""

    name: str
    at: str
    eaten: bool = True


@dataclass(frozen=True, kw_only=True)
class ActionState:
    """What the controls say."""

    order_text: str
    given_at: str
    meals: tuple[MealState, ...]
    basal_share: float
    row: str = TAUGHT_HERE
    body_site: str = "abdomen"
    spell: str = NO_SPELL
    spell_start: int = 30
    slip: str = AS_ORDERED
    weight_kg: float = 70
    fan: str = NO_FAN
    shown: str = CURVES
    guess_h: float | None = None
    sum_shown: bool = False

    @property
    def handbook(self) -> str | None:
        """The one handbook that is chosen; None for what the site teaches."""
        return None if self.row == TAUGHT_HERE else self.row


@dataclass(frozen=True, kw_only=True)
class ActionView:
    """What follows from a state. `curves`, `cover` and `beside` are None for an insulin without a model."""

    order: Order
    plan: DayPlan
    curves: ActionCurves | None
    beside: ActionCurves | None
    fan: Fan | None
    cover: Cover | None
    state: ActionState

    @property
    def action(self) -> ActionSeen:
        """What the picture of the curves shows."""
        return ActionSeen(
            order=self.order,
            curves=self.curves,
            fan=self.fan,
            row=self.state.handbook,
            sum_shown=self.state.sum_shown,
            guess_h=self.state.guess_h,
            beside=self.beside,
            site=self.plan.site,
        )

    @property
    def evidence(self) -> Evidence:
        """What the picture of one insulin's sources shows."""
        look: Literal["clear", "cloudy"] = "cloudy" if self.state.shown == CLOUDY else "clear"
        return Evidence(
            order=self.order, look=look, curves=self.curves, fan=self.fan, row=self.state.handbook, site=self.plan.site
        )

    @property
    def day(self) -> DaySeen:
        """What the picture of the day shows."""
        return DaySeen(plan=self.plan, curves=self.curves, cover=self.cover)

    @property
    def seen(self) -> ActionSeen | Evidence | DaySeen:
        """What the chosen picture shows."""
        if self.state.shown == CURVES:
            return self.action
        return self.day if self.state.shown == DAY else self.evidence


@lru_cache(maxsize=128)  # a held key comes back to states that were seen before
def see_action(state: ActionState, site: Site) -> ActionView:
    """Compute everything the panel shows.

    Raises
    ------
    OrderError, CannotPrepare, NotAnAmount, NoModel, NotAClockTime, CannotPlan
        If the state cannot be shown; the message is for the learner.
    """
    order = read_order(state.order_text)
    plan_dose(order, site)
    curves, beside, fan = _curves(state, order)
    usual = {meal.name: meal for meal in site.meals}
    meals = [replace(usual[one.name], at=one.at, eaten=one.eaten) for one in state.meals]
    plan = day_plan(order, state.given_at, meals, site, row=state.handbook, curves=curves)
    covered = cover(curves, eaten_meals(plan), state.basal_share) if curves else None
    return ActionView(order=order, plan=plan, curves=curves, beside=beside, fan=fan, cover=covered, state=state)


def _curves(state: ActionState, order: Order) -> tuple[ActionCurves | None, ActionCurves | None, Fan | None]:
    """Return the curves, those of the dose as ordered if they differ, and the fan if it is asked for; None without a model."""
    try:
        usual = action_curves(order, HOURS, state.weight_kg)
    except NoFigures as refusal:
        if (state.slip, state.spell, state.body_site) != (AS_ORDERED, NO_SPELL, "abdomen"):
            raise NoModel(
                sentence(
                    "{refusal} So a slip, another place and what makes it faster cannot be shown: choose '{abdomen}', '{nothing}' and '{as_ordered}'.",
                    refusal=refusal.args[0],
                    abdomen=the_facts().body_sites["abdomen"].name,
                    nothing=sentence(NO_SPELL),
                    as_ordered=sentence(AS_ORDERED),
                )
            ) from None
        return None, None, None
    injection, site = slips()[state.slip](order), state.body_site
    spell = None if state.spell == NO_SPELL else begin_spell(state.spell, state.spell_start)
    curves = action_curves(order, HOURS, state.weight_kg, body_site=site, spell=spell, injection=injection)
    fan = None
    if state.fan != NO_FAN and state.shown != DAY:
        width: Width = "wide" if state.fan == "wide" else "day to day"
        step = 10 if spell is None else 5 if state.spell_start % 5 == 0 else 1
        fan = day_to_day(order, FAN_HOURS, width=width, body_site=site, spell=spell, injection=injection, step=step)
    changed = (injection.slipped, site, spell) != (False, usual.body_site, None)
    return curves, usual if changed else None, fan


def guess_words(view: ActionView) -> str:
    """Return what the guess was worth, once the sum is shown."""
    state, curves = view.state, view.curves
    if not state.sum_shown or curves is None or state.guess_h is None:
        return ""
    peak = curves.peak()
    if peak is None:
        return say("The sum never reaches the level that counts as acting.")
    return say(
        "You said {guess} h; by the model the sum is strongest {peak} h after the injection: {shape}.",
        guess=number_text(state.guess_h),
        peak=number_text(round(peak, 1)),
        shape=sum_words(curves),
    )


def aloud_words(view: ActionView) -> str:
    """Return what is said aloud after a change: of a held order that it is held, first."""
    answer = view.plan.answer
    held = f"{answer.text} {answer.for_the_lesson} " if answer.held else ""
    given = held + say(
        "{clear}, {cloudy}, injected at {clock}. ",
        clear=view.order.clear,
        cloudy=view.order.cloudy,
        clock=view.plan.given_at,
    )
    clashes = len(view.plan.clashes)
    if not clashes:
        return given
    return given + plural(clashes, "{count} thing that does not fit.", "{count} things that do not fit.", count=clashes)


def row_names(rows: tuple[str, ...]) -> list[tuple[str, str]]:
    """Return what the site teaches, and handbooks by their short names, for a drop-down."""
    return [(say(TAUGHT_HERE), TAUGHT_HERE), *((short_name(the_facts().sources[key]), key) for key in rows)]
