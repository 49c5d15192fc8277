"""The desk: the team's file is saved as typed, checked whole, compared, looked at panel by panel, and copied for a cohort."""

import subprocess
import sys
from dataclasses import replace

import pytest

from mixlab.adapting import catalogue
from mixlab.adapting import site_desk as desks
from mixlab.adapting.site_desk import PREVIEWS, adapt_site
from mixlab.panels import when_it_acts
from mixlab.ward.site.in_force import example_sites, load_site, site_in_force
from mixlab.ward.site.record import teaching_site

pytestmark = pytest.mark.usefixtures("closing_panels")

TEACHING, HARBOUR, _, HILL, _ = example_sites()


@pytest.fixture
def desk(tmp_path):
    return adapt_site(tmp_path / "my_site.toml", replace(TEACHING, name="the lake ward"))


def edit(desk, old, new):
    assert old in desk.text.value
    desk.text.value = desk.text.value.replace(old, new, 1)
    desk.check.click()


def every_text(panel):
    """Return all that a panel says: its HTML, its controls' words and its pictures' twins."""
    said, waiting = [], [panel]
    while waiting:
        one = waiting.pop()
        waiting += getattr(one, "children", ())
        said += [str(getattr(one, name, "")) for name in ("value", "description", "alt", "options", "names")]
    return " ".join(said)


def test_without_a_file_the_desk_has_every_key_changes_nothing_and_writes_nothing_by_itself(tmp_path):
    desk = adapt_site(tmp_path / "my_site.toml")
    assert not desk.file.exists()
    assert "is new" in desk.verdict.value
    desk.check.click()
    assert desk.file.read_text(encoding="utf-8") == desk.text.value
    assert "waiting = 15" in desk.text.value
    assert not desk.comparison.differing
    assert "nothing is wrong" in desk.verdict.value
    assert "Nothing: the two sites are the same" in desk.result.value


def test_a_file_that_is_there_is_read_and_left_as_it_is(tmp_path):
    file = tmp_path / "ours.toml"
    file.write_text('name = "the lake ward"\nwaiting = 10\n', encoding="utf-8")
    desk = adapt_site(file)
    assert desk.site.name == "the lake ward"
    assert file.read_text(encoding="utf-8") == 'name = "the lake ward"\nwaiting = 10\n' == desk.text.value


def test_a_new_file_can_begin_as_another_ward(tmp_path):
    assert adapt_site(tmp_path / "ours.toml", HILL).site.hold_line.value == HILL.hold_line.value


def test_one_change_is_saved_checked_and_compared(desk):
    edit(desk, "waiting = 15", "waiting = 10")
    assert desk.site.waiting.value == 10
    assert load_site(desk.file).waiting.value == 10
    assert [change.key.name for change in desk.comparison.keys] == ["name", "waiting"]
    assert "10" in desk.result.value
    assert not desk.faults
    assert site_in_force() is teaching_site()


def test_every_fault_is_said_and_the_last_good_site_stays(desk):
    edit(desk, "waiting = 15", "waiting = 10")
    before = desk.result.value
    edit(desk, "waiting = 10", "waitng = 10\nwaiting = 240")
    assert {fault.key for fault in desk.faults} == {"waitng", "waiting"}
    assert "2 things to put right" in desk.verdict.value
    assert "nearest known one is waiting" in desk.verdict.value
    assert desk.site.waiting.value == 10
    assert desk.result.value == before
    assert "stands as you typed it" in desk.verdict.value
    assert "waitng = 10" in desk.file.read_text(encoding="utf-8")
    edit(desk, "waitng = 10\nwaiting = 240", "waiting = 12")
    assert not desk.faults
    assert desk.site.waiting.value == 12


def test_what_is_typed_stays_text(desk):
    edit(desk, 'gloves = "not required"', 'gloves = "<b>no</b>"')
    assert "<b>no</b>" not in desk.verdict.value
    assert "&lt;b&gt;no" in desk.verdict.value


def test_a_file_that_cannot_be_saved_is_said_and_the_text_stays(desk):
    desk.file.mkdir()
    desk.text.value += "# ours\n"
    desk.check.click()
    assert "cannot be saved" in desk.verdict.value
    assert desk.text.value.endswith("# ours\n")


def test_a_file_that_cannot_be_read_is_never_written_over(tmp_path):
    file = tmp_path / "ours.toml"
    content = 'name = "the lake ward"'.encode("utf-16")
    file.write_bytes(content)
    desk = adapt_site(file)
    assert "UTF-8" in desk.verdict.value
    desk.text.value = 'name = "another"'
    desk.check.click()
    assert file.read_bytes() == content
    assert "UTF-8" in desk.verdict.value


def test_a_text_that_no_file_can_hold_leaves_the_file_as_it_was(desk):
    desk.check.click()
    before = desk.file.read_bytes()
    desk.text.value += "# \ud800"
    desk.check.click()
    assert "cannot be saved" in desk.verdict.value
    assert desk.file.read_bytes() == before


def test_what_a_colleague_saved_meanwhile_is_not_written_over(desk):
    desk.check.click()
    desk.file.write_text('name = "a colleague\'s"\n', encoding="utf-8")
    edit(desk, "waiting = 15", "waiting = 10")
    assert "changed by somebody else" in desk.verdict.value
    assert desk.file.read_text(encoding="utf-8") == 'name = "a colleague\'s"\n'
    desk.cohort.value = "autumn"
    desk.make.click()
    assert "Save and check" in desk.told.value  # no cohort is taught by a file that nobody looked at here
    assert desk.made is None


