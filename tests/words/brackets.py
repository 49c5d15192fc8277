"""The one language made for tests: every part of a sentence of the catalogue stands in brackets, and nothing else does.

What is put into a sentence stands outside the brackets of that sentence, so it must have been said itself. What a learner can
read without brackets has not gone through the catalogue.
"""

import html
import re
import runpy
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import fields
from functools import cache, lru_cache
from pathlib import Path

import ipywidgets as widgets
import pytest
from matplotlib.figure import Figure
from matplotlib.text import Text

from mixlab.adapting.catalogue import messages
from mixlab.facts.reading import the_facts
from mixlab.figures.action.evidence_words import short_name
from mixlab.screen.frame import PanelFrame
from mixlab.screen.picture import LivePicture
from mixlab.ward.site.in_force import example_sites
from mixlab.ward.site.record import Site
from mixlab.words import Catalogue, Voice, speak_by_default, translations, unsaid, voice, voice_now

LANGUAGE = "x-brackets"
SITES = example_sites()


@cache
def brackets() -> Catalogue:
    forms = {one.sentence: tuple(filter(None, (one.sentence, one.many))) for one in messages()}
    said = {key: tuple(re.sub(r"(\{[^{}]*\})", r"⟧\1⟦", f"⟦{form}⟧") for form in each) for key, each in forms.items()}
    return Catalogue(language=LANGUAGE, said=said, form=lambda number: 0 if number == 1 else 1)


@contextmanager
def knowing_brackets() -> Iterator[Voice]:
    """Let a voice speak in brackets meanwhile, and nobody unasked; it may ask for nothing that the catalogue lacks."""
    look_up, lacking = translations.catalogue, unsaid(LANGUAGE)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(voice, "catalogue", lambda name: brackets() if name == LANGUAGE else look_up(name))
        yield Voice(language=LANGUAGE)
    assert unsaid(LANGUAGE) - lacking == frozenset()


@contextmanager
def every_site_speaks(speaker: Voice) -> Iterator[None]:
    """Let every site, and everything that nobody else says, speak in one voice meanwhile."""
    before = voice_now()
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Site, "voice", property(lambda site: speaker))
        speak_by_default(speaker)
        yield
    speak_by_default(before)


@contextmanager
def in_brackets() -> Iterator[Voice]:
    """Say everything in brackets meanwhile."""
    with knowing_brackets() as speaker, every_site_speaks(speaker):
        yield speaker


def speaking_so(speaker: Voice, site: Site) -> Site:
    """Return a site that speaks in a voice while all others speak as they do."""
    kind = type("Bracketed", (Site,), {"voice": property(lambda self: speaker)})
    return kind(**{one.name: getattr(site, one.name) for one in fields(site) if one.init})


def heard(speaker: Voice) -> frozenset[str]:
    """Return the sentences that were said by a voice."""
    return frozenset(sentence for sentence, *_ in speaker._prepared)


def sentences_of(*where: str) -> set[str]:
    """Return the sentences of the catalogue whose place begins so."""
    return {one.sentence for one in messages() if one.where.startswith(where)}


@cache
def tables(file: str) -> dict[str, object]:
    """Return everything that another test file defines, such as its tables of refusals."""
    return runpy.run_path(str(Path(__file__).parents[1] / file))


def cases(file: str, test: str) -> list[tuple[object, ...]]:
    """Return the rows with which a parametrized test of another file is called."""
    (mark,) = [mark for mark in tables(file)[test].pytestmark if mark.name == "parametrize"]
    return [row if isinstance(row, tuple) else (row,) for row in mark.args[1]]


_SYMBOLS = re.compile(r"\b(?:mg/dL|mmol/L|mL|min|mU/L|pmol/L|kg|h|g|U-100|U-40|HI|LO|HbA1c|am|pm)\b")
_MARKUP = re.compile(r"<style.*?</style>|<[^>]*>|&\w+;", re.DOTALL)
_AS_WRITTEN = (
    r"\b[A-Z][A-Za-z]+\((?:\w+=)?[^()]*\)"
    r"|\b(?:regular insulin|insulin \w+) [\d.]+ units? and (?:NPH insulin|insulin \w+) [\d.]+ units?"
    r"(?: subcut)?(?: (?:\d+ minutes )?before \w+)?"
)
"""An action at the bench as it is made in Python, and an order as it is printed for the order box."""


