"""Orders that are read, and orders that are refused by name; a dose is never guessed."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mixlab.ward.insulin import insulins
from mixlab.ward.order import (
    Ambiguous,
    CannotRead,
    Dose,
    NotOneClearOneCloudy,
    Order,
    OrderError,
    UnsafeWriting,
    read_order,
)

GOOD = [
    # text, clear, its units, cloudy, its units
    ("regular insulin 8 units and NPH insulin 20 units", "regular", 8, "nph", 20),
    ("NPH insulin 20 units and regular insulin 8 units", "regular", 8, "nph", 20),
    ("8 units regular insulin and 20 units NPH insulin", "regular", 8, "nph", 20),
    ("8 units of regular insulin and 20 units of NPH insulin", "regular", 8, "nph", 20),
    ("20 units of NPH insulin, 8 units of regular insulin", "regular", 8, "nph", 20),
    ("regular 14 units NPH 26 units", "regular", 14, "nph", 26),
    ("regular 14 units, NPH 26 units", "regular", 14, "nph", 26),
    ("regular: 14 units; NPH: 26 units.", "regular", 14, "nph", 26),
    ("regular 14 units + NPH 26 units", "regular", 14, "nph", 26),
    ("regular 14 units plus NPH 26 units", "regular", 14, "nph", 26),
    ("regular 14 units then NPH 26 units", "regular", 14, "nph", 26),
    ("Regular Insulin 8 Units And NPH Insulin 20 Units", "regular", 8, "nph", 20),
    ("REGULAR INSULIN 8 UNITS AND NPH INSULIN 20 UNITS", "regular", 8, "nph", 20),
    ("regular insulin 8 units and nph insulin 20 units", "regular", 8, "nph", 20),
    ("soluble insulin 8 units and isophane insulin 20 units", "regular", 8, "nph", 20),
    ("Isophane 20 units and soluble 8 units", "regular", 8, "nph", 20),
    ("neutral insulin 8 units and isophane 20 units", "regular", 8, "nph", 20),
    ("human regular insulin 8 units and human NPH insulin 20 units", "regular", 8, "nph", 20),
    ("soluble human insulin 8 units and NPH isophane 20 units", "regular", 8, "nph", 20),
    ("regular insulin 8.5 units and NPH insulin 20.5 units", "regular", 8.5, "nph", 20.5),
    ("regular insulin 0.5 units and NPH insulin 12 units", "regular", 0.5, "nph", 12),
    ("regular insulin 1 unit and NPH insulin 1 unit", "regular", 1, "nph", 1),
    ("regular insulin 8.3 units and NPH insulin 20 units", "regular", 8.3, "nph", 20),
    ("regular insulin 0 units and NPH insulin 20 units", "regular", 0, "nph", 20),
    ("regular insulin 100 units and NPH insulin 1200 units", "regular", 100, "nph", 1200),
    ("insulin lispro 8 units and NPH insulin 20 units", "lispro", 8, "nph", 20),
    ("lispro 8 units and isophane 20 units", "lispro", 8, "nph", 20),
    ("insulin aspart 8 units and NPH insulin 20 units", "aspart", 8, "nph", 20),
    ("NPH 20 units and glulisine 8 units", "glulisine", 8, "nph", 20),
    ("insulin glargine 8 units and NPH insulin 20 units", "glargine", 8, "nph", 20),
    ("regular insulin 8 units and premixed 70/30 insulin 20 units", "regular", 8, "premixed-70-30", 20),
    ("regular insulin 8 units and 70/30 20 units", "regular", 8, "premixed-70-30", 20),
    ("regular insulin 8 units and NPH insulin 20 units, U-100", "regular", 8, "nph", 20),
    ("give regular insulin 8 units mixed with NPH insulin 20 units in one syringe", "regular", 8, "nph", 20),
    ("inject regular insulin 8 units and NPH insulin 20 units in the same syringe", "regular", 8, "nph", 20),
    ("  regular   insulin 8 units\tand\nNPH insulin 20 units  ", "regular", 8, "nph", 20),
    ("regular\u00a0insulin 8\u00a0units and NPH insulin 20 units", "regular", 8, "nph", 20),
    ("8 units regular, NPH 20 units", "regular", 8, "nph", 20),
    ("regular 8 units, 20 units NPH", "regular", 8, "nph", 20),
    ("draw up regular insulin 8 units, then NPH insulin 20 units.", "regular", 8, "nph", 20),
]


@pytest.mark.parametrize(("text", "clear", "clear_units", "cloudy", "cloudy_units"), GOOD, ids=[row[0] for row in GOOD])
def test_plainly_written_orders(text, clear, clear_units, cloudy, cloudy_units):
    order = read_order(text)
    assert (order.clear.insulin.key, order.clear.units) == (clear, clear_units)
    assert (order.cloudy.insulin.key, order.cloudy.units) == (cloudy, cloudy_units)


TAIL = [
    ("subcut 30 minutes before breakfast", "subcut", "30 minutes before breakfast"),
    ("subcut", "subcut", None),
    ("before breakfast", None, "before breakfast"),
    ("by subcutaneous injection at bedtime", "subcut", "at bedtime"),
    ("subcutaneously with supper", "subcut", "with supper"),
    ("under the skin before the evening meal", "subcut", "before the evening meal"),
    ("Subcut. 15 min before Lunch.", "subcut", "15 min before lunch"),
]


@pytest.mark.parametrize(("tail", "route", "when"), TAIL, ids=[row[0] for row in TAIL])
def test_route_and_time(tail, route, when):
    order = read_order(f"regular insulin 8 units and NPH insulin 20 units {tail}")
    assert (order.route, order.when) == (route, when)
    assert (order.clear.units, order.cloudy.units) == (8, 20)


# Joint Commission, Do-not-use list, 2009 and 2017 (read): U, IU, trailing zero, missing leading zero.
# NCC MERP, dangerous abbreviations (read): SC, SQ.
N = " and NPH insulin 20 units"
UNSAFE = [
    "regular insulin 8U" + N,
    "regular insulin 8 U" + N,
    "regular insulin 8u" + N,
    "regular insulin 8 u" + N,
    "8U regular" + N,
    "regular insulin 8 IU" + N,
    "regular insulin 8IU" + N,
    "regular insulin 8 iu" + N,
    "regular insulin 8 I.U." + N,
    "regular insulin 8.0 units" + N,
    "regular insulin 8.00 units" + N,
    "regular insulin .5 units" + N,
    "regular insulin 8 units and NPH insulin 20.0 units",
    "regular insulin 8 units and NPH insulin 20U",
    "regular insulin 8 units" + N + " SC",
    "regular insulin 8 units" + N + " sc before breakfast",
    "regular insulin 8 units" + N + " SQ",
    "regular insulin 8 units" + N + " s.c.",
    "regular insulin 8 units" + N + " s.c. before breakfast",
    "regular insulin 8 units" + N + " s/c",
    "regular insulin 8 units" + N + " subq",
    "regular insulin 8 units" + N + " sub q",
]
UNREADABLE = [
    "",
    "   ",
    "good morning",
    "8",
    "8 units",
    "regular insulin",
    "regular insulin and NPH insulin",
    "regular insulin 8 units",
    "regular insulin 8 units and NPH insulin",
    "regular insulin 8 units and 20 units",
    "regular insulin 8 units and NPH insulin 20 units and insulin lispro 4 units",
    "regular insulin 8 units and NPH insulin 20 units and 4 units",
    "regular insulin 8 and NPH insulin 20",
    "regular insulin 8" + N,
    "regular insulin eight units" + N,
    "regular insulin 1,8 units" + N,
    "regular insulin 1,000 units" + N,
    "regular insulin 8-10 units" + N,
    "regular insulin 8–10 units" + N,
    "regular insulin 8 to 10 units" + N,
    "regular insulin 8 or 10 units" + N,
    "regular insulin -8 units" + N,
    "regular insulin −8 units" + N,
    "regular insulin 08 units" + N,
    "regular insulin 8.50 units" + N,
    "regular insulin 8. units" + N,
    "regular insulin 1 8 units" + N,
    "regular insulin 8e1 units" + N,
    "regular insulin 8½ units" + N,
    "regular insulin 8/10 units" + N,
    "regular insulin 8 units/kg" + N,
    "regular insulin 8 units per hour" + N,
    "regular insulin 8units" + N,
    "regular insulin ８ units" + N,
    "regular insulin ٨ units" + N,
    "regular insulin 8\u200b0 units" + N,
    "regular insulin 8l units" + N,
    "regular insulin 8 cc" + N,
    "regular insulin 8 mL" + N,
    "regular insulin 8 mg" + N,
    "regular insulin about 8 units" + N,
    "regular insulin not 8 units" + N,
    "<b>regular insulin</b> 8 units" + N,
    "<script>alert(8)</script>",
    "reglar insulin 8 units" + N,
    "regularinsulin8units" + N,
    "regular insulin 8 units" + N + " QD",
    "regular insulin 8 units" + N + " q.d.",
    "regular insulin 8 units" + N + " daily",
    "regular insulin 8 units" + N + " intravenously",
    "regular insulin 8 units" + N + " 130 minutes before breakfast",
    "regular insulin 8 units" + N + " 15-30 minutes before breakfast",
    "regular insulin 8 units" + N + " before breakfast and supper",
    "regular insulin 8 units" + N + ";" * 500,
]
AMBIGUOUS = [
    "regular NPH 8 units 20 units",
    "regular insulin and NPH insulin 8 units and 20 units",
    "8 units 20 units regular NPH",
    "8 units and 20 units of regular and NPH insulin",
    "regular, 8 units NPH, 20 units",
    "8 units, regular 20 units, NPH",
    "regular insulin and 8 units NPH insulin and 20 units",
    "regular insulin 8 units" + N + " before breakfast, at bedtime",
    "regular insulin 8 units subcut" + N + " subcut",
]
REFUSED = [
    *((text, UnsafeWriting) for text in UNSAFE),
    *((text, CannotRead) for text in UNREADABLE),
    *((text, Ambiguous) for text in AMBIGUOUS),
]


@pytest.mark.parametrize(("text", "error"), REFUSED, ids=[f"{e.__name__}: {t[:70]!a}" for t, e in REFUSED])
def test_refused_orders(text, error):
    with pytest.raises(OrderError) as refused:
        read_order(text)
    assert type(refused.value) is error
    assert str(refused.value).endswith(".")


@pytest.mark.parametrize("what", [None, 8, b"regular insulin 8 units", ["regular"]])
def test_what_is_not_text(what):
    with pytest.raises(CannotRead, match="line of text"):
        read_order(what)


def test_an_unsafe_writing_is_quoted_with_its_history_and_what_to_write():
    with pytest.raises(UnsafeWriting, match=r"'8U' is not safe.*read as 0, 4 or cc.*the word 'units'"):
        read_order("regular insulin 8U and NPH insulin 20 units")


def test_two_of_one_look_are_read_but_have_no_clear_and_cloudy():
    order = read_order("regular insulin 8 units and insulin lispro 20 units")
    for part in ("clear", "cloudy"):
        with pytest.raises(NotOneClearOneCloudy, match="both clear"):
            getattr(order, part)


def test_a_changed_digit_changes_the_order():
    text = "regular insulin 8 units and NPH insulin 20 units"
    for digit in "12345679":
        assert read_order(text.replace("8", digit)).clear.units == int(digit)
        assert read_order(text.replace("20", f"2{digit}")).cloudy.units == 20 + int(digit)


HALVES = st.integers(1, 200).map(lambda twice: twice // 2 if twice % 2 == 0 else twice / 2)
DOSES = st.builds(Dose, insulin=st.sampled_from(list(insulins().values())), units=HALVES)


@settings(deadline=None)
@given(
    st.builds(
        Order,
        doses=st.tuples(DOSES, DOSES),
        route=st.sampled_from([None, "subcut"]),
        when=st.sampled_from([None, "30 minutes before breakfast", "with supper", "at bedtime"]),
    )
)
def test_a_printed_order_is_read_back_as_the_same(order):
    assert read_order(str(order)) == order


def test_every_name_of_every_insulin_is_read():
    for key, insulin in insulins().items():
        for name in (insulin.name, *insulin.row.also_called):
            first, second = read_order(f"{name.upper()} 8 units and NPH insulin 20 units").doses
            assert (first.insulin.key, first.units, second.insulin.key, second.units) == (key, 8, "nph", 20)


WORDS = ["regular", "NPH", "insulin", "8", "20", "1", "units", "unit", " ", ",", ".", ";", "and", "-", "/", "0", "U"]
WORDS += ["before breakfast", "30 minutes", "subcut", "<b>", "8 units", "20 units", "70/30", "\u200b", "\n", "lispro"]


@settings(deadline=None)
@given(
    st.text()
    | st.lists(st.sampled_from(WORDS), max_size=14).map(" ".join)
    | st.lists(st.sampled_from(WORDS)).map("".join)
)
def test_any_text_is_an_order_or_an_order_error(text):
    try:
        order = read_order(text)
    except OrderError:
        return
    assert isinstance(order, Order)
    for dose in order.doses:  # every dose was written, digit for digit
        assert f"{dose.units:g} unit" in " ".join(text.split()).lower()


@settings(deadline=None)
@given(st.characters(), st.integers(0, 60))
def test_one_stray_character_never_changes_a_dose_unseen(character, place):
    text = "regular insulin 8 units and NPH insulin 20 units"
    changed = text[:place] + character + text[place:]
    try:
        order = read_order(changed)
    except OrderError:
        return
    for dose in order.doses:
        assert f"{dose.units:g}" in changed
    if not (character.isascii() and character.isdigit()):
        assert [dose.units for dose in order.doses] == [8, 20]


@pytest.mark.parametrize(
    "text",
    [
        "regular insulin 8 units of NPH 20 units",
        "regular with 8 units of NPH with 20 units",
        "regular. 8 units NPH. 20 units",
        "regular\n8 units NPH\n20 units",
        "regular insulin 8 units before breakfast and NPH insulin 20 units",
    ],
)
def test_words_and_places_that_could_bind_a_dose_or_a_time_to_the_other_insulin_are_ambiguous(text):
    with pytest.raises(Ambiguous):
        read_order(text)


@pytest.mark.parametrize(
    "text",
    [
        "8 units of regular 20 units of NPH",
        "regular: 8 units NPH: 20 units",
        "regular insulin 8 units mixed with NPH insulin 20 units",
    ],
)
def test_words_that_bind_each_dose_to_its_own_insulin_are_read(text):
    order = read_order(text)
    assert (order.clear.units, order.cloudy.units) == (8, 20)
