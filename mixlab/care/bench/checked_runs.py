"""Benches with a vial that must not be used, wrong runs about labels and checks, and syringes for a second nurse to check."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from random import Random
from typing import Any

from mixlab.care.dosing import Plan
from mixlab.ward.insulin import insulins
from mixlab.words import sentence

from .checking import NOTHING_WRONG, SayCheck, SayLabel
from .handling import HaveChecked, LookAt
from .runs import CLEAR, CLOUDY, Run, vial_of
from .vessels import Vial

GOOD = sentence("good vials").key
AT_RANDOM = sentence("chosen at random").key


def _vial(place: str, **looks: Any) -> Callable[[Plan], dict[str, Vial]]:
    """Return how to set out a bench with one vial that is not as it should be."""
    return lambda plan: {place: vial_of((plan.clear if place == CLEAR else plan.cloudy).insulin, **looks)}


def _opened_too_long(plan: Plan) -> dict[str, Vial]:
    insulin = plan.cloudy.insulin
    return {CLOUDY: vial_of(insulin, opened_days=round(plan.site.opened_days[insulin.key].value) + 6)}


def _look_alike(plan: Plan) -> dict[str, Vial]:
    other = "lispro" if plan.clear.insulin.key != "lispro" else "regular"
    return {CLEAR: vial_of(insulins()[other])}


TRAPS: dict[str, Callable[[Plan], dict[str, Vial]]] = {
    GOOD: lambda plan: {},
    sentence("a clumped vial").key: _vial(CLOUDY, condition="clumped"),
    sentence("a discolored vial").key: _vial(CLEAR, condition="discolored"),
    sentence("a hazy clear vial").key: _vial(CLEAR, condition="cloudy though clear insulin"),
    sentence("an expired vial").key: _vial(CLEAR, expires_in_days=-12),
    sentence("a vial opened too long").key: _opened_too_long,
    sentence("a vial of another strength").key: _vial(CLEAR, strength=500.0),
    sentence("a look-alike vial").key: _look_alike,
}
"""What can stand on the bench: good vials, or one that must not be used, by what it is called."""


def trap_vials(plan: Plan, name: str = AT_RANDOM, seed: int | None = None) -> dict[str, Vial]:
    """Return the vials that differ from good ones, for `bench_for`.

    Parameters
    ----------
    plan : Plan
        What is to be prepared.
    name : str
        One of `TRAPS`; at random if not given, and then two times in nine there is none.
    seed : int, optional
        The same seed chooses the same vial.

    Examples
    --------
    >>> from mixlab import plan_dose, read_order
    >>> plan = plan_dose(read_order("regular insulin 8 units and NPH insulin 20 units"))
    >>> trap_vials(plan, "a vial opened too long")["cloudy"].opened_days
    34
    """
    return TRAPS[Random(seed).choice([*TRAPS, GOOD]) if name == AT_RANDOM else name](plan)


def _passed_swapped(edit: Any) -> None:
    edit.begin(edit.plan, clear_mark=edit.total - edit.clear)


CHECKED_RUNS: dict[str, Callable[[Any], object]] = {
    "wrong-syringe-passed": _passed_swapped,
    "right-syringe-stopped": lambda edit: edit.put([SayCheck(edit.clear, "another amount", "stop")], HaveChecked),
    "check-misread": lambda edit: edit.put([SayCheck(edit.clear + 2, NOTHING_WRONG, "pass")], HaveChecked),
    "label-misjudged": lambda edit: edit.put([SayLabel(CLEAR, "expired")], LookAt, CLEAR),
}
"""How wrong runs about labels and checks are made; a check that passes a wrong syringe stands beside the fault it passed."""

_FIRST, _LAST = 0, -1

SYRINGES: dict[str, tuple[str, int]] = {
    "right, first draw": ("", _FIRST),
    "right, filled": ("", _LAST),
    "doses swapped": ("doses-swapped", _FIRST),
    "clear dose off": ("clear-dose-off", _FIRST),
    "wrong vial": ("wrong-vial", _FIRST),
    "past date": ("past-date", _FIRST),
    "separate needle": ("separate-needle", _FIRST),
    "bubble left": ("bubble-left", _FIRST),
    "spoiled vial": ("spoiled-vial", _LAST),
    "cloudy overdrawn": ("cloudy-overdrawn", _LAST),
    "cloudy dose off": ("cloudy-dose-off", _LAST),
    "drawn to the second number": ("drawn-to-the-second-number", _LAST),
}
"""The syringes that somebody else drew: which wrong run, none for a right one, and at which of its checks it is handed over."""


def syringe_to_check(plan: Plan, name: str = "", seed: int | None = None) -> Run:
    """Return a run that ends where the second nurse is handed the syringe, before she has said anything.

    Parameters
    ----------
    plan : Plan
        What was to be prepared.
    name : str
        One of `SYRINGES`; at random if not given, and then every second one is right.
    seed : int, optional
        The same seed chooses the same syringe.

    Examples
    --------
    >>> from mixlab import plan_dose, read_order
    >>> plan = plan_dose(read_order("regular insulin 8 units and NPH insulin 20 units"))
    >>> syringe_to_check(plan, "doses swapped").trace().last.syringe.mark
    20.0
    """
    from .variants import right_variant, wrong_run  # they are made of the runs above

    if not name:
        chance = Random(seed)
        right = chance.random() < 0.5
        name = chance.choice([key for key, (wrong, _) in SYRINGES.items() if right is not bool(wrong)])
    wrong, which = SYRINGES[name]
    made = wrong_run(wrong, plan) if wrong else right_variant("as the steps say", plan)
    checks = [at for at, action in enumerate(made.actions) if isinstance(action, HaveChecked)]
    return replace(made, name=name, actions=made.actions[: checks[which]])
