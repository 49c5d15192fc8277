"""Runs that differ from the right one: other right orders of its steps, and wrong runs by the name of their finding."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Any

from mixlab.care.dosing import Plan, longest_wait, plan_dose
from mixlab.facts.reading import the_facts
from mixlab.quantities import units_to_ml
from mixlab.ward.insulin import Insulin, insulins

from .actions import DrawTo, Invert, Pierce, PullAir, PushAir, PushBackTo, TapBubbles, Withdraw
from .bench import Action
from .checked_runs import CHECKED_RUNS
from .handling import (
    Cap,
    CleanHands,
    DiscardSyringe,
    Give,
    HaveChecked,
    LabelSyringe,
    LayDown,
    LetDry,
    LookAt,
    PutOnGloves,
    ReadLabel,
    Roll,
    Shake,
    Swab,
    TakeSyringe,
    Uncap,
)
from .runs import CLEAR, CLOUDY, OTHER, WIPE_S, Run, bench_for, right_run, rolls, vial_of
from .vessels import Vial

_OVER = 2


class Edit:
    """A right run, to be changed in one place."""

    def __init__(self, plan: Plan) -> None:
        self.vials: dict[str, Vial] = {}
        self.begin(plan)

    def begin(self, plan: Plan, **how: Any) -> Edit:
        """Take the right run of a plan; `how` is what `right_run` may be told besides."""
        self.plan, self.actions = plan, list(right_run(plan, **how))
        self.clear, self.total = plan.clear_mark, plan.total_mark
        return self

    def at_site(self, field: str, value: str) -> Edit:
        """Take the right run of a ward that has another rule."""
        policy = replace(getattr(self.plan.site, field), value=value)
        return self.begin(plan_dose(self.plan.order, replace(self.plan.site, **{field: policy})))

    def with_clear(self, key: str) -> Edit:
        """Take the right run of the same order with a clear insulin of this one's group."""
        order, insulin = self.plan.order, insulins()[key]
        if order.clear.insulin.row.group == insulin.row.group:
            return self
        first, second = (replace(dose, insulin=insulin) if dose is order.clear else dose for dose in order.doses)
        return self.begin(plan_dose(replace(order, doses=(first, second)), self.plan.site))

    def with_air(self) -> Edit:
        """Take the right run of a ward that gives air."""
        return self.at_site("air", "as much as the dose")

    def with_vial(self, place: str, insulin: Insulin, **looks: Any) -> Edit:
        """Put a vial on the bench that is not as it should be."""
        self.vials[place] = vial_of(insulin, **looks)
        return self

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

    def draw_to(self, total: float) -> Edit:
        """Draw the cloudy insulin to another mark."""
        return self.change(DrawTo(total), DrawTo, nth=-1)

    def from_vial(self, old: str, new: str, since: int = 0) -> Edit:
        """Use another vial in a vial's place."""
        self.actions[since:] = [
            replace(action, vial=new) if getattr(action, "vial", "") == old else action  # type: ignore[call-arg]
            for action in self.actions[since:]
        ]
        return self

    def without_taps(self) -> Edit:
        """Tap out no bubble."""
        while any(isinstance(action, TapBubbles) for action in self.actions):
            at = self.index(TapBubbles)
            del self.actions[at : at + 2]
        return self

    def keep_bubble(self) -> Edit:
        """Let a bubble slip into the clear draw, and leave it there."""
        ml = min(the_facts().bench["bubble_ml"].value, units_to_ml(float(self.clear)) / 2)
        return self.without_taps().change(DrawTo(self.clear, ml), DrawTo)


Variant = Callable[[Edit], object]


def _cloudy_overdrawn_and_begun_again(edit: Edit) -> None:
    again = [Roll(CLOUDY, rolls(edit.plan.site)), LookAt(CLOUDY), *edit.actions[edit.index(TakeSyringe) : -3]]
    edit.put([DrawTo(edit.total + _OVER), Withdraw(), DiscardSyringe(), *again], DrawTo, nth=-1)
    edit.drop(DrawTo, nth=-1).drop(Withdraw, nth=-1)


