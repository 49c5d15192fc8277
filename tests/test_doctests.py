"""The examples in the docstrings do what they say, and every verb of the front desk has one."""

import doctest
import importlib
import inspect
from pathlib import Path

import pytest

import mixlab

PACKAGE = Path(mixlab.__file__).parent
MODULES = sorted(
    ".".join(("mixlab", *path.relative_to(PACKAGE).with_suffix("").parts))
    for path in PACKAGE.rglob("*.py")
    if ">>>" in path.read_text(encoding="utf-8")
)
DESK = {name: getattr(mixlab, name) for name in mixlab.__all__}
VERBS = [name for name, verb in DESK.items() if inspect.isroutine(inspect.unwrap(verb))]


@pytest.mark.parametrize("name", MODULES)
def test_every_example_does_what_it_says(name, closing_panels):
    failed, tried = doctest.testmod(importlib.import_module(name), extraglobs=DESK)
    assert tried
    assert not failed


@pytest.mark.parametrize("verb", VERBS)
def test_every_verb_of_the_front_desk_has_an_example(verb):
    assert ">>>" in (inspect.unwrap(DESK[verb]).__doc__ or "")
