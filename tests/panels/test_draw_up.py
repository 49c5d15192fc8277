"""The draw-up bench, driven from Python as a learner drives it from the page."""

import json

import pytest

from mixlab import load_site
from mixlab.care.bench.actions import DrawTo, PullAir
from mixlab.care.bench.bench import ACTIONS
from mixlab.care.bench.checking import SayCheck
from mixlab.care.bench.handling import TakeSyringe
from mixlab.care.bench.saved_attempt import load_attempt
from mixlab.care.bench.variants import WRONG_RUNS
from mixlab.pages.bench import _STEPS
from mixlab.panels import draw_up
from mixlab.panels.bench.controls import RIGHT_RUN
from mixlab.panels.bench.words import BUTTONS, PREDICT

RIGHT = """clean hands
clear: read label, look
cloudy: read label, look, roll, look
take syringe
cloudy: wipe, let dry
clear: wipe, let dry
cloudy 20: pull air, pierce, push air, withdraw
clear 8: pull air, pierce, push air, turn vial over, draw to mark, tap out bubbles, draw to mark, have it checked, withdraw
cloudy 28: pierce, turn vial over, draw to mark, withdraw
have it checked, give, discard syringe"""


@pytest.fixture
def panel():
    return draw_up()


def press(panel, *names):
    for name in names:
        assert not panel.buttons[name].disabled, (name, panel.buttons[name].tooltip)
        panel.buttons[name].click()
        assert panel.message == "", (name, panel.message)


def play(panel, script):
    """Press buttons as written: a vial and a mark before a colon, then the buttons."""
    panel.syringe.value = "0.3-one"
    for line in script.splitlines():
        chosen, _, names = line.rpartition(":")
        for word in chosen.split():
            if word.isdigit():
                panel.mark.value = int(word)
            else:
                panel.vial.value = word
        press(panel, *(name.replace("pierce", "pierce, tip in air") for name in names.strip().split(", ")))


def test_every_action_has_its_button_and_its_words(panel):
    panel.vial.value = "clear"
    makes = [make for some in BUTTONS.values() for make in some.values()]
    assert {type(make(panel.state)) for make in makes} == set(ACTIONS.values()) - {SayCheck}  # the second nurse's panel
    assert len(panel.buttons) == len(makes)
    assert set(_STEPS) == set(ACTIONS)


def test_the_right_run_by_buttons_reviews_clean(panel):
    play(panel, RIGHT)
    assert panel.findings == ()
    assert "Nothing was wrong" not in panel._review.value
    panel.finish.click()
    assert panel.findings == ()
    assert "Nothing was wrong" in panel._review.value
    assert panel.trace.last.given.of("nph") == pytest.approx(20, abs=0.5)


def test_an_overdrawn_run_gives_its_finding_and_the_first_fault_is_marked(panel):
    play(panel, RIGHT.replace("cloudy 28", "cloudy 30"))
    panel.finish.click()
    assert {one.name for one in panel.findings} == {"cloudy-overdrawn", "wrong-syringe-passed"}
    finding = next(one for one in panel.findings if one.name == "cloudy-overdrawn")
    for said in (finding.title, finding.amount, finding.patient, finding.do, "Seen first:"):
        assert str(said) in panel._review.value
    panel.undo.click()
    assert panel.findings == ()
    assert panel._review.value == ""


def test_the_picture_and_the_strip_follow(panel):
    assert "No syringe in hand" in panel.bench_picture.alt
    panel.syringe.value = "1.0-one"
    press(panel, "take syringe")
    panel.mark.value = 8
    press(panel, "pull air")
    assert "Stopper at 8 units" in panel.bench_picture.alt
    assert "Stopper at 8 units" in panel.bench_picture.svg()
    assert "pull air to 8" in panel.strip.value


