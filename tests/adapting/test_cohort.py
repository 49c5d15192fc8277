"""Cohort copies: whole or not at all, never over anything, and a stamp that tells what changed since.

The digests are compared with those of the `sha256sum` program (FIPS 180-4) where it is installed.
"""

import errno
import json
import os
import shutil
import subprocess
import tomllib
from concurrent.futures import ThreadPoolExecutor
from datetime import date
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from mixlab.adapting.cohort import copies as cohort_module
from mixlab.adapting.cohort.changed_since import CohortError, cohort_stamp
from mixlab.adapting.cohort.copies import cohort_copy
from mixlab.launch.course import COHORT_FILE, FIRST_NOTEBOOK, find_course
from mixlab.ward.site import in_force as site_module
from mixlab.ward.site.faults import SiteError
from mixlab.ward.site.in_force import SITE_FILE, load_site, site_in_force, use_site
from mixlab.ward.site.record import teaching_site
from mixlab.words import Voice, speak_by_default

COURSE = find_course()
SITES = Path(site_module.__file__).parent / "worked"
HILL = SITES / "3-hill.toml"
READ_ONLY = Path("/sys", "kernel")


@pytest.fixture(autouse=True)
def at_home(tmp_path, monkeypatch):
    """Work in a folder without a site file, and leave nobody's words behind."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("MIXLAB_SITE", raising=False)
    monkeypatch.setattr(site_module, "_in_force", None)
    yield
    speak_by_default(Voice())


def everything(folder):
    return {
        path.relative_to(folder).as_posix(): path.read_bytes() if path.is_file() else None for path in folder.rglob("*")
    }


def refused(*words, **named):
    with pytest.raises(CohortError) as why:
        cohort_copy(*words, **named)
    said = str(why.value)
    assert "\n" not in said
    assert said.endswith(".")
    return said


# What is made


def test_a_copy_holds_the_notebooks_the_site_file_and_the_stamp(tmp_path):
    made = cohort_copy("Autumn 2026, group B", HILL)
    assert made.folder == tmp_path / "autumn-2026-group-b"
    notebooks = {path.name for path in COURSE.glob("*.ipynb")}
    assert set(everything(made.folder)) == notebooks | {SITE_FILE, COHORT_FILE}
    assert (made.folder / SITE_FILE).read_bytes() == HILL.read_bytes()
    assert made.site == load_site(HILL)
    assert [path.name for path in tmp_path.iterdir()] == [made.folder.name]
    assert str(made.folder) in repr(made)
    assert "the hill ward" in repr(made)


def test_its_notebooks_are_in_the_words_of_its_site():
    made = cohort_copy("b", HILL)
    spoken = json.loads((made.folder / FIRST_NOTEBOOK).read_bytes())
    written = json.loads((COURSE / FIRST_NOTEBOOK).read_bytes())
    text = "".join("".join(cell["source"]) for cell in spoken["cells"] if cell["cell_type"] == "markdown")
    assert "Soluble insulin is clear, isophane is cloudy" in text
    code = [cell for cell in spoken["cells"] if cell["cell_type"] == "code"]
    assert code == [cell for cell in written["cells"] if cell["cell_type"] == "code"]


def test_the_teaching_site_is_copied_byte_for_byte_with_a_file_of_its_values():
    made = cohort_copy("the teaching site")
    for original in COURSE.glob("*.ipynb"):
        assert (made.folder / original.name).read_bytes() == original.read_bytes()
    assert made.site.hold_text == teaching_site().hold_text
    assert load_site(made.folder / SITE_FILE) == made.site


def test_without_a_file_the_site_in_force_is_written_down():
    use_site(HILL)
    made = cohort_copy("as in force")
    assert made.site.name == "the hill ward"
    assert made.site.terms == load_site(HILL).terms
    assert "Soluble insulin" in (made.folder / FIRST_NOTEBOOK).read_text(encoding="utf-8")


def test_the_site_in_force_stays_in_force():
    before = use_site(SITES / "1-harbour.toml")
    cohort_copy("hill", HILL)
    assert site_in_force() is before


def test_whoever_opens_the_folder_follows_its_site(monkeypatch):
    made = cohort_copy("opened", HILL)
    monkeypatch.chdir(made.folder)
    assert use_site(None).name == "the hill ward"


def test_a_second_cohort_leaves_the_first_as_it_was():
    first = cohort_copy("first", HILL)
    before = everything(first.folder)
    cohort_copy("second", SITES / "1-harbour.toml")
    assert everything(first.folder) == before


def test_copies_made_inside_the_course_are_not_copied_on(tmp_path, monkeypatch):
    course = tmp_path / "course"
    shutil.copytree(COURSE, course, ignore=shutil.ignore_patterns(".*"))
    (course / SITE_FILE).write_text('name = "the fork\'s ward"\n', encoding="utf-8")
    monkeypatch.setattr(cohort_module, "find_course", lambda: course)
    cohort_copy("one", HILL, folder=course)
    two = cohort_copy("two", HILL, folder=course)
    assert [path.name for path in two.folder.iterdir() if path.is_dir()] == []
    assert (two.folder / SITE_FILE).read_bytes() == HILL.read_bytes()  # not the fork's own


def test_data_beside_the_notebooks_goes_along(tmp_path, monkeypatch):
    course = tmp_path / "course"
    (course / "data").mkdir(parents=True)
    shutil.copy(COURSE / FIRST_NOTEBOOK, course)
    (course / "data" / "orders.csv").write_bytes(b"regular insulin,NPH\r\n")
    monkeypatch.setattr(cohort_module, "find_course", lambda: course)
    made = cohort_copy("with data", HILL)
    assert (made.folder / "data" / "orders.csv").read_bytes() == b"regular insulin,NPH\r\n"
    assert "data/orders.csv" in made.stamp.files


@pytest.mark.parametrize(
    ("name", "folder"),
    [
        ("Autumn 2026", "autumn-2026"),
        ("  Group (A) & B!  ", "group-a-b"),
        ("Été à Zürich", "été-à-zürich"),
        ("Cafe\u0301", "café"),
        ("हिन्दी", "हिन्दी"),
        ("x" * 60, "x" * 60),
        ("v1.2", "v1-2"),
    ],
)
def test_the_folder_is_named_after_the_cohort(name, folder):
    assert cohort_copy(name).folder.name == folder


# What is refused


@pytest.mark.parametrize(
    ("name", "reason"),
    [
        ("", "needs a name"),
        ("   ", "needs a name"),
        (None, "needs a name"),
        (2026, "needs a name"),
        ("..", "no path"),
        (".", "no path"),
        (".hidden", "no path"),
        ("a/b", "no path"),
        ("/etc", "no path"),
        ("a\\b", "no path"),
        ("a\nb", "no path"),
        ("a\x00b", "no path"),
        ("a\u202eb", "no path"),
        ("x" * 61, "61 letters: 60 are allowed"),
        ("!!!", "neither letters nor digits"),
        ("Con", "no folder named con"),
        ("lpt1", "no folder named lpt1"),
    ],
)
def test_a_name_that_cannot_be_a_folder_is_refused(name, reason, tmp_path):
    assert reason in refused(name)
    assert everything(tmp_path) == {}


@pytest.mark.parametrize("there", ["full", "empty", "file", "dead link"])
def test_what_is_there_is_refused_and_untouched(there, tmp_path):
    taken = tmp_path / "group-a"
    if there == "file":
        taken.write_bytes(b"mine")
    elif there == "dead link":
        taken.symlink_to(tmp_path / "nowhere")
    else:
        taken.mkdir()
        if there == "full":
            (taken / FIRST_NOTEBOOK).write_bytes(b"mine")
    before = everything(tmp_path)
    said = refused("Group A!")
    assert "group-a" in said
    assert "give this cohort another name" in said
    assert everything(tmp_path) == before
    assert not (tmp_path / "nowhere").exists()


def test_two_copies_at_once_leave_one_whole_folder(tmp_path):
    def copy(_):
        try:
            return cohort_copy("at once", HILL)
        except CohortError as why:
            return str(why)

    with ThreadPoolExecutor(4) as pool:
        results = list(pool.map(copy, range(4)))
    assert sum(not isinstance(result, str) for result in results) == 1
    assert all("another name" in result for result in results if isinstance(result, str))
    assert [path.name for path in tmp_path.iterdir()] == ["at-once"]
    assert cohort_stamp(tmp_path / "at-once").is_as_stamped


def test_a_faulty_site_file_is_refused_with_all_its_faults_and_the_old_site_stays(tmp_path):
    before = use_site(HILL)
    faulty = tmp_path / "ours.toml"
    faulty.write_text('name = "our ward"\ngloves = "maybe"\nno_such_key = 3\n', encoding="utf-8")
    with pytest.raises(SiteError) as faults:
        cohort_copy("ours", faulty)
    assert len(str(faults.value).splitlines()) == 2
    assert "ours.toml" in str(faults.value)
    assert everything(tmp_path) == {"ours.toml": faulty.read_bytes()}
    assert site_in_force() is before


@pytest.mark.parametrize("bad", ["missing.toml", "."])
def test_a_site_file_that_is_none_is_refused(bad, tmp_path):
    with pytest.raises(SiteError):
        cohort_copy("ours", tmp_path / bad)
    assert everything(tmp_path) == {}


def test_a_place_that_is_no_folder_is_refused(tmp_path):
    (tmp_path / "file").write_bytes(b"mine")
    assert "is a file, not a folder" in refused("a", folder=tmp_path / "file")
    assert "There is no folder" in refused("a", folder=tmp_path / "nowhere")
    assert everything(tmp_path) == {"file": b"mine"}


@pytest.mark.skipif(not READ_ONLY.is_dir(), reason="needs a folder that even the root user cannot write to")
def test_a_read_only_folder_is_refused():
    said = refused("a", folder=READ_ONLY)
    assert f"No copy was made in {READ_ONLY} (" in said
    assert "name a folder that you may write to" in said


def test_a_disk_that_fills_up_leaves_nothing(tmp_path, monkeypatch):
    def fails(*_):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "fsync", fails)
    assert "there is no room for it on this disk" in refused("a", HILL)
    assert everything(tmp_path) == {}


def test_an_installation_without_its_own_notebooks_is_told(tmp_path, monkeypatch):
    course = tmp_path / "course"
    course.mkdir()
    monkeypatch.setattr(cohort_module, "find_course", lambda: course)
    assert "install mixlab again" in refused("a")
    (course / FIRST_NOTEBOOK).write_text("{}", encoding="utf-8")
    assert "00_start_here.ipynb is damaged" in refused("a")
    (course / COHORT_FILE).touch()
    assert "a cohort's copy themselves" in refused("a")
    assert [path.name for path in tmp_path.iterdir()] == ["course"]


# The stamp


def test_the_stamp_tells_what_was_copied(tmp_path):
    made = cohort_copy('Group "A" 2', HILL)
    raw = tomllib.loads((made.folder / COHORT_FILE).read_text(encoding="utf-8"))
    assert raw["cohort"] == 'Group "A" 2'
    assert raw["site"] == "the hill ward"
    assert raw["written"] == date.today()
    assert set(raw["files"]) == set(everything(made.folder)) - {COHORT_FILE}
    stamped = cohort_stamp(made.folder)
    assert stamped.stamp == made.stamp
    assert stamped.is_as_stamped
    assert str(stamped).endswith("All files read as they were made.")


@pytest.mark.skipif(not shutil.which("sha256sum"), reason="needs the sha256sum program")
def test_its_digests_are_those_of_the_usual_program():
    made = cohort_copy("digests", HILL)
    listed = subprocess.run(
        ["sha256sum", *made.stamp.files], cwd=made.folder, capture_output=True, text=True, check=True
    ).stdout
    assert dict(reversed(line.split("  ", 1)) for line in listed.splitlines()) == made.stamp.files


def test_it_names_what_was_changed_run_or_lost_since():
    made = cohort_copy("since", HILL)
    ran, edited, lost = sorted(made.folder.glob("*.ipynb"))[:3]
    notebook = json.loads(ran.read_bytes())
    for cell in notebook["cells"]:
        if cell["cell_type"] == "code":
            cell["outputs"] = [{"output_type": "stream", "name": "stdout", "text": "8 units"}]
            cell["execution_count"] = 1
    ran.write_text(json.dumps(notebook), encoding="utf-8")
    edited.write_bytes(edited.read_bytes().replace(b"About 30 minutes", b"About 20 minutes"))
    lost.unlink()
    stamped = cohort_stamp(made.folder)
    assert (stamped.changed, stamped.missing) == ((edited.name,), (lost.name,))
    assert not stamped.is_as_stamped
    assert f"Changed since: {edited.name}." in str(stamped)
    assert f"Missing: {lost.name}." in str(stamped)
    assert ran.name not in str(stamped)

    edited.write_bytes(b"no notebook any more")
    (made.folder / SITE_FILE).write_bytes(HILL.read_bytes() + b"# a remark\n")
    assert cohort_stamp(made.folder).changed == (edited.name, SITE_FILE)


def test_a_folder_without_a_stamp_is_told(tmp_path):
    for folder in (tmp_path, tmp_path / "nowhere"):
        with pytest.raises(CohortError, match="is not a cohort's folder"):
            cohort_stamp(folder)


STAMP = 'cohort = "a"\nmixlab = "1"\nsite = "s"\nwritten = 2026-11-26\n[files]\n"x.ipynb" = "0"\n[texts]\n'


def test_a_stamp_of_this_form_is_read(tmp_path):
    (tmp_path / COHORT_FILE).write_text(STAMP, encoding="utf-8")
    assert cohort_stamp(tmp_path).missing == ("x.ipynb",)


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"\x00\xff",
        STAMP.encode("utf-16"),
        STAMP.replace('"a"', "3").encode(),
        STAMP.replace('"0"', "0").encode(),
        STAMP.replace("2026-11-26", "2026-11-26T10:00:00").encode(),
        STAMP.replace("2026-11-26", '"today"').encode(),
        STAMP.replace("[texts]\n", "").encode(),
        STAMP.replace('"x.ipynb" = "0"', "").encode(),
        STAMP.replace("[files]", "[[files]]").encode(),
        STAMP.replace("x.ipynb", "../x.ipynb").encode(),
        STAMP.replace("x.ipynb", "/etc/passwd").encode(),
        b"x = " + b"[" * 100_000,
        STAMP.encode() + b"#" * 1_000_001,
    ],
    ids=range(14),
)
def test_a_damaged_stamp_is_told_in_a_sentence(content, tmp_path):
    (tmp_path / COHORT_FILE).write_bytes(content)
    with pytest.raises(CohortError, match=r"cannot be read any more: make a new copy under another name\.$"):
        cohort_stamp(tmp_path)


@given(content=st.binary(max_size=300))
@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_garbage_never_raises_anything_else(content, tmp_path):
    (tmp_path / COHORT_FILE).write_bytes(content)
    with pytest.raises(CohortError):
        cohort_stamp(tmp_path)
