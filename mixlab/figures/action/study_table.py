"""The whole scoreboard as a text table: each study with its source, each dose, a line for each figure."""

from __future__ import annotations

from itertools import groupby
from textwrap import wrap

from mixlab.care.action.studies import (
    Comparison,
    measured,
    misses,
    scoreboard,
    short_figure,
    studied_dose,
)
from mixlab.facts.reading import the_facts
from mixlab.words import say


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

    def cite(row: Comparison) -> str:
        return str(the_facts().cite(row.trial))

    for citation, of_study in groupby(sorted(rows, key=cite), key=cite):
        lines += ["", citation]
        for given, figures in groupby(of_study, key=lambda row: (studied_dose(row.trial), row.trial.note)):
            said = ": ".join(str(part) for part in given if part)
            lines += wrap(said, 110, initial_indent="  ", subsequent_indent="    ")
            lines += [line for figure in figures for line in _lines(figure)]
    return "\n".join(lines)


def _lines(row: Comparison) -> list[str]:
    moment, model = say(row.trial.moment), say("model {figure}", figure=short_figure(row.model))
    lines = [f"    {moment:<25}{measured(row.trial)!s:<44}{model:<13}{row.verdict}"]
    if row.need_verdict:
        at_need = say("  at the fasting need")
        lines.append(f"    {at_need:<69}{say('model {figure}', figure=row.need_verdict)}")
    return lines
