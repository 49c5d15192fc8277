"""The main job in a real lab and a real browser: type an order, move a slider, see picture, marks and decision."""

import pytest
from lab import find_violations, open_notebook, run_all

pytestmark = pytest.mark.browser

PICTURES = ".mixlab-live-dose svg[role=img]"


@pytest.fixture(scope="module")
def page(lab, laptop):
    open_notebook(laptop, lab, "00_start_here.ipynb")
    run_all(laptop)
    laptop.locator(PICTURES).nth(2).wait_for(timeout=60_000)
    return laptop


def picture(page, number):
    return page.locator(PICTURES).nth(number)


def says(page, number, words):
    page.wait_for_function(
        "([at, number, words]) => document.querySelectorAll(at)[number]?.getAttribute('aria-label').includes(words)",
        arg=[PICTURES, number, words],
        timeout=10_000,
    )


def typed(page, name):
    return page.locator(".mixlab-live-dose").get_by_role("spinbutton", name=f"{name}, typed")


def box(page, name):
    return page.locator(".mixlab-live-dose").get_by_label(name, exact=True)


def order(page, text):
    box(page, "Order").fill(text)
    box(page, "Order").press("Enter")


def test_running_all_cells_leaves_what_the_last_cell_set(page):
    """A slider's page must not send an earlier value back late: the doses would change by themselves."""
    page.wait_for_timeout(1500)
    order_now = "regular insulin 8 units and NPH insulin 20 units subcut 30 minutes before breakfast"
    assert box(page, "Order").input_value() == order_now
    says(page, 0, "stands at 28 units")


def test_an_order_typed_sets_marks_and_sliders(page):
    order(page, "NPH insulin 26 units and regular insulin 14 units")
    says(page, 0, "stands at 40 units")
    assert "Stopper at 14 units" in picture(page, 0).inner_html()
    assert typed(page, "Clear insulin, units").input_value() == "14"
    assert box(page, "Cloudy insulin, units").get_attribute("aria-valuetext") == "26 units"


def test_a_slider_dragged_moves_the_picture_and_the_order(page):
    order(page, "regular insulin 8 units and NPH insulin 20 units")
    says(page, 0, "stands at 28 units")
    before = picture(page, 0).inner_html()
    handle = box(page, "Clear insulin, units")
    at = handle.bounding_box()
    page.mouse.move(at["x"] + at["width"] / 2, at["y"] + at["height"] / 2)
    page.mouse.down()
    page.mouse.move(at["x"] + at["width"] / 2 + 25, at["y"] + at["height"] / 2, steps=5)
    page.mouse.up()
    page.wait_for_function("([at, was]) => document.querySelector(at).innerHTML !== was", arg=[PICTURES, before])
    page.wait_for_timeout(500)
    units = float(handle.get_attribute("aria-valuenow"))
    assert units > 8
    assert f"regular insulin {units:g} units" in box(page, "Order").input_value()
    says(page, 0, f"stands at {units + 20:g} units")


def test_a_half_unit_typed_stays_a_half_unit(page):
    order(page, "regular insulin 8.5 units and NPH insulin 20 units")
    says(page, 0, "stands at 28.5 units")
    page.wait_for_timeout(1000)
    assert "8.5 units" in box(page, "Order").input_value()
    assert typed(page, "Clear insulin, units").input_value() == "8.5"


def test_the_decision_follows_the_keyboard(page):
    order(page, "regular insulin 8 units and NPH insulin 20 units")
    glucose = typed(page, "Glucose before the dose, mg/dL")
    glucose.fill("64")
    glucose.press("Tab")
    says(page, 2, "hold and treat")
    glucose.fill("120")
    glucose.press("Tab")
    says(page, 2, "Decision: give.")
    handle = box(page, "Glucose before the dose, mg/dL")
    handle.focus()
    page.keyboard.press("ArrowRight")
    says(page, 2, "121 mg/dL")
    page.locator(".mixlab-live-dose").get_by_role("checkbox", name="sweating").press("Space")
    says(page, 2, "check first")
    page.locator(".mixlab-live-dose").get_by_role("checkbox", name="sweating").press("Space")
    says(page, 2, "Decision: give.")


def test_a_bad_order_is_said_and_escaped_and_the_picture_is_marked(page):
    order(page, "regular insulin 8U <img src=x onerror=window.harmed=1>")
    page.get_by_text("Not shown:").wait_for(timeout=10_000)
    assert page.get_by_text("Not updated: see the message above").first.is_visible()
    assert page.evaluate("window.harmed === undefined")
    assert page.locator(".jp-RenderedText[data-mime-type*=stderr]").count() == 0
    order(page, "regular insulin 8 units and NPH insulin 20 units")
    says(page, 0, "stands at 28 units")
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
    panel = page.locator(".mixlab-live-dose").first
    notebook = page.locator(".jp-WindowedPanel-outer").first
    assert panel.bounding_box()["height"] <= notebook.bounding_box()["height"]


def test_axe_finds_nothing_inside_the_outputs(page):
    assert not find_violations(page)
