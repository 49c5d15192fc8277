"""Judging runs: every right way passes, and each thing done wrong gives just its own finding."""

import itertools
import re
from dataclasses import replace
from functools import cache

import pytest

from mixlab import read_order
from mixlab.care import actions as do
from mixlab.care.amounts import DISTORTIONS, OTHER_INSULINS, SIZES, VIALS
from mixlab.care.bench import run
from mixlab.care.dosing import plan_dose
from mixlab.care.habits import HABITS
from mixlab.care.review import review
from mixlab.care.runs import CLEAR, CLOUDY, bench_for, right_run, vial_of
from mixlab.care.variants import RIGHT_VARIANTS, WRONG_RUNS, right_variant, wrong_run
from mixlab.facts.shelf import shelf
from mixlab.quantities import exact_units
from mixlab.ward.insulin import insulins
from mixlab.ward.site import load_site, teaching_site
from mixlab.ward.syringe import syringes

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
        ("waited-too-long", "the ward allows 15"),
        ("separate-needle", "regular insulin 12.92 units"),
    ],
)
def test_a_finding_says_how_big_it_is(name, said):
    (finding,) = found_wrong(name)
    assert said in finding.amount


@pytest.mark.parametrize("name", WRONG_RUNS)
def test_no_rounding_noise_is_shown(name):
    (finding,) = found_wrong(name)
    assert not re.search(r"\de-\d|\.\d{3}", finding.amount)


@pytest.mark.parametrize("name", WRONG_RUNS)
def test_a_finding_says_what_it_means_and_who_says_so(name):
    (finding,) = found_wrong(name)
    run_of = wrong_run(name, PLAN)
    assert 0 < finding.step <= len(run_of.actions)
    for words in (finding.title, finding.dose, finding.patient, finding.vial, finding.do, finding.rule):
        assert words
        assert "{" not in words
    assert finding.title in str(finding)


def test_no_number_stands_in_the_words_about_a_trace_of_the_cloudy_insulin():
    """No study gives the size of its effect: none may be printed (reference: the effect is unmeasured)."""
    for name in ("tip-dipped-in-cloudy", "cloudy-drawn-first"):
        row = shelf().errors[name]
        assert not any(
            sign.isdigit() for words in (row.dose, row.patient, row.vial, row.do, row.doubt) for sign in words
        )
        assert "has not been measured" in row.doubt


def test_the_moment_is_that_of_the_fault():
    made = wrong_run("pushed-back-after-mixing", PLAN)
    (finding,) = found(made)
    assert isinstance(made.actions[finding.step - 1], do.PushBackTo)
    made = wrong_run("cloudy-drawn-first", PLAN)
    (finding,) = found(made)
    assert isinstance(made.actions[finding.step - 1], do.Invert)  # where the needle dips into the clear insulin


def test_several_faults_are_all_found_in_the_order_in_which_they_could_be_seen():
    actions = [
        action for action in right_run(PLAN) if not isinstance(action, do.CleanHands | do.Roll | do.DiscardSyringe)
    ]
    findings = review(PLAN.order, run(bench_for(PLAN.order), actions))
    assert [finding.name for finding in findings] == ["hands-not-cleaned", "not-rolled", "not-in-the-sharps-box"]


def test_a_stopper_wiped_too_briefly_is_not_wiped():
    actions = [do.Swab(CLEAR, 2) if action == do.Swab(CLEAR, 10) else action for action in right_run(PLAN)]
    (finding,) = review(PLAN.order, run(bench_for(PLAN.order), actions))
    assert finding.name == "stopper-not-wiped"
    assert finding.amount == "the clear vial, wiped for 2 seconds"


@pytest.mark.parametrize(("strength", "factor"), [(40.0, "0.4"), (500.0, "5")])
def test_a_vial_of_another_strength_is_found(strength, factor):
    bench = bench_for(PLAN.order, clear=vial_of(insulins()["regular"], strength=strength))
    (finding,) = review(PLAN.order, run(bench, right_run(PLAN)))
    assert finding.name == "strength-and-scale-differ"
    assert f"holds {factor} times what it says" in finding.amount


