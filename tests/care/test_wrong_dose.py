"""After a wrong dose: the grade follows the amounts that were injected, and everyone says the same steps in the same words."""

import re
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from mixlab import read_order
from mixlab.care.action.curves import action_curves
from mixlab.care.action.injection import contaminated, from_clear_layer, from_sediment, swapped
from mixlab.care.bench.actions import DrawTo
from mixlab.care.bench.bench import run
from mixlab.care.bench.handling import DiscardSyringe, Give, TakeSyringe
from mixlab.care.bench.runs import bench_for, right_run
from mixlab.care.bench.variants import RIGHT_VARIANTS, WRONG_RUNS, right_variant, wrong_run
from mixlab.care.day.planning import day_plan
from mixlab.care.dosing import plan_dose
from mixlab.care.review.findings import review
from mixlab.care.review.wrong_dose import judge_given
from mixlab.facts.reading import the_facts
from mixlab.ward.insulin import insulins
from mixlab.ward.site.record import teaching_site
from mixlab.words import sentence

ORDERS = {
    "8 and 20": "regular insulin 8 units and NPH insulin 20 units subcut 30 minutes before breakfast",
    "14 and 26": "NPH insulin 26 units and regular insulin 14 units subcut 30 minutes before breakfast",
    "lispro 6 and 18": "insulin lispro 6 units and NPH insulin 18 units subcut before breakfast",
}
ORDER = read_order(ORDERS["8 and 20"])
PLAN = plan_dose(ORDER)
WARD = teaching_site()
FACTS = the_facts()
CLOSE = 0.5


def judged(clear, cloudy, site=WARD, **other):
    return judge_given(ORDER, {"regular": clear, "nph": cloudy, **other}, CLOSE, site)


def graded(findings):
    return {one.given for one in findings if one.given}


def test_the_steps_of_each_grade_stand_in_the_order_in_which_they_are_done():
    """Common practice, no source."""
    assert {key: [*row.steps] for key, row in FACTS.wrong_dose.items()} == {
        "too-much": ["stay", "measure-now", "call", "treat-as-told", "watch", "hand-over", "report"],
        "too-little": ["measure-now", "tell", "no-top-up", "report"],
        "process": ["tell-the-nurse", "report"],
    }
    assert {step for row in FACTS.wrong_dose.values() for step in row.steps} == FACTS.wrong_dose_steps.keys()


def test_the_steps_name_no_amount_and_a_second_dose_only_to_forbid_it():
    said = {key: row.text.key for key, row in FACTS.wrong_dose_steps.items()}
    said |= {key: row.do.key for key, row in FACTS.after_giving.items()}
    assert {key: text for key, text in said.items() if re.search(r"\d", text)} == {}
    insulin = {key for key, text in said.items() if re.search(r"\b[Gg]ive\b", text)}
    assert insulin == {"stay", "no-top-up", "tell-the-nurse"}
    assert all("ive no more insulin" in said[key] for key in ("stay", "no-top-up"))
    assert said["tell-the-nurse"].startswith("Give no second dose.")


@pytest.mark.parametrize(
    ("clear", "cloudy", "grade", "amounts"),
    [
        (20, 8, "too-much", "regular insulin 20 units instead of 8 units: 12 units too much; "
            "NPH insulin 8 units instead of 20 units: 12 units too little"),
        (0, 28, "too-much", "regular insulin 0 units instead of 8 units: 8 units too little; "
            "NPH insulin 28 units instead of 20 units: 8 units too much"),
        (8.5, 20.51, "too-much", "regular insulin 8.5 units, ordered 8 units: within half a line; "
            "NPH insulin 20.51 units instead of 20 units: 0.51 units too much"),
        (8, 12, "too-little", "regular insulin 8 units, ordered 8 units: within half a line; "
            "NPH insulin 12 units instead of 20 units: 8 units too little"),
        (7, 19.5, "too-little", "regular insulin 7 units instead of 8 units: 1 unit too little; "
            "NPH insulin 19.5 units, ordered 20 units: within half a line"),
        (7.5, 20.5, "process", "regular insulin 7.5 units, ordered 8 units: within half a line; "
            "NPH insulin 20.5 units, ordered 20 units: within half a line"),
    ],
)  # fmt: skip
def test_the_amounts_decide_and_are_said(clear, cloudy, grade, amounts):
    dose = judged(clear, cloudy)
    assert (dose.grade, str(dose.amounts)) == (grade, amounts)
    assert dose.title == FACTS.wrong_dose[grade].text
    assert str(dose.told[0]) in str(dose)
    assert (amounts in str(dose)) == (grade != "process")


