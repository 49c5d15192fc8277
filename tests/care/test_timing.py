"""The day after a mixed dose: every time on the clock, every visit, every clash at its boundary, and what is refused."""

import re
from dataclasses import fields, is_dataclass, replace

import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

from mixlab import Meal, action_curves, day_plan, read_order, teaching_site
from mixlab.care.action.absorption import NoModel, begin_spell
from mixlab.care.action.injection import as_ordered, contaminated, from_clear_layer, from_sediment, swapped
from mixlab.care.day.dose_day import CannotPlan, MealBeforeDose, MealsAtOnce, NoSuchRow
from mixlab.care.day.planning import handbook_keys
from mixlab.facts.reading import the_facts
from mixlab.facts.records import ActionTimes, RuleRow, Span
from mixlab.quantities import MINUTES_A_DAY, ClockTime, NotAClockTime, NotAnAmount, minutes_text
from mixlab.ward.order.order import Dose, NotOneClearOneCloudy, Order
from mixlab.ward.site.record import Site

FACTS = the_facts()
RULES = FACTS.day_rules
WARD = teaching_site()
PLAIN = read_order("regular insulin 8 units and NPH insulin 20 units subcut")


def ordered(when, **other):
    return replace(PLAIN, when=when, **other)


BREAKFAST, SUPPER = ordered("30 minutes before breakfast"), ordered("30 minutes before supper")
AT_0730, IN_BOTH_WAYS = ordered(None, clock="07:30"), replace(BREAKFAST, clock="07:30")
RAPID = read_order("insulin lispro 8 units and NPH insulin 20 units subcut with breakfast")
MORNING, EVENING = (BREAKFAST, "07:30"), (SUPPER, "17:30")
BOTH = "regular insulin and NPH insulin are"


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


EVERY_QUARTER = ward(rounds=tuple(face(at) for at in range(0, MINUTES_A_DAY, 15)))  # somebody is always due


def serving(site=WARD, **usual):
    """Return a ward that serves these meals too, or at these times."""
    kept = [meal for meal in site.meals if meal.name not in usual]
    return replace(site, meals=(*kept, *meals(**usual)))


def taught(order, part, **changed):
    """Return the order with one insulin taught otherwise, nothing else changed."""
    (insulin,) = (dose.insulin for dose in order.doses if dose.insulin.look == part)
    row = replace(insulin.row, times=(replace(insulin.row.taught_times.rows[0], **changed),))
    other = {insulin: replace(insulin, row=row)}
    return replace(
        order, doses=tuple(replace(dose, insulin=other.get(dose.insulin, dose.insulin)) for dose in order.doses)
    )


def peaking(part, low, high):
    """Return the order without meal or time, its clear or cloudy insulin taught to be strongest then (h)."""
    return taught(PLAIN, part, peak=Span(low=low, high=high))


def with_curves(order=BREAKFAST, **changed):
    return action_curves(order, (0.0,), **changed)


def clash_keys(plan):
    return [clash.key for clash in plan.clashes]


def clash(plan, key):
    (one,) = (one for one in plan.clashes if one.key == key)
    return one


def visit(plan, key):
    (one,) = (one for one in plan.visits if one.key == key)
    return one


def rule_of(one):
    (key,) = (key for key, row in RULES.items() if row == one.rule)
    return key


# What is planned


@pytest.mark.parametrize(
    ("dose", "eat", "served", "visits"),
    [
        (
            MORNING,
            "07:45 to 08:15",
            "breakfast 08:00, lunch 12:00, supper 18:00",
            "meal 08:00 to 08:15, clear 09:30 to 11:30, before meal 11:30 measured, cloudy 15:30 measured, "
            "before meal 17:30 measured, end 17:30 to 23:30 measured, bedtime 21:30 measured",
        ),
        (
            EVENING,
            "17:45 to 18:15",
            "supper 18:00, breakfast 08:00 the next day, lunch 12:00 the next day",
            "meal 18:00 to 18:15, clear 19:30 to 21:30, bedtime 21:30 measured, cloudy 02:00 the next day measured, "
            "end 03:30 to 09:30 the next day measured, before meal 07:30 the next day measured, "
            "before meal 11:30 the next day measured",
        ),
    ],
    ids=["breakfast", "supper"],
)
def test_a_dose_on_the_clock(dose, eat, served, visits):
    plan, given_at = day_plan(*dose), clock(dose[1])
    assert (plan.given_at, plan.mixed_at, plan.due_at) == (given_at,) * 3
    assert (plan.draw_up_from, plan.inject_by) == (given_at.later(-15), given_at.later(15))
    assert str(plan.eat) == eat
    assert ", ".join(f"{one.meal.name} {one.at}" for one in plan.meals) == served
    assert plan.meal is plan.meals[0]
    assert ", ".join(f"{one.key} {one.window}{' measured' * one.measure}" for one in plan.visits) == visits
    assert "has it come" in str(plan.visits[0].say)
    assert "Regular insulin is in and will act." in str(plan.visits[0].say)
    assert plan.clashes == ()


def test_the_rounds_and_the_hours_of_both_insulins():
    assert [str(at) for at in day_plan(*MORNING).rounds] == [
        *("08:00", "10:00", "11:30", "15:30", "17:30", "18:00", "20:00", "21:30"),
        *("02:00 the next day", "07:00 the next day"),
    ]
    assert str(day_plan(*MORNING).both_taught) == "08:30 to 15:30"
    evening = day_plan(*EVENING)
    assert str(evening.clear.ends) == "22:30 to 01:30 the next day"
    assert str(evening.both_taught) == "18:30 to 01:30 the next day"
    assert rule_of(visit(evening, "cloudy")) == "look-night"
    said = str(visit(evening, "cloudy").say)
    assert "strongest now, and the patient sleeps: the patient may not feel a low or report it" in said


@pytest.mark.parametrize(
    ("dose", "waiting", "at"), [(MORNING, 15, "07:15"), (EVENING, 15, "17:15"), (MORNING, 5, "07:25")]
)
def test_two_sentences_hold_all_day(dose, waiting, at):
    (before, before_rule), (low, low_rule) = day_plan(*dose, site=ward(waiting=waiting)).standing
    assert str(before).startswith(
        f"Do not draw up before {at}. First: the reading, signs of a low, will the patient eat"
    )
    assert "do not give yet, ask" in str(before)
    for words in (
        "At any time a low reading, or signs of a low and no reading at once: treat now, as the ward's protocol says",
        "meanwhile a colleague tells the nurse in charge and the prescriber",
        "a reading that is not low: measure again at once, and call if the signs stay",
        "measure again when the protocol says, and treat again while it is low",
        "nothing by mouth, call for help at once, stay, and follow the emergency protocol (glucagon or intravenous",
    ):
        assert words in str(low)
    assert (before_rule, low_rule) == (RULES["before-drawing-up"], RULES["when-low"])


def test_the_windows_are_those_of_the_ward():
    site = ward(waiting=5, meal_lead=20, meal_slack=10)
    plan = day_plan(*MORNING, site=site, mixed_at="07:20")
    assert (str(plan.draw_up_from), str(plan.inject_by), str(plan.eat)) == ("07:25", "07:25", "07:40 to 08:00")
    assert clash_keys(plan) == ["waited"]
    late = day_plan(BREAKFAST, "07:30", meals(breakfast="08:01"), site)
    assert "for 20 minutes before a meal (this plan lets 10 to 30 pass)" in str(clash(late, "meal too late").say)
    never_before = day_plan(*MORNING, site=ward(meal_lead=10, meal_slack=15))
    assert str(never_before.eat) == "07:30 to 07:55"
    assert "(this plan lets 0 to 25 pass)" in str(clash(never_before, "meal too late").say)


