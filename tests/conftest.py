"""How the tests are shared out where several run at once (``pytest -n``)."""

from collections.abc import Iterator
from pathlib import Path

import pytest

FIRST = ("tests/browser", "tests/adapting", "tests/words", "notebooks")
"""What takes long stands first, so that no worker is left alone with it at the end."""


@pytest.hookimpl(wrapper=True)  # before xdist reads the groups
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> Iterator[None]:
    """Keep each file together, for a notebook is one kernel, and all browser tests: each lab wants the machine for itself."""

    def place(item: pytest.Item) -> str:
        return Path(item.path).relative_to(config.rootpath).as_posix()

    def rank(item: pytest.Item) -> int:
        return next((number for number, start in enumerate(FIRST) if place(item).startswith(start)), len(FIRST))

    items.sort(key=rank)
    for item in items:
        group = "browser" if place(item).startswith("tests/browser") else place(item)
        item.add_marker(pytest.mark.xdist_group(group))
    yield
