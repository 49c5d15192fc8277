"""The action model against an independent solver, handbooks and clamp studies; its misses are asserted as misses.

Form and absorption numbers: Berger and Rodbard, Diabetes Care 1989;12:725-736 (recalled). Delays: Hovorka, Physiol Meas
2004;25:905 (recalled) and Berman, Diabetes Care 1980;3:266 (read). Check values were computed outside this package, by two
independent codings of the published equations.
"""

from dataclasses import dataclass
from functools import cache

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from mixlab.care.action.absorption import absorbed_fraction, added_plasma_level, half_time
from mixlab.care.action.curves import action_curves, follow_portion
from mixlab.care.action.injection import Portion
from mixlab.facts.shelf import shelf
from mixlab.ward.insulin import insulins
from mixlab.ward.order.order import Dose, Order

GRID = np.arange(72 * 60 + 1) / 60


def followed(dose, minutes):
    portion = Portion(insulin=dose.insulin, units=dose.units, depot_units=dose.units)
    return follow_portion(portion, minutes)


@dataclass(frozen=True)
class Part:
    """One curve of a set: clear, cloudy or total, with everything that leads to it."""

    curves: object
    name: str
    weight: float
    depots: tuple

    @property
    def action(self):
        return sum(depot.action for depot in self.depots)

    @property
    def removal(self):
        return sum(depot.removal for depot in self.depots)


@cache
def part(clear, cloudy, weight, name):
    doses = {"clear": Dose(insulin=insulins()["regular"], units=clear)}
    doses["cloudy"] = Dose(insulin=insulins()["nph"], units=cloudy)
    curves = action_curves(Order(doses=tuple(doses.values())), GRID, weight_kg=weight)
    kept = doses.values() if name == "total" else [doses[name]]
    return Part(curves, name, weight, tuple(followed(each, 72 * 60) for each in kept))


SETS = {"8 regular + 20 NPH, 70 kg": (8, 20, 70), "14 regular + 26 NPH, 82 kg": (14, 26, 82)}
COLUMNS = [(*numbers, name) for numbers in SETS.values() for name in ("clear", "cloudy", "total")]


def top_hour(curve):
    """Return the hour of the greatest value, by a parabola through three points."""
    i = int(np.argmax(curve))
    before, at, after = curve[i - 1 : i + 2]
    return (i + (before - after) / (before - 2 * at + after) / 2) / 60


def crossings(curve, level):
    """Return the first hour at and the last hour above a level, straight between the minutes."""
    above = np.flatnonzero(curve >= level)
    if not len(above):
        return None, None
    i, j = above[0], above[-1]
    first = (i - 1 + (level - curve[i - 1]) / (curve[i] - curve[i - 1])) / 60
    return first, (j + (level - curve[j]) / (curve[j + 1] - curve[j])) / 60


def area(curve, until):
    n = until * 60 + 1
    return np.trapezoid(curve[:n], GRID[:n])


