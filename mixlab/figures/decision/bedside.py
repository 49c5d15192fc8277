"""The decision at the bedside: the reading on the site's line, what else was found, the answer, and what changed it."""

from __future__ import annotations

import math
import textwrap
from dataclasses import dataclass
from itertools import chain

from mixlab.care.decision.answers import Reason, answer_text
from mixlab.care.decision.deciding import Decision
from mixlab.figures import style
from mixlab.figures.style import NOWHERE, Sheet, Size, Touched, corners, having_room, wrapped
from mixlab.quantities import Glucose, figures_text, number_text
from mixlab.ward.observation import Observation
from mixlab.ward.order.order import Order
from mixlab.ward.site.record import Site
from mixlab.words import joined, plural, say, sentence

from .card import AnswerSign, at_once_lines, describe_card
from .number_line import HIGHEST, LOWEST, NumberLine

WIDTH, HEIGHT = 620, 432
_LINES, _REASONS, _LINE = 12, 5, 15.5
_LETTER = 0.57  # the mean width of a letter, of the height
_ALERTNESS = {"awake": sentence("Awake"), "drowsy": sentence("Drowsy"), "unresponsive": sentence("Unresponsive")}
_AT = {"line": 341, "found": 287, "answer": 239, "lines": 203}


@dataclass(frozen=True, kw_only=True)
class Seen:
    """One site's answer about one patient, and the answer before the last change (None at first)."""

    order: Order
    observation: Observation
    site: Site
    decision: Decision
    before: Decision | None = None

    @property
    def new(self) -> tuple[str, ...]:
        """The rules, by key, that speak now and did not before the last change."""
        if self.before is None:
            return ()
        old = {reason.key for reason in self.before.because}
        return tuple(reason.key for reason in self.decision.because if reason.key not in old)

    @property
    def gone(self) -> tuple[Reason, ...]:
        """The reasons that spoke before the last change and no longer do."""
        if self.before is None:
            return ()
        now = {reason.key for reason in self.decision.because}
        return tuple(reason for reason in self.before.because if reason.key not in now)


class BedsideFigure(Sheet):
    """The drawn decision; `show` turns it to another one."""

    def __init__(self, size: Size) -> None:
        super().__init__(WIDTH, HEIGHT, size)
        self._site: Site | None = None
        self._title = self.text("site", 14, HEIGHT - 15, fontsize=size.words, fontweight="bold")
        self._line = NumberLine(self, 24, WIDTH - 24, _AT["line"])
        self._found = [self.text(f"found-{at}", 14, _AT["found"] - at * _LINE) for at in range(2)]
        self._answer = AnswerSign(self, "edge", 38, _AT["answer"])
        self._before = self.text("before", 70, _AT["answer"] - 13)
        self._bars = [self.shape(f"bar-{at}", fc=style.WARNING) for at in range(_LINES)]
        self._lines = [self.text(f"words-{at}", 20, _AT["lines"] - at * _LINE) for at in range(_LINES)]
        self.caution(WIDTH - 12)

    def show(self, seen: Seen) -> Touched:
        """Turn to another decision and return the artists that were touched."""
        moving = self.moving()
        decision = seen.decision
        if seen.site != self._site:
            self._line.show_site(moving, seen.site)
            self._site = seen.site
        moving.set(self._title, text=say("{site}, in {measure}", site=seen.site.name, measure=seen.site.glucose_unit))
        self._line.show_reading(moving, _place(seen), decision.allowance, reading_words(seen))
        letters = int((WIDTH - 40) / (self.size.small * _LETTER))
        moving.write(self._found, wrapped(found_words(seen.observation), letters, 2))
        self._answer.show(moving, decision)
        moving.set(self._before, text=change_words(seen))
        lines = _reason_lines(seen, letters)
        lines += self._at_once(decision) or [
            (words, "") for words in _step_lines(decision, letters, _LINES - len(lines))
        ]
        lines += [("", "")] * (_LINES - len(lines))
        for at, (bar, text, (words, kind)) in enumerate(zip(self._bars, self._lines, lines, strict=True)):
            size = self.size.words if kind == "at once" else self.size.small
            moving.set(text, text=words, color=style.FAINT if kind == "gone" else style.INK, fontsize=size)
            place = corners(10, _AT["lines"] - at * _LINE - _LINE / 2, 5, _LINE)
            moving.set(bar, xy=place if kind == "new" else NOWHERE)
        return moving.touched

    def _at_once(self, decision: Decision) -> list[tuple[str, str]]:
        """Return what is done at once, whole and in larger letters; nothing where that is not so."""
        lines = [(words, "at once") for words in at_once_lines(decision, WIDTH - 40, self.size.words)]
        return [*lines, (say("Every step stands in the list."), "")] if lines else []


def _place(seen: Seen) -> Glucose | None:
    glucose = seen.observation.glucose
    if isinstance(glucose, Glucose) or glucose is None:
        return glucose
    return LOWEST if glucose == "LO" else HIGHEST


def reading_words(seen: Seen) -> str:
    """Return the reading in words: as shown, as compared in the site's unit, and what the meter is allowed to be off."""
    glucose, decision = seen.observation.glucose, seen.decision
    if not isinstance(glucose, Glucose):
        return str(decision.reading)
    words = str(glucose)
    compared = glucose.to(seen.site.hold_line.unit)
    if compared.unit != glucose.unit:
        words += say(", compared as {compared}", compared=compared)
    if decision.allowance is not None:
        low, high = decision.allowance
        words += say("; a meter may be off: {low} to {high}", low=figures_text(str(low.shown())), high=high)
    return words


