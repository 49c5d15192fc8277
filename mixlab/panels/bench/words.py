"""What stands on the bench panel in words: the buttons and what they do, the ready-made runs, and the line below the bench."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from mixlab.care.bench import actions, checking, handling
from mixlab.care.bench.bench import Action, Trace
from mixlab.care.bench.variants import WRONG_RUNS
from mixlab.care.dosing import opened_text
from mixlab.facts.reading import the_facts
from mixlab.pages.bench import seen_words, step_words
from mixlab.ward.insulin import insulins
from mixlab.ward.site.record import Site
from mixlab.words import Sentence, sentence


@dataclass(frozen=True, kw_only=True)
class BenchState:
    """What has been done and what the controls say.

    `shown` is the step that is looked at, `rolls` what the ward teaches; `paused` says whether the class has been asked what
    the next step will show.
    """

    trace: Trace
    rolls: float
    shown: int = 0
    vial: str = ""
    finds: str = checking.MAY_BE_USED
    mark: float = 0.0
    syringe: str = ""
    inside: bool = False
    reviewed: bool = False
    paused: bool = False


BUTTONS: dict[str, dict[str, Callable[[BenchState], Action]]] = {
    sentence("Hands, labels, checks").key: {
        sentence("clean hands").key: lambda _: handling.CleanHands(),
        sentence("gloves").key: lambda _: handling.PutOnGloves(),
        sentence("read label").key: lambda now: handling.ReadLabel(now.vial),
        sentence("look").key: lambda now: handling.LookAt(now.vial),
        sentence("say what the label shows").key: lambda now: checking.SayLabel(now.vial, now.finds),
        sentence("have it checked").key: lambda _: handling.HaveChecked(),
        sentence("label syringe").key: lambda _: handling.LabelSyringe(),
    },
    sentence("Vial").key: {
        sentence("roll").key: lambda now: handling.Roll(now.vial, now.rolls),
        sentence("shake").key: lambda now: handling.Shake(now.vial),
        sentence("wipe").key: lambda now: handling.Swab(now.vial, 10),
        sentence("let dry").key: lambda now: handling.LetDry(now.vial),
        sentence("discard vial").key: lambda now: handling.DiscardVial(now.vial),
        sentence("take new vial").key: lambda now: handling.TakeVial(now.vial),
    },
    sentence("Needle").key: {
        sentence("take syringe").key: lambda now: handling.TakeSyringe(now.syringe),
        sentence("pierce, tip in air").key: lambda now: actions.Pierce(now.vial, "air"),
        sentence("pierce, tip in liquid").key: lambda now: actions.Pierce(now.vial, "liquid"),
        sentence("turn vial over").key: lambda _: actions.Invert(),
        sentence("withdraw").key: lambda _: actions.Withdraw(),
    },
    sentence("Plunger").key: {
        sentence("pull air").key: lambda now: actions.PullAir(now.mark),
        sentence("push air").key: lambda _: actions.PushAir(),
        sentence("draw to mark").key: lambda now: actions.DrawTo(now.mark),
        sentence("draw fast to mark").key: lambda now: actions.DrawTo(now.mark, the_facts().bench["bubble_ml"].value),
        sentence("tap out bubbles").key: lambda _: actions.TapBubbles(),
        sentence("push back to mark").key: lambda now: actions.PushBackTo(now.mark),
    },
    sentence("After").key: {
        sentence("give").key: lambda _: handling.Give(),
        sentence("discard syringe").key: lambda _: handling.DiscardSyringe(),
        sentence("lay down 5 min").key: lambda _: handling.LayDown(5),
        sentence("cap, one hand").key: lambda _: handling.Cap("one hand"),
        sentence("cap, two hands").key: lambda _: handling.Cap("two hands"),
        sentence("uncap").key: lambda _: handling.Uncap(),
    },
}
"""Every button by its group: what it does as the controls stand."""

RUNS = tuple(name.replace("-", " ") for name in WRONG_RUNS)
"""What each wrong run is called: the name of its finding; the catalogue knows these words from the facts."""

PREDICT = sentence("Predict: what will the bench show?").key


def bench_notice_words(state: BenchState, refusal: str, site: Site) -> Sentence:
    """Return what stands below the bench.

    Parameters
    ----------
    state : State
        What has been done, and which step is looked at.
    refusal : str
        Why something cannot be done; empty when all is well.
    site : Site
        How long this ward keeps an opened vial.
    """
    done = len(state.trace)
    if refusal:
        return sentence("<b>Not done:</b> {text}", text=refusal)
    if state.paused:
        return sentence("<b>{predict}</b> Then press next step.", predict=sentence(PREDICT))
    if state.shown < done:
        back = sentence("<b>Looking back</b> at step {shown} of {done}. The next action goes on from step {done}.")
        return back.filled(shown=state.shown, done=done)
    if not done:
        return sentence("Begin with any step you think right. A grayed button says why when you point at it.")
    _, action, _, after = list(state.trace)[-1]
    step, seen = step_words(action, after), seen_words(action, after)
    told = sentence("Step {number}: {step}. {seen}", number=done, step=step, seen=seen)
    if not isinstance(action, handling.ReadLabel):
        return told
    insulin = insulins()[after.vials[action.vial].insulin]
    kept = sentence("{told} Once opened, {insulin} is kept for {days} here. Say what you found.")
    return kept.filled(told=told, insulin=insulin.name, days=opened_text(insulin, site))