def test_the_wards_meals_are_used_where_none_are_given():
    assert day_plan(*MORNING) == day_plan(*MORNING, meals=WARD.meals, site=WARD)
    assert day_plan(*MORNING, meals=()).meals == ()
    own = replace(WARD, meals=tuple(meals(breakfast="08:10")))
    assert day_plan(*MORNING, site=own).meal.at == clock("08:10")


@pytest.mark.parametrize("source", handbook_keys(PLAIN))
def test_the_taught_times_are_those_of_the_chosen_handbook(source):
    plan = day_plan(PLAIN, "07:30", row=source)
    for one, key in ((plan.clear, "regular"), (plan.cloudy, "nph")):
        (row,) = (row for row in FACTS.insulins[key].times if row.source == source)
        assert one.row.rows == (row,)
        for window, span in ((one.starts, row.onset), (one.strongest, row.peak), (one.ends, row.duration)):
            hours = [(plan.given_at.until(end)) / 60 for end in (window.start, window.end)]
            assert hours == pytest.approx([span.low, span.high], abs=0.5 / 60)
    first, last = max(plan.clear.starts.start, plan.cloudy.starts.start), min(plan.clear.ends.end, plan.cloudy.ends.end)
    assert (plan.both_taught.start, plan.both_taught.end) == (first, last)


def test_the_handbooks_are_those_with_both_insulins():
    both = {row.source for row in FACTS.insulins["regular"].times} & {row.source for row in FACTS.insulins["nph"].times}
    assert sorted(handbook_keys(PLAIN)) == sorted(both)
    assert len(both) == 10
    one_only = day_plan(RAPID, "08:00", row="aap-2003")
    assert (one_only.clear.row, one_only.cloudy.row.sources) == (FACTS.insulins["lispro"].taught_times, ("aap-2003",))
    assert "aap-2003" not in handbook_keys(RAPID)


def test_the_models_times_are_those_of_its_curves():
    plan, curves = day_plan(*MORNING), with_curves()
    for one, part in ((plan.clear, "clear"), (plan.cloudy, "cloudy")):
        hours = (curves.onset(part), curves.peak(part), curves.end(part))
        times = (one.model_start, one.model_strongest, one.model_end)
        assert times == tuple(plan.given_at.later(60 * hour) for hour in hours)
    assert str(plan.both_model) == "09:06 to 13:38"  # 1.598 to 6.139 h (computed)


def test_other_curves_move_the_models_times_and_nothing_else():
    usual = day_plan(*MORNING)
    other = day_plan(*MORNING, curves=with_curves(weight_kg=100, body_site="thigh"))
    assert other.clear.model_strongest > usual.clear.model_strongest
    assert other.cloudy.model_start > usual.cloudy.model_start
    kept = {name: getattr(usual.clear, name) for name in ("model_start", "model_strongest", "model_end")}
    assert replace(other.clear, **kept) == usual.clear
    moved = {"clear", "cloudy", "both_model"}
    assert all(getattr(usual, one.name) == getattr(other, one.name) for one in fields(usual) if one.name not in moved)


def test_an_insulin_without_a_model_has_taught_times_only():
    plan = day_plan(RAPID, "08:00")
    assert {one.model_start for one in (plan.clear, plan.cloudy)} == {None}
    assert plan.both_model is None
    assert str(plan.both_taught) == "09:00 to 13:00"  # lispro for 2 to 4 h and NPH from 2 h
    late = taught(RAPID, "cloudy", onset=Span(low=5, high=5))
    assert day_plan(late, "08:00").both_taught is None


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


@pytest.mark.parametrize("served", ["07:45", "08:00", "08:25", "11:00"])
def test_a_meal_that_is_moved_does_not_move_when_the_dose_was_wanted(served):
    assert day_plan(BREAKFAST, "07:30", meals(breakfast=served)).due_at == clock("07:30")
    later = serving(breakfast="08:40")
    assert day_plan(BREAKFAST, "07:30", meals(breakfast=served), later).due_at == clock("08:10")
    none = replace(WARD, meals=())
    assert day_plan(BREAKFAST, "07:30", meals(breakfast=served), none).due_at == clock(served).later(-30)


@pytest.mark.parametrize("name", ["Breakfast", "BREAKFAST"])
def test_a_meal_is_found_in_whatever_letters_it_is_listed(name):
    plan = day_plan(BREAKFAST, "08:10", [Meal(name=name, at="08:40"), Meal(name="Juice", at="08:20")], EVERY_QUARTER)
    assert (plan.meal.meal.name, plan.due_at) == (name, clock("07:30"))
    assert clash_keys(plan) == ["given late"]


@pytest.mark.parametrize(
    ("order", "given_at", "listed", "own"),
    [
        (BREAKFAST, "07:30", meals(breakfast="08:00", snack="07:40"), ("breakfast", "08:00")),
        (PLAIN, "07:30", meals(breakfast="08:00", snack="07:40"), ("snack", "07:40")),
        (ordered("30 minutes before the evening meal"), "17:30", None, ("supper", "18:00")),
        (ordered("before meals"), "07:30", None, ("breakfast", "08:00")),
        (ordered("before lunch"), "07:30", meals(breakfast="08:00"), None),  # not replaced by the nearest
        # words that name a meal go before a clock time
        (IN_BOTH_WAYS, "07:30", meals(juice="07:35", breakfast="08:00"), ("breakfast", "08:00")),
        (IN_BOTH_WAYS, "07:15", meals(breakfast="07:20"), ("breakfast", "07:20")),
        (IN_BOTH_WAYS, "09:45", [*meals(breakfast="08:00"), *meals(breakfast="11:00")], ("breakfast", "11:00")),
    ],
)
def test_the_dose_belongs_to_the_meal_its_order_names_and_else_to_the_nearest(order, given_at, listed, own):
    plan = day_plan(order, given_at, listed)
    assert (plan.meal and (plan.meal.meal.name, str(plan.meal.at))) == own
    assert ("no meal" in clash_keys(plan)) is (own is None)


def test_a_meal_made_by_hand_is_known_by_what_the_ward_calls_it():
    plan = day_plan(ordered("30 minutes before the evening meal"), "17:30", [Meal(name="supper", at="18:00")])
    assert (plan.meal.meal.name, str(plan.due_at)) == ("supper", "17:30")
    assert not Meal(name="tea", at="16:00").is_called("before steak")


def test_a_snack_between_the_dose_and_its_meal_stays_there():
    plan = day_plan(BREAKFAST, "07:30", [*WARD.meals, Meal(name="juice", at="07:50", grams=15)])
    assert [one.meal.name for one in plan.meals] == ["juice", "breakfast", "lunch", "supper"]


# Visits


