"""How parts of a panel stand beside each other, and what they are called."""

from __future__ import annotations

from collections.abc import Iterable

import ipywidgets as widgets

from mixlab.care.order.lesson import ban_on_the_lesson
from mixlab.pages.labels import label_html, line_html
from mixlab.ward.site.record import Site
from mixlab.words import Sentence, say, sentence

THIRD = {"flex": "1 1 0", "min_width": "0"}
"""One of several columns of one width."""

HALF = THIRD | {"width": "50%"}

COLUMN = {"width": "auto", "flex": "1 1 0", "min_width": "0", "overflow": "visible"}
"""A column whose pictures may reach beyond it."""


def bold(words: object) -> widgets.HTML:
    """Return words in bold."""
    return widgets.HTML(label_html(str(words)))


def marked_line(words: Sentence) -> widgets.HTML:
    """Return a sentence that carries marks of its own, such as bold words."""
    return widgets.HTML(line_html(words))


def row(*parts: str | widgets.Widget, gap: str = "0 8px") -> widgets.HBox:
    """Return parts one after the other, in as many lines as they need; words stand in bold."""
    shown = [bold(part) if isinstance(part, str) else part for part in parts]
    return widgets.HBox(shown, layout={"flex_flow": "row wrap", "grid_gap": gap, "align_items": "center"})


def ban_note(site: Site) -> list[widgets.Widget]:
    """Return a note that a ward forbids the pair of the lessons, and nothing where it allows it."""
    ban = ban_on_the_lesson(site)
    return [marked_line(sentence("<b>Policy:</b> {ban}", ban=ban)).add_class("mixlab-refusal")] if ban else []


def choices(words: Iterable[str]) -> list[tuple[str, str]]:
    """Return what can be chosen: each as it is said, with the word by which the panel knows it."""
    return [(say(word), word) for word in words]
