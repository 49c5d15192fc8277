"""The line of a panel that says why something cannot be shown or done."""

from __future__ import annotations

from html import escape

import ipywidgets as widgets

from mixlab.words import Sentence, say, sentence

NOT_SHOWN = sentence("<b>Not shown:</b> {text}")
NOT_DONE = sentence("<b>Not done:</b> {text}")


class Notice(widgets.HTML):
    """Says why the controls cannot be shown.

    Parameters
    ----------
    words : Sentence
        How it says so.
    """

    def __init__(self, words: Sentence = NOT_SHOWN) -> None:
        self._words = words
        super().__init__()

    def refuse(self, why: str) -> None:
        """Say why."""
        words = say(self._words, text=escape(why))
        self.value = f'<div class="mixlab-refusal" role="alert">{words}</div>'

    def accept(self) -> None:
        """Take back what was said."""
        self.value = ""