@pytest.mark.parametrize(
    ("peak", "given_at", "awake"),
    [
        ((2, 2), "19:29", True),  # strongest 21:29, or from 21:30
        ((2, 2), "19:30", False),
        ((2, 2), "04:29", False),  # strongest 06:29, or from 06:30
        ((2, 2), "04:30", True),
        ((2, 4), "17:30", True),  # strongest 19:30 to 21:30, or to 21:31
        ((2, 4), "17:31", False),
        ((2, 4), "19:30", False),
        ((2, 4), "04:29", False),  # strongest 06:29 to 08:29, or from 06:30
        ((2, 4), "04:30", True),
    ],
)
def test_a_clear_peak_that_touches_the_hours_of_sleep_is_measured(peak, given_at, awake):
    meal = meals(night=clock(given_at).later(30).face)
    looked = visit(day_plan(peaking("clear", *peak), given_at, meal), "clear")
    assert rule_of(looked) == ("look-clear" if awake else "look-night")
    assert looked.measure is not awake
    assert ("and the patient sleeps" in str(looked.say)) is not awake


def looks_of(plan):
    """Return each time at which the cloudy insulin is measured for: what is looked for beside it, or how if for it alone."""
    peak = plan.cloudy.strongest
    readings = [one for one in plan.visits if one.key in ("before meal", "bedtime") and peak.holds(one.window.start)]
    assert all("taught to be strongest" in str(one.say) and one.measure for one in readings)
    alone = [one for one in plan.visits if one.key == "cloudy"]
    assert all(peak.holds(one.window.start) and one.measure for one in alone)
    looks = sorted([*readings, *alone], key=lambda one: one.window.start)
    return [f"{one.window.start.face} {one.key if one in readings else rule_of(one)}" for one in looks]


@pytest.mark.parametrize(
    ("peak", "given_at", "rounds", "looks"),
    [
        # strongest 11:30 to 17:30: the readings before lunch and supper, and the round between them
        ((4, 10), "07:30", WARD.rounds.at, ["11:30 before meal", "15:30 look-cloudy", "17:30 before meal"]),
        # the looks lie two hours apart at the least, and a reading half an hour away serves for one
        ((4, 10), "07:30", ("12:00", "13:59", "14:00", "17:00"), ["11:30 before meal", "14:00 look-cloudy", "17:30 before meal"]),
        ((4, 10), "07:30", ("12:01", "17:30"), ["11:30 before meal", "12:01 look-cloudy", "14:45 look-cloudy", "17:30 before meal"]),
        # nobody is due for six hours: a look stands in the middle; for five hours none
        ((4, 10), "07:30", (), ["11:30 before meal", "14:30 look-cloudy", "17:30 before meal"]),
        ((4, 9), "07:30", ("11:30",), ["11:30 before meal"]),
        # a single time is looked at then, whatever the rounds are
        ((8, 8), "07:30", WARD.rounds.at, ["15:30 look-cloudy"]),
        ((8, 8), "07:30", (), ["15:30 look-cloudy"]),
        ((7, 8), "07:30", (), ["15:00 look-cloudy"]),
        # strongest 21:30 to 03:30: bedtime, and once in the night
        ((4, 10), "17:30", WARD.rounds.at, ["21:30 bedtime", "02:00 look-night"]),
        ((4, 10), "17:30", ("21:30",), ["21:30 bedtime", "00:30 look-night"]),
        # strongest 19:00 to 23:00: the last hour and a half in sleep is looked at too
        ((4, 8), "15:00", ("20:00", "21:30"), ["20:00 look-cloudy", "21:30 bedtime", "22:15 look-night"]),
        ((2, 2), "04:29", WARD.rounds.at, ["06:29 look-night"]),
        ((2, 2), "04:30", WARD.rounds.at, ["06:30 look-cloudy"]),
        # strongest 21:00 to 07:00: before bedtime, through the night, after waking
        ((4, 14), "17:00", WARD.rounds.at, ["21:30 bedtime", "02:00 look-night", "07:00 look-cloudy"]),
    ],
)  # fmt: skip
def test_the_cloudy_insulin_is_looked_at_all_through_its_strongest_hours(peak, given_at, rounds, looks):
    plan = day_plan(peaking("cloudy", *peak), given_at, meals(lunch="12:00", supper="18:00"), ward(rounds=rounds))
    assert looks_of(plan) == looks


def test_a_lunch_that_comes_later_leaves_the_look_in_the_afternoon():
    for lunch in ("14:30", "15:00"):  # read at 14:00 and 14:30: neither serves for 15:30
        plan = day_plan(BREAKFAST, "07:30", meals(breakfast="08:00", lunch=lunch, supper="18:00"))
        assert "15:30 look-cloudy" in looks_of(plan)
    assert "15:30 look-cloudy" not in looks_of(day_plan(BREAKFAST, "07:30", meals(breakfast="08:00", lunch="15:45")))


@pytest.mark.parametrize("served", [{"lunch": "12:00"}, {}])
def test_with_no_meal_at_all_a_look_is_not_enough(served):
    plan = day_plan(BREAKFAST, "07:30", meals(**served))
    assert (rule_of(visit(plan, "clear")), visit(plan, "clear").measure) == ("look-clear-no-food", True)
    assert "its meal was not eaten in time: measure" in str(visit(plan, "clear").say)
    assert "meal" not in [one.key for one in plan.visits]


def test_with_no_meal_in_time_a_peak_in_sleep_is_still_one_in_sleep():
    unfed = visit(day_plan(SUPPER, "17:31", meals(supper="-18:00")), "clear")
    assert (unfed.measure, rule_of(unfed)) == (True, "look-night")


def before(plan, name):
    """Return time and rule of each reading before a meal."""
    assert all(one.measure for one in plan.visits if one.key == "before meal")
    return [
        (str(one.window), rule_of(one))
        for one in plan.visits
        if one.key == "before meal" and re.search(rf"\b{name}\b", str(one.say), re.IGNORECASE)
    ]


@pytest.mark.parametrize(
    ("served", "looked"),
    [
        ("11:00", [("10:30", "look-before-meal")]),
        ("11:59", [("11:29", "look-before-meal")]),
        ("12:00", [("11:30", "look-before-meal")]),
        ("12:01", [("11:30", "look-usual-time"), ("11:31", "look-before-meal")]),
        ("14:00", [("11:30", "look-usual-time"), ("13:30", "look-before-meal")]),
        ("-12:00", [("11:30", "look-no-meal")]),
        ("-13:00", [("11:30", "look-usual-time"), ("12:30", "look-no-meal")]),
    ],
)
def test_a_meal_that_comes_later_than_usual_is_measured_before_at_both_times(served, looked):
    plan = day_plan(BREAKFAST, "07:30", meals(breakfast="08:00", lunch=served))
    assert before(plan, "lunch") == looked
    words = {
        "look-usual-time": f"before lunch, although it comes only at {served.lstrip('-')}",
        "look-no-meal": "lunch is not eaten. No mealtime insulin and no mixed dose until the prescriber has answered. "
        "Do not leave NPH insulin out by yourself either: ask.",
        "look-before-meal": "When the tray goes back: was it eaten?",
    }
    assert all(words[rule_of(one)] in str(one.say) for one in plan.visits if one.key == "before meal")


@pytest.mark.parametrize(
    ("dose", "listed", "site", "name", "looked"),
    [
        (MORNING, {"juice": "08:20"}, serving(juice="07:40"), "juice", ["07:30", "07:50"]),  # never before the dose
        ((PLAIN, "08:00"), {"juice": "08:10"}, WARD, "juice", ["08:00"]),
        (EVENING, {"supper": "18:00", "breakfast": "08:45"}, WARD, "breakfast", [f"{at} the next day" for at in ("07:30", "08:15")]),
    ],
)  # fmt: skip
def test_a_reading_before_a_meal_never_comes_before_the_dose(dose, listed, site, name, looked):
    plan = day_plan(*dose, meals(**{"breakfast": "08:00"} | listed), site)
    assert before(plan, name) == list(zip(looked, ("look-usual-time", "look-before-meal")[-len(looked) :], strict=True))


