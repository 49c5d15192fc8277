"""The day after a mixed dose: every time on the clock, every look, every clash at its boundary, and what is refused."""

from dataclasses import fields, is_dataclass, replace
from types import SimpleNamespace
from unittest.mock import patch

import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

from mixlab import Meal, action_curves, day_plan, read_order, teaching_site
from mixlab.care.day import CannotPlan, MealBeforeDose, MealsAtOnce, NoSuchRow
from mixlab.care.depot import NoModel
from mixlab.care.timing import handbooks
from mixlab.facts.record import ActionTimes, RuleRow
from mixlab.facts.shelf import shelf
from mixlab.quantities import MINUTES_A_DAY, ClockTime, NotAClockTime, NotAnAmount
from mixlab.ward.order import Dose, NotOneClearOneCloudy, Order
from mixlab.ward.site import Site

FACTS = shelf()
WARD = teaching_site()
PLAIN = read_order("regular insulin 8 units and NPH insulin 20 units subcut")
BREAKFAST = replace(PLAIN, when="30 minutes before breakfast")
SUPPER = replace(PLAIN, when="30 minutes before supper")
RAPID = read_order("insulin lispro 8 units and NPH insulin 20 units subcut with breakfast")
MORNING, EVENING = (BREAKFAST, "07:30"), (SUPPER, "17:30")


def face(minutes):
    return ClockTime(minutes).face


def clock(text, days=0):
    hour, minute = text.split(":")
    return ClockTime(int(hour) * 60 + int(minute) + days * MINUTES_A_DAY)


def meals(**at):
    """Return meals by name; a time with a stroke before it is of a meal that is not eaten."""
    return [Meal(name=name, at=time.lstrip("-"), eaten=time[0] != "-") for name, time in at.items()]


def ward(**changed):
    times = {key: replace(getattr(WARD, key), at=changed.pop(key)) for key in ("rounds", "bedtime") if key in changed}
    facts = {key: replace(getattr(WARD, key), value=value) for key, value in changed.items()}
    return replace(WARD, **times, **facts)


def clash_keys(plan):
    return [clash.key for clash in plan.clashes]


def clash(plan, key):
    (one,) = (one for one in plan.clashes if one.key == key)
    return one


def look(plan, key):
    (one,) = (one for one in plan.looks if one.key == key)
    return one


# What is planned


def test_a_breakfast_dose_on_the_clock():
    plan = day_plan(*MORNING)
    assert (plan.given_at, plan.mixed_at, plan.due_at) == (clock("07:30"),) * 3
    assert (plan.draw_up_from, plan.inject_by) == (clock("07:15"), clock("07:45"))
    assert (plan.meal.meal.name, plan.meal.at) == ("breakfast", clock("08:00"))
    assert str(plan.eat) == "07:45 to 08:15"
    assert [(one.meal.name, str(one.at)) for one in plan.meals] == [
        ("breakfast", "08:00"),
        ("lunch", "12:00"),
        ("supper", "18:00"),
    ]
    assert [str(at) for at in plan.rounds] == [
        *("11:30", "15:30", "17:30", "21:30"),
        *("02:00 the next day", "07:00 the next day"),
    ]
    assert plan.clashes == ()


def test_a_supper_dose_runs_across_midnight():
    plan = day_plan(*EVENING)
    assert str(plan.eat) == "17:45 to 18:15"
    assert [(one.meal.name, str(one.at)) for one in plan.meals] == [
        ("supper", "18:00"),
        ("breakfast", "08:00 the next day"),
        ("lunch", "12:00 the next day"),
    ]
    assert str(plan.clear.ends) == "22:30 to 01:30 the next day"
    assert str(plan.cloudy.strongest) == "01:30 the next day"
    assert str(plan.cloudy.ends) == "05:30 to 09:30 the next day"
    assert str(plan.both_taught) == "18:30 to 01:30 the next day"
    assert plan.clashes == ()


def test_a_dose_just_before_midnight_has_its_meal_after_it():
    plan = day_plan(PLAIN, "23:45", meals(night="00:15"), mixed_at="23:40")
    assert (plan.given_at, plan.mixed_at) == (clock("23:45"), clock("23:40"))
    assert str(plan.inject_by) == "23:55"
    assert str(plan.eat) == "00:00 to 00:30 the next day"
    assert plan.meal.at == clock("00:15", days=1)
    assert "meal too late" not in clash_keys(plan)


