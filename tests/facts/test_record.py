"""A fact cannot be built without saying who says so and how we know."""

from dataclasses import FrozenInstanceError

import pytest

from mixlab.facts.action_rows import AbsorptionRow, SpeedRow, TrialRow, VariationRow
from mixlab.facts.decision_rows import (
    AnswerRow,
    FeedbackRow,
    HowSoonRow,
    NextStepRow,
    PartRow,
    ReasonRow,
    SaidRow,
    SignClass,
)
from mixlab.facts.order_rows import ConcernRow, NotationRow, TimeWordRow
from mixlab.facts.records import (
    ActionTimes,
    AfterRow,
    ErrorRow,
    Fact,
    GlucosePair,
    InsulinRow,
    Miscibility,
    NotifyRow,
    RuleRow,
    Sign,
    Source,
    Sourced,
    Span,
    StepRow,
    SyringeRow,
    TaughtTimes,
    Threshold,
    Unsourced,
)
from mixlab.facts.site_rows import ClockTimes, LimitsRow, ListRow, MealRow, Policy, WardChoice, WordRow
from mixlab.words import Voice, sentence, speaking

PARTS = {
    Sourced: {},
    Fact: {"value": 15, "unit": "g"},
    WardChoice: {"value": "never", "choices": ("never", "always")},
    LimitsRow: {"lowest": 1, "highest": 4, "usual_low": 2, "usual_high": 3, "unit": "g"},
    WordRow: {"value": "x"},
    ListRow: {"value": ()},
    ActionTimes: {"onset": Span(low=1, high=3)},
    Miscibility: {"may_share_with": (), "why": sentence("It stands alone.")},
    SyringeRow: {"capacity_units": 30, "graduation_units": 1, "numbered_every_units": 5, "scale_length_mm": 41},
    Threshold: {"value": 70, "unit": "mg/dL", "comparison": "below"},
    NotifyRow: dict.fromkeys(("value", "times", "within_hours"), 2)
    | {"unit": "mg/dL", "comparison": "above", "do": sentence("x")},
    RuleRow: {"say": sentence("Ask.")},
    GlucosePair: {"mg_dl": 70, "mmol_l": 3.9},
    Sign: {"group": "autonomic"},
    StepRow: {"do": sentence("Wait."), "why": sentence("It settles.")},
    Policy: {"value": "never", "choices": ("never", "always")},
    ErrorRow: dict.fromkeys(("title", "dose", "patient", "vial", "do"), sentence("x"))
    | {"after": "x", "now": "fine", "breaks": ()},
    AfterRow: {"do": sentence("Tell.")},
    AbsorptionRow: {"s": 2, "hours_per_unit": 0.05, "hours": 1.7},
    NotationRow: dict.fromkeys(("title", "misread_as", "write"), sentence("x"))
    | {"pattern": "x", "example": "x", "grade": "must not", "stands_for": ()},
    ConcernRow: dict.fromkeys(("title", "misread_as", "write"), sentence("x")) | {"kind": "content"},
    TimeWordRow: {"words": ("supper",), "opens": "16:00", "closes": "20:00"},
    SpeedRow: {"name": sentence("x"), "minutes": (0, 60), "times": (2.1, 1.5), "insulins": (), "body_sites": ()},
    VariationRow: {"half_time": 0.2, "size": 0.08},
    TrialRow: {"insulin": "regular", "units": (8,), "moment": "onset", "unit": "h", "spread": "range"}
    | {"value": 0.6, "ends": (0.5, 0.75)},
    ClockTimes: {"at": ("07:00", "21:30")},
    SaidRow: {"text": sentence("x")},
    AnswerRow: {"text": sentence("x"), "steps": ()},
    ReasonRow: {"answer": "give", "about": "whole", "finding": sentence("x")},
    NextStepRow: {"text": sentence("x"), "answers": ()},
    PartRow: {"text": sentence("x"), "fills": "signs"},
    HowSoonRow: {"text": sentence("x")},
    SignClass: {"signs": (), "means": "x"},
    FeedbackRow: {"text": sentence("x")},
    MealRow: {"name": "lunch", "also_called": (), "at": "12:00", "grams": 60},
}


def test_every_kind_of_fact_is_tried_here():
    def heirs(kind):
        return {kind}.union(*(heirs(heir) for heir in kind.__subclasses__()))

    assert heirs(Sourced) == set(PARTS)


