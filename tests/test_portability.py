"""Nothing in the programs that only one kind of system has, by reading and by pretending."""

from __future__ import annotations

import ast
import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.api.test_reached import FILES, ROOT, parsed

UNIX_MODULES = {"crypt", "curses", "fcntl", "grp", "nis", "pty", "pwd", "readline", "resource"}
UNIX_MODULES |= {"syslog", "termios", "tty"}
UNIX_NAMES = {
    "os": {"chown", "fork", "forkpty", "getuid", "getgid", "geteuid", "killpg", "mkfifo", "nice"}
    | {"setsid", "sched_getaffinity", "wait"},
    "signal": {"SIGALRM", "SIGCHLD", "SIGHUP", "SIGKILL", "SIGPIPE", "SIGUSR1", "SIGUSR2"}
    | {"alarm", "pause", "setitimer", "sigwait", "pthread_kill"},
    "time": {"tzset", "clock_gettime"},
}
UNIX_PLACES = ("/tmp", "/dev/", "/usr", "/home", "/proc", "/etc", "~/")  # noqa: S108


def complaints(tree: ast.AST) -> Iterator[str]:
    """What a module says that another kind of system would not understand."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Call):
            yield from _called(node)
        else:
            yield from _named(node)


def _named(node: ast.AST) -> Iterator[str]:
    match node:
        case ast.Import(names=names):
            yield from (f"import {n.name}" for n in names if n.name in UNIX_MODULES)
        case ast.ImportFrom(module=module, names=names):
            if module in UNIX_MODULES:
                yield f"import {module}"
            taken = UNIX_NAMES.get(module or "", set())
            yield from (f"{module}.{n.name}" for n in names if n.name in taken)
        case ast.Attribute(value=ast.Name(id=owner), attr=attr):
            if attr in UNIX_NAMES.get(owner, set()):
                yield f"{owner}.{attr}"
        case ast.Constant(value=str(text)):
            if text.startswith(UNIX_PLACES) or "%-d" in text:
                yield f"the text {text!r}"


def _called(node: ast.Call) -> Iterator[str]:
    name = getattr(node.func, "attr", getattr(node.func, "id", ""))
    method = isinstance(node.func, ast.Attribute)
    given = {word.arg for word in node.keywords}
    modes = [a.value for a in node.args if isinstance(a, ast.Constant)]
    binary = any("b" in mode for mode in modes if isinstance(mode, str))
    # our own write_text is a function: it takes a path and writes UTF-8
    text = (name in ("read_text", "write_text") and method) or (name == "open" and not binary)
    if text and not {"encoding", "mode"} & given and _owner(node) not in ("os", "Image"):
        yield f"{name} without encoding"
    if "shell" in given or name in ("system", "popen"):
        yield f"{name}: a shell"


def _owner(node: ast.Call) -> str:
    return getattr(getattr(node.func, "value", None), "id", "")


def test_no_name_that_one_kind_of_system_alone_has() -> None:
    found = [
        f"{path.relative_to(ROOT)}: {said}" for path in FILES for said in complaints(parsed(path))
    ]
    assert found == []


def test_the_reader_sees_what_it_looks_for() -> None:
    bad = "import fcntl\nos.fork()\nfrom signal import SIGKILL\nPath('/tmp/x').read_text()\n"
    found = list(complaints(ast.parse(bad)))
    assert set(found) == {
        "import fcntl", "os.fork", "signal.SIGKILL", "the text '/tmp/x'",
        "read_text without encoding",
    }  # fmt: skip


PRETEND = """
import multiprocessing.pool, multiprocessing.popen_spawn_posix, os, pathlib, shutil, signal
import subprocess, sys, tempfile
# libraries choose by the kind of system, which is not pretended, so that they come first
import ezdxf, imageio, imageio_ffmpeg, jinja2, matplotlib.figure, pydantic, pygame, typer

for name in {modules!r}:
    sys.modules[name] = None
for owner, names in {names!r}.items():
    for name in names:
        if hasattr(sys.modules[owner], name):
            delattr(sys.modules[owner], name)


def closed_first(do):
    # a file that is open can be neither moved, nor replaced, nor removed there
    def checked(*paths, **options):
        mine = {{os.path.realpath(f"/proc/self/fd/{{fd}}") for fd in os.listdir("/proc/self/fd")}}
        for path in paths:
            if isinstance(path, (str, os.PathLike)) and os.path.realpath(path) in mine:
                raise PermissionError(13, "open elsewhere", str(path))
        return do(*paths, **options)
    return checked


for name in ("replace", "rename", "unlink", "remove"):
    setattr(os, name, closed_first(getattr(os, name)))
from packsim.cli.commands import ended
for words in {commands!r}:
    print("$", *words, flush=True)
    assert ended(words) == 0
from viewer.window.app import main
sys.argv = ["packsim-viewer", {line!r}, "--capture", "clip.gif", "--seconds", "1"]
try:
    main()
except SystemExit as end:
    assert not end.code, end.code
"""


@pytest.mark.all
@pytest.mark.skipif(not Path("/proc/self/fd").is_dir(), reason="needs a list of open files")
def test_commands_answer_where_unix_names_are_missing(tmp_path: Path) -> None:
    """No Unix names, files locked while open, a code page of the West, a folder with a space."""
    folder = tmp_path / "Prüfstand 2"
    folder.mkdir()
    line = str(ROOT / "scenarios" / "first_look.toml")
    (folder / "trial.csv").write_text(
        "trial,date,size,cans,clear_width,tipped\nA,2025-03-04,211 body,100000,,3\n", "utf-8"
    )
    stage = ["--stage", "wash", "--size", "211 body"]
    commands = [
        ["study", line],
        ["study", line, "--json", "study.json"],
        ["study", line, "--json", "study.json", "--replace"],
        ["report", line, "-o", "report.html"],
        ["draw", line, *stage, "-o", "plan.svg"],
        ["draw", line, *stage, "-o", "plan.png"],
        ["draw", line, *stage, "-o", "plan.dxf"],
        ["run", line, "--cans", "20", "--repeats", "1", "--record", "r.npz", "--chart", "run.png"],
        ["trial", "fit", line, "trial.csv", "--guides", "as-set", "-o", "fitted.toml"],
    ]  # fmt: skip
    code = PRETEND.format(
        modules=sorted(UNIX_MODULES), names=UNIX_NAMES, commands=commands, line=line
    )
    result = subprocess.run(
        [sys.executable, "-c", code],
        cwd=folder,
        env=os.environ | {"PYTHONIOENCODING": "cp1252", "PYTHONPATH": str(ROOT)},
        capture_output=True,
        check=False,
        timeout=300,
    )
    assert result.returncode == 0, (result.stdout[-500:], result.stderr[-500:])
    written = {path.name for path in folder.iterdir()}
    assert written == {
        "study.json", "report.html", "plan.svg", "plan.png", "plan.dxf", "r.npz", "run.png",
        "fitted.toml", "clip.gif", "trial.csv",
    }  # fmt: skip
