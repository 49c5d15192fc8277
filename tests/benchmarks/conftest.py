"""Benchmarks run by hand only: `pytest tests/benchmarks -m benchmark -s`."""

import pytest


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    if "benchmark" in config.getoption("markexpr"):
        return
    measured = [item for item in items if item.get_closest_marker("benchmark")]
    if measured:
        config.hook.pytest_deselected(items=measured)
        items[:] = [item for item in items if item not in measured]
