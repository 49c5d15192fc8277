"""The bracket language, stricter: what is put into a sentence stands outside its brackets and must have been said itself."""

import re
from collections.abc import Iterator
from contextlib import contextmanager

import pseudo
import pytest
from matplotlib.figure import Figure
from matplotlib.text import Text

from mixlab.ward.site.in_force import example_sites
from mixlab.ward.site.record import teaching_site
from mixlab.words import unsaid

SITES = tuple(dict.fromkeys((teaching_site(), *example_sites())))
DATA = tuple(site.name for site in SITES)


@contextmanager
def in_brackets_apart() -> Iterator[None]:
    """Say everything in brackets meanwhile, and nothing that is not in the catalogue."""
    looked_up = pseudo._Brackets.__getitem__

    def apart(self: pseudo._Brackets, sentence: str) -> tuple[str, ...]:
        return tuple(re.sub(r"(\{[^{}]*\})", r"⟧\1⟦", form) for form in looked_up(self, sentence))

    before = unsaid(pseudo.LANGUAGE)
    with pytest.MonkeyPatch.context() as patch, pseudo.in_brackets():
        patch.setattr(pseudo._Brackets, "__getitem__", apart)
        yield
    missing = unsaid(pseudo.LANGUAGE) - before
    assert not missing, missing


def bare(text: str, *data: str) -> list[str]:
    """Return the words outside all brackets; a sentence that was cut short ends where it was cut."""
    whole = text[: max(map(text.rfind, "⟦⟧")) + (text.rfind("⟧") > text.rfind("⟦"))] if text.endswith("…") else text
    return pseudo.bare_words(whole, *DATA, *data)


def shown(figure: Figure) -> dict[str, str]:
    """Return the words of a picture by the ids of their artists; lines that are numbered are one text."""
    found: dict[str, str] = {}
    for at, text in enumerate(figure.findobj(Text)):
        name = re.sub(r"-\d+$", "", text.get_gid() or f"text {at}")
        if text.get_visible() and text.get_text():
            found[name] = f"{found.get(name, '')} {text.get_text()}".strip()
    return found


def bypassing(texts: dict[str, str], *data: str) -> dict[str, tuple[list[str], str]]:
    """Return what bypasses the catalogue in some texts: for each name the bare words and the text."""
    return {name: (words, text) for name, text in texts.items() if (words := bare(text, *data))}