@pytest.mark.parametrize(
    ("given_at", "asks", "words"),
    [
        ("17:30", "look-bedtime-night", "taught to be strongest in hours of sleep (21:30 to 03:30 the next day)"),
        ("11:31", "look-bedtime-night", "hours of sleep (15:31 to 21:31)"),
        ("11:30", "look-bedtime", "NPH insulin may act until 03:30 the next day, by other handbooks longer"),
        ("11:30", "look-bedtime", "NPH insulin is taught to be strongest now (15:30 to 21:30). Measure before sleep."),
        ("07:30", "look-bedtime", "NPH insulin may act until 23:30"),
        ("05:30", "look-bedtime", "NPH insulin may act until 21:30"),
        (
            "05:29",
            "look-bedtime-done",
            "By what is taught here NPH insulin of this dose is over; other handbooks let it act up to 28 hours.",
        ),
        ("21:30", "look-bedtime-night", "hours of sleep (01:30 to 07:30 the next day)"),
        ("21:31", "look-bedtime-done", "NPH insulin of this dose is over"),
    ],
)
def test_the_question_at_bedtime(given_at, asks, words):
    bedtime = visit(day_plan(PLAIN, given_at, ()), "bedtime")
    assert (rule_of(bedtime), bedtime.measure) == (asks, True)
    assert words in str(bedtime.say)
    assert bedtime.window.start == bedtime.window.end == clock(given_at).next(clock("21:30"))
    assert str(visit(day_plan(*MORNING, site=ward(bedtime=("20:00",))), "bedtime").window) == "20:00"


def test_a_handbook_that_does_not_say_when_an_insulin_ends_has_it_act_all_night():
    plan = day_plan(taught(BREAKFAST, "cloudy", duration=None), "07:30")
    assert rule_of(visit(plan, "bedtime")) == "look-bedtime"
    assert "NPH insulin may act all night, by other handbooks longer" in str(visit(plan, "bedtime").say)
    assert "end" not in [one.key for one in plan.visits]


def test_a_handbook_that_does_not_say_when_an_insulin_starts_never_has_it_done():
    # 18 h and nothing else: at bedtime, 14 h after the injection, it may still act
    plan = day_plan(*MORNING, row="basal-review")
    assert (plan.cloudy.starts, plan.cloudy.strongest, str(plan.cloudy.ends)) == (None, None, "01:30 the next day")
    assert "cloudy" not in [one.key for one in plan.visits]
    assert plan.both_taught is None
    assert rule_of(visit(plan, "bedtime")) != "look-bedtime-done"
    unfed = day_plan(*MORNING, meals(breakfast="08:00", supper="-18:00"), row="basal-review")
    assert "later meal not eaten" in clash_keys(unfed)


# Clashes


@pytest.mark.parametrize(
    ("at", "key"),
    [
        ("07:30", "meal too soon"),
        ("07:44", "meal too soon"),
        ("07:45", None),
        ("08:15", None),
        ("08:16", "meal too late"),
        ("09:30", "meal too late"),
    ],
)
def test_a_meal_too_soon_or_too_late_by_a_minute(at, key):
    plan = day_plan(BREAKFAST, "07:30", meals(breakfast=at), EVERY_QUARTER)
    assert clash_keys(plan) == ([key] if key else [])
    for one in plan.clashes:
        soon = key == "meal too soon"
        assert one.at == (clock(at) if soon else plan.given_at)  # what is to be done is to be done now
        assert str(one.say).startswith(f"Breakfast at {at} comes ")
        assert "regular insulin is taught for 30 minutes before a meal (this plan lets 15 to 45 pass)" in str(one.say)
        assert ("wait until 07:45" if soon else "get food now, by 08:15 if you can") in str(one.say)


@pytest.mark.parametrize(("at", "early"), [("09:31", "05:59"), ("12:30", "03:00")])
def test_a_dose_for_a_meal_more_than_two_hours_off_is_early_and_has_no_time_to_eat(at, early):
    moved = day_plan(BREAKFAST, "07:30", meals(breakfast=at), EVERY_QUARTER)  # the dose is on time, the tray is not
    assert clash_keys(moved) == ["meal too late"]
    assert "get food now" in str(moved.clashes[0].say)
    plan = day_plan(BREAKFAST, early, site=EVERY_QUARTER)
    assert (plan.meal.at, plan.eat) == (clock("08:00"), None)
    assert clash_keys(plan) == ["given early"]
    assert plan.clashes[0].at == plan.given_at
    assert " earlier than ordered (07:30)." in str(plan.clashes[0].say)
    assert "meal" not in [one.key for one in plan.visits]
    assert day_plan(BREAKFAST, "06:00", site=EVERY_QUARTER).eat is not None


@pytest.mark.parametrize("given_at", ["07:00", "07:30", "08:00", "08:01", "08:20"])
def test_that_the_meal_is_more_than_two_hours_off_is_said_however_late_the_dose_is(given_at):
    plan = day_plan(BREAKFAST, given_at, meals(breakfast="10:30"), EVERY_QUARTER)
    assert "10:30" in " ".join(str(one.say) for one in plan.clashes)


ANY_MINUTE, AN_HOUR = ordered("before breakfast"), ordered("one hour before breakfast")


@pytest.mark.parametrize(
    ("order", "given_at", "served", "keys", "words"),
    [
        (AT_0730, "08:00", "08:30", [], ""),
        (AT_0730, "08:01", "08:30", ["given late"], "The dose is 31 minutes later than ordered (07:30)."),
        (AT_0730, "07:00", "07:30", [], ""),
        (AT_0730, "06:59", "07:30", ["given early"], "The dose is 31 minutes earlier than ordered (07:30)"),
        (AT_0730, "07:00", "09:01", ["meal too late"], ""),  # half an hour is on time
        # by the ward's time of the meal
        (BREAKFAST, "08:00", "08:30", [], ""),
        (BREAKFAST, "08:01", "08:31", ["given late"], "The dose is 31 minutes later than ordered (07:30)."),
        (BREAKFAST, "07:00", "07:30", [], ""),
        (BREAKFAST, "06:59", "07:29", ["given early"], "The dose is 31 minutes earlier than ordered (07:30)"),
        (AN_HOUR, "07:30", "08:00", ["order's time"], ""),
        (AN_HOUR, "07:31", "08:00", ["given late", "order's time"], "The dose is 31 minutes later than ordered (07:00)."),
        # whatever the order says of minutes
        (ANY_MINUTE, "06:00", "08:00", ["meal too late"], ""),
        (ANY_MINUTE, "05:59", "08:00", ["given early"], "The dose is 2 hours 1 minute earlier than ordered (for breakfast at 08:00)."),
    ],
)  # fmt: skip
def test_the_dose_given_late_or_early_by_a_minute(order, given_at, served, keys, words):
    plan = day_plan(order, given_at, meals(breakfast=served), EVERY_QUARTER)
    assert clash_keys(plan) == keys
    assert not words or plan.clashes[0].at == plan.given_at
    assert not words or str(plan.clashes[0].say).startswith(words)


