"""The bench for a second nurse: a syringe that somebody else drew, to be compared with order and labels, and passed or stopped."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial

import ipywidgets as widgets

from mixlab.care.bench.bench import Trace
from mixlab.care.bench.checked_runs import syringe_to_check
from mixlab.care.bench.checking import CHECK_SEES, SAYS, SayCheck
from mixlab.care.dosing import plan_dose
from mixlab.care.order.lesson import lesson_order
from mixlab.care.review.findings import Finding, judge_check
from mixlab.figures.style import ROOM
from mixlab.figures.syringe.bench import draw_bench
from mixlab.figures.syringe.bench_words import describe_bench
from mixlab.pages.bench import handed_html, order_line_html
from mixlab.pages.labels import small_html
from mixlab.pages.review import check_html
from mixlab.panels.rows import ban_note, choices, row
from mixlab.quantities import NotAnAmount
from mixlab.screen.frame import CarriedHTML, PanelFrame
from mixlab.screen.panel import NOT_DONE, Panel
from mixlab.screen.picture import LivePicture
from mixlab.ward.order.reading import read_order
from mixlab.ward.site.in_force import the_site
from mixlab.ward.site.record import Site
from mixlab.words import say

from .controls import SAFETY


@dataclass(frozen=True, kw_only=True)
class CheckState:
    """The syringe that was handed over, what was done before, and whether the second nurse has spoken."""

    trace: Trace
    number: int
    has_spoken: bool = False


class SecondNurse(Panel):
    """Be the second nurse: see order, labels and the syringe at eye level, say what you see, and pass or stop it.

    Parameters
    ----------
    order : str, optional
        What was to be prepared: `lesson_order` if not given.
    site : Site, optional
        The site in force if not given.
    syringe : str
        One of `SYRINGES`; at random if not given.
    seed : int
        The same seed hands over the same syringes one after the other.

    Attributes
    ----------
    findings : tuple of Finding
        What was wrong with the check; empty until something is said, and when it was right.
    mark, sees : ipywidgets controls
        At which mark the plunger stands, and what is wrong.
    picture : LivePicture
    """

    state: CheckState
    _refusal = NOT_DONE

    def __init__(
        self, order: str | None = None, site: Site | None = None, syringe: str = "", seed: int | None = None
    ) -> None:
        self.site = the_site(site)
        self.findings: tuple[Finding, ...] = ()
        self._plan = plan_dose(read_order(lesson_order(site=self.site) if order is None else order), self.site)
        self._syringe, self._seed = syringe, seed
        self.state = CheckState(trace=self._handed(0), number=0)
        super().__init__(self.site.voice, "mixlab-second-nurse")

    def memory(self) -> list[tuple[object, str]]:
        return [*super().memory(), (self, "findings")]

    def build(self) -> list[widgets.Widget]:
        bench = self.state.trace.last
        self._drawn = draw_bench(bench, ROOM)
        self.picture = LivePicture(self._drawn.figure, describe_bench(bench), max_height="46vh")
        self.mark = widgets.BoundedFloatText(min=0, max=100, step=0.5, layout={"width": "68px"})
        self.sees = widgets.Dropdown(options=choices(CHECK_SEES), layout={"width": "200px"})
        self.controls = {"mark": self.mark, "sees": self.sees}
        names = {"mixlab-check-mark": say("Plunger at"), "mixlab-check-sees": say("What is wrong")}
        for name, control in zip(names, (self.mark, self.sees), strict=True):
            control.add_class(name)
        self._speak = [self.button(key, say(key), partial(self._say, key)) for key in SAYS]
        after = self.button("next syringe", say("next syringe"), self._next)
        self._labels, self._review = CarriedHTML(), CarriedHTML()
        self._frame = PanelFrame(names)
        saying = row(say("Plunger at"), self.mark, say("What is wrong"), self.sees, *self._speak, after)
        return [
            *ban_note(self.site),
            widgets.HTML(order_line_html(str(self._plan.order))),
            self.picture,
            self._labels,
            saying,
            self._notice,
            widgets.HTML(small_html(say(SAFETY))),
            self._review,
            self._frame,
        ]

    def redraw(self) -> None:
        self._show(aloud="")

    begin = redraw

    def _handed(self, number: int) -> Trace:
        seed = None if self._seed is None else self._seed + number
        return syringe_to_check(self._plan, self._syringe if not number else "", seed).trace()

    def _say(self, says: str) -> None:
        try:
            said = SayCheck(self.mark.value, self.sees.value, says)
        except NotAnAmount as refusal:
            self._object(refusal)
            return
        self.accept()
        trace = self.state.trace.then(said)
        self.findings = judge_check(self._plan.order, trace, self.site)
        self.state = replace(self.state, trace=trace, has_spoken=True)
        self._show(aloud=say("The review stands below."))

    def _next(self) -> None:
        self.accept()
        number = self.state.number + 1
        self.findings, self.state = (), CheckState(trace=self._handed(number), number=number)
        with self.settling():
            self.mark.value, self.sees.value = 0.0, next(iter(CHECK_SEES))
        self._show(aloud=say("Another syringe is handed to you."))

    def _show(self, aloud: str) -> None:
        state, bench = self.state, self.state.trace.last
        with self._frame.carrying([self._labels, self._review]):
            for button in self._speak:
                button.disabled = state.has_spoken
                button.tooltip = say("You have spoken. Take the next syringe.") if state.has_spoken else None
            self._labels.value = handed_html(bench, self.site)
            self._review.value = check_html(self.findings, state.trace) if state.has_spoken else ""
            self._frame.show(
                {self.picture: (self._drawn.show(bench, reading=state.has_spoken), describe_bench(bench))}, aloud=aloud
            )


def second_nurse(
    order: str | None = None, site: Site | None = None, syringe: str = "", seed: int | None = None
) -> SecondNurse:
    """Return the bench for a second nurse, with a syringe that somebody else drew; see `SecondNurse`.

    Examples
    --------
    >>> panel = second_nurse("regular insulin 8 units and NPH insulin 20 units", syringe="doses swapped")
    >>> panel.set(mark=20, sees="another amount")
    >>> panel.press("stop")
    >>> panel.findings
    ()
    >>> panel.close()
    """
    return SecondNurse(order, site, syringe, seed)
