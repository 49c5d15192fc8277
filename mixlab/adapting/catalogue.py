"""Gather every sentence a learner can read, from the code and from the facts, and keep the file of a language whole.

``python -m mixlab.adapting.catalogue`` says what each language lacks and writes nothing. With the tag of a language, such
as ``de``, it writes that language's file and no other: new sentences are added without a translation, sentences that nobody
says any more are taken out.
"""

from __future__ import annotations

import ast
import sys
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, fields, is_dataclass
from datetime import UTC, datetime
from functools import cache
from importlib import resources
from io import BytesIO
from pathlib import Path

from babel import Locale, UnknownLocaleError
from babel.messages.catalog import Catalog
from babel.messages.pofile import read_po, write_po

from mixlab.facts.action_rows import TrialRow
from mixlab.facts.reading import the_facts
from mixlab.facts.records import Fact, InsulinRow
from mixlab.facts.site_rows import LimitsRow, MealRow, Policy, WardChoice
from mixlab.files.whole import write_whole
from mixlab.words import ENGLISH, TERMS, Sentence, counted, languages
from mixlab.words.translations import catalogue as read_language
from mixlab.words.voice import WORDLESS

SAYING = {"sentence": slice(1), "say": slice(1), "CohortError": slice(1), "counted": slice(1, 3), "plural": slice(1, 3)}
"""What makes or says sentences, and which of its arguments are the English of them."""

WORDS: Mapping[type, tuple[str, ...]] = {
    InsulinRow: ("name",),
    Fact: ("unit",),
    Policy: ("value", "choices"),
    WardChoice: ("value", "choices"),
    LimitsRow: ("unit",),
    MealRow: ("name",),
    TrialRow: ("moment", "unit"),
}
"""Which parts of a fact are keys that are said as they stand; every other sentence of a fact is a `Sentence`."""


@dataclass(frozen=True, kw_only=True)
class Message:
    """A sentence of the catalogue, its plural if it counts something, and where it is said."""

    sentence: str
    many: str | None = None
    where: str


@cache
def messages() -> tuple[Message, ...]:
    """Return every sentence once, in the order of the modules and then of the facts."""
    found: dict[str, Message] = {}
    for message in (*_of_code(), *_of_facts(the_facts(), "facts"), *_of_terms()):
        kept = found.get(message.sentence)
        if kept is None or (kept.many is None and message.many is not None):
            found[message.sentence] = message
    return tuple(found.values())


def _of_code() -> Iterator[Message]:
    package = Path(str(resources.files("mixlab")))
    for path in sorted(package.rglob("*.py")):
        where = path.relative_to(package).as_posix()
        calls = [node for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))) if isinstance(node, ast.Call)]
        for call in sorted(calls, key=lambda call: (call.lineno, call.col_offset)):
            place = SAYING.get(call.func.id) if isinstance(call.func, ast.Name) else None
            parts = [part.value for part in call.args[place] if isinstance(part, ast.Constant)] if place else []
            said = [part for part in parts if isinstance(part, str)]
            if said and not WORDLESS.fullmatch(said[0]):
                yield Message(sentence=said[0], many=said[1] if len(said) > 1 else None, where=f"{where}:{call.lineno}")


def _of_facts(held: object, where: str) -> Iterator[Message]:
    if isinstance(held, Sentence):
        if held:
            yield Message(sentence=held.key, where=where)
    elif is_dataclass(held) and not isinstance(held, type):
        for part in fields(held):
            if part.name == "note" and not isinstance(held, TrialRow):
                continue  # for whoever keeps the facts; only a study's note is said
            value = getattr(held, part.name)
            if part.name in next((names for kind, names in WORDS.items() if type(held) is kind), ()):
                yield from (
                    Message(sentence=word, where=where) for word in ((value,) if isinstance(value, str) else value)
                )
            yield from _of_facts(value, f"{where}.{part.name}")
    elif isinstance(held, Mapping):
        for key, one in held.items():
            yield from _of_facts(one, f"{where}.{key}")
    elif isinstance(held, tuple):
        for one in held:
            yield from _of_facts(one, where)