@pytest.mark.parametrize("kind", PARTS, ids=lambda kind: kind.__name__)
def test_a_fact_with_source_and_status_can_be_built_and_not_changed(kind):
    fact = kind(**PARTS[kind], source="a-book", known="read")
    with pytest.raises(FrozenInstanceError):
        fact.source = ""


@pytest.mark.parametrize("missing", ["source", "known"])
@pytest.mark.parametrize("kind", PARTS, ids=lambda kind: kind.__name__)
def test_a_fact_without_source_or_status_cannot_be_built(kind, missing):
    said = {"source": "a-book", "known": "read"}
    with pytest.raises(Unsourced, match=f"has no {missing}"):
        kind(**PARTS[kind], **{**said, missing: "  "})
    said.pop(missing)
    with pytest.raises(TypeError, match=missing):
        kind(**PARTS[kind], **said)


def test_a_status_is_one_of_the_five_words():
    words = "read, common practice, recalled, computed, assumed"
    with pytest.raises(Unsourced, match=f"known is one of {words}, not 'heard'"):
        Sourced(source="a-book", known="heard")


@pytest.mark.parametrize(("source", "known"), [("a-book", "assumed"), ("own-assumption", "read")])
def test_an_assumption_of_our_own_is_no_published_source(source, known):
    with pytest.raises(Unsourced, match="goes with the source 'own-assumption' and with no other"):
        Sourced(source=source, known=known)


def test_a_policy_is_one_of_its_choices():
    with pytest.raises(ValueError, match="'sometimes' is not one of the choices: 'never', 'always'"):
        Policy(value="sometimes", choices=("never", "always"), source="a-book", known="read")


@pytest.mark.parametrize(
    ("source", "known"), [("a-book", "common practice"), ("common-practice", "read"), ("common-practice", "recalled")]
)
def test_common_practice_goes_with_no_published_source(source, known):
    with pytest.raises(Unsourced, match="goes with the source 'common-practice' and with no other"):
        Sourced(source=source, known=known)


def test_a_source_needs_a_title():
    with pytest.raises(Unsourced, match="no title"):
        Source(title=" ")


def test_a_source_prints_as_a_citation_without_empty_parts():
    assert str(Source(title="A book", edition="2nd edition")) == "A book, 2nd edition"


@pytest.mark.parametrize(("low", "high"), [(3, 1), (-1, 2)])
def test_a_span_runs_upwards_from_zero(low, high):
    with pytest.raises(ValueError, match="must run upwards"):
        Span(low=low, high=high)


@pytest.mark.parametrize(
    ("low", "high", "text"),
    [
        (0.5, 1, "30–60 min"),
        (0.25, 0.25, "15 min"),
        (0.0833, 0.25, "5–15 min"),
        (0.5, 1.5, "0.5–1.5 h"),
        (1, 1, "1 h"),
        (8, 8, "8 h"),
        (12, 16, "12–16 h"),
    ],
)
def test_a_span_prints_as_a_handbook_would(low, high, text):
    assert str(Span(low=low, high=high)) == text
    with speaking(Voice(numbers="comma")):
        assert str(Span(low=low, high=high)) == text.replace(".", ",")


def test_the_taught_times_are_those_of_the_marked_rows_from_the_earliest_to_the_latest():
    said = {"source": "a-book", "known": "read"}
    rows = (
        ActionTimes(**said, peak=Span(low=2, high=4)),
        ActionTimes(**said, peak=Span(low=8, high=8), duration=Span(low=5, high=8), taught=True),
        ActionTimes(**said, onset=Span(low=1, high=2), peak=Span(low=4, high=6), taught=True),
    )
    insulin = InsulinRow(
        name="an insulin",
        group="short-acting",
        look="clear",
        look_source=Sourced(**said),
        mixing=Miscibility(may_share_with=(), why=sentence("It stands alone."), **said),
        times=rows,
    )
    taught = insulin.taught_times
    assert taught.rows == rows[1:]
    assert (taught.onset, taught.peak, taught.duration) == (
        Span(low=1, high=2),
        Span(low=4, high=8),
        Span(low=5, high=8),
    )
    assert TaughtTimes(rows=rows[:1]).duration is None


