"""Every key of a site changes what a learner sees of it, and nothing else; the teaching site is as it was."""

from contextlib import nullcontext
from dataclasses import replace
from itertools import product

import pytest
from aloud import said

from mixlab import Glucose, Observation, day_plan, read_order
from mixlab.care.bench.actions import Pierce, PullAir, PushAir
from mixlab.care.bench.bench import run
from mixlab.care.bench.handling import CleanHands, Roll
from mixlab.care.bench.runs import CLEAR, CLOUDY, bench_for, right_run, rolls
from mixlab.care.bench.saved_attempt import CannotReplay, load_attempt, save_attempt
from mixlab.care.bench.variants import WRONG_RUNS, wrong_run
from mixlab.care.decision.deciding import decide
from mixlab.care.dosing import MustNotMix, plan_dose
from mixlab.care.low.events import Carbohydrate, Measure
from mixlab.care.low.treatment import walk
from mixlab.care.order.checking import order_concerns
from mixlab.care.review.findings import review
from mixlab.facts.reading import the_facts
from mixlab.figures.action.both_together_words import ActionSeen, describe_action
from mixlab.figures.action.curves import describe_curves, draw_curves
from mixlab.figures.action.evidence_words import Evidence
from mixlab.figures.day.day_words import DaySeen
from mixlab.figures.day.describing import describe_day
from mixlab.figures.syringe.barrel import draw_barrel
from mixlab.figures.syringe.barrel_words import describe_barrel
from mixlab.ward.insulin import insulins
from mixlab.ward.site.in_force import example_sites, use_site
from mixlab.ward.site.record import teaching_site
from mixlab.words import speaking

TEXT = "regular insulin 8 units and NPH insulin 20 units subcut 30 minutes before breakfast"
RAPID = "insulin lispro 8 units and NPH insulin 20 units subcut with breakfast"
ORDER = read_order(TEXT)
BASE = teaching_site()
SEEN = Observation(glucose=Glucose(64, "mg/dL"), minutes_old=5)


@pytest.fixture(autouse=True)
def back():
    yield
    use_site(None)


def policy(**values):
    """Return the teaching site with other policies; their words do not hang on who says so."""
    return replace(BASE, **{name: replace(getattr(BASE, name), value=value) for name, value in values.items()})


def steps(site=BASE, order=ORDER):
    return {step.key: step for step in plan_dose(order, site).steps}


def do_of(key, site=BASE):
    """Return what a step tells to do, as it is read at a site."""
    with speaking(site.voice):
        return str(steps(site)[key].do)


def changed(site):
    """Return the steps that are said in other words than on the teaching site, or are left out."""
    here, there = steps(), steps(site)
    assert there.keys() <= here.keys()
    assert [step.number for step in there.values()] == list(range(1, len(there) + 1))
    same = [key for key in there if (there[key].do, there[key].why) == (here[key].do, here[key].why)]
    return {key for key in here if key not in same}


def names(site, actions, order=ORDER):
    return [one.name for one in review(order, run(bench_for(order, site), actions), site)]


def own_run(site):
    return right_run(plan_dose(ORDER, site))


# ── air ──

NO_AIR = policy(air="no air")


def test_without_air_its_two_steps_fall_out_and_the_clear_draw_begins_with_the_needle():
    assert changed(NO_AIR) == {"air_into_cloudy", "air_into_clear", "draw_clear", "draw_cloudy"}
    plan = plan_dose(ORDER, NO_AIR)
    assert (plan.air_into_cloudy, plan.air_into_clear, plan.clear_mark, plan.total_mark) == (0, 0, 8, 28)
    assert {"air_into_cloudy", "air_into_clear"}.isdisjoint(steps(NO_AIR))
    assert "Put the needle into the regular insulin vial without giving air" in do_of("draw_clear", NO_AIR)
    assert "stop and ask how the ward draws from it" in do_of("draw_clear", NO_AIR)


def test_without_air_the_right_run_gives_none_and_is_right_there_alone():
    actions = own_run(NO_AIR)
    assert not [one for one in actions if isinstance(one, PullAir | PushAir)]
    assert [one.vial for one in actions if isinstance(one, Pierce)] == [CLEAR, CLOUDY]
    assert names(NO_AIR, actions) == []
    assert "too-little-air" in names(BASE, actions)


