"""What is said of decisions, of lows that are treated, of curves and of days: rows of a text and the words from elsewhere in it."""

import itertools
import math
import random
from collections.abc import Callable, Iterator
from dataclasses import replace

import numpy as np
from brackets import SITES
from said_in_care import DOSE, PLAIN, TEACHING, Rows, refused

from mixlab import action_curves, day_plan, decide, read_order
from mixlab.adapting.compare.listings.decisions import COURSES
from mixlab.care.action.absorption import absorption_of, begin_spell
from mixlab.care.action.handbooks import against_handbooks
from mixlab.care.action.injection import as_ordered, contaminated, from_clear_layer, from_sediment, swapped
from mixlab.care.action.studies import compare_with_model, scoreboard
from mixlab.care.action.variation import day_to_day
from mixlab.care.day.dose_day import CannotPlan
from mixlab.care.day.need import cover
from mixlab.care.day.planning import DayPlan
from mixlab.care.decision.chart import answer_order
from mixlab.care.decision.deciding import Decision
from mixlab.care.decision.swallowing import sign_text
from mixlab.care.low.events import (
    CallForHelp,
    Carbohydrate,
    Eat,
    EmergencyTreatment,
    Event,
    Measure,
    TellNurse,
    TellPrescriber,
    Wait,
)  # fmt: skip
from mixlab.care.low.treatment import walk
from mixlab.facts.reading import the_facts
from mixlab.figures.action.study_table import scoreboard_table
from mixlab.quantities import Glucose
from mixlab.ward.meal import Meal
from mixlab.ward.observation import Earlier, Observation, OffScale
from mixlab.words import Sentence, say

HOURS = np.arange(289) / 12
LISPRO = read_order("insulin lispro 8 units and NPH insulin 20 units 15 minutes before breakfast")
AMOUNTS = (-1, math.nan, math.inf, "15", True, None)
CHANCES = 3000
"""How many patients are drawn by chance, always the same ones."""

MG_DL = (5.4, 15, 19, 40, 53, 62, 69, 70, 75, 84, 98, 110, 251, 260, 300, 301, 350, 600, 601)
MMOL_L = (2.9, 3.9, 5.4, 9.8, 14.0, 20.1, 33.4, 98.0)
WELL = ("subcut 30 minutes before breakfast", "subcut before supper", "subcut at 07:30")
ORDERS = [
    *(
        read_order(f"{dose} {when}")
        for dose in (DOSE, "regular insulin 1 unit and NPH insulin 8.5 units")
        for when in WELL
    ),
    read_order(f"{LISPRO} subcut"),
    *map(read_order, (DOSE, f"{DOSE} subcut after breakfast")),
]
"""Most of them well written; two are to be cleared up, and one ward mixes no lispro."""


# Decisions, and lows


def glucose(chance: random.Random, *others: None) -> Glucose | OffScale | None:
    mg_dl, mmol_l = Glucose(chance.choice(MG_DL), "mg/dL"), Glucose(chance.choice(MMOL_L), "mmol/L")
    return chance.choice((mg_dl, mg_dl, mmol_l, chance.choice(("HI", "LO", *others))))


def seen(chance: random.Random) -> Observation:
    """Return a patient with one or a few things out of line."""

    def sometimes(usual: object, *others: object) -> object:
        return chance.choice(others) if chance.random() < 0.15 else usual

    some_signs = tuple(chance.sample(tuple(the_facts().signs), chance.randint(1, 2)))
    hours = (0, 0.5, 1, 3, 12, 23, 30)
    return Observation(
        glucose=glucose(chance, None),
        signs=sometimes((), some_signs, some_signs, None),
        eating=sometimes(True, False, None),
        minutes_old=sometimes(0.0, None, math.inf, 61, 90.26),
        vomiting=sometimes(False, True),
        fasting=sometimes(False, True),
        meal_late=sometimes(False, True),
        can_swallow=chance.choice((True, None, None, False)),
        alertness=sometimes("awake", "drowsy", "unresponsive", None),
        hours_since_dose=sometimes(math.inf, None, 1 / 60, 1, 2.5),
        earlier=tuple(Earlier(glucose(chance), chance.choice(hours)) for _ in range(chance.choice((0, 0, 1, 2)))),
        changed=sometimes(False, True),
        prescriber_says_give=sometimes(False, True),
        prescriber_says_wait=sometimes(False, True),
        food_due=sometimes(False, True),
        minutes_after_treatment=sometimes(None, 0, 5.5, 15),
        treated_as_low=sometimes(False, True),
        treated_by_mouth=sometimes(0, 1, 2, 3, 4),
    )


def event(chance: random.Random) -> Event:
    signs = chance.choice(((), (), ("sweating",), ("confusion",), ("unresponsive",), None))
    alertness = chance.choice(("as before", "as before", "awake", "drowsy", "unresponsive"))
    measured = Measure(glucose(chance), signs, alertness, chance.choice(("as before", True, False)))
    gave, waited = Carbohydrate(chance.choice((10, 15, 20))), Wait(chance.choice((0, 5, 15, 40, 61)))
    told = TellPrescriber(chance.random() < 0.5)
    return chance.choice(
        (measured, measured, gave, waited, told, EmergencyTreatment(), TellNurse(), Eat(), CallForHelp())
    )


