"""What stands beside the bench in words: the order, every step that was done, what was seen, and what cannot be done."""

from __future__ import annotations

from dataclasses import asdict

from mixlab.care.bench.actions import DrawTo, Invert
from mixlab.care.bench.bench import Action, Bench, Trace
from mixlab.care.bench.handling import HaveChecked, LookAt, ReadLabel, TakeSyringe
from mixlab.care.bench.vessels import place_name
from mixlab.care.dosing import opened_text
from mixlab.figures.syringe.bench_words import label_words, look_words, syringe_words
from mixlab.ward.insulin import insulins
from mixlab.ward.site.record import Site
from mixlab.words import Sentence, joined, sentence

from .engine import Shown, render

_STEPS = {
    "CleanHands": sentence("clean the hands"),
    "PutOnGloves": sentence("put on gloves"),
    "ReadLabel": sentence("read the label of the {vial} vial"),
    "LookAt": sentence("look at what is in the {vial} vial"),
    "HaveChecked": sentence("have it checked by a second person"),
    "SayLabel": sentence("say what the label shows of the {vial} vial: {finds}"),
    "SayCheck": sentence("second nurse: plunger at {mark}, {sees}: {says}"),
    "Roll": sentence("roll the {vial} vial, {times} times"),
    "Shake": sentence("shake the {vial} vial"),
    "Swab": sentence("wipe the stopper of the {vial} vial, {for_s} s"),
    "LetDry": sentence("let the stopper of the {vial} vial dry"),
    "PullAir": sentence("pull air to {to}"),
    "Pierce": sentence("pierce the {vial} vial, tip in {tip}"),
    "PushAir": sentence("push the air out"),
    "Invert": sentence("turn the vial over"),
    "DrawTo": sentence("draw to {to}"),
    "TapBubbles": sentence("tap out the bubbles"),
    "PushBackTo": sentence("push back to {to}"),
    "Withdraw": sentence("withdraw the needle"),
    "Cap": sentence("cap the needle with {hands}"),
    "Uncap": sentence("take the cap off"),
    "LabelSyringe": sentence("label the syringe"),
    "LayDown": sentence("lay everything down for {minutes} min"),
    "Give": sentence("give the dose"),
    "DiscardSyringe": sentence("drop the syringe into the sharps box"),
    "TakeSyringe": sentence("take a {kind}"),
    "DiscardVial": sentence("discard the {vial} vial"),
    "TakeVial": sentence("take a new {vial} vial"),
}
"""What each action is called; what it was done with and to which mark stands in the places."""


def step_words(action: Action, after: Bench) -> Sentence:
    """Return an action in ward words.

    Parameters
    ----------
    action : Action
        What was done.
    after : Bench
        The bench as the action left it.
    """
    held = after.syringe
    if isinstance(action, Invert) and not (held and held.vial and after.vials[held.vial].inverted):
        return sentence("turn the vial back upright")
    if isinstance(action, DrawTo) and action.bubble_ml:
        return sentence("draw fast to {to}", to=action.to)
    parts = {name: sentence(part) if isinstance(part, str) else part for name, part in asdict(action).items()}
    if isinstance(action, TakeSyringe):
        parts["kind"] = after.kinds[action.kind].name
    return _STEPS[type(action).__name__].filled_from(parts)


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
    if isinstance(action, HaveChecked):
        return str(check_words(after))
    return label_words(after.vials[action.vial]) if isinstance(action, ReadLabel) else ""


def check_words(bench: Bench) -> Sentence:
    """Return what a second nurse compares, and what lies before her eyes; what it means is left to her."""
    _, reading, *_ = syringe_words(bench, inside=False)
    labels = (insulins()[vial.insulin].name for vial in bench.vials.values())
    return sentence(
        "She compares three things: the order, the labels ({labels}) and the syringe at eye level: {reading}. She says what she sees before she hears the dose.",
        labels=joined(labels),
        reading=reading,
    )


def order_line_html(order: Shown) -> str:
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


def handed_html(bench: Bench, site: Site) -> str:
    """Return what is handed to a second nurse beside the syringe: every vial's label, and how long it is kept here."""
    labels = [
        sentence(
            "<b>The {place} vial.</b> {label} {look} Once opened, it is kept for {days} here.",
            place=place_name(place),
            label=label_words(vial),
            look=look_words(vial),
            days=opened_text(insulins()[vial.insulin], site),
        )
        for place, vial in bench.vials.items()
    ]
    return render("bench_handed", labels=labels)


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
