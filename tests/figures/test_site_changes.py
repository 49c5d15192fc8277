"""Two wards drawn one above the other: where readings stand, what is told twice, and that nothing leaves the sheet."""

import itertools
from dataclasses import replace
from typing import get_args

import numpy as np
import pytest
from drawings import boxes, parts, reach, words_on_words, words_outside

from mixlab.adapting.compare.comparison import compare_sites
from mixlab.care.decision.answers import Choice
from mixlab.figures.sites.reading_line import LEFT, LOOKS, RIGHT, place
from mixlab.figures.sites.two_wards import draw_site_changes
from mixlab.figures.sites.two_wards_words import Count, Flip, also_words, describe_site_changes
from mixlab.figures.style import PAGE, ROOM
from mixlab.quantities import Glucose
from mixlab.ward.site.in_force import example_sites

CHOICES = get_args(Choice)
SITES = example_sites()
PAIRS = [(SITES[0], site) for site in SITES] + [(SITES[3], SITES[4]), (SITES[4], SITES[2])]


def seen_of(pair):
    return compare_sites(*pair).picture


SHEETS = [(pair, size) for size in ("page", "room") for pair in PAIRS]
LONG = [pytest.param(*sheet, marks=pytest.mark.long) for sheet in SHEETS[1::2]]
# Sample: each pair of wards in one of the two sizes, in turn.


@pytest.mark.parametrize(
    ("pair", "size"),
    [*SHEETS[::2], *LONG],
    ids=lambda one: one if isinstance(one, str) else f"{one[0].name} to {one[1].name}",
)
def test_nothing_leaves_the_sheet_and_no_words_lie_over_others(pair, size):
    drawn = draw_site_changes(seen_of(pair), {"page": PAGE, "room": ROOM}[size])
    assert not words_outside(drawn)
    touching = words_on_words(drawn, 2, 5)
    assert not [
        pair for pair in touching if not any(map(str.isdigit, pair))
    ]  # the number of a stretch may touch the next


def test_a_line_of_readings_keeps_equal_ratios():
    at = [place(Glucose(value, "mg/dL")) for value in (20, 40, 80, 160)]
    assert at[1] - at[0] == pytest.approx(at[2] - at[1]) == pytest.approx(at[3] - at[2])
    assert place(Glucose(5.5, "mmol/L")) == pytest.approx(place(Glucose(5.5, "mmol/L").to("mg/dL")))
    assert place(Glucose(0, "mg/dL")) == LEFT
    assert place(Glucose(900, "mg/dL")) == RIGHT


def test_a_stretch_that_flips_is_drawn_where_it_lies():
    seen = seen_of(PAIRS[1])
    drawn = parts(draw_site_changes(seen))
    for at, flip in enumerate(seen.flips):
        low, high = reach(drawn[f"flip-{at}"])
        assert low <= place(flip.start) <= place(flip.end) <= high
        assert str(flip) in drawn[f"flip-words-{at}"].get_text()
    assert [str(flip) for flip in seen.flips] == [
        "70 mg/dL: hold and ask → hold and treat",
        "85 mg/dL: give → give and report",
        "301 to 350 mg/dL: give and report → give",
    ]


def test_bars_are_as_long_as_the_share_that_differs():
    seen = replace(seen_of(PAIRS[0]), counts=tuple(Count(title=f"{n}", differ=n, of=240) for n in (0, 1, 60, 120, 240)))
    drawn = parts(draw_site_changes(seen))
    assert "count-0" not in drawn
    assert np.ptp(reach(drawn["count-1"])) == pytest.approx(3)  # one of many is seen
    assert [np.ptp(reach(drawn[f"count-{at}"])) for at in (2, 3, 4)] == pytest.approx([30, 60, 120])
    assert drawn["count-words-2"].get_text() == "60 of 240 differ; 180 the same"
    assert drawn["count-words-0"].get_text() == "all 240 the same"


def test_more_kinds_than_have_room_are_told_together():
    counts = tuple(Count(title=f"kind {n}", differ=n, of=100) for n in range(20))
    drawn = parts(draw_site_changes(replace(seen_of(PAIRS[0]), counts=counts), ROOM))
    titles = [drawn[f"count-title-{at}"].get_text() for at in range(15)]
    assert "count-title-15" not in drawn
    assert titles == [*(f"kind {n}" for n in range(6, 20)), "6 more kinds"]
    assert drawn["count-words-14"].get_text() == "15 of 600 differ; 585 the same"


def test_every_answer_has_a_letter_and_a_look_of_its_own():
    looks = LOOKS
    assert set(looks) == set(CHOICES)
    assert len({letter for letter, _ in looks.values()}) == len(CHOICES)
    assert len({(look["fc"], look.get("hatch")) for _, look in looks.values()}) == len(CHOICES)


