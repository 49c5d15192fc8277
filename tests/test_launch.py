"""The launcher: it never costs a learner work, never opens the lab to others, and says in a sentence what is wrong."""

import asyncio
import errno
import json
import os
import re
import signal
import socket
import subprocess
import sys
import time
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from http.client import HTTPConnection
from pathlib import Path

import pytest
from jupyter_server.serverapp import ServerApp
from jupyter_server.services.kernels.connection.channels import ZMQChannelsWebsocketConnection
from tornado.httpserver import HTTPServer
from tornado.netutil import bind_sockets
from tornado.web import Application
from tornado.websocket import WebSocketHandler, websocket_connect
from traitlets.config import Config

from mixlab import launch
from mixlab.launch import course as course_module
from mixlab.launch.course import COHORT_FILE, FIRST_NOTEBOOK, SITE_FILE, copy_notebooks, find_course
from mixlab.launch.lab import DEFAULTS, SITE_VARIABLE
from mixlab.launch.websocket import UndelayedConnection
from mixlab.ward.site import in_force as site_module

PACKAGES = Path(launch.__file__).parents[2]  # where this very mixlab is imported from
LEARNER = b"what a learner wrote"


def write_notebook(*sources, ran=False):
    outputs = [{"output_type": "stream", "name": "stdout", "text": "8 units"}] if ran else []
    cells = [
        {
            "cell_type": "code",
            "id": f"c{number}",
            "metadata": {},
            "execution_count": 1 if ran else None,
            "source": source,
            "outputs": outputs,
        }
        for number, source in enumerate(sources)
    ]
    kernel = {"kernelspec": {"name": "python3", "display_name": "Python 3", "language": "python"}}
    return json.dumps({"cells": cells, "metadata": kernel, "nbformat": 4, "nbformat_minor": 5})


@pytest.fixture
def course(tmp_path):
    folder = tmp_path / "course"
    for name, content in {
        FIRST_NOTEBOOK: write_notebook("print('8 units')"),
        "01_marks.ipynb": write_notebook("1 + 1"),
        "data/orders.csv": "order\n",
        ".ipynb_checkpoints/01_marks.ipynb": "{}",
        "data/.hidden": "",
        "__pycache__/conftest.pyc": "",
        "conftest.py": "",
    }.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text(content, encoding="utf-8")
    return folder


def list_files(folder):
    return sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file())


# Copying


def test_notebooks_and_data_are_copied_but_hidden_files_and_code_are_not(course, tmp_path):
    assert copy_notebooks(course, tmp_path / "a" / "b") == []
    assert list_files(tmp_path / "a" / "b") == [FIRST_NOTEBOOK, "01_marks.ipynb", "data/orders.csv"]
    for name in list_files(tmp_path / "a" / "b"):
        assert (tmp_path / "a" / "b" / name).read_bytes() == (course / name).read_bytes()
        assert os.access(tmp_path / "a" / "b" / name, os.W_OK)


@pytest.mark.parametrize("links", [True, False], ids=["with links", "without links"])
@pytest.mark.parametrize("name", [FIRST_NOTEBOOK, "data/orders.csv"])
def test_a_learners_file_is_left_as_it_is_and_named(name, links, course, tmp_path, monkeypatch):
    (tmp_path / "work" / "data").mkdir(parents=True)
    (tmp_path / "work" / name).write_bytes(LEARNER)
    if not links:
        forbid_links(monkeypatch)
    assert copy_notebooks(course, tmp_path / "work") == [name]
    assert (tmp_path / "work" / name).read_bytes() == LEARNER


def test_having_run_a_notebook_is_not_worth_a_word_but_another_text_is(course, tmp_path):
    copy_notebooks(course, tmp_path / "work")
    (tmp_path / "work" / FIRST_NOTEBOOK).write_text(write_notebook("print('8 units')", ran=True), encoding="utf-8")
    assert copy_notebooks(course, tmp_path / "work") == []
    (course / FIRST_NOTEBOOK).write_text(write_notebook("print('9 units')"), encoding="utf-8")
    assert copy_notebooks(course, tmp_path / "work") == [FIRST_NOTEBOOK]
    assert "8 units" in (tmp_path / "work" / FIRST_NOTEBOOK).read_text(encoding="utf-8")


