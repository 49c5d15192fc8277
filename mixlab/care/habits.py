"""Rules about habits: hands, labels, stoppers, checks, caps, and a dose given in time."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from ..facts.shelf import shelf
from ..quantities import UNITS_PER_ML, number_text
from .actions import (
    Cap,
    DiscardSyringe,
    Give,
    HaveChecked,
    LayDown,
    LookAt,
    Pierce,
    ReadLabel,
    Roll,
    TakeSyringe,
)
from .bench import Action
from .watched import Seen, Watched, say_units


def _hands(run: Watched) -> Iterator[Seen]:
    for number, _, before, _ in run.of(Pierce):
        if not before.hands_clean:
            yield number, "", None
            return


def _gloves(run: Watched) -> Iterator[Seen]:
    if run.site.gloves.value == "required":
        yield from ((number, "", None) for number, _, _, bench in run.pierced[:1] if not bench.gloved)


def _not_before(kind: type[Action], run: Watched) -> Iterator[Seen]:
    for number, place, _, _ in run.pierced:
        done = [
            step for step, action, _, _ in run.steps if type(action) is kind and getattr(action, "vial", "") == place
        ]
        if not any(step < number for step in done):
            yield number, f"the {place} vial", None


def _label(run: Watched) -> Iterator[Seen]:
    yield from _not_before(ReadLabel, run)


def _look(run: Watched) -> Iterator[Seen]:
    yield from _not_before(LookAt, run)


def _unseen_milk(run: Watched) -> Iterator[Seen]:
    """Look, after rolling and before drawing, whether a suspension is even."""
    for draw in run.draws:
        done = [(number, type(action)) for number, action, *_ in run.steps if getattr(action, "vial", "") == draw.place]
        rolled = [number for number, kind in done if kind is Roll and number < draw.step]
        if draw.vial.suspension and rolled:
            if not any(kind is LookAt and rolled[-1] < number < draw.step for number, kind in done):
                yield draw.step, "", None
            return


def _twice(run: Watched) -> Iterator[Seen]:
    more = [(number, before) for number, _, before, _ in run.of(Give)][1:]
    if more:
        number, before = more[0]
        yield number, f"{say_units(before.in_hand().barrel.ml * UNITS_PER_ML)} more", None


def _used_needle(run: Watched) -> Iterator[Seen]:
    used = False
    for number, action, *_ in run.of(Give, Pierce, TakeSyringe):
        if used and isinstance(action, Pierce):
            yield number, f"the {action.vial} vial", None
            return
        used = isinstance(action, Give) or (used and not isinstance(action, TakeSyringe))


def _spoiled(run: Watched) -> Iterator[Seen]:
    seen = {draw.place: draw for draw in reversed(run.draws) if draw.vial.condition != "good"}
    yield from ((draw.step, f"{draw.place} vial: {draw.vial.condition}", None) for draw in seen.values())


def _past_date(run: Watched) -> Iterator[Seen]:
    seen = {draw.place: draw for draw in reversed(run.draws) if draw.vial.past_date}
    yield from ((draw.step, f"the {draw.place} vial", None) for draw in seen.values())


def _not_wiped(run: Watched) -> Iterator[Seen]:
    least = shelf().technique["wipe_s"].value
    for number, place, vial, _ in run.pierced:
        if vial.wiped_s < least:
            how = f", wiped for {number_text(vial.wiped_s)} seconds" if vial.wiped_s else ""
            yield number, f"the {place} vial{how}", None


def _not_dry(run: Watched) -> Iterator[Seen]:
    yield from ((number, f"the {place} vial", None) for number, place, vial, _ in run.pierced if vial.wet)


def _clear_check(run: Watched) -> Iterator[Seen]:
    if run.site.second_check.value != "each draw" or not run.mixed:
        return
    first = min(draw.step for draw in run.draws)
    if not any(first < number < run.mixed[0] for number, *_ in run.of(HaveChecked)):
        yield run.mixed[0], "", None


def _total_check(run: Watched) -> Iterator[Seen]:
    if run.site.second_check.value == "none" or not run.given:
        return
    if not any(run.last_step < number < run.given[0] for number, *_ in run.of(HaveChecked)):
        yield run.given[0], "", None


def _waited(run: Watched) -> Iterator[Seen]:
    if run.mixed and run.given:
        minutes = (run.given[1].clock_s - run.mixed[1].clock_s) / 60
        if minutes > run.site.waiting.value:
            yield run.given[0], f"{minutes:.0f} minutes; the ward allows {number_text(run.site.waiting.value)}", None


def _unlabelled(run: Watched) -> Iterator[Seen]:
    for number, _, before, _ in run.of(LayDown):
        if before.syringe and before.syringe.barrel.ml and not before.syringe.labelled:
            yield number, "", None
            return


def _touched(run: Watched) -> Iterator[Seen]:
    for number, _, before, _ in run.of(Pierce, Give):
        if before.in_hand().touched:
            yield number, "", None
            return


def _two_hands(run: Watched) -> Iterator[Seen]:
    yield from (
        (number, "", None) for number, action, _, _ in run.of(Cap) if getattr(action, "hands", "") == "two hands"
    )


def _capped(run: Watched) -> Iterator[Seen]:
    if run.site.recapping.value == "never":
        yield from (
            (number, "", None) for number, action, _, _ in run.of(Cap) if getattr(action, "hands", "") == "one hand"
        )


def _sharps(run: Watched) -> Iterator[Seen]:
    if run.given and not any(number > run.given[0] for number, *_ in run.of(DiscardSyringe)):
        yield len(run.trace), "", None


def _unfinished(run: Watched) -> Iterator[Seen]:
    if not run.given:
        yield len(run.trace), "", None


HABITS: dict[str, Callable[[Watched], Iterator[Seen]]] = {
    "hands-not-cleaned": _hands,
    "gloves-missing": _gloves,
    "label-not-read": _label,
    "vial-not-looked-at": _look,
    "not-looked-at-after-rolling": _unseen_milk,
    "given-twice": _twice,
    "used-needle-in-vial": _used_needle,
    "stopper-not-wiped": _not_wiped,
    "stopper-not-dry": _not_dry,
    "spoiled-vial": _spoiled,
    "past-date": _past_date,
    "clear-not-checked": _clear_check,
    "total-not-checked": _total_check,
    "waited-too-long": _waited,
    "laid-down-unlabelled": _unlabelled,
    "needle-touched": _touched,
    "recapped-with-two-hands": _two_hands,
    "capped-against-policy": _capped,
    "not-in-the-sharps-box": _sharps,
    "unfinished": _unfinished,
}
"""Each rule by the name of its finding."""
