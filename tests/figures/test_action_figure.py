"""The large picture of how a mixed dose acts: what stands where, and that a hidden sum leaks nowhere."""

import re
from dataclasses import replace

import numpy as np
import pytest
from drawings import blank, boxes, order_of, parts, reach, svg, words_outside

from mixlab import action_curves
from mixlab.care.action.absorption import begin_spell
from mixlab.care.action.injection import contaminated, from_clear_layer, from_sediment, swapped
from mixlab.care.action.variation import day_to_day
from mixlab.facts.reading import the_facts
from mixlab.figures import style
from mixlab.figures.action import both_together as action
from mixlab.figures.action import both_together_words as action_words
from mixlab.figures.action.both_together_words import describe_action
from mixlab.ward.insulin import insulins

HOURS = np.arange(289) / 12


def seen_of(clear=8, cloudy=20, *, slip=None, fan=False, beside=False, **given):
    order = order_of(clear, cloudy)
    keys = ("row", "sum_shown", "guess_h")
    shown = {"row": None, "sum_shown": True, "guess_h": None} | {key: given.pop(key) for key in keys if key in given}
    injection = slip(order) if slip else None
    return action_words.ActionSeen(
        order=order,
        curves=action_curves(order, HOURS, injection=injection, **given),
        fan=day_to_day(order, HOURS, draws=60, step=5, injection=injection) if fan else None,
        beside=action_curves(order, HOURS) if beside else None,
        **shown,
    )


def no_model(row=None):
    order = order_of(8, 20, "insulin lispro")
    return action_words.ActionSeen(
        order=order, curves=None, fan=None, row=row, sum_shown=False, guess_h=None, beside=None
    )


def thigh_in_motion(**given):
    return seen_of(body_site="thigh", spell=begin_spell("leg-exercise", 30), beside=True, **given)


MANY = {
    "as ordered": seen_of,
    "hidden": lambda: seen_of(sum_shown=False, guess_h=8),
    "days": lambda: seen_of(14, 26, fan=True, guess_h=2),
    "thigh": lambda: thigh_in_motion(guess_h=23.9),
    "large": lambda: seen_of(30, 60, fan=True, guess_h=12, row="afp-2005"),
    "sediment": lambda: seen_of(
        20, 60, slip=from_sediment, beside=True, fan=True, body_site="buttock", spell=begin_spell("sauna", 240)
    ),
    "layer": lambda: seen_of(slip=from_clear_layer, beside=True, sum_shown=False, row="basal-review"),
    "mostly cloudy": lambda: seen_of(1, 99),
    "no model": lambda: no_model("textbook-medicine-19"),
}


def drawn_of(seen, size=style.ROOM):
    return parts(action.draw_action(seen, size))


def hours_at(found, x):
    """Return the hours of places, read off the drawn axis: the marker's line runs from 0 to 24 h."""
    left, right = found["marker"].get_xdata()
    return (np.asarray(x) - left) * 24 / (right - left)


def rates_at(found, y):
    """Return the units per hour of heights, read off the drawn scale."""
    low, high = found["scale-0"], found["scale-2"]
    bottom, top = low.get_position()[1], high.get_position()[1]
    return (np.asarray(y) - bottom) * float(high.get_text()) / (top - bottom)


def test_the_lines_stand_at_the_curves_own_hours_and_rates():
    seen = seen_of(14, 26)
    found = drawn_of(seen)
    for part in ("clear", "cloudy", "total"):
        x, y = found[f"curve-{part}"].get_data()
        assert hours_at(found, x) == pytest.approx(HOURS)
        assert rates_at(found, y) == pytest.approx(getattr(seen.curves, part), abs=1e-9)
    assert rates_at(found, found["marker"].get_ydata()) == pytest.approx([seen.curves.marker] * 2)
    assert found["marker-words"].get_text() == "counts as acting from here"


def test_no_meaning_by_color_alone():
    found = drawn_of(seen_of(fan=True))
    assert len({found[f"curve-{part}"].get_linestyle() for part in ("clear", "cloudy")}) == 2
    assert found["curve-total"].get_linewidth() > found["curve-clear"].get_linewidth()
    for gid in ("fan", "taught", "key-fan"):
        assert found[f"{gid}-cloudy"].get_hatch()
        assert not found[f"{gid}-clear"].get_hatch()
    assert found["fan-clear"].get_linestyle() != found["fan-cloudy"].get_linestyle()
    assert found["key-clear-words"].get_text() == "regular insulin 8 units"
    assert found["key-cloudy-words"].get_text() == "NPH insulin 20 units"


