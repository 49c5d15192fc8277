"""The decision as a card: a word, a shape of its own, the reasons and what to do next."""

from __future__ import annotations

import textwrap
from dataclasses import dataclass
from typing import Any

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Polygon, Rectangle
from matplotlib.path import Path

from mixlab.care.decision.answers import Choice, answer_text
from mixlab.care.decision.deciding import Decision
from mixlab.figures import style
from mixlab.figures.style import Moving, Size, Touched, named, sheet, write
from mixlab.words import joined, plural, say, sentence

WIDTH, HEIGHT = 480, 186
_REASONS, _STEPS = 2, 3


@dataclass(frozen=True, kw_only=True)
class _Sign:
    """The look of one answer: colour of its edge, number of corners of its shape, and what stands in it."""

    colour: str
    corners: int
    mark: str


_CAUTION = sentence("Teaching only. {Prescriber}'s order, local policy and licensed practice come first.")
_SIGNS: dict[Choice, _Sign] = {
    "give": _Sign(colour=style.GO, corners=40, mark="✓"),
    "give and report": _Sign(colour=style.GO, corners=4, mark="✓"),
    "hold and ask": _Sign(colour=style.INK, corners=6, mark="?"),
    "check first": _Sign(colour=style.INK, corners=3, mark="?"),
    "hold and treat": _Sign(colour=style.WARNING, corners=8, mark="!"),
}


class AnswerSign:
    """The answer itself: a shape of its own with a mark in it, and the word beside."""

    def __init__(self, axes: Axes, x: float, y: float, size: Size) -> None:
        self._at = (x, y)
        self._shape = named(Polygon([(0, 0)], closed=True, fc="white", lw=3), "answer-shape")
        axes.add_patch(self._shape)
        self._mark = write(axes, x, y, "", size.title * 1.4, "answer-mark", ha="center", fontweight="bold")
        self._word = write(axes, x + 32, y + 10, "", size.title * 1.45, "answer-word", fontweight="bold")

    def show(self, moving: Moving, choice: Choice) -> None:
        """Turn to another answer."""
        sign = _SIGNS[choice]
        outline = np.asarray(Path.unit_regular_polygon(sign.corners).vertices)[:-1] * 22 + self._at
        moving.set(self._shape, xy=outline, edgecolor=sign.colour)
        moving.set(self._mark, text=sign.mark, color=sign.colour)
        moving.set(self._word, text=str(answer_text(choice)).upper(), color=sign.colour)


def edge_colour(choice: Choice) -> str:
    """Return the colour of an answer's edge."""
    return _SIGNS[choice].colour


class CardFigure:
    """The drawn card; `show` turns it to another decision."""

    def __init__(self, size: Size) -> None:
        self.figure: Figure
        self.figure, axes = sheet(WIDTH, HEIGHT)
        self._size = size
        self._shown: dict[Artist, dict[str, Any]] = {}
        self._edge = named(Rectangle((2, 2), WIDTH - 4, HEIGHT - 4, fc="white", lw=3), "card-edge")
        axes.add_patch(self._edge)
        self._answer = AnswerSign(axes, 34, HEIGHT - 33, size)
        self._reading = write(axes, 66, HEIGHT - 45, "", size.words, "card-reading")
        self._lines = [write(axes, 14, HEIGHT - 66 - at * 15.5, "", size.small, f"card-line-{at}") for at in range(7)]
        write(axes, WIDTH - 10, 12, say(_CAUTION), size.small * 0.95, ha="right")

    def show(self, decision: Decision) -> Touched:
        """Turn the card to this decision and return the artists that were touched."""
        moving = Moving(self._shown)
        moving.set(self._edge, edgecolor=edge_colour(decision.choice))
        self._answer.show(moving, decision.choice)
        moving.set(self._reading, text=say("glucose: {reading}", reading=decision.reading))
        lines = _lines(decision, round(WIDTH / (self._size.small * 0.6)))
        for text, line in zip(self._lines, [*lines, *[""] * len(self._lines)], strict=False):
            moving.set(text, text=line)
        return moving.touched


def _lines(decision: Decision, letters: int) -> list[str]:
    """Return the words of the card, wrapped; what does not fit is counted and stands in the text below the card."""
    lines: list[str] = []
    for at, reason in enumerate(decision.because[:_REASONS]):
        words = say("Because: {reason}", reason=reason.text) if at == 0 else say("Also: {reason}", reason=reason.text)
        lines += textwrap.wrap(words, letters)
    room = 7 - len(lines)
    steps = [textwrap.wrap(f"{at}. {step}", letters) for at, step in enumerate(decision.next_steps, 1)]
    for step in steps[:_STEPS]:
        if len(step) > room - 1:
            break
        lines += step
        room -= len(step)
    shown = sum(line[:1].isdigit() and line[1:3] == ". " for line in lines)
    left = len(steps) - shown
    if left:
        lines.append(
            plural(left, "… {left} more step in the text below.", "… {left} more steps in the text below.", left=left)
        )
    return lines[:7]


def draw_card(decision: Decision, size: Size = style.PAGE) -> CardFigure:
    """Draw a decision as a card.

    Parameters
    ----------
    decision : Decision
        From :func:`mixlab.decide`.
    size : Size
        `PAGE` or `ROOM`.
    """
    drawn = CardFigure(size)
    drawn.show(decision)
    return drawn


def describe_card(decision: Decision) -> str:
    """Return the whole decision in words: the answer, every reason with its rule, every next step."""
    because = " ".join(f"{reason}." if not str(reason).endswith(".") else str(reason) for reason in decision.because)
    steps = " ".join(f"{at}. {step}" for at, step in enumerate(decision.next_steps, 1))
    numbers = (
        say(" Numbers in the steps: {numbers}.", numbers=joined(decision.numbers, "; ")) if decision.numbers else ""
    )
    told = say(
        "Decision: {choice}. Glucose: {reading}. Because: {because} Next: {steps}{numbers}",
        choice=answer_text(decision.choice),
        reading=decision.reading,
        because=because,
        steps=steps,
        numbers=numbers,
    )
    return f"{told} {say(_CAUTION)}"
