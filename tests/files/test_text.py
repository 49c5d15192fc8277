"""Whatever stands under a file's name is read as text, or refused in one sentence; nothing in it changes."""

import os
from pathlib import Path

import pytest

from mixlab.files.faults import FileError
from mixlab.files.text import LARGEST, MissingFile, Sort, read_bytes, read_text
from mixlab.words import sentence

SORT = Sort(name=sentence("site file"), wanted=sentence("the text file with the keys of your site"))


def told(path):
    with pytest.raises(FileError) as caught:
        read_text(path, SORT)
    (fault,) = caught.value.faults
    assert str(caught.value) == str(fault)
    return str(fault)


NO_TEXT = {
    "UTF-16": ("name = 3".encode("utf-16"), "x.toml: it is text in UTF-16. Save it as text in UTF-8."),
    "NUL": (b"na\0me", "x.toml: it is not text. Name the text file with the keys of your site."),
    "Latin-1": (b"a = 1\nb = '\xe9'", "x.toml, line 2: it is not text in UTF-8. Save it as text in UTF-8."),
    "two MB": (b"#" * 2_000_000, "x.toml: it has 2 MB, and no site file needs more than 1 MB. Look whether this is the right file."),
}  # fmt: skip


@pytest.mark.parametrize("what", NO_TEXT)
def test_what_is_not_text_is_refused_and_left_as_it_is(tmp_path, what):
    raw, said = NO_TEXT[what]
    path = tmp_path / "x.toml"
    path.write_bytes(raw)
    assert told(path) == said
    assert path.read_bytes() == raw


@pytest.mark.parametrize(
    ("raw", "text"),
    [
        (b"", ""),
        (b"a = 1\n", "a = 1\n"),
        (b"\xef\xbb\xbfa = 1", "a = 1"),
        (b"a = 1\r\nb = 2\r\n", "a = 1\nb = 2\n"),
        ("ü – é".encode(), "ü – é"),
        (b"#" * LARGEST, "#" * LARGEST),
    ],
    ids=range(6),
)
def test_text_is_read_with_one_sign_at_the_end_of_a_line_and_none_in_front(tmp_path, raw, text):
    path = tmp_path / "x.toml"
    path.write_bytes(raw)
    assert read_text(path, SORT) == text
    assert read_bytes(path, SORT) == raw


def test_what_is_no_file_is_told_in_one_sentence(tmp_path):
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "loop").symlink_to(tmp_path / "loop")
    for path, said in {
        tmp_path: "this is a folder. Name the file in it.",
        tmp_path / "pipe": "this is no file. Name a text file.",
        tmp_path / "loop": "it cannot be read from this disk.",
        Path("a\0b"): "it cannot be read from this disk.",
        Path("x" * 5000): "it cannot be read from this disk.",
    }.items():
        assert said in told(path)


def test_a_link_is_followed(tmp_path):
    (tmp_path / "ours.toml").write_text("a = 1", encoding="utf-8")
    (tmp_path / "link.toml").symlink_to(tmp_path / "ours.toml")
    assert read_text(tmp_path / "link.toml", SORT) == "a = 1"


def test_a_missing_file_is_told_with_the_nearest_name_of_its_kind(tmp_path):
    for name in ("site.toml", "notes.txt", "ward.toml"):
        (tmp_path / name).touch()
    said = told(tmp_path / "ste.toml")
    assert (
        said == f"ste.toml: there is no such file in {tmp_path}. Correct its name. The nearest known one is site.toml."
    )
    for other in ("xyz.toml", "notes.toml"):
        assert told(tmp_path / other).endswith("Correct its name.")
    for path in (tmp_path / "nowhere" / "site.toml", tmp_path / "site.toml" / "site.toml"):
        with pytest.raises(MissingFile, match="there is no such file"):
            read_text(path, SORT)


@pytest.mark.parametrize(
    ("fault", "said"),
    [
        (PermissionError, "this computer does not let you read it. Ask whoever keeps the file"),
        (OSError, "it cannot be read from this disk. Copy it into the folder of the lessons"),
    ],
)
def test_a_file_that_the_system_withholds(tmp_path, monkeypatch, fault, said):
    path = tmp_path / "x.toml"
    path.touch()

    def refuse(_):
        raise fault

    monkeypatch.setattr(Path, "read_bytes", refuse)
    assert said in told(path)


def test_a_large_file_is_not_even_read(tmp_path, monkeypatch):
    path = tmp_path / "x.toml"
    path.write_bytes(b"#" * (LARGEST + 1))
    monkeypatch.setattr(Path, "read_bytes", lambda _: pytest.fail("the file was read"))
    assert "it has 1 MB" in told(path)
