"""Every figure of every study beside the model's: the misses are asserted as misses, with their sizes.

Study values read unless said; model values computed outside this package, by an independent coding of the published equations,
for the doses of the studies at 70 kg. A model that moves, for better or worse, turns this red.
"""

import re
import sys
from dataclasses import replace

import pytest

from mixlab.care.action.absorption import NoModel
from mixlab.care.action.studies import compare_with_model, misses, scoreboard
from mixlab.care.action.study_questions import MODEL_FIGURES
from mixlab.facts.reading import the_facts
from mixlab.figures.action.study_table import scoreboard_table
from mixlab.quantities import NotAnAmount

FACTS = the_facts()


def around(value, error, people):
    """The ends of one SD, from a standard error of the mean."""
    return value - error * people**0.5, value + error * people**0.5


# key: the study's low and high, the model's value, how far outside (0: inside), tolerance of the two model figures
FIGURES = {
    # Woodworth, Diabetes Care 1994;17:64: 10 regular 0.75 / 2 / 6 h, our tolerance 0.25 / 0.5 / 1 h
    "woodworth-regular-onset": (0.5, 1, 0.57, 0, 0.01),
    "woodworth-regular-peak": (1.5, 2.5, 2.24, 0, 0.01),
    "woodworth-regular-end": (5, 7, 6.8, 0, 0.05),
    # the same, 25 NPH: 3 / 6–7 / 13 h; onset early, end far too long
    "woodworth-nph-onset": (2.5, 3.5, 1.57, -0.93, 0.01),
    "woodworth-nph-peak": (6, 7, 6.49, 0, 0.01),
    "woodworth-nph-end": (12, 14, 19.9, 5.9, 0.05),
    # Diabete Metab 1992;18:21, U-100 arm, 12 regular: 114 ± 58 min, 285 ± 62 pmol/L, 169 ± 39 min
    "diabete-metab-plasma-peak": (56 / 60, 172 / 60, 88 / 60, 0, 0.02),
    "diabete-metab-level": (223, 347, 290, 0, 1),
    "diabete-metab-peak": (130 / 60, 208 / 60, 139 / 60, 0, 0.02),
    # Joseph 1998, PMID 9839100 (author recalled), 7 regular + 14 NPH: 2.0 ± 0.4 h, 209 ± 51 min, 400 ± 78 min
    "joseph-plasma-peak": (1.6, 2.4, 1.53, -0.07, 0.01),
    "joseph-peak": (158 / 60, 260 / 60, 155 / 60, -3 / 60, 0.02),
    "joseph-half-height": (322 / 60, 478 / 60, 463 / 60, 0, 0.02),
    # Heinemann, Diabet Med 1989;6:239, 12 NPH: 3–4.5 h, 5–7 h, nothing after 17 h, + 8 mU/L (our tolerance a half)
    "heinemann-1989-plasma-peak": (3, 4.5, 4.20, 0, 0.01),
    "heinemann-1989-peak": (5, 7, 5.16, 0, 0.01),
    "heinemann-1989-17-h": (0, 0.42, 0.21, 0, 0.01),
    "heinemann-1989-level": (4, 12, 16, 4, 0.5),
    # the same: the level back by 16 h (our tolerance a quarter of the rise, 2 mU/L), action within 19 h
    "heinemann-1989-16-h": (0, 2, 3.0, 1.0, 0.05),
    "heinemann-1989-end": (0, 19, 12.45, 0, 0.05),
    # Diabetes Care 1990;13:74, NPH, dose unknown: T50 10.3 h, people differ by 50 %; 0.18 · 20 + 4.9. Within one person 18.4 %, our
    # tolerance 5 points, where the fan is drawn with 25 %
    "muscle-study-t50": (5.15, 15.45, 8.5, 0, 1e-9),
    "muscle-study-variation": (13.4, 23.4, 25, 1.6, 1e-9),
    # Lepore, Diabetes 2000;49:2142, 21 NPH: 0.8 ± 0.2, 4.5 ± 0.5, 14 ± 3 h, SE of 20 people: one SD is that times √20
    "lepore-onset": (0, 0.8 + 0.2 * 20**0.5, 1.59, 0, 0.01),
    "lepore-peak": (*around(4.5, 0.5, 20), 6.08, 0, 0.01),
    "lepore-end": (*around(14, 3, 20), 17.7, 0, 0.05),
    # Plank, Diabetes Care 2005;28:1107 (authors recalled), 21 NPH: 12.7 h, our tolerance 1 h
    "plank-end": (11.7, 13.7, 17.7, 4.0, 0.05),
    # Lucidi, Diabetes Care 2015;38:2204, 24.5 NPH: 11.8 ± 2.6 h
    "lucidi-2015-end": (9.2, 14.4, 19.65, 5.25, 0.01),
    # Heise, Diabetes 2004;53:1614, 28 NPH: about 8.3 h, our tolerance 0.5 h; the model 1.5 h before the value
    "heise-peak": (7.8, 8.8, 6.8, -1.0, 0.05),
    # Henriksen, Diabet Med 1991;8:453 (authors recalled; dose unknown): 9.7 ± 1.2 h, where 27 NPH lie; 0.18 · 27 + 4.9
    "henriksen-t50": (8.5, 10.9, 9.76, 0, 1e-9),
    # Kolendorf, 101 people (authors recalled): lag 1.5 + half-time 7.5 ± 2.0 (lean 6.2 ± 1.9) h; 0.18 · 20 + 4.9
    "kolendorf-t50": (7, 11, 8.5, 0, 1e-9),
    "kolendorf-lean-t50": (5.8, 9.6, 8.5, 0, 1e-9),
    # Lauritzen, BMJ 1982;285:159: three times the NPH, twice absorbed; our tolerance 0.25; right way, too weak
    "lauritzen-ratio": (1.75, 2.25, 2.44, 0.19, 0.005),
    # Kang, Diabetes Care 1991;14:942 (author recalled), about 7 regular: 20.7 ± 1.9 % an hour at first, SE of 7 people
    "kang-first-hour": (*around(20.7, 1.9, 7), 19, 0, 0.5),
    # Frid, Diabet Med 1992;9:236 (author recalled), 5 regular: 36 ± 4, 49 ± 5, 54 ± 2 % left; thigh 62 ± 4; SE of 9 people; the model faster
    "frid-abdomen-1": (*around(36, 4, 9), 31, 0, 0.5),
    "frid-abdomen-2": (*around(49, 5, 9), 31, -3, 0.5),
    "frid-abdomen-3": (*around(54, 2, 9), 31, -17, 0.5),
    "frid-thigh": (*around(62, 4, 9), 50.1, 0, 0.05),
    # Roy, J Clin Endocrinol Metab 1980 (authors recalled): ranges of 15 treated people; 8 and 20 units
    "roy-regular-onset": (0.5, 2, 0.609, 0, 0.02),
    "roy-regular-peak": (4, 8, 2.175, -1.825, 0.02),
    "roy-regular-end": (9, 24, 6.139, -2.861, 0.02),
    "roy-nph-onset": (1, 7, 1.598, 0, 0.02),
    "roy-nph-peak": (5, 19, 5.979, 0, 0.02),
    "roy-nph-end": (20, 29, 17.176, -2.824, 0.02),
    # obese volunteers, PMID 21994429: 18.3 h after 100 units of U-100, our tolerance 1 h; 105 kg
    "obese-100-end": (17.3, 19.3, 23.97, 4.67, 0.01),
    # J Clin Endocrinol Metab 1986;63:689, 14 regular, upper arm: SEM of 10 people
    # 0.5 ± 0.1, 4.3 ± 0.2, 7.7 ± 0.2; 0.6 ± 0.1, 4.7 ± 0.2, 9.1 ± 0.3 h
    "jcem-130-onset": (*around(0.5, 0.1, 10), 0.67, 0, 0.01),
    "jcem-130-peak": (*around(4.3, 0.2, 10), 2.84, -0.83, 0.01),
    "jcem-130-end": (*around(7.7, 0.2, 10), 8.98, 0.65, 0.01),
    "jcem-276-onset": (*around(0.6, 0.1, 10), 0.67, 0, 0.01),
    "jcem-276-peak": (*around(4.7, 0.2, 10), 2.84, -1.23, 0.01),
    "jcem-276-end": (*around(9.1, 0.3, 10), 8.98, 0, 0.01),
    # Heinemann, Diabet Med 1993;10:535, 10.5 regular: half of the effect at 58 ± 25 min, 42 % of it at 60 min
    "heinemann-1993-half-height": (33 / 60, 83 / 60, 1.009, 0, 0.01),
    "heinemann-1993-first-hour": (32, 52, 49.3, 0, 0.1),
    # Heinemann, Diabetes Care 1998;21:1910, 14 regular within a person: 15 ± 7, 14 ± 10, 19 ± 9 %
    "heinemann-1998-peak": (8, 22, 17, 0, 3),
    "heinemann-1998-peak-time": (4, 24, 14, 0, 3),
    "heinemann-1998-late-half": (10, 28, 14, 0, 3),
    # Heise 2004, 28 NPH within a person: 46, 59 and 68 %, our tolerance 10 points; the fan was chosen for the middle one
    "heise-variation-peak": (36, 56, 59, 3, 3),
    "heise-variation-12-h": (49, 69, 56, 0, 3),
    "heise-variation-24-h": (58, 78, 54.5, -3.5, 3),
    # Diabetic Medicine 1990, 8 soluble: T50 207 ± 30 min healthy (n 12), 224 ± 73 type 1; the model 0.05 · 8 + 1.7 = 2.1 h, early
    "soluble-8-t50": (177 / 60, 237 / 60, 2.1, -0.85, 1e-9),
    "soluble-8-t50-type-1": (151 / 60, 297 / 60, 2.1, -0.4167, 1e-3),
    # Crossover of U-40 and U-100 in 18 people: highest level 15 regular 2.4 ± 1.0, 20 NPH 5.3 ± 4.6, 20 of 25/75 3.2 ± 4.2 h
    "crossover-regular-plasma-peak": (1.4, 3.4, 1.55, 0, 0.02),
    "crossover-nph-plasma-peak": (0.7, 9.9, 5.03, 0, 0.02),
    "crossover-mixture-plasma-peak": (0, 7.4, 1.55, 0, 0.02),
    # Within-person study, type 1, 0.1 regular units/kg: greatest action 154 ± 74, highest level 97 ± 39 min
    "within-subject-peak": (80 / 60, 228 / 60, 2.14, 0, 0.01),
    "within-subject-plasma-peak": (58 / 60, 136 / 60, 1.32, 0, 0.01),
    # Roy 1980: free insulin after regular highest at 2.7 h (1–4)
    "roy-regular-plasma-peak": (1, 4, 1.345, 0, 0.02),
    # Diabetologia 1994;37:377, 0.15 regular units/kg: from 36 to 116 ± 37 at 30 min and 128 ± 35 pmol/L at 45 min; the model's
    # rise is 1.6 and 2.1 times that
    "diabetologia-30-min": (43, 117, 1.6 * 80, 1.6 * 80 - 117, 4),
    "diabetologia-45-min": (57, 127, 2.1 * 92, 2.1 * 92 - 127, 4),
    # Henriksen 1991, NPH, dose unknown: 5.1 ± 0.3 abdomen, 5.2 ± 0.3 % an hour thigh; by hand F(13.5) - F(1.5) with T50 9.76 and 10.25 h
    "henriksen-rate-abdomen": (4.8, 5.4, 5.28, 0, 0.01),
    "henriksen-rate-thigh": (4.9, 5.5, 5.11, 0, 0.01),
}