def test_what_was_mixed_before_midnight_is_given_after_it():
    plan = day_plan(PLAIN, "00:05", meals(night="00:35"), mixed_at="23:55")
    assert plan.mixed_at == clock("23:55", days=-1)
    assert str(plan.mixed_at) == "23:55 the day before"
    assert plan.inject_by == clock("00:10")
    assert "waited" not in clash_keys(plan)


def test_the_windows_are_those_of_the_ward():
    site = ward(waiting=5, meal_lead=20, meal_slack=10)
    plan = day_plan(*MORNING, site=site, mixed_at="07:20")
    assert (str(plan.draw_up_from), str(plan.inject_by)) == ("07:25", "07:25")
    assert str(plan.eat) == "07:40 to 08:00"
    assert clash_keys(plan) == ["waited"]


def test_a_meal_window_never_begins_before_the_injection():
    assert str(day_plan(*MORNING, site=ward(meal_lead=10, meal_slack=15)).eat) == "07:30 to 07:55"


def test_the_wards_meals_are_used_where_none_are_given():
    assert day_plan(*MORNING) == day_plan(*MORNING, meals=WARD.meals, site=WARD)
    assert day_plan(*MORNING, meals=()).meals == ()
    own = replace(WARD, meals=tuple(meals(breakfast="08:10")))
    assert day_plan(*MORNING, site=own).meal.at == clock("08:10")


@pytest.mark.parametrize("at", ["07:30", "17:30", "23:59"])
@pytest.mark.parametrize("source", handbooks(PLAIN))
def test_the_taught_times_are_those_of_the_chosen_handbook(source, at):
    plan = day_plan(PLAIN, at, row=source)
    for one, key in ((plan.clear, "regular"), (plan.cloudy, "nph")):
        (row,) = (row for row in FACTS.insulins[key].times if row.source == source)
        assert one.row == row
        for window, span in ((one.starts, row.onset), (one.strongest, row.peak), (one.ends, row.duration)):
            hours = [(plan.given_at.until(end)) / 60 for end in (window.start, window.end)]
            assert hours == pytest.approx([span.low, span.high], abs=0.5 / 60)
    first, last = max(plan.clear.starts.start, plan.cloudy.starts.start), min(plan.clear.ends.end, plan.cloudy.ends.end)
    assert (plan.both_taught.start, plan.both_taught.end) == (first, last)


def test_the_handbooks_are_those_with_both_insulins_and_the_taught_one_comes_first():
    both = {row.source for row in FACTS.insulins["regular"].times} & {row.source for row in FACTS.insulins["nph"].times}
    assert handbooks(PLAIN)[0] == FACTS.insulins["regular"].taught_times.source
    assert sorted(handbooks(PLAIN)) == sorted(both)
    assert len(both) == 9
    assert day_plan(*MORNING) == day_plan(*MORNING, row=handbooks(PLAIN)[0])


def test_a_handbook_with_one_insulin_only_leaves_the_other_as_taught():
    plan = day_plan(RAPID, "08:00", row="aap-2003")
    assert (plan.clear.row, plan.cloudy.row.source) == (FACTS.insulins["lispro"].taught_times, "aap-2003")
    assert "aap-2003" not in handbooks(RAPID)


def test_the_models_times_are_those_of_the_reference():
    # onset, peak and end of 8 units of regular and 20 of NPH at 70 kg: 0.609, 2.175, 6.139; 1.598, 5.979, 17.176 h (computed)
    plan = day_plan(*MORNING)
    hours = [
        [plan.given_at.until(at) / 60 for at in (one.model_start, one.model_strongest, one.model_end)]
        for one in (plan.clear, plan.cloudy)
    ]
    assert hours[0] == pytest.approx([0.609, 2.175, 6.139], abs=0.02)
    assert hours[1] == pytest.approx([1.598, 5.979, 17.176], abs=0.02)
    assert str(plan.both_model) == "09:06 to 13:38"
    assert str(plan.both_taught) == "08:30 to 15:30"


def test_other_curves_move_the_models_times_and_nothing_else():
    usual = day_plan(*MORNING)
    other = day_plan(*MORNING, curves=action_curves(BREAKFAST, (0.0,), 100, body_site="thigh"))
    assert other.clear.model_strongest > usual.clear.model_strongest
    assert other.cloudy.model_start > usual.cloudy.model_start
    kept = {"clear", "cloudy", "both_model"}
    assert all(
        getattr(usual, each.name) == getattr(other, each.name) for each in fields(usual) if each.name not in kept
    )
    assert [(one.starts, one.strongest, one.ends) for one in (usual.clear, usual.cloudy)] == [
        (one.starts, one.strongest, one.ends) for one in (other.clear, other.cloudy)
    ]


