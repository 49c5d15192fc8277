"""What stands on the bench panel in words: the buttons and what they do, the steps, what was seen, and the review."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from html import escape
from typing import Any

from mixlab.care.bench.actions import DrawTo, Invert, Pierce, PullAir, PushAir, PushBackTo, TapBubbles, Withdraw
from mixlab.care.bench.bench import Action, Bench, Trace
from mixlab.care.bench.getting_ready import (
    CleanHands,
    HaveChecked,
    LetDry,
    LookAt,
    PutOnGloves,
    ReadLabel,
    Roll,
    Shake,
    Swab,
)
from mixlab.care.bench.handling import (
    Cap,
    DiscardSyringe,
    DiscardVial,
    Give,
    LabelSyringe,
    LayDown,
    TakeSyringe,
    TakeVial,
    Uncap,
)
from mixlab.care.review.findings import Finding
from mixlab.figures.syringe.bench_words import label_words, look_words
from mixlab.quantities import number_text
from mixlab.words import plural, say, sentence


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
    sentence("Hands, labels, checks").key: {
        sentence("clean hands").key: lambda _: CleanHands(),
        sentence("gloves").key: lambda _: PutOnGloves(),
        sentence("read label").key: lambda now: ReadLabel(now.vial),
        sentence("look").key: lambda now: LookAt(now.vial),
        sentence("have it checked").key: lambda _: HaveChecked(),
        sentence("label syringe").key: lambda _: LabelSyringe(),
    },
    sentence("Vial").key: {
        sentence("roll").key: lambda now: Roll(now.vial, now.rolls),
        sentence("shake").key: lambda now: Shake(now.vial),
        sentence("wipe").key: lambda now: Swab(now.vial, 10),
        sentence("let dry").key: lambda now: LetDry(now.vial),
        sentence("discard vial").key: lambda now: DiscardVial(now.vial),
        sentence("take new vial").key: lambda now: TakeVial(now.vial),
    },
    sentence("Needle").key: {
        sentence("take syringe").key: lambda now: TakeSyringe(now.syringe),
        sentence("pierce, tip in air").key: lambda now: Pierce(now.vial, "air"),
        sentence("pierce, tip in liquid").key: lambda now: Pierce(now.vial, "liquid"),
        sentence("turn vial over").key: lambda _: Invert(),
        sentence("withdraw").key: lambda _: Withdraw(),
    },
    sentence("Plunger").key: {
        sentence("pull air").key: lambda now: PullAir(now.mark),
        sentence("push air").key: lambda _: PushAir(),
        sentence("draw to mark").key: lambda now: DrawTo(now.mark),
        sentence("tap out bubbles").key: lambda _: TapBubbles(),
        sentence("push back to mark").key: lambda now: PushBackTo(now.mark),
    },
    sentence("After").key: {
        sentence("give").key: lambda _: Give(),
        sentence("discard syringe").key: lambda _: DiscardSyringe(),
        sentence("lay down 5 min").key: lambda _: LayDown(5),
        sentence("cap, one hand").key: lambda _: Cap("one hand"),
        sentence("cap, two hands").key: lambda _: Cap("two hands"),
        sentence("uncap").key: lambda _: Uncap(),
    },
}
"""Every button by its group: what it does as the controls stand."""

RUNS = {
    "hands-not-cleaned": sentence("hands not cleaned").key,
    "gloves-missing": sentence("gloves missing").key,
    "label-not-read": sentence("label not read").key,
    "vial-not-looked-at": sentence("vial not looked at").key,
    "not-looked-at-after-rolling": sentence("not looked at after rolling").key,
    "spoiled-vial": sentence("spoiled vial").key,
    "past-date": sentence("past date").key,
    "stopper-not-wiped": sentence("stopper not wiped").key,
    "stopper-not-dry": sentence("stopper not dry").key,
    "wrong-vial": sentence("wrong vial").key,
    "same-insulin-twice": sentence("same insulin twice").key,
    "premixed-in-the-mix": sentence("premixed in the mix").key,
    "one-insulin-missing": sentence("one insulin missing").key,
    "mixture-pushed-out": sentence("mixture pushed out").key,
    "pushed-into-another-vial": sentence("pushed into another vial").key,
    "given-twice": sentence("given twice").key,
    "used-needle-in-vial": sentence("used needle in vial").key,
    "long-acting-in-the-mix": sentence("long acting in the mix").key,
    "scale-not-in-units": sentence("scale not in units").key,
    "strength-and-scale-differ": sentence("strength and scale differ").key,
    "separate-needle": sentence("separate needle").key,
    "between-lines": sentence("between lines").key,
    "too-little-air": sentence("too little air").key,
    "too-much-air": sentence("too much air").key,
    "air-into-clear-first": sentence("air into clear first").key,
    "tip-dipped-in-cloudy": sentence("tip dipped in cloudy").key,
    "cloudy-drawn-first": sentence("cloudy drawn first").key,
    "pushed-back-after-mixing": sentence("pushed back after mixing").key,
    "push-back-not-allowed": sentence("push back not allowed").key,
    "cloudy-overdrawn": sentence("cloudy overdrawn").key,
    "drawn-to-the-second-number": sentence("drawn to the second number").key,
    "doses-swapped": sentence("doses swapped").key,
    "clear-dose-off": sentence("clear dose off").key,
    "cloudy-dose-off": sentence("cloudy dose off").key,
    "late-bubble": sentence("late bubble").key,
    "bubble-left": sentence("bubble left").key,
    "not-rolled": sentence("not rolled").key,
    "rolled-too-long-ago": sentence("rolled too long ago").key,
    "rolled-too-little": sentence("rolled too little").key,
    "shaken": sentence("shaken").key,
    "clear-not-checked": sentence("clear not checked").key,
    "total-not-checked": sentence("total not checked").key,
    "waited-too-long": sentence("waited too long").key,
    "laid-down-unlabeled": sentence("laid down unlabeled").key,
    "needle-touched": sentence("needle touched").key,
    "used-needle-capped": sentence("used needle capped").key,
    "recapped-with-two-hands": sentence("recapped with two hands").key,
    "capped-against-policy": sentence("capped against policy").key,
    "not-in-the-sharps-box": sentence("not in the sharps box").key,
    "unfinished": sentence("unfinished").key,
}
"""Every wrong run, by the name of its finding."""

PARTS = (
    sentence("clear").key,
    sentence("cloudy").key,
    sentence("other").key,
    sentence("air").key,
    sentence("liquid").key,
    sentence("one hand").key,
    sentence("two hands").key,
)
"""The places of the bench, where a tip stands and what caps a needle, as a sentence names them."""

_WORDS: dict[type[Action], Callable[[Any, Bench], str]] = {
    CleanHands: lambda one, _: say("clean the hands"),
    PutOnGloves: lambda one, _: say("put on gloves"),
    ReadLabel: lambda one, _: say("read the label of the {vial} vial", vial=say(one.vial)),
    LookAt: lambda one, _: say("look at what is in the {vial} vial", vial=say(one.vial)),
    HaveChecked: lambda one, _: say("have it checked by a second person"),
    Roll: lambda one, _: say("roll the {vial} vial, {times} times", vial=say(one.vial), times=number_text(one.times)),
    Shake: lambda one, _: say("shake the {vial} vial", vial=say(one.vial)),
    Swab: lambda one, _: say(
        "wipe the stopper of the {vial} vial, {for_s} s", vial=say(one.vial), for_s=number_text(one.for_s)
    ),
    LetDry: lambda one, _: say("let the stopper of the {vial} vial dry", vial=say(one.vial)),
    PullAir: lambda one, _: say("pull air to {to}", to=number_text(one.to)),
    Pierce: lambda one, _: say("pierce the {vial} vial, tip in {tip}", vial=say(one.vial), tip=say(one.tip)),
    PushAir: lambda one, _: say("push the air out"),
    Invert: lambda one, after: say("turn the vial over") if _turned(after) else say("turn the vial back upright"),
    DrawTo: lambda one, _: say("draw to {to}", to=number_text(one.to)),
    TapBubbles: lambda one, _: say("tap out the bubbles"),
    PushBackTo: lambda one, _: say("push back to {to}", to=number_text(one.to)),
    Withdraw: lambda one, _: say("withdraw the needle"),
    Cap: lambda one, _: say("cap the needle with {hands}", hands=say(one.hands)),
    Uncap: lambda one, _: say("take the cap off"),
    LabelSyringe: lambda one, _: say("label the syringe"),
    LayDown: lambda one, _: say("lay everything down for {minutes} min", minutes=number_text(one.minutes)),
    Give: lambda one, _: say("give the dose"),
    DiscardSyringe: lambda one, _: say("drop the syringe into the sharps box"),
    TakeSyringe: lambda one, after: say("take a {syringe}", syringe=after.kinds[one.kind].name),
    DiscardVial: lambda one, _: say("discard the {vial} vial", vial=say(one.vial)),
    TakeVial: lambda one, _: say("take a new {vial} vial", vial=say(one.vial)),
}


def _turned(bench: Bench) -> bool:
    held = bench.syringe
    return bool(held and held.vial and bench.vials[held.vial].inverted)


def step_words(action: Action, after: Bench) -> str:
    """Return an action in ward words; `after` is the bench as the action left it."""
    return _WORDS[type(action)](action, after)


def seen_words(action: Action, after: Bench) -> str:
    """Return what an action let one see that the picture does not show; empty if nothing."""
    if isinstance(action, LookAt):
        return look_words(after.vials[action.vial])
    return label_words(after.vials[action.vial]) if isinstance(action, ReadLabel) else ""


def strip_html(trace: Trace, shown: int) -> str:
    """Return the steps so far as a list, with the one that is looked at marked, every word escaped."""
    steps = "".join(
        f"<li{' aria-current=step' if number == shown else ''}>{escape(step_words(action, after))}</li>"
        for number, action, _, after in trace
    )
    name, none = escape(say("Steps so far")), say("none yet")
    listed = f"<ol>{steps}</ol>" if steps else f"<p>{none}</p>"
    return (
        f'<div class="mixlab-strip" tabindex="0" role="region" aria-label="{name}">'
        f"<div><b>{name}</b>{listed}</div></div>"
    )


def review_html(findings: tuple[Finding, ...], trace: Trace) -> str:
    """Return the review as a list, every word escaped."""
    if not findings:
        nothing = say("<b>Nothing was wrong</b> in this run.")
        body = f"<p>{nothing}</p>"
    else:
        first = findings[0]
        rows = "".join(_finding_html(finding, finding is first, trace) for finding in findings)
        seen = say("<b>Seen first:</b> step {step}: {title}.", step=first.step, title=escape(str(first.title)))
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
    said = "".join(f"<div><b>{name}:</b> {escape(str(words))}</div>" for name, words in lines if words)
    first = say("<b>Seen first.</b> ") if is_first else ""
    step = say("Step {number}", number=number)
    return f"<li>{first}<b>{step}</b>{escape(done)}: <b>{escape(str(finding.title))}</b>{said}</li>"
