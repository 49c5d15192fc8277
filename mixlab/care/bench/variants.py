"""Runs that differ from the right one in one place: right variants of it, and wrong runs by the name of their finding."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

from mixlab.care.dosing import Plan, plan_dose
from mixlab.ward.insulin import Insulin, insulins

from .actions import DrawTo, Invert, Pierce, PullAir, PushAir, PushBackTo, TapBubbles, Withdraw
from .bench import Action, Bench
from .getting_ready import CleanHands, HaveChecked, LetDry, LookAt, PutOnGloves, ReadLabel, Roll, Shake, Swab
from .handling import Cap, DiscardSyringe, Give, LabelSyringe, LayDown, Uncap
from .runs import CLEAR, CLOUDY, OTHER, Run, bench_for, right_run, vial_of


class Edit:
    """A right run, to be changed in one place."""

    def __init__(self, actions: Sequence[Action]) -> None:
        self.actions = list(actions)

    def index(self, kind: type[Action], vial: str = "", nth: int = 0) -> int:
        """Return where the nth action of a kind stands; a negative nth counts from the end."""
        found = [
            at
            for at, action in enumerate(self.actions)
            if isinstance(action, kind) and (not vial or getattr(action, "vial", "") == vial)
        ]
        return found[nth]

    def drop(self, kind: type[Action], vial: str = "", nth: int = 0) -> Edit:
        """Leave an action out."""
        del self.actions[self.index(kind, vial, nth)]
        return self

    def put(self, new: Sequence[Action], kind: type[Action], vial: str = "", nth: int = 0, after: int = 0) -> Edit:
        """Do more before an action, or after it."""
        at = self.index(kind, vial, nth) + after
        self.actions[at:at] = new
        return self

    def change(self, new: Action, kind: type[Action], vial: str = "", nth: int = 0) -> Edit:
        """Do something else in an action's place."""
        self.actions[self.index(kind, vial, nth)] = new
        return self

    def from_vial(self, old: str, new: str, since: int = 0) -> Edit:
        """Use another vial in a vial's place."""
        self.actions[since:] = [
            replace(action, vial=new) if getattr(action, "vial", "") == old else action  # type: ignore[call-arg]
            for action in self.actions[since:]
        ]
        return self


def _other_rule(plan: Plan, field: str, value: str) -> Plan:
    policy = replace(getattr(plan.site, field), value=value)
    return plan_dose(plan.order, replace(plan.site, **{field: policy}))


def _edited(change: Callable[[Edit, Plan], object]) -> Callable[[Plan], _Made]:
    """Make a wrong run by changing the right one."""

    def make(plan: Plan) -> _Made:
        edit = Edit(right_run(plan))
        change(edit, plan)
        return plan, bench_for(plan.order, plan.site), edit.actions

    return make


def _before_giving(*new: Action) -> Callable[[Plan], _Made]:
    return _edited(lambda edit, _: edit.put(new, Give))


def _with_vial(place: str, insulin: Callable[[Plan], Insulin], **looks: Any) -> Callable[[Plan], _Made]:
    """Make a wrong run with the right actions and a vial that is not as it should be."""
    return lambda plan: (
        plan,
        bench_for(plan.order, plan.site, **{place: vial_of(insulin(plan), **looks)}),
        right_run(plan),
    )


def _instead_of_clear(pick: Callable[[Plan], str]) -> Callable[[Plan], _Made]:
    """Make a wrong run that takes a third vial for the clear one."""

    def make(plan: Plan) -> _Made:
        bench = bench_for(plan.order, plan.site, **{OTHER: vial_of(insulins()[pick(plan)])})
        return plan, bench, Edit(right_run(plan)).from_vial(CLEAR, OTHER).actions

    return make


def _instead_of_cloudy(key: str) -> Callable[[Plan], _Made]:
    """Make a wrong run that takes a third vial, rolled and looked at, for the cloudy one."""

    def make(plan: Plan) -> _Made:
        bench = bench_for(plan.order, plan.site, **{OTHER: vial_of(insulins()[key])})
        return plan, bench, Edit(right_run(plan)).from_vial(CLOUDY, OTHER).actions

    return make


def _with_syringe(kind: str) -> Callable[[Plan], _Made]:
    return lambda plan: (plan, bench_for(plan.order, plan.site), right_run(plan, syringe=kind))


def _at_site(field: str, value: str, change: Callable[[Edit, Plan], object]) -> Callable[[Plan], _Made]:
    """Make a run that only this rule of a ward calls wrong."""
    return lambda plan: _edited(change)(_other_rule(plan, field, value))


def _with_air(change: Callable[[Edit, Plan], object]) -> Callable[[Plan], _Made]:
    """Make a wrong run out of the air that a vial is given, on a ward that gives it."""
    return _at_site("air", "as much as the dose", change)


