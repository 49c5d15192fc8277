"""Nothing on a picture bypasses the catalogue: every figure is drawn, and told, in a language made of brackets."""

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
import pytest
from apart import SITES, bare, bypassing, in_brackets_apart, shown
from pseudo import bare_words

from mixlab import action_curves, decide, plan_dose, read_order
from mixlab.care.action.absorption import begin_spell
from mixlab.care.action.injection import contaminated, from_clear_layer, from_sediment, swapped
from mixlab.care.action.variation import day_to_day
from mixlab.care.bench.bench import Bench, run
from mixlab.care.bench.handling import DiscardVial
from mixlab.care.bench.runs import bench_for, right_run
from mixlab.care.bench.variants import WRONG_RUNS, wrong_run
from mixlab.care.bench.vessels import Held, Liquid, Vial, usual_physics
from mixlab.care.day.need import cover, eaten_meals
from mixlab.care.day.planning import day_plan
from mixlab.facts.shelf import shelf
from mixlab.figures.action.both_together import draw_action
from mixlab.figures.action.both_together_words import ActionSeen, describe_action, sum_words
from mixlab.figures.action.curves import describe_curves, draw_curves
from mixlab.figures.action.evidence import draw_evidence
from mixlab.figures.action.evidence_words import Evidence, describe_evidence, short_name
from mixlab.figures.day.day import draw_day
from mixlab.figures.day.day_words import DaySeen, basis_sentences, clash_rows, visit_rows
from mixlab.figures.day.describing import describe_day
from mixlab.figures.decision.bedside import Seen, describe_bedside, draw_bedside
from mixlab.figures.decision.card import describe_card, draw_card
from mixlab.figures.syringe.barrel import describe_barrel, draw_barrel
from mixlab.figures.syringe.bench import draw_bench
from mixlab.figures.syringe.bench_words import describe_bench, label_words, look_words
from mixlab.quantities import Glucose
from mixlab.ward.insulin import insulins
from mixlab.ward.meal import Meal
from mixlab.ward.observation import Earlier, Observation

HOURS = np.arange(289) / 12
DOSE = "regular insulin 8 units and NPH insulin 20 units"
LISPRO = read_order("insulin lispro 8 units and NPH insulin 20 units 15 minutes before breakfast")
PLAIN = read_order(DOSE)
SLIPS = {"swapped": swapped, "clear layer": from_clear_layer, "sediment": from_sediment}
SHORT = tuple(short_name(source) for source in shelf().sources.values())
"""The first words of a citation."""
CUT = tuple(" ".join(name.split()[:at]) for name in SHORT for at in range(1, len(name.split())))
NAMED_SO = tuple(", ".join(filter(None, (s.title.split(",")[0], s.edition))) for s in shelf().sources.values())


def drawn_and_told(drawn: object, told: str, *data: str) -> dict[str, object]:
    return bypassing({**shown(drawn.figure), "told": told}, *data)


@pytest.mark.parametrize(
    "text",
    [
        DOSE,
        "regular insulin 1 unit and NPH insulin 0.5 units",
        f"{LISPRO}",
        "regular insulin 30 units and NPH insulin 60 units",
    ],
)
def test_the_syringes(text):
    with in_brackets_apart():
        plan = plan_dose(read_order(text))
        drawn, told = draw_barrel(plan), describe_barrel(plan)
    assert not drawn_and_told(drawn, told)
    assert len(shown(drawn.figure)) > 15


def test_the_curves():
    wrong = {}
    for order in (PLAIN, LISPRO, read_order("regular insulin 30 units and NPH insulin 60 units")):
        with in_brackets_apart():
            curves = None if order is LISPRO else action_curves(order, HOURS)
            drawn, told = draw_curves(order, curves), describe_curves(order, curves)
        wrong |= drawn_and_told(drawn, told)
    assert not wrong
    with in_brackets_apart():
        told = describe_curves(PLAIN, action_curves(PLAIN, HOURS, 5000.0))
    assert "at no hour" in told
    assert not bare(told)


def action_seen(*, clear=8, cloudy=20, slip=None, days=False, sum_shown=True, guess_h=None, row="niddk-2009", **where):
    order = read_order(f"regular insulin {clear:g} units and NPH insulin {cloudy:g} units")
    injection = slip(order) if slip else None
    return ActionSeen(
        order=order,
        curves=action_curves(order, HOURS, injection=injection, **where),
        fan=day_to_day(order, HOURS, draws=60, step=5, injection=injection) if days else None,
        beside=action_curves(order, HOURS) if where or slip else None,
        sum_shown=sum_shown,
        guess_h=guess_h,
        row=row,
    )


