"""Judging runs: every right way passes, and each thing done wrong gives just its own finding."""

import itertools
import pickle
import re
from dataclasses import replace
from functools import cache
from typing import get_args

import pytest

from mixlab import read_order
from mixlab.care.bench.actions import DrawTo, Invert, Pierce, PullAir, PushAir, PushBackTo, TapBubbles, Withdraw
from mixlab.care.bench.bench import run
from mixlab.care.bench.handling import (
    Cap,
    CleanHands,
    DiscardSyringe,
    DiscardVial,
    Give,
    HaveChecked,
    LabelSyringe,
    LayDown,
    LetDry,
    LookAt,
    ReadLabel,
    Roll,
    Swab,
    TakeSyringe,
    TakeVial,
    Uncap,
)
from mixlab.care.bench.runs import CLEAR, CLOUDY, bench_for, right_run, vial_of
from mixlab.care.bench.variants import RIGHT_VARIANTS, WRONG_RUNS, right_variant, wrong_run
from mixlab.care.dosing import plan_dose
from mixlab.care.review.check import CHECKS
from mixlab.care.review.doses import DISTORTIONS, NOT_THERE, OTHER_INSULINS
from mixlab.care.review.findings import review
from mixlab.care.review.habits import HABITS
from mixlab.care.review.sizes import BENDS, SIZES
from mixlab.care.review.vials import VIALS
from mixlab.facts.reading import the_facts
from mixlab.facts.records import Harm
from mixlab.quantities import exact_units
from mixlab.ward.insulin import insulins
from mixlab.ward.site.in_force import load_site
from mixlab.ward.site.record import teaching_site
from mixlab.ward.syringe import syringes
from mixlab.words import Voice, sentence, speaking

ORDERS = {
    "8 and 20": "regular insulin 8 units and NPH insulin 20 units",
    "14 and 26": "NPH insulin 26 units and regular insulin 14 units",
    "lispro 6 and 18": "insulin lispro 6 units and NPH insulin 18 units",
}
PLANS = {name: plan_dose(read_order(text)) for name, text in ORDERS.items()}
PLAN = PLANS["8 and 20"]
RIGHT = right_run(PLAN)
GIVE = RIGHT.index(Give())
PASSED = "wrong-syringe-passed"
AGAIN = RIGHT[7:]
"""From taking a syringe on."""


def found(made):
    """What is found in a ready-made run.

    A check that passes what can be seen is a finding beside the fault: it is left out but in its own run, which is judged alone.
    """
    findings = review(made.plan.order, made.trace(), made.plan.site)
    return tuple(one for one in findings if one.name == made.name or PASSED not in (one.name, made.name))


def found_after(actions, order=PLAN.order, site=None, **vials):
    """What is found after some actions at a bench, perhaps with other vials."""
    return review(order, run(bench_for(order, site, **vials), actions), site)


def names_of(findings):
    """What was found, but for a check that passed it, unless there is nothing else."""
    names = [finding.name for finding in findings]
    return [name for name in names if name != PASSED] or names


def changed(old, *new, actions=RIGHT):
    """The right run, or another, with an action replaced."""
    at = actions.index(old)
    return [*actions[:at], *new, *actions[at + 1 :]]


def without(*kinds):
    return [action for action in RIGHT if not isinstance(action, kinds)]


def clear_to(mark, actions):
    """The same actions with another clear mark; the air stays."""
    return changed_draws(actions, lambda to: mark if to == 8 else to)


def changed_draws(actions, to):
    return [replace(one, to=to(one.to)) if isinstance(one, DrawTo) else one for one in actions]


def wrong(name):
    return list(wrong_run(name, PLAN).actions)


@cache
def found_wrong(name, order="8 and 20"):
    """What is found in a wrong run with an order, reviewed once for all tests."""
    return found(wrong_run(name, PLANS[order]))


def test_every_finding_has_a_row_of_facts_a_rule_and_a_run_that_gives_it():
    """The findings about size have one rule together; a run that gives each stands in the next test."""
    assert (
        {*HABITS, *VIALS, *CHECKS, *OTHER_INSULINS}.union(*DISTORTIONS) < the_facts().errors.keys() == WRONG_RUNS.keys()
    )


