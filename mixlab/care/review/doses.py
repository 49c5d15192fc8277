"""Rules about each insulin's dose apart: other insulins, what distorts a dose, and its size."""

from __future__ import annotations

from collections.abc import Iterator

from mixlab.care.bench.actions import TapBubbles
from mixlab.care.bench.handling import Roll, Shake
from mixlab.care.bench.vessels import Vial
from mixlab.quantities import UNITS_PER_ML
from mixlab.ward.insulin import insulins
from mixlab.words import Sentence, sentence

from .run_record import Draw, Rule, Spotted, Watched, is_mixed, rounded_units
from .vials import pushed, with_amounts


def _strange(run: Watched, *groups: str) -> Iterator[Spotted]:
    """Yield the first draw of an insulin of some groups that nobody ordered."""
    for draw in run.draws:
        insulin = insulins()[draw.vial.insulin]
        if insulin.key not in run.doses and insulin.row.group in groups:
            amount = run.barrel.of(insulin.key)
            words = sentence("{amount} of {insulin}", amount=rounded_units(amount), insulin=insulin.name)
            yield draw.step, words, amount
            return


def _one_missing(run: Watched) -> Iterator[Spotted]:
    drawn = {draw.vial.insulin for draw in run.draws}
    if run.given and len(drawn) == 1 and drawn <= run.doses.keys():
        yield run.given[0], run.amounts(), None


def _same_twice(run: Watched) -> Iterator[Spotted]:
    drawn = {draw.vial.insulin for draw in run.draws}
    pierced = {max(one.step for one in run.pierced if one.step < draw.step) for draw in run.draws}
    if len(drawn) == 1 and drawn <= run.doses.keys() and len(pierced) > 1:
        total = run.barrel.ml * UNITS_PER_ML - sum(run.doses.values())
        if abs(total) <= run.tolerance:
            yield run.last_step, run.amounts(), None


def _scale(run: Watched) -> Iterator[Spotted]:
    for draw in run.draws[:1]:
        if draw.held.kind.per_ml not in (UNITS_PER_ML, 40):
            line = sentence("a line means {amount}", amount=rounded_units(UNITS_PER_ML / draw.held.kind.per_ml))
            yield draw.step, with_amounts(line, run), None


def _strength(run: Watched) -> Iterator[Spotted]:
    for draw in run.draws[:1]:
        per_ml = draw.held.kind.per_ml
        if per_ml in (UNITS_PER_ML, 40) and draw.vial.strength != per_ml:
            times = round(draw.vial.strength / per_ml, 2)
            line = sentence("every line holds {times} times what it says", times=times)
            yield draw.step, with_amounts(line, run), None


def _separate_needle(run: Watched) -> Iterator[Spotted]:
    for draw in run.draws[:1]:
        if draw.held.kind.separate_needle:
            yield draw.step, run.amounts(), run.off(run.clear)


def _pushed_out(run: Watched) -> Iterator[Spotted]:
    for number, held, went in pushed(run):
        if is_mixed(held.barrel) and not held.vial and run.start < number < run.end:
            out = sentence("{amount} of mixture", amount=rounded_units(went))
            yield number, with_amounts(out, run), went
            return


def find_size(run: Watched, distorted: bool) -> Iterator[tuple[str, Spotted]]:
    """Yield what is wrong with the size of the doses, by the name of its finding.

    Parameters
    ----------
    run : Watched
        The run.
    distorted : bool
        Whether another finding explains that the barrel does not hold what the marks say: then the marks are judged.
    """
    if distorted:
        if run.marks is None:
            return
        mark, total = run.marks
        clear, cloudy = mark - run.doses[run.clear], total - mark - run.doses[run.cloudy]
    elif run.barrel.ml:
        clear, cloudy = run.off(run.clear), run.off(run.cloudy)
    else:
        return
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


def _late_bubble(run: Watched) -> Iterator[Spotted]:
    for number, _, before, _ in run.of(TapBubbles):
        size = before.in_hand().bubbles_ml * UNITS_PER_ML
        if not run.mixed or not run.mixed[0] < number < run.end or size <= run.tolerance:
            continue
        if run.trace.states[run.mixed[0] - 1].in_hand().bubbles_ml * UNITS_PER_ML > run.tolerance:
            yield number, _bubble_text(run, size), size
            return


def _bubble_left(run: Watched) -> Iterator[Spotted]:
    held = run.filled.syringe
    if run.mixed and held:
        size = held.bubbles_ml * UNITS_PER_ML
        if size > run.tolerance:
            yield run.last_step, _bubble_text(run, size), size


def _bubble_text(run: Watched, size: float) -> Sentence:
    return with_amounts(sentence("a bubble of {amount}", amount=rounded_units(size)), run)


def _resuspension(run: Watched) -> Iterator[tuple[str, Spotted]]:
    """Yield what was wrong with the cloudy vial when it was drawn from, and its size."""
    draw = next((draw for draw in run.draws_of(run.cloudy) if draw.vial.suspension), None)
    if draw is None or run.done_to(Shake, draw.place, draw.step):
        return
    rolled = run.done_to(Roll, draw.place, draw.step)
    share = _at_needle(draw.vial, draw)
    strength = sentence("{percent} % of the vial's strength at the needle", percent=round(share * 100))
    seen = (draw.step, with_amounts(strength, run), run.off(run.cloudy))
    if not rolled:
        yield "not-rolled", seen
    elif abs(share - 1) * run.doses[run.cloudy] > run.tolerance:
        then = _at_needle(run.trace.states[rolled[-1]].vials[draw.place], draw)
        late = abs(then - 1) * run.doses[run.cloudy] <= run.tolerance
        yield ("rolled-too-long-ago" if late else "rolled-too-little"), seen


def _at_needle(vial: Vial, draw: Draw) -> float:
    """Strength at the needle as a share of the whole vial's."""
    return vial.near(draw.before.physics)[1] / (vial.liquid.of(vial.insulin) / vial.liquid.ml)


def _rolled(name: str) -> Rule:
    return lambda run: (seen for found, seen in _resuspension(run) if found == name)


def _shaken(run: Watched) -> Iterator[Spotted]:
    for draw in run.draws:
        if draw.vial.froth > _FROTH:
            froth = sentence("froth, {percent} % air", percent=round(draw.vial.froth * 100))
            yield draw.step, with_amounts(froth, run), None
            return


_FROTH = 0.005
"""Less air than this in what is drawn is no froth any more, share."""

OTHER_INSULINS: dict[str, Rule] = {
    "long-acting-in-the-mix": lambda run: _strange(run, "long-acting") if run.mixed else (),
    "premixed-in-the-mix": lambda run: _strange(run, "premixed"),
    "wrong-vial": lambda run: _strange(run, "short-acting", "rapid-acting", "intermediate-acting", "long-acting"),
    "same-insulin-twice": _same_twice,
    "one-insulin-missing": _one_missing,
    "mixture-pushed-out": _pushed_out,
}
"""Each rule that says the barrel holds something else altogether: the first to see it speaks, and no size is judged."""

DISTORTIONS: tuple[dict[str, Rule], ...] = (
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