BASAL = shelf().action["basal_units_per_kg_h"].value
MEASURES = {
    "plasma peak, h": lambda p: top_hour(p.removal),
    "added Cmax, mU/L": lambda p: added_plasma_level(p.removal, p.weight).max(),
    "onset, h": lambda p: p.curves.onset(p.name),
    "action peak, h": lambda p: p.curves.peak(p.name),
    "peak rate, units/h": lambda p: p.curves.peak_rate(p.name),
    "end, h": lambda p: p.curves.end(p.name),
    "above basal from, h": lambda p: crossings(p.action, BASAL * p.weight)[0],
    "above basal to, h": lambda p: crossings(p.action, BASAL * p.weight)[1],
    "half height from, h": lambda p: crossings(p.action, p.action.max() / 2)[0],
    "half height to, h": lambda p: crossings(p.action, p.action.max() / 2)[1],
    "tenth of peak from, h": lambda p: crossings(p.action, p.action.max() / 10)[0],
    "tenth of peak to, h": lambda p: crossings(p.action, p.action.max() / 10)[1],
    "acted by 4 h, units": lambda p: area(p.action, 4),
    "acted by 24 h, units": lambda p: area(p.action, 24),
}
# computed outside this package on a grid of one minute: R, N, sum for 8 + 20; R, N, sum for 14 + 26; tolerance
CHECK_VALUES = {
    "plasma peak, h": (1.345, 5.031, 1.575, 1.517, 5.654, 1.707, 0.02),
    "added Cmax, mU/L": (35.28, 21.96, 45.37, 46.21, 21.63, 56.06, 0.05),
    "onset, h": (0.609, 1.598, 0.565, 0.566, 1.732, 0.536, 0.02),
    "action peak, h": (2.175, 5.979, 2.667, 2.376, 6.595, 2.733, 0.02),
    "peak rate, units/h": (1.9446, 1.4903, 2.7021, 3.0896, 1.7283, 3.9428, 0.005),
    "end, h": (6.139, 17.176, 17.462, 7.485, 19.091, 19.531, 0.02),
    "above basal from, h": (0.910, 2.696, 0.828, 0.826, 2.958, 0.773, 0.02),
    "above basal to, h": (4.591, 11.783, 12.204, 5.725, 13.024, 13.662, 0.02),
    "half height from, h": (0.97, 2.37, 1.08, 1.06, 2.57, 1.14, 0.02),
    "half height to, h": (4.37, 12.96, 9.06, 4.77, 14.44, 8.40, 0.02),
    "tenth of peak from, h": (0.42, 0.89, 0.46, 0.46, 0.95, 0.48, 0.02),
    "tenth of peak to, h": (7.92, 25.98, 20.94, 8.73, 29.09, 21.44, 0.02),
    "acted by 4 h, units": (5.227, 2.382, 7.609, 8.363, 2.511, 10.873, 0.005),
    "acted by 24 h, units": (7.934, 17.597, 25.531, 13.849, 22.158, 36.007, 0.01),
}


@pytest.mark.parametrize("column", range(6), ids=[f"{c}+{n}, {w} kg, {name}" for c, n, w, name in COLUMNS])
@pytest.mark.parametrize("quantity", CHECK_VALUES)
def test_check_values(quantity, column):
    *values, tolerance = CHECK_VALUES[quantity]
    assert MEASURES[quantity](part(*COLUMNS[column])) == pytest.approx(values[column], abs=tolerance)


# computed; columns: insulin, dose, T50, closed absorption peak, greatest absorption, F at 4, 12 and 24 h
ABSORPTION = [
    ("regular", 8, 2.10, 1.21244, 2.47436, 0.78393, 0.97029, 0.992402),
    ("nph", 20, 8.50, 4.90748, 1.52828, 0.18130, 0.66590, 0.888546),
    ("regular", 14, 2.40, 1.38564, 3.78886, 0.73529, 0.96154, 0.990099),
    ("nph", 26, 9.58, 5.53102, 1.76279, 0.14846, 0.61075, 0.862564),
]


@pytest.mark.parametrize(("key", "units", "t50", "peak", "most", "f4", "f12", "f24"), ABSORPTION)
def test_absorption_check_values(key, units, t50, peak, most, f4, f12, f24):
    row = shelf().absorption[key]
    ours = half_time(units, row)
    assert ours == pytest.approx(t50, abs=1e-12)
    assert ours / np.sqrt(3) == pytest.approx(peak, abs=1e-5)
    depot = followed(Dose(insulin=insulins()[key], units=units), 24 * 60)
    assert GRID[np.argmax(depot.absorption)] == pytest.approx(peak, abs=1 / 60)
    assert depot.absorption.max() == pytest.approx(most, abs=1e-4)
    at_4, at_12, at_24 = absorbed_fraction(np.array([4.0, 12.0, 24.0]), ours, row.s)
    assert (at_4, at_12) == (pytest.approx(f4, abs=1e-5), pytest.approx(f12, abs=1e-5))
    assert at_24 == pytest.approx(f24, abs=1e-6)
    assert area(depot.absorption, 24) == pytest.approx(units * f24, rel=1e-3)


