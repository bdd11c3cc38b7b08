"""Nothing in the viewer needs Unix: tried with its ways taken away, and read for them."""

from __future__ import annotations

import ast
import os
import signal
import sys
from importlib import import_module
from pathlib import Path

import pytest

from viewer.window.app import main

LINE = "scenarios/lessons/lines/teaching_line.toml"

UNIX_NAMES = {
    "os": {"fork", "kill", "killpg", "getuid", "geteuid", "getpgid", "setsid", "chown", "uname",
           "mkfifo", "O_NONBLOCK", "WNOHANG"},
    "signal": {"SIGKILL", "SIGHUP", "SIGPIPE", "SIGALRM", "SIGUSR1", "SIGCHLD", "alarm", "pause",
               "setitimer", "pthread_kill", "pthread_sigmask"},
}  # fmt: skip
UNIX_MODULES = {"fcntl", "grp", "pty", "pwd", "resource", "termios", "tty", "posix"}


def test_no_file_names_what_only_unix_has(root: Path):
    paths = sorted((root / "viewer").rglob("*.py"))
    assert len(paths) > 30
    for path in paths:
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Import):
                assert not {alias.name for alias in node.names} & UNIX_MODULES, path
            elif isinstance(node, ast.ImportFrom):
                assert node.module not in UNIX_MODULES, path
            elif isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name):
                assert node.attr not in UNIX_NAMES.get(node.value.id, ()), path
            elif isinstance(node, ast.Constant) and isinstance(node.value, str):
                assert not node.value.startswith(("/", "~/")), path
            elif isinstance(node, ast.Call) and getattr(node.func, "attr", "") in (
                "open", "read_text", "write_text"
            ):  # fmt: skip
                binary = [getattr(given, "value", "") for given in node.args] == ["wb"]
                assert binary or any(word.arg == "encoding" for word in node.keywords), path


@pytest.fixture(scope="module")
def compiled_here(root, tmp_path_factory):
    """A capture on the system as it is, for which its loops are compiled: for another one they are
    other code, and the process is ended where that is loaded.
    """
    out = tmp_path_factory.mktemp("here") / "a.png"
    main([str(root / LINE), "--capture", str(out), "--seconds", "0.2", "--window", "960x600"])


@pytest.fixture
def another_system(monkeypatch, compiled_here):
    """Take away names only Unix has; let files be renamed and removed as stubbornly as elsewhere.

    There a file that is open cannot be replaced or removed, and a rename never replaces.
    """
    import_module("multiprocessing")  # asks for the system as it is loaded
    for module, names in ((os, UNIX_NAMES["os"]), (signal, UNIX_NAMES["signal"])):
        for name in names:
            monkeypatch.delattr(module, name, raising=False)
    real = {name: getattr(Path, name) for name in ("rename", "replace", "unlink")}

    def is_open(path: Path) -> bool:
        files = (Path("/proc/self/fd") / name for name in os.listdir("/proc/self/fd"))  # noqa: PTH208
        return any(os.path.realpath(file) == os.path.realpath(path) for file in files)

    def stubborn(name: str):
        def move(path: Path, *arguments, **options):
            target = Path(arguments[0]) if arguments else path
            if is_open(path) or is_open(target):
                raise PermissionError(13, "used by another process", str(path))
            if name == "rename" and target.exists():
                raise FileExistsError(17, "exists", str(target))
            return real[name](path, *arguments, **options)

        return move

    for name in real:
        monkeypatch.setattr(Path, name, stubborn(name))


@pytest.mark.parametrize("out", ["a.png", "a.gif", "a.mp4", "a"])
def test_captures_are_written_and_replaced_there(root, tmp_path, monkeypatch, another_system, out):
    monkeypatch.chdir(root)
    if out != "a.mp4":  # the film writer starts its program by ways this one has not
        monkeypatch.setattr(sys, "platform", "win32")
    target = tmp_path / out
    command = [
        LINE,
        "--capture",
        str(target),
        "--seconds",
        "0.2",
        "--fps",
        "10",
        "--window",
        "960x600",
    ]
    main(command)
    written = target.stat().st_mtime_ns
    main([*command, "--replace"])
    assert target.stat().st_mtime_ns > written
    assert [path.name for path in tmp_path.iterdir()] == [out]
