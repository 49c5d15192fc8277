"""The fan of days: seeded, drawn around the model's own day, as wide as its table says, and what is refused."""

import numpy as np
import pytest

from mixlab import action_curves, read_order
from mixlab.care.action import variation
from mixlab.care.action.absorption import begin_spell
from mixlab.care.action.injection import contaminated
from mixlab.care.action.variation import DRAWS, day_to_day, factors
from mixlab.facts.reading import the_facts

HOURS = np.arange(24 * 60 + 1) / 60
ORDER = read_order("regular insulin 8 units and NPH insulin 20 units")
PARTS = ("clear", "cloudy", "total")
FAN = day_to_day(ORDER, HOURS)


def test_the_same_seed_gives_the_same_days_to_the_last_digit():
    variation._days.cache_clear()  # else the days would be remembered and not drawn
    again = day_to_day(ORDER, HOURS)
    assert again.clear is not FAN.clear
    np.testing.assert_array_equal(FAN.clear, again.clear)
    np.testing.assert_array_equal(FAN.cloudy, again.cloudy)


def test_nobody_changes_the_days_that_are_remembered():
    with pytest.raises(ValueError, match="read-only"):
        FAN.clear[0, 0] = 1


def test_a_fan_holds_so_many_days_of_each_insulin():
    assert (FAN.clear.shape, FAN.cloudy.shape) == ((DRAWS, len(HOURS)),) * 2
    assert DRAWS == 400
    few = day_to_day(ORDER, [0, 2.5, 6], draws=3)
    assert few.clear.shape == few.cloudy.shape == (3, 3)
    assert few.hours.tolist() == [0, 2.5, 6]
    assert len(np.unique(few.clear[:, 1])) == 3


def test_solving_every_ten_minutes_gives_bands_to_a_hundredth_and_days_to_a_fiftieth_of_their_peak():
    coarse, every_20_minutes = day_to_day(ORDER, HOURS, step=10), np.arange(73) / 3
    bands = [day_to_day(ORDER, every_20_minutes, step=step) for step in (1, 10)]
    for part in PARTS:
        for one, other in zip(*(fan.band(part, 5, 50, 95) for fan in bands), strict=True):
            assert 0 < np.abs(one - other).max() < 0.01 * one.max()
        fine = FAN.days(part)
        assert (np.abs(coarse.days(part) - fine).max(axis=1) < 0.02 * fine.max(axis=1)).all()


@pytest.mark.parametrize("step", [1, 7, 10])
def test_hours_off_the_grid_lie_on_a_line_between_its_times(step):
    at = np.array([0, 0.001, 1.234, 2.5, 7.77, 23.995, 24])
    grid = np.arange(-(-24 * 60 // step) + 1) * (step / 60)
    on, off = (day_to_day(ORDER, hours, draws=5, step=step) for hours in (grid[grid <= 24], at))
    whole = day_to_day(ORDER, grid, draws=5, step=step)
    np.testing.assert_allclose(on.cloudy, whole.cloudy[:, : on.cloudy.shape[1]], rtol=1e-12)
    for part in ("clear", "cloudy"):
        expected = [np.interp(at, grid, day) for day in getattr(whole, part)]
        np.testing.assert_allclose(getattr(off, part), expected, rtol=0, atol=1e-12)


@pytest.mark.parametrize("part", PARTS)
def test_the_edges_of_a_band_stand_in_order_around_the_models_own_day(part):
    low, middle, high = FAN.band(part, 5, 50, 95)
    assert (low <= middle).all()
    assert (middle <= high).all()
    assert (low[60:] < high[60:]).all()
    curve = getattr(action_curves(ORDER, HOURS), part)
    assert (low[60:] < curve[60:]).all()
    assert (curve[60:] < high[60:]).all()


def test_so_many_of_a_hundred_days_stay_below_the_edge():
    (edge,) = FAN.band("clear", 25)
    assert (FAN.clear[:, 60:] < edge[60:]).mean(axis=0) == pytest.approx(0.25, abs=0.005)
    days = FAN.clear + FAN.cloudy
    np.testing.assert_allclose(FAN.band("total", 50)[0], np.median(days, axis=0), rtol=1e-12)


def test_the_wide_width_changes_only_the_size_of_the_cloudy_insulin():
    wide = day_to_day(ORDER, HOURS, width="wide")
    np.testing.assert_array_equal(wide.clear, FAN.clear)
    assert wide.cloudy.max(axis=1).std() > 1.3 * FAN.cloudy.max(axis=1).std()
    np.testing.assert_array_equal(np.argmax(wide.cloudy, axis=1), np.argmax(FAN.cloudy, axis=1))
    rows = the_facts().variation
    assert (FAN.basis, wide.basis) == ((rows["regular"], rows["nph"]), (rows["regular"], rows["nph-wide"]))


@pytest.mark.parametrize("variation", [0.08, 0.2, 0.25, 0.28, 0.55])
def test_factors_have_mean_1_and_the_variation_asked_for(variation):
    drawn = factors(variation, np.random.default_rng(5).standard_normal(200_000))
    assert drawn.min() > 0
    assert drawn.mean() == pytest.approx(1, abs=0.005)
    assert drawn.std() == pytest.approx(variation, rel=0.03)
    assert factors(0, np.array([-2.0, 0, 3])).tolist() == [1, 1, 1]


def test_the_two_insulins_vary_independently_and_so_do_size_and_time():
    days = day_to_day(ORDER, np.arange(24 * 12 + 1) / 12, draws=4000, step=5)
    pairs = [
        (days.clear.max(axis=1), days.cloudy.max(axis=1)),
        (np.argmax(days.clear, axis=1), np.argmax(days.cloudy, axis=1)),
    ]
    assert [abs(np.corrcoef(one, other)[0, 1]) < 0.06 for one, other in pairs] == [True, True]


def test_a_spell_of_warmth_quickens_the_clear_insulin_only_and_keeps_the_draws():
    hours, spell = np.arange(24 * 12 + 1) / 12, begin_spell("sauna", 30)
    warm, plain = (day_to_day(ORDER, hours, draws=50, spell=each, step=5) for each in (spell, None))
    np.testing.assert_array_equal(warm.cloudy, plain.cloudy)
    np.testing.assert_array_equal(warm.clear[:, :7], plain.clear[:, :7])
    assert (np.argmax(warm.clear, axis=1) < np.argmax(plain.clear, axis=1)).all()
    moved = day_to_day(ORDER, hours, draws=50, spell=begin_spell("leg-exercise", 30), step=5)
    np.testing.assert_array_equal(moved.clear, plain.clear)


def test_place_and_slip_move_the_fan_as_they_move_the_curves():
    thigh = day_to_day(ORDER, HOURS, draws=50, body_site="thigh")
    here = day_to_day(ORDER, HOURS, draws=50)
    assert (np.argmax(thigh.clear, axis=1) > np.argmax(here.clear, axis=1)).all()
    none = day_to_day(ORDER, HOURS, draws=50, injection=contaminated(ORDER, 1))
    assert none.clear.max() == 0
    assert (none.cloudy.max(axis=1) > here.cloudy.max(axis=1)).all()
