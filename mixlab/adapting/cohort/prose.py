"""The prose of the notebooks as a site has it: its values in the marked places, its terms and its spelling, by whole words.

Code, links, HTML tags and places such as ``{dose}`` are left letter for letter as they are, and so is every code cell.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping

from mixlab.ward.site.record import Site
from mixlab.words import TERMS
from mixlab.words.spelling import BRITISH, KEPT, british

from .marked_places import fill_places

_TERM = re.compile(
    KEPT
    + r"""
    | (?P<article>\b[Aa]n?(?=\s))?(?P<between>\s+[*_]*)?
      (?<!\w)(?P<word>
          (?:[Rr]egular|REGULAR|NPH)(?P<insulin>\s(?i:insulin))?
        | (?<!-)(?:[Pp]rescribers?|[Cc]harts?|[Uu]nits?)(?!-)
      )(?!\w)
    """,
    re.VERBOSE | re.MULTILINE | re.DOTALL,
)

_NOT_THE_INSULIN = re.compile(r"\s(?:interval|meal|time|hour|basi|round|check|visit|user|reader|exercise)e?s?\b")
_CHART_AS_THING = re.compile(
    r"\b(?:the|an?|this|that|your|our|each|every|any|one|which|most|patient['’]s)\s+[*_]*$", re.I
)
_UNIT_OF_DOSE = re.compile(r"(?:\d|\b(?:half|half\s+an?|every|each|one|per|or)|\|)\s+[*_]*$", re.IGNORECASE)
_UNITS_OF_ELSE = re.compile(
    r"\b(?:glucose|SI|care|nursing|hospital|both|other|different|their|these)\s+[*_]*$", re.IGNORECASE
)
_SENTENCE_BEGINS = re.compile(
    r"(?:\A|\n\s*\n|^\s*(?:[>\-+#]+|\d+\.)\s|</summary>|(?<!e\.g\.)(?<!i\.e\.)(?<=[.?!])[\"”’)*_]*\s)[\s>#*_\"“(]*\Z",
    re.MULTILINE,
)
_LOOK_ROUND = 80  # letters on either side that tell what a word means and whether it begins a sentence
_SOUNDS_OPEN = re.compile(r"(?!uni|eu|one\b|once\b|use)[aeiou]", re.IGNORECASE)


def speak_prose(text: str, site: Site) -> str:
    """Return Markdown as a site has it: its values, what it calls the things in `words.TERMS`, and its spelling.

    Parameters
    ----------
    text : str
        Markdown with the values and in the words of the teaching site.
    site : Site
        Whose values and words are wanted. In a language that is not English the text stays, but for the values.

    Raises
    ------
    UnknownPlace
        For a marked place that no site says anything for.
    """
    text = fill_places(text, site)
    if not site.language.startswith("en"):
        return text
    if site.language == BRITISH:
        text = british(text)
    terms = renamed(site)
    return _TERM.sub(lambda found: _renamed(found, terms), text) if terms else text


def speak_notebook(content: bytes, site: Site) -> bytes:
    """Return a notebook whose Markdown is as a site has it, byte for byte the same where there is nothing to say otherwise.

    Parameters
    ----------
    content : bytes
        The notebook's file. Code, ids and everything else in it stay.
    site : Site
        Whose words are wanted.

    Raises
    ------
    ValueError
        If the content is no notebook.
    """
    notebook = json.loads(content)
    changed = False
    try:
        for cell in notebook["cells"]:
            if cell["cell_type"] == "markdown":
                before = "".join(cell["source"])
                after = speak_prose(before, site)
                if after != before:
                    changed = True
                    cell["source"] = after if isinstance(cell["source"], str) else after.splitlines(keepends=True)
    except (KeyError, TypeError) as fault:
        raise ValueError("This is no notebook: it has no cells of the usual form.") from fault
    return f"{json.dumps(notebook, indent=1, ensure_ascii=False)}\n".encode() if changed else content


def renamed(site: Site) -> dict[str, str]:
    """Return what a site calls otherwise than the notebooks do, by the names of `words.TERMS`."""
    return {name: site.voice.term(name) for name, term in TERMS.items() if site.voice.term(name) != term}


def _renamed(found: re.Match[str], terms: Mapping[str, str]) -> str:
    if found["kept"]:
        return found[0]
    word, text = found["word"], found.string
    start, end = found.span("word")
    before = f"{'…' if start > _LOOK_ROUND else ''}{text[max(0, start - _LOOK_ROUND) : start]}"
    name = _meant(word, before, text[end : end + _LOOK_ROUND])
    if name not in terms:
        return found[0]
    new = terms[name]
    if name in ("regular", "nph") and not found["insulin"]:
        new = new.removesuffix(" insulin")
    if name in ("prescriber", "chart") and word.lower().endswith("s"):
        new = f"{new}es" if new.endswith(("s", "x", "ch", "sh")) else f"{new}s"
    if word.startswith("REGULAR"):
        new = new.upper()
    elif _SENTENCE_BEGINS.search(before) if word.startswith("NPH") else word[0].isupper():
        new = new[0].upper() + new[1:]
    article = found["article"] or ""
    if article:
        article = article[0] + ("n" if _SOUNDS_OPEN.match(new) else "")
    return f"{article}{found['between'] or ''}{new}"


def _meant(word: str, before: str, after: str) -> str:
    """Return which of `words.TERMS` a word of the prose means, or nothing when it means something else."""
    kind = word.lower()
    if kind.startswith("nph"):
        return "nph"
    if kind.startswith("regular"):
        return "" if kind == "regular" and _NOT_THE_INSULIN.match(after) else "regular"
    if kind.startswith("prescriber"):
        return "prescriber"
    if kind.startswith("chart"):
        return "chart" if _CHART_AS_THING.search(before) else ""
    if kind == "units":
        return "" if _UNITS_OF_ELSE.search(before) else "units"
    return "unit" if _UNIT_OF_DOSE.search(before) else ""
