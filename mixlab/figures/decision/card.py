"""The decision as a card: a word, a shape of its own, the reasons and what to do next."""

from __future__ import annotations

import textwrap
from typing import NamedTuple

import numpy as np
from matplotlib.path import Path
from numpy.typing import NDArray

from mixlab.care.decision.answers import Choice
from mixlab.care.decision.deciding import Decision
from mixlab.facts.decision_rows import Sign
from mixlab.figures import style
from mixlab.figures.sites.fitting import wrap
from mixlab.figures.style import Moving, Sheet, Size, Touched, corners, wrapped
from mixlab.words import joined, plural, say

WIDTH, HEIGHT = 480, 186
_REASONS, _STEPS, _LINES = 2, 3, 7
_ROOM = WIDTH - 14 - 10
"""How wide a line may be, in points."""


class _Sign(NamedTuple):
    """The look of one answer: color of its edge, number of corners of its shape, what stands in it, and how far it is turned."""

    color: str
    corners: int
    mark: str
    turned: float = 0


_SIGNS: dict[Choice | Sign, _Sign] = {
    "emergency": _Sign(style.EMERGENCY, 12, "!!"),
    "hold and treat": _Sign(style.WARNING, 8, "!"),
    "check first": _Sign(style.INK, 3, "?"),
    "hold and ask": _Sign(style.ASK, 6, "‖"),
    "look and ask": _Sign(style.LOOK, 5, "…"),
    "near low": _Sign(style.NEAR_LOW, 3, "↓", np.pi),
    "high": _Sign(style.HIGH, 4, "↑", np.pi / 4),
    "give and report": _Sign(style.REPORT, 4, "»"),
    "give": _Sign(style.GO, 40, "✓"),
}
"""Each sign has a shape, a mark and a color of its own: two of the three are enough to tell it from every other."""


_CAPITAL = 0.7
"""The mean width of a bold capital letter, of its height."""


def outline_of(sign: Choice | Sign) -> NDArray[np.float64]:
    """Return the corners of a sign's shape, in points about its middle."""
    look = _SIGNS[sign]
    corners_at = np.asarray(Path.unit_regular_polygon(look.corners).vertices)[:-1] * 22
    along, across = np.cos(look.turned), np.sin(look.turned)
    return np.asarray(corners_at @ np.array([[along, across], [-across, along]]))


def mark_of(sign: Choice | Sign) -> tuple[str, str]:
    """Return what stands in the shape of a sign, and its color."""
    return _SIGNS[sign].mark, _SIGNS[sign].color


class AnswerSign:
    """The answer itself: a shape of its own with a mark in it, the word beside, and the edge of the sheet in its color."""

    def __init__(self, sheet: Sheet, gid: str, x: float, y: float) -> None:
        self._at, title = (x, y), sheet.size.title
        width, height = sheet.figure.get_size_inches() * 72
        self._edge = sheet.shape(gid, corners(2, 2, width - 4, height - 4), fc="white", lw=3, zorder=0)
        self._shape = sheet.shape("answer-shape", fc="white", lw=3)
        self._mark = sheet.text("answer-mark", x, y, fontsize=title * 1.4, ha="center", fontweight="bold")
        self._word = sheet.text("answer-word", x + 32, y + 10, fontsize=title * 1.45, fontweight="bold")
        self._largest, self._room = title * 1.45, width - x - 32 - 14

    def show(self, moving: Moving, decision: Decision) -> None:
        """Turn to another answer."""
        sign = _SIGNS[decision.sign]
        moving.set(self._edge, edgecolor=sign.color)
        moving.set(self._shape, xy=outline_of(decision.sign) + self._at, edgecolor=sign.color)
        moving.set(self._mark, text=sign.mark, color=sign.color)
        words = str(decision.headline).upper()
        size = min(self._largest, self._room / (len(words) * _CAPITAL))  # a long answer stays on the card
        moving.set(self._word, text=words, color=sign.color, fontsize=size)


class CardFigure(Sheet):
    """The drawn card; `show` turns it to another decision."""

    def __init__(self, size: Size) -> None:
        super().__init__(WIDTH, HEIGHT, size)
        self._answer = AnswerSign(self, "card-edge", 34, HEIGHT - 33)
        self._reading = self.text("card-reading", 66, HEIGHT - 45, fontsize=size.words)
        self._lines = [self.text(f"card-line-{at}", 14, HEIGHT - 66 - at * 15.5) for at in range(_LINES)]
        self.caution(WIDTH - 10)

    def show(self, decision: Decision) -> Touched:
        """Turn the card to this decision and return the artists that were touched."""
        moving = self.moving()
        self._answer.show(moving, decision)
        moving.set(self._reading, text=say("glucose: {reading}", reading=decision.reading))
        moving.write(self._lines, _lines(decision, self.size))
        return moving.touched


def at_once_lines(decision: Decision, room: float, size: float) -> list[str]:
    """Return what is done at once, each on a line of its own; only a ward's own long word takes a second one."""
    return [line for step in decision.at_once for line in wrap(f"• {step}", room, size)]


def _lines(decision: Decision, size: Size) -> list[str]:
    """Return the words of the card: what is done at once first, and whole, or the reasons and then the steps."""
    letters = round(WIDTH / (size.small * 0.6))
    if not decision.at_once:
        return _reasons_and_steps(decision, letters)
    lines = at_once_lines(decision, _ROOM, size.small)
    lines += wrapped(say("Because: {reason}", reason=decision.because[0].text), letters, _LINES - len(lines))
    return [*lines, say("Every step stands in the text below.")][:_LINES]


def _reasons_and_steps(decision: Decision, letters: int) -> list[str]:
    """Return reasons and steps, wrapped; what does not fit is counted and stands in the text below the card."""
    lines: list[str] = []
    for at, reason in enumerate(decision.because[:_REASONS]):
        words = say("Because: {reason}", reason=reason.text) if at == 0 else say("Also: {reason}", reason=reason.text)
        lines += textwrap.wrap(words, letters)
    left = len(decision.next_steps)
    for at, step in enumerate(decision.next_steps[:_STEPS], 1):
        block = textwrap.wrap(f"{at}. {step}", letters)
        if len(lines) + len(block) >= _LINES:
            break
        lines += block
        left -= 1
    if left:
        lines.append(
            plural(left, "… {left} more step in the text below.", "… {left} more steps in the text below.", left=left)
        )
    return lines[:_LINES]


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
    numbers = joined(decision.numbers, "; ") if decision.numbers else ""
    told = say(
        "Decision: {choice}. Glucose: {reading}. Because: {because} Next: {steps}{numbers}",
        choice=decision.headline,
        reading=decision.reading,
        because=" ".join(f"{str(reason).removesuffix('.')}." for reason in decision.because),
        steps=" ".join(f"{at}. {step}" for at, step in enumerate(decision.next_steps, 1)),
        numbers=say(" Numbers in the steps: {numbers}.", numbers=numbers) if numbers else "",
    )
    return f"{told} {say(style.CAUTION)}"
