"""The files from which a Binder service builds the course (repo2docker documentation, "Configuration Files").

What `jupyter-repo2docker --no-build --debug .` (2026.4.0) makes of them was read by hand: it installs
``binder/requirements.txt`` with the Python of ``runtime.txt`` from the project's folder, runs ``binder/postBuild`` there with
``NB_PYTHON_PREFIX`` set, and starts ``jupyter notebook``; a Binder service starts ``jupyter-lab`` instead (from memory). The
replay below does the same in a fresh environment; only the libraries are those of the tests.
"""

import json
import os
import re
import shutil
import subprocess
import sys
import sysconfig
import time
import venv
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass
from http.client import HTTPConnection
from pathlib import Path

import pytest

from mixlab.launch.course import FIRST_NOTEBOOK
from mixlab.launch.lab import DEFAULTS

ROOT = Path(__file__).parents[1]
BINDER = ROOT / "binder"
MAIN = f"/lab/tree/notebooks/{FIRST_NOTEBOOK}"


def run_post_build(project, prefix):
    subprocess.run(
        [project / "binder" / "postBuild"], cwd=project, env=os.environ | {"NB_PYTHON_PREFIX": str(prefix)}, check=True
    )


def test_the_course_itself_is_installed():
    first, second = (BINDER / "requirements.txt").read_text(encoding="utf-8").splitlines()
    assert first.startswith("# ")  # a file of one dot is taken for UTF-16
    assert second == "."
    assert (BINDER / "runtime.txt").read_text(encoding="utf-8") == "python-3.11\n"


def test_its_lab_starts_with_the_launchers_defaults(tmp_path):
    settings = tmp_path / "etc" / "jupyter"
    run_post_build(ROOT, tmp_path)
    for name in (
        "jupyter_server_config.json",
        "labconfig/default_setting_overrides.json",
        "labconfig/page_config.json",
    ):
        assert (settings / name).read_bytes() == (DEFAULTS / name).read_bytes()


def test_every_program_that_a_service_may_start_opens_on_the_main_notebook(tmp_path):
    run_post_build(ROOT, tmp_path)
    settings = tmp_path / "etc" / "jupyter"
    for file, program in (("jupyter_lab_config", "LabApp"), ("jupyter_notebook_config", "JupyterNotebookApp")):
        assert json.loads((settings / f"{file}.json").read_bytes()) == {program: {"default_url": MAIN}}
    assert (ROOT / "notebooks" / FIRST_NOTEBOOK).is_file()


# The replay


@dataclass(frozen=True, kw_only=True)
class Built:
    """A fork of the project, and the fresh environment that was built from it."""

    project: Path
    python: Path
    settings: dict[str, str]


@pytest.fixture(scope="module")
def built(tmp_path_factory):
    place = tmp_path_factory.mktemp("binder")
    project, prefix = place / "fork", place / "environment"
    shutil.copytree(ROOT, project, ignore=shutil.ignore_patterns(".*", "__pycache__", "tests", "build", "dist"))
    (project / "notebooks" / "site.toml").write_text('name = "the ward of the fork"\n', encoding="utf-8")
    venv.create(prefix, symlinks=True)
    python = prefix / "bin" / "python"
    # --no-deps and this path: the libraries of the tests serve, so that only mixlab itself is built and installed anew.
    path = subprocess.run(
        [python, "-c", "import sysconfig; print(sysconfig.get_path('purelib'))"],
        capture_output=True,
        text=True,
        check=True,
    ).stdout.strip()
    Path(path, "libraries.pth").write_text(f"{sysconfig.get_path('purelib')}\n", encoding="utf-8")
    pip = [sys.executable, "-m", "pip", "--python", python, "install", "--quiet", "--no-deps", "--force-reinstall"]
    installed = subprocess.run(
        [*pip, "-r", "binder/requirements.txt"], cwd=project, capture_output=True, text=True, check=False
    )
    assert installed.returncode == 0, installed.stderr
    run_post_build(project, prefix)
    home = place / "home"
    home.mkdir()
    settings = {
        "HOME": str(home),
        "JUPYTER_CONFIG_DIR": str(home),
        "JUPYTER_RUNTIME_DIR": str(home),
        "JUPYTERLAB_WORKSPACES_DIR": str(home),
        "JUPYTERLAB_DIR": str(Path(sys.prefix, "share", "jupyter", "lab")),
        "JUPYTER_PATH": str(Path(sys.prefix, "share", "jupyter")),
        "JUPYTER_TOKEN": "open-sesame",
    }
    without = {name: value for name, value in os.environ.items() if name not in ("PYTHONPATH", "MIXLAB_SITE")}
    return Built(project=project, python=python, settings=without | settings)