@pytest.mark.parametrize(("pattern", "fault"), [("(", "not a pattern"), ("z", "does not find its own example")])
def test_a_way_of_writing_has_a_pattern_that_finds_its_example(pattern, fault):
    with pytest.raises(ValueError, match=fault):
        NotationRow(**{**PARTS[NotationRow], "pattern": pattern}, source="a-book", known="read")


@pytest.mark.parametrize(
    ("source", "known", "risk"),
    [("a-book", "read", "has been read as"), ("common-practice", "common practice", "can be read as")],
)
def test_a_misreading_is_told_as_one_that_happened_only_where_a_list_says_so(source, known, risk):
    assert NotationRow(**PARTS[NotationRow], source=source, known=known).risk == sentence(risk)


@pytest.mark.parametrize(
    ("minutes", "times", "fault"),
    [
        ((0,), (2,), "minutes run upwards from 0"),
        ((0, 60), (2,), "one value for each"),
        ((5, 60), (2, 2), "minutes run upwards from 0"),
        ((0, 60, 60), (2, 2, 2), "minutes run upwards from 0"),
        ((0, 60, 30), (2, 2, 2), "minutes run upwards from 0"),
        ((0, 60), (2, 0), "times are above 0"),
        ((0, 60), (-2, 2), "times are above 0"),
    ],
)
def test_a_speed_has_a_value_above_0_for_each_of_its_rising_minutes(minutes, times, fault):
    with pytest.raises(ValueError, match=fault):
        SpeedRow(**PARTS[SpeedRow] | {"minutes": minutes, "times": times}, source="a-book", known="read")


@pytest.mark.parametrize("changed", [{"value": 0.4}, {"value": 0.8}, {"ends": (0.7, 0.75)}, {"ends": (0.5, 0.5)}])
def test_a_measured_value_lies_within_its_spread(changed):
    with pytest.raises(ValueError, match="must lie between"):
        TrialRow(**PARTS[TrialRow] | changed, source="a-book", known="read")


@pytest.mark.parametrize(
    ("spread", "given", "low", "high"),
    [
        ("SD", {"plus_minus": 0.2}, 0.4, 0.8),
        ("SE", {"plus_minus": 0.05, "n": 16}, 0.4, 0.8),
        ("SEM", {"plus_minus": 0.05, "n": 16}, 0.4, 0.8),
        ("SE", {"plus_minus": 0.5, "n": 16}, 0, 2.6),  # no hour lies before the injection
        ("range", {"ends": (0.5, 1)}, 0.5, 1),
        ("not stated", {"plus_minus": 0.2}, 0.4, 0.8),
        ("not stated", {"tolerance": 0.25}, 0.35, 0.85),
    ],
)
def test_each_kind_of_spread_is_told_as_one_standard_deviation_or_as_it_is(spread, given, low, high):
    said = {name: value for name, value in PARTS[TrialRow].items() if name != "ends"} | {
        "source": "a-book",
        "known": "read",
    }
    row = TrialRow(**said | {"spread": spread} | given)
    assert (row.low, row.high) == (pytest.approx(low), pytest.approx(high))
    assert row.standard_deviation == (pytest.approx(0.2 if high < 1 else 2) if spread[0] == "S" else None)
    assert row.spread_is_ours == ("tolerance" in given)
    with pytest.raises(ValueError, match="takes"):
        TrialRow(**said | {"spread": spread, "n": 3, "tolerance": 1})


@pytest.mark.parametrize(
    ("insulin", "moment", "doses"),
    [("regular", "onset", 1), ("nph", "24-hour ratio", 2), ("mixture", "peak", 2)],
)
def test_a_trial_has_one_dose_and_a_mixture_or_a_ratio_two(insulin, moment, doses):
    for units in ((8,), (8, 20), (8, 20, 30)):
        said = PARTS[TrialRow] | {
            "insulin": insulin,
            "moment": moment,
            "units": units,
            "source": "a-book",
            "known": "read",
        }
        if len(units) == doses:
            assert TrialRow(**said).units == units
        else:
            with pytest.raises(ValueError, match="one dose, or two for a mixture and for a ratio"):
                TrialRow(**said)


def test_a_row_of_action_times_without_any_time_cannot_be():
    with pytest.raises(ValueError, match="at least one of onset, peak and duration"):
        ActionTimes(source="a-book", known="read")