def test_the_mixed_dose_that_waited_a_minute_too_long():
    assert clash_keys(day_plan(*MORNING, mixed_at="07:15")) == []
    plan = day_plan(*MORNING, mixed_at="07:14")
    assert clash_keys(plan) == ["waited"]
    waited = dict(plan.clashes[0].say.values)["given"]
    assert str(waited).startswith("Give no second dose. Tell the nurse in charge now")
    assert str(plan.clashes[0].say) == (
        "Mixed at 07:14, more than 15 minutes before 07:30. Not injected yet: discard it and draw up anew. Already injected: "
        f"{waited} Check on the patient as planned."
    )


@pytest.mark.parametrize(("at", "key"), [("08:00", None), ("08:15", None), ("08:16", "meal too late")])
def test_a_rapid_acting_insulin_is_given_within_15_minutes_of_the_meal(at, key):
    plan = day_plan(RAPID, "08:00", meals(breakfast=at), site=ward(meal_lead=60, meal_slack=5))
    assert str(plan.eat) == "08:00 to 08:15"
    assert [one for one in clash_keys(plan) if one.startswith("meal")] == ([key] if key else [])
    assert not key or "insulin lispro is taught for 0 to 15 minutes before a meal" in str(clash(plan, key).say)


def test_a_rapid_insulin_ordered_half_an_hour_before_the_meal_is_the_orders_fault():
    plan = day_plan(replace(RAPID, when="30 minutes before breakfast"), "07:30", site=EVERY_QUARTER)
    assert clash_keys(plan) == ["order's time", "meal too late"]
    assert str(plan.clashes[0].say).startswith(
        "The order says '30 minutes before breakfast', and insulin lispro is taught for 0 to 15"
    )
    assert "order's time" not in clash_keys(day_plan(RAPID, "08:00", site=EVERY_QUARTER))
    assert "order's time" not in clash_keys(day_plan(ordered("45 minutes before breakfast"), "07:15"))


def test_an_early_dose_keeps_the_reading_before_its_own_meal():
    plan = day_plan(SUPPER, "07:30", site=EVERY_QUARTER)
    assert clash_keys(plan) == ["given early"]
    assert "chart this dose, so that nobody gives it again" in str(plan.clashes[0].say)
    assert before(plan, "supper") == [("17:30", "look-before-meal")]


@pytest.mark.parametrize(
    ("part", "peak", "first", "last"),
    [
        ("clear", (2, 4), "09:30", "10:30"),  # strongest 09:30 to 11:30: the first hour, and no room about it
        ("clear", (2, 2.5), "09:30", "10:00"),  # shorter than an hour
        ("clear", (2, 2), "09:00", "10:00"),  # a single time: half an hour about it
        ("clear", (0.5, 0.5), "07:31", "08:30"),  # who injects is still there, and then gone
        ("cloudy", (8, 8), "15:00", "16:00"),
        ("cloudy", (4, 8), "11:30", "15:30"),  # all of it, and no room about it
    ],
)
def test_nobody_is_due_at_a_peak(part, peak, first, last):
    early, first, middle, late = clock(first).later(-1), clock(first), clock(first).later(20), clock(last).later(1)
    seen = [(first,), (late.later(-1),), (early, middle, late)]
    for rounds in [*seen, (early,), (late,), (early, late, late.later(59)), ()]:
        plan = day_plan(peaking(part, *peak), "07:30", site=ward(rounds=tuple(at.face for at in rounds)))
        acting = getattr(plan, part)
        peaks = [one for one in plan.clashes if one.key == "nobody at peak"]
        raised = [one for one in peaks if dict(one.say.values)["insulin"] == acting.dose.insulin.name]
        assert [one.at for one in raised] == ([] if rounds in seen else [acting.strongest.start])
        assert rounds or "nobody is due to look then: no round is set." in str(raised[0].say)


def test_the_rounds_nearest_to_a_peak_are_named():
    plan = day_plan(*MORNING, site=ward(rounds=("03:00", "08:00", "09:29", "12:31", "15:00", "21:30")))
    said = str(clash(plan, "nobody at peak").say)
    assert "strongest at 09:30 to 10:30" in said
    assert "the round before it is at 09:29, the next one after it is at 12:31" in said
    alone = day_plan(*MORNING, site=ward(rounds=("07:00",)))
    peaks = [one for one in alone.clashes if one.key == "nobody at peak"]
    assert [str(one.say).count("look then: the next one is at 07:00 the next day") for one in peaks] == [1, 1]


def test_nobody_is_due_at_a_look_between_two_rounds():
    rounds = ("08:00", "10:00", "11:30", "17:30")
    one = clash(day_plan(*MORNING, site=ward(rounds=rounds)), "nobody at peak")
    assert (str(one.at), one.limits) == ("14:30", (FACTS.day["peak_room_minutes"],))
    assert "strongest at 14:30, and nobody is due to look then: the round before it is at 11:30, the next" in str(
        one.say
    )
    assert day_plan(*MORNING, site=ward(rounds=(*rounds, "14:00"))).clashes == ()


@pytest.mark.parametrize("at", ["10:31", "11:00", "11:30"])
def test_no_round_is_named_that_comes_while_nobody_is_said_to_be_due(at):
    say = str(clash(day_plan(*MORNING, site=ward(rounds=("08:00", at, "15:30"))), "nobody at peak").say)
    assert not ("strongest at 09:30 to 11:30, and nobody is due to look then" in say and f"is at {at}" in say)


@pytest.mark.parametrize("row", handbook_keys(PLAIN))
def test_nobody_at_night_is_named_by_every_handbook(row):
    """A round at bedtime does not see the night: the patient goes to bed well."""
    rounds = ("07:00", "18:00", "20:00", "21:30")
    night = ("01:30", "04:30") if row == "aap-2003" else ("01:30",)  # which lets it be strongest until 07:30
    for site, seen in ((ward(rounds=rounds), False), (ward(rounds=(*rounds, *night)), True)):
        assert ("nobody at peak" in clash_keys(day_plan(*EVENING, site=site, row=row))) is not seen


@pytest.mark.parametrize(
    ("dose", "listed", "rounds", "slack", "due"),
    [
        (MORNING, None, ("07:44",), 15, False),
        (MORNING, None, ("07:45",), 15, True),
        (MORNING, None, ("08:15",), 15, True),
        (MORNING, None, ("08:16",), 15, False),
        (MORNING, None, ("07:44", "08:16"), 15, False),
        (MORNING, None, (), 15, False),
        (MORNING, None, ("07:55",), 5, True),  # how far a round may be from the tray is the ward's slack
        (MORNING, None, ("07:55",), 4, False),
        (MORNING, meals(breakfast="07:40"), ("07:29",), 15, False),  # a round before the injection sees no tray
        ((RAPID, "08:00"), None, ("08:00",), 15, True),  # who gives the insulin as the tray comes stands beside it
        (MORNING, (), (), 15, True),  # a tray that does not come for the dose needs nobody
        ((BREAKFAST, "05:59"), None, (), 15, True),
    ],
)
def test_nobody_is_due_when_the_tray_comes(dose, listed, rounds, slack, due):
    plan = day_plan(*dose, listed, ward(rounds=(*rounds, "10:00", "15:30"), meal_slack=slack))
    assert ("nobody at the tray" not in clash_keys(plan)) is due
    if not due:
        tray, at = clash(plan, "nobody at the tray"), plan.meal.at
        assert (tray.at, str(tray.say)) == (
            at,
            f"Nobody is due when breakfast comes at {at}: you look, or name who does.",
        )


