"""What does not fit together in the day of a mixed dose."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ..facts.shelf import shelf
from ..quantities import ClockTime, minutes_text
from .day import Day
from .moments import Acting, Clash, say


def clashes(day: Day, mixed: ClockTime, clear: Acting, cloudy: Acting, rounds: Sequence[ClockTime]) -> Iterator[Clash]:
    """Yield every clash of meals, of the dose's own times, and of the rounds with the taught peaks."""
    yield from _own_meal(day)
    yield from _later_meals(day, clear, cloudy)
    yield from _dose(day, mixed)
    for one in (clear, cloudy):
        yield from _nobody(one, [at for at in rounds if at > day.given])


def _own_meal(day: Day) -> Iterator[Clash]:
    own, eat, clear = day.own, day.eat, day.order.clear.insulin
    if own is None or eat is None:
        within = minutes_text(shelf().day["meal_for_minutes"].value)
        yield _clash("no meal", day.given, "clash-no-meal", minutes=within, clear=clear)
        return
    name, at = own.meal.name, own.at
    if not own.meal.eaten:
        yield _clash("meal not eaten", at, "clash-meal-not-eaten", meal=name, clear=clear)
    elif not eat.holds(at):
        soon = at < eat.start
        yield _clash(
            f"meal too {'soon' if soon else 'late'}",
            at,
            f"clash-meal-too-{'soon' if soon else 'late'}",
            meal=name,
            served=at,
            minutes=minutes_text(day.given.until(at)),
            clear=clear,
            lead=day.lead_text,
            start=eat.start,
            end=eat.end,
        )


def _later_meals(day: Day, clear: Acting, cloudy: Acting) -> Iterator[Clash]:
    for planned in day.placed:
        if planned is day.own or planned.meal.eaten:
            continue
        acting = [one.dose.insulin.name for one in (clear, cloudy) if one.may_act_at(planned.at)]
        if acting:
            who = f"{' and '.join(acting)} {'are' if len(acting) > 1 else 'is'}"
            yield _clash(
                "later meal not eaten", planned.at, "clash-later-meal-not-eaten",
                meal=planned.meal.name, served=planned.at, acting=who,
            )  # fmt: skip


def _dose(day: Day, mixed: ClockTime) -> Iterator[Clash]:
    late = None if day.due is None else day.due.until(day.given)
    if late is not None and late > shelf().day["late_minutes"].value:
        yield _clash("given late", day.given, "clash-given-late", minutes=minutes_text(late), due=day.due)
    if late is not None and day.order.clock and -late > shelf().day["late_minutes"].value:
        yield _clash("given early", day.given, "clash-given-early", minutes=minutes_text(-late), due=day.due)
    waited, limit = mixed.until(day.given), day.site.waiting.value
    if waited > limit:
        yield _clash(
            "waited", day.given, "clash-waited",
            mixed=mixed.face, minutes=minutes_text(waited), limit=minutes_text(limit),
        )  # fmt: skip


def _nobody(one: Acting, rounds: Sequence[ClockTime]) -> Iterator[Clash]:
    """Yield that nobody is due while an insulin is taught to be strongest, an hour about it included."""
    peak, room = one.strongest, shelf().day["peak_room_minutes"].value
    if peak is None or any(peak.start.later(-room) <= at <= peak.end.later(room) for at in rounds):
        return
    before = max((at for at in rounds if at < peak.start), default=None)
    after = min((at for at in rounds if at > peak.end), default=None)
    near = [f"the round before it is at {before}"] if before else []
    near += [f"the next one {'after it ' * bool(before)}is at {after}"] if after else []
    yield _clash(
        "nobody at peak", peak.start, "clash-nobody-at-peak",
        insulin=one.dose.insulin, when=peak, rounds=", ".join(near) or "no round is set",
    )  # fmt: skip


def _clash(key: str, at: ClockTime, rule: str, **words: object) -> Clash:
    sentence, row = say(rule, **words)
    return Clash(key=key, at=at, say=sentence, rule=row)
