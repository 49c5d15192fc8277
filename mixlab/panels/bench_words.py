"""What stands on the bench panel in words: the buttons and what they do, the steps, what was seen, and the review."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from html import escape
from typing import Any

from mixlab.care.bench import actions as do
from mixlab.care.bench.bench import Action, Bench, Trace
from mixlab.care.review.findings import Finding
from mixlab.figures.syringe.bench import label_words, look_words
from mixlab.quantities import number_text
from mixlab.words import mark, plural, say


@dataclass(frozen=True, kw_only=True)
class State:
    """What has been done and what the controls say; `shown` is the step that is looked at, `rolls` what the ward teaches."""

    trace: Trace
    rolls: float
    shown: int = 0
    vial: str = ""
    mark: float = 0.0
    syringe: str = ""
    inside: bool = False
    reviewed: bool = False


BUTTONS: dict[str, dict[str, Callable[[State], Action]]] = {
    mark("Hands, labels, checks"): {
        mark("clean hands"): lambda _: do.CleanHands(),
        mark("gloves"): lambda _: do.PutOnGloves(),
        mark("read label"): lambda now: do.ReadLabel(now.vial),
        mark("look"): lambda now: do.LookAt(now.vial),
        mark("have it checked"): lambda _: do.HaveChecked(),
        mark("label syringe"): lambda _: do.LabelSyringe(),
    },
    mark("Vial"): {
        mark("roll"): lambda now: do.Roll(now.vial, now.rolls),
        mark("shake"): lambda now: do.Shake(now.vial),
        mark("wipe"): lambda now: do.Swab(now.vial, 10),
        mark("let dry"): lambda now: do.LetDry(now.vial),
        mark("discard vial"): lambda now: do.DiscardVial(now.vial),
        mark("take new vial"): lambda now: do.TakeVial(now.vial),
    },
    mark("Needle"): {
        mark("take syringe"): lambda now: do.TakeSyringe(now.syringe),
        mark("pierce, tip in air"): lambda now: do.Pierce(now.vial, "air"),
        mark("pierce, tip in liquid"): lambda now: do.Pierce(now.vial, "liquid"),
        mark("turn vial over"): lambda _: do.Invert(),
        mark("withdraw"): lambda _: do.Withdraw(),
    },
    mark("Plunger"): {
        mark("pull air"): lambda now: do.PullAir(now.mark),
        mark("push air"): lambda _: do.PushAir(),
        mark("draw to mark"): lambda now: do.DrawTo(now.mark),
        mark("tap out bubbles"): lambda _: do.TapBubbles(),
        mark("push back to mark"): lambda now: do.PushBackTo(now.mark),
    },
    mark("After"): {
        mark("give"): lambda _: do.Give(),
        mark("discard syringe"): lambda _: do.DiscardSyringe(),
        mark("lay down 5 min"): lambda _: do.LayDown(5),
        mark("cap, one hand"): lambda _: do.Cap("one hand"),
        mark("cap, two hands"): lambda _: do.Cap("two hands"),
        mark("uncap"): lambda _: do.Uncap(),
    },
}
"""Every button by its group: what it does as the controls stand."""

RUNS = {
    "hands-not-cleaned": mark("hands not cleaned"),
    "gloves-missing": mark("gloves missing"),
    "label-not-read": mark("label not read"),
    "vial-not-looked-at": mark("vial not looked at"),
    "not-looked-at-after-rolling": mark("not looked at after rolling"),
    "spoiled-vial": mark("spoiled vial"),
    "past-date": mark("past date"),
    "stopper-not-wiped": mark("stopper not wiped"),
    "stopper-not-dry": mark("stopper not dry"),
    "wrong-vial": mark("wrong vial"),
    "same-insulin-twice": mark("same insulin twice"),
    "premixed-in-the-mix": mark("premixed in the mix"),
    "one-insulin-missing": mark("one insulin missing"),
    "mixture-pushed-out": mark("mixture pushed out"),
    "pushed-into-another-vial": mark("pushed into another vial"),
    "given-twice": mark("given twice"),
    "used-needle-in-vial": mark("used needle in vial"),
    "long-acting-in-the-mix": mark("long acting in the mix"),
    "scale-not-in-units": mark("scale not in units"),
    "strength-and-scale-differ": mark("strength and scale differ"),
    "separate-needle": mark("separate needle"),
    "between-lines": mark("between lines"),
    "too-little-air": mark("too little air"),
    "too-much-air": mark("too much air"),
    "air-into-clear-first": mark("air into clear first"),
    "tip-dipped-in-cloudy": mark("tip dipped in cloudy"),
    "cloudy-drawn-first": mark("cloudy drawn first"),
    "pushed-back-after-mixing": mark("pushed back after mixing"),
    "push-back-not-allowed": mark("push back not allowed"),
    "cloudy-overdrawn": mark("cloudy overdrawn"),
    "drawn-to-the-second-number": mark("drawn to the second number"),
    "doses-swapped": mark("doses swapped"),
    "clear-dose-off": mark("clear dose off"),
    "cloudy-dose-off": mark("cloudy dose off"),
    "late-bubble": mark("late bubble"),
    "bubble-left": mark("bubble left"),
    "not-rolled": mark("not rolled"),
    "rolled-too-long-ago": mark("rolled too long ago"),
    "rolled-too-little": mark("rolled too little"),
    "shaken": mark("shaken"),
    "clear-not-checked": mark("clear not checked"),
    "total-not-checked": mark("total not checked"),
    "waited-too-long": mark("waited too long"),
    "laid-down-unlabeled": mark("laid down unlabeled"),
    "needle-touched": mark("needle touched"),
    "used-needle-capped": mark("used needle capped"),
    "recapped-with-two-hands": mark("recapped with two hands"),
    "capped-against-policy": mark("capped against policy"),
    "not-in-the-sharps-box": mark("not in the sharps box"),
    "unfinished": mark("unfinished"),
}
"""Every wrong run, by the name of its finding."""

PARTS = (mark("clear"), mark("cloudy"), mark("other"), mark("air"), mark("liquid"), mark("one hand"), mark("two hands"))
"""The places of the bench, where a tip stands and what caps a needle, as a sentence names them."""

_WORDS: dict[type[Action], Callable[[Any, Bench], str]] = {
    do.CleanHands: lambda one, _: say("clean the hands"),
    do.PutOnGloves: lambda one, _: say("put on gloves"),
    do.ReadLabel: lambda one, _: say("read the label of the {vial} vial", vial=say(one.vial)),
    do.LookAt: lambda one, _: say("look at what is in the {vial} vial", vial=say(one.vial)),
    do.HaveChecked: lambda one, _: say("have it checked by a second person"),
    do.Roll: lambda one, _: say(
        "roll the {vial} vial, {times} times", vial=say(one.vial), times=number_text(one.times)
    ),
    do.Shake: lambda one, _: say("shake the {vial} vial", vial=say(one.vial)),
    do.Swab: lambda one, _: say(
        "wipe the stopper of the {vial} vial, {for_s} s", vial=say(one.vial), for_s=number_text(one.for_s)
    ),
    do.LetDry: lambda one, _: say("let the stopper of the {vial} vial dry", vial=say(one.vial)),
    do.PullAir: lambda one, _: say("pull air to {to}", to=number_text(one.to)),
    do.Pierce: lambda one, _: say("pierce the {vial} vial, tip in {tip}", vial=say(one.vial), tip=say(one.tip)),
    do.PushAir: lambda one, _: say("push the air out"),
    do.Invert: lambda one, after: say("turn the vial over") if _turned(after) else say("turn the vial back upright"),
    do.DrawTo: lambda one, _: say("draw to {to}", to=number_text(one.to)),
    do.TapBubbles: lambda one, _: say("tap out the bubbles"),
    do.PushBackTo: lambda one, _: say("push back to {to}", to=number_text(one.to)),
    do.Withdraw: lambda one, _: say("withdraw the needle"),
    do.Cap: lambda one, _: say("cap the needle with {hands}", hands=say(one.hands)),
    do.Uncap: lambda one, _: say("take the cap off"),
    do.LabelSyringe: lambda one, _: say("label the syringe"),
    do.LayDown: lambda one, _: say("lay everything down for {minutes} min", minutes=number_text(one.minutes)),
    do.Give: lambda one, _: say("give the dose"),
    do.DiscardSyringe: lambda one, _: say("drop the syringe into the sharps box"),
    do.TakeSyringe: lambda one, after: say("take a {syringe}", syringe=after.kinds[one.kind].name),
    do.DiscardVial: lambda one, _: say("discard the {vial} vial", vial=say(one.vial)),
    do.TakeVial: lambda one, _: say("take a new {vial} vial", vial=say(one.vial)),
}


def _turned(bench: Bench) -> bool:
    held = bench.syringe
    return bool(held and held.vial and bench.vials[held.vial].inverted)


def step_words(action: Action, after: Bench) -> str:
    """Return an action in ward words; `after` is the bench as the action left it."""
    return _WORDS[type(action)](action, after)


def seen_words(action: Action, after: Bench) -> str:
    """Return what an action let one see that the picture does not show; empty if nothing."""
    if isinstance(action, do.LookAt):
        return look_words(after.vials[action.vial])
    return label_words(after.vials[action.vial]) if isinstance(action, do.ReadLabel) else ""


def review_html(findings: tuple[Finding, ...], trace: Trace) -> str:
    """Return the review as a list, every word escaped."""
    if not findings:
        nothing = say("<b>Nothing was wrong</b> in this run.")
        body = f"<p>{nothing}</p>"
    else:
        first = findings[0]
        rows = "".join(_finding_html(finding, finding is first, trace) for finding in findings)
        seen = say("<b>Seen first:</b> step {step}: {title}.", step=first.step, title=escape(first.title))
        body = f"<ol>{rows}</ol><p>{seen}</p>"
    steps = plural(len(trace), "<b>Review</b> of {count} step", "<b>Review</b> of {count} steps", count=len(trace))
    name = escape(say("Review"))
    return f'<div class="mixlab-review" tabindex="0" role="region" aria-label="{name}">{steps}{body}</div>'


def _finding_html(finding: Finding, is_first: bool, trace: Trace) -> str:
    number = finding.step
    done = f" ({step_words(trace.actions[number - 1], trace.states[number])})" if number else ""
    lines = [
        (say("How much"), finding.amount),
        (say("This dose"), finding.dose),
        (say("Patient"), finding.patient),
        (say("Vial"), finding.vial),
        (say("Now"), f"{say(finding.now)}. {finding.do}"),
        (say("Rule"), finding.rule),
        (say("In doubt"), finding.doubt),
    ]
    said = "".join(f"<div><b>{name}:</b> {escape(words)}</div>" for name, words in lines if words)
    first = say("<b>Seen first.</b> ") if is_first else ""
    step = say("Step {number}", number=number)
    return f"<li>{first}<b>{step}</b>{escape(done)}: <b>{escape(finding.title)}</b>{said}</li>"
