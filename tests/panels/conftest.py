"""A message from a page, as the kernel is at it."""

import asyncio
from types import SimpleNamespace

import pytest

from mixlab.screen import frame


@pytest.fixture
def at_message(monkeypatch):
    """Let it seem that the kernel is at a message of this kind."""

    def set_kind(kind):
        kernel = SimpleNamespace(get_parent=lambda: {"header": {"msg_type": kind}} if kind else {})
        monkeypatch.setattr(frame, "get_ipython", lambda: SimpleNamespace(kernel=kernel))

    return set_kind


@pytest.fixture(autouse=True)
def closed(closing_panels):
    """Close what each test made."""


@pytest.fixture(autouse=True)
def no_lone_moves(monkeypatch):
    """Let all moves of a panel but its first follow closely, however slow the machine is."""
    monkeypatch.setattr(frame, "_LONE", 1000.0)


@pytest.fixture
def handled():
    """Do something while a message is handled; then look again once it is answered."""

    def do(something, look=lambda: None):
        async def handle():
            something()
            before = look()
            await asyncio.sleep(0.05)
            return before, look()

        return asyncio.run(handle())

    return do
