"""Taking a site file from the disk: whatever it is, it becomes tables with their lines, or faults in words."""

from __future__ import annotations

import re
import tomllib
from collections import Counter
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from mixlab.words import Sentence, sentence

from .faults import Place, SiteError, SiteFault

LARGEST_FILE = 1_000_000
"""Bytes of the largest site file that is read; a file with every key has about twenty thousand."""

_BARE = r"""[A-Za-z0-9_-]+|"[^"\n]*"|'[^'\n]*'"""
_DOTTED = rf"(?:{_BARE})(?:\s*\.\s*(?:{_BARE}))*"
_TABLE = re.compile(rf"\s*(\[\[?)\s*({_DOTTED})\s*\]")
_KEY = re.compile(rf"\s*({_DOTTED})\s*=")
_TEXT_OR_COMMENT = re.compile(r""""[^"]*"|'[^']*'|#.*""")
_DECIMAL_COMMA = re.compile(r"=\s*(0|[1-9][0-9]{0,4}),([0-9]{1,2})\s*(?:$|}|,(?=.*}))")


@dataclass(frozen=True, kw_only=True)
class Written:
    """What stands in a site file, and on which line each key stands."""

    file: str
    tables: Mapping[str, Any]
    lines: Mapping[Place, int]

    def line(self, *place: str | int) -> int | None:
        """Return the line of a key, or of the nearest thing around it that has one."""
        return next((self.lines[place[:end]] for end in range(len(place), 0, -1) if place[:end] in self.lines), None)

    def value(self, *place: str | int) -> Any:
        """Return what is written at a place that is in the file."""
        found: Any = self.tables
        for part in place:
            found = found[part]
        return found


def read_written(path: Path, numbers: Collection[str]) -> Written:
    """Read a site file.

    Parameters
    ----------
    path : Path
        The file.
    numbers : collection of str
        The keys whose value is a number or holds one.

    Raises
    ------
    SiteError
        If it is no file, too large, no text in UTF-8, or not written as TOML.
    """
    text = _text(path)
    where = list(_places(text))
    try:
        tables = tomllib.loads(text)
    except RecursionError:
        raise _refuse(path, sentence("its lists and tables stand too deep inside each other"), _BY_HAND) from None
    except ValueError as error:
        raise SiteError(_syntax_faults(path, text, where, str(error), numbers)) from None
    return Written(file=path.name, tables=tables, lines={place: line for place, line, _ in reversed(where)})


_BY_HAND = sentence("begin again from a file that mixlab wrote, and change one value at a time")


def _refuse(path: Path, wrong: Sentence, allowed: Sentence) -> SiteError:
    return SiteError([SiteFault(file=path.name or str(path), wrong=wrong, allowed=allowed)])


def _text(path: Path) -> str:
    try:
        if path.is_dir():
            raise _refuse(path, sentence("this is a folder"), sentence("name the file in it"))
        size = path.stat().st_size
        if not path.is_file():
            raise _refuse(path, sentence("this is no file"), sentence("name a text file"))
        if size > LARGEST_FILE:
            wrong = sentence("it has {size} MB, and no site file needs more than 1 MB", size=f"{size / 1e6:.3g}")
            raise _refuse(path, wrong, sentence("look whether this is the right file"))
        raw = path.read_bytes()
    except FileNotFoundError:
        wrong = sentence("there is no such file in {folder}", folder=path.parent.absolute())
        raise _refuse(path, wrong, sentence("correct its name")) from None
    except PermissionError:
        wrong = sentence("this computer does not let you read it")
        raise _refuse(path, wrong, sentence("ask whoever keeps the file for the right to read it")) from None
    except (OSError, ValueError) as error:
        if isinstance(error, SiteError):
            raise
        wrong = sentence("it cannot be read from this disk")
        raise _refuse(path, wrong, sentence("copy it into the folder of the lessons, and look at its name")) from None
    as_utf8 = sentence("save it as text in UTF-8")
    if raw[:2] in (b"\xff\xfe", b"\xfe\xff"):
        raise _refuse(path, sentence("it is text in UTF-16"), as_utf8)
    if b"\0" in raw:
        raise _refuse(path, sentence("it is not text"), sentence("name the text file with the keys of your site"))
    try:
        return raw.decode("utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        fault = SiteFault(file=path.name, line=line, wrong=sentence("it is not text in UTF-8"), allowed=as_utf8)
        raise SiteError([fault]) from None


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


def _syntax_faults(
    path: Path, text: str, where: list[tuple[Place, int, bool]], error: str, numbers: Collection[str]
) -> list[SiteFault]:
    """Say in words what the parser of TOML stumbled over; a key that stands twice, for each that does."""
    once = Counter(place for place, _, single in where if single)
    twice = [
        SiteFault(
            file=path.name,
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
    return [SiteFault(file=path.name, line=line, at=last, wrong=wrong, allowed=allowed)]


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
