"""The day picture: every mark at its minute, nothing on top of anything, and words that say all of it."""

import re
from dataclasses import replace
from functools import cache
from string import ascii_uppercase

import matplotlib as mpl
import numpy as np
import pytest
from drawings import blank, lie_on, moves_as_drawn_anew, parts, reach, words_on_words, words_outside, written
from hypothesis import given, reject, settings
from hypothesis import strategies as st

from mixlab import action_curves, read_order
from mixlab.care.action.absorption import begin_spell
from mixlab.care.action.injection import as_ordered, contaminated, from_clear_layer, from_sediment, swapped
from mixlab.care.day.dose_day import MealBeforeDose
from mixlab.care.day.need import cover, eaten_meals
from mixlab.care.day.planning import day_plan
from mixlab.facts.reading import the_facts
from mixlab.figures import style
from mixlab.figures.day.clash_row import LANES, ClashRow
from mixlab.figures.day.clock_line import Board, at_minute, at_time, take_lane
from mixlab.figures.day.day import DayFigure, draw_day
from mixlab.figures.day.day_words import (
    BEFORE_MINUTES,
    NO_COVER,
    NO_CURVES,
    DaySeen,
    clash_rows,
    sleep_windows,
    visit_rows,
)
from mixlab.figures.day.describing import describe_day
from mixlab.figures.style import Moving
from mixlab.quantities import ClockTime
from mixlab.ward.meal import Meal
from mixlab.ward.site.in_force import example_sites
from mixlab.ward.site.record import teaching_site

HOURS = np.arange(289) / 12
DOSE = "regular insulin 8 units and NPH insulin 20 units subcut"
PER_MINUTE = at_minute(1) - at_minute(0)


def seen_of(text, given_at, meals=None, *, model=True, curves=None, **more):
    order = read_order(text)
    if model and curves is None:
        curves = action_curves(order, HOURS)
    plan = day_plan(order, given_at, meals, curves=curves, **more)
    return DaySeen(plan=plan, curves=curves, cover=cover(curves, eaten_meals(plan)) if curves else None)


def with_meal(name, **changes):
    return [replace(meal, **changes) if meal.name == name else meal for meal in teaching_site().meals]


def breakfast_dose(meals=None, **more):
    return seen_of(f"{DOSE} 30 minutes before breakfast", "07:30", meals, **more)


def with_slip(
    slip=as_ordered, text=f"{DOSE} 30 minutes before breakfast", given_at="07:30", meals=None, *, leg=False, **more
):
    order = read_order(text)
    place = {"body_site": "thigh", "spell": begin_spell("leg-exercise", 30)} if leg else {}
    curves = action_curves(order, HOURS, injection=slip(order), **place)
    return seen_of(text, given_at, meals, curves=curves, **more)


def walking(start, kind="leg-exercise", **more):
    order = read_order(f"{DOSE} 30 minutes before breakfast")
    return breakfast_dose(curves=action_curves(order, HOURS, spell=begin_spell(kind, start), **more))


def hill_ward():
    (hill,) = [site for site in example_sites() if site.name == "the hill ward"]
    return hill


def late_dose():
    meals = with_meal("breakfast", at="08:45", eaten=False)
    return seen_of(f"{DOSE} at 07:30", "08:30", meals, mixed_at="07:50")


def small_hours():
    meals = [
        Meal(name="snack", at="00:30", eaten=False),
        Meal(name="breakfast", at="08:00"),
        Meal(name="morning snack", at="09:00"),
        *teaching_site().meals[1:],
    ]
    return seen_of(DOSE, "00:00", meals)