@pytest.mark.parametrize("slip", [swapped, from_clear_layer, from_sediment])
def test_what_was_not_ordered_is_said_with_its_words(slip):
    injection = slip(BREAKFAST)
    plan = day_plan(*MORNING, curves=with_curves(injection=injection))
    assert clash_keys(plan) == ["not as ordered"]
    assert plan.clashes[0].at == plan.given_at
    assert str(plan.clashes[0].say).startswith(
        f"Not what was ordered: {injection.words}. Not injected: discard it, draw up anew."
    )
    assert all(one.measure for one in plan.visits)  # nobody knows the hours of what was given
    assert not all(one.measure for one in day_plan(*MORNING).visits)
    assert clash_keys(day_plan(*MORNING, curves=with_curves(injection=as_ordered(BREAKFAST)))) == []


def test_cloudy_insulin_in_the_clear_vial_spoils_the_vial_and_not_the_dose():
    (one,) = day_plan(*MORNING, curves=with_curves(injection=contaminated(BREAKFAST, 0.002))).clashes
    assert one.key == "not as ordered"
    assert str(one.say).startswith("Some NPH insulin got into the regular insulin vial")
    assert "Discard the vial now" in str(one.say)
    assert day_plan(*MORNING, curves=with_curves(injection=contaminated(BREAKFAST, 0))).clashes == ()


@pytest.mark.parametrize(
    ("key", "body_site", "start", "sooner", "acting"),
    [
        ("leg-exercise", "thigh", 90, "Leg exercise, 09:00 to 10:00", BOTH),
        ("leg-exercise", "abdomen", 90, "", BOTH),  # exercise lowers glucose wherever the dose lies
        ("leg-exercise", "abdomen", 600, "", "NPH insulin is"),  # 17:30, when the regular insulin is over
        ("leg-exercise", "thigh", 16 * 60, "", "NPH insulin is"),
        ("leg-exercise", "thigh", 16 * 60 + 1, "", ""),
        ("sauna", "abdomen", 90, "Sauna, 09:00 to 10:00", ""),
        ("sauna", "abdomen", 8 * 60, "Sauna, 15:30 to 16:30", ""),  # the clear insulin is taught to end at 15:30
        ("sauna", "abdomen", 8 * 60 + 1, "", ""),
        ("massage", "arm", 90, "Rubbing the place, 09:00 to 09:30", ""),
    ],
)
def test_what_makes_an_insulin_act_sooner_or_lowers_glucose_is_said_while_it_acts(
    key, body_site, start, sooner, acting
):
    plan = day_plan(*MORNING, curves=with_curves(body_site=body_site, spell=begin_spell(key, start)))
    assert clash_keys(plan) == ["acts sooner"] * bool(sooner) + ["exercise"] * bool(acting)
    assert {one.at for one in plan.clashes} <= {plan.given_at.later(start)}
    said = [str(one.say) for one in plan.clashes]
    assert not sooner or said[0].startswith(f"{sooner}: regular insulin may act sooner and more strongly")
    assert not acting or f"while {acting} taught to act: exercise lowers glucose by itself" in said[-1]


@pytest.mark.parametrize("at", ["07:30", "08:00", "09:00", "09:30"])
def test_the_doses_own_meal_not_eaten(at):
    plan = day_plan(BREAKFAST, "07:30", meals(breakfast=f"-{at}"), EVERY_QUARTER)
    assert clash_keys(plan) == ["meal not eaten"]
    assert plan.clashes[0].at == clock(at)
    assert str(plan.clashes[0].say).startswith(
        "Breakfast is not eaten, and this dose belongs to it. Not given: do not give it, and do not leave it out"
    )
    far = day_plan(BREAKFAST, "05:59", meals(breakfast="-08:00"), EVERY_QUARTER)
    assert clash_keys(far) == ["given early", "meal not eaten"]


@pytest.mark.parametrize(
    ("usual", "served", "acting"),
    [
        # not eaten: regular starts at 08:00, NPH at 08:30 at the earliest; regular acts until 15:30, NPH until 23:30
        ("07:59", "-07:59", None),
        ("08:00", "-08:00", "regular insulin is"),
        ("08:29", "-08:29", "regular insulin is"),
        ("08:30", "-08:30", BOTH),
        ("15:30", "-15:30", BOTH),
        ("15:31", "-15:31", "NPH insulin is"),
        ("23:30", "-23:30", "NPH insulin is"),
        ("23:31", "-23:31", None),
        # late, if one acts from its usual time until it comes
        ("07:50", "08:21", "regular insulin is"),
        ("07:50", "08:29", "regular insulin is"),
        ("07:50", "08:30", BOTH),
        ("15:30", "16:01", BOTH),
        ("15:31", "16:02", "NPH insulin is"),
        ("23:30", "00:01", "NPH insulin is"),
        ("23:31", "00:02", None),
        ("07:50", "15:31", BOTH),  # regular acts between the two times, at neither
        ("07:50", "19:50", BOTH),
        ("07:50", "19:51", None),  # more than half a day later is taken for earlier, before the dose
    ],
)
def test_a_later_meal_late_or_not_eaten_counts_while_an_insulin_is_taught_to_act(usual, served, acting):
    at, eaten = served.lstrip("-"), served[0] != "-"
    plan = day_plan(BREAKFAST, "07:30", meals(breakfast="07:55", snack=served), serving(EVERY_QUARTER, snack=usual))
    assert clash_keys(plan) == ([f"later meal {'late' if eaten else 'not eaten'}"] if acting else [])
    for one in plan.clashes:
        assert one.at == clock(usual)
        what = ".* later than usual" if eaten else "not eaten"
        assert re.match(rf"Snack at {at}( the next day)? is {what}, while {acting} taught to act\.", str(one.say))


@pytest.mark.parametrize(
    ("name", "at", "keys"),
    [
        ("brunch", "09:30", ["meal too late"]),
        ("brunch", "09:31", ["no meal"]),
        ("breakfast", "09:31", ["no meal", "later meal late"]),
        (None, None, ["no meal"]),
    ],
)
def test_no_meal_within_two_hours_of_the_dose(name, at, keys):
    plan = day_plan(PLAIN, "07:30", meals(**{name: at}) if name else (), EVERY_QUARTER)
    assert clash_keys(plan) == keys
    assert (plan.meal is None) == (plan.eat is None) == ("no meal" in keys)
    if "no meal" in keys:
        say = str(clash(plan, "no meal").say)
        assert say.startswith(
            "No meal that this dose could belong to is planned within 2 hours of the time it is meant for."
        )
        assert "regular insulin at all? NPH insulin alone, and when?" in say
        assert "meal" not in [one.key for one in plan.visits]


@pytest.mark.parametrize(
    ("dose", "listed", "key", "limits"),
    [
        ((AT_0730, "08:01"), {"breakfast": "08:30"}, "given late", {("ismp-2011", "recalled")}),
        ((PLAIN, "07:30"), {}, "no meal", {("own-assumption", "assumed")}),
        (MORNING, {"breakfast": "08:00", "lunch": "13:00"}, "later meal late", {("own-assumption", "assumed")}),
        (MORNING, {"breakfast": "09:00"}, "meal too late", {("afp-2009", "read"), ("own-assumption", "assumed")}),
    ],
)
def test_every_limit_that_was_passed_is_named_with_its_own_source(dose, listed, key, limits):
    passed = clash(day_plan(*dose, meals(**listed)), key).limits
    assert {(limit.source, limit.known) for limit in passed} == limits


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


