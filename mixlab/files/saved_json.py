"""A JSON file that mixlab saved is read back, or refused in words."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterable
from pathlib import Path
from typing import Any, NoReturn

from mixlab.words import sentence

from .faults import Fault, FileError
from .text import Sort, read_text
from .toml import TOO_DEEP, Written

_ANOTHER_COPY = sentence("use another copy, or begin again")


class _Refused(ValueError):
    """Something that JSON allows and mixlab never writes."""


def read_json(path: Path, sort: Sort) -> Written:
    """Read a file that mixlab saved as JSON.

    Parameters
    ----------
    path : Path
        The file.
    sort : Sort
        What is expected there.

    Returns
    -------
    Written
        What it holds, without lines: nobody writes it by hand.

    Raises
    ------
    FileError
        If it is no file, too large, no text in UTF-8, cut short or not written as JSON, or has a key twice.
    """
    text = read_text(path, sort)
    try:
        held = json.loads(text, object_pairs_hook=_each_once, parse_constant=_no_number)
    except json.JSONDecodeError as error:
        wrong = sentence("it is cut short or not a {sort}", sort=sort.name)
        fault = Fault(file=path.name, line=error.lineno, wrong=wrong, allowed=_ANOTHER_COPY)
        raise FileError([fault]) from None
    except RecursionError:
        raise FileError.of(path, TOO_DEEP, _ANOTHER_COPY) from None
    except _Refused as refused:
        raise FileError.of(path, refused.args[0], _ANOTHER_COPY) from None
    except ValueError:  # more digits than this Python reads
        raise FileError.of(path, sentence("a number has very many digits"), _ANOTHER_COPY) from None
    return Written(file=path.name, tables=held)


def json_text(held: object) -> str:
    """Return what is to be saved as JSON: one value a line, letters as they are."""
    return json.dumps(held, indent=1, ensure_ascii=False, allow_nan=False)


def _each_once(pairs: Iterable[tuple[str, Any]]) -> dict[str, Any]:
    listed = list(pairs)
    twice = [key for key, count in Counter(key for key, _ in listed).items() if count > 1]
    if twice:
        raise _Refused(sentence("{key} stands in it twice", key=twice[0]))
    return dict(listed)


def _no_number(_: str) -> NoReturn:
    raise _Refused(sentence("a number in it cannot be read"))