def test_an_insulin_without_a_model_has_taught_times_only():
    plan = day_plan(RAPID, "08:00")
    assert {one.model_start for one in (plan.clear, plan.cloudy)} == {None}
    assert plan.both_model is None
    assert str(plan.both_taught) == "09:00 to 13:00"


def test_insulins_that_do_not_act_together_have_no_window():
    # lispro for 2 to 4 h and NPH from 2 h, or from 4 where the handbook has it so
    assert day_plan(RAPID, "08:00", row="diabetes-ther-2018").both_taught is not None
    late = replace(
        FACTS.insulins["nph"].taught_times, onset=replace(FACTS.insulins["nph"].taught_times.onset, low=5, high=5)
    )
    nph = RAPID.cloudy.insulin
    insulin = replace(nph, row=replace(nph.row, times=(late,)))
    order = replace(RAPID, doses=(RAPID.clear, replace(RAPID.cloudy, insulin=insulin)))
    assert day_plan(order, "08:00").both_taught is None


@pytest.mark.parametrize(
    ("when", "due"),
    [
        ("30 minutes before breakfast", "07:30"),
        ("half an hour before breakfast", "07:30"),
        ("an hour before breakfast", "07:00"),
        ("one hour before breakfast", "07:00"),
        ("20 min before breakfast", "07:40"),
        ("15 mins before the morning meal", "07:45"),
        ("twenty minutes before breakfast", "07:40"),
        ("before breakfast", None),
        ("with breakfast", "08:00"),
        (None, None),
    ],
)
def test_when_the_order_wants_the_dose(when, due):
    text = "regular insulin 8 units and NPH insulin 20 units subcut " + (when or "")
    plan = day_plan(read_order(text), "07:10")
    assert (plan.due_at and plan.due_at.face) == due


def test_a_clock_time_in_the_order_is_when_it_wants_the_dose():
    plan = day_plan(replace(BREAKFAST, clock="23:50"), "00:10", meals(breakfast="00:40"))
    assert plan.due_at == clock("23:50", days=-1)


def test_the_dose_belongs_to_the_meal_its_order_names_and_else_to_the_nearest():
    listed = meals(breakfast="08:00", snack="07:40")
    assert day_plan(BREAKFAST, "07:30", listed).meal.meal.name == "breakfast"
    assert day_plan(PLAIN, "07:30", listed).meal.meal.name == "snack"
    named = replace(PLAIN, when="30 minutes before the evening meal")
    assert day_plan(named, "17:30").meal.meal.name == "supper"


def test_a_meal_is_named_in_whatever_letters_it_is_listed():
    listed = [Meal(name="Breakfast", at="08:00"), Meal(name="Juice", at="07:45")]
    assert day_plan(BREAKFAST, "07:30", listed).meal.meal.name == "Breakfast"


# Looks


def test_the_looks_of_a_breakfast_dose():
    assert [(one.key, str(one.window), one.measure) for one in day_plan(*MORNING).looks] == [
        ("meal", "08:00 to 08:15", False),
        ("clear", "09:30 to 11:30", False),
        ("before meal", "11:30", True),
        ("cloudy", "15:30", True),
        ("before meal", "17:30", True),
        ("end", "19:30 to 23:30", True),
        ("bedtime", "21:30", True),
    ]


def test_the_looks_of_a_supper_dose():
    plan = day_plan(*EVENING)
    assert [(one.key, str(one.window), one.measure) for one in plan.looks] == [
        ("meal", "18:00 to 18:15", False),
        ("clear", "19:30 to 21:30", False),
        ("bedtime", "21:30", True),
        ("cloudy", "01:30 the next day", True),
        ("end", "05:30 to 09:30 the next day", True),
        ("before meal", "07:30 the next day", True),
        ("before meal", "11:30 the next day", True),
    ]
    assert "while the patient sleeps" in look(plan, "cloudy").say