DAYS = {
    "breakfast": breakfast_dose,
    "supper": lambda: seen_of(f"{DOSE} 30 minutes before supper", "17:30"),
    "late": late_dose,
    "lunch not eaten": lambda: breakfast_dose(with_meal("lunch", eaten=False)),
    "breakfast at nine": lambda: breakfast_dose(with_meal("breakfast", at="09:00")),
    "no model": lambda: seen_of(
        "insulin lispro 8 units and NPH insulin 20 units subcut 15 minutes before breakfast", "07:45", model=False
    ),
    "bedtime": lambda: seen_of(f"{DOSE} at bedtime", "22:00"),
    "small hours": small_hours,
    "crowded": lambda: breakfast_dose(
        [*teaching_site().meals, Meal(name="first snack", at="08:45"), Meal(name="second snack", at="09:30")]
    ),
    "two looks at half past three": lambda: breakfast_dose([*teaching_site().meals, Meal(name="snack", at="16:00")]),
    "no meals": lambda: breakfast_dose([]),
    "lunch at two": lambda: breakfast_dose(with_meal("lunch", at="14:00")),
    "just late": lambda: seen_of(f"{DOSE} at 07:30", "08:01", with_meal("breakfast", at="08:30")),
    "early": lambda: seen_of(f"{DOSE} 30 minutes before supper", "07:30"),
    "hill": lambda: breakfast_dose(site=hill_ward()),
    "hill supper": lambda: seen_of(f"{DOSE} 30 minutes before supper", "17:30", site=hill_ward()),
    "swapped": lambda: with_slip(swapped),
    "swapped, all wrong": lambda: with_slip(
        swapped,
        f"{DOSE} at 07:30",
        "08:30",
        with_meal("breakfast", at="09:30", eaten=False),
        leg=True,
        mixed_at="08:10",
    ),
    "swapped, no meals": lambda: with_slip(swapped, f"{DOSE} at 07:30", "08:30", [], mixed_at="08:10"),
    "swapped halves": lambda: with_slip(
        swapped, "regular insulin 17.5 units and NPH insulin 47.5 units subcut 30 minutes before breakfast", leg=True
    ),
    "clear layer": lambda: with_slip(from_clear_layer),
    "sediment": lambda: with_slip(from_sediment),
    "upper bound": lambda: with_slip(lambda order: contaminated(order, 0.2)),
    "leg": lambda: with_slip(leg=True),
    "leg walks later": lambda: walking(300),
    "sauna": lambda: walking(30, "sauna"),
    "an hour before": lambda: seen_of(f"{DOSE} 60 minutes before breakfast", "07:00"),
    "swapped, breakfast at nine": lambda: with_slip(swapped, meals=with_meal("breakfast", at="09:00")),
    "all at the injection": lambda: with_slip(
        swapped,
        f"{DOSE} 60 minutes before breakfast",
        "07:45",
        with_meal("breakfast", at="09:30"),
        mixed_at="07:20",
    ),
    "large": lambda: seen_of("regular insulin 30 units and NPH insulin 60 units subcut before breakfast", "07:30"),
}
DAYS = {name: cache(day) for name, day in DAYS.items()}


MOVED = {size: DayFigure(size) for size in (style.PAGE, style.ROOM)}


def drawing_of(day, size=style.ROOM):
    """A drawing moved to a day, which gives what drawing anew gives (tested below) in less time."""
    MOVED[size].show(DAYS[day]())
    return MOVED[size]


def drawn_parts(seen, size=style.ROOM):
    return parts(draw_day(seen, size))


def middle(shape):
    return sum(reach(shape)) / 2


def area(shape):
    xs, ys = shape.get_xy()[:-1].T
    return abs(np.dot(xs, np.roll(ys, 1)) - np.dot(ys, np.roll(xs, 1))) / 2


@pytest.mark.parametrize(("when", "given_at"), [("breakfast", 450), ("supper", 1050)])
def test_every_mark_stands_at_its_minute_of_the_clock(when, given_at):
    seen = seen_of(f"{DOSE} 30 minutes before {when}", f"{given_at // 60:02}:{given_at % 60:02}")
    plan, found = seen.plan, drawn_parts(seen)

    def x(time):
        assert 0 <= time.minutes - given_at <= 24 * 60
        return at_minute(0) + PER_MINUTE * (time.minutes - given_at)

    assert list(found["meals-eaten"].get_xdata()) == pytest.approx([x(one.at) for one in plan.meals])
    assert list(found["rounds"].get_xdata()) == pytest.approx([x(at) for at in plan.rounds])
    eat = found["eat-bracket"].get_xdata()
    assert (min(eat), max(eat)) == pytest.approx((x(plan.eat.start), x(plan.eat.end)))
    both = found["both-bracket"].get_xdata()
    assert (min(both), max(both)) == pytest.approx((x(plan.both_taught.start), x(plan.both_taught.end)))
    for acting in (plan.clear, plan.cloudy):
        name = f"taught-{acting.dose.insulin.look}"
        for shape, start, end in (
            (name, acting.starts.start, acting.ends.end),
            (f"{name}-sure", acting.starts.end, acting.ends.start),
        ):
            assert reach(found[shape]) == pytest.approx((x(start), x(end)))
        peak = found[f"{name}-peak"]
        assert middle(peak) == pytest.approx((x(acting.strongest.start) + x(acting.strongest.end)) / 2)
        model = f"model-{acting.dose.insulin.look}"
        assert list(found[model].get_xdata()) == pytest.approx([x(acting.model_start), x(acting.model_end)])
        assert list(found[f"{model}-peak"].get_xdata()) == pytest.approx([x(acting.model_strongest)])
    assert found["midnight"].get_xdata() == pytest.approx([x(ClockTime(24 * 60))] * 2)


