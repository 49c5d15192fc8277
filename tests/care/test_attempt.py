"""A saved attempt replays exactly, and a file that does not is named in one sentence."""

import json
import math
from dataclasses import replace

import pytest

from mixlab import read_order
from mixlab.care.bench.bench import run
from mixlab.care.bench.runs import bench_for, right_run
from mixlab.care.bench.saved_attempt import CannotReplay, load_attempt, save_attempt
from mixlab.care.bench.variants import WRONG_RUNS, wrong_run
from mixlab.care.dosing import plan_dose
from mixlab.ward.order.order import UnsafeWriting
from mixlab.ward.site.record import teaching_site

TEXT = "regular insulin 8 units and NPH insulin 20 units"
PLAN = plan_dose(read_order(TEXT))
LOOKS = {"condition": "good", "past_date": False, "sediment_at_stopper": False, "settled": 0}
GOOD = {"insulin": "regular", "strength": 100} | LOOKS
TRACE = run(bench_for(PLAN.order), right_run(PLAN))


def written(**changed):
    """A file of an attempt in which nothing was done, with some parts changed."""
    return json.dumps({"mixlab_attempt": 1, "order": "x", "site": "", "vials": {}, "actions": []} | changed)


def test_an_attempt_replays_to_the_same_states(tmp_path):
    file = tmp_path / "attempt.json"
    for count in (0, 5, len(TRACE)):
        save_attempt(file, TEXT, TRACE.up_to(count))
        assert load_attempt(file).trace() == TRACE.up_to(count)
    assert load_attempt(file).order == TEXT
    assert [one.name for one in tmp_path.iterdir()] == ["attempt.json"]


def test_every_action_survives_the_file(tmp_path):
    file = tmp_path / "attempt.json"
    for name in WRONG_RUNS:
        made = wrong_run(name, PLAN)
        save_attempt(file, TEXT, made.trace())
        attempt = load_attempt(file)
        assert attempt.actions == made.actions
        if made.plan.order == PLAN.order:
            assert attempt.trace() == made.trace()


@pytest.mark.parametrize(
    ("content", "said"),
    [
        ("", "cut short"),
        ('{"mixlab_attempt": 1, "actions": [{"do": "Cle', "cut short"),
        ("[]", "not a saved attempt"),
        ('{"name": "x"}', "not a saved attempt"),
        ('{"mixlab_attempt": 99, "order": "", "site": "", "actions": []}', "newer mixlab"),
        ('{"mixlab_attempt": 1, "site": "", "actions": []}', "has been changed"),
        (written(actions=[{"do": "Fly"}]), "action 1 is not one"),
        (written(actions=[{"do": "DrawTo", "to": -4}]), "action 1 is not one"),
        (written(actions=[{"do": "DrawTo", "by": 4}]), "action 1 is not one"),
        (written(actions=[7]), "action 1 is not one"),
        (written(actions=[{"do": ["DrawTo"]}]), "action 1 is not"),
        (written(vials={"clear": {}}), "clear vial is not"),
        (written(vials={"clear": {"insulin": ["nph"]}}), "vial is"),
        (written(vials={"order": GOOD}), "order vial is not"),
        (written(vials={"clear": GOOD | {"condition": "fizzy"}}), "clear vial is not"),
        (written(actions=[{"do": "LayDown", "minutes": 10**400}]), "action 1 is not"),
        (written(actions=[{"do": "LayDown", "minutes": 1e300}]), "action 1 is not"),
        ('{"mixlab_attempt": true}', "not a saved attempt"),
        ('{"mixlab_attempt": 0}', "not a saved attempt"),
        ("[" * 5000, "too deep inside each other"),
        ('{"mixlab_attempt": 1, "site": "", "site": "x"}', "site stands in it twice"),
        (written(actions=[{"do": "LayDown", "minutes": math.nan}]), "a number in it cannot be read"),
        ("a\0b", "is not text"),
        ("#" * 1_000_001, "no saved attempt needs more than 1 MB"),
    ],
)
def test_a_bad_file_is_named_in_one_sentence(tmp_path, content, said):
    file = tmp_path / "attempt.json"
    file.write_text(content)
    with pytest.raises(CannotReplay, match=said) as caught:
        load_attempt(file)
    assert "\n" not in str(caught.value)
    assert file.read_text() == content


def test_a_missing_file_is_named(tmp_path):
    with pytest.raises(CannotReplay, match=r"^attempt\.json: there is no such file in .*\. Correct its name\.$"):
        load_attempt(tmp_path / "attempt.json")


def test_an_attempt_of_another_ward_is_not_judged_by_this_one(tmp_path):
    file = tmp_path / "attempt.json"
    save_attempt(file, TEXT, TRACE, replace(teaching_site(), name="the practice ward"))
    with pytest.raises(CannotReplay, match="made on the practice ward, and this is the teaching ward"):
        load_attempt(file).trace()


def test_an_attempt_that_cannot_be_played_says_where(tmp_path):
    file = tmp_path / "attempt.json"
    save_attempt(file, TEXT, TRACE)
    content = json.loads(file.read_text())
    content["actions"] = [one for one in content["actions"] if one["do"] != "TakeSyringe"]
    file.write_text(json.dumps(content))
    with pytest.raises(CannotReplay, match="no syringe in your hand"):
        load_attempt(file).trace()
    content["order"] = "regular insulin 8U"
    file.write_text(json.dumps(content))
    with pytest.raises(CannotReplay, match="cannot be played here") as refused:
        load_attempt(file).trace()
    with pytest.raises(UnsafeWriting) as unread:
        read_order("regular insulin 8U")
    assert dict(refused.value.reason.values) == {"reason": unread.value.args[0]}
