"""Deciding at the bedside, in a real lab and a real browser: typed, by keyboard, two wards, a low walked."""

import pytest
from lab import find_violations, open_lesson, press, says, type_in

PICTURES = "svg[role=img]"


@pytest.fixture(scope="module")
def bedside(lab, laptop):
    return open_lesson(laptop, lab, "21_give_or_hold.ipynb", f".mixlab-bedside {PICTURES}")


def first(page):
    return page.locator(".mixlab-bedside").first


def test_reading_signs_and_meal_by_keyboard_turn_the_answer(bedside):
    panel = first(bedside)
    panel.scroll_into_view_if_needed()
    reading = panel.get_by_label("Glucose before the dose, as the meter shows it", exact=True)
    type_in(reading, "64")
    says(bedside, ".mixlab-bedside", "Decision: hold and treat")
    handle = panel.get_by_label("Glucose before the dose", exact=True)
    assert handle.get_attribute("aria-valuetext") == "64 mg/dL"
    handle.focus()
    for _ in range(26):
        bedside.keyboard.press("ArrowRight")
    says(bedside, ".mixlab-bedside", "Decision: give. Glucose: 90 mg/dL")
    bedside.wait_for_function("one => one.value === '90'", arg=reading.element_handle())
    panel.get_by_role("checkbox", name="sweating").press("Space")
    says(bedside, ".mixlab-bedside", "Decision: check first")
    says(bedside, ".mixlab-bedside", "Before the last change: GIVE")
    panel.get_by_role("checkbox", name="sweating").press("Space")
    panel.get_by_label("Meal", exact=True).select_option("not eating")
    says(bedside, ".mixlab-bedside", "Decision: hold and ask")
    panel.get_by_text("For the dose to be given later").first.wait_for(timeout=30_000)
    panel.get_by_label("Meal", exact=True).select_option("eating")
    says(bedside, ".mixlab-bedside", "Decision: give")


def test_a_number_in_the_wrong_unit_is_asked_about_and_stays_in_the_field(bedside):
    panel = first(bedside)
    reading = panel.get_by_label("Glucose before the dose, as the meter shows it", exact=True)
    type_in(reading, "5.4")
    panel.get_by_text("Not shown:").wait_for(timeout=30_000)
    assert "5.4 mmol/L" in panel.locator(".mixlab-refusal").inner_text()
    assert reading.input_value() == "5.4"
    type_in(reading, "120")
    panel.get_by_text("Not shown:").wait_for(state="detached", timeout=30_000)
    says(bedside, ".mixlab-bedside", "Glucose: 120 mg/dL")


def test_a_second_ward_stands_beside_the_first_and_both_fit_a_small_laptop(bedside):
    panel = first(bedside)
    panel.get_by_label("Beside it", exact=True).select_option("the hill ward")
    panel.locator(PICTURES).nth(1).wait_for(state="visible", timeout=30_000)
    type_in(panel.get_by_label("Glucose before the dose, as the meter shows it", exact=True), "71")
    says(bedside, ".mixlab-bedside", "At the hill ward: Before the last change: GIVE", 1)
    says(bedside, ".mixlab-bedside", "Decision: hold and treat", 1)
    one, two = (panel.locator(PICTURES).nth(at).bounding_box() for at in (0, 1))
    assert one["x"] + one["width"] <= two["x"]
    room = bedside.locator(".jp-WindowedPanel-outer").first.bounding_box()["height"]
    assert max(box["y"] + box["height"] for box in (one, two)) - panel.bounding_box()["y"] <= room
    panel.get_by_label("Beside it", exact=True).select_option("no second site")
    panel.locator(PICTURES).nth(1).wait_for(state="hidden", timeout=30_000)


def test_a_low_is_walked_through_with_the_buttons(bedside):
    panel = bedside.locator(".mixlab-treat-low")
    panel.scroll_into_view_if_needed()
    for name in ("wait 5 min", "15 g by mouth", "wait 15 min"):
        press(panel, name)
    panel.get_by_text("A low was left waiting without treatment").wait_for(timeout=30_000)
    type_in(panel.get_by_label("The new reading, mg/dL"), "88")
    panel.get_by_label("Signs now", exact=True).select_option("none")
    press(panel, "measure")
    says(bedside, ".mixlab-treat-low", "Decision: hold and ask")
    panel.get_by_text("minute 20: measured 88 mg/dL").wait_for(timeout=30_000)
    press(panel, "undo")
    says(bedside, ".mixlab-treat-low", "Decision: hold and treat")


def test_axe_finds_nothing_inside_the_bedside_outputs(bedside):
    assert not find_violations(bedside)
