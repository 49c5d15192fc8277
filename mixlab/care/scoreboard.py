"""The action model held against every figure that a study measured; where it misses, it says by how much.

The studies stand in facts/trials.toml. They differ among themselves, and no single marker for the end
fits them all, so an end is also shown at the fasting need.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from itertools import groupby
from textwrap import wrap

from ..facts.record import Moment, TrialRow
from ..facts.shelf import shelf
from ..quantities import number_text, units_text
from ..words import say
from .asked import MEASURES, Asked


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
        far = "" if self.deviations is None else say(" ({short} SD from the study)", short=_short(abs(self.deviations)))
        if self.inside:
            return say("inside{far}", far=far)
        way = _WAYS.get(self.trial.moment, ("low", "high"))[self.off > 0]
        unit = "points" if self.trial.unit == "%" else self.trial.unit
        return say(
            "OUTSIDE by {short} {measure}, too {way}{far}", short=_short(abs(self.off)), measure=unit, way=way, far=far
        )

    @property
    def need_verdict(self) -> str:
        """What the end at the fasting need is worth, in words; empty for what is no end."""
        if self.trial.moment != "end":
            return ""
        return f"{_short(self.at_need)}, {'inside' if self.inside_at_need else 'OUTSIDE'}"

    def __str__(self) -> str:
        need = self.need_verdict and f"; at the fasting need {self.need_verdict}"
        return (
            f"{_dose(self.trial)}, {self.trial.moment}: study {_study(self.trial)}; model {_short(self.model)}; "
            f"{self.verdict}{need}. {shelf().cite(self.trial)}."
        )


_WAYS: dict[Moment, tuple[str, str]] = {
    **dict.fromkeys(("onset", "peak", "plasma peak", "half height from", "half height to"), ("early", "late")),
    **dict.fromkeys(("end", "T50"), ("short", "long")),
}


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
            "{rows} of {rows_2} figures lie inside the spread of their study.",
            rows=len(rows) - len(misses()),
            rows_2=len(rows),
        ),
        say("No single marker for the end fits every study, so an end is also given at the fasting need."),
        "Doses of studies, not orders. The model: Berger–Rodbard form; numbers recalled, checked against these studies.",
    ]
    cite = shelf().cite
    for citation, of_study in groupby(sorted(rows, key=lambda row: cite(row.trial)), key=lambda row: cite(row.trial)):
        lines += ["", citation]
        for given, figures in groupby(of_study, key=lambda row: (_dose(row.trial), row.trial.note)):
            said = ": ".join(part for part in given if part)
            lines += wrap(said, 110, initial_indent="  ", subsequent_indent="    ")
            lines += [line for figure in figures for line in _lines(figure)]
    return "\n".join(lines)


def _lines(row: Comparison) -> list[str]:
    lines = [
        say(
            "    {moment:<25}{study:<36}model {short:<7}{verdict}",
            moment=row.trial.moment,
            study=_study(row.trial),
            short=_short(row.model),
            verdict=row.verdict,
        )
    ]
    return lines + (
        [say("    {part:<61}model {need_verdict}", part=say("  at the fasting need"), need_verdict=row.need_verdict)]
        if row.need_verdict
        else []
    )


def _study(trial: TrialRow) -> str:
    kind = {"not stated": say("± not explained"), "span given": "span"}.get(trial.spread, trial.spread)
    return f"{_short(trial.value)} {trial.unit} ({_short(trial.low)}–{_short(trial.high)}, {kind})"


def _dose(trial: TrialRow) -> str:
    amounts = (" + " if trial.insulin == "mixture" else " and ").join(number_text(units) for units in trial.units)
    shown = units_text(trial.units[0]) if len(trial.units) == 1 else say("{amounts} units", amounts=amounts)
    kind = {"regular": "regular", "nph": "NPH", "mixture": say("regular + NPH")}[trial.insulin]
    place = "" if trial.body_site == "abdomen" else f", {shelf().body_sites[trial.body_site].name}"
    return say("{shown} of {kind}{place}", shown=shown, kind=kind, place=place)


def _short(figure: float | None) -> str:
    return "none" if figure is None else number_text(round(figure, 2 if abs(figure) < 10 else 1))
