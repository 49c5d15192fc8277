"""Judging runs: every right way passes, and each thing done wrong gives just its own finding."""

import itertools
import pickle
import re
from dataclasses import replace
from functools import cache

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
from mixlab.care.review.doses import DISTORTIONS, OTHER_INSULINS, SIZES
from mixlab.care.review.findings import review
from mixlab.care.review.habits import HABITS
from mixlab.care.review.vials import VIALS
from mixlab.facts.shelf import shelf
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


def found(made):
    return review(made.plan.order, made.trace(), made.plan.site)


@cache
def found_wrong(name, order="8 and 20"):
    """What is found in a wrong run with an order, reviewed once for all tests."""
    return found(wrong_run(name, PLANS[order]))


def test_every_finding_has_a_row_of_facts_a_rule_and_a_run_that_gives_it():
    rules = {*HABITS, *VIALS, *OTHER_INSULINS, *SIZES}.union(*DISTORTIONS)
    assert rules == shelf().errors.keys() == WRONG_RUNS.keys()


@pytest.mark.parametrize("order", ORDERS)
@pytest.mark.parametrize("name", WRONG_RUNS)
def test_each_thing_done_wrong_gives_its_finding_and_no_other(name, order):
    assert [finding.name for finding in found_wrong(name, order)] == [name]


@pytest.mark.parametrize("order", ORDERS)
@pytest.mark.parametrize("name", RIGHT_VARIANTS)
def test_every_right_way_passes(name, order):
    assert [finding.name for finding in found(right_variant(name, PLANS[order]))] == []


@pytest.mark.parametrize("whole", [False, pytest.param(True, marks=pytest.mark.long)], ids=["sample", "whole"])
@pytest.mark.parametrize("key", syringes())
def test_the_plans_own_steps_pass_for_every_order_a_syringe_can_show(key, whole):
    """All pairs of marks on all syringes of the facts; the plan takes the syringe from a stock of just this one.

    Sample: on each syringe the pairs that fill it, with each line once as either dose, and the smallest pair.
    """
    syringe = syringes()[key]
    site = replace_stock(syringe)
    lines = [
        step * syringe.graduation_units for step in range(1, round(syringe.capacity_units / syringe.graduation_units))
    ]
    bad, count = [], 0
    for clear, cloudy in itertools.product(lines, lines):
        if clear + cloudy > syringe.capacity_units:
            continue
        if not (whole or clear == cloudy == lines[0] or clear + cloudy == syringe.capacity_units):
            continue
        order = order_of(clear, cloudy)
        plan = plan_dose(order, site)
        findings = review(order, run(bench_for(order, site), right_run(plan)), site)
        count += 1
        if findings:
            bad.append((clear, cloudy, [finding.name for finding in findings]))
    steps = syringe.capacity_units / syringe.graduation_units
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
            "regular insulin 7.49 units instead of 8 units; NPH insulin 20.48 units instead of 20",
        ),
        ("doses-swapped", "regular insulin 20.01 units instead of 8 units"),
        ("late-bubble", "a bubble of 1.1 units"),
        ("not-rolled", "1 % of the vial's strength"),
        ("too-little-air", "0 units of air for 20 units; pressure in the cloudy vial -9.1 %"),
        ("too-much-air", "30 units of air for 20 units; pressure in the cloudy vial +4.5 % (+4.6 kPa)"),
        ("waited-too-long", "the ward allows 15"),
        ("separate-needle", "regular insulin 12.92 units"),
    ],
)
def test_a_finding_says_how_big_it_is(name, said):
    (finding,) = found_wrong(name)
    assert said in str(finding.amount)


@pytest.mark.parametrize("name", WRONG_RUNS)
def test_no_rounding_noise_is_shown(name):
    (finding,) = found_wrong(name)
    assert not re.search(r"\de-\d|\.\d{3}", str(finding.amount))


@pytest.mark.parametrize("name", WRONG_RUNS)
def test_a_finding_says_what_it_means_and_who_says_so(name):
    (finding,) = found_wrong(name)
    run_of = wrong_run(name, PLAN)
    assert 0 < finding.step <= len(run_of.actions)
    for words in (finding.title, finding.dose, finding.patient, finding.vial, finding.do, finding.rule):
        assert words
        assert "{" not in str(words)
    assert str(finding.title) in str(finding)


@pytest.mark.parametrize("name", WRONG_RUNS)
def test_a_finding_is_the_row_of_the_facts_whoever_speaks(name):
    made, row = wrong_run(name, PLAN), shelf().errors[name]
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
        row = shelf().errors[name]
        assert not any(
            sign.isdigit() for words in (row.dose, row.patient, row.vial, row.do, row.doubt) for sign in words.key
        )
        assert "has not been measured" in row.doubt.key


