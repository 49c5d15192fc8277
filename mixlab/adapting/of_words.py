"""The words of a site: its terms, how it writes numbers and dates, and every sentence of the catalogue as it says it."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator, Mapping
from dataclasses import fields, is_dataclass
from datetime import date
from functools import cache
from importlib import resources
from pathlib import Path

from ..facts.shelf import shelf
from ..quantities import units_text
from ..ward.meter import ends_of_range
from ..ward.site import Site, line_text
from ..ward.site_keys import KEYS
from ..words import TERMS, date_text, decimal_text, mark, say, voice_now
from .catalogue import SAID, SAYING
from .registry import each_once, kind_of_output, named

A_DAY = date(2026, 11, 26)


@kind_of_output("terms", title=mark("Terms, numbers and dates"))
def list_terms(site: Site) -> Mapping[str, str]:
    """Return what things are called here, and how amounts, readings, lines and dates are written."""
    low, high = (f"{decimal_text(end)} {site.glucose_unit}" for end in ends_of_range(site))
    lines = {name: getattr(site, name) for name in ("hold_line", "level_2_line", "report_line", "near_low_line")}
    says = {key.name: key.what for key in KEYS}
    return {
        **{named(mark("the term '{term}'"), term=TERMS[name]): voice_now().term(name) for name in TERMS},
        named(mark("half a unit")): units_text(0.5),
        named(mark("20 units")): units_text(20),
        named(mark("a number with decimals")): decimal_text(16.7),
        named(mark("a date")): date_text(A_DAY),
        named(mark("a rule of the ward")): say("policy of {site}", site=site.name),
        named(mark("what the meter can show")): f"{low} – {high}",
        **{named(says[name]).rstrip("."): line_text(line) for name, line in lines.items() if line is not None},
    }


@kind_of_output("sentences", title=mark("Every sentence of the lessons"), wordy=True)
def list_sentences(site: Site) -> Mapping[str, str]:
    """Return every sentence of the catalogue as the site says it, before its places are filled in."""
    voice = voice_now()
    return each_once((one, "\n".join(voice.find(one, *others))) for one, others in catalogued())


@cache
def catalogued() -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Return every sentence of the catalogue once, each with its plural where it counts something.

    They are the sentences of `catalogue.messages`, found a good deal faster than by the tokens of the code.
    """
    found: dict[str, tuple[str, ...]] = {}
    for one, others in (*_said_in_code(), *_said_in_facts(shelf()), *((term, ()) for term in TERMS.values())):
        if others or one not in found:
            found[one] = others
    return tuple(found.items())


def _said_in_code() -> Iterator[tuple[str, tuple[str, ...]]]:
    package = Path(str(resources.files("mixlab")))
    for path in sorted(package.rglob("*.py")):
        text = path.read_text(encoding="utf-8")
        for call in _CALL.finditer(text):
            places = SAYING[call[1]] or (1,)
            written = _arguments(text, call.end(), max(places))
            said = [_TEXTS.fullmatch(written[place - 1]) for place in places if place <= len(written)]
            if len(said) == len(places) and all(said):
                texts = [ast.literal_eval(f"({one[0]})") for one in said if one]
                yield texts[0], tuple(texts[1:])


def _arguments(text: str, start: int, most: int) -> list[str]:
    """Return the first arguments of a call as they are written, from behind its bracket on."""
    depth, begin, found = 0, start, []
    for piece in _PIECES.finditer(text, start):
        sign = piece[0]
        if sign in "([{":
            depth += 1
        elif depth and sign in ")]}":
            depth -= 1
        elif not depth and sign in ",)]}":
            found.append(text[begin : piece.start()])
            begin = piece.end()
            if sign != "," or len(found) == most:
                break
    return found


_STRING = r"""(?:\"(?:[^"\\\n]|\\.)*\"|'(?:[^'\\\n]|\\.)*')"""
_CALL = re.compile(rf"(?<![\w.])({'|'.join(SAYING)})\(")
_TEXTS = re.compile(rf"\s*(?:{_STRING}\s*)+")
_PIECES = re.compile(rf"{_STRING}|\#[^\n]*|[()\[\]{{}},]")


def _said_in_facts(held: object) -> Iterator[tuple[str, tuple[str, ...]]]:
    if is_dataclass(held) and not isinstance(held, type):
        for name in SAID.get(type(held), ()):
            value = getattr(held, name)
            yield from ((one, ()) for one in ((value,) if isinstance(value, str) else value) if one.strip())
        for part in fields(held):
            yield from _said_in_facts(getattr(held, part.name))
    elif isinstance(held, Mapping | tuple):
        for one in held.values() if isinstance(held, Mapping) else held:
            yield from _said_in_facts(one)
