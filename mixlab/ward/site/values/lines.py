"""Glucose lines in a site file: a number, a comparison and a unit."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, cast, get_args

from mixlab.facts.records import Threshold
from mixlab.facts.shelf import shelf
from mixlab.files.faults import shown
from mixlab.quantities import Glucose, GlucoseUnit
from mixlab.ward.site.faults import Refused, Unsafe
from mixlab.words import Sentence, sentence

from .amounts import ABOVE, BELOW, NOT_ASKED, OURS, a_number, limits_text, no_number, outside


@dataclass(frozen=True, kw_only=True)
class Line:
    """A glucose line: value, unit and comparison; or none, where the ward may do without."""

    limits: str
    optional: bool = False

    @property
    def comparisons(self) -> tuple[str, ...]:
        """How a reading can cross this line."""
        return ABOVE if self.limits == "report_line" else BELOW

    def read(self, written: object, old: Threshold | None, tables: Mapping[str, Any]) -> Threshold | None:
        """Return the line written."""
        if self.optional and written == NOT_ASKED:
            return None
        if not isinstance(written, dict):
            wrong = sentence("{written} is not a glucose line", written=shown(written))
            raise Refused(("", wrong, self._form(old, tables)))
        known = ("value", "unit", "comparison")
        faults = [
            (key, sentence("this part is missing"), self._form(old, tables) if key == "value" else self._part(key))
            for key in known
            if key not in written
        ]
        faults += [
            (key, sentence("no part of a line is called so"), sentence("write only value, unit and comparison"))
            for key in written
            if key not in known
        ]
        value = a_number(written.get("value"))
        if "value" in written and (value is None or value <= 0):
            wrong = sentence("{written} is not a glucose", written=shown(written["value"]))
            faults.append(("value", *no_number(written["value"], wrong, sentence("write a number above 0"))))
        for key in ("unit", "comparison"):
            if key in written and written[key] not in (get_args(GlucoseUnit) if key == "unit" else self.comparisons):
                faults.append(
                    (key, sentence("{written} is not one of them", written=shown(written[key])), self._part(key))
                )
        if faults or value is None:
            raise Refused(*faults)
        return Threshold(value=value, unit=written["unit"], comparison=written["comparison"], **OURS)

    def _part(self, key: str) -> Sentence:
        choices = get_args(GlucoseUnit) if key == "unit" else self.comparisons
        return sentence("write one of {choices}", choices=", ".join(map(repr, choices)))

    def _form(self, old: Threshold | None, tables: Mapping[str, Any]) -> Sentence:
        """Return how a line is written, with the line that there is as the example, in the glucose unit of the file."""
        usual = Glucose(shelf().limits[self.limits].usual_high, "mg/dL")
        example = Glucose(old.value, old.unit) if old else usual
        named = tables.get("glucose_unit")
        unit = cast(GlucoseUnit, named if named in get_args(GlucoseUnit) else example.unit)
        return sentence(
            'write it as {{value = {value}, unit = "{measure}", comparison = "{comparison}"}}',
            value=str(example.to(unit).shown()),
            measure=unit,
            comparison=self.comparisons[0],
        )

    def plain(self, value: Threshold | None, measure: GlucoseUnit) -> object:
        """Return the line as a file holds it."""
        if value is None:
            return NOT_ASKED
        return {"value": value.value, "unit": value.unit, "comparison": value.comparison}

    def allowed(self, measure: GlucoseUnit) -> Sentence:
        """Return which lines are allowed."""
        limits = limits_text(shelf().limits[self.limits], measure)
        one, other = self.comparisons
        if self.optional:
            return sentence('{limits}, "{one}" or "{other}"; or "not asked for"', limits=limits, one=one, other=other)
        return sentence('{limits}, "{one}" or "{other}"', limits=limits, one=one, other=other)

    def faults(self, value: Threshold | None, reason: str) -> Unsafe | None:
        """Return what is wrong with a line that is finer than a meter, outside its limits, or unusual without a reason."""
        if value is None:
            return None
        if abs(float(Glucose(value.value, value.unit).shown()) - value.value) > 1e-9:
            wrong = sentence("{written} is finer than a meter shows", written=value.value)
            return Unsafe("value", wrong, sentence("write whole mg/dL, or mmol/L with one decimal"))
        return outside(value.value, shelf().limits[self.limits], value.unit, reason)
