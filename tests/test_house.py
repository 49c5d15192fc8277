"""Style and types are tests too, so that one command says whether a change may land."""

import subprocess
import sys
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