LUNCH = meals(lunch="12:00")[0]
TWO_CLEAR = replace(PLAIN, doses=(PLAIN.clear, RAPID.clear))
LARGER = with_curves(replace(PLAIN, doses=read_order("regular insulin 30 units and NPH insulin 40 units").doses))


@pytest.mark.parametrize(
    ("error", "asked", "named", "words"),
    [
        (MealBeforeDose, (BREAKFAST, "08:01"), {}, "Breakfast at 08:00 lies before the dose at 08:01. A wrong time? Correct it. … do not give the dose yet, and do not leave it out either. Measure, and ask the nurse in charge or the prescriber"),
        (MealBeforeDose, (AT_0730, "08:20"), {}, "Breakfast at 08:00 lies before the dose at 08:20 … what is given, and when, is their decision."),
        (MealsAtOnce, (*MORNING, meals(lunch="12:00", tea="12:00")), {}, "Lunch and tea are both at 12:00. Give each its own time."),
        (MealsAtOnce, (*MORNING, [LUNCH, LUNCH]), {}, "Give each its own time."),
        (MealsAtOnce, (*MORNING, meals(breakfast="8:00", juice="08:00")), {}, "Give each its own time."),
        (NotAClockTime, (BREAKFAST, "half past seven"), {}, "'half past seven' is no time of day. Write it on the 24-hour clock, for example 07:30"),
        (NotAClockTime, MORNING, {"mixed_at": "25:00"}, "'25:00' is no time of day. Write it on the 24-hour clock"),
        (CannotPlan, MORNING, {"mixed_at": "07:31"}, "Mixed at 07:31, which is after the injection at 07:30. Correct one of the two times."),
        (NoSuchRow, MORNING, {"row": "my-handbook"}, f"No handbook 'my-handbook' has a row for these insulins. Choose one of {', '.join(handbook_keys(PLAIN))}."),
        (NotOneClearOneCloudy, (TWO_CLEAR, "07:30"), {}, "are both clear … ask the prescriber before anything is drawn up"),
        (CannotPlan, (ordered("after breakfast"), "08:30"), {}, "'after breakfast' … ask the prescriber"),
        (CannotPlan, MORNING, {"curves": LARGER}, "Compute them for this order"),
    ],
)  # fmt: skip
def test_what_makes_no_day_is_refused_with_what_is_wrong_and_what_to_do(error, asked, named, words):
    with pytest.raises(error) as refused:
        day_plan(*asked, **named)
    assert all(part in str(refused.value) for part in words.split(" … "))
    assert isinstance(refused.value, ValueError)


# Laws


OTHERS = st.lists(
    st.tuples(st.integers(60, 1380), st.booleans(), st.just(0) | st.integers(-700, 700)),
    max_size=4,
    unique_by=lambda one: one[0],
)  # minutes after the dose, whether it is eaten, and how much later than usual it is
MINUTE = st.integers(0, MINUTES_A_DAY - 1)
HANDBOOKS = st.sampled_from(handbook_keys(PLAIN))


def a_day(start, lead, others, rounds, bedtime, waking, due, row, *, moved=0, named=True, mixed=0):
    """Return the plan of a day whose every time is given in minutes from `start`."""
    listed = [Meal(name="breakfast", at=face(start + lead))]
    usual = [Meal(name="breakfast", at=face(start + lead - moved))]
    for place, (at, eaten, later) in enumerate(others):
        listed.append(Meal(name=f"meal {at}", at=face(start + at), eaten=eaten, grams=10 + place))
        usual.append(Meal(name=f"meal {at}", at=face(start + at - later)))
    site = ward(rounds=tuple(face(start + each) for each in rounds), bedtime=(face(start + bedtime),))
    order = replace(BREAKFAST if named else PLAIN, clock=None if due is None else face(start + due))
    site = replace(site, meals=tuple(usual), waking=replace(site.waking, at=(face(start + waking),)))
    return day_plan(order, face(start), listed, site, row=row, mixed_at=face(start - mixed))


def a_day_or_refusal(start, **day):
    try:
        plan = a_day(start, **day)
    except MealBeforeDose as refused:
        return type(refused)
    assert plan.given_at.minutes == start % MINUTES_A_DAY
    return from_the_dose(plan, plan.given_at)


def from_the_dose(held, given):
    """Return a plan with each time as minutes after the injection.

    Left out are its sentences, which name times, and the answer about the order: breakfast at 03:00 is another question.
    """
    if isinstance(held, ClockTime):
        return given.until(held)
    if isinstance(held, Meal):
        return held.name, held.eaten
    if isinstance(held, (Site, Order)):
        return None
    if isinstance(held, tuple):
        return tuple(from_the_dose(each, given) for each in held)
    if is_dataclass(held) and not isinstance(held, (RuleRow, ActionTimes, Dose)):
        parts = (each.name for each in fields(held) if each.name not in ("say", "answer"))
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
    due=st.none() | st.integers(-150, 150) | st.integers(-700, 700),
    row=HANDBOOKS,
    moved=st.just(0) | st.integers(-700, 700),
    named=st.booleans(),
    mixed=st.integers(0, 60),
)
@example(start=450, shift=1000, lead=30, others=[(270, False, 0), (630, True, 45)], rounds=[240, 480], bedtime=840, waking=1380, due=-31, row=None, moved=20, named=True, mixed=5)  # fmt: skip
@example(start=450, shift=1000, lead=30, others=[(270, True, 31)], rounds=[40], bedtime=840, waking=1380, due=31, row=None, moved=-40, named=False, mixed=16)  # fmt: skip
@example(start=450, shift=985, lead=30, others=[], rounds=[], bedtime=840, waking=1380, due=None, row=None, moved=31, named=True, mixed=0)  # fmt: skip
@example(start=450, shift=995, lead=30, others=[(1381, True, 31)], rounds=[], bedtime=840, waking=1380, due=-20, row=None, moved=10, named=True, mixed=10)  # fmt: skip
def test_a_day_shifted_as_a_whole_is_the_same_day(start, shift, **day):
    """Across midnight as well: the dose, its meal, what was mixed the day before, a late meal of the next day."""
    assert a_day_or_refusal(start + shift, **day) == a_day_or_refusal(start, **day)


