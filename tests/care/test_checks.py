"""What is said of labels and by a second nurse: a fault that can be seen is never passed in silence, a right syringe never blamed."""

from dataclasses import replace
from pathlib import Path

import pytest

from mixlab import read_order
from mixlab.care.bench.bench import run
from mixlab.care.bench.checked_runs import GOOD, SYRINGES, TRAPS, syringe_to_check, trap_vials
from mixlab.care.bench.checking import CHECK_SEES, LABEL_FINDS, MAY_BE_USED, NOTHING_WRONG, SayCheck, SayLabel
from mixlab.care.bench.handling import DiscardVial, Give, HaveChecked, LetDry, LookAt, ReadLabel, TakeVial
from mixlab.care.bench.runs import CLEAR, CLOUDY, bench_for, right_run, vial_of
from mixlab.care.bench.saved_attempt import load_attempt, save_attempt
from mixlab.care.bench.variants import right_variant, wrong_run
from mixlab.care.dosing import plan_dose
from mixlab.care.review.findings import judge_check, review
from mixlab.facts.reading import the_facts
from mixlab.quantities import NotAnAmount
from mixlab.ward.insulin import insulins
from mixlab.ward.site.record import teaching_site

TEXT = "regular insulin 8 units and NPH insulin 20 units"
ORDER = read_order(TEXT)
PLAN = plan_dose(ORDER)
RIGHT = right_run(PLAN)
PASSED = "wrong-syringe-passed"
LESSONS = ("11_draw_up_in_order.ipynb", "12_what_went_wrong.ipynb")


def names(actions, **vials):
    return [one.name for one in review(ORDER, run(bench_for(ORDER, **vials), actions))]


def said(name, mark=None, sees=NOTHING_WRONG, says="pass"):
    """What is found when a learner says this of a syringe that somebody else drew; the mark as it stands if not given."""
    trace = syringe_to_check(PLAN, name).trace()
    mark = trace.last.syringe.mark if mark is None else mark
    return judge_check(ORDER, trace.then(SayCheck(mark, sees, says)))


WRONG = [name for name, (wrong, _) in SYRINGES.items() if wrong]
WHAT = {
    "doses swapped": "another amount",
    "clear dose off": "another amount",
    "wrong vial": "another insulin",
    "past date": "expired",
    "separate needle": "another kind of syringe",
    "bubble left": "a bubble",
    "spoiled vial": "a vial that looks wrong",
    "cloudy overdrawn": "another amount",
    "cloudy dose off": "another amount",
    "drawn to the second number": "another amount",
}


def test_a_check_that_passed_20_for_8_is_a_finding_of_its_own():
    made = wrong_run("doses-swapped", PLAN)
    passed = next(one for one in review(ORDER, made.trace()) if one.name == PASSED)
    assert isinstance(made.actions[passed.step - 1], HaveChecked)
    assert str(passed.amount) == "the plunger at 20 instead of 8"


def test_no_right_way_is_blamed_for_its_checks_and_a_check_that_led_to_a_correction_passed_nothing():
    assert PASSED not in names(RIGHT)
    for name in ("clear drawn over and pushed back", "capped with one hand, labelled, given in time"):
        assert review(ORDER, right_variant(name, PLAN).trace()) == ()


def test_what_nobody_checked_was_passed_by_nobody():
    actions = [one for one in wrong_run("doses-swapped", PLAN).actions if not isinstance(one, HaveChecked)]
    assert PASSED not in names(actions)


@pytest.mark.parametrize("name", WRONG)
def test_a_second_nurse_who_stops_a_wrong_syringe_for_its_reason_is_right_and_one_who_passes_it_is_not(name):
    assert said(name, sees=WHAT[name], says="stop") == ()
    assert PASSED in [one.name for one in said(name)]
    assert PASSED in [one.name for one in said(name, sees=WHAT[name])]
    assert [one.name for one in said(name, says="stop")] == ["check-misread"]


def test_every_fault_of_a_syringe_to_check_stands_in_this_table():
    assert WHAT.keys() == {*WRONG}
    assert {*WHAT.values()} <= CHECK_SEES.keys()


@pytest.mark.parametrize("name", [name for name in SYRINGES if name not in WRONG])
def test_a_right_syringe_is_passed_and_a_stop_or_a_misread_mark_is_found(name):
    assert said(name) == ()
    assert [one.name for one in said(name, sees="a bubble", says="stop")] == ["right-syringe-stopped"]
    assert [one.name for one in said(name, sees="a bubble")] == ["check-misread"]
    assert [one.name for one in said(name, mark=12)] == ["check-misread"]