def test_copying_works_on_a_disk_without_links(course, tmp_path, monkeypatch):
    forbid_links(monkeypatch)
    copy_notebooks(course, tmp_path / "work")
    assert (tmp_path / "work" / FIRST_NOTEBOOK).read_bytes() == (course / FIRST_NOTEBOOK).read_bytes()


def test_a_full_disk_without_links_leaves_no_half_notebook(course, tmp_path, monkeypatch):
    class Full:
        def __enter__(self):
            return self

        def __exit__(self, *_: object) -> None: ...

        def write(self, content):
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    def open_full(path, mode, *rest):
        if mode != "xb":
            return usual(path, mode, *rest)
        path.touch()
        return Full()

    usual = Path.open

    forbid_links(monkeypatch)
    monkeypatch.setattr(Path, "open", open_full)
    with pytest.raises(launch.CannotOpenError, match="No space left on device"):
        copy_notebooks(course, tmp_path / "work")
    assert list_files(tmp_path / "work") == []


def test_copying_twice_at_once_leaves_whole_files_and_nothing_else(course, tmp_path):
    with ThreadPoolExecutor(8) as pool:
        assert list(pool.map(lambda _: copy_notebooks(course, tmp_path / "work"), range(8))) == [[]] * 8
    assert list_files(tmp_path / "work") == [FIRST_NOTEBOOK, "01_marks.ipynb", "data/orders.csv"]


def test_a_link_that_leads_nowhere_is_not_written_through(course, tmp_path):
    (tmp_path / "work").mkdir()
    (tmp_path / "work" / FIRST_NOTEBOOK).symlink_to(tmp_path / "elsewhere")
    assert copy_notebooks(course, tmp_path / "work") == [FIRST_NOTEBOOK]
    assert not (tmp_path / "elsewhere").exists()


def forbid_links(monkeypatch):
    def refuse(*_):
        raise PermissionError(errno.EPERM, os.strerror(errno.EPERM))

    monkeypatch.setattr(os, "link", refuse)


def test_the_course_is_found_in_the_package_or_beside_it(tmp_path, monkeypatch):
    monkeypatch.setattr(course_module, "__file__", str(tmp_path / "mixlab" / "launch" / "course.py"))
    with pytest.raises(launch.CannotOpenError, match="missing from this installation"):
        find_course()
    for place in (tmp_path / "notebooks", tmp_path / "mixlab" / "_notebooks"):
        place.mkdir(parents=True)
        (place / FIRST_NOTEBOOK).touch()
        assert find_course() == place


# The site and the folder of a cohort


@pytest.fixture
def started(course, monkeypatch):
    """Start without a lab; what the lab was asked: folder, port, options and site."""
    monkeypatch.delenv(SITE_VARIABLE, raising=False)

    def start_without_lab(*arguments):
        asked: list[object] = []
        monkeypatch.setattr(launch, "run_lab", lambda *words: asked.extend(words))
        assert launch.main(arguments, course=course) == 0
        return asked

    return start_without_lab


@pytest.fixture
def cohort(tmp_path):
    """A cohort's folder: notebooks that read otherwise than the course's, a site file and a stamp."""
    folder = tmp_path / "autumn"
    folder.mkdir()
    (folder / FIRST_NOTEBOOK).write_text(write_notebook("1 + 1"), encoding="utf-8")
    (folder / SITE_FILE).write_text('name = "the practice ward"', encoding="utf-8")
    (folder / COHORT_FILE).touch()
    return folder


def test_the_launcher_and_the_ward_mean_the_same_file_and_variable():
    assert (SITE_FILE, SITE_VARIABLE) == (site_module.SITE_FILE, site_module.SITE_VARIABLE)


@pytest.mark.parametrize("by", ["option", "environment"])
def test_a_site_file_is_handed_on_by_its_full_path(by, tmp_path, monkeypatch, started):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "ours.toml").touch()
    if by == "environment":
        monkeypatch.setenv(SITE_VARIABLE, " ours.toml ")
    assert started(*(["--site", "ours.toml"] if by == "option" else []))[3] == tmp_path / "ours.toml"


def test_the_site_that_is_asked_for_goes_before_the_one_in_the_environment(tmp_path, monkeypatch, started):
    (tmp_path / "ours.toml").touch()
    monkeypatch.setenv(SITE_VARIABLE, str(tmp_path / "nowhere.toml"))
    folder = ["--folder", str(tmp_path / "work")]
    assert started(*folder, f"--site={tmp_path / 'ours.toml'}")[3] == tmp_path / "ours.toml"


