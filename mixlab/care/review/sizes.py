"""The size of each dose, judged by what is in the barrel: every insulin that is wrong is named or explained.

Another finding may explain why an insulin is wrong: an unrolled vial, a bubble, a separate needle. The marks then say whether
it was also drawn to the wrong line. What is said of an insulin always agrees with the amount of it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import groupby

from mixlab.care.bench.bench import SLACK_ML

from .run_record import NEEDLE_UNITS, Spotted, Watched

Explains = frozenset[str]
"""Looks of the insulins that a finding explains the amount of."""

BOTH: Explains = frozenset({"clear", "cloudy"})

BENDS: dict[str, Explains] = {
    **dict.fromkeys(("scale-not-in-units", "strength-and-scale-differ", "separate-needle", "shaken"), BOTH),
    **dict.fromkeys(("late-bubble", "bubble-left", "pushed-back-after-mixing", "mixture-pushed-out"), BOTH),
    **dict.fromkeys(("not-rolled", "rolled-too-little", "rolled-too-long-ago"), frozenset({"cloudy"})),
}
"""The findings that say why the barrel does not hold what its marks say, and of which insulins."""

SIZES: dict[str, Explains] = {
    **dict.fromkeys(("doses-swapped", "same-insulin-twice", "given-twice"), BOTH),
    "clear-dose-off": frozenset({"clear"}),
    **dict.fromkeys(
        ("cloudy-overdrawn", "drawn-to-the-second-number", "cloudy-dose-off"),
        frozenset({"cloudy"}),
    ),
}
"""The findings that say that a dose is wrong, and of which insulins."""


def missing(run: Watched) -> list[str]:
    """Return the ordered insulins that are not in the barrel, whatever was drawn; one whose line is reached was only too weak."""
    marks = _by_marks(run) or {}
    found = []
    for key, dose in run.doses.items():
        least = min(NEEDLE_UNITS, dose / 2)
        if run.barrel.of(key) <= least and dose + marks.get(key, -dose) <= least:
            found.append(key)
    return found


def stood_in(run: Watched) -> set[str]:
    """Return the ordered insulins in whose place another one was drawn: the one that looks like it, or else any."""
    absent = [key for key in missing(run) if not run.draws_of(key)]
    found = set()
    for vial in {draw.vial.insulin: draw.vial for draw in run.draws if draw.vial.insulin not in run.doses}.values():
        alike = run.cloudy if vial.suspension else run.clear
        left = [key for key in absent if key not in found]
        found.update([alike] if alike in left else left[:1])
    return found


def find_sizes(run: Watched, explained: set[str], bent: set[str]) -> Iterator[tuple[str, Spotted]]:
    """Yield what is wrong with the size of the doses, by the name of its finding.

    Parameters
    ----------
    run : Watched
        The run.
    explained : set of str
        Keys of insulins of whose amount another finding says everything.
    bent : set of str
        Keys of insulins of which another finding says why they are not what the marks say: the marks are judged besides.
    """
    off = {key: amount for key in run.doses if (amount := _wrong(run, key)) and key not in explained}
    marks = _by_marks(run) if bent else None
    if marks is not None:
        off = {key: amount if key not in bent else marks.get(key, 0.0) for key, amount in off.items()}
        off = {key: amount for key, amount in off.items() if _agrees(amount, run.off(key), run.tolerance)}
    yield from _named(run, off)


def _wrong(run: Watched, key: str) -> float:
    """Return how far an insulin is off beyond the tolerance; 0 where it is not, or where it may still be drawn."""
    off = run.off(key)
    to_come = not run.given and (not run.draws_of(key) or not run.barrel.ml)
    return 0.0 if abs(off) <= run.tolerance or (off < 0 and to_come) else off


def _agrees(by_mark: float, off: float, close: float) -> bool:
    return abs(by_mark) > close and (by_mark > 0) == (off > 0)


def _by_marks(run: Watched) -> Mapping[str, float] | None:
    """Return how far each insulin is off as the eye reads it; None where the marks cannot say, as after a third change of vial."""
    groups = [list(some) for _, some in groupby(run.draws, key=lambda draw: draw.vial.insulin)]
    held = run.filled.syringe
    if held is None or not 0 < len(groups) <= 2:
        return None
    at, between = groups[-1][0].step, groups[-1][0].before.in_hand().mark if len(groups) == 2 else 0.0
    later = (state.syringe for state in run.trace.states[at : run.given[0] if run.given else None])
    if len(groups) == 2 and any(now is None or now.mark < between - SLACK_ML for now in later):
        return None
    read = {groups[0][0].vial.insulin: between} if len(groups) == 2 else {}
    read[groups[-1][0].vial.insulin] = held.mark - between
    return {key: amount - run.doses[key] for key, amount in read.items() if key in run.doses}


def _named(run: Watched, off: Mapping[str, float]) -> Iterator[tuple[str, Spotted]]:
    clear, cloudy, close = off.get(run.clear, 0.0), off.get(run.cloudy, 0.0), run.tolerance
    gap, held = run.doses[run.cloudy] - run.doses[run.clear], run.filled.syringe
    here: Spotted = (run.last_step, run.amounts(), None)
    if clear and cloudy and max(abs(clear - gap), abs(cloudy + gap)) <= close:
        yield "doses-swapped", here
        return
    if clear:
        yield "clear-dose-off", (_drawn_at(run, run.clear), run.amounts(), clear)
    if not cloudy:
        return
    right = abs(run.off(run.clear)) <= close < run.doses[run.clear]
    if right and abs(cloudy + run.doses[run.clear]) <= close:
        yield "drawn-to-the-second-number", here
    elif held and cloudy > 0 and held.mark > sum(run.doses.values()) + close:
        yield "cloudy-overdrawn", here
    else:
        yield "cloudy-dose-off", here


def _drawn_at(run: Watched, insulin: str) -> int:
    """Return the last step that drew an insulin, or else the one that changed the barrel last."""
    return max((draw.step for draw in run.draws_of(insulin)), default=run.last_step)
