"""Every judged order: none with a fault passes without a word about it, and no good one is refused."""

import judged_orders_second as second
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


# The second author's


def test_the_second_table_holds_300_orders_more_and_none_of_the_first():
    tables = (second.GOOD, second.SAID, second.REFUSED)
    texts = [text for table in tables for text in table]
    assert len(texts) == len(set(texts)) >= 300
    assert not set(texts) & {*GOOD, *SAID, *REFUSED}


@pytest.mark.parametrize("text", second.GOOD, ids=ascii)
def test_a_good_order_is_read_as_the_nurse_reads_it(text):
    order = read_order(text)
    assert order_concerns(text) == ()
    assert read_order(str(order)) == order
    doses, _, time = second.GOOD[text].partition(": ")
    read = [(dose.insulin.row.name, f"{dose.units:g}") for dose in (order.clear, order.cloudy)]
    for (name, units), meant in zip(read, doses.split(", "), strict=True):
        insulin, amount = meant.split()
        assert insulin in name
        assert units == amount
    assert time in str(order)


@pytest.mark.parametrize("text", second.SAID, ids=ascii)
def test_what_is_wrong_is_told_and_nothing_else(text):
    order = read_order(text)
    assert keys(text) == second.SAID[text]
    assert read_order(str(order)) == order


@pytest.mark.parametrize("text", second.REFUSED, ids=ascii)
def test_what_is_not_read_is_told_under_a_word_that_fits(text):
    with pytest.raises(OrderError):
        read_order(text)
    assert second.REFUSED[text] & keys(text)
    assert any(one.holds for one in order_concerns(text))


SLIPS = {
    "regualr": "'regular'", "insluin": "'insulin'", "brekfast": "'breakfast'", "untis": "'units'", "NHP": "'NPH'", "isophan": "'isophane'",
    "lispor": "'lispro'", "super": "'supper'", "befor": "'before'", "subctu": "'subcut'",
}  # fmt: skip


@pytest.mark.parametrize("word", SLIPS)
def test_a_slip_is_never_taken_for_the_word_and_the_word_is_asked_about(word):
    (text,) = [text for text in second.REFUSED if word.lower() in text.lower().split()]
    told = [str(one) for one in find_problems(text) if "Did the prescriber mean" in str(one)]
    assert len(told) == 1
    assert f"'{word}' is not understood. Did the prescriber mean {SLIPS[word]}? Do not guess: ask." in told[0].replace(
        word.capitalize(), word
    )


@pytest.mark.parametrize("word", ["eigth", "eight-", "twentty", "metformin", "the", "tin"])
def test_no_number_and_no_word_further_off_is_suggested(word):
    text = f"regular insulin 8 units and NPH insulin 20 units {word} subcut before breakfast"
    assert "not understood" in str(next(find_problems(text)))
    assert not any("Did the prescriber mean" in str(one) for one in find_problems(text))


SAID_ONLY = {"two-times", "small-dose", "large-dose", "short-time", "now"}
"""What is told and does not keep the dose back."""


@pytest.mark.parametrize("text", SAID, ids=ascii)
def test_what_is_missing_contradictory_or_not_due_keeps_the_dose_back_and_what_is_only_said_does_not(text):
    for one in order_concerns(text):
        assert one.holds == (one.key not in SAID_ONLY)
        assert one.kind in ("missing", "contradictory", "not due", "caution", "writing")