@pytest.mark.parametrize(("weight", "marker", "basal"), [(70, 0.42, 0.875), (82, 0.492, 1.025)])
def test_marker_and_basal_line(weight, marker, basal):
    """Marker 0.006 units/kg/h (computed from Rizza 1981 and Woodworth 1994); basal 0.0125 (Lepore 2000, read)."""
    assert part(8, 20, weight, "total").curves.marker == pytest.approx(marker, rel=1e-12)
    assert weight * BASAL == pytest.approx(basal, rel=1e-12)


# computed; A in units/h at each hour: R, N, sum for 8 + 20 and for 14 + 26
SAMPLES = {
    1: (1.013, 0.186, 1.199, 1.417, 0.190, 1.607),
    2: (1.927, 0.591, 2.518, 2.977, 0.612, 3.589),
    3: (1.686, 0.987, 2.674, 2.869, 1.042, 3.911),
    4: (1.148, 1.280, 2.428, 2.108, 1.384, 3.492),
    6: (0.448, 1.490, 1.938, 0.910, 1.713, 2.623),
    8: (0.188, 1.356, 1.544, 0.403, 1.661, 2.064),
    12: (0.051, 0.850, 0.901, 0.114, 1.155, 1.269),
    24: (0.006, 0.184, 0.190, 0.013, 0.285, 0.298),
}


@pytest.mark.parametrize("hour", SAMPLES)
def test_samples_of_the_action(hour):
    ours = [getattr(part(*column).curves, column[3])[hour * 60] for column in COLUMNS]
    np.testing.assert_allclose(ours, SAMPLES[hour], rtol=0, atol=0.002)


@pytest.mark.parametrize(("key", "units"), [("regular", 8), ("regular", 14), ("nph", 20), ("nph", 26)])
def test_an_independent_solver_agrees(key, units):
    """The equations as an ODE, solved by scipy's solve_ivp: 3e-4 units/h over 48 h."""
    row, action = shelf().absorption[key], shelf().action
    ke, ke0 = action["plasma_rate_per_h"].value, action["effect_rate_per_h"].value
    t50, s = row.hours_per_unit * units + row.hours, row.s

    def slope(t, y):
        x = t / t50
        absorbed = units * s / t50 * x ** (s - 1) / (1 + x**s) ** 2
        return [ke * (absorbed - y[0]), ke0 * (y[0] - y[1])]

    hours = GRID[: 48 * 60 + 1]
    solved = solve_ivp(slope, (0, 48), [0, 0], t_eval=hours, rtol=1e-10, atol=1e-12, max_step=0.25)
    depot = followed(Dose(insulin=insulins()[key], units=units), 48 * 60)
    assert np.abs(depot.removal - solved.y[0]).max() < 3e-4
    assert np.abs(depot.action - solved.y[1]).max() < 3e-4


@pytest.mark.parametrize("hour", [1, 4, 12, 24])
@pytest.mark.parametrize(("key", "units"), [("regular", 8), ("regular", 14), ("nph", 20), ("nph", 26)])
def test_the_storage_identity(key, units, hour):
    """D·F(t) = ∫A + A(t)/ke0 + P(t)/ke, exact in the equations (computed): 5e-4 units."""
    row, action, i = shelf().absorption[key], shelf().action, hour * 60
    depot = followed(Dose(insulin=insulins()[key], units=units), 24 * 60)
    stored = depot.action[i] / action["effect_rate_per_h"].value + depot.removal[i] / action["plasma_rate_per_h"].value
    absorbed = units * absorbed_fraction(np.array([float(hour)]), half_time(units, row), row.s)[0]
    assert area(depot.action, hour) + stored == pytest.approx(absorbed, abs=5e-4)


