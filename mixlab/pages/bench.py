"""What stands beside the bench in words: the order, every step that was done, what was seen, and what cannot be done."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from mixlab.care.bench.actions import DrawTo, Invert, Pierce, PullAir, PushAir, PushBackTo, TapBubbles, Withdraw
from mixlab.care.bench.bench import Action, Bench, Trace
from mixlab.care.bench.handling import (
    Cap,
    CleanHands,
    DiscardSyringe,
    DiscardVial,
    Give,
    HaveChecked,
    LabelSyringe,
    LayDown,
    LetDry,
    LookAt,
    PutOnGloves,
    ReadLabel,
    Roll,
    Shake,
    Swab,
    TakeSyringe,
    TakeVial,
    Uncap,
)
from mixlab.figures.syringe.bench_words import label_words, look_words
from mixlab.words import Sentence, sentence

from .engine import Said, render

_STEPS: dict[type[Action], Callable[[Any, Bench], Sentence]] = {
    CleanHands: lambda one, _: sentence("clean the hands"),
    PutOnGloves: lambda one, _: sentence("put on gloves"),
    ReadLabel: lambda one, _: sentence("read the label of the {vial} vial", vial=sentence(one.vial)),
    LookAt: lambda one, _: sentence("look at what is in the {vial} vial", vial=sentence(one.vial)),
    HaveChecked: lambda one, _: sentence("have it checked by a second person"),
    Roll: lambda one, _: sentence("roll the {vial} vial, {times} times", vial=sentence(one.vial), times=one.times),
    Shake: lambda one, _: sentence("shake the {vial} vial", vial=sentence(one.vial)),
    Swab: lambda one, _: sentence(
        "wipe the stopper of the {vial} vial, {for_s} s", vial=sentence(one.vial), for_s=one.for_s
    ),
    LetDry: lambda one, _: sentence("let the stopper of the {vial} vial dry", vial=sentence(one.vial)),
    PullAir: lambda one, _: sentence("pull air to {to}", to=one.to),
    Pierce: lambda one, _: sentence(
        "pierce the {vial} vial, tip in {tip}", vial=sentence(one.vial), tip=sentence(one.tip)
    ),
    PushAir: lambda one, _: sentence("push the air out"),
    Invert: lambda one, after: (
        sentence("turn the vial over") if _turned(after) else sentence("turn the vial back upright")
    ),
    DrawTo: lambda one, _: sentence("draw to {to}", to=one.to),
    TapBubbles: lambda one, _: sentence("tap out the bubbles"),
    PushBackTo: lambda one, _: sentence("push back to {to}", to=one.to),
    Withdraw: lambda one, _: sentence("withdraw the needle"),
    Cap: lambda one, _: sentence("cap the needle with {hands}", hands=sentence(one.hands)),
    Uncap: lambda one, _: sentence("take the cap off"),
    LabelSyringe: lambda one, _: sentence("label the syringe"),
    LayDown: lambda one, _: sentence("lay everything down for {minutes} min", minutes=one.minutes),
    Give: lambda one, _: sentence("give the dose"),
    DiscardSyringe: lambda one, _: sentence("drop the syringe into the sharps box"),
    TakeSyringe: lambda one, after: sentence("take a {syringe}", syringe=after.kinds[one.kind].name),
    DiscardVial: lambda one, _: sentence("discard the {vial} vial", vial=sentence(one.vial)),
    TakeVial: lambda one, _: sentence("take a new {vial} vial", vial=sentence(one.vial)),
}


def _turned(bench: Bench) -> bool:
    held = bench.syringe
    return bool(held and held.vial and bench.vials[held.vial].inverted)


def step_words(action: Action, after: Bench) -> Sentence:
    """Return an action in ward words.

    Parameters
    ----------
    action : Action
        What was done.
    after : Bench
        The bench as the action left it.
    """
    return _STEPS[type(action)](action, after)


def seen_words(action: Action, after: Bench) -> str:
    """Return what an action let one see that the picture does not show; empty if nothing.

    Parameters
    ----------
    action : Action
        What was done.
    after : Bench
        The bench as the action left it.
    """
    if isinstance(action, LookAt):
        return look_words(after.vials[action.vial])
    return label_words(after.vials[action.vial]) if isinstance(action, ReadLabel) else ""


def order_line_html(order: Said) -> str:
    """Return the order that is prepared, as a line above the bench."""
    return render("bench_order", line=sentence("<b>Order:</b> {order}", order=order))


def steps_html(trace: Trace, shown: int) -> str:
    """Return every step that was done as a list.

    Parameters
    ----------
    trace : Trace
        The run so far.
    shown : int
        The step that is looked at, counted from 1.
    """
    return render(
        "bench_steps",
        title=sentence("Steps so far"),
        nothing=sentence("none yet"),
        steps=[(step_words(action, after), number == shown) for number, action, _, after in trace],
    )


def notice_html(line: Sentence, *, refused: bool = False) -> str:
    """Return the line below the bench.

    Parameters
    ----------
    line : Sentence
        What it says; it may carry markup of its own.
    refused : bool
        Whether it says why something cannot be done, which is read out at once.
    """
    return render("bench_notice", line=line, refused=refused)
