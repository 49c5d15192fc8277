"""The controls of the bedside panel: what is found, and whose policy decides."""

from __future__ import annotations

from collections.abc import Iterable
from functools import partial
from typing import Any

import ipywidgets as widgets

from mixlab.care.decision.swallowing import sign_text
from mixlab.facts.reading import the_facts
from mixlab.pages.labels import text_html
from mixlab.panels.rows import choices, row
from mixlab.quantities import Glucose, GlucoseUnit, number_text
from mixlab.screen.frame import CarriedText, PanelFrame
from mixlab.screen.panel import Panel
from mixlab.ward.meter import ends_of_range
from mixlab.ward.observation import OffScale
from mixlab.ward.order.order import Order
from mixlab.ward.site.record import Site
from mixlab.words import say

from .words import AGES, ALERT, ALONE, EARLIER, LAST_DOSE, MEALS, NO_READING, SWALLOW, BedsideState


class BedsideControls(Panel):
    """The bedside panel's controls; `Bedside` decides by them.

    Attributes
    ----------
    reading : ipywidgets.Text
        The reading as typed: a number in the first site's unit, a number with its unit, HI or LO.
    slider : ipywidgets.SelectionSlider
        The same within the meter's range.
    age, meal, alertness, swallow, last_dose, earlier : ipywidgets controls
        One choice each; the words are the keys of the tables of what they mean.
    signs : dict of str to ipywidgets.Checkbox
        Every sign of the facts.
    looked : ipywidgets.Checkbox
        Whether anybody has looked for signs.
    changed, says_give : ipywidgets.Checkbox
        State new or changed; the prescriber was told and says give.
    site, beside : ipywidgets.Dropdown
        Whose policy, by name.
    """

    state: BedsideState
    _order: Order
    _sites: dict[str, Site]

    def _make_controls(self) -> None:
        state = self.state
        self.reading = CarriedText(continuous_update=False, layout={"width": "110px"})
        self.slider = widgets.SelectionSlider(options=[0], readout=False, layout={"width": "auto", "flex": "1 1 120px"})
        self.age = self._choice("age", [*AGES, NO_READING], width="150px")
        self.meal = self._choice("meal", MEALS, width="150px")
        self.alertness = self._choice("alertness", ALERT, width="150px")
        self.swallow = self._choice("swallow", SWALLOW, width="100px")
        self.last_dose = self._choice("last_dose", LAST_DOSE, width="210px")
        self.earlier = self._choice("earlier", EARLIER, width="190px")
        self.changed, self.says_give = _tick(say("new or changed state")), _tick(say("{prescriber} told, says give"))
        self.looked = _tick(say("looked for"), ticked=True)
        self.signs = {key: _tick(str(sign_text(key))) for key in the_facts().signs}
        names = list(self._sites)
        self.site = widgets.Dropdown(options=names, value=state.site.name, layout={"width": "220px"})
        self.beside = widgets.Dropdown(
            options=[(say("no second site"), ALONE), *((name, name) for name in names)],
            value=state.beside.name if state.beside else ALONE,
            layout={"width": "220px"},
        )
        fields = ("age", "meal", "alertness", "swallow", "last_dose", "earlier", "changed", "says_give")
        for field in fields:
            self.when(getattr(self, field), partial(self._set_field, field))
        self.controls = {"glucose": self.reading} | {field: getattr(self, field) for field in fields}
        self.controls |= {"looked": self.looked, "signs": self.signs, "site": self.site, "beside": self.beside}
        self._name_controls()

    def _set_field(self, field: str, value: Any) -> None:
        """Take what one control says into the state."""
        raise NotImplementedError

    def _name_controls(self) -> None:
        names = {
            "reading": say("Glucose before the dose, as the meter shows it"),
            "slider": say("Glucose before the dose"),
            "age": say("The reading is"),
            "meal": say("Meal"),
            "alertness": say("Alertness"),
            "swallow": say("Swallowing"),
            "last-dose": say("Last dose"),
            "earlier": say("Earlier readings"),
            "signs": say("Signs of a low"),
            "site": say("Whose policy"),
            "beside": say("Beside it"),
        }
        self._frame = PanelFrame({f"mixlab-bedside-{key}": words for key, words in names.items()})
        for key in names:
            if key != "signs":
                getattr(self, key.replace("-", "_")).add_class(f"mixlab-bedside-{key}")

    def _choice(self, field: str, options: Iterable[str], *, width: str) -> widgets.Dropdown:
        return widgets.Dropdown(options=choices(options), value=getattr(self.state, field), layout={"width": width})

    def _rows(self) -> list[widgets.Widget]:
        """Return the controls in the order in which a nurse asks."""
        facts = the_facts().signs
        groups = [
            row(*(self.signs[key] for key, sign in facts.items() if sign.group == group), gap="0 10px")
            for group in ("autonomic", "neuroglycopenic")
        ]
        signs = row(say("Signs of a low:"), self.looked, *groups)
        signs.add_class("mixlab-bedside-signs")
        return [
            row(say("Order:"), widgets.HTML(text_html(str(self._order)))),
            row(
                *(say("Glucose:"), self.reading, self.slider, self.age),
                *(say("Meal:"), self.meal, say("Alertness:"), self.alertness),
            ),
            signs,
            row(
                *(say("Swallowing:"), self.swallow, say("Last dose:"), self.last_dose),
                *(say("Earlier:"), self.earlier, self.changed, self.says_give),
            ),
            row(say("Policy of:"), self.site, say("beside"), self.beside),
        ]

    def _settle_controls(self, *, typed: bool) -> None:
        """Let every control say what the state says; the reading as typed stays if it is not meant yet."""
        state, unit = self.state, self.state.site.glucose_unit
        self._settle_slider()
        if typed:
            self.reading.value = _typed(state.reading, unit)
        self.age.value = state.age
        self.looked.value = state.signs is not None

    def _settle_slider(self) -> None:
        state, unit = self.state, self.state.site.glucose_unit
        step = 10 if unit == "mmol/L" else 1
        low, high = ends_of_range(state.site)
        options = tuple(
            count / step if step > 1 else count for count in range(round(low * step), round(high * step) + 1)
        )
        if options != self.slider.options:
            self.slider.options = options
            readings = [f"{number_text(value)} {unit}" for value in options]
            self._frame.readings = {"mixlab-bedside-slider": readings}
        ends = {"LO": low, "HI": high}
        reading = state.reading
        value = float(reading.to(unit).shown()) if isinstance(reading, Glucose) else ends[reading]
        self.slider.value = min(max(value, low), high)


def _tick(words: str, *, ticked: bool = False) -> widgets.Checkbox:
    return widgets.Checkbox(value=ticked, description=words, indent=False, layout={"width": "auto"})


def _typed(reading: Glucose | OffScale, unit: GlucoseUnit) -> str:
    """Return a reading as a person types it; its unit is named where it is not the meter's."""
    if not isinstance(reading, Glucose):
        return reading
    return str(reading.shown()) if reading.unit == unit else f"{reading.shown()} {reading.unit}"
