"""Every judged order: none with a fault passes without a word about it, and no good one is refused."""

import pytest
from judged_orders import GOOD, REFUSED, SAID

from mixlab.care.order.checking import order_concerns
from mixlab.ward.order.order import OrderError
from mixlab.ward.order.problems import find_problems
from mixlab.ward.order.reading import read_order

INSTRUCTIONS = ("not-to-give", "kept-apart", "condition", "no-fixed-dose")
"""Clear instructions: each is told as what it is."""


def keys(text):
    return {one.key for one in order_concerns(text)}


def test_the_table_holds_more_than_300_orders_each_judged_once():
    assert len(GOOD) == len(set(GOOD))
    assert not set(GOOD) & (SAID.keys() | REFUSED.keys())
    assert not SAID.keys() & REFUSED.keys()
    assert len(GOOD) + len(SAID) + len(REFUSED) > 330


@pytest.mark.parametrize("text", GOOD, ids=ascii)
def test_a_good_order_is_read_and_nothing_is_said(text):
    order = read_order(text)
    assert order_concerns(text) == ()
    assert read_order(str(order)) == order


@pytest.mark.parametrize("text", SAID, ids=ascii)
def test_an_order_that_is_read_is_told_exactly_what_is_wrong(text):
    order = read_order(text)
    assert keys(text) == SAID[text]
    assert read_order(str(order)) == order


@pytest.mark.parametrize("text", REFUSED, ids=ascii)
def test_an_order_that_is_not_read_is_told_why(text):
    with pytest.raises(OrderError):
        read_order(text)
    assert REFUSED[text] in keys(text)
    assert any(one.holds for one in order_concerns(text))


@pytest.mark.parametrize("text", [text for text, key in REFUSED.items() if key in INSTRUCTIONS], ids=ascii)
def test_a_clear_instruction_is_never_called_a_spelling_mistake(text):
    assert not any("spelling" in str(problem) for problem in find_problems(text))


SAID_ONLY = {"two-times", "small-dose", "large-dose", "short-time"}
"""What is told and does not keep the dose back."""


@pytest.mark.parametrize("text", SAID, ids=ascii)
def test_what_is_missing_contradictory_or_not_due_keeps_the_dose_back_and_what_is_only_said_does_not(text):
    for one in order_concerns(text):
        assert one.holds == (one.key not in SAID_ONLY)
        assert one.kind in ("missing", "contradictory", "not due", "caution", "writing")
