"""The frame of a panel, without a browser: what it accepts. What it does to a page is tested in a page."""

import sys
import threading
import time

import pytest
from matplotlib.figure import Figure

from mixlab import plan_dose, read_order
from mixlab.figures.style import ROOM
from mixlab.figures.syringe.barrel import draw_barrel
from mixlab.screen.frame import CarriedNumber, CarriedSlider, CarriedText, PanelFrame
from mixlab.screen.picture import LivePicture


def make_picture(words):
    figure = Figure(figsize=(2, 1))
    text = figure.text(0.5, 0.5, words, gid="words")
    return LivePicture(figure, words), text


def keep_sent(widget):
    sent = []
    widget.send = lambda content, buffers=None: sent.append(content)
    return sent


def test_what_pages_ask_for_closely_is_shown_when_they_are_answered_and_only_the_latest(at_message, handled):
    at_message("comm_msg")
    frame, done = PanelFrame({}), []
    ask = [lambda dose=dose: done.append(dose) for dose in (8, 9, 11, 14)]
    assert handled(lambda: list(map(frame.soon, ask)), lambda: list(done)) == ([8], [8, 14])
    assert handled(lambda: frame.soon(ask[0]), lambda: list(done)) == ([8, 14], [8, 14, 8])


def test_what_a_page_asks_for_after_a_pause_is_shown_before_it_is_answered(at_message, handled, monkeypatch):
    at_message("comm_msg")
    frame, done = PanelFrame({}), []
    handled(lambda: frame.soon(lambda: done.append(8)))
    monkeypatch.setattr("mixlab.screen.frame._LONE", 0.001)
    time.sleep(0.01)
    assert handled(lambda: frame.soon(lambda: done.append(9)), lambda: list(done)) == ([8, 9], [8, 9])


def test_the_time_that_a_picture_takes_is_no_pause(at_message, handled, monkeypatch):
    at_message("comm_msg")
    monkeypatch.setattr("mixlab.screen.frame._LONE", 0.2)
    frame, done = PanelFrame({}), []

    def draw_slowly():
        time.sleep(0.25)
        done.append(8)

    moves = [draw_slowly, lambda: done.append(9)]
    assert handled(lambda: list(map(frame.soon, moves)), lambda: list(done)) == ([8], [8, 9])


@pytest.mark.parametrize("kind", ["execute_request", None])
def test_what_a_cell_asks_for_is_shown_at_once(at_message, handled, kind):
    at_message(kind)
    frame, done = PanelFrame({}), []
    ask = [lambda dose=dose: done.append(dose) for dose in (8, 9)]
    assert handled(lambda: list(map(frame.soon, ask)), lambda: list(done)) == ([8, 9], [8, 9])


def test_without_a_kernel_or_a_loop_it_is_shown_at_once(at_message):
    done = []
    PanelFrame({}).soon(lambda: done.append(8))
    at_message("comm_msg")
    PanelFrame({}).soon(lambda: done.append(9))
    assert done == [8, 9]


def test_a_cell_that_comes_before_the_answer_shows_the_latest_once(at_message, handled):
    frame, done = PanelFrame({}), []

    def ask():
        at_message("comm_msg")
        frame.soon(lambda: done.append(8))
        frame.soon(lambda: done.append(9))
        at_message("execute_request")
        frame.soon(lambda: done.append(11))

    assert handled(ask, lambda: list(done)) == ([8, 11], [8, 11])


@pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")
def test_what_fails_does_not_keep_the_next_from_being_shown(at_message, handled):
    at_message("comm_msg")
    frame, done = PanelFrame({}), []
    frame.soon(lambda: None)
    handled(lambda: frame.soon(lambda: done.remove(8)))
    assert handled(lambda: frame.soon(lambda: done.append(9)), lambda: list(done)) == ([], [9])


def plain_parts(picture):
    """The parts of a picture, without the salt in the ids of its clips and hatches."""
    found = dict(picture.now["parts"])
    for at, key in enumerate(picture.now["definitions"]):
        found = {name: part.replace(key, str(at)) for name, part in found.items()}
    return found


def test_a_page_and_a_cell_that_draw_one_picture_do_not_spoil_each_other_s_drawings():
    plans = [plan_dose(read_order(f"regular {clear} units and NPH 20 units subcut")) for clear in range(1, 13)]
    drawn = draw_barrel(plans[0], ROOM)
    picture = LivePicture(drawn.figure, "first")
    meant = {plan.clear_mark: plain_parts(LivePicture(draw_barrel(plan, ROOM).figure, "now")) for plan in plans}
    frames, failed = [PanelFrame({}), PanelFrame({})], []

    def show(frame, plan):
        frame.show({picture: (drawn.show(plan), str(plan.clear_mark))})
        if plain_parts(picture) != meant[plan.clear_mark]:
            failed.append(plan)

    def draw_all(frame, order):
        for plan in order * 6:
            frame.soon(lambda plan=plan: show(frame, plan))

    other = threading.Thread(target=draw_all, args=(frames[1], plans[::-1]))
    usual = sys.getswitchinterval()
    sys.setswitchinterval(1e-6)
    try:
        other.start()
        draw_all(frames[0], plans)
        other.join(60)
    finally:
        sys.setswitchinterval(usual)
    assert not failed