@pytest.mark.parametrize("given_at", ["00:00", "00:30", "07:30", "17:31", "23:59"])
def test_clock_faces_stand_at_even_hours_and_the_next_day_at_midnight(given_at):
    seen = seen_of(DOSE, given_at, [Meal(name="meal", at="12:00")])
    plan, found = seen.plan, drawn_parts(seen)
    faces = [found[f"face-{at}"] for at in range(13) if found[f"face-{at}"].get_text()]
    assert len(faces) >= 12
    hours = found["hours"].get_xdata()[::3]
    assert len(hours) == len(faces)
    for face, hour in zip(faces, hours, strict=True):
        minutes = round((hour - at_minute(0)) / PER_MINUTE + plan.given_at.minutes)
        assert minutes % 120 == 0
        assert face.get_text() == ClockTime(minutes).face
        assert abs(face.get_position()[0] - hour) <= 5
    (midnight, _) = found["midnight"].get_xdata()
    assert (midnight - at_minute(0)) / PER_MINUTE == pytest.approx(24 * 60 - plan.given_at.minutes)
    assert abs(found["next-day"].get_position()[0] - midnight) < 30


@pytest.mark.parametrize("day", ["breakfast", "supper", "bedtime", "small hours"])
def test_the_night_is_hatched_from_bedtime_to_waking(day):
    seen = DAYS[day]()
    plan, found = seen.plan, drawn_parts(seen)
    asleep = np.zeros(25 * 60, dtype=bool)
    for at in range(2):
        start, end = ((x - at_minute(-BEFORE_MINUTES)) / PER_MINUTE for x in reach(found[f"night-{at}"]))
        if end > 0:
            asleep[round(start) : round(end)] = True
    (bed,), (waking,) = plan.site.bedtime.at, the_facts().rounds["waking"].at
    minutes = [ClockTime(plan.given_at.minutes - BEFORE_MINUTES + at).face for at in range(len(asleep))]
    assert [face >= bed or face < waking for face in minutes] == list(asleep)
    assert found["night-name"].get_text() == f"asleep {bed} to {waking}"
    assert found["night-0"].get_hatch()


def test_a_site_without_hours_of_sleep_has_none_in_picture_or_words():
    site = teaching_site()
    awake = replace(site, bedtime=the_facts().rounds["waking"])
    seen = breakfast_dose(site=awake)
    assert not sleep_windows(seen.plan)
    found = drawn_parts(seen)
    assert blank(found, "night-name", "night-0")
    assert "at no set time" in describe_day(seen)


def test_a_meal_that_is_not_eaten_is_hollow_and_crossed_and_says_so():
    seen = DAYS["lunch not eaten"]()
    found = drawn_parts(seen)
    lunch = next(one for one in seen.plan.meals if one.meal.name == "lunch")
    for name in ("meals-missed", "meals-crossed"):
        assert list(found[name].get_xdata()) == pytest.approx([at_time(seen.plan, lunch.at)])
    assert len(found["meals-eaten"].get_xdata()) == 2
    assert found["meals-missed"].get_markerfacecolor() == "white"
    assert found["meals-crossed"].get_marker() == "x"
    assert [words for words in written(found, "meal") if "not eaten" in words] == ["lunch 12:00 not eaten"]
    assert "Lunch at 12:00, 60 g of carbohydrate, not eaten." in describe_day(seen)
    assert blank(drawn_parts(breakfast_dose()), "meals-crossed")


@pytest.mark.parametrize("day", DAYS)
def test_looks_are_numbered_in_the_order_of_time_and_shaped_by_what_is_done(day):
    seen = DAYS[day]()
    plan, found = seen.plan, parts(drawing_of(day))
    numbers = [found[f"look-{at}-number"].get_text() for at in range(1, 17)]
    count = len(plan.visits)
    assert numbers == [str(at + 1) if at < count else "" for at in range(16)]
    assert [row[0] for row in visit_rows(plan)] == numbers[:count]
    xs = [middle(found[f"look-{at}"]) for at in range(1, count + 1)]
    assert xs == sorted(xs) == pytest.approx([at_time(plan, look.window.start) for look in plan.visits])
    corners = {look.measure: len(found[f"look-{at}"].get_xy()) for at, look in enumerate(plan.visits, 1)}
    for at, look in enumerate(plan.visits, 1):
        mark = found[f"look-{at}"]
        assert len(mark.get_xy()) == corners[look.measure]
        assert (mpl.colors.to_hex(mark.get_facecolor()) == "#ffffff") is not look.measure
    assert len(set(corners.values())) == len(corners)
    ends = found["look-spans"].get_xdata()[1::6]
    assert list(ends) == pytest.approx(
        [at_time(plan, look.window.end) for look in plan.visits if look.window.end > look.window.start]
    )


@pytest.mark.parametrize("day", DAYS)
def test_clashes_carry_a_letter_a_short_name_and_a_line_at_their_time(day):
    seen = DAYS[day]()
    plan, found = seen.plan, parts(drawing_of(day))
    said = [one for words in written(found, "clash") for one in words.removeprefix("! ").split("; ")]
    assert [row[0] for row in clash_rows(plan)] == list(ascii_uppercase)[: len(plan.clashes)]
    for clash, letter, one in zip(plan.clashes, ascii_uppercase[: len(said)], said, strict=True):
        if clash.key == "not as ordered":
            slip = str(seen.curves.injection.words)
            assert one in (f"{letter}: {clash.key}: {slip}", f"{letter}: {slip}")
        else:
            assert one == f"{letter}: {clash.key}"
    lines = found["clash-lines"].get_xdata()[::3]
    assert list(lines) == pytest.approx(sorted({at_time(plan, clash.at) for clash in plan.clashes}))
    assert found["clash-head"].get_text() == ("does not fit" if plan.clashes else "nothing found")


