"""The live panel, driven from Python as a learner drives it from the page."""

import pytest

from mixlab import load_site
from mixlab.panels import live_dose
from mixlab.panels.display import picture_of


@pytest.fixture
def panel():
    return live_dose()


def test_a_typed_order_sets_the_sliders(panel):
    panel.order_text.value = "NPH insulin 26 units and soluble insulin 14 units"
    assert (panel.clear_units.value, panel.cloudy_units.value) == (14, 26)
    assert (panel.clear_box.value, panel.cloudy_box.value) == (14, 26)
    assert "stands at 40 units" in panel.barrel_picture.alt


def test_a_moved_slider_rewrites_the_order_and_keeps_the_rest_of_it(panel):
    panel.clear_units.value = 9
    assert panel.order_text.value == (
        "regular insulin 9 units and NPH insulin 20 units subcut 30 minutes before breakfast"
    )
    assert "stands at 9 units" in panel.barrel_picture.alt
    assert ">29<" not in panel.barrel_picture.svg()
    assert "Stopper at 29 units" in panel.barrel_picture.svg()


def test_a_half_unit_is_kept_although_the_slider_has_whole_steps(panel):
    panel.order_text.value = "regular insulin 8.5 units and NPH insulin 20 units"
    assert panel.clear_units.value == 8  # a value between two steps would come back from the page changed
    assert panel.clear_box.value == 8.5
    assert "8.5 units" in panel.order_text.value
    assert "stands at 28.5 units" in panel.barrel_picture.alt
    panel.glucose.value = 200
    assert "8.5 units" in panel.order_text.value


def shown(panel):
    words = panel.barrel_picture.alt.replace(", another one than before", "")
    return panel.order_text.value, panel.clear_box.value, words, panel.barrel_picture.stale


def another(panel):
    """Whether the picture and its words say that the syringe is another one; they say the same."""
    drawn = "Another syringe:" in panel.barrel_picture.svg()
    assert ("another one than before" in panel.barrel_picture.alt) == drawn
    return drawn


def test_the_picture_says_another_syringe_until_she_moves_on(panel):
    assert not another(panel)
    panel.set(clear=9)
    assert not another(panel)
    panel.set(clear=14, cloudy=26)
    assert another(panel)
    assert "Another syringe: 0.5 mL." in panel.barrel_picture.svg()
    panel.set(cloudy=27)  # the next dose of a slider that goes on moving
    assert another(panel)
    panel.set(glucose=150)
    assert not another(panel)
    assert "0.5 mL syringe." in panel.barrel_picture.svg()
    panel.set(cloudy=46)
    assert "Another syringe: 1 mL." in panel.barrel_picture.svg()
    panel.set(order="regular insulin 4.5 units and NPH insulin 14 units")
    assert "Another syringe: 0.3 mL." in panel.barrel_picture.svg()
    assert "One line is half a unit." in panel.barrel_picture.svg()


def test_what_is_only_tried_leaves_no_word_of_another_syringe(panel):
    with panel.trying(clear=14, cloudy=26):
        assert another(panel)
    assert not another(panel)
    panel.set(clear=14, cloudy=26)
    with panel.trying(clear=8, cloudy=20):
        assert another(panel)
    assert another(panel)
    assert "Another syringe: 0.5 mL." in panel.barrel_picture.svg()


def test_a_panel_begun_with_an_order_of_its_own_saw_no_other_syringe():
    panel = live_dose("regular insulin 14 units and NPH insulin 26 units")
    assert not another(panel)
    panel.set(clear=40)
    assert another(panel)


def test_another_syringe_is_said_aloud_once_when_it_changes(panel, monkeypatch):
    said = []
    monkeypatch.setattr(panel._frame, "show", lambda _, aloud: said.append(aloud))
    panel.set(cloudy=32)
    panel.set(cloudy=33)
    assert ["Another syringe: 0.5 mL. One line is 1 unit." in one for one in said] == [True, False]


def test_a_page_s_quick_steps_end_where_the_last_one_does(panel, at_message, handled):
    first = shown(panel)
    at_message("comm_msg")
    before, after = handled(
        lambda: [setattr(panel.clear_units, "value", units) for units in (9, 10, 12)], lambda: shown(panel)
    )
    assert before == shown(live_dose(first[0].replace("8 units", "9 units")))
    assert after == shown(live_dose(first[0].replace("8 units", "12 units")))