def test_a_syringe_to_check_is_chosen_by_its_seed_and_about_half_are_right():
    made = [syringe_to_check(PLAN, seed=seed) for seed in range(60)]
    assert [one.name for one in made] == [syringe_to_check(PLAN, seed=seed).name for seed in range(60)]
    assert 20 < sum(one.name.startswith("right") for one in made) < 40
    assert not [one for one in made if isinstance(one.actions[-1], HaveChecked | Give)]


@pytest.mark.parametrize("name", TRAPS)
def test_a_vial_that_must_not_be_used_is_found_when_used_and_never_once_it_is_changed(name):
    vials = trap_vials(PLAN, name)
    found = names(RIGHT, **vials)
    assert bool(found) == (name != GOOD)
    for place in vials:
        at = RIGHT.index(LookAt(place)) + 1
        fresh = [DiscardVial(place), TakeVial(place), ReadLabel(place), LookAt(place)]
        assert names([*RIGHT[:at], *fresh, *RIGHT[at:]], **vials) == []


def test_a_seed_chooses_the_vials_and_sometimes_all_are_good():
    made = [trap_vials(PLAN, seed=seed) for seed in range(60)]
    assert made == [trap_vials(PLAN, seed=seed) for seed in range(60)]
    assert 2 < made.count({}) < 30
    assert all(trap in made for trap in (trap_vials(PLAN, name) for name in TRAPS))


@pytest.mark.parametrize(
    ("looks", "finds"),
    [
        ({}, MAY_BE_USED),
        ({"expires_in_days": -1}, "expired"),
        ({"past_date": True}, "expired"),
        ({"expires_in_days": 0, "opened_days": 28}, MAY_BE_USED),
        ({"opened_days": 29}, "opened too long"),
        ({"strength": 500.0}, "another strength"),
    ],
)
def test_the_learner_says_what_the_label_shows_and_anything_else_is_found(looks, finds):
    """28 days for an opened vial: the fall-back of the facts (recalled)."""
    vial = vial_of(PLAN.clear.insulin, **looks)
    for other in LABEL_FINDS:
        found = names([ReadLabel(CLEAR), SayLabel(CLEAR, other)], clear=vial)
        assert ("label-misjudged" in found) == (other != finds)


def test_a_look_alike_is_another_insulin():
    actions = [ReadLabel(CLEAR), SayLabel(CLEAR, MAY_BE_USED)]
    assert "label-misjudged" in names(actions, clear=vial_of(insulins()["lispro"]))


def test_a_ward_decides_how_long_an_opened_vial_is_kept():
    vial = vial_of(PLAN.cloudy.insulin, opened_days=35)
    trace = run(bench_for(ORDER, cloudy=vial), RIGHT)
    site = teaching_site()
    longer = replace(site, opened_days={**site.opened_days, "nph": replace(site.opened_days["nph"], value=42)})
    assert "past-date" in [one.name for one in review(ORDER, trace)]
    assert review(ORDER, trace, longer) == ()


def test_a_wet_stopper_is_nothing_to_tell_anybody():
    actions = [one for one in RIGHT if one != LetDry(CLEAR)]
    (finding,) = review(ORDER, run(bench_for(ORDER), actions))
    assert (finding.name, finding.now) == ("stopper-not-dry", "put right here")
    assert "Discard" not in str(finding.do)


def test_what_the_bench_cannot_judge_is_a_table():
    assert the_facts().not_judged.keys() == {"identity", "reading", "hands_again", "injection", "record"}


@pytest.mark.parametrize("parts", [(8, "all well", "pass"), (8, NOTHING_WRONG, "perhaps"), (-1, NOTHING_WRONG, "pass")])
def test_a_word_that_no_second_nurse_says_is_refused(parts):
    with pytest.raises(NotAnAmount):
        SayCheck(*parts)


def test_what_was_said_and_a_long_opened_vial_are_saved(tmp_path):
    vials = trap_vials(PLAN, "a vial opened too long")
    trace = run(bench_for(ORDER, **vials), [ReadLabel(CLOUDY), SayLabel(CLOUDY, "opened too long")])
    save_attempt(tmp_path / "run.json", TEXT, trace)
    assert load_attempt(tmp_path / "run.json").trace() == trace


def test_both_lessons_give_the_check_of_the_clear_amount_the_same_power():
    """Swapped doses: lesson 11 says that the clear amount is checked because the total hides it; lesson 12 may not call it blind."""
    folder = Path(__file__).parents[2] / "notebooks"
    first, second = ((folder / name).read_text(encoding="utf-8") for name in LESSONS)
    assert "Why is the clear amount checked *before* the second draw" in first
    answer = second.split("Run *doses swapped*")[1].split("</details>")[0]
    assert "before the cloudy insulin comes in** finds it" in answer
    assert "checks and air are all right" not in second