def test_the_days_show_every_kind_of_clash():
    keys = {clash.key for day in DAYS.values() for clash in day().plan.clashes}
    assert keys >= {
        "not as ordered", "acts sooner", "given late", "given early", "waited", "no meal", "meal not eaten", "meal too late",
        "later meal not eaten", "later meal late", "nobody at the tray", "nobody at peak", "exercise", "order's time",
    }  # fmt: skip


def test_nothing_found_is_no_all_clear():
    drawn = DayFigure(style.ROOM)
    found = parts(drawn)
    row = [found["clash-head"], found["clash-none-1"], found["clash-none-2"]]
    for day in ("nine", "calm", "nine"):
        drawn.show(breakfast_dose(with_meal("breakfast", at="09:00") if day == "nine" else None))
        words = " ".join(text.get_text() for text in row).strip()
        calm = "nothing found by the taught times; check on the patient all the same"
        assert words == (calm if day == "calm" else "does not fit")
    assert [text.get_position()[1] for text in row] == list(LANES)
    calm = breakfast_dose()
    assert not written(drawn_parts(calm), "clash")
    assert blank(drawn_parts(calm), "clash-lines")
    assert "What does not fit: nothing found by the taught times; check on the patient all the same." in describe_day(
        calm
    )


@pytest.mark.parametrize(
    ("day", "meal", "key", "at"),
    [("breakfast at nine", "breakfast", "meal too late", 450), ("lunch at two", "lunch", "later meal late", 720)],
)
def test_a_late_meal_clashes_where_something_can_still_be_done_and_not_where_it_is_served(day, meal, key, at):
    seen = DAYS[day]()
    found = drawn_parts(seen)
    x = at_time(seen.plan, ClockTime(at))
    assert seen.plan.clashes[0].key == key
    assert found["clash-lines"].get_xdata()[0] == pytest.approx(x)
    (served,) = [at_time(seen.plan, one.at) for one in seen.plan.meals if one.meal.name == meal]
    assert served > x + 30 * PER_MINUTE
    text = found["clash-0"]
    assert (text.get_text(), text.get_ha()) == (f"! A: {key}", "left")
    assert abs(text.get_position()[0] - x) < 10
    assert f"A, {key}, {ClockTime(at)}: " in describe_day(seen)


def test_an_exercise_that_moves_no_curve_is_said_to_lower_glucose_all_the_same():
    words = describe_day(DAYS["leg walks later"]())
    assert "no change in the curve; exercise lowers glucose all the same." in words
    assert "no change" not in describe_day(DAYS["leg"]())
    assert drawn_parts(DAYS["leg walks later"]())["day-notice"].get_text() == "leg exercise from minute 300 to 360"


def test_clashes_at_one_time_share_a_line_rather_than_lose_a_word():
    found = drawn_parts(DAYS["swapped, no meals"]())
    slip = "the two doses swapped: 20 units of regular insulin and 8 units of NPH insulin"
    assert written(found, "clash")[:3] == [f"! A: not as ordered: {slip}", "! B: given late", "! C: waited; D: no meal"]


def test_a_clash_without_room_keeps_its_letter():
    meals = [Meal(name=f"meal {hour}", at=f"{hour:02}:00", eaten=False) for hour in range(8, 14)]
    found = drawn_parts(seen_of(f"{DOSE}", "07:30", meals))
    words = written(found, "clash")
    assert [said[:3] for said in words] == [f"! {letter}" for letter in "ABCDEF"]
    assert {len(said) > 3 for said in words} == {True, False}


def test_words_that_found_no_room_come_back_once_a_neighbor_is_shorter():
    meals = [Meal(name=f"meal {at}", at=at, eaten=False) for at in ("10:00", "11:00", "12:15")]
    seen = seen_of(f"{DOSE} at 07:00", "07:45", meals, mixed_at="07:20", model=False)
    assert written(drawn_parts(seen), "clash") == [
        "! A: given late", "! B: waited; C: no meal", "! D: later meal not eaten", "! E", "! F: later meal not eaten"
    ]  # fmt: skip


def test_a_clash_without_room_for_a_letter_keeps_its_line_and_the_list_is_pointed_to():
    meals = [Meal(name=f"meal {at}", at=f"12:{at:02}", eaten=False) for at in range(0, 50, 5)]
    seen = seen_of(f"{DOSE}", "07:30", meals)
    found = drawn_parts(seen)
    assert len(written(found, "clash")) < len(seen.plan.clashes)
    assert len(found["clash-lines"].get_xdata()[::3]) == len({clash.at for clash in seen.plan.clashes})
    row = ClashRow(Board(style.ROOM))
    assert row.show(Moving({}), seen)
    assert not row.show(Moving({}), DAYS["swapped, all wrong"]())


