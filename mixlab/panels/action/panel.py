"""The panel on when insulins act: curves with a guess, who says what, and the day at the bedside."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import ipywidgets as widgets

from mixlab.care.action.curves import ActionCurves
from mixlab.care.day.planning import DayPlan, handbook_keys
from mixlab.care.order.comparisons import meal_time
from mixlab.care.order.lesson import lesson_order
from mixlab.facts.reading import the_facts
from mixlab.figures.action.both_together import draw_action
from mixlab.figures.action.both_together_words import describe_action
from mixlab.figures.action.evidence import draw_evidence
from mixlab.figures.action.evidence_words import describe_evidence
from mixlab.figures.day.day import draw_day
from mixlab.figures.day.describing import describe_day
from mixlab.figures.style import ROOM
from mixlab.pages.day import day_html
from mixlab.pages.labels import text_html
from mixlab.pages.order_answer import order_answer_html
from mixlab.screen.picture import LivePicture
from mixlab.ward.order.order import Order
from mixlab.ward.order.reading import read_order
from mixlab.ward.site.in_force import the_site
from mixlab.ward.site.record import Site

from .controls import ActionControls, appear
from .words import (
    ACTION_PICTURES,
    CLEAR,
    CLOUDY,
    CURVES,
    DAY,
    ActionState,
    ActionView,
    MealState,
    aloud_words,
    guess_words,
    see_action,
)

_HEIGHT = "max(56vh, 100vh - 340px)"
"""The most a picture takes: on a small laptop all controls stay in sight, in a room it grows."""


class WhenItActs(ActionControls):
    """The panel on when insulins act; its controls are those of `ActionControls`.

    Parameters
    ----------
    order : str, optional
        The order to begin with: `lesson_order` if not given.
    given_at : str, optional
        When it is injected, on the 24-hour clock; as long before its meal as `lesson_order` says if not given.
    site : Site, optional
        The site in force if not given.
    shown : str
        The picture to begin with: one of `words.ACTION_PICTURES`.

    Attributes
    ----------
    pictures : dict of str to LivePicture
        By what they show; the two insulins share one.
    """

    def __init__(
        self, order: str | None = None, given_at: str | None = None, site: Site | None = None, shown: str = CURVES
    ) -> None:
        site = the_site(site)
        lesson = lesson_order(site=site)
        self._rows = handbook_keys(read_order(lesson))
        first = ActionState(
            order_text=lesson,
            given_at=_first_time(read_order(lesson), site),
            meals=tuple(MealState(name=meal.name, at=meal.at) for meal in site.meals),
            basal_share=the_facts().action["basal_share"].value,
            shown=shown,
        )
        typed = {"order_text": lesson if order is None else order, "given_at": given_at or first.given_at}
        super().__init__(first, see_action, site, "mixlab-when", **typed)

    def build(self) -> list[widgets.Widget]:
        self._make_controls(self._rows)
        self._drawn: dict[str, Any] = {}
        self.pictures: dict[str, LivePicture] = {}
        if self._view:
            self.sheet.value = self._sheet_html(self._view)
            self._show_order_answer()
            self._make_pictures(self._view)
        return self._lay_out(dict.fromkeys(self.pictures.values()))

    def memory(self) -> list[tuple[object, str]]:
        return [*super().memory(), *([(self._drawn[CURVES], "top")] if self._view else [])]

    @property
    def verdict(self) -> str:
        """What the guess was worth; empty while the sum is hidden."""
        with self.speaking():
            return guess_words(self._seen)

    @property
    def curves(self) -> ActionCurves | None:
        """The model's curves now; None for an insulin without a model."""
        return self._seen.curves

    @property
    def plan(self) -> DayPlan:
        """The day as it is planned now."""
        return self._seen.plan

    def _make_pictures(self, view: ActionView) -> None:
        action, evidence, day = (
            draw_action(view.action, ROOM),
            draw_evidence(view.evidence, ROOM),
            draw_day(view.day, ROOM),
        )
        self._drawn = dict(zip(ACTION_PICTURES, (action, evidence, evidence, day), strict=True))
        figures = (action.figure, evidence.figure, day.figure)
        words = (describe_action(view.action), describe_evidence(view.evidence), describe_day(view.day))
        pictures = [
            LivePicture(figure, text, max_height=_HEIGHT, caption=caption)  # the day's words stand in the sheet
            for figure, text, caption in zip(figures, words, (True, True, False), strict=True)
        ]
        self.pictures = dict(zip(ACTION_PICTURES, (pictures[0], pictures[1], pictures[1], pictures[2]), strict=True))

    def _follow(self) -> None:
        """Let controls and pictures show the last state that could be shown."""
        carried = [*self._carried, self.given_text, self.weight, self._verdict, self.order_answer, self.sheet]
        with self._frame.carrying([*carried, *(one.text for one in self.meals.values())]):
            self._settle()
            self._verdict.value = text_html(guess_words(self._seen))
            self._show_order_answer()
            self.sheet.value = self._sheet_html(self._seen)
            self._show(self._seen, aloud_words(self._seen))

    def _settle(self) -> None:
        """Let every control say what the state says, and show what belongs to the chosen picture.

        What cannot be shown leaves the last good view, also in a picture that is chosen only then.
        """
        self._settle_controls()
        if self.message and self._view:
            self._move([self.state.shown], self._view)
        self._show_controls()
        for picture in dict.fromkeys(self.pictures.values()):
            appear(picture, picture is self.pictures[self.state.shown])

    def redraw(self) -> None:
        """Let every picture show the last good view: the one that is not seen now may be chosen next."""
        if self._view:
            look = CLOUDY if self.state.shown == CLOUDY else CLEAR  # both looks share one picture
            self._move([CURVES, look, DAY], self._view)

    def _show(self, view: ActionView, aloud: str) -> None:
        """Move the one picture that is seen."""
        self._move([view.state.shown], view, aloud)

    def _move(self, shown: list[str], view: ActionView, aloud: str = "") -> None:
        seen = {name: replace(view, state=replace(view.state, shown=name)).seen for name in shown}
        moved = {self.pictures[name]: (self._drawn[name].show(it), _DESCRIBE[name](it)) for name, it in seen.items()}
        self._frame.show(moved, aloud=aloud)

    def _sheet_html(self, view: ActionView) -> str:
        return day_html(view.day) if self.state.shown == DAY else ""

    def _show_order_answer(self) -> None:
        """Say above everything that an order is held; one that is not goes on to the patient, and has no line here."""
        answer = self._seen.plan.answer
        self.order_answer.value = order_answer_html(answer, for_a_plan=True) if answer.held else ""
        appear(self.order_answer, answer.held)

    def refuse(self, why: object) -> None:
        """Say why the controls cannot be shown; no sheet stands beside pictures that are stale."""
        super().refuse(why)
        self.sheet.value = self.order_answer.value = ""


_DESCRIBE: dict[str, Callable[..., str]] = dict(
    zip(ACTION_PICTURES, (describe_action, describe_evidence, describe_evidence, describe_day), strict=True)
)


def _first_time(order: Order, site: Site) -> str:
    """Return when the order of the lessons is due at a site: as long before its meal as it says."""
    when = str(order.when)
    meal = next((meal for meal in site.meals if meal.is_called(when)), site.meals[0])
    return meal.clock.later(-(meal_time(when).minutes or 0)).face


def when_it_acts(
    order: str | None = None, given_at: str | None = None, site: Site | None = None, shown: str = CURVES
) -> WhenItActs:
    """Return the panel for an order given at a clock time, ready to show as the last line of a cell; see `WhenItActs`.

    Examples
    --------
    >>> panel = when_it_acts(given_at="07:30")
    >>> round(panel.curves.peak(), 1)
    2.7
    """
    return WhenItActs(order, given_at, site, shown)