def test_an_insulin_nobody_ordered_is_too_much_from_half_a_line_on():
    assert judged(8, 20, glargine=0.5).grade == "process"
    dose = judged(8, 20, glargine=3)
    assert dose.grade == "too-much"
    assert str(dose.amounts).endswith("insulin glargine 3 units, not ordered: 3 units too much")


@given(
    st.floats(0, 60),
    st.floats(0, 60),
    st.floats(0, 60),
    st.floats(0, 20),
    st.sampled_from(("regular", "nph", "lispro")),
)
def test_more_of_an_insulin_never_gets_a_milder_grade_unless_it_makes_up_for_too_little(
    clear, cloudy, other, more, key
):
    """Too little that comes nearer to the order is less wrong; whatever is right or too much gets no milder by more."""
    grades, units = [*FACTS.wrong_dose], {"regular": clear, "nph": cloudy, "lispro": other}
    before, after = (judge_given(ORDER, each, CLOSE, WARD).grade for each in (units, {**units, key: units[key] + more}))
    ordered = {"regular": 8, "nph": 20, "lispro": 0}
    if before == "too-little" and units[key] < ordered[key] - CLOSE:
        return
    assert grades.index(after) <= grades.index(before)


@given(st.floats(0, 60), st.floats(0, 60))
def test_too_much_of_one_is_too_much_however_little_there_is_of_the_other(clear, cloudy):
    expected = "too-much" if clear > 8 + CLOSE or cloudy > 20 + CLOSE else "too-little"
    if abs(clear - 8) <= CLOSE and abs(cloudy - 20) <= CLOSE:
        expected = "process"
    assert judged(clear, cloudy).grade == expected


@pytest.mark.parametrize(
    ("given", "longest"),
    [((20, 8), "nph"), ((28, 0), "regular"), ((28, 0.5), "regular"), ((8, 21), "nph"), ((0, 28), "nph")],
)
def test_the_watch_lasts_as_long_as_the_given_insulin_that_acts_longest_by_the_wards_handbook(given, longest):
    for site in (WARD, replace(WARD, taught={**WARD.taught, "nph": ("afp-2005",), "regular": ("afp-2005",)})):
        hours, dose = site.times(insulins()[longest]).duration.high, judged(*given, site)
        watch = str(dose.told[dose.steps.index("watch")])
        assert f"for at least {hours:g} hours" in watch
        assert str(insulins()[longest]) in watch
        assert str(site.cite(site.times(insulins()[longest]))) in str(dose.rule)
    hours = [site.times(insulins()[longest]).duration.high for site in (WARD, site)]
    assert hours[0] < hours[1]


@pytest.mark.parametrize("order", ORDERS)
@pytest.mark.parametrize("name", WRONG_RUNS)
def test_every_wrong_run_is_graded_by_what_was_injected_and_by_nothing_else(name, order):
    made = wrong_run(name, plan_dose(read_order(ORDERS[order])))
    trace, meant = made.trace(), "process"
    gave = next((before.syringe for _, one, before, _ in trace if isinstance(one, Give)), None)
    found = graded(review(made.plan.order, trace, made.plan.site))
    if gave is None:
        assert not found
        return
    ordered = {one.insulin.key: float(one.units) for one in made.plan.order.doses}
    off = [
        units - ordered.get(key, 0) for key, units in ({**dict.fromkeys(ordered, 0), **trace.last.given.units}).items()
    ]
    if max(off) > gave.kind.step / 2:
        meant = "too-much"
    elif min(off) < -gave.kind.step / 2:
        meant = "too-little"
    asked = FACTS.errors[name].after != "none"
    assert {one.grade for one in found} == ({meant} if asked or meant != "process" else set())
    assert len(found) <= 1
    thrown_away = next(
        (at for at, one in enumerate(made.actions, 1) if isinstance(one, DiscardSyringe)), len(trace) + 1
    )
    for one in review(made.plan.order, trace, made.plan.site):
        if one.step < thrown_away:
            told, *_ = str(one.do).partition("Next time, before giving:")
            told = re.sub(r"Not given yet: [^.]*\.|a dose not given yet [^.]*\.", "", told)
            assert one.now != "discard and start again"
            assert not re.search(r"(start|begin|draw|drawn|prepare|prepared) (up )?(again|anew)", told)


