"""The levels of hypoglycaemia as published, each edition with its own 70, carried through to the decision."""

from dataclasses import replace

import pytest

from mixlab.care.decision import decide
from mixlab.facts.shelf import shelf
from mixlab.quantities import Glucose
from mixlab.ward.observation import Observation
from mixlab.ward.order import read_order
from mixlab.ward.site import crosses, teaching_site

ORDER = read_order("regular insulin 14 units and NPH insulin 26 units subcut 30 minutes before breakfast")
LINES = shelf().thresholds

# key of the line in the facts, reading, unit, low by that publication
EDITIONS = [
    # ADA Standards, Glycemic Targets, Diabetes Care 2017;40(Suppl 1), Table 6.3: level 1 at or below 70 (read)
    ("low-2017", 69, "mg/dL", True),
    ("low-2017", 70, "mg/dL", True),
    ("low-2017", 71, "mg/dL", False),
    # ADA Standards, section 6, from 2018 on: level 1 below 70 and at least 54 (recalled)
    ("low", 69, "mg/dL", True),
    ("low", 70, "mg/dL", False),
    ("low", 71, "mg/dL", False),
    # Diabetes Canada guideline 2013: below 4.0 mmol/L (recalled); 71 is 3.941, 72 is 3.9965 and shown as 4.0 (computed)
    ("low-below-4", 71, "mg/dL", True),
    ("low-below-4", 72, "mg/dL", False),
    ("low-below-4", 3.9, "mmol/L", True),
    ("low-below-4", 4.0, "mmol/L", False),
    # ADA Standards, level 2 below 54 (2017 read)
    ("level-2", 53, "mg/dL", True),
    ("level-2", 54, "mg/dL", False),
]


@pytest.mark.parametrize(("key", "value", "unit", "low"), EDITIONS)
def test_each_publication_draws_its_own_line(key, value, unit, low):
    reading = Glucose(value, unit)
    assert crosses(reading, LINES[key]) is low
    site = replace(teaching_site(), hold_line=LINES[key], level_2_line=LINES["level-2"])
    decision = decide(ORDER, Observation(glucose=reading, signs=(), eating=True), site)
    assert decision.choice == ("hold and treat" if low else "give")
    assert shelf().cite(LINES[key]) in decision.because[0].rule


@pytest.mark.parametrize(("mg_dl", "mmol_l"), [(50, "2.8"), (70, "3.9"), (140, "7.8"), (180, "10.0")])
def test_printed_pairs(mg_dl, mmol_l):
    """PMC5309204, figure 2 (read): readings printed in both units."""
    assert str(Glucose(mg_dl, "mg/dL").to("mmol/L").shown()) == mmol_l
