"""One question gets one answer: whoever asks about an order, it is the same one, and an order to be cleared up is never given."""

from dataclasses import replace
from html import escape
from itertools import pairwise

import pytest
from matplotlib.text import Text
from orders import READ, REFUSED

from mixlab.adapting.compare.listings.preparation import ORDERS as DEMONSTRATED
from mixlab.care.day.planning import day_plan
from mixlab.care.decision.chart import answer_concerns
from mixlab.care.decision.deciding import decide
from mixlab.care.dosing import CannotPrepare, plan_dose
from mixlab.care.low.treatment import walk
from mixlab.care.order.checking import order_concerns
from mixlab.facts.reading import the_facts
from mixlab.figures.day.day import draw_day
from mixlab.figures.day.day_words import DaySeen
from mixlab.figures.day.describing import describe_day
from mixlab.pages.day import day_html
from mixlab.pages.order import verdict_words
from mixlab.pages.order_answer import printed_steps
from mixlab.panels import order_check, when_it_acts
from mixlab.panels.action.words import ActionState, MealState, see_action
from mixlab.panels.decision.words import BedsideState, decide_at
from mixlab.panels.dose import DoseState, see_dose
from mixlab.panels.order import FAULTY
from mixlab.panels.order_panel import NOT_SHOWABLE
from mixlab.quantities import Glucose
from mixlab.ward.observation import Observation
from mixlab.ward.order.order import NotOneClearOneCloudy, OrderError
from mixlab.ward.order.reading import read_order
from mixlab.ward.site.in_force import example_sites

PLAIN = "regular insulin 8 units and NPH insulin 20 units"
SITES = example_sites()
CALM = Observation(glucose=Glucose(150, "mg/dL"), signs=(), eating=True)
WELL = f"{PLAIN} subcut 30 minutes before breakfast"
TEXTS = tuple(dict.fromkeys((*(text for text, *_ in READ), *DEMONSTRATED)))
"""Every order of the tests that can be read, and those of the comparison."""


def readable():
    for text in TEXTS:
        try:
            order = read_order(text)
            _ = order.clear
        except OrderError:
            continue
        yield text, order


READABLE = [*readable()]


def to_clear_up(text, site):
    return [one for one in order_concerns(text, site=site) if one.holds]


@pytest.mark.parametrize("site", SITES, ids=lambda site: site.name)
def test_every_panel_gives_every_order_the_same_answer_and_none_to_be_cleared_up_a_green_one(site):
    assert len(READABLE) > 100
    wrong = []
    for text, order in READABLE:
        decision = decide(order, CALM, site)
        state = BedsideState(reading=CALM.glucose, site=site)
        answers = {
            "care": decision,
            "bedside": decide_at(state, order, site).decision,
            "low": walk(order, CALM, (), site)[0].decision,
            "by its parts": decide(replace(order, parts=(), typed=""), CALM, site),
        }
        try:
            reading = 150 if site.glucose_unit == "mg/dL" else 8.3
            live = see_dose(DoseState(order_text=text, glucose=reading, eating=True, signs=()), site)
            answers["live"] = live.decision
        except CannotPrepare:
            pass
        if any(one.choice != other.choice for one, other in pairwise(answers.values())):
            wrong.append((text, {name: one.choice for name, one in answers.items()}))
        if decision.choice != ("hold and ask" if to_clear_up(text, site) else "give"):
            wrong.append((text, decision.choice))
    assert wrong == []


def seen_when_it_acts(text, site):
    """What the panel on when insulins act computes, injected at half past seven."""
    meals = tuple(MealState(name=meal.name, at=meal.at) for meal in site.meals)
    return see_action(ActionState(order_text=text, given_at="07:30", meals=meals, row="", basal_share=0.5), site)


@pytest.mark.parametrize("site", SITES, ids=lambda site: site.name)
def test_the_check_the_day_and_the_printed_steps_answer_every_order_as_the_decision_does(site):
    wrong, planned, printed = [], 0, 0
    panel = order_check("", usual="", site=site)
    for text, order in READABLE:
        because = [one for one in decide(order, CALM, site).because if one.key in OF_THE_ORDER]
        expected = say_of(because)
        panel.order_text.value = text
        said = {"order check": (panel.decision.because, str(panel.decision.text))}
        if escape(str(panel.decision.headline.with_capitals())) not in panel.answer.value:
            wrong.append((text, "the order check does not say it"))
        try:
            plan = day_plan(order, "07:30", site=site)
        except NOT_SHOWABLE:
            pass
        else:
            planned += 1
            said["day plan"] = (plan.answer.because, str(plan.answer.text))
        try:
            steps = printed_steps(plan_dose(order, site)).splitlines()
        except CannotPrepare:
            pass
        else:
            printed += 1
            said["printed steps"] = (tuple(because), steps[0])
            if (str(the_facts().phrases["only-for-the-lesson"].text) in steps[1]) != bool(because):
                wrong.append((text, steps[:2]))
        try:
            seen = seen_when_it_acts(text, site)
        except NOT_SHOWABLE:
            pass
        else:
            said["when it acts"] = (seen.plan.answer.because, str(seen.plan.answer.text))
        wrong += [(text, name, it) for name, it in said.items() if it != (tuple(because), expected)]
    assert wrong == []
    assert min(planned, printed) > 100


OF_THE_ORDER = ("order-never-mixed", "order-not-complete", "order-not-clear")


