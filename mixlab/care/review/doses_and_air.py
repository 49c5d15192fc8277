"""Rules about amounts: air, what gets into which vial, and each insulin's dose apart."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from mixlab.care.bench.actions import (
    DrawTo,
    Pierce,
    PushAir,
    PushBackTo,
    Roll,
    Shake,
    TakeSyringe,
    TapBubbles,
    Withdraw,
)
from mixlab.care.bench.bench import Action
from mixlab.care.bench.vessels import ROOM_KPA, Held, Vial, place_name
from mixlab.care.dosing import gives_air
from mixlab.quantities import UNITS_PER_ML, figures_text, units_text
from mixlab.ward.insulin import insulins
from mixlab.words import Sentence, joined, sentence

from .run_record import NO_SIZE, TRACE_UNITS, Draw, Seen, Watched, is_clear, is_mixed, rounded_units

Offs = tuple[float, float]
"""How far the clear and the cloudy dose are off, units."""


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
        yield (
            draw.step,
            sentence("{amount} of {insulin}", amount=rounded_units(amount), insulin=insulins()[draw.vial.insulin].name),
            amount,
        )


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
    pierced = {max(number for number, *_ in run.pierced if number < draw.step) for draw in run.draws}
    if len(drawn) == 1 and drawn <= run.doses.keys() and len(pierced) > 1:
        total = run.barrel.ml * UNITS_PER_ML - sum(run.doses.values())
        if abs(total) <= run.tolerance:
            yield run.last_step, run.amounts(), None


def _with_amounts(what: Sentence, run: Watched) -> Sentence:
    """Return what was seen, and after it what is in the barrel."""
    return joined((what, run.amounts()), "; ")


def _scale(run: Watched) -> Iterator[Seen]:
    for draw in run.draws[:1]:
        if draw.held.kind.per_ml not in (UNITS_PER_ML, 40):
            line = sentence("a line means {amount}", amount=rounded_units(UNITS_PER_ML / draw.held.kind.per_ml))
            yield draw.step, _with_amounts(line, run), None


def _strength(run: Watched) -> Iterator[Seen]:
    for draw in run.draws[:1]:
        per_ml = draw.held.kind.per_ml
        if per_ml in (UNITS_PER_ML, 40) and draw.vial.strength != per_ml:
            times = round(draw.vial.strength / per_ml, 2)
            line = sentence("every line holds {times} times what it says", times=times)
            yield draw.step, _with_amounts(line, run), None


def _separate_needle(run: Watched) -> Iterator[Seen]:
    for draw in run.draws[:1]:
        if draw.held.kind.separate_needle:
            yield draw.step, run.amounts(), run.off(run.clear)


def _between_lines(run: Watched) -> Iterator[Seen]:
    for number, _, before, _ in run.of(Withdraw):
        held = before.in_hand()
        off = held.mark / held.kind.step
        if run.start < number < run.end and held.barrel.ml and abs(off - round(off)) > _ON_A_LINE:
            where = round(held.mark, 2)
            off_line = sentence("{place} on a scale with a line every {step}", place=where, step=held.kind.step)
            yield number, off_line, None
            return


_ON_A_LINE = 1e-6
"""Nearer to a line than this share of a step is on it."""


def _air(run: Watched) -> Iterator[tuple[int, str, float, float, float]]:
    """Yield for each vial drawn from: the step, its place, the dose, the air put in for it, and the pressure after.

    The air of the syringe that counts, or all since the vial came less what was drawn: whichever is nearer to the dose, for
    air may have gone in with a syringe that was then discarded.
    """
    for insulin, dose in run.doses.items():
        draws = run.draws_of(insulin)
        if not draws:
            continue
        first, last = draws[0], draws[-1]
        since = {run.came(first.place, first.step), max(run.start, run.came(first.place, first.step))}
        then = (run.trace.states[number].vials[first.place] for number in since)
        given = (
            ((first.vial.air_ml - new.air_ml) - (new.liquid.ml - first.vial.liquid.ml)) * first.held.kind.per_ml
            for new in then
        )
        nearest = min(given, key=lambda units: abs(units - dose))
        yield first.step, first.place, dose, nearest, last.after.vials[last.place].kpa


def _little_air(run: Watched) -> Iterator[Seen]:
    if not gives_air(run.site):
        return
    for step, place, dose, given, kpa in _air(run):
        if given < dose - run.tolerance:
            yield step, _air_text(place, dose, given, kpa), None


def _much_air(run: Watched) -> Iterator[Seen]:
    for step, place, dose, given, kpa in _air(run):
        if given > dose + run.tolerance:
            yield step, _air_text(place, dose, given, kpa), None


def _air_text(place: str, dose: float, given: float, kpa: float) -> Sentence:
    return sentence(
        "{air} of air for {dose}; pressure in the {vial} vial {percent} % ({pressure} kPa)",
        air=rounded_units(given),
        dose=units_text(dose),
        vial=place_name(place),
        percent=_with_sign((kpa / ROOM_KPA - 1) * 100),
        pressure=_with_sign(kpa - ROOM_KPA),
    )


def _with_sign(value: float) -> Sentence:
    """Return a number to one place after the decimal mark, with its sign even where that is a plus."""
    figures = f"{value:+.1f}"
    return joined(("+", figures_text(figures[1:])), "") if figures[0] == "+" else figures_text(figures)


def _first_air(run: Watched, insulin: str) -> int | None:
    for number, _, before, _ in run.of(PushAir):
        held = before.in_hand()
        if run.start < number < run.end and held.vial and before.vials[held.vial].insulin == insulin:
            return number
    return None


def _air_order(run: Watched) -> Iterator[Seen]:
    if not gives_air(run.site):
        return
    clear, cloudy = _first_air(run, run.clear), _first_air(run, run.cloudy)
    if clear and cloudy and clear < cloudy:
        yield clear, NO_SIZE, None


def _entered_clear(run: Watched, after: int) -> int | None:
    """Return the first step after another, with the same syringe, in which a clear vial took up cloudy insulin."""
    for number, action, before, bench in run.steps[after:]:
        if isinstance(action, TakeSyringe):
            return None
        for place, vial in bench.vials.items():
            was = before.vials.get(place)
            if was and is_clear(vial) and vial.liquid.of(run.cloudy) - was.liquid.of(run.cloudy) > TRACE_UNITS:
                return number
    return None


def _in_cloudy(run: Watched, kinds: type[Action], after_it: bool) -> Iterator[int]:
    """Yield the steps of a kind at which the tip is in the liquid of a cloudy vial."""
    for number, _, before, after in run.of(kinds):
        bench = after if after_it else before
        held = bench.in_hand()
        if held.vial and held.tip == "liquid" and bench.vials[held.vial].insulin == run.cloudy:
            yield number


def _cloudy_first(run: Watched) -> Iterator[Seen]:
    for number in _in_cloudy(run, DrawTo, after_it=False):
        entered = _entered_clear(run, number)
        if entered:
            amount = run.nph_in_clear()
            yield (
                entered,
                sentence(
                    "{amount} of {insulin} in the clear vial",
                    amount=rounded_units(amount),
                    insulin=run.order.cloudy.insulin.name,
                ),
                amount,
            )
            return


def _dipped(run: Watched) -> Iterator[Seen]:
    drawn = list(_in_cloudy(run, DrawTo, after_it=False))
    for number in _in_cloudy(run, Pierce, after_it=True):
        entered = _entered_clear(run, number)
        if entered and not any(number < step < entered for step in drawn):
            amount = run.nph_in_clear()
            yield (
                number,
                sentence(
                    "{amount} of {insulin} in the clear vial",
                    amount=rounded_units(amount),
                    insulin=run.order.cloudy.insulin.name,
                ),
                amount,
            )
            return


def _pushed(run: Watched) -> Iterator[tuple[int, Held, float]]:
    """Yield each push of liquid: its step, the syringe before it, and what left the barrel, units."""
    for number, _, before, after in run.of(PushBackTo, PushAir):
        held = before.in_hand()
        went = (held.barrel.ml - after.in_hand().barrel.ml) * UNITS_PER_ML
        if went > TRACE_UNITS:
            yield number, held, went


def _pushed_back(run: Watched) -> Iterator[Seen]:
    for number, held, went in _pushed(run):
        if is_mixed(held.barrel) and held.vial:
            back = sentence(
                "{amount} of mixture into the {vial} vial", amount=rounded_units(went), vial=place_name(held.vial)
            )
            yield number, _with_amounts(back, run) if run.start < number < run.end else back, went
            return


def _pushed_out(run: Watched) -> Iterator[Seen]:
    for number, held, went in _pushed(run):
        if is_mixed(held.barrel) and not held.vial and run.start < number < run.end:
            out = sentence("{amount} of mixture", amount=rounded_units(went))
            yield number, _with_amounts(out, run), went
            return


def _pushed_elsewhere(run: Watched) -> Iterator[Seen]:
    for number, held, went in _pushed(run):
        if held.vial and not is_mixed(held.barrel):
            label = run.trace.states[number - 1].vials[held.vial].insulin
            if held.barrel.of(label) < went / 2:
                into = sentence("{amount} into the {vial} vial", amount=rounded_units(went), vial=place_name(held.vial))
                yield number, into, went
                return


def _push_back_rule(run: Watched) -> Iterator[Seen]:
    if run.site.push_back.value == "allowed":
        return
    for number, held, went in _pushed(run):
        if held.vial and not is_mixed(held.barrel):
            yield number, rounded_units(went), went
            return


def _off_by_marks(run: Watched) -> Offs | None:
    """How far each dose is off if the marks tell the truth."""
    if run.marks is None:
        return None
    clear, total = run.marks
    return clear - run.doses[run.clear], total - clear - run.doses[run.cloudy]


def _off_in_the_barrel(run: Watched) -> Offs | None:
    """How far each dose is off in the barrel."""
    return (run.off(run.clear), run.off(run.cloudy)) if run.barrel.ml else None


def find_size(run: Watched, distorted: bool) -> Iterator[tuple[str, Seen]]:
    """Yield what is wrong with the size of the doses, by the name of its finding.

    Parameters
    ----------
    run : Watched
        The run.
    distorted : bool
        Whether another finding explains that the barrel does not hold what the marks say: then the marks are judged.
    """
    off = _off_by_marks(run) if distorted else _off_in_the_barrel(run)
    if off is None:
        return
    clear, cloudy = off
    close = run.tolerance
    gap = run.doses[run.cloudy] - run.doses[run.clear]
    here = (run.last_step, run.amounts(), None)
    if not run.mixed:
        if run.draws_of(run.clear) and abs(clear) > close and not run.draws_of(run.cloudy):
            yield "clear-dose-off", (run.draws_of(run.clear)[-1].step, run.amounts(), clear)
    elif abs(gap) > close and max(abs(clear - gap), abs(cloudy + gap)) <= close:
        yield "doses-swapped", here
    elif abs(clear) <= close and run.doses[run.clear] > close and abs(cloudy + run.doses[run.clear]) <= close:
        yield "drawn-to-the-second-number", here
    elif abs(clear) <= close and cloudy > close:
        yield "cloudy-overdrawn", here
    elif abs(clear) > close:
        yield "clear-dose-off", (max(draw.step for draw in run.draws_of(run.clear)), run.amounts(), clear)
    elif abs(cloudy) > close:
        yield "cloudy-dose-off", here


def _late_bubble(run: Watched) -> Iterator[Seen]:
    for number, _, before, _ in run.of(TapBubbles):
        size = before.in_hand().bubbles_ml * UNITS_PER_ML
        if not run.mixed or not run.mixed[0] < number < run.end or size <= run.tolerance:
            continue
        if run.trace.states[run.mixed[0] - 1].in_hand().bubbles_ml * UNITS_PER_ML > run.tolerance:
            yield number, _bubble_text(run, size), size
            return


def _bubble_left(run: Watched) -> Iterator[Seen]:
    held = run.filled.syringe
    if run.mixed and held:
        size = held.bubbles_ml * UNITS_PER_ML
        if size > run.tolerance:
            yield run.last_step, _bubble_text(run, size), size


def _bubble_text(run: Watched, size: float) -> Sentence:
    return _with_amounts(sentence("a bubble of {amount}", amount=rounded_units(size)), run)


def _resuspension(run: Watched) -> Iterator[tuple[str, Seen]]:
    """Yield what was wrong with the cloudy vial when it was drawn from, and its size."""
    draw = next((draw for draw in run.draws_of(run.cloudy) if draw.vial.suspension), None)
    if draw is None or run.done_to(Shake, draw.place, draw.step):
        return
    rolled = run.done_to(Roll, draw.place, draw.step)
    share = _at_needle(draw.vial, draw)
    strength = sentence("{percent} % of the vial's strength at the needle", percent=round(share * 100))
    seen = (draw.step, _with_amounts(strength, run), run.off(run.cloudy))
    if not rolled:
        yield "not-rolled", seen
    elif abs(share - 1) * run.doses[run.cloudy] > run.tolerance:
        then = _at_needle(run.trace.states[rolled[-1]].vials[draw.place], draw)
        late = abs(then - 1) * run.doses[run.cloudy] <= run.tolerance
        yield ("rolled-too-long-ago" if late else "rolled-too-little"), seen


def _at_needle(vial: Vial, draw: Draw) -> float:
    """Strength at the needle as a share of the whole vial's."""
    return vial.near(draw.before.physics)[1] / (vial.liquid.of(vial.insulin) / vial.liquid.ml)


