"""When each insulin acts: the taught handbook times as bands above, the model as lines below."""

from __future__ import annotations

from typing import Any

from mixlab.care.action.curves import ActionCurves, Part
from mixlab.figures import style
from mixlab.figures.style import Moving, Sheet, Size, Touched, named
from mixlab.quantities import number_text
from mixlab.ward.order.order import Order
from mixlab.ward.site.in_force import the_site
from mixlab.ward.site.record import Site
from mixlab.words import say

from .bars import TaughtRow, hours_text, moments, times_text

WIDTH, HEIGHT = 480, 250
LAST_HOUR = 24
_LEFT, _RIGHT, _BOTTOM, _HIGH = 46, 468, 34, 104
_BANDS: dict[Part, float] = {"clear": 211, "cloudy": 169}
_NAMES_AT: dict[Part, float] = {"clear": 118, "cloudy": 103, "total": 88}
_TOPS = (1, 2, 3, 5, 8, 12, 20)


class CurvesFigure(Sheet):
    """The drawn curves and bands, with the times that a site teaches; `show` moves them to another order."""

    def __init__(self, size: Size, site: Site | None = None) -> None:
        super().__init__(WIDTH, HEIGHT, size)
        self._site = the_site(site)
        box = (_LEFT / WIDTH, _BOTTOM / HEIGHT, (_RIGHT - _LEFT) / WIDTH, _HIGH / HEIGHT)
        self._axes = self.figure.add_axes(box)
        self._axes.patch.set_visible(False)
        self._axes.set_xlim(0, LAST_HOUR)
        self._axes.set_xticks(range(0, LAST_HOUR + 1, 4))
        self._axes.spines[["top", "right"]].set_visible(False)
        self._axes.tick_params(labelsize=size.small, labelfontfamily="DejaVu Sans")
        # The scale's numbers stand still and change their words: matplotlib's own axis takes 7 ms to be drawn again.
        self._axes.set_yticks([])
        self._axes.set_ylim(0, 1)
        self._scale = self.scale("curves-scale", _LEFT, _BOTTOM, _HIGH)
        # What the scale reaches: who draws for another moment than the last sets it to what it reached by then.
        self.top = 0.0
        self.text(None, (_LEFT + _RIGHT) / 2, 9, say("hours after the injection"), ha="center")
        model = say("{units} acting per hour (model after Berger and Rodbard, recalled)")
        self.text(None, _LEFT + 4, 146, model, color=style.FAINT)
        self.text(None, 4, 242, say("Taught: bar from start to end, dark where strongest"))
        self._lines, self._keys, self._labels = {}, {}, {}
        for part, y in _NAMES_AT.items():
            looks: dict[str, Any] = {"lw": size.line * (1.4 if part == "total" else 1)} | style.CURVES[part]
            (line,) = self._axes.plot([], [], **looks)
            self._lines[part] = named(line, f"curve-{part}")
            self._keys[part] = self.line(f"curve-{part}-key", **looks)
            self._labels[part] = self.text(f"curve-{part}-name", 332, y, fontweight="bold")
        axis = (_LEFT, _RIGHT, LAST_HOUR)
        self._rows = {look: TaughtRow(self, look, axis, y, 14, 13) for look, y in _BANDS.items()}
        self._notice = self.text("curves-notice", _LEFT + 30, 76, fontsize=size.words, fontweight="bold")
        marks: dict[str, Any] = {"mfc": "white", "ms": 7, "lw": 1.2}
        self.line("key", (328, 352), (242, 242), marker="|", **marks)
        self.line("key-peak", (340,), (242,), marker="v", ls="none", **marks)
        self.text(None, 358, 242, say("model, ▽ strongest"))

    def show(self, order: Order, curves: ActionCurves | None) -> Touched:
        """Move everything to this order and return the artists that were touched; without curves, bands only."""
        moving = self.moving()
        for dose in (order.clear, order.cloudy):
            times = self._site.times(dose.insulin)
            self._rows[dose.insulin.look].show(moving, f"{dose.insulin}: {times_text(times)}", times, curves)
        if curves is None:
            moving.hide(*self._lines.values(), *self._keys.values(), *self._labels.values(), *self._scale)
            moving.set(self._notice, text=say("No model curve for this pair here: taught times only."))
            return moving.touched
        moving.hide(self._notice)
        self._fit(moving, curves)
        for part, name in _names(order).items():
            y = _NAMES_AT[part]
            moving.set(self._lines[part], data=(curves.hours, getattr(curves, part)))
            moving.set(self._keys[part], data=([296, 326], [y, y]))
            moving.set(self._labels[part], text=name)
        return moving.touched

    def _fit(self, moving: Moving, curves: ActionCurves) -> None:
        """Let the scale step up when the curve needs it, and down only well below, so that it does not flicker."""
        highest = float(curves.total.max())
        if not self.top * 0.35 < highest <= self.top * 0.97:
            self.top = next((top for top in _TOPS if highest <= top * 0.9), _TOPS[-1])
        moving.write(self._scale, (number_text(self.top * share) for share in (0, 0.5, 1)))
        if self._axes.get_ylim()[1] == self.top:
            return
        self._axes.set_ylim(0, self.top)
        for line in self._lines.values():  # under another scale the same figures stand elsewhere
            self._shown.pop(line, None)


def _names(order: Order) -> dict[Part, str]:
    clear, cloudy = str(order.clear.insulin.name), str(order.cloudy.insulin.name)
    return {"clear": clear, "cloudy": cloudy, "total": say("both together")}


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
    never, later = say("at no hour that can be told"), say("after the 72 h that were computed")
    modeled = []
    for part, name in _names(order).items():
        start, peak, end = (hour if hour is None else hours_text(hour) for hour in moments(curves, part))
        words = say(
            "{name} starts {start}, strongest {peak}, ends {end}",
            name=name,
            start=start or never,
            peak=peak or never,
            end=end or (later if start else never),
        )
        modeled.append(words)
    beyond = (
        say(" A dose above 40 {units} is beyond what the model was made for.") if curves.injection.extrapolated else ""
    )
    return say(
        "Taught times: {taught}. Model: {model}.{beyond} Model of Berger and Rodbard 1989, numbers recalled, checked against clamp studies; real people differ from it and from day to day.",
        taught=taught,
        model="; ".join(modeled),
        beyond=beyond,
    )
