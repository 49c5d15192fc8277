"""The bench on the screen: do the steps in any order, look back, see what is really inside, and have the run reviewed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import ipywidgets as widgets

from mixlab.care.bench.bench import Action, Bench, Impossible, Trace, run
from mixlab.care.bench.checked_runs import GOOD
from mixlab.care.bench.runs import Run, rolls
from mixlab.care.bench.saved_attempt import CannotReplay, load_attempt, save_attempt
from mixlab.care.bench.variants import right_variant, wrong_run
from mixlab.care.bench.vessels import usual_physics
from mixlab.care.dosing import CannotPrepare, Plan, plan_dose
from mixlab.care.order.lesson import lesson_order
from mixlab.care.review.findings import Finding, review
from mixlab.figures.style import ROOM
from mixlab.figures.syringe.bench import draw_bench
from mixlab.figures.syringe.bench_words import describe_bench, places_of
from mixlab.files.whole import CannotWrite, bytes_now
from mixlab.pages.bench import notice_html, order_line_html, step_words, steps_html
from mixlab.pages.labels import line_html
from mixlab.pages.review import review_html
from mixlab.quantities import NotAnAmount
from mixlab.screen.picture import LivePicture
from mixlab.ward.order.order import OrderError
from mixlab.ward.order.reading import read_order
from mixlab.ward.site.in_force import the_site
from mixlab.ward.site.record import Site
from mixlab.words import say, sentence

from .controls import RIGHT_RUN, BenchControls
from .words import PREDICT, BenchState, bench_notice_words

_REFUSALS = (OrderError, CannotPrepare, NotAnAmount, Impossible)


class DrawUp(BenchControls):
    """The draw-up bench; its controls are those of `BenchControls`.

    Parameters
    ----------
    order : str, optional
        What is to be prepared: `lesson_order` if not given.
    site : Site, optional
        The site in force if not given.
    file : str or Path, optional
        Where the run is saved after every step; a run saved there before is played on.
    demonstration : bool
        Whether a lecturer plays ready-made runs step by step.
    vials : str
        Which vials are set out, as `TRAPS` calls them, or ``"chosen at random"``.
    seed : int, optional
        The same seed chooses the same vials.

    Attributes
    ----------
    trace : Trace
        What has been done so far.
    findings : tuple of Finding
        What the review found; empty until it is opened.
    bench_picture : LivePicture
    """

    def __init__(
        self,
        order: str | None = None,
        site: Site | None = None,
        file: str | Path | None = None,
        demonstration: bool = False,
        vials: str = GOOD,
        seed: int | None = None,
    ) -> None:
        self.site = the_site(site)
        self.findings: tuple[Finding, ...] = ()
        self._order_text = lesson_order(site=self.site) if order is None else order
        self._file = None if file is None or demonstration else Path(file)
        self._demonstration = demonstration
        self._kept: bytes | None = None  # what the file held when it was last read or written here
        self._vials, self._seed = vials, seed
        self._run: Run | None = None
        self._pause_at = 0  # the step at which the first finding of a ready-made run can be seen
        self._plan: Plan | None = None
        super().__init__(self.site.voice, "mixlab-draw-up")

    def build(self) -> list[widgets.Widget]:
        trace = self._set_out()
        first = next(iter(places_of(trace.last)), "")
        kind = next(iter(trace.last.kinds), "")
        self.state = BenchState(trace=trace, rolls=rolls(self.site), shown=len(trace), vial=first, syringe=kind)
        self._make_controls()
        with self.settling():
            self.vials.value = self._vials
        self._drawn = draw_bench(trace.last, ROOM)
        self.bench_picture = LivePicture(
            self._drawn.figure, describe_bench(trace.last), max_height="46vh", caption=True, stale=self._plan is None
        )
        return self._lay_out()

    def redraw(self) -> None:
        self._show(aloud="")

    begin = redraw

    def memory(self) -> list[tuple[object, str]]:
        """Return what the panel remembers beside what its parts show."""
        names = ("findings", "_run", "_pause_at", "_plan", "_file")
        return [*super().memory(), *((self, name) for name in names)]

    @property
    def trace(self) -> Trace:
        """What has been done so far."""
        return self.state.trace

    def do(self, action: Action) -> None:
        """Do any action, or say in `message` why it cannot be done."""
        if self._plan is None:
            return
        with self.speaking():
            try:
                trace = self.state.trace.then(action)
            except (Impossible, TypeError) as refusal:
                self._refuse(str(refusal))
            else:
                self._change(self._at(trace), message=self._save(trace), aloud=str(step_words(action, trace.last)))

    def _set_out(self) -> Trace:
        """Set out the bench for the order, with what was saved before; on a refusal an empty bench, and say why."""
        try:
            self._plan = plan_dose(read_order(self._order_text), self.site)
        except _REFUSALS as refusal:
            self.message = str(refusal)
            self._file = None
            return run(Bench(physics=usual_physics()))
        if self._demonstration:
            return self._choose_run(RIGHT_RUN)
        self._kept = bytes_now(self._file) if self._file else None
        if self._file is not None and self._file.exists():
            try:
                return self._saved(self._file)
            except CannotReplay as refusal:
                self.message = say("{refusal} It is left as it is, and this run is not saved.", refusal=refusal)
                self._file = None
        return self._bench_with(self._plan, self._vials)

    def _saved(self, file: Path) -> Trace:
        attempt = load_attempt(file)
        trace = attempt.trace(self.site)
        if str(read_order(attempt.order)) != str(read_order(self._order_text)):
            refusal = sentence("{file} holds a run for another order: {order}. Name another file.")
            raise CannotReplay(refusal.filled(file=file.name, order=attempt.order))
        return trace

    def _save(self, trace: Trace) -> str:
        """Save the run if a file was named and it is meant; return why it cannot be saved, or nothing."""
        if self._file is None or self.is_trying:
            return ""
        try:
            if bytes_now(self._file) != self._kept:
                words = sentence(
                    "This step is not saved: {file} was changed by another bench since it was read here. Run this cell again to go on from that run, or name another file."
                )
                return say(words, file=self._file.name)
            save_attempt(self._file, self._order_text, trace, self.site)
            self._kept = bytes_now(self._file)
        except CannotWrite as refused:
            words = sentence("This step is not saved: {file} cannot be written ({strerror}). Name another file.")
            return say(words, file=self._file, strerror=refused.reason)
        return ""

    def _choose_run(self, name: str) -> Trace:
        """Put a ready-made run in place and return its start; refuse it if the order leaves no room for it."""
        plan = plan_dose(read_order(self._order_text), self.site)
        made = right_variant("as the steps say", plan) if name == RIGHT_RUN else wrong_run(name.replace(" ", "-"), plan)
        found = review(made.plan.order, made.trace(), made.plan.site)
        self._run, self._plan = replace(made, name=name), made.plan
        self._pause_at = min((one.step for one in found), default=0)
        return run(made.bench)

    def _at(self, trace: Trace) -> BenchState:
        return replace(self.state, trace=trace, shown=len(trace), reviewed=False, paused=False)

    def _set_field(self, field: str, value: Any) -> None:
        self._change(replace(self.state, **{field: value}))

    def _press(self, make: Callable[[BenchState], Action]) -> None:
        try:
            action = make(self.state)
        except NotAnAmount as refusal:
            self._refuse(str(refusal))
        else:
            self.do(action)

    def _on_undo(self) -> None:
        if not len(self.state.trace):
            return
        trace = self.state.trace.up_to(len(self.state.trace) - 1)
        self._change(self._at(trace), message=self._save(trace), aloud=say("One step taken back."))

    def _on_finish(self) -> None:
        if self._plan is not None:
            state = replace(self.state, reviewed=True, shown=len(self.state.trace))
            self._change(state, aloud=say("The review stands below."))

    def _on_next(self) -> None:
        if self._run is None:
            return
        done = len(self.state.trace)
        if self.state.trace.actions != self._run.actions[:done]:
            self._refuse(say("This run has been changed by other steps. Undo them, or begin again."))
        elif done == len(self._run.actions):
            self._refuse(say("The run has ended. Press review, or begin again."))
        elif done + 1 == self._pause_at and not self.state.paused:
            self._change(replace(self.state, paused=True), aloud=say(PREDICT))
        else:
            self.do(self._run.actions[done])

    def _restart(self, name: str) -> None:
        if self._run is None or self._plan is None:
            return
        try:
            trace = self._choose_run(name)
        except _REFUSALS as refusal:
            with self.settling():
                self.run_name.value = self._run.name
            self._refuse(say("This order leaves no room for that run: {refusal}", refusal=refusal))
            return
        state = replace(self._at(trace), vial=places_of(trace.last)[0])
        self._change(state, aloud=say("{run}: at its start.", run=say(name)))

    def _refuse(self, message: str) -> None:
        self._change(self.state, message=message)

    def _change(self, state: BenchState, *, message: str = "", aloud: str = "") -> None:
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

    def _say(self) -> None:
        state = self.state
        order = str(self._plan.order) if self._run and self._plan else self._order_text
        self._heading.value = order_line_html(order)
        looking = sentence("<b>Look back:</b> step {shown} of {done}", shown=state.shown, done=len(state.trace))
        self._replay_words.value = line_html(looking)
        self.strip.value = steps_html(state.trace, state.shown)
        self._notice.value = notice_html(bench_notice_words(state, self.message, self.site), refused=bool(self.message))
        self._review.value = review_html(self.findings, state.trace) if state.reviewed else ""


def draw_up(
    order: str | None = None,
    site: Site | None = None,
    file: str | Path | None = None,
    demonstration: bool = False,
    vials: str = GOOD,
    seed: int | None = None,
) -> DrawUp:
    """Return the draw-up bench for an order, ready to show as the last line of a cell.

    Parameters
    ----------
    order, site, file, demonstration, vials, seed
        As `DrawUp`.

    Examples
    --------
    >>> panel = draw_up("regular insulin 8 units and NPH insulin 20 units")
    >>> panel.press("clean hands")
    >>> panel.trace.actions
    (CleanHands(),)
    >>> panel.close()
    """
    return DrawUp(order, site, file, demonstration, vials, seed)