def _cloudy_first_and_begun_again(edit: Edit) -> None:
    air = edit.plan.air_into_cloudy
    cloudy = [PullAir(air), Pierce(CLOUDY, "air"), PushAir(), Invert(), DrawTo(air), Withdraw()]
    edit.put([*cloudy, DiscardSyringe(), TakeSyringe(edit.plan.syringe.key)], PullAir)


RIGHT_VARIANTS: dict[str, Variant] = {
    "as the steps say": lambda edit: None,
    "clear drawn over and pushed back": lambda edit: edit.put(
        [DrawTo(edit.clear + _OVER), PushBackTo(edit.clear)], HaveChecked
    ),
    "gloves although nobody asks": lambda edit: edit.put([PutOnGloves()], ReadLabel),
    "rolled just before the draw": lambda edit: edit.put(
        [Roll(CLOUDY, rolls(edit.plan.site)), LookAt(CLOUDY)], Pierce, CLOUDY, -1
    ),
    "needle taken out of the clear vial and put in again": lambda edit: edit.put(
        [Withdraw(), Pierce(CLEAR, "air")], Invert
    ),
    "clear vial wiped first": lambda edit: (
        edit.drop(LetDry, CLOUDY).drop(Swab, CLOUDY).put([Swab(CLOUDY, WIPE_S), LetDry(CLOUDY)], PullAir)
    ),
    "read again before each draw": lambda edit: edit.put([ReadLabel(CLOUDY)], DrawTo, nth=-1),
    "capped with one hand, labelled, given in time": lambda edit: edit.put(_wait(edit, -2), Give),
    "cloudy overdrawn, discarded, and begun again": _cloudy_overdrawn_and_begun_again,
    "cloudy drawn first, noticed before the clear vial, and begun again": _cloudy_first_and_begun_again,
}
"""Other right ways to do it, each a change of the plan's own steps."""


def _cloudy_first(edit: Edit) -> None:
    edit.without_taps()
    first, second = edit.index(Invert), edit.index(Pierce, CLOUDY, -1)
    cloudy = DrawTo(edit.total - edit.clear)
    drawn = [Pierce(CLOUDY, "air"), Invert(), cloudy, TapBubbles(), cloudy, HaveChecked()]
    edit.actions[first:second] = [Withdraw(), *drawn, Withdraw()]
    edit.change(Pierce(CLEAR, "air"), Pierce, CLOUDY, -1)


def _wait(edit: Edit, more: float) -> list[Action]:
    """Lay the labelled syringe down for so many minutes more than the ward allows."""
    most = longest_wait(edit.plan.clear.insulin, edit.plan.site).value
    return [Cap("one hand"), LabelSyringe(), LayDown(max(1, most + more)), Uncap()]


def _clear_air_first(edit: Edit) -> None:
    at = edit.with_air().index(PullAir)
    clear = [PullAir(edit.plan.air_into_clear), Pierce(CLEAR, "air"), PushAir(), Withdraw()]
    cloudy = [PullAir(edit.plan.air_into_cloudy), Pierce(CLOUDY, "air"), PushAir(), Withdraw()]
    edit.actions[at : at + 7] = [*clear, *cloudy, Pierce(CLEAR, "air")]


def _between_lines(edit: Edit) -> None:
    """Set the stopper a quarter of a step beyond the clear dose's line, on whatever scale the ward has."""
    edit.begin(edit.plan, clear_mark=edit.clear + edit.plan.syringe.graduation_units / 4)


def _wrong_vial(edit: Edit) -> None:
    other = "lispro" if edit.plan.clear.insulin.key != "lispro" else "regular"
    edit.with_vial(OTHER, insulins()[other]).from_vial(CLEAR, OTHER)