@pytest.mark.parametrize("order", ORDERS)
@pytest.mark.parametrize("name", WRONG_RUNS)
def test_each_thing_done_wrong_gives_its_finding_and_no_other(name, order):
    assert names_of(found_wrong(name, order)) == [name]


@pytest.mark.parametrize("order", ORDERS)
@pytest.mark.parametrize("name", RIGHT_VARIANTS)
def test_every_right_way_passes(name, order):
    assert names_of(found(right_variant(name, PLANS[order]))) == []


@pytest.mark.parametrize("whole", [False, pytest.param(True, marks=pytest.mark.long)], ids=["sample", "whole"])
@pytest.mark.parametrize("key", syringes())
def test_the_plans_own_steps_pass_for_every_order_a_syringe_can_show(key, whole):
    """All pairs of marks on all syringes of the facts; the plan takes the syringe from a stock of just this one.

    Sample: on each syringe the pairs that fill it, with each line once as either dose, and the smallest pair.
    """
    syringe = syringes()[key]
    site = replace_stock(syringe)
    steps = round(syringe.capacity_units / syringe.graduation_units)
    lines = [step * syringe.graduation_units for step in range(1, steps)]
    bad, count = [], 0
    for clear, cloudy in itertools.product(lines, lines):
        fills = clear + cloudy == syringe.capacity_units
        if clear + cloudy > syringe.capacity_units or not (whole or fills or clear == cloudy == lines[0]):
            continue
        order = order_of(clear, cloudy)
        plan = plan_dose(order, site)
        count += 1
        if findings := found_after(right_run(plan), order, site):
            bad.append((clear, cloudy, names_of(findings)))
    assert count == (steps * (steps - 1) / 2 if whole else len(lines) + 1)
    assert bad == []


def replace_stock(syringe):
    return replace(teaching_site(), stock=(syringe,))


def order_of(clear, cloudy):
    order = PLAN.order
    first, second = (
        replace(dose, units=exact_units(clear if dose.insulin.look == "clear" else cloudy)) for dose in order.doses
    )
    return replace(order, doses=(first, second))


@pytest.mark.parametrize(
    ("name", "said"),
    [
        (
            "pushed-back-after-mixing",
            "regular insulin 7.65 units instead of 8 units; NPH insulin 20.35 units instead of 20",
        ),
        ("doses-swapped", "regular insulin 20.2 units instead of 8 units"),
        ("late-bubble", "a bubble of 1.6 units"),
        ("not-rolled", "1 % of the vial's strength"),
        ("too-little-air", "0 units of air for 20 units; pressure in the cloudy vial -9.1 %"),
        ("too-much-air", "30 units of air for 20 units; pressure in the cloudy vial +4.5 % (+4.6 kPa)"),
        ("waited-too-long", "the ward allows 15"),
        ("separate-needle", "regular insulin 12.9 units"),
    ],
)
def test_a_finding_says_how_big_it_is(name, said):
    (finding,) = found_wrong(name)
    assert said in str(finding.amount)


@pytest.mark.parametrize("name", WRONG_RUNS)
def test_a_finding_says_what_it_means_and_who_says_so(name):
    (finding,) = found_wrong(name)
    assert 0 < finding.step <= len(wrong(name))
    for words in (finding.title, finding.dose, finding.patient, finding.vial, finding.do, finding.rule):
        assert words
        assert "{" not in str(words)
    assert str(finding.title) in str(finding)
    assert not re.search(r"\de-\d|\.\d{3}", str(finding.amount))  # no rounding noise


@pytest.mark.parametrize("name", WRONG_RUNS)
def test_a_finding_is_the_row_of_the_facts_whoever_speaks(name):
    made, row = wrong_run(name, PLAN), the_facts().errors[name]
    (finding,) = found(made)
    parts = ("title", "dose", "patient", "vial", "doubt")
    assert [getattr(finding, part).key for part in parts] == [getattr(row, part).key for part in parts]
    assert pickle.loads(pickle.dumps(finding)) == finding
    with speaking(Voice(terms=(("regular", "soluble insulin"), ("nph", "isophane insulin")), numbers="comma")):
        assert found(made) == (finding,)
        assert {finding, *found(made)} == {finding}
        assert not re.search(r"regular insulin|NPH|[0-9]\.[0-9]", f"{finding}{finding.dose}{finding.vial}")


