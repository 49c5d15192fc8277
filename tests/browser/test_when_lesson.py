"""When insulins act, in a real lab and a real browser: a guess, a dose by keyboard, a meal dragged, a night."""

import pytest
from lab import find_violations, open_lesson, press, says, type_in

WHEN = ".mixlab-when"


@pytest.fixture(scope="module")
def curves(lab, laptop):
    return open_lesson(laptop, lab, "30_when_each_acts.ipynb", f"{WHEN} svg[role=img]:visible")


@pytest.fixture(scope="module")
def day(lab, laptop):
    """The second lesson takes the place of the first: tests with `curves` stand above those with `day`."""
    return open_lesson(laptop, lab, "31_a_day_at_the_bedside.ipynb", f"{WHEN} svg[role=img]:visible")


def panel_of(page):
    panel = page.locator(WHEN)
    panel.scroll_into_view_if_needed()
    return panel


def test_a_guess_by_keyboard_then_the_sum(curves):
    panel = panel_of(curves)
    press(panel, "the curves")
    says(curves, WHEN, "Where will the highest point be?")
    guess = panel.get_by_label("Your guess: hours after the injection", exact=True)
    guess.focus()
    guess.press("ArrowRight")
    assert guess.get_attribute("aria-valuetext") == "0.5 h after the injection"
    press(panel, "Show the sum")
    panel.get_by_text("You said 0.5 h; by the model the sum is strongest 2.7 h").wait_for(timeout=30_000)
    press(panel, "Hide the sum")


def test_the_fan_and_another_place_by_keyboard(curves):
    panel = panel_of(curves)
    panel.get_by_label("Day to day", exact=True).select_option("wide")
    says(curves, WHEN, "90 of 100")
    panel.get_by_label("Where on the body", exact=True).select_option("thigh")
    says(curves, WHEN, "Given in the thigh")
    handle = panel.get_by_label("Clear insulin, units", exact=True)
    handle.focus()
    handle.press("ArrowRight")
    says(curves, WHEN, "Model, regular insulin 9 units")
    assert handle.get_attribute("aria-valuetext") == "9 units"


def test_each_picture_fits_a_small_laptop(curves):
    panel = panel_of(curves)
    room = curves.locator(".jp-WindowedPanel-outer").first.bounding_box()["height"]
    for name in ("clear: who says what", "cloudy: who says what", "the day at the bedside", "the curves"):
        press(panel, name)
        curves.wait_for_timeout(500)
        (picture,) = (one for one in panel.locator("svg[role=img]").all() if one.is_visible())
        box = picture.bounding_box()
        assert box["y"] + box["height"] - panel.bounding_box()["y"] <= room, name
        assert box["width"] > 900, name


def test_axe_finds_nothing_inside_the_outputs_of_the_curves(curves):
    assert not find_violations(curves)


def test_a_meal_dragged_with_the_arrows_moves_the_day(day):
    panel = panel_of(day)
    type_in(
        panel.get_by_label("Order", exact=True), "regular insulin 8 units and NPH insulin 20 units before breakfast"
    )
    type_in(panel.get_by_role("textbox", name="Injected at, typed", exact=True), "07:30")
    says(day, WHEN, "Injected at 07:30")
    handle = panel.get_by_label("breakfast at", exact=True)
    handle.focus()
    for _ in range(4):
        handle.press("ArrowRight")
    panel.locator(".widget-html-content").get_by_text(
        "Breakfast at 09:00 comes 1 hour 30 minutes after the injection"
    ).wait_for(timeout=30_000)
    assert handle.get_attribute("aria-valuetext") == "09:00"
    day.wait_for_function(
        "one => one.value === '09:00'",
        arg=panel.get_by_role("textbox", name="breakfast at, typed", exact=True).element_handle(),
    )
    type_in(panel.get_by_role("textbox", name="breakfast at, typed", exact=True), "08:00")
    panel.locator(".widget-html-content").get_by_text("Nothing found by the taught times").wait_for(timeout=30_000)


def test_a_meal_that_cannot_be_is_refused_and_stays_in_the_field(day):
    panel = panel_of(day)
    breakfast = panel.get_by_role("textbox", name="breakfast at, typed", exact=True)
    type_in(breakfast, "07:00")
    panel.get_by_text("lies before the dose").wait_for(timeout=30_000)
    assert breakfast.input_value() == "07:00"
    says(day, WHEN, "Not updated")
    type_in(breakfast, "08:00")
    panel.get_by_text("Not shown:").wait_for(state="detached", timeout=30_000)


def test_a_meal_left_out_with_the_space_bar(day):
    panel = panel_of(day)
    eaten = panel.get_by_role("checkbox", name="lunch is eaten")
    eaten.press("Space")
    panel.locator(".widget-html-content").get_by_text("Lunch at 12:00 is not eaten").wait_for(timeout=30_000)
    eaten.press("Space")
    panel.locator(".widget-html-content").get_by_text("Nothing found by the taught times").wait_for(timeout=30_000)


def test_axe_finds_nothing_inside_the_outputs_of_the_day(day):
    assert not find_violations(day)
