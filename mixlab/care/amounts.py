"""Rules about amounts: air, what gets into which vial, and each insulin's dose apart."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from ..quantities import UNITS_PER_ML, number_text, units_text
from ..ward.insulin import insulins
from .actions import DrawTo, Pierce, PushAir, PushBackTo, Roll, Shake, TapBubbles
from .vessels import ROOM_KPA, Held
from .watched import TRACE_UNITS, Draw, Seen, Watched, is_clear, is_mixed, say_units


def _stranger(run: Watched, *groups: str) -> Draw | None:
    """Return the first draw of an insulin of some groups that nobody ordered."""
    return next(
        (
            draw
            for draw in run.draws
            if draw.vial.insulin not in run.doses and insulins()[draw.vial.insulin].row.group in groups
        ),
        None,
    )


def _strange(run: Watched, draw: Draw | None) -> Iterator[Seen]:
    if draw:
        amount = run.barrel.of(draw.vial.insulin)
        yield draw.step, f"{say_units(amount)} of {insulins()[draw.vial.insulin].name}", amount


def _wrong_vial(run: Watched) -> Iterator[Seen]:
    yield from _strange(run, _stranger(run, "short-acting", "rapid-acting", "intermediate-acting", "long-acting"))


def _long_acting(run: Watched) -> Iterator[Seen]:
    if run.mixed:
        yield from _strange(run, _stranger(run, "long-acting"))


def _premixed(run: Watched) -> Iterator[Seen]:
    yield from _strange(run, _stranger(run, "premixed"))


def _one_missing(run: Watched) -> Iterator[Seen]:
    drawn = {draw.vial.insulin for draw in run.draws}
    if run.given and len(drawn) == 1 and drawn <= run.doses.keys():
        yield run.given[0], run.amounts(), None


def _same_twice(run: Watched) -> Iterator[Seen]:
    drawn = {draw.vial.insulin for draw in run.draws}
    total = sum(run.doses.values())
    if len(drawn) == 1 and drawn <= run.doses.keys() and abs(run.barrel.ml * UNITS_PER_ML - total) < total / 4:
        yield run.last_step, run.amounts(), None


def _scale(run: Watched) -> Iterator[Seen]:
    for draw in run.draws[:1]:
        if draw.held.kind.per_ml not in (UNITS_PER_ML, 40):
            yield draw.step, f"a line means {say_units(UNITS_PER_ML / draw.held.kind.per_ml)}; {run.amounts()}", None


def _strength(run: Watched) -> Iterator[Seen]:
    for draw in run.draws[:1]:
        per_ml = draw.held.kind.per_ml
        if per_ml in (UNITS_PER_ML, 40) and draw.vial.strength != per_ml:
            factor = draw.vial.strength / per_ml
            yield (
                draw.step,
                f"every line holds {number_text(round(factor, 2))} times what it says; {run.amounts()}",
                None,
            )


def _separate_needle(run: Watched) -> Iterator[Seen]:
    for draw in run.draws[:1]:
        if draw.held.kind.separate_needle:
            yield draw.step, run.amounts(), run.off(run.clear)


def _between_lines(run: Watched) -> Iterator[Seen]:
    for draw in run.draws:
        share = draw.action.to / draw.held.kind.step
        if abs(share - round(share)) > 1e-9:
            yield (
                draw.step,
                f"{number_text(draw.action.to)} on a scale with a line every {number_text(draw.held.kind.step)}",
                None,
            )
            return


def _air(run: Watched) -> Iterator[tuple[int, str, str, float, float]]:
    """Yield for each vial drawn from: the step of its first draw, its place, its insulin, air given and pressure after."""
    for insulin in run.doses:
        draws = run.draws_of(insulin)
        if not draws:
            continue
        given = 0.0
        for number, _, before, _ in run.of(PushAir):
            held = before.in_hand()
            if run.start < number < run.end and held.vial == draws[0].place:
                given += held.air_ml * held.kind.per_ml
        yield draws[0].step, draws[0].place, insulin, given, draws[-1].after.vials[draws[-1].place].kpa


def _little_air(run: Watched) -> Iterator[Seen]:
    for step, place, insulin, given, kpa in _air(run):
        if given < run.doses[insulin] - run.tolerance:
            yield (
                step,
                f"{say_units(given)} of air for {units_text(run.doses[insulin])}; pressure in the {place} vial {_percent(kpa)}",
                None,
            )


def _much_air(run: Watched) -> Iterator[Seen]:
    for step, place, insulin, given, kpa in _air(run):
        if given > run.doses[insulin] + run.tolerance:
            yield (
                step,
                f"{say_units(given)} of air for {units_text(run.doses[insulin])}; pressure in the {place} vial {_percent(kpa)}",
                None,
            )


def _percent(kpa: float) -> str:
    return f"{(kpa / ROOM_KPA - 1) * 100:+.1f} % ({kpa - ROOM_KPA:+.1f} kPa)"


def _first_air(run: Watched, insulin: str) -> int | None:
    for number, _, before, _ in run.of(PushAir):
        held = before.in_hand()
        if run.start < number < run.end and held.vial and before.vials[held.vial].insulin == insulin:
            return number
    return None


def _air_order(run: Watched) -> Iterator[Seen]:
    clear, cloudy = _first_air(run, run.clear), _first_air(run, run.cloudy)
    if clear and cloudy and clear < cloudy:
        yield clear, "", None


def _entered_clear(run: Watched, after: int) -> int | None:
    """Return the first step after another in which the clear vial took up cloudy insulin."""
    for number, _, before, bench in run.steps[after:]:
        for place, vial in bench.vials.items():
            if is_clear(vial) and place in before.vials:
                gained = vial.liquid.of(run.cloudy) - before.vials[place].liquid.of(run.cloudy)
                if gained > TRACE_UNITS:
                    return number
    return None


def _cloudy_first(run: Watched) -> Iterator[Seen]:
    for number, _, before, _ in run.of(DrawTo):
        held = before.in_hand()
        if not held.vial or held.tip != "liquid" or before.vials[held.vial].insulin != run.cloudy:
            continue
        entered = _entered_clear(run, number)
        if entered:
            amount = run.nph_in_clear()
            yield entered, f"{say_units(amount)} of {run.order.cloudy.insulin} in the clear vial", amount
        return


def _dipped(run: Watched) -> Iterator[Seen]:
    for number, _, _, after in run.of(Pierce, PushAir):
        held = after.in_hand()
        if held.vial and held.tip == "liquid" and after.vials[held.vial].insulin == run.cloudy:
            drawn = [draw.step for draw in run.draws_of(run.cloudy)]
            entered = _entered_clear(run, number)
            if entered and not any(step < entered for step in drawn):
                amount = run.nph_in_clear()
                yield number, f"{say_units(amount)} of {run.order.cloudy.insulin} in the clear vial", amount
            return


def _pushed(run: Watched) -> Iterator[tuple[int, Held, float]]:
    """Yield each push of liquid: its step, the syringe before it, and what left the barrel, units."""
    for number, _, before, after in run.of(PushBackTo):
        held = before.in_hand()
        went = (held.barrel.ml - after.in_hand().barrel.ml) * UNITS_PER_ML
        if went > TRACE_UNITS:
            yield number, held, went


def _pushed_back(run: Watched) -> Iterator[Seen]:
    for number, held, went in _pushed(run):
        if is_mixed(held.barrel) and held.vial:
            now = f"; {run.amounts()}" if run.start < number < run.end else ""
            yield number, f"{say_units(went)} of mixture into the {held.vial} vial{now}", went
            return


def _pushed_out(run: Watched) -> Iterator[Seen]:
    for number, held, went in _pushed(run):
        if is_mixed(held.barrel) and not held.vial and run.start < number < run.end:
            yield number, f"{say_units(went)} of mixture; {run.amounts()}", went
            return


def _pushed_elsewhere(run: Watched) -> Iterator[Seen]:
    for number, held, went in _pushed(run):
        if held.vial and not is_mixed(held.barrel):
            label = run.trace.states[number - 1].vials[held.vial].insulin
            if held.barrel.of(label) < went / 2:
                yield number, f"{say_units(went)} into the {held.vial} vial", went
                return


def _push_back_rule(run: Watched) -> Iterator[Seen]:
    if run.site.push_back.value == "allowed":
        return
    for number, held, went in _pushed(run):
        if held.vial and not is_mixed(held.barrel):
            yield number, say_units(went), went
            return


def _overdrawn(run: Watched) -> Iterator[Seen]:
    if run.mixed and run.off(run.cloudy) > run.tolerance and abs(run.off(run.clear)) <= run.tolerance:
        yield run.last_step, run.amounts(), run.off(run.cloudy)


def _second_number(run: Watched) -> Iterator[Seen]:
    clear, cloudy = run.doses[run.clear], run.doses[run.cloudy]
    short = abs(run.barrel.of(run.cloudy) - (cloudy - clear)) <= run.tolerance
    if run.mixed and short and abs(run.off(run.clear)) <= run.tolerance and clear > run.tolerance:
        yield run.last_step, run.amounts(), run.off(run.cloudy)


def _swapped(run: Watched) -> Iterator[Seen]:
    clear, cloudy = run.doses[run.clear], run.doses[run.cloudy]
    if abs(clear - cloudy) <= run.tolerance or not run.mixed:
        return
    off = (run.barrel.of(run.clear) - cloudy, run.barrel.of(run.cloudy) - clear)
    if max(map(abs, off)) <= run.tolerance:
        yield run.last_step, run.amounts(), None


def _clear_off(run: Watched) -> Iterator[Seen]:
    if run.draws_of(run.clear) and abs(run.off(run.clear)) > run.tolerance:
        yield run.draws_of(run.clear)[-1].step, run.amounts(), run.off(run.clear)


def _cloudy_off(run: Watched) -> Iterator[Seen]:
    if run.draws_of(run.cloudy) and abs(run.off(run.cloudy)) > run.tolerance:
        yield run.draws_of(run.cloudy)[-1].step, run.amounts(), run.off(run.cloudy)


def _late_bubble(run: Watched) -> Iterator[Seen]:
    for number, _, before, _ in run.of(TapBubbles):
        size = before.in_hand().bubbles_ml * UNITS_PER_ML
        if run.mixed and run.mixed[0] < number < run.end and size > run.tolerance:
            yield number, f"a bubble of {say_units(size)}; {run.amounts()}", size
            return


def _bubble_left(run: Watched) -> Iterator[Seen]:
    held = run.filled.syringe
    if run.mixed and held:
        size = held.bubbles_ml * UNITS_PER_ML
        if size > run.tolerance:
            yield run.last_step, f"a bubble of {say_units(size)}; {run.amounts()}", size


def _resuspension(run: Watched) -> Iterator[tuple[str, Seen]]:
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


def _rolled(name: str) -> Callable[[Watched], Iterator[Seen]]:
    return lambda run: (seen for found, seen in _resuspension(run) if found == name)


def _shaken(run: Watched) -> Iterator[Seen]:
    for draw in run.draws:
        if draw.vial.froth > _FROTH:
            yield draw.step, f"froth, {draw.vial.froth * 100:.0f} % air; {run.amounts()}", None
            return


_FROTH = 0.005
"""Less air than this in what is drawn is no froth any more, share."""


VIALS: dict[str, Callable[[Watched], Iterator[Seen]]] = {
    "air-into-clear-first": _air_order,
    "too-little-air": _little_air,
    "too-much-air": _much_air,
    "tip-dipped-in-cloudy": _dipped,
    "cloudy-drawn-first": _cloudy_first,
    "pushed-back-after-mixing": _pushed_back,
    "pushed-into-another-vial": _pushed_elsewhere,
    "push-back-not-allowed": _push_back_rule,
    "between-lines": _between_lines,
}
"""Each rule about air, vials and lines by the name of its finding."""

DOSES: dict[str, Callable[[Watched], Iterator[Seen]]] = {
    "long-acting-in-the-mix": _long_acting,
    "premixed-in-the-mix": _premixed,
    "wrong-vial": _wrong_vial,
    "scale-not-in-units": _scale,
    "strength-and-scale-differ": _strength,
    "separate-needle": _separate_needle,
    "same-insulin-twice": _same_twice,
    "one-insulin-missing": _one_missing,
    "doses-swapped": _swapped,
    "shaken": _shaken,
    "not-rolled": _rolled("not-rolled"),
    "rolled-too-little": _rolled("rolled-too-little"),
    "rolled-too-long-ago": _rolled("rolled-too-long-ago"),
    "mixture-pushed-out": _pushed_out,
    "late-bubble": _late_bubble,
    "bubble-left": _bubble_left,
    "drawn-to-the-second-number": _second_number,
    "cloudy-overdrawn": _overdrawn,
    "clear-dose-off": _clear_off,
    "cloudy-dose-off": _cloudy_off,
}
"""Each rule that explains a wrong dose, the deepest cause first: of these only the first to see something speaks."""

SIZES = ("drawn-to-the-second-number", "cloudy-overdrawn", "clear-dose-off", "cloudy-dose-off")
"""The rules that only tell a size: a mixture pushed back speaks for it."""
