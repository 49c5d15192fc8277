"""Nothing of the curves and of the day bypasses the catalogue: all of it is said in a language made of brackets."""

import itertools
from collections.abc import Callable, Iterator
from dataclasses import replace

import numpy as np
import pytest
from apart import bypassing, in_brackets_apart

from mixlab import action_curves, read_order
from mixlab.care.action.absorption import NoModel, Spell, absorption_of, begin_spell
from mixlab.care.action.handbooks import against_handbooks
from mixlab.care.action.injection import as_ordered, contaminated, from_clear_layer, from_sediment, swapped
from mixlab.care.action.studies import compare_with_model, scoreboard
from mixlab.care.action.study_questions import MODEL_FIGURES
from mixlab.care.action.variation import day_to_day
from mixlab.care.day.dose_day import CannotPlan, MealBeforeDose, MealsAtOnce
from mixlab.care.day.need import cover
from mixlab.care.day.parts import Window
from mixlab.care.day.planning import DayPlan, day_plan
from mixlab.facts.action_rows import TrialRow
from mixlab.facts.shelf import shelf
from mixlab.figures.action.study_table import scoreboard_table
from mixlab.quantities import ClockTime, NotAnAmount
from mixlab.ward.meal import Meal
from mixlab.ward.order.order import Order
from mixlab.ward.site.in_force import example_sites
from mixlab.ward.site.record import teaching_site
from mixlab.words import say

HOURS = np.arange(289) / 12
DOSE = "regular insulin 8 units and NPH insulin 20 units"
ORDERS = tuple(
    read_order(text)
    for text in (
        DOSE,
        f"{DOSE} 30 minutes before breakfast",
        f"{DOSE} 5 minutes before breakfast",
        f"{DOSE} 30 minutes before supper",
        f"{DOSE} at 07:30",
        f"{DOSE} at bedtime",
        "insulin lispro 8 units and NPH insulin 20 units 15 minutes before breakfast",
    )
)
PLAIN = ORDERS[0]
SLIPS: tuple[Callable[[Order], object], ...] = (
    as_ordered,
    swapped,
    from_clear_layer,
    from_sediment,
    lambda order: contaminated(order, 0.25),
)
TYPED = ("snack", "Snack", *(order.when for order in ORDERS if order.when))
"""What somebody wrote: names of meals of their own, and times in an order."""


def meals_of(served: str, *, eaten: bool, lunch: str = "12:00", fed: bool = True) -> list[Meal]:
    changed = {"breakfast": {"at": served, "eaten": eaten}, "lunch": {"at": lunch, "eaten": fed}}
    return [replace(meal, **changed.get(meal.name, {})) for meal in teaching_site().meals]


MEALS = (
    None,
    (),
    meals_of("07:35", eaten=True, fed=False),
    meals_of("08:00", eaten=False, lunch="14:00"),
    meals_of("09:00", eaten=True),
    (*teaching_site().meals, Meal(name="snack", at="03:00", eaten=False)),
)


def plans() -> Iterator[DayPlan]:
    """Every order at many times of day, with every list of meals; then every slip and spell; then every ward."""
    for order, at, meals in itertools.product(ORDERS, ("00:00", "06:45", "07:30", "08:20", "17:30", "22:00"), MEALS):
        try:
            yield day_plan(order, at, meals)
        except CannotPlan:
            continue
    for slip, key, start in itertools.product(SLIPS, shelf().speeds, (0, 90)):
        curves = action_curves(PLAIN, HOURS, injection=slip(PLAIN), spell=begin_spell(key, start), body_site="thigh")
        yield day_plan(PLAIN, "07:30", curves=curves)
        yield day_plan(PLAIN, "07:30", curves=action_curves(PLAIN, HOURS, spell=begin_spell(key, start)))
    for site in example_sites():
        yield day_plan(PLAIN, "07:30", site=site, mixed_at="05:00")
        for at in ((), ("09:00",), ("13:00",)):
            yield day_plan(PLAIN, "07:30", site=replace(site, rounds=replace(site.rounds, at=at)))
        for row in {times.source for dose in PLAIN.doses for times in dose.insulin.row.times}:
            yield day_plan(PLAIN, "07:30", site=site, row=row)


def texts_of(plan: DayPlan) -> Iterator[tuple[str, str]]:
    for look in plan.visits:
        yield f"look {look.key}", str(look.say)
        yield f"when {look.key}", str(look.window)
    for clash in plan.clashes:
        yield clash.key, f"{say(clash.key)}: {clash.say}"
        yield from ((f"limit of {clash.key}", say(limit.unit)) for limit in clash.limits)
    for words, rule in plan.standing:
        yield f"standing {words}", str(words)
        yield f"cited {words}", str(plan.site.cite(rule))
    for one in plan.meals:
        yield f"meal {one.meal.name}", str(one.name)


def test_everything_of_a_day_is_said_by_the_catalogue():
    wrong: dict[str, object] = {}
    with in_brackets_apart():
        ruled = set()
        for plan in plans():
            wrong |= bypassing(dict(texts_of(plan)), *TYPED)
            ruled |= {one.rule.say for one in (*plan.visits, *plan.clashes)} | {rule.say for _, rule in plan.standing}
    assert not wrong
    assert {row.say for row in shelf().day_rules.values()} <= ruled