def bare_words(text: str, *data: str) -> list[str]:
    """Return the words of a text that stand outside all brackets; sources, symbols of units and `data` do not count.

    A sentence that a picture cut short ends where it was cut.
    """
    if not _outside(text):  # as it should be: what is known need not be looked for
        return []
    return _outside(_elsewhere(frozenset(data)).sub(" ", " ".join(text.split())))


@lru_cache(maxsize=256)
def _elsewhere(data: frozenset[str]) -> re.Pattern[str]:
    """Find what comes from elsewhere: long pieces of data, what is known, and then short pieces."""
    pieces = sorted((" ".join(each.split()) for each in data if each.strip()), key=len, reverse=True)
    long = [re.escape(each) for each in pieces if len(each) > LONG]
    return re.compile("|".join((*long, _AS_WRITTEN, *_known(), *map(re.escape, pieces[len(long) :]))))


LONG = 30
"""A piece of data with more letters than this can hold an order or a source."""


def _outside(text: str) -> list[str]:
    text = _MARKUP.sub(" ", text)
    while (shorter := re.sub(r"⟦[^⟦⟧]*⟧", " ", text)) != text:
        text = shorter
    return re.findall(r"[^\W\d_]{2,}", _SYMBOLS.sub(" ", re.sub(r"⟦[^⟦⟧]*…", " ", text)))


def unmarked(text: str) -> str:
    """Return a text that is no markup with other signs for `<` and `>`."""
    return text if text.startswith("<table") else text.replace("<", "‹").replace(">", "›")


@cache
def _known() -> tuple[str, ...]:
    """Return the names of wards, and sources as they are cited: whole, or in a picture by their first words."""
    sources = the_facts().sources.values()
    titles = [", ".join(filter(None, (each.title.split(",")[0], each.edition))) for each in sources]
    words = [name.split() for name in (*map(short_name, sources), *titles)]
    short = {" ".join(each[:at]) for each in words for at in range(1, len(each) + 1)} - {"A"}  # no letter of a word
    wards = [name for site in SITES for name in (site.name, f"{site.name[0].upper()}{site.name[1:]}")]
    return tuple(map(re.escape, sorted({*map(str, sources), *short, *wards}, key=len, reverse=True)))


def shown(figure: Figure) -> list[str]:
    """Return the words of a picture; lines that are numbered are one text."""
    found: dict[str, str] = {}
    for at, text in enumerate(figure.findobj(Text)):
        if text.get_visible() and text.get_text():
            name = re.sub(r"-\d+$", "", text.get_gid() or f"text {at}")
            found[name] = f"{found.get(name, '')} {text.get_text()}".strip()
    return [*found.values()]


def tree(widget: widgets.Widget) -> Iterator[widgets.Widget]:
    yield widget
    for child in getattr(widget, "children", ()):
        yield from tree(child)


def texts(widget: widgets.Widget, pictures: bool) -> Iterator[str]:
    """Yield every text that one widget puts on the page, but an order as somebody wrote it."""
    for name in ("description", "tooltip", "placeholder", "stale_words"):
        yield getattr(widget, name, None) or ""
    yield from (*getattr(widget, "tooltips", ()), *map(str, getattr(widget, "_options_labels", ())))
    if isinstance(widget, widgets.HTML):
        yield re.sub('<p class="mixlab-order-marked">.*?</p>', "", widget.value, flags=re.DOTALL)
        yield from re.findall('aria-label="([^"]*)"', widget.value)
    if isinstance(widget, PanelFrame):
        yield from (*widget.names.values(), *widget.parts.values())
        for reading in widget.readings.values():
            yield from [reading] if isinstance(reading, str) else reading
    if isinstance(widget, LivePicture):
        yield widget.alt
        if pictures:
            yield html.unescape(" ".join(re.findall("<text[^>]*>(.*?)</text>", widget.svg())))