@pytest.mark.parametrize("name", ["doses-swapped", "drawn-to-the-second-number", "laid-down-unlabeled"])
def test_nothing_is_graded_before_it_is_given(name):
    trace = wrong_run(name, PLAN).trace()
    gave = next(number for number, one, *_ in trace if isinstance(one, Give))
    assert not graded(review(ORDER, trace.up_to(gave - 1)))
    assert graded(review(ORDER, trace))


@pytest.mark.parametrize("name", RIGHT_VARIANTS)
def test_a_right_dose_is_not_graded(name):
    assert graded(review(ORDER, right_variant(name, PLAN).trace())) == set()


def test_two_part_doses_that_make_the_right_sum_are_not_too_much_and_two_whole_ones_are():
    whole = wrong_run("given-twice", PLAN)
    halves = [replace(one, to=one.to / 2) if isinstance(one, DrawTo) else one for one in whole.actions]
    for actions, grade in ((halves, "process"), (whole.actions, "too-much")):
        findings = review(ORDER, run(bench_for(ORDER), actions))
        twice = next(one for one in findings if one.name == "given-twice")
        assert {one.grade for one in graded(findings)} == {grade} == {twice.given.grade}
        assert "too much" not in f"{twice.title}{twice.dose}".lower()
    assert (
        str(twice.amount)
        == "in all: regular insulin 16.4 units instead of 8 units; NPH insulin 39.55 units instead of 20 units"
    )


def test_a_fault_of_a_syringe_that_was_thrown_away_says_nothing_about_the_dose():
    vial = wrong_run("pushed-back-after-mixing", PLAN).actions
    gave = vial.index(Give())
    thrown = [*vial[:gave], *vial[gave + 1 :], *right_run(PLAN)[right_run(PLAN).index(TakeSyringe(PLAN.syringe.key)) :]]
    findings = review(ORDER, run(bench_for(ORDER), thrown))
    one = next(one for one in findings if one.name == "pushed-back-after-mixing")
    assert one.given is None
    assert str(one.do).startswith("Discard the syringe.")


SLIPS = {
    "swapped": (swapped, "too-much"),
    "sediment": (from_sediment, "too-much"),
    "clear layer": (from_clear_layer, "too-little"),
    "a spoiled vial": (lambda order: contaminated(order, 0.2), "process"),
}


@pytest.mark.parametrize("mixed_at", ["07:30", "07:00"])
@pytest.mark.parametrize("slip", SLIPS)
def test_the_day_of_a_wrong_dose_says_what_the_bench_says(slip, mixed_at):
    make, grade = SLIPS[slip]
    injection = make(ORDER)
    units = {one.insulin.key: one.units for one in (injection.clear, injection.cloudy)}
    dose = judged(8, 20) if grade == "process" else judged(units["regular"], units["nph"])
    assert dose.grade == grade
    plan = day_plan(ORDER, "07:30", mixed_at=mixed_at, curves=action_curves(ORDER, (0, 24), injection=injection))
    said = {one.key: str(one.say) for one in plan.clashes}
    assert {*said} == {"not as ordered"} | ({"waited"} if mixed_at == "07:00" else set())
    assert all(str(dose.in_a_breath) in words for words in said.values())


def test_a_dose_that_only_waited_is_graded_by_its_process():
    (waited,) = day_plan(ORDER, "07:30", mixed_at="07:00").clashes
    assert dict(waited.say.values)["given"] == judged(8, 20).in_a_breath


def test_a_ward_that_stocks_a_finer_scale_alone_judges_finer():
    """On the day no syringe is known: half a line of the finest one in stock counts."""
    almost = replace(swapped(ORDER), words=sentence("a little over"))
    almost = replace(almost, clear=replace(almost.clear, units=8.3), cloudy=replace(almost.cloudy, units=20))
    curves = action_curves(ORDER, (0, 24), injection=almost)
    finest = min(one.graduation_units for one in WARD.stock)
    coarse = replace(WARD, stock=tuple(one for one in WARD.stock if one.graduation_units > finest))
    grades = [str(day_plan(ORDER, "07:30", site=site, curves=curves).clashes[0].say) for site in (WARD, coarse)]
    assert ["too much" in words for words in grades] == [True, False]