def test_no_number_stands_in_the_words_about_a_trace_of_the_cloudy_insulin():
    """No study gives the size of its effect: none may be printed (reference: the effect is unmeasured)."""
    for name in ("tip-dipped-in-cloudy", "cloudy-drawn-first"):
        row = the_facts().errors[name]
        assert not any(
            sign.isdigit() for words in (row.dose, row.patient, row.vial, row.do, row.doubt) for sign in words.key
        )
        assert "has not been measured" in row.doubt.key


@pytest.mark.parametrize(("name", "kind"), [("pushed-back-after-mixing", PushBackTo), ("cloudy-drawn-first", Invert)])
def test_the_moment_is_that_of_the_fault(name, kind):
    """With the cloudy insulin first it is where the needle dips into the clear insulin."""
    (finding,) = found_wrong(name)
    assert isinstance(wrong(name)[finding.step - 1], kind)


def test_a_site_decides_on_checks_gloves_caps_and_pushing_back(tmp_path):
    file = tmp_path / "site.toml"
    file.write_text(
        'name = "the practice ward"\nsecond_check = "none"\ngloves = "required"\nrecapping = "never"\npush_back = "never"\n'
        "waiting = 3\n"
    )
    site = load_site(file)
    late = [Cap("one hand"), LabelSyringe(), LayDown(4), Uncap(), Give()]
    findings = found_after(changed(Give(), *late, actions=without(HaveChecked)), PLAN.order, site)
    assert names_of(findings) == ["gloves-missing", "capped-against-policy", "waited-too-long"]
    assert {finding.rule for finding in findings} == {sentence("policy of {site}", site="the practice ward")}


def test_the_most_harmful_is_said_first_and_critical_is_said_of_the_wards_own_critical_steps():
    findings = found_after(without(CleanHands, LookAt, Roll, DiscardSyringe))
    harms = ["a wrong dose", "germs or a needle stick", "germs or a needle stick", "a safeguard missed"]
    assert [the_facts().errors[one.name].harm for one in findings][:4] == harms
    assert all(one.critical and "(critical step)" in str(one) for one in findings)
    lax = replace(teaching_site(), critical_steps=("draw_clear",))
    assert not any(one.critical for one in found_after(without(CleanHands, Roll), PLAN.order, lax))


def test_every_finding_about_the_size_of_a_dose_is_graded_as_a_wrong_dose():
    """But for the vial that is rolled again, whose amount is still right."""
    bends = {name for rules in DISTORTIONS for name in rules} - {"not-rolled-again"}
    about = {*SIZES, *BENDS, *OTHER_INSULINS, *NOT_THERE, *bends, PASSED}
    assert len(about) > 20
    assert {name: harm for name in about if (harm := the_facts().errors[name].harm) != "a wrong dose"} == {}


@pytest.mark.parametrize("plan", PLANS.values(), ids=PLANS)
def test_in_every_wrong_run_the_findings_stand_by_harm_then_by_critical_step_then_by_moment(plan):
    ranks, several = get_args(Harm), 0
    for name in WRONG_RUNS:
        made = wrong_run(name, plan)
        actions = [one for one in made.actions if not isinstance(one, CleanHands | LookAt | LetDry)]
        findings = review(plan.order, run(made.bench, actions), plan.site)
        order = [(ranks.index(the_facts().errors[one.name].harm), not one.critical, one.step) for one in findings]
        assert order == sorted(order), name
        several += len({rank for rank, *_ in order}) > 1
    assert several > 20


def test_a_wrong_choice_in_a_site_file_is_refused(tmp_path):
    file = tmp_path / "site.toml"
    file.write_text('name = "the practice ward"\nsecond_check = "sometimes"\n')
    with pytest.raises(
        ValueError,
        match=r"second_check: 'sometimes' is not among them\. Write one of 'none', 'once, at the end', 'each draw'",
    ):
        load_site(file)


