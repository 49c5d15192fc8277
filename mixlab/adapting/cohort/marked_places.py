"""The marked places of the notebooks: where the prose states a value of the ward, and what another site says there.

A place stands in Markdown as ``<!--site:hold_line-->below 70 mg/dL<!--/site-->``; the lab shows what is between the marks.
Some places are empty on the teaching site: another says something there that its policy adds.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from functools import partial
from itertools import groupby

from mixlab.care.dosing import CannotPrepare, choose_syringe
from mixlab.care.order.lesson import ban_on_the_lesson
from mixlab.facts.reading import the_facts
from mixlab.facts.records import Span
from mixlab.quantities import ClockTime, Glucose, minutes_text, number_text, units_text
from mixlab.ward.insulin import insulins
from mixlab.ward.meal import Meal
from mixlab.ward.meter import allowance
from mixlab.ward.site.glucose_lines import crosses, line_text
from mixlab.ward.site.record import Site
from mixlab.ward.syringe import Syringe
from mixlab.words import Voice, counted, speaking

MARKED_PLACE = re.compile(r"(?P<open><!--site:(?P<name>[a-z0-9_]+)-->)(?P<said>.*?)(?P<close><!--/site-->)", re.DOTALL)
"""A marked place of the prose."""

_BEFORE_THE_MEAL = 30  # minutes, as the order of the lessons has it
_METER_OFF = Glucose(the_facts().bedside["meter_allowance_mg_dl"].value, "mg/dL")
_CLEAR, _SUM = 8, 28  # units, the marks of the order of the lessons


class UnknownPlace(ValueError):
    """A marked place that no site says anything for."""


def fill_places(text: str, site: Site) -> str:
    """Return Markdown with every marked place as a site says it, in English and in the words of the teaching site.

    Raises
    ------
    UnknownPlace
        For a name that is not in `MARKED_PLACES`.
    """
    with speaking(Voice(numbers=site.numbers.value)):
        return MARKED_PLACE.sub(partial(_filled, site), text)


def _filled(site: Site, place: re.Match[str]) -> str:
    if place["name"] not in MARKED_PLACES:
        raise UnknownPlace(f"No site says anything for {place['name']!r}: name one of {', '.join(MARKED_PLACES)}.")
    return f"{place['open']}{MARKED_PLACES[place['name']](site)}{place['close']}"


def _bare(glucose: Glucose, site: Site) -> str:
    return str(glucose.to(site.glucose_unit)).split(" ")[0]


def _next_up(glucose: Glucose) -> Glucose:
    return Glucose(glucose.value + (1 if glucose.unit == "mg/dL" else 0.1), glucose.unit)


def _quiet(site: Site, glucose: Glucose) -> bool:
    """Say whether a reading crosses no line of a site."""
    lines = (site.hold_line, site.near_low_line, site.report_line)
    return not any(line is not None and crosses(glucose, line) for line in lines)


def _usual(site: Site, *wanted: float) -> str:
    """Return the first of some readings in mg/dL that no rule asks about, or else one half-way between the lines."""
    for value in (*wanted, 120):
        if _quiet(site, Glucose(value, "mg/dL")):
            return _bare(Glucose(value, "mg/dL"), site)
    low = max(line.value for line in (site.hold_line, site.near_low_line) if line is not None)
    return _bare(Glucose((low + site.report_line.value) / 2, site.glucose_unit), site)


def _high(site: Site) -> str:
    report, urgent, first = site.report_line, site.urgent_high_line, site.readings_beside(site.report_line)[0]
    past = Glucose(report.value, report.unit).to("mg/dL").value + 20
    readings = (Glucose(320, "mg/dL"), Glucose(past, "mg/dL"), first)
    reported = (one for one in readings if crosses(one, report) and not (urgent and crosses(one, urgent)))
    return _bare(next(reported, first), site)


def _off(end: int) -> Callable[[Site], str]:
    return lambda site: _bare(allowance(site.first_not_low())[end], site)


def _near_low_note(site: Site) -> str:
    if site.near_low_line is None:
        return ""
    line, answer = line_text(site.near_low_line), site.near_low_answer.value
    return f" A reading that is not low but {line} is near a low: the answer there is *{answer}*."


# Syringes


def _syringe(clear: float, total: float, site: Site) -> Syringe | None:
    try:
        return choose_syringe(clear, total, site)
    except CannotPrepare:
        return None


def _line(syringe: Syringe) -> str:
    step = syringe.graduation_units
    return {0.5: "half unit", 1: "unit"}.get(step) or str(units_text(step))


def _size(syringe: Syringe) -> str:
    return f"{number_text(syringe.capacity_units / 100)} mL"


def _named(clear: float, total: float) -> Callable[[Site], str]:
    def name(site: Site) -> str:
        syringe = _syringe(clear, total, site)
        if syringe is None:
            return "no syringe of this ward will do, ask the prescriber"
        return f"the {_size(syringe)} syringe with a line every {_line(syringe)}"

    return name


def _cupboard(site: Site) -> str:
    by_size = sorted(site.stock, key=lambda syringe: (syringe.capacity_units, syringe.graduation_units))
    rows = []
    for capacity, alike in groupby(by_size, key=lambda syringe: syringe.capacity_units):
        each = list(alike)
        numbered = units_text(each[0].numbered_every_units)
        rows.append(
            f"{_size(each[0])} ({units_text(capacity)}) | {', or '.join(map(_line, each))} | {numbered}",
        )
    return " |\n| ".join(rows)


def _held(site: Site) -> Syringe:
    """Return the syringe for the order of the lessons; every stock has one."""
    return choose_syringe(_CLEAR, _SUM, site)


def _first_syringe(site: Site) -> str:
    syringe = _held(site)
    return f"{_size(syringe)}, has a line every {_line(syringe)} and a number every {syringe.numbered_every_units}"


def _numbers(site: Site) -> tuple[int, int]:
    """Return the number below the first mark and the one above the second."""
    every = _held(site).numbered_every_units
    return _CLEAR // every * every, -(-_SUM // every) * every


def _lines(site: Site, units: float) -> str:
    count = units / _held(site).graduation_units
    return f"{number_text(count)} line{'' if count == 1 else 's'}"


# Technique


def _air_note(site: Site) -> str:
    if site.air.value == "as much as the dose":
        return ""
    return " (Your ward gives no air into the vials: there these steps fall away.)"


def _push_back_note(site: Site) -> str:
    return "" if site.push_back.value == "allowed" else " Yours does not: discard and start again."


# Action times


def _span(span: Span | None, *, minutes: bool = False) -> str:
    if span is None:
        return "no fixed time"
    ends = [number_text(end * 60 if minutes else end) for end in dict.fromkeys((span.low, span.high))]
    return "–".join(map(str, ends))


def _starts(site: Site, insulin: str) -> str:
    span = site.times(insulins()[insulin]).onset
    if span is not None and span.high <= 1:
        return f"{_span(span, minutes=True)} minutes"
    return f"{_span(span)} hours"


# The day


def _meal(site: Site, name: str) -> Meal:
    return next((meal for meal in site.meals if meal.is_called(name)), site.meals[0])


def _dose_at(site: Site, meal: str = "breakfast") -> ClockTime:
    return _meal(site, meal).clock.later(-_BEFORE_THE_MEAL)


def _taught_at(site: Site, insulin: str, given: ClockTime) -> str:
    peak = site.times(insulins()[insulin]).peak
    if peak is None:
        return "at no fixed time"
    first, last = (given.later(60 * hours).face for hours in (peak.low, peak.high))
    return f"at {first}" if first == last else f"from {first} to {last}"


def _both_from(site: Site) -> str:
    starts = [site.times(insulins()[each]).onset for each in ("regular", "nph")]
    return _dose_at(site).later(60 * max(span.low for span in starts if span is not None)).face


def _regular_until(site: Site) -> str:
    lasts = site.times(insulins()["regular"]).duration
    return "the afternoon" if lasts is None else _dose_at(site).later(60 * lasts.high).face


def _listed(parts: list[str]) -> str:
    return f"{', '.join(parts[:-1])} and {parts[-1]}" if len(parts) > 1 else "".join(parts)


def _clock(minutes: Callable[[Site], float], meal: str = "breakfast") -> Callable[[Site], str]:
    return lambda site: _dose_at(site, meal).later(minutes(site)).face


MARKED_PLACES: Mapping[str, Callable[[Site], str]] = {
    "name": lambda site: str(site.name),
    "glucose_unit": lambda site: site.glucose_unit,
    "hold_line": lambda site: str(site.hold_text),
    "level_2_line": lambda site: str(line_text(site.level_2_line)),
    "above_the_line": lambda site: _bare(_next_up(site.first_not_low()), site),
    "first_not_low": lambda site: _bare(site.first_not_low(), site),
    "last_low": lambda site: _bare(site.last_low(), site),
    "serious_low": lambda site: _bare(site.readings_beside(site.level_2_line)[0], site),
    "low_reading": lambda site: str(site.last_low()),
    "usual_reading": lambda site: _usual(site, 120),
    "good_reading": lambda site: _usual(site, 98, 120),
    "high_reading": _high,
    "found_reading": lambda site: _bare(Glucose(61, "mg/dL"), site),
    "may_be_low": _off(0),
    "may_be_high": _off(1),
    "meter_off": lambda site: str(_METER_OFF.to(site.glucose_unit)),
    "near_low_note": _near_low_note,
    "urgent_note": lambda site: (
        f" A reading {line_text(line)} is urgent: hold and ask now." if (line := site.urgent_high_line) else ""
    ),
    "carbohydrate": lambda site: f"{number_text(site.carbohydrate.value)} g",
    "serious_carbohydrate": lambda site: f"{number_text(site.serious_carbohydrate.value)} g",
    "oral_treatments": lambda site: str(
        counted(site.oral_treatments.value, "{count} time", "{count} times", count=site.oral_treatments.value)
    ),
    "recheck": lambda site: str(minutes_text(site.recheck.value)),
    "earlier_low": lambda site: str(minutes_text(60 * site.earlier_low.value)),
    "cupboard": _cupboard,
    "first_syringe": _first_syringe,
    "barrel": lambda site: str(units_text(_held(site).capacity_units)),
    "number_below": lambda site: str(_numbers(site)[0]),
    "number_above": lambda site: str(_numbers(site)[1]),
    "lines_past": lambda site: _lines(site, _CLEAR - _numbers(site)[0]),
    "lines_short": lambda site: _lines(site, _numbers(site)[1] - _SUM),
    "syringe_for_14_26": _named(14, 40),
    "syringe_for_16_44": _named(16, 60),
    "syringe_for_15_40": _named(15, 55),
    "syringe_for_half": _named(4.5, 18.5),
    "syringe_for_12_30": _named(12, 42),
    "pair_note": lambda site: f" {ban}" if (ban := ban_on_the_lesson(site)) else "",
    "air_note": _air_note,
    "push_back_note": _push_back_note,
    "waiting": lambda site: str(minutes_text(site.waiting.value)),
    "regular_starts": lambda site: _starts(site, "regular"),
    "regular_strongest": lambda site: _span(site.times(insulins()["regular"]).peak),
    "regular_lasts": lambda site: _span(site.times(insulins()["regular"]).duration),
    "nph_starts": lambda site: _starts(site, "nph"),
    "nph_strongest": lambda site: _span(site.times(insulins()["nph"]).peak),
    "nph_lasts": lambda site: _span(site.times(insulins()["nph"]).duration),
    "meals": lambda site: ", ".join(f"{meal.name} at {meal.at}" for meal in site.meals),
    "rounds": lambda site: _listed(list(site.rounds.at)),
    "breakfast_at": lambda site: _meal(site, "breakfast").at,
    "dose_at": _clock(lambda _: 0),
    "draw_up_from": _clock(lambda site: -site.waiting.value),
    "eat_from": _clock(lambda site: site.meal_lead.value - site.meal_slack.value),
    "eat_until": _clock(lambda site: site.meal_lead.value + site.meal_slack.value),
    "regular_at": lambda site: _taught_at(site, "regular", _dose_at(site)),
    "nph_at": lambda site: _taught_at(site, "nph", _dose_at(site)),
    "regular_until": _regular_until,
    "both_from": _both_from,
    "late_tray": _clock(lambda _: 90),
    "early_tray": _clock(lambda _: 5),
    "late_lunch": lambda site: _meal(site, "lunch").clock.later(120).face,
    "supper_dose_at": _clock(lambda _: 0, "supper"),
    "night_peak": lambda site: _taught_at(site, "nph", _dose_at(site, "supper")),
    "dose_late": _clock(lambda _: 50),
    "mixed_early": _clock(lambda site: -site.waiting.value - 5),
    "mixed_ago": lambda site: str(minutes_text(site.waiting.value + 5)),
    "four_hours_on": _clock(lambda _: 240),
    "ten_hours_on": _clock(lambda _: 600),
}
"""What a site says in each marked place, by its name. Readings stand without their unit where the sentence names it."""
