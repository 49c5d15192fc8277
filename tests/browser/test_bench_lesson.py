"""The draw-up bench in a real lab and a real browser: steps by keyboard, picture and strip that follow, and its names."""

import pytest
from lab import find_violations, open_lesson, press, says

BENCH = ".mixlab-draw-up"
LESSON = "from mixlab.panels import draw_up\npanel = draw_up()\npanel"


@pytest.fixture(scope="module")
def sent():
    """What the page sends to the kernel, as it goes."""
    return []


@pytest.fixture(scope="module")
def page(lab, write_notebook, laptop, sent):
    laptop.on("websocket", lambda socket: socket.on("framesent", lambda frame: sent.append(frame)))
    return open_lesson(laptop, lab, write_notebook("bench.ipynb", LESSON), f"{BENCH} svg[role=img]")


def bench(page):
    return page.locator(BENCH)


def test_steps_by_keyboard_move_the_picture_and_the_strip(page):
    strip = page.get_by_role("region", name="Steps so far")
    assert page.get_by_role("button", name="give", exact=True).is_disabled()
    press(bench(page), "take syringe")
    says(page, BENCH, "Stopper at 0 units")
    mark = bench(page).get_by_label("Mark for the stopper", exact=True)
    for _ in range(8):
        mark.press("ArrowRight")
    page.wait_for_function("() => document.querySelector('.mixlab-mark-box input').value === '8'", timeout=10_000)
    press(bench(page), "pull air")
    says(page, BENCH, "Stopper at 8 units")
    strip.get_by_text("pull air to 8").wait_for(timeout=10_000)
    strip.focus()
    assert strip.evaluate("one => one === document.activeElement")
    press(bench(page), "undo")
    says(page, BENCH, "Stopper at 0 units")
    strip.get_by_text("pull air to 8").wait_for(state="detached", timeout=10_000)


def test_a_page_sends_presses_and_never_back_what_it_was_told(page, sent):
    sent.clear()
    for name, done in (("roll", 2), ("wipe", 3), ("roll", 4), ("wipe", 5), ("undo", 4), ("undo", 3)):
        press(bench(page), name)
        page.get_by_text(f"Look back: step {done} of {done}").wait_for(timeout=10_000)
    page.wait_for_timeout(300)
    frames = [frame if isinstance(frame, bytes) else frame.encode() for frame in sent]
    assert sum(b'"event":"click"' in frame for frame in frames) == 6
    assert not [frame for frame in frames if b'"method":"update"' in frame]


def test_the_bench_fits_a_small_laptop_without_scrolling(page):
    panel = bench(page).first
    notebook = page.locator(".jp-WindowedPanel-outer").first
    assert panel.bounding_box()["height"] <= notebook.bounding_box()["height"]


def test_the_review_opens_and_axe_finds_nothing_inside_the_outputs(page):
    press(bench(page), "review")
    page.get_by_role("region", name="Review").get_by_text("The run ends before a dose was given").first.wait_for()
    press(bench(page), "what is really inside")
    says(page, BENCH, "of room pressure")
    assert not find_violations(page)