@pytest.mark.parametrize("by", ["option", "environment"])
def test_a_site_file_that_is_none_is_named_and_nothing_is_copied(by, tmp_path, monkeypatch, refused):
    for site, reason in ((tmp_path / "nowhere.toml", "There is no site file"), (tmp_path, "is a folder")):
        if by == "environment":
            monkeypatch.setenv(SITE_VARIABLE, str(site))
        said = refused("--folder", str(tmp_path / "work"), *(["--site", str(site)] if by == "option" else []))
        assert reason in said
        assert str(site) in said
        assert "with --site FILE" in said
    assert not (tmp_path / "work").exists()


def test_a_locked_site_file_is_named(tmp_path, monkeypatch, refused):
    (tmp_path / "ours.toml").touch()
    monkeypatch.setattr(os, "access", lambda *_: False)  # the root user may read everything
    assert "cannot be read" in refused("--site", str(tmp_path / "ours.toml"), "--folder", str(tmp_path / "work"))


def test_a_cohorts_folder_is_opened_as_it_is_with_its_own_site(cohort, monkeypatch, started, capsys):
    before = {name: (cohort / name).read_bytes() for name in list_files(cohort)}
    monkeypatch.setenv(SITE_VARIABLE, "left-over.toml")
    assert started("--folder", str(cohort)) == [cohort, None, [], cohort / SITE_FILE]
    assert capsys.readouterr() == ("", "")
    assert {name: (cohort / name).read_bytes() for name in list_files(cohort)} == before


@pytest.mark.parametrize("lost", [FIRST_NOTEBOOK, SITE_FILE])
def test_a_cohorts_folder_that_lost_a_file_is_refused_and_nothing_is_put_in_its_place(lost, cohort, refused):
    (cohort / lost).unlink()
    assert f"has no {lost}: make a new cohort copy" in refused("--folder", str(cohort))
    assert not (cohort / lost).exists()


def test_a_cohorts_folder_takes_no_other_site(cohort, tmp_path, refused):
    (tmp_path / "ours.toml").touch()
    said = refused("--folder", str(cohort), "--site", str(tmp_path / "ours.toml"))
    assert "leave --site out" in said


def test_a_cohorts_folder_that_cannot_be_written_to_is_refused(cohort, monkeypatch, refused):
    def refuse(*, dir, prefix):
        raise OSError(errno.EROFS, os.strerror(errno.EROFS))

    monkeypatch.setattr(course_module, "NamedTemporaryFile", refuse)
    said = refused("--folder", str(cohort))
    assert f"Your work could not be saved in {cohort} (Read-only file system)" in said


def test_what_was_made_for_cohorts_is_no_part_of_the_course(course, tmp_path):
    (course / "autumn").mkdir()
    for name in (COHORT_FILE, f"autumn/{COHORT_FILE}", f"autumn/{FIRST_NOTEBOOK}", SITE_FILE):
        (course / name).touch()
    copy_notebooks(course, tmp_path / "work")
    assert list_files(tmp_path / "work") == [FIRST_NOTEBOOK, "01_marks.ipynb", "data/orders.csv", SITE_FILE]


# What is refused, each in one sentence


@pytest.fixture
def refused(course, monkeypatch, capsys):
    """Start in vain; the one sentence that was said."""

    def start_in_vain(*arguments):
        monkeypatch.setattr(launch, "run_lab", lambda *_: pytest.fail("The lab was started."))
        assert launch.main(arguments, course=course) == 2
        said = capsys.readouterr()
        assert said.out == ""
        assert re.fullmatch(r"mixlab: .*\.\n", said.err)
        return said.err

    return start_in_vain


@pytest.mark.parametrize(
    ("option", "reason"),
    [
        ("--ip=0.0.0.0", "this machine only"),
        ("--ServerApp.ip=0.0.0.0", "this machine only"),
        ("--NotebookApp.ip=*", "this machine only"),
        ("--KernelManager.ip=0.0.0.0", "this machine only"),
        ("--ServerApp.allow_remote_access=True", "this machine only"),
        ("--sock=/tmp/lab.sock", "this machine only"),
        ("--IdentityProvider.token=", "behind a token"),
        ("--ServerApp.token=", "behind a token"),
        ("--ServerApp.password=", "behind a token"),
        ("--PasswordIdentityProvider.hashed_password=x", "behind a token"),
        ("--ServerApp.identity_provider_class=x.Y", "behind a token"),
        ("--ServerApp.allow_unauthenticated_access=True", "behind a token"),
        ("--ServerApp.port=9999", "--port NUMBER"),
        ("--notebook-dir=/", "--folder PATH"),
        ("--ServerApp.root_dir=/", "--folder PATH"),
    ],
)
def test_no_option_opens_the_lab_to_others(option, reason, tmp_path, refused):
    name, value = option.split("=")
    folder = ["--folder", str(tmp_path / "work")]
    for words in ([option], [name, value]):
        assert reason in refused(*folder, "--no-browser", *words)
    assert not (tmp_path / "work").exists()