def _rolled(name: str) -> Callable[[Watched], Iterator[Seen]]:
    return lambda run: (seen for found, seen in _resuspension(run) if found == name)


def _shaken(run: Watched) -> Iterator[Seen]:
    for draw in run.draws:
        if draw.vial.froth > _FROTH:
            froth = sentence("froth, {percent} % air", percent=round(draw.vial.froth * 100))
            yield draw.step, _with_amounts(froth, run), None
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

OTHER_INSULINS: dict[str, Callable[[Watched], Iterator[Seen]]] = {
    "long-acting-in-the-mix": _long_acting,
    "premixed-in-the-mix": _premixed,
    "wrong-vial": _wrong_vial,
    "same-insulin-twice": _same_twice,
    "one-insulin-missing": _one_missing,
    "mixture-pushed-out": _pushed_out,
}
"""Each rule that says the barrel holds something else altogether: the first to see it speaks, and no size is judged."""

DISTORTIONS: tuple[dict[str, Callable[[Watched], Iterator[Seen]]], ...] = (
    {
        "scale-not-in-units": _scale,
        "strength-and-scale-differ": _strength,
        "separate-needle": _separate_needle,
    },
    {
        "shaken": _shaken,
        "not-rolled": _rolled("not-rolled"),
        "rolled-too-little": _rolled("rolled-too-little"),
        "rolled-too-long-ago": _rolled("rolled-too-long-ago"),
    },
    {"late-bubble": _late_bubble, "bubble-left": _bubble_left},
)
"""The rules that say why the barrel does not hold what its marks say, by syringe, by vial and by bubble: the first of each
group to see something speaks, and the size is then judged by the marks."""

SIZES = ("doses-swapped", "drawn-to-the-second-number", "cloudy-overdrawn", "clear-dose-off", "cloudy-dose-off")
"""The findings about size."""