@pytest.mark.parametrize("day", DAYS)
def test_only_a_dose_given_as_ordered_is_called_the_dose_of_the_day(day):
    seen = DAYS[day]()
    plan, found, words = seen.plan, parts(drawing_of(day)), describe_day(seen)
    title, rows = found["day-title"].get_text(), [found[f"name-{look}"].get_text() for look in ("clear", "cloudy")]
    doses = [
        (f"{dose.insulin} {dose.units:g} units", dose.insulin.look) for dose in (plan.order.clear, plan.order.cloudy)
    ]
    both = " and ".join(amount for amount, _ in doses)
    if seen.curves is None or not seen.curves.injection.slipped:
        assert title == f"The day after {both}"
        assert rows == [f"{amount}, {look}" for amount, look in doses]
        assert "of what is in" not in words
        return
    assert title == f"Ordered: {both}. Given: see A"
    assert rows == [f"ordered: {amount}" for amount, _ in doses]
    assert [found[f"source-{look}"].get_text().split("; ")[0] for look in ("clear", "cloudy")] == ["clear", "cloudy"]
    for row in ("name-clear", "source-clear", "name-cloudy", "source-cloudy"):
        assert found[row].get_window_extent().x1 < at_minute(0)
    assert str(seen.curves.injection.words) in written(found, "clash")[0]
    assert found["day-notice"].get_text().startswith("curves: what is in, see A")
    assert words.startswith(f"{title}. ")
    assert words.count("ordered: ") >= 2
    assert words.count("Model, of what is in, see A: ") == 2
    assert "The day after" not in words


def test_model_marks_and_strip_follow_what_is_in_and_the_taught_bars_the_order():
    right, wrong = breakfast_dose(), DAYS["swapped"]()
    before, after = drawn_parts(right), drawn_parts(wrong)
    for look in ("clear", "cloudy"):
        curves = wrong.curves
        ends = [at_minute(60 * hours) for hours in (curves.onset(look), curves.end(look))]
        assert list(after[f"model-{look}"].get_xdata()) == pytest.approx(ends, abs=PER_MINUTE)
        assert not np.allclose(after[f"model-{look}"].get_xdata(), before[f"model-{look}"].get_xdata(), atol=PER_MINUTE)
        assert np.array_equal(after[f"taught-{look}"].get_xy(), before[f"taught-{look}"].get_xy())
    low, top = (after[f"scale-{at}"] for at in (0, 2))
    unit = (top.get_position()[1] - low.get_position()[1]) / float(top.get_text())
    assert (np.max(after["acting"].get_ydata()) - low.get_position()[1]) / unit == pytest.approx(
        wrong.curves.total.max(), rel=0.01
    )
    assert wrong.curves.total.max() > 1.2 * right.curves.total.max()


def test_a_meal_far_from_its_dose_is_named_as_the_one_it_belongs_to():
    seen = DAYS["early"]()
    assert drawn_parts(seen)["eat-words"].get_text() == "this dose belongs to supper, only at 18:00"
    assert "This dose belongs to supper, only at 18:00." in describe_day(seen)
    alone = DAYS["no meals"]()
    assert drawn_parts(alone)["eat-words"].get_text() == "no meal belongs to this dose"
    assert "No meal belongs to this dose." in describe_day(alone)


def test_a_late_tray_is_looked_at_when_it_is_due_and_when_it_comes():
    seen = DAYS["breakfast at nine"]()
    plan, found = seen.plan, drawn_parts(seen)
    looks = [(at, look) for at, look in enumerate(plan.visits, 1) if look.key == "meal"]
    assert [(look.window.start.face, look.measure) for _, look in looks] == [("08:15", True), ("09:00", True)]
    (own,) = [at_time(plan, one.at) for one in plan.meals if one is plan.meal]
    assert middle(found[f"look-{looks[1][0]}"]) == pytest.approx(own)
    assert "Look 2, 09:00, measure: Breakfast comes now, late" in describe_day(seen)
    for day in ("breakfast", "late", "just late"):
        assert [look.key for look in DAYS[day]().plan.visits].count("meal") == 1, day


@pytest.mark.parametrize(
    "day", ["swapped", "swapped, breakfast at nine", "clear layer", "sediment", "upper bound", "swapped, no meals"]
)
def test_every_look_after_a_slip_is_a_drop(day):
    seen = DAYS[day]()
    found, words = drawn_parts(seen), describe_day(seen)
    for at in range(1, len(seen.plan.visits) + 1):
        assert mpl.colors.to_hex(found[f"look-{at}"].get_facecolor()) == style.INK
    assert ", look and ask: " not in words
    assert ", look and ask: " in describe_day(breakfast_dose())