@pytest.mark.parametrize("seen", [seen_of(14, 26), seen_of(30, 60), seen_of(1, 20)], ids=["usual", "large", "weak"])
def test_model_marks_stand_at_start_strongest_and_end(seen):
    found = drawn_of(seen)
    for look in ("clear", "cloudy"):
        start, peak, end = seen.curves.onset(look), seen.curves.peak(look), seen.curves.end(look)
        span, top = found[f"model-{look}"], found[f"model-{look}-peak"]
        if start is None:
            assert blank(found, f"model-{look}", f"model-{look}-peak")
            assert "too little to count as acting" in found[f"taught-{look}-words"].get_text()
            continue
        assert hours_at(found, span.get_xdata()) == pytest.approx([start, min(end, 24)])
        assert span.get_markevery() == ([0, 1] if end <= 24 else [0])
        assert hours_at(found, top.get_xdata()) == pytest.approx([peak])


@pytest.mark.parametrize("row", sorted({row.source for key in ("regular", "nph") for row in insulins()[key].row.times}))
def test_bars_show_the_row_of_the_chosen_source_or_say_that_it_is_what_is_taught(row):
    seen = seen_of(row=row)
    found, told = drawn_of(seen), describe_action(seen)
    cited = " ".join(found[f"taught-source-{at}"].get_text() for at in range(2))
    for look, key in (("clear", "regular"), ("cloudy", "nph")):
        insulin = insulins()[key]
        of_source = [times for times in insulin.row.times if times.source == row]
        times = of_source[0] if of_source else insulin.row.taught_times
        said = f"{insulin} has no row there, taught: National Institute"
        assert (said in cited) == (not of_source)
        assert str(the_facts().cite(times)) in told
        assert (f"{the_facts().sources[row]} has no row for it" in told.split("Taught, ")[1 + (look == "cloudy")]) == (
            not of_source
        )
        start, end = hours_at(found, reach(found[f"taught-{look}"]))
        assert (start, end) == pytest.approx(
            (times.onset.low if times.onset else 0, min(24, times.duration.high)), abs=1e-9
        )
        if times.peak is None:
            assert blank(found, f"taught-{look}-peak")
        else:
            half = 0.25 if times.peak.low == times.peak.high else 0
            dark = hours_at(found, reach(found[f"taught-{look}-peak"]))
            assert tuple(dark) == pytest.approx((times.peak.low - half, times.peak.high + half))
    if any(times.source == row for key in ("regular", "nph") for times in insulins()[key].row.times):
        assert str(the_facts().sources[row])[:40] in cited


def test_an_insulin_without_a_model_shows_its_taught_bar_only():
    seen = no_model()
    found = drawn_of(seen)
    assert blank(
        found, "curve-clear", "curve-cloudy", "curve-total", "question", "scale-2", "marker-words", "model-words"
    )
    assert found["notice-0"].get_text() == "No model for this pair: taught times only."
    assert np.ptp(found["taught-clear"].get_xy()[:, 0]) > 0
    told = describe_action(seen)
    assert "No model for this pair" in told
    assert "hidden" not in told
    assert "Model" not in told


CLUES = ("both together: ", "shoulder", "one highest", "tops")


def with_another_sum(curves):
    """Return the same curves with a sum that runs backwards and three times as high."""
    other = replace(curves, total=3 * curves.total[::-1])
    vars(other)["_whole"] = curves._whole | {"total": 3 * curves._whole["total"][::-1]}
    assert other.peak() != curves.peak()
    return other


@pytest.mark.parametrize(
    "seen",
    [seen_of(guess_h=5), seen_of(30, 60, fan=True), seen_of(1, 99), thigh_in_motion()],
    ids=["usual", "large", "mostly cloudy", "thigh"],
)
def test_a_hidden_sum_leaks_neither_into_the_picture_nor_into_its_words(seen):
    hidden = replace(seen, sum_shown=False)
    drawn = action.ActionFigure(style.ROOM)
    drawn.show(seen)
    drawn.show(hidden)  # what was shown before must be gone, too
    picture, told = svg(drawn), describe_action(hidden)
    found = parts(drawn)
    assert blank(found, "curve-total", "beside-total", "sum-highest", "key-total", "sum-highest-words")
    assert found["question"].get_text() == "?"
    assert found["told"].get_text() == "Where will the\nhighest point be?"
    for said in (" ".join(text.get_text() for text, _ in boxes(drawn)), told):
        assert not any(clue in said for clue in CLUES), said
    beside = with_another_sum(seen.beside) if seen.beside else None
    other = replace(hidden, curves=with_another_sum(seen.curves), beside=beside)
    assert svg(action.draw_action(other)) == picture
    assert describe_action(other) == told
    shown = replace(other, sum_shown=True)
    assert describe_action(shown) != describe_action(seen)  # the other sum would have been seen


