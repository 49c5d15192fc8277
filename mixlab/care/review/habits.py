"""Rules about habits: hands, labels, stoppers, checks, caps, and a dose given in time."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import islice
from typing import TypeVar

from mixlab.care.bench.actions import Pierce
from mixlab.care.bench.bench import Action
from mixlab.care.bench.checking import LABEL_FINDS
from mixlab.care.bench.handling import (
    Cap,
    DiscardSyringe,
    Give,
    HaveChecked,
    LayDown,
    LookAt,
    ReadLabel,
    Roll,
    TakeSyringe,
)
from mixlab.care.bench.vessels import CONDITIONS, HANDS, place_name
from mixlab.care.dosing import longest_wait, opened_text
from mixlab.facts.reading import the_facts
from mixlab.quantities import rounded_beside
from mixlab.ward.insulin import insulins
from mixlab.words import counted, joined, sentence

from .label import DATES, label_faults
from .run_record import NO_SIZE, Pierced, Rule, Spotted, Watched, first_of, vial_text

_Seen = TypeVar("_Seen", bound=Pierced)


def _not_before(run: Watched, kind: type[Action]) -> Iterator[Spotted]:
    """Yield the first piercing of each vial that nobody had read, or looked at, before."""
    seen = set()
    for one in run.pierced:
        vial = (one.place, run.came(one.place, one.step))
        if vial not in seen and not run.done_to(kind, one.place, one.step):
            yield one.step, vial_text(one.place), None
        seen.add(vial)


def _unseen_milk(run: Watched) -> Iterator[Spotted]:
    """Look, after rolling and before drawing, whether a suspension is even."""
    for draw in run.draws:
        rolled = run.done_to(Roll, draw.place, draw.step)
        if draw.vial.suspension and rolled:
            if max(run.done_to(LookAt, draw.place, draw.step), default=0) < rolled[-1]:
                yield draw.step, NO_SIZE, None
            return


def _twice(run: Watched) -> Iterator[Spotted]:
    for number, *_ in islice(run.of(Give), 1, 2):
        yield number, sentence("in all: {amounts}", amounts=run.amounts(run.trace.last.given)), None


def _used_needle(run: Watched) -> Iterator[Spotted]:
    used = False
    for number, action, *_ in run.of(Give, Pierce, TakeSyringe):
        if used and isinstance(action, Pierce):
            yield number, vial_text(action.vial), None
            return
        used = isinstance(action, Give) or (used and not isinstance(action, TakeSyringe))


def _first_at_each_place(seen: Iterable[_Seen]) -> Iterable[_Seen]:
    first: dict[str, _Seen] = {}
    for one in seen:
        first.setdefault(one.place, one)
    return first.values()


def _spoiled(run: Watched) -> Iterator[Spotted]:
    for draw in _first_at_each_place(draw for draw in run.draws if draw.vial.condition != "good"):
        seen, place = CONDITIONS[draw.vial.condition], place_name(draw.place)
        yield draw.step, sentence("{vial} vial: {condition}", vial=place, condition=seen), None


def _past_date(run: Watched) -> Iterator[Spotted]:
    for draw in _first_at_each_place(draw for draw in run.draws if label_faults(draw.vial, run) & DATES):
        insulin, faults = insulins()[draw.vial.insulin], label_faults(draw.vial, run)
        words = sentence("the {vial} vial, {why}; once opened, {insulin} is kept for {days} here")
        why = joined([said for key, said in LABEL_FINDS.items() if key in faults & DATES])
        days, place = opened_text(insulin, run.site), place_name(draw.place)
        yield draw.step, words.filled(vial=place, why=why, insulin=insulin.name, days=days), None


def _not_wiped(run: Watched) -> Iterator[Spotted]:
    least = the_facts().technique["wipe_s"].value
    for one in _first_at_each_place(one for one in run.pierced if one.vial.wiped_s < least):
        words = counted(
            one.vial.wiped_s,
            "the {vial} vial, wiped for {count} second",
            "the {vial} vial, wiped for {count} seconds",
            vial=place_name(one.place),
            count=one.vial.wiped_s,
        )
        yield one.step, words if one.vial.wiped_s else vial_text(one.place), None


def _not_dry(run: Watched) -> Iterator[Spotted]:
    for one in _first_at_each_place(one for one in run.pierced if one.vial.wet):
        yield one.step, vial_text(one.place), None


def _clear_check(run: Watched) -> Iterator[Spotted]:
    if run.site.second_check.value != "each draw" or not run.mixed:
        return
    moved = max((number for number in run.plunged if number < run.mixed[0]), default=0)
    if not any(moved < number < run.mixed[0] for number, *_ in run.of(HaveChecked)):
        yield run.mixed[0], NO_SIZE, None


def _total_check(run: Watched) -> Iterator[Spotted]:
    if run.site.second_check.value == "none" or not run.given:
        return
    if not any(run.last_step < number < run.given[0] for number, *_ in run.of(HaveChecked)):
        yield run.given[0], NO_SIZE, None


def is_rapid(run: Watched) -> bool:
    """Say whether the clear insulin of the order is a rapid-acting one."""
    return run.order.clear.insulin.row.group == "rapid-acting"


def _waited(run: Watched) -> Iterator[Spotted]:
    if run.mixed and run.given:
        minutes = (run.given[1].clock_s - run.mixed[1].clock_s) / 60
        most = longest_wait(run.order.clear.insulin, run.site).value
        if minutes > most:
            said = rounded_beside(minutes, most, 0)
            waited = counted(
                said,
                "{count} minute; the ward allows {most}",
                "{count} minutes; the ward allows {most}",
                count=said,
                most=most,
            )
            yield run.given[0], waited, None


def _unlabeled(run: Watched) -> Iterator[Spotted]:
    laid = ((number, before.syringe) for number, _, before, _ in run.of(LayDown))
    return first_of(number for number, held in laid if held and held.barrel.ml and not held.labeled)


def _caps(run: Watched) -> Iterator[tuple[int, str, bool]]:
    """Yield each capping: its step, with how many hands, and whether the needle had been in a patient."""
    used = False
    for number, action, *_ in run.of(Give, TakeSyringe, Cap):
        if isinstance(action, Cap):
            yield number, action.hands, used
        used = isinstance(action, Give) or (used and isinstance(action, Cap))


def _capped(run: Watched) -> Iterator[Spotted]:
    if run.site.recapping.value == "never":
        yield from ((number, NO_SIZE, None) for number, hands, used in _caps(run) if hands == "one hand" and not used)


def _sharps(run: Watched) -> Iterator[Spotted]:
    if run.given and not any(number > run.given[0] for number, *_ in run.of(DiscardSyringe)):
        yield len(run.trace), NO_SIZE, None


HABITS: dict[str, Rule] = {
    "hands-not-cleaned": lambda run: first_of(at for at, _, before, _ in run.of(Pierce) if not before.hands_clean),
    "gloves-missing": lambda run: first_of(
        at for at, _, before, _ in run.of(Pierce) if run.site.gloves.value == "required" and not before.gloved
    ),
    "label-not-read": lambda run: _not_before(run, ReadLabel),
    "vial-not-looked-at": lambda run: _not_before(run, LookAt),
    "not-looked-at-after-rolling": _unseen_milk,
    "given-twice": _twice,
    "used-needle-in-vial": _used_needle,
    "stopper-not-wiped": _not_wiped,
    "stopper-not-dry": _not_dry,
    "spoiled-vial": _spoiled,
    "past-date": _past_date,
    "clear-not-checked": _clear_check,
    "total-not-checked": _total_check,
    "waited-too-long": lambda run: () if is_rapid(run) else _waited(run),
    "rapid-mixture-waited": lambda run: _waited(run) if is_rapid(run) else (),
    "laid-down-unlabeled": _unlabeled,
    "needle-touched": lambda run: first_of(at for at, _, before, _ in run.of(Pierce, Give) if before.in_hand().touched),
    "used-needle-capped": lambda run: ((at, HANDS[hands], None) for at, hands, used in _caps(run) if used),
    "recapped-with-two-hands": lambda run: (
        (at, NO_SIZE, None) for at, hands, used in _caps(run) if hands == "two hands" and not used
    ),
    "capped-against-policy": _capped,
    "not-in-the-sharps-box": _sharps,
    "unfinished": lambda run: first_of(() if run.given else (len(run.trace),)),
}
"""Each rule by the name of its finding."""
