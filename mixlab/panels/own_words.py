"""In whose words a panel speaks: those of the site it was made for, whoever moves its controls."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from functools import wraps
from inspect import signature
from types import FunctionType
from typing import Any, TypeVar

from mixlab.ward.site.in_force import the_site
from mixlab.words import say, speaking, voice_now

Panel = TypeVar("Panel", bound=type)


def in_its_own_words(panel: Panel) -> Panel:
    """Let every method and property of a panel speak in the words of the site that it is made for.

    A part of a panel, whose making names no site, speaks as the panel does that makes it.

    Parameters
    ----------
    panel : type
        A class whose making may have a `site`. What is called later by itself, such as a handler, must be a method or
        call one before it says anything.
    """
    for name, member in list(vars(panel).items()):
        if name == "__init__":
            setattr(panel, name, _made(member))
        elif isinstance(member, FunctionType):
            setattr(panel, name, _spoken(member))
        elif isinstance(member, property) and member.fget is not None:
            setattr(panel, name, property(_spoken(member.fget), member.fset, member.fdel, member.__doc__))
    return panel


def choices(words: Iterable[str]) -> list[tuple[str, str]]:
    """Return what can be chosen: each as it is said, with the word by which the panel knows it."""
    return [(say(word), word) for word in words]


def _made(make: Callable[..., None]) -> Callable[..., None]:
    takes = signature(make)

    @wraps(make)
    def begin(self: Any, *positional: Any, **named: Any) -> None:
        voice = voice_now()
        if "site" in takes.parameters:
            given = takes.bind(self, *positional, **named).arguments.get("site")
            voice = the_site(given).voice
        self._voice = voice
        with speaking(voice):
            make(self, *positional, **named)

    return begin


def _spoken(method: Callable[..., Any]) -> Callable[..., Any]:
    @wraps(method)
    def speak(self: Any, *positional: Any, **named: Any) -> Any:
        with speaking(self._voice):
            return method(self, *positional, **named)

    return speak
