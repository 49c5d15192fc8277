"""How a mixed dose acts, large: both insulins, their spread, a guess, and their sum once it may be seen."""

from __future__ import annotations

from typing import Any

import numpy as np
from matplotlib.artist import Artist
from matplotlib.figure import Figure
from matplotlib.patches import Polygon

from mixlab.care.action.absorption import Hours
from mixlab.care.action.curves import ActionCurves, Part
from mixlab.figures import style
from mixlab.figures.style import Moving, Size, Touched, corners, named, sheet, wrapped, write
from mixlab.quantities import number_text
from mixlab.words import say

from .curves import LAST_HOUR
from .large_words import (
    MARKER,
    MODEL,
    PARTS,
    SEEN,
    ActionSeen,
    Look,
    band_points,
    hours_text,
    moments,
    notices,
    row_words,
    source_words,
    sum_words,
)

WIDTH, HEIGHT = 1080, 450
_LEFT, _RIGHT, _BOTTOM, _HIGH = 58, 1068, 44, 264
_ROWS: dict[Look, float] = {"clear": 407, "cloudy": 362}
_CORNER_H, _FREE = 11, 0.42  # from this hour on the lines stay below this share of the height, the rest is for words
_TOPS = (0.5, 1, 1.5, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20, 30, 50)
_LINE = 15
_LOOKS: dict[Part, dict[str, Any]] = {
    "clear": {"color": style.CLEAR_LINE, "ls": "-"},
    "cloudy": {"color": style.CLOUDY_LINE, "ls": "--"},
    "total": {"color": style.INK, "ls": "-"},
}
_PAPER: dict[str, Any] = {"zorder": 6, "bbox": {"fc": "white", "ec": "none", "pad": 0.5, "alpha": 0.8}}
_BANDS: dict[Look, dict[str, Any]] = {
    "clear": {"ls": "-", **style.LIQUID["clear"]},
    "cloudy": {"ls": ":", **style.LIQUID["cloudy"]},
}