WRONG_RUNS: dict[str, Variant] = {
    "hands-not-cleaned": lambda edit: edit.drop(CleanHands),
    "gloves-missing": lambda edit: edit.at_site("gloves", "required").drop(PutOnGloves),
    "label-not-read": lambda edit: edit.drop(ReadLabel, CLOUDY),
    "vial-not-looked-at": lambda edit: edit.drop(LookAt, CLEAR),
    "not-looked-at-after-rolling": lambda edit: edit.drop(LookAt, CLOUDY, -1),
    "spoiled-vial": lambda edit: edit.with_vial(CLOUDY, edit.plan.cloudy.insulin, condition="clumped"),
    "past-date": lambda edit: edit.with_vial(CLEAR, edit.plan.clear.insulin, past_date=True),
    "stopper-not-wiped": lambda edit: edit.drop(LetDry, CLEAR).drop(Swab, CLEAR),
    "stopper-not-dry": lambda edit: edit.drop(LetDry, CLEAR),
    "wrong-vial": _wrong_vial,
    "same-insulin-twice": lambda edit: edit.from_vial(CLOUDY, CLEAR, since=edit.index(Pierce, CLOUDY, -1)),
    "premixed-in-the-mix": lambda edit: edit.with_vial(OTHER, insulins()["premixed-70-30"]).from_vial(CLOUDY, OTHER),
    "one-insulin-missing": lambda edit: (
        edit.drop(Withdraw, nth=-1).drop(DrawTo, nth=-1).drop(Invert, nth=-1).drop(Pierce, nth=-1)
    ),
    "mixture-pushed-out": lambda edit: edit.draw_to(edit.total + _OVER).put(
        [PushBackTo(edit.total)], HaveChecked, nth=-1
    ),
    "pushed-into-another-vial": lambda edit: (
        edit.with_air()
        .change(PullAir(edit.plan.air_into_cloudy - _OVER), PullAir)
        .put([DrawTo(edit.clear + _OVER)], HaveChecked)
        .put([PushBackTo(edit.clear), HaveChecked()], Invert, nth=-1)
    ),
    "given-twice": lambda edit: edit.actions.extend(edit.actions[edit.index(TakeSyringe) :]),
    "used-needle-in-vial": lambda edit: edit.put([Pierce(CLEAR, "air"), Withdraw()], DiscardSyringe),
    "long-acting-in-the-mix": lambda edit: edit.with_vial(OTHER, insulins()["glargine"]).from_vial(CLEAR, OTHER),
    "scale-not-in-units": lambda edit: edit.begin(edit.plan, syringe="10 mL"),
    "strength-and-scale-differ": lambda edit: edit.begin(edit.plan, syringe="U-40"),
    "separate-needle": lambda edit: edit.begin(edit.plan, syringe="separate needle"),
    "between-lines": _between_lines,
    "too-little-air": lambda edit: edit.with_air().drop(PullAir).drop(Pierce, CLOUDY).drop(PushAir).drop(Withdraw),
    "too-much-air": lambda edit: edit.with_air().change(PullAir(edit.plan.syringe.capacity_units), PullAir),
    "air-into-clear-first": _clear_air_first,
    "tip-dipped-in-cloudy": lambda edit: edit.with_air().change(Pierce(CLOUDY, "liquid"), Pierce, CLOUDY),
    "cloudy-drawn-first": _cloudy_first,
    "pushed-back-after-mixing": lambda edit: edit.draw_to(edit.total + _OVER).put(
        [PushBackTo(edit.total)], DrawTo, nth=-1, after=1
    ),
    "push-back-not-allowed": lambda edit: edit.at_site("push_back", "never").put(
        [DrawTo(edit.clear + _OVER), PushBackTo(edit.clear)], HaveChecked
    ),
    "cloudy-overdrawn": lambda edit: edit.draw_to(edit.total + _OVER),
    "drawn-to-the-second-number": lambda edit: edit.draw_to(edit.total - edit.clear),
    "doses-swapped": lambda edit: edit.begin(edit.plan, clear_mark=edit.total - edit.clear),
    "clear-dose-off": lambda edit: edit.begin(edit.plan, clear_mark=edit.clear + 1).draw_to(edit.total + 1),
    "cloudy-dose-off": lambda edit: edit.draw_to(edit.total - _OVER),
    "late-bubble": lambda edit: edit.keep_bubble().put([TapBubbles(), DrawTo(edit.total)], DrawTo, nth=-1, after=1),
    "bubble-left": lambda edit: edit.keep_bubble(),
    "not-rolled": lambda edit: edit.drop(Roll),
    "rolled-too-long-ago": lambda edit: edit.put([LayDown(30)], Roll, after=1),
    "not-rolled-again": lambda edit: edit.put([LayDown(the_facts().technique["roll_again_min"].value)], Roll, after=1),
    "rolled-too-little": lambda edit: edit.change(Roll(CLOUDY, 2), Roll),
    "shaken": lambda edit: edit.change(Shake(CLOUDY), Roll),
    "clear-not-checked": lambda edit: edit.at_site("second_check", "each draw").drop(HaveChecked),
    "total-not-checked": lambda edit: edit.at_site("second_check", "each draw").drop(HaveChecked, nth=-1),
    "waited-too-long": lambda edit: edit.put(_wait(edit.with_clear("regular"), 10), Give),
    "rapid-mixture-waited": lambda edit: edit.put(_wait(edit.with_clear("lispro"), 10), Give),
    "laid-down-unlabeled": lambda edit: edit.put([Cap("one hand"), LayDown(2), Uncap()], Give),
    "needle-touched": lambda edit: edit.put([LabelSyringe(), LayDown(2)], Give),
    "used-needle-capped": lambda edit: edit.put([Cap("one hand")], DiscardSyringe),
    "recapped-with-two-hands": lambda edit: edit.put([Cap("two hands"), Uncap()], Give),
    "capped-against-policy": lambda edit: edit.at_site("recapping", "never").put([Cap("one hand"), Uncap()], Give),
    "not-in-the-sharps-box": lambda edit: edit.drop(DiscardSyringe),
    "unfinished": lambda edit: edit.drop(DiscardSyringe).drop(Give),
    **CHECKED_RUNS,
}
"""How each wrong run is made from the right one, by the name of the one finding it must give."""