def test_other_options_are_handed_on_in_their_order(course, tmp_path, monkeypatch):
    asked: list[object] = []
    monkeypatch.setattr(launch, "run_lab", lambda *words: asked.extend(words))
    options = ["--no-browser", "--ServerApp.tornado_settings", "{}", "--debug"]
    assert launch.main([*options, "--folder", str(tmp_path / "work")], course=course) == 0
    assert asked == [tmp_path / "work", None, options, None]


def test_the_folder_stands_by_default_where_the_command_is_given(course, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(launch, "run_lab", lambda *words: None)
    assert launch.main([], course=course) == 0
    assert capsys.readouterr() == ("", "")
    (tmp_path / "mixlab-notebooks" / FIRST_NOTEBOOK).write_bytes(LEARNER)
    assert launch.main([], course=course) == 0
    said = capsys.readouterr().out
    assert said.startswith(f"Kept your own {FIRST_NOTEBOOK};")
    assert said.count("\n") == 1


@pytest.mark.parametrize("port", ["0", "65536", "-1", "80.5", "lab", ""])
def test_a_port_is_a_whole_number_in_range(port, capsys):
    with pytest.raises(SystemExit) as ended:
        launch.main([f"--port={port}"])
    assert ended.value.code == 2
    assert "give a whole number from 1 to 65535" in capsys.readouterr().err


def test_a_busy_port_is_named_and_nothing_is_copied(tmp_path, refused):
    with socket.create_server(("127.0.0.1", 0)) as busy:
        port = busy.getsockname()[1]
        said = refused("--port", str(port), "--folder", str(tmp_path / "work"))
    assert f"Port {port} cannot be used (Address already in use): name another with --port NUMBER" in said
    assert not (tmp_path / "work").exists()


def test_missing_jupyterlab_is_named(monkeypatch, refused):
    monkeypatch.setitem(sys.modules, "jupyterlab", None)  # type: ignore[arg-type]  # what Python itself means by absent
    assert "JupyterLab is not installed: run `python -m pip install jupyterlab`" in refused()


def test_a_folder_that_is_a_file_is_named(tmp_path, refused):
    taken = tmp_path / "taken"
    taken.write_bytes(LEARNER)
    assert f"{taken} is a file, not a folder" in refused("--folder", str(taken))
    beneath = taken / "work"
    assert f"put into {beneath} (Not a directory)" in refused("--folder", str(beneath))
    assert taken.read_bytes() == LEARNER


READ_ONLY = Path("/sys", "kernel")


@pytest.mark.skipif(not READ_ONLY.is_dir(), reason="needs a folder that even the root user cannot write to")
@pytest.mark.parametrize("folder", [str(READ_ONLY), str(READ_ONLY / "work")], ids=["itself", "within"])
def test_a_read_only_folder_is_named(folder, refused):
    said = refused("--folder", folder)
    assert re.search(rf"put into {folder} \((Permission denied|Operation not permitted|Read-only file system)\)", said)
    assert "--folder PATH" in said


def test_a_read_only_folder_is_refused_even_when_every_notebook_is_there(course, tmp_path, monkeypatch, refused):
    def refuse(*, dir=tmp_path, prefix):
        if dir == tmp_path / "work":
            raise OSError(errno.EROFS, os.strerror(errno.EROFS))
        return usual(dir=dir, prefix=prefix)

    usual = course_module.NamedTemporaryFile
    copy_notebooks(course, tmp_path / "work")
    monkeypatch.setattr(course_module, "NamedTemporaryFile", refuse)
    assert "(Read-only file system)" in refused("--folder", str(tmp_path / "work"))


# The line to the kernel


def test_the_line_to_the_kernel_sends_at_once(monkeypatch):
    """TCP_NODELAY switches Nagle's algorithm off: RFC 1122, section 4.2.3.4."""
    undelayed: list[bool] = []

    def look(connection):
        line = connection.websocket_handler.ws_connection.stream.socket  # type: ignore[union-attr]
        undelayed.append(bool(line.getsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY)))

    class Kernel(WebSocketHandler):
        def open(self, kind: str) -> None:  # type: ignore[override]
            classes = {"usual": ZMQChannelsWebsocketConnection, "ours": UndelayedConnection}
            connection = classes[kind].__new__(classes[kind])
            connection._trait_values["websocket_handler"] = self  # a plain one, without a server around it
            connection.connect()

    async def connect():
        sockets = bind_sockets(0, "127.0.0.1")
        server = HTTPServer(Application([("/(.*)", Kernel)]))
        server.add_sockets(sockets)
        for kind in ("usual", "ours"):
            line = await websocket_connect(f"ws://127.0.0.1:{sockets[0].getsockname()[1]}/{kind}")
            line.close()
            await line.read_message()
        server.stop()
        await server.close_all_connections()

    monkeypatch.setattr(ZMQChannelsWebsocketConnection, "connect", look)
    asyncio.run(connect())
    assert undelayed == [False, True]