def low(value: float | str, **more: object) -> Observation:
    found = value if isinstance(value, str) else Glucose(value, "mg/dL")
    return Observation(**{"glucose": found, "signs": (), "eating": True, "can_swallow": True, **more})


def look(value: float, *signs: str, **more: object) -> Measure:
    return Measure(Glucose(value, "mg/dL"), signs, **more)


STILL = (Carbohydrate(15), Wait(15), look(66))
AWAKE_AGAIN = (EmergencyTreatment(), Wait(15), look(120, alertness="awake"))
NO, YES = TellPrescriber(says_give=False), TellPrescriber(says_give=True)
RARE = (
    (low(62), (*STILL, NO)),
    (low(62), (*STILL, *STILL, *STILL, Carbohydrate(15), Wait(15), NO)),
    (low(62, fasting=True), (*STILL, *STILL, *STILL)),
    (low(62, vomiting=True), (*STILL, NO)),
    (low(62), (*STILL, Carbohydrate(15), Wait(15), look(94), Eat(), look(60), NO)),
    (low(62, fasting=True), (NO, EmergencyTreatment(), Wait(15), look(94))),
    (low(95, alertness="drowsy"), (*AWAKE_AGAIN, NO, YES, Eat())),
    (low(40, alertness="unresponsive"), (*AWAKE_AGAIN, NO, YES, Eat())),
    (low(95, signs=("sweating",)), (Carbohydrate(15), Wait(15), look(120), YES, Eat())),
    (low(95, signs=("sweating",)), (look(96, "sweating"), NO)),
    *((low(value, signs=("hunger",)), ()) for value in range(150, 170)),
    (low(260, signs=("sweating",)), (look(258, "sweating"), Carbohydrate(15))),
    (low("HI", signs=("sweating",)), (Carbohydrate(15), NO)),
    *COURSES.values(),
)
"""Walks to what chance comes by seldom."""


def sentences(decision: Decision) -> Iterator[Sentence]:
    yield from (decision.reading, decision.allowance_rule, *decision.numbers)
    yield from (part for reason in decision.because for part in (reason.text, reason.rule))
    yield from (one.text for one in (*decision.steps, *decision.at_once, *decision.tell, *decision.give_when))


TREATS_NEAR = replace(SITES[0], near_low_answer=replace(SITES[0].near_low_answer, value="treat"))
WRITTEN_WHEN = ("30 minutes before breakfast", "after breakfast")


def decisions() -> Rows:
    chance = random.Random(1)
    for _ in range(CHANCES):
        decision = decide(chance.choice(ORDERS), seen(chance), chance.choice((*SITES, TREATS_NEAR)))
        said = (*sentences(decision), *decision.because, *(decision.allowance or ()), decision.headline)
        yield from ((one, *WRITTEN_WHEN) for one in said)
    twice = low(310, earlier=(Earlier(Glucose(320, "mg/dL"), 30),))
    yield from ((one, *WRITTEN_WHEN) for one in sentences(decide(ORDERS[0], twice, SITES[0])))
    plain = read_order("regular insulin 8 units and NPH insulin 20 units subcut 30 minutes before breakfast")
    yield (answer_order(plain, SITES[0]).headline,)
    yield from (
        (one,) for one in (*map(sign_text, the_facts().signs), *(row.text for row in the_facts().answers.values()))
    )


