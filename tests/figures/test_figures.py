"""Figures without pixels: what stands where, against the plan, the curves and the decision."""

from typing import get_args

import numpy as np
import pytest
from drawings import blank, boxes, moves_as_drawn_anew, order_of, parts, reach, svg, words_outside
from hypothesis import example, given, settings
from hypothesis import strategies as st
from matplotlib.colors import to_rgb

from mixlab import Glucose, Observation, action_curves, decide, plan_dose
from mixlab.care.decision.answers import Choice
from mixlab.facts.decision_rows import Sign
from mixlab.figures import style
from mixlab.figures.action import curves
from mixlab.figures.decision import card
from mixlab.figures.syringe import barrel
from mixlab.figures.syringe.barrel import describe_barrel
from mixlab.ward.insulin import insulins

HOURS = np.arange(289) / 12
EXTREMES = [(1, 1), (8, 20), (14, 26), (0.5, 0.5), (29, 1), (1, 49), (50, 50), (1, 99)]


def left(box):
    return reach(box)[0]


def width(box):
    return np.ptp(reach(box))


@settings(deadline=None, max_examples=settings.default.max_examples // 3)
@given(st.integers(1, 50), st.integers(1, 50))
def test_the_drawn_barrel_is_true_to_scale(clear, cloudy):
    plan = plan_dose(order_of(clear, cloudy))
    drawn = barrel.draw_barrel(plan)
    found = parts(drawn)
    zero = left(found["second-barrel"])
    wide = barrel.units_wide(plan.syringe)
    assert left(found["first-stopper"]) == pytest.approx(zero + clear * wide)
    assert left(found["second-stopper"]) == pytest.approx(zero + (clear + cloudy) * wide)
    assert left(found["second-cloudy"]) == pytest.approx(zero)  # the cloudy part lies next to the needle
    assert width(found["second-cloudy"]) == pytest.approx(cloudy * wide)
    assert width(found["second-clear"]) == pytest.approx(clear * wide)
    assert width(found["first-clear"]) == pytest.approx(clear * wide)


@pytest.mark.parametrize(("clear", "cloudy"), [(4.5, 6), (7, 14), (9, 30), (31, 40), (32, 40)])
def test_a_barrel_has_each_line_of_its_syringe_once(clear, cloudy):
    plan = plan_dose(order_of(clear, cloudy))
    syringe, wide = plan.syringe, barrel.units_wide(plan.syringe)
    found = parts(barrel.draw_barrel(plan))
    for moment in ("first", "second"):
        names = [f"{moment}-{part}" for part in ("lines", "fine-lines", "long-lines")]
        xs = np.sort(np.concatenate([found[name].get_xdata()[::3] for name in names]))
        every = np.arange(0, syringe.capacity_units + 1e-9, syringe.graduation_units)
        assert (xs - left(found["second-barrel"])) / wide == pytest.approx(every, abs=1e-9)


@settings(deadline=None, max_examples=settings.default.max_examples // 3)
@given(st.integers(1, 50), st.integers(1, 50))
@example(4.5, 6)
def test_the_magnified_lines_stand_where_the_stopper_says(clear, cloudy):
    plan = plan_dose(order_of(clear, cloudy))
    found = parts(barrel.draw_barrel(plan))
    for moment, mark in (("first", clear), ("second", clear + cloudy)):
        edge = left(found[f"{moment}-lens-stopper"])
        xs = np.sort(
            np.concatenate([found[f"{moment}-lens-{part}"].get_xdata()[::3] for part in ("lines", "fine-lines")])
        )
        zoom = width(found[f"{moment}-lens-stopper"]) / width(found[f"{moment}-stopper"])
        wide = barrel.units_wide(plan.syringe) * zoom
        units = mark + (xs - edge) / wide
        step = plan.syringe.graduation_units
        assert units == pytest.approx(np.round(units / step) * step)
        assert np.diff(units) == pytest.approx(np.full(len(units) - 1, step))  # none is left out, none drawn twice
        numbers = [found[f"{moment}-lens-number-{at}"] for at in range(6)]
        for text in numbers:
            if text.get_text():
                assert float(text.get_text()) == pytest.approx(mark + (text.get_position()[0] - edge) / wide)


def test_the_air_of_each_vial_stands_beside_it():
    found = parts(barrel.draw_barrel(plan_dose(order_of(14, 26))))
    assert found["air-cloudy"].get_text() == "26 units of air"
    assert found["air-name-cloudy"].get_text() == "into NPH insulin"
    assert found["air-clear"].get_text() == "14 units of air"


def test_bore_and_scale_hold_the_capacity():
    """ISO 8537, table of sizes: length of the scale; the area follows from the capacity."""
    for units, length in ((30, 41), (50, 43), (100, 57)):
        plan = plan_dose(order_of(units - 1, 1))
        radius_mm = barrel.bore_mm(plan.syringe) / 2
        assert plan.syringe.scale_length_mm == length
        assert np.pi * radius_mm**2 * length / 1000 == pytest.approx(units / 100)


def test_moving_a_drawing_gives_what_drawing_anew_gives():
    plans = [(plan_dose(order_of(*units)),) for units in [(8, 20), *EXTREMES]]
    moves_as_drawn_anew(lambda plan: barrel.draw_barrel(plan, style.ROOM), plans)


MIXED_CLEAR = [one.name for one in insulins().values() if one.look == "clear" and one.row.mixing.may_share_with]


def luminance(color):
    light = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in color]
    return 0.2126 * light[0] + 0.7152 * light[1] + 0.0722 * light[2]


def contrast(one, other):
    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)  # WCAG 2


