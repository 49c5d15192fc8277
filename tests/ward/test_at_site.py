"""A function at a site: the one in force where none is given, and always in the words of the site it works at."""

import subprocess
import sys

import pytest

from mixlab.ward.site.at_site import at_its_site
from mixlab.ward.site.in_force import example_sites, site_in_force, use_site
from mixlab.ward.site.record import Site, teaching_site
from mixlab.words import say

TEACHING, HARBOUR, _, HILL, _ = example_sites()


@at_its_site
def asked(what: str, site: Site | None = None) -> tuple[str, str]:
    assert site is not None
    return site.name, say("{regular}: {what}", what=what)


@pytest.fixture(autouse=True)
def _back():
    yield
    use_site(None)


def test_without_a_site_the_one_in_force_is_taken():
    assert asked("a") == (TEACHING.name, "regular insulin: a")
    use_site(HILL)
    assert asked("a") == asked("a", None) == asked("a", site=None) == (HILL.name, "soluble insulin: a")


@pytest.mark.parametrize("call", [lambda: asked("a", HILL), lambda: asked("a", site=HILL)])
def test_a_given_site_speaks_for_itself_and_then_no_longer(call):
    assert call() == (HILL.name, "soluble insulin: a")
    assert say("{regular}") == "regular insulin"
    assert site_in_force() is teaching_site()


def test_a_site_in_force_is_not_what_a_given_site_says():
    use_site(HILL)
    assert asked("a", HARBOUR) == (HARBOUR.name, "regular insulin: a")
    assert say("{regular}") == "soluble insulin"


def test_its_words_end_even_after_an_error():
    @at_its_site
    def fails(site: Site | None = None) -> None:
        raise RuntimeError

    with pytest.raises(RuntimeError):
        fails(HILL)
    assert say("{regular}") == "regular insulin"


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