def test_the_moment_is_that_of_the_fault():
    made = wrong_run("pushed-back-after-mixing", PLAN)
    (finding,) = found(made)
    assert isinstance(made.actions[finding.step - 1], PushBackTo)
    made = wrong_run("cloudy-drawn-first", PLAN)
    (finding,) = found(made)
    assert isinstance(made.actions[finding.step - 1], Invert)  # where the needle dips into the clear insulin


def test_several_faults_are_all_found_in_the_order_in_which_they_could_be_seen():
    actions = [action for action in right_run(PLAN) if not isinstance(action, CleanHands | Roll | DiscardSyringe)]
    findings = review(PLAN.order, run(bench_for(PLAN.order), actions))
    assert [finding.name for finding in findings] == ["hands-not-cleaned", "not-rolled", "not-in-the-sharps-box"]


def test_a_stopper_wiped_too_briefly_is_not_wiped():
    actions = [Swab(CLEAR, 2) if action == Swab(CLEAR, 10) else action for action in right_run(PLAN)]
    (finding,) = review(PLAN.order, run(bench_for(PLAN.order), actions))
    assert finding.name == "stopper-not-wiped"
    assert str(finding.amount) == "the clear vial, wiped for 2 seconds"


@pytest.mark.parametrize(("strength", "factor"), [(40.0, "0.4"), (500.0, "5")])
def test_a_vial_of_another_strength_is_found(strength, factor):
    bench = bench_for(PLAN.order, clear=vial_of(insulins()["regular"], strength=strength))
    (finding,) = review(PLAN.order, run(bench, right_run(PLAN)))
    assert finding.name == "strength-and-scale-differ"
    assert f"holds {factor} times what it says" in str(finding.amount)


def test_a_constant_slip_of_the_eye_is_a_wrong_clear_dose():
    """Reading another ring of the stopper moves both marks alike: the cloudy part stays right (computed)."""
    actions = [
        replace(action, to=action.to + 1) if isinstance(action, DrawTo) else action for action in right_run(PLAN)
    ]
    (finding,) = review(PLAN.order, run(bench_for(PLAN.order), actions))
    assert finding.name == "clear-dose-off"
    assert "regular insulin 9.02 units instead of 8 units; NPH insulin 19.9" in str(finding.amount)


def test_a_settled_layer_at_the_stopper_gives_more_than_twice():
    made = wrong_run("not-rolled", PLAN)
    bench = bench_for(PLAN.order, cloudy=vial_of(insulins()["nph"], sediment_at_stopper=True))
    (finding,) = review(PLAN.order, run(bench, made.actions))
    assert "230 % of the vial's strength" in str(finding.amount)


def test_a_site_decides_on_checks_gloves_caps_and_pushing_back(tmp_path):
    file = tmp_path / "site.toml"
    file.write_text(
        'name = "the practice ward"\nsecond_check = "none"\ngloves = "required"\nrecapping = "never"\npush_back = "never"\n'
        "waiting = 3\n"
    )
    site = load_site(file)
    actions = [action for action in right_run(PLAN) if not isinstance(action, HaveChecked)]
    give = next(at for at, action in enumerate(actions) if isinstance(action, Give))
    actions[give:give] = [Cap("one hand"), LabelSyringe(), LayDown(4), Uncap()]
    findings = review(PLAN.order, run(bench_for(PLAN.order, site), actions), site)
    assert [finding.name for finding in findings] == ["gloves-missing", "capped-against-policy", "waited-too-long"]
    assert {finding.rule for finding in findings} == {sentence("policy of {site}", site="the practice ward")}


def test_a_wrong_choice_in_a_site_file_is_refused(tmp_path):
    file = tmp_path / "site.toml"
    file.write_text('name = "the practice ward"\nsecond_check = "sometimes"\n')
    with pytest.raises(
        ValueError,
        match=r"second_check: 'sometimes' is not among them\. Write one of 'none', 'once, at the end', 'each draw'",
    ):
        load_site(file)


def test_a_run_cut_anywhere_is_judged_without_trouble():
    trace = run(bench_for(PLAN.order), right_run(PLAN))
    for count in range(len(trace)):
        cut = trace.up_to(count)
        assert [finding.name for finding in review(PLAN.order, cut) if finding.name == "unfinished"] == (
            ["unfinished"] if not any(isinstance(action, Give) for action in cut.actions) else []
        )


