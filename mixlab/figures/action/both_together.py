"""How a mixed dose acts, large: both insulins, their spread, a guess, and their sum once it may be seen."""

from __future__ import annotations

from typing import Any

import numpy as np

from mixlab.care.action.absorption import Hours
from mixlab.care.action.curves import ActionCurves, Part
from mixlab.figures import style
from mixlab.figures.style import Moving, Sheet, Size, Touched, corners, outline_between, wrapped
from mixlab.quantities import number_text
from mixlab.words import say

from .bars import TaughtRow, hours_text
from .both_together_words import (
    MARKER,
    MODEL,
    PARTS,
    SEEN,
    ActionSeen,
    Look,
    band_points,
    notices,
    row_words,
    source_words,
    sum_words,
)
from .curves import LAST_HOUR

WIDTH, HEIGHT = 1080, 450
_LEFT, _RIGHT, _BOTTOM, _HIGH = 58, 1068, 44, 264
_ROWS: dict[Look, float] = {"clear": 392, "cloudy": 347}
_CORNER_H, _FREE = 11, 0.42  # from this hour on the lines stay below this share of the height, the rest is for words
_TOPS = (0.5, 1, 1.5, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20, 30, 50)
_LINE = 15
_PAPER: dict[str, Any] = {"zorder": 6, "bbox": {"fc": "white", "ec": "none", "pad": 0.5, "alpha": 0.8}}
_BANDS: dict[Look, dict[str, Any]] = {
    "clear": {"ls": "-", "lw": 1, "alpha": 0.6, **style.LIQUID["clear"]},
    "cloudy": {"ls": ":", "lw": 1, "alpha": 0.6, **style.LIQUID["cloudy"]},
}