class ActionFigure:
    """The drawn sheet; `show` moves it to another moment of the lesson."""

    def __init__(self, size: Size) -> None:
        self.figure: Figure
        self.figure, page = sheet(WIDTH, HEIGHT)
        self._page, self._size = page, size
        # What the scale reaches: who draws for another moment than the last sets it to what it reached by then.
        self.top = 0.0
        self._shown: dict[Artist, dict[str, Any]] = {}
        self._cited = [self._words(4, HEIGHT - 12 - at * 14, f"taught-source-{at}") for at in range(2)]
        page.plot([_LEFT, _LEFT, _RIGHT], [_BOTTOM + _HIGH, _BOTTOM, _BOTTOM], color=style.INK, lw=0.8)
        for hour in range(0, LAST_HOUR + 1, 2):
            page.plot([_at(hour)] * 2, [_BOTTOM - 4, _BOTTOM], color=style.INK, lw=0.8)
            write(page, _at(hour), _BOTTOM - 12, str(hour), size.small, ha="center")
        write(page, _RIGHT, 12, say("hours after the injection"), size.small, ha="right")
        self._model = self._words(4, 12, "model-words", color=style.FAINT)
        write(page, 10, _BOTTOM + _HIGH / 2, say("{units} acting per hour"), size.small, rotation=90, ha="center")
        self._scale = []
        for share in (0, 0.5, 1):
            y = _BOTTOM + _HIGH * share
            page.plot([_LEFT - 4, _LEFT], [y, y], color=style.INK, lw=0.8)
            self._scale.append(self._words(_LEFT - 7, y, f"scale-{share * 2:g}", ha="right"))
        self._bands, self._rows, self._spans = {}, {}, {}
        for look, y in _ROWS.items():
            edge = _LOOKS[look]["color"]
            write(page, 4, y - 15, say("taught"), size.small)
            write(page, 4, y - 29, say("model"), size.small)
            whole = self._patch(f"taught-{look}", lw=0.8, **style.LIQUID[look])
            strongest = self._patch(f"taught-{look}-peak", lw=0.8, fc=edge, ec=edge, alpha=0.75)
            self._rows[look] = (
                self._words(_LEFT, y, f"taught-{look}-words", color=edge),
                whole,
                strongest,
            )
            marks = {"color": style.INK, "lw": 1.2, "mfc": "white", "ms": 7, "zorder": 4}
            span = self._line(f"model-{look}", marker="|", **marks)
            self._spans[look] = (span, self._line(f"model-{look}-peak", marker="v", ls="none", **marks))
            self._bands[look] = self._patch(f"fan-{look}", lw=1, alpha=0.6, zorder=1, **_BANDS[look])
        self._marker = self._line("marker", color=style.INK, lw=0.8)
        self._marker_words = self._words(_RIGHT, 0, "marker-words", ha="right", va="bottom", **_PAPER)
        thin = {"color": style.FAINT, "lw": 1}
        self._beside = {part: self._line(f"beside-{part}", **{**_LOOKS[part], **thin}) for part in PARTS}
        self._lines = {
            part: self._line(f"curve-{part}", lw=size.line * (1.6 if part == "total" else 1), **_LOOKS[part])
            for part in PARTS
        }
        self._guess = self._line("guess", color=style.WARNING, lw=size.line, ls=(0, (4, 2)))
        self._guess_words = self._words(0, 0, "guess-words", color=style.WARNING, fontweight="bold", **_PAPER)
        self._highest = self._line("sum-highest", color=style.INK, marker="v", ms=9, lw=1, ls=":", zorder=5)
        self._highest_words = self._words(0, 0, "sum-highest-words", fontweight="bold", **_PAPER)
        self._keys = []
        for at, part in enumerate((*PARTS, "beside", "fan")):
            y = _BOTTOM + _HIGH - 6 - at * _LINE
            words = self._words(816, y, f"key-{part}-words", **_PAPER)
            looks = {"lw": size.line * (1.6 if part == "total" else 1), **_LOOKS[part]} if part in _LOOKS else thin
            samples = [self._line(f"key-{part}", zorder=6, **looks)]
            if part == "fan":
                samples = [self._patch(f"key-fan-{look}", lw=1, alpha=0.6, zorder=6, **_BANDS[look]) for look in SEEN]
            self._keys.append((part, y, samples, words))
        self._question = write(
            page, _at(_CORNER_H), _BOTTOM + _HIGH - 30, "", size.title * 3, "question", fontweight="bold", **_PAPER
        )
        self._told = write(page, 0, _BOTTOM + _HIGH - 26, "", size.words, "told", fontweight="bold", **_PAPER)
        top = _BOTTOM + _HIGH - 10 - len(self._keys) * _LINE
        self._notices = [self._words(_at(_CORNER_H), top - at * _LINE, f"notice-{at}", **_PAPER) for at in range(5)]

    def _words(self, x: float, y: float, gid: str, **looks: Any) -> Any:
        return write(self._page, x, y, "", self._size.small, gid, **looks)

    def _line(self, gid: str, **looks: Any) -> Any:
        return named(self._page.plot([], [], **looks)[0], gid)

    def _patch(self, gid: str, **looks: Any) -> Any:
        return self._page.add_patch(named(Polygon([(0, 0)], **looks), gid))

    def show(self, seen: ActionSeen) -> Touched:
        """Move everything to this moment and return the artists that were touched; without curves, taught bars only."""
        moving = Moving(self._shown)
        cited = wrapped(source_words(seen), 172, 2)
        for text, words in zip(self._cited, cited, strict=True):
            moving.set(text, text=words)
        bands = band_points(seen.fan)
        self._fit(seen, bands)
        for share, text in zip((0, 0.5, 1), self._scale, strict=True):
            moving.set(text, text=number_text(self.top * share) if seen.curves else "")
        for look in SEEN:
            self._show_row(moving, look, seen)
            hours, low, high = bands.get(look, (np.zeros(1),) * 3)
            edge = np.column_stack([np.append(hours, hours[::-1]), np.append(low, high[::-1])])
            points = np.column_stack([_at(edge[:, 0]), self._up(edge[:, 1])])
            moving.set(self._bands[look], xy=points if look in bands else [(0, 0)])
        for part in PARTS:
            for line, curves in ((self._lines[part], seen.curves), (self._beside[part], seen.beside)):
                drawn = curves if part != "total" or seen.sum_shown else None
                moving.set(line, data=self._points(drawn, part))
        moving.set(self._model, text=say(MODEL) if seen.curves else "")
        self._show_marker(moving, seen)
        self._show_guess(moving, seen.guess_h)
        self._show_sum(moving, seen)
        self._show_keys(moving, seen)
        for text, words in zip(self._notices, wrapped(" ".join(notices(seen)), 92, 5), strict=True):
            moving.set(text, text=words)
        return moving.touched

    def _show_row(self, moving: Moving, look: Look, seen: ActionSeen) -> None:
        words, whole, strongest = self._rows[look]
        times, y = seen.times(look), _ROWS[look] - 15
        moving.set(words, text=row_words(seen, look))
        start = times.onset.low if times.onset else 0.0
        end = min(times.duration.high, LAST_HOUR) if times.duration else LAST_HOUR
        moving.set(whole, xy=corners(_at(start), y - 6, _at(end) - _at(start), 12))
        if times.peak:
            middle = 0.25 if times.peak.low == times.peak.high else 0.0
            low, high = _at(times.peak.low - middle), _at(min(times.peak.high + middle, LAST_HOUR))
            moving.set(strongest, xy=corners(low, y - 6, high - low, 12))
        else:
            moving.set(strongest, xy=[(0, 0)])
        span, top = self._spans[look]
        start_h, peak, end_h = moments(seen.curves, look)
        ends = [] if start_h is None else [start_h, LAST_HOUR if end_h is None else min(end_h, LAST_HOUR)]
        ended = end_h is not None and end_h <= LAST_HOUR
        moving.set(span, markevery=[0, 1] if ended else [0], data=([_at(hour) for hour in ends], [y - 14] * len(ends)))
        moving.set(top, data=([], []) if peak is None or peak > LAST_HOUR else ([_at(peak)], [y - 14]))

    def _show_marker(self, moving: Moving, seen: ActionSeen) -> None:
        """Show the line from which an insulin counts as acting, and its words where no other line runs through them."""
        if seen.curves is None:
            moving.set(self._marker, data=([], []))
            moving.set(self._marker_words, text="")
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
            moving.set(self._guess, data=([], []))
            moving.set(self._guess_words, text="")
            return
        x = _at(guess)
        low = guess > _CORNER_H - 1.5  # below the words in the corner
        top = _BOTTOM + (_FREE if low else 1) * _HIGH
        moving.set(self._guess, data=([x, x], [_BOTTOM, top]))
        side = "right" if guess > LAST_HOUR - 3.5 else "left"
        aside = 0 if not low else 6 if side == "left" else -6
        place = (x + aside, top - 8 if low else top + 9)
        moving.set(
            self._guess_words,
            text=say("your guess: {hours}", hours=hours_text(guess)),
            position=place,
            ha=side,
        )

    def _show_sum(self, moving: Moving, seen: ActionSeen) -> None:
        """Show the sum's highest point, or ask for it."""
        curves = seen.curves if seen.sum_shown else None
        peak = curves.peak() if curves else None
        if curves is None or peak is None or peak > LAST_HOUR:
            moving.set(self._highest, data=([], []))
            moving.set(self._highest_words, text="")
        else:
            x, y = _at(peak), self._up(curves.peak_rate())
            moving.set(self._highest, markevery=[1], data=([x, x], [_BOTTOM, y + 5]))
            moving.set(
                self._highest_words,
                text=say("highest point: {hours}", hours=hours_text(peak)),
                position=(x + 10, y + 11),
            )
        asked = seen.curves is not None and not seen.sum_shown
        moving.set(self._question, text="?" if asked else "")
        said = (
            say("Where will the\nhighest point be?")
            if asked
            else sum_words(curves).replace(", ", ",\n")
            if curves
            else ""
        )
        moving.set(self._told, text=said, x=_at(_CORNER_H) + (40 if asked else 0))

    def _show_keys(self, moving: Moving, seen: ActionSeen) -> None:
        said: dict[str, str] = {part: seen.name(part) for part in PARTS}
        said |= {"beside": say("thin gray: as ordered, abdomen"), "fan": say("90 of 100 simulated days")}
        held: dict[str, object] = {"clear": seen.curves, "cloudy": seen.curves, "beside": seen.beside, "fan": seen.fan}
        held["total"] = seen.curves if seen.sum_shown else None
        for part, y, samples, words in self._keys:
            there = held[part] is not None
            moving.set(words, text=said[part] if there else "")
            for at, sample in enumerate(samples):
                if part == "fan":
                    moving.set(sample, xy=corners(780 + 16 * at, y - 5, 13, 10) if there else [(0, 0)])
                else:
                    moving.set(sample, data=([780, 810], [y, y]) if there else ([], []))

    def _points(self, curves: ActionCurves | None, part: Part) -> tuple[Any, Any]:
        if curves is None:
            return [], []
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