def actions_seen() -> Iterator[ActionSeen]:
    yield action_seen(days=True)
    yield action_seen(sum_shown=False, guess_h=8)
    yield action_seen(guess_h=23.9, body_site="thigh", spell=begin_spell("leg-exercise", 30))
    yield action_seen(body_site="buttock", spell=begin_spell("sauna", 240), sum_shown=False)
    yield action_seen(body_site="arm", spell=begin_spell("leg-exercise", 240))
    yield from (action_seen(slip=slip) for slip in SLIPS.values())
    yield action_seen(slip=lambda order: contaminated(order, 0.25))
    yield from (action_seen(clear=30, cloudy=60, row=row) for row in ("afp-2005", "basal-review"))
    yield action_seen(clear=1, cloudy=99, weight_kg=5000.0)
    yield action_seen(clear=99, cloudy=1)
    for row in ("niddk-2009", "textbook-medicine-19"):
        yield ActionSeen(order=LISPRO, curves=None, fan=None, row=row, sum_shown=False, guess_h=None, beside=None)


def test_the_action():
    wrong, shapes = {}, set()
    with in_brackets_apart():
        drawn = draw_action(action_seen())
        for seen in actions_seen():
            drawn.show(seen)
            wrong |= drawn_and_told(drawn, describe_action(seen), *NAMED_SO)
            shapes |= {sum_words(seen.curves)} if seen.curves else set()
    assert not wrong
    assert len(shapes) >= 3


def evidence_of(order, look, *, row="niddk-2009", days=True, **where) -> Evidence:
    modeled = all(dose.insulin.key in shelf().absorption for dose in order.doses)
    return Evidence(
        order=order,
        look=look,
        curves=action_curves(order, HOURS, **where) if modeled else None,
        fan=day_to_day(order, HOURS, draws=60, step=5) if modeled and days else None,
        row=row,
    )


def evidences() -> Iterator[Evidence]:
    clear = [
        one
        for one in insulins().values()
        if one.look == "clear" and one.row.times and "nph" in one.row.mixing.may_share_with
    ]
    for insulin, look in itertools.product(clear, ("clear", "cloudy")):
        order = read_order(f"{insulin.row.name} 8 units and NPH insulin 20 units")
        yield from (evidence_of(order, look, row=row) for row in ("niddk-2009", "cdc-insulin-types", "afp-2005"))
    yield evidence_of(PLAIN, "cloudy", days=False, body_site="thigh", spell=begin_spell("leg-exercise", 30))
    yield evidence_of(PLAIN, "clear", weight_kg=5000.0)
    yield evidence_of(PLAIN, "clear", injection=swapped(PLAIN))
    yield evidence_of(read_order("regular insulin 8 units and NPH insulin 90 units"), "cloudy")


def test_the_evidence():
    wrong = {}
    with in_brackets_apart():
        drawn = draw_evidence(evidence_of(PLAIN, "clear"))
        for evidence in evidences():
            drawn.show(evidence)
            wrong |= drawn_and_told(drawn, describe_evidence(evidence), *SHORT)
            names = [text for name, text in shown(drawn.figure).items() if name in ("book", "study")]
            wrong |= {name: words for name in names if (words := bare_words(name, *SHORT))}
    assert not wrong


def day_of(text, given_at, meals=None, *, slip=None, model=True, **more) -> DaySeen:
    order = read_order(text)
    place = {key: more.pop(key) for key in ("body_site", "spell") if key in more}
    curves = action_curves(order, HOURS, injection=slip(order) if slip else None, **place) if model else None
    plan = day_plan(order, given_at, meals, curves=curves, **more)
    return DaySeen(plan=plan, curves=curves, cover=cover(curves, eaten_meals(plan)) if curves and not slip else None)


def with_breakfast(**changes) -> list[Meal]:
    return [replace(meal, **changes) if meal.name == "breakfast" else meal for meal in SITES[0].meals]


def days() -> Iterator[DaySeen]:
    before = f"{DOSE} 30 minutes before breakfast"
    for at in ("06:45", "07:30", "08:00"):
        yield day_of(before, at)
    for site in SITES:
        yield day_of(before, "07:30", site=site)
        yield day_of(f"{DOSE} 30 minutes before supper", "17:30", site=site, mixed_at="17:20")
    yield day_of(f"{DOSE} at 07:30", "08:30", with_breakfast(at="08:45", eaten=False), mixed_at="07:50")
    yield day_of(f"{DOSE} at bedtime", "22:00")
    yield day_of(f"{DOSE} 30 minutes before supper", "07:30")
    yield day_of(before, "07:30", [])
    yield day_of(before, "07:30", with_breakfast(at="09:00"))
    yield day_of(f"{LISPRO}", "07:45", model=False)
    yield from (day_of(before, "07:30", slip=slip) for slip in SLIPS.values())
    yield day_of(before, "07:30", slip=lambda order: contaminated(order, 0.25), body_site="thigh")
    for key in shelf().speeds:
        yield day_of(before, "07:30", spell=begin_spell(key, 30), body_site="thigh")
        yield day_of("regular insulin 8 units and NPH insulin 60 units", "07:30", spell=begin_spell(key, 30))
    crowd = [Meal(name=f"{count}", at=f"{count:02}:30") for count in range(8, 22)]
    yield day_of(DOSE, "07:30", crowd)
    (plain,) = [day_of(before, "07:30")]
    yield replace(plain, cover=cover(plain.curves, eaten_meals(plain.plan), 0.5))


