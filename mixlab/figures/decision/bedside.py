"""The decision at the bedside: the reading on the site's line, what else was found, the answer, and what changed it."""

from __future__ import annotations

import math
import textwrap
from dataclasses import dataclass
from typing import Any

from matplotlib.artist import Artist
from matplotlib.figure import Figure
from matplotlib.patches import Polygon, Rectangle

from mixlab.care.decision.answers import Reason, answer_text
from mixlab.care.decision.deciding import Decision
from mixlab.figures import style
from mixlab.figures.style import Moving, Size, Touched, corners, named, sheet, write
from mixlab.quantities import Glucose, figures_text, number_text
from mixlab.ward.observation import Observation
from mixlab.ward.order.order import Order
from mixlab.ward.site.record import Site
from mixlab.words import joined, plural, say, sentence

from .card import AnswerSign, describe_card, edge_colour
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


class BedsideFigure:
    """The drawn decision; `show` turns it to another one."""

    def __init__(self, size: Size) -> None:
        self.figure: Figure
        self.figure, axes = sheet(WIDTH, HEIGHT)
        self._size = size
        self._site: Site | None = None
        self._shown: dict[Artist, dict[str, Any]] = {}
        self._edge = named(Rectangle((2, 2), WIDTH - 4, HEIGHT - 4, fc="white", lw=3), "edge")
        axes.add_patch(self._edge)
        self._title = write(axes, 14, HEIGHT - 15, "", size.words, "site", fontweight="bold")
        self._line = NumberLine(axes, 24, WIDTH - 24, _AT["line"], size)
        self._found = [write(axes, 14, _AT["found"] - at * _LINE, "", size.small, f"found-{at}") for at in range(2)]
        self._answer = AnswerSign(axes, 38, _AT["answer"], size)
        self._before = write(axes, 70, _AT["answer"] - 13, "", size.small, "before")
        self._lines = []
        for at in range(_LINES):
            bar = named(Polygon(corners(0, 0, 0, 0), fc=style.WARNING, ec="none"), f"bar-{at}")
            axes.add_patch(bar)
            self._lines.append((bar, write(axes, 20, _AT["lines"] - at * _LINE, "", size.small, f"words-{at}")))
        write(
            axes, WIDTH - 12, 12, say("Teaching only. {Prescriber}'s order, local policy and licensed practice come first."),
            size.small * 0.95, ha="right",
        )  # fmt: skip

    def show(self, seen: Seen) -> Touched:
        """Turn to another decision and return the artists that were touched."""
        moving = Moving(self._shown)
        decision = seen.decision
        if seen.site != self._site:
            self._line.show_site(moving, seen.site)
            self._site = seen.site
        moving.set(self._title, text=say("{site}, in {measure}", site=seen.site.name, measure=seen.site.glucose_unit))
        moving.set(self._edge, edgecolor=edge_colour(decision.choice))
        self._line.show_reading(moving, _place(seen), decision.allowance, reading_words(seen))
        letters = int((WIDTH - 40) / (self._size.small * _LETTER))
        found = textwrap.wrap(found_words(seen.observation), letters, max_lines=2, placeholder=" …")
        for text, words in zip(self._found, [*found, ""], strict=False):
            moving.set(text, text=words)
        self._answer.show(moving, decision.choice)
        moving.set(self._before, text=change_words(seen))
        lines = _reason_lines(seen, letters)
        lines += [(words, False, False) for words in _step_lines(decision, letters, _LINES - len(lines))]
        for at, (bar, text) in enumerate(self._lines):
            words, is_new, is_gone = lines[at] if at < len(lines) else ("", False, False)
            y = _AT["lines"] - at * _LINE
            moving.set(text, text=words, color=style.FAINT if is_gone else style.INK)
            moving.set(bar, xy=corners(10, y - _LINE / 2, 5, _LINE) if is_new else ((0, 0),))
        return moving.touched


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
    age = found.minutes_old
    when = (
        say("of unknown age")
        if age is None
        else say("just taken")
        if age == 0
        else say("very old")
        if math.isinf(age)
        else say("{age} min old", age=number_text(round(age)))
    )
    meal = {None: say("not known"), True: say("eating"), False: say("not eating")}[found.eating]
    extra = [
        word
        for word, told in (
            (say("vomiting"), found.vomiting),
            (say("fasting for a test"), found.fasting),
            (say("the meal is late"), found.meal_late),
        )
        if told
    ]
    gap = found.hours_since_dose
    parts = [
        say("Reading {when}", when=when) if found.glucose is not None else "",
        say("Signs of a low: {signs}", signs=signs),
        say("Meal: {meal}", meal=", ".join([meal, *extra])),
        say("Alertness: nobody has looked") if found.alertness is None else say(_ALERTNESS[found.alertness]),
        {True: say("Swallows safely"), False: say("Cannot swallow safely"), None: ""}[found.can_swallow],
        say("Last dose: not known")
        if gap is None
        else ""
        if math.isinf(gap)
        else say("Last dose: {gap} h ago", gap=number_text(round(gap, 1))),
        say("Earlier readings: {readings}", readings=", ".join(str(one.glucose) for one in found.earlier))
        if found.earlier
        else "",
        say("State new or changed") if found.changed else "",
        say("{Prescriber} told, and says give") if found.prescriber_says_give else "",
    ]
    return " · ".join(part for part in parts if part)


