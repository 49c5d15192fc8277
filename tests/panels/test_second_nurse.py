"""The second nurse's panel, and what the bench lets a learner say of a label, pressed from Python."""

import pytest

from mixlab.care.bench.checked_runs import AT_RANDOM, GOOD, TRAPS
from mixlab.care.bench.checking import SayCheck, SayLabel
from mixlab.panels.bench import draw_up, second_nurse


def names(panel):
    return [one.name for one in panel.findings]


def test_a_wrong_syringe_that_is_stopped_for_its_reason_is_a_right_check():
    panel = second_nurse(syringe="doses swapped")
    assert "Stopper at 20 units" in panel.picture.alt
    assert "regular insulin, 100 units in each mL, expires" in panel._labels.value
    assert "units of regular" not in panel.picture.alt
    panel.set(mark=20, sees="another amount")
    panel.press("stop")
    assert names(panel) == []
    assert "Your check was right" in panel._review.value


def test_a_wrong_syringe_that_is_passed_is_said_and_the_next_one_is_handed_over():
    panel = second_nurse(syringe="doses swapped", seed=3)
    panel.set(mark=20)
    panel.press("pass")
    assert names(panel) == ["wrong-syringe-passed"]
    assert "the plunger at 20 instead of 8" in panel._review.value
    assert all(panel.pressable[says].disabled for says in ("pass", "stop"))
    panel.press("next syringe")
    assert not panel.pressable["pass"].disabled
    assert (panel._review.value, names(panel), panel.mark.value) == ("", [], 0)
    assert not [one for one in panel.state.trace.actions if isinstance(one, SayCheck)]


def test_what_cannot_be_a_mark_is_no_mark():
    panel = second_nurse(syringe="right, first draw")
    panel.mark.value = -1
    assert panel.mark.value == 0
    panel.mark.value = float("nan")
    panel.press("pass")
    assert panel.message
    panel.set(mark=8)
    panel.press("pass")
    assert (panel.message, names(panel)) == ("", [])


def test_trying_puts_the_second_nurse_back():
    panel = second_nurse(syringe="right, filled")
    with panel.trying(mark=28):
        panel.press("stop")
        assert names(panel) == ["right-syringe-stopped"]
    assert (names(panel), panel.mark.value, panel._review.value) == ([], 0, "")


def test_the_same_seed_hands_over_the_same_syringes():
    first, second = second_nurse(seed=5), second_nurse(seed=5)
    for _ in range(3):
        assert first.state.trace == second.state.trace
        first.press("next syringe"), second.press("next syringe")


def test_the_learner_says_of_a_label_what_she_found():
    panel = draw_up(vials="an expired vial")
    panel.set(vial="clear", label="expired")
    panel.press("read label")
    assert "expires 2026-06-03" in panel._notice.value
    panel.press("say what the label shows")
    assert panel.trace.actions[-1] == SayLabel("clear", "expired")
    panel.press("review")
    assert "label-misjudged" not in names(panel)
    panel.set(label="may be used")
    panel.press("say what the label shows")
    panel.press("review")
    assert "label-misjudged" in names(panel)


@pytest.mark.parametrize("name", TRAPS)
def test_vials_are_set_out_by_hand_and_the_run_begins_again(name):
    panel = draw_up()
    panel.press("clean hands")
    panel.set(vials="chosen at random" if name == GOOD else name)
    assert len(panel.trace) == 0
    panel.set(vials=GOOD)
    assert panel.trace.last.vials == draw_up().trace.last.vials


def test_a_seed_chooses_the_vials():
    made = [draw_up(vials=AT_RANDOM, seed=seed).trace.last.vials for seed in (1, 2, 3, 4, 1)]
    assert made[0] == made[-1]
    assert any(one != made[0] for one in made)


def test_have_it_checked_says_what_is_compared_and_gives_no_verdict():
    panel = draw_up()
    panel.press("take syringe")
    panel.press("have it checked")
    for words in ("the order", "the labels", "at eye level", "Stopper at 0"):
        assert words in panel._notice.value
