"""What one student's kernel holds in memory after the first lesson, beside a kernel that only loads the libraries.

Both are measured in one run by the kernel's own resident memory; the ratio is the figure to quote.
"""

from __future__ import annotations

from pathlib import Path
from statistics import median

import nbformat
import psutil
import pytest
from nbclient import NotebookClient

pytestmark = pytest.mark.benchmark

NOTEBOOKS = Path(__file__).parents[2] / "notebooks"
LIBRARIES = "import anywidget, ipywidgets, numpy\nimport matplotlib.figure, matplotlib.backends.backend_svg"


def lesson() -> nbformat.NotebookNode:
    return nbformat.read(NOTEBOOKS / "00_start_here.ipynb", as_version=4)


def libraries() -> nbformat.NotebookNode:
    return nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell(LIBRARIES)])


def nothing() -> nbformat.NotebookNode:
    return nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell("pass")])


def resident_mb(notebook: nbformat.NotebookNode) -> float:
    client = NotebookClient(notebook, kernel_name="python3", resources={"metadata": {"path": str(NOTEBOOKS)}})
    with client.setup_kernel():
        for at, cell in enumerate(notebook.cells):
            if cell.cell_type == "code":
                client.execute_cell(cell, at)
        return float(psutil.Process(client.km.provisioner.pid).memory_info().rss) / 2**20


@pytest.mark.filterwarnings("default")
def test_a_kernel_after_the_first_lesson_holds_little_more_than_its_libraries() -> None:
    measured: dict[str, list[float]] = {}
    for _ in range(3):
        for make in (nothing, libraries, lesson):
            measured.setdefault(make.__name__, []).append(resident_mb(make()))
    for name, each in measured.items():
        print(f"{name:>10}: {median(each):6.1f} MiB")
    ratio = median(measured["lesson"]) / median(measured["libraries"])
    print(f"the lesson's kernel is {ratio:.2f} of a kernel with the libraries alone")
    assert ratio <= 1.35
