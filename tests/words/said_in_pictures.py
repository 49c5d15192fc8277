"""What every picture says, drawn and told: rows of a text and the words in it that come from elsewhere."""

import itertools
import math
from collections.abc import Iterator
from dataclasses import replace

from brackets import SITES, shown
from said_in_care import DOSE, PLAIN, Rows
from said_of_patients import HOURS, LISPRO, SLIPS, meals_of

from mixlab import action_curves, decide, plan_dose, read_order
from mixlab.care.action.absorption import begin_spell
from mixlab.care.action.injection import contaminated
from mixlab.care.action.variation import day_to_day
from mixlab.care.bench.bench import Bench, run
from mixlab.care.bench.handling import DiscardVial
from mixlab.care.bench.runs import bench_for, right_run
from mixlab.care.bench.variants import WRONG_RUNS, wrong_run
from mixlab.care.bench.vessels import Held, Liquid, usual_physics
from mixlab.care.day.need import cover, eaten_meals
from mixlab.care.day.planning import day_plan
from mixlab.facts.reading import the_facts
from mixlab.figures.action.both_together import draw_action
from mixlab.figures.action.both_together_words import ActionSeen, describe_action
from mixlab.figures.action.curves import describe_curves, draw_curves
from mixlab.figures.day.day import draw_day
from mixlab.figures.day.day_words import DaySeen, basis_sentences, clash_rows, visit_rows
from mixlab.figures.day.describing import describe_day
from mixlab.figures.decision.bedside import Seen, describe_bedside, draw_bedside
from mixlab.figures.decision.card import describe_card, draw_card
from mixlab.figures.syringe.barrel import draw_barrel
from mixlab.figures.syringe.barrel_words import describe_barrel
from mixlab.figures.syringe.bench import draw_bench
from mixlab.figures.syringe.bench_words import describe_bench, label_words, look_words
from mixlab.quantities import Glucose
from mixlab.ward.meal import Meal
from mixlab.ward.observation import Earlier, Observation

LARGE = read_order("regular insulin 30 units and NPH insulin 60 units")


WHEN = ("30 minutes before breakfast", "30 minutes before supper", "at bedtime")
"""When a dose is due, as somebody wrote it."""


def drawn_and_told(drawn: object, *told: object) -> Rows:
    yield from ((text, *WHEN) for text in (*shown(drawn.figure), *told))


def curves() -> Rows:
    for order in (PLAIN, LISPRO, LARGE):
        found = None if order is LISPRO else action_curves(order, HOURS)
        yield from drawn_and_told(draw_curves(order, found), describe_curves(order, found))
    yield (describe_curves(PLAIN, action_curves(PLAIN, HOURS, 5000.0)),)


def action_seen(clear=8, cloudy=20, **more) -> ActionSeen:
    order = read_order(f"regular insulin {clear:g} units and NPH insulin {cloudy:g} units")
    usual = {"curves": action_curves(order, HOURS), "fan": None, "beside": None, "sum_shown": True, "guess_h": None}
    return ActionSeen(order=order, **{**usual, "row": "niddk-2009", **more})


def actions_seen() -> Iterator[ActionSeen]:
    yield action_seen(fan=day_to_day(PLAIN, HOURS, draws=60, step=5))
    yield from (action_seen(clear, cloudy) for clear, cloudy in ((1, 99), (99, 1)))
    yield action_seen(30, 60, row="afp-2005")
    yield action_seen(curves=action_curves(PLAIN, HOURS, 5000.0), guess_h=23.9, sum_shown=False)
    for slip in SLIPS:
        curves = action_curves(PLAIN, HOURS, injection=slip(PLAIN), body_site="thigh", spell=begin_spell("sauna", 240))
        yield action_seen(curves=curves, beside=action_curves(PLAIN, HOURS))


def actions() -> Rows:
    drawn = draw_action(action_seen())
    for seen in actions_seen():
        drawn.show(seen)
        yield from drawn_and_told(drawn, describe_action(seen))


def day_of(text, given_at, meals=None, *, slip=None, model=True, **more) -> DaySeen:
    order = read_order(text)
    place = {key: more.pop(key) for key in ("body_site", "spell") if key in more}
    curves = action_curves(order, HOURS, injection=slip(order) if slip else None, **place) if model else None
    plan = day_plan(order, given_at, meals, curves=curves, **more)
    return DaySeen(plan=plan, curves=curves, cover=cover(curves, eaten_meals(plan)) if curves and not slip else None)


BEFORE, SUPPER = (f"{DOSE} 30 minutes before {meal}" for meal in ("breakfast", "supper"))


