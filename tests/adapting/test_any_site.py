"""Any site file that is accepted can be compared, opened at the desk, looked at panel by panel, and taught."""

import tempfile
from pathlib import Path

import pytest
from any_site import sites
from hypothesis import HealthCheck, example, given, settings

from mixlab.adapting.cohort.prose import speak_notebook
from mixlab.adapting.compare.comparison import compare_sites
from mixlab.adapting.compare.outputs import everything, output_kinds
from mixlab.adapting.compare.signed_page import ROOM
from mixlab.adapting.site_desk import CHANGES, DESK_VIEWS, adapt_site
from mixlab.launch.course import find_course
from mixlab.ward.site.in_force import load_site
from mixlab.ward.site.record import teaching_site
from mixlab.ward.site.writing import site_text

TEACHING = teaching_site()
NOTEBOOKS = [path.read_bytes() for path in sorted(find_course().glob("*.ipynb"))]
BREAKFAST, SUPPER = (
    '[[meals]]\nname = "{}"\nat = "{}"\n'.format(*meal) for meal in (("breakfast", "07:15"), ("supper", "19:00"))
)


def of_text(text):
    """Return the site of a file with this text."""
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "site.toml"
        file.write_text(text, encoding="utf-8")
        return load_site(file)


EARLY, LATE, APART = (
    of_text(f'name = "the early ward"\n{BREAKFAST}'),
    of_text(f'name = "the late ward"\n{SUPPER}'),
    of_text('name = "the ward apart"\nnever_mix = ["regular + nph"]\n'),
)


def can_be_compared(site):
    there, back = compare_sites(TEACHING, site), compare_sites(site, TEACHING)
    for one, other in zip(there.kinds, back.kinds, strict=True):
        assert (one.count, one.same, one.same_sha256) == (other.count, other.same, other.same_sha256)
    for comparison in (there, back):
        lines = comparison.report()
        assert "Read and compared" in lines[-1]
        assert len(lines) <= ROOM + len(comparison.keys)
        assert "sentence(" not in "\n".join((*lines, *comparison.everything()))
        assert ": ;" not in "\n".join(lines)
    assert all(everything(kind, site) for kind in output_kinds())


def can_be_opened_at_the_desk(site):
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "site.toml"
        file.write_text(site_text(site), encoding="utf-8")
        desk = adapt_site(file)
        assert not desk.faults, desk.faults
        assert desk.site.meals == site.meals
        assert "nothing is wrong" in desk.verdict.value
        assert "Read and compared" in desk.result.value
        for view in DESK_VIEWS[1:]:
            desk.shown.value = view
            shown = len(desk.preview.children)
            assert (shown, "cannot be shown" in desk.result.value) in ((1, False), (0, True)), view
        desk.shown.value = CHANGES
        assert "Read and compared" in desk.result.value


def can_be_taught(site):
    for notebook in NOTEBOOKS:
        assert speak_notebook(notebook, site)


@example(EARLY)
@example(LATE)
@example(APART)
@settings(max_examples=2, derandomize=True, deadline=None, suppress_health_check=list(HealthCheck))
@given(sites())
def test_any_accepted_site_can_be_compared_opened_and_taught(site):
    can_be_compared(site)
    can_be_opened_at_the_desk(site)
    can_be_taught(site)


@pytest.mark.long
@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
@given(sites())
def test_many_accepted_sites_can_be_compared_opened_and_taught(site):
    can_be_compared(site)
    can_be_opened_at_the_desk(site)
    can_be_taught(site)


@pytest.mark.parametrize("site", [EARLY, LATE], ids=lambda site: site.name)
def test_the_days_follow_the_meals_of_the_ward(site):
    (kind,) = (kind for kind in output_kinds() if kind.name == "times of the day")
    names = [str(name) for name in everything(kind, site)]
    assert not any("refused" in name for name in names)
    meal = site.meals[0]
    served = {
        str(value) for name, value in everything(kind, site).items() if str(name).startswith(f"{meal.name} served")
    }
    assert meal.at in {time[:5] for time in served}
