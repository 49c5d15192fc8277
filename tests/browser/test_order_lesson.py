"""Reading an order, in a real lab and a real browser: what is typed is marked, listed, and shown as typed."""

import pytest
from lab import find_violations, open_lesson


@pytest.fixture(scope="module")
def page(lab, laptop):
    return open_lesson(laptop, lab, "20_read_the_order.ipynb", ".mixlab-order-marked")


def test_an_order_typed_is_marked_and_listed_as_typed(page):
    panel = page.locator(".mixlab-order-check").first
    panel.scroll_into_view_if_needed()
    panel.get_by_label("Choose an order", exact=True).select_option("in a hurry")
    panel.locator(".mixlab-order-marked u", has_text="8U").wait_for(timeout=30_000)
    panel.locator(".mixlab-order-verdict", has_text="Not to be acted on.").wait_for(timeout=30_000)
    text = panel.get_by_label("The order as written", exact=True)
    text.fill("regular insulin 8 units and NPH insulin 20 units <img src=x onerror=window.harmed=1>")
    panel.locator(".mixlab-order-marked", has_text="<img").wait_for(timeout=30_000)
    assert page.evaluate("window.harmed === undefined")
    text.fill("regular insulin 9 units and NPH insulin 20 units subcut before breakfast")
    panel.locator(".mixlab-order-verdict", has_text="It reads as: regular insulin 9 units").wait_for(timeout=30_000)
    assert text.input_value().startswith("regular insulin 9 units")
    assert panel.locator(".mixlab-order-marked u").count() == 0


def test_axe_finds_nothing_inside_the_desk_outputs(page):
    assert not find_violations(page)
