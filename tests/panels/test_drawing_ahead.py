"""What panels draw ahead while nobody moves anything: the same pictures, only sooner."""

import asyncio
from itertools import pairwise

import pytest

from mixlab.panels import frame as frame_module
from mixlab.panels import live_dose, when_it_acts
from mixlab.panels.frame import PanelFrame
from mixlab.panels.order_controls import OrderControls
from mixlab.panels.pencil import Pencil
from mixlab.panels.when_words import CLEAR, CURVES, DAY
from mixlab.ward.site import example_sites

NO_MODEL = "insulin aspart 6 units and NPH insulin 14 units subcut before breakfast"
NOT_MIXED = "regular insulin 6 units and insulin glargine 14 units subcut"


@pytest.fixture(autouse=True)
def quick(monkeypatch):
    monkeypatch.setattr(frame_module, "_IDLE", 0.02)
    monkeypatch.setattr(frame_module, "_BREATH", 0.001)
    monkeypatch.setattr(PanelFrame, "_moved", 0.0)


def open_page(frame):
    frame._handle_msg({"content": {"data": {"method": "custom", "content": {}}}, "buffers": []})


def do(*parts):
    """Do things one after the other, with pauses in s between them."""

    async def run():
        for part in parts:
            await asyncio.sleep(part) if isinstance(part, float) else part()

    asyncio.run(run())


def test_works_are_done_one_at_a_time_once_a_page_opens(at_message):
    at_message("comm_msg")
    done = []
    frame = PanelFrame({}, ahead=lambda: (lambda at=at: done.append(at) for at in range(3)))
    do(lambda: open_page(frame), lambda: done.append("opened"), 0.01, lambda: done.append("early"), 0.1)
    assert done == ["opened", "early", 0, 1, 2]


def test_a_move_begins_anew_from_where_the_panel_stands_by_then(at_message):
    at_message("comm_msg")
    done = []

    def ahead():
        start = len(done)
        for step in range(100):
            yield lambda step=step: done.append((start, step))

    frame = PanelFrame({}, ahead=ahead)
    do(lambda: open_page(frame), 0.05, lambda: frame.soon(lambda: done.append("moved")), 0.05)
    at = done.index("moved")
    assert 0 < at < 100
    assert done[:at] == [(0, step) for step in range(at)]
    assert done[at + 1 :] == [(at + 1, step) for step in range(len(done) - at - 1)] != []


def test_a_panel_that_is_moved_goes_before_what_others_draw_ahead(at_message):
    at_message("comm_msg")
    done, moved = [], []
    resting = PanelFrame({}, ahead=lambda: (lambda: done.append(1) for _ in range(1000)))
    busy = PanelFrame({})

    def move():
        moved.append(len(done))
        busy.soon(lambda: None)

    do(lambda: open_page(resting), 0.04, *[move, 0.005] * 10, lambda: moved.append(len(done)), 0.1)
    assert moved[0] > 0
    assert moved[1] <= moved[0] + 5  # the first move may come while the next work has begun already
    assert moved[-1] == moved[1] < len(done)


def test_without_a_page_nothing_is_drawn_ahead(at_message):
    at_message("execute_request")
    done = []
    frame = PanelFrame({}, ahead=lambda: (lambda: done.append(1) for _ in range(3)))
    do(lambda: frame.soon(lambda: None), 0.1)
    assert done == []


def test_the_doses_drawn_ahead_lie_about_those_of_the_order_and_lead_back_to_them():
    controls = OrderControls(lambda _: None, lambda _: None)
    controls.settle("", doses=True)
    near = {look: [units for one, units in controls.nearby() if one == look] for look in ("clear", "cloudy")}
    assert set(near["clear"]) == set(range(1, 29))  # of 8 units, on a slider from 0 to 60: 0 is no dose
    assert set(near["cloudy"]) == set(range(1, 41))
    for now, doses in ((8, near["clear"]), (20, near["cloudy"])):
        assert doses[0] == doses[-1] == now
        assert {abs(one - other) for one, other in pairwise(doses)} == {1}
    assert controls.moved("cloudy", 21) == str(controls.order).replace("20", "21")


def when(shown=CURVES):
    panel = when_it_acts(shown=shown)
    panel.fan.value, panel.guess.value = "day to day", 8.0
    panel.show_sum.click()
    return panel


PANELS = {
    "live": live_dose,
    "live, no model": lambda: live_dose(NO_MODEL),
    "live, mmol/L": lambda: live_dose(site=example_sites()[3]),
    "the curves": when,
    "a handbook": lambda: when(CLEAR),
    "the day": lambda: when(DAY),
}


@pytest.mark.parametrize("make", PANELS.values(), ids=PANELS)
def test_what_was_drawn_ahead_is_not_drawn_again_and_looks_as_if_it_were(make, monkeypatch):
    panel, plain = make(), make()
    pictures, plain_pictures = looks(panel), looks(plain)
    before = [picture.svg() for picture in pictures]
    for work in panel._ahead():
        work()
    assert [picture.svg() for picture in pictures] == before
    drawn = []
    draw = Pencil.draw
    monkeypatch.setattr(Pencil, "draw", lambda pencil, artist: (drawn.append(artist), draw(pencil, artist))[1])

    def move(one, units):
        drawn.clear()
        one.clear_units.value = units
        return len(drawn)

    now = panel.clear_units.value
    up = [(move(panel, units), move(plain, units)) for units in range(now + 1, now + 8)]
    down = []
    for units in range(now + 6, now - 4, -1):
        down.append((move(panel, units), move(plain, units)))
        assert [picture.alt for picture in pictures] == [picture.alt for picture in plain_pictures]
        assert list(map(parts, pictures)) == list(map(parts, plain_pictures))
    assert min(usual for _, usual in up) > 0
    assert sum(ahead for ahead, _ in up) == 0
    # On the way back a scale that steps down late may be one that was not met ahead: a few parts follow it.
    assert sum(ahead for ahead, _ in down) <= 0.4 * sum(usual for _, usual in up + down)


def looks(panel):
    pictures = getattr(panel, "pictures", None)
    if pictures is None:
        return [panel.barrel_picture, panel.curves_picture, panel.card_picture]
    return [pictures[panel.state.shown]]


def parts(picture):
    """The parts of a picture, without the salt in the ids of its clips and hatches."""
    ids = {key: str(at) for at, key in enumerate(picture.now["definitions"])}
    found = dict(picture.now["parts"])
    for key, plain in ids.items():
        found = {name: part.replace(key, plain) for name, part in found.items()}
    return found


def test_a_refused_order_draws_ahead_from_the_last_that_was_not(monkeypatch):
    panel = live_dose()
    panel.order_text.value = NOT_MIXED
    assert panel.message
    before = panel.barrel_picture.svg()
    for work in panel._ahead():
        work()
    assert panel.barrel_picture.svg() == before
    assert panel.message