@pytest.mark.parametrize(("numbers", "hour"), list(zip(SETS.values(), (3.83, 4.75), strict=True)), ids=SETS)
def test_one_hump_and_a_shoulder(numbers, hour):
    """Many teaching pictures draw two humps (recalled), and a handbook lists two peaks for 70/30 (Am Fam Physician
    2009;79:29, read); the model's sum has one. NPH overtakes regular at the hour given (computed; 1/60 h)."""
    curves = part(*numbers, "total").curves
    rises = np.diff(curves.total) > 0
    assert np.count_nonzero(rises[:-1] & ~rises[1:]) == 1
    overtaken = np.flatnonzero(curves.cloudy[60:] > curves.clear[60:])[0] / 60 + 1
    assert overtaken == pytest.approx(hour, abs=1.5 / 60)


# computed at 70 kg: units, onset, peak, peak rate, end (None: never reached)
BY_DOSE = {
    "regular": [
        (2, 1.24, 1.97, 0.54, 3.0),
        (4, 0.80, 2.04, 1.04, 4.5),
        (20, 0.49, 2.57, 4.04, 9.4),
        (40, 0.48, 3.19, 6.28, 14.1),
    ],
    "nph": [
        (2, None, None, 0.23, None),
        (5, 2.74, 4.43, 0.53, 6.8),
        (14, 1.70, 5.36, 1.19, 13.7),
        (40, 1.59, 8.03, 2.12, 27.8),
        (60, 1.70, 10.09, 2.46, 38.0),
    ],
}


@pytest.mark.parametrize(("key", "row"), [(key, row) for key, rows in BY_DOSE.items() for row in rows])
def test_what_the_model_gives_by_dose(key, row):
    units, *expected = row
    name = "clear" if key == "regular" else "cloudy"
    curves = part(*((units, 20) if name == "clear" else (8, units)), 70, name).curves
    ours = [curves.onset(name), curves.peak(name), curves.peak_rate(name), curves.end(name)]
    for mine, value, tolerance in zip(ours, expected, (0.011, 0.011, 0.006, 0.06), strict=True):
        assert mine is None if value is None else mine == pytest.approx(value, abs=tolerance)


# Handbook bands in h. Regular: NIDDK 2009, insert C (read). NPH: CDC, types of insulin (recalled).
BANDS = {
    "clear": {"onset": (0.5, 1), "peak": (2, 4), "end": (5, 8)},
    "cloudy": {"onset": (1, 3), "peak": (4, 12), "end": (12, 18)},
}
BAND_MISSES = {("14 regular + 26 NPH, 82 kg", "cloudy", "end")}  # 19.1 h, beyond 18: a known miss of the model


@pytest.mark.parametrize("moment", ["onset", "peak", "end"])
@pytest.mark.parametrize("name", BANDS)
@pytest.mark.parametrize("numbers", SETS)
def test_handbook_bands(numbers, name, moment):
    low, high = BANDS[name][moment]
    ours = getattr(part(*SETS[numbers], name).curves, moment)(name)
    assert (low <= ours <= high) is ((numbers, name, moment) not in BAND_MISSES)


def model(key, units, what):
    """Return one number of the model at 70 kg for a study dose."""
    name = "clear" if key == "regular" else "cloudy"
    p = part(*((units, 20) if name == "clear" else (8, units)), 70, name)
    levels = {"basal end": lambda: crossings(p.action, BASAL * 70)[1], "plasma peak": lambda: top_hour(p.removal)}
    levels["added Cmax"] = lambda: added_plasma_level(p.removal, 70).max()
    levels["T50"] = lambda: half_time(units, shelf().absorption[key])
    levels["absorbed by 1 h, %"] = lambda: 100 * absorbed_fraction(np.array([1.0]), levels["T50"](), 2.0)[0]
    levels["left at 175 min, %"] = lambda: 100 - 100 * absorbed_fraction(np.array([175 / 60]), levels["T50"](), 2.0)[0]
    levels["action at 17 h"] = lambda: p.action[17 * 60]
    return float(levels[what]() if what in levels else getattr(p.curves, what)(name))


