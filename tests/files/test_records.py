"""Plain data become records or faults: each has its place, its line and, where a name is not known, the nearest one."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any, ClassVar, Literal

import pytest

from mixlab.files.faults import FileError
from mixlab.files.records import STRICT, check
from mixlab.files.text import Sort
from mixlab.files.toml import Written, read_toml
from mixlab.words import sentence

SORT = Sort(name=sentence("table"), wanted=sentence("a text file"))
BACKWARD = sentence("a span runs upwards")


@dataclass(frozen=True, kw_only=True)
class Span:
    """A range."""

    __pydantic_config__: ClassVar[dict[str, object]] = STRICT

    low: float
    high: float

    def __post_init__(self):
        if self.high < self.low:
            raise ValueError(BACKWARD)


@dataclass(frozen=True, kw_only=True)
class Row:
    """A row with a value of each type."""

    __pydantic_config__: ClassVar[dict[str, object]] = STRICT

    look: Literal["clear", "cloudy"] | None = None
    name: str = ""
    count: int = 0
    sure: bool = False
    day: date = date(2026, 11, 26)
    spans: tuple[Span, ...] = ()
    by_name: Mapping[Literal["one", "two"], Span] | None = None
    other: Span | None = None


def read(folder, text):
    path = folder / "x.toml"
    path.write_text(text, encoding="utf-8")
    return read_toml(path, SORT)


def told(folder, text, kind=Mapping[str, Row], *at):
    with pytest.raises(FileError) as caught:
        check(kind, read(folder, text), *(at or ("t",)))
    return [str(fault) for fault in caught.value.faults]


def test_what_is_well_written_becomes_records(tmp_path):
    written = read(tmp_path, '[t.a]\nlook = "clear"\ncount = 3\nspans = [{low = 1, high = 2.5}]\nday = 2026-01-02')
    assert check(Mapping[str, Row], written, "t") == {
        "a": Row(look="clear", count=3, spans=(Span(low=1, high=2.5),), day=date(2026, 1, 2))
    }
    assert check(Row, written, "t", "a") == check(Mapping[str, Row], written, "t")["a"]


FAULTS = {
    'look = "cloudi"': "x.toml, line 2, t.a.look: 'cloudi' is not one of the words for it. Write one of 'clear' or 'cloudy'. The nearest known one is cloudy.",
    "look = 3": "x.toml, line 2, t.a.look: 3 is not one of the words for it. Write one of 'clear' or 'cloudy'.",
    'loook = "clear"': "x.toml, line 2, t.a.loook: this key is not known here. Take it out or correct its spelling. The nearest known one is look.",
    "zzz = 1": "x.toml, line 2, t.a.zzz: this key is not known here. Take it out or correct its spelling.",
    "name = 3": "x.toml, line 2, t.a.name: this is not text. Write text in quotation marks.",
    "count = 1.5": "x.toml, line 2, t.a.count: this is not a whole number. Write a whole number.",
    'count = "1"': "x.toml, line 2, t.a.count: this is not a whole number. Write a whole number.",
    'sure = "yes"': "x.toml, line 2, t.a.sure: this is neither true nor false. Write true or false.",
    "spans = 3": "x.toml, line 2, t.a.spans: this is not a list. Write a list in square brackets.",
    "by_name = 3": "x.toml, line 2, t.a.by_name: this is not a table. Write a table.",
    "spans = [3]": "x.toml, line 2, t.a.spans, row 1: this is not a table. Write a table with keys of its own.",
    "spans = [{low = 1}]": "x.toml, line 2, t.a.spans, row 1, high: this key is missing. Add it.",
    "spans = [{low = nan, high = inf}]": "x.toml, line 2, t.a.spans, row 1, low: this number has no end. Write a number that ends.",
    "spans = [{low = 2026-01-01, high = 1}]": "x.toml, line 2, t.a.spans, row 1, low: this is not a number. Write a number.",
    "spans = [{low = true, high = 1}]": "x.toml, line 2, t.a.spans, row 1, low: this is not a number. Write a number.",
    "spans = [{low = 2, high = 1}]": "x.toml, line 2, t.a.spans, row 1: a span runs upwards.",
    "spans = [{low = 1, hihg = 1}]": "x.toml, line 2, t.a.spans, row 1, hihg: this key is not known here. Take it out or correct its spelling. The nearest known one is high.",
    "by_name.on = {low = 1, high = 1}": "x.toml, line 2, t.a.by_name.on: 'on' is not one of the words for it. Write one of 'one' or 'two'. The nearest known one is one.",
    "other = {low = 1, hihg = 1}": "x.toml, line 2, t.a.other.hihg: this key is not known here. Take it out or correct its spelling. The nearest known one is high.",
    "day = 07:00:00": "x.toml, line 2, t.a.day: this is not a date. Write a date such as 2026-11-26.",
    "day = 2026-01-01T10:00:00": "x.toml, line 2, t.a.day: this is not a date. Write a date such as 2026-11-26.",
    "count = 0x" + "f" * 5000: "x.toml, line 2, t.a.count: a number has very many digits. Write the number that is meant.",
}  # fmt: skip


@pytest.mark.parametrize("text", FAULTS, ids=lambda text: text[:40])
def test_a_fault_is_told_with_its_place_its_line_and_what_to_do(tmp_path, text):
    assert told(tmp_path, f"[t.a]\n{text}")[0] == FAULTS[text]


def test_every_fault_is_told_at_once_in_the_order_of_the_lines(tmp_path):
    faults = told(tmp_path, "[t.a]\nname = 3\ncount = true\n[t.b]\nsure = 1")
    assert [fault.partition(":")[0] for fault in faults] == [
        *("x.toml, line 2, t.a.name", "x.toml, line 3, t.a.count", "x.toml, line 5, t.b.sure")
    ]


def test_what_a_record_says_itself_stays_a_sentence(tmp_path):
    with pytest.raises(FileError) as caught:
        check(Span, read(tmp_path, "low = 2\nhigh = 1"))
    assert caught.value.faults[0].wrong == BACKWARD
    assert str(caught.value) == "x.toml: a span runs upwards."


def test_what_stands_too_deep_is_told():
    deep: list[Any] = []
    for _ in range(100_000):
        deep = [deep]
    with pytest.raises(FileError, match="x: its lists and tables stand too deep inside each other"):
        check(Row, Written(file="x", tables={"spans": deep}))


def test_a_whole_file_that_is_none_of_it_is_told():
    with pytest.raises(FileError, match="x: this is not a table"):
        check(Row, Written(file="x", tables=[]))