def test_undo_and_looking_back(panel):
    panel.do(TakeSyringe("1.0-one"))
    panel.do(PullAir(8))
    assert (panel.replay_step.max, panel.replay_step.value) == (2, 2)
    panel.replay_step.value = 1
    assert "Stopper at 0 units" in panel.bench_picture.alt
    assert "Looking back" in panel._notice.value
    assert len(panel.trace) == 2
    panel.do(PullAir(9))
    assert panel.replay_step.value == 3
    assert "Stopper at 9 units" in panel.bench_picture.alt
    panel.undo.click()
    assert panel.trace.actions == (TakeSyringe("1.0-one"), PullAir(8))
    assert "Stopper at 8 units" in panel.bench_picture.alt
    panel.undo.click()
    panel.undo.click()
    assert len(panel.trace) == 0
    assert panel.undo.disabled


def test_what_cannot_be_done_says_why_and_changes_nothing(panel):
    give = panel.buttons["give"]
    assert give.disabled
    assert "no syringe" in give.tooltip
    before = panel.trace
    panel.do(PullAir(8))
    assert "no syringe" in panel.message
    assert panel.message in panel._notice.value
    assert panel.trace is before
    panel.do("draw")
    assert "is not an action" in panel.message
    panel.do(TakeSyringe("1.0-one"))
    assert panel.message == ""
    panel.do(PullAir(101))
    assert "plunger would come out" in panel.message
    assert len(panel.trace) == 1


def test_a_half_mark_is_typed_and_a_wrong_one_is_refused(panel):
    panel.do(TakeSyringe("0.3-half"))
    panel.mark_box.value = 8.5
    assert panel.mark.value == 8
    press(panel, "pull air")
    assert panel.trace.actions[-1] == PullAir(8.5)
    panel.mark_box.value = -3
    assert panel.buttons["pull air"].disabled
    assert "-3" in panel.buttons["pull air"].tooltip
    panel.buttons["pull air"].click()
    assert "0 or more" in panel.message
    panel.mark_box.value = float("nan")
    assert panel.buttons["pull air"].disabled


def test_label_and_look_say_what_was_seen(panel):
    panel.vial.value = "cloudy"
    press(panel, "read label")
    assert "NPH insulin, 100 units in each mL, expires 2027-01-01, opened 2026-06-14" in panel._notice.value
    assert "Once opened, NPH insulin is kept for 28 days here. Say what you found." in panel._notice.value
    press(panel, "look")
    assert "settled" in panel._notice.value


def test_what_is_really_inside_stays_closed_until_it_is_opened(panel):
    panel.do(TakeSyringe("1.0-one"))
    assert "units of regular" not in panel.bench_picture.alt
    panel.inside.value = True
    assert "1000 units of regular" in panel.bench_picture.alt
    assert "100.0 % of room pressure" in panel.bench_picture.svg()
    panel.inside.value = False
    assert "units of regular" not in panel.bench_picture.svg()


def test_every_step_is_saved_and_played_on(tmp_path):
    file = tmp_path / "run.json"
    panel = draw_up(file=file)
    assert not file.exists()
    panel.do(TakeSyringe("1.0-one"))
    assert len(load_attempt(file).actions) == 1
    panel.do(PullAir(8))
    panel.do(PullAir(2))
    assert load_attempt(file).actions == panel.trace.actions == (TakeSyringe("1.0-one"), PullAir(8))
    again = draw_up(file=file)
    assert again.trace == panel.trace
    assert "Stopper at 8 units" in again.bench_picture.alt
    again.undo.click()
    assert len(load_attempt(file).actions) == 1


def saved(order):
    return json.dumps({"mixlab_attempt": 1, "order": order, "site": "the teaching ward", "vials": {}, "actions": []})


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ('{"mixlab_attempt": 1, "ord', "cut short"),
        (json.dumps({"mixlab_attempt": 99}), "newer mixlab"),
        (saved("insulin"), "cannot be played here"),
        (saved("regular insulin 14 units and NPH insulin 26 units"), "another order"),
    ],
)
def test_a_bad_file_is_said_and_left_as_it_is(tmp_path, text, words):
    file = tmp_path / "run.json"
    file.write_text(text)
    panel = draw_up(file=file)
    assert words in panel.message
    assert len(panel.trace) == 0
    panel.do(TakeSyringe("1.0-one"))
    assert len(panel.trace) == 1
    assert file.read_text() == text


