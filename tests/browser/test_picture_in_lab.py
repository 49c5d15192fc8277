"""The live picture and the frame of a panel in a real lab: keys, names, what is said aloud, and pages opened later."""

import pytest
from lab import CELLS, SHOWN, find_violations, open_notebook, run_all
from playwright.sync_api import Page, expect

COUNT = "jupyterapp.shell.currentWidget.content.model.cells.length"

# A control of every kind, each of which moves the words in one picture.
PANEL = """
import ipywidgets as widgets
from matplotlib.figure import Figure
from mixlab.screen.frame import PanelFrame
from mixlab.screen.picture import LivePicture

figure = Figure(figsize=(6, 1.5))
words = figure.text(0.1, 0.5, "8", gid="words", parse_math=False)
picture = LivePicture(figure, "says 8")
controls = {
    "dose": widgets.IntSlider(value=8, max=40),
    "span": widgets.IntRangeSlider(value=(2, 4), max=24),
    "meal": widgets.RadioButtons(options=["eating", "not eating", "not known"]),
    "class": widgets.Dropdown(options=["rapid", "regular", "long"]),
    "order": widgets.Text(),
    "weight": widgets.BoundedFloatText(value=70, min=1, max=200),
    "moment": widgets.ToggleButtons(options=["first", "second"]),
    "again": widgets.Button(description="again"),
}
signs = widgets.VBox([widgets.Checkbox(description=sign, indent=False) for sign in ("sweating", "shaking")])
frame = PanelFrame(
    {f"the-{name}": f"The {name}" for name in [*controls, "signs"]}, readings={"the-dose": "{} units"}
)

def follow(change):
    words.set_text(str(change.new))
    frame.show({picture: ([words], f"says {change.new}")}, aloud=f"now {change.new}")

for name, control in controls.items():
    control.add_class(f"the-{name}")
    if name != "again":
        control.observe(follow, "value")
signs.add_class("the-signs")
widgets.VBox([frame, *controls.values(), signs, picture])
"""


@pytest.fixture(scope="module")
def page(lab, write_notebook, laptop):
    laptop.set_viewport_size({"width": 1366, "height": 1600})
    open_notebook(laptop, lab, write_notebook("panel.ipynb", PANEL, "picture", "import time; time.time()"))
    run_all(laptop)
    expect(laptop.locator("svg[role=img]")).to_have_count(2)
    return laptop


@pytest.fixture
def panel(page):
    return page.locator(".jp-OutputArea-output", has=page.locator(".the-dose"))


def focused(page: Page) -> str:
    return page.evaluate("document.activeElement.getAttribute('aria-label')")


def test_a_key_moves_both_views_and_their_names(page, panel):
    handle = panel.get_by_role("slider", name="The dose")
    handle.focus()
    for _ in range(3):
        page.keyboard.press("ArrowRight")
    expect(page.get_by_role("img", name="says 11")).to_have_count(2)
    assert [node.text_content() for node in page.locator("svg #words").all()] == ["11", "11"]
    assert handle.get_attribute("aria-valuetext") == "11 units"


def test_every_control_has_a_name_and_axe_finds_nothing(page, panel):
    for role, name in {
        "slider": "The span, from",
        "radiogroup": "The meal",
        "combobox": "The class",
        "spinbutton": "The weight",
        "button": "The again",
    }.items():
        expect(panel.get_by_role(role, name=name, exact=True)).to_have_count(1)
    for name in ("The moment", "The signs"):
        expect(panel.get_by_role("group", name=name, exact=True)).to_have_count(1)
    for name in ("The order", "The dose, typed"):
        expect(panel.get_by_role("textbox", name=name, exact=True)).to_have_count(1)
    assert not find_violations(page)


def test_plain_keys_stay_in_the_panel(page, panel):
    cells = page.evaluate(COUNT)
    panel.get_by_role("button", name="The again").focus()
    for key in ("d", "d", "x", "a", "Shift+M", "ArrowDown", "Delete"):
        page.keyboard.press(key)
    page.wait_for_timeout(300)
    assert page.evaluate(COUNT) == cells
    assert focused(page) == "The again"