def test_the_server_finds_that_line_by_its_name():
    defaults = json.loads((DEFAULTS / "jupyter_server_config.json").read_text(encoding="utf-8"))
    assert ServerApp(config=Config(defaults)).kernel_websocket_connection_class is UndelayedConnection


# Real starts


@dataclass(frozen=True, kw_only=True)
class Started:
    process: subprocess.Popen[bytes]
    log: Path
    home: Path

    def said(self):
        return self.log.read_text(encoding="utf-8")

    def address(self):
        """The port and the path that were printed."""

        def printed():
            assert self.process.poll() is None, self.said()
            return re.search(r"^mixlab is open at http://127\.0\.0\.1:(\d+)(/\S+)$", self.said(), re.MULTILINE)

        wait_until(printed)
        found = printed()
        return int(found[1]), found[2]


def wait_until(true):
    patient_until = time.monotonic() + 60
    while not true():
        assert time.monotonic() < patient_until
        time.sleep(0.05)


@contextmanager
def start(course, *options):
    home = course.parent / "home"
    own = {
        "JUPYTER_CONFIG_DIR": home,
        "JUPYTER_DATA_DIR": home / "data",
        "TMPDIR": home,
        "PYTHONPATH": f"{home}{os.pathsep}{PACKAGES}",
    }
    home.mkdir(exist_ok=True)
    call = "import sys; from pathlib import Path; from mixlab.launch import main; sys.exit(main(course=Path('course')))"
    with (home / "log").open("wb") as log:
        process = subprocess.Popen(
            [sys.executable, "-c", call, "--no-browser", *options],
            cwd=course.parent,
            env=os.environ
            | {name: str(path) for name, path in own.items()}
            | {"http_proxy": "http://127.0.0.1:9"},  # a school's proxy must not stand in the way
            stdout=log,
            stderr=subprocess.STDOUT,
            start_new_session=True,  # as in a terminal of its own
        )
    try:
        yield Started(process=process, log=home / "log", home=home)
    finally:
        process.terminate()
        process.wait(60)


def ask(port, path, token=""):
    line = HTTPConnection("127.0.0.1", port, timeout=20)
    line.request("GET", path, headers={"Authorization": f"token {token}"} if token else {})
    answer = line.getresponse()
    content = answer.status, answer.read()
    line.close()
    return content


def listening(port):
    """The addresses on which a port listens, in hexadecimal as the Linux kernel lists them (proc(5): state 0A)."""
    rows = [row.split() for table in ("tcp", "tcp6") for row in Path(f"/proc/net/{table}").read_text().splitlines()[1:]]
    return {row[1].split(":")[0] for row in rows if row[3] == "0A" and int(row[1].split(":")[1], 16) == port}


def list_commands():
    """The command of every process, which every user of the machine may read."""
    for process in Path("/proc").glob("[0-9]*"):
        with suppress(OSError):  # it has ended
            yield (process / "cmdline").read_text(encoding="utf-8", errors="replace")