FORBID = {"given late", "given early", "order's time", "no meal", "meal not eaten", "meal too late"}  # "not given: …"
QUESTIONS = {
    "late": "A", "just late": "A", "early": "A", "no meals": "A", "bedtime": "A", "swapped, all wrong": "B",
    "swapped, no meals": "B", "all at the injection": "B", "breakfast at nine": "A", "an hour before": "A",
    "small hours": "A", "swapped, breakfast at nine": "B",
}  # fmt: skip

HELD = {"bedtime", "small hours", "an hour before", "all at the injection", "swapped halves"}
"""Days of an order that is to be cleared up: no time, or one that its insulin is not taught for, or doses between two lines."""


@pytest.mark.parametrize("day", DAYS)
def test_while_a_question_is_open_nobody_is_told_when_to_draw_up(day):
    seen = DAYS[day]()
    plan, words = seen.plan, describe_day(seen)
    line = parts(drawing_of(day))["limits"].get_text()
    times = (f"draw up from {plan.draw_up_from.face}", f"inject at once, by {plan.inject_by.face}")
    due = f"; ordered for {plan.due_at.face}" if plan.due_at else ""
    letter = QUESTIONS.get(day)
    assert plan.answer.held is (day in HELD)
    if plan.answer.held:  # the order is cleared up first, whatever else is asked
        assert line == "Hold and ask. Draw nothing up: what follows is for the lesson only."
        assert f"{plan.answer.text} {plan.answer.for_the_lesson} Injected at {plan.given_at}." in words
        assert not any(time in (line + words).lower() for time in times)
        return
    if letter is None:
        assert all(time in line for time in times)
        assert line.endswith(due)
        assert "not before the question" not in line + words
        assert not FORBID & {clash.key for clash in plan.clashes}
        return
    assert line == f"not before the question in {letter} is answered{due}"
    assert f"Injected at {plan.given_at}, but {line}." in words
    assert not any(time in (line + words).lower() for time in times)
    (asked,) = [clash.key for row, clash in zip(clash_rows(plan), plan.clashes, strict=True) if row[0] == letter]
    assert asked in FORBID
    assert not [clash for clash in plan.clashes[: ascii_uppercase.index(letter)] if clash.key in FORBID]


def test_the_injection_says_when_to_draw_up_and_by_when_to_inject():
    found = drawn_parts(breakfast_dose())
    assert found["injected"].get_text() == "injected 07:30"
    assert found["limits"].get_text() == "draw up from 07:15 and inject at once, by 07:45; ordered for 07:30"
    waited = drawn_parts(breakfast_dose(mixed_at="07:05"))["limits"].get_text()
    assert waited == "draw up from 07:15; mixed at 07:05, so inject at once, by 07:20 at the latest; ordered for 07:30"


@pytest.mark.parametrize("day", ["breakfast", "supper", "lunch not eaten", "bedtime", "large"])
def test_the_shading_is_as_large_as_what_lies_between_action_and_need(day):
    seen = DAYS[day]()
    found = drawn_parts(seen)
    low, top = found["scale-0"], found["scale-2"]
    high = top.get_position()[1] - low.get_position()[1]
    unit = 60 * PER_MINUTE * high / float(top.get_text())  # square points for a unit of insulin
    assert float(low.get_text()) == 0
    assert float(found["scale-1"].get_text()) * 2 == float(top.get_text())
    assert float(top.get_text()) >= max(seen.cover.action.max(), seen.cover.need.max())
    difference = seen.cover.action - seen.cover.need
    for name, sign in (("beyond", 1), ("missing", -1)):
        wanted = np.trapezoid(np.maximum(sign * difference, 0), seen.cover.hours)
        assert area(found[name]) / unit == pytest.approx(wanted, rel=0.01, abs=0.03)  # every tenth minute is drawn
    assert found["beyond"].get_hatch()
    assert not found["missing"].get_hatch()
    assert found["acting"].get_linestyle() != found["need"].get_linestyle()


def test_the_strip_stays_light_for_curves_of_every_minute():
    order = read_order(f"{DOSE} 30 minutes before breakfast")
    seen = breakfast_dose(curves=action_curves(order, np.arange(24 * 60 + 1) / 60))
    found = drawn_parts(seen)
    xs = found["acting"].get_xdata()
    assert len(xs) <= 147
    assert xs[-1] == pytest.approx(at_minute(24 * 60))


def test_a_pair_without_a_model_has_bars_and_says_why_there_is_no_strip():
    drawn = DayFigure(style.ROOM)
    drawn.show(breakfast_dose())
    seen = DAYS["no model"]()
    drawn.show(seen)
    found = parts(drawn)
    assert found["no-strip"].get_text() == str(NO_CURVES)
    assert blank(found, "acting", "need", "model-clear", "model-clear-peak", "model-cloudy", "beyond", "missing")
    assert not written(found, "scale")
    assert found["name-clear"].get_text() == "insulin lispro 8 units, clear"
    assert str(NO_CURVES) in describe_day(seen)
    uncovered = replace(breakfast_dose(), cover=None)
    drawn.show(uncovered)
    assert found["no-strip"].get_text() == str(NO_COVER)
    assert str(NO_COVER) in describe_day(uncovered)