def test_a_syringe_that_is_not_drawn_up_now_is_dimmed_and_says_so_and_nothing_else_changes():
    plan = plan_dose(order_of(8, 20))
    drawn = barrel.draw_barrel(plan, style.ROOM)
    open_parts = parts(drawn)
    assert blank(open_parts, "dim", "not-now")
    touched = drawn.show(plan, held=True)
    assert {artist.get_gid() for artist in touched} == {"dim", "not-now"}  # the least that can be drawn anew
    assert open_parts["not-now"].get_text() == "do not draw up now"
    assert tuple(np.ptp(open_parts["dim"].get_xy(), axis=0)) == (barrel.WIDTH, barrel.HEIGHT)
    held = barrel.draw_barrel(plan, style.ROOM, held=True)
    assert svg(drawn) == svg(held)
    assert {artist.get_gid() for artist in drawn.show(plan)} == {"dim", "not-now"}
    assert blank(open_parts, "dim", "not-now")


@pytest.mark.parametrize("size", [style.PAGE, style.ROOM], ids=["page", "room"])
@pytest.mark.parametrize("clear", MIXED_CLEAR, ids=str)
def test_the_words_on_a_dimmed_syringe_stand_clear_of_all_others(clear, size):
    for units in ((8, 20), (1, 99)):
        drawn = barrel.draw_barrel(plan_dose(order_of(*units, name=clear)), size, held=True)
        drawn.figure.draw_without_rendering()
        sign = parts(drawn)["not-now"]
        board = sign.get_bbox_patch().get_window_extent()
        assert min(board.x0, board.y0, barrel.WIDTH - board.x1, barrel.HEIGHT - board.y1) > 0
        assert not [text.get_text() for text, box in boxes(drawn) if text is not sign and board.overlaps(box)]
        shapes = ("first-barrel", "first-rod", "first-lens-stopper", "first-clear")
        assert not [name for name in shapes if board.overlaps(parts(drawn)[name].get_window_extent())]


def test_what_is_dimmed_can_still_be_read_and_is_dimmed_without_color_too():
    """4.5 : 1 for words and 3 : 1 for marks, WCAG 2.2."""
    found = parts(barrel.draw_barrel(plan_dose(order_of(8, 20)), style.ROOM, held=True))
    dim, sign = found["dim"], found["not-now"]
    over, alpha = np.array(dim.get_facecolor()[:3]), dim.get_facecolor()[3]

    def under(color):
        return (1 - alpha) * np.array(to_rgb(color)) + alpha * over

    ground = under("white")
    everything = [artist for gid, artist in found.items() if gid not in ("dim", "not-now")]
    words = {artist.get_color() for artist in everything if hasattr(artist, "get_text") and artist.get_text()}
    marks = {artist.get_color() for artist in everything if hasattr(artist, "get_xdata")}
    assert words == marks == {style.INK}
    assert contrast(under(style.INK), ground) >= 4.5
    for liquid in style.LIQUID.values():
        assert contrast(under(style.INK), under(liquid["fc"])) >= 3  # the marks on the liquid
    board = sign.get_bbox_patch()
    assert contrast(to_rgb(sign.get_color()), board.get_facecolor()[:3]) >= 4.5
    assert min(dim.zorder, sign.zorder) > max(artist.zorder for artist in everything)
    assert sign.zorder > dim.zorder
    assert contrast(ground, (1, 1, 1)) > 1.25  # the ground itself turns grey


@pytest.mark.parametrize(("clear", "cloudy"), EXTREMES)
@pytest.mark.parametrize("size", [style.PAGE, style.ROOM], ids=["page", "room"])
def test_no_words_leave_the_picture(clear, cloudy, size):
    order = order_of(clear, cloudy)
    decision = decide(order, Observation(glucose=Glucose(50, "mg/dL"), signs=("sweating",), eating=False))
    for drawn in (
        barrel.draw_barrel(plan_dose(order), size),
        curves.draw_curves(order, action_curves(order, HOURS), size),
        card.draw_card(decision, size),
    ):
        drawn.figure.draw_without_rendering()
        assert not words_outside(drawn, -1)