def say_of(because):
    """The answer to an order with these reasons, as it is said wherever there is only an order."""
    if not because:
        return "Nothing against the order itself: go on to the patient."
    return " ".join(["Hold and ask.", *(str(one.text) for one in because)])


@pytest.mark.parametrize("site", SITES, ids=lambda site: site.name)
def test_an_order_that_cannot_be_read_is_held_in_the_order_check(site):
    panel, wrong, refused = order_check("", usual="", site=site), [], 0
    for text in (*(text for text, *_ in REFUSED), *FAULTY.values()):
        try:
            read_order(text)
        except OrderError:
            refused += 1
            panel.order_text.value = text
            if panel.decision.choice != "hold and ask" or "Hold and ask" not in panel.answer.value:
                wrong.append(text)
    assert wrong == []
    assert refused > 50


def test_where_an_order_is_held_the_day_says_so_in_picture_words_and_page_and_nobody_is_told_when_to_draw_up():
    for text, held in ((WELL, False), (PLAIN, True), (f"{PLAIN} subcut", True)):
        plan = day_plan(read_order(text), "07:30")
        seen = DaySeen(plan=plan, curves=None, cover=None)
        limits = next(one.get_text() for one in draw_day(seen).figure.findobj(Text) if one.get_gid() == "limits")
        words, page = describe_day(seen), day_html(seen)
        assert ("Hold and ask. Draw nothing up" in limits, "draw up from" in limits) == (held, not held)
        assert (str(plan.answer.text) in words, "Draw up from" in words) == (True, not held)
        assert all(str(one.text) in page for one in plan.answer.because)
        assert ("Hold and ask" in page, "go on to the patient" in page) == (held, not held)


def test_the_panel_on_when_insulins_act_says_above_its_pictures_that_an_order_is_held_and_takes_it_back():
    panel = when_it_acts(WELL)
    assert (panel.order_answer.value, panel.order_answer.layout.display) == ("", "none")
    panel.order_text.value = f"{PLAIN} subcut"
    assert "Hold and ask" in panel.order_answer.value
    assert "the time is missing" in panel.order_answer.value
    assert "for the lesson only" in panel.order_answer.value
    assert panel.order_answer.layout.display is None
    panel.order_text.value = f"{WELL}?!"
    assert panel.order_answer.value == ""
    panel.order_text.value = WELL
    assert panel.order_answer.layout.display == "none"


def test_what_is_only_said_about_an_order_does_not_hold_it():
    text = "regular insulin 1 units and NPH insulin 20 units subcut 30 minutes before breakfast"
    concerns = order_concerns(text)
    assert concerns != ()
    assert not answer_concerns(concerns, SITES[0]).held
    assert "Nothing below keeps it back" in str(verdict_words(text, concerns))


TO_CLEAR_UP = {
    "neither route nor time": (PLAIN, "order-not-complete", "the route is missing; the time is missing"),
    "no time": (f"{PLAIN} subcut", "order-not-complete", "the time is missing"),
    "no route": (f"{PLAIN} before breakfast", "order-not-complete", "the route is missing"),
    "after the meal": (f"{PLAIN} subcut after breakfast", "order-not-clear", "taught for 30 minutes before a meal"),
    "more than a syringe holds": (
        "regular insulin 60 units and NPH insulin 50 units subcut before breakfast", "order-not-clear", "in all",
    ),
    "a dose of nothing": (
        "regular insulin 0 units and NPH insulin 20 units subcut before breakfast", "order-not-clear", "a dose of zero",
    ),
}  # fmt: skip


@pytest.mark.parametrize(("text", "key", "words"), TO_CLEAR_UP.values(), ids=TO_CLEAR_UP)
def test_an_order_that_is_to_be_cleared_up_is_held_whatever_the_prescriber_says_of_the_patient(text, key, words):
    for found in (CALM, replace(CALM, prescriber_says_give=True)):
        decision = decide(read_order(text), found)
        assert (decision.choice, decision.because[0].key) == ("hold and ask", key)
        assert words in str(decision.because[0].text)
        assert "clear-up-the-order" in [key for step in decision.steps for key in step.keys]
        assert "order-cleared-up" in [one.key for one in decision.give_when]


def test_a_pair_that_the_ward_forbids_is_held_there_alone():
    rapid = read_order("insulin lispro 6 units and NPH insulin 18 units subcut with breakfast")
    held = {site.name: decide(rapid, CALM, site) for site in SITES}
    forbidden = [name for name, one in held.items() if "order-never-mixed" in [why.key for why in one.because]]
    assert forbidden == [site.name for site in SITES if site.never_mix] != []
    assert {one.choice for name, one in held.items() if name in forbidden} == {"hold and ask"}


def test_an_order_whose_doses_were_changed_is_judged_by_what_it_says_now():
    order = read_order(WELL)
    more = replace(order, doses=(replace(order.doses[0], units=90), order.doses[1]))
    assert decide(order, CALM).choice == "give"
    assert decide(more, CALM).because[0].key == "order-not-clear"


def test_a_low_is_treated_whatever_the_order_says():
    low = replace(CALM, glucose=Glucose(60, "mg/dL"))
    assert decide(read_order(PLAIN), low).choice == "hold and treat"


def test_two_clear_insulins_are_still_refused():
    with pytest.raises(NotOneClearOneCloudy):
        decide(read_order("regular insulin 8 units and insulin lispro 20 units subcut before breakfast"), CALM)