def found_words(found: Observation) -> str:
    """Return what was found besides the reading, in one line of words."""
    if found.signs is None:
        signs = say("nobody has looked")
    else:
        signs = ", ".join(say(sign.replace("-", " ")) for sign in found.signs) or say("none seen")
    meal = {None: say("not known"), True: say("eating"), False: say("not eating")}[found.eating]
    extra = {
        say("vomiting"): found.vomiting,
        say("fasting for a test"): found.fasting,
        say("the meal is late"): found.meal_late,
    }
    gap = found.hours_since_dose
    parts = [
        "" if found.glucose is None else say("Reading {when}", when=_age_words(found.minutes_old)),
        say("Signs of a low: {signs}", signs=signs),
        say("Meal: {meal}", meal=", ".join([meal, *(words for words, told in extra.items() if told)])),
        say("Alertness: nobody has looked") if found.alertness is None else say(_ALERTNESS[found.alertness]),
        {True: say("Swallows safely"), False: say("Cannot swallow safely"), None: ""}[found.can_swallow],
    ]
    if gap is None:
        parts.append(say("Last dose: not known"))
    elif math.isfinite(gap):
        parts.append(say("Last dose: {gap} h ago", gap=number_text(round(gap, 1))))
    if found.earlier:
        readings = ", ".join(str(one.glucose) for one in found.earlier)
        parts.append(say("Earlier readings: {readings}", readings=readings))
    parts.append(say("State new or changed") if found.changed else "")
    parts.append(say("{Prescriber} told, and says give") if found.prescriber_says_give else "")
    return " · ".join(filter(None, parts))


def _age_words(minutes: float | None) -> str:
    if minutes is None:
        return say("of unknown age")
    if minutes == 0:
        return say("just taken")
    return say("very old") if math.isinf(minutes) else say("{age} min old", age=number_text(round(minutes)))


def change_words(seen: Seen) -> str:
    """Return how the last change turned the answer."""
    if seen.before is None:
        return ""
    if seen.before.choice != seen.decision.choice:
        return say("before the last change: {choice}", choice=str(answer_text(seen.before.choice)).upper())
    return say("the last change did not turn the answer") if seen.new or seen.gone else ""


def _reason_lines(seen: Seen, letters: int) -> list[tuple[str, str]]:
    """Return the lines of the reasons, each with whether it is "new", "gone" or neither; what has no room is counted."""
    first, *others = [
        (say("NEW: {reason}", reason=one.text), "new") if one.key in seen.new else (str(one.text), "")
        for one in seen.decision.because
    ]
    # What fell silent stands next to what decides now: together they are the rule that turned the answer.
    gone = [(say("No longer: {reason}", reason=one.text), "gone") for one in seen.gone]
    told = [first, *gone[:1], *others, *gone[1:]]
    blocks = [[(line, kind) for line in textwrap.wrap(words, letters)] for words, kind in told]
    shown = having_room(blocks, _REASONS)
    lines = list(chain(*blocks[:shown]))
    if left := len(blocks) - shown:
        lines.append((say("… {left} more in the list.", left=left), ""))
    return lines


def _step_lines(decision: Decision, letters: int, room: int) -> list[str]:
    """Return the first steps that have room, and how many stand only in the list."""
    steps = [
        textwrap.wrap(say("Next: {number}. {step}", number=at, step=step) if at == 1 else f"{at}. {step}", letters)
        for at, step in enumerate(decision.next_steps, 1)
    ]
    shown = having_room(steps, room)
    lines = list(chain(*steps[:shown]))
    if left := len(steps) - shown:
        lines.append(plural(left, "… {left} more step in the list.", "… {left} more steps in the list.", left=left))
    return lines


def draw_bedside(seen: Seen, size: Size = style.PAGE) -> BedsideFigure:
    """Draw a decision with the line of readings, what was found, and what changed it.

    Parameters
    ----------
    seen : Seen
        A decision of :func:`mixlab.decide` with what it was made from.
    size : Size
        `PAGE` or `ROOM`.
    """
    drawn = BedsideFigure(size)
    drawn.show(seen)
    return drawn


def describe_bedside(seen: Seen) -> str:
    """Return everything the picture shows in words, and every step."""
    decision, changed = seen.decision, change_words(seen)
    if changed:
        changed = f"{changed[0].upper()}{changed[1:]}. "
        if seen.new:
            new = (str(reason.text) for reason in decision.because if reason.key in seen.new)
            changed += say("New: {new} ", new="; ".join(new))
        if seen.gone:
            changed += say("No longer: {gone} ", gone="; ".join(str(reason.text) for reason in seen.gone))
    told = describe_card(decision)
    parts = [
        say("At {site}: {changed}{decision}", site=seen.site.name, changed=changed, decision=told),
        say("Found: {found}.", found=found_words(seen.observation)),
    ]
    if decision.tell:
        parts.append(say("Tell: {tell}", tell=joined(decision.tell, " ")))
    if decision.give_when:
        parts.append(say("To be given later: {give_when}", give_when=joined(decision.give_when, " ")))
    if decision.allowance:
        rule = decision.allowance_rule
        parts.append(say("The meter: {reading} ({rule}).", reading=reading_words(seen), rule=rule))
    return " ".join(parts)
