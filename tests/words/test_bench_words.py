"""Every word about the bench goes through the catalogue: steps, refusals, findings, saved attempts and syringes."""

import json
import math
from dataclasses import replace
from typing import get_args

import pytest
from pseudo import every_site_speaks, in_brackets
from wide import asked, bare, cases, in_wide_letters, plain_words, sentences_of

from mixlab import read_order
from mixlab.care.bench.actions import DrawTo, Invert, Pierce, PushBackTo, Withdraw
from mixlab.care.bench.bench import Impossible, act, run, why_not
from mixlab.care.bench.handling import Cap, CleanHands, DiscardSyringe, Give, LetDry, Roll, Shake, Swab, TakeSyringe
from mixlab.care.bench.runs import CLEAR, CLOUDY, bench_for, right_run, vial_of
from mixlab.care.bench.saved_attempt import CannotReplay, load_attempt, save_attempt
from mixlab.care.bench.variants import WRONG_RUNS, wrong_run
from mixlab.care.bench.vessels import CONDITIONS, HANDS, TIPS, VIAL_PLACES, Liquid, VialCondition
from mixlab.care.dosing import CannotPrepare, plan_dose
from mixlab.care.review.findings import NOW, review
from mixlab.facts.shelf import shelf
from mixlab.quantities import NotAnAmount
from mixlab.ward.insulin import insulins
from mixlab.ward.order.order import Dose, Order, OrderError
from mixlab.ward.site.record import teaching_site
from mixlab.ward.syringe import syringes
from mixlab.words import Voice, unsaid

ORDER = "regular insulin 8 units and NPH insulin 20 units"
PARTS = ("title", "amount", "dose", "patient", "vial", "do", "doubt", "rule")
SITE = (teaching_site().name,)

MODULES = [
    "care/dosing.py",
    *(f"care/bench/{name}.py" for name in ("actions", "bench", "handling", "runs", "saved_attempt", "vessels")),
    *(f"care/review/{name}.py" for name in ("doses", "findings", "habits", "run_record")),
]


def findings():
    """Every finding, before and after giving, with what is said only of some vials and wipes."""
    plan = plan_dose(read_order(ORDER))
    for name in WRONG_RUNS:
        made = wrong_run(name, plan)
        trace = made.trace()
        gave = next((at for at, one in enumerate(made.actions) if isinstance(one, Give)), len(made.actions))
        for count in (gave, len(trace)):
            yield from review(made.plan.order, trace.up_to(count), made.plan.site)
    brief = [Swab(CLEAR, 2) if one == Swab(CLEAR, 10) else one for one in right_run(plan)]
    blink = [Swab(CLEAR, 1) if one == Swab(CLEAR, 10) else one for one in right_run(plan)]
    twice = [one for one in right_run(plan) if one != LetDry(CLOUDY)]
    capped = [one for action in right_run(plan) for one in (action, *_both_hands(action))]
    for actions in (brief, blink, twice, capped, [CleanHands()]):
        yield from review(plan.order, run(bench_for(plan.order), actions))
    for condition in get_args(VialCondition):
        bench = bench_for(plan.order, clear=vial_of(insulins()["regular"], condition=condition, strength=40.0))
        yield from review(plan.order, run(bench, right_run(plan)))


def _both_hands(action):
    return [Cap("two hands")] if isinstance(action, Give) else []


def told_of_findings():
    for finding in findings():
        cited = finding.rule
        yield str(finding), ()
        yield NOW[finding.now], ()
        yield from ((getattr(finding, part), (cited,) if part != "rule" else SITE) for part in PARTS)


def told_of_plans():
    for clear, cloudy, first in ((8, 20, "regular"), (1, 0.5, "lispro"), (40, 60, "aspart"), (8.5, 20, "glulisine")):
        doses = (Dose(insulin=insulins()[first], units=clear), Dose(insulin=insulins()["nph"], units=cloudy))
        plan = plan_dose(Order(doses=doses))
        for step in plan.steps:
            yield from ((words, ()) for words in (str(step), step.do, step.why, step.source))
        yield from ((kind.name, ()) for kind in bench_for(plan.order).kinds.values())
        yield from ((one.insulin.name, ()) for one in doses)
    yield from ((str(one), ()) for one in syringes().values())


