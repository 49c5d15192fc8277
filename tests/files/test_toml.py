"""A TOML file gives tables with their lines, or faults in words; what is written as TOML reads back the same."""

import tomllib

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from mixlab.files.faults import Fault, FileError, nearest, place_text
from mixlab.files.text import Sort
from mixlab.files.toml import bare, comment, quoted, read_toml
from mixlab.words import sentence

SORT = Sort(name=sentence("site file"), wanted=sentence("a text file"))


def read(folder, text, *numbers):
    path = folder / "x.toml"
    path.write_bytes(text.encode())
    return read_toml(path, SORT, numbers)


def told(folder, text, *numbers):
    with pytest.raises(FileError) as caught:
        read(folder, text, *numbers)
    return [str(fault) for fault in caught.value.faults]


WHOLE = """# a = 9
a = 1
b.c = 2
text = '''
a = 3
'''
[table]
d = [
  1,
]
[[rows]]
e = 1
[[rows]]
e = 2
"""


def test_each_key_has_its_line_and_what_has_none_that_of_the_nearest_thing_around_it(tmp_path):
    written = read(tmp_path, WHOLE)
    places = {
        ("a",): 2,
        ("b", "c"): 3,
        ("text",): 4,
        ("table",): 7,
        ("table", "d"): 8,
        ("rows", 1): 13,
        ("rows", 1, "e"): 14,
    }
    assert {place: written.line(*place) for place in places} == places
    assert written.line("table", "nothing") == 7
    assert written.line("table", "d", 0) == 8
    assert written.line("nothing") is None
    assert written.value("rows", 1, "e") == 2
    assert written.file == "x.toml"


def test_an_empty_file_is_read(tmp_path):
    assert read(tmp_path, "").tables == {}


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("a = 1\na = 2", ["x.toml, line 2, a: it was already written on line 1. Write it once."]),
        ("a = 1\nb = 1\nb = 2\na = 3", [f"x.toml, line {n}, {key}: it was already written on line {f}. Write it once." for n, key, f in ((3, "b", 2), (4, "a", 1))]),
        ("a = " + "[" * 100_000, ["x.toml: its lists and tables stand too deep inside each other. Begin again from a file that mixlab wrote, and change one value at a time."]),
        ("a = 1,5", ["x.toml, line 1, a: 1,5 is a number with a comma. Write it with a point: 1.5."]),
        ("c = 1,5", ["x.toml, line 1, c: this is not written as a key and its value. Write text in quotation marks, numbers bare, lists in square brackets."]),
        ("a = 1\nb 2", ["x.toml, line 2, a: the equals sign is missing. Write the key, an equals sign and the value."]),
        ("a = " + "9" * 5000, ["x.toml, line 1, a: a number has very many digits. Write the number that is meant."]),
        ("a = [1", ["x.toml, line 1, a: a list does not end. Close the list with a square bracket."]),
    ],
)  # fmt: skip
def test_what_is_not_toml_is_told_with_its_line(tmp_path, text, said):
    assert told(tmp_path, text, "a") == said


@given(st.text(max_size=20).filter(lambda text: all(ord(sign) < 0xD800 or ord(sign) > 0xDFFF for sign in text)))
@example('\x7f\x00\n"\\')
def test_any_text_and_any_key_read_back_as_they_were(text):
    assert tomllib.loads(f"{bare(text)} = {quoted(text)}") == {text: text}


def test_a_key_is_quoted_only_where_it_must_be():
    assert [bare(key) for key in ("nph", "a-b_2", "terms.chart", "", "é")] == [
        *("nph", "a-b_2", '"terms.chart"', '""', '"é"')
    ]


def test_a_comment_breaks_between_words_only(monkeypatch):
    monkeypatch.setattr("mixlab.files.toml._WIDTH", 12)
    assert comment(sentence("the short-acting one"), "next") == ["# the", "# short-acting", "# one", "# next"]


def test_faults_are_listed_file_by_file_in_the_order_of_the_lines():
    said = sentence("wrong")
    faults = [Fault(file=file, line=line, wrong=said) for file, line in (("b", 3), ("a", 2), ("b", 1), ("a", None))]
    assert str(FileError(faults)) == "b, line 1: wrong.\nb, line 3: wrong.\na: wrong.\na, line 2: wrong."


def test_the_nearest_name_and_a_place_are_told():
    assert nearest("WATING", ["waiting", "rounds"]) == "waiting"
    assert nearest("zzz", ["waiting", "rounds"]) == ""
    assert str(place_text(("meals", 1, "at"))) == "meals, row 2, at"
