"""A reading on the line of all readings: what a site does where, and how far a meter may be off."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.patches import Polygon, Rectangle

from mixlab.facts.records import Threshold
from mixlab.figures import style
from mixlab.figures.style import Moving, Size, corners, named, write
from mixlab.quantities import Glucose, GlucoseUnit, number_text
from mixlab.ward.site.glucose_lines import line_text
from mixlab.ward.site.record import Site
from mixlab.words import say

LOWEST, HIGHEST = Glucose(20, "mg/dL"), Glucose(1000, "mg/dL")
"""The ends of the drawn line; what lies beyond stands at its end."""

_TICKS: dict[GlucoseUnit, tuple[float, ...]] = {
    "mg/dL": (30, 40, 50, 70, 100, 150, 200, 300, 400, 600),
    "mmol/L": (1.5, 2, 3, 4, 5.5, 8, 11, 16, 22, 33),
}
_HIGH = 24
_ZONES = ("low", "near low", "give", "report", "off")


class NumberLine:
    """The drawn line; `show` moves the reading on it, or puts another site's lines in place.

    Its steps are equal ratios, not equal differences: the low readings, where a few units matter, get the room they need.

    Parameters
    ----------
    axes : matplotlib.axes.Axes
        One whose unit is the point.
    left, right, bottom : float
        Where the line stands. It takes 46 points below `bottom` and 64 above it.
    size : Size
        `PAGE` or `ROOM`.
    """

    def __init__(self, axes: Axes, left: float, right: float, bottom: float, size: Size) -> None:
        self._left, self._right, self._bottom = left, right, bottom
        self._letter = size.small * 0.58
        looks: dict[str, dict[str, Any]] = {
            "low": {"fc": "#fbe3d3", "ec": style.WARNING, "hatch": "////"},
            "near low": {"fc": "white", "ec": style.FAINT, "hatch": "---"},
            "give": {"fc": "white", "ec": style.FAINT},
            "report": {"fc": "white", "ec": style.FAINT, "hatch": "---"},
            "off": {"fc": "white", "ec": style.FAINT, "hatch": "xxx"},
        }
        self._zones, self._words = {}, {}
        for zone in _ZONES:
            self._zones[zone] = named(
                Polygon(corners(0, 0, 0, 0), lw=0.8, **looks[zone]), f"zone-{zone.replace(' ', '-')}"
            )
            axes.add_patch(self._zones[zone])
            self._words[zone] = write(
                axes, 0, 0, "", size.small, f"zone-name-{zone.replace(' ', '-')}", ha="center", fontweight="bold",
                bbox={"fc": "white", "ec": "none", "pad": 1},
            )  # fmt: skip
        axes.add_patch(Rectangle((left, bottom), right - left, _HIGH, fill=False, ec=style.INK, lw=1.2))
        self._ticks = [write(axes, 0, 0, "", size.small, f"tick-{at}", ha="center") for at in range(10)]
        self._lines = {}
        for at, name in enumerate(("hold", "serious", "report", "near-low")):
            (line,) = axes.plot([], [], color=style.INK, lw=1.6, ls=("-", (0, (2, 1.5)), "-", "-")[at])
            self._lines[name] = (
                named(line, f"line-{name}"),
                write(axes, 0, 0, "", size.small, f"line-name-{name}"),
            )
        (stroke,) = axes.plot([], [], color=style.INK, lw=3, solid_capstyle="butt")
        self._stroke = named(stroke, "reading-stroke")
        (band,) = axes.plot([], [], color=style.INK, lw=2.2, solid_capstyle="butt")
        self._band = named(band, "allowance")
        self._marker = named(Polygon([(0, 0)], fc=style.INK, ec="none"), "reading-marker")
        axes.add_patch(self._marker)
        self._reading = write(axes, 0, 0, "", size.words, "reading", ha="center", fontweight="bold")

    def place(self, glucose: Glucose) -> float:
        """Return where a glucose stands, in points."""
        low, high, value = (math.log(max(one.to("mg/dL").value, 1)) for one in (LOWEST, HIGHEST, glucose))
        share = min(max((value - low) / (high - low), 0), 1)
        return self._left + share * (self._right - self._left)

    def show_site(self, moving: Moving, site: Site) -> None:
        """Put a site's lines in place, in its unit."""
        unit = site.glucose_unit
        for text, value in zip(self._ticks, _TICKS[unit], strict=True):
            moving.set(text, text=number_text(value), position=(self.place(Glucose(value, unit)), self._bottom - 8))
        near = site.near_low_line
        low, high = self._at(site.hold_line), self._at(site.report_line)
        give = low if near is None else self._at(near)
        top = self.place(Glucose(site.meter_high.value, site.meter_high.unit))  # type: ignore[arg-type]
        edges = {
            "low": (self._left, low), "near low": (low, give), "give": (give, high), "report": (high, top), "off": (top, self._right),
        }  # fmt: skip
        names = {
            "low": say("hold and treat"),
            "near low": say("report"),
            "give": say("give"),
            "report": say("report"),
            "off": say("HI: check"),
        }
        for zone, (start, end) in edges.items():
            moving.set(self._zones[zone], xy=corners(start, self._bottom, end - start, _HIGH))
            moving.set(
                self._words[zone],
                text=names[zone] if end > start else "",
                position=((start + end) / 2, self._bottom + _HIGH / 2),
            )
        self._show_line(moving, "hold", site.hold_line, say("low: "), 2)
        self._show_line(moving, "serious", site.level_2_line, say("serious low: "), 3)
        self._show_line(moving, "report", site.report_line, "", 2)
        self._show_line(moving, "near-low", near, "", 1)

    def _at(self, line: Threshold) -> float:
        return self.place(Glucose(line.value, line.unit))

    def _show_line(self, moving: Moving, name: str, line: Threshold | None, meaning: str, row: int) -> None:
        drawn, words = self._lines[name]
        if line is None:
            moving.set(drawn, data=((), ()))
            moving.set(words, text="", position=(0, 0))
            return
        x, top = self._at(line), self._bottom + _HIGH + row * 14 - 7
        moving.set(drawn, data=((x, x), (self._bottom - 2, top)))
        said = f"{meaning}{line_text(line)}"
        beyond = x + 4 + len(said) * self._letter > self._right
        moving.set(words, text=said, position=(x - 4 if beyond else x + 4, top - 2), ha="right" if beyond else "left")

    def show_reading(
        self, moving: Moving, at: Glucose | None, allowance: tuple[Glucose, Glucose] | None, words: str
    ) -> None:
        """Put the reading in place, with the meter's allowance about it; None stands for no reading that has a place."""
        bottom = self._bottom
        if at is None:
            moving.set(self._marker, xy=((0, 0),))
            moving.set(self._stroke, data=((), ()))
            moving.set(self._band, data=((), ()))
        else:
            x = self.place(at)
            moving.set(self._marker, xy=((x, bottom - 15), (x - 6, bottom - 27), (x + 6, bottom - 27)))
            moving.set(self._stroke, data=((x, x), (bottom, bottom + _HIGH)))
            low, high = (x, x) if allowance is None else map(self.place, allowance)
            ends = np.array([low, low, np.nan, low, high, np.nan, high, high])
            up = bottom - 22 + np.array([-5, 5, 0, 0, 0, 0, -5, 5])
            moving.set(self._band, data=((), ()) if allowance is None else (ends, up))
        middle = (self._left + self._right) / 2 if at is None else self.place(at)
        room = len(words) * 3.9
        moving.set(
            self._reading,
            text=words,
            position=(min(max(middle, self._left + room), self._right - room), bottom - 37),
        )
