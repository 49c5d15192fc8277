"""A TOML file becomes tables with their lines, or faults in words; and how a value is written as TOML."""

from __future__ import annotations

import json
import re
import tomllib
from collections import Counter
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from textwrap import wrap
from typing import Any

from mixlab.words import Sentence, sentence

from .faults import NO_WORDS, Fault, FileError, Place
from .text import Sort, read_text

_BARE = r"""[A-Za-z0-9_-]+|"[^"\n]*"|'[^'\n]*'"""
_DOTTED = rf"(?:{_BARE})(?:\s*\.\s*(?:{_BARE}))*"
_TABLE = re.compile(rf"\s*(\[\[?)\s*({_DOTTED})\s*\]")
_KEY = re.compile(rf"\s*({_DOTTED})\s*=")
_TEXT_OR_COMMENT = re.compile(r""""[^"]*"|'[^']*'|#.*""")
_DECIMAL_COMMA = re.compile(r"=\s*(0|[1-9][0-9]{0,4}),([0-9]{1,2})\s*(?:$|}|,(?=.*}))")


@dataclass(frozen=True, kw_only=True)
class Written:
    """What stands in a file, and on which line each key stands.

    Attributes
    ----------
    file : str
        The file's name.
    tables : mapping
        What it holds.
    text : str
        The file as it is written in TOML, for the lines; empty where nobody writes it by hand.
    """

    file: str
    tables: Mapping[str, Any]
    text: str = field(default="", repr=False)

    @cached_property
    def lines(self) -> Mapping[Place, int]:
        """The line of each key and table; of one that stands twice, the first."""
        return {place: line for place, line, _ in reversed(list(_places(self.text)))}

    def line(self, *place: str | int) -> int | None:
        """Return the line of a key, or of the nearest thing around it that has one."""
        return next((self.lines[place[:end]] for end in range(len(place), 0, -1) if place[:end] in self.lines), None)

    def fault(self, place: Place, wrong: Sentence, allowed: Sentence = NO_WORDS, near: str = "") -> Fault:
        """Return a fault of what stands at a place, with its line."""
        return Fault(file=self.file, line=self.line(*place), at=place, wrong=wrong, allowed=allowed, nearest=near)

    def value(self, *place: str | int) -> Any:
        """Return what is written at a place that is in the file."""
        found: Any = self.tables
        for part in place:
            found = found[part]
        return found


def read_toml(path: Path, sort: Sort, numbers: Collection[str] = ()) -> Written:
    """Read a TOML file.

    Parameters
    ----------
    path : Path
        The file.
    sort : Sort
        What is expected there.
    numbers : collection of str, optional
        The keys whose value is a number or holds one: a comma in it is told as such.

    Raises
    ------
    FileError
        If it is no file, too large, no text in UTF-8, or not written as TOML.
    """
    text = read_text(path, sort)
    try:
        tables = tomllib.loads(text)
    except RecursionError:
        raise FileError.of(path, TOO_DEEP, _BY_HAND) from None
    except ValueError as error:
        raise FileError(_syntax_faults(path.name, text, str(error), numbers)) from None
    return Written(file=path.name, tables=tables, text=text)


TOO_DEEP = sentence("its lists and tables stand too deep inside each other")

_BY_HAND = sentence("begin again from a file that mixlab wrote, and change one value at a time")


_WIDTH = 118
"""Signs of the longest line of a comment."""


def quoted(text: str) -> str:
    """Return a text in quotation marks, as TOML has it."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def bare(name: str) -> str:
    """Return a key as TOML has it: in quotation marks only where it needs them."""
    return name if re.fullmatch(r"[A-Za-z0-9_-]+", name) else quoted(name)


def comment(*sentences: object) -> list[str]:
    """Say some sentences, each on lines of a comment; no word is broken, also not at its hyphen."""
    return [
        f"# {line}"
        for one in sentences
        for line in wrap(str(one), _WIDTH, break_long_words=False, break_on_hyphens=False)
    ]


def _names(dotted: str) -> Place:
    return tuple(name.strip("\"'") for name in re.findall(_BARE, dotted))


def _places(text: str) -> Iterator[tuple[Place, int, bool]]:
    """Yield every key and table with its line, and whether it may stand there only once."""
    table: Place = ()
    rows: Counter[Place] = Counter()
    quote = ""
    for number, line in enumerate(text.split("\n"), 1):
        if quote:
            quote = "" if line.count(quote) % 2 else quote
            continue
        if head := _TABLE.match(line):
            table = _names(head[2])
            if head[1] == "[[":
                yield table, number, False
                rows[table] += 1
                table = (*table, rows[table] - 1)
            yield table, number, True
        elif key := _KEY.match(line):
            yield (*table, *_names(key[1])), number, True
        quote = next((q for q in ('"""', "'''") if not line.lstrip().startswith("#") and line.count(q) % 2), "")


def _syntax_faults(file: str, text: str, error: str, numbers: Collection[str]) -> list[Fault]:
    """Say in words what the parser of TOML stumbled over; a key that stands twice, for each that does."""
    where = list(_places(text))
    once = Counter(place for place, _, single in where if single)
    twice = [
        Fault(
            file=file,
            line=next(line for at, line, _ in reversed(where) if at == place),
            at=place,
            wrong=sentence(
                "it was already written on line {first}", first=next(n for at, n, _ in where if at == place)
            ),
            allowed=sentence("write it once"),
        )
        for place, count in once.items()
        if count > 1
    ]
    if twice:
        return twice
    found = re.search(r"line (\d+)", error)
    line = int(found[1]) if found else text.rstrip("\n").count("\n") + 1
    if long_number := re.search(r"[0-9_]{4000}", text if "digits" in error else ""):
        line = text.count("\n", 0, long_number.start()) + 1
    last = next((place for place, at, _ in reversed(where) if at <= line), ())
    comma = _DECIMAL_COMMA.search(_TEXT_OR_COMMENT.sub("", text.split("\n")[line - 1]))
    if comma and not {".".join(map(str, last)), *map(str, last[:1])}.isdisjoint(numbers):
        wrong = sentence("{whole},{rest} is a number with a comma", whole=comma[1], rest=comma[2])
        allowed = sentence("write it with a point: {whole}.{rest}", whole=comma[1], rest=comma[2])
    else:
        wrong, allowed = next(words for sign, words in _STUMBLED.items() if sign in error)
    return [Fault(file=file, line=line, at=last, wrong=wrong, allowed=allowed)]


_STUMBLED = {
    "digits": (sentence("a number has very many digits"), sentence("write the number that is meant")),
    "character '\\n'": (
        sentence("a text has no mark at its end"),
        sentence("put quotation marks at both ends of each text"),
    ),
    "string": (
        sentence("a text begins or ends without its mark"),
        sentence("put quotation marks at both ends of each text"),
    ),
    "array": (sentence("a list does not end"), sentence("close the list with a square bracket")),
    "inline table": (sentence("a table in braces does not end"), sentence("close it with a brace, on the same line")),
    "'='": (sentence("the equals sign is missing"), sentence("write the key, an equals sign and the value")),
    "character": (sentence("there is a character that cannot stand here"), sentence("type this line anew")),
    "": (
        sentence("this is not written as a key and its value"),
        sentence("write text in quotation marks, numbers bare, lists in square brackets"),
    ),
}
"""What to say about a word in the parser's message."""
