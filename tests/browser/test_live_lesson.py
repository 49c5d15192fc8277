"""The main job in a real lab and a real browser: type an order, move a slider, see picture, marks and decision."""

import pytest
from lab import find_violations, open_lesson, says, type_in

LIVE = ".mixlab-live-dose"
BARREL = f"{LIVE} svg[role=img] >> nth=0"


@pytest.fixture(scope="module")
def page(lab, laptop):
    return open_lesson(laptop, lab, "00_start_here.ipynb", f"{LIVE} svg[role=img] >> nth=2")


def typed(page, name):
    return page.locator(LIVE).get_by_role("spinbutton", name=f"{name}, typed")


def box(page, name):
    return page.locator(LIVE).get_by_label(name, exact=True)


def order(page, text):
    box(page, "Order").fill(text)
    box(page, "Order").press("Enter")


def test_running_all_cells_leaves_what_the_last_cell_set(page):
    """A slider's page must not send an earlier value back late: the doses would change by themselves."""
    page.wait_for_timeout(1500)
    order_now = "regular insulin 8 units and NPH insulin 20 units subcut 30 minutes before breakfast"
    assert box(page, "Order").input_value() == order_now
    says(page, LIVE, "stands at 28 units", 0)


def test_an_order_typed_sets_marks_and_sliders(page):
    order(page, "NPH insulin 26 units and regular insulin 14 units")
    says(page, LIVE, "stands at 40 units", 0)
    assert "Stopper at 14 units" in page.locator(BARREL).inner_html()
    assert typed(page, "Clear insulin, units").input_value() == "14"
    assert box(page, "Cloudy insulin, units").get_attribute("aria-valuetext") == "26 units"


def test_a_slider_dragged_moves_the_picture_and_the_order(page):
    order(page, "regular insulin 8 units and NPH insulin 20 units")
    says(page, LIVE, "stands at 28 units", 0)
    before = page.locator(BARREL).inner_html()
    handle = box(page, "Clear insulin, units")
    at = handle.bounding_box()
    page.mouse.move(at["x"] + at["width"] / 2, at["y"] + at["height"] / 2)
    page.mouse.down()
    page.mouse.move(at["x"] + at["width"] / 2 + 25, at["y"] + at["height"] / 2, steps=5)
    page.mouse.up()
    page.wait_for_function("was => document.querySelector('.mixlab-live-dose svg').innerHTML !== was", arg=before)
    page.wait_for_timeout(500)
    units = float(handle.get_attribute("aria-valuenow"))
    assert units > 8
    assert f"regular insulin {units:g} units" in box(page, "Order").input_value()
    says(page, LIVE, f"stands at {units + 20:g} units", 0)


def test_a_half_unit_typed_stays_a_half_unit(page):
    order(page, "regular insulin 8.5 units and NPH insulin 20 units")
    says(page, LIVE, "stands at 28.5 units", 0)
    page.wait_for_timeout(1000)
    assert "8.5 units" in box(page, "Order").input_value()
    assert typed(page, "Clear insulin, units").input_value() == "8.5"


def test_the_decision_follows_the_keyboard(page):
    order(page, "regular insulin 8 units and NPH insulin 20 units subcut 30 minutes before breakfast")
    glucose = typed(page, "Glucose before the dose, mg/dL")
    type_in(glucose, "64")
    says(page, LIVE, "hold and treat", 2)
    type_in(glucose, "120")
    says(page, LIVE, "Decision: give.", 2)
    handle = box(page, "Glucose before the dose, mg/dL")
    handle.focus()
    page.keyboard.press("ArrowRight")
    says(page, LIVE, "121 mg/dL", 2)
    page.locator(LIVE).get_by_role("checkbox", name="sweating").press("Space")
    says(page, LIVE, "check first", 2)
    page.locator(LIVE).get_by_role("checkbox", name="sweating").press("Space")
    says(page, LIVE, "Decision: give.", 2)


def test_a_bad_order_is_said_and_escaped_and_the_picture_is_marked(page):
    order(page, "regular insulin 8U <img src=x onerror=window.harmed=1>")
    page.get_by_text("Not shown:").wait_for(timeout=10_000)
    assert page.get_by_text("Not updated: see the message above").first.is_visible()
    assert page.evaluate("window.harmed === undefined")
    assert page.locator(".jp-RenderedText[data-mime-type*=stderr]").count() == 0
    order(page, "regular insulin 8 units and NPH insulin 20 units")
    says(page, LIVE, "stands at 28 units", 0)
    page.get_by_text("Not shown:").wait_for(state="detached", timeout=10_000)


def test_d_pressed_twice_deletes_no_cell(page):
    count = "jupyterapp.shell.currentWidget.content.model.cells.length"
    cells = page.evaluate(count)
    page.get_by_role("button", name="not eating").focus()
    page.keyboard.press("d")
    page.keyboard.press("d")
    page.wait_for_timeout(300)
    assert page.evaluate(count) == cells


def test_the_panel_fits_a_small_laptop_without_scrolling(page):
    panel = page.locator(LIVE).first
    notebook = page.locator(".jp-WindowedPanel-outer").first
    assert panel.bounding_box()["height"] <= notebook.bounding_box()["height"]


def test_axe_finds_nothing_inside_the_outputs(page):
    assert not find_violations(page)