@pytest.mark.parametrize("name", WRONG_RUNS)
def test_after_giving_no_finding_asks_for_another_dose(name):
    made = wrong_run(name, PLAN)
    row = shelf().errors[name]
    (finding,) = found_wrong(name)
    gave = any(isinstance(action, Give) for action in made.actions)
    if gave and row.after != "none":
        assert finding.now == "tell someone"
        assert finding.do.key == "{after} Next time, before giving: {before}"
        told = dict(finding.do.values)
        assert (told["after"].key, told["before"].key) == (shelf().after_giving[row.after].do.key, row.do.key)
        assert "The dose is in the patient: give no" in str(finding.do)
    else:
        assert (finding.now, finding.do.key) == (row.now, row.do.key)
    assert row.after in {*shelf().after_giving, "none"}


def test_before_giving_what_is_wrong_is_discarded():
    made = wrong_run("doses-swapped", PLAN)
    before = review(made.plan.order, made.trace().up_to(len(made.actions) - 2))
    assert [(one.name, one.now) for one in before] == [
        ("doses-swapped", "discard and start again"),
        ("unfinished", "put right here"),
    ]


def plausible(*changes, start=None, **vials):
    """A right run with changes, at a bench with other vials: the names of what is found."""
    actions = list(start or right_run(PLAN))
    for old, new in changes:
        at = actions.index(old)
        actions[at : at + 1] = new
    return [one.name for one in review(PLAN.order, run(bench_for(PLAN.order, **vials), actions))]


SECOND = right_run(PLAN)[7:]


def test_a_vial_that_took_a_mixture_is_found_though_the_syringe_was_discarded():
    again = [DrawTo(30), PushBackTo(28), Withdraw(), DiscardSyringe(), *SECOND[:-4]]
    assert plausible((DrawTo(28), again)) == ["pushed-back-after-mixing"]


def test_a_vial_that_took_a_mixture_is_found_beside_another_cause():
    rolled = [action for action in right_run(PLAN) if not isinstance(action, Roll)]
    found_names = plausible((DrawTo(28), [DrawTo(30), PushBackTo(28)]), start=rolled)
    assert sorted(found_names) == ["not-rolled", "pushed-back-after-mixing"]


def no(kind):
    return [action for action in right_run(PLAN) if not isinstance(action, kind)]


def clear_to(mark, actions):
    """The same actions with another clear mark; the air stays."""
    return [replace(one, to=mark) if isinstance(one, DrawTo) and one.to == 8 else one for one in actions]


@pytest.mark.parametrize(
    ("actions", "both"),
    [
        (clear_to(12, no(Roll)), {"not-rolled", "clear-dose-off"}),
        (clear_to(12, right_run(PLAN, syringe="separate needle")), {"separate-needle", "clear-dose-off"}),
        (right_run(PLAN, syringe="separate needle", clear_mark=20), {"separate-needle", "doses-swapped"}),
        (
            [DrawTo(30) if one == DrawTo(28) else one for one in wrong_run("bubble-left", PLAN).actions],
            {"bubble-left", "cloudy-overdrawn"},
        ),
    ],
)
def test_a_wrong_mark_beside_another_fault_is_found_too(actions, both):
    assert set(plausible(start=actions)) == both


def test_discarding_and_stopping_is_only_unfinished():
    at = right_run(PLAN).index(Give())
    assert plausible(start=[*right_run(PLAN)[:at], DiscardSyringe()]) == ["unfinished"]


def test_a_fault_of_a_discarded_syringe_is_not_in_the_patient():
    at = right_run(PLAN).index(Give())
    actions = [*right_run(PLAN)[:at], Cap("one hand"), LayDown(1), DiscardSyringe(), *SECOND]
    finding, *_ = review(PLAN.order, run(bench_for(PLAN.order), actions))
    assert (finding.name, finding.now) == ("laid-down-unlabeled", "discard and start again")
    assert "in the patient" not in str(finding.do)


@pytest.mark.parametrize(
    "change",
    [
        (PushAir(), [PushBackTo(0)]),
        (Swab(CLEAR, 10), [Swab(CLEAR, 10), Swab(CLEAR, 2)]),
        (LetDry(CLEAR), [LayDown(3)]),
        (DrawTo(28), [DrawTo(28, 0.0141), TapBubbles(), DrawTo(28)]),
        (HaveChecked(), [DrawTo(8.6), PushBackTo(8), HaveChecked()]),
    ],
)
def test_plausible_right_ways_pass(change):
    actions = right_run(PLAN)
    if change[0] == LetDry(CLEAR):  # laid down before there is a syringe
        actions = [one for one in actions if not isinstance(one, TakeSyringe)]
        actions.insert(actions.index(PullAir(20)), TakeSyringe("0.3-one"))
    assert plausible(change, start=actions) == []


