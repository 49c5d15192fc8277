"""What a class meets when the launcher opens the lab, and that the support of the browser tests can be trusted."""

from pathlib import Path

import lab as lab_module
import pytest
from lab import CELLS, SHOWN, open_notebook, require_browser, run_all
from playwright.sync_api import expect

TALL = "from ipywidgets import HTML; HTML('<div class=tall style=\"height:600px\">as tall as a panel</div>')"


def test_the_notebook_has_the_room_and_the_others_are_one_press_away(page, lab, write_notebook):
    tall, other = write_notebook("tall.ipynb", TALL), write_notebook("another.ipynb", "1")
    icons: list[str] = []
    page.on("request", lambda request: icons.append(request.url) if "favicon" in request.url else None)
    open_notebook(page, lab, tall, workspace="default")
    run_all(page)
    panel, room = page.locator(".tall").bounding_box(), page.locator(f"{SHOWN} .jp-WindowedPanel-outer").bounding_box()
    assert panel["width"] >= 1180  # CSS pixels, of 1366 × 768
    assert room["height"] >= 670
    page.wait_for_timeout(2000)  # the question about news would come within this time
    expect(page.locator(".Toastify__toast")).to_have_count(0)
    # At each message the kernel's circle would be drawn anew, hidden or not, and the tab's icon be fetched from the lab.
    expect(page.locator(".jp-Notebook-ExecutionIndicator")).to_have_count(0)
    assert not [address for address in icons if "busy" in address]

    item = page.get_by_role("listitem").filter(has_text=other)
    expect(item).to_be_hidden()
    page.get_by_role("tab", name="File Browser").click()
    item.dblclick()
    expect(page.locator(f"{SHOWN} .jp-Cell")).to_have_count(1)
    expect(page.get_by_role("tab", name=other)).to_be_visible()


def test_running_all_waits_for_the_last_cell_each_time(page, lab, write_notebook):
    open_notebook(
        page, lab, write_notebook("slow.ipynb", "import time", "time.sleep(0.5)", "", "'done'"), workspace="slow"
    )
    for first in (1, 4):
        run_all(page)
        assert page.evaluate(CELLS) == [[False, first], [False, first + 1], [True, None], [False, first + 2]]


def test_running_all_fails_with_a_cell_that_fails(page, lab, write_notebook):
    open_notebook(page, lab, write_notebook("wrong.ipynb", "1", "units / 0", "2"), workspace="wrong")
    with pytest.raises(AssertionError, match="NameError: name 'units' is not defined"):
        run_all(page)


def test_a_missing_browser_is_skipped_unless_one_is_required(monkeypatch):
    monkeypatch.setattr(lab_module, "CHROMIUM", Path("/tmp/nowhere/chromium"))
    monkeypatch.delenv("MIXLAB_REQUIRE_BROWSER", raising=False)
    with pytest.raises(pytest.skip.Exception, match="No browser at /tmp/nowhere/chromium"):
        require_browser()
    monkeypatch.setenv("MIXLAB_REQUIRE_BROWSER", "1")
    with pytest.raises(pytest.fail.Exception, match="No browser at /tmp/nowhere/chromium"):
        require_browser()