def test_arrows_move_radio_buttons_and_lists(page, panel):
    panel.get_by_role("radio").first.focus()
    page.keyboard.press("ArrowDown")
    expect(page.get_by_role("img", name="says not eating")).to_have_count(2)
    panel.get_by_role("combobox", name="The class").focus()
    page.keyboard.press("ArrowDown")
    expect(page.get_by_role("img", name="says regular")).to_have_count(2)


def test_tab_moves_on_and_enter_space_and_letters_do_their_work(page, panel):
    panel.get_by_role("combobox", name="The class").focus()
    page.keyboard.press("Tab")
    assert focused(page) == "The order"
    page.keyboard.type("add 8 units")
    page.keyboard.press("Enter")
    expect(page.get_by_role("img", name="says add 8 units")).to_have_count(2)
    page.keyboard.press("Shift+Tab")
    assert focused(page) == "The class"
    panel.get_by_role("checkbox", name="shaking").focus()
    page.keyboard.press("Space")
    expect(panel.get_by_role("checkbox", name="shaking")).to_be_checked()


def test_the_control_in_focus_is_ringed(page, panel):
    roles = {
        "The again": "button",
        "The dose": "slider",
        "The order": "textbox",
        "The weight": "spinbutton",
        "The class": "combobox",
    }
    for name, role in roles.items():
        control = panel.get_by_role(role, name=name, exact=True)
        control.focus()
        page.keyboard.press("Shift")  # the page now knows that keys are in use
        ring = control.evaluate("node => getComputedStyle(node).outline")
        assert ring == "rgb(26, 26, 26) solid 3px"
        inside = control.evaluate("node => parseFloat(getComputedStyle(node).outlineOffset) < 0")
        assert inside is (role in ("textbox", "spinbutton", "combobox"))  # what they stand in cuts off what is outside


def test_quick_changes_are_said_once(page, panel):
    page.evaluate("""() => {
      window.said = [];
      const voice = document.querySelector(".mixlab-frame [role=status]");
      new MutationObserver(() => said.push(voice.textContent)).observe(voice, { childList: true });
    }""")
    panel.get_by_role("slider", name="The dose").focus()
    for _ in range(5):
        page.keyboard.press("ArrowRight")
        page.wait_for_timeout(60)
    page.wait_for_function("said.length > 0")
    page.wait_for_timeout(900)
    assert page.evaluate("said") == ["now 16"]


def test_shift_enter_still_runs_the_cell_and_escape_still_leads_out(page, panel):
    before = page.evaluate(CELLS)[0][1]
    panel.get_by_role("button", name="The again").focus()
    page.keyboard.press("Escape")
    expect(page.locator(f"{SHOWN} .jp-Notebook.jp-mod-commandMode")).to_have_count(1)
    panel.get_by_role("button", name="The again").focus()
    page.keyboard.press("Shift+Enter")
    page.wait_for_function(f"before => ({CELLS})()[0][1] > before", arg=before)
    expect(page.get_by_role("img", name="says 8")).to_have_count(
        1
    )  # the panel is new, the other view is of the old one


def test_a_page_opened_later_shows_the_present(page, panel, wait_saved):
    run_all(page)
    handle = panel.get_by_role("slider", name="The dose")
    handle.focus()
    page.keyboard.press("ArrowRight")
    expect(page.get_by_role("img", name="says 9")).to_have_count(2)
    wait_saved()
    page.reload()
    expect(page.get_by_role("img", name="says 9")).to_have_count(2, timeout=60_000)
    expect(handle).to_have_attribute("aria-valuetext", "9 units")
    handle.focus()
    page.keyboard.press("ArrowRight")
    expect(page.get_by_role("img", name="says 10")).to_have_count(2)


@pytest.fixture
def wait_saved(page):
    def save() -> None:
        page.keyboard.press("Control+s")  # with Ctrl a key reaches the lab from inside the panel as well
        page.wait_for_function("!jupyterapp.shell.currentWidget.context.model.dirty")

    return save
