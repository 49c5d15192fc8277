"""Each verb of the front desk that lives on the ward, among the facts or with the quantities has an example that is right."""

import ast
import doctest
import importlib
import inspect
from pathlib import Path

import pytest

import mixlab

DESK = ast.parse((Path(mixlab.__file__).parent / "__init__.pyi").read_text(encoding="utf-8"))
VERBS = {
    one.name: line.module
    for line in DESK.body
    for one in line.names
    if line.module.split(".")[0] in ("quantities", "facts", "ward") and not inspect.isclass(getattr(mixlab, one.name))
}


@pytest.mark.parametrize("verb", VERBS)
def test_the_example_of_a_verb_does_what_it_says(verb):
    room = importlib.import_module(f"mixlab.{VERBS[verb]}")
    (example,) = doctest.DocTestFinder(recurse=False).find(
        inspect.unwrap(getattr(mixlab, verb)), verb, globs=vars(room)
    )
    assert example.examples
    assert doctest.DocTestRunner().run(example).failed == 0
