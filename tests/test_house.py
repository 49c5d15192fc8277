"""Style and types are tests too, so that one command says whether a change may land."""

import ast
import re
import subprocess
import sys
import tomllib
from collections import Counter
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
FIXED_TOP_LEVEL = {"README.md", "DEVELOPERS.md", "pyproject.toml", "notebooks", "mixlab", "tests", "binder"}


@pytest.mark.parametrize(
    "command",
    [
        ("ruff", "check", "mixlab", "tests"),
        ("ruff", "format", "--check", "mixlab", "tests"),
        ("mypy",),
    ],
    ids=" ".join,
)
def test_the_code_is_clean(command):
    done = subprocess.run([sys.executable, "-m", *command], cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr


def test_the_top_level_holds_only_what_the_owner_fixed():
    listed = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False)
    if listed.returncode:
        pytest.skip("not a git checkout")
    top = {line.split("/")[0] for line in listed.stdout.splitlines()}
    assert {name for name in top if not name.startswith(".")} <= FIXED_TOP_LEVEL


MODULES = [path for path in sorted((ROOT / "mixlab").rglob("*.py")) if path.name != "__init__.py"]


def test_a_folder_holds_ten_modules_at_most():
    folders = Counter(path.parent.relative_to(ROOT).as_posix() for path in MODULES)
    assert {name: count for name, count in folders.items() if count > 10} == {}


def test_a_module_has_three_hundred_lines_at_most():
    lines = {path.relative_to(ROOT).as_posix(): len(path.read_text(encoding="utf-8").splitlines()) for path in MODULES}
    assert {name: count for name, count in lines.items() if count > 300} == {}


@pytest.mark.parametrize("floor", ["facts", "ward", "care"])
def test_nothing_is_said_below_the_edge(floor):
    """A sentence is a value there; only a record's own `__str__` and the site's file say it."""
    said = []
    for path in sorted((ROOT / "mixlab" / floor).rglob("*.py")):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        printed = [each for each in ast.walk(tree) if isinstance(each, ast.FunctionDef) and each.name == "__str__"]
        edge = {id(node) for each in printed for node in ast.walk(each)}
        for node in ast.walk(tree):
            is_call = isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
            if is_call and id(node) not in edge and node.func.id in ("say", "plural"):
                said.append(f"{path.relative_to(ROOT).as_posix()}:{node.lineno}")
    assert said == []


def test_identifiers_have_one_spelling():
    """They are American, as the libraries' own are (`color=`); the table that makes the words on the screen British says what is not."""
    table = tomllib.loads((ROOT / "mixlab" / "words" / "spelling.toml").read_text(encoding="utf-8"))["words"]
    british = set(table.values()) - set(table) - {"catalogue"}  # of sentences: its module is named on the command line
    assert {"colour", "centre", "grey", "labelled", "neighbour"} <= british
    found = []
    for path in sorted([*(ROOT / "mixlab").rglob("*.py"), *(ROOT / "tests").rglob("*.py")]):
        names = {path.stem}
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            names |= {name for field in ("id", "attr", "name", "arg", "asname") if (name := getattr(node, field, None))}
        words = {name: set(map(str.lower, re.findall(r"[A-Z]?[a-z]+|[A-Z]+(?![a-z])", name))) for name in names}
        found += [f"{path.relative_to(ROOT).as_posix()}: {name}" for name in sorted(names) if words[name] & british]
    assert found == []
