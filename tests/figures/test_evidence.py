"""Who says what: every source stands at its own hours, the model beside them, and moving equals drawing anew."""

import re
from dataclasses import replace

import numpy as np
import pytest
from drawings import blank, boxes, moves_as_drawn_anew, order_of, parts, reach, words_on_words, words_outside, written

from mixlab.care.action.absorption import begin_spell
from mixlab.care.action.curves import action_curves
from mixlab.care.action.injection import swapped
from mixlab.care.action.studies import spread_words
from mixlab.care.action.variation import day_to_day
from mixlab.facts.action_rows import TrialRow
from mixlab.facts.reading import the_facts
from mixlab.figures.action import evidence_words
from mixlab.figures.action.evidence import draw_evidence
from mixlab.figures.action.evidence_words import Evidence, describe_evidence
from mixlab.figures.style import ROOM
from mixlab.ward.insulin import insulins

HOURS = np.arange(313) / 12
NO_MARKS = ("model-onset", "model-peak", "model-end", "model-beyond")
MODELED = {"clear": "regular", "cloudy": "nph"}


def evidence_of(look, clear=8, cloudy=20, *, name="regular insulin", fan=True, row=None, hours=HOURS, **where):
    order = order_of(clear, cloudy, name)
    modeled = name == "regular insulin"
    days = modeled and fan
    return Evidence(
        order=order,
        look=look,
        curves=action_curves(order, hours, **where) if modeled else None,
        fan=day_to_day(order, hours, step=5, draws=100) if days else None,
        row=row,
    )


def every_case():
    return [
        evidence_of("clear"),
        evidence_of("cloudy", row="cdc-insulin-types"),
        evidence_of("clear", name="insulin lispro"),
        evidence_of("cloudy", 30, 60, body_site="thigh"),
        evidence_of("clear", name="insulin glulisine", row="afp-2005"),
        evidence_of("cloudy", fan=False),
        evidence_of("cloudy", name="insulin aspart"),
        evidence_of("clear", 0.5, 100),
        evidence_of("cloudy", 8, 100, injection=swapped(order_of(8, 100)), body_site="thigh"),
    ]


def drawn_parts(evidence):
    return parts(draw_evidence(evidence, ROOM))


def parts_of(look, *units, fan=False, **more):
    return drawn_parts(evidence_of(look, *units, fan=fan, **more))


def hour_of(x):
    return (np.asarray(x) - 280) * 26 / 780


def span(box):
    """Return the hours that a drawn bar covers, or None if it is blank."""
    low, high = reach(box)
    return None if low == high else tuple(hour_of([low, high]))


def a_trial(moment, value, low, high, *, insulin="nph", units=20.0, source="heinemann-1989", spread="range", **more):
    return TrialRow(
        insulin=insulin,
        units=(units, units) if insulin == "mixture" else (units,),
        moment=moment,
        unit="h",
        value=value,
        ends=(low, high),
        spread=spread,
        source=source,
        known="read",
        **more,
    )


def put_trials(monkeypatch, *trials):
    facts = replace(the_facts(), trials={str(at): trial for at, trial in enumerate(trials)})
    monkeypatch.setattr(evidence_words, "the_facts", lambda: facts)


def test_the_axis_tells_the_hours():
    drawn = draw_evidence(evidence_of("clear"))
    numbers = [text for text, _ in boxes(drawn) if re.fullmatch(r"\d+", text.get_text())]
    assert [float(text.get_text()) for text in numbers] == list(range(0, 27, 2))
    assert [hour_of(text.get_position()[0]) for text in numbers] == pytest.approx(list(range(0, 27, 2)))