def test_air_that_nobody_asked_for_is_no_error_until_it_is_more_than_the_dose():
    assert names(NO_AIR, own_run(BASE)) == []
    for name, found in (("too-little-air", []), ("air-into-clear-first", []), ("too-much-air", ["too-much-air"])):
        made = wrong_run(name, plan_dose(ORDER))
        assert [one.name for one in review(ORDER, made.trace(), NO_AIR)] == found
    (finding,) = review(ORDER, wrong_run("too-much-air", plan_dose(ORDER)).trace(), NO_AIR)
    assert "as much air as the dose" not in str(finding.do)
    assert "no more air than the dose" in str(finding.do)


@pytest.mark.parametrize("name", WRONG_RUNS)
def test_every_wrong_run_can_be_shown_on_a_ward_without_air(name):
    made = wrong_run(name, plan_dose(ORDER, NO_AIR))
    found = [one.name for one in review(made.plan.order, made.trace(), made.plan.site)]
    assert name in found
    assert set(found) <= {name, "wrong-syringe-passed"} or name == "wrong-syringe-passed"


def test_the_drawn_barrel_and_its_words_name_no_air_where_none_is_given():
    with_air, without = plan_dose(ORDER), plan_dose(ORDER, NO_AIR)
    assert "First 20 units of air into the NPH insulin vial, then 8 units of air" in describe_barrel(with_air)
    assert "of air" not in describe_barrel(without)
    assert "No air goes into the vials on this ward." in describe_barrel(without)

    def shown(plan):
        return {text.get_gid(): text.get_text() for text in draw_barrel(plan).figure.axes[0].texts}

    here, there = shown(with_air), shown(without)
    assert {gid: (here[gid], there[gid]) for gid in here if here[gid] != there[gid]} == {
        "air-title": ("Air first, as much as each dose:", "No air into the vials on this ward:"),
        "air-cloudy": ("20 units of air", "no air"),
        "air-clear": ("8 units of air", "no air"),
        "air-name-cloudy": ("into NPH insulin", "NPH insulin"),
        "air-name-clear": ("into regular insulin", "regular insulin"),
        "air-order-cloudy": ("first, cloudy vial", "second, cloudy vial"),
        "air-order-clear": ("second, clear vial", "first, clear vial"),
    }
    drawn = draw_barrel(without)
    drawn.show(with_air)
    assert {text.get_gid(): text.get_text() for text in drawn.figure.axes[0].texts} == here


# ── rolling ──


def test_until_even_is_said_without_a_count():
    told = do_of("resuspend", policy(resuspend="until even"))
    assert "until it is evenly milky" in told
    assert not any(letter.isdigit() for letter in told)


@pytest.mark.parametrize("value", ["by count", "until even"])
def test_rolled_too_little_goes_by_evenness_and_not_by_the_count(value):
    site = policy(resuspend=value)
    for times, found in ((2, ["rolled-too-little"]), (10, [])):
        actions = [Roll(CLOUDY, times) if isinstance(one, Roll) else one for one in own_run(site)]
        assert names(site, actions) == found
    assert names(site, [one for one in own_run(site) if not isinstance(one, Roll)]) == ["not-rolled"]


def test_the_counts_are_those_of_the_site():
    site = policy(rolls=20, inversions=15)
    assert [one.times for one in own_run(site) if isinstance(one, Roll)] == [35]
    assert rolls() == 20  # 10 and 10: Forum for Injection Technique, Ireland (read)
    use_site(site)
    assert rolls() == 35


# ── pairs ──


def test_a_pair_that_the_ward_forbids_is_not_planned_and_says_what_to_do():
    site = replace(BASE, never_mix=("lispro + nph",))
    rapid = read_order(RAPID)
    assert plan_dose(rapid).total_mark == 28
    with pytest.raises(MustNotMix) as refused:
        plan_dose(rapid, site)
    assert "insulin lispro and NPH insulin are not mixed at the teaching ward" in str(refused.value)
    assert "ask the prescriber" in str(refused.value)
    assert plan_dose(ORDER, site).steps == plan_dose(ORDER).steps


def test_a_pair_that_the_ward_forbids_is_a_concern_by_the_policy_of_the_ward():
    site = replace(BASE, name="ward 5", never_mix=("lispro + nph",))
    assert order_concerns(TEXT, site=site) == order_concerns(TEXT)
    (found,) = set(order_concerns(RAPID, site=site)) - set(order_concerns(RAPID))
    assert set(order_concerns(RAPID)) < set(order_concerns(RAPID, site=site))
    assert (str(found.name), str(found.source)) == (
        "insulin lispro and NPH insulin are not mixed at ward 5",
        "policy of ward 5",
    )
    assert found.text == "insulin lispro 8 units and NPH insulin"


# ── steps ──


