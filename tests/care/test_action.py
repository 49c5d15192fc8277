"""The action curves as numbers: shape, conservation of units, markers, and what is refused."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mixlab.care.action.absorption import (
    HORIZON_H,
    NoFigures,
    NoModel,
    absorbed_fraction,
    absorption_rate,
    begin_spell,
    first_order_lag,
    grid,
    half_time,
)
from mixlab.care.action.curves import action_curves, follow_portion
from mixlab.care.action.injection import Injection, Portion, contaminated
from mixlab.care.action.variation import day_to_day
from mixlab.facts.reading import the_facts
from mixlab.quantities import NotAnAmount
from mixlab.ward.insulin import insulins
from mixlab.ward.order.order import Dose, NotOneClearOneCloudy, Order

HOURS = np.arange(24 * 60 + 1) / 60
PARTS = ("clear", "cloudy", "total")
KE, KE0 = (the_facts().action[key].value for key in ("plasma_rate_per_h", "effect_rate_per_h"))


def dose(key, units):
    return Dose(insulin=insulins()[key], units=units)


def portion(key, units):
    return Portion(insulin=insulins()[key], units=units, depot_units=units)


def curves_of(clear, cloudy, hours=HOURS, **more):
    return action_curves(Order(doses=(dose("regular", clear), dose("nph", cloudy))), hours, **more)


ORDER = Order(doses=(dose("regular", 8), dose("nph", 20)))
HALVES = st.integers(1, 120).map(lambda twice: twice / 2)


@settings(deadline=None)
@given(HALVES, HALVES)
def test_no_unit_is_lost_or_made(clear, cloudy):
    """What was absorbed has acted, or still waits in plasma and effect site: D·F = ∫A + A/ke0 + P/ke (computed)."""
    for key, units in (("regular", clear), ("nph", cloudy)):
        depot = follow_portion(portion(key, units), 72 * 60)
        row = the_facts().absorption[key]
        every = np.arange(72 * 60 + 1) / 60
        absorbed = units * absorbed_fraction(every, half_time(units, row), row.s)
        acted = np.concatenate([[0], np.cumsum((depot.action[1:] + depot.action[:-1]) / 2) / 60])
        stored = depot.action / KE0 + depot.removal / KE
        # 5e-4 units for the doses of the reference table; the error of the grid grows with the dose
        assert np.abs(absorbed - acted - stored).max() < 5e-4 * max(1, units / 20)
        assert (depot.action >= 0).all()
        assert acted[-1] < units


@settings(deadline=None)
@given(HALVES, HALVES)
def test_the_sum_is_the_sum_of_two_curves(clear, cloudy):
    curves = curves_of(clear, cloudy)
    np.testing.assert_array_equal(curves.total, curves.clear + curves.cloudy)
    np.testing.assert_array_equal(curves.clear, curves_of(clear, 1).clear)
    np.testing.assert_array_equal(curves.cloudy, curves_of(1, cloudy).cloudy)


@settings(deadline=None)
@given(HALVES, HALVES, st.lists(st.floats(0, HORIZON_H), min_size=1, max_size=20))
def test_any_hours_lie_on_the_same_curve(clear, cloudy, hours):
    every = np.arange(HORIZON_H * 60 + 1) / 60
    whole, some = curves_of(clear, cloudy, every), curves_of(clear, cloudy, hours)
    np.testing.assert_allclose(some.total, np.interp(hours, every, whole.total), rtol=0, atol=1e-9)


def test_closed_forms_of_the_absorption():
    """F(T50) = 1/2, F(∞) = 1, and the greatest rate 3√3/8·D/T50 at T50/√3, for s = 2 (computed)."""
    t50 = 2.1
    f = absorbed_fraction(np.array([0, t50, 1e6]), t50, 2)
    assert f[0] == 0
    assert f[1] == pytest.approx(0.5, abs=1e-12)
    assert f[2] == pytest.approx(1, abs=1e-8)
    assert (np.diff(absorbed_fraction(HOURS, t50, 2)) > 0).all()
    rate = absorption_rate(np.array([t50 / math.sqrt(3)]), 8, t50, 2)[0]
    assert rate == pytest.approx(3 * math.sqrt(3) / 8 * 8 / t50, rel=1e-12)


@pytest.mark.parametrize("s", [1.8, 2, 2.3])
def test_the_rate_is_the_slope_of_the_fraction(s):
    step = 1e-5
    slope = (absorbed_fraction(HOURS[1:] + step, 2.1, s) - absorbed_fraction(HOURS[1:] - step, 2.1, s)) / (2 * step)
    np.testing.assert_allclose(absorption_rate(HOURS[1:], 8, 2.1, s), 8 * slope, rtol=1e-5, atol=1e-8)


def test_the_lag_is_exact_for_a_straight_input():
    """y' = k(x − y) with x = t is answered by y = t − (1 − e^(−kt))/k (computed)."""
    k = 1.2
    lagged = first_order_lag(HOURS[:-1], HOURS[1:], grid(24 * 60).effect)
    np.testing.assert_allclose(lagged, HOURS - (1 - np.exp(-k * HOURS)) / k, rtol=0, atol=1e-10)


def test_markers_that_are_never_reached_are_none():
    curves = curves_of(8, 2)
    assert (curves.onset("cloudy"), curves.peak("cloudy"), curves.end("cloudy")) == (None, None, None)
    assert None not in (curves.onset("clear"), curves.peak("clear"), curves.end("clear"), curves.onset(), curves.end())
    assert curves.peak_rate("cloudy") == pytest.approx(0.23, abs=0.005)


