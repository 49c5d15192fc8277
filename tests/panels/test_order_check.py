"""The order check, typed into from Python."""

import re
from html import unescape

import pytest

from mixlab import load_site
from mixlab.panels import order_check
from mixlab.panels.order import FAULTY


@pytest.fixture
def panel():
    return order_check()


def marked_in(panel):
    """The order as the panel marks it."""
    return re.search(r'<p class="mixlab-order-marked">(.*?)</p>', panel.answer.value)[1]


def plain(html):
    return unescape(re.sub(r"<sup>.*?</sup>|</?u>", "", html).replace("<br>", "\n"))


def test_a_well_written_order_is_read_and_nothing_is_marked(panel):
    assert panel.concerns == ()
    assert "It reads as: regular insulin 8 units and NPH insulin 20 units" in panel.answer.value
    assert "<u>" not in panel.answer.value


@pytest.mark.parametrize("name", FAULTY)
def test_every_faulty_example_has_a_concern_and_every_place_is_marked(panel, name):
    panel.example.value = name
    text = FAULTY[name]
    assert panel.order_text.value == text
    assert panel.concerns
    marked = marked_in(panel)
    assert plain(marked) == text
    numbers = [int(one) for group in re.findall(r"\[([\d,]+)\]", marked) for one in group.split(",")]
    assert sorted(numbers) == [at for at, concern in enumerate(panel.concerns, 1) if concern.place]
    assert panel.answer.value.count("<li>") == len(panel.concerns)


def test_places_that_overlap_are_both_marked(panel):
    panel.order_text.value = "regular insulin 8.0U and\nNPH insulin 20 units subcut before breakfast"
    assert plain(marked_in(panel)) == panel.order_text.value
    assert len([concern for concern in panel.concerns if concern.place]) >= 2
    assert "Not to be acted on." in panel.answer.value


def test_the_number_of_a_concern_follows_its_words(panel):
    panel.order_text.value = "  regular insulin 8U and NPH insulin 20 units subcut before breakfast"
    (concern,) = panel.concerns
    assert panel.order_text.value[slice(*concern.place)] == concern.text == "8U"
    assert "<u>8U</u><sup><b>[1]</b></sup>" in panel.answer.value


def test_a_long_place_ends_with_its_number(panel):
    panel.order_text.value = "regular insulin 88 units and NPH insulin 20 units subcut before breakfast"
    assert (
        "<u>88 units</u><sup><b>[1]</b></sup><u> and NPH insulin 20 units</u><sup><b>[2]</b></sup>"
        in panel.answer.value
    )


def test_an_order_that_can_be_read_but_not_acted_on_yet_says_both(panel):
    panel.example.value = "ten times"
    assert "It reads as: regular insulin 80 units" in panel.answer.value
    assert "Do not act on it yet" in panel.answer.value


def test_it_knows_the_syringes_of_the_site(tmp_path):
    file = tmp_path / "site.toml"
    file.write_text('name = "the practice ward"\nstock = ["0.3-one"]\n')
    order = "regular insulin 14 units and NPH insulin 26 units subcut 30 minutes before breakfast"
    assert order_check(order, usual="").concerns == ()
    (concern,) = order_check(order, usual="", site=load_site(file)).concerns
    assert "30 units" in str(concern)


def test_typed_markup_is_shown_as_typed(panel):
    panel.order_text.value = "<script>alert(1)</script> & regular"
    assert "<script>" not in panel.answer.value
    assert "&lt;script&gt;" in panel.answer.value


def test_the_usual_order_is_compared_with_and_may_be_left_out(panel):
    panel.example.value = "changed places"
    assert panel.concerns
    panel.usual.value = ""
    assert panel.concerns == ()
    panel.usual.value = "eight of the usual"
    assert "The usual order cannot be compared with." in panel.answer.value
    assert panel.usual.value == "eight of the usual"


def test_an_order_of_one_s_own_leaves_the_examples(panel):
    panel.example.value = "in a hurry"
    panel.order_text.value += " before breakfast"
    assert panel.example.value == "your own"
    assert panel.order_text.value.endswith("QD before breakfast")


def test_what_is_only_said_is_neither_hidden_nor_held(panel):
    panel.usual.value = ""
    panel.order_text.value = "regular insulin 8 units and NPH insulin 60 units subcut AC breakfast"
    assert [concern.key for concern in panel.concerns] == ["large-dose", "short-time"]
    assert "Nothing below keeps it back" in panel.answer.value
    assert "not how this ward writes" in panel.answer.value
    assert "Nothing unsafe was found" not in panel.answer.value
    panel.order_text.value = "regular insulin 8U and NPH insulin 20 units subcut before breakfast"
    assert "must not be written so" in panel.answer.value