def test_a_handbook_with_a_gap_leaves_its_piece_out():
    order = read_order(DOSE)
    rows = [row for dose in order.doses for row in dose.insulin.row.times]
    assert {None} <= {row.peak for row in rows} & {row.onset for row in rows}
    drawn = DayFigure(style.ROOM)
    found = parts(drawn)
    for source in dict.fromkeys(row.source for row in rows):
        seen = breakfast_dose(row=source)
        drawn.show(seen)
        for acting in (seen.plan.clear, seen.plan.cloudy):
            look = acting.dose.insulin.look
            assert bool(np.ptp(found[f"taught-{look}-peak"].get_xy())) is bool(acting.strongest)
            whole = bool(acting.starts and acting.ends)
            assert bool(np.ptp(found[f"taught-{look}-sure"].get_xy())) is whole
            source = found[f"source-{look}"]
            assert ("recalled" in source.get_text()) is any(row.known == "recalled" for row in acting.row.rows)


def test_what_differs_from_the_order_is_said_in_picture_and_words():
    order = read_order(f"{DOSE} 30 minutes before breakfast")
    curves = action_curves(order, HOURS, body_site="thigh")
    seen = breakfast_dose(curves=curves)
    assert drawn_parts(seen)["day-notice"].get_text() == "given in the thigh"
    assert "Given in the thigh." in describe_day(seen)
    slip = replace(as_ordered(order), words="the other way round", slipped=True)
    slipped = drawn_parts(breakfast_dose(curves=action_curves(order, HOURS, injection=slip)))
    assert slipped["day-notice"].get_text() == "curves: what is in, see A"
    assert written(slipped, "clash")[0] == "! A: not as ordered: the other way round"
    leg = drawn_parts(with_slip(swapped, leg=True))["day-notice"].get_text()
    assert leg == "curves: what is in, see A; given in the thigh; leg exercise from minute 30 to 90"
    large = DAYS["large"]()
    assert drawn_parts(large)["day-notice"].get_text() == "extrapolated above 40 units, our own limit"
    assert blank(drawn_parts(breakfast_dose()), "day-notice")


def test_clear_is_plain_and_cloudy_is_dotted():
    found = drawn_parts(breakfast_dose())
    for piece in ("sure", "peak"):
        assert set(found[f"taught-cloudy-{piece}"].get_hatch()) == set(style.CLOUDY_HATCH)
        assert not found[f"taught-clear-{piece}"].get_hatch()


@pytest.mark.parametrize("size", [style.ROOM, pytest.param(style.PAGE, marks=pytest.mark.long)], ids=["room", "page"])
def test_moving_a_drawing_gives_what_drawing_anew_gives(size):
    """Sample: every day in the room's size; on a page the same parts move."""
    moves_as_drawn_anew(lambda seen: draw_day(seen, size), [(DAYS[day](),) for day in [*DAYS, "breakfast"]])


@pytest.mark.parametrize("day", DAYS)
@pytest.mark.parametrize("size", [style.PAGE, style.ROOM], ids=["page", "room"])
def test_no_words_leave_the_picture_or_lie_on_others(day, size):
    drawn = drawing_of(day, size)
    assert not words_outside(drawn, -1)
    assert not words_on_words(drawn)


@pytest.mark.parametrize("day", DAYS)
def test_no_look_lies_on_another_or_on_words(day):
    seen = DAYS[day]()
    found = parts(drawing_of(day))
    marks = [found[f"look-{at}"] for at in range(1, len(seen.plan.visits) + 1)]
    words = [text for gid, text in found.items() if isinstance(text, mpl.text.Text) and text.get_text()]
    numbers = {id(found[f"look-{at}-number"]) for at in range(1, len(marks) + 1)}
    areas = [mark.get_window_extent() for mark in marks]
    others = [text.get_window_extent() for text in words if id(text) not in numbers]
    for at, box in enumerate(areas):
        assert not any(lie_on(box, other, 1, 5) for other in [*areas[at + 1 :], *others])  # the tip of a drop is thin


