"""How the tests are shared out where several files are tested at once (``pytest -n``)."""

from pathlib import Path

import pytest

FIRST = ("tests/adapting", "tests/words", "notebooks")
"""What takes long stands first, so that no worker is left alone with it at the end."""


@pytest.hookimpl(trylast=True)
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
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