# Ends at the line of the fasting need, 0.0125 units/kg/h (Lepore 2000): the model's hour, and whether inside the study's spread
AT_NEED = {
    "woodworth-regular-end": (5.15, True),
    "woodworth-nph-end": (13.9, True),
    "lepore-end": (12.2, True),
    "plank-end": (12.2, True),
    "lucidi-2015-end": (13.7, True),
    "roy-regular-end": (4.591, False),
    "roy-nph-end": (11.783, False),
    "heinemann-1989-end": (7.75, True),
    "obese-100-end": (18.32, True),
    "jcem-130-end": (6.79, False),
    "jcem-276-end": (6.79, False),
}

STUDIES = {
    "woodworth-1994", "diabete-metab-1992", "joseph-1998", "heinemann-1989", "lepore-2000", "plank-2005", "lucidi-2015", "heise-2004",
    "henriksen-1991", "kolendorf", "kang-1991", "frid-1992", "roy-1980", "obese-volunteers", "jcem-1986", "heinemann-1993",
    "lauritzen-1982", "heinemann-1998", "diabet-med-1990", "strengths-crossover", "within-subject", "diabetologia-1994", "diabetes-care-1990",
}  # fmt: skip


def by_key():
    return dict(zip(FACTS.trials, scoreboard(), strict=True))


