"""One question gets one answer: whoever asks about an order, it is the same one, and an order to be cleared up is never given."""

from dataclasses import replace
from itertools import pairwise

import pytest
from orders import READ

from mixlab.adapting.compare.listings.preparation import ORDERS as DEMONSTRATED
from mixlab.care.decision.deciding import decide
from mixlab.care.dosing import CannotPrepare
from mixlab.care.low.treatment import walk
from mixlab.care.order.checking import order_concerns
from mixlab.panels.decision.words import BedsideState, decide_at
from mixlab.panels.dose import DoseState, see_dose
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
