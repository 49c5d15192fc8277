"""What stands on the bench panel in words: the buttons and what they do, the ready-made runs, and the line below the bench."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from mixlab.care.bench.actions import DrawTo, Invert, Pierce, PullAir, PushAir, PushBackTo, TapBubbles, Withdraw
from mixlab.care.bench.bench import Action, Trace
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
from mixlab.pages.bench import seen_words, step_words
from mixlab.words import Sentence, sentence


@dataclass(frozen=True, kw_only=True)
class BenchState:
    """What has been done and what the controls say; `shown` is the step that is looked at, `rolls` what the ward teaches."""

    trace: Trace
    rolls: float
    shown: int = 0
    vial: str = ""
    mark: float = 0.0
    syringe: str = ""
    inside: bool = False
    reviewed: bool = False


BUTTONS: dict[str, dict[str, Callable[[BenchState], Action]]] = {
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

PLACES_SAID = (
    sentence("clear").key,
    sentence("cloudy").key,
    sentence("other").key,
    sentence("air").key,
    sentence("liquid").key,
    sentence("one hand").key,
    sentence("two hands").key,
)
"""The places of the bench, where a tip stands and what caps a needle, as a sentence names them."""

PREDICT = sentence("Predict: what will the bench show?").key


def below_bench(state: BenchState, refusal: str, *, paused: bool) -> Sentence:
    """Return what stands below the bench.

    Parameters
    ----------
    state : State
        What has been done, and which step is looked at.
    refusal : str
        Why something cannot be done; empty when all is well.
    paused : bool
        Whether the class has been asked what the next step will show.
    """
    done = len(state.trace)
    if refusal:
        return sentence("<b>Not done:</b> {text}", text=refusal)
    if paused:
        return sentence("<b>{predict}</b> Then press next step.", predict=sentence(PREDICT))
    if state.shown < done:
        return sentence(
            "<b>Looking back</b> at step {shown} of {done}. The next action goes on from step {done}.",
            shown=state.shown,
            done=done,
        )
    if not done:
        return sentence("Begin with any step you think right. A grayed button says why when you point at it.")
    _, action, _, after = list(state.trace)[-1]
    return sentence(
        "Step {number}: {step}. {seen}",
        number=done,
        step=step_words(action, after),
        seen=seen_words(action, after),
    )
