"""A reading on the line of all readings: what a site does where, and how far a meter may be off."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Any

import numpy as np

from mixlab.facts.records import Threshold
from mixlab.figures import style
from mixlab.figures.style import Moving, Sheet, corners
from mixlab.quantities import Glucose, GlucoseUnit, number_text
from mixlab.ward.site.glucose_lines import line_text
from mixlab.ward.site.record import Site
from mixlab.words import say, sentence

LOWEST, HIGHEST = Glucose(20, "mg/dL"), Glucose(1000, "mg/dL")
"""The ends of the drawn line; what lies beyond stands at its end."""

_TICKS: dict[GlucoseUnit, tuple[float, ...]] = {
    "mg/dL": (30, 40, 50, 70, 100, 150, 200, 300, 400, 600),
    "mmol/L": (1.5, 2, 3, 4, 5.5, 8, 11, 16, 22, 33),
}
_HIGH = 24
_OVER = 8  # how far, in points, the name of a zone may reach beyond it: its neighbors leave it that room
_ZONES: dict[str, dict[str, Any]] = {
    "low": {"fc": style.DANGER_FILL, "ec": style.WARNING, "hatch": "////"},
    "near low": {"fc": "#e4e4e4"},
    "give": {},
    "report": {"hatch": "---"},
    "urgent": {"fc": "#e4e4e4", "hatch": "|||"},
    "off": {"hatch": "xxx"},
}
_NEAR_LOW = {"treat": sentence("treat"), "hold and ask": sentence("ask"), "give and report": sentence("report")}
"""What a ward does near a low, in a word that has room there."""


class NumberLine:
    """The drawn line; `show` moves the reading on it, or puts another site's lines in place.

    Its steps are equal ratios, not equal differences: the low readings, where a few units matter, get the room they need.

    Parameters
    ----------
    left, right, bottom : float
        Where the line stands. It takes 46 points below `bottom` and 64 above it.
    """

    def __init__(self, sheet: Sheet, left: float, right: float, bottom: float) -> None:
        self._left, self._right, self._bottom = left, right, bottom
        self._letter = sheet.size.small * 0.58
        self._zones = {}
        for zone, looks in _ZONES.items():
            name = zone.replace(" ", "-")
            drawn = sheet.shape(
                f"zone-{name}", corners(0, 0, 0, 0), lw=0.8, **{"ec": style.FAINT, "fc": "white"} | looks
            )
            words = sheet.text(f"zone-name-{name}", 0, 0, ha="center", fontweight="bold", bbox=style.WHITE)
            self._zones[zone] = (drawn, words)
        sheet.shape(None, corners(left, bottom, right - left, _HIGH), fill=False, ec=style.INK, lw=1.2)
        self._ticks = [sheet.text(f"tick-{at}", 0, 0, ha="center") for at in range(10)]
        self._lines = {}
        for name in ("hold", "serious", "report", "urgent", "near-low"):
            line = sheet.line(f"line-{name}", lw=1.6, ls=(0, (2, 1.5)) if name == "serious" else "-")
            self._lines[name] = (line, sheet.text(f"line-name-{name}", 0, 0))
        self._stroke = sheet.line("reading-stroke", lw=3, solid_capstyle="butt")
        self._band = sheet.line("allowance", lw=2.2, solid_capstyle="butt")
        self._marker = sheet.shape("reading-marker", fc=style.INK)
        self._reading = sheet.text("reading", 0, 0, fontsize=sheet.size.words, ha="center", fontweight="bold")

    def place(self, glucose: Glucose) -> float:
        """Return where a glucose stands, in points."""
        return self._left + ratio_share(glucose, LOWEST, HIGHEST) * (self._right - self._left)

    def show_site(self, moving: Moving, site: Site) -> None:
        """Put a site's lines in place, in its unit."""
        unit, bottom = site.glucose_unit, self._bottom
        ticks = ((number_text(value), (self.place(Glucose(value, unit)), bottom - 8)) for value in _TICKS[unit])
        moving.label(self._ticks, ticks)
        near = site.near_low_line
        low, high = self._at(site.hold_line), self._at(site.report_line)
        give = low if near is None else self._at(near)
        top = self.place(Glucose(site.meter_high.value, site.meter_high.unit))  # type: ignore[arg-type]
        urgent = top if site.urgent_high_line is None else min(self._at(site.urgent_high_line), top)
        names = (
            say("hold and treat"),
            say(_NEAR_LOW[site.near_low_answer.value]),
            say("give"),
            say("report"),
            say("ask now"),
            say("HI: check"),
        )
        ends = pairwise((self._left, low, give, high, urgent, top, self._right))
        for (zone, words), (start, end), name in zip(self._zones.values(), ends, names, strict=True):
            moving.set(zone, xy=corners(start, bottom, end - start, _HIGH))
            middle = ((start + end) / 2, bottom + _HIGH / 2)
            fits = len(name) * self._letter <= end - start + _OVER
            moving.set(words, text=name if end > start and fits else "", position=middle)
        self._show_line(moving, "hold", site.hold_line, say("low: "), 2)
        self._show_line(moving, "serious", site.level_2_line, say("serious low: "), 3)
        self._show_line(moving, "report", site.report_line, "", 2)
        self._show_line(moving, "urgent", site.urgent_high_line, "", 1)
        self._show_line(moving, "near-low", near, "", 1)

    def _at(self, line: Threshold) -> float:
        return self.place(Glucose(line.value, line.unit))

    def _show_line(self, moving: Moving, name: str, line: Threshold | None, meaning: str, row: int) -> None:
        drawn, words = self._lines[name]
        if line is None:
            moving.hide(drawn, words)
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
        bottom, middle = self._bottom, (self._left + self._right) / 2
        if at is None:
            moving.hide(self._marker, self._stroke)
        else:
            x = middle = self.place(at)
            moving.set(self._marker, xy=((x, bottom - 15), (x - 6, bottom - 27), (x + 6, bottom - 27)))
            moving.set(self._stroke, data=((x, x), (bottom, bottom + _HIGH)))
        if at is None or allowance is None:
            moving.hide(self._band)
        else:
            low, high = map(self.place, allowance)
            ends = np.array([low, low, np.nan, low, high, np.nan, high, high])
            moving.set(self._band, data=(ends, bottom - 22 + np.array([-5, 5, 0, 0, 0, 0, -5, 5])))
        room = len(words) * 3.9
        place = (min(max(middle, self._left + room), self._right - room), bottom - 37)
        moving.set(self._reading, text=words, position=place)


def ratio_share(glucose: Glucose, lowest: Glucose, highest: Glucose) -> float:
    """Return which part of a line lies below a glucose; equal ratios get equal room, and what lies beyond stands at an end."""
    low, high, value = (math.log(max(one.to("mg/dL").value, 1)) for one in (lowest, highest, glucose))
    return min(max((value - low) / (high - low), 0), 1)
