"""What stands on the bench panel in words: the buttons and what they do, the steps, what was seen, and the review."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from html import escape
from typing import Any

from ..care import actions as do
from ..care.bench import Action, Bench, Trace
from ..care.review import Finding
from ..care.runs import rolls
from ..figures.vials import label_words, look_words
from ..quantities import number_text
from ..words import say


@dataclass(frozen=True, kw_only=True)
class State:
    """What has been done and what the controls say; `shown` is the step that is looked at."""

    trace: Trace
    shown: int = 0
    vial: str = ""
    mark: float = 0.0
    syringe: str = ""
    inside: bool = False
    reviewed: bool = False


BUTTONS: dict[str, dict[str, Callable[[State], Action]]] = {
    "Hands, labels, checks": {
        "clean hands": lambda _: do.CleanHands(),
        "gloves": lambda _: do.PutOnGloves(),
        "read label": lambda now: do.ReadLabel(now.vial),
        "look": lambda now: do.LookAt(now.vial),
        "have it checked": lambda _: do.HaveChecked(),
        "label syringe": lambda _: do.LabelSyringe(),
    },
    "Vial": {
        "roll": lambda now: do.Roll(now.vial, rolls()),
        "shake": lambda now: do.Shake(now.vial),
        "wipe": lambda now: do.Swab(now.vial, 10),
        "let dry": lambda now: do.LetDry(now.vial),
        "discard vial": lambda now: do.DiscardVial(now.vial),
        "take new vial": lambda now: do.TakeVial(now.vial),
    },
    "Needle": {
        "take syringe": lambda now: do.TakeSyringe(now.syringe),
        "pierce, tip in air": lambda now: do.Pierce(now.vial, "air"),
        "pierce, tip in liquid": lambda now: do.Pierce(now.vial, "liquid"),
        "turn vial over": lambda _: do.Invert(),
        "withdraw": lambda _: do.Withdraw(),
    },
    "Plunger": {
        "pull air": lambda now: do.PullAir(now.mark),
        "push air": lambda _: do.PushAir(),
        "draw to mark": lambda now: do.DrawTo(now.mark),
        "tap out bubbles": lambda _: do.TapBubbles(),
        "push back to mark": lambda now: do.PushBackTo(now.mark),
    },
    "After": {
        "give": lambda _: do.Give(),
        "discard syringe": lambda _: do.DiscardSyringe(),
        "lay down 5 min": lambda _: do.LayDown(5),
        "cap, one hand": lambda _: do.Cap("one hand"),
        "cap, two hands": lambda _: do.Cap("two hands"),
        "uncap": lambda _: do.Uncap(),
    },
}
"""Every button by its group: what it does as the controls stand."""

_WORDS: dict[type[Action], Callable[[Any, Bench], str]] = {
    do.CleanHands: lambda one, _: say("clean the hands"),
    do.PutOnGloves: lambda one, _: say("put on gloves"),
    do.ReadLabel: lambda one, _: say("read the label of the {vial} vial", vial=one.vial),
    do.LookAt: lambda one, _: say("look at what is in the {vial} vial", vial=one.vial),
    do.HaveChecked: lambda one, _: say("have it checked by a second person"),
    do.Roll: lambda one, _: say("roll the {vial} vial, {times} times", vial=one.vial, times=number_text(one.times)),
    do.Shake: lambda one, _: say("shake the {vial} vial", vial=one.vial),
    do.Swab: lambda one, _: say(
        "wipe the stopper of the {vial} vial, {for_s} s", vial=one.vial, for_s=number_text(one.for_s)
    ),
    do.LetDry: lambda one, _: say("let the stopper of the {vial} vial dry", vial=one.vial),
    do.PullAir: lambda one, _: say("pull air to {to}", to=number_text(one.to)),
    do.Pierce: lambda one, _: say("pierce the {vial} vial, tip in {tip}", vial=one.vial, tip=one.tip),
    do.PushAir: lambda one, _: say("push the air out"),
    do.Invert: lambda one, after: say("turn the vial over") if _turned(after) else say("turn the vial back upright"),
    do.DrawTo: lambda one, _: say("draw to {to}", to=number_text(one.to)),
    do.TapBubbles: lambda one, _: say("tap out the bubbles"),
    do.PushBackTo: lambda one, _: say("push back to {to}", to=number_text(one.to)),
    do.Withdraw: lambda one, _: say("withdraw the needle"),
    do.Cap: lambda one, _: say("cap the needle with {hands}", hands=one.hands),
    do.Uncap: lambda one, _: say("take the cap off"),
    do.LabelSyringe: lambda one, _: say("label the syringe"),
    do.LayDown: lambda one, _: say("lay everything down for {minutes} min", minutes=number_text(one.minutes)),
    do.Give: lambda one, _: say("give the dose"),
    do.DiscardSyringe: lambda one, _: say("drop the syringe into the sharps box"),
    do.TakeSyringe: lambda one, after: say("take a {kinds}", kinds=after.kinds[one.kind].name),
    do.DiscardVial: lambda one, _: say("discard the {vial} vial", vial=one.vial),
    do.TakeVial: lambda one, _: say("take a new {vial} vial", vial=one.vial),
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
        body = say("<p><b>Nothing was wrong</b> in this run.</p>")
    else:
        first = findings[0]
        rows = "".join(_finding_html(finding, finding is first, trace) for finding in findings)
        body = say(
            "<ol>{rows}</ol><p><b>Seen first:</b> step {step}: {title}.</p>",
            rows=rows,
            step=first.step,
            title=escape(first.title),
        )
    return say(
        '<div class="mixlab-review" tabindex="0" role="region" aria-label="Review"><b>Review</b> of {trace} steps{body}</div>',
        trace=len(trace),
        body=body,
    )


def _finding_html(finding: Finding, is_first: bool, trace: Trace) -> str:
    number = finding.step
    done = f" ({step_words(trace.actions[number - 1], trace.states[number])})" if number else ""
    lines = [
        (say("How much"), finding.amount),
        (say("This dose"), finding.dose),
        ("Patient", finding.patient),
        ("Vial", finding.vial),
        ("Now", f"{finding.now}. {finding.do}"),
        ("Rule", finding.rule),
        (say("In doubt"), finding.doubt),
    ]
    said = "".join(f"<div><b>{name}:</b> {escape(words)}</div>" for name, words in lines if words)
    mark = say("<b>Seen first.</b> ") if is_first else ""
    return say(
        "<li>{mark}<b>Step {number}</b>{done}: <b>{title}</b>{said}</li>",
        mark=mark,
        number=number,
        done=escape(done),
        title=escape(finding.title),
        said=said,
    )
