"""The short lines of a page: the name of a control, a note in small print, why something is not done, what was checked."""

from __future__ import annotations

from collections.abc import Sequence

from mixlab.words import Sentence

from .engine import Shown, marked_up, render


def label_html(words: Shown, note: Shown = "") -> str:
    """Return the name of a control or a group of controls.

    Parameters
    ----------
    words : Sentence or str
        The name.
    note : Sentence or str
        What stands behind it in plain letters, if anything.
    """
    return render("label", words=words, note=note)


def line_html(words: Sentence) -> str:
    """Return a sentence that carries markup of its own, such as ``"<b>Injected</b> at"``."""
    return str(marked_up(words))


def small_html(words: Shown) -> str:
    """Return a note in small print."""
    return render("small_print", words=words)


def text_html(words: Shown) -> str:
    """Return words as they stand."""
    return render("text", words=words)


def refusal_html(*lines: Sentence, faults: Sequence[object] = ()) -> str:
    """Return why something is not done, read out at once.

    Parameters
    ----------
    *lines : Sentence
        Why, and what stays as it is; each may carry markup of its own.
    faults : sequence
        What has to be put right, as a list below the first line.
    """
    first, *rest = lines
    return render("refusal", first=first, faults=faults, rest=rest)


def checked_html(words: Shown) -> str:
    """Return that something was checked or done, read out when there is time for it."""
    return render("checked", words=words)
