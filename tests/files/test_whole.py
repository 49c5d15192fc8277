"""Whatever comes between, a file holds what it held or what it was to hold, whole, and nothing else is left in the folder."""

import errno
import os
import stat
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from mixlab.files import whole
from mixlab.files.whole import CannotWrite, Taken, new_folder, write_new, write_whole

READ_ONLY = Path("/sys", "kernel")
FULL = OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


@pytest.fixture
def file(tmp_path):
    path = tmp_path / "ours.toml"
    path.write_bytes(b"old")
    return path


def names(folder):
    return sorted(path.name for path in folder.iterdir())


def told(write, *words):
    with pytest.raises(CannotWrite) as caught:
        write(*words)
    (fault,) = caught.value.faults
    assert caught.value.reason == fault.wrong
    return str(fault)


def failing(fault):
    def fail(*_, **__):
        raise fault

    return fail


def test_a_file_is_written_as_it_is_and_nothing_else_is_left(file):
    for content, raw in (("é\r\n\n", b"\xc3\xa9\r\n\n"), (b"\xff", b"\xff"), ("", b"")):
        write_whole(file, content)
        assert file.read_bytes() == raw
    write_whole(file.with_name("new.toml"), "new")
    assert names(file.parent) == ["new.toml", "ours.toml"]


def test_the_rights_of_a_file_stay_and_those_of_a_new_one_are_the_usual(file):
    file.chmod(0o640)
    write_whole(file, "new")
    assert stat.S_IMODE(file.stat().st_mode) == 0o640
    usual, new = file.with_name("usual"), file.with_name("new")
    usual.touch()
    for write in (write_whole, write_new):
        write(new, "new")
        assert new.stat().st_mode == usual.stat().st_mode
        new.unlink()


BETWEEN = {
    "the disk is full": ("mixlab.files.whole.os.fsync", FULL, "there is no room for it on this disk. Make room, or choose another folder."),
    "the folder is locked": ("pathlib.Path.open", PermissionError(errno.EACCES, ""), "this computer does not let you write in {folder}. Choose another folder."),
    "the disk is read-only": ("pathlib.Path.open", OSError(errno.EROFS, ""), "this computer does not let you write in {folder}. Choose another folder."),
    "it cannot be put in place": ("pathlib.Path.replace", PermissionError(errno.EACCES, ""), "this computer does not let you write in {folder}. Choose another folder."),
    "the disk is damaged": ("mixlab.files.whole.os.fsync", OSError(errno.EIO, ""), "it cannot be written in {folder}. Choose another folder."),
}  # fmt: skip


@pytest.mark.parametrize("what", BETWEEN)
def test_where_it_cannot_be_written_the_old_one_stays_and_one_sentence_says_why(file, monkeypatch, what):
    where, fault, said = BETWEEN[what]
    monkeypatch.setattr(where, failing(fault))
    assert told(write_whole, file, "new") == f"ours.toml: {said.format(folder=file.parent)}"
    monkeypatch.undo()
    assert file.read_bytes() == b"old"
    assert names(file.parent) == ["ours.toml"]


@pytest.mark.parametrize("where", ["mixlab.files.whole.os.fsync", "pathlib.Path.chmod", "pathlib.Path.replace"])
def test_whoever_interrupts_it_finds_the_old_one(file, monkeypatch, where):
    monkeypatch.setattr(where, failing(KeyboardInterrupt()))
    with pytest.raises(KeyboardInterrupt):
        write_whole(file, "new")
    monkeypatch.undo()
    assert file.read_bytes() == b"old"
    assert names(file.parent) == ["ours.toml"]


KILLED = """
import os, sys
from pathlib import Path
from mixlab.files import whole
Path.replace = lambda *_: os._exit(9)
whole.os.link = lambda *_: os._exit(9)
getattr(whole, sys.argv[1])(Path(sys.argv[2]), "new")
"""


@pytest.mark.parametrize(("write", "name"), [("write_whole", "ours.toml"), ("write_new", "new.toml")])
def test_a_kernel_that_dies_between_writing_and_putting_in_place_loses_nothing(file, write, name):
    path = file.with_name(name)
    before = path.read_bytes() if path.exists() else None
    done = subprocess.run([sys.executable, "-c", KILLED, write, str(path)], check=False)
    assert done.returncode == 9
    assert (path.read_bytes() if path.exists() else None) == before
    assert all(each == "ours.toml" or each.startswith(".") for each in names(file.parent))
    getattr(whole, write)(path, "newer")
    assert path.read_bytes() == b"newer"


def test_a_link_stays_and_the_file_it_leads_to_is_written(file):
    (file.parent / "deep").mkdir()
    link = file.parent / "deep" / "link.toml"
    for target in (file, file.with_name("later.toml")):
        link.symlink_to(target)
        write_whole(link, "new")
        assert link.is_symlink()
        assert target.read_bytes() == b"new"
        link.unlink()
    assert names(file.parent / "deep") == []


def test_what_is_no_file_is_left_as_it_is(file):
    loop = file.with_name("loop")
    loop.symlink_to(loop)
    os.mkfifo(file.with_name("pipe"))
    before = names(file.parent)
    assert told(write_whole, file.parent, "new") == f"{file.parent.name}: this is a folder. Name the file in it."
    assert told(write_whole, loop, "new") == "loop: it is a link that leads to no file. Name a file."
    assert told(write_whole, file.with_name("pipe"), "new") == "pipe: this is no file. Name a text file."
    assert names(file.parent) == before


def test_a_locked_file_is_not_replaced(file, monkeypatch):
    monkeypatch.setattr("mixlab.files.whole.os.access", lambda *_: False)
    said = told(write_whole, file, "new")
    assert said == "ours.toml: it is locked against writing. Unlock it, or choose another name."
    assert file.read_bytes() == b"old"