def test_a_run_cut_anywhere_is_judged_without_trouble():
    for count in range(len(RIGHT)):
        assert ("unfinished" in names_of(found_after(RIGHT[:count]))) == (count <= GIVE)


@pytest.mark.parametrize("name", WRONG_RUNS)
def test_after_giving_no_finding_asks_for_another_dose(name):
    made = wrong_run(name, PLAN)
    row = the_facts().errors[name]
    (finding,) = found_wrong(name)
    gave = any(isinstance(action, Give) for action in made.actions)
    besides = the_facts().after_giving.get(row.after)
    if gave and row.after != "none":
        assert finding.now == "tell someone"
        assert finding.given
        assert str(finding.do).startswith(str(besides.do) if besides else "Next time, before giving: ")
        named = {"clear": made.plan.order.clear.insulin, "cloudy": made.plan.order.cloudy.insulin}
        assert str(finding.do).endswith(f"Next time, before giving: {row.do.filled_from(named)}")
        assert f"Now: tell someone. {finding.given.title}. {finding.do}" in str(finding)
    else:
        assert (finding.now, finding.do.key, finding.given) == (row.now, row.do.key, None)
    assert row.after in {*the_facts().after_giving, "dose", "none"}


@pytest.mark.parametrize("name", ["doses-swapped", "bubble-left"])
def test_before_giving_what_is_wrong_is_discarded(name):
    assert [(one.name, one.now) for one in found_after(wrong(name)[:-2]) if one.name != PASSED] == [
        (name, "discard and start again"),
        ("unfinished", "put right here"),
    ]


TAKE = TakeSyringe("0.3-one")
LAID_DOWN_FIRST = changed(PullAir(20), TAKE, PullAir(20), actions=without(TakeSyringe))
REGULAR, GLARGINE = insulins()["regular"], vial_of(insulins()["glargine"])
LISPRO = vial_of(insulins()["lispro"])
UPSIDE_DOWN = vial_of(insulins()["nph"], sediment_at_stopper=True)
NEW_CLOUDY = [DiscardVial(CLOUDY), TakeVial(CLOUDY), ReadLabel(CLOUDY), LookAt(CLOUDY), TAKE]


def _first_cloudy(syringe=None, bubble_ml=0.0):
    """Cloudy to its own dose, perhaps with a bubble, then clear to the sum."""
    actions = changed_draws(right_run(PLAN, syringe=syringe), lambda to: {8: 20}.get(to, to))
    first, second = actions.index(Pierce(CLEAR, "air")), len(actions) - 1 - actions[::-1].index(Pierce(CLOUDY, "air"))
    actions[second] = Pierce(CLEAR, "air")
    actions[first + 2 : first + 3] = [Withdraw(), Pierce(CLOUDY, "air"), Invert()]
    if bubble_ml:
        at = actions.index(DrawTo(20))
        actions[at : at + 3] = [DrawTo(20, bubble_ml)]
        actions[-4:-4] = [TapBubbles(), DrawTo(28)]
    return actions


def slip(actions, *names, said="", **vials):
    """What is done, at a bench with what vials, what is found then, and how big the first of it is."""
    return actions, vials, list(names), said


