"""Judging a run at the bench: every finding with its moment, its size, what it means and what to do now.

Rules speak of what must come before what, never of places in a list, so that every right order of steps passes. Sizes are
read off the bench. A finding that explains a wrong dose speaks for it: the dose is not found fault with twice.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cached_property

from ..facts.record import ErrorRow, Sourced
from ..facts.shelf import shelf
from ..quantities import UNITS_PER_ML, number_text, units_text
from ..ward.insulin import insulins
from ..ward.order import Order
from ..ward.site import Site, teaching_site
from .actions import (
    Cap,
    DiscardSyringe,
    DrawTo,
    Give,
    HaveChecked,
    LayDown,
    LookAt,
    Pierce,
    PushAir,
    PushBackTo,
    ReadLabel,
    Roll,
    Shake,
    TakeSyringe,
    TapBubbles,
)
from .bench import Action, Bench, Trace
from .vessels import ROOM_KPA, Held, Liquid, Vial

TRACE_UNITS = 1e-6
"""Less than this is nothing: what is left of rounding, units."""

MIXED_UNITS = 0.1
"""From so much of each of two insulins on, the barrel holds a mixture; less is what a wet tip carries, units."""


@dataclass(frozen=True, kw_only=True)
class Finding:
    """One thing that was not as it should be.

    Attributes
    ----------
    name : str
        Its stable name, a key of the facts.
    step : int
        The action after which it could be seen, counted from 1; 0 before the first.
    amount : str
        Its size as the bench computed it; empty where it has none.
    units : float or None
        The size in units, where it is an amount of insulin.
    dose, patient, vial : str
        What it means for this dose, for the patient, and for the vial and the next person who uses it.
    now : {"fine", "put right here", "discard and start again", "tell someone"}
        What to do now, in a word; `do` says it in full.
    rule : str
        The fact or the rule of the ward behind it.
    doubt : str
        Where the evidence is weak; empty where it is not.
    """

    name: str
    step: int
    title: str
    amount: str
    units: float | None
    dose: str
    patient: str
    vial: str
    now: str
    do: str
    rule: str
    doubt: str

    def __str__(self) -> str:
        size = f" ({self.amount})" if self.amount else ""
        return f"Step {self.step}: {self.title}{size}. Now: {self.now}. {self.do}"


@dataclass(frozen=True, kw_only=True)
class _Draw:
    """One pull of liquid into the barrel."""

    step: int
    action: DrawTo
    place: str
    vial: Vial
    before: Bench
    after: Bench
    held: Held

    @property
    def units(self) -> dict[str, float]:
        """What came into the barrel, by insulin, units."""
        before = self.before.in_hand().barrel
        return {key: amount - before.of(key) for key, amount in self.held.barrel.units.items()}


_Seen = tuple[int, str, float | None]


class _Run:
    """What the rules ask about a run."""

    def __init__(self, order: Order, trace: Trace, site: Site) -> None:
        self.order, self.trace, self.site = order, trace, site
        self.clear, self.cloudy = order.clear.insulin.key, order.cloudy.insulin.key
        self.doses = {self.clear: float(order.clear.units), self.cloudy: float(order.cloudy.units)}
        self.steps = list(trace)

    def of(self, *kinds: type[Action]) -> Iterator[tuple[int, Action, Bench, Bench]]:
        """Yield the steps of some kinds."""
        return (step for step in self.steps if isinstance(step[1], kinds))

    @cached_property
    def start(self) -> int:
        """The number of the step that took the syringe which counts: the last one."""
        return max((number for number, *_ in self.of(TakeSyringe)), default=0)

    @cached_property
    def draws(self) -> list[_Draw]:
        """Every draw of liquid with the syringe that counts."""
        found = []
        for number, action, before, after in self.of(DrawTo):
            held = before.in_hand()
            if number > self.start and held.tip == "liquid" and held.vial is not None:
                assert isinstance(action, DrawTo)
                found.append(
                    _Draw(
                        step=number,
                        action=action,
                        place=held.vial,
                        vial=before.vials[held.vial],
                        before=before,
                        after=after,
                        held=after.in_hand(),
                    )
                )
        return found

    def draws_of(self, insulin: str) -> list[_Draw]:
        """Return the draws from vials of one insulin."""
        return [draw for draw in self.draws if draw.vial.insulin == insulin]

    @cached_property
    def pierced(self) -> list[tuple[int, str, Vial, Bench]]:
        """The first piercing of each vial by the syringe that counts: its step, place, the vial and the bench before."""
        found: dict[str, tuple[int, str, Vial, Bench]] = {}
        for number, action, before, _ in self.of(Pierce):
            assert isinstance(action, Pierce)
            if number > self.start and action.vial not in found:
                found[action.vial] = (number, action.vial, before.vials[action.vial], before)
        return list(found.values())

    @cached_property
    def given(self) -> tuple[int, Bench, Bench] | None:
        """The step that gave the dose, and the bench before and after."""
        return next(((number, before, after) for number, _, before, after in self.of(Give)), None)

    @cached_property
    def filled(self) -> Bench:
        """The bench when the syringe that counts held what was to be given."""
        if self.given:
            return self.given[1]
        return self.trace.last

    @property
    def barrel(self) -> Liquid:
        """What was to be given."""
        held = self.filled.syringe
        return held.barrel if held else Liquid()

    @cached_property
    def tolerance(self) -> float:
        """Half a step of the syringe in hand, in units of U-100."""
        held = self.filled.syringe
        return held.kind.step / held.kind.per_ml * UNITS_PER_ML / 2 if held else 0.5

    @cached_property
    def last_step(self) -> int:
        """The last step that changed what is in the barrel before it was given."""
        return max((draw.step for draw in self.draws), default=len(self.trace))

    @cached_property
    def mixed(self) -> tuple[int, Bench] | None:
        """The step after which two insulins were in the barrel, and the bench then."""
        for number, _, _, after in self.steps[self.start :]:
            held = after.syringe
            if held and _is_mixed(held.barrel):
                return number, after
        return None

    def off(self, insulin: str) -> float:
        """How far what was to be given differs from the order, units."""
        return self.barrel.of(insulin) - self.doses[insulin]

    def amounts(self) -> str:
        """Say what is in the barrel, each insulin apart, and what was ordered."""
        return "; ".join(
            f"{insulins()[key].name} {_units(self.barrel.of(key))} instead of {units_text(dose)}"
            for key, dose in self.doses.items()
        )

    def nph_in_clear(self) -> float:
        """Units of the cloudy insulin that got into vials of the clear one, those thrown away included."""
        return sum(
            after.vials[place].liquid.of(self.cloudy) - before.vials[place].liquid.of(self.cloudy)
            for _, _, before, after in self.steps
            for place in after.vials
            if place in before.vials and after.vials[place].insulin == self.clear
        )


def _units(amount: float) -> str:
    return units_text(float(f"{amount:.2f}") if abs(amount) >= 0.1 else float(f"{amount:.1g}"))


def _is_mixed(liquid: Liquid) -> bool:
    return sum(amount > MIXED_UNITS for amount in liquid.units.values()) > 1


def _hands(run: _Run) -> Iterator[_Seen]:
    for number, _, before, _ in run.of(Pierce):
        if not before.hands_clean:
            yield number, "", None
            return


def _gloves(run: _Run) -> Iterator[_Seen]:
    if run.site.gloves.value == "required":
        yield from ((number, "", None) for number, _, _, bench in run.pierced[:1] if not bench.gloved)


def _not_before(kind: type[Action], run: _Run) -> Iterator[_Seen]:
    for number, place, _, _ in run.pierced:
        done = [
            step for step, action, _, _ in run.steps if type(action) is kind and getattr(action, "vial", "") == place
        ]
        if not any(step < number for step in done):
            yield number, f"the {place} vial", None


def _label(run: _Run) -> Iterator[_Seen]:
    yield from _not_before(ReadLabel, run)


def _look(run: _Run) -> Iterator[_Seen]:
    yield from _not_before(LookAt, run)


def _spoiled(run: _Run) -> Iterator[_Seen]:
    seen = {draw.place: draw for draw in reversed(run.draws) if draw.vial.condition != "good"}
    yield from ((draw.step, f"{draw.place} vial: {draw.vial.condition}", None) for draw in seen.values())


def _past_date(run: _Run) -> Iterator[_Seen]:
    seen = {draw.place: draw for draw in reversed(run.draws) if draw.vial.past_date}
    yield from ((draw.step, f"the {draw.place} vial", None) for draw in seen.values())


def _not_wiped(run: _Run) -> Iterator[_Seen]:
    yield from ((number, f"the {place} vial", None) for number, place, vial, _ in run.pierced if not vial.swabbed)


def _not_dry(run: _Run) -> Iterator[_Seen]:
    yield from ((number, f"the {place} vial", None) for number, place, vial, _ in run.pierced if vial.wet)


def _stranger(run: _Run, group: bool) -> Iterator[_Seen]:
    for draw in run.draws:
        insulin = insulins()[draw.vial.insulin]
        if insulin.key not in run.doses and (insulin.row.group in ("long-acting", "premixed")) == group:
            yield draw.step, f"{_units(run.barrel.of(insulin.key))} of {insulin.name}", run.barrel.of(insulin.key)
            return


def _wrong_vial(run: _Run) -> Iterator[_Seen]:
    yield from _stranger(run, group=False)


def _long_acting(run: _Run) -> Iterator[_Seen]:
    yield from _stranger(run, group=True)


def _same_twice(run: _Run) -> Iterator[_Seen]:
    drawn = {draw.vial.insulin for draw in run.draws}
    total = sum(run.doses.values())
    if len(drawn) == 1 and drawn <= run.doses.keys() and abs(run.barrel.ml * UNITS_PER_ML - total) < total / 4:
        yield run.last_step, run.amounts(), None


def _scale(run: _Run) -> Iterator[_Seen]:
    for draw in run.draws[:1]:
        if draw.held.kind.per_ml not in (UNITS_PER_ML, 40):
            yield draw.step, f"a line means {_units(UNITS_PER_ML / draw.held.kind.per_ml)}; {run.amounts()}", None


def _strength(run: _Run) -> Iterator[_Seen]:
    for draw in run.draws[:1]:
        per_ml = draw.held.kind.per_ml
        if per_ml in (UNITS_PER_ML, 40) and draw.vial.strength != per_ml:
            factor = draw.vial.strength / per_ml
            yield (
                draw.step,
                f"every line holds {number_text(round(factor, 2))} times what it says; {run.amounts()}",
                None,
            )


def _separate_needle(run: _Run) -> Iterator[_Seen]:
    for draw in run.draws[:1]:
        if draw.held.kind.separate_needle:
            yield draw.step, run.amounts(), run.off(run.clear)


def _between_lines(run: _Run) -> Iterator[_Seen]:
    for draw in run.draws:
        share = draw.action.to / draw.held.kind.step
        if abs(share - round(share)) > 1e-9:
            yield (
                draw.step,
                f"{number_text(draw.action.to)} on a scale with a line every {number_text(draw.held.kind.step)}",
                None,
            )
            return


def _air(run: _Run) -> Iterator[tuple[int, str, str, float, float]]:
    """Yield for each vial drawn from: the step of its first draw, its place, its insulin, air given and pressure after."""
    for insulin in run.doses:
        draws = run.draws_of(insulin)
        if not draws:
            continue
        given = 0.0
        for number, _, before, _ in run.of(PushAir):
            held = before.in_hand()
            if run.start < number and held.vial == draws[0].place:
                given += held.air_ml * held.kind.per_ml
        yield draws[0].step, draws[0].place, insulin, given, draws[-1].after.vials[draws[-1].place].kpa


def _little_air(run: _Run) -> Iterator[_Seen]:
    for step, place, insulin, given, kpa in _air(run):
        if given < run.doses[insulin] - run.tolerance:
            yield (
                step,
                f"{_units(given)} of air for {units_text(run.doses[insulin])}; pressure in the {place} vial {_percent(kpa)}",
                None,
            )


def _much_air(run: _Run) -> Iterator[_Seen]:
    for step, place, insulin, given, kpa in _air(run):
        if given > run.doses[insulin] + run.tolerance:
            yield (
                step,
                f"{_units(given)} of air for {units_text(run.doses[insulin])}; pressure in the {place} vial {_percent(kpa)}",
                None,
            )


def _percent(kpa: float) -> str:
    return f"{(kpa / ROOM_KPA - 1) * 100:+.1f} % ({kpa - ROOM_KPA:+.1f} kPa)"


def _first_air(run: _Run, insulin: str) -> int | None:
    for number, _, before, _ in run.of(PushAir):
        held = before.in_hand()
        if number > run.start and held.vial and before.vials[held.vial].insulin == insulin:
            return number
    return None


def _air_order(run: _Run) -> Iterator[_Seen]:
    clear, cloudy = _first_air(run, run.clear), _first_air(run, run.cloudy)
    if clear and cloudy and clear < cloudy:
        yield clear, "", None


def _entered_clear(run: _Run, after: int) -> int | None:
    """Return the first step after another in which the clear vial took up cloudy insulin."""
    for number, _, before, bench in run.steps[after:]:
        for place, vial in bench.vials.items():
            if vial.insulin == run.clear and place in before.vials:
                gained = vial.liquid.of(run.cloudy) - before.vials[place].liquid.of(run.cloudy)
                if gained > TRACE_UNITS:
                    return number
    return None


def _cloudy_first(run: _Run) -> Iterator[_Seen]:
    for number, _, before, _ in run.of(DrawTo):
        held = before.in_hand()
        if not held.vial or held.tip != "liquid" or before.vials[held.vial].insulin != run.cloudy:
            continue
        entered = _entered_clear(run, number)
        if entered:
            amount = run.nph_in_clear()
            yield entered, f"{_units(amount)} of {run.order.cloudy.insulin} in the clear vial", amount
        return


def _dipped(run: _Run) -> Iterator[_Seen]:
    for number, _, _, after in run.of(Pierce, PushAir):
        held = after.in_hand()
        if held.vial and held.tip == "liquid" and after.vials[held.vial].insulin == run.cloudy:
            drawn = [draw.step for draw in run.draws_of(run.cloudy)]
            entered = _entered_clear(run, number)
            if entered and not any(step < entered for step in drawn):
                amount = run.nph_in_clear()
                yield number, f"{_units(amount)} of {run.order.cloudy.insulin} in the clear vial", amount
            return


def _pushed_back(run: _Run) -> Iterator[_Seen]:
    for number, _, before, after in run.of(PushBackTo):
        held = before.in_hand()
        if _is_mixed(held.barrel) and number > run.start:
            went = held.barrel.ml - after.in_hand().barrel.ml
            where = f"into the {held.vial} vial" if held.vial else "out"
            yield number, f"{_units(went * UNITS_PER_ML)} of mixture {where}; {run.amounts()}", went * UNITS_PER_ML
            return


def _push_back_rule(run: _Run) -> Iterator[_Seen]:
    if run.site.push_back.value == "allowed":
        return
    for number, _, before, after in run.of(PushBackTo):
        held = before.in_hand()
        if held.vial and held.barrel.ml and not _is_mixed(held.barrel):
            went = (held.barrel.ml - after.in_hand().barrel.ml) * UNITS_PER_ML
            yield number, _units(went), went
            return


def _overdrawn(run: _Run) -> Iterator[_Seen]:
    if run.mixed and run.off(run.cloudy) > run.tolerance and abs(run.off(run.clear)) <= run.tolerance:
        yield run.last_step, run.amounts(), run.off(run.cloudy)


def _second_number(run: _Run) -> Iterator[_Seen]:
    clear, cloudy = run.doses[run.clear], run.doses[run.cloudy]
    short = abs(run.barrel.of(run.cloudy) - (cloudy - clear)) <= run.tolerance
    if run.mixed and short and abs(run.off(run.clear)) <= run.tolerance and clear > run.tolerance:
        yield run.last_step, run.amounts(), run.off(run.cloudy)


def _swapped(run: _Run) -> Iterator[_Seen]:
    clear, cloudy = run.doses[run.clear], run.doses[run.cloudy]
    if abs(clear - cloudy) <= run.tolerance or not run.mixed:
        return
    off = (run.barrel.of(run.clear) - cloudy, run.barrel.of(run.cloudy) - clear)
    if max(map(abs, off)) <= run.tolerance:
        yield run.last_step, run.amounts(), None


def _clear_off(run: _Run) -> Iterator[_Seen]:
    if run.draws_of(run.clear) and abs(run.off(run.clear)) > run.tolerance:
        yield run.draws_of(run.clear)[-1].step, run.amounts(), run.off(run.clear)


def _cloudy_off(run: _Run) -> Iterator[_Seen]:
    if run.draws_of(run.cloudy) and abs(run.off(run.cloudy)) > run.tolerance:
        yield run.draws_of(run.cloudy)[-1].step, run.amounts(), run.off(run.cloudy)


def _late_bubble(run: _Run) -> Iterator[_Seen]:
    for number, _, before, _ in run.of(TapBubbles):
        held = before.in_hand()
        size = held.bubbles_ml * UNITS_PER_ML
        if run.mixed and number > run.mixed[0] and number > run.start and size > run.tolerance:
            yield number, f"a bubble of {_units(size)}; {run.amounts()}", size
            return


def _bubble_left(run: _Run) -> Iterator[_Seen]:
    held = run.filled.syringe
    if run.given and held:
        size = held.bubbles_ml * UNITS_PER_ML
        if size > run.tolerance:
            yield run.given[0], _units(size), size


def _resuspension(run: _Run) -> Iterator[tuple[str, _Seen]]:
    """Yield what was wrong with the cloudy vial when it was drawn from, and its size."""
    draws = [draw for draw in run.draws_of(run.cloudy) if draw.vial.suspension]
    if not draws:
        return
    draw = draws[0]
    rolled = [
        (number, after)
        for number, action, _, after in run.of(Roll)
        if getattr(action, "vial", "") == draw.place and number < draw.step
    ]
    shaken = [
        number
        for number, action, _, _ in run.of(Shake)
        if getattr(action, "vial", "") == draw.place and number < draw.step
    ]
    strength = draw.vial.near(draw.before.physics)[1] / draw.vial.strength
    size = f"{strength * 100:.0f} % of the label strength at the needle; {run.amounts()}"
    wrong = abs(strength - 1) * run.doses[run.cloudy] > run.tolerance
    if shaken:
        return
    if not rolled:
        yield "not-rolled", (draw.step, size, run.off(run.cloudy))
    elif wrong:
        even_then = abs(rolled[-1][1].vials[draw.place].near(draw.before.physics)[1] / draw.vial.strength - 1)
        late = even_then * run.doses[run.cloudy] <= run.tolerance
        yield ("rolled-too-long-ago" if late else "rolled-too-little"), (draw.step, size, run.off(run.cloudy))


def _rolled(name: str) -> Callable[[_Run], Iterator[_Seen]]:
    return lambda run: (seen for found, seen in _resuspension(run) if found == name)


def _shaken(run: _Run) -> Iterator[_Seen]:
    for number, *_ in run.of(Shake):
        held = run.filled.syringe
        bubbles = held.bubbles_ml * UNITS_PER_ML if held else 0.0
        yield (
            number,
            f"{_units(bubbles)} of froth in the barrel; {run.amounts()}" if bubbles > TRACE_UNITS else "",
            bubbles,
        )
        return


def _clear_check(run: _Run) -> Iterator[_Seen]:
    if run.site.second_check.value != "each draw" or not run.mixed:
        return
    first = min(draw.step for draw in run.draws)
    if not any(first < number < run.mixed[0] for number, *_ in run.of(HaveChecked)):
        yield run.mixed[0], "", None


def _total_check(run: _Run) -> Iterator[_Seen]:
    if run.site.second_check.value == "none" or not run.given:
        return
    if not any(run.last_step < number < run.given[0] for number, *_ in run.of(HaveChecked)):
        yield run.given[0], "", None


def _waited(run: _Run) -> Iterator[_Seen]:
    if run.mixed and run.given:
        minutes = (run.given[1].clock_s - run.mixed[1].clock_s) / 60
        if minutes > run.site.waiting.value:
            yield run.given[0], f"{minutes:.0f} minutes; the ward allows {number_text(run.site.waiting.value)}", None


def _unlabelled(run: _Run) -> Iterator[_Seen]:
    for number, _, before, _ in run.of(LayDown):
        if before.syringe and before.syringe.barrel.ml and not before.syringe.labelled:
            yield number, "", None
            return


def _touched(run: _Run) -> Iterator[_Seen]:
    for number, _, before, _ in run.of(Pierce, Give):
        if before.in_hand().touched:
            yield number, "", None
            return


def _two_hands(run: _Run) -> Iterator[_Seen]:
    yield from (
        (number, "", None) for number, action, _, _ in run.of(Cap) if getattr(action, "hands", "") == "two hands"
    )


def _capped(run: _Run) -> Iterator[_Seen]:
    if run.site.recapping.value == "never":
        yield from (
            (number, "", None) for number, action, _, _ in run.of(Cap) if getattr(action, "hands", "") == "one hand"
        )


def _sharps(run: _Run) -> Iterator[_Seen]:
    if run.given and not any(number > run.given[0] for number, *_ in run.of(DiscardSyringe)):
        yield len(run.trace), "", None


def _unfinished(run: _Run) -> Iterator[_Seen]:
    if not run.given:
        yield len(run.trace), "", None


_RULES: dict[str, Callable[[_Run], Iterator[_Seen]]] = {
    "hands-not-cleaned": _hands,
    "gloves-missing": _gloves,
    "label-not-read": _label,
    "vial-not-looked-at": _look,
    "stopper-not-wiped": _not_wiped,
    "stopper-not-dry": _not_dry,
    "spoiled-vial": _spoiled,
    "past-date": _past_date,
    "air-into-clear-first": _air_order,
    "clear-not-checked": _clear_check,
    "total-not-checked": _total_check,
    "waited-too-long": _waited,
    "laid-down-unlabelled": _unlabelled,
    "needle-touched": _touched,
    "recapped-with-two-hands": _two_hands,
    "capped-against-policy": _capped,
    "push-back-not-allowed": _push_back_rule,
    "not-in-the-sharps-box": _sharps,
    "unfinished": _unfinished,
    "too-little-air": _little_air,
    "too-much-air": _much_air,
    "tip-dipped-in-cloudy": _dipped,
    "cloudy-drawn-first": _cloudy_first,
    "between-lines": _between_lines,
    "long-acting-in-the-mix": _long_acting,
    "wrong-vial": _wrong_vial,
    "scale-not-in-units": _scale,
    "strength-and-scale-differ": _strength,
    "separate-needle": _separate_needle,
    "same-insulin-twice": _same_twice,
    "doses-swapped": _swapped,
    "shaken": _shaken,
    "not-rolled": _rolled("not-rolled"),
    "rolled-too-little": _rolled("rolled-too-little"),
    "rolled-too-long-ago": _rolled("rolled-too-long-ago"),
    "pushed-back-after-mixing": _pushed_back,
    "late-bubble": _late_bubble,
    "bubble-left": _bubble_left,
    "drawn-to-the-second-number": _second_number,
    "cloudy-overdrawn": _overdrawn,
    "clear-dose-off": _clear_off,
    "cloudy-dose-off": _cloudy_off,
}
"""Every rule by the name of its finding."""

_EXPLAINS_DOSE = tuple(_RULES)[tuple(_RULES).index("long-acting-in-the-mix") :]
"""The findings that explain a wrong dose, the deepest cause first: of these only the first is shown."""


def review(order: Order, trace: Trace, site: Site | None = None) -> tuple[Finding, ...]:
    """Judge a run.

    Parameters
    ----------
    order : Order
        What was to be prepared.
    trace : Trace
        What was done.
    site : Site, optional
        Whose rules count; the teaching site if not given.

    Returns
    -------
    tuple of Finding
        In the order in which they could be seen; empty when nothing was wrong.
    """
    run = _Run(order, trace, site or teaching_site())
    findings: list[Finding] = []
    explained = False
    for name, rule in _RULES.items():
        if explained and name in _EXPLAINS_DOSE:
            continue
        seen = list(rule(run))
        explained = explained or bool(seen and name in _EXPLAINS_DOSE)
        findings += [_finding(run, name, *one) for one in seen]
    return tuple(sorted(findings, key=lambda finding: finding.step))


def _policy(site: Site, name: str) -> Sourced | None:
    rule: Sourced | None = getattr(site, _POLICIES[name]) if name in _POLICIES else None
    return rule


def _finding(run: _Run, name: str, step: int, amount: str, units: float | None) -> Finding:
    row: ErrorRow = shelf().errors[name]
    words = {"clear": run.order.clear.insulin.name, "cloudy": run.order.cloudy.insulin.name}
    return Finding(
        name=name,
        step=step,
        title=row.title,
        amount=amount,
        units=units,
        dose=row.dose.format(**words),
        patient=row.patient.format(**words),
        vial=row.vial.format(**words),
        now=row.now,
        do=row.do.format(**words),
        rule=run.site.cite(_policy(run.site, name) or row),
        doubt=row.doubt,
    )


_POLICIES = {
    "gloves-missing": "gloves",
    "clear-not-checked": "second_check",
    "total-not-checked": "second_check",
    "capped-against-policy": "recapping",
    "push-back-not-allowed": "push_back",
    "waited-too-long": "waiting",
}
"""The findings that hang on a rule of the ward, and the field of `Site` that holds it."""
