"""The action model held against every figure that a study measured; where it misses, it says by how much.

The studies stand in facts/trials.toml. They differ among themselves, and no single marker for the end
fits them all, so an end is also shown at the fasting need.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from mixlab.facts.action_rows import MeasuredMoment, Spread, TrialRow
from mixlab.facts.reading import the_facts
from mixlab.quantities import number_text, units_text
from mixlab.words import Sentence, joined, say, sentence

from .study_questions import MODEL_FIGURES, Asked


@dataclass(frozen=True, kw_only=True)
class Comparison:
    """One figure of a study beside the model's.

    Attributes
    ----------
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
        width = self.trial.standard_deviation
        return None if self.model is None or not width else (self.model - self.trial.value) / width

    @property
    def verdict(self) -> Sentence:
        """Whether inside, or outside by how much and which way, in words."""
        if self.off is None:
            return sentence("OUTSIDE: never reached")
        far = Sentence("")
        if self.deviations is not None:
            far = sentence(" ({deviations} SD from the study)", deviations=short_figure(abs(self.deviations)))
        if self.inside:
            return joined((sentence("inside"), far), "")
        way = _WAYS.get(self.trial.moment, _LOW_OR_HIGH)[self.off > 0]
        measure = sentence("points") if self.trial.unit == "%" else sentence(self.trial.unit)
        return joined((way.filled(amount=short_figure(abs(self.off)), measure=measure), far), "")

    @property
    def need_verdict(self) -> Sentence:
        """What the end at the fasting need is worth, in words; empty for what is no end."""
        if self.trial.moment != "end":
            return Sentence("")
        return joined((short_figure(self.at_need), sentence("inside") if self.inside_at_need else sentence("OUTSIDE")))

    def __str__(self) -> str:
        verdict = self.verdict
        if self.need_verdict:
            at_need = sentence("; at the fasting need {verdict}", verdict=self.need_verdict)
            verdict = joined((verdict, at_need), "")
        return say(
            "{dose}, {moment}: study {study}; model {model}; {verdict}. {source}.",
            dose=studied_dose(self.trial),
            moment=sentence(self.trial.moment),
            study=measured(self.trial),
            model=short_figure(self.model),
            verdict=verdict,
            source=the_facts().cite(self.trial),
        )


_LOW_OR_HIGH = sentence("OUTSIDE by {amount} {measure}, too low"), sentence("OUTSIDE by {amount} {measure}, too high")
_EARLY_OR_LATE = (
    sentence("OUTSIDE by {amount} {measure}, too early"),
    sentence("OUTSIDE by {amount} {measure}, too late"),
)
_SHORT_OR_LONG = (
    sentence("OUTSIDE by {amount} {measure}, too short"),
    sentence("OUTSIDE by {amount} {measure}, too long"),
)
_WAYS: dict[MeasuredMoment, tuple[Sentence, Sentence]] = {
    **dict.fromkeys(("onset", "peak", "plasma peak", "half height from", "half height to"), _EARLY_OR_LATE),
    **dict.fromkeys(("end", "T50"), _SHORT_OR_LONG),
}
_SPREADS: dict[Spread, Sentence] = {
    "SD": sentence("one SD"),
    "SE": sentence("one SD, from SE × √{n}"),
    "SEM": sentence("one SD, from SE × √{n}"),
    "range": sentence("the range"),
    "not stated": sentence("± not explained"),
}
_OURS = sentence("our tolerance")
_KINDS = {"regular": sentence("regular"), "nph": sentence("NPH"), "mixture": sentence("regular + NPH")}


def compare_with_model(trial: TrialRow) -> Comparison:
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
    return Comparison(trial=trial, model=MODEL_FIGURES[trial.moment](asked), at_need=at_need)


@cache
def scoreboard() -> tuple[Comparison, ...]:
    """Return every figure of every study beside the model's, in the order of the facts.

    Examples
    --------
    >>> print(scoreboard()[4])
    25 units of NPH, peak: study 6.5 h (6–7, the range); model 6.49; inside. Woodworth, Diabetes Care 1994;17:64 (read).
    """
    return tuple(compare_with_model(trial) for trial in the_facts().trials.values())


def misses() -> tuple[Comparison, ...]:
    """Return the comparisons in which the model lies outside the spread of the study.

    Examples
    --------
    >>> len(misses()), len(scoreboard())
    (26, 68)
    """
    return tuple(each for each in scoreboard() if not each.inside)


def measured(trial: TrialRow) -> Sentence:
    """Return what a study measured, with its unit and its spread."""
    return sentence(
        "{value} {measure} ({low}–{high}, {spread})",
        value=short_figure(trial.value),
        measure=sentence(trial.unit),
        low=short_figure(trial.low),
        high=short_figure(trial.high),
        spread=spread_words(trial),
    )


def spread_words(trial: TrialRow) -> Sentence:
    """Return what the ends behind a study's value are: ``"one SD, from SE × √20"``."""
    return _OURS if trial.spread_is_ours else _SPREADS[trial.spread].filled_from({"n": trial.n})


def studied_dose(trial: TrialRow) -> Sentence:
    """Return what was injected in a study, and where unless it was the abdomen."""
    amounts = joined(trial.units, " + " if trial.insulin == "mixture" else sentence(" and "))
    shown = units_text(trial.units[0]) if len(trial.units) == 1 else sentence("{amounts} {units}", amounts=amounts)
    given = sentence("{dose} of {insulin}", dose=shown, insulin=_KINDS[trial.insulin])
    return (
        given
        if trial.body_site == "abdomen"
        else joined((given, sentence(the_facts().body_sites[trial.body_site].name)))
    )


def short_figure(figure: float | None) -> Sentence:
    """Return a figure with two places below 10 and one above; "none" where there is none."""
    return sentence("none") if figure is None else number_text(round(figure, 2 if abs(figure) < 10 else 1))