def _keep_bubble(edit: Edit) -> Edit:
    """Leave the bubbles of the clear draw where they are."""
    while any(isinstance(action, TapBubbles) for action in edit.actions):
        at = edit.index(TapBubbles)
        del edit.actions[at : at + 2]
    return edit


def _cloudy_first(edit: Edit, plan: Plan) -> None:
    first, second = edit.index(Invert), edit.index(Pierce, CLOUDY, -1)
    _keep_bubble(edit)
    second = edit.index(Pierce, CLOUDY, -1)
    cloudy = plan.total_mark - plan.clear_mark
    edit.actions[first:second] = [
        Withdraw(),
        Pierce(CLOUDY, "air"),
        Invert(),
        DrawTo(cloudy),
        TapBubbles(),
        DrawTo(cloudy),
        HaveChecked(),
        Withdraw(),
    ]
    edit.change(Pierce(CLEAR, "air"), Pierce, CLOUDY, -1)


def _clear_air_first(edit: Edit, plan: Plan) -> None:
    at = edit.index(PullAir)
    edit.actions[at : at + 7] = [
        PullAir(plan.air_into_clear),
        Pierce(CLEAR, "air"),
        PushAir(),
        Withdraw(),
        PullAir(plan.air_into_cloudy),
        Pierce(CLOUDY, "air"),
        PushAir(),
        Withdraw(),
        Pierce(CLEAR, "air"),
    ]


def _odd_on_two(plan: Plan) -> _Made:
    """Order one unit more than a scale with a line every two can show."""
    order = plan.order
    clear = order.clear.units + (1 if order.clear.units % 2 == 0 else 0)
    first, second = (replace(dose, units=clear) if dose is order.clear else dose for dose in order.doses)
    odd = plan_dose(replace(order, doses=(first, second)), plan.site)
    return odd, bench_for(odd.order, odd.site), right_run(odd, syringe="1.0-two")


_Made = tuple[Plan, Bench, Sequence[Action]]

