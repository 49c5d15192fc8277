"""The one engine: it fills a template, says what stands in it in the voice in force, and escapes it.

A template says nothing itself: every sentence is handed to it. Whatever it prints is escaped, without exception; a sentence
that carries markup of its own, such as ``"<b>Order:</b> {order}"``, goes through the filter `marked_up`.
"""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from functools import cache, lru_cache

from jinja2 import Environment, PackageLoader, StrictUndefined, pass_context
from jinja2.runtime import Context
from markupsafe import Markup, escape

from mixlab.words import Sentence, Voice, sentence, speaking, voice_now

Shown = Sentence | str
"""What a page shows: a sentence, said and escaped by the engine, or data such as an order as it was typed, escaped."""


def render(template: str, **parts: object) -> str:
    """Fill a template, in the voice in force.

    Parameters
    ----------
    template : str
        The name of a file in ``templates``, without ``.html.j2``.
    **parts
        What stands in it: sentences, data, numbers and records.

    Raises
    ------
    jinja2.UndefinedError
        If a part that the template asks for is not given.
    TypeError
        If a part is nothing that can be read, such as None.
    """
    return _environment().get_template(f"{template}.html.j2").render(parts)


def marked_up(words: Sentence) -> Markup:
    """Say a sentence that carries markup of its own: that is kept, and whatever stands in its places is escaped.

    A name that the site gives to one of the terms is escaped too. A plain text is refused, because somebody could have
    typed it.
    """
    if not isinstance(words, Sentence):
        raise TypeError(f"Only a sentence may carry markup of its own, and {words!r} is none.")
    values = {name: _in_a_place(value) for name, value in words.values}
    with speaking(_with_terms_escaped(voice_now())):
        return Markup(str(words.filled(**values)))


def svg_parts(svg: str) -> tuple[Markup, Markup]:
    """Return the attributes of an SVG file and what stands in it, as matplotlib wrote them: it escapes every text itself."""
    attributes, _, inside = svg[svg.index("<svg ") + len("<svg ") :].partition(">")
    return Markup(attributes), Markup(inside.rpartition("</svg>")[0])


def _in_a_place(value: object) -> object:
    """Return a number as it is, for its sentence may say how it is printed, and everything else escaped."""
    number = isinstance(value, int | float | Fraction | Decimal) and not isinstance(value, bool)
    return value if number else escape(_read(value))


def _read(value: object) -> str:
    """Say what is about to be read: `escape` and every template see nothing else."""
    if value is None or isinstance(value, bool):
        raise TypeError(f"{value} is nothing that can be read: let the template ask whether there is anything to show.")
    return value if isinstance(value, str) else str(sentence("{value}", value=value))


@pass_context  # so that nothing is said while a template is compiled, in whatever voice is in force then
def _printed(_: Context, value: object) -> str:
    return _read(value)


@lru_cache(maxsize=64)
def _with_terms_escaped(voice: Voice) -> Voice:
    return replace(voice, terms=tuple((name, str(escape(term))) for name, term in voice.terms))


@cache
def _environment() -> Environment:
    made = Environment(
        loader=PackageLoader("mixlab.pages"),
        autoescape=True,
        undefined=StrictUndefined,
        finalize=_printed,
        trim_blocks=True,
        lstrip_blocks=True,
        auto_reload=False,
    )
    del made.filters["safe"]  # nothing goes unescaped because a template says so
    made.filters["marked_up"] = marked_up
    return made