def test_the_scale_and_all_that_is_not_the_sum_stand_still_when_it_is_revealed():
    seen = seen_of(14, 26, sum_shown=False, guess_h=4, fan=True)
    drawn = action.draw_action(seen)
    touched = {artist.get_gid() for artist in drawn.show(replace(seen, sum_shown=True))}
    assert touched <= {
        "curve-total", "key-total", "key-total-words", "sum-highest", "sum-highest-words", "question", "told", "marker-words",
    }  # fmt: skip
    assert {"curve-total", "sum-highest", "sum-highest-words", "told", "question"} <= touched


def test_the_highest_point_is_marked_where_the_sum_has_it():
    seen = seen_of(14, 26)
    found = drawn_of(seen)
    top = found["sum-highest"]
    x, y = top.get_data()
    assert hours_at(found, x) == pytest.approx([seen.curves.peak()] * 2)
    tip = rates_at(found, y[top.get_markevery()[0]] - 5)  # the triangle stands on the line
    assert tip == pytest.approx(seen.curves.total.max(), rel=1e-3)
    assert found["sum-highest-words"].get_text() == "highest point: 2.7 h"
    assert "both together: starts at 0.5 h, strongest at 2.7 h" in describe_action(seen)


def test_a_shoulder_is_said_only_where_the_sum_falls_and_the_cloudy_insulin_still_rises():
    said = {
        (clear, cloudy): action_words.sum_words(seen_of(clear, cloudy).curves)
        for clear, cloudy in ((8, 20), (30, 60), (20, 4), (2, 30), (50, 2), (40, 30))
    }
    shoulder, none = "one highest point, then a shoulder", "one highest point, no shoulder after it"
    assert said == {(8, 20): shoulder, (30, 60): shoulder, (20, 4): none, (2, 30): none, (50, 2): none, (40, 30): none}
    found = drawn_of(seen_of(20, 4))
    assert found["told"].get_text() == none.replace(", ", ",\n")


def test_two_tops_are_not_called_one():
    seen = seen_of(20, 20, body_site="thigh", spell=begin_spell("leg-exercise", 360))
    assert seen.curves.humps() == 2
    assert action_words.sum_words(seen.curves) == "2 tops, not one"
    assert "It has 2 tops, not one." in describe_action(seen)


def test_a_sum_that_never_counts_as_acting_has_no_highest_point():
    found = drawn_of(seen_of(0.5, 1))
    assert found["told"].get_text() == "no highest point above the line"
    assert blank(found, "sum-highest")


def test_the_guess_stands_at_its_hour_hidden_or_not_and_goes_away():
    for shown in (False, True):
        seen = seen_of(sum_shown=shown, guess_h=7.5)
        drawn = action.draw_action(seen)
        found = parts(drawn)
        x, y = found["guess"].get_data()
        assert hours_at(found, x) == pytest.approx([7.5, 7.5])
        assert rates_at(found, y[0]) == pytest.approx(0)
        assert found["guess-words"].get_text() == "your guess: 7.5 h"
        assert found["guess"].get_linestyle() != "-"
        assert "Your guess of its highest point: 7.5 h" in describe_action(seen)
        drawn.show(replace(seen, guess_h=None))
        assert blank(found, "guess", "guess-words")
        assert "guess" not in describe_action(replace(seen, guess_h=None))


