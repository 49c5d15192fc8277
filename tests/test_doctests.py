"""The examples in the docstrings do what they say, and every verb of a decision and of a low has one."""

import ast
import doctest
import importlib
from pathlib import Path

import pytest

import mixlab

PACKAGE = Path(mixlab.__file__).parent
MODULES = sorted(
    ".".join(("mixlab", *path.relative_to(PACKAGE).with_suffix("").parts))
    for path in PACKAGE.rglob("*.py")
    if ">>>" in path.read_text(encoding="utf-8")
)
ROOMS = ("care.decision", "care.low", "panels.decision", "panels.low")
"""Where the verbs of a decision and of a low live."""


@pytest.mark.parametrize("name", MODULES)
def test_every_example_does_what_it_says(name, closing_panels):
    failed, tried = doctest.testmod(importlib.import_module(name))
    assert tried
    assert not failed


def test_every_verb_of_a_decision_and_of_a_low_has_an_example():
    desk = ast.parse((PACKAGE / "__init__.pyi").read_text(encoding="utf-8"))
    verbs = [
        (f"mixlab.{line.module}", one.name)
        for line in desk.body
        if isinstance(line, ast.ImportFrom) and line.module.startswith(ROOMS)
        for one in line.names
    ]
    assert [verb for _, verb in verbs] == ["decide", "walk", "bedside", "treat_low"]
    without = [verb for _, verb in verbs if ">>>" not in getattr(mixlab, verb).__doc__]
    assert without == []
