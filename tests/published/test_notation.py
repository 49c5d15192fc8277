"""Error-prone ways of writing, entry by entry as their lists print them, found in orders and refused by name."""

from dataclasses import replace

import pytest

from mixlab.care.order.checking import order_concerns
from mixlab.facts.reading import the_facts
from mixlab.ward.order.order import UnsafeWriting
from mixlab.ward.order.reading import read_order
from mixlab.ward.site.record import teaching_site

ORDER = "regular insulin 8 units and NPH insulin 20 units"

# The Joint Commission, Official 'Do Not Use' list, 2009 and 2017 (read), entry by entry:
# entry, what the list says it is mistaken for, what it says to write, and orders that use it.
DO_NOT_USE = [
    ("bare-u", ("0", "4", "cc"), "units", ["regular insulin 8U and {nph}", "regular insulin 8 u and {nph}", "NPH8U"]),
    ("iu", ("IV", "10"), "units", ["regular insulin 8 IU and {nph}", "8IU regular and {nph}", "8 I.U. regular, {nph}"]),
    (
        "qd",
        ("QID", "QOD"),
        "daily",
        [f"{ORDER} {f}" for f in ("QD", "Q.D.", "qd", "q.d.")],
    ),
    ("qod", ("QD", "QID"), "every other day", [f"{ORDER} {form}" for form in ("QOD", "Q.O.D.", "qod", "q.o.d.")]),
    (
        "trailing-zero",
        ("ten times",),
        "{right}, not {wrong}",
        ["regular insulin 8.0 units and {nph}", "regular 8.00 units"],
    ),
    (
        "no-leading-zero",
        ("ten times",),
        "{right}, not {wrong}",
        ["regular insulin .5 units and {nph}", "{nph} and .8 units regular"],
    ),
    ("ms", ("morphine", "magnesium"), "full name", ["MS 2 mg"]),
    ("mso4", ("magnesium",), "full name", ["MSO4 2 mg"]),
    ("mgso4", ("morphine",), "full name", ["MgSO4 2 g"]),
]

# Lists beyond it. The Joint Commission's signs to be watched (read): < and > mistaken for 7 or L and for each other, @ for 2.
# NCC MERP, Dangerous abbreviations (read): SC mistaken for SL, SQ for "5 every".
# ISMP, List of error-prone abbreviations, 2021: from memory and as other publications quote it.
FURTHER = [
    ("less-or-more", ("7", "L", "opposite"), "less than", [f"{ORDER} hold if glucose <70", f"{ORDER} call if > 300"]),
    ("at-sign", ("2",), "at", [f"{ORDER} @ 07:30", f"{ORDER} @07:30"]),
    ("sc", ("SL",), "subcut", [f"{ORDER} {form}" for form in ("SC", "sc", "s.c.", "S/C")]),
    ("sq", ("5 every",), "subcut", [f"{ORDER} {form}" for form in ("SQ", "sub q", "subq", "sub-q")]),
    ("cc", ("U",), "mL", ["regular insulin 8 cc and {nph}", "regular insulin 8cc and {nph}"]),
    ("ss", ("55",), "one half", [f"{ORDER} per ss", f"{ORDER} SS"]),
    ("name-and-number", ("number",), "space", ["regular 8 units and NPH20 units", "regular8 units and {nph}"]),
    ("number-and-unit", ("ten times",), "space", ["regular insulin 8units and {nph}", "regular 8unit and {nph}"]),
    (
        "slash",
        ("1",),
        "and",
        ["NPH 20 units / regular 8 units", "NPH 20 units/regular 8 units", "20 units NPH / 8 units regular"],
    ),
    ("hs", ("half strength", "bedtime"), "at bedtime", [f"{ORDER} HS", f"{ORDER} h.s."]),
    ("q6pm", ("six hours",), "18:00", [f"{ORDER} q6PM", f"{ORDER} q 6 pm"]),
    ("qhs", ("hour",), "at bedtime", [f"{ORDER} qhs", f"{ORDER} QHS", f"{ORDER} q.h.s."]),
    ("qn", ("hour",), "every night", [f"{ORDER} qn"]),
    ("dc", ("discharge", "discontinue"), "stop", [f"D/C {ORDER}"]),
    ("oj", ("eye",), "orange juice", [f"{ORDER} with OJ"]),
]
FURTHER += [
    ("plus", ("4",), "and", ["regular 8 units + {nph}", "regular 8 units+{nph}"]),
    ("ampersand", ("2",), "and", ["regular 8 units & {nph}"]),
    ("per-os", ("eye",), "by mouth", [f"{ORDER} per os"]),
    ("bt", ("BID",), "at bedtime", [f"{ORDER} BT", f"{ORDER} b.t."]),
    ("od", ("eye",), "daily", [f"{ORDER} OD", f"{ORDER} o.d."]),
    ("tiw", ("three times a day",), "three times a week", [f"{ORDER} TIW"]),
    ("x3d", ("three doses",), "for three days", [f"{ORDER} x3d", f"{ORDER} x 3d"]),
    ("ssi", ("iodine",), "sliding scale", [f"{ORDER} SSI", "regular insulin per SSI and {nph}"]),
    (
        "short-name",
        ("another",),
        "full generic name",
        ["Reg 8 units and {nph}", "reg. insulin 8 units, {nph}", "R 8 units and {nph}"],
    ),
]
# Common practice, no source: not on a list that we have read. Said where the ward wants it otherwise, and read.
UNLISTED = [
    (
        "short-time",
        ("another time",),
        "before breakfast",
        [f"{ORDER} subcut {form}" for form in ("ac breakfast", "BID", "TID", "qAM", "stat")],
    ),
]
READ_ALL_THE_SAME = {  # not stopped, but told
    "stop-after-unit": "0.08 mL. regular",
    "large-number": "regular insulin 8 units and NPH insulin 1200 units",
}


