"""The review of a run: every finding at its step, how much it is, what it means and what to do now."""

from __future__ import annotations

from collections.abc import Iterator

from mixlab.care.bench.bench import Trace
from mixlab.care.review.findings import CRITICAL, NOW, Finding
from mixlab.facts.reading import the_facts
from mixlab.words import Sentence, counted, joined, sentence

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
    steps = counted(len(trace), "<b>Review</b> of {count} step", "<b>Review</b> of {count} steps", count=len(trace))
    nothing = sentence("<b>Nothing was wrong</b> in this run.")
    return _review(findings, trace, sentence("Review"), steps, nothing, not_judged_words())


def check_html(findings: tuple[Finding, ...], trace: Trace) -> str:
    """Return the review of what a second nurse said.

    Parameters
    ----------
    findings : tuple of Finding
        What was wrong with her check.
    trace : Trace
        The run up to her check.
    """
    right = sentence("<b>Your check was right.</b> Order, labels and syringe are as you said.")
    steps = sentence("<b>Review</b> of the second check")
    return _review(findings, trace, sentence("Review of the second check"), steps, right, Sentence(""))


def _review(
    findings: tuple[Finding, ...],
    trace: Trace,
    name: Sentence,
    steps: Sentence,
    nothing: Sentence,
    not_judged: Sentence,
) -> str:
    return render(
        "review",
        name=name,
        given=_given(findings),
        steps=steps,
        nothing=nothing,
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
        not_judged=not_judged,
    )


def _seen_first(finding: Finding) -> Sentence:
    return sentence("<b>Seen first:</b> step {step}: {title}.", step=finding.step, title=finding.title)


def not_judged_words() -> Sentence:
    """Return what a review cannot judge, because nobody is at the bench but the one who draws up."""
    left_out = joined((row.say for row in the_facts().not_judged.values()), "; ")
    return sentence("<b>Not judged here:</b> {left_out}. At the bedside each of them is checked.", left_out=left_out)


def _given(findings: tuple[Finding, ...]) -> tuple[Sentence, tuple[Sentence, ...], Sentence] | None:
    """Return how a wrong dose that was given is judged, what to do now, and who says so; None where none was given."""
    given = next((one.given for one in findings if one.given), None)
    if given is None:
        return None
    title = sentence("<b>{title}:</b> {amounts}. <b>Now:</b>", title=given.title, amounts=given.amounts)
    return title, given.told, sentence("<b>Rule:</b> {rule}", rule=given.rule)


def _told(finding: Finding) -> Iterator[tuple[Sentence, Sentence]]:
    """Yield everything there is to say about a finding, each under its name."""
    now = NOW[finding.now]
    if finding.given:
        now = sentence("{now}, as said at the top", now=now)
    lines = (
        (sentence("How much"), finding.amount),
        (sentence("This dose"), finding.dose),
        (sentence("Patient"), finding.patient),
        (sentence("Vial"), finding.vial),
        (sentence("Now"), sentence("{now}. {do}", now=now, do=finding.do)),
        (sentence("Rule"), finding.rule),
        (sentence("In doubt"), finding.doubt),
    )
    yield from ((name, words) for name, words in lines if words)
