"""What panels draw ahead while nobody moves anything: the same pictures, only sooner."""

import asyncio
import sys
import threading
from dataclasses import replace
from itertools import pairwise
from random import Random

import numpy as np
import pytest

from mixlab import plan_dose, read_order
from mixlab.figures.style import ROOM
from mixlab.figures.syringe.barrel import draw_barrel
from mixlab.panels import action_words as when_words
from mixlab.panels import live_dose, when_it_acts
from mixlab.panels.action_words import CLEAR, CURVES, DAY
from mixlab.panels.order_controls import OrderControls
from mixlab.screen import frame as frame_module
from mixlab.screen.frame import PanelFrame
from mixlab.screen.picture import DRAWING, LivePicture
from mixlab.screen.svg_renderer import Pencil
from mixlab.ward.site.in_force import example_sites

NO_MODEL = "insulin aspart 6 units and NPH insulin 14 units subcut before breakfast"
NOT_MIXED = "regular insulin 6 units and insulin glargine 14 units subcut"


@pytest.fixture(autouse=True)
def soon_idle(monkeypatch):
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
    do(lambda: open_page(frame), lambda: done.append("opened"), 0.2)
    assert done == ["opened", 0, 1, 2]


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


def test_while_one_panel_is_moved_no_other_draws_ahead(at_message, monkeypatch):
    at_message("comm_msg")
    now = 10.0
    monkeypatch.setattr(frame_module, "monotonic", lambda: now)
    done, counts = [], []
    resting = PanelFrame({}, ahead=lambda: (lambda: done.append(1) for _ in range(10_000)))
    busy = PanelFrame({})

    def move():
        counts.append(len(done))
        busy.soon(lambda: None)

    def pass_time():
        nonlocal now
        counts.append(len(done))
        now += 1

    do(lambda: open_page(resting), 0.1, move, 0.1, pass_time, 0.1)
    before, after = counts
    assert 0 < before == after < len(done)


def test_a_closed_panel_stops_drawing_ahead(at_message):
    at_message("comm_msg")
    done = []
    frame = PanelFrame({}, ahead=lambda: (lambda: done.append(1) for _ in range(10_000)))
    do(lambda: open_page(frame), 0.1, lambda: (frame.close(), done.append("closed")), 0.1)
    assert done[-1] == "closed"
    assert len(done) > 1


def test_while_a_cell_draws_in_its_own_thread_nothing_is_drawn_ahead(at_message):
    at_message("comm_msg")
    done, begun, enough = [], threading.Event(), threading.Event()
    frame = PanelFrame({}, ahead=lambda: (lambda: done.append(1) for _ in range(3)))

    def draw():
        with DRAWING:
            begun.set()
            enough.wait(10)
            done.append("drawn")

    cell = threading.Thread(target=draw)
    cell.start()
    begun.wait(10)
    do(lambda: open_page(frame), 0.1, enough.set, lambda: cell.join(10), 0.1)
    assert done == ["drawn", 1, 1, 1]


def test_a_page_and_a_cell_that_draw_one_picture_do_not_spoil_each_other_s_drawings(at_message, monkeypatch):
    monkeypatch.setattr(frame_module, "_TURN", 1e-6)
    monkeypatch.setattr(frame_module, "_IDLE", 0.0)
    plans = [plan_dose(read_order(f"regular {clear} units and NPH 20 units subcut")) for clear in range(1, 13)]
    drawn = draw_barrel(plans[0], ROOM)
    picture = LivePicture(drawn.figure, "first")
    done, failed = [], []

    def draw(plan):
        done.append(plan)
        return picture.draw(drawn.show(plan))

    frame = PanelFrame({}, ahead=lambda: (lambda plan=plan: draw(plan) for plan in plans[::-1] * 3))

    async def look_ahead():
        asyncio.get_running_loop().set_exception_handler(lambda _, context: failed.append(context))
        frame._look_ahead(asyncio.get_running_loop())
        for _ in range(1000):
            if failed or len(done) == 6 * len(plans):
                return
            await asyncio.sleep(0.01)

    other = threading.Thread(target=asyncio.run, args=(look_ahead(),), daemon=True)
    usual = sys.getswitchinterval()
    sys.setswitchinterval(1e-6)
    try:
        other.start()
        for plan in plans * 3:
            frame.soon(lambda plan=plan: frame.show({picture: (draw(plan), str(plan.clear_mark))}))
            assert parts(picture) == parts(LivePicture(draw_barrel(plan, ROOM).figure, "now"))
        other.join(60)
    finally:
        sys.setswitchinterval(usual)
    assert not failed
    assert len(done) == 6 * len(plans)


def test_without_a_page_nothing_is_drawn_ahead(at_message):
    at_message("execute_request")
    done = []
    frame = PanelFrame({}, ahead=lambda: (lambda: done.append(1) for _ in range(3)))
    do(lambda: frame.soon(lambda: None), 0.1)
    assert done == []


