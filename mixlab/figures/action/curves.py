"""When each insulin acts: the taught handbook times as bands above, the model as lines below."""

from __future__ import annotations

from typing import Any

from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Rectangle

from mixlab.care.action.curves import ActionCurves, Part
from mixlab.facts.records import ActionTimes
from mixlab.figures import style
from mixlab.figures.style import Moving, Size, Touched, named, sheet, write
from mixlab.quantities import number_text
from mixlab.ward.order.order import Order
from mixlab.ward.site.in_force import the_site
from mixlab.ward.site.record import Site
from mixlab.words import say, sentence

WIDTH, HEIGHT = 480, 250
LAST_HOUR = 24
_LEFT, _RIGHT = 46, 468
_BANDS: dict[Part, float] = {"clear": 211, "cloudy": 169}
_NAMES_AT = {"clear": 118, "cloudy": 103, "total": 88}
_TOPS = (1, 2, 3, 5, 8, 12, 20)
_LOOKS: dict[str, dict[str, Any]] = {
    "clear": {"color": style.CLEAR_LINE, "ls": "-"},
    "cloudy": {"color": style.CLOUDY_LINE, "ls": "--"},
    "total": {"color": style.INK, "ls": "-"},
}
_TAUGHT = (sentence("starts {hours}"), sentence("strongest {hours}"), sentence("lasts {hours}"))


def _at(hours: float) -> float:
    return _LEFT + hours * (_RIGHT - _LEFT) / LAST_HOUR


class CurvesFigure:
    """The drawn curves and bands, with the times that a site teaches; `show` moves them to another order."""

    def __init__(self, size: Size, site: Site | None = None) -> None:
        self._site = the_site(site)
        self.figure: Figure
        self.figure, page = sheet(WIDTH, HEIGHT)
        box = (_LEFT / WIDTH, 34 / HEIGHT, (_RIGHT - _LEFT) / WIDTH, 104 / HEIGHT)
        self._axes = self.figure.add_axes(box)
        self._axes.patch.set_visible(False)
        self._axes.set_xlim(0, LAST_HOUR)
        self._axes.set_xticks(range(0, LAST_HOUR + 1, 4))
        self._axes.spines[["top", "right"]].set_visible(False)
        self._axes.tick_params(labelsize=size.small, labelfontfamily="DejaVu Sans")
        # The scale's numbers stand still and change their words: matplotlib's own axis takes 7 ms to be drawn again.
        self._axes.set_yticks([])
        self._axes.set_ylim(0, 1)
        self._scale = []
        for share in (0, 0.5, 1):
            y = 34 + 104 * share
            page.plot([_LEFT - 4, _LEFT], [y, y], color=style.INK, lw=0.8)
            self._scale.append(write(page, _LEFT - 7, y, "", size.small, f"curves-scale-{share * 2:g}", ha="right"))
        # What the scale reaches: who draws for another moment than the last sets it to what it reached by then.
        self.top = 0.0
        self._shown: dict[Artist, dict[str, Any]] = {}
        write(page, (_LEFT + _RIGHT) / 2, 9, say("hours after the injection"), size.small, ha="center")
        write(
            page,
            _LEFT + 4,
            146,
            say("{units} acting per hour (model after Berger and Rodbard, recalled)"),
            size.small,
            color=style.FAINT,
        )
        write(page, 4, 242, say("Taught: bar from start to end, dark where strongest"), size.small)
        self._lines = {}
        self._keys = {}
        self._labels = {}
        for part, looks in _LOOKS.items():
            (line,) = self._axes.plot([], [], lw=size.line * (1.4 if part == "total" else 1), **looks)
            self._lines[part] = named(line, f"curve-{part}")
            at = _NAMES_AT[part]
            (key,) = page.plot([], [], lw=line.get_linewidth(), **looks)
            self._keys[part] = named(key, f"curve-{part}-key")
            self._labels[part] = write(page, 332, at, "", size.small, f"curve-{part}-name", fontweight="bold")
        self._bands = {}
        for look, y in _BANDS.items():
            edge = _LOOKS[look]["color"]
            whole = Rectangle((0, y - 7), 0, 14, lw=0.8, **style.LIQUID[look])
            peak = Rectangle((0, y - 7), 0, 14, fc=edge, ec=edge, lw=0.8, alpha=0.75)
            page.add_patch(named(whole, f"taught-{look}"))
            page.add_patch(named(peak, f"taught-{look}-peak"))
            words = write(page, _LEFT, y + 16, "", size.small, f"taught-{look}-words", color=edge)
            self._bands[look] = (whole, peak, words)
        self._spans = {}
        for look, y in _BANDS.items():
            self._spans[look] = (
                self._mark(page, f"model-{look}", "|-"),
                self._mark(page, f"model-{look}-peak", "v"),
                y - 13,
            )
        self._notice = write(page, _LEFT + 30, 76, "", size.words, "curves-notice", fontweight="bold")
        for gid, shape, xs in (("key", "|-", [328, 352]), ("key-peak", "v", [340])):
            self._mark(page, gid, shape).set_data(xs, [242] * len(xs))
        write(page, 358, 242, say("model, ▽ strongest"), size.small)

    def _mark(self, page: Axes, gid: str, looks: str) -> Line2D:
        (line,) = page.plot([], [], looks[0], ls=looks[1:] or "none", color=style.INK, mfc="white", ms=7, lw=1.2)
        line.set_gid(gid)
        return line

    def show(self, order: Order, curves: ActionCurves | None) -> Touched:
        """Move everything to this order and return the artists that were touched; without curves, bands only."""
        moving = Moving(self._shown)
        for dose in (order.clear, order.cloudy):
            self._show_band(moving, dose.insulin.look, str(dose.insulin.name), self._site.times(dose.insulin))
        if curves is None:
            for part, line in self._lines.items():
                moving.set(line, data=([], []))
                moving.set(self._keys[part], data=([], []))
                moving.set(self._labels[part], text="")
            for span, peak, _ in self._spans.values():
                moving.set(span, markevery=[0], data=([], []))
                moving.set(peak, data=([], []))
            for text in self._scale:
                moving.set(text, text="")
            moving.set(self._notice, text=say("No model curve for this pair here: taught times only."))
            return moving.touched
        moving.set(self._notice, text="")
        self._fit(moving, curves)
        names = {
            "clear": str(order.clear.insulin.name),
            "cloudy": str(order.cloudy.insulin.name),
            "total": say("both together"),
        }
        for part in ("clear", "cloudy", "total"):
            values: Any = getattr(curves, part)
            moving.set(self._lines[part], data=(curves.hours, values))
            at = _NAMES_AT[part]
            moving.set(self._keys[part], data=([296, 326], [at, at]))
            moving.set(self._labels[part], text=names[part])
        for look in _BANDS:
            self._show_span(moving, look, curves)
        return moving.touched

    def _show_span(self, moving: Moving, look: Part, curves: ActionCurves) -> None:
        """Show where the model starts, is strongest and ends; a span that runs off the picture has no end mark."""
        span, top, y = self._spans[look]
        start, peak, end = curves.onset(look), curves.peak(look), curves.end(look)
        seen = end is not None and end <= LAST_HOUR
        ends = [] if start is None else [start, end if seen else LAST_HOUR]
        xs = [_at(hour) for hour in ends if hour is not None]
        moving.set(span, markevery=[0, 1] if seen else [0], data=(xs, [y] * len(xs)))
        moving.set(top, data=([], []) if peak is None else ([_at(peak)], [y]))

    def _show_band(self, moving: Moving, look: Part, name: str, times: ActionTimes) -> None:
        whole, peak, words = self._bands[look]
        start = times.onset.low if times.onset else 0.0
        end = min(times.duration.high, LAST_HOUR) if times.duration else LAST_HOUR
        moving.set(whole, x=_at(start), width=_at(end) - _at(start))
        if times.peak:
            middle = 0.25 if times.peak.low == times.peak.high else 0.0
            low, high = _at(times.peak.low - middle), _at(times.peak.high + middle)
            moving.set(peak, x=low, width=high - low)
        else:
            moving.set(peak, x=_at(0), width=0)
        moving.set(words, text=f"{name}: {times_text(times)}")

    def _fit(self, moving: Moving, curves: ActionCurves) -> None:
        """Let the scale step up when the curve needs it, and down only well below, so that it does not flicker."""
        highest = float(curves.total.max())
        if not self.top * 0.35 < highest <= self.top * 0.97:
            self.top = next((top for top in _TOPS if highest <= top * 0.9), _TOPS[-1])
        for share, text in zip((0, 0.5, 1), self._scale, strict=True):
            moving.set(text, text=number_text(self.top * share))
        if self._axes.get_ylim()[1] == self.top:
            return
        self._axes.set_ylim(0, self.top)
        for line in self._lines.values():  # under another scale the same figures stand elsewhere
            self._shown.pop(line, None)


