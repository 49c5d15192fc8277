"""Every panel driven in the words on the screen, and put back as it stood: one law for all of them."""

from itertools import zip_longest

import ipywidgets as widgets
import pytest

from mixlab.adapting.site_desk import adapt_site
from mixlab.panels import bedside, draw_up, live_dose, order_check, treat_low, when_it_acts
from mixlab.panels.action.words import DAY
from mixlab.screen.panel import Panel
from mixlab.screen.picture import LivePicture
from mixlab.screen.setting import NotOnPanel
from mixlab.ward.site.in_force import example_sites

HILL = next(site for site in example_sites() if site.name == "the hill ward")
OTHER = "regular insulin 14 units and NPH insulin 26 units subcut 30 minutes before breakfast"
BAD = "regular insulin 14U and NPH insulin 26 units"

MAKE = {
    "dose": live_dose,
    "dose, refused": lambda: live_dose(BAD),
    "order": order_check,
    "decision": bedside,
    "decision, two wards": lambda: bedside(beside=HILL),
    "bench": draw_up,
    "bench, shown": lambda: draw_up(demonstration=True),
    "low": treat_low,
    "action": when_it_acts,
    "day": lambda: when_it_acts(shown=DAY),
}

MOVES = {
    "dose": [{"clear": 45}, {"glucose": 69, "signs": ["sweating"]}, {"meal": "not eating"}, {"order": BAD}, {"cloudy": 21}],
    "order": [{"example": "ten times"}, {"order": BAD}, {"usual": "eight of the usual"}],
    "decision": [
        {"glucose": 64}, {"signs": ["sweating"], "meal": "not eating"}, {"site": "the hill ward"}, {"beside": "the garden ward"},
        {"glucose": "ninety"}, {"says_give": True, "earlier": "one low, 2 h ago"},
    ],
    "bench": [{"mark": 8, "vial": "cloudy"}, ["take syringe", "pull air"], {"mark": 8.5}, ["what is really inside", "undo"], ["review"]],
    "bench, shown": [["next step"] * 4, {"run": "tip dipped in cloudy"}, ["next step"] * 3, {"look_back": 1}, ["review"], ["begin again"]],
    "low": [["15 g by mouth", "wait 15 min"], {"reading": 92, "signs": "none"}, ["measure", "food"], {"reading": "abc"}, ["measure"]],
    "action": [
        {"clear": 9},
        {"clear": 45}, {"guess": 8}, ["Show the sum"], {"fan": "day to day", "body_site": "thigh"}, {"shown": "the day at the bedside"},
        {"lunch_eaten": False, "given": "7:40"}, {"weight": -1}, {"shown": "clear: who says what"}, {"order": BAD},
    ],
}  # fmt: skip


def moves(name):
    kind = {"dose, refused": "dose", "decision, two wards": "decision", "day": "action"}.get(name, name)
    return MOVES[kind]


def do(panel, move):
    if isinstance(move, dict):
        panel.set(**move)
    else:
        for words in move:
            panel.press(words)


def plain(text, picture):
    for key in picture.now["definitions"]:
        text = text.replace(key, "clip or hatch")
    return text


def stands(panel: Panel):
    """Everything that a learner can see or hear of a panel, part by part, and what it holds."""
    shown = []
    for part in panel._parts():
        if isinstance(part, LivePicture):
            now = part.now
            drawn = {name: plain(one, part) for name, one in now["parts"].items()}
            if part.layout.display != "none":  # a hidden one is drawn when it is shown
                shown.append((part.alt, part.stale, plain(now["body"], part), drawn))
        else:
            traits = ("value", "options", "min", "max", "disabled", "description", "tooltip", "readings", "names")
            shown.append({name: getattr(part, name) for name in traits if part.has_trait(name)})
        shown.append((part.layout.display, part.layout.flex_flow))
    return panel.message, panel.state, shown


def differences(one, other):
    return [(left, right) for left, right in zip_longest(one[2], other[2]) if left != right]


@pytest.mark.parametrize("name", MAKE)
def test_what_was_tried_is_put_back_and_leaves_no_trace(name):
    panel, fresh = MAKE[name](), MAKE[name]()
    before = stands(panel)
    seen = []
    with panel.trying() as same:
        assert same is panel
        for move in moves(name):
            do(panel, move)
            seen.append(str(stands(panel)))
    assert len(set(seen) - {str(before)}) > 2 or len(seen) < 4  # there is something to put back
    assert seen[0] != str(before)
    assert (panel.message, panel.state) == before[:2]
    assert differences(before, stands(panel)) == []
    for move in moves(name):  # and whatever comes next comes as if nothing had been tried
        for one in (panel, fresh):
            do(one, move)
        assert differences(stands(fresh), stands(panel)) == []
        assert panel.message == fresh.message


@pytest.mark.parametrize("name", ["dose", "decision", "bench, shown", "low", "action"])
def test_from_any_place_it_is_put_back_to_that_place(name):
    panel = MAKE[name]()
    for at, move in enumerate(moves(name)):
        before = stands(panel)
        with panel.trying():
            for other in moves(name)[at:]:
                do(panel, other)
        assert differences(before, stands(panel)) == []
        assert (panel.message, panel.state) == before[:2]
        do(panel, move)


def do_and_fail(panel, move):
    with panel.trying():
        do(panel, move)
        raise ZeroDivisionError


@pytest.mark.parametrize("name", MAKE)
def test_what_fails_while_it_is_tried_is_put_back_too(name):
    panel = MAKE[name]()
    before = stands(panel)
    with pytest.raises(ZeroDivisionError):
        do_and_fail(panel, moves(name)[0])
    assert differences(before, stands(panel)) == []
    with pytest.raises(NotOnPanel), panel.trying(nowhere=1):
        raise AssertionError
    assert not panel.is_trying