@pytest.mark.parametrize("key", ["regular", "lispro", "aspart", "glulisine", "nph"])
def test_every_source_of_an_insulin_has_its_bar_at_its_hours(key):
    insulin = insulins()[key]
    name = {"nph": "regular insulin", "regular": "regular insulin"}.get(key, insulin.name)
    found = parts_of(insulin.look, name=name)
    for at, times in enumerate(insulin.row.times):
        first_word = the_facts().sources[times.source].title.split()[0]
        assert found[f"book-{at}"].get_text().startswith(first_word)
        assert ("(recalled)" in found[f"book-{at}"].get_text()) == (times.known == "recalled")
        whole, sure, peak = (span(found[f"book-{at}-{part}"]) for part in ("whole", "sure", "peak"))
        assert whole == pytest.approx((times.onset.low if times.onset else 0, min(26, times.duration.high)))
        assert ("up to" in found[f"book-{at}-note"].get_text()) is (times.duration.high > 26)  # where the picture ends
        if times.onset is None:
            assert sure is None
            assert "no start" in found[f"book-{at}-note"].get_text()
        else:
            assert sure == pytest.approx((times.onset.high, times.duration.low))
        if times.peak is None:
            assert peak is None
            assert "no strongest hours" in found[f"book-{at}-note"].get_text()
        else:
            about = 0.25 * (times.peak.low == times.peak.high)
            assert peak == pytest.approx((times.peak.low - about, times.peak.high + about))
    names = written(found, "book")
    assert len(names) == len(insulin.row.times) == len(set(names))


@pytest.mark.parametrize("row", [None, "niddk-2009", "afp-2005", "cdc-insulin-types"])
def test_the_chosen_rows_alone_are_bold_and_pointed_at(row):
    found = parts_of("cloudy", row=row)
    sources = [times.source for times in insulins()["nph"].row.times]
    chosen = [sources.index(each) for each in ((row,) if row else ("niddk-2009", "ompc-2007"))]
    bold = [gid for gid, one in found.items() if re.fullmatch(r"book-\d+", gid) and one.get_fontweight() == "bold"]
    thick = [gid for gid, one in found.items() if gid.endswith("-whole") and one.get_linewidth() == 2]
    assert (bold, thick) == ([f"book-{at}" for at in chosen], [f"book-{at}-whole" for at in chosen])
    for at in range(len(sources)):
        if blank(found, f"book-{at}-pointer"):
            assert at not in chosen
        else:
            tip = found[f"book-{at}-pointer"].get_xy()[0]
            assert (at in chosen, tip[1]) == (True, found[f"book-{at}"].get_position()[1])
            assert 0 < 280 - tip[0] < 10


def test_a_source_without_a_row_leaves_the_taught_row_marked_and_says_so():
    lispro = evidence_of("clear", name="insulin lispro", row="textbook-medicine-19")
    found = drawn_parts(lispro)
    assert found["book-0"].get_fontweight() == "bold"
    said = "Textbook of internal medicine has no row for insulin lispro"
    assert said in found["head-handbooks-key"].get_text()
    assert said in describe_evidence(lispro)
    assert "has no row" not in describe_evidence(evidence_of("clear", fan=False))


@pytest.mark.parametrize("look", ["clear", "cloudy"])
def test_every_measured_hour_stands_at_its_place_in_the_row_of_its_study(look):
    evidence = evidence_of(look, fan=False)
    found = drawn_parts(evidence)
    trials = [row for row in the_facts().trials.values() if row.insulin == MODELED[look]]
    assert sum(trial.moment in ("onset", "peak", "end") for trial in trials) >= 8
    rows = {gid: one for gid, one in found.items() if re.fullmatch(r"study-\d+", gid) and one.get_text()}
    for moment in ("onset", "peak", "end"):
        told = [trial for trial in trials if trial.moment == moment and trial.value <= 26]
        xs, ys = found[f"study-{moment}"].get_data()
        assert sorted(hour_of(xs)) == pytest.approx(sorted(trial.value for trial in told))
        for hour, y in zip(hour_of(xs), ys, strict=True):
            name = min(rows.values(), key=lambda one: abs(one.get_position()[1] - y)).get_text()
            assert any(
                trial.value == pytest.approx(hour)
                and evidence_words.dose_words(trial) in name
                and the_facts().sources[trial.source].title.split()[0].strip(",") in name
                for trial in told
            )


@pytest.mark.parametrize("ours", [True, False])
def test_each_spread_runs_from_its_low_to_its_high(ours):
    found = parts_of("cloudy")
    xs = hour_of(found[f"spread-{'ours' if ours else 'measured'}"].get_xdata()).reshape(-1, 7)
    told = [
        (trial.low, min(trial.high, 26))
        for trial in the_facts().trials.values()
        if trial.insulin == "nph" and trial.moment in ("onset", "peak", "end") and trial.spread_is_ours == ours
    ]
    assert len(told) > 3
    assert np.array(sorted(map(tuple, xs[:, [0, 3]]))) == pytest.approx(np.array(sorted(told)))
    assert found["spread-ours"].get_linestyle() != found["spread-measured"].get_linestyle()


