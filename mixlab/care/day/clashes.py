"""What does not fit together in the day of a mixed dose."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from mixlab.care.action.curves import ActionCurves, felt_spell
from mixlab.care.action.injection import Portion
from mixlab.care.dosing import longest_wait
from mixlab.care.review.wrong_dose import judge_given
from mixlab.facts.reading import the_facts
from mixlab.facts.records import Fact
from mixlab.quantities import MINUTES_A_DAY, ClockTime, minutes_text
from mixlab.ward.order.order import Dose
from mixlab.words import Sentence, counted, joined, sentence

from .dose_day import Day
from .parts import Acting, Clash, Window, day_rule


def find_clashes(
    day: Day,
    mixed: ClockTime,
    acting: tuple[Acting, Acting],
    looks: Sequence[ClockTime],
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
    looks : sequence of ClockTime
        When to measure because the cloudy insulin is taught to be strongest, and for nothing else.
    rounds : sequence of ClockTime
        When somebody is due.
    curves : ActionCurves or None
        What is under the skin, and what makes it faster.
    """
    if curves:
        yield from _injection(day, acting, curves)
    yield from _dose(day, mixed, curves)
    yield from _own_meal(day)
    yield from _later_meals(day, acting)
    yield from _tray(day, rounds)
    later = [at for at in rounds if at > day.given]
    yield from _nobody(day, acting[0], (), later)
    yield from _nobody(day, acting[1], looks, later)


def _injection(day: Day, acting: tuple[Acting, Acting], curves: ActionCurves) -> Iterator[Clash]:
    clear, cloudy = (one.dose.insulin for one in acting)
    if curves.injection.slipped:
        rule = "clash-spoiled-vial" if curves.injection.spoiled else "clash-not-as-ordered"
        words = {"words": curves.injection.words, "clear": clear, "cloudy": cloudy, "given": _given(day, curves)}
        yield _clash(sentence("not as ordered"), day.given, rule, **words)
    spell = curves.spell
    if spell is None:
        return
    when = Window(start=day.given.later(spell.start_minutes), end=day.given.later(spell.end_minutes))
    if felt_spell(spell, curves.injection.clear, curves.body_site) and acting[0].may_act_in(when):
        sooner = sentence("acts sooner")
        yield _clash(sooner, when.start, "clash-acts-sooner", what=spell.row.name, when=when, clear=clear)
    who = _who(acting, when)
    if spell.row.uses_glucose and who:
        yield _clash(sentence("exercise"), when.start, "clash-exercise", what=spell.row.name, when=when, acting=who)


def _given(day: Day, curves: ActionCurves | None) -> Sentence:
    """Return what to do once this dose is in and something was wrong with it.

    Cloudy insulin in the clear vial changes no amount that anybody has measured. No syringe is known here: an insulin is right
    up to half a line of the finest one in stock.
    """
    portions: tuple[Portion | Dose, ...] = day.order.doses
    if curves and not curves.injection.spoiled:
        portions = (curves.injection.clear, curves.injection.cloudy)
    given = {one.insulin.key: float(one.units) for one in portions}
    finest = min(syringe.graduation_units for syringe in day.site.stock)
    return judge_given(day.order, given, float(finest) / 2, day.site).in_a_breath


def _who(acting: tuple[Acting, Acting], when: Window) -> Sentence:
    """Return which insulins may act in a window, with their verb: ``"NPH insulin is"``; empty for none."""
    names = [one.dose.insulin.name for one in acting if one.may_act_in(when)]
    insulins = joined(names, sentence(" and "))
    return counted(len(names), "{insulins} is", "{insulins} are", insulins=insulins) if names else Sentence("")


def _dose(day: Day, mixed: ClockTime, curves: ActionCurves | None) -> Iterator[Clash]:
    facts = the_facts().day
    limit, near = facts["late_minutes"], facts["meal_for_minutes"]
    late = 0 if day.due is None else day.due.until(day.given)
    if late > limit.value:
        words = {"minutes": minutes_text(late), "due": day.due, "injected": day.given}
        yield _clash(sentence("given late"), day.given, "clash-given-late", limit, **words)
    elif -late > limit.value:
        early = minutes_text(-late)
        yield _clash(sentence("given early"), day.given, "clash-given-early", limit, minutes=early, due=day.due)
    elif day.far and day.own:
        early = minutes_text(day.given.until(day.own.at))
        due = sentence("for {meal} at {served}", meal=day.own.name, served=day.own.at)
        yield _clash(sentence("given early"), day.given, "clash-given-early", near, minutes=early, due=due)
    waited, most = mixed.until(day.given), longest_wait(day.order.clear.insulin, day.site)
    if waited > most.value:
        told: dict[str, object] = {"mixed": mixed.face, "injected": day.given, "longest": minutes_text(most.value)}
        told["given"] = _given(day, curves)
        yield _clash(sentence("waited"), day.given, "clash-waited", most, **told)


