"""Rules about what is said at the bench: of a label, and by the second nurse of a syringe.

The second nurse compares three things: the order, the labels, and the syringe at eye level. What she could have seen then is
read off the bench; a check that let it pass is found beside the fault itself.
"""

from __future__ import annotations

from collections.abc import Iterator

from mixlab.care.bench.checking import CHECK_SEES, LABEL_FINDS, MAY_BE_USED, NOTHING_WRONG, SayCheck, SayLabel
from mixlab.care.bench.handling import HaveChecked
from mixlab.care.bench.vessels import place_name
from mixlab.quantities import UNITS_PER_ML
from mixlab.words import Sentence, joined, sentence

from .label import label_faults
from .run_record import Draw, Rule, Spotted, Watched


def _drawn(run: Watched, number: int) -> list[Draw]:
    return [draw for draw in run.draws if draw.step <= number]


def is_total_check(run: Watched, number: int) -> bool:
    """Say whether a check at a step sees the filled syringe: the needle has been in two vials, or twice in one, to draw."""
    return len({max(one.step for one in run.pierced if one.step < draw.step) for draw in _drawn(run, number)}) > 1


def check_sees(run: Watched, number: int, *, total: bool) -> dict[str, Sentence]:
    """Return all that a second nurse can see against a syringe at a step, each a key of `CHECK_SEES` with its words."""
    held, drawn = run.trace.states[number].syringe, _drawn(run, number)
    if held is None or not drawn:
        return {}
    vials = [draw.vial for draw in drawn]
    keys = {fault for vial in vials for fault in label_faults(vial, run)}
    insulins = {vial.insulin for vial in vials}
    if (total and insulins != run.doses.keys()) or (not total and insulins != {run.clear}):
        keys.add("another insulin")
    if any(vial.condition != "good" for vial in vials):
        keys.add("a vial that looks wrong")
    if held.kind.per_ml != UNITS_PER_ML or held.kind.separate_needle:
        keys.add("another kind of syringe")
    if held.bubbles_ml * UNITS_PER_ML > run.tolerance:
        keys.add("a bubble")
    seen = {key: words for key, words in CHECK_SEES.items() if key in keys}
    ordered = sum(run.doses.values()) if total else run.doses[run.clear]
    if held.kind.per_ml == UNITS_PER_ML and abs(held.mark - ordered) > held.kind.step / 2:
        words = sentence("the plunger at {mark} instead of {ordered}")
        seen["another amount"] = words.filled(mark=round(held.mark, 2), ordered=ordered)
    return seen


def _told(seen: dict[str, Sentence]) -> Sentence:
    return joined(seen.values(), "; ")


def _last_check(run: Watched, before: int) -> int | None:
    """Return the last check of the syringe that counts before a step, if the plunger did not move after it."""
    moved = max((number for number in run.plunged if number < before), default=0)
    checks = (number for number, *_ in run.of_syringe(HaveChecked) if moved < number < before)
    return max(checks, default=None)


def _passed(run: Watched) -> Iterator[Spotted]:
    """Yield each check that let a syringe pass although something could be seen against it."""
    moments = [(run.mixed[0], False)] if run.mixed else []
    moments += [(run.given[0], True)] if run.given else []
    for before, total in moments:
        number = _last_check(run, before)
        if number and (seen := check_sees(run, number, total=total)):
            yield number, _told(seen), None
            return


def _said(run: Watched) -> Iterator[tuple[int, SayCheck, dict[str, Sentence]]]:
    for number, action, *_ in run.of(SayCheck):
        assert isinstance(action, SayCheck)
        yield number, action, check_sees(run, number, total=is_total_check(run, number))


def _said_pass(run: Watched) -> Iterator[Spotted]:
    yield from ((number, _told(seen), None) for number, said, seen in _said(run) if said.says == "pass" and seen)


def _said_stop(run: Watched) -> Iterator[Spotted]:
    for number, said, seen in _said(run):
        if said.says == "stop" and not seen:
            yield number, sentence("said: {said}", said=CHECK_SEES[said.sees]), None


def _misread(run: Watched) -> Iterator[Spotted]:
    """Yield what was read wrong: the mark, or the reason for a stop."""
    for number, said, seen in _said(run):
        held = run.trace.states[number].in_hand()
        if abs(said.mark - held.mark) > held.kind.step / 2:
            words = sentence("said: plunger at {said}; it stands at {mark}", said=said.mark, mark=round(held.mark, 2))
            yield number, words, None
        elif said.says == "stop" and seen and said.sees not in seen:
            yield (
                number,
                sentence("said: {said}; to be seen: {seen}", said=CHECK_SEES[said.sees], seen=_told(seen)),
                None,
            )


def _contradicts(run: Watched) -> Iterator[Spotted]:
    """Yield a syringe that was passed by a nurse who had just named a fault of it that is not there."""
    for number, said, seen in _said(run):
        if said.says == "pass" and not seen and said.sees != NOTHING_WRONG:
            yield number, sentence("said: {said}", said=CHECK_SEES[said.sees]), None


def _label_misjudged(run: Watched) -> Iterator[Spotted]:
    for number, action, before, _ in run.of(SayLabel):
        assert isinstance(action, SayLabel)
        faults = label_faults(before.vials[action.vial], run)
        if action.finds not in (faults or {MAY_BE_USED}):
            shown = joined([LABEL_FINDS[key] for key in LABEL_FINDS if key in (faults or {MAY_BE_USED})], "; ")
            words = sentence("{vial} vial: said “{said}”; the label shows: {shown}")
            said = LABEL_FINDS[action.finds]
            yield number, words.filled(vial=place_name(action.vial), said=said, shown=shown), None


def _either(*rules: Rule) -> Rule:
    return lambda run: (seen for rule in rules for seen in rule(run))


SAID: dict[str, Rule] = {
    "wrong-syringe-passed": _said_pass,
    "right-syringe-stopped": _said_stop,
    "check-misread": _either(_misread, _contradicts),
}
"""The rules about what a learner says as the second nurse."""

CHECKS: dict[str, Rule] = {
    "label-misjudged": _label_misjudged,
    **SAID,
    "wrong-syringe-passed": _either(_passed, _said_pass),
}
"""Each rule about what is said of labels and syringes, by the name of its finding."""
