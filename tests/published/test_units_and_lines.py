"""Our units, conversions and comparisons against published values. The source stands beside each check."""

import pytest
from molmass import Formula

from mixlab.facts.reading import the_facts
from mixlab.quantities import MG_DL_PER_MMOL_L, Glucose, units_to_ml
from mixlab.ward.site.glucose_lines import crosses

FACTS = the_facts()


@pytest.mark.parametrize(("units", "ml"), [(16, 0.16), (20, 0.20), (30, 0.30)])
def test_units_of_u100_as_volumes(units, ml):
    """US Army subcourse MD0904 (read)."""
    assert units_to_ml(units) == pytest.approx(ml, abs=1e-12)


def test_the_two_glucose_units_by_an_independent_molar_mass():
    """Molar mass of C6H12O6 by the molmass library: 180.156 g/mol to three decimals, so 1 mmol/L = 18.0156 mg/dL."""
    assert round(Formula("C6H12O6").mass, 3) == 180.156
    assert MG_DL_PER_MMOL_L == 18.0156


@pytest.mark.parametrize(
    ("mg_dl", "low_2017", "low_2018_on", "level_2"),
    [
        (71, False, False, False),
        (70, True, False, False),
        (69, True, True, False),
        (54, True, True, False),
        (53, True, True, True),
    ],
)
def test_exactly_70_is_low_in_2017_and_not_from_2018_on(mg_dl, low_2017, low_2018_on, level_2):
    """ADA Standards, Glycemic Targets, 2017, Table 6.3 (read); section 6, 2018 on (recalled)."""
    reading = Glucose(mg_dl, "mg/dL")
    lines = (FACTS.thresholds[key] for key in ("low-2017", "low", "level-2"))
    assert [crosses(reading, line) for line in lines] == [low_2017, low_2018_on, level_2]


def test_4_0_itself_is_not_low_by_the_line_below_4():
    """Joint British Diabetes Societies, lows of inpatients (read). 4.0 itself is not low; 3.9 is."""
    line = FACTS.thresholds["low-below-4"]
    assert not crosses(Glucose(4.0, "mmol/L"), line)
    assert crosses(Glucose(3.9, "mmol/L"), line)


@pytest.mark.parametrize("pair", FACTS.glucose_pairs, ids=lambda pair: str(pair.mg_dl))
def test_our_conversion_gives_the_printed_pairs(pair):
    """PMC5309204, figure 2 (read): 50 and 2.8, 70 and 3.9, 140 and 7.8, 180 and 10.0."""
    assert float(Glucose(pair.mg_dl, "mg/dL").to("mmol/L").shown()) == pair.mmol_l
