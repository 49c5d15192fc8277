"""The marked places of the notebooks: known names, the teaching values as written, and another site's values instead."""

import json
import re
from dataclasses import replace
from pathlib import Path

import pytest

from mixlab import Observation, day_plan, decide, plan_dose, read_order
from mixlab.adapting.cohort.marked_places import MARKED_PLACE, MARKED_PLACES, UnknownPlace, fill_places
from mixlab.adapting.cohort.prose import speak_notebook, speak_prose
from mixlab.quantities import Glucose
from mixlab.ward.meal import Meal
from mixlab.ward.site.in_force import example_sites
from mixlab.ward.site.record import teaching_site
from mixlab.ward.syringe import syringes

NOTEBOOKS = sorted((Path(__file__).parents[2] / "notebooks").glob("*.ipynb"))
TEACHING, HARBOUR, GARDEN, HILL, ORCHARD = example_sites()
MIXED = "regular insulin 8 units and NPH insulin 20 units subcut 30 minutes before breakfast"


def prose(content: bytes) -> list[str]:
    return ["".join(cell["source"]) for cell in json.loads(content)["cells"] if cell["cell_type"] == "markdown"]


def places(path):
    return [place for text in prose(path.read_bytes()) for place in MARKED_PLACE.finditer(text)]


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
class TestEveryNotebook:
    def test_every_place_has_a_known_name_and_reads_as_on_the_teaching_site(self, path):
        offenders = [
            (place["name"], place["said"])
            for place in places(path)
            if place["name"] not in MARKED_PLACES or MARKED_PLACES[place["name"]](TEACHING) != place["said"]
        ]
        assert offenders == []

    def test_every_mark_is_closed_and_none_lies_in_another(self, path):
        text = "\n".join(prose(path.read_bytes()))
        assert text.count("<!--") == 2 * len(places(path))
        assert not any("<!--" in place["said"] for place in places(path))

    def test_no_mark_begins_a_line(self, path):
        """A line that begins with a comment is HTML as a whole (CommonMark 0.31, 4.6): its stars would be shown as stars."""
        text = "\n\n".join(prose(path.read_bytes()))
        assert re.findall(r"^[\s>]*(?:[-*+]|\d+[.)])?\s*<!--.*$", text, re.MULTILINE) == []

    @pytest.mark.parametrize("site", example_sites()[1:], ids=lambda site: site.name)
    def test_another_sites_values_stand_in_the_same_places_and_can_be_taken_back(self, path, site):
        written = prose(path.read_bytes())
        filled = [fill_places(text, site) for text in written]
        assert [fill_places(text, TEACHING) for text in filled] == written
        spoken = prose(speak_notebook(path.read_bytes(), site))
        names = [
            [place["name"] for text in texts for place in MARKED_PLACE.finditer(text)] for texts in (written, spoken)
        ]
        assert names[0] == names[1]


def test_every_place_of_the_table_stands_in_a_notebook():
    used = {place["name"] for path in NOTEBOOKS for place in places(path)}
    assert set(MARKED_PLACES) - used == set()


URGENT = " A reading above {} is urgent: hold and ask now."


@pytest.mark.parametrize(
    ("name", "harbour", "hill", "orchard"),
    [
        ("hold_line", "at or below 70 mg/dL", "below 4.0 mmol/L", "below 70 mg/dL"),
        ("first_not_low", "71", "4.0", "70"),
        ("last_low", "70", "3.9", "69"),
        ("above_the_line", "72", "4.1", "71"),
        ("serious_low", "53", "2.9", "53"),
        ("good_reading", "98", "5.4", "120"),
        ("high_reading", "370", "17.8", "320"),
        ("carbohydrate", "15 g", "20 g", "15 g"),
        ("serious_carbohydrate", "20 g", "20 g", "20 g"),
        ("urgent_note", *(URGENT.format(line) for line in ("400 mg/dL", "22.2 mmol/L", "400 mg/dL"))),
        ("recheck", "15 minutes", "10 minutes", "15 minutes"),
        ("oral_treatments", "3 times", "3 times", "3 times"),
        ("waiting", "10 minutes", "15 minutes", "15 minutes"),
        ("draw_up_from", "07:20", "07:15", "07:15"),
        ("lines_past", "3 lines", "3 lines", "6 lines"),
        ("syringe_for_16_44", "the 1 mL syringe with a line every unit", "the 1 mL syringe with a line every 2 units",
         "the 1 mL syringe with a line every 2 units"),
        ("syringe_for_15_40", "the 1 mL syringe with a line every unit", "the 1 mL syringe with a line every unit",
         "no syringe of this ward will do, ask the prescriber"),
        ("nph_strongest", "4–8", "4–10", "4–10"),
        ("night_peak", "from 21:30 to 01:30", "from 21:30 to 03:30", "from 21:30 to 03:30"),
        ("push_back_note", "", " Yours does not: discard and start again.", ""),
    ],
)  # fmt: skip
def test_what_the_three_sites_say_worked_out_by_hand(name, harbour, hill, orchard):
    assert [MARKED_PLACES[name](site) for site in (HARBOUR, HILL, ORCHARD)] == [harbour, hill, orchard]


