"""A browser page and a lab for the browser tests, each ended when the test is over."""

import fcntl
import tempfile
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from pathlib import Path

import pytest
from lab import Lab, open_lab, open_page
from playwright.sync_api import Page


@pytest.fixture(scope="module", autouse=True)
def alone() -> Iterator[None]:
    """Keep the labs of two test files apart where several files are tested at once: each wants the machine for itself."""
    with (Path(tempfile.gettempdir()) / "mixlab-one-lab-at-a-time").open("w") as turn:
        fcntl.flock(turn, fcntl.LOCK_EX)
        yield


@pytest.fixture
def page() -> Iterator[Page]:
    with open_page() as opened:
        yield opened


@pytest.fixture
def start_lab(tmp_path: Path) -> Iterator[Callable[..., Lab]]:
    """Start a lab in a fresh folder, with the notebooks that are named."""
    with ExitStack() as open_labs:
        yield lambda *notebooks, arguments=(): open_labs.enter_context(
            open_lab(tmp_path, notebooks=notebooks, arguments=arguments)
        )
