"""The words of a site: what things are called, how numbers and dates are written, its language, and the lessons' prose."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from datetime import date
from functools import cache

from mixlab.adapting.catalogue import messages
from mixlab.adapting.cohort.marked_places import MARKED_PLACE, MARKED_PLACES
from mixlab.adapting.compare.outputs import REFUSALS, Point, kind_of_output, refused
from mixlab.files.text import Sort, read_text
from mixlab.launch.course import find_course
from mixlab.launch.refusals import CannotOpenError
from mixlab.quantities import Glucose
from mixlab.ward.meter import ends_of_range
from mixlab.ward.site.glucose_lines import line_text
from mixlab.ward.site.keys import KEYS
from mixlab.ward.site.record import LINES, Site
from mixlab.words import TERMS, Voice, date_text, decimal_text, joined, sentence, speaking
from mixlab.words.translations import catalogue

A_DAY = date(2026, 11, 26)


@kind_of_output("terms", sentence("Terms, numbers and dates"))
def list_terms(site: Site) -> Iterator[tuple[Point, object]]:
    """Yield what things are called here, and how readings, lines, numbers and dates are written."""
    for name, term in TERMS.items():
        yield Point(sentence("the term '{term}'", term=term)), site.voice.term(name)
    yield Point(sentence("the language")), site.language
    with speaking(site.voice):
        number, day = decimal_text(16.7), date_text(A_DAY)
    yield Point(sentence("a number with decimals")), number
    yield Point(sentence("a date")), day
    low, high = (Glucose(end, site.glucose_unit) for end in ends_of_range(site))
    yield Point(sentence("what the meter can show")), sentence("{low} – {high}", low=low, high=high)
    says = {key.name: key.what for key in KEYS}
    for name in LINES:
        line = getattr(site, name)
        yield Point(says[name]), sentence("none") if line is None else line_text(line)


@kind_of_output("sentences", sentence("Every sentence of the lessons, in their language"))
def list_sentences(site: Site) -> Iterator[tuple[Point, object]]:
    """Yield every sentence of the catalogue in the site's language; its terms and places are not filled in yet."""
    return iter(_sentences(site.voice.language))


@cache
def _sentences(language: str) -> tuple[tuple[Point, object], ...]:
    found = catalogue(language)
    forms = {one.sentence: (one.sentence, *filter(None, (one.many,))) for one in messages()}
    return tuple((Point(joined((key,))), found.find(key, each)) for key, each in forms.items())


@kind_of_output("lessons", sentence("What the lessons' text says of the ward"))
def list_lessons(site: Site) -> Iterator[tuple[Point, object]]:
    """Yield what stands in every marked place of the notebooks; a term of the prose is told with the terms."""
    said: dict[str, object] = {}
    with speaking(Voice()):
        for point, name in _marked_places():
            if name not in said:
                try:
                    said[name] = " ".join(_CELLS.sub(", ", MARKED_PLACES[name](site)).split())
                except REFUSALS as refusal:
                    said[name] = refused(refusal)
            yield point, said[name]


_LESSON = Sort(name=sentence("lesson"), wanted=sentence("a lesson"), largest=100_000_000)


@cache
def _marked_places() -> tuple[tuple[Point, str], ...]:
    """Return the marked places of the lessons, each by its lesson and the words that it stands in."""
    try:
        lessons = sorted(find_course().glob("*.ipynb"))
    except CannotOpenError:
        return ()
    return tuple(found for path in lessons for found in _places_in(json.loads(read_text(path, _LESSON))))


def _places_in(notebook: dict[str, list[dict[str, str]]]) -> Iterator[tuple[Point, str]]:
    texts = ["".join(cell["source"]) for cell in notebook["cells"] if cell["cell_type"] == "markdown"]
    title = texts[0].partition("\n")[0].strip("# ")
    for text in texts:
        for place in MARKED_PLACE.finditer(text):
            before, after = _plain(text[: place.start()]), _plain(text[place.end() :])
            words = (*_ENDS.split(before)[-1].split()[-_ROUND:], "…", *_ENDS.split(after)[0].split()[:_ROUND])
            yield Point(joined((f"“{' '.join(words)}”",)), joined((title,))), place["name"]


_ROUND = 8
"""Words of the prose on either side by which a marked place is found again."""

_CELLS = re.compile(r"\s*\|\s*")

_ENDS = re.compile(r"(?<=[.?!:]) |\n+|\|")
_MARKUP = re.compile(r"<[^>]*>|[*_#>`]")


def _plain(text: str) -> str:
    return _MARKUP.sub("", MARKED_PLACE.sub(lambda place: place["said"], text))
