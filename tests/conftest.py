"""Which tests run, and how they are shared out where several files are tested at once (``pytest -n``).

``pytest -n auto`` leaves out what is marked `long` or `benchmark`; ``pytest -m long -n auto`` runs what is long: whole
grids, of which the short tests keep a sample, and every property of hypothesis with many more examples.
"""

import gc
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import is_hypothesis_test, settings
from xdist.scheduler import LoadFileScheduling

LANES = ("long", "benchmark")
"""Marks of tests that run only where ``-m`` names them."""

EXAMPLES = {"short": 30, "long": 400}
"""How many examples a property is tried with where it does not say so itself."""

BROWSER = "tests/browser/"
FIRST = (BROWSER, "tests/adapting", "tests/test_house", "tests/words", "notebooks", "tests/panels", "tests/figures")
"""What takes long stands first, so that no worker is left alone with it at the end."""


def is_asked_for(lane: str, config: pytest.Config) -> bool:
    return re.search(rf"(?<!not )\b{lane}\b", config.getoption("markexpr")) is not None


def pytest_configure(config: pytest.Config) -> None:
    for name, examples in EXAMPLES.items():
        settings.register_profile(name, max_examples=examples)
    settings.load_profile("long" if is_asked_for("long", config) else "short")


@pytest.hookimpl(wrapper=True, tryfirst=True)
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> Iterator[None]:
    choose_lanes(config, items)
    yield
    put_in_order(config, items)


def pytest_collection_finish() -> None:
    """Let Python look for garbage seldom, and never in what is loaded: it took a tenth of the time."""
    gc.freeze()
    gc.set_threshold(10_000, 20, 20)


@pytest.fixture
def closing_panels():
    """Close the panels that a test made; ipywidgets keeps all others, and the tests after it grow slower."""
    from ipywidgets.widgets.widget import _instances  # not for tests without panels

    before = set(_instances)
    yield
    for name in [name for name in _instances if name not in before]:
        if name in _instances:  # a panel closes its parts
            _instances[name].close()


def choose_lanes(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Leave out the lanes that are not asked for; properties belong to both, with more examples in the long one."""
    for item in items:
        if is_asked_for("long", config) and is_hypothesis_test(getattr(item, "obj", None)):
            item.add_marker("long")
    left_out = {lane for lane in LANES if not is_asked_for(lane, config)}
    chosen, others = [], []
    for item in items:
        (chosen if left_out.isdisjoint(mark.name for mark in item.iter_markers()) else others).append(item)
    if others:
        config.hook.pytest_deselected(items=others)
        items[:] = chosen


def put_in_order(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Put first what takes long; the tests of a file stay together, as they stand in it."""

    def rank(item: pytest.Item) -> int:
        place = Path(item.path).relative_to(config.rootpath).as_posix()
        return next((at for at, start in enumerate(FIRST) if place.startswith(start)), len(FIRST))

    items.sort(key=rank)


def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> LoadFileScheduling:
    return BrowserTogether(config, log)


class BrowserTogether(LoadFileScheduling):
    """Give each file to a worker whole, and all browser tests to one: they share a lab and want the machine in turns."""

    def _split_scope(self, nodeid: str) -> str:
        file = super()._split_scope(nodeid)
        return BROWSER if file.startswith(BROWSER) else file
