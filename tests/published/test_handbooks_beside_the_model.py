"""The model beside every handbook table of action times, figure by figure: the misses are asserted as misses.

Sources stand beside the rows; all read but the last of each list (recalled). Model hours: 8 regular + 20 NPH at 70 kg start at
0.61 and 1.60, are strongest at 2.18 and 5.98 and end at 6.14 and 17.18 h; 14 + 26 units at 82 kg: 0.57 and 1.73, 2.38 and
6.59, 7.49 and 19.09 h (computed outside this package).
"""

import pytest

from mixlab import action_curves, read_order
from mixlab.care.action.handbooks import against_handbooks, handbook_misses
from mixlab.facts.reading import the_facts
from mixlab.words import Voice, speaking

SMALL = ("regular insulin 8 units and NPH insulin 20 units", 70)
LARGE = ("regular insulin 14 units and NPH insulin 26 units", 82)

# insulin, source, (start), (strongest), (end): the spans in h, None where the table has no figure
ROWS = [
    ("regular", "niddk-2009", (0.5, 1), (2, 4), (5, 8)),  # NIDDK, insert C, archived 2009
    ("regular", "afp-2009", (0.5, 1), (2, 4), (8, 10)),  # Am Fam Physician 2009;79:29
    ("regular", "afp-2005", (0.5, 1), (2, 4), (8, 12)),  # Am Fam Physician 2005;72:805
    ("regular", "ompc-2007", (0.5, 1), (2, 3), (3, 6)),  # Osteopath Med Prim Care 2007;1:9, Table 4
    ("regular", "diabetes-ther-2018", (0.5, 1), (2, 4), (6, 8)),  # Diabetes Ther 2018;9(Suppl 1), Table 11
    ("regular", "dms-2010", (0.5, 1), (2, 3), (3, 6)),  # Diabetol Metab Syndr 2010;2:35, Table 9
    ("regular", "aap-2003", (0.5, 1), (2, 3), (4, 6)),  # American Academy of Pediatrics 2003
    ("regular", "textbook-medicine-19", (0.5, 1), (2, 3), (3, 6)),  # internal medicine, 19th edition, Table 173-2
    ("regular", "handbook-table", (0.5, 1), (2, 4), (5, 8)),  # a further handbook table, title not recorded
    ("regular", "cdc-insulin-types", (0.5, 0.5), (2, 3), (3, 6)),  # CDC, types of insulin (recalled)
    ("nph", "niddk-2009", (1, 3), (8, 8), (12, 16)),
    ("nph", "afp-2009", (1, 2), (4, 8), (10, 20)),
    ("nph", "afp-2005", (1, 2.5), (4, 12), (24, 24)),
    ("nph", "ompc-2007", (2, 4), (4, 10), (10, 16)),
    ("nph", "diabetes-ther-2018", (2, 4), (4, 8), (12, 16)),
    ("nph", "dms-2010", (2, 4), (4, 10), (10, 16)),
    ("nph", "aap-2003", (0, 3), (4, 14), (14, 24)),  # "within 3 hours"
    ("nph", "textbook-medicine-19", (2, 4), (4, 10), (10, 16)),
    ("nph", "basal-review", None, None, (18, 18)),  # review of basal insulins, PMC6104258, Table 5
    ("nph", "handbook-table", (2, 2), (4, 12), (18, 28)),
    ("nph", "cdc-insulin-types", (2, 4), (4, 12), (12, 18)),
]
EARLY_AND_LONG = {
    *(("regular", source, "ends") for source in ("afp-2009", "afp-2005")),  # the model is shorter
    *(
        ("regular", source, "ends") for source in ("ompc-2007", "dms-2010", "aap-2003", "textbook-medicine-19")
    ),  # longer
    ("regular", "cdc-insulin-types", "starts"),
    ("regular", "cdc-insulin-types", "ends"),
    ("nph", "niddk-2009", "strongest"),
    *(("nph", source, "starts") for source in ("ompc-2007", "diabetes-ther-2018", "dms-2010", "textbook-medicine-19")),
    *(("nph", source, "starts") for source in ("cdc-insulin-types", "handbook-table")),
    *(("nph", source, "ends") for source in ("niddk-2009", "ompc-2007", "diabetes-ther-2018", "dms-2010")),  # longer
    ("nph", "textbook-medicine-19", "ends"),
    *(("nph", source, "ends") for source in ("afp-2005", "basal-review", "handbook-table")),
}


def curves_of(text, weight_kg):
    return action_curves(read_order(text), (0.0, 24.0), weight_kg)


def test_every_figure_of_every_table_is_compared():
    spans = {
        (insulin, source, moment): span
        for insulin, source, *row in ROWS
        for moment, span in zip(("starts", "strongest", "ends"), row, strict=True)
        if span
    }
    compared = {
        (one.insulin.key, one.row.source, one.moment): (one.taught.low, one.taught.high)
        for one in against_handbooks(curves_of(*SMALL))
    }
    assert compared == spans
    assert len(compared) == 61


@pytest.mark.parametrize(
    ("dose", "misses"),
    [
        (SMALL, EARLY_AND_LONG),
        (LARGE, (EARLY_AND_LONG - {("nph", "handbook-table", "ends")}) | {("nph", "cdc-insulin-types", "ends")}),
    ],
)
def test_what_of_each_table_is_inside_and_what_is_not(dose, misses):
    curves = curves_of(*dose)
    assert {(one.insulin.key, one.row.source, one.moment) for one in handbook_misses(curves)} == misses
    assert all("OUTSIDE" in str(one) for one in handbook_misses(curves))
    assert sum("; inside." in str(one) for one in against_handbooks(curves)) == 61 - len(misses)


def test_the_rule_of_the_trade_about_the_peaks():
    """Regular is strongest at about 2 h and NPH at about 8 h, when a low is most likely (common practice, no source).

    The model: regular inside half an hour of it; NPH two hours early, a miss.
    """
    curves = curves_of(*SMALL)
    assert abs(curves.peak("clear") - 2) < 0.5
    assert 8 - curves.peak("cloudy") == pytest.approx(2.02, abs=0.02)


def test_a_ward_that_writes_a_comma_reads_one_in_every_figure():
    regular, nph = (
        next(
            one
            for one in against_handbooks(curves_of(*SMALL))
            if (one.insulin.key, one.row.source) == (key, "afp-2005")
        )
        for key in ("regular", "nph")
    )
    with speaking(Voice(numbers="comma")):
        assert "starts: taught 30–60 min; model 0,6 h; inside." in str(regular)
        assert "starts: taught 1–2,5 h; model 1,6 h; inside." in str(nph)
    assert "starts: taught 1–2.5 h; model 1.6 h; inside." in str(nph)


def test_a_figure_that_the_model_never_reaches_is_outside():
    curves = curves_of("regular insulin 8 units and NPH insulin 2 units", 70)
    nph = [one for one in against_handbooks(curves) if one.insulin.key == "nph"]
    assert all(one.model is None and not one.inside and "model none" in str(one) for one in nph)
    assert the_facts().insulins["nph"].times[0].source == nph[0].row.source