def test_a_constant_slip_of_the_eye_is_a_wrong_clear_dose():
    """Reading another ring of the stopper moves both marks alike: the cloudy part stays right (computed)."""
    actions = [
        replace(action, to=action.to + 1) if isinstance(action, do.DrawTo) else action for action in right_run(PLAN)
    ]
    (finding,) = review(PLAN.order, run(bench_for(PLAN.order), actions))
    assert finding.name == "clear-dose-off"
    assert "regular insulin 9.02 units instead of 8 units; NPH insulin 19.9" in finding.amount


def test_a_settled_layer_at_the_stopper_gives_more_than_twice():
    made = wrong_run("not-rolled", PLAN)
    bench = bench_for(PLAN.order, cloudy=vial_of(insulins()["nph"], sediment_at_stopper=True))
    (finding,) = review(PLAN.order, run(bench, made.actions))
    assert "230 % of the vial's strength" in finding.amount


def test_a_site_decides_on_checks_gloves_caps_and_pushing_back(tmp_path):
    file = tmp_path / "site.toml"
    file.write_text(
        'name = "the practice ward"\nsecond_check = "none"\ngloves = "required"\nrecapping = "never"\npush_back = "never"\n'
        "waiting = 3\n"
    )
    site = load_site(file)
    actions = [action for action in right_run(PLAN) if not isinstance(action, do.HaveChecked)]
    give = next(at for at, action in enumerate(actions) if isinstance(action, do.Give))
    actions[give:give] = [do.Cap("one hand"), do.LabelSyringe(), do.LayDown(4), do.Uncap()]
    findings = review(PLAN.order, run(bench_for(PLAN.order, site), actions), site)
    assert [finding.name for finding in findings] == ["gloves-missing", "capped-against-policy", "waited-too-long"]
    assert {finding.rule for finding in findings} == {"policy of the practice ward"}


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
            ["unfinished"] if not any(isinstance(action, do.Give) for action in cut.actions) else []
        )


@pytest.mark.parametrize("name", WRONG_RUNS)
def test_after_giving_no_finding_asks_for_another_dose(name):
    made = wrong_run(name, PLAN)
    row = shelf().errors[name]
    (finding,) = found_wrong(name)
    gave = any(isinstance(action, do.Give) for action in made.actions)
    if gave and row.after != "none":
        assert finding.now == "tell someone"
        assert "The dose is in the patient: give no" in finding.do
        assert "Next time, before giving: " in finding.do
    else:
        assert (finding.now, finding.do.startswith(row.do[:20].format(clear="", cloudy=""))) == (row.now, True)
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
    again = [do.DrawTo(30), do.PushBackTo(28), do.Withdraw(), do.DiscardSyringe(), *SECOND[:-4]]
    assert plausible((do.DrawTo(28), again)) == ["pushed-back-after-mixing"]


def test_a_vial_that_took_a_mixture_is_found_beside_another_cause():
    rolled = [action for action in right_run(PLAN) if not isinstance(action, do.Roll)]
    found_names = plausible((do.DrawTo(28), [do.DrawTo(30), do.PushBackTo(28)]), start=rolled)
    assert sorted(found_names) == ["not-rolled", "pushed-back-after-mixing"]


def no(kind):
    return [action for action in right_run(PLAN) if not isinstance(action, kind)]


def clear_to(mark, actions):
    """The same actions with another clear mark; the air stays."""
    return [replace(one, to=mark) if isinstance(one, do.DrawTo) and one.to == 8 else one for one in actions]


@pytest.mark.parametrize(
    ("actions", "both"),
    [
        (clear_to(12, no(do.Roll)), {"not-rolled", "clear-dose-off"}),
        (clear_to(12, right_run(PLAN, syringe="separate needle")), {"separate-needle", "clear-dose-off"}),
        (right_run(PLAN, syringe="separate needle", clear_mark=20), {"separate-needle", "doses-swapped"}),
        (
            [do.DrawTo(30) if one == do.DrawTo(28) else one for one in wrong_run("bubble-left", PLAN).actions],
            {"bubble-left", "cloudy-overdrawn"},
        ),
    ],
)
def test_a_wrong_mark_beside_another_fault_is_found_too(actions, both):
    assert set(plausible(start=actions)) == both