def test_beyond_the_horizon_there_is_no_end_and_no_peak():
    """Doses that no order can hold, put under the skin by hand."""

    def cloudy(units):
        held = Injection(clear=portion("regular", 8), cloudy=portion("nph", units), words="by hand")
        return curves_of(8, 20, injection=held)

    assert cloudy(300).end("cloudy") is None
    assert cloudy(300).peak("cloudy") is not None
    assert cloudy(2000).peak("cloudy") is None


@settings(deadline=None)
@given(HALVES, HALVES, st.floats(5, 200))
def test_onset_peak_and_end_stand_in_order(clear, cloudy, weight):
    curves = curves_of(clear, cloudy, weight_kg=weight)
    assert curves.marker == pytest.approx(0.006 * weight)
    for part in PARTS:
        onset, peak, end = curves.onset(part), curves.peak(part), curves.end(part)
        if onset is None:
            assert (peak, end) == (None, None)
            assert curves.peak_rate(part) < curves.marker
        else:
            assert 0 < onset <= peak + 1 / 60
            assert end is None or peak <= end + 1 / 60


def test_weight_moves_the_marker_and_nothing_else():
    light, heavy = curves_of(8, 20, weight_kg=50), curves_of(8, 20, weight_kg=100)
    np.testing.assert_array_equal(light.total, heavy.total)
    assert light.peak() == heavy.peak()
    assert light.onset() < heavy.onset()
    assert light.end() > heavy.end()


@pytest.mark.parametrize(("clear", "cloudy", "flag"), [(8, 20, False), (8, 40, False), (8, 40.5, True), (41, 20, True)])
def test_large_doses_are_flagged(clear, cloudy, flag):
    assert curves_of(clear, cloudy).injection.extrapolated is flag


NONE, NO_COUNT = (0, -1, math.nan, math.inf, True), (0, -1, True, 2.5, math.nan)
LISPRO = Order(doses=(dose("lispro", 8), dose("nph", 20)))
TWO_CLEAR = Order(doses=(dose("regular", 8), dose("regular", 20)))
OUTSIDE = ([], 3.0, [[1.0, 2.0]], [-0.1, 1], [0, 72.1], [0, math.nan])
COUNT = "Enter a whole number of at least 1"
NO_SITE = r"The model knows no injection site 'ear'\. Choose one of abdomen, arm, thigh, buttock\.$"
NO_FIGURES = "no action curve for insulin lispro here: the model has figures for NPH insulin and regular insulin only"
NO_FRACTION = "A fraction of .* is not possible. Enter a number from 0 to 1"
NO_MINUTE = "is no minute after the injection. Enter a whole number of minutes from 0"
NO_SPELL = "Nothing here is called 'rain'. Choose one of leg-exercise, sauna, massage"

# the values that are refused, how, in which words, and what is asked with them
REFUSED = [
    (NONE, NotAnAmount, "No action can be computed for .* Enter a dose above 0", lambda units: curves_of(units, 20)),
    (NONE, NotAnAmount, "Enter the body weight in kg, above 0", lambda weight: curves_of(8, 20, weight_kg=weight)),
    (OUTSIDE, NoModel, "hours 0 to 72", lambda hours: curves_of(8, 20, hours)),
    (OUTSIDE, NoModel, "hours 0 to 72", lambda hours: day_to_day(ORDER, hours)),
    (["ear"], NoModel, NO_SITE, lambda site: curves_of(8, 20, body_site=site)),
    (["ear"], NoModel, NO_SITE, lambda site: day_to_day(ORDER, HOURS, body_site=site)),
    ([LISPRO], NoFigures, NO_FIGURES, lambda order: action_curves(order, HOURS)),
    ([LISPRO], NoFigures, NO_FIGURES, lambda order: day_to_day(order, HOURS)),
    ([TWO_CLEAR], NotOneClearOneCloudy, "are both clear", lambda order: action_curves(order, HOURS)),
    ((-0.01, 1.01, math.nan, math.inf, True), NotAnAmount, NO_FRACTION, lambda part: contaminated(ORDER, part)),
    (["rain"], NoModel, NO_SPELL, lambda key: begin_spell(key, 30)),
    ((-1, 0.5, True), NoModel, NO_MINUTE, lambda start: begin_spell("sauna", start)),
    (NO_COUNT, NotAnAmount, f"days cannot be drawn. {COUNT}", lambda draws: day_to_day(ORDER, HOURS, draws=draws)),
    (NO_COUNT, NotAnAmount, f"A step of .* {COUNT}", lambda step: day_to_day(ORDER, HOURS, step=step)),
    (["huge"], NotAnAmount, "no variation 'huge'. Choose 'day to day' or 'wide'", lambda w: day_to_day(ORDER, HOURS, width=w)),
    ([34], NoModel, "Use a step of 1", lambda start: day_to_day(ORDER, HOURS, spell=begin_spell("sauna", start), step=5)),
]  # fmt: skip


@pytest.mark.parametrize(
    ("value", "error", "words", "ask"), [(value, *row) for values, *row in REFUSED for value in values]
)
def test_what_cannot_be_computed_is_refused_in_a_sentence(value, error, words, ask):
    with pytest.raises(error, match=words):
        ask(value)


def test_a_spell_that_changes_on_the_steps_is_followed():
    assert day_to_day(ORDER, HOURS, spell=begin_spell("sauna", 35), step=5, draws=2).clear.shape[0] == 2


def test_a_single_hour_at_the_start():
    assert curves_of(8, 20, [0]).total.tolist() == [0]


def test_what_a_person_does_with_the_hours_spoils_no_other_curve():
    ours = HOURS.copy()
    first = curves_of(8, 20, ours)
    first.hours[:] = 0
    ours[:] = 5
    np.testing.assert_array_equal(curves_of(8, 20).total, first.total)
    with pytest.raises(ValueError, match="read-only"):
        grid(24 * 60).hours[0] = 1
