"""What a page tells at once: why something is not done, that something is checked, and what has to be put right."""

from __future__ import annotations

from collections.abc import Sequence

from mixlab.words import Sentence

from .engine import Said, render


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


def checked_html(words: Said) -> str:
    """Return that something was checked or done, read out when there is time for it."""
    return render("checked", words=words)
