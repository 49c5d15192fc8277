"""The sentences of one language, read from its gettext file; what is missing stays English and is reported.

The default language is the English of the code itself, and its British spelling is a rule (`spelling`). Every other one is
a gettext file beside this module, such as ``de.po``.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cache, lru_cache
from importlib import resources
from string import Formatter
from typing import IO

from .spelling import BRITISH, british

DEFAULT_LANGUAGE = "en-US"
"""The language of the sentences in the code and in the facts."""

ENGLISH = (DEFAULT_LANGUAGE, BRITISH)
"""The languages that need no file: the English of the code, and the same in British spelling."""

TERMS = {
    "regular": "regular insulin",
    "nph": "NPH insulin",
    "prescriber": "prescriber",
    "chart": "chart",
    "unit": "unit",
    "units": "units",
}
"""The terms that a site can rename, as the default language has them. In a sentence they stand as ``{prescriber}``, and
``{Prescriber}`` where the sentence begins with them."""

Forms = tuple[str, ...]
"""A sentence in every form that a number asks for; one form where no number does."""

_unsaid: dict[str, set[str]] = {}

_MARKUP = re.compile(r"<[^>]*>?|&\w+;")


@dataclass(frozen=True, kw_only=True)
class Catalogue:
    """The sentences of one language: for each English one its forms there, and the place of the form that a number asks for."""

    language: str
    said: Mapping[str, Forms] = field(default_factory=dict)
    form: Callable[[float], int]

    def find(self, sentence: str, forms: Forms) -> Forms:
        """Return a sentence in this language, or in English, and note that it is missing."""
        found = self.said.get(sentence)
        if found is not None:
            return found
        if self.language == BRITISH:
            return tuple(map(british, forms))
        if self.language != DEFAULT_LANGUAGE:
            _unsaid.setdefault(self.language, set()).add(sentence)
        return forms


def unsaid(language: str) -> frozenset[str]:
    """Return the sentences that were asked for and had to stay English because the language has no usable entry."""
    return frozenset(_unsaid.get(language, ()))


def languages() -> tuple[str, ...]:
    """Return the tags of all languages there are: English in both spellings, then every one that has a file."""
    files = sorted(path.name for path in resources.files(__package__).iterdir() if path.name.endswith(".po"))
    return (*ENGLISH, *(name.removesuffix(".po") for name in files))


@cache
def catalogue(language: str) -> Catalogue:
    """Return the catalogue of a language.

    Raises
    ------
    KeyError
        If there is none.
    """
    if language not in languages():
        raise KeyError(f"There is no language {language!r}; choose from {', '.join(languages())}.")
    if language in ENGLISH:
        return Catalogue(language=language, form=_rule(language))
    with (resources.files(__package__) / f"{language}.po").open("rb") as file:
        return read_catalogue(language, file)


def read_catalogue(language: str, file: IO[bytes]) -> Catalogue:
    """Read a gettext file; an entry that cannot be said as it is meant is left out.

    That is one which is not whole, is marked as a guess (``fuzzy``), belongs to a context, has a brace that opens or closes no
    place, drops a place, fills one the sentence does not have or prints it in another way, or brings markup of its own.
    """
    from babel.messages.pofile import read_po  # only where another language is spoken

    said, terms = {}, {*TERMS, *(name.capitalize() for name in TERMS)}
    for entry in read_po(file, locale=language.replace("-", "_"), ignore_obsolete=True):
        source, forms = _forms(entry.id), _forms(entry.string)
        if not source[0] or entry.fuzzy or entry.context:
            continue
        known = _printed("".join(f"{{{name}}}" for name in terms)).union(*map(_printed, source))
        if all(_keeps(form, source[min(at, len(source) - 1)], known) for at, form in enumerate(forms)):
            said[source[0]] = forms
    return Catalogue(language=language, said=said, form=_rule(language))


def _keeps(form: str, source: str, known: frozenset[tuple[str, str, str]]) -> bool:
    """Say whether a translation can be said: every place known and printed in the same way, and none dropped."""
    try:
        kept = _printed(form) <= known and _needed(source) <= _needed(form)
    except ValueError:  # a brace that opens or closes no place
        return False
    return bool(form) and kept and {*_MARKUP.findall(form)} <= {*_MARKUP.findall(source)}


def _printed(sentence: str) -> frozenset[tuple[str, str, str]]:
    """Return each place of a sentence with how its value is printed; a place without a name has an empty one."""
    parts = Formatter().parse(sentence)
    return frozenset((name, spec or "", how or "") for _, name, spec, how in parts if name is not None)


def _needed(form: str) -> frozenset[str]:
    """Return the places that a translation keeps; which of two forms of a term it takes is the language's own affair."""
    return frozenset("unit" if place in ("units", "Units", "Unit") else place.lower() for place in places(form))


def _forms(text: object) -> Forms:
    return tuple(text) if isinstance(text, list | tuple) else (str(text or ""),)


@lru_cache(maxsize=8192)
def places(sentence: str) -> frozenset[str]:
    """Return the names of the places in a sentence that are filled in."""
    return frozenset(name for _, name, _, _ in Formatter().parse(sentence) if name)


def _rule(language: str) -> Callable[[float], int]:
    """Return which form of a gettext entry a number asks for, by the plural rules of CLDR as Babel has them."""
    if language.startswith("en"):
        return lambda number: 0 if number == 1 else 1
    from babel import Locale
    from babel.messages.plurals import get_plural

    locale = Locale.parse(language, sep="-")
    whole = _compile(get_plural(locale).plural_expr)
    of_tag = {locale.plural_form(number): whole(number) for number in range(200, -1, -1)}
    return lambda number: of_tag.get(locale.plural_form(number), whole(2))  # a fraction may have a tag of its own


def _compile(expression: str) -> Callable[[int], int]:
    from gettext import c2py

    rule: Callable[[int], int] = c2py(expression)
    return rule