def told_of(seen: DaySeen) -> dict[str, str]:
    rows = {
        f"row {letter}": f"{when}: {words} {who}"
        for letter, when, words, who in (*visit_rows(seen.plan), *clash_rows(seen.plan))
    }
    return {"told": describe_day(seen), "basis": " ".join(basis_sentences(seen)), **rows}


def test_the_day():
    wrong, typed = {}, ("30 minutes before breakfast", "30 minutes before supper")
    with in_brackets_apart():
        drawn = draw_day(day_of(DOSE, "07:30"))
        for seen in days():
            drawn.show(seen)
            found = shown(drawn.figure)
            sources = {name: found.pop(name) for name in [*found] if name.startswith("source-")}
            wrong |= bypassing(found) | bypassing(sources, *SHORT, *CUT) | bypassing(told_of(seen), *typed)
    assert not wrong


FOUND = (
    {"signs": (), "eating": True},
    {"signs": (), "eating": False},
    {"signs": None, "eating": False, "vomiting": True, "minutes_old": None, "hours_since_dose": 3},
    {
        "signs": tuple(shelf().signs),
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


def test_the_bedside_and_the_card():
    wrong, before, answers = {}, None, set()
    with in_brackets_apart():
        drawn = carded = None
        for site, glucose, found in itertools.product(SITES, READINGS, FOUND):
            observation = Observation(**{"glucose": glucose, **found})
            decision = decide(PLAIN, observation, site)
            seen = Seen(order=PLAIN, observation=observation, site=site, decision=decision, before=before)
            drawn, carded = drawn or draw_bedside(seen), carded or draw_card(decision)
            drawn.show(seen)
            carded.show(decision)
            wrong |= drawn_and_told(drawn, describe_bedside(seen)) | drawn_and_told(carded, describe_card(decision))
            before = decision
            answers.add(decision.choice)
    assert not wrong
    assert len(answers) == 5


def benches() -> Iterator[Sequence[Bench]]:
    plan = plan_dose(PLAIN)
    yield run(bench_for(PLAIN), right_run(plan)).states
    for name in WRONG_RUNS:
        wrong = wrong_run(name, plan)
        yield run(wrong.bench, wrong.actions).states
    for kind in bench_for(PLAIN).kinds.values():
        yield (replace(bench_for(PLAIN), syringe=Held.new(kind, usual_physics())),)
    held = next(iter(bench_for(PLAIN).kinds.values()))
    for capped in ("one hand", "two hands", None):
        syringe = replace(Held.new(held, usual_physics()), capped=capped, labeled=True)
        yield (replace(bench_for(PLAIN), syringe=syringe),)
    yield (run(bench_for(PLAIN), [DiscardVial("clear")]).last,)


def test_the_bench():
    wrong = {}
    with in_brackets_apart():
        drawn = draw_bench(bench_for(PLAIN))
        for states, inside in itertools.product(benches(), (False, True)):
            drawn.show(states[-1], inside)
            wrong |= drawn_and_told(drawn, " ".join(describe_bench(bench, inside) for bench in states))
    assert not wrong


def vials() -> Iterator[Vial]:
    for vial in bench_for(PLAIN).vials.values():
        for condition in ("good", "clumped", "discolored", "cloudy though clear insulin"):
            yield replace(vial, condition=condition)
        for settled, froth, past in itertools.product((0.0, 0.5, 1.0), (0.0, 0.2), (True, False)):
            yield replace(vial, settled=settled, froth=froth, past_date=past)


def test_what_is_read_and_seen_on_a_vial():
    with in_brackets_apart():
        said = {f"{at}": f"{label_words(vial)} {look_words(vial)}" for at, vial in enumerate(vials())}
    assert not bypassing(said)


def test_an_empty_vial_is_told():
    bench = bench_for(PLAIN)
    empty = replace(bench, vials={"clear": replace(bench.vials["clear"], liquid=Liquid())})
    with in_brackets_apart():
        told = describe_bench(empty, True)
    assert "⟦empty⟧" in told
    assert not bare(told)


def test_a_bare_word_is_found():
    assert bare("⟦one ⟧two⟦ three⟧") == ["two"]
    assert bare("⟦cut …") == []