@pytest.mark.parametrize(
    ("at", "start"), [("08:00", "08:00"), ("07:40", "07:40"), ("08:15", "08:15"), ("09:30", "08:15")]
)
def test_the_first_look_is_at_the_meal_and_never_later_than_it_may_come(at, start):
    plan = day_plan(BREAKFAST, "07:30", meals(breakfast=at))
    assert plan.first_look is plan.looks[0]
    assert (plan.first_look.key, plan.first_look.window.start, plan.first_look.window.end) == (
        *("meal", clock(start)),
        clock("08:15"),
    )
    assert plan.first_look.say.startswith("Breakfast: has it come")
    assert "Regular insulin is in and will act." in plan.first_look.say


@pytest.mark.parametrize(
    ("given_at", "awake"),
    [
        ("19:29", True),  # strongest 21:29, or from 21:30
        ("19:30", False),
        ("04:29", False),  # strongest 06:29, or from 06:30
        ("04:30", True),
    ],
)
def test_a_peak_in_the_hours_of_sleep_is_measured(given_at, awake):
    regular = PLAIN.clear.insulin
    row = replace(regular.times, peak=replace(regular.times.peak, low=2, high=2))
    insulin = replace(regular, row=replace(regular.row, times=(row,)))
    plan = day_plan(replace(PLAIN, doses=(replace(PLAIN.clear, insulin=insulin), PLAIN.cloudy)), given_at, ())
    assert look(plan, "clear").measure is not awake
    assert ("while the patient sleeps" in look(plan, "clear").say) is not awake


def test_a_peak_that_holds_the_whole_night_is_a_peak_in_sleep():
    # strongest at 4–14 h: from 21:00, before bedtime, until 07:00, after waking
    plan = day_plan(SUPPER, "17:00", meals(supper="17:30"), row="aap-2003")
    assert str(look(plan, "cloudy").window) == "21:00 to 07:00 the next day"
    assert "while the patient sleeps" in look(plan, "cloudy").say


@pytest.mark.parametrize(
    ("given_at", "asks", "words"),
    [
        ("17:30", "look-bedtime-night", "taught to be strongest in hours of sleep (01:30 the next day)"),
        ("13:31", "look-bedtime-night", "hours of sleep (21:31)"),
        ("13:30", "look-bedtime", "NPH insulin may act until 05:30 the next day"),
        ("07:30", "look-bedtime", "NPH insulin may act until 23:30"),
        ("05:30", "look-bedtime", "NPH insulin may act until 21:30"),
        ("05:29", "look-bedtime-done", "NPH insulin of this dose no longer acts"),
        ("21:30", "look-bedtime-night", "hours of sleep (05:30 the next day)"),
        ("21:31", "look-bedtime-done", "no longer acts"),
    ],
)
def test_the_question_at_bedtime(given_at, asks, words):
    bedtime = look(day_plan(PLAIN, given_at, ()), "bedtime")
    assert bedtime.rule == FACTS.day_rules[asks]
    assert words in bedtime.say
    assert bedtime.measure
    assert bedtime.window.start == bedtime.window.end == clock(given_at).next(clock("21:30"))


def test_bedtime_is_the_wards():
    assert str(look(day_plan(*MORNING, site=ward(bedtime=("20:00",))), "bedtime").window) == "20:00"


def test_a_handbook_that_does_not_say_when_an_insulin_starts_never_has_it_done():
    # 18 h and nothing else: at bedtime, 14 h after the injection, it may still act
    plan = day_plan(*MORNING, row="basal-review")
    assert (plan.cloudy.starts, plan.cloudy.strongest, str(plan.cloudy.ends)) == (None, None, "01:30 the next day")
    assert "cloudy" not in [one.key for one in plan.looks]
    assert plan.both_taught is None
    assert look(plan, "bedtime").rule != FACTS.day_rules["look-bedtime-done"]
    unfed = day_plan(*MORNING, meals(breakfast="08:00", supper="-18:00"), row="basal-review")
    assert "later meal not eaten" in clash_keys(unfed)


def test_no_look_lies_before_the_dose():
    plan = day_plan(PLAIN, "08:00", meals(breakfast="08:00", juice="08:10"))
    assert [str(one.window) for one in plan.looks if one.window.start < plan.given_at] == []


# Clashes


@pytest.mark.parametrize(
    ("at", "key"),
    [
        ("07:30", "meal too soon"),
        ("07:44", "meal too soon"),
        ("07:45", None),
        ("08:15", None),
        ("08:16", "meal too late"),
        ("12:30", "meal too late"),
    ],
)
def test_a_meal_too_soon_or_too_late_by_a_minute(at, key):
    plan = day_plan(BREAKFAST, "07:30", meals(breakfast=at))
    assert clash_keys(plan) == ([key] if key else [])
    if key:
        (one,) = plan.clashes
        assert one.at == clock(at)
        assert one.say.startswith(f"Breakfast at {at} comes ")
        assert "15 to 45 minutes before a meal" in one.say
        assert ("07:45" if key == "meal too soon" else "by 08:15") in one.say