def test_the_bands_are_the_fans_own_and_have_few_points():
    seen = seen_of(14, 26, fan=True)
    drawn = action.draw_action(seen)
    found = parts(drawn)
    for look in ("clear", "cloudy"):
        low, high = seen.fan.band(look, 5, 95)
        edge = found[f"fan-{look}"].get_xy()
        assert 60 < len(edge) <= 101
        hours, rates = hours_at(found, edge[:, 0]), rates_at(found, edge[:, 1])
        half = len(edge) // 2
        for there, back in ((slice(0, half), low), (slice(half, 2 * half), high)):
            at = np.round(hours[there] * 12).astype(int)
            assert hours[there] == pytest.approx(HOURS[at])
            assert rates[there] == pytest.approx(back[at], abs=1e-9)
        assert hours.max() == pytest.approx(24)
    assert "On 90 of 100 simulated days regular insulin acts with" in describe_action(seen)
    drawn.show(replace(seen, fan=None))
    assert blank(found, "fan-clear", "fan-cloudy", "key-fan-clear", "key-fan-cloudy")
    assert "simulated" not in describe_action(replace(seen, fan=None))


def test_the_spread_is_told_as_the_band_has_it():
    seen = seen_of(14, 26, fan=True)
    at = seen.curves.peak("cloudy")
    low, high = (np.interp(at, HOURS, edge) for edge in seen.fan.band("cloudy", 5, 95))
    said = re.search(r"days NPH insulin acts with ([\d.]+)–([\d.]+) units per hour", describe_action(seen))
    assert [float(number) for number in said.groups()] == pytest.approx([low, high], abs=0.1)
    for row in seen.fan.basis:
        assert str(the_facts().cite(row)) in describe_action(seen)


def test_beside_stands_the_order_as_ordered_in_thin_gray():
    seen = thigh_in_motion()
    drawn = action.draw_action(seen)
    found = parts(drawn)
    for part in ("clear", "cloudy", "total"):
        line = found[f"beside-{part}"]
        assert rates_at(found, line.get_ydata()) == pytest.approx(getattr(seen.beside, part), abs=1e-9)
        assert line.get_color() == style.FAINT
        assert line.get_linewidth() < found[f"curve-{part}"].get_linewidth()
    assert "Thin gray, as ordered at the abdomen: strongest regular insulin at 2.2 h" in describe_action(seen)
    drawn.show(replace(seen, beside=None))
    assert blank(found, "beside-clear", "key-beside", "key-beside-words")


def noticed(seen):
    found = drawn_of(seen)
    lines = " ".join(found[f"notice-{at}"].get_text() for at in range(5)).strip()
    assert all(sentence in describe_action(seen) for sentence in action_words.notices(seen))
    return lines


def test_notices_say_what_is_not_as_ordered():
    assert noticed(seen_of()) == ""
    assert "Extrapolated above 40 units, our own limit." in noticed(seen_of(30, 60))
    assert "the two doses swapped: 20 units of regular" in noticed(seen_of(slip=swapped))
    assert noticed(seen_of(body_site="arm")) == "Given in the upper arm."
    exercise = noticed(thigh_in_motion())
    assert "Leg exercise from minute 30 to 90: regular insulin leaves the tissue faster." in exercise
    unfelt = noticed(seen_of(spell=begin_spell("leg-exercise", 0)))
    assert unfelt == "Leg exercise from minute 0 to 60: no change in the curve; exercise lowers glucose all the same."
    assert "all the same" not in exercise
    warm = noticed(seen_of(fan=True, spell=begin_spell("sauna", 0)))
    assert "Sauna from minute 0 to 60" in warm
    assert "exercise" not in warm
    assert "Not as ordered: if 100 % of the regular insulin" in noticed(
        seen_of(slip=lambda order: contaminated(order, 1))
    )


def test_what_changes_the_curves_is_cited():
    told = describe_action(thigh_in_motion())
    facts = the_facts()
    for fact in (*facts.body_sites["thigh"].half_time.values(), facts.speeds["leg-exercise"]):
        assert str(facts.cite(fact)) in told
    seen = seen_of(slip=from_sediment)
    assert str(facts.cite(seen.curves.injection.basis[0])) in describe_action(seen)


def test_the_key_and_the_words_name_what_is_really_under_the_skin():
    seen = seen_of(slip=swapped)
    assert drawn_of(seen)["key-clear-words"].get_text() == "regular insulin 20 units"
    assert "Model, regular insulin 20 units: starts" in describe_action(seen)


def test_the_words_tell_which_insulin_acts_more_and_from_when():
    assert "From 3.8 h on NPH insulin acts more than regular insulin." in describe_action(seen_of())
    steady = "At every hour shown {} acts more than {}."
    assert steady.format("regular insulin", "NPH insulin") in describe_action(seen_of(20, 4))
    assert steady.format("NPH insulin", "regular insulin") in describe_action(seen_of(0.5, 40))


