"""Right variants of the right run: other orders of steps that are just as clean."""

from __future__ import annotations

from collections.abc import Callable

from mixlab.care.dosing import Plan

from .actions import DrawTo, Invert, Pierce, PullAir, PushAir, PushBackTo, Withdraw
from .getting_ready import HaveChecked, LetDry, LookAt, PutOnGloves, ReadLabel, Roll, Swab
from .handling import Cap, DiscardSyringe, Give, LabelSyringe, LayDown, TakeSyringe, Uncap
from .runs import CLEAR, CLOUDY, WIPE_S, Run, bench_for, right_run, rolls
from .variants import SYRINGE, Edit

_Variant = Callable[[Edit, Plan], object]

_OVER = 2

RIGHT_VARIANTS: dict[str, _Variant] = {
    "as the steps say": lambda edit, plan: None,
    "clear drawn over and pushed back": lambda edit, plan: edit.put(
        [DrawTo(plan.clear_mark + _OVER), PushBackTo(plan.clear_mark)], HaveChecked
    ),
    "gloves although nobody asks": lambda edit, plan: edit.put([PutOnGloves()], ReadLabel),
    "rolled just before the draw": lambda edit, plan: edit.put(
        [Roll(CLOUDY, rolls(plan.site)), LookAt(CLOUDY)], Pierce, CLOUDY, -1
    ),
    "needle taken out of the clear vial and put in again": lambda edit, plan: edit.put(
        [Withdraw(), Pierce(CLEAR, "air")], Invert
    ),
    "clear vial wiped first": lambda edit, plan: (
        edit.drop(LetDry, CLOUDY).drop(Swab, CLOUDY).put([Swab(CLOUDY, WIPE_S), LetDry(CLOUDY)], PullAir)
    ),
    "read again before each draw": lambda edit, plan: edit.put([ReadLabel(CLOUDY)], DrawTo, nth=-1),
    "capped with one hand, labelled, given in time": lambda edit, plan: edit.put(
        [Cap("one hand"), LabelSyringe(), LayDown(min(5, plan.site.waiting.value)), Uncap()], Give
    ),
    "cloudy overdrawn, discarded, and begun again": lambda edit, plan: (
        edit.put(
            [DrawTo(plan.total_mark + _OVER), Withdraw(), DiscardSyringe(), *right_run(plan)[SYRINGE:-3]],
            DrawTo,
            nth=-1,
        )
        .drop(DrawTo, nth=-1)
        .drop(Withdraw, nth=-1)
    ),
    "cloudy drawn first, noticed before the clear vial, and begun again": lambda edit, plan: edit.put(
        [
            PullAir(plan.air_into_cloudy),
            Pierce(CLOUDY, "air"),
            PushAir(),
            Invert(),
            DrawTo(plan.air_into_cloudy),
            Withdraw(),
            DiscardSyringe(),
            TakeSyringe(plan.syringe.key),
        ],
        PullAir,
    ),
}
"""Other right ways to do it, each a change of the plan's own steps."""


def right_variant(name: str, plan: Plan) -> Run:
    """Return a right run that differs from the plan's own steps.

    Raises
    ------
    KeyError
        If there is no variant of that name.
    Impossible
        If the order leaves no room for this one.
    """
    edit = Edit(right_run(plan))
    RIGHT_VARIANTS[name](edit, plan)
    made = Run(name=name, plan=plan, bench=bench_for(plan.order, plan.site), actions=tuple(edit.actions))
    made.trace()
    return made