@pytest.mark.parametrize(("at", "key"), [("08:00", None), ("08:15", None), ("08:16", "meal too late")])
def test_a_rapid_acting_insulin_is_given_within_15_minutes_of_the_meal(at, key):
    plan = day_plan(RAPID, "08:00", meals(breakfast=at), site=ward(meal_lead=60, meal_slack=5))
    assert str(plan.eat) == "08:00 to 08:15"
    assert [one for one in clash_keys(plan) if one.startswith("meal")] == ([key] if key else [])
    assert not key or "insulin lispro is taught for 0 to 15 minutes before a meal" in clash(plan, key).say


def test_the_dose_given_late_by_a_minute():
    order = replace(PLAIN, clock="07:30")
    on_time, late = (day_plan(order, at, meals(breakfast="08:30")) for at in ("08:00", "08:01"))
    assert clash_keys(on_time) == []
    assert clash_keys(late) == ["given late"]
    assert late.clashes[0].at == late.given_at
    assert late.clashes[0].say.startswith("The dose is 31 minutes later than ordered (07:30).")
    early, too_early = (day_plan(order, at, meals(breakfast="07:20")) for at in ("07:00", "06:59"))
    assert clash_keys(early) == []
    assert clash_keys(too_early) == ["given early"]
    assert too_early.clashes[0].say.startswith("The dose is 31 minutes earlier than ordered (07:30)")


def test_a_dose_that_was_due_before_its_meal_is_late_too():
    assert "given late" in clash_keys(day_plan(replace(PLAIN, when="one hour before breakfast"), "07:31"))
    assert "given late" not in clash_keys(day_plan(replace(PLAIN, when="one hour before breakfast"), "07:30"))


def test_the_mixed_dose_that_waited_a_minute_too_long():
    assert clash_keys(day_plan(*MORNING, mixed_at="07:15")) == []
    plan = day_plan(*MORNING, mixed_at="07:14")
    assert clash_keys(plan) == ["waited"]
    assert plan.clashes[0].say == (
        "Mixed at 07:14, injected 16 minutes later; this ward's limit is 15 minutes. Discard it and draw up anew."
    )


@pytest.mark.parametrize(
    ("part", "rounds", "seen"),
    [
        ("clear", ("08:30",), True),  # strongest 09:30 to 11:30, and an hour about it
        ("clear", ("08:29",), False),
        ("clear", ("12:30",), True),
        ("clear", ("12:31",), False),
        ("clear", ("08:29", "10:30", "12:31"), True),
        ("cloudy", ("14:30",), True),  # strongest at 15:30
        ("cloudy", ("14:29",), False),
        ("cloudy", ("16:30",), True),
        ("cloudy", ("16:31",), False),
    ],
)
def test_nobody_is_due_at_a_peak(part, rounds, seen):
    plan = day_plan(*MORNING, site=ward(rounds=rounds))
    acting = getattr(plan, part)
    raised = [
        one
        for one in plan.clashes
        if one.key == "nobody at peak" and f"{acting.dose.insulin} is taught".casefold() in one.say.casefold()
    ]
    assert len(raised) == (not seen)
    assert not raised or raised[0].at == acting.strongest.start


def test_the_rounds_nearest_to_a_peak_are_named():
    plan = day_plan(*MORNING, site=ward(rounds=("03:00", "08:00", "08:29", "12:31", "15:00", "21:30")))
    assert "strongest at 09:30 to 11:30" in clash(plan, "nobody at peak").say
    assert "the round before it is at 08:29, the next one after it is at 12:31" in clash(plan, "nobody at peak").say
    alone = day_plan(*MORNING, site=ward(rounds=("07:00",)))
    assert [one.say.count("look then: the next one is at 07:00 the next day") for one in alone.clashes] == [1, 1]


