"""Rules about habits: hands, labels, stoppers, checks, caps, and a dose given in time."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

from mixlab.care.bench.actions import Pierce
from mixlab.care.bench.bench import Action
from mixlab.care.bench.getting_ready import HaveChecked, LookAt, ReadLabel, Roll
from mixlab.care.bench.handling import Cap, DiscardSyringe, Give, LayDown, TakeSyringe
from mixlab.care.bench.vessels import CONDITIONS, HANDS, place_name
from mixlab.care.dosing import opened_text
from mixlab.facts.shelf import shelf
from mixlab.quantities import UNITS_PER_ML, rounded_beside
from mixlab.ward.insulin import insulins
from mixlab.words import Sentence, counted, sentence

from .run_record import NO_SIZE, Spotted, Watched, rounded_units


def _hands(run: Watched) -> Iterator[Spotted]:
    for number, _, before, _ in run.of(Pierce):
        if not before.hands_clean:
            yield number, NO_SIZE, None
            return


def _gloves(run: Watched) -> Iterator[Spotted]:
    if run.site.gloves.value == "required":
        first = next(run.of(Pierce), None)
        if first and not first[2].gloved:
            yield first[0], NO_SIZE, None


def _not_before(kind: type[Action], run: Watched) -> Iterator[Spotted]:
    """Yield the first piercing of each vial that nobody had read, or looked at, before."""
    seen = set()
    for number, place, _ in run.pierced:
        vial = (place, run.came(place, number))
        if vial not in seen and not run.done_to(kind, place, number):
            yield number, sentence("the {vial} vial", vial=place_name(place)), None
        seen.add(vial)


def _label(run: Watched) -> Iterator[Spotted]:
    yield from _not_before(ReadLabel, run)


def _look(run: Watched) -> Iterator[Spotted]:
    yield from _not_before(LookAt, run)


def _unseen_milk(run: Watched) -> Iterator[Spotted]:
    """Look, after rolling and before drawing, whether a suspension is even."""
    for draw in run.draws:
        rolled = run.done_to(Roll, draw.place, draw.step)
        if draw.vial.suspension and rolled:
            if max(run.done_to(LookAt, draw.place, draw.step), default=0) < rolled[-1]:
                yield draw.step, NO_SIZE, None
            return


def _twice(run: Watched) -> Iterator[Spotted]:
    more = [(number, before) for number, _, before, _ in run.of(Give)][1:]
    if more:
        number, before = more[0]
        yield number, sentence("{amount} more", amount=rounded_units(before.in_hand().barrel.ml * UNITS_PER_ML)), None


def _used_needle(run: Watched) -> Iterator[Spotted]:
    used = False
    for number, action, *_ in run.of(Give, Pierce, TakeSyringe):
        if used and isinstance(action, Pierce):
            yield number, sentence("the {vial} vial", vial=place_name(action.vial)), None
            return
        used = isinstance(action, Give) or (used and not isinstance(action, TakeSyringe))


def _spoiled(run: Watched) -> Iterator[Spotted]:
    seen = {draw.place: draw for draw in reversed(run.draws) if draw.vial.condition != "good"}
    yield from (
        (
            draw.step,
            sentence(
                "{vial} vial: {condition}", vial=place_name(draw.place), condition=CONDITIONS[draw.vial.condition]
            ),
            None,
        )
        for draw in seen.values()
    )


def _past_date(run: Watched) -> Iterator[Spotted]:
    seen = {draw.place: draw for draw in reversed(run.draws) if draw.vial.past_date}
    for draw in seen.values():
        insulin = insulins()[draw.vial.insulin]
        yield (
            draw.step,
            sentence(
                "the {vial} vial; once opened, {insulin} is kept for {days} here",
                vial=place_name(draw.place),
                insulin=insulin.name,
                days=opened_text(insulin, run.site),
            ),
            None,
        )


def _first_of_each(seen: Iterable[tuple[int, str, Sentence]]) -> Iterator[Spotted]:
    """Yield of several findings at one place only the first."""
    places = set()
    for number, place, words in seen:
        if place not in places:
            yield number, words, None
        places.add(place)


def _not_wiped(run: Watched) -> Iterator[Spotted]:
    least = shelf().technique["wipe_s"].value
    yield from _first_of_each(
        (number, place, _wiped(place, vial.wiped_s)) for number, place, vial in run.pierced if vial.wiped_s < least
    )


def _wiped(place: str, seconds: float) -> Sentence:
    if not seconds:
        return sentence("the {vial} vial", vial=place_name(place))
    return counted(
        seconds,
        "the {vial} vial, wiped for {count} second",
        "the {vial} vial, wiped for {count} seconds",
        vial=place_name(place),
        count=seconds,
    )


def _not_dry(run: Watched) -> Iterator[Spotted]:
    yield from _first_of_each(
        (number, place, sentence("the {vial} vial", vial=place_name(place)))
        for number, place, vial in run.pierced
        if vial.wet
    )


def _clear_check(run: Watched) -> Iterator[Spotted]:
    if run.site.second_check.value != "each draw" or not run.mixed:
        return
    moved = max((number for number, _ in run.plunged if number < run.mixed[0]), default=0)
    if not any(moved < number < run.mixed[0] for number, *_ in run.of(HaveChecked)):
        yield run.mixed[0], NO_SIZE, None


def _total_check(run: Watched) -> Iterator[Spotted]:
    if run.site.second_check.value == "none" or not run.given:
        return
    if not any(run.last_step < number < run.given[0] for number, *_ in run.of(HaveChecked)):
        yield run.given[0], NO_SIZE, None


def _waited(run: Watched) -> Iterator[Spotted]:
    if run.mixed and run.given:
        minutes = (run.given[1].clock_s - run.mixed[1].clock_s) / 60
        if minutes > run.site.waiting.value:
            said = rounded_beside(minutes, run.site.waiting.value, 0)
            waited = counted(
                said,
                "{count} minute; the ward allows {most}",
                "{count} minutes; the ward allows {most}",
                count=said,
                most=run.site.waiting.value,
            )
            yield run.given[0], waited, None


def _unlabelled(run: Watched) -> Iterator[Spotted]:
    for number, _, before, _ in run.of(LayDown):
        if before.syringe and before.syringe.barrel.ml and not before.syringe.labelled:
            yield number, NO_SIZE, None
            return


def _touched(run: Watched) -> Iterator[Spotted]:
    for number, _, before, _ in run.of(Pierce, Give):
        if before.in_hand().touched:
            yield number, NO_SIZE, None
            return


def _caps(run: Watched) -> Iterator[tuple[int, str, bool]]:
    """Yield each capping: its step, with how many hands, and whether the needle had been in a patient."""
    used = False
    for number, action, *_ in run.of(Give, TakeSyringe, Cap):
        if isinstance(action, Cap):
            yield number, action.hands, used
        used = isinstance(action, Give) or (used and isinstance(action, Cap))


def _used_capped(run: Watched) -> Iterator[Spotted]:
    yield from ((number, HANDS[hands], None) for number, hands, used in _caps(run) if used)


def _two_hands(run: Watched) -> Iterator[Spotted]:
    yield from ((number, NO_SIZE, None) for number, hands, used in _caps(run) if hands == "two hands" and not used)


def _capped(run: Watched) -> Iterator[Spotted]:
    if run.site.recapping.value == "never":
        yield from ((number, NO_SIZE, None) for number, hands, used in _caps(run) if hands == "one hand" and not used)


def _sharps(run: Watched) -> Iterator[Spotted]:
    if run.given and not any(number > run.given[0] for number, *_ in run.of(DiscardSyringe)):
        yield len(run.trace), NO_SIZE, None


def _unfinished(run: Watched) -> Iterator[Spotted]:
    if not run.given:
        yield len(run.trace), NO_SIZE, None


HABITS: dict[str, Callable[[Watched], Iterator[Spotted]]] = {
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
    "laid-down-unlabeled": _unlabelled,
    "needle-touched": _touched,
    "used-needle-capped": _used_capped,
    "recapped-with-two-hands": _two_hands,
    "capped-against-policy": _capped,
    "not-in-the-sharps-box": _sharps,
    "unfinished": _unfinished,
}
"""Each rule by the name of its finding."""