@pytest.mark.parametrize(
    ("actions", "vials", "names", "said"),
    [
        # right ways
        slip(changed(PushAir(), PushBackTo(0))),
        slip(changed(Swab(CLEAR, 10), Swab(CLEAR, 10), Swab(CLEAR, 2))),
        slip(changed(LetDry(CLEAR), LayDown(1), actions=LAID_DOWN_FIRST)),
        slip(changed(DrawTo(28), DrawTo(28, 0.0141), TapBubbles(), DrawTo(28))),
        slip(changed(HaveChecked(), DrawTo(8.6), PushBackTo(8), HaveChecked())),
        slip(changed(Pierce(CLEAR, "air"), Pierce(CLEAR, "liquid"))),
        slip([*RIGHT[:GIVE], DiscardSyringe()], "unfinished"),
        # several faults, the most harmful first, then as they could be seen
        slip(without(CleanHands, Roll, DiscardSyringe), "not-rolled", "hands-not-cleaned", "not-in-the-sharps-box"),
        # a vial that took a mixture is found though the syringe was discarded, and beside another cause
        slip(
            changed(DrawTo(28), DrawTo(30), PushBackTo(28), Withdraw(), DiscardSyringe(), *RIGHT[5:-4]),
            "pushed-back-after-mixing",
        ),
        slip(
            changed(DrawTo(28), DrawTo(30), PushBackTo(28), actions=without(Roll)),
            "not-rolled",
            "pushed-back-after-mixing",
        ),
        # a wrong mark beside another fault
        slip(clear_to(12, without(Roll)), "clear-dose-off", "not-rolled", "cloudy-dose-off"),
        slip(
            clear_to(12, right_run(PLAN, syringe="separate needle")),
            "separate-needle",
            "clear-dose-off",
            "cloudy-dose-off",
        ),
        slip(right_run(PLAN, syringe="separate needle", clear_mark=20), "separate-needle", "doses-swapped"),
        slip(changed(DrawTo(28), DrawTo(30), actions=wrong("bubble-left")), "bubble-left", "cloudy-overdrawn"),
        # slips
        slip(changed(HaveChecked(), PushBackTo(6), HaveChecked(), DrawTo(8)), "clear-not-checked"),
        slip(changed(Give(), PushBackTo(27), Give()), "mixture-pushed-out", "cloudy-dose-off", "total-not-checked"),
        slip(changed(HaveChecked(), PushBackTo(7.5), HaveChecked()), "between-lines"),
        slip(changed(TAKE, DiscardVial(CLEAR), TakeVial(CLEAR), TAKE), "label-not-read", "vial-not-looked-at"),
        slip(changed(TAKE, *NEW_CLOUDY), "not-rolled"),
        slip(changed(Swab(CLEAR, 10), Swab(CLEAR, 2)), "stopper-not-wiped", said="the clear vial, wiped for 2 seconds"),
        # vials that are not as they should be
        slip(RIGHT, "strength-and-scale-differ", said="holds 0.4 times", clear=vial_of(REGULAR, strength=40.0)),
        slip(RIGHT, "strength-and-scale-differ", said="holds 5 times", clear=vial_of(REGULAR, strength=500.0)),
        slip(without(Roll), "not-rolled", said="230 % of the vial's strength", cloudy=UPSIDE_DOWN),
        # reading another ring of the stopper moves both marks alike: the cloudy part stays right (computed)
        slip(
            changed_draws(RIGHT, lambda to: to + 1),
            "clear-dose-off",
            said="regular insulin 9.2 units instead of 8 units; NPH insulin 19.8",
        ),
        # cloudy insulin carried into any clear vial; a long-acting insulin alone is no mixture; a dip is not found twice
        slip(wrong("cloudy-drawn-first"), "long-acting-in-the-mix", "cloudy-drawn-first", clear=GLARGINE),
        slip(wrong("one-insulin-missing"), "wrong-vial", "one-insulin-missing", clear=GLARGINE),
        # an insulin that is not in the barrel is found whatever was drawn, and beside another fault
        slip(
            changed(HaveChecked(), PushBackTo(0)),
            "cloudy-dose-off",
            "one-insulin-missing",
            "clear-not-checked",
            said="regular insulin 0.2",
        ),
        slip(
            changed(DrawTo(28), DrawTo(24), actions=wrong("wrong-vial")), "wrong-vial", "cloudy-dose-off", other=LISPRO
        ),
        # the syringe that was discarded does not speak for the one that was given
        slip(
            changed(DrawTo(28), DrawTo(30), PushBackTo(28), Withdraw(), DiscardSyringe(), *RIGHT[5:-5], DrawTo(24)),
            "pushed-back-after-mixing",
            "cloudy-dose-off",
        ),
        # cloudy insulin first, and each draw to its own number: nothing was swapped
        slip(_first_cloudy(bubble_ml=0.011), "late-bubble", "cloudy-drawn-first"),
        slip([one for one in _first_cloudy() if not isinstance(one, Roll)], "not-rolled", "cloudy-drawn-first"),
        slip(_first_cloudy("separate needle"), "separate-needle", "cloudy-drawn-first"),
        # air that leaves the pressure as it was is nothing to find
        slip(changed(PullAir(8), PullAir(20), actions=clear_to(20, RIGHT)), "doses-swapped"),
        slip(
            changed(Pierce(CLOUDY, "air"), Pierce(CLOUDY, "liquid"), actions=wrong("cloudy-drawn-first")),
            "cloudy-drawn-first",
        ),
    ],
)
def test_just_what_was_done_wrong_is_found_and_how_big_it_is(actions, vials, names, said):
    findings = found_after(actions, **vials)
    assert names_of(findings) == names
    assert not said or said in str(next(one for one in findings if one.name != PASSED).amount)


