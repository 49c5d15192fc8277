"""What every kind of value in a site file can do."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from mixlab.files.faults import Fault, shown
from mixlab.quantities import GlucoseUnit
from mixlab.ward.site.faults import SiteError
from mixlab.words import Sentence, joined, sentence

LOCAL_POLICY = "local-policy"
"""The source key of a value that a site file sets."""

OURS: dict[str, Any] = {"source": LOCAL_POLICY, "known": "read", "note": ""}
"""What a fact says of its source once a site file has set it."""


def refusal(wrong: Sentence, allowed: Sentence) -> SiteError:
    """Return the refusal of a whole value."""
    return SiteError([Fault(wrong=wrong, allowed=allowed)])


@dataclass(frozen=True)
class Kind:
    """A kind of value: how it is read, written and described. As it stands here, it is one word out of `choices`."""

    def choices(self) -> Iterable[str]:
        """Return the words of which it is one."""
        raise NotImplementedError

    def default(self, fact: Any) -> Any:
        """Return the value on the teaching site, from the fact behind it."""
        return fact.value

    def read(self, written: Any, old: Any, tables: Mapping[str, Any]) -> Any:
        """Return the value for a site.

        Parameters
        ----------
        written : object
            The value as TOML holds it.
        old : object
            The value that it replaces.
        tables : mapping
            The whole file: the ends of the meter are in its glucose unit, and the words in its language.

        Raises
        ------
        SiteError
            If it cannot be read; the places of the faults are those inside the value.
        """
        choices = tuple(self.choices())
        if not isinstance(written, str) or written not in choices:
            wrong = sentence("{written} is not among them", written=shown(written))
            raise refusal(wrong, sentence("write one of {choices}", choices=", ".join(map(repr, choices))))
        return written

    def plain(self, value: Any, measure: GlucoseUnit) -> Any:
        """Return the value as TOML holds it, in a file of this glucose unit."""
        return list(value) if isinstance(value, tuple) else value

    def allowed(self, measure: GlucoseUnit) -> Sentence:
        """Return what is allowed, in words."""
        return joined(f'"{choice}"' for choice in self.choices())

    def faults(self, value: Any, reason: str) -> Fault | None:
        """Return what is unsafe about a value, or is unusual and has no recorded reason; its place is inside the value."""
        return None
