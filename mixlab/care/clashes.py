"""What does not fit together in the day of a mixed dose."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ..facts.shelf import shelf
from ..quantities import ClockTime, minutes_text
from .action import ActionCurves, felt_spell
from .day import Day
from .moments import Acting, Clash, Window, say


def clashes(
    day: Day,
    mixed: ClockTime,
    acting: tuple[Acting, Acting],
    rounds: Sequence[ClockTime],
    curves: ActionCurves | None,
) -> Iterator[Clash]:
    """Yield every clash: of what was given, of the dose's time, of meals, and of the rounds with tray and peaks.

    Parameters
    ----------
    day : Day
        The dose and its meals.
    mixed : ClockTime
        When mixing was done.
    acting : tuple of two Acting
        The clear and the cloudy insulin.
    rounds : sequence of ClockTime
        When somebody is due.
    curves : ActionCurves or None
        What is under the skin, and what makes it faster.
    """
    if curves:
        yield from _injection(day, curves)
    yield from _dose(day, mixed)
    yield from _own_meal(day)
    yield from _later_meals(day, acting)
    after = [at for at in rounds if at > day.given]
    yield from _tray(day, after)
    for one in acting:
        yield from _nobody(one, after)


def _injection(day: Day, curves: ActionCurves) -> Iterator[Clash]:
    if curves.injection.words != "as ordered":
        yield _clash("not as ordered", day.given, "clash-not-as-ordered", words=curves.injection.words)
    spell = curves.spell
    if spell and felt_spell(spell, curves.injection.clear, curves.body_site):
        start, end = (day.given.later(minutes) for minutes in (spell.start_minutes, spell.end_minutes))
        yield _clash(
            "acts sooner", start, "clash-acts-sooner",
            what=spell.row.name, when=Window(start=start, end=end), clear=day.order.clear.insulin,
        )  # fmt: skip


def _dose(day: Day, mixed: ClockTime) -> Iterator[Clash]:
    late, limit = (0 if day.due is None else day.due.until(day.given)), shelf().day["late_minutes"].value
    if late > limit:
        yield _clash("given late", day.given, "clash-given-late", minutes=minutes_text(late), due=day.due)
    elif -late > limit:
        yield _clash("given early", day.given, "clash-given-early", minutes=minutes_text(-late), due=day.due)
    elif day.far and day.own:
        early = minutes_text(day.given.until(day.own.at))
        due = f"for {day.own.meal.name} at {day.own.at}"
        yield _clash("given early", day.given, "clash-given-early", minutes=early, due=due)
    waited, most = mixed.until(day.given), day.site.waiting.value
    if waited > most:
        yield _clash(
            "waited", day.given, "clash-waited", mixed=mixed.face, injected=day.given, limit=minutes_text(most)
        )


def _own_meal(day: Day) -> Iterator[Clash]:
    own, eat, clear = day.own, day.eat, day.order.clear.insulin
    if own is None:
        within = minutes_text(shelf().day["meal_for_minutes"].value)
        yield _clash(
            "no meal", day.given, "clash-no-meal", minutes=within, clear=clear, cloudy=day.order.cloudy.insulin
        )
    elif not own.meal.eaten:
        yield _clash("meal not eaten", own.at, "clash-meal-not-eaten", meal=own.meal.name, clear=clear)
    elif eat and not eat.holds(own.at):
        how = "soon" if own.at < eat.start else "late"
        yield _clash(
            f"meal too {how}", own.at, f"clash-meal-too-{how}",
            meal=own.meal.name, served=own.at, minutes=minutes_text(day.given.until(own.at)),
            clear=clear, lead=day.lead_text, start=eat.start, end=eat.end,
        )  # fmt: skip


def _later_meals(day: Day, acting: tuple[Acting, Acting]) -> Iterator[Clash]:
    """Yield each later meal that is not eaten, or late, while an insulin is taught to act."""
    for planned in day.placed:
        usual = day.given.next(day.usual(planned.meal))
        late = usual.until(planned.at)
        if planned is day.own or (planned.meal.eaten and late <= shelf().day["late_minutes"].value):
            continue
        since = min(usual, planned.at)
        who = [one.dose.insulin.name for one in acting if one.may_act_at(since) or one.may_act_at(planned.at)]
        if not who:
            continue
        words = {
            "meal": planned.meal.name,
            "served": planned.at,
            "acting": f"{' and '.join(who)} {'are' if len(who) > 1 else 'is'}",
        }
        if planned.meal.eaten:
            minutes = minutes_text(late)
            yield _clash("later meal late", planned.at, "clash-later-meal-late", minutes=minutes, usual=usual, **words)
        else:
            yield _clash("later meal not eaten", planned.at, "clash-later-meal-not-eaten", **words)


def _tray(day: Day, rounds: Sequence[ClockTime]) -> Iterator[Clash]:
    """Yield that nobody is due about the time at which the dose's own meal comes."""
    room = day.site.meal_slack.value
    if day.own and day.eat and not any(abs(day.own.at.until(at)) <= room for at in rounds):
        yield _clash(
            "nobody at the tray", day.own.at, "clash-nobody-at-tray", meal=day.own.meal.name, served=day.own.at
        )


def _nobody(one: Acting, rounds: Sequence[ClockTime]) -> Iterator[Clash]:
    """Yield that nobody is due while an insulin is taught to be strongest.

    Of the clear insulin somebody must come in the first hour of it. A single time has some minutes of room on both sides.
    """
    peak = one.strongest
    if peak is None:
        return
    start, end = peak.start, peak.end
    if one.dose.insulin.look == "clear":
        end = min(end, start.later(shelf().day["clear_first_minutes"].value))
    room = shelf().day["peak_room_minutes"].value if start == end else 0
    if any(start.later(-room) <= at <= end.later(room) for at in rounds):
        return
    before = max((at for at in rounds if at < start), default=None)
    after = min((at for at in rounds if at > end), default=None)
    near = [f"the round before it is at {before}"] if before else []
    near += [f"the next one {'after it ' * bool(before)}is at {after}"] if after else []
    yield _clash(
        "nobody at peak", start, "clash-nobody-at-peak",
        insulin=one.dose.insulin, when=peak, rounds=", ".join(near) or "no round is set",
    )  # fmt: skip


def _clash(key: str, at: ClockTime, rule: str, **words: object) -> Clash:
    sentence, row = say(rule, **words)
    return Clash(key=key, at=at, say=sentence, rule=row)