def test_a_dose_moved_just_after_an_order_was_typed_is_a_dose_of_that_order(panel, at_message, handled):
    at_message("comm_msg")

    def type_and_move():
        panel.order_text.value = "NPH insulin 26 units and soluble insulin 14 units"
        panel.clear_units.value = 15

    handled(type_and_move)
    assert shown(panel) == shown(live_dose("NPH insulin 26 units and regular insulin 15 units"))


@pytest.mark.parametrize("then", [None, 12])
def test_an_order_refused_just_after_a_move_stays_as_typed_and_the_picture_is_marked(panel, at_message, handled, then):
    typed = "regular insulin 9U and NPH insulin 20 units"
    at_message("comm_msg")

    def move_and_type():
        panel.clear_units.value = 9
        panel.order_text.value = typed
        if then is not None:
            panel.clear_units.value = then

    handled(move_and_type)
    text, _, _, stale = shown(panel)
    assert (text, stale) == (typed, True)
    assert panel.message
    panel.order_text.value = typed.replace("9U", "9 units")
    assert shown(panel) == shown(live_dose(typed.replace("9U", "9 units")))


IN_MMOL = """
name = "the practice ward"
glucose_unit = "mmol/L"
hold_line = {{ value = {hold}, unit = "mmol/L", comparison = "below" }}
level_2_line = {{ value = 3.0, unit = "mmol/L", comparison = "below" }}
report_line = {{ value = 16.7, unit = "mmol/L", comparison = "above" }}
"""


def test_in_tenths_the_slider_counts_places_and_is_read_out_in_mmol(tmp_path):
    file = tmp_path / "site.toml"
    file.write_text(IN_MMOL.format(hold=3.9))
    panel = live_dose(site=load_site(file))
    panel.glucose.value = 6.8
    assert panel.glucose_box.value == 6.8
    assert panel.state.glucose == 6.8
    assert panel._frame.readings["mixlab-glucose-slider"][panel.glucose.index] == "6.8 mmol/L"
    panel.glucose_box.value = 6.75  # finer than a meter shows: asked about, and the slider stands on a place of its own
    assert "finer than a meter shows" in panel.message
    assert panel.glucose.value in (6.7, 6.8)
    assert panel.glucose_box.value == 6.75


@pytest.mark.parametrize(
    ("order", "sentence"),
    [
        ("regular insulin 8U and NPH insulin 20 units", "not safe to act on"),
        ("insulin glargine 20 units and regular insulin 8 units", "never share a syringe"),
        ("regular insulin 8 units and insulin lispro 4 units", "both clear"),
        ("regular insulin 0 units and NPH insulin 20 units", "more than 0 units"),
        ("regular insulin 8.5 units and NPH insulin 30 units", "Never judge between lines"),
        ("regular insulin 50 units and NPH insulin 60 units", "more than the largest syringe"),
        ("", "No insulin is named"),
        ("<script>alert(1)</script>", "is not a dose"),
    ],
)
def test_a_bad_order_says_why_and_keeps_the_text_and_the_last_good_picture(panel, order, sentence):
    good = panel.barrel_picture.svg()
    panel.order_text.value = order
    assert sentence in panel.message
    assert panel.order_text.value == order
    assert panel.barrel_picture.svg() == good
    assert all(picture.stale for picture in (panel.barrel_picture, panel.curves_picture, panel.card_picture))
    panel.glucose.value = 150  # another control neither loses the text nor calls the old picture current
    assert panel.order_text.value == order
    assert panel.card_picture.stale
    panel.order_text.value = "regular insulin 14 units and NPH insulin 26 units"
    assert panel.message == ""
    assert not panel.barrel_picture.stale
    assert "150 mg/dL" in panel.card_picture.alt


def test_moving_a_dose_never_replaces_an_order_that_was_refused(panel):
    panel.order_text.value = "regular insulin 8 U and NPH insulin 30 units"
    panel.cloudy_units.value = 21
    assert panel.order_text.value == "regular insulin 8 U and NPH insulin 30 units"
    assert "Correct the typed order" in panel.message
    assert panel.barrel_picture.stale
    assert panel.cloudy_units.value == 20