def test_a_critical_step_says_so_and_no_other():
    site = replace(BASE, critical_steps=("clean_hands", "draw_clear"))
    for ward in (BASE, site):
        critical = {key for key, step in steps(ward).items() if step.critical}
        assert critical == set(ward.critical_steps)
        assert critical == {key for key, step in steps(ward).items() if str(step).endswith(" (must be right)")}
    assert changed(site) == set()


def test_the_days_of_an_opened_vial_are_those_of_the_site():
    days = {**BASE.opened_days, "nph": replace(BASE.opened_days["nph"], value=42)}
    days["regular"] = replace(days["regular"], value=1)
    site = replace(BASE, opened_days=days)
    assert "regular insulin is kept for 28 days here and NPH insulin for 28 days" in do_of("read_labels")
    assert changed(site) == {"read_labels"}
    assert "regular insulin is kept for 1 day here and NPH insulin for 42 days" in do_of("read_labels", site)
    made = wrong_run("past-date", plan_dose(ORDER, site))
    for ward, kept in ((BASE, "28 days"), (site, "1 day")):
        finding, _ = review(ORDER, made.trace(), ward)
        assert str(finding.amount) == f"the clear vial, expired; once opened, regular insulin is kept for {kept} here"


@pytest.mark.parametrize(
    ("values", "where"),
    [
        ({"resuspend": "until even"}, {"resuspend": "until it is evenly milky"}),
        ({"rolls": 20, "inversions": 15}, {"resuspend": "20 times between your palms and turn it over 15 times"}),
        ({"gloves": "required"}, {"clean_hands": "put on gloves"}),
        ({"push_back": "never"}, {"draw_clear": "forbids pushing insulin back", "check_clear": "forbids pushing back"}),
        ({"recapping": "never"}, {"give_and_record": "Do not cap the needle"}),
        (
            {"second_check": "once, at the end"},
            {"check_clear": "at eye level yourself", "check_total": "asks for it once, here"},
        ),
        ({"second_check": "none"}, {"check_clear": "at eye level yourself", "check_total": "yourself, slowly"}),
    ],
)
def test_what_a_ward_decides_stands_in_its_steps(values, where):
    site = policy(**values)
    assert changed(site) == where.keys()
    for key, words in where.items():
        assert words in do_of(key, site)
        assert words not in do_of(key)


SECOND_NURSE = {"none": [], "once, at the end": ["check_total"], "each draw": ["check_clear", "check_total"]}


def test_no_step_tells_to_do_what_the_ward_forbids_nor_asks_for_a_nurse_where_it_does_not():
    for air, back, checks in product(BASE.air.choices, BASE.push_back.choices, BASE.second_check.choices):
        site = policy(air=air, push_back=back, second_check=checks)
        told = do_of("draw_clear", site)
        assert ("push back into this vial" in told) is (back == "allowed")
        assert ("This ward forbids pushing" in told) is (back == "never")
        assert ("without giving air" in told) is (air == "no air")
        assert names(site, own_run(site)) == []
        named = [key for key in ("check_clear", "check_total") if "second nurse" in do_of(key, site)]
        assert named == SECOND_NURSE[checks]


# ── taught times ──

OTHER = "ompc-2007"


def taught(insulin):
    assert any(row.source == OTHER for row in insulins()[insulin].row.times)
    return replace(BASE, taught={**BASE.taught, insulin: (OTHER,)})


def test_the_day_goes_by_the_row_that_the_site_teaches():
    site = taught("nph")
    here, there = day_plan(ORDER, "07:30"), day_plan(ORDER, "07:30", site=site)
    assert (there.cloudy.row.sources, there.clear) == ((OTHER,), here.clear)
    assert there.cloudy.taught != here.cloudy.taught
    assert day_plan(ORDER, "07:30", site=site, row="afp-2009").cloudy.row.sources == ("afp-2009",)


def test_the_day_goes_by_all_the_handbooks_that_the_site_teaches_together():
    single = replace(BASE, taught={**BASE.taught, "nph": ("niddk-2009",)})
    one, both = day_plan(ORDER, "07:30", site=single).cloudy, day_plan(ORDER, "07:30").cloudy
    assert [str(window) for window in (one.starts, one.strongest, one.ends)] == [
        "08:30 to 10:30", "15:30", "19:30 to 23:30",
    ]  # fmt: skip
    assert [str(window) for window in (both.starts, both.strongest, both.ends)] == [
        "08:30 to 11:30", "11:30 to 17:30", "17:30 to 23:30",
    ]  # fmt: skip
    said = describe_day(DaySeen(plan=day_plan(ORDER, "07:30"), curves=None, cover=None))
    assert all(str(the_facts().cite(row)) in said for row in both.row.rows)
    assert "2 handbooks together: " in said


