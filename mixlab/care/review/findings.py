"""Judging a run at the bench: every finding with its moment, its size, what it means and what to do now.

Rules speak of what must come before what, never of places in a list, so that every right order of steps passes. Sizes are
read off the bench. A finding that explains why the barrel holds something else speaks for it: the dose is not found fault
with twice, but a mark that is wrong besides is still found, and no wrong dose is left without a finding about it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import get_args

from mixlab.care.bench.bench import Trace
from mixlab.facts.reading import the_facts
from mixlab.facts.records import Harm
from mixlab.ward.order.order import Order
from mixlab.ward.site.in_force import the_site
from mixlab.ward.site.record import Site
from mixlab.words import Sentence, joined, sentence

from .check import CHECKS, SAID
from .doses import DISTORTIONS, NOT_THERE, OTHER_INSULINS
from .habits import HABITS
from .run_record import Rule, Watched
from .sizes import BENDS, find_sizes, missing, stood_in
from .vials import VIALS
from .wrong_dose import GivenDose, judge_given

NOW = {
    "fine": sentence("fine"),
    "put right here": sentence("put right here"),
    "discard and start again": sentence("discard and start again"),
    "tell someone": sentence("tell someone"),
}
"""What can be done now about a finding, in a word, and what that is called."""

CRITICAL = sentence(" (critical step)")
"""What is said of a finding that broke a step which is critical on the ward."""


@dataclass(frozen=True, kw_only=True)
class Finding:
    """One thing that was not as it should be.

    Attributes
    ----------
    name : str
        Its stable name, a key of the facts.
    critical : bool
        Whether it broke a step that is critical on this ward.
    step : int
        The action after which it could be seen, counted from 1; 0 before the first.
    amount : Sentence
        Its size as the bench computed it; empty where it has none.
    units : float or None
        The size in units, where it is an amount of insulin.
    dose, patient, vial : Sentence
        What it means for this dose, for the patient, and for the vial and the next person who uses it.
    now : {"fine", "put right here", "discard and start again", "tell someone"}
        What to do now, in a word; `do` says it in full.
    given : GivenDose or None
        How the dose that was given is judged, where the finding is about it: what it says is done first, then `do`. It is one
        for the whole run, so that two findings are the same whatever it says.
    rule : Sentence
        The fact or the rule of the ward behind it.
    doubt : Sentence
        Where the evidence is weak; empty where it is not.
    """

    name: str
    critical: bool
    step: int
    title: Sentence
    amount: Sentence
    units: float | None
    dose: Sentence
    patient: Sentence
    vial: Sentence
    now: str
    do: Sentence
    given: GivenDose | None = field(compare=False)
    rule: Sentence
    doubt: Sentence

    def __str__(self) -> str:
        told = sentence(
            "Step {step}{critical}: {title}{size}. Now: {now}. {do}",
            step=self.step,
            critical=CRITICAL if self.critical else "",
            title=self.title,
            size=joined((" (", self.amount, ")"), "") if self.amount else "",
            now=NOW[self.now],
            do=sentence("{title}. {do}", title=self.given.title, do=self.do) if self.given else self.do,
        )
        return str(told)


def review(order: Order, trace: Trace, site: Site | None = None) -> tuple[Finding, ...]:
    """Judge a run.

    Parameters
    ----------
    order : Order
        What was to be prepared.
    trace : Trace
        What was done.
    site : Site, optional
        Whose rules count; the one in force if not given.

    Returns
    -------
    tuple of Finding
        The most harmful first, as the facts grade it; of the same harm critical steps first, then as they could be seen. Empty
        when nothing was wrong.

    Examples
    --------
    >>> from mixlab import bench_for, plan_dose, read_order, right_run, run
    >>> order = read_order("regular insulin 8 units and NPH insulin 20 units")
    >>> _, *hands_not_cleaned = right_run(plan_dose(order))
    >>> [finding.name for finding in review(order, run(bench_for(order), hands_not_cleaned))]
    ['hands-not-cleaned']
    """
    run = Watched(order, trace, the_site(site))
    findings = [_finding(run, name, *seen) for name, rule in (HABITS | VIALS | CHECKS).items() for seen in rule(run)]
    findings += _about_the_dose(run, findings)
    return tuple(sorted(findings, key=_by_harm))


def judge_check(order: Order, trace: Trace, site: Site | None = None) -> tuple[Finding, ...]:
    """Judge only what a second nurse said of a syringe that somebody else drew; empty when she was right."""
    run = Watched(order, trace, the_site(site))
    return tuple(_finding(run, name, *seen) for name, rule in SAID.items() for seen in rule(run))


def _by_harm(finding: Finding) -> tuple[int, bool, int]:
    return get_args(Harm).index(the_facts().errors[finding.name].harm), not finding.critical, finding.step


def _about_the_dose(run: Watched, before: Iterable[Finding]) -> list[Finding]:
    """Judge what was to be given; nothing in hand and nothing given is no dose."""
    if run.filled.syringe is None:
        return []
    other, absent, *bends = (_first_to_see(run, rules) for rules in (OTHER_INSULINS, NOT_THERE, *DISTORTIONS))
    if any(finding.name == "shaken" for some in bends for finding in some):  # its froth is the bubble
        *bends, _ = bends
    found = [*other, *absent, *(finding for some in bends for finding in some)]
    explained = (stood_in(run) if other else set()) | (set(missing(run)) if absent else set())
    if any(finding.name == "same-insulin-twice" for finding in absent):
        explained = {*run.doses}
    pushed_back = (one for one in before if one.name == "pushed-back-after-mixing" and run.start < one.step < run.end)
    looks = frozenset[str]().union(*(BENDS.get(one.name, ()) for one in (*found, *pushed_back)))
    bent = {key for key, look in ((run.clear, "clear"), (run.cloudy, "cloudy")) if look in looks}
    return found + [_finding(run, name, *seen) for name, seen in find_sizes(run, explained, bent)]


def _first_to_see(run: Watched, rules: Mapping[str, Rule]) -> list[Finding]:
    found = ([_finding(run, name, *seen) for seen in rule(run)] for name, rule in rules.items())
    return next(filter(None, found), [])


def _finding(run: Watched, name: str, step: int, amount: Sentence, units: float | None) -> Finding:
    row = the_facts().errors[name]
    words = {"clear": run.order.clear.insulin.name, "cloudy": run.order.cloudy.insulin.name}
    now, do, given = row.now, row.do.filled_from(words), None
    if row.after != "none" and run.went_in(step):
        now, given = "tell someone", judge_given(run.order, run.trace.last.given.units, run.tolerance, run.site)
        next_time = sentence("Next time, before giving: {before}", before=do)
        besides = the_facts().after_giving.get(row.after)
        do = joined((besides.do, next_time), " ") if besides else next_time
    rule = run.site.cite(getattr(run.site, _POLICIES[name]) if name in _POLICIES else row)
    said = {part: getattr(row, part).filled_from(words) for part in ("title", "dose", "patient", "vial", "doubt")}
    critical = any(step in run.site.critical_steps for step in row.breaks)
    return Finding(
        name=name,
        critical=critical,
        step=step,
        amount=amount,
        units=units,
        now=now,
        do=do,
        given=given,
        rule=rule,
        **said,
    )


_POLICIES = {
    "gloves-missing": "gloves",
    "clear-not-checked": "second_check",
    "total-not-checked": "second_check",
    "capped-against-policy": "recapping",
    "push-back-not-allowed": "push_back",
    "waited-too-long": "waiting",
    "rapid-mixture-waited": "waiting_rapid",
}
"""The findings that hang on a rule of the ward, and the field of `Site` that holds it."""