@pytest.mark.parametrize("name", MANY)
@pytest.mark.parametrize("size", [style.PAGE, style.ROOM], ids=["page", "room"])
def test_no_words_leave_the_picture_and_none_of_the_citation_is_cut(name, size):
    seen = MANY[name]()
    drawn = action.draw_action(seen, size)
    assert not words_outside(drawn)
    assert not [text for text, _ in boxes(drawn) if "…" in text.get_text()]


@pytest.mark.parametrize("name", [name for name, make in MANY.items() if make().curves is not None])
def test_the_lines_leave_the_corner_to_the_words(name):
    found = drawn_of(MANY[name]())
    gids = ["question", "told", *(f"notice-{at}" for at in range(5)), *(f"key-{key}-words" for key in ("clear", "fan"))]
    boxes = [found[gid].get_window_extent() for gid in gids if found[gid].get_text()]
    for gid, artist in found.items():
        if gid.startswith(("curve-", "beside-", "fan-", "guess")) and gid != "guess-words":
            xy = artist.get_xy() if hasattr(artist, "get_xy") else artist.get_xydata()
            for box in boxes:
                inside = (xy[:, 0] > box.x0) & (xy[:, 0] < box.x1) & (xy[:, 1] > box.y0) & (xy[:, 1] < box.y1)
                assert not inside.any(), (gid, box)


@pytest.mark.parametrize("guess", [9.4, 9.6, 11, 14, 20.6, 24])
def test_the_guess_runs_through_no_words(guess):
    seen = replace(thigh_in_motion(sum_shown=False, guess_h=guess), fan=seen_of(fan=True).fan)
    found = drawn_of(seen)
    (x, _), (_, top) = found["guess"].get_data()
    for gid in [
        "question",
        "told",
        "notice-0",
        "notice-1",
        "key-clear-words",
        "key-fan-words",
        "guess-words",
        "marker-words",
    ]:
        box = found[gid].get_window_extent()
        assert not (box.x0 < x < box.x1 and box.y0 < top), gid


def test_the_markers_words_stand_on_no_line():
    for clear, cloudy in ((8, 20), (2, 30), (14, 26), (4, 8)):
        found = drawn_of(seen_of(clear, cloudy))
        box = found["marker-words"].get_window_extent()
        for part in ("clear", "cloudy", "total"):
            x, y = found[f"curve-{part}"].get_data()
            assert not ((x > box.x0) & (x < box.x1) & (y > box.y0) & (y < box.y1)).any(), (clear, cloudy, part)


@pytest.mark.parametrize("name", MANY)
def test_showing_the_same_twice_touches_nothing(name):
    seen = MANY[name]()
    drawn = action.draw_action(seen)
    assert not drawn.show(seen)
    assert not drawn.show(MANY[name]())  # nor does the same moment computed anew


def test_moving_from_any_moment_to_another_leaves_nothing_stale():
    anew = {name: svg(action.draw_action(MANY[name]())) for name in ("no model", "hidden")}
    for first in MANY.values():
        for second, looks in anew.items():
            moved = action.draw_action(first())
            moved.top = 0.0  # the scale alone remembers, on purpose
            moved.show(MANY[second]())
            assert svg(moved) == looks


def test_the_scale_steps_up_when_needed_and_does_not_flicker():
    drawn = action.draw_action(seen_of(8, 20))
    found = parts(drawn)
    before = found["scale-2"].get_text()
    small = seen_of(5, 10)
    assert float(drawn_of(small)["scale-2"].get_text()) < float(before)
    drawn.show(small)
    assert found["scale-2"].get_text() == before
    drawn.show(seen_of(1, 2))
    assert float(found["scale-2"].get_text()) < float(before)
    big = seen_of(30, 60)
    drawn.show(big)
    assert float(found["scale-2"].get_text()) > big.curves.peak_rate()
    assert float(found["scale-1"].get_text()) == float(found["scale-2"].get_text()) / 2


def test_the_numbers_are_owned_up_to():
    label = (
        "model: Berger–Rodbard form, numbers recalled, checked against clamp studies; for teaching, no one's glucose"
    )
    assert drawn_of(seen_of())["model-words"].get_text() == label
    told = describe_action(seen_of())
    assert label[1:] in told
    assert str(the_facts().cite(the_facts().action["marker_units_per_kg_h"])) in told
    assert "1 unit per hour" in describe_action(seen_of(4, 8))
