"""The action model held against every figure that a study measured; where it misses, it says by how much.

The studies stand in facts/trials.toml. They differ among themselves, and no single marker for the end
fits them all, so an end is also shown at the fasting need.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from itertools import groupby
from textwrap import wrap

from mixlab.facts.records import Moment, TrialRow
from mixlab.facts.shelf import shelf
from mixlab.quantities import number_text, units_text
from mixlab.words import mark, say

from .study_questions import MEASURES, Asked


@dataclass(frozen=True, kw_only=True)
class Comparison:
    """One figure of a study beside the model's.

    Attributes
    ----------
    trial : TrialRow
        What the study measured.
    model : float or None
        The model's figure in the unit of the study; None if the action never gets there.
    at_need : float or None
        For an end, the model's hour at which the action last falls through the fasting need; otherwise None.
    """

    trial: TrialRow
    model: float | None
    at_need: float | None = None

    @property
    def inside(self) -> bool:
        """Whether the model lies within the spread of the study."""
        return self.off == 0

    @property
    def inside_at_need(self) -> bool:
        """Whether the model's end at the fasting need lies within the spread of the study."""
        return self.at_need is not None and self.trial.low <= self.at_need <= self.trial.high

    @property
    def off(self) -> float | None:
        """How far outside the spread, in the unit of the study: below 0 before its low end; None without a model figure."""
        if self.model is None:
            return None
        return min(self.model - self.trial.low, 0.0) + max(self.model - self.trial.high, 0.0)

    @property
    def deviations(self) -> float | None:
        """How many standard deviations from the value of the study; None where its spread is something else."""
        if self.model is None or self.trial.spread != "one SD":
            return None
        return 2 * (self.model - self.trial.value) / (self.trial.high - self.trial.low)

    @property
    def verdict(self) -> str:
        """Whether inside, or outside by how much and which way, in words."""
        if self.off is None:
            return say("OUTSIDE: never reached")
        far = ""
        if self.deviations is not None:
            far = say(" ({deviations} SD from the study)", deviations=_short(abs(self.deviations)))
        if self.inside:
            return f"{say('inside')}{far}"
        way = _WAYS.get(self.trial.moment, _LOW_OR_HIGH)[self.off > 0]
        measure = say("points") if self.trial.unit == "%" else say(_UNITS[self.trial.unit])
        return f"{say(way, amount=_short(abs(self.off)), measure=measure)}{far}"

    @property
    def need_verdict(self) -> str:
        """What the end at the fasting need is worth, in words; empty for what is no end."""
        if self.trial.moment != "end":
            return ""
        return f"{_short(self.at_need)}, {say('inside') if self.inside_at_need else say('OUTSIDE')}"

    def __str__(self) -> str:
        verdict = self.verdict
        if self.need_verdict:
            verdict += say("; at the fasting need {verdict}", verdict=self.need_verdict)
        return say(
            "{dose}, {moment}: study {study}; model {model}; {verdict}. {source}.",
            dose=_dose(self.trial),
            moment=say(_MOMENTS[self.trial.moment]),
            study=_study(self.trial),
            model=_short(self.model),
            verdict=verdict,
            source=shelf().cite(self.trial),
        )


_LOW_OR_HIGH = (mark("OUTSIDE by {amount} {measure}, too low"), mark("OUTSIDE by {amount} {measure}, too high"))
_EARLY_OR_LATE = (mark("OUTSIDE by {amount} {measure}, too early"), mark("OUTSIDE by {amount} {measure}, too late"))
_SHORT_OR_LONG = (mark("OUTSIDE by {amount} {measure}, too short"), mark("OUTSIDE by {amount} {measure}, too long"))
_WAYS: dict[Moment, tuple[str, str]] = {
    **dict.fromkeys(("onset", "peak", "plasma peak", "half height from", "half height to"), _EARLY_OR_LATE),
    **dict.fromkeys(("end", "T50"), _SHORT_OR_LONG),
}
_MOMENTS: dict[Moment, str] = {
    "onset": mark("onset"),
    "peak": mark("peak"),
    "end": mark("end"),
    "plasma peak": mark("plasma peak"),
    "half height from": mark("half height from"),
    "half height to": mark("half height to"),
    "T50": mark("T50"),
    "absorbed by 1 h": mark("absorbed by 1 h"),
    "left at 175 min": mark("left at 175 min"),
    "24-hour ratio": mark("24-hour ratio"),
    "height at 1 h": mark("height at 1 h"),
    "action at 17 h": mark("action at 17 h"),
    "rise of level": mark("rise of level"),
    "variation of peak": mark("variation of peak"),
    "variation of peak time": mark("variation of peak time"),
    "variation of late half": mark("variation of late half"),
    "variation of area 0-12 h": mark("variation of area 0-12 h"),
    "variation of area 0-24 h": mark("variation of area 0-24 h"),
}
_UNITS = {
    "h": mark("h"),
    "%": mark("%"),
    "times": mark("times"),
    "units/h": mark("{units}/h"),
    "mU/L": mark("mU/L"),
    "pmol/L": mark("pmol/L"),
}
_SPREADS = {
    "one SD": mark("one SD"),
    "range": mark("range"),
    "span given": mark("span"),
    "not stated": mark("± not explained"),
    "our tolerance": mark("our tolerance"),
}
_KINDS = {"regular": mark("regular"), "nph": mark("NPH"), "mixture": mark("regular + NPH")}