def test_cloudy_is_textured_and_clear_is_plain():
    found = parts(barrel.draw_barrel(plan_dose(order_of(8, 20))))
    assert found["second-cloudy"].get_hatch()
    assert found["second-lens-cloudy"].get_hatch()
    assert not found["second-clear"].get_hatch()
    looks = parts(curves.draw_curves(order_of(8, 20), None))
    assert looks["taught-cloudy"].get_hatch()
    assert not looks["taught-clear"].get_hatch()
    assert looks["curve-cloudy"].get_linestyle() != looks["curve-clear"].get_linestyle()


def test_bands_show_the_taught_row_and_lines_the_model():
    order = order_of(8, 20)
    model = action_curves(order, HOURS)
    found = parts(curves.draw_curves(order, model))
    left, per_hour = curves._LEFT, (curves._RIGHT - curves._LEFT) / 24
    times = order.clear.insulin.row.taught_times
    for name, low, high in (
        ("taught-clear", times.onset.low, times.duration.high),
        ("taught-clear-peak", times.peak.low, times.peak.high),
    ):
        assert (np.array(reach(found[name])) - left) / per_hour == pytest.approx((low, high))
    start, end = found["model-clear"].get_xdata()
    assert (start - left) / per_hour == pytest.approx(model.onset("clear"))
    assert (end - left) / per_hour == pytest.approx(model.end("clear"))
    for part in ("clear", "cloudy", "total"):
        assert np.array_equal(found[f"curve-{part}"].get_ydata(), getattr(model, part))


def test_the_scale_grows_with_the_curve_and_says_so():
    drawn = curves.draw_curves(order_of(2, 2), action_curves(order_of(2, 2), HOURS))
    assert [text.get_text() for text in drawn._scale] == ["0", "0.5", "1"]
    big = order_of(50, 50)
    same_clear = order_of(2, 50)
    touched = drawn.show(same_clear, action_curves(same_clear, HOURS))
    assert drawn._lines["clear"] in touched  # the same figures under another scale
    touched = drawn.show(big, action_curves(big, HOURS))
    assert drawn._axes.get_ylim()[1] > action_curves(big, HOURS).total.max()
    low, middle, high = (float(text.get_text()) for text in drawn._scale)
    assert (low, middle, high) == (0, drawn._axes.get_ylim()[1] / 2, drawn._axes.get_ylim()[1])
    assert drawn._scale[2] in touched
    assert not drawn.show(big, action_curves(big, HOURS))
    drawn.show(big, None)
    assert [text.get_text() for text in drawn._scale] == ["", "", ""]
    drawn.show(big, action_curves(big, HOURS))
    assert float(drawn._scale[2].get_text()) == high


def test_each_answer_has_a_shape_and_a_word_of_its_own():
    order = order_of(8, 20)
    seen = {}
    for glucose, signs, eating in (
        (120, (), True),
        (320, (), True),
        (84, (), True),
        (60, (), True),
        (60, ("unresponsive",), True),
        (120, (), False),
        (120, ("sweating",), True),
        (120, ("hunger",), True),
    ):
        decision = decide(order, Observation(glucose=Glucose(glucose, "mg/dL"), signs=signs, eating=eating))
        found = parts(card.draw_card(decision))
        shape = tuple((found["answer-shape"].get_xy() - found["answer-shape"].get_xy().mean(axis=0)).round(3).ravel())
        seen[decision.sign] = (shape, found["answer-mark"].get_text(), found["answer-word"].get_color())
        assert found["answer-word"].get_text() == str(decision.headline).upper()
    assert len(seen) == 8
    for each in zip(*seen.values(), strict=True):
        assert len(set(each)) == 8  # shape, mark and color: each is enough


def test_every_sign_has_a_shape_a_mark_and_a_color_of_its_own_and_words_can_be_read_in_it():
    signs = card._SIGNS
    assert {*signs} == {*get_args(Choice), *get_args(Sign)}
    for part in ({(one.corners, one.turned) for one in signs.values()}, {one.mark for one in signs.values()}):
        assert len(part) == len(signs)
    assert len({one.color for one in signs.values()}) == len(signs)
    for one in signs.values():
        assert contrast(to_rgb(one.color), (1, 1, 1)) >= 4.5


def test_the_card_counts_the_steps_it_has_no_room_for():
    order = order_of(8, 20)
    decision = decide(order, Observation(glucose=Glucose(120, "mg/dL"), signs=("sweating",), eating=False))
    found = parts(card.draw_card(decision))
    lines = [found[f"card-line-{at}"].get_text() for at in range(7)]
    shown = sum(line[:1].isdigit() and line[1:3] == ". " for line in lines)
    assert 0 < shown < len(decision.next_steps)
    assert f"{len(decision.next_steps) - shown} more steps" in [line for line in lines if line][-1]


def test_the_words_of_the_barrel_state_every_reading():
    words = describe_barrel(plan_dose(order_of(14, 26)))
    for said in (
        "26 units of air into the NPH",
        "14 units of air into the regular",
        "stands at 14 units",
        "40 units, 0.4 mL",
    ):
        assert said in words
    held = describe_barrel(plan_dose(order_of(14, 26)), held=True)
    assert held == f"Do not draw up now. If the order stands later, it is drawn up like this: {words}"