@pytest.mark.parametrize("write", [write_whole, write_new])
def test_a_place_where_nothing_can_be_written_is_told(file, write):
    nowhere, inside = file.parent / "nowhere", file / "new.toml"
    for path, said in {
        nowhere / "x.toml": f"x.toml: there is no folder {nowhere}. Make it first, or choose another one.",
        inside: f"new.toml: there is no folder {file}. Make it first, or choose another one.",
        file.with_name("x" * 300): f"{'x' * 300}: its name is too long. Choose a shorter one.",
        Path("a\0b"): "a\0b: no file can have such a name. Choose another name.",
        Path("a\ud800b"): "a\ud800b: no file can have such a name. Choose another name.",
    }.items():
        assert told(write, path, "new") == said
    assert names(file.parent) == ["ours.toml"]


@pytest.mark.skipif(not READ_ONLY.is_dir(), reason="needs a folder that even the root user cannot write to")
def test_a_read_only_folder_is_told():
    for write in (write_whole, write_new):
        assert f"does not let you write in {READ_ONLY}" in told(write, READ_ONLY / "x.toml", "new")


@pytest.mark.parametrize("write", [write_whole, write_new])
def test_a_text_that_no_file_can_hold_is_told_with_its_line(file, write):
    said = told(write, file, "a\nb \ud800")
    assert said == "ours.toml, line 2: a sign in it cannot be saved as text. Type this line anew."
    assert file.read_bytes() == b"old"


def test_of_two_who_write_at_once_one_is_there_whole(file):
    texts = [letter * 200_000 for letter in "abcdefgh"]
    with ThreadPoolExecutor(4) as pool:
        list(pool.map(lambda text: write_whole(file, text), texts))
    assert file.read_text(encoding="utf-8") in texts
    assert names(file.parent) == ["ours.toml"]


# A new file


@pytest.mark.parametrize("there", ["a file", "a folder", "a link to nothing"])
def test_a_new_file_is_written_over_nothing(tmp_path, there):
    path = tmp_path / "x.toml"
    match there:
        case "a file":
            path.write_bytes(b"mine")
        case "a folder":
            path.mkdir()
        case _:
            path.symlink_to(tmp_path / "nothing")
    with pytest.raises(Taken, match="there is such a file already, and it is left as it is"):
        write_new(path, "new")
    assert names(tmp_path) == ["x.toml"]
    assert not path.is_file() or path.read_bytes() == b"mine"


@pytest.fixture(params=[False, True], ids=["a usual disk", "a disk without second names"])
def disk(request, monkeypatch):
    if request.param:
        monkeypatch.setattr("mixlab.files.whole.os.link", failing(OSError(errno.EPERM, "")))


def test_of_two_who_make_the_same_file_one_has_it(tmp_path, disk, monkeypatch):
    monkeypatch.setattr(Path, "exists", lambda _: False)  # both have looked before either wrote

    def make(text):
        try:
            write_new(tmp_path / "x.toml", text)
        except Taken:
            return ""
        return text

    with ThreadPoolExecutor(4) as pool:
        made = [text for text in pool.map(make, "abcdefgh") if text]
    assert (tmp_path / "x.toml").read_text(encoding="utf-8") == "".join(made)
    assert len(made) == 1
    assert names(tmp_path) == ["x.toml"]


@pytest.mark.parametrize("fault", [FULL, KeyboardInterrupt()], ids=["full", "interrupted"])
def test_of_a_new_file_that_fails_nothing_is_left(tmp_path, monkeypatch, fault):
    monkeypatch.setattr("mixlab.files.whole.os.link", failing(OSError(errno.EPERM, "")))
    monkeypatch.setattr(Path, "replace", failing(fault))
    with pytest.raises((CannotWrite, KeyboardInterrupt)):
        write_new(tmp_path / "x.toml", "new")
    assert names(tmp_path) == []


# A new folder


def fill(path):
    with new_folder(path) as draft:
        (draft / "deep").mkdir()
        (draft / "deep" / "x").write_bytes(b"x")


def test_a_folder_is_there_when_it_is_full(tmp_path):
    with new_folder(tmp_path / "a") as draft:
        (draft / "x").write_bytes(b"x")
        assert not (tmp_path / "a").exists()
    assert names(tmp_path) == ["a"]
    assert names(tmp_path / "a") == ["x"]


def test_a_system_that_puts_nothing_in_the_place_of_a_folder_gets_it_all_the_same(tmp_path, monkeypatch):
    monkeypatch.setattr(Path, "replace", failing(PermissionError(errno.EACCES, "")))
    fill(tmp_path / "a")
    assert (tmp_path / "a" / "deep" / "x").read_bytes() == b"x"


@pytest.mark.parametrize(
    "fault", [FULL, KeyboardInterrupt(), ValueError("ours")], ids=["full", "interrupted", "the filler's own"]
)
@pytest.mark.parametrize("where", ["write_bytes", "replace"])
def test_of_a_folder_that_fails_nothing_is_left(tmp_path, monkeypatch, fault, where):
    monkeypatch.setattr(Path, where, failing(fault))
    monkeypatch.setattr(Path, "rename", failing(fault))
    with pytest.raises((CannotWrite, type(fault))) as caught:
        fill(tmp_path / "a")
    assert isinstance(caught.value, CannotWrite) == (fault is FULL)
    monkeypatch.undo()
    assert names(tmp_path) == []


def test_a_folder_is_made_over_nothing(tmp_path):
    fill(tmp_path / "a")
    (tmp_path / "b").symlink_to(tmp_path / "nothing")
    for name in ("a", "b"):
        with pytest.raises(Taken):
            fill(tmp_path / name)
    assert names(tmp_path) == ["a", "b"]