class ActionFigure(Sheet):
    """The drawn sheet; `show` moves it to another moment of the lesson."""

    def __init__(self, size: Size) -> None:
        super().__init__(WIDTH, HEIGHT, size)
        # What the scale reaches: who draws for another moment than the last sets it to what it reached by then.
        self.top = 0.0
        self._cited = [self.text(f"taught-source-{at}", 4, HEIGHT - 12 - at * 14) for at in range(2)]
        self._draw_axes()
        self._rows, self._bands = {}, {}
        for look, y in _ROWS.items():
            self.text(None, 4, y, say("taught"))
            self.text(None, 4, y - 14, say("model"))
            self._rows[look] = TaughtRow(self, look, (_LEFT, _RIGHT, LAST_HOUR), y, 12, 14, zorder=4)
            self._bands[look] = self.shape(f"fan-{look}", zorder=1, **_BANDS[look])
        self._marker = self.line("marker", lw=0.8)
        self._marker_words = self.text("marker-words", _RIGHT, 0, ha="right", va="bottom", **_PAPER)
        thin = {"color": style.FAINT, "lw": 1}
        self._beside = {part: self.line(f"beside-{part}", **style.CURVES[part] | thin) for part in PARTS}
        self._lines = {part: self.line(f"curve-{part}", **self._looks(part)) for part in PARTS}
        self._guess = self.line("guess", color=style.WARNING, lw=size.line, ls=(0, (4, 2)))
        self._guess_words = self.text("guess-words", 0, 0, color=style.WARNING, fontweight="bold", **_PAPER)
        self._highest = self.line("sum-highest", marker="v", ms=9, lw=1, ls=":", zorder=5)
        self._highest_words = self.text("sum-highest-words", 0, 0, fontweight="bold", **_PAPER)
        self._keys: list[tuple[str, float, list[Any], Any]] = []
        top = _BOTTOM + _HIGH
        for at, part in enumerate((*PARTS, "beside", "fan")):
            y = top - 6 - at * _LINE
            words = self.text(f"key-{part}-words", 816, y, **_PAPER)
            if part == "fan":
                samples: list[Any] = [self.shape(f"key-fan-{look}", zorder=6, **_BANDS[look]) for look in SEEN]
            else:
                looks = thin if part == "beside" else self._looks(part)
                samples = [self.line(f"key-{part}", zorder=6, **looks)]
            self._keys.append((part, y, samples, words))
        bold = {"fontweight": "bold", **_PAPER}
        self._question = self.text("question", _at(_CORNER_H), top - 30, fontsize=size.title * 3, **bold)
        self._told = self.text("told", 0, top - 26, fontsize=size.words, **bold)
        top -= 10 + len(self._keys) * _LINE
        self._notices = [self.text(f"notice-{at}", _at(_CORNER_H), top - at * _LINE, **_PAPER) for at in range(5)]

    def _draw_axes(self) -> None:
        self.line(None, (_LEFT, _LEFT, _RIGHT), (_BOTTOM + _HIGH, _BOTTOM, _BOTTOM), lw=0.8)
        for hour in range(0, LAST_HOUR + 1, 2):
            self.line(None, [_at(hour)] * 2, (_BOTTOM - 4, _BOTTOM), lw=0.8)
            self.text(None, _at(hour), _BOTTOM - 12, str(hour), ha="center")
        self.text(None, _RIGHT, 12, say("hours after the injection"), ha="right")
        self._model = self.text("model-words", 4, 12, color=style.FAINT)
        self.text(None, 10, _BOTTOM + _HIGH / 2, say("{units} acting per hour"), rotation=90, ha="center")
        self._scale = self.scale("scale", _LEFT, _BOTTOM, _HIGH)

    def _looks(self, part: str) -> dict[str, Any]:
        return {"lw": self.size.line * (1.6 if part == "total" else 1), **style.CURVES[part]}

    def show(self, seen: ActionSeen) -> Touched:
        """Move everything to this moment and return the artists that were touched; without curves, taught bars only."""
        moving = self.moving()
        moving.write(self._cited, wrapped(source_words(seen), 172, 2))
        bands = band_points(seen.fan)
        self._fit(seen, bands)
        shares = (0, 0.5, 1) if seen.curves else ()
        moving.write(self._scale, (number_text(self.top * share) for share in shares))
        for look in SEEN:
            self._rows[look].show(moving, row_words(seen, look), seen.times(look), seen.curves)
            if look in bands:
                hours, *edges = bands[look]
                low, high = (np.array([_at(hours), self._up(edge)]) for edge in edges)
                moving.set(self._bands[look], xy=outline_between(low, high))
            else:
                moving.hide(self._bands[look])
        for part in PARTS:
            for line, curves in ((self._lines[part], seen.curves), (self._beside[part], seen.beside)):
                drawn = curves if part != "total" or seen.sum_shown else None
                moving.set(line, data=self._points(drawn, part) if drawn else ((), ()))
        moving.set(self._model, text=say(MODEL) if seen.curves else "")
        self._show_marker(moving, seen)
        self._show_guess(moving, seen.guess_h)
        self._show_sum(moving, seen)
        self._show_keys(moving, seen)
        moving.write(self._notices, wrapped(" ".join(notices(seen)), 92, 5))
        return moving.touched

    def _show_marker(self, moving: Moving, seen: ActionSeen) -> None:
        """Show the line from which an insulin counts as acting, and its words where no other line runs through them."""
        if seen.curves is None:
            moving.hide(self._marker, self._marker_words)
            return
        level = self._up(seen.curves.marker)
        moving.set(self._marker, data=([_LEFT, _RIGHT], [level, level]))
        parts = PARTS if seen.sum_shown else SEEN
        points = [self._points(curves, part) for curves in (seen.curves, seen.beside) if curves for part in parts]
        if seen.guess_h is not None:
            points.append((np.full(50, _at(seen.guess_h)), np.linspace(_BOTTOM, _BOTTOM + _FREE * _HIGH, 50)))
        x, y = np.concatenate(points, axis=1)
        places = [(_at(hour), low) for low in (level + 1, level - 14) for hour in range(LAST_HOUR, 4, -1)]
        free = (
            (right, low)
            for right, low in places
            if low > _BOTTOM and not ((x > right - 160) & (x < right + 4) & (y > low - 3) & (y < low + 15)).any()
        )
        moving.set(self._marker_words, text=say(MARKER), position=next(free, places[0]))

    def _show_guess(self, moving: Moving, guess: float | None) -> None:
        if guess is None:
            moving.hide(self._guess, self._guess_words)
            return
        x = _at(guess)
        low = guess > _CORNER_H - 1.5  # below the words in the corner
        top = _BOTTOM + (_FREE if low else 1) * _HIGH
        moving.set(self._guess, data=([x, x], [_BOTTOM, top]))
        side = "right" if guess > LAST_HOUR - 3.5 else "left"
        aside = 0 if not low else 6 if side == "left" else -6
        place = (x + aside, top - 8 if low else top + 9)
        words = say("your guess: {hours}", hours=hours_text(guess))
        moving.set(self._guess_words, text=words, position=place, ha=side)

    def _show_sum(self, moving: Moving, seen: ActionSeen) -> None:
        """Show the sum's highest point, or ask for it."""
        curves = seen.curves if seen.sum_shown else None
        peak = curves.peak() if curves else None
        if curves is None or peak is None or peak > LAST_HOUR:
            moving.hide(self._highest, self._highest_words)
        else:
            x, y = _at(peak), self._up(curves.peak_rate())
            moving.set(self._highest, markevery=[1], data=([x, x], [_BOTTOM, y + 5]))
            words = say("highest point: {hours}", hours=hours_text(peak))
            moving.set(self._highest_words, text=words, position=(x + 10, y + 11))
        asked = seen.curves is not None and not seen.sum_shown
        said = sum_words(curves).replace(", ", ",\n") if curves else ""
        moving.set(self._question, text="?" if asked else "")
        words = say("Where will the\nhighest point be?") if asked else said
        moving.set(self._told, text=words, x=_at(_CORNER_H) + (40 if asked else 0))

    def _show_keys(self, moving: Moving, seen: ActionSeen) -> None:
        beside, fan = say("thin gray: as ordered, abdomen"), say("90 of 100 simulated days")
        said = {part: seen.name(part) for part in PARTS} | {"beside": beside, "fan": fan}
        held = dict.fromkeys(PARTS, seen.curves) | {"beside": seen.beside, "fan": seen.fan}
        held["total"] = seen.curves if seen.sum_shown else None
        for part, y, samples, words in self._keys:
            if held[part] is None:
                moving.hide(words, *samples)
                continue
            moving.set(words, text=said[part])
            if part == "fan":
                for x, sample in zip((780, 796), samples, strict=True):
                    moving.set(sample, xy=corners(x, y - 5, 13, 10))
            else:
                moving.set(samples[0], data=([780, 810], [y, y]))

    def _points(self, curves: ActionCurves, part: Part) -> tuple[Any, Any]:
        inside = curves.hours <= LAST_HOUR
        return _at(curves.hours[inside]), self._up(getattr(curves, part)[inside])

    def _up(self, rate: Any) -> Any:
        return _BOTTOM + rate * _HIGH / self.top

    def _fit(self, seen: ActionSeen, bands: dict[Look, tuple[Hours, Hours, Hours]]) -> None:
        """Let the scale step up when the lines need it, and down only well below, so that it does not flicker.

        What it needs follows from the two insulins alone, so that the scale tells nothing of a hidden sum.
        """
        need = _TOPS[0] / 2
        for curves in filter(None, (seen.curves, seen.beside)):
            late = (curves.hours >= _CORNER_H) & (curves.hours <= LAST_HOUR)
            low = sum(float(getattr(curves, look)[late].max(initial=0)) for look in SEEN)
            need = max(need, sum(curves.peak_rate(look) for look in SEEN) / 0.9, low / _FREE)
        for hours, _, high in bands.values():
            need = max(need, float(high.max()) / 0.9, float(high[hours >= _CORNER_H].max(initial=0)) / _FREE)
        if not self.top * 0.45 < need <= self.top:
            self.top = next((top for top in _TOPS if need <= top), need)


def _at(hours: Any) -> Any:
    return _LEFT + hours * (_RIGHT - _LEFT) / LAST_HOUR


def draw_action(seen: ActionSeen, size: Size = style.ROOM) -> ActionFigure:
    """Draw how a mixed dose acts.

    Parameters
    ----------
    seen : ActionSeen
        The order, its curves and what of them may be seen.
    size : Size
        `PAGE` or `ROOM`.
    """
    drawn = ActionFigure(size)
    drawn.show(seen)
    return drawn