@settings(deadline=None)
@given(start=MINUTE, lead=st.integers(0, 719), eaten=st.booleans(), moved=st.integers(-60, 60), row=HANDBOOKS)
@example(start=450, lead=0, eaten=True, moved=0, row=None)
@example(start=450, lead=45, eaten=True, moved=15, row=None)
@example(start=450, lead=46, eaten=True, moved=16, row=None)
@example(start=450, lead=120, eaten=True, moved=60, row=None)
@example(start=450, lead=121, eaten=True, moved=60, row=None)
@example(start=450, lead=30, eaten=False, moved=0, row=None)
@example(start=450, lead=10, eaten=False, moved=-20, row=None)
def test_the_clear_insulin_is_only_looked_at_if_its_meal_is_eaten_in_time_and_the_patient_awake(
    start, lead, eaten, moved, row
):
    site = serving(breakfast=face(start + lead - moved))
    plan = day_plan(BREAKFAST, face(start), [Meal(name="breakfast", at=face(start + lead), eaten=eaten)], site, row=row)
    fed = eaten and lead <= 45
    clear = visit(plan, "clear")
    night = rule_of(clear) == "look-night"
    assert clear.measure == (night or not fed)
    assert night or rule_of(clear) == ("look-clear" if fed else "look-clear-no-food")
    usual = lead - moved if lead - moved <= MINUTES_A_DAY // 2 else lead - moved - MINUTES_A_DAY
    far = lead > 120 and usual - 30 > 30
    tray = [(plan.given_at.until(one.window.start), one.measure) for one in plan.visits if one.key == "meal"]
    late = [(lead, True)] if eaten and lead > 45 else []  # and once more when it comes
    assert tray == ([] if far else [(min(lead, 45), not fed), *late])
    assert (plan.eat is None) == far
    about = {"given early", "meal too soon", "meal too late", "meal not eaten", "given late"}
    assert (lead >= 15 and fed) or about & set(clash_keys(plan))
    assert plan.meal.meal.name == "breakfast"


@settings(deadline=None)
@given(start=MINUTE, wanted=st.integers(-150, 150), times=st.lists(MINUTE, min_size=1, max_size=5, unique=True))
@example(start=450, wanted=0, times=[445, 480])  # the nearest is not the first after it
@example(start=450, wanted=0, times=[449, 570])
@example(start=450, wanted=0, times=[450, 480])
@example(start=450, wanted=0, times=[449, 571])
@example(start=420, wanted=30, times=[440, 480])
@example(start=480, wanted=-30, times=[480, 540])
@example(start=360, wanted=90, times=[390, 480])
@example(start=481, wanted=-31, times=[480, 720])
@example(start=21, wanted=-31, times=[20, 1420])  # ordered for 23:50, its meal at 00:20
def test_an_order_by_the_clock_has_the_first_meal_within_two_hours_of_its_time_or_none(start, wanted, times):
    order = replace(PLAIN, clock=face(start + wanted))
    listed = [Meal(name=f"meal {place}", at=face(at)) for place, at in enumerate(times)]
    after = min(((at - start - wanted) % MINUTES_A_DAY, place) for place, at in enumerate(times))
    at = wanted + after[0]
    if after[0] <= 120 and at < 0:
        with pytest.raises(MealBeforeDose):
            day_plan(order, face(start), listed)
        return
    plan = day_plan(order, face(start), listed)
    assert plan.given_at.until(plan.due_at) == wanted
    assert (plan.meal is not None) == (after[0] <= 120)
    assert (plan.eat is not None) == (after[0] <= 120 and not (at > 120 and wanted > 30))
    if plan.meal:
        assert (plan.meal.meal, plan.given_at.until(plan.meal.at)) == (listed[after[1]], at)


@settings(deadline=None)
@given(st.integers(0, 45), st.permutations([270, 400, 630]), st.integers(-200, 600))
def test_moving_a_later_meal_moves_it_and_its_visit_and_nothing_else(lead, offsets, by):
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
    moved_with_it, moved_to = (
        {visit for visit in set(this.visits) - set(that.visits) if visit.key != "cloudy"}
        for this, that in ((one, other), (other, one))
    )  # a reading may serve for a look at the cloudy insulin
    (earlier,), (later,) = moved_with_it, moved_to
    assert (earlier.key, earlier.window.start.later(30)) == (later.key, later.window.start)
    strongest = "NPH insulin is taught to be strongest now (11:30 to 17:30). "
    assert str(earlier.say).removeprefix(strongest) == str(later.say).removeprefix(strongest)
    assert earlier.window.start.until(was.at) == WARD.meal_lead.value
    changed = {"meals", "visits"}
    assert all(getattr(one, each.name) == getattr(other, each.name) for each in fields(one) if each.name not in changed)


@settings(deadline=None)
@given(st.integers(-180, 300))
@example(30)
@example(31)
def test_moving_a_meal_of_the_ward_leaves_the_reading_at_its_usual_time(by):
    usual, at = day_plan(*MORNING), face(720 + by)
    plan = day_plan(BREAKFAST, "07:30", meals(breakfast="08:00", lunch=at, supper="18:00"))
    looked = [str(one.window.start) for one in plan.visits if "lunch" in str(one.say).lower()]
    assert looked == ([face(690)] if by > 0 else []) + [face(690 + by)]
    others = [
        [one for one in each.visits if "lunch" not in str(one.say).lower() and one.key != "cloudy"]
        for each in (plan, usual)
    ]
    assert others[0] == others[1]
    assert ("11:30 look-cloudy" in looks_of(plan)) is (by < -30)  # lunch is over when the strongest hours begin
    assert clash_keys(plan) == (["later meal late"] if by > 30 else [])
    assert plan.due_at == usual.due_at
    for one in plan.clashes:
        assert one.at == clock("12:00")  # when it was expected
        told = f"Lunch at {at} is {minutes_text(by)} later than usual, while {BOTH} taught to act. Measure at the usual"
        assert str(one.say).startswith(told)


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
    others=OTHERS.map(lambda others: [(max(at, 90), *rest) for at, *rest in others]).filter(
        lambda others: len({at for at, *_ in others}) == len(others)
    ),
    rounds=st.lists(MINUTE, max_size=6, unique=True),
    bedtime=MINUTE,
    row=HANDBOOKS,
    moved=st.integers(-700, 700),
)
def test_visits_and_clashes_stand_in_order_within_a_day_of_the_dose(start, lead, others, rounds, bedtime, row, moved):
    plan = a_day(start, lead, others, rounds, bedtime, waking=0, due=None, row=row, moved=moved)
    looked, clashed = [one.window.start for one in plan.visits], [one.at for one in plan.clashes]
    assert looked == sorted(looked)
    assert clashed == sorted(clashed)
    assert [one.at for one in plan.meals] == sorted(one.at for one in plan.meals)
    assert list(plan.rounds) == sorted(plan.rounds)
    last = plan.meal.at.later(MINUTES_A_DAY)
    for window in (one.window for one in plan.visits):
        assert plan.given_at <= window.start < last.later(1)
        assert window.end < last.later(1) or window == plan.cloudy.ends  # one handbook lets it act for 28 h
    assert all(plan.given_at <= at < last for at in clashed)
    assert all(0 <= plan.given_at.until(at) < MINUTES_A_DAY for at in plan.rounds)


def test_every_sentence_of_a_plan_begins_with_a_capital_letter_and_ends():
    unfed = meals(breakfast="-08:00", lunch="-12:00")
    plans = [
        day_plan(*MORNING),
        day_plan(*EVENING),
        day_plan(RAPID, "08:00", unfed, ward(rounds=("03:00",)), mixed_at="07:00"),
        day_plan(BREAKFAST, "08:40", meals(breakfast="09:30", lunch="13:00", supper="-18:00"), ward(rounds=())),
        day_plan(BREAKFAST, "05:30", WARD.meals, curves=with_curves(injection=swapped(BREAKFAST))),
    ]
    assert len({one.key for plan in plans for one in plan.clashes}) >= 8
    said = [str(one.say) for plan in plans for one in (*plan.visits, *plan.clashes)]
    for say in [*said, *(str(say) for plan in plans for say, _ in plan.standing)]:
        assert say[0].isupper()
        assert say[-1] in ".?"
        assert not re.search(r"[.?!] [a-z]", say)
        assert not {"{", "}"} & set(say)
