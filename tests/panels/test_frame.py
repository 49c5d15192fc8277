"""The frame of a panel, without a browser: what it accepts. What it does to a page is tested in a page."""

import pytest

from mixlab.panels.frame import PanelFrame


def test_names_readings_and_words_reach_the_page():
    frame = PanelFrame({"clear-units": "Clear dose"}, readings={"clear-units": "{} units"})
    frame.announce = "8 units of regular insulin"
    state = frame.get_state()
    assert state["names"] == {"clear-units": "Clear dose"}
    assert state["readings"] == {"clear-units": "{} units"}
    assert state["announce"] == "8 units of regular insulin"
    assert "keydown" in state["_esm"]
    assert ":focus-visible" in state["_css"]


@pytest.mark.parametrize(
    ("names", "readings", "words"),
    [
        ({"clear units": "Clear dose"}, {}, "not a plain class name"),
        ({"clear": " "}, {}, "'clear' are blank"),
        ({"clear": "Clear dose"}, {"clear": ""}, "'clear' are blank"),
    ],
)
def test_a_name_that_cannot_work_is_refused(names, readings, words):
    with pytest.raises(ValueError, match=words):
        PanelFrame(names, readings)


def test_a_refused_name_leaves_the_old_ones():
    frame = PanelFrame({"clear": "Clear dose"})
    with pytest.raises(ValueError, match="blank"):
        frame.names = {"clear": ""}
    assert frame.names == {"clear": "Clear dose"}