def lows() -> Rows:
    chance = random.Random(1)
    some = ((seen(chance), tuple(event(chance) for _ in range(chance.randint(1, 8)))) for _ in range(CHANCES // 6))
    for found, events in (*RARE, *some):
        for moment in walk(chance.choice(ORDERS), found, events, chance.choice(SITES)):
            yield from ((moment.due,), (moment.remark,))
    for kind in (Carbohydrate, Wait):
        for amount in (*AMOUNTS, *([0] if kind is Carbohydrate else [])):
            yield refused(kind, amount), repr(amount)


# Curves, and days

WRITTEN = (
    *(
        f"{DOSE} {when}"
        for when in ("30 minutes before breakfast", "5 minutes before breakfast", "30 minutes before supper")
    ),
    *(f"{DOSE} {when}" for when in ("at 07:30", "at bedtime")),
)
DAY_ORDERS = (PLAIN, *map(read_order, WRITTEN), LISPRO)
SLIPS = (as_ordered, swapped, from_clear_layer, from_sediment, lambda order: contaminated(order, 0.25))
TYPED = ("snack", "Snack", *(order.when for order in DAY_ORDERS if order.when))
"""What somebody wrote: names of meals of their own, and times in an order."""


def meals_of(served: str, *, eaten: bool, lunch: str = "12:00", fed: bool = True) -> list[Meal]:
    changed = {"breakfast": {"at": served, "eaten": eaten}, "lunch": {"at": lunch, "eaten": fed}}
    return [replace(meal, **changed.get(meal.name, {})) for meal in TEACHING.meals]


MEALS = (
    None,
    (),
    meals_of("07:35", eaten=True, fed=False),
    meals_of("08:00", eaten=False, lunch="14:00"),
    meals_of("09:00", eaten=True),
    (*TEACHING.meals, Meal(name="snack", at="03:00", eaten=False)),
)


def plans() -> Iterator[DayPlan]:
    """Every order at many times of day, with every list of meals; then every slip and spell; then every ward."""
    times = ("00:00", "06:45", "07:30", "08:20", "17:30", "22:00")
    for order, at, meals in itertools.product(DAY_ORDERS, times, MEALS):
        try:
            yield day_plan(order, at, meals)
        except CannotPlan:
            continue
    for slip, key, start in itertools.product(SLIPS, the_facts().speeds, (0, 90)):
        spell = begin_spell(key, start)
        yield day_plan(
            PLAIN, "07:30", curves=action_curves(PLAIN, HOURS, injection=slip(PLAIN), spell=spell, body_site="thigh")
        )
        yield day_plan(PLAIN, "07:30", curves=action_curves(PLAIN, HOURS, spell=spell))
    for site in SITES:
        yield day_plan(PLAIN, "07:30", site=site, mixed_at="05:00")
        for at in ((), ("09:00",), ("13:00",)):
            yield day_plan(PLAIN, "07:30", site=replace(site, rounds=replace(site.rounds, at=at)))
        for row in {times.source for dose in PLAIN.doses for times in dose.insulin.row.times}:
            yield day_plan(PLAIN, "07:30", site=site, row=row)


def days() -> Rows:
    for plan in plans():
        yield from ((words, *TYPED) for one in plan.visits for words in (one.say, one.window))
        for clash in plan.clashes:
            yield f"{say(clash.key)}: {clash.say}", *TYPED
            yield from ((say(limit.unit), *TYPED) for limit in clash.limits)
        yield from ((words, *TYPED) for told, rule in plan.standing for words in (told, plan.site.cite(rule)))
        yield from ((one.name, *TYPED) for one in plan.meals)


OTHER = "regular insulin 4 units and NPH insulin 9 units"
REFUSED: tuple[Callable[[], object], ...] = (
    lambda: day_plan(read_order(f"{DOSE} 30 minutes after breakfast"), "07:30"),
    lambda: day_plan(PLAIN, "07:30", [Meal(name="snack", at="08:00"), *TEACHING.meals]),
    lambda: day_plan(DAY_ORDERS[1], "09:00"),
    lambda: day_plan(PLAIN, "07:30", mixed_at="08:00"),
    lambda: day_plan(PLAIN, "07:30", row="nobody"),
    lambda: day_plan(PLAIN, "07:30", curves=action_curves(read_order(OTHER), HOURS)),
    lambda: action_curves(PLAIN, HOURS, 0),
    lambda: action_curves(PLAIN, (90.0,)),
    lambda: action_curves(PLAIN, HOURS, body_site="ear"),
    lambda: action_curves(read_order("regular insulin 60 units and NPH insulin 150 units"), HOURS),
    lambda: as_ordered(replace(PLAIN, doses=(replace(PLAIN.clear, units=math.nan), PLAIN.cloudy))),
    lambda: absorption_of(LISPRO.clear.insulin),
    lambda: begin_spell("rain", 0),
    lambda: begin_spell("sauna", -1),
    lambda: contaminated(PLAIN, 2),
    lambda: day_to_day(PLAIN, HOURS, draws=0),
    lambda: day_to_day(PLAIN, HOURS, width="narrow"),
    lambda: day_to_day(PLAIN, HOURS, step=0),
    lambda: day_to_day(PLAIN, HOURS, step=5, spell=replace(begin_spell("massage", 0), start_minutes=7)),
    lambda: cover(action_curves(PLAIN, HOURS), (), -1),
)
"""Every refusal of curves and of days."""


def curves_and_studies() -> Rows:
    typed = (
        "nobody",
        "ear",
        "rain",
        "narrow",
        "nan",
        "day to day",
        "wide",
        OTHER,
        DOSE,
        *TYPED,
        "30 minutes after breakfast",
    )
    known = (*typed, *the_facts().body_sites, *the_facts().speeds, *the_facts().sources)
    yield from ((refused(refuse), *known) for refuse in REFUSED)
    yield from ((slip(PLAIN).words,) for slip in SLIPS)
    trials = [*the_facts().trials.values()]
    some = the_facts().trials["lepore-end"]
    for part in (0.001, 1000):
        trials.append(replace(some, value=some.value * part, plus_minus=some.plus_minus * part))
    yield from (
        (one,) for one in (scoreboard_table(), replace(scoreboard()[0], model=None), *map(compare_with_model, trials))
    )
    for curves in (action_curves(PLAIN, HOURS), action_curves(PLAIN, HOURS, 5000.0)):
        yield from ((one,) for one in against_handbooks(curves))