def test_only_studies_of_this_insulin_alone_are_shown_and_the_smallest_dose_comes_first(monkeypatch):
    put_trials(
        monkeypatch,
        a_trial("peak", 6, 5, 7, units=25.0),
        a_trial("peak", 4, 3, 5, units=12.5),
        a_trial("peak", 2, 1, 3, insulin="regular"),
        a_trial("peak", 3, 2, 4, insulin="mixture"),
        a_trial("plasma peak", 9, 8, 10),
        a_trial("peak", 5, 4, 6, units=20.0, dose_told=False),
    )
    found = parts_of("cloudy")
    assert hour_of(found["study-peak"].get_xdata()) == pytest.approx([4, 6, 5])
    names = [found[f"study-{at}"].get_text() for at in range(3)]
    assert names == ["12.5 units, Heinemann 1989", "25 units, Heinemann 1989", "dose unknown, Heinemann 1989"]
    assert "study-3" not in found
    said = describe_evidence(evidence_of("cloudy", fan=False))
    assert "dose unknown: strongest 5 h (4 to 6 h" in said
    assert "20 units: strongest 5 h" not in said


def test_one_study_has_one_line_for_each_dose_and_another_where_it_measured_twice(monkeypatch):
    put_trials(
        monkeypatch,
        a_trial("onset", 1, 1, 1),
        a_trial("end", 14, 14, 14),
        a_trial("onset", 2, 2, 2),
        a_trial("end", 15, 15, 15, body_site="arm"),
    )
    found = parts_of("cloudy")
    heights = {moment: list(found[f"study-{moment}"].get_ydata()) for moment in ("onset", "end")}
    rows = [found[f"study-{at}"].get_position()[1] for at in range(3)]
    assert heights == {"onset": rows[:2], "end": [rows[0], rows[2]]}
    assert found["study-2"].get_text() == "20 units, Heinemann 1989 (arm)"
    said = describe_evidence(evidence_of("cloudy", fan=False))
    assert "20 units, into the upper arm: ends 15 h, no spread given" in said


def test_spreads_that_meet_stand_apart(monkeypatch):
    put_trials(monkeypatch, a_trial("onset", 2, 1, 7), a_trial("peak", 11, 5, 19), a_trial("end", 24, 20, 26))
    found = parts_of("cloudy")
    row = found["study-0"].get_position()[1]
    shifts = {moment: found[f"study-{moment}"].get_ydata()[0] - row for moment in ("onset", "peak", "end")}
    assert shifts == pytest.approx({"onset": 4, "peak": 0, "end": 0})


def test_what_comes_after_the_last_hour_has_a_mark_at_the_edge_only(monkeypatch):
    put_trials(monkeypatch, a_trial("end", 29, 27, 31), a_trial("peak", 25, 20, 28), a_trial("onset", 1, 1, 2))
    found = parts_of("cloudy", 30, 60)
    assert blank(found, "study-end", "model-end")
    assert hour_of(found["study-beyond"].get_xdata()) == pytest.approx([26, 26])
    assert hour_of(found["model-beyond"].get_xdata()) == pytest.approx([26])
    assert hour_of(found["spread-measured"].get_xdata()[~np.isnan(found["spread-measured"].get_xdata())]).max() <= 26
    assert blank(parts_of("cloudy", 8, 20), "model-beyond")


@pytest.mark.parametrize("look", ["clear", "cloudy"])
def test_the_model_s_marks_stand_at_its_hours(look):
    evidence = evidence_of(look, 14, 26)
    found = drawn_parts(evidence)
    for moment in ("onset", "peak", "end"):
        hour = getattr(evidence.curves, moment)(look)
        assert hour_of(found[f"model-{moment}"].get_xdata()) == pytest.approx([hour])
    assert found["model-name"].get_text() == f"{'14' if look == 'clear' else '26'} units, model"
    xs, ys = found["model-curve"].get_data()
    assert hour_of(xs[np.argmax(ys)]) == pytest.approx(evidence.curves.peak(look), abs=0.2)
    assert found["model-curve"].get_linestyle() == ("-" if look == "clear" else "--")
    at_peak = np.interp(evidence.curves.peak(look), hour_of(xs), ys - 28)
    late = np.interp(12, hour_of(xs), ys - 28)
    curve = getattr(evidence.curves, look)
    assert late / at_peak == pytest.approx(np.interp(12, HOURS, curve) / curve.max(), abs=0.01)


