"""A real lab and a real browser for tests and benchmarks, in a folder of their own and ended again."""

import json
import os
import re
import shutil
import subprocess
import sys
import time
import urllib.request
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from importlib import resources
from pathlib import Path
from urllib.parse import quote

import pytest
from playwright.sync_api import Browser, Locator, Page, expect, sync_playwright

from mixlab import launch

PACKAGES = Path(launch.__file__).parents[2]  # where this very mixlab is imported from
CHROMIUM = Path(os.environ.get("MIXLAB_CHROMIUM", "/usr/bin/chromium"))
FLAGS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)


@dataclass(frozen=True, kw_only=True)
class Lab:
    """A running lab: where it answers, the token that opens it, the folder it shows.

    With a room it is one for a single test file: a folder and a workspace of that name in a lab that others use too.
    """

    address: str  # http://127.0.0.1:port
    token: str
    folder: Path
    room: str = ""

    def ask(self, path: str, method: str = "GET", **said: object) -> object:
        """The lab's answer to a question of its own interface, such as ``api/sessions``."""
        request = urllib.request.Request(
            f"{self.address}/{path}",
            data=json.dumps(said).encode() if said else None,
            headers={"Authorization": f"token {self.token}"},
            method=method,
        )
        with urllib.request.urlopen(request, timeout=10) as answer:
            return json.loads(answer.read() or "null")

    def path(self, name: str) -> str:
        """Where the lab has a notebook of this room."""
        return f"{self.room}/{name}" if self.room else name

    def kernels(self, name: str) -> list[dict[str, object]]:
        """The kernels at work for a notebook."""
        return [one["kernel"] for one in self.ask("api/sessions") if one["path"] == self.path(name)]


def require_browser() -> None:
    """Skip where there is no Chromium, or fail where ``MIXLAB_REQUIRE_BROWSER=1`` says that there must be one."""
    if CHROMIUM.is_file():
        return
    lacking = f"No browser at {CHROMIUM}: install Debian's chromium, or name another in MIXLAB_CHROMIUM."
    if os.environ.get("MIXLAB_REQUIRE_BROWSER") == "1":
        pytest.fail(lacking)
    pytest.skip(lacking)


def wait_until(true: Callable[[], object], what: str, seconds: float = 60.0) -> None:
    """Wait until something is true, and say what never came if it does not."""
    end = time.monotonic() + seconds
    while not true():
        if time.monotonic() > end:
            raise AssertionError(f"Waited {seconds:g} s in vain until {what}.")
        time.sleep(0.1)


@contextmanager
def open_lab(folder: Path, *, notebooks: Sequence[Path] = (), arguments: Sequence[str] = ()) -> Iterator[Lab]:
    """Start the lab through the launcher, on the course or on these notebooks instead, and end it with its kernels."""
    home, log = folder / "home", folder / "lab.log"
    call = "import sys; from mixlab.launch import main; sys.exit(main())"
    if notebooks:
        (folder / "course").mkdir()
        for notebook in notebooks:
            shutil.copy(notebook, folder / "course")
        call = call.replace("main()", "main(course=Path('course'))").replace(";", "; from pathlib import Path;", 1)
    own = {
        "JUPYTER_CONFIG_DIR": home / "config",
        "JUPYTER_DATA_DIR": home / "data",
        "IPYTHONDIR": home / "ipython",
        "PYTHONPATH": PACKAGES,
    }
    with log.open("wb") as out:
        started = subprocess.Popen(
            [sys.executable, "-c", call, "--no-browser", "--LabApp.expose_app_in_browser=True", *arguments],
            cwd=folder,
            env=os.environ | {name: str(path) for name, path in own.items()},
            stdout=out,
            stderr=subprocess.STDOUT,
        )

    def said() -> re.Match[str] | None:
        words = log.read_text(encoding="utf-8")
        assert started.poll() is None, f"The lab ended by itself:\n{words}"
        return re.search(r"^mixlab is open at (http://127\.0\.0\.1:\d+)/.*[?]token=(\w+)$", words, re.MULTILINE)

    try:
        wait_until(said, "the lab is open")
        address, token = said().groups()
        yield Lab(address=address, token=token, folder=folder / "mixlab-notebooks")
    finally:
        started.terminate()
        started.wait(40)


@contextmanager
def open_room(lab: Lab, name: str) -> Iterator[Lab]:
    """Give a test file a room with the course as the launcher copied it, seen as at first; end its kernels afterwards."""
    room = replace(lab, folder=lab.folder / name, room=name)
    room.folder.mkdir()
    for notebook in lab.folder.glob("*.ipynb"):
        shutil.copy(notebook, room.folder)
    seen_at_first = json.loads(next(launch.lab.DEFAULTS.glob("*.jupyterlab-workspace")).read_text(encoding="utf-8"))
    room.ask(f"lab/api/workspaces/{name}", "PUT", data=seen_at_first["data"], metadata={"id": name})
    try:
        yield room
    finally:
        for one in room.ask("api/sessions"):
            if one["path"].startswith(f"{name}/"):
                room.ask(f"api/sessions/{one['id']}", "DELETE")


