"""A function at a site: the one that is given, or the one in force where none is; whose words are said is no matter of it."""

import subprocess
import sys

import pytest

from mixlab.ward.site.at_site import at_its_site
from mixlab.ward.site.in_force import example_sites, use_site
from mixlab.ward.site.record import Site, teaching_site
from mixlab.words import Sentence, sentence, speaking

TEACHING, HARBOUR, _, HILL, _ = example_sites()


@at_its_site
def asked(what: str, site: Site | None = None) -> tuple[str, Sentence]:
    assert site is not None
    return site.name, sentence("{regular}: {what}", what=what)


@pytest.fixture(autouse=True)
def _back():
    yield
    use_site(None)


def test_without_a_site_the_one_in_force_is_taken():
    assert asked("a")[0] == TEACHING.name == teaching_site().name
    use_site(HILL)
    assert asked("a") == asked("a", None) == asked("a", site=None)
    assert asked("a")[0] == HILL.name


@pytest.mark.parametrize("call", [lambda: asked("a", HARBOUR), lambda: asked("a", site=HARBOUR)])
def test_a_given_site_goes_before_the_one_in_force(call):
    use_site(HILL)
    assert call()[0] == HARBOUR.name


def test_what_is_meant_is_the_same_everywhere_and_is_said_by_whoever_speaks():
    (_, here), (_, there) = asked("a", TEACHING), asked("a", HILL)
    assert here == there
    assert str(there) == "regular insulin: a"
    with speaking(HILL.voice):
        assert str(here) == "soluble insulin: a"


def test_the_first_sentence_of_all_is_already_said_as_the_folder_s_site_says_it(tmp_path):
    (tmp_path / "site.toml").write_text('name = "ward 3"\n[terms]\nregular = "soluble insulin"\n', encoding="utf-8")
    call = "from mixlab.ward.insulin import insulins; print(insulins()['regular'].name)"
    done = subprocess.run([sys.executable, "-c", call], cwd=tmp_path, capture_output=True, text=True, check=False)
    assert done.stdout == "soluble insulin\n", done.stderr


def test_a_faulty_site_file_leaves_words_plain_and_is_told_by_what_needs_the_site(tmp_path):
    (tmp_path / "site.toml").write_text("waiting = 600\n", encoding="utf-8")
    call = (
        "from mixlab.ward.site.in_force import SiteError\nfrom mixlab import read_order, plan_dose\n"
        "order = read_order('regular insulin 8 units and NPH insulin 20 units subcut before breakfast')\n"
        "try: plan_dose(order)\nexcept SiteError as why: print(len(why.faults))"
    )
    done = subprocess.run([sys.executable, "-c", call], cwd=tmp_path, capture_output=True, text=True, check=False)
    assert done.stdout == "2\n", done.stderr
