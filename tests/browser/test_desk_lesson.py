"""The desk in a real lab: type, save and check, read the fault, mend it, look at a panel; by keyboard, and heard by axe."""

import pytest
from lab import find_violations, open_lesson, press
from playwright.sync_api import Page


@pytest.fixture(scope="module")
def desk(lab, laptop):
    open_lesson(laptop, lab, "60_adapt_to_your_site.ipynb", ".mixlab-site-desk")
    laptop.locator(".mixlab-site-desk").first.scroll_into_view_if_needed()
    laptop.locator(".mixlab-site-desk textarea").first.wait_for(timeout=60_000)
    return laptop


def panel(page: Page):
    return page.locator(".mixlab-site-desk").first


def type_at(page: Page, old: str, new: str) -> None:
    box = panel(page).get_by_role("textbox", name="The text of my_site.toml")
    text = box.input_value()
    assert old in text
    box.fill(text.replace(old, new, 1))
    box.press("Tab")


def save(page: Page) -> None:
    press(panel(page), "Save and check")


def test_the_lesson_leaves_no_file_by_itself(desk, lab):
    assert "my_site.toml" not in [path.name for path in lab.folder.iterdir()]


def test_an_unsafe_value_is_refused_in_words_and_then_put_right(desk, lab):
    type_at(desk, '"the teaching ward"\n\n', '"ward 3"\n\n')
    type_at(desk, "waiting = 15", "waiting = 240")
    save(desk)
    panel(desk).get_by_role("alert").get_by_text("240 is not safe").wait_for(timeout=30_000)
    type_at(desk, "waiting = 240", "waiting = 10")
    save(desk)
    panel(desk).get_by_role("status").get_by_text("nothing is wrong").wait_for(timeout=30_000)
    panel(desk).locator(".mixlab-sites").get_by_text("15 → 10 minutes").first.wait_for(timeout=30_000)
    assert "waiting = 10" in (lab.folder / "my_site.toml").read_text(encoding="utf-8")


def test_a_panel_is_seen_as_the_site_has_it(desk):
    panel(desk).get_by_label("Look at", exact=True).select_option("give or hold")
    panel(desk).locator(".mixlab-bedside svg[role=img]:visible").first.wait_for(timeout=60_000)
    panel(desk).get_by_label("Look at", exact=True).select_option("what changes")
    panel(desk).locator(".mixlab-sites svg[role=img]").wait_for(timeout=60_000)


def test_axe_finds_nothing(desk):
    assert find_violations(desk) == []