@contextmanager
def open_browser() -> Iterator[Browser]:
    """Start Debian's Chromium."""
    require_browser()
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=str(CHROMIUM), args=list(FLAGS))
        try:
            yield browser
        finally:
            browser.close()


@contextmanager
def open_page(*, width: int = 1366, height: int = 768, scale: float = 1) -> Iterator[Page]:
    """A page in Debian's Chromium, by default as large as a plain laptop or projector."""
    with open_pages(("page",), width=width, height=height, scale=scale) as pages:
        yield pages["page"]


@contextmanager
def open_pages(
    names: Iterable[str], *, width: int = 1366, height: int = 768, scale: float = 1
) -> Iterator[dict[str, Page]]:
    """Several pages of one Chromium, by name, each with cookies of its own."""
    with open_browser() as browser:
        size = {"width": width, "height": height}
        yield {name: browser.new_page(viewport=size, device_scale_factor=scale) for name in names}


def open_notebook(page: Page, lab: Lab, name: str, *, workspace: str = "") -> None:
    """Open a notebook and wait until its kernel is attached and idle; running cells before that meets a dialog.

    A workspace shows all that was opened in it: pages that must not show what others do have one each. A room has its
    own; otherwise it is the one that the launcher gives.
    """
    workspace = workspace or lab.room or "default"
    page.goto(f"{lab.address}/lab/workspaces/{workspace}/tree/{quote(lab.path(name))}?token={lab.token}")
    page.locator(f"{SHOWN} .jp-Cell").first.wait_for(timeout=60_000)
    wait_until(
        lambda: [one["execution_state"] for one in lab.kernels(name)] == ["idle"], f"the kernel of {name} is idle"
    )
    page.wait_for_function(IDLE, timeout=60_000)


def run_all(page: Page) -> None:
    """Run all cells from the menu, as a learner does, and wait until the last one is done; an error is a failure."""
    before = max((count or 0 for _, count in page.evaluate(CELLS)), default=0)
    page.get_by_role("menuitem", name="Run", exact=True).click()
    page.get_by_role("menuitem", name="Run All Cells", exact=True).click()
    wait_until(
        lambda: (
            page.evaluate(ERRORS) or all((count or 0) > before for blank, count in page.evaluate(CELLS) if not blank)
        ),
        "every cell has been run",
        120.0,
    )
    page.wait_for_function(IDLE, timeout=60_000)
    failed = page.evaluate(ERRORS)
    assert not failed, failed


def open_lesson(page: Page, lab: Lab, name: str, shows: str) -> Page:
    """Open a notebook, run all of it, and wait until it shows something."""
    open_notebook(page, lab, name)
    run_all(page)
    page.locator(shows).first.wait_for(timeout=60_000)
    return page


def says(page: Page, panel: str, words: str, picture: int = -1) -> None:
    """Wait until a visible picture of a panel, or the one of this number, has these words in its name."""
    page.wait_for_function(
        """([panel, words, number]) => [...document.querySelectorAll(`${panel} svg[role=img]`)].some((node, at) =>
          node.checkVisibility() && (number < 0 || at === number) && node.getAttribute("aria-label").includes(words))""",
        arg=[panel, words, picture],
        timeout=30_000,
    )


def type_in(field: Locator, words: str) -> None:
    """Write into a field and leave it."""
    field.fill(words)
    field.press("Tab")


def press(inside: Locator, name: str) -> None:
    """Press a button by keyboard once it can be: a key for one that cannot goes to whatever else is in focus."""
    button = inside.get_by_role("button", name=name, exact=True)
    expect(button).to_be_enabled(timeout=30_000)
    button.press("Enter")


IDLE = "jupyterapp.shell.currentWidget?.context?.sessionContext?.session?.kernel?.status === 'idle'"
SHOWN = ".jp-NotebookPanel:not(.lm-mod-hidden)"
# What the notebook itself holds, for the page does not show cells that are far off. A cell has no number while it runs.
CELLS = """() => [...jupyterapp.shell.currentWidget.content.model.cells].filter(cell => cell.type === "code")
  .map(cell => [!cell.sharedModel.source.trim(), cell.executionCount])"""
ERRORS = """() => [...jupyterapp.shell.currentWidget.content.model.cells].filter(cell => cell.type === "code")
  .flatMap(cell => cell.outputs.toJSON()).filter(output => output.output_type === "error")
  .map(output => `${output.ename}: ${output.evalue}`)"""


# The rules of axe-core (Deque Systems), as they come with axe-playwright-python.
AXE = (resources.files("axe_playwright_python") / "axe.min.js").read_text(encoding="utf-8")


def find_violations(page: Page) -> list[tuple[str, list[str]]]:
    """What axe finds wrong inside the outputs: each rule, and the elements that break it."""
    page.evaluate(AXE)
    found = page.evaluate("axe.run({include: [['.jp-OutputArea-output']]})")
    assert len(found["passes"]) > 10, "axe has looked at next to nothing"
    return [(one["id"], [node["html"][:200] for node in one["nodes"]]) for one in found["violations"]]
