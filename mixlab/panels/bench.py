"""The bench on the screen: do the steps in any order, look back, see what is really inside, and have the run reviewed."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import ipywidgets as widgets

from mixlab.care.bench.bench import Action, Bench, Impossible, Trace, run, set_out, why_not
from mixlab.care.bench.runs import Run, bench_for, right_run, rolls
from mixlab.care.bench.saved_attempt import CannotReplay, load_attempt, save_attempt
from mixlab.care.bench.variants import wrong_run
from mixlab.care.bench.vessels import usual_physics
from mixlab.care.dosing import CannotPrepare, Plan, plan_dose
from mixlab.care.review.findings import Finding, review
from mixlab.figures.style import ROOM
from mixlab.figures.syringe.bench import draw_bench
from mixlab.figures.syringe.bench_words import describe_bench, places_of
from mixlab.files.whole import CannotWrite
from mixlab.pages.bench import notice_html, order_line_html, seen_words, step_words, steps_html
from mixlab.pages.labels import label_html, line_html, small_html
from mixlab.pages.review import review_html
from mixlab.quantities import NotAnAmount
from mixlab.screen.frame import CarriedHTML, CarriedSlider, PanelFrame
from mixlab.screen.picture import LivePicture
from mixlab.ward.order.order import OrderError
from mixlab.ward.order.reading import read_order
from mixlab.ward.site.in_force import the_site
from mixlab.ward.site.record import Site
from mixlab.words import Sentence, say, sentence

from .bench_words import BUTTONS, RUNS, State
from .order_controls import FIRST_ORDER
from .own_words import choices, in_its_own_words

RIGHT_RUN = sentence("right run").key
PREDICT = sentence("Predict: what will the bench show?").key
SAFETY = sentence("Teaching only. The {prescriber}'s order, local policy and licensed practice come first.").key

_REFUSALS = (OrderError, CannotPrepare, NotAnAmount, Impossible)


@in_its_own_words
class DrawUp(widgets.VBox):
    """The draw-up bench.

    Parameters
    ----------
    order : str
        What is to be prepared.
    site : Site, optional
        The site in force if not given.
    file : str or Path, optional
        Where the run is saved after every step; a run saved there before is played on.
    demonstration : bool
        Whether a lecturer plays ready-made runs step by step.

    Attributes
    ----------
    trace : Trace
        What has been done so far.
    findings : tuple of Finding
        What the review found; empty until it is opened.
    vial, syringe, mark, mark_box : ipywidgets controls
        What the buttons act on: the vial's place, the syringe to take, the mark (whole by slider, halves typed).
    buttons : dict of str to ipywidgets.Button
        One for every action; greyed, with the reason as its tooltip, while it cannot be done.
    undo, replay_step, inside, finish : ipywidgets controls
        Take back a step, look back, open what is really inside, and have the run reviewed.
    run_name, next, restart : ipywidgets controls
        In a demonstration: which run, its next step, and back to its start.
    bench_picture : LivePicture
    strip : ipywidgets.HTML
        The steps so far.
    message : str
        Why something cannot be done; empty when all is well.
    """

    def __init__(
        self,
        order: str = FIRST_ORDER,
        site: Site | None = None,
        file: str | Path | None = None,
        demonstration: bool = False,
    ) -> None:
        self.site = the_site(site)
        self.message = ""
        self.findings: tuple[Finding, ...] = ()
        self._order_text = order
        self._file = None if file is None or demonstration else Path(file)
        self._demonstration = demonstration
        self._settling = False
        self._paused = False  # whether the class has been asked what the next step will show
        self._run: Run | None = None
        self._plan: Plan | None = None
        trace = self._begin()
        first = next(iter(places_of(trace.last)), "")
        self.state = State(
            trace=trace, rolls=rolls(self.site), shown=len(trace), vial=first, syringe=next(iter(trace.last.kinds), "")
        )
        self._make_controls()
        self._drawn = draw_bench(trace.last, ROOM)
        self.bench_picture = LivePicture(
            self._drawn.figure, describe_bench(trace.last), max_height="46vh", caption=True, stale=self._plan is None
        )
        super().__init__(self._lay_out())
        self.add_class("mixlab-draw-up")
        self._show(aloud="")

    @property
    def trace(self) -> Trace:
        """What has been done so far."""
        return self.state.trace

    def do(self, action: Action) -> None:
        """Do any action, or say in `message` why it cannot be done."""
        if self._plan is None:
            return
        try:
            trace = self.state.trace.then(action)
        except (Impossible, TypeError) as refusal:
            self._change(self.state, message=str(refusal))
            return
        self._paused = False
        self._change(self._at(trace), message=self._save(trace), aloud=str(step_words(action, trace.last)))

    def _begin(self) -> Trace:
        """Set out the bench for the order, with what was saved before; on a refusal an empty bench, and say why."""
        try:
            self._plan = plan_dose(read_order(self._order_text), self.site)
        except _REFUSALS as refusal:
            self.message = str(refusal)
            self._file = None
            return run(set_out({}, {}, usual_physics()))
        if self._demonstration:
            return self._choose_run(RIGHT_RUN)
        if self._file is not None and self._file.exists():
            try:
                return self._saved(self._file)
            except CannotReplay as refusal:
                self.message = say("{refusal} It is left as it is, and this run is not saved.", refusal=refusal)
                self._file = None
        return run(bench_for(self._plan.order, self.site))

    def _saved(self, file: Path) -> Trace:
        attempt = load_attempt(file)
        trace = attempt.trace(self.site)
        assert self._plan is not None
        if str(read_order(attempt.order)) != str(self._plan.order):
            raise CannotReplay(
                sentence(
                    "{file} holds a run for another order: {order}. Name another file.",
                    file=file.name,
                    order=attempt.order,
                )
            )
        return trace

    def _save(self, trace: Trace) -> str:
        """Save the run if a file was named; return why it cannot be saved, or nothing."""
        if self._file is None:
            return ""
        try:
            save_attempt(self._file, self._order_text, trace, self.site)
        except CannotWrite as refused:
            return say(
                "This step is not saved: {file} cannot be written ({strerror}). Name another file.",
                file=self._file,
                strerror=refused.reason,
            )
        return ""

    def _choose_run(self, name: str) -> Trace:
        """Put a ready-made run in place and return its start.

        Raises
        ------
        Impossible, CannotPrepare
            If the order leaves no room for it.
        """
        plan = plan_dose(read_order(self._order_text), self.site)
        if name == RIGHT_RUN:
            made = Run(name=name, plan=plan, bench=bench_for(plan.order, plan.site), actions=right_run(plan))
        else:
            made = wrong_run(name.replace(" ", "-"), plan)
        found = review(made.plan.order, made.trace(), made.plan.site)
        self._run, self._plan = made, made.plan
        self._pause_at = found[0].step if found else 0  # the step at which the first finding can be seen
        self._paused = False
        return run(made.bench)

    def _at(self, trace: Trace) -> State:
        return replace(self.state, trace=trace, shown=len(trace), reviewed=False)

    def _make_controls(self) -> None:
        bench = self.state.trace.last
        self.vial = widgets.ToggleButtons(options=choices(self._places()), style={"button_width": "auto"})
        kinds = [(kind.name, key) for key, kind in bench.kinds.items()]
        self.syringe = widgets.Dropdown(options=kinds, layout={"width": "390px"})
        largest = max((kind.capacity for kind in bench.kinds.values()), default=100)
        self.mark = widgets.IntSlider(min=0, max=int(largest), readout=False, layout={"width": "220px"})
        self.mark_box = widgets.FloatText(step=0.5, layout={"width": "68px"})
        self.buttons = {name: _button(say(name)) for some in BUTTONS.values() for name in some}
        self.undo = _button(say("undo"))
        self.finish = _button(say("review"))
        self.replay_step = CarriedSlider(min=0, max=0, readout=False, layout={"width": "180px"})
        self.inside = widgets.ToggleButton(description=say("what is really inside"), layout={"width": "auto"})
        self.run_name = widgets.Dropdown(options=choices([RIGHT_RUN, *RUNS.values()]), layout={"width": "260px"})
        self.next, self.restart = _button(say("next step")), _button(say("begin again"))
        self.strip, self._notice, self._heading, self._review = (CarriedHTML() for _ in range(4))
        self._replay_words = CarriedHTML()
        for control, field in (
            (self.vial, "vial"),
            (self.syringe, "syringe"),
            (self.mark, "mark"),
            (self.mark_box, "mark"),
            (self.inside, "inside"),
            (self.replay_step, "shown"),
        ):
            control.observe(self._on_control(field), "value")
        for some in BUTTONS.values():
            for name, make in some.items():
                self.buttons[name].on_click(self._on_button(make))
        self.undo.on_click(self._on_undo)
        self.finish.on_click(self._on_finish)
        self.next.on_click(self._on_next)
        self.restart.on_click(lambda _: self._restart(self.run_name.value))
        self.run_name.observe(lambda change: self._restart(change.new, change.old), "value")
        named = {
            "vial": (self.vial, say("Vial to act on")),
            "syringe": (self.syringe, say("Syringe to take")),
            "mark": (self.mark, say("Mark for the stopper")),
            "mark-box": (self.mark_box, say("Mark for the stopper, typed")),
            "replay": (self.replay_step, say("Look back at step")),
            "run": (self.run_name, say("Run to show")),
        }
        for name, (control, _) in named.items():
            control.add_class(f"mixlab-{name}")
        names_of = {
            f"mixlab-{name}": words for name, (_, words) in named.items() if name != "run" or self._demonstration
        }
        self._frame = PanelFrame(
            names_of | {f"mixlab-group-{at}": say(words) for at, words in enumerate(BUTTONS)},
            {"mixlab-mark": say("mark {number}", number="{}"), "mixlab-replay": say("step {number}", number="{}")},
        )

    def _lay_out(self) -> list[widgets.Widget]:
        groups = []
        for at, (words, some) in enumerate(BUTTONS.items()):
            row = widgets.HBox(
                [widgets.HTML(label_html(say(words))), *(self.buttons[name] for name in some)], layout=_row("0 2px")
            )
            row.add_class(f"mixlab-group-{at}")
            groups.append(row)
        chosen = [
            widgets.HTML(label_html(say("Vial"))),
            self.vial,
            widgets.HTML(label_html(say("Mark for the stopper"))),
            self.mark,
            self.mark_box,
            widgets.HTML(label_html(say("Syringe"))),
            self.syringe,
        ]
        after = [
            self.undo,
            self._replay_words,
            self.replay_step,
            self.inside,
            self.finish,
            widgets.HTML(small_html(say(SAFETY))),
        ]
        demonstration = [widgets.HTML(label_html(say("Run"))), self.run_name, self.next, self.restart]
        return [
            self._heading,
            *([widgets.HBox(demonstration, layout=_row("0 8px"))] if self._demonstration else []),
            widgets.HBox(
                [
                    widgets.VBox([self.bench_picture], layout={"flex": "1 1 0", "min_width": "0"}),
                    widgets.VBox([self.strip], layout={"width": "clamp(250px, 19vw, 380px)"}),
                ],
                layout={"grid_gap": "8px"},
            ),
            self._notice,
            widgets.HBox(chosen, layout=_row("0 8px")),
            widgets.HBox(groups, layout=_row("0 12px")),
            widgets.HBox(after, layout=_row("0 8px")),
            self._review,
            self._frame,
            widgets.HTML(_STYLE),
        ]

    def _places(self) -> list[str]:
        return places_of(self.state.trace.states[0])

    def _on_control(self, field: str) -> Callable[[Any], None]:
        def handler(change: Any) -> None:
            if not self._settling:
                changed: dict[str, Any] = {field: change.new}
                self._change(replace(self.state, **changed))

        return handler

    def _on_button(self, make: Callable[[State], Action]) -> Callable[[Any], None]:
        return lambda _: self._press(make)

    def _press(self, make: Callable[[State], Action]) -> None:
        try:
            action = make(self.state)
        except NotAnAmount as refusal:
            self._change(self.state, message=str(refusal))
        else:
            self.do(action)

    def _on_undo(self, _: Any) -> None:
        if not len(self.state.trace):
            return
        trace = self.state.trace.up_to(len(self.state.trace) - 1)
        self._paused = False
        self._change(self._at(trace), message=self._save(trace), aloud=say("One step taken back."))

    def _on_finish(self, _: Any) -> None:
        if self._plan is not None:
            self._change(
                replace(self.state, reviewed=True, shown=len(self.state.trace)), aloud=say("The review stands below.")
            )

    def _on_next(self, _: Any) -> None:
        if self._run is None:
            return
        done = len(self.state.trace)
        if self.state.trace.actions != self._run.actions[:done]:
            self._change(
                self.state, message=say("This run has been changed by other steps. Undo them, or begin again.")
            )
        elif done == len(self._run.actions):
            self._change(self.state, message=say("The run has ended. Press review, or begin again."))
        elif done + 1 == self._pause_at and not self._paused:
            self._paused = True
            self._change(self.state, aloud=say(PREDICT))
        else:
            self._paused = False
            self.do(self._run.actions[done])

    def _restart(self, name: str, before: str = RIGHT_RUN) -> None:
        if self._settling or not self._demonstration or self._plan is None:
            return
        try:
            trace = self._choose_run(name)
        except _REFUSALS as refusal:
            self._settling = True
            self.run_name.value = before
            self._settling = False
            self._change(self.state, message=say("This order leaves no room for that run: {refusal}", refusal=refusal))
            return
        self._change(
            replace(self._at(trace), vial=places_of(trace.last)[0]), aloud=say("{run}: at its start.", run=say(name))
        )

    def _change(self, state: State, *, message: str = "", aloud: str = "") -> None:
        """Take a new state and show it."""
        self.message, self.state = message, state
        self._show(aloud=aloud if not message else "")  # the message is an alert: it is spoken by itself

    def _show(self, aloud: str) -> None:
        """Let controls, words and picture say what the state says."""
        state = self.state
        self.findings = ()
        if state.reviewed and self._plan is not None:
            self.findings = review(self._plan.order, state.trace, self._plan.site)
        bench = state.trace.states[state.shown]
        words = describe_bench(bench, state.inside)
        said = (self.strip, self._notice, self._heading, self._review, self._replay_words)
        with self._frame.carrying([self.replay_step, *said]):
            self._settle()
            self._say()
            self._frame.show({self.bench_picture: (self._drawn.show(bench, state.inside), words)}, aloud=aloud)

    def _settle(self) -> None:
        """Set every control without calling the handlers again."""
        state, bench = self.state, self.state.trace.last
        self._settling = True
        try:
            if list(self.vial.options) != choices(self._places()):
                self.vial.options = choices(self._places())
            self.vial.value = state.vial or None
            self.syringe.value = state.syringe or None
            self.mark_box.value = state.mark
            if math.isfinite(state.mark):
                self.mark.value = int(min(max(state.mark, self.mark.min), self.mark.max))
            self.replay_step.max = max(len(state.trace), state.shown)
            self.replay_step.value = state.shown
            self.inside.value = state.inside
        finally:
            self._settling = False
        for some in BUTTONS.values():
            for name, make in some.items():
                reason = self._reason(make, bench)
                self.buttons[name].disabled, self.buttons[name].tooltip = bool(reason), reason or None
        self.undo.disabled = not len(state.trace)
        self.finish.disabled = self._plan is None
        self.next.disabled = self.restart.disabled = self._plan is None

    def _reason(self, make: Callable[[State], Action], bench: Bench) -> str:
        if self._plan is None:
            return say("There is nothing to prepare: see the message.")
        try:
            return str(why_not(bench, make(self.state)))
        except NotAnAmount as refusal:
            return str(refusal)

    def _say(self) -> None:
        state, done = self.state, len(self.state.trace)
        order = str(self._plan.order) if self._run and self._plan else self._order_text
        self._heading.value = order_line_html(order)
        self._replay_words.value = line_html(
            sentence("<b>Look back:</b> step {shown} of {done}", shown=state.shown, done=done)
        )
        self.strip.value = steps_html(state.trace, state.shown)
        self._notice.value = notice_html(self._notice_words(), refused=bool(self.message))
        self._review.value = review_html(self.findings, state.trace) if state.reviewed else ""

    def _notice_words(self) -> Sentence:
        state, done = self.state, len(self.state.trace)
        if self.message:
            return sentence("<b>Not done:</b> {text}", text=self.message)
        if self._paused:
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


_STYLE = """<style>
.mixlab-draw-up .mixlab-picture-caption { font-size: 13px; min-height: 4em; max-height: 5.4em; }
.mixlab-draw-up .widget-html-content { line-height: 1.35; }
.mixlab-draw-up .jupyter-button { padding: 0 6px; }
.mixlab-bench-order { font-size: 15px; }
.mixlab-bench-notice { font-size: 17px; min-height: 26px; padding: 1px 8px; border-left: 6px double currentColor; }
.mixlab-strip, .mixlab-review { font-size: 13px; line-height: 1.35; overflow-y: auto; }
.mixlab-strip { height: min(46vh, 330px); display: flex; flex-direction: column-reverse; }
.mixlab-strip > div { margin-bottom: auto; }
.mixlab-strip ol, .mixlab-review ol { margin: 0; padding-left: 2.2em; }
.mixlab-strip b { display: block; position: sticky; top: 0; background: var(--jp-layout-color0, white); }
.mixlab-strip [aria-current] { font-weight: bold; }
.mixlab-review { max-height: 60vh; font-size: 15px; border-top: 2px solid currentColor; }
.mixlab-review li { margin-bottom: 8px; }
@media (min-height: 900px) {
  .mixlab-draw-up .mixlab-picture-caption, .mixlab-strip { font-size: 15px; }
  .mixlab-strip { height: 46vh; }
}
</style>"""


def _button(words: str) -> widgets.Button:
    return widgets.Button(description=words, layout={"width": "auto"})


def _row(gap: str) -> dict[str, str]:
    return {"flex_flow": "row wrap", "grid_gap": gap, "align_items": "center"}


def draw_up(
    order: str = FIRST_ORDER, site: Site | None = None, file: str | Path | None = None, demonstration: bool = False
) -> DrawUp:
    """Return the draw-up bench for an order, ready to show as the last line of a cell."""
    return DrawUp(order, site, file, demonstration)
