"""One lab for all browser tests and one browser for each of their files; each test file has a room of its own in the lab.

A browser that stays open while other files are tested would leave its event loop running in their way.
"""

import json
from contextlib import closing
from pathlib import Path

import pytest
from lab import open_browser, open_lab, open_room, require_browser


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        if Path(__file__).parent in item.path.parents:
            item.add_marker("browser")


@pytest.fixture(scope="session")
def shared_lab(tmp_path_factory):
    require_browser()
    with open_lab(tmp_path_factory.mktemp("lab")) as opened:
        yield opened


@pytest.fixture(scope="module")
def lab(request, shared_lab):
    """The lab, with a folder, a workspace and kernels for this test file only."""
    with open_room(shared_lab, request.module.__name__) as room:
        yield room


@pytest.fixture(scope="module")
def browser():
    with open_browser() as opened:
        yield opened


@pytest.fixture(scope="module")
def laptop(browser):
    """A page as large as a plain laptop or projector, for all tests of a file."""
    with closing(browser.new_page(viewport={"width": 1366, "height": 768})) as opened:
        yield opened


@pytest.fixture
def page(browser):
    """A page for one test."""
    with closing(browser.new_page(viewport={"width": 1366, "height": 768})) as opened:
        yield opened


@pytest.fixture(scope="module")
def write_notebook(lab):
    """Write a notebook with these cells into the room and return its name."""

    def write(name: str, *sources: str) -> str:
        cell = {"cell_type": "code", "metadata": {}, "outputs": [], "execution_count": None}
        content = {
            "cells": [cell | {"id": f"c{number}", "source": source} for number, source in enumerate(sources)],
            "metadata": {"kernelspec": {"name": "python3", "display_name": "Python 3", "language": "python"}},
            "nbformat": 4,
            "nbformat_minor": 5,
        }
        Path(lab.folder, name).write_text(json.dumps(content), encoding="utf-8")
        return name

    return write
