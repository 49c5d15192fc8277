"""The floor plan of DEVELOPERS.md, as import contracts (pyproject.toml): what stands below never imports what is above."""

import re
from pathlib import Path

import pytest
from importlinter.cli import lint_imports

ROOT = Path(__file__).parents[1]


def test_imports_point_left(monkeypatch, capsys):
    monkeypatch.chdir(ROOT)
    failed = lint_imports(config_filename=str(ROOT / "pyproject.toml"), no_cache=True)
    assert not failed, capsys.readouterr().out


@pytest.mark.parametrize("module", sorted((ROOT / "mixlab").rglob("*.py")), ids=lambda path: path.name)
def test_no_module_uses_pyplot(module):
    assert not re.search(r"\bpyplot\b.*import|import.*\bpyplot\b", module.read_text(encoding="utf-8"))
