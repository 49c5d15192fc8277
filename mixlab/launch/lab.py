"""JupyterLab as a program of its own: started on loopback behind a token, watched, and ended with its kernels."""

import json
import os
import secrets
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Sequence
from dataclasses import dataclass
from http.client import HTTPConnection, HTTPException
from pathlib import Path
from tempfile import TemporaryDirectory
from types import FrameType
from urllib.parse import quote

from .course import FIRST_NOTEBOOK
from .refusals import LOOPBACK, CannotOpenError

DEFAULTS = Path(__file__).parent / "defaults"
SITE_VARIABLE = "MIXLAB_SITE"
PATIENCE = 120.0  # s that a slow machine may take until JupyterLab answers


def run_lab(folder: Path, port: int | None, extra: Sequence[str], site: Path | None = None) -> None:
    """Run JupyterLab until it ends or is ended, and print its address once it answers.

    Parameters
    ----------
    folder : Path
        The folder it shows.
    port : int or None
        The port to answer on; None for JupyterLab's own choice.
    extra : sequence of str
        Options handed on to JupyterLab.
    site : Path, optional
        The site file that its notebooks follow wherever they stand.

    Raises
    ------
    CannotOpenError
        When JupyterLab ends by itself, does not answer, or answers without asking for a token.
    """
    command = [
        *(sys.executable, "-m", "jupyterlab"),
        f"--ServerApp.ip={LOOPBACK}",
        f"--ServerApp.root_dir={folder}",
        f"--LabApp.default_url=/lab/tree/{FIRST_NOTEBOOK}",
        *extra,
    ]
    if port is not None:
        command += [f"--ServerApp.port={port}", "--ServerApp.port_retries=0"]
    if os.name == "posix" and os.geteuid() == 0 and "--allow-root" not in extra:
        command.append("--allow-root")  # in a container there is often no other user
    if not any(word == "--debug" or "log" in word for word in extra):
        command += [
            "--ServerApp.log_level=WARN",
            "--ExtensionApp.log_level=WARN",
        ]  # the address is not to be lost among messages
    with TemporaryDirectory(prefix="mixlab-", ignore_cleanup_errors=True) as private:
        shutil.copy(DEFAULTS / "default-37a8.jupyterlab-workspace", private)
        defaults = [str(DEFAULTS), os.environ.get("JUPYTER_CONFIG_PATH", "")]
        settings = {
            "JUPYTER_CONFIG_PATH": os.pathsep.join(filter(None, defaults)),
            "JUPYTER_RUNTIME_DIR": private,
            "JUPYTER_TOKEN": secrets.token_hex(24),  # not in the command, which other users of the machine can list
            "JUPYTERLAB_WORKSPACES_DIR": private,
        }
        if site is not None:
            settings[SITE_VARIABLE] = str(site)
        ends = [getattr(signal, name) for name in ("SIGTERM", "SIGHUP") if hasattr(signal, name)]
        before = {end: signal.signal(end, _end) for end in ends}
        try:
            lab = subprocess.Popen(command, env=os.environ | settings, stdin=subprocess.DEVNULL, process_group=0)
            _attend(lab, Path(private))
        finally:
            for end, handler in before.items():
                signal.signal(end, handler)


def _end(_signal: int, _frame: FrameType | None) -> None:
    raise KeyboardInterrupt


def _attend(lab: subprocess.Popen[bytes], private: Path) -> None:
    """Say where the lab is once it answers, wait while it is used, and see that it ends."""
    door = None
    try:
        door = _wait_for_door(lab, private)
        print(f"mixlab is open at {door.address}")
        print("If no browser shows it, copy that address into one. Press Ctrl-C here to end.", flush=True)
        if lab.wait():
            raise CannotOpenError("JupyterLab ended by itself: what it said stands above. Start mixlab again.")
    finally:
        try:
            if lab.poll() is None:
                if door is None:
                    lab.kill()  # still loading: nothing to save, and nothing to be said about it
                elif door.ask("api/shutdown", door.token, method="POST") != 200:
                    lab.terminate()
                lab.wait(20)
        except (subprocess.TimeoutExpired, KeyboardInterrupt):
            lab.kill()
            lab.wait()


@dataclass(frozen=True, kw_only=True)
class _Door:
    """Where a lab answers, as it wrote down itself, and the token that opens it."""

    port: int
    base: str
    token: str

    @property
    def address(self) -> str:
        return f"http://{LOOPBACK}:{self.port}{self.base}lab/tree/{FIRST_NOTEBOOK}?token={quote(self.token)}"

    def ask(self, path: str, token: str = "", *, method: str = "GET") -> int:
        """Ask for a page and return the status of the answer, 0 when there is none; never by way of a proxy."""
        line = HTTPConnection(LOOPBACK, self.port, timeout=10)
        try:
            line.request(method, self.base + path, headers={"Authorization": f"token {token}"} if token else {})
            return line.getresponse().status
        except (OSError, HTTPException):
            return 0
        finally:
            line.close()


def _wait_for_door(lab: subprocess.Popen[bytes], private: Path) -> _Door:
    patient_until = time.monotonic() + PATIENCE
    while time.monotonic() < patient_until:
        if lab.poll() is not None:
            raise CannotOpenError("JupyterLab ended before it could be opened: what it said stands above.")
        for record in private.glob("jpserver-*.json"):
            try:
                told = json.loads(record.read_bytes())
            except ValueError:  # not yet written to its end
                continue
            door = _Door(port=told["port"], base=told["base_url"], token=told["token"])
            if door.ask("api/status", door.token) == 200:
                if door.ask("lab") == 200:  # shown to anyone instead of sent to the login page
                    raise CannotOpenError(
                        "Your own Jupyter settings take the token away, so the lab was closed again: "
                        "remove the setting `token` from the files that `jupyter --paths` names under config."
                    )
                return door
        time.sleep(0.1)
    raise CannotOpenError(f"JupyterLab did not answer within {PATIENCE:g} seconds: start mixlab again.")