def test_the_scoreboard_prints_every_figure_with_its_study():
    table = scoreboard_table()
    sys.stdout.write(f"\n{table}\n")
    assert len(re.findall(r"^ {4}.* model (?:\d|none)", table, re.MULTILINE)) == len(FIGURES) + len(AT_NEED)
    assert table.count("OUTSIDE by") == len(misses())
    assert table.startswith(f"{len(FIGURES) - len(misses())} of {len(FIGURES)} figures")
    assert all(str(FACTS.cite(trial)) in table.splitlines() for trial in FACTS.trials.values())


def test_every_study_is_in_it():
    assert {trial.source for trial in FACTS.trials.values()} == STUDIES
    assert set(FIGURES) == set(FACTS.trials)


@pytest.mark.parametrize("key", FIGURES)
def test_each_figure(key):
    low, high, value, off, tolerance = FIGURES[key]
    row = by_key()[key]
    assert (row.trial.low, row.trial.high) == (pytest.approx(low, abs=1e-4), pytest.approx(high, abs=1e-4))
    assert row.model == pytest.approx(value, abs=tolerance)
    assert row.off == pytest.approx(off, abs=tolerance if off else 0)


# Values that are not the middle of their spread: the means of Roy 1980 in their ranges, nothing after 17 h, and what would begin before 0
OFF_CENTER = {
    "lepore-onset": 0.8,
    "crossover-mixture-plasma-peak": 3.2,
    "roy-regular-plasma-peak": 2.7,
    "roy-regular-onset": 1.2,
    "roy-regular-peak": 5.7,
    "roy-regular-end": 16.2,
    "roy-nph-onset": 2.4,
    "roy-nph-peak": 11.0,
    "roy-nph-end": 25.1,
    "heinemann-1989-17-h": 0,
    "heinemann-1989-16-h": 0,
    "heinemann-1989-end": 19,
}