def test_the_installed_course_is_the_forks_own(built):
    ask = "import mixlab; from mixlab.launch.course import find_course; print(mixlab.__file__); print(find_course())"
    said = subprocess.run(
        [built.python, "-c", ask],
        cwd=built.settings["HOME"],
        env=built.settings,
        capture_output=True,
        text=True,
        check=True,
    ).stdout.splitlines()
    assert all(Path(line).is_relative_to(built.python.parents[1]) for line in said)
    names = {path.name for path in (built.project / "notebooks").glob("*.ipynb")}
    assert {path.name for path in Path(said[1]).glob("*.ipynb")} == names


def test_the_forks_notebooks_follow_its_site_file(built):
    ask = "from mixlab.ward.site.in_force import site_in_force; print(site_in_force().name)"
    said = subprocess.run(
        [built.python, "-c", ask],
        cwd=built.project / "notebooks",  # where a server runs the kernel of a notebook of this folder
        env=built.settings,
        capture_output=True,
        text=True,
        check=True,
    )
    assert said.stdout == "the ward of the fork\n"


def _wait_for_door(lab, records):
    patient_until = time.monotonic() + 90
    while time.monotonic() < patient_until:
        assert lab.poll() is None, (records / "log").read_text(encoding="utf-8")
        for told in records.glob(f"jpserver-{lab.pid}.json"):  # written a moment before it answers
            with suppress(OSError, ValueError):
                line = HTTPConnection("127.0.0.1", json.loads(told.read_bytes())["port"], timeout=60)
                line.connect()
                return line
        time.sleep(0.1)
    raise AssertionError((records / "log").read_text(encoding="utf-8"))


@contextmanager
def serving(built):
    records = Path(built.settings["JUPYTER_RUNTIME_DIR"])
    command = [built.python, "-m", "jupyterlab", "--ip=127.0.0.1", "--no-browser", "--allow-root"]
    with (records / "log").open("w+", encoding="utf-8") as log:
        lab = subprocess.Popen(command, cwd=built.project, env=built.settings, stdout=log, stderr=log)
        try:
            with closing(_wait_for_door(lab, records)) as line:
                yield line
        finally:
            lab.terminate()
            lab.wait(60)


def test_its_lab_opens_on_the_main_notebook(built):
    with serving(built) as line:
        key = {"Authorization": f"token {built.settings['JUPYTER_TOKEN']}"}

        def ask(path):
            line.request("GET", path, headers=key)
            answer = line.getresponse()
            return answer.status, answer.getheader("Location", ""), answer.read()

        status, leads_to, _ = ask("/")
        assert (status, leads_to.rstrip("?")) == (302, MAIN)
        status, _, page = ask(leads_to)
        assert status == 200
        assert re.search(rb'id="jupyter-config-data"', page)
        assert ask(f"/api/contents/notebooks/{FIRST_NOTEBOOK}?content=0")[0] == 200
        news = json.loads(ask("/lab/api/settings/@jupyterlab/apputils-extension:notification")[2])
        assert news["schema"]["properties"]["fetchNews"]["default"] == "false"