@pytest.mark.parametrize(
    ("change", "name"),
    [
        ((HaveChecked(), [PushBackTo(6), HaveChecked(), DrawTo(8)]), "clear-not-checked"),
        ((Give(), [PushBackTo(27), Give()]), "mixture-pushed-out"),
        ((HaveChecked(), [PushBackTo(7.5), HaveChecked()]), "between-lines"),
        (
            (TakeSyringe("0.3-one"), [DiscardVial(CLEAR), TakeVial(CLEAR), TakeSyringe("0.3-one")]),
            "label-not-read",
        ),
        ((Pierce(CLEAR, "air"), [Pierce(CLEAR, "liquid")]), ""),
    ],
)
def test_plausible_slips_are_found(change, name):
    seen = plausible(change)
    assert (name in seen) if name else seen == []


def test_a_new_cloudy_vial_must_be_rolled_anew():
    new = [
        DiscardVial(CLOUDY),
        TakeVial(CLOUDY),
        ReadLabel(CLOUDY),
        LookAt(CLOUDY),
        TakeSyringe("0.3-one"),
    ]
    assert plausible((TakeSyringe("0.3-one"), new)) == ["not-rolled"]


def test_air_pushed_into_an_upright_vial_pushes_the_clear_insulin_before_it():
    """Forgotten air for the cloudy vial, given with the clear insulin already in the barrel (the needle points down)."""
    late = [PullAir(28), Pierce(CLOUDY, "air"), PushAir(), Invert()]
    actions = list(right_run(PLAN))
    first = actions.index(PullAir(20))
    del actions[first : first + 4]
    at = actions.index(Pierce(CLOUDY, "air"))
    actions[at : at + 2] = late
    trace = run(bench_for(PLAN.order), actions[: at + 3])
    assert trace.last.vials[CLOUDY].liquid.of("regular") > 7
    assert trace.last.syringe.barrel.of("regular") < 1


def test_half_a_graduation_is_the_tolerance():
    """1 unit off is a fault on a scale with a line every unit and none on one with a line every 2 (computed)."""
    order = read_order("regular insulin 8 units and NPH insulin 20 units")
    for key, wrong in (("1.0-one", True), ("1.0-two", False)):
        site = replace_stock(syringes()[key])
        actions = [
            replace(one, to=one.to + 0.9) if isinstance(one, DrawTo) and one.to == 8 else one
            for one in right_run(plan_dose(order, site))
        ]
        seen = [one.name for one in review(order, run(bench_for(order, site), actions), site)]
        assert ("clear-dose-off" in seen) == wrong


def test_cloudy_insulin_carried_into_any_clear_vial_is_found():
    made = wrong_run("cloudy-drawn-first", PLAN)
    bench = bench_for(PLAN.order, clear=vial_of(insulins()["glargine"]))
    names_found = [one.name for one in review(PLAN.order, run(bench, made.actions))]
    assert sorted(names_found) == ["cloudy-drawn-first", "long-acting-in-the-mix"]


def test_a_bubble_seen_before_giving_is_called_a_bubble():
    made = wrong_run("bubble-left", PLAN)
    cut = made.trace().up_to(len(made.actions) - 2)
    assert [(one.name, one.now) for one in review(PLAN.order, cut)] == [
        ("bubble-left", "discard and start again"),
        ("unfinished", "put right here"),
    ]


def test_a_long_acting_insulin_alone_is_a_wrong_vial_and_no_mixture():
    actions = wrong_run("one-insulin-missing", PLAN).actions
    bench = bench_for(PLAN.order, clear=vial_of(insulins()["glargine"]))
    assert [one.name for one in review(PLAN.order, run(bench, actions))] == ["wrong-vial"]


def test_a_dip_before_a_cloudy_first_draw_is_not_found_twice():
    made = wrong_run("cloudy-drawn-first", PLAN)
    actions = list(made.actions)
    actions[actions.index(Pierce(CLOUDY, "air"))] = Pierce(CLOUDY, "liquid")
    assert [one.name for one in review(PLAN.order, run(made.bench, actions))] == ["cloudy-drawn-first"]


def test_both_contaminations_can_be_shown():
    first = wrong_run("cloudy-drawn-first", PLAN).trace().last
    assert first.vials[CLEAR].liquid.of("nph") > 1
    back = wrong_run("pushed-back-after-mixing", PLAN).trace().last
    assert back.vials[CLEAR].liquid.of("nph") == 0
    assert back.vials[CLOUDY].liquid.of("regular") > 1