def _of_terms() -> Iterator[Message]:
    for name, term in TERMS.items():
        yield Message(sentence=term, where=f"the term {name}")
    for name in the_facts().errors:
        yield Message(sentence=name.replace("-", " "), where=f"the run {name}")


_NO_DATE = datetime(2000, 1, 1, tzinfo=UTC)
"""A fixed date for the header, so that nothing but sentences ever changes in the file."""


def bring_up_to_date(path: Path) -> list[str]:
    """Add new sentences to a language's file, take out those that are said no more, and return what is not translated."""
    locale = path.stem.replace("-", "_")
    kept = Catalog(locale=locale)
    if path.exists():
        with path.open("rb") as file:
            kept = read_po(file, locale=locale)
    fresh = Catalog(
        locale=locale,
        header_comment=f"# mixlab in {path.stem}. Kept whole by `python -m mixlab.adapting.catalogue {path.stem}`; translate msgstr only.",
        project="mixlab",
        version="1",
        msgid_bugs_address="none",
        last_translator="the project",
        language_team="none",
        creation_date=_NO_DATE,
        revision_date=_NO_DATE,
        fuzzy=False,
    )
    for message in messages():
        old = kept.get(message.sentence)
        string = old.string if old is not None and old.id == _id(message) else None
        flags = old.flags & {"fuzzy"} if old is not None and string else ()  # a guess stays marked as one
        fresh.add(_id(message), string=string, locations=[(message.where.partition(":")[0], 0)], flags=flags)
    written = BytesIO()
    write_po(written, fresh, width=0, include_lineno=False)
    write_whole(path, written.getvalue())
    return [message.sentence for message in messages() if not _said(fresh, message)]


@cache
def lacking_sentences(language: str) -> int:
    """Return how many sentences have no usable entry in a language and stay English there."""
    if language in ENGLISH:
        return 0
    said = read_language(language).said
    return sum(message.sentence not in said for message in messages())


def half_translated(language: str) -> Sentence:
    """Return how many sentences of a language stay English; empty where none does."""
    lacking = lacking_sentences(language)
    if not lacking:
        return Sentence("")
    return counted(
        lacking,
        "{count} sentence has no words in {language} yet and stays in English.",
        "{count} sentences have no words in {language} yet and stay in English.",
        count=lacking,
        language=language,
    )


def _id(message: Message) -> str | tuple[str, str]:
    return message.sentence if message.many is None else (message.sentence, message.many)


def _said(catalog: Catalog, message: Message) -> bool:
    entry = catalog.get(message.sentence)
    if entry is None or entry.fuzzy:
        return False
    return all([entry.string] if isinstance(entry.string, str) else entry.string or [""])


def keep_catalogue(asked: Sequence[str]) -> int:
    """Write the file of the language that is asked for, and say what each language lacks.

    Parameters
    ----------
    asked : sequence of str
        At most one tag of a language, such as ``de``.
    """
    folder = Path(str(resources.files("mixlab.words")))
    for language in asked:
        if language in ENGLISH or not _is_language(language):
            print(f"{language} is not the tag of a language to translate into. Write a tag such as de or pt-BR.")
            return 2
        for sentence in bring_up_to_date(folder / f"{language}.po"):
            print(f"  {sentence}")
    for language in languages():
        if language not in ENGLISH:
            print(f"{language}: {lacking_sentences(language)} sentences to translate")
    return 0


def _is_language(tag: str) -> bool:
    try:
        Locale.parse(tag, sep="-")
    except (ValueError, UnknownLocaleError):
        return False
    return True


if __name__ == "__main__":
    sys.exit(keep_catalogue(sys.argv[1:]))