def told_of_doses():
    """Every refusal to plan a dose: pairs, amounts and syringes."""
    pairs = [(one, other, 8, 20) for one in insulins() for other in insulins()]
    bad = (0, -1, 1, math.nan, "8", 8.3, 60, 100)
    for first, second, clear, cloudy in [*pairs, *(("regular", "nph", units, 50) for units in bad)]:
        doses = (Dose(insulin=insulins()[first], units=clear), Dose(insulin=insulins()[second], units=cloudy))
        yield refused_to_plan(*doses), ()
    nph = insulins()["nph"]
    choosy = replace(nph, row=replace(nph.row, mixing=replace(nph.row.mixing, may_share_with=("lispro",))))
    yield refused_to_plan(Dose(insulin=insulins()["regular"], units=8), Dose(insulin=choosy, units=20)), ()
    lispro = (Dose(insulin=insulins()["lispro"], units=8), Dose(insulin=nph, units=20))
    yield refused_to_plan(*lispro, site=replace(teaching_site(), never_mix=("lispro + nph",))), SITE


def refused_to_plan(*doses, site=None):
    try:
        plan_dose(Order(doses=doses), site)
    except (CannotPrepare, OrderError) as refusal:
        return str(refusal)
    return ""


def told_of_the_impossible():
    plan = plan_dose(read_order(ORDER))
    file, test = "care/test_bench.py", "test_what_cannot_be_done_says_why_and_changes_nothing"
    inside = [TakeSyringe("0.3-one"), Pierce(CLEAR, "air")]
    more = [
        *([*inside, one] for one in (Shake(CLEAR), Swab(CLEAR, 3), Give(), Cap("one hand"))),
        *([*inside, one] for one in (DiscardSyringe(), DrawTo(31), DrawTo(0))),
    ]
    for actions in [*(row[0] for row in cases(file, test)), *more]:
        with pytest.raises(Impossible) as refused:
            run(bench_for(plan.order), actions)
        before = run(bench_for(plan.order), actions[:-1]).last
        for words in (str(refused.value), why_not(before, actions[-1])):
            yield words, (*map(repr, actions), "'5 L'", *before.kinds, "spare")
    clear = vial_of(insulins()["regular"])
    drawn = [TakeSyringe("0.3-one"), Pierce(CLEAR, "air"), Invert(), DrawTo(8)]
    dry = replace(clear, liquid=Liquid())
    vials = {
        "little": (replace(clear, liquid=Liquid(ml=0.05, units={"regular": 5.0})), drawn),
        "empty": (dry, [drawn[0], Pierce(CLEAR, "liquid")]),
        "no air": (replace(dry, air_ml=0.01), [*drawn[:2], DrawTo(8)]),
    }
    for vial, actions in vials.values():
        with pytest.raises(Impossible) as refused:
            run(bench_for(plan.order, clear=vial), actions)
        yield str(refused.value), tuple(map(repr, actions))
    full = replace(clear, inner_ml=clear.liquid.ml + 0.06)
    start = run(bench_for(plan.order), [TakeSyringe("0.3-one"), Pierce(CLOUDY, "air"), Invert(), DrawTo(20)]).last
    start = run(start.with_vial(CLEAR, full), [Withdraw(), Pierce(CLEAR, "air")]).last
    with pytest.raises(Impossible) as refused:
        act(start, PushBackTo(0))
    yield str(refused.value), ()


def told_of_made_up_actions():
    for make in (
        lambda: DrawTo("8"),
        lambda: DrawTo(-1),
        lambda: Pierce(CLEAR, "up"),
        lambda: Cap("three hands"),
        lambda: Roll(3, 3),
    ):
        with pytest.raises(NotAnAmount) as refused:
            make()
        typed = ("air, liquid", "one hand, two hands", "'three hands'", "'up'")
        yield str(refused.value), (*typed, "DrawTo", "Pierce", "Cap", "Roll", " to ", " tip ", " hands ", " vial ")


