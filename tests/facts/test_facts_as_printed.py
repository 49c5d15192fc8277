"""Rows of the fact files against a second typing of what their sources print: it finds a slip of the hand, not a wrong reading.

The source stands beside each check. What we compute is held against published values in tests/published.
"""

import pytest

from mixlab.facts.reading import the_facts
from mixlab.facts.records import Span
from mixlab.quantities import units_to_ml

FACTS = the_facts()

# ISO 8537, Table 1 and clause 9, U-100, read in GOST ISO 8537-2011 (identical adoption; poor scan, row labels inferred):
# nominal capacity in mL, lines in units, numbers every so many units, least length of the scale in mm.
ISO_8537 = {(0.3, 0.5, 5, 41), (0.3, 1, 5, 41), (0.5, 1, 5, 43), (1.0, 1, 10, 57), (1.0, 2, 10, 57)}


def test_syringes_are_those_of_iso_8537():
    ours = {
        (units_to_ml(row.capacity_units), row.graduation_units, row.numbered_every_units, row.scale_length_mm)
        for row in FACTS.syringes.values()
    }
    assert ours == ISO_8537


def test_the_steps_keep_the_published_order_of_mixing():
    """Registered Nurses' Association of Ontario, appendix, General guidelines for mixing insulin in a syringe (read)."""
    rnao = ["air_into_cloudy", "air_into_clear", "draw_clear", "draw_cloudy"]
    assert [key for key in FACTS.steps if key in rnao] == rnao
    assert "{cloudy_units} of air" in FACTS.steps["air_into_cloudy"].do.key
    assert "{clear_units} of air" in FACTS.steps["air_into_clear"].do.key
    assert "{clear_mark}" in FACTS.steps["draw_clear"].do.key
    assert "{total_mark}" in FACTS.steps["draw_cloudy"].do.key


def test_nothing_is_pushed_back_after_the_cloudy_draw():
    """Common practice, no source."""
    assert "Push nothing back" in FACTS.steps["draw_cloudy"].do.key
    assert "push back into this vial" in FACTS.steps["draw_clear"].do.key


def test_the_hypoglycemia_lines_name_their_edition():
    """ADA Standards, 2017: level 1 at or below 70, level 2 below 54 (read). From 2018 on: level 1 below 70 (recalled)."""
    lines = FACTS.thresholds
    assert (lines["low-2017"].comparison, lines["low-2017"].value, lines["low-2017"].unit) == (
        "at or below",
        70,
        "mg/dL",
    )
    assert (lines["low"].comparison, lines["low"].value, lines["low"].unit) == ("below", 70, "mg/dL")
    assert (lines["level-2"].comparison, lines["level-2"].value, lines["level-2"].unit) == ("below", 54, "mg/dL")
    assert FACTS.sources[lines["low-2017"].source].edition == "2017"
    assert FACTS.sources[lines["low"].source].edition == "2018 and later"


def test_the_printed_pairs_are_those_of_the_publication():
    """PMC5309204, figure 2 (read)."""
    pairs = [(pair.mg_dl, pair.mmol_l) for pair in FACTS.glucose_pairs]
    assert pairs == [(50, 2.8), (70, 3.9), (140, 7.8), (180, 10.0)]


def test_meter_allowance():
    """ISO 15197:2013, as given in PMC4525642, Table 1 (read): 15 mg/dL below 100, 15 % from 100 up."""
    assert (FACTS.bedside["meter_allowance_mg_dl"].value, FACTS.bedside["meter_allowance_mg_dl"].unit) == (15, "mg/dL")
    assert (FACTS.bedside["meter_allowance_percent"].value, FACTS.bedside["meter_allowance_percent"].unit) == (15, "%")


