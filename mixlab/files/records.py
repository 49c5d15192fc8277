"""Plain data become records: every fault is told with its place, its line and the nearest known name.

pydantic checks types and refuses unknown keys. It is loaded with the first data that are checked: it takes a quarter of the
time in which mixlab is imported.
"""

from __future__ import annotations

import json
import re
import sys
from collections.abc import Iterable
from dataclasses import fields, is_dataclass
from math import log2
from types import UnionType
from typing import TYPE_CHECKING, Any, TypeVar, Union, get_args, get_origin, get_type_hints

from mixlab.words import Sentence, sentence

from .faults import ALIKE, Fault, FileError, Place, nearest, shown
from .toml import TOO_DEEP, Written

if TYPE_CHECKING:
    from pydantic_core import ErrorDetails

Record = TypeVar("Record")

STRICT: dict[str, object] = {"extra": "forbid", "allow_inf_nan": False}
"""What stands as `__pydantic_config__` on a record that refuses keys it does not know and numbers without end."""


def check(kind: type[Record], written: Written, *at: str | int) -> Record:
    """Turn what a file holds into records.

    Parameters
    ----------
    kind : type
        The record, or a mapping or tuple of records.
    written : Written
        The file.
    *at : str or int
        Where in the file the data stand: the table, or nothing for the whole file.

    Returns
    -------
    Record
        The records.

    Raises
    ------
    FileError
        With every fault.
    """
    from pydantic import TypeAdapter, ValidationError

    try:
        # As JSON, so that the checker takes a list for a tuple and still refuses a text where a number belongs.
        data = json.dumps(written.value(*at), default=str)
    except RecursionError:
        raise FileError([written.fault(at, TOO_DEEP)]) from None
    except ValueError:
        wrong, allowed = sentence("a number has very many digits"), sentence("write the number that is meant")
        raise FileError([written.fault(_many_digits(written.value(*at), at) or at, wrong, allowed)]) from None
    try:
        return TypeAdapter(kind).validate_json(data, strict=True)
    except ValidationError as error:
        found = sorted(
            error.errors(), key=lambda each: each["type"] == "missing"
        )  # a misspelt key before what it leaves out
        raise FileError([_told(each, kind, written, at) for each in found]) from None


_OF_THE_KEY = "[key]"
"""What the checker puts after a key of a table when the key itself is at fault."""

_SAY = {
    "missing": (sentence("this key is missing"), sentence("add it")),
    "unexpected_keyword_argument": (
        sentence("this key is not known here"),
        sentence("take it out or correct its spelling"),
    ),
    "float_type": (sentence("this is not a number"), sentence("write a number")),
    "int_type": (sentence("this is not a whole number"), sentence("write a whole number")),
    "int_from_float": (sentence("this is not a whole number"), sentence("write a whole number")),
    "finite_number": (sentence("this number has no end"), sentence("write a number that ends")),
    "string_type": (sentence("this is not text"), sentence("write text in quotation marks")),
    "bool_type": (sentence("this is neither true nor false"), sentence("write true or false")),
    "tuple_type": (sentence("this is not a list"), sentence("write a list in square brackets")),
    "dict_type": (sentence("this is not a table"), sentence("write a table")),
    "dataclass_type": (sentence("this is not a table"), sentence("write a table with keys of its own")),
    "date_type": (sentence("this is not a date"), sentence("write a date such as 2026-11-26")),
    "date_parsing": (sentence("this is not a date"), sentence("write a date such as 2026-11-26")),
}
"""What is wrong and what a person should do about it, by the checker's name for it."""


def _told(found: ErrorDetails, kind: Any, written: Written, at: Place) -> Fault:
    """Say a fault of the checker."""
    place: Place = found["loc"]
    where = (*at, *(part for part in place if part != _OF_THE_KEY))
    if found["type"] == "literal_error":
        expected = found["ctx"]["expected"]
        choices = re.findall(r"'([^']+)'", expected)
        wrong = sentence("{written} is not one of the words for it", written=shown(found["input"]))
        allowed = sentence("write one of {expected}", expected=expected)
        return written.fault(where, wrong, allowed, nearest(str(found["input"]), choices, ALIKE))
    if said := _SAY.get(found["type"]):
        unknown = found["type"] == "unexpected_keyword_argument"
        return written.fault(where, *said, nearest(str(place[-1]), _keys(kind, place[:-1]), ALIKE) if unknown else "")
    refused = found.get("ctx", {}).get("error")  # what a record says itself about values that do not go together
    reason = refused.args[0] if isinstance(refused, ValueError) and refused.args else found["msg"]
    return written.fault(where, reason if isinstance(reason, Sentence) else sentence("{reason}", reason=reason))


def _many_digits(held: object, at: Place) -> Place | None:
    """Return where in data a number stands that is too long to be printed."""
    if isinstance(held, int):
        return at if held.bit_length() > sys.get_int_max_str_digits() * log2(10) - 1 else None
    inside = held.items() if isinstance(held, dict) else enumerate(held) if isinstance(held, list) else ()
    return next((found for part, each in inside if (found := _many_digits(each, (*at, part)))), None)


def _keys(kind: Any, place: Place) -> Iterable[str]:
    """Return the keys that the record at a place has; of what may be left out, those of what may stand there."""
    for part in (*place, None):
        if get_origin(kind) in (Union, UnionType):
            kind = next(each for each in get_args(kind) if each is not type(None))
        if part is None:
            break
        kind = get_type_hints(kind)[str(part)] if is_dataclass(kind) else get_args(kind)[get_origin(kind) is not tuple]
    return [each.name for each in fields(kind)]