def test_discarding_and_stopping_is_only_unfinished():
    at = right_run(PLAN).index(do.Give())
    assert plausible(start=[*right_run(PLAN)[:at], do.DiscardSyringe()]) == ["unfinished"]


def test_a_fault_of_a_discarded_syringe_is_not_in_the_patient():
    at = right_run(PLAN).index(do.Give())
    actions = [*right_run(PLAN)[:at], do.Cap("one hand"), do.LayDown(1), do.DiscardSyringe(), *SECOND]
    finding, *_ = review(PLAN.order, run(bench_for(PLAN.order), actions))
    assert (finding.name, finding.now) == ("laid-down-unlabeled", "discard and start again")
    assert "in the patient" not in finding.do


@pytest.mark.parametrize(
    "change",
    [
        (do.PushAir(), [do.PushBackTo(0)]),
        (do.Swab(CLEAR, 10), [do.Swab(CLEAR, 10), do.Swab(CLEAR, 2)]),
        (do.LetDry(CLEAR), [do.LayDown(3)]),
        (do.DrawTo(28), [do.DrawTo(28, 0.0141), do.TapBubbles(), do.DrawTo(28)]),
        (do.HaveChecked(), [do.DrawTo(8.6), do.PushBackTo(8), do.HaveChecked()]),
    ],
)
def test_plausible_right_ways_pass(change):
    actions = right_run(PLAN)
    if change[0] == do.LetDry(CLEAR):  # laid down before there is a syringe
        actions = [one for one in actions if not isinstance(one, do.TakeSyringe)]
        actions.insert(actions.index(do.PullAir(20)), do.TakeSyringe("0.3-one"))
    assert plausible(change, start=actions) == []


@pytest.mark.parametrize(
    ("change", "name"),
    [
        ((do.HaveChecked(), [do.PushBackTo(6), do.HaveChecked(), do.DrawTo(8)]), "clear-not-checked"),
        ((do.Give(), [do.PushBackTo(27), do.Give()]), "mixture-pushed-out"),
        ((do.HaveChecked(), [do.PushBackTo(7.5), do.HaveChecked()]), "between-lines"),
        (
            (do.TakeSyringe("0.3-one"), [do.DiscardVial(CLEAR), do.TakeVial(CLEAR), do.TakeSyringe("0.3-one")]),
            "label-not-read",
        ),
        ((do.Pierce(CLEAR, "air"), [do.Pierce(CLEAR, "liquid")]), ""),
    ],
)
def test_plausible_slips_are_found(change, name):
    seen = plausible(change)
    assert (name in seen) if name else seen == []


def test_a_new_cloudy_vial_must_be_rolled_anew():
    new = [
        do.DiscardVial(CLOUDY),
        do.TakeVial(CLOUDY),
        do.ReadLabel(CLOUDY),
        do.LookAt(CLOUDY),
        do.TakeSyringe("0.3-one"),
    ]
    assert plausible((do.TakeSyringe("0.3-one"), new)) == ["not-rolled"]


def test_air_pushed_into_an_upright_vial_pushes_the_clear_insulin_before_it():
    """Forgotten air for the cloudy vial, given with the clear insulin already in the barrel (the needle points down)."""
    late = [do.PullAir(28), do.Pierce(CLOUDY, "air"), do.PushAir(), do.Invert()]
    actions = list(right_run(PLAN))
    first = actions.index(do.PullAir(20))
    del actions[first : first + 4]
    at = actions.index(do.Pierce(CLOUDY, "air"))
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
            replace(one, to=one.to + 0.9) if isinstance(one, do.DrawTo) and one.to == 8 else one
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
    actions[actions.index(do.Pierce(CLOUDY, "air"))] = do.Pierce(CLOUDY, "liquid")
    assert [one.name for one in review(PLAN.order, run(made.bench, actions))] == ["cloudy-drawn-first"]


def test_both_contaminations_can_be_shown():
    first = wrong_run("cloudy-drawn-first", PLAN).trace().last
    assert first.vials[CLEAR].liquid.of("nph") > 1
    back = wrong_run("pushed-back-after-mixing", PLAN).trace().last
    assert back.vials[CLEAR].liquid.of("nph") == 0
    assert back.vials[CLOUDY].liquid.of("regular") > 1
