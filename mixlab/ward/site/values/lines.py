"""Glucose lines in a site file: a number, a comparison and a unit."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, get_args

from mixlab.facts.reading import the_facts
from mixlab.facts.records import Threshold
from mixlab.files.faults import Fault, shown
from mixlab.quantities import Glucose, GlucoseUnit
from mixlab.ward.site.faults import SiteError
from mixlab.words import Sentence, sentence

from .amounts import ABOVE, BELOW, NOT_ASKED, a_number, glucose_unit_in, limits_text, no_number, outside
from .kind import OURS, Kind, refusal


@dataclass(frozen=True)
class Line(Kind):
    """A glucose line: value, unit and comparison; or none, where the ward may do without."""

    limits: str
    optional: bool = False

    @property
    def comparisons(self) -> tuple[str, ...]:
        """How a reading can cross this line."""
        return ABOVE if self.limits in ("report_line", "urgent_high_line") else BELOW

    def default(self, fact: Any) -> Threshold | None:
        return fact if isinstance(fact, Threshold) else None

    def read(self, written: object, old: Threshold | None, tables: Mapping[str, Any]) -> Threshold | None:
        if self.optional and written == NOT_ASKED:
            return None
        form = self._form(old, tables)
        if not isinstance(written, dict):
            raise refusal(sentence("{written} is not a glucose line", written=shown(written)), form)
        words = {"unit": get_args(GlucoseUnit), "comparison": self.comparisons}
        choose = {
            key: sentence("write one of {choices}", choices=", ".join(map(repr, each))) for key, each in words.items()
        }
        faults = [
            Fault(at=(key,), wrong=sentence("this part is missing"), allowed=allowed)
            for key, allowed in {"value": form, **choose}.items()
            if key not in written
        ]
        for key in (part for part in written if part not in ("value", *words)):
            wrong = sentence("no part of a line is called so")
            faults.append(Fault(at=(key,), wrong=wrong, allowed=sentence("write only value, unit and comparison")))
        value = a_number(written.get("value"))
        if "value" in written and (value is None or value <= 0):
            wrong = sentence("{written} is not a glucose", written=shown(written["value"]))
            faults.append(no_number(written["value"], wrong, sentence("write a number above 0"), "value"))
        for key, each in words.items():
            if key in written and written[key] not in each:
                wrong = sentence("{written} is not one of them", written=shown(written[key]))
                faults.append(Fault(at=(key,), wrong=wrong, allowed=choose[key]))
        if faults or value is None:
            raise SiteError(faults)
        return Threshold(value=value, unit=written["unit"], comparison=written["comparison"], **OURS)

    def _form(self, old: Threshold | None, tables: Mapping[str, Any]) -> Sentence:
        """Return how a line is written, with the line that there is as the example, in the glucose unit of the file."""
        usual = Glucose(the_facts().limits[self.limits].usual_high, "mg/dL")
        example = Glucose(old.value, old.unit) if old else usual
        unit = glucose_unit_in(tables) or example.unit
        return sentence(
            'write it as {{value = {value}, unit = "{measure}", comparison = "{comparison}"}}',
            value=str(example.to(unit).shown()),
            measure=unit,
            comparison=self.comparisons[0],
        )

    def plain(self, value: Threshold | None, measure: GlucoseUnit) -> object:
        if value is None:
            return NOT_ASKED
        return {"value": value.value, "unit": value.unit, "comparison": value.comparison}

    def allowed(self, measure: GlucoseUnit) -> Sentence:
        limits = limits_text(the_facts().limits[self.limits], measure)
        one, other = self.comparisons
        if self.optional:
            return sentence('{limits}, "{one}" or "{other}"; or "not asked for"', limits=limits, one=one, other=other)
        return sentence('{limits}, "{one}" or "{other}"', limits=limits, one=one, other=other)

    def faults(self, value: Threshold | None, reason: str) -> Fault | None:
        if value is None:
            return None
        if abs(float(Glucose(value.value, value.unit).shown()) - value.value) > 1e-9:
            wrong = sentence("{written} is finer than a meter shows", written=value.value)
            return Fault(at=("value",), wrong=wrong, allowed=sentence("write whole mg/dL, or mmol/L with one decimal"))
        return outside(value.value, the_facts().limits[self.limits], value.unit, reason)
