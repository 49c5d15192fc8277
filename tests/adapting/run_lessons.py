"""Run the lessons of a folder one after the other in this one process, each from a clean slate, as `Run All` would.

A kernel for each lesson, as nbval starts them for the teaching ward, takes longer to start than most lessons to run.
"""

import json
import sys
from pathlib import Path

from IPython.core.interactiveshell import InteractiveShell
from traitlets.config import Config


def run_lessons(folder: Path) -> int:
    """Run every code cell, say which lesson stops where, and return how many cells passed."""
    shell = InteractiveShell.instance(config=Config(HistoryManager={"enabled": False}))  # nothing in the home folder
    passed = 0
    for lesson in sorted(folder.glob("*.ipynb")):
        shell.reset(new_session=True)
        cells = json.loads(lesson.read_text(encoding="utf-8"))["cells"]
        for cell in (cell for cell in cells if cell["cell_type"] == "code"):
            if not shell.run_cell("".join(cell["source"])).success:
                sys.stdout.write(f"FAILED {lesson.name}: cell {cell['id']}\n")
                break
            passed += 1
    return passed


if __name__ == "__main__":
    sys.stdout.write(f"{run_lessons(Path(sys.argv[1]))} cells passed\n")