def test_the_doses_own_meal_not_eaten():
    plan = day_plan(BREAKFAST, "07:30", meals(breakfast="-08:00"))
    assert clash_keys(plan) == ["meal not eaten"]
    assert plan.clashes[0].at == clock("08:00")
    assert plan.clashes[0].say.startswith(
        "Breakfast is not eaten, and this dose was given for it. Regular insulin acts"
    )
    assert clash_keys(day_plan(BREAKFAST, "07:30", meals(breakfast="-09:00"))) == ["meal not eaten"]


@pytest.mark.parametrize(
    ("at", "acting"),
    [
        ("07:59", None),  # regular starts at 08:00 at the earliest
        ("08:00", "regular insulin is"),
        ("08:29", "regular insulin is"),
        ("08:30", "regular insulin and NPH insulin are"),
        ("15:30", "regular insulin and NPH insulin are"),
        ("15:31", "NPH insulin is"),
        ("23:30", "NPH insulin is"),
        ("23:31", None),
    ],
)
def test_a_later_meal_not_eaten_counts_while_an_insulin_is_taught_to_act(at, acting):
    plan = day_plan(BREAKFAST, "07:30", meals(breakfast="07:50", other=f"-{at}"))
    assert clash_keys(plan) == (["later meal not eaten"] if acting else [])
    if acting:
        assert plan.clashes[0].at == clock(at)
        assert plan.clashes[0].say.startswith(f"Other at {at} is not eaten, while {acting} taught to act.")


@pytest.mark.parametrize(("at", "key"), [("09:30", "meal too late"), ("09:31", "no meal"), (None, "no meal")])
def test_no_meal_within_two_hours_of_the_dose(at, key):
    plan = day_plan(PLAIN, "07:30", meals(breakfast=at) if at else ())
    assert clash_keys(plan) == [key]
    assert (plan.meal is None) == (plan.eat is None) == (key == "no meal")
    if key == "no meal":
        assert "No meal comes within 2 hours of this dose." in plan.clashes[0].say
        assert "meal" not in [one.key for one in plan.looks]


# What is refused


@pytest.mark.parametrize(
    ("units", "error", "do"), [(0, NotAnAmount, "Enter a dose above 0"), (500, NoModel, "Check the dose")]
)
@pytest.mark.parametrize("place", [0, 1])
@pytest.mark.parametrize("order", [PLAIN, RAPID], ids=["regular", "lispro"])
def test_a_dose_of_none_or_of_more_than_any_syringe_holds(order, place, units, error, do):
    doses = [replace(dose, units=units) if at == place else dose for at, dose in enumerate(order.doses)]
    with pytest.raises(error, match=do):
        day_plan(replace(order, doses=tuple(doses)), "08:00")


def two_clear():
    return replace(PLAIN, doses=(PLAIN.clear, RAPID.clear))


@pytest.mark.parametrize(
    ("ask", "error", "wrong", "do"),
    [
        (
            lambda: day_plan(BREAKFAST, "08:01"),
            MealBeforeDose,
            "Breakfast at 08:00 lies before the dose at 08:01",
            "Correct one of the two times; if the patient really has eaten, do not give the dose: ask the prescriber.",
        ),
        (
            lambda: day_plan(BREAKFAST, "07:30", meals(lunch="12:00", tea="12:00")),
            MealsAtOnce,
            "Lunch and tea are both at 12:00.",
            "Give each its own time.",
        ),
        (
            lambda: day_plan(BREAKFAST, "half past seven"),
            NotAClockTime,
            "'half past seven' is no time of day.",
            "Write it on the 24-hour clock, for example 07:30",
        ),
        (
            lambda: day_plan(*MORNING, mixed_at="25:00"),
            NotAClockTime,
            "'25:00' is no time of day.",
            "Write it on the 24-hour clock",
        ),
        (
            lambda: day_plan(*MORNING, mixed_at="07:31"),
            CannotPlan,
            "Mixed at 07:31, which is after the injection at 07:30.",
            "Correct one of the two times.",
        ),
        (
            lambda: day_plan(*MORNING, row="my-handbook"),
            NoSuchRow,
            "No handbook 'my-handbook' has a row for these insulins.",
            f"Choose one of {', '.join(handbooks(PLAIN))}.",
        ),
        (
            lambda: day_plan(two_clear(), "07:30"),
            NotOneClearOneCloudy,
            "are both clear",
            "ask the prescriber before anything is drawn up",
        ),
    ],
    ids=["meal before dose", "meals at once", "given", "mixed", "mixed after given", "handbook", "two clear"],
)
def test_what_makes_no_day_is_refused_with_what_is_wrong_and_what_to_do(ask, error, wrong, do):
    with pytest.raises(error) as refused:
        ask()
    assert wrong in str(refused.value)
    assert do in str(refused.value)
    assert isinstance(refused.value, ValueError)