@pytest.mark.parametrize("site", example_sites(), ids=lambda site: site.name)
class TestAsCareHasIt:
    def choice(self, site, name):
        glucose = Glucose(float(MARKED_PLACES[name](site)), site.glucose_unit)
        return decide(read_order(MIXED), Observation(glucose=glucose, signs=(), eating=True), site).choice

    def test_the_readings_are_answered_as_the_lessons_say(self, site):
        assert self.choice(site, "usual_reading") == self.choice(site, "good_reading") == "give"
        assert self.choice(site, "high_reading") == "give and report"
        assert {self.choice(site, name) for name in ("last_low", "serious_low", "found_reading")} == {"hold and treat"}
        assert all(self.choice(site, name) != "hold and treat" for name in ("first_not_low", "above_the_line"))

    def test_the_day_is_the_one_that_is_planned(self, site):
        plan = day_plan(read_order(MIXED), MARKED_PLACES["dose_at"](site), site=site)
        assert (plan.draw_up_from.face, plan.eat.start.face, plan.eat.end.face) == tuple(
            MARKED_PLACES[name](site) for name in ("draw_up_from", "eat_from", "eat_until")
        )

    def test_the_syringe_is_the_one_that_is_taken(self, site):
        syringe = plan_dose(read_order(MIXED), site).syringe
        assert MARKED_PLACES["barrel"](site) == f"{syringe.capacity_units} units"
        past = float(MARKED_PLACES["lines_past"](site).split()[0]) * syringe.graduation_units
        assert float(MARKED_PLACES["number_below"](site)) + past == 8
        short = float(MARKED_PLACES["lines_short"](site).split()[0]) * syringe.graduation_units
        assert float(MARKED_PLACES["number_above"](site)) - short == 28


ODD_WARDS = [
    *(replace(TEACHING, stock=(syringe,)) for syringe in syringes().values()),
    replace(TEACHING, meals=(Meal(name="the first tray", at="00:10"),)),
    replace(TEACHING, hold_line=replace(TEACHING.hold_line, value=150), near_low_line=ORCHARD.near_low_line),
    replace(TEACHING, report_line=replace(TEACHING.report_line, value=600)),
    replace(TEACHING, urgent_high_line=None),
    replace(TEACHING, urgent_high_line=replace(TEACHING.urgent_high_line, value=305, source="local-policy")),
    replace(HILL, numbers=replace(HILL.numbers, value="comma")),
    replace(TEACHING, taught={**TEACHING.taught, "nph": ("diabetes-ther-2018",)}),
]


def test_the_high_reading_of_the_lessons_is_reported_and_not_urgent():
    close = replace(TEACHING, urgent_high_line=replace(TEACHING.urgent_high_line, value=305, source="local-policy"))
    assert MARKED_PLACES["high_reading"](close) == "301"
    assert MARKED_PLACES["urgent_note"](close) == URGENT.format("305 mg/dL")
    assert MARKED_PLACES["urgent_note"](replace(TEACHING, urgent_high_line=None)) == ""


@pytest.mark.parametrize("site", ODD_WARDS, ids=range(len(ODD_WARDS)))
def test_an_odd_ward_has_something_to_say_everywhere(site):
    notes = {"pair_note", "air_note", "push_back_note", "near_low_note", "urgent_note"}
    assert [name for name, says in MARKED_PLACES.items() if not says(site) and name not in notes] == []


def test_a_ward_that_forbids_the_pair_of_the_lessons_says_so_under_the_title():
    apart = replace(TEACHING, name="the ward apart", never_mix=("regular + nph",))
    assert "are not mixed at the ward apart in one syringe" in MARKED_PLACES["pair_note"](apart)
    assert "insulin lispro" in MARKED_PLACES["pair_note"](apart)


def test_a_ward_without_air_says_so_where_air_is_taught():
    airless = replace(TEACHING, air=replace(TEACHING.air, value="no air"))
    assert "gives no air" in MARKED_PLACES["air_note"](airless)
    assert MARKED_PLACES["air_note"](TEACHING) == ""


def test_a_place_is_in_the_words_and_figures_of_the_site():
    written = "below <!--site:last_low-->69<!--/site--> for <!--site:near_low_note--><!--/site--> a prescriber"
    comma = replace(HILL, numbers=replace(HILL.numbers, value="comma"))
    assert "<!--site:last_low-->3,9<!--/site-->" in speak_prose(written, comma)
    assert "at or below 100 mg/dL is near a low: the answer there is *give and report*" in speak_prose(written, ORCHARD)
    assert "3,9" in speak_prose(written, replace(comma, language="de"))


def test_an_unknown_name_is_refused():
    with pytest.raises(UnknownPlace, match="hold_lime"):
        fill_places("<!--site:hold_lime-->below 70 mg/dL<!--/site-->", teaching_site())