@pytest.mark.parametrize("look", ["clear", "cloudy"])
@pytest.mark.parametrize("hours", [HOURS, np.arange(97) / 4], ids=["26 h", "24 h"])
def test_the_bands_follow_the_fan(look, hours):
    evidence = evidence_of(look, hours=hours)
    found = drawn_parts(evidence)
    line = getattr(evidence.curves, look)
    xs, ys = found["model-curve"].get_data()
    tall = (np.interp(6, hour_of(xs), ys) - 28) / np.interp(6, hours, line)
    for name, percents in (("outer", (5, 95)), ("inner", (25, 75))):
        corners = found[f"fan-{name}"].get_xy()
        assert len(corners) <= 102
        lower, upper = np.split(corners, 2)
        for edge, told in zip((lower, upper[::-1]), evidence.fan.band(look, *percents), strict=True):
            seen = (edge[:, 1] - 28) / tall
            assert seen == pytest.approx(np.interp(hour_of(edge[:, 0]), hours, told), abs=line.max() * 0.01)
            assert hour_of(edge[-1, 0]) > hours[-1] - 1
        assert corners[:, 1].max() <= 142 + 1e-9
    days = hours[getattr(evidence.fan, look).argmax(axis=1)]
    assert span(found["fan-peak"]) == pytest.approx(np.percentile(days, (5, 95)))


def test_the_line_keeps_its_height_when_the_fan_opens():
    """The line's height depends on the fan only where days would leave the space for the curve."""
    heights = [parts_of("cloudy", fan=fan)["model-curve"].get_ydata().max() for fan in (True, False)]
    assert heights[0] == pytest.approx(heights[1])
    assert 80 < heights[0] < 100


def test_without_a_fan_no_band_stands():
    found = parts_of("cloudy")
    assert blank(found, "fan-outer", "fan-inner", "fan-peak")
    assert len(found["model-curve"].get_xdata()) > 50
    assert "days" not in describe_evidence(evidence_of("cloudy", fan=False))


def test_without_a_model_it_says_so_and_why():
    lispro = evidence_of("clear", name="insulin lispro")
    found = drawn_parts(lispro)
    said = "The model draws no curve: it has no numbers for insulin lispro."
    assert found["no-model"].get_text() == said
    assert said in describe_evidence(lispro)
    assert blank(found, "model-curve", *NO_MARKS)
    assert "no study of insulin lispro" in found["head-studies-key"].get_text()
    assert said in describe_evidence(evidence_of("cloudy", name="insulin lispro"))
    assert found["no-model"].get_text() != parts_of("clear")["no-model"].get_text() == ""


def test_what_the_model_was_not_made_for_is_said_of_the_insulin_it_concerns():
    spell = begin_spell("sauna", 30)
    beyond = evidence_of("cloudy", 8, 60, fan=False, body_site="thigh", spell=spell)
    notices = " ".join(written(drawn_parts(beyond), "notice"))
    for words in (
        "extrapolated above 40 units",
        "given in the thigh",
        "sauna from minute 30 to 90: no change in the curve",
    ):
        assert words in notices
        assert words.lower() in describe_evidence(beyond).lower()
    assert "exercise" not in notices
    walk = evidence_of("cloudy", fan=False, spell=begin_spell("leg-exercise", 30))
    said = "leg exercise from minute 30 to 90: no change in the curve; exercise lowers glucose all the same"
    lines = " ".join(written(drawn_parts(walk), "notice"))
    assert said in " ".join(lines.split()).lower()
    assert said in describe_evidence(walk).lower()
    within = evidence_of("clear", 8, 60, fan=False)
    assert within.curves.injection.extrapolated
    assert "xtrapolated" not in describe_evidence(within)
    order = order_of()
    slip = evidence_of("clear", fan=False, injection=swapped(order))
    assert drawn_parts(slip)["model-name"].get_text() == "20 units, model"
    assert "Not as ordered: the two doses swapped" in describe_evidence(slip)


