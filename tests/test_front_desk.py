"""The names that notebooks rely on, used just as they are promised, and what importing them costs."""

import ast
import json
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

import mixlab
from mixlab import Glucose, Observation, action_curves, decide, load_site, order_concerns, plan_dose, read_order

ROOT = Path(__file__).parents[1]


def test_from_a_written_order_to_marks_decision_and_curves(tmp_path):
    order = read_order("regular insulin 8 units and NPH insulin 20 units subcut 30 minutes before breakfast")
    assert (str(order.clear.insulin), order.clear.units) == ("regular insulin", 8)
    assert (str(order.cloudy.insulin), order.cloudy.units) == ("NPH insulin", 20)

    plan = plan_dose(order)
    assert (plan.clear_mark, plan.total_mark) == (8, 28)
    assert (plan.air_into_cloudy, plan.air_into_clear) == (20, 8)
    assert (plan.syringe.capacity_units, plan.syringe.graduation_units) == (30, 1)
    assert plan.steps
    assert order_concerns(str(order), usual=order) == ()
    assert [concern.text for concern in order_concerns("regular 8U, NPH 20 units subcut at 07:30")] == ["8U"]

    decision = decide(order, Observation(glucose=Glucose(64, "mg/dL"), signs=(), eating=True), site=None)
    assert decision.choice == "hold and treat"
    assert decision.because
    assert decision.next_steps

    hours = np.linspace(0, 24, 97)
    curves = action_curves(order, hours, weight_kg=70.0)
    assert curves.clear.shape == curves.cloudy.shape == curves.total.shape == hours.shape
    assert np.array_equal(curves.total, curves.clear + curves.cloudy)

    file = tmp_path / "my_site.toml"
    file.write_text('name = "ward 3"\nstock = ["1.0-one"]\n', encoding="utf-8")
    site = load_site(str(file))
    assert plan_dose(order, site).syringe.capacity_units == 100
    assert decide(order, Observation(glucose=Glucose(120, "mg/dL"), signs=(), eating=True), site).choice == "give"


def test_from_a_typed_reading_through_the_treatment_of_a_low_to_the_dose():
    order = mixlab.read_order("regular insulin 14 units and NPH insulin 26 units subcut 30 minutes before breakfast")
    site = mixlab.example_sites()[0]
    found = Observation(glucose=mixlab.read_meter("62 mg/dL", site), signs=(), eating=True)
    start, *_ = mixlab.walk(order, found, (), site)
    assert (start.minute, start.decision.choice) == (0, "hold and treat")
    later = Observation(
        glucose=Glucose(94, "mg/dL"), signs=(), eating=True, earlier=(mixlab.Earlier(Glucose(62, "mg/dL"), 0.5),)
    )
    assert decide(order, later, site).choice == "hold and ask"


def test_the_desk_offers_what_it_lists():
    promised = {
        "Glucose",
        "Observation",
        "action_curves",
        "decide",
        "load_site",
        "order_concerns",
        "plan_dose",
        "read_order",
    }
    assert promised <= set(mixlab.__all__)
    assert all(hasattr(mixlab, name) for name in mixlab.__all__)
    assert set(mixlab.__all__) <= set(dir(mixlab))
    with pytest.raises(AttributeError, match="No mixlab attribute give_more"):
        _ = mixlab.give_more


def test_each_name_is_written_once_and_leads_somewhere():
    stub = (ROOT / "mixlab" / "__init__.pyi").read_text(encoding="utf-8")
    names = [alias.name for node in ast.parse(stub).body for alias in node.names]
    assert len(names) == len(set(names))
    assert sorted(names) == sorted(mixlab.__all__)
    assert [name for name in names if getattr(mixlab, name) is None] == []


def test_importing_it_loads_nothing_that_draws():
    code = "import sys, json, mixlab; print(json.dumps(sorted({name.split('.')[0] for name in sys.modules})))"
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    loaded = set(json.loads(done.stdout))
    assert "mixlab" in loaded
    assert not loaded & {"matplotlib", "ipywidgets", "anywidget", "traitlets", "IPython"}