def test_a_real_lab_opens_on_this_machine_only_behind_a_token_and_ends_without_a_trace(course):
    try:
        taken = socket.create_server(("127.0.0.1", 8888))
    except OSError:
        taken = socket.socket()  # somebody else has the usual port: as well
    with taken, start(course) as started:
        port, path = started.address()
        assert started.said().count("\n") == 2  # the address and how to end, and no log
        assert port != 8888
        token = path.partition("?token=")[2]
        assert path == f"/lab/tree/{FIRST_NOTEBOOK}?token={token}"
        assert len(token) >= 32
        assert listening(port) == {"0100007F"}  # 127.0.0.1, and nothing else

        assert ask(port, path)[0] == 200
        assert ask(port, path.partition("?")[0])[0] == 302  # to the login page
        assert ask(port, "/api/contents")[0] == 403
        assert ask(port, "/api/contents", "wrong")[0] == 403
        files = json.loads(ask(port, "/api/contents", token)[1])["content"]
        assert {file["name"] for file in files} == {FIRST_NOTEBOOK, "01_marks.ipynb", "data"}
        assert not any(token in command for command in list_commands())

        news = "/lab/api/settings/@jupyterlab/apputils-extension:notification"
        defaults = json.loads(ask(port, news, token)[1])["schema"]["properties"]
        assert defaults["fetchNews"]["default"] == "false"
        assert defaults["checkForUpdates"]["default"] is False

        told = started.said()
        os.killpg(started.process.pid, signal.SIGINT)  # Ctrl-C reaches every program of the terminal
        assert started.process.wait(30) == 0
        assert started.said() == told  # ended quietly
        assert listening(port) == set()
        assert not list(started.home.glob("mixlab-*"))  # its private folder is gone
        assert not (started.home / "lab").exists()  # the learner's own settings and layout are as they were


def stand_in(course, code):
    """Put a program in the place of JupyterLab: one that writes down what it was told, or takes long to load."""
    lab = course.parent / "home" / "jupyterlab"
    lab.mkdir(parents=True)
    (lab / "__init__.py").touch()
    (lab / "__main__.py").write_text(code, encoding="utf-8")
    return lab


TELLING = """
import os, pathlib
pathlib.Path(__file__).with_name("told").write_text(os.environ.get("MIXLAB_SITE", "no site"), encoding="utf-8")
"""


@pytest.mark.parametrize("named", [True, False])
def test_the_program_that_is_started_is_told_the_site(named, course):
    lab = stand_in(course, TELLING)
    site = course.parent / "ours.toml"
    site.touch()
    with start(course, *(["--site", "ours.toml"] if named else [])) as started:
        started.process.wait(60)
        assert (lab / "told").read_text(encoding="utf-8") == (str(site) if named else "no site")


def test_a_lab_that_the_learners_settings_would_leave_open_is_closed_again(course):
    (course.parent / "home").mkdir()
    settings = {"IdentityProvider": {"token": ""}}
    (course.parent / "home" / "jupyter_server_config.json").write_text(json.dumps(settings), encoding="utf-8")
    with start(course) as started:
        assert started.process.wait(60) == 2
        assert "mixlab is open" not in started.said()
        assert "mixlab: Your own Jupyter settings take the token away" in started.said()


def test_a_port_taken_while_the_lab_starts_is_told(course, tmp_path, monkeypatch, capfd):
    monkeypatch.setattr(launch, "check_port", lambda port: None)  # it was free a moment ago
    with socket.create_server(("127.0.0.1", 0)) as busy:
        options = ["--no-browser", "--port", str(busy.getsockname()[1]), "--folder", str(tmp_path / "work")]
        assert launch.main(options, course=course) == 2
    said = capfd.readouterr().err
    assert "is not available" in said
    assert said.endswith("mixlab: JupyterLab ended before it could be opened: what it said stands above.\n")


SLOW = """
import pathlib, time
pathlib.Path(__file__).with_name("begun").touch()
try:
    time.sleep(60)
except BaseException as end:
    print("I was disturbed:", repr(end), flush=True)
"""


@pytest.mark.parametrize("end", [signal.SIGINT, signal.SIGTERM, signal.SIGHUP])
def test_ending_it_before_it_is_open_is_quiet_and_leaves_nothing_behind(end, course):
    slow = stand_in(course, SLOW)
    with start(course) as started:
        wait_until((slow / "begun").exists)
        os.killpg(started.process.pid, end)
        assert started.process.wait(15) == 0
        assert started.said() == ""
        assert not list(started.home.glob("mixlab-*"))
        assert not any(str(course.parent) in command for command in list_commands())