def times_text(times: ActionTimes) -> str:
    """Print a handbook row: ``"starts 0.5–1 h, strongest 2–4 h, lasts 5–8 h"``."""
    parts = zip(_TAUGHT, (times.onset, times.peak, times.duration), strict=True)
    return ", ".join(say(words, hours=span) for words, span in parts if span)


def draw_curves(
    order: Order, curves: ActionCurves | None, size: Size = style.PAGE, site: Site | None = None
) -> CurvesFigure:
    """Draw taught times and model curves of an order.

    Parameters
    ----------
    order : Order
        One clear and one cloudy insulin.
    curves : ActionCurves or None
        From :func:`mixlab.action_curves`; None where there is no model for an insulin.
    size : Size
        `PAGE` or `ROOM`.
    site : Site, optional
        Whose taught times are drawn; the one in force if not given.
    """
    drawn = CurvesFigure(size, site)
    drawn.show(order, curves)
    return drawn


def describe_curves(order: Order, curves: ActionCurves | None, site: Site | None = None) -> str:
    """Return what the curves show in words, the times that the site teaches and the model apart."""
    here = the_site(site)
    taught = "; ".join(
        f"{dose.insulin}: {times_text(here.times(dose.insulin))}" for dose in (order.clear, order.cloudy)
    )
    if curves is None:
        return say("Taught times: {taught}. The model has no curve for this pair.", taught=taught)
    names: dict[Part, str] = {
        "clear": str(order.clear.insulin.name),
        "cloudy": str(order.cloudy.insulin.name),
        "total": say("both together"),
    }

    never, later = say("at no hour that can be told"), say("after the 72 h that were computed")

    def hours(value: float | None, otherwise: str = never) -> str:
        return otherwise if value is None else f"{number_text(round(value, 1))} h"

    modelled = "; ".join(
        say(
            "{name} starts {start}, strongest {peak}, ends {end}",
            name=name,
            start=hours(curves.onset(part)),
            peak=hours(curves.peak(part)),
            end=hours(curves.end(part), later if curves.onset(part) else never),
        )
        for part, name in names.items()
    )
    beyond = (
        say(" A dose above 40 {units} is beyond what the model was made for.") if curves.injection.extrapolated else ""
    )
    return say(
        "Taught times: {taught}. Model: {model}.{beyond} Model of Berger and Rodbard 1989, numbers recalled, checked against clamp studies; real people differ from it and from day to day.",
        taught=taught,
        model=modelled,
        beyond=beyond,
    )
