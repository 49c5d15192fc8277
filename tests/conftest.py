"""Which tests run, and how they are shared out where several files are tested at once (``pytest -n``).

``pytest -n auto`` leaves out what is marked `long` or `benchmark`; ``pytest -m long -n auto`` runs what is long: whole
grids, of which the short tests keep a sample, and every property of hypothesis with many more examples.
"""

import gc
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import is_hypothesis_test, settings

LANES = ("long", "benchmark")
"""Marks of tests that run only where ``-m`` names them."""

EXAMPLES = {"short": 30, "long": 400}
"""How many examples a property is tried with where it does not say so itself."""

FIRST = ("tests/adapting", "tests/words", "notebooks")
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
    """Put the browser tests, which take turns, evenly between the other files."""

    def place(item: pytest.Item) -> str:
        return Path(item.path).relative_to(config.rootpath).as_posix()

    files = list(dict.fromkeys(map(place, items)))
    browser = [file for file in files if file.startswith("tests/browser")]
    others = sorted(
        (file for file in files if file not in browser),
        key=lambda file: next((at for at, start in enumerate(FIRST) if file.startswith(start)), len(FIRST)),
    )
    order = {file: (at + 1) / (len(others) + 1) for at, file in enumerate(others)}
    order |= {file: at / len(browser) for at, file in enumerate(browser)}
    items.sort(key=lambda item: order[place(item)])