def change_words(seen: Seen) -> str:
    """Return how the last change turned the answer."""
    if seen.before is None:
        return ""
    if seen.before.choice != seen.decision.choice:
        return say("before the last change: {choice}", choice=str(answer_text(seen.before.choice)).upper())
    return say("the last change did not turn the answer") if seen.new or seen.gone else ""


def _reason_lines(seen: Seen, letters: int) -> list[tuple[str, bool, bool]]:
    """Return the lines of the reasons, each with whether it is new and whether it is gone; what has no room is counted."""
    first, *others = [
        (
            textwrap.wrap(
                say("NEW: {reason}", reason=reason.text) if reason.key in seen.new else str(reason.text), letters
            ),
            reason.key in seen.new,
            False,
        )
        for reason in seen.decision.because
    ]
    # What fell silent stands next to what decides now: together they are the rule that turned the answer.
    gone = [
        (textwrap.wrap(say("No longer: {reason}", reason=reason.text), letters), False, True) for reason in seen.gone
    ]
    blocks = [first, *gone[:1], *others, *gone[1:]]
    lines: list[tuple[str, bool, bool]] = []
    for at, (words, is_new, is_gone) in enumerate(blocks):
        left = len(blocks) - at
        if len(lines) + len(words) > _REASONS - (left > 1):
            return [*lines, (say("… {left} more in the list.", left=left), False, False)]
        lines += [(word, is_new, is_gone) for word in words]
    return lines


def _step_lines(decision: Decision, letters: int, room: int) -> list[str]:
    """Return the first steps that have room, and how many stand only in the list."""
    lines: list[str] = []
    steps = [
        textwrap.wrap(say("Next: {number}. {step}", number=at, step=step) if at == 1 else f"{at}. {step}", letters)
        for at, step in enumerate(decision.next_steps, 1)
    ]
    for at, step in enumerate(steps):
        left = len(steps) - at
        if len(lines) + len(step) > room - (left > 1):
            return [
                *lines,
                plural(left, "… {left} more step in the list.", "… {left} more steps in the list.", left=left),
            ]
        lines += step
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
    decision, site = seen.decision, seen.site
    changed = change_words(seen)
    if changed:
        new = "; ".join(str(reason.text) for reason in decision.because if reason.key in seen.new)
        gone = "; ".join(str(reason.text) for reason in seen.gone)
        changed = (
            f"{changed[0].upper()}{changed[1:]}. "
            + (say("New: {new} ", new=new) if new else "")
            + (say("No longer: {gone} ", gone=gone) if gone else "")
        )
    parts = [
        say(
            "At {site}: {changed}{decision}",
            site=site.name,
            changed=changed,
            decision=describe_card(decision),
        ),
        say("Found: {found}.", found=found_words(seen.observation)),
        say("Tell: {tell}", tell=joined(decision.tell, " ")) if decision.tell else "",
        say("To be given later: {give_when}", give_when=joined(decision.give_when, " ")) if decision.give_when else "",
        say(
            "The meter: {reading} ({rule}).",
            reading=reading_words(seen),
            rule=decision.allowance_rule,
        )
        if decision.allowance
        else "",
    ]
    return " ".join(part for part in parts if part)
