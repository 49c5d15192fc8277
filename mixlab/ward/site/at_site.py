"""Doing something at a site: the one that is given, or the one in force."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from inspect import signature
from typing import ParamSpec, TypeVar

from .in_force import the_site

Parameters = ParamSpec("Parameters")
Result = TypeVar("Result")


def at_its_site(function: Callable[Parameters, Result]) -> Callable[Parameters, Result]:
    """Let a function that takes a `site` work at the site in force where none is given."""
    place = list(signature(function).parameters).index("site")

    @wraps(function)
    def act(*positional: Parameters.args, **named: Parameters.kwargs) -> Result:
        if len(positional) > place:
            site = the_site(positional[place])  # type: ignore[arg-type]
            positional = (*positional[:place], site, *positional[place + 1 :])  # type: ignore[assignment]
        else:
            named["site"] = the_site(named.get("site"))  # type: ignore[arg-type]
        return function(*positional, **named)

    return act
