"""The sources a lesson rests on, as a reader sees them: one citation a line."""

from __future__ import annotations

from mixlab.files.faults import nearest
from mixlab.words import sentence

from .reading import the_facts
from .records import Source


class UnknownSource(LookupError):
    """A key that no source has."""


class Citations(tuple[Source, ...]):
    """Sources that print as a list, one citation a line."""

    __slots__ = ()

    def __str__(self) -> str:
        return "\n".join(map(str, self))

    __repr__ = __str__


def sources(*keys: str) -> Citations:
    """Return the citations with these keys in `facts/sources.toml`; all of them where no key is given.

    Parameters
    ----------
    *keys : str
        Such as ``"rnao"`` or ``"common-practice"``.

    Raises
    ------
    UnknownSource
        For a key that no source has; the nearest one is named.

    Examples
    --------
    >>> len(sources("rnao", "common-practice"))
    2
    """
    listed = the_facts().sources
    for key in keys:
        if key not in listed:
            near = nearest(key, listed, 0) or min(listed)
            wrong = sentence("There is no source {key!r} in the facts. The nearest is {near!r}.", key=key, near=near)
            raise UnknownSource(wrong)
    return Citations(listed[key] for key in (keys or listed))