def test_every_other_value_is_the_middle_of_its_spread():
    for key, (low, high, *_) in FIGURES.items():
        assert FACTS.trials[key].value == pytest.approx(OFF_CENTER.get(key, (low + high) / 2), abs=1e-3), key


def test_the_misses_are_these_and_no_others():
    assert {key for key, row in by_key().items() if not row.inside} == {key for key, row in FIGURES.items() if row[3]}
    assert misses() == tuple(row for key, row in by_key().items() if FIGURES[key][3])


def test_ends_at_the_fasting_need():
    ends = {key: row for key, row in by_key().items() if row.trial.moment == "end"}
    assert set(ends) == set(AT_NEED)
    for key, (hour, inside) in AT_NEED.items():
        assert ends[key].at_need == pytest.approx(hour, abs=0.05), key
        assert ends[key].inside_at_need is inside, key
    assert all(row.at_need is None for key, row in by_key().items() if key not in ends)


def test_the_clamps_of_nph_end_at_the_need_and_not_at_the_marker():
    """No single marker fits every study: all clamps of NPH are long by the marker, and inside by the need."""
    clamps = [by_key()[key] for key in ("woodworth-nph-end", "lepore-end", "plank-end", "lucidi-2015-end")]
    assert [row.model > row.trial.value for row in clamps] == [True] * 4
    assert [row.inside_at_need for row in clamps] == [True] * 4


