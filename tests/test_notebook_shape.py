"""The house style of the notebooks: short, without programming, committed without outputs, and checked by running."""

import json
import re
from pathlib import Path
from statistics import median

import pytest

import mixlab

NOTEBOOKS = sorted((Path(__file__).parents[1] / "notebooks").glob("*.ipynb"))


def cells(path, kind):
    return [cell for cell in json.loads(path.read_text(encoding="utf-8"))["cells"] if cell["cell_type"] == kind]


def source(cell):
    return "".join(cell["source"])


def test_the_first_notebook_is_there():
    assert "00_start_here.ipynb" in [path.name for path in NOTEBOOKS]


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
class TestNotebook:
    def test_it_is_short_and_holds_no_programming(self, path):
        code = cells(path, "code")
        assert 15 <= len(code) + len(cells(path, "markdown")) <= 30
        assert len(code) <= 10
        lengths = [len(source(cell).splitlines()) for cell in code]
        assert max(lengths) <= 5
        assert median(lengths) <= 2
        for cell in code:
            assert not re.search(r"^\s*(def|class|for|while|if)\b", source(cell), re.MULTILINE), source(cell)

    def test_it_imports_from_the_front_desk_alone(self, path):
        """Rooms may move; a copy that a cohort made last year still runs."""
        code = "\n".join(source(cell) for cell in cells(path, "code"))
        inner = [
            line
            for line in code.splitlines()
            if re.match(r"(?:from|import)\s+mixlab\b", line)
            and not re.match(r"from mixlab import \w+(?:, \w+)*$", line)
        ]
        assert not inner
        names = [
            name for line in re.findall(r"^from mixlab import (.+)$", code, re.MULTILINE) for name in line.split(", ")
        ]
        assert len(names) == len(set(names))
        assert set(names) <= set(mixlab.__all__)

    def test_it_is_stored_without_outputs_and_with_ids(self, path):
        for cell in cells(path, "code"):
            assert not cell["outputs"]
            assert cell["execution_count"] is None
        stored = json.loads(path.read_text(encoding="utf-8"))
        assert all(re.fullmatch(r"[a-z-]+", cell["id"]) for cell in stored["cells"])
        assert stored["metadata"]["kernelspec"]["name"] == "python3"

    def test_it_begins_with_the_caution(self, path):
        first = source(cells(path, "markdown")[0])
        assert "teaching only" in first.lower()
        assert "local policy" in first

    def test_a_notebook_with_a_panel_checks_what_its_controls_do(self, path):
        code = cells(path, "code")
        if not any(
            re.search(r"\b(live_dose|draw_up|bedside|treat_low|order_check|when_it_acts|adapt_site)\(", source(cell))
            for cell in code
        ):
            return
        checks = [cell for cell in code if "check" in cell["metadata"].get("tags", [])]
        driving = [
            cell
            for cell in checks
            if re.search(r"\.(?:trying|set|press)\(", source(cell)) and "assert " in source(cell)
        ]
        assert driving

    def test_a_check_is_short_and_leaves_every_panel_as_the_lesson_says(self, path):
        for cell in cells(path, "code"):
            if "check" in cell["metadata"].get("tags", []):
                assert [line for line in source(cell).splitlines() if len(line) > 120] == []
                assert not re.search(r"\.value = |\.click\(\)", source(cell)), source(cell)
                assert re.match(r"\s*(?:assert|list|\w+\.\w+\()", source(cell).splitlines()[-1]), source(cell)
