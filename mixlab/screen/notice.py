"""The line of a panel that says why something cannot be shown."""

from __future__ import annotations

from collections.abc import Iterable
from html import escape

import ipywidgets as widgets

from mixlab.words import say

from .picture import LivePicture


class Notice(widgets.HTML):
    """Says why the controls cannot be shown, and marks the pictures as stale meanwhile.

    Attributes
    ----------
    message : str
        The sentence; empty when all is well.
    """

    def __init__(self) -> None:
        self.message = ""
        super().__init__()

    def refuse(self, sentence: str, pictures: Iterable[LivePicture]) -> None:
        """Say why, and keep the last good pictures, marked as stale."""
        self.message = sentence
        words = say("<b>Not shown:</b> {text}", text=escape(sentence))
        self.value = f'<div class="mixlab-refusal" role="alert">{words}</div>'
        for picture in pictures:
            picture.stale = True

    def accept(self, pictures: Iterable[LivePicture]) -> None:
        """Take back what was said."""
        self.message = self.value = ""
        for picture in pictures:
            picture.stale = False
