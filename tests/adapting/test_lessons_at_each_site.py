"""Every lesson runs under each of the three worked sites, two of them in the long lane, and where the pair of the lessons is
forbidden; a number of the teaching ward in a check is found out.
"""

import json
import os
import re
import shutil
import subprocess
import sys
from contextlib import nullcontext
from importlib import resources
from pathlib import Path

import pytest

import mixlab

NOTEBOOKS = sorted((Path(__file__).parents[2] / "notebooks").glob("*.ipynb"))
SITES = ("3-hill", *(pytest.param(site, marks=pytest.mark.long) for site in ("1-harbour", "4-orchard")))
# Sample: the ward that differs in most keys, in the unit of glucose too.
APART = 'name = "the ward apart"\nnever_mix = ["regular + nph"]\n'
RUN = Path(__file__).with_name("run_lessons.py")
FAULTY = "21_give_or_hold.ipynb"


def begin(folder, site):
    """Run the notebooks of a folder under a worked site, or under the text of a site file."""
    own = folder.parent / "own.toml"
    own.write_text(site, encoding="utf-8")
    with (
        nullcontext(own)
        if "=" in site
        else resources.as_file(resources.files("mixlab.ward.site") / "worked" / f"{site}.toml") as file
    ):
        surroundings = {"MIXLAB_SITE": str(file.absolute()), "PYTHONPATH": str(Path(mixlab.__file__).parents[1])}
    return subprocess.Popen(
        [sys.executable, RUN, "."],
        cwd=folder,
        env=os.environ | surroundings,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )


def copied(folder, *notebooks):
    folder.mkdir()
    for notebook in notebooks:
        shutil.copy(notebook, folder)
    return folder


def code_cells(folder):
    notebooks = [json.loads(path.read_text(encoding="utf-8")) for path in folder.glob("*.ipynb")]
    return sum(cell["cell_type"] == "code" for notebook in notebooks for cell in notebook["cells"])


@pytest.mark.parametrize("site", [*SITES, pytest.param(APART, id="apart")])
def test_every_cell_of_every_lesson_passes(tmp_path, site):
    folder = copied(tmp_path / "lessons", *NOTEBOOKS)
    run = begin(folder, site)
    said, _ = run.communicate(timeout=600)
    assert run.returncode == 0, said
    assert said.endswith(f"\n{code_cells(folder)} cells passed\n"), said
    assert {path.name for path in folder.iterdir() if not path.name.startswith("__")} == {
        path.name for path in NOTEBOOKS
    }


def test_a_number_of_the_teaching_ward_in_a_check_turns_it_red(tmp_path):
    folder = copied(tmp_path / "lessons", NOTEBOOKS[0].parent / FAULTY)
    (lesson,) = folder.iterdir()
    right = lesson.read_text(encoding="utf-8")
    lesson.write_text(right.replace("str(panel.state.site.first_not_low().shown())", "'70'"), encoding="utf-8")
    assert lesson.read_text(encoding="utf-8") != right
    run = begin(folder, "3-hill")
    said, _ = run.communicate(timeout=300)
    assert run.returncode == 1, said
    assert re.search(rf"^FAILED {FAULTY}: cell ", said, re.MULTILINE), said
    assert int(re.search(r"(\d+) cells passed\n$", said)[1]) < code_cells(folder)
