"""Gather every sentence a learner can read, from the code and from the facts, and keep the catalogues of other languages whole.

``python -m mixlab.adapting.catalogue`` brings every catalogue up to date: new sentences are added without a translation,
sentences that nobody says any more are taken out.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields, is_dataclass
from datetime import UTC, datetime
from functools import cache
from importlib import resources
from io import BytesIO
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.pofile import read_po, write_po

from mixlab.facts import records as record
from mixlab.facts.shelf import shelf
from mixlab.words import DEFAULT_LANGUAGE, TERMS, languages
from mixlab.words.catalogue import catalogue as read_language

SAYING = {"say": slice(1), "mark": slice(1), "plural": slice(1, 3)}
"""The functions that say sentences, and which of their arguments are the sentences."""

SAID: Mapping[type, tuple[str, ...]] = {
    record.InsulinRow: ("name",),
    record.Miscibility: ("why",),
    record.Fact: ("unit",),
    record.NotifyRow: ("do",),
    record.RuleRow: ("say",),
    record.StepRow: ("do", "why"),
    record.Policy: ("value", "choices"),
    record.WardChoice: ("value", "choices"),
    record.LimitsRow: ("unit",),
    record.ErrorRow: ("title", "dose", "patient", "vial", "now", "do", "doubt"),
    record.AfterRow: ("do",),
    record.BodySiteRow: ("name",),
    record.SpeedRow: ("name",),
    record.MealRow: ("name",),
    record.TrialRow: ("note",),
    record.NotationRow: ("title", "misread_as", "write", "risk"),
    record.ConcernRow: ("title", "misread_as", "write", "risk"),
}
"""Which parts of a fact are sentences or words for a learner."""


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
    for message in (*_of_code(), *_of_facts(shelf(), "facts"), *_of_terms()):
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
            if said:
                yield Message(sentence=said[0], many=said[1] if len(said) > 1 else None, where=f"{where}:{call.lineno}")


def _of_facts(held: object, where: str) -> Iterator[Message]:
    if is_dataclass(held) and not isinstance(held, type):
        for name in next((names for kind, names in SAID.items() if type(held) is kind), ()):
            value = getattr(held, name)
            for sentence in (value,) if isinstance(value, str) else value:
                if sentence.strip():
                    yield Message(sentence=sentence, where=where)
        for part in fields(held):
            yield from _of_facts(getattr(held, part.name), f"{where}.{part.name}")
    elif isinstance(held, Mapping):
        for key, one in held.items():
            yield from _of_facts(one, f"{where}.{key}")
    elif isinstance(held, tuple):
        for one in held:
            yield from _of_facts(one, where)


def _of_terms() -> Iterator[Message]:
    for name, term in TERMS.items():
        yield Message(sentence=term, where=f"the term {name}")


_NO_DATE = datetime(2000, 1, 1, tzinfo=UTC)
"""A fixed date for the header, so that nothing but sentences ever changes in the file."""


def bring_up_to_date(path: Path) -> list[str]:
    """Add new sentences to a catalogue, take out those that are said no more, and return what is not translated."""
    with path.open("rb") as file:
        kept = read_po(file, locale=path.stem.replace("-", "_"))
    fresh = Catalog(
        locale=path.stem.replace("-", "_"),
        header_comment=f"# mixlab in {path.stem}. Kept whole by `python -m mixlab.adapting.catalogue`; translate msgstr only.",
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
        fresh.add(_id(message), string=string, locations=[(message.where.partition(":")[0], 0)])
    written = BytesIO()  # a translator's file is replaced whole or not at all
    write_po(written, fresh, width=0, include_lineno=False)
    path.write_bytes(written.getvalue())
    return [message.sentence for message in messages() if not _said(fresh, message)]


@cache
def lacking_sentences(language: str) -> int:
    """Return how many sentences have no usable entry in a language and stay English there."""
    if language == DEFAULT_LANGUAGE:
        return 0
    said = read_language(language).said
    return sum(message.sentence not in said for message in messages())


def _id(message: Message) -> str | tuple[str, str]:
    return message.sentence if message.many is None else (message.sentence, message.many)


def _said(catalog: Catalog, message: Message) -> bool:
    entry = catalog.get(message.sentence)
    return entry is not None and all([entry.string] if isinstance(entry.string, str) else entry.string or [""])


def main() -> None:
    """Bring every catalogue up to date and say what each one lacks."""
    folder = Path(str(resources.files("mixlab.words")))
    for language in languages()[1:]:
        lacking = bring_up_to_date(folder / f"{language}.po")
        print(f"{language}: {len(lacking)} sentences to translate")
        for sentence in lacking:
            print(f"  {sentence}")


if __name__ == "__main__":
    main()