def test_one_meal_listed_twice_is_two_meals_at_once():
    breakfast, lunch = meals(breakfast="08:00", lunch="12:00")
    with pytest.raises(MealsAtOnce):
        day_plan(BREAKFAST, "07:30", [breakfast, lunch, lunch])


def test_the_same_time_written_in_two_ways_is_one_time():
    with pytest.raises(MealsAtOnce):
        day_plan(BREAKFAST, "07:30", meals(breakfast="8:00", juice="08:00"))


# Laws


OTHERS = st.lists(
    st.tuples(st.integers(60, 1380), st.booleans()), max_size=4, unique_by=lambda one: one[0]
)  # minutes after the dose, and whether it is eaten
MINUTE = st.integers(0, MINUTES_A_DAY - 1)


def a_day(start, lead, others, rounds, bedtime, waking, due, row):
    """Return the plan of a day whose every time is given in minutes from `start`."""
    listed = [Meal(name="breakfast", at=face(start + lead))]
    listed += [
        Meal(name=f"meal {at}", at=face(start + at), eaten=eaten, grams=10 + place)
        for place, (at, eaten) in enumerate(others)
    ]
    site = ward(rounds=tuple(face(start + each) for each in rounds), bedtime=(face(start + bedtime),))
    order = BREAKFAST if due is None else replace(BREAKFAST, clock=face(start + due))
    rows = {**FACTS.rounds, "waking": replace(FACTS.rounds["waking"], at=(face(start + waking),))}
    with patch("mixlab.care.day.shelf", lambda: SimpleNamespace(day=FACTS.day, rounds=rows)):
        return day_plan(order, face(start), listed, site, row=row)


def from_the_dose(held, given):
    """Return a plan with each time as minutes after the injection; its sentences, which name times, are left out."""
    if isinstance(held, ClockTime):
        return given.until(held)
    if isinstance(held, Meal):
        return held.name, held.eaten
    if isinstance(held, (Site, Order)):
        return None
    if isinstance(held, tuple):
        return tuple(from_the_dose(each, given) for each in held)
    if is_dataclass(held) and not isinstance(held, (RuleRow, ActionTimes, Dose)):
        parts = (each.name for each in fields(held) if each.name != "say")
        return {name: from_the_dose(getattr(held, name), given) for name in parts}
    return held


@settings(deadline=None)
@given(
    start=MINUTE,
    shift=MINUTE,
    lead=st.integers(0, 59),
    others=OTHERS,
    rounds=st.lists(MINUTE, max_size=6, unique=True),
    bedtime=MINUTE,
    waking=MINUTE,
    due=st.none() | st.integers(-700, 700),
    row=st.sampled_from(handbooks(PLAIN)),
)
@example(start=450, shift=1000, lead=30, others=[(270, False), (630, True)], rounds=[240, 480], bedtime=840, waking=1380, due=-31, row=None)  # fmt: skip
def test_a_day_shifted_as_a_whole_is_the_same_day(start, shift, **day):
    one, other = a_day(start, **day), a_day(start + shift, **day)
    assert other.given_at.minutes == (start + shift) % MINUTES_A_DAY
    assert from_the_dose(other, other.given_at) == from_the_dose(one, one.given_at)


@settings(deadline=None)
@given(st.integers(0, 45), st.permutations([270, 400, 630]), st.integers(-200, 600))
def test_moving_a_later_meal_moves_it_and_its_look_and_nothing_else(lead, offsets, by):
    moved, *others = offsets
    before, after = 450 + moved + by, 450 + moved + by + 30
    assume(by + moved > 90)
    assume(not {before, after} & {450 + at for at in others})

    def plan(at):
        kept = {f"meal {each}": face(450 + each) for each in others}
        return day_plan(BREAKFAST, "07:30", meals(breakfast=face(450 + lead), snack=face(at), **kept))

    one, other = plan(before), plan(after)
    (was,), (now,) = set(one.meals) - set(other.meals), set(other.meals) - set(one.meals)
    assert (was.meal.name, now.meal.name, was.at.until(now.at)) == ("snack", "snack", 30)
    (looked,), (looks,) = set(one.looks) - set(other.looks), set(other.looks) - set(one.looks)
    assert (looked.key, looked.say, looked.window.start.later(30)) == (looks.key, looks.say, looks.window.start)
    assert looked.window.start.until(was.at) == WARD.meal_lead.value
    changed = {"meals", "looks"}
    assert all(getattr(one, each.name) == getattr(other, each.name) for each in fields(one) if each.name not in changed)


