"""A patient at the bedside: how things stand, by the names that the steps know, and what fills the places of sentences."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache

from mixlab.facts.decision_rows import Standing
from mixlab.facts.reading import the_facts
from mixlab.facts.records import Threshold
from mixlab.quantities import Glucose, units_text
from mixlab.ward.observation import Observation
from mixlab.ward.order.order import Dose, Order
from mixlab.ward.site.glucose_lines import line_text
from mixlab.ward.site.record import Site
from mixlab.words import TERMS, Sentence, joined, sentence
from mixlab.words.translations import places

from .answers import says_give
from .readings import earlier_lows, look_at, too_early
from .swallowing import Mouth, awake, eats, feels, felt, mouth, no_meal

_BY_MOUTH: Mapping[Mouth, Standing] = {"safe": "by mouth", "see first": "see first", "nothing": "nothing by mouth"}


@dataclass(frozen=True, kw_only=True)
class AtBedside:
    """A patient for whom a dose is ordered, on one ward.

    Attributes
    ----------
    order : Order
        The dose in question.
    observation : Observation
        What was found.
    site : Site
        The ward.
    parts : frozenset of str
        The pieces of sentences that the rules ask for.
    """

    order: Order
    observation: Observation
    site: Site
    parts: frozenset[str] = frozenset()

    @cached_property
    def standing(self) -> frozenset[Standing]:
        """How things stand, as decisions.toml names it. A number whose unit is in doubt is neither high nor not."""
        seen, reading = self.observation, look_at(self.observation.glucose, self.site)
        way, signs = mouth(seen), felt(seen)
        sure = not reading.doubted
        treated = seen.treated_as_low or seen.minutes_after_treatment is not None or seen.food_due
        after_a_low = treated or bool(earlier_lows(seen, self.site))
        high, enough = sure and reading.high, sure and reading.high_with_signs
        named: dict[Standing, bool] = {
            _BY_MOUTH[way]: True,
            "urgent signs": feels(seen, "urgent"),
            "not awake": not awake(seen),
            "drowsy": "drowsiness" in signs,
            "no food by mouth": way == "nothing" or seen.fasting,
            "fasting": seen.fasting,
            "vomiting": seen.vomiting,
            "not eating": seen.eating is False,
            "serious": reading.serious,
            "high": high,
            "high below the line": enough and not high,
            "too high for a low": enough,
            "awake and too high": enough and way != "nothing",
            "signs": bool(signs) and reading.not_low,
            "told": says_give(seen),
            "eats": eats(seen),
            "no meal": no_meal(seen),
            "too early": too_early(seen, self.site),
            "tray first": after_a_low or reading.near_low,
            "each draw checked": self.site.second_check.value == "each draw",
            "syringe checked": self.site.second_check.value == "once, at the end",
            "short-acting": self.order.clear.insulin.row.group == "short-acting",
        }
        return frozenset(name for name, so in named.items() if so)

    def fill(self, words: Sentence, **more: object) -> Sentence:
        """Return a sentence of a table with its places filled: by `more`, or as things stand here."""
        names = _filled_places(words.key)
        if not names:
            return words
        return words.filled(**{name: more[name] if name in more else self._value(name) for name in names})

    def _value(self, place: str) -> object:
        return _PLACES[place](self) if place in _PLACES else _of_a_call(place)


@lru_cache(maxsize=4096)
def _filled_places(text: str) -> tuple[str, ...]:
    """Return the places of a sentence that care fills, in the order of the alphabet; the ward's own terms are not among them."""
    return tuple(sorted(name for name in places(text) if name.lower() not in TERMS))


def stands(standing: frozenset[Standing], when: Sequence[Standing], unless: Sequence[Standing]) -> bool:
    """Say whether all of `when` stands so and nothing of `unless`."""
    return standing.issuperset(when) and standing.isdisjoint(unless)


def _dose(dose: Dose) -> Sentence:
    """Return a dose as it stands in a step: ``"regular insulin 8 units"``."""
    return joined((dose.insulin.name, units_text(dose.units)), " ")


def _all_of(dose: Dose) -> Sentence:
    return the_facts().phrases["all-of"].text.filled(amount=units_text(dose.units), insulin=dose.insulin.name)


def _text_of(line: Threshold | None) -> Sentence:
    """Return a line that a ward may do without in words; nothing where it does."""
    return line_text(line) if line else Sentence("")


def _treated_below(site: Site) -> Sentence:
    """Return the line below which a ward treats: its hold line, or the one near a low if it treats there too."""
    near = site.near_low_line if site.near_low_answer.value == "treat" else None
    return line_text(near) if near else site.hold_text


def _pieces(at: AtBedside, place: str) -> list[Sentence]:
    """Return the pieces that fill a place; those of what to look for are said whoever asks."""
    return [
        at.fill(row.text)
        for key, row in the_facts().parts.items()
        if row.fills == place and (place == "signs" or key in at.parts) and stands(at.standing, (), row.unless)
    ]


def _signs(at: AtBedside) -> Sentence:
    *first, last = _pieces(at, "signs")
    return joined((joined(first), last), sentence(" and ")) if first else last


def _of_a_call(place: str) -> object:
    """Return the line, the hours or the words of a notify row: ``several_lows_call`` names it and what is wanted of it."""
    name, _, what = place.rpartition("_")
    row = the_facts().notify[name.replace("_", "-")]
    return {"line": Glucose(row.value, row.unit), "hours": row.within_hours, "call": row.do.after_a_colon()}[what]


_PLACES: Mapping[str, Callable[[AtBedside], object]] = {
    "carbohydrate": lambda at: at.site.carbohydrate.value,
    "serious_carbohydrate": lambda at: at.site.serious_carbohydrate.value,
    "recheck": lambda at: at.site.recheck.value,
    "oral_treatments": lambda at: at.site.oral_treatments.value,
    "lead": lambda at: at.site.meal_lead.value,
    "hold_line": lambda at: _treated_below(at.site),
    "line": lambda at: line_text(at.site.report_line),
    "urgent_line": lambda at: _text_of(at.site.urgent_high_line),
    "near_line": lambda at: _text_of(at.site.near_low_line),
    "protocol": lambda _: the_facts().phrases["protocol"].text,
    "measure": lambda at: at.observation.glucose.unit if isinstance(at.observation.glucose, Glucose) else "",
    "clear": lambda at: at.order.clear.insulin.name,
    "cloudy": lambda at: at.order.cloudy.insulin.name,
    "clear_dose": lambda at: _dose(at.order.clear),
    "cloudy_dose": lambda at: _dose(at.order.cloudy),
    "all_clear": lambda at: _all_of(at.order.clear),
    "all_cloudy": lambda at: _all_of(at.order.cloudy),
    "signs": _signs,
    "who": lambda at: joined(_pieces(at, "who"), sentence(" and ")),
    "report": lambda at: joined(_pieces(at, "report"), "; "),
}
"""What stands in the places of the steps, the pieces of sentences, the conditions, and what is due; else see `_of_a_call`."""
