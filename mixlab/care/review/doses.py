"""Rules about each insulin's dose apart: other insulins, a missing one, and what distorts a dose."""

from __future__ import annotations

from collections.abc import Iterator

from mixlab.care.bench.actions import TapBubbles
from mixlab.care.bench.handling import Roll, Shake
from mixlab.care.bench.vessels import Vial
from mixlab.facts.reading import the_facts
from mixlab.quantities import UNITS_PER_ML, minutes_text, rounded_beside
from mixlab.ward.insulin import insulins
from mixlab.words import Sentence, sentence

from .run_record import Draw, Rule, Spotted, Watched, is_mixed, rounded_units
from .sizes import missing, stood_in
from .vials import pushed, with_amounts


def _strange(run: Watched, *groups: str) -> Iterator[Spotted]:
    """Yield the first draw of an insulin of some groups that nobody ordered."""
    for draw in run.draws:
        insulin = insulins()[draw.vial.insulin]
        if insulin.key not in run.doses and insulin.row.group in groups:
            amount = run.barrel.of(insulin.key)
            words = sentence("{amount} of {insulin}", amount=rounded_units(amount), insulin=insulin.name)
            yield draw.step, with_amounts(words, run), amount
            return


def _one_missing(run: Watched) -> Iterator[Spotted]:
    """Say that an ordered insulin is not in the barrel, whatever was drawn; if another one stands for it, that is found instead."""
    if run.given and any(key not in stood_in(run) for key in missing(run)):
        yield run.given[0], run.amounts(), None


def _same_twice(run: Watched) -> Iterator[Spotted]:
    drawn = {draw.vial.insulin for draw in run.draws}
    pierced = {max(one.step for one in run.pierced if one.step < draw.step) for draw in run.draws}
    if len(drawn) == 1 and drawn <= run.doses.keys() and len(pierced) > 1:
        total = run.barrel.ml * UNITS_PER_ML - sum(run.doses.values())
        if abs(total) <= run.tolerance and run.off(*drawn) > run.tolerance:
            yield run.last_step, run.amounts(), None


def _scale(run: Watched) -> Iterator[Spotted]:
    for draw in run.draws[:1]:
        if draw.held.kind.per_ml not in (UNITS_PER_ML, 40):
            line = sentence("a line means {amount}", amount=rounded_units(UNITS_PER_ML / draw.held.kind.per_ml))
            yield draw.step, with_amounts(line, run), None


def _strength(run: Watched) -> Iterator[Spotted]:
    for draw in run.draws:
        per_ml = draw.held.kind.per_ml
        if per_ml in (UNITS_PER_ML, 40) and draw.vial.strength != per_ml:
            times = round(draw.vial.strength / per_ml, 2)
            line = sentence("every line holds {times} times what it says", times=times)
            yield draw.step, with_amounts(line, run), None
            return


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
        size = (held.bubbles_ml + held.air_ml) * UNITS_PER_ML
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
    else:
        minutes = (draw.before.clock_s - run.trace.states[rolled[-1]].clock_s) / 60
        most = the_facts().technique["roll_again_min"].value
        if minutes > most:
            stood = sentence("{minutes}; after {most} a vial is rolled again")
            said = rounded_beside(minutes, most, 0)
            yield (
                "not-rolled-again",
                (
                    draw.step,
                    stood.filled(minutes=minutes_text(said), most=minutes_text(most)),
                    None,
                ),
            )


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
}
"""Each rule that says that an insulin nobody ordered is in the barrel: the first to see it speaks."""

NOT_THERE: dict[str, Rule] = {"same-insulin-twice": _same_twice, "one-insulin-missing": _one_missing}
"""Each rule that says that an ordered insulin is not in the barrel: the first to see it speaks."""

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
        "not-rolled-again": _rolled("not-rolled-again"),
    },
    {"mixture-pushed-out": _pushed_out},
    {"late-bubble": _late_bubble, "bubble-left": _bubble_left},
)
"""The rules that say why the barrel does not hold what its marks say, by syringe, by vial, by what was pushed out and by bubble:
the first of each group to see something speaks."""