@settings(deadline=None)
@given(st.data(), MINUTE, st.lists(MINUTE, min_size=1, max_size=5, unique=True), st.booleans())
def test_meals_in_any_order_give_the_same_plan(data, start, times, named):
    listed = [
        Meal(name="breakfast" if named and not place else f"meal {place}", at=face(at))
        for place, at in enumerate(times)
    ]
    shuffled = data.draw(st.permutations(listed))
    assert outcome(start, shuffled) == outcome(start, listed)


def outcome(start, listed):
    try:
        return day_plan(BREAKFAST, face(start), listed)
    except CannotPlan as refused:
        return str(refused)


def test_of_two_meals_as_near_the_order_in_which_they_are_listed_decides_nothing():
    before, after = meals(early="11:00", late="13:00")
    assert outcome(12 * 60, [before, after]) == outcome(12 * 60, [after, before])


@settings(deadline=None)
@given(
    start=MINUTE,
    lead=st.integers(0, 59),
    others=OTHERS.map(lambda others: [(max(at, 90), eaten) for at, eaten in others]).filter(
        lambda others: len({at for at, _ in others}) == len(others)
    ),
    rounds=st.lists(MINUTE, max_size=6, unique=True),
    bedtime=MINUTE,
    row=st.sampled_from(handbooks(PLAIN)),
)
def test_looks_and_clashes_stand_in_order_within_a_day_of_the_dose(start, lead, others, rounds, bedtime, row):
    plan = a_day(start, lead, others, rounds, bedtime, waking=0, due=None, row=row)
    looked, clashed = [one.window.start for one in plan.looks], [one.at for one in plan.clashes]
    assert looked == sorted(looked)
    assert clashed == sorted(clashed)
    assert [one.at for one in plan.meals] == sorted(one.at for one in plan.meals)
    assert list(plan.rounds) == sorted(plan.rounds)
    last = plan.meal.at.later(MINUTES_A_DAY)
    for window in (one.window for one in plan.looks):
        assert plan.given_at <= window.start <= window.end < last.later(1)
    assert all(plan.given_at <= at < last for at in clashed)
    assert all(0 <= plan.given_at.until(at) < MINUTES_A_DAY for at in plan.rounds)


def test_every_sentence_of_a_plan_begins_with_a_capital_letter_and_ends():
    plans = [
        day_plan(*MORNING),
        day_plan(*EVENING),
        day_plan(RAPID, "08:00", meals(breakfast="-08:00", lunch="-12:00"), ward(rounds=("03:00",)), mixed_at="07:00"),
    ]
    for one in [one for plan in plans for one in (*plan.looks, *plan.clashes)]:
        assert one.say[0].isupper()
        assert one.say[-1] in ".?"
        assert not {"{", "}"} & set(one.say)


def test_an_order_for_after_a_meal_is_not_planned():
    with pytest.raises(CannotPlan, match=r"'after breakfast'.*ask the prescriber"):
        day_plan(replace(PLAIN, when="after breakfast"), "08:30")


def test_a_meal_that_is_not_served_is_not_replaced_by_the_nearest():
    plan = day_plan(replace(PLAIN, when="before lunch"), "07:30", [Meal(name="breakfast", at="08:00")])
    assert plan.meal is None
    assert clash_keys(plan) == ["no meal"]
    assert day_plan(replace(PLAIN, when="before meals"), "07:30").meal.meal.name == "breakfast"


def test_a_snack_between_the_dose_and_its_meal_stays_there():
    plan = day_plan(BREAKFAST, "07:30", [*WARD.meals, Meal(name="juice", at="07:50", grams=15)])
    assert [one.meal.name for one in plan.meals] == ["juice", "breakfast", "lunch", "supper"]


def test_a_round_at_the_injection_is_no_look_at_a_peak():
    """A rapid-acting insulin is taught to be strongest half an hour later; who injects is still there, and then gone."""
    rounds = ("07:50", "11:30", "15:30", "21:30")
    plan = day_plan(replace(RAPID, when=None), "07:50", meals(breakfast="07:55"), site=ward(rounds=rounds))
    assert "nobody at peak" in clash_keys(plan)