def test_a_dose_too_small_to_count_has_no_marks():
    tiny = evidence_of("clear", 0.5, 20, fan=False)
    found = drawn_parts(tiny)
    assert tiny.curves.onset("clear") is None
    assert blank(found, *NO_MARKS)
    assert "never acts enough" in describe_evidence(tiny)


def test_moving_a_drawing_gives_what_drawing_anew_gives():
    cases = every_case()
    moves_as_drawn_anew(lambda evidence: draw_evidence(evidence, ROOM), [(cases[1],), *((one,) for one in cases)])
    drawn = draw_evidence(cases[0])
    assert not drawn.show(replace(cases[0]))


def test_another_dose_touches_only_the_model():
    drawn = draw_evidence(evidence_of("cloudy"), ROOM)
    touched = {artist.get_gid() for artist in drawn.show(evidence_of("cloudy", 8, 22))}
    assert {"model-curve", "fan-outer", "model-end", "model-name"} <= touched
    assert not [gid for gid in touched if gid.startswith(("book", "study", "spread", "head"))]
    touched = {artist.get_gid() for artist in drawn.show(evidence_of("cloudy", 8, 22, row="afp-2005"))}
    moved = [f"book-{at}{part}" for at in (0, 2, 3) for part in ("", "-whole", "-pointer")]  # two taught, one chosen
    assert touched == set(moved)


def test_words_stay_in_the_picture_and_off_each_other():
    drawn = draw_evidence(evidence_of("cloudy"), ROOM)
    found = parts(drawn)
    for evidence in every_case():
        drawn.show(evidence)
        assert not words_outside(drawn, 1)
        assert not words_on_words(drawn, 1.5, 1.5)
        names = [box.x1 for text, box in boxes(drawn) if re.match(r"(side|book|study)-\d+$", text.get_gid() or "")]
        assert 0 < max(names) < 280 - 15
        assert not found["side-6"].get_text()


def test_the_words_name_every_source_every_figure_and_how_it_is_known():
    for look, key in MODELED.items():
        said = describe_evidence(evidence_of(look))
        for times in insulins()[key].row.times:
            assert str(the_facts().cite(times)) in said
        for trial in the_facts().trials.values():
            if trial.insulin == key and trial.moment in ("onset", "peak", "end"):
                assert str(the_facts().cite(trial)) in said
                figure = f"{evidence_words.MOMENTS[trial.moment]} {trial.value:.2f} h ({trial.low:.2f} to {trial.high:.2f} h, "
                figure = re.sub(r"\.?0+ ", " ", figure)
                assert figure in said
                kind = said[said.index(figure) + len(figure) :]
                assert kind.startswith(str(spread_words(trial)))
        assert "numbers are recalled" in said
        for basis in (the_facts().absorption[key], the_facts().variation[key]):
            assert str(the_facts().cite(basis)) in said


def test_the_words_tell_the_model_s_hours_and_days():
    evidence = evidence_of("cloudy")
    said = describe_evidence(evidence)
    assert "The model for 20 units: starts 1.6 h, strongest 6 h, ends 17.2 h." in said
    low, high = evidence.peak_days
    assert f"strongest between {low:.2g} h and {high:.2g} h" in said
    at = int(np.argmax(evidence.curves.cloudy))
    pale = [round(100 * edge[at] / evidence.curves.cloudy.max()) for edge in evidence.fan.band("cloudy", 5, 95)]
    assert f"between {pale[0]} % and {pale[1]} % of the model's on 90 of 100 days" in said
    assert said.index("Marked, taught here: National Institute") < said.index("Studies of") < said.index("The model")
    endless = evidence_of("cloudy", 8, 100, fan=False, weight_kg=40)
    assert endless.curves.end("cloudy") is None
    assert "ends after more than 72 h" in describe_evidence(endless)
    assert len(drawn_parts(endless)["model-beyond"].get_xdata()) == 1


def test_a_short_name_is_the_first_words_and_the_year():
    named = {key: evidence_words.short_name(source) for key, source in the_facts().sources.items()}
    assert named["heinemann-1989"] == "Heinemann 1989"
    assert named["niddk-2009"] == "National Institute of Diabetes … 2009"
    assert named["basal-review"] == "Review of basal insulins"
    assert named["afp-2009"] != named["afp-2005"]