@pytest.mark.parametrize("name", MAKE)
def test_every_control_can_be_set_to_what_it_says(name):
    panel = MAKE[name]()
    before = stands(panel)
    for key, control in panel.controls.items():
        value = [one for one, box in control.items() if box.value] if isinstance(control, dict) else control.value
        panel.set(**{key: value})
    assert differences(before, stands(panel)) == []
    assert panel.controls


@pytest.mark.parametrize("name", MAKE)
def test_every_control_has_a_name_of_its_own_on_the_page(name):
    panel = MAKE[name]()
    classes = {one for part in panel._parts() for one in getattr(part, "_dom_classes", ())}
    names = panel._frame.names
    assert names.keys() <= classes
    assert len(set(names.values())) == len(names)
    assert not any("_" in words for words in names.values())
    named = [part for part in panel._parts() if not names.keys().isdisjoint(getattr(part, "_dom_classes", ()))]
    alone = [part for part in panel._parts() if isinstance(part, ALONE) and part not in named]
    assert alone == []


ALONE = (
    widgets.Text,
    widgets.Textarea,
    widgets.Dropdown,
    widgets.IntSlider,
    widgets.SelectionSlider,
    widgets.FloatText,
)
"""Controls that say nothing of themselves to those who do not see what stands beside them."""


@pytest.mark.parametrize("name", MAKE)
def test_a_name_that_is_not_there_is_refused_with_the_nearest_and_nothing_is_moved(name):
    panel = MAKE[name]()
    before, (first, *_) = stands(panel), panel.controls
    with pytest.raises(NotOnPanel) as refusal:
        panel.set(**moves_first(panel), **{f"{first}x": 1})
    assert f"The nearest is “{first}”" in str(refusal.value)
    assert all(key in str(refusal.value) for key in panel.controls) or len(panel.controls) > 20
    assert differences(before, stands(panel)) == []
    with pytest.raises(NotOnPanel, match="does not have the button"):
        panel.press("give it to the neighbour")
    assert refusal.value._render_traceback_() == [str(refusal.value)]


def moves_first(panel):
    """A right value for the panel's first text or number, which is not to be taken beside a wrong name."""
    for key, control in panel.controls.items():
        if isinstance(control, widgets.Text | widgets.Textarea):
            return {key: "something else"}
    return {}


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"glucos": 69}, "The nearest is “glucose”"),
        ({"meal": "etaing"}, "The nearest is “eating”. Choose one of: eating; not eating; not known."),
        ({"meal": 1}, "does not have the choice “1”"),
        ({"signs": ["swaeting"]}, "The nearest is “sweating”"),
        ({"signs": 3}, "a list of words"),
        ({"glucose": "low"}, "Set “glucose” to a number."),
        ({"clear": True}, "Set “clear” to a number."),
        ({"order": None}, "a text in quotation marks"),
    ],
)
def test_a_place_that_a_control_does_not_have_is_refused(values, words):
    panel = live_dose()
    before = stands(panel)
    with pytest.raises(NotOnPanel, match=words.replace(".", r"\.")):
        panel.set(cloudy=24, **values)
    assert differences(before, stands(panel)) == []


def test_places_beyond_the_ends_and_ticks_that_are_none_are_refused():
    panel = when_it_acts()
    with pytest.raises(NotOnPanel, match=r"“need” goes from 0 to 1\.5\."):
        panel.set(need=9)
    with pytest.raises(NotOnPanel, match="Choose one from “no guess yet” to “24 h”"):
        panel.set(guess="whenever")
    with pytest.raises(NotOnPanel, match="True or to False"):
        panel.set(lunch_eaten="yes")
    panel.set(guess="8 h", fan="wide")
    assert (panel.state.guess_h, panel.state.fan) == (8.0, "wide")


def test_words_on_the_screen_and_keys_both_count_and_signs_are_set_as_a_whole():
    panel = live_dose()
    panel.set(glucose=69, signs=["sweating", "Trembling"])
    assert panel.state.signs == ("trembling", "sweating")
    panel.set(signs="pallor", meal=False)
    assert (panel.state.signs, panel.state.eating) == (("pallor",), False)
    panel.set(signs=[])
    assert panel.state.signs == ()


def test_a_ward_s_own_words_press_its_buttons_and_so_do_the_keys():
    panel = treat_low(site=HILL)
    words = panel.buttons["tell prescriber: “wait”"].description
    panel.press(words)
    panel.press("tell prescriber: “wait”")
    assert len(panel.events) == 2


def test_a_grayed_button_says_why_and_one_that_is_not_on_the_screen_is_not_there():
    panel = draw_up()
    with pytest.raises(NotOnPanel) as refusal:
        panel.press("give")
    assert panel.buttons["give"].tooltip in str(refusal.value)
    with pytest.raises(NotOnPanel, match="does not have the button “next step”"):
        panel.press("next step")
    assert len(panel.trace) == 0


def test_what_is_only_tried_is_not_saved(tmp_path):
    file = tmp_path / "run.json"
    panel = draw_up(file=file)
    panel.press("take syringe")
    kept = file.read_bytes()
    with panel.trying(mark=8):
        panel.press("pull air")
        assert len(panel.trace) == 2
    assert (file.read_bytes(), len(panel.trace)) == (kept, 1)
    panel.press("undo")
    assert file.read_bytes() != kept


def test_the_desk_is_driven_in_the_same_words(tmp_path):
    desk = adapt_site(tmp_path / "my_site.toml")
    with desk.trying(shown="give or hold"):
        assert len(desk.preview.children) == 1
    assert (desk.shown.value, desk.preview.children) == ("what changes", ())
    desk.press("Save and check")
    assert desk.file.exists()