def _own_meal(day: Day) -> Iterator[Clash]:
    own, eat, clear = day.own, day.eat, day.order.clear.insulin
    low, high, lead = day.lead
    if day.ordered_lead is not None and not low <= day.ordered_lead <= high:
        words = {"ordered": day.order.when, "clear": clear, "lead": day.lead_text}
        yield _clash(sentence("order's time"), day.given, "clash-order-time", lead, **words)
    if own is None:
        near = the_facts().day["meal_for_minutes"]
        words = {"minutes": minutes_text(near.value), "clear": clear, "cloudy": day.order.cloudy.insulin}
        yield _clash(sentence("no meal"), day.given, "clash-no-meal", near, **words)
    elif not own.meal.eaten:
        yield _clash(sentence("meal not eaten"), own.at, "clash-meal-not-eaten", meal=own.name, clear=clear)
    elif eat and not eat.holds(own.at):
        limits = (lead, day.site.meal_slack) if lead is day.site.meal_lead else (lead,)
        told: dict[str, object] = {"meal": own.name, "served": own.at, "minutes": minutes_text(day.given.until(own.at))}
        told |= {"clear": clear, "lead": day.lead_text, "start": eat.start, "end": eat.end}
        if own.at < eat.start:
            yield _clash(sentence("meal too soon"), own.at, "clash-meal-too-soon", *limits, **told)
        else:
            yield _clash(sentence("meal too late"), day.given, "clash-meal-too-late", *limits, **told)


def _later_meals(day: Day, acting: tuple[Acting, Acting]) -> Iterator[Clash]:
    """Yield each later meal that is not eaten, or late, while an insulin is taught to act."""
    limit = the_facts().day["late_meal_minutes"]
    for planned in day.placed:
        usual = day.given.next(day.usual(planned.meal))
        late = usual.until(planned.at)
        if planned is day.own or (planned.meal.eaten and not limit.value < late <= MINUTES_A_DAY // 2):
            continue
        hungry = Window(start=min(usual, planned.at), end=planned.at)
        words = {"meal": planned.name, "served": planned.at, "acting": _who(acting, hungry)}
        if not words["acting"]:
            continue
        if planned.meal.eaten:
            minutes = minutes_text(late)
            yield _clash(sentence("later meal late"), usual, "clash-later-meal-late", limit, minutes=minutes, **words)
        else:
            yield _clash(sentence("later meal not eaten"), planned.at, "clash-later-meal-not-eaten", **words)


def _tray(day: Day, rounds: Sequence[ClockTime]) -> Iterator[Clash]:
    """Yield that nobody is due about the time at which the dose's own meal comes; who injects then is there."""
    own, room = day.own, day.site.meal_slack
    if own and day.eat and not any(abs(own.at.until(at)) <= room.value for at in rounds):
        yield _clash(sentence("nobody at the tray"), own.at, "clash-nobody-at-tray", room, meal=own.name, served=own.at)


def _nobody(day: Day, one: Acting, looks: Sequence[ClockTime], rounds: Sequence[ClockTime]) -> Iterator[Clash]:
    """Yield that nobody is due while an insulin is taught to be strongest, or at a look in these hours.

    Of the clear insulin somebody must come in the first hour of it. A single time has some minutes of room on both sides. In
    hours of sleep only a round after bedtime counts: the patient goes to bed well, and nobody sees the rest.
    """
    peak, facts = one.strongest, the_facts().day
    if peak is None:
        return
    first, room = facts["clear_first_minutes"], facts["peak_room_minutes"]
    limits: tuple[Fact, ...] = ()
    if one.dose.insulin.look == "clear" and peak.start.until(peak.end) > first.value:
        peak, limits = Window(start=peak.start, end=peak.start.later(first.value)), (first,)
    for when in (peak, *(Window(start=at, end=at) for at in looks)):
        about = room.value if when.start == when.end else 0
        if not _somebody(day, when, rounds, about):
            yield _nobody_then(one, when, rounds, *((room,) if about else limits))
            if when is peak:
                return  # the looks lie in it


def _somebody(day: Day, when: Window, rounds: Sequence[ClockTime], about: float) -> bool:
    """Say whether a round comes in a window, or so many minutes about it."""
    asleep = day.sleeps_in(when)
    counted = [at for at in rounds if not asleep or (day.asleep(at) and at.face != day.bedtime.face)]
    return any(when.start.later(-about) <= at <= when.end.later(about) for at in counted)


def _nobody_then(one: Acting, when: Window, rounds: Sequence[ClockTime], *limits: Fact) -> Clash:
    before = max((at for at in rounds if at < when.start), default=None)
    after = min((at for at in rounds if at > when.end), default=None)
    near = [sentence("the round before it is at {before}", before=before)] if before else []
    if after:
        next_one = sentence("the next one after it is at {after}") if before else sentence("the next one is at {after}")
        near.append(next_one.filled(after=after))
    due = joined(near) or sentence("no round is set")
    words = {"insulin": one.dose.insulin.name, "when": when, "rounds": due}
    return _clash(sentence("nobody at peak"), when.start, "clash-nobody-at-peak", *limits, **words)


def _clash(name: Sentence, at: ClockTime, rule: str, *limits: Fact, **words: object) -> Clash:
    what, row = day_rule(rule, **words)
    return Clash(key=name.key, at=at, say=what, rule=row, limits=limits)