def test_a_file_s_name_is_shown_as_text(tmp_path):
    desk = adapt_site(tmp_path / "a<img src=x>.toml")
    desk.file.mkdir()
    desk.check.click()
    assert "<img" not in desk.verdict.value


def test_a_desk_opens_over_a_faulty_file_in_the_folder_it_works_in(tmp_path):
    (tmp_path / "site.toml").write_text("waiting = 600\n", encoding="utf-8")
    call = "from mixlab import adapt_site; desk = adapt_site('site.toml'); assert len(desk.faults) == 2; print('open')"
    done = subprocess.run([sys.executable, "-c", call], cwd=tmp_path, capture_output=True, text=True, check=False)
    assert done.stdout == "open\n", done.stderr


def test_another_site_can_be_compared_with(desk):
    desk.against.value = HARBOUR.name
    assert desk.comparison.before == HARBOUR
    assert HARBOUR.name in desk.result.value


@pytest.fixture(scope="module")
def renamed(tmp_path_factory):
    """A desk whose site has another word for an insulin, for tests that only look at it."""
    desk = adapt_site(tmp_path_factory.mktemp("renamed") / "my_site.toml", replace(TEACHING, name="the lake ward"))
    edit(desk, 'regular = "regular insulin"', 'regular = "soluble insulin"')
    return desk


@pytest.mark.parametrize("name", PREVIEWS)
def test_each_panel_can_be_looked_at_as_the_site_has_it(renamed, name):
    renamed.shown.value = name
    (panel,) = renamed.preview.children
    assert renamed.preview.layout.display != "none"
    assert "soluble insulin" in every_text(panel)


def test_a_panel_is_gone_once_the_changes_are_looked_at_again(renamed):
    renamed.shown.value = next(iter(PREVIEWS))
    renamed.shown.value = desks.CHANGES
    assert not renamed.preview.children
    assert renamed.preview.layout.display == "none"


def test_a_cohort_s_folder_is_made_from_the_checked_file(desk):
    edit(desk, "waiting = 15", "waiting = 10")
    desk.cohort.value = "autumn, group B"
    desk.make.click()
    assert desk.made is not None
    assert (desk.made.folder / "site.toml").read_bytes() == desk.file.read_bytes()
    assert desk.made.folder.name in desk.told.value
    desk.make.click()
    assert "stands in" in desk.told.value


def test_no_folder_is_made_before_the_file_is_kept(desk):
    desk.cohort.value = "autumn"
    desk.make.click()
    assert "Save and check" in desk.told.value
    assert desk.made is None


def test_no_folder_is_made_while_the_file_is_faulty_or_the_cohort_has_no_name(desk):
    desk.check.click()
    desk.make.click()
    assert "needs a name" in desk.told.value
    edit(desk, "waiting = 15", "waiting = 600")
    desk.cohort.value = "autumn"
    desk.make.click()
    assert "Put right what is wrong" in desk.told.value
    assert desk.made is None
    assert {path.name for path in desk.file.parent.iterdir()} == {"my_site.toml"}


def test_a_text_that_was_changed_but_not_saved_makes_no_folder(desk):
    desk.text.value = desk.text.value.replace("waiting = 15", "waiting = 10")
    desk.cohort.value = "autumn"
    desk.make.click()
    assert "Save and check" in desk.told.value
    assert desk.made is None


def test_a_comparison_that_fails_leaves_neither_the_old_one_nor_good_news(desk, monkeypatch):
    edit(desk, "waiting = 15", "waiting = 10")
    assert "nothing is wrong" in desk.verdict.value

    def fails(before, after):
        raise RuntimeError("a fault of mixlab")

    monkeypatch.setattr(desks, "compared", fails)
    edit(desk, "waiting = 10", "waiting = 12")  # the button's fault is told in the lab's log
    assert desk.result.value == ""
    assert "nothing is wrong" not in desk.verdict.value
    assert "cannot be shown" in desk.verdict.value


def test_a_panel_that_the_ward_forbids_is_refused_in_its_place(desk):
    drawn = next(name for name, make in PREVIEWS.items() if make is when_it_acts)
    desk.shown.value = drawn
    assert desk.preview.children
    edit(desk, "never_mix = []", 'never_mix = ["regular + nph"]')
    assert "nothing is wrong" in desk.verdict.value
    assert bool(desk.preview.children) != ("are not mixed at the lake ward" in desk.result.value)
    desk.shown.value = desks.CHANGES
    assert "regular insulin with NPH insulin" in desk.result.value


def test_a_half_translated_language_is_said_and_refused_for_a_cohort(desk, monkeypatch):
    monkeypatch.setattr(catalogue, "lacking_sentences", lambda language: 3)
    desk.check.click()
    said = "3 sentences have no words in en-US yet and stay in English."
    assert said in desk.verdict.value
    desk.cohort.value = "autumn"
    desk.make.click()
    assert desk.made is None
    assert f"No copy was made: {said}" in desk.told.value
    assert {path.name for path in desk.file.parent.iterdir()} == {"my_site.toml"}


def test_what_is_only_tried_is_neither_saved_nor_copied(desk):
    desk.press("Save and check")
    kept = desk.file.read_bytes()
    with desk.trying(text='name = "tried"\n', cohort="autumn"):
        desk.press("Save and check")
        assert "only tried" in desk.verdict.value
        desk.press("Make this cohort's folder")
        assert "only tried" in desk.told.value
    assert desk.file.read_bytes() == kept
    assert [path.name for path in desk.file.parent.iterdir()] == [desk.file.name]
    desk.press("Save and check")
    assert "somebody else" not in desk.verdict.value