@settings(deadline=None, max_examples=settings.default.max_examples // 3)
@given(st.integers(0, 24 * 60 - 1), st.booleans())
def test_meal_names_never_lie_on_each_other_whatever_the_hour(minutes, eaten):
    meals = [replace(meal, eaten=eaten) for meal in teaching_site().meals]
    try:
        seen = seen_of(DOSE, ClockTime(minutes).face, meals, model=False)
    except MealBeforeDose:
        reject()
    MOVED[style.ROOM].show(seen)
    assert not words_on_words(MOVED[style.ROOM], but=r"^(?!(meal|clash|face)-\d+$)")


def test_a_lane_is_taken_once_and_none_is_left_when_all_are_full():
    lanes = [[(0.0, 10.0)], []]
    assert take_lane(lanes, (5, 20)) == (1, 0)
    assert take_lane(lanes, (5, 20), (11, 20)) == (0, 1)
    assert take_lane(lanes, (5, 20)) is None


def test_a_meal_without_room_keeps_its_time_or_at_least_its_mark():
    meals = [*teaching_site().meals, Meal(name="first snack", at="08:30"), Meal(name="second snack", at="09:00")]
    found = drawn_parts(breakfast_dose(meals))
    assert len(found["meals-eaten"].get_xdata()) == 5
    assert written(found, "meal") == ["breakfast 08:00", "09:00", "lunch 12:00", "supper 18:00"]
    assert found["day-more"].get_text()


def test_more_than_has_room_is_said():
    meals = [Meal(name=f"meal {hour}", at=f"{hour:02}:00") for hour in range(8, 22)]
    found = drawn_parts(seen_of(DOSE, "07:30", meals))
    assert found["day-more"].get_text() == "more in the list than fits here"
    assert blank(drawn_parts(breakfast_dose()), "day-more")


@pytest.mark.parametrize("day", DAYS)
def test_the_words_name_every_meal_look_clash_and_who_says_so(day):
    seen = DAYS[day]()
    plan, words = seen.plan, describe_day(seen)
    said = [
        f"Injected at {plan.given_at}", str(plan.site.cite(plan.clear.row)), str(plan.site.cite(plan.cloudy.row)),
        f"Somebody is due at {plan.rounds[0]}", *(f"{one.meal.name} at {one.at}".capitalize() for one in plan.meals),
    ]  # fmt: skip
    if day not in QUESTIONS and not plan.answer.held:
        said += [f"Draw up from {plan.draw_up_from}", f"inject at once, by {plan.inject_by}"]
        said.append(str(plan.site.cite(plan.site.waiting)))
    for look, (number, when, what, who) in zip(plan.visits, visit_rows(plan), strict=True):
        said.append(f"Look {number}, {when}, {'measure' if look.measure else 'look and ask'}: {what} Rule: {who}.")
        assert (what, who) == (str(look.say), str(plan.site.cite(look.rule)))
    for clash, (letter, when, what, who) in zip(plan.clashes, clash_rows(plan), strict=True):
        said.append(f"{letter}, {clash.key}, {when}: {what} Rule: {who}.")
        limits = [f"limit {one.value:g} {one.unit}: {plan.site.cite(one)}" for one in clash.limits]
        assert (what, who) == (str(clash.say), "; ".join([str(plan.site.cite(clash.rule)), *limits]))
    assert len(plan.standing) == 2
    said += [f"{what} Rule: {plan.site.cite(rule)}." for what, rule in plan.standing]
    if plan.eat:
        said.append(f"may come from {plan.eat}")
    if plan.both_taught:
        said.append(f"Both insulins can act from {plan.both_taught}")
    if seen.curves:
        said += [f"starts at {plan.clear.model_start}", "numbers are recalled", "not a glucose, not a dose rule"]
        said += [str(the_facts().cite(fact)) for fact in seen.cover.basis]
    for one in said:
        assert one in words
    assert words.index("Injected") < words.index("Taught:") < words.index("Look 1,")
    assert not re.search(r"[|▽○●!·→▸≥≤]", words)


def test_the_words_give_the_units_between_the_meals():
    seen = DAYS["lunch not eaten"]()
    words = describe_day(seen)
    for start, end, hours in (("08:00", "12:00", (0.5, 4.5)), ("12:00", "18:00", (4.5, 10.5))):
        beyond, missing = (round(units(*hours), 1) for units in (seen.cover.uncovered, seen.cover.missing))
        assert (
            f"From {start} to {end}: {beyond:g} units beyond the assumed need, {missing:g} units of need beyond insulin."
        ) in words
    assert "From 12:00 to 18:00: 5.9 units beyond" in words  # action-model sheet, section 10: 5.92 for 4.5 to 10.5 h


def test_the_words_tell_another_share_of_the_fasting_need():
    seen = breakfast_dose()
    other = replace(seen, cover=cover(seen.curves, eaten_meals(seen.plan), basal_share=0.5))
    assert "set to 0.5 for this day" in describe_day(other)
    assert "for this day" not in describe_day(seen)


def test_the_words_give_the_rule_of_the_own_meal_for_rapid_and_regular_insulin():
    assert "0 to 15 minutes after the injection" in describe_day(DAYS["no model"]())
    assert "30 minutes after the injection" in describe_day(breakfast_dose())


def test_an_insulin_that_never_acts_enough_is_said_to_do_so():
    seen = seen_of("regular insulin 1 unit and NPH insulin 1 unit 30 minutes before breakfast", "07:30")
    assert seen.plan.cloudy.model_start is None
    assert "never acts enough to count as begun" in describe_day(seen)
    assert blank(drawn_parts(seen), "model-cloudy")