def told_of_attempts(folder):
    file = folder / "attempt.json"
    trace = run(bench_for(read_order(ORDER)), [CleanHands()])

    def refused(content=None, site=None):
        if content is not None:
            file.write_text(content)
        with pytest.raises(CannotReplay) as caught:
            load_attempt(file).trace(site)
        return str(caught.value), (str(folder), file.name, *SITE, "'practice'", "Is a directory", "practice")

    for content, _ in cases("care/test_attempt.py", "test_a_bad_file_is_named_in_one_sentence"):
        words, data = refused(content)
        yield words, (*data, "vials", "site", "actions", " order ")
    save_attempt(file, ORDER, trace)
    assert [one.name for one in folder.iterdir()] == ["attempt.json"]
    yield refused(site=replace(teaching_site(), name="practice"))
    saved = json.loads(file.read_text())
    yield refused(json.dumps(saved | {"actions": [{"do": "PushAir"}]}))[0], ("PushAir()",)
    yield refused(json.dumps(saved | {"order": ""}))
    file.unlink()
    yield refused()
    file.mkdir()
    yield refused()
    file.rmdir()


def everything(folder):
    """Every text as it is said now, with the words in it that come from elsewhere."""
    for words, data in told(folder):
        yield str(words), tuple(map(str, data))


def told(folder):
    yield from told_of_findings()
    yield from told_of_plans()
    yield from told_of_doses()
    yield from told_of_the_impossible()
    yield from told_of_made_up_actions()
    yield from told_of_attempts(folder)
    yield from ((one, ()) for names in (VIAL_PLACES, CONDITIONS, TIPS, HANDS, NOW) for one in names.values())


@pytest.fixture(scope="module")
def in_wide(tmp_path_factory):
    """Everything said in full-width letters, and the sentences that were asked for."""
    with in_wide_letters() as speaker:
        said = list(everything(tmp_path_factory.mktemp("wide")))
    return said, asked(speaker)


def test_no_word_stands_outside_the_catalogue(tmp_path):
    with in_brackets():
        said = list(everything(tmp_path))
    assert len(said) > 500
    assert [text for text, data in said if bare(text, *data)] == []
    assert unsaid("x-brackets") == set()


def test_no_word_from_elsewhere_stands_inside_a_sentence(in_wide):
    said, _ = in_wide
    assert [(text, words) for text, data in said if (words := plain_words(text, *data))] == []
    assert unsaid("x-wide") == set()


def test_every_sentence_of_these_modules_was_heard(in_wide):
    _, heard = in_wide
    sentences = sentences_of(*MODULES)
    assert len(sentences) > 75
    assert sentences - heard == set()
    rows = shelf().errors.values()
    assert {part.key for row in rows for part in (row.title, row.do, row.dose)} <= heard


def test_every_key_of_the_bench_that_is_said_is_a_word_of_the_catalogue():
    assert get_args(VialCondition) == tuple(CONDITIONS)
    assert {row.now for row in shelf().errors.values()} <= {*NOW}
    for names in (CONDITIONS, VIAL_PLACES, TIPS, HANDS, NOW):
        assert [name.key for name in names.values()] == list(names)


def test_a_ward_that_writes_a_comma_prints_its_sizes_so():
    plan = plan_dose(read_order(ORDER))
    with every_site_speaks(Voice(numbers="comma")):
        amounts = " ".join(str(finding.amount) for finding in findings())
        (finding,) = review(plan.order, wrong_run("too-little-air", plan).trace())
        assert "pressure in the cloudy vial -9,1 %" in str(finding.amount)
    assert "." not in amounts


def test_a_ward_hears_of_its_own_insulins():
    plan = plan_dose(read_order(ORDER))
    with every_site_speaks(Voice(terms=(("regular", "soluble insulin"), ("nph", "isophane insulin")))):
        words = [str(one) for one in findings()] + [str(one.do) for one in plan_dose(plan.order).steps]
    assert [one for one in words if "regular insulin" in one or "NPH insulin" in one] == []
    assert any("isophane insulin 20.48 units instead of 20 units" in one for one in words)