# Clamp and tracer studies (study values read unless said; model values computed): source, insulin, units at 70 kg, what is
# compared, the model's value, the band of the study, and whether the model lies inside it. Doses of studies, not orders.
WOODWORTH, LEPORE = "Woodworth, Diabetes Care 1994;17:64", "Lepore, Diabetes 2000;49:2142"
HEINEMANN, LUCIDI = "Heinemann, Diabet Med 1989;6:239", "Lucidi, Diabetes Care 2015;38:2204"
PLANK = "Plank, Diabetes Care 2005;28:1107 (authors recalled)"
FRENCH = "Diabete Metab 1992;18:21, U-100 arm"
KOLENDORF = "Kolendorf, tracer (authors recalled)"
FRID = "Frid, Diabet Med 1992;9:236 (author recalled)"
STUDIES = [
    (WOODWORTH, "regular", 10, "onset", 0.57, (0.50, 1.00), True),  # 0.75; our tolerance 0.25 h
    (WOODWORTH, "regular", 10, "peak", 2.24, (1.5, 2.5), True),  # 2; our tolerance 0.5 h
    (WOODWORTH, "regular", 10, "end", 6.8, (5.0, 7.0), True),  # 6; our tolerance 1 h
    (WOODWORTH, "nph", 25, "onset", 1.57, (2.5, 3.5), False),  # 3; our tolerance 0.5 h; the model is early
    (WOODWORTH, "nph", 25, "peak", 6.49, (6, 7), True),
    (WOODWORTH, "nph", 25, "end", 19.9, (12, 14), False),  # 13; our tolerance 1 h; far too long
    (WOODWORTH, "nph", 25, "basal end", 13.9, (12, 14), True),  # by a line chosen after seeing the studies
    (FRENCH, "regular", 12, "plasma peak", 88 / 60, (56 / 60, 172 / 60), True),  # 114 ± 58 min
    (FRENCH, "regular", 12, "peak", 139 / 60, (130 / 60, 208 / 60), True),  # 169 ± 39 min
    (HEINEMANN, "nph", 12, "plasma peak", 4.20, (3, 4.5), True),
    (HEINEMANN, "nph", 12, "peak", 5.16, (5, 7), True),
    (HEINEMANN, "nph", 12, "action at 17 h", 0.21, (0, 0.42), True),  # nothing significant after 17 h
    (
        HEINEMANN,
        "nph",
        12,
        "added Cmax",
        16,
        (4, 12),
        False,
    ),  # + 8 mU/L, our tolerance a half; the model has twice that
    (LEPORE, "nph", 21, "onset", 1.59, (0.6, 1.0), False),  # 0.8 ± 0.2: the model is late
    (LEPORE, "nph", 21, "peak", 6.08, (4.0, 5.0), False),  # 4.5 ± 0.5: the model is late
    (LEPORE, "nph", 21, "end", 17.7, (11, 17), False),  # 14 ± 3: too long
    (LEPORE, "nph", 21, "basal end", 12.2, (11, 17), True),
    (PLANK, "nph", 21, "basal end", 12.2, (11.7, 13.7), True),  # 12.7; our tolerance 1 h
    (PLANK, "nph", 21, "end", 17.7, (11.7, 13.7), False),
    (LUCIDI, "nph", 24.5, "basal end", 13.7, (9.2, 14.4), True),  # 11.8 ± 2.6
    (LUCIDI, "nph", 24.5, "end", 19.7, (9.2, 14.4), False),
    (
        "Heise, Diabetes 2004;53:1614",
        "nph",
        28,
        "peak",
        6.8,
        (7.8, 8.8),
        False,
    ),  # about 8.3, our tolerance 0.5 h; 1.5 h early
    ("Henriksen, Diabet Med 1991;8:453 (authors recalled)", "nph", 27, "T50", 9.76, (8.5, 10.9), True),  # dose unknown
    (KOLENDORF, "nph", 14, "T50", 7.42, (7.0, 11.0), True),  # lag and half-time give 9.0 ± 2.0
    (KOLENDORF, "nph", 26, "T50", 9.58, (7.0, 11.0), True),
    ("Kang, Diabetes Care 1991;14:942 (author recalled)", "regular", 7, "absorbed by 1 h, %", 19, (18.8, 22.6), True),
    (FRID, "regular", 5, "left at 175 min, %", 31, (32, 56), False),  # 36 ± 4 to 54 ± 2: the model is faster
]


