"""Records as pictures: a bare plan or decision at the end of a cell is shown drawn, with its words as its name."""

from __future__ import annotations

from typing import Any

from IPython import get_ipython

from mixlab.care.decision.deciding import Decision
from mixlab.care.dosing import Plan
from mixlab.figures.decision.card import describe_card, draw_card
from mixlab.figures.style import ROOM
from mixlab.figures.syringe.barrel import draw_barrel
from mixlab.figures.syringe.barrel_words import describe_barrel
from mixlab.screen.picture import LivePicture
from mixlab.words import speaking


def picture_of(record: Plan | Decision) -> LivePicture:
    """Draw a plan or a decision."""
    if isinstance(record, Plan):
        with speaking(record.site.voice):
            return LivePicture(
                draw_barrel(record, ROOM).figure, describe_barrel(record), max_height="60vh", caption=True
            )
    return LivePicture(draw_card(record, ROOM).figure, describe_card(record), max_height="40vh", caption=True)


def _bundle(record: Plan | Decision, **_: Any) -> Any:
    return picture_of(record)._repr_mimebundle_()


def show_records_as_pictures() -> None:
    """Tell a running notebook to show plans and decisions as pictures; elsewhere nothing happens."""
    shell = get_ipython()
    if shell is not None:
        for kind in (Plan, Decision):
            shell.display_formatter.mimebundle_formatter.for_type(kind, _bundle)