def test_more_stretches_than_have_room_are_counted():
    flips = tuple(
        Flip(start=Glucose(at, "mg/dL"), end=Glucose(at + 1, "mg/dL"), before="give", after="hold and ask")
        for at in range(100, 190, 10)
    )
    drawn = parts(draw_site_changes(replace(seen_of(PAIRS[0]), flips=flips), ROOM))
    assert "3 more stretches" in drawn["flip-words-5"].get_text()
    assert "flip-8" in drawn
    assert "flip-words-6" not in drawn


def test_the_words_say_all_that_is_drawn():
    for pair in PAIRS:
        seen = seen_of(pair)
        words = describe_site_changes(seen)
        for said in (*map(str, seen.flips), *seen.keys, *seen.times, *(count.title for count in seen.counts)):
            assert said in words
        for ward in (seen.before, seen.after):
            assert all(str(zone.end) in words for zone in ward.zones)
    same = describe_site_changes(seen_of(PAIRS[0]))
    assert "No reading gets another answer." in same
    assert "No time of the day differs." in same


def test_the_zones_of_a_ward_leave_no_reading_out():
    for pair in PAIRS:
        for ward in (seen_of(pair).before, seen_of(pair).after):
            zones = ward.zones
            step = 1 if zones[0].start.unit == "mg/dL" else 0.1
            assert zones[0].start.value == 0
            assert zones[-1].end.value == (600 if step == 1 else 33.3)
            for one, other in itertools.pairwise(zones):
                assert other.start.value - one.end.value == pytest.approx(step)
                assert one.choice != other.choice


def test_times_that_differ_are_marked_and_said():
    seen = seen_of(PAIRS[1])
    assert seen.before.day != seen.after.day
    assert "draw up from" in parts(draw_site_changes(seen))["times"].get_text()
    same = seen_of(PAIRS[0])
    assert parts(draw_site_changes(same))["times"].get_text() == "no time differs"


def test_each_line_stands_in_its_own_unit_with_ticks_at_its_own_lines():
    seen = seen_of((SITES[0], SITES[3]))
    assert [zone.start.unit for zone in (seen.before.zones[0], seen.after.zones[0])] == ["mg/dL", "mmol/L"]
    assert seen.after.lines == (
        Glucose(3, "mmol/L"),
        Glucose(4, "mmol/L"),
        Glucose(4.8, "mmol/L"),
        Glucose(15, "mmol/L"),
        Glucose(22.2, "mmol/L"),
    )
    for size in (PAGE, ROOM):
        said = [text.get_text() for text, _ in boxes(draw_site_changes(seen, size))]
        assert {"70", "300", "4.0", "15.0"} <= set(said)
    assert "15.0–22.2 mmol/L: give and report" in describe_site_changes(seen)
    assert [str(flip) for flip in seen.flips] == [
        "70 to 71 mg/dL (3.9 mmol/L): hold and ask → hold and treat",
        "85 mg/dL (4.7 mmol/L): give → hold and ask",
        "86 mg/dL (4.8 mmol/L): give → give and report",
        "270 to 300 mg/dL (15.0 to 16.7 mmol/L): give → give and report",
    ]


def test_what_else_is_other_is_said_below_the_bands_where_it_is_so():
    whom = ("old readings", "earlier lows", "after treatment")
    drawn = draw_site_changes(replace(seen_of(PAIRS[0]), also=whom))
    said = "Other answers also for old readings, earlier lows and after treatment: see the list."
    assert parts(drawn)["also"].get_text() == said
    assert said in describe_site_changes(drawn_of := replace(seen_of(PAIRS[0]), also=whom))
    assert also_words(replace(drawn_of, also=whom[:1])) == "Other answers also for old readings: see the list."
    assert parts(draw_site_changes(seen_of(PAIRS[0])))["also"].get_text() == ""
    assert {"old readings", "after treatment"} <= set(seen_of((SITES[0], SITES[3])).also)
    assert "after treatment" not in seen_of(PAIRS[1]).also


def test_keys_are_named_by_what_they_mean_and_wrapped_whole():
    seen = seen_of((SITES[0], SITES[3]))
    drawn = parts(draw_site_changes(seen))
    shown = " ".join(drawn[f"key-{at}"].get_text().strip() for at in range(12))
    assert "A serious low: below 54 mg/dL → below 3.0 mmol/L" in shown
    assert "level 2" not in describe_site_changes(seen)
    assert "Days for a vial of NPH insulin: 28 → 31 days" in describe_site_changes(seen_of(PAIRS[1]))