@pytest.mark.parametrize(
    ("key", "mistaken", "write", "orders"), DO_NOT_USE + FURTHER, ids=lambda value: str(value)[:20]
)
def test_each_entry_is_found_refused_and_explained(key, mistaken, write, orders):
    row = the_facts().notation[key]
    assert all(word in row.misread_as.key for word in mistaken)
    assert write in row.write.key
    for text in (order.format(nph="NPH insulin 20 units") for order in orders):
        found = [concern for concern in order_concerns(text) if concern.key == key]
        assert len(found) == 1, text
        assert (found[0].kind, found[0].name) == ("writing", row.title)
        assert found[0].source == the_facts().cite(row)
        with pytest.raises(UnsafeWriting):
            read_order(text)


@pytest.mark.parametrize(("key", "mistaken", "write", "orders"), UNLISTED, ids=["short-time"])
def test_what_no_list_names_is_read_and_said_as_the_wards_style(key, mistaken, write, orders):
    row = the_facts().notation[key]
    assert (row.grade, row.known) == ("style", "common practice")
    assert all(word in row.misread_as.key for word in mistaken)
    assert write in row.write.key
    lax = replace(teaching_site(), short_times=replace(teaching_site().short_times, value="short forms too"))
    for text in orders:
        assert read_order(text).doses
        assert [(one.grade, one.holds) for one in order_concerns(text) if one.key == key] == [("style", False)]
        assert key not in [one.key for one in order_concerns(text, site=lax)]


@pytest.mark.parametrize(("key", "text"), READ_ALL_THE_SAME.items())
def test_what_is_told_without_stopping(key, text):
    assert the_facts().notation[key].grade == "avoid"
    assert key in [concern.key for concern in order_concerns(text)]


def test_the_entries_above_are_all_rows_of_the_facts():
    assert {key for key, *_ in DO_NOT_USE + FURTHER + UNLISTED} | set(READ_ALL_THE_SAME) == set(the_facts().notation)


def test_the_status_of_each_row_is_that_of_its_list():
    rows = the_facts().notation
    assert {rows[key].source for key, *_ in DO_NOT_USE} == {"joint-commission-do-not-use"}
    assert {row.source for row in rows.values() if row.known == "recalled"} == {"ismp-2021"}
    unlisted = {key for key, *_ in UNLISTED}
    assert {key for key, row in rows.items() if row.known == "common practice"} == unlisted
    assert {row.known for key, row in rows.items() if row.source != "ismp-2021" and key not in unlisted} == {"read"}


def test_u_read_as_a_figure_gives_the_two_folds_that_are_checked():
    """4U read as 40 (Joint Commission: U mistaken for 0; read) and as 44 (mistaken for 4; read, the example recalled)."""
    checks = the_facts().checks
    assert (checks["u_as_four"].value, checks["u_as_four"].source) == (4, "joint-commission-do-not-use")
    assert (checks["tenfold"].value, checks["elevenfold"].value) == (40 / 4, 44 / 4)
    usual = read_order("regular insulin 4 units and NPH insulin 20 units")
    for misread, fold in ((40, "10 times"), (44, "11 times")):
        text = f"regular insulin {misread} units and NPH insulin 20 units"
        assert f"{fold} the usual 4 units" in [str(concern.name) for concern in order_concerns(text, usual=usual)]