def days_seen() -> Iterator[DaySeen]:
    for site in SITES:
        yield day_of(SUPPER, "17:30", site=site, mixed_at="17:20")
    yield day_of(f"{DOSE} at 07:30", "08:30", meals_of("08:45", eaten=False), mixed_at="07:50")
    yield day_of(f"{DOSE} at bedtime", "22:00")
    yield from (day_of(BEFORE, "07:30", meals) for meals in ([], meals_of("09:00", eaten=True)))
    yield day_of(str(LISPRO), "07:45", model=False)
    yield day_of(BEFORE, "07:30", slip=lambda order: contaminated(order, 0.25), body_site="thigh")
    yield day_of("regular insulin 8 units and NPH insulin 60 units", "07:30", spell=begin_spell("massage", 30))
    yield day_of(DOSE, "07:30", [Meal(name=f"{count}", at=f"{count:02}:30") for count in range(8, 22)])
    plain = day_of(BEFORE, "07:30")
    yield replace(plain, cover=cover(plain.curves, eaten_meals(plain.plan), 0.5))


def day() -> Rows:
    drawn = draw_day(day_of(DOSE, "07:30"))
    for seen in days_seen():
        drawn.show(seen)
        rows = [" ".join(map(str, words)) for _, *words in (*visit_rows(seen.plan), *clash_rows(seen.plan))]
        yield from drawn_and_told(drawn, describe_day(seen), *basis_sentences(seen), *rows)


FOUND = (
    {"signs": (), "eating": True},
    {"signs": (), "eating": False},
    {"signs": None, "eating": False, "vomiting": True, "minutes_old": None, "hours_since_dose": 3},
    {
        "signs": tuple(the_facts().signs),
        "alertness": "drowsy",
        "fasting": True,
        "minutes_old": math.inf,
        "can_swallow": True,
    },
    {
        "signs": ("sweating",),
        "eating": None,
        "meal_late": True,
        "hours_since_dose": None,
        "alertness": None,
        "minutes_old": 61,
        "can_swallow": False,
        "changed": True,
        "earlier": (Earlier(Glucose(58, "mg/dL"), 2), Earlier(Glucose(55, "mg/dL"), 5)),
    },
    {"signs": (), "alertness": "unresponsive", "prescriber_says_give": True},
)
READINGS = ("LO", "HI", None, *(Glucose(value, "mg/dL") for value in (5, 53, 62, 71, 120, 350)), Glucose(9.8, "mmol/L"))


def bedsides_and_cards() -> Rows:
    held = plan_dose(PLAIN)
    yield from drawn_and_told(draw_barrel(held, held=True), describe_barrel(held, held=True))
    drawn = carded = before = None
    for site, glucose, found in itertools.product(SITES, READINGS, FOUND):
        observation = Observation(**{"glucose": glucose, **found})
        decision = decide(PLAIN, observation, site)
        seen = Seen(order=PLAIN, observation=observation, site=site, decision=decision, before=before)
        drawn, carded = drawn or draw_bedside(seen), carded or draw_card(decision)
        drawn.show(seen)
        carded.show(decision)
        yield from drawn_and_told(drawn, describe_bedside(seen))
        yield from drawn_and_told(carded, describe_card(decision))
        before = decision


def benches() -> Iterator[tuple[Bench, ...]]:
    plan, usual = plan_dose(PLAIN), bench_for(PLAIN)
    yield run(usual, right_run(plan)).states
    yield from (made.trace().states for made in (wrong_run(name, plan) for name in WRONG_RUNS))
    held = [Held.new(kind, usual_physics()) for kind in usual.kinds.values()]
    yield from ((replace(usual, syringe=syringe),) for syringe in held)
    for capped in ("one hand", "two hands", None):
        yield (replace(usual, syringe=replace(held[0], capped=capped, labeled=True)),)
    yield (run(usual, [DiscardVial("clear")]).last,)
    yield (replace(usual, vials={"clear": replace(usual.vials["clear"], liquid=Liquid())}),)


def bench() -> Rows:
    drawn = draw_bench(bench_for(PLAIN))
    for states, inside in itertools.product(benches(), (False, True)):
        drawn.show(states[-1], inside)
        yield from drawn_and_told(drawn, *(describe_bench(state, inside) for state in states))
    for vial in bench_for(PLAIN).vials.values():
        conditions = ("good", "clumped", "discolored", "cloudy though clear insulin")
        settled = itertools.product((0.0, 0.5, 1.0), (0.0, 0.2), (True, False))
        for one in (
            *(replace(vial, condition=condition) for condition in conditions),
            *(replace(vial, settled=part, froth=froth, past_date=past) for part, froth, past in settled),
        ):
            yield from ((label_words(one),), (look_words(one),))