def test_a_window_and_a_time_are_said_by_the_catalogue():
    with in_brackets_apart():
        times = [ClockTime(minutes) for minutes in (-60, 450, 1500, 3000)]
        said = {f"{start} {end}": str(Window(start=start, end=end)) for start, end in itertools.product(times, times)}
    assert not bypassing(said)


REFUSED = (CannotPlan, NoModel, NotAnAmount)


def far_off() -> Spell:
    return replace(begin_spell("massage", 0), start_minutes=7)


def too_large() -> object:
    return action_curves(read_order("regular insulin 60 units and NPH insulin 150 units"), HOURS)


def without_figures() -> object:
    (order,) = [order for order in ORDERS if "lispro" in str(order)]
    return absorption_of(order.clear.insulin)


def nothing_of_one() -> object:
    clear, cloudy = PLAIN.doses
    return as_ordered(replace(PLAIN, doses=(replace(clear, units=float("nan")), cloudy)))


REFUSALS: dict[str, Callable[[], object]] = {
    "after a meal": lambda: day_plan(read_order(f"{DOSE} 30 minutes after breakfast"), "07:30"),
    "two meals at once": lambda: day_plan(PLAIN, "07:30", [Meal(name="snack", at="08:00"), *teaching_site().meals]),
    "a meal before its dose": lambda: day_plan(ORDERS[1], "09:00"),
    "mixed afterwards": lambda: day_plan(PLAIN, "07:30", mixed_at="08:00"),
    "no such handbook": lambda: day_plan(PLAIN, "07:30", row="nobody"),
    "curves of another dose": lambda: day_plan(
        PLAIN, "07:30", curves=action_curves(read_order("regular insulin 4 units and NPH insulin 9 units"), HOURS)
    ),
    "no weight": lambda: action_curves(PLAIN, HOURS, 0),
    "hours that are none": lambda: action_curves(PLAIN, (90.0,)),
    "no such place": lambda: action_curves(PLAIN, HOURS, body_site="ear"),
    "too large": too_large,
    "no amount": nothing_of_one,
    "no figures": without_figures,
    "no such spell": lambda: begin_spell("rain", 0),
    "no minute": lambda: begin_spell("sauna", -1),
    "no fraction": lambda: contaminated(PLAIN, 2),
    "no days": lambda: day_to_day(PLAIN, HOURS, draws=0),
    "no width": lambda: day_to_day(PLAIN, HOURS, width="narrow"),
    "no step": lambda: day_to_day(PLAIN, HOURS, step=0),
    "no spell on the steps": lambda: day_to_day(PLAIN, HOURS, step=5, spell=far_off()),
    "no share": lambda: cover(action_curves(PLAIN, HOURS), (), -1),
}


@pytest.mark.parametrize("name", REFUSALS)
def test_a_refusal_is_said_by_the_catalogue(name):
    typed = (
        *("nobody", "ear", "rain", "narrow", "nan", "day to day", "wide"),  # what somebody typed, and may type instead
        *("regular insulin 4 units and NPH insulin 9 units", DOSE, "snack", "Snack", "30 minutes after breakfast"),
        *shelf().body_sites,
        *shelf().speeds,
        *shelf().sources,
    )
    with pytest.raises(REFUSED) as refused:
        REFUSALS[name]()
    with in_brackets_apart():
        said = str(refused.value)
    assert not bypassing({name: said}, *typed)
    assert "⟦" in said


def test_the_refusals_are_of_every_kind():
    kinds = set()
    for refuse in REFUSALS.values():
        with pytest.raises(REFUSED) as refused:
            refuse()
        kinds.add(type(refused.value))
    assert {CannotPlan, MealBeforeDose, MealsAtOnce} < kinds


@pytest.mark.parametrize("slip", SLIPS)
def test_what_was_given_is_said_by_the_catalogue(slip):
    with in_brackets_apart():
        words = str(slip(PLAIN).words)
    assert not bypassing({"slip": words})


def of_every_moment_and_unit() -> Iterator[TrialRow]:
    yield from shelf().trials.values()
    (some,) = [trial for name, trial in shelf().trials.items() if name == "lepore-end"]
    for part in (0.001, 1000):
        yield replace(some, value=some.value * part, low=some.low * part, high=some.high * part)


def test_the_scoreboard_is_said_by_the_catalogue():
    with in_brackets_apart():
        table = scoreboard_table()
        rows = {f"{at}": str(compare_with_model(trial)) for at, trial in enumerate(of_every_moment_and_unit())}
        never = str(replace(scoreboard()[0], model=None))
    assert not bypassing({"table": " ".join(table.split()), "never": never, **rows})
    assert {trial.moment for trial in shelf().trials.values()} == set(MODEL_FIGURES)


def test_the_model_beside_handbooks_is_said_by_the_catalogue():
    curves = [action_curves(PLAIN, HOURS), action_curves(PLAIN, HOURS, 5000.0)]
    with in_brackets_apart():
        said = {f"{one}": str(one) for each in curves for one in against_handbooks(each)}
    assert not bypassing(said)
    assert any("⟦none⟧" in text for text in said.values())