def test_standard_deviations_are_counted_where_the_spread_is_one():
    """Diabete Metab 1992: all within 1 SD, the model early (88 − 114)/58, (139 − 169)/39 and high (290 − 285)/62."""
    counted = {key: row.deviations for key, row in by_key().items() if row.deviations is not None}
    assert set(counted) == {key for key, trial in FACTS.trials.items() if trial.spread in ("SD", "SE", "SEM")}
    assert counted["diabete-metab-plasma-peak"] == pytest.approx(-0.45, abs=0.02)
    assert counted["diabete-metab-level"] == pytest.approx(0.08, abs=0.02)
    assert counted["diabete-metab-peak"] == pytest.approx(-0.77, abs=0.02)
    assert counted["lepore-end"] == pytest.approx((17.7 - 14) / (3 * 20**0.5), abs=0.02)


def test_a_line_says_study_model_verdict_and_source():
    assert str(by_key()["lepore-end"]) == (
        "21 units of NPH, end: study 14 h (0.58–27.4, one SD, from SE × √20); model 17.7; inside (0.28 SD "
        "from the study); at the fasting need 12.2, inside. Lepore, Diabetes 2000;49:2142 (read)."
    )
    assert str(by_key()["diabete-metab-peak"]).startswith(
        "12 units of regular, peak: study 2.82 h (2.17–3.47, one SD); model 2.31; inside (0.78 SD from the study). Diabete"
    )
    assert str(by_key()["joseph-peak"]).startswith("7 + 14 units of regular + NPH, peak: ")
    assert str(by_key()["lauritzen-ratio"]).startswith("18 and 54 units of NPH, 24-hour ratio: study 2 times (")
    assert str(by_key()["frid-thigh"]).startswith("5 units of regular, thigh, left at 175 min: ")
    assert "OUTSIDE by 3.11 points, too low (1.21 SD" in str(by_key()["frid-abdomen-2"])
    assert "too early" in str(by_key()["jcem-130-peak"])
    assert "too long" in str(by_key()["plank-end"])
    assert "too high" in str(by_key()["heinemann-1989-level"])
    assert "too short" in str(by_key()["roy-nph-end"])


def test_an_action_that_never_gets_there_is_a_miss():
    never = compare_with_model(replace(FACTS.trials["lepore-end"], units=(2,)))
    assert (never.model, never.at_need, never.off) == (None, None, None)
    assert (never.inside, never.inside_at_need) == (False, False)
    assert "model none; OUTSIDE: never reached; at the fasting need none, OUTSIDE" in str(never)


def test_each_moment_is_measured_by_a_study_and_read_off_the_model():
    assert {trial.moment for trial in FACTS.trials.values()} == set(MODEL_FIGURES)


def test_what_cannot_be_compared():
    row = FACTS.trials["lepore-end"]
    with pytest.raises(NoModel, match="no insulin syringe here holds more"):
        compare_with_model(replace(row, units=(500,)))
    with pytest.raises(NoModel, match="knows no injection site 'ear'"):
        compare_with_model(replace(row, body_site="ear"))
    with pytest.raises(NotAnAmount, match="Enter the body weight"):
        compare_with_model(replace(row, weight_kg=-70))
    with pytest.raises(ValueError, match="must lie between"):
        replace(row, spread="range", plus_minus=None, n=None, ends=(15, 17))
    with pytest.raises(ValueError, match="two for a mixture and for a ratio"):
        replace(row, insulin="mixture")