def test_a_fault_of_a_discarded_syringe_is_not_in_the_patient():
    finding, *_ = found_after([*RIGHT[:GIVE], Cap("one hand"), LayDown(1), DiscardSyringe(), *AGAIN])
    assert (finding.name, finding.now) == ("laid-down-unlabeled", "discard and start again")
    assert "in the patient" not in str(finding.do)


def test_air_pushed_into_an_upright_vial_pushes_the_clear_insulin_before_it():
    """Forgotten air for the cloudy vial, given with the clear insulin already in the barrel (the needle points down)."""
    late = [PullAir(28), Pierce(CLOUDY, "air"), PushAir(), Invert()]
    actions = list(RIGHT)
    first = actions.index(PullAir(20))
    del actions[first : first + 4]
    at = actions.index(Pierce(CLOUDY, "air"))
    actions[at : at + 2] = late
    trace = run(bench_for(PLAN.order), actions[: at + 3])
    assert trace.last.vials[CLOUDY].liquid.of("regular") > 7
    assert trace.last.syringe.barrel.of("regular") < 1


@pytest.mark.parametrize(("key", "wrong"), [("1.0-one", True), ("1.0-two", False)])
def test_half_a_graduation_is_the_tolerance(key, wrong):
    """1 unit off is a fault on a scale with a line every unit and none on one with a line every 2 (computed)."""
    site = replace_stock(syringes()[key])
    actions = clear_to(8.7, right_run(plan_dose(PLAN.order, site)))
    assert ("clear-dose-off" in names_of(found_after(actions, PLAN.order, site))) == wrong


def test_both_contaminations_can_be_shown():
    first = wrong_run("cloudy-drawn-first", PLAN).trace().last
    assert 0.01 < first.vials[CLEAR].liquid.of("nph") < 0.03  # a wet tip
    back = wrong_run("pushed-back-after-mixing", PLAN).trace().last
    assert back.vials[CLEAR].liquid.of("nph") == 0
    assert back.vials[CLOUDY].liquid.of("regular") > 0.5


@pytest.mark.parametrize(
    ("order", "minutes", "found"),
    [
        ("8 and 20", 10, []),
        ("8 and 20", 20, ["waited-too-long"]),
        ("lispro 6 and 18", 2, []),
        ("lispro 6 and 18", 10, ["rapid-mixture-waited"]),
    ],
)
def test_a_rapid_acting_insulin_with_nph_has_a_limit_of_its_own(order, minutes, found):
    """Regular with NPH: at once, or stored; rapid-acting with NPH: at once (position statement, labels; recalled)."""
    plan = PLANS[order]
    late = [Cap("one hand"), LabelSyringe(), LayDown(minutes), Uncap(), Give()]
    actions = changed(Give(), *late, actions=right_run(plan))
    findings, ward = found_after(actions, plan.order), teaching_site()
    assert names_of(findings) == found
    limit, other = (ward.waiting, ward.waiting_rapid) if order == "8 and 20" else (ward.waiting_rapid, ward.waiting)
    assert all(one.rule == ward.cite(limit) != ward.cite(other) for one in findings)  # each by its own limit
    give = str(plan.steps[-1].do)
    assert "at once" in give
    assert f"{15 if order == '8 and 20' else 5} minutes from mixing is this ward's limit" in give
