"""American and British spelling: one table of words, applied when a sentence is said or a lesson is copied."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from functools import cache
from importlib import resources

BRITISH = "en-GB"
"""The language that is the English of the code in British spelling; it needs no catalogue."""

KEPT = r"""
    (?P<kept>
        ^[ ]{0,3}(?P<fence>```|~~~) .*? (?:^[ ]{0,3}(?P=fence)[`~]*[ \t]*$ | \Z)      # a block of code
      | (?<!`)(?P<ticks>`+)(?!`) (?:(?!\n\s*\n).)+? (?<!`)(?P=ticks)(?!`)             # code in a line
      | <!--.*?-->
      | <(?P<verbatim>code|pre|kbd|script|style)\b[^<>]*> .*? </(?P=verbatim)\s*>
      | </?[a-zA-Z](?:"[^"]*"|'[^']*'|[^'"<>])*>                                      # an HTML tag or an address
      | !?\[(?:[^\[\]]|\[[^\[\]]*\])*\](?:\((?:[^()]|\([^()]*\))*\)|\[[^\[\]]*\])     # a link or a picture
      | ^[ ]{0,3}\[[^\[\]]+\]:[^\n]*                                                  # where a link leads
      | (?:https?://|www\.|doi:)\S+
      | \{[^{}]*\}
    )
"""
"""What is never respelled, in verbose regular-expression syntax: code, links, tags and places in braces."""


def british(text: str) -> str:
    """Return a text in British spelling; code, links, tags, places in braces and the titles of sources stay as they are."""
    table, pattern = _spelling()
    return pattern.sub(lambda found: found[0] if found["kept"] else _respelled(found[0], table), text)


@cache
def _spelling() -> tuple[Mapping[str, str], re.Pattern[str]]:
    with (resources.files(__package__) / "spelling.toml").open("rb") as file:
        table = tomllib.load(file)
    names = "|".join(map(re.escape, sorted(table["names"], key=len, reverse=True))).replace(r"\ ", r"\s")
    kept = KEPT.replace("(?P<kept>", rf"(?P<kept> \b(?:{names})\b |", 1)
    return table["words"], re.compile(rf"{kept} | (?<!\w)[A-Za-z]+(?!\w)", re.VERBOSE | re.MULTILINE | re.DOTALL)


def _respelled(word: str, table: Mapping[str, str]) -> str:
    other = table.get(word.lower())
    if other is None:
        return word
    if word.isupper():
        return other.upper()
    return other.capitalize() if word[0].isupper() else other