def test_a_folder_that_cannot_be_written_is_said_and_the_step_stands(tmp_path):
    panel = draw_up(file=tmp_path / "nowhere" / "run.json")
    panel.do(TakeSyringe("1.0-one"))
    assert "not saved" in panel.message
    assert len(panel.trace) == 1


def test_an_order_that_cannot_be_prepared_is_said_escaped_and_closes_the_bench():
    panel = draw_up("regular insulin 8 units and <img src=x onerror=alert(1)>")
    assert panel.message
    shown = panel._heading.value + panel._notice.value + panel.strip.value
    assert "<img" not in shown
    assert "&lt;img" in panel._heading.value
    assert panel.bench_picture.stale
    assert all(button.disabled for button in panel.buttons.values())
    panel.do(DrawTo(8))
    panel.finish.click()
    assert len(panel.trace) == 0


def test_a_demonstration_left_by_hand_says_so_and_undo_leads_back():
    panel = draw_up(demonstration=True)
    panel.next.click()
    panel.do(TakeSyringe("10 mL"))
    panel.next.click()
    assert "has been changed" in panel.message
    panel.undo.click()
    panel.next.click()
    assert len(panel.trace) == 2


@pytest.fixture(scope="module")
def demonstration():
    """One panel that is given run after run."""
    return draw_up(demonstration=True)


@pytest.mark.parametrize("name", [RIGHT_RUN, *WRONG_RUNS])
def test_a_demonstration_plays_every_run_and_pauses_just_before_its_fault(demonstration, name):
    demonstration.run_name.value = name.replace("-", " ")
    paused_at = []
    while not demonstration.message:
        demonstration.next.click()
        if PREDICT in demonstration._notice.value:
            paused_at.append(len(demonstration.trace))
    assert "has ended" in demonstration.message
    demonstration.finish.click()
    found = {one.name for one in demonstration.findings}
    assert found - {"wrong-syringe-passed"} == found & {name} or name == "wrong-syringe-passed" in found
    assert bool(found) == (name != RIGHT_RUN)
    assert paused_at == [one.step - 1 for one in demonstration.findings[:1]]
    demonstration.restart.click()
    assert len(demonstration.trace) == 0


def test_a_demonstration_offers_every_run(demonstration):
    runs = [RIGHT_RUN, *(name.replace("-", " ") for name in WRONG_RUNS)]
    assert [value for _, value in demonstration.run_name.options] == runs


def test_a_run_without_room_is_refused_and_the_old_one_stays():
    panel = draw_up("regular insulin 50 units and NPH insulin 50 units", demonstration=True)
    panel.run_name.value = "cloudy overdrawn"
    assert "no room" in panel.message
    assert panel.run_name.value == RIGHT_RUN
    panel.next.click()
    assert len(panel.trace) == 1


def test_a_site_sets_the_rules(tmp_path):
    file = tmp_path / "site.toml"
    file.write_text('name = "the practice ward"\ngloves = "required"\n')
    panel = draw_up(site=load_site(file))
    play(panel, RIGHT)
    panel.finish.click()
    assert [one.name for one in panel.findings] == ["gloves-missing"]
    assert "policy of the practice ward" in panel._review.value


@pytest.mark.parametrize("demonstration", [False, True])
def test_every_control_has_a_name(demonstration):
    panel = draw_up(demonstration=demonstration)
    marked = {name for control in _all(panel) for name in getattr(control, "_dom_classes", ())}
    assert set(panel._frame.names) <= marked
    assert ("mixlab-run" in panel._frame.names) == demonstration


def _all(widget):
    yield widget
    for child in getattr(widget, "children", ()):
        yield from _all(child)


def test_a_run_that_another_bench_saved_meanwhile_is_not_written_over(tmp_path):
    file = tmp_path / "run.json"
    first, second = draw_up(file=file), draw_up(file=file)
    first.do(TakeSyringe("1.0-one"))
    first.do(PullAir(8))
    second.do(TakeSyringe("0.5-one"))
    assert "changed by another bench" in second.message
    assert load_attempt(file).actions == first.trace.actions
    first.do(PullAir(2))
    assert not first.message or "changed" not in first.message
