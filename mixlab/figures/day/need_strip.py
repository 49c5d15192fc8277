"""The strip under the day: insulin acting against an assumed need, hour by hour."""

from __future__ import annotations

import textwrap
from typing import Any

import numpy as np

from mixlab.care.day.need import Cover
from mixlab.figures import style
from mixlab.figures.action.differences import difference_words
from mixlab.figures.style import Moving, corners, outline_between
from mixlab.quantities import number_text
from mixlab.words import say

from .clock_line import LEFT, PAPER, RIGHT, SIDE, STRIP, WIDTH, Board, at_minute
from .day_words import AFTER_MINUTES, NEED_ASSUMPTION, NO_COVER, NO_CURVES, DaySeen, slip_letter

_TOPS = (1, 2, 3, 4, 5, 6, 8, 10, 15, 20, 30, 50, 100)
_POINTS = 145
_NOTICE_LETTERS = 88
_FOOT = 9
_BEYOND: dict[str, Any] = {"fc": "white", "ec": style.WARNING, "hatch": "////", "lw": 0}
_MISSING: dict[str, Any] = {"fc": style.FAINT, "ec": style.FAINT, "alpha": 0.3, "lw": 0}
_NEED: dict[str, Any] = {"lw": 1.6, "ls": (0, (4, 2))}


class NeedStrip:
    """The drawn strip; `show` moves its lines and shades what lies between them."""

    def __init__(self, board: Board) -> None:
        low, high = STRIP
        acting: dict[str, Any] = {"lw": board.size.line * 1.2}
        board.line(None, (LEFT, LEFT, RIGHT), (high, low, low), lw=1)
        self._beyond = board.shape("beyond", zorder=2, **_BEYOND)
        self._missing = board.shape("missing", zorder=2, **_MISSING)
        self._need = board.line("need", zorder=3, **_NEED)
        self._acting = board.line("acting", zorder=3, **acting)
        middle = ((LEFT + RIGHT) / 2, (low + high) / 2)
        bold: dict[str, Any] = {"fontsize": board.size.words, "fontweight": "bold", **PAPER}
        self._none = board.text("no-strip", *middle, ha="center", **bold)
        self._scale = [board.text(f"scale-{at}", LEFT - 5, low + (high - low) * at / 2, ha="right") for at in range(3)]
        board.head(high + 5, say("{units} per hour"))
        words, top = SIDE + 28, high - 12
        board.line(None, (SIDE, SIDE + 22), (top, top), **acting)
        board.text(None, words, top, say("insulin acting"))
        board.line(None, (SIDE, SIDE + 22), (top - 16, top - 16), **_NEED)
        board.text(None, words, top - 16, say("assumed need"))
        board.shape(None, corners(SIDE, top - 52, 22, 24), **_BEYOND)
        for row, line in enumerate((say("insulin acting beyond"), say("the assumed need"))):
            board.text(None, words, top - 34 - 13 * row, line, color=style.WARNING, fontweight="bold")
        board.shape(None, corners(SIDE, top - 73, 22, 13), **_MISSING)
        board.text(None, words, top - 66, say("need beyond insulin"))
        board.text(None, SIDE, _FOOT, say(NEED_ASSUMPTION))
        self._notice = board.text("day-notice", WIDTH - 10, _FOOT, ha="right", color=style.WARNING, fontweight="bold")

    def show(self, moving: Moving, seen: DaySeen) -> None:
        """Move the strip to a day, or say why it is empty."""
        moving.set(self._notice, text=textwrap.shorten(_notice_words(seen), _NOTICE_LETTERS, placeholder=" …"))
        cover = seen.cover
        moving.set(self._none, text="" if cover else say(NO_COVER) if seen.curves else say(NO_CURVES))
        if cover is None:
            moving.hide(self._beyond, self._missing, self._need, self._acting, *self._scale)
            return
        hours, action, need = _thinned(cover)
        highest = max(float(action.max()), float(need.max()))
        top = next((top for top in _TOPS if highest <= top), highest)
        moving.write(self._scale, (number_text(round(top * share, 1)) for share in (0, 0.5, 1)))
        xs = np.round([at_minute(hour * 60) for hour in hours], 2)
        upto, wanted = (np.round(STRIP[0] + (STRIP[1] - STRIP[0]) * curve / top, 2) for curve in (action, need))
        moving.set(self._acting, data=(xs, upto))
        moving.set(self._need, data=(xs, wanted))
        higher = np.maximum(upto, wanted)
        moving.set(self._beyond, xy=outline_between((xs, wanted), (xs, higher)))
        moving.set(self._missing, xy=outline_between((xs, upto), (xs, higher)))


def _notice_words(seen: DaySeen) -> str:
    """Return how what the curves follow differs from the order; what was given instead stands at its clash."""
    if seen.curves is None:
        return ""
    letter = slip_letter(seen.plan)
    # What a spell changes stands in the words; here is room for its minutes only.
    words = difference_words(seen.curves, slip=not letter, brief=True)
    return "; ".join([say("curves: what is in, see {letter}", letter=letter)] * bool(letter) + words)


def _thinned(cover: Cover) -> tuple[Any, Any, Any]:
    """Return the hours, action and need that the picture has room for: no more points than can be told apart."""
    inside = np.flatnonzero(cover.hours <= AFTER_MINUTES / 60)
    at = inside[:: max(1, -(-len(inside) // _POINTS))]
    at = at if at[-1] == inside[-1] else np.append(at, inside[-1])
    return cover.hours[at], cover.action[at], cover.need[at]