@pytest.mark.parametrize(
    ("key", "units", "what", "value", "band", "inside"),
    [row[1:] for row in STUDIES],
    ids=[f"{row[0]}: {row[1]} {row[2]:g}, {row[3]}: {'inside' if row[-1] else 'MISS'}" for row in STUDIES],
)
def test_clamp_studies(key, units, what, value, band, inside):
    ours = model(key, units, what)
    assert ours == pytest.approx(value, rel=0.03)
    assert (band[0] <= ours <= band[1]) is inside


def test_three_times_the_nph_is_not_three_times_the_effect():
    """Lauritzen, BMJ 1982;285:159 (read): only twice as much absorbed in 24 h. The model: 2.44, right way, too weak."""
    row = shelf().absorption["nph"]
    small, large = (units * absorbed_fraction(np.array([24.0]), half_time(units, row), row.s)[0] for units in (18, 54))
    assert large / small == pytest.approx(2.44, abs=0.01)
    assert 2 < large / small < 3


# Joseph 1998, PMID 9839100 (author recalled, values read): 0.1 regular + 0.2 NPH units/kg; what ± means is not stated.
JOSEPH = [
    ("plasma peak, h", 1.53, 2.0, 0.4, False),
    ("action peak, h", 155 / 60, 209 / 60, 51 / 60, False),
    ("half height to, h", 463 / 60, 400 / 60, 78 / 60, True),
]


@pytest.mark.parametrize(("quantity", "value", "reported", "spread", "inside"), JOSEPH, ids=[row[0] for row in JOSEPH])
def test_a_study_of_the_mixture(quantity, value, reported, spread, inside):
    """Within 1.3 of the reported spreads throughout; the two peaks lie just outside one spread, early."""
    ours = float(MEASURES[quantity](part(7, 14, 70, "total")))
    assert ours == pytest.approx(value, rel=0.02)
    assert (abs(ours - reported) <= spread) is inside
    assert abs(ours - reported) < 1.3 * spread


def test_treated_people_are_a_miss():
    """Roy, J Clin Endocrinol Metab 1980 (authors recalled, values read): regular 1.2 / 5.7 / 16.2 h, NPH 2.4 / 11.0 /
    25.1 h, likely slowed by antibodies. The model's hours for 8 + 20 units are all shorter."""
    curves = part(8, 20, 70, "total").curves
    for name, reported in (("clear", (1.2, 5.7, 16.2)), ("cloudy", (2.4, 11.0, 25.1))):
        ours = (curves.onset(name), curves.peak(name), curves.end(name))
        assert all(mine < 0.75 * theirs for mine, theirs in zip(ours, reported, strict=True))


def test_large_doses_in_obese_volunteers_are_a_miss():
    """PMID 21994429 (read): 50 and 100 units of regular act 18 to 21.5 h; the model ends 50 units at 14.3 h (105 kg)."""
    curves = part(50, 20, 105, "clear").curves
    assert curves.end("clear") == pytest.approx(14.3, abs=0.1)
    assert curves.end("clear") < 18
    assert curves.extrapolated