def _made(changes: Mapping[str, Variant], name: str, plan: Plan) -> Run:
    change, edit = changes[name], Edit(plan)
    change(edit)
    bench = bench_for(edit.plan.order, edit.plan.site, **edit.vials)
    made = Run(name=name, plan=edit.plan, bench=bench, actions=tuple(edit.actions))
    made.trace()
    return made


def right_variant(name: str, plan: Plan) -> Run:
    """Return a right run that differs from the plan's own steps; `KeyError` or `Impossible` where there is none.

    >>> from mixlab import plan_dose, read_order
    >>> right_variant("as the steps say", plan_dose(read_order("regular insulin 8 units and NPH insulin 20 units"))).name
    'as the steps say'
    """
    return _made(RIGHT_VARIANTS, name, plan)


def wrong_run(name: str, plan: Plan) -> Run:
    """Return a run with one thing wrong; it raises as `right_variant` does, such as for a total too near the barrel's end.

    Examples
    --------
    >>> from mixlab import plan_dose, read_order, review
    >>> order = read_order("regular insulin 8 units and NPH insulin 20 units")
    >>> *_, finding = review(order, wrong_run("bubble-left", plan_dose(order)).trace())
    >>> str(finding.amount)
    'a bubble of 1.6 units; regular insulin 6.6 units instead of 8 units; NPH insulin 19.8 units instead of 20 units'
    """
    return _made(WRONG_RUNS, name, plan)