def test_the_doses_drawn_ahead_lie_about_those_of_the_order_and_lead_back_to_them():
    controls = OrderControls(lambda _: None, lambda _: None)
    controls.settle("", doses=True)
    texts, tops = [], []

    def foresee(text, top):
        texts.append(text)
        tops.append(top)
        return top + 1

    for work in controls.ahead(foresee, 0.0):
        work()
    orders = [read_order(text) for text in texts]
    assert {replace(order, doses=controls.order.doses) for order in orders} == {controls.order}
    clear = [order.clear.units for order in orders if order.cloudy.units == 20]
    cloudy = [order.cloudy.units for order in orders if order.clear.units == 8]
    assert set(clear) == set(range(1, 29))  # of 8 units, on a slider from 0 to 60: 0 is no dose
    assert set(cloudy) == set(range(1, 41))
    steps = [abs(one - other) for doses in (clear, cloudy) for one, other in pairwise(doses)]
    assert set(steps) <= {0, 1}  # 0 where the other insulin's turn comes
    assert (orders[0], orders[-1]) == (controls.order, controls.order)
    here = [at for at, order in enumerate(orders) if order == controls.order]
    assert tops == [at - max(start for start in here if start < at) if at not in here else 0 for at in range(len(tops))]


def when(shown=CURVES):
    panel = when_it_acts(shown=shown)
    panel.fan.value, panel.guess.value = "day to day", 8.0
    panel.show_sum.click()
    return panel


live_dose_module = sys.modules["mixlab.panels.dose"]  # the package has a function of that name

PANELS = {
    "live": live_dose,
    "live, no model": lambda: live_dose(NO_MODEL),
    "live, mmol/L": lambda: live_dose(site=example_sites()[3]),
    "the curves": when,
    "a handbook": lambda: when(CLEAR),
    "the day": lambda: when(DAY),
}


@pytest.mark.parametrize(
    ("name", "insulin", "step"),
    [
        *((name, "clear", 1) for name in PANELS),
        *((name, "clear", -1) for name in ("live", "the curves")),
        ("live", "cloudy", -1),
    ],
)
def test_what_was_drawn_ahead_is_not_drawn_again_and_looks_as_if_it_were(name, insulin, step, monkeypatch):
    monkeypatch.setattr("mixlab.panels.order_controls._NEAR_UNITS", 6)
    panel, plain = (PANELS[name]() for _ in range(2))
    pictures, plain_pictures = looks(panel), looks(plain)
    before = [picture.svg() for picture in pictures]
    draw_ahead(panel)
    assert [picture.svg() for picture in pictures] == before
    drawn, kept = [], [panel._snapshots.cache_info().misses]
    for module in (live_dose_module, when_words):
        module._see.cache_clear()  # what is kept does not hang on what the views of all panels are remembered by
    draw = Pencil.draw
    monkeypatch.setattr(Pencil, "draw", lambda pencil, artist: (drawn.append(artist), draw(pencil, artist))[1])
    counts = []
    now = getattr(panel, f"{insulin}_units").value
    for units in [*range(now + step, now + 6 * step, step), *range(now + 4 * step, now - step, -step)]:
        counts.append([])
        for one in (panel, plain):
            drawn.clear()
            getattr(one, f"{insulin}_units").value = units
            counts[-1].append(len(drawn))
        kept.append(panel._snapshots.cache_info().misses)
        assert [picture.alt for picture in pictures] == [picture.alt for picture in plain_pictures]
        assert list(map(parts, pictures)) == list(map(parts, plain_pictures))
    there, back = np.array(counts[:5]), np.array(counts[5:])
    assert there[:, 1].sum() > 0
    assert there[:, 0].sum() == 0
    assert len(set(kept[:6])) == 1
    assert (back[:, 0] <= there[:, 1].max()).all()  # a scale that steps down late may be one that was not met ahead


def draw_ahead(panel):
    for work in panel._order.ahead(panel._foresee, panel._top):
        work()


@pytest.mark.parametrize("name", ["live", "the curves"])
def test_a_scale_that_steps_down_late_stands_as_if_nothing_were_drawn_ahead_or_kept(name, monkeypatch):
    monkeypatch.setattr("mixlab.panels.order_controls._NEAR_UNITS", 4)
    panel, plain = (PANELS[name]() for _ in range(2))
    plain._snapshots = plain._draw
    draw = Random(1)
    scales = set()
    for _ in range(12):
        slider, far = draw.choice(["clear_units", "cloudy_units"]), draw.choice([3, 12, 30])
        start, to = getattr(panel, slider).value, draw.randint(1, far)
        for units in range(start, to, 1 if to > start else -1):
            for one in (panel, plain):
                getattr(one, slider).value = units
            shown, meant = (looks(one)[-2 if name == "live" else 0] for one in (panel, plain))
            assert parts(shown) == parts(meant)
            scales.add(str([text for part, text in shown.now["parts"].items() if "scale-" in part]))
        draw_ahead(panel)
    for one in (panel, plain):
        one.order_text.value = NO_MODEL
    assert parts(looks(panel)[-2 if name == "live" else 0]) == parts(looks(plain)[-2 if name == "live" else 0])
    assert len(scales) > 2


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


def test_a_refused_order_draws_ahead_from_the_last_that_was_not():
    panel = live_dose()
    panel.order_text.value = NOT_MIXED
    message, before = panel.message, panel.barrel_picture.svg()
    draw_ahead(panel)
    assert (panel.message, panel.barrel_picture.svg()) == (message, before)
    assert message
    assert len(panel.barrel_picture._remembered) > 100