def test_names_and_readings_reach_the_page():
    frame = PanelFrame({"clear-units": "Clear dose"}, readings={"clear-units": "{} units"})
    state = frame.get_state()
    assert state["names"] == {"clear-units": "Clear dose"}
    assert state["readings"] == {"clear-units": "{} units"}
    assert "keydown" in state["_esm"]
    assert ":focus-visible" in state["_css"]


def test_a_step_of_several_pictures_is_one_message_of_those_that_moved():
    frame = PanelFrame({})
    (moved, words), (still, same) = make_picture("8 units"), make_picture("give")
    sent, alone = keep_sent(frame), keep_sent(moved)
    words.set_text("9 units")
    frame.show({moved: ([words], "9 units"), still: ([same], "give")}, aloud="9 units: give.")
    (message,) = sent
    assert message["aloud"] == "9 units: give."
    assert list(message["news"]) == [moved.model_id]
    assert message["news"][moved.model_id]["revision"] == moved.now["revision"] == 1
    assert list(message["news"][moved.model_id]["moved"]) == ["words"]
    assert alone == []


def test_a_page_that_begins_to_listen_late_gets_every_carried_picture_whole():
    frame = PanelFrame({})
    picture, words = make_picture("8 units")
    sent = keep_sent(picture)
    data = {"method": "custom", "content": {}}
    frame._handle_msg({"content": {"data": data}, "buffers": []})
    assert sent == []
    words.set_text("9 units")
    frame.show({picture: ([words], "9 units")})
    frame._handle_msg({"content": {"data": data}, "buffers": []})
    assert [one["now"]["alt"] for one in sent] == ["9 units"]


def keep_states(control):
    sent = []
    control.comm.send = lambda data, buffers=None: sent.append(data["state"])
    return sent


def test_what_carried_controls_change_travels_in_the_message_of_the_step():
    frame, text, number = PanelFrame({}), CarriedText(value="8 units"), CarriedNumber(value=8)
    picture, words = make_picture("8 units")
    sent = keep_sent(frame)
    alone = [keep_states(text), keep_states(number)]
    with frame.carrying([text, number]):
        text.value, number.value, number.value = "9 units", 7, 9
        words.set_text("9 units")
        frame.show({picture: ([words], "9 units")})
    (message,) = sent
    assert message["controls"] == {text.model_id: {"value": "9 units"}, number.model_id: {"value": 9.0}}
    assert alone == [[], []]
    number.value = 7
    assert alone == [[], [{"value": 7.0}]]


def test_a_page_that_begins_to_listen_late_gets_every_carried_control_whole():
    frame, number = PanelFrame({}), CarriedNumber(value=8)
    with frame.carrying([number]):
        number.value = 9
    alone = keep_states(number)
    frame._handle_msg({"content": {"data": {"method": "custom", "content": {}}}, "buffers": []})
    assert [one["value"] for one in alone] == [9.0]


def test_without_a_step_carried_controls_still_reach_the_page():
    frame, number = PanelFrame({}), CarriedNumber(value=8)
    sent = keep_sent(frame)
    with frame.carrying([number]):
        number.value = 9
    assert [one["controls"] for one in sent] == [{number.model_id: {"value": 9.0}}]


def test_what_a_control_changes_travels_in_the_order_in_which_it_changed():
    frame, slider = PanelFrame({}), CarriedSlider(min=0, max=0)
    sent = keep_sent(frame)
    with frame.carrying([slider]):
        slider.max = 5
        slider.value = 5
    with frame.carrying([slider]):
        slider.max = 4  # which moves the value first
    orders = [list(message["controls"][slider.model_id].items()) for message in sent]
    assert orders == [[("max", 5), ("value", 5)], [("value", 4), ("max", 4)]]


@pytest.mark.parametrize(
    ("names", "readings", "words"),
    [
        ({"clear units": "Clear dose"}, {}, "not a plain class name"),
        ({"clear": " "}, {}, "'clear' are blank"),
        ({"clear": "Clear dose"}, {"clear": ""}, "'clear' are blank"),
        ({"clear": "Clear dose"}, {"clear": ["1 unit", " "]}, "'clear' are blank"),
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
