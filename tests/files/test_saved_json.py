"""A JSON file that mixlab saved reads back the same, or is refused in one sentence."""

from contextlib import suppress

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from mixlab.files.faults import FileError
from mixlab.files.saved_json import json_text, read_json
from mixlab.files.text import Sort
from mixlab.words import sentence

SORT = Sort(name=sentence("saved attempt"), wanted=sentence("a file that the bench has written"))
AGAIN = "Use another copy, or begin again."


@pytest.mark.parametrize("held", [{}, [], 0, "é", {"a": [1, {"b": None, "c": 0.5}], "d": True}])
def test_what_is_saved_reads_back(tmp_path, held):
    path = tmp_path / "x.json"
    path.write_text(json_text(held), encoding="utf-8")
    assert read_json(path, SORT).tables == held


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", f"x.json, line 1: it is cut short or not a saved attempt. {AGAIN}"),
        ('{"a":\n [1,', f"x.json, line 2: it is cut short or not a saved attempt. {AGAIN}"),
        ('{"a": 1, "b": {"c": 1, "c": 2}}', f"x.json: c stands in it twice. {AGAIN}"),
        ("[NaN]", f"x.json: a number in it cannot be read. {AGAIN}"),
        ("[-Infinity]", f"x.json: a number in it cannot be read. {AGAIN}"),
        ("[" * 100_000, f"x.json: its lists and tables stand too deep inside each other. {AGAIN}"),
        (f"[{'9' * 5000}]", f"x.json: a number has very many digits. {AGAIN}"),
        ("a\0b", "x.json: it is not text. Name a file that the bench has written."),
    ],
    ids=range(8),
)
def test_what_mixlab_never_wrote_is_refused(tmp_path, text, said):
    path = tmp_path / "x.json"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(FileError) as caught:
        read_json(path, SORT)
    assert str(caught.value) == said


def test_what_json_has_no_word_for_is_never_saved():
    with pytest.raises(ValueError, match="not JSON compliant"):
        json_text(float("nan"))


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(raw=st.binary(max_size=60))
def test_garbage_is_read_or_refused(tmp_path, raw):
    path = tmp_path / "x.json"
    path.write_bytes(raw)
    with suppress(FileError):
        assert read_json(path, SORT).file == "x.json"
