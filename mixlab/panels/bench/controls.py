"""The controls of the bench: what the buttons act on, a button for every action, and looking back."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import partial
from typing import Any

import ipywidgets as widgets

from mixlab.care.bench.bench import Action, Bench, Trace, run, why_not
from mixlab.care.bench.checked_runs import AT_RANDOM, TRAPS, trap_vials
from mixlab.care.bench.checking import LABEL_FINDS
from mixlab.care.bench.runs import bench_for
from mixlab.care.dosing import Plan
from mixlab.figures.syringe.bench_words import places_of
from mixlab.pages.labels import small_html
from mixlab.panels.rows import THIRD, ban_note, choices, row
from mixlab.quantities import NotAnAmount
from mixlab.screen.frame import CarriedHTML, CarriedSlider, PanelFrame
from mixlab.screen.panel import Panel
from mixlab.screen.picture import LivePicture
from mixlab.ward.site.record import Site
from mixlab.words import say, sentence

from .words import BUTTONS, RUNS, BenchState

RIGHT_RUN = sentence("right run").key
SAFETY = sentence("Teaching only. The {prescriber}'s order, local policy and licensed practice come first.").key


class BenchControls(Panel):
    """The controls of the draw-up bench; `DrawUp` plays and reviews the run.

    Attributes
    ----------
    vial, syringe, mark, mark_box : ipywidgets controls
        What the buttons act on: the vial's place, the syringe to take, the mark (whole by slider, halves typed).
    buttons : dict of str to ipywidgets.Button
        One for every action; greyed, with the reason as its tooltip, while it cannot be done.
    finds, vials : ipywidgets.Dropdown
        What the learner says of a label; and which vials are set out: all good, one that is not, or at random.
    undo, replay_step, inside, finish : ipywidgets controls
        Take back a step, look back, open what is really inside, and have the run reviewed.
    run_name, next, restart : ipywidgets controls
        In a demonstration: which run, its next step, and back to its start.
    strip : ipywidgets.HTML
        The steps so far.
    """

    state: BenchState
    site: Site
    bench_picture: LivePicture
    _plan: Plan | None
    _demonstration: bool
    _set_field: Callable[[str, Any], None]
    _press: Callable[[Callable[[BenchState], Action]], None]
    _on_undo: Callable[[], None]
    _on_finish: Callable[[], None]
    _on_next: Callable[[], None]
    _restart: Callable[[str], None]
    _seed: int | None
    _at: Callable[[Trace], BenchState]
    _change: Callable[..., None]

    def _make_controls(self) -> None:
        bench = self.state.trace.last
        self.vial = widgets.ToggleButtons(options=choices(self._places()), style={"button_width": "auto"})
        kinds = [(kind.name, key) for key, kind in bench.kinds.items()]
        self.syringe = widgets.Dropdown(options=kinds, layout={"width": "390px"})
        largest = max((kind.capacity for kind in bench.kinds.values()), default=100)
        self.mark = widgets.IntSlider(min=0, max=int(largest), readout=False, layout={"width": "220px"})
        self.mark_box = widgets.FloatText(step=0.5, layout={"width": "68px"})
        self.finds = widgets.Dropdown(options=choices(LABEL_FINDS), layout={"width": "132px"})
        self.vials = widgets.Dropdown(options=choices([*TRAPS, AT_RANDOM]), layout={"width": "190px"})
        self.when(self.vials, self._set_out_again)
        self._makes = {name: make for some in BUTTONS.values() for name, make in some.items()}
        self.buttons = {
            name: self.button(name, say(name), partial(self._press, make)) for name, make in self._makes.items()
        }
        self.undo = self.button("undo", say("undo"), self._on_undo)
        self.finish = self.button("review", say("review"), self._on_finish)
        self.replay_step = CarriedSlider(min=0, max=0, readout=False, layout={"width": "180px"})
        self.inside = widgets.ToggleButton(description=say("what is really inside"), layout={"width": "auto"})
        self.pressable["what is really inside"] = self.inside
        self.run_name = widgets.Dropdown(options=choices([RIGHT_RUN, *RUNS]), layout={"width": "260px"})
        self.next = self.button("next step", say("next step"), self._on_next)
        self.restart = self.button("begin again", say("begin again"), lambda: self._restart(self.run_name.value))
        self.when(self.run_name, self._restart)
        self.strip, self._notice, self._heading, self._review = (CarriedHTML() for _ in range(4))
        self._replay_words = CarriedHTML()
        named = {
            "vial": (self.vial, say("Vial to act on"), "vial"),
            "finds": (self.finds, say("What the label shows"), "finds"),
            "syringe": (self.syringe, say("Syringe to take"), "syringe"),
            "mark": (self.mark, say("Mark for the stopper"), "mark"),
            "mark-box": (self.mark_box, say("Mark for the stopper, typed"), "mark"),
            "replay": (self.replay_step, say("Look back at step"), "shown"),
        }
        for name, (control, _, field) in named.items():
            control.add_class(f"mixlab-{name}")
            self.when(control, partial(self._set_field, field))
        self.when(self.inside, partial(self._set_field, "inside"))
        names = {f"mixlab-{name}": words for name, (_, words, _) in named.items()}
        moved = {"syringe": self.syringe, "mark": self.mark_box, "look_back": self.replay_step}
        self.controls = {"vial": self.vial, "label": self.finds, **moved}
        if self._demonstration:
            self.run_name.add_class("mixlab-run")
            self.controls["run"], names["mixlab-run"] = self.run_name, say("Run to show")
        else:
            self.vials.add_class("mixlab-vials")
            self.controls["vials"], names["mixlab-vials"] = self.vials, say("Vials set out")
        self._frame = PanelFrame(
            names | {f"mixlab-group-{at}": say(words) for at, words in enumerate(BUTTONS)},
            {"mixlab-mark": say("mark {number}", number="{}"), "mixlab-replay": say("step {number}", number="{}")},
        )

    def _lay_out(self) -> list[widgets.Widget]:
        groups = []
        for at, (words, some) in enumerate(BUTTONS.items()):
            parts: list[widgets.Widget] = [self.buttons[name] for name in some]
            if "say what the label shows" in some:
                parts.insert([*some].index("say what the label shows") + 1, self.finds)
            groups.append(row(say(words), *parts, gap="0 2px"))
            groups[-1].add_class(f"mixlab-group-{at}")
        mark = (say("Mark for the stopper"), self.mark, self.mark_box)
        chosen = row(say("Vial"), self.vial, *mark, say("Syringe"), self.syringe)
        after = row(
            self.undo,
            self._replay_words,
            self.replay_step,
            self.inside,
            self.finish,
            widgets.HTML(small_html(say(SAFETY))),
        )
        demonstration = row(say("Run"), self.run_name, self.next, self.restart)
        own = row(self._heading, say("Vials set out"), self.vials)
        strip = widgets.VBox([self.strip], layout={"width": "clamp(250px, 19vw, 380px)"})
        return [
            *ban_note(self.site),
            *([self._heading, demonstration] if self._demonstration else [own]),
            widgets.HBox([widgets.VBox([self.bench_picture], layout=THIRD), strip], layout={"grid_gap": "8px"}),
            self._notice,
            chosen,
            row(*groups, gap="0 12px"),
            after,
            self._review,
            self._frame,
        ]

    def _bench_with(self, plan: Plan, vials: str) -> Trace:
        return run(bench_for(plan.order, self.site, **trap_vials(plan, vials, self._seed)))

    def _set_out_again(self, vials: str) -> None:
        if self._plan is not None:
            self._change(self._at(self._bench_with(self._plan, vials)), aloud=say("The bench is set out anew."))

    def _places(self) -> list[str]:
        return places_of(self.state.trace.states[0])

    def _settle(self) -> None:
        """Set every control without calling the handlers again."""
        state, bench = self.state, self.state.trace.last
        with self.settling():
            if list(self.vial.options) != choices(self._places()):
                self.vial.options = choices(self._places())
            self.vial.value = state.vial or None
            self.syringe.value = state.syringe or None
            self.mark_box.value = state.mark
            if math.isfinite(state.mark):
                self.mark.value = int(min(max(state.mark, self.mark.min), self.mark.max))
            self.replay_step.max = max(len(state.trace), state.shown)
            self.replay_step.value = state.shown
            self.inside.value, self.finds.value = state.inside, state.finds
        for name, button in self.buttons.items():
            reason = self._reason(self._makes[name], bench)
            button.disabled, button.tooltip = bool(reason), reason or None
        self.undo.disabled = not len(state.trace)
        self.finish.disabled = self._plan is None
        self.next.disabled = self.restart.disabled = self.vials.disabled = self._plan is None

    def _reason(self, make: Callable[[BenchState], Action], bench: Bench) -> str:
        if self._plan is None:
            return say("There is nothing to prepare: see the message.")
        try:
            return str(why_not(bench, make(self.state)))
        except NotAnAmount as refusal:
            return str(refusal)