@pytest.mark.parametrize("order", ["", "regular insulin 8 U and NPH insulin 20 units"])
def test_a_panel_begun_with_a_bad_order_says_so_without_a_traceback(order):
    panel = live_dose(order)
    assert panel.message
    assert panel.barrel_picture.stale
    assert panel.order_text.value == order


@pytest.mark.parametrize("units", [-5, float("nan"), float("inf")])
def test_an_impossible_dose_in_the_box_is_refused_and_the_order_kept(panel, units):
    panel.clear_box.value = units
    assert "cannot be drawn up" in panel.message
    assert "regular insulin 8 units" in panel.order_text.value
    panel.clear_units.value = 9
    assert panel.message == ""


def test_what_was_typed_is_shown_as_text(panel):
    panel.order_text.value = "<img src=x onerror=alert(1)> insulin"
    shown = "".join(child.value for child in panel.children if hasattr(child, "value"))
    assert "<img" not in shown
    assert "&lt;img" in shown


@pytest.mark.parametrize(("value", "words"), [(-5, "below zero"), (69.5, "finer than a meter shows")])
def test_a_glucose_that_cannot_be_is_refused_and_kept(panel, value, words):
    panel.glucose_box.value = value
    assert words in panel.message
    assert panel.card_picture.stale
    assert panel.glucose_box.value == value


def test_a_pair_without_a_model_shows_the_taught_times_only(panel):
    panel.order_text.value = "insulin lispro 8 units and NPH insulin 20 units"
    assert panel.message == ""
    assert "The model has no curve for this pair" in panel.curves_picture.alt


def test_signs_and_meal_change_the_decision(panel):
    panel.signs["sweating"].value = True
    assert "Decision: check first." in panel.card_picture.alt
    panel.signs["sweating"].value = False
    panel.meal.value = False
    assert "Decision: hold and ask." in panel.card_picture.alt
    panel.meal.value = None
    assert "Decision: check first." in panel.card_picture.alt


def test_a_site_sets_unit_and_line(tmp_path):
    file = tmp_path / "site.toml"
    file.write_text(IN_MMOL.format(hold=4.0))
    panel = live_dose(site=load_site(file))
    panel.glucose.value = 3.9
    assert "Decision: hold and treat." in panel.card_picture.alt
    assert "policy of the practice ward" in panel.card_picture.alt
    panel.glucose.value = 4.0
    assert "Decision: near low: ask, measure again." in panel.card_picture.alt
    panel.glucose.value = 5.0
    assert "Decision: give." in panel.card_picture.alt


def test_the_words_of_a_decision_say_that_it_is_for_teaching_only(panel):
    assert panel.card_picture.alt.endswith(
        "Teaching only. Prescriber's order, local policy and licensed practice come first."
    )
    shown = picture_of(panel._view.decision)
    assert (shown.alt, shown.caption) == (panel.card_picture.alt, True)  # the steps that the card has no room for


def on_the_syringe(panel):
    (sign,) = panel._barrel.figure.findobj(lambda one: one.get_gid() == "not-now")
    return sign.get_text()


def test_while_the_dose_is_held_the_syringe_is_dimmed_and_that_is_drawn_told_and_said_aloud(panel):
    sent = []
    panel._frame.send = lambda content, buffers=None: sent.append(content)
    assert (on_the_syringe(panel), panel.decision.held) == ("", False)
    assert "do not draw up" not in panel.barrel_picture.alt.casefold()
    before = False
    for glucose, waits in {62: True, 75: True, 119: False, 320: False, 50: True, 120: False}.items():
        panel.glucose.value = glucose
        assert panel.decision.held == waits, glucose
        assert (on_the_syringe(panel) == "do not draw up now") == waits
        assert panel.barrel_picture.alt.startswith("Do not draw up now. If the order stands later") == waits
        assert sent[-1]["aloud"].endswith(" Do not draw up now.") == waits
        assert (panel.barrel_picture.model_id in sent[-1]["news"]) == (waits != before)  # nothing is sent twice
        before = waits
    panel.signs["drowsiness"].value = True
    assert on_the_syringe(panel) == "do not draw up now"


def test_a_panel_begun_with_an_order_that_is_held_begins_dimmed():
    panel = live_dose("regular insulin 8 units and NPH insulin 20 units")
    assert panel.decision.choice == "hold and ask"
    assert on_the_syringe(panel) == "do not draw up now"
    assert panel.barrel_picture.alt.startswith("Do not draw up now.")
