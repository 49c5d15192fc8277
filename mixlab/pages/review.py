"""The review of a run: every finding at its step, how much it is, what it means and what to do now."""

from __future__ import annotations

from collections.abc import Iterator

from mixlab.care.bench.bench import Trace
from mixlab.care.review.findings import CRITICAL, NOW, Finding
from mixlab.words import Sentence, counted, sentence

from .bench import step_words
from .engine import render


def review_html(findings: tuple[Finding, ...], trace: Trace) -> str:
    """Return the review as a list.

    Parameters
    ----------
    findings : tuple of Finding
        What was not as it should be, the most harmful first.
    trace : Trace
        The run that was judged.
    """
    return render(
        "review",
        name=sentence("Review"),
        steps=counted(len(trace), "<b>Review</b> of {count} step", "<b>Review</b> of {count} steps", count=len(trace)),
        nothing=sentence("<b>Nothing was wrong</b> in this run."),
        first=sentence("<b>Most serious.</b> "),
        findings=[
            (
                sentence("Step {number}{critical}", number=one.step, critical=CRITICAL if one.critical else ""),
                step_words(trace.actions[one.step - 1], trace.states[one.step]) if one.step else "",
                one.title,
                list(_told(one)),
            )
            for one in findings
        ],
        seen_first=_seen_first(min(findings, key=lambda one: one.step)) if findings else "",
    )


def _seen_first(finding: Finding) -> Sentence:
    return sentence("<b>Seen first:</b> step {step}: {title}.", step=finding.step, title=finding.title)


def _told(finding: Finding) -> Iterator[tuple[Sentence, Sentence]]:
    """Yield everything there is to say about a finding, each under its name."""
    lines = (
        (sentence("How much"), finding.amount),
        (sentence("This dose"), finding.dose),
        (sentence("Patient"), finding.patient),
        (sentence("Vial"), finding.vial),
        (sentence("Now"), sentence("{now}. {do}", now=NOW[finding.now], do=finding.do)),
        (sentence("Rule"), finding.rule),
        (sentence("In doubt"), finding.doubt),
    )
    yield from ((name, words) for name, words in lines if words)
