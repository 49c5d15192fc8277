"""Run the lessons of a folder one after the other in this one process, each with names of its own, as `Run All` would.

A kernel for each lesson, as nbval starts them for the teaching ward, takes longer to start than most lessons to run; what
a kernel adds is the same at every site.
"""

import json
import sys
from pathlib import Path

from IPython.core.interactiveshell import InteractiveShell
from traitlets.config import Config


def run_lessons(folder: Path) -> tuple[int, int]:
    """Run every code cell, say which lesson stops where, and return how many cells passed and how many lessons failed."""
    shell = InteractiveShell.instance(config=Config(HistoryManager={"enabled": False}))  # nothing in the home folder
    passed = failed = 0
    for lesson in sorted(folder.glob("*.ipynb")):
        shell.reset(new_session=True)
        cells = json.loads(lesson.read_text(encoding="utf-8"))["cells"]
        for cell in (cell for cell in cells if cell["cell_type"] == "code"):
            if not shell.run_cell("".join(cell["source"])).success:
                sys.stdout.write(f"FAILED {lesson.name}: cell {cell['id']}\n")
                failed += 1
                break
            passed += 1
    return passed, failed


if __name__ == "__main__":
    passed_cells, failed_lessons = run_lessons(Path(sys.argv[1]))
    sys.stdout.write(f"\n{passed_cells} cells passed\n")
    sys.exit(failed_lessons > 0)