WRONG_RUNS: dict[str, Callable[[Plan], _Made]] = {
    "hands-not-cleaned": _edited(lambda edit, _: edit.drop(CleanHands)),
    "gloves-missing": _at_site("gloves", "required", lambda edit, _: edit.drop(PutOnGloves)),
    "label-not-read": _edited(lambda edit, _: edit.drop(ReadLabel, CLOUDY)),
    "vial-not-looked-at": _edited(lambda edit, _: edit.drop(LookAt, CLEAR)),
    "not-looked-at-after-rolling": _edited(lambda edit, _: edit.drop(LookAt, CLOUDY, -1)),
    "spoiled-vial": _with_vial(CLOUDY, lambda plan: plan.cloudy.insulin, condition="clumped"),
    "past-date": _with_vial(CLEAR, lambda plan: plan.clear.insulin, past_date=True),
    "stopper-not-wiped": _edited(lambda edit, _: edit.drop(LetDry, CLEAR).drop(Swab, CLEAR)),
    "stopper-not-dry": _edited(lambda edit, _: edit.drop(LetDry, CLEAR)),
    "wrong-vial": _instead_of_clear(lambda plan: "lispro" if plan.clear.insulin.key != "lispro" else "regular"),
    "same-insulin-twice": _edited(lambda edit, _: edit.from_vial(CLOUDY, CLEAR, since=edit.index(Pierce, CLOUDY, -1))),
    "premixed-in-the-mix": _instead_of_cloudy("premixed-70-30"),
    "one-insulin-missing": _edited(
        lambda edit, _: edit.drop(Withdraw, nth=-1).drop(DrawTo, nth=-1).drop(Invert, nth=-1).drop(Pierce, nth=-1)
    ),
    "mixture-pushed-out": _edited(
        lambda edit, plan: edit.change(DrawTo(plan.total_mark + 2), DrawTo, nth=-1).put(
            [PushBackTo(plan.total_mark)], HaveChecked, nth=-1
        )
    ),
    "pushed-into-another-vial": _with_air(
        lambda edit, plan: (
            edit.change(PullAir(plan.air_into_cloudy - 2), PullAir)
            .put([DrawTo(plan.clear_mark + 2)], HaveChecked)
            .put([PushBackTo(plan.clear_mark), HaveChecked()], Invert, nth=-1)
        )
    ),
    "given-twice": _edited(lambda edit, plan: edit.actions.extend(right_run(plan)[SYRINGE:])),
    "used-needle-in-vial": _edited(lambda edit, _: edit.put([Pierce(CLEAR, "air"), Withdraw()], DiscardSyringe)),
    "long-acting-in-the-mix": _instead_of_clear(lambda plan: "glargine"),
    "scale-not-in-units": _with_syringe("10 mL"),
    "strength-and-scale-differ": _with_syringe("U-40"),
    "separate-needle": _with_syringe("separate needle"),
    "between-lines": _odd_on_two,
    "too-little-air": _with_air(lambda edit, _: edit.drop(PullAir).drop(Pierce, CLOUDY).drop(PushAir).drop(Withdraw)),
    "too-much-air": _with_air(lambda edit, plan: edit.change(PullAir(plan.syringe.capacity_units), PullAir)),
    "air-into-clear-first": _with_air(_clear_air_first),
    "tip-dipped-in-cloudy": _with_air(lambda edit, _: edit.change(Pierce(CLOUDY, "liquid"), Pierce, CLOUDY)),
    "cloudy-drawn-first": _edited(_cloudy_first),
    "pushed-back-after-mixing": _edited(
        lambda edit, plan: edit.change(DrawTo(plan.total_mark + 2), DrawTo, nth=-1).put(
            [PushBackTo(plan.total_mark)], DrawTo, nth=-1, after=1
        )
    ),
    "push-back-not-allowed": _at_site(
        "push_back",
        "never",
        lambda edit, plan: edit.put([DrawTo(plan.clear_mark + 2), PushBackTo(plan.clear_mark)], HaveChecked),
    ),
    "cloudy-overdrawn": _edited(lambda edit, plan: edit.change(DrawTo(plan.total_mark + 2), DrawTo, nth=-1)),
    "drawn-to-the-second-number": _edited(
        lambda edit, plan: edit.change(DrawTo(plan.total_mark - plan.clear_mark), DrawTo, nth=-1)
    ),
    "doses-swapped": lambda plan: (
        plan,
        bench_for(plan.order, plan.site),
        right_run(plan, clear_mark=plan.total_mark - plan.clear_mark),
    ),
    "clear-dose-off": lambda plan: (
        plan,
        bench_for(plan.order, plan.site),
        right_run(plan, clear_mark=plan.clear_mark + 1),
    ),
    "cloudy-dose-off": _edited(lambda edit, plan: edit.change(DrawTo(plan.total_mark - 2), DrawTo, nth=-1)),
    "late-bubble": _edited(
        lambda edit, plan: _keep_bubble(edit).put([TapBubbles(), DrawTo(plan.total_mark)], DrawTo, nth=-1, after=1)
    ),
    "bubble-left": _edited(lambda edit, _: _keep_bubble(edit)),
    "not-rolled": _edited(lambda edit, _: edit.drop(Roll)),
    "rolled-too-long-ago": _edited(lambda edit, _: edit.put([LayDown(30)], Roll, after=1)),
    "rolled-too-little": _edited(lambda edit, _: edit.change(Roll(CLOUDY, 2), Roll)),
    "shaken": _edited(lambda edit, _: edit.change(Shake(CLOUDY), Roll)),
    "clear-not-checked": _at_site("second_check", "each draw", lambda edit, _: edit.drop(HaveChecked)),
    "total-not-checked": _at_site("second_check", "each draw", lambda edit, _: edit.drop(HaveChecked, nth=-1)),
    "waited-too-long": lambda plan: _before_giving(
        Cap("one hand"), LabelSyringe(), LayDown(plan.site.waiting.value + 10), Uncap()
    )(plan),
    "laid-down-unlabeled": _before_giving(Cap("one hand"), LayDown(5), Uncap()),
    "needle-touched": _before_giving(LabelSyringe(), LayDown(2)),
    "used-needle-capped": _edited(lambda edit, _: edit.put([Cap("one hand")], DiscardSyringe)),
    "recapped-with-two-hands": _before_giving(Cap("two hands"), Uncap()),
    "capped-against-policy": _at_site("recapping", "never", lambda edit, _: edit.put([Cap("one hand"), Uncap()], Give)),
    "not-in-the-sharps-box": _edited(lambda edit, _: edit.drop(DiscardSyringe)),
    "unfinished": _edited(lambda edit, _: edit.drop(DiscardSyringe).drop(Give)),
}
"""How each wrong run is made from the right one, by the name of the one finding it must give."""


def wrong_run(name: str, plan: Plan) -> Run:
    """Return a run with one thing wrong.

    Raises
    ------
    KeyError
        If there is no wrong run of that name.
    Impossible
        If the order leaves no room for this one, such as a total too near the end of the barrel.
    """
    plan, bench, actions = WRONG_RUNS[name](plan)
    made = Run(name=name, plan=plan, bench=bench, actions=tuple(actions))
    made.trace()
    return made


SYRINGE = 7
"""Where a right run takes its syringe, on a ward that asks for no gloves."""
