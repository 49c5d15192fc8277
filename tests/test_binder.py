"""The files from which a Binder service builds the course (repo2docker documentation, "Configuration Files")."""

import os
import subprocess
from pathlib import Path

from mixlab.launch.lab import DEFAULTS

BINDER = Path(__file__).parents[1] / "binder"


def test_the_course_itself_is_installed() -> None:
    first, second = (BINDER / "requirements.txt").read_text(encoding="utf-8").splitlines()
    assert first.startswith("# ")  # a file of one dot is taken for UTF-16
    assert second == "."
    assert (BINDER / "runtime.txt").read_text(encoding="utf-8") == "python-3.11\n"


def test_its_lab_starts_with_the_launchers_defaults(tmp_path: Path) -> None:
    settings = tmp_path / "etc" / "jupyter"
    settings.mkdir(parents=True)
    subprocess.run(
        [BINDER / "postBuild"], cwd=BINDER.parent, env=os.environ | {"NB_PYTHON_PREFIX": tmp_path}, check=True
    )
    for name in ("jupyter_server_config.json", "labconfig/default_setting_overrides.json"):
        assert (settings / name).read_bytes() == (DEFAULTS / name).read_bytes()
