"""Rules about the vials: the air that each gets, and what gets into which vial."""

from __future__ import annotations

from collections.abc import Iterator

from mixlab.care.bench.actions import DrawTo, Pierce, PushAir, PushBackTo, Withdraw
from mixlab.care.bench.bench import Action
from mixlab.care.bench.handling import TakeSyringe
from mixlab.care.bench.vessels import ROOM_KPA, Held, place_name
from mixlab.care.dosing import gives_air
from mixlab.quantities import UNITS_PER_ML, figures_text, units_text
from mixlab.words import Sentence, joined, sentence

from .run_record import NO_SIZE, TRACE_UNITS, Rule, Spotted, Watched, is_clear, is_mixed, rounded_units


def with_amounts(what: Sentence, run: Watched) -> Sentence:
    """Return what was seen, and after it what is in the barrel."""
    return joined((what, run.amounts()), "; ")


def _between_lines(run: Watched) -> Iterator[Spotted]:
    for number, _, before, _ in run.of_syringe(Withdraw):
        held = before.in_hand()
        off = held.mark / held.kind.step
        if held.barrel.ml and abs(off - round(off)) > _ON_A_LINE:
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
        came, now = run.came(first.place, first.step), first.vial
        then = (run.trace.states[number].vials[first.place] for number in (came, max(run.start, came)))
        given = (((now.air_ml - old.air_ml) - (old.liquid.ml - now.liquid.ml)) * first.held.kind.per_ml for old in then)
        nearest = min(given, key=lambda units: abs(units - dose))
        yield first.step, first.place, dose, nearest, last.after.vials[last.place].kpa


def _wrong_air(run: Watched, sign: int) -> Iterator[Spotted]:
    """Yield each vial that got too much air, or with a sign of -1 too little, and whose pressure shows it."""
    for step, place, dose, given, kpa in _air(run):
        if sign * (given - dose) > run.tolerance and sign * (kpa / ROOM_KPA - 1) > _LEAST_SHARE:
            yield step, _air_text(place, dose, given, kpa), None


_LEAST_SHARE = 0.0005
"""Less than this share of the room's pressure is said as 0.0 %: nothing to find."""


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
    for number, _, before, _ in run.of_syringe(PushAir):
        place = before.in_hand().vial
        if place and before.vials[place].insulin == insulin:
            return number
    return None


def _air_order(run: Watched) -> Iterator[Spotted]:
    clear, cloudy = _first_air(run, run.clear), _first_air(run, run.cloudy)
    if gives_air(run.site) and clear and cloudy and clear < cloudy:
        yield clear, NO_SIZE, None


def _took_up(run: Watched) -> Iterator[tuple[int, float]]:
    """Yield each step in which a clear vial took up cloudy insulin, and how much, units."""
    for number, _, before, after in run.steps:
        for place, vial in after.vials.items():
            if place in before.vials and is_clear(vial):
                more = vial.liquid.of(run.cloudy) - before.vials[place].liquid.of(run.cloudy)
                if more > 0:
                    yield number, more


def _entered_clear(run: Watched, after: int) -> int | None:
    """Return the first step after another, with the same syringe, in which a clear vial took up cloudy insulin."""
    end = next((number for number, *_ in run.of(TakeSyringe) if number > after), len(run.trace) + 1)
    return next((number for number, more in _took_up(run) if after < number < end and more > TRACE_UNITS), None)


def _in_cloudy(run: Watched, kind: type[Action]) -> Iterator[int]:
    """Yield the steps of a kind that leave the tip in the liquid of a cloudy vial."""
    for number, _, _, after in run.of(kind):
        held = after.in_hand()
        if held.vial and held.tip == "liquid" and after.vials[held.vial].insulin == run.cloudy:
            yield number


def _cloudy_first(run: Watched) -> Iterator[Spotted]:
    for number in _in_cloudy(run, DrawTo):
        entered = _entered_clear(run, number)
        if entered:
            yield entered, *_nph_in_clear(run)
            return


def _dipped(run: Watched) -> Iterator[Spotted]:
    drawn = list(_in_cloudy(run, DrawTo))
    for number in _in_cloudy(run, Pierce):
        entered = _entered_clear(run, number)
        if entered and not any(number < step < entered for step in drawn):
            yield number, *_nph_in_clear(run)
            return


def _nph_in_clear(run: Watched) -> tuple[Sentence, float]:
    """Return how much cloudy insulin ever got into clear vials, in words and units; also what was drawn out again."""
    amount, insulin = sum(more for _, more in _took_up(run)), run.order.cloudy.insulin.name
    return sentence("{amount} of {insulin} in the clear vial", amount=rounded_units(amount), insulin=insulin), amount


def pushed(run: Watched) -> Iterator[tuple[int, Held, float]]:
    """Yield each push of liquid: its step, the syringe before it, and what left the barrel, units."""
    for number, _, before, after in run.of(PushBackTo, PushAir):
        held = before.in_hand()
        went = (held.barrel.ml - after.in_hand().barrel.ml) * UNITS_PER_ML
        if went > TRACE_UNITS:
            yield number, held, went


def _pushed_back(run: Watched) -> Iterator[Spotted]:
    for number, held, went in pushed(run):
        if is_mixed(held.barrel) and held.vial:
            back = sentence(
                "{amount} of mixture into the {vial} vial", amount=rounded_units(went), vial=place_name(held.vial)
            )
            yield number, with_amounts(back, run) if run.start < number < run.end else back, went
            return


def _pushed_elsewhere(run: Watched) -> Iterator[Spotted]:
    for number, held, went in pushed(run):
        if held.vial and not is_mixed(held.barrel):
            label = run.trace.states[number - 1].vials[held.vial].insulin
            if held.barrel.of(label) < went / 2:
                into = sentence("{amount} into the {vial} vial", amount=rounded_units(went), vial=place_name(held.vial))
                yield number, into, went
                return


def _push_back_rule(run: Watched) -> Iterator[Spotted]:
    for number, held, went in pushed(run):
        if run.site.push_back.value != "allowed" and held.vial and not is_mixed(held.barrel):
            yield number, rounded_units(went), went
            return


VIALS: dict[str, Rule] = {
    "air-into-clear-first": _air_order,
    "too-little-air": lambda run: _wrong_air(run, -1) if gives_air(run.site) else (),
    "too-much-air": lambda run: _wrong_air(run, 1),
    "tip-dipped-in-cloudy": _dipped,
    "cloudy-drawn-first": _cloudy_first,
    "pushed-back-after-mixing": _pushed_back,
    "pushed-into-another-vial": _pushed_elsewhere,
    "push-back-not-allowed": _push_back_rule,
    "between-lines": _between_lines,
}
"""Each rule about air, vials and lines by the name of its finding."""