def test_a_handbook_without_a_row_leaves_the_taught_row_of_the_site():
    rapid = read_order(RAPID)
    other = replace(BASE, taught={**BASE.taught, "lispro": (insulins()["lispro"].row.times[-1].source,)})
    chosen = next(
        row.source
        for row in insulins()["nph"].row.times
        if row.source not in {one.source for one in insulins()["lispro"].row.times}
    )
    for site in (BASE, other):
        plan = day_plan(rapid, "07:30", site=site, row=chosen)
        assert (plan.cloudy.row.sources, plan.clear.row) == ((chosen,), site.times(insulins()["lispro"]))
        seen = {"order": rapid, "curves": None, "fan": None, "row": chosen, "site": site}
        told = describe_action(ActionSeen(**seen, sum_shown=False, guess_h=None, beside=None))
        assert str(the_facts().cite(site.times(insulins()["lispro"]))) in told
        assert Evidence(**seen, look="clear").chosen == site.times(insulins()["lispro"])


def test_the_drawn_bands_and_their_words_are_the_taught_row_of_the_site():
    site = taught("nph")

    def bands(**where):
        drawn = draw_curves(ORDER, None, **where).figure
        found = {one.get_gid(): one for one in drawn.findobj(lambda one: (one.get_gid() or "").startswith("taught"))}
        return {look: found[f"taught-{look}-words"].get_text() for look in ("clear", "cloudy")}, {
            look: found[f"taught-{look}"].get_xy().tolist() for look in ("clear", "cloudy")
        }

    here, there = bands(), bands(site=site)
    for part in (0, 1):
        assert here[part]["clear"] == there[part]["clear"]
        assert here[part]["cloudy"] != there[part]["cloudy"]
    assert there[0]["cloudy"] in describe_curves(ORDER, None, site)
    use_site(site)
    assert bands() == there
    assert describe_curves(ORDER, None) == describe_curves(ORDER, None, site)


# ── the site in force, and its words ──


def everything(site=None):
    """Return what every function says that works at a site, with a site or without."""
    here = {} if site is None else {"site": site}
    found = [
        *plan_dose(ORDER, **here).steps,
        said(decide(ORDER, SEEN, **here), site),
        said(walk(ORDER, SEEN, (Carbohydrate(15), Measure(Glucose(100, "mg/dL"))), **here), site),
        *order_concerns("regular insulin 80 units and NPH insulin 200 units with lunch", **here),
        *review(ORDER, run(bench_for(ORDER, **here), own_run(site)[3:]), **here),
        *(look.say for look in day_plan(ORDER, "07:30", **here).visits),
        *(clash.say for clash in day_plan(replace(ORDER, when=None), "07:00", **here).clashes),
    ]
    with nullcontext() if site is None else speaking(site.voice):
        return [str(one) for one in found]


@pytest.mark.parametrize("site", example_sites(), ids=lambda site: site.name)
def test_without_a_site_the_one_in_force_decides_and_its_words_are_said(site):
    given = everything(site)
    use_site(site)
    assert everything() == given
    use_site(None)
    assert (everything() == given) is (site is BASE)


def test_a_concern_about_the_meal_cites_the_ward_that_sets_the_time(tmp_path):
    path = tmp_path / "site.toml"
    path.write_text('format = 1\nname = "ward 9"\nmeal_lead = 40\n', encoding="utf-8")
    use_site(path)
    (found,) = (one for one in order_concerns("regular insulin 8 units and NPH insulin 20 units subcut with lunch"))
    assert str(found.source) == "policy of ward 9"
    assert "40 minutes before a meal" in str(found.name)


def test_an_attempt_is_saved_and_replayed_on_the_ward_in_force(tmp_path):
    hill = example_sites()[3]
    use_site(hill)
    trace = run(bench_for(ORDER), [CleanHands()])
    save_attempt(tmp_path / "a.json", TEXT, trace)
    assert load_attempt(tmp_path / "a.json").trace().actions == trace.actions
    use_site(None)
    with pytest.raises(CannotReplay, match=hill.name):
        load_attempt(tmp_path / "a.json").trace()


@pytest.mark.parametrize("word", ["units", "unit", "international units"])
def test_a_large_number_is_found_before_every_word_for_units(word):
    # numbers of a thousand and more without a comma: ISMP list of error-prone abbreviations (from memory)
    text = f"regular insulin 8 units and NPH insulin 1200 {word} subcut 30 minutes before breakfast"
    assert any(one.name == the_facts().notation["large-number"].title for one in order_concerns(text))
