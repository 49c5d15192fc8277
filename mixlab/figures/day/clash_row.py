"""The row of the day picture that says what does not fit: a line at each time, with letters and short names beside it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Any

import numpy as np

from mixlab.care.day.parts import Clash
from mixlab.figures import style
from mixlab.figures.style import Moving, strokes
from mixlab.words import say

from .clock_line import LEFT, PAPER, SIDE, STRIP, Board, Label, Stretch, at_time, labels_beside, take_lane
from .day_words import NOT_ORDERED, NOTHING_FOUND, DaySeen, clash_rows

LANES = (414, 399, 384)
_MOST = 16
_WHOLE, _SHORT, _BARE, _LETTERS, _LINE_ONLY = range(5)  # ever less of what could be said

Placed = tuple[int, Label]


@dataclass(frozen=True, kw_only=True)
class Saying:
    """One way to name the clashes of one time.

    Attributes
    ----------
    loss : tuple of two int
        How much it leaves out; then how few stand on a line of their own. The smaller, the better.
    lines : tuple of list of Label
        Each line, with the places it can stand at.
    """

    loss: tuple[int, int]
    lines: tuple[list[Label], ...]

    def meets(self, other: Saying) -> bool:
        """Say whether some line of it could stand in the way of one of another."""
        spans = [[label.reach for line in said.lines for label in line] for said in (self, other)]
        return any(low <= end and start <= high for low, high in spans[0] for start, end in spans[1])


class ClashRow:
    """The drawn row; `show` moves it to another day. Clashes at one time stand one below the other, as far as there is room."""

    def __init__(self, board: Board) -> None:
        self._size = board.size.words
        looks: dict[str, Any] = {"color": style.WARNING, "fontweight": "bold", **PAPER}
        self._lines = board.line("clash-lines", color=style.WARNING, lw=1.6, ls=":", zorder=1.4)
        self._head = board.head(LANES[0], "", "clash-head")
        self._calm = [board.text(f"clash-none-{at}", SIDE, LANES[at]) for at in (1, 2)]
        self._names = [board.text(f"clash-{at}", 0, 0, fontsize=self._size, **looks) for at in range(_MOST)]

    def show(self, moving: Moving, seen: DaySeen) -> bool:
        """Move the row to a day, and return whether some clash found no room for its letter."""
        plan = seen.plan
        moving.set(self._head, text=say("does not fit") if plan.clashes else say("nothing found"))
        moving.write(self._calm, () if plan.clashes else say(NOTHING_FOUND).splitlines())
        letters = [row[0] for row in clash_rows(plan)]
        times = groupby(zip(letters, plan.clashes[:_MOST], strict=False), lambda one: at_time(plan, one[1].at))
        groups = [(x, list(these)) for x, these in times]
        placed = _fitted([list(self._sayings(seen, x, these)) for x, these in groups])
        tops = [max((LANES[lane] for lane, _ in lines), default=LANES[-1]) - 7 for lines in placed]
        moving.set(self._lines, data=strokes([x for x, _ in groups], STRIP[0], STRIP[0] - np.array(tops)))
        labels = [one for lines in placed for one in lines]
        moving.hide(*self._names[len(labels) :])
        for text, (lane, label) in zip(self._names, labels, strict=False):
            moving.set(text, text=label.words, position=(label.x, LANES[lane]), ha=label.side)
        return len(plan.clashes) > _MOST or not all(placed)

    def _sayings(self, seen: DaySeen, x: float, these: Sequence[tuple[str, Clash]]) -> Iterator[Saying]:
        """Yield the ways to name the clashes of one time that the sheet is wide enough for, the fullest first."""
        slip = seen.curves.injection.words if seen.curves else ""
        whole, short, bare = (
            [f"{letter}: {slip_words if clash.key == NOT_ORDERED else say(clash.key)}" for letter, clash in these]
            for slip_words in (say("not as ordered: {slip}", slip=slip), slip, say(NOT_ORDERED))
        )
        kinds = {_WHOLE: whole, _SHORT: short, _BARE: bare} if short != bare else {_WHOLE: bare}
        first = range(len(these) - 1, -1, -1)  # how many stand on a line of their own, before one for all the others
        ways = [
            ((loss, -alone), [*said[:alone], "; ".join(said[alone:])])
            for loss, said in kinds.items()
            for alone in first
        ]
        ways.append(((_LETTERS, 0), [" ".join(letter for letter, _ in these)]))
        for loss, words in ways:
            lines = tuple(
                [label for label in labels_beside(f"! {line}", x, -3, self._size) if label.reach[0] >= LEFT]
                for line in words
            )
            if all(lines):
                yield Saying(loss=loss, lines=lines)
        yield Saying(loss=(_LINE_ONLY, 0), lines=())


def _fitted(groups: Sequence[Sequence[Saying]]) -> list[list[Placed]]:
    """Return for each time its lines with their lanes: the fullest words for which all find room."""
    chosen = [0] * len(groups)
    while (full := _laid(groups, chosen))[1] is not None:
        tight = groups[full[1]][chosen[full[1]]]
        near = [
            at for at in range(full[1] + 1) if chosen[at] + 1 < len(groups[at]) and groups[at][chosen[at]].meets(tight)
        ]
        chosen[min(reversed(near), key=lambda at: groups[at][chosen[at] + 1].loss)] += 1
    for at, most in enumerate(chosen):  # what was shortened for a neighbour that was shortened later may be full again
        for fewer in range(most):
            tried = [*chosen[:at], fewer, *chosen[at + 1 :]]
            if _laid(groups, tried)[1] is None:
                chosen = tried
                break
    return _laid(groups, chosen)[0]


def _laid(groups: Sequence[Sequence[Saying]], chosen: Sequence[int]) -> tuple[list[list[Placed]], int | None]:
    """Lay the chosen words out, and return them with the first time that finds no room, if there is one."""
    lanes: list[list[Stretch]] = [[] for _ in LANES]
    placed: list[list[Placed]] = []
    for at, (group, which) in enumerate(zip(groups, chosen, strict=True)):
        lines: list[Placed] = []
        for line in group[which].lines:
            found = take_lane(lanes, *(label.reach for label in line))
            if found is None:
                return placed, at
            lines.append((found[0], line[found[1]]))
        placed.append(lines)
    return placed, None