# NIDDK, What I need to know about diabetes medicines, insert C, archived 2009 (read): onset, peak, duration in hours.
# Am Fam Physician 2009;79:29 (read). CDC, types of insulin (recalled).
HANDBOOK = {
    ("regular", "niddk-2009"): ((0.5, 1), (2, 4), (5, 8)),
    ("nph", "niddk-2009"): ((1, 3), (8, 8), (12, 16)),
    ("premixed-70-30", "niddk-2009"): ((0.5, 1), None, (10, 16)),
    ("premixed-70-30", "textbook-medicine-19"): (None, None, (10, 16)),  # two peaks, not timed
    ("regular", "handbook-table"): ((0.5, 1), (2, 4), (5, 8)),
    ("nph", "handbook-table"): ((2, 2), (4, 12), (18, 28)),
    ("regular", "afp-2009"): ((0.5, 1), (2, 4), (8, 10)),
    ("nph", "afp-2009"): ((1, 2), (4, 8), (10, 20)),
    ("nph", "cdc-insulin-types"): ((2, 4), (4, 12), (12, 18)),
    ("glargine", "afp-2009"): ((1, 2), None, (20, 24)),
    ("aspart", "diabetes-ther-2018"): ((0.0833, 0.25), (1, 3), (3.5, 5)),
}


@pytest.mark.parametrize("which", HANDBOOK, ids=" ".join)
def test_handbook_rows(which):
    insulin, source = which
    row = next(row for row in FACTS.insulins[insulin].times if row.source == source)
    printed = tuple(None if span is None else Span(low=span[0], high=span[1]) for span in HANDBOOK[which])
    assert (row.onset, row.peak, row.duration) == printed


@pytest.mark.parametrize(("insulin", "rows"), [("regular", 10), ("nph", 11)])
def test_every_handbook_has_its_own_row(insulin, rows):
    """Eleven handbooks were read or recalled; one of them has no row for regular insulin."""
    assert len(FACTS.insulins[insulin].times) == rows


def test_the_spread_of_the_handbooks():
    """Envelope of the rows (computed by hand from the eleven handbooks): regular 0.5–1, 2–4, 3–12; NPH to 4, to 14, 10–28 h.

    The low end of the NPH onset is left out: one handbook prints "within 3 h", which has none.
    """

    def envelope(key, part):
        spans = [getattr(row, part) for row in FACTS.insulins[key].times if getattr(row, part)]
        return min(span.low for span in spans), max(span.high for span in spans)

    assert [envelope("regular", part) for part in ("onset", "peak", "duration")] == [(0.5, 1), (2, 4), (3, 12)]
    assert envelope("nph", "onset")[1] == 4
    assert [envelope("nph", part) for part in ("peak", "duration")] == [(4, 14), (10, 28)]


def test_the_peaks_as_taught():
    """Common practice, no source: regular insulin is strongest at about 2 h, NPH at about 8 h, in the span from 4 to 10 h."""
    regular, nph = (FACTS.insulins[key].taught_times.peak for key in ("regular", "nph"))
    assert regular.low == 2
    assert nph == Span(low=4, high=10)


def test_a_long_acting_insulin_is_never_mixed():
    """Common practice, no source (labels say the same; recalled)."""
    alone = {key for key, row in FACTS.insulins.items() if not row.mixing.may_share_with}
    assert alone == {"glargine", "detemir", "degludec", "premixed-70-30"}


def test_clear_before_cloudy():
    """Common practice, no source."""
    steps = list(FACTS.steps)
    assert steps.index("draw_clear") < steps.index("draw_cloudy")
    assert {key for key, row in FACTS.insulins.items() if row.look == "cloudy"} == {"nph", "premixed-70-30"}


def test_the_dose_is_given_within_5_to_15_minutes_of_mixing():
    """Common practice, no source."""
    assert 5 <= FACTS.bedside["waiting_minutes"].value <= 15
    assert FACTS.bedside["waiting_minutes"].unit == "minutes"


def test_a_low_is_treated_with_15_g_and_checked_again_after_15_minutes():
    """American Diabetes Association, guidance for patients (recalled, as quoted by secondary literature)."""
    assert (FACTS.bedside["carbohydrate_g"].value, FACTS.bedside["recheck_minutes"].value) == (15, 15)