def compare(trial: TrialRow) -> Comparison:
    """Return the model's figure beside that of a study.

    Raises
    ------
    NoModel
        For a dose or a place on the body without a model.
    NotAnAmount
        For a dose or a weight that is not a number above 0.
    """
    asked = Asked(trial=trial)
    curves = asked.curves
    at_need = curves.end(asked.part, curves.fasting_need) if trial.moment == "end" else None
    return Comparison(trial=trial, model=MEASURES[trial.moment](asked), at_need=at_need)


@cache
def scoreboard() -> tuple[Comparison, ...]:
    """Return every figure of every study beside the model's, in the order of the facts."""
    return tuple(compare(trial) for trial in shelf().trials.values())


def misses() -> tuple[Comparison, ...]:
    """Return the comparisons in which the model lies outside the spread of the study."""
    return tuple(each for each in scoreboard() if not each.inside)


def scoreboard_table() -> str:
    """Return the whole scoreboard as text for print(): each study with its source, each dose, a line for each figure."""
    rows = scoreboard()
    lines = [
        say(
            "{inside} of {figures} figures lie inside the spread of their study.",
            inside=len(rows) - len(misses()),
            figures=len(rows),
        ),
        say("No single marker for the end fits every study, so an end is also given at the fasting need."),
        say(
            "Doses of studies, not orders. The model: Berger–Rodbard form; numbers recalled, checked against these studies."
        ),
    ]
    cite = shelf().cite
    for citation, of_study in groupby(sorted(rows, key=lambda row: cite(row.trial)), key=lambda row: cite(row.trial)):
        lines += ["", citation]
        for given, figures in groupby(of_study, key=lambda row: (_dose(row.trial), row.trial.note)):
            dose, note = given
            said = ": ".join(part for part in (dose, note and say(note)) if part)
            lines += wrap(said, 110, initial_indent="  ", subsequent_indent="    ")
            lines += [line for figure in figures for line in _lines(figure)]
    return "\n".join(lines)


def _lines(row: Comparison) -> list[str]:
    moment, model = say(_MOMENTS[row.trial.moment]), say("model {figure}", figure=_short(row.model))
    lines = [f"    {moment:<25}{_study(row.trial):<36}{model:<13}{row.verdict}"]
    if row.need_verdict:
        at_need = say("  at the fasting need")
        lines.append(f"    {at_need:<61}{say('model {figure}', figure=row.need_verdict)}")
    return lines


def _study(trial: TrialRow) -> str:
    measure, spread = say(_UNITS[trial.unit]), say(_SPREADS[trial.spread])
    return f"{_short(trial.value)} {measure} ({_short(trial.low)}–{_short(trial.high)}, {spread})"


def _dose(trial: TrialRow) -> str:
    amounts = (" + " if trial.insulin == "mixture" else say(" and ")).join(number_text(units) for units in trial.units)
    shown = units_text(trial.units[0]) if len(trial.units) == 1 else say("{amounts} {units}", amounts=amounts)
    given = say("{dose} of {insulin}", dose=shown, insulin=say(_KINDS[trial.insulin]))
    return given if trial.body_site == "abdomen" else f"{given}, {say(shelf().body_sites[trial.body_site].name)}"


def _short(figure: float | None) -> str:
    return say("none") if figure is None else number_text(round(figure, 2 if abs(figure) < 10 else 1))
