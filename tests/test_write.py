"""A file is written whole or not at all, where it was asked for, and nothing is overwritten."""

from __future__ import annotations

import os
import stat
import subprocess
import sys
import time
from pathlib import Path
from types import FrameType

import pytest

from packsim import write
from packsim.errors import InputError
from packsim.write import check_target, clear_unfinished, unfinished, write_bytes


def names(folder: Path) -> list[str]:
    return sorted(p.name for p in folder.iterdir())


def test_text_is_utf8_with_its_own_newlines(tmp_path: Path) -> None:
    write_bytes(tmp_path / "a.txt", "ä\r\n→\n".encode())
    assert (tmp_path / "a.txt").read_bytes() == "ä\r\n→\n".encode()
    assert names(tmp_path) == ["a.txt"]


def test_an_existing_file_needs_replace(tmp_path: Path) -> None:
    file = tmp_path / "a"
    file.write_text("old", encoding="utf-8")
    with pytest.raises(InputError, match="--replace"):
        write_bytes(file, b"new")
    assert file.read_text(encoding="utf-8") == "old"
    write_bytes(file, b"new", replace=True)
    assert file.read_text(encoding="utf-8") == "new"
    assert names(tmp_path) == ["a"]


@pytest.mark.parametrize("call", ["fsync", "replace"])
def test_a_disk_that_refuses_leaves_the_old_file_and_nothing_else(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, call: str
) -> None:
    file = tmp_path / "a"
    file.write_text("old", encoding="utf-8")

    def refuse(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, call, refuse)
    with pytest.raises(InputError, match="No space left on device"):
        write_bytes(file, b"new", replace=True)
    assert file.read_text(encoding="utf-8") == "old"
    assert names(tmp_path) == ["a"]


def test_no_room_for_a_temporary_file_is_one_clear_error(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_: object, **__: object) -> int:
        raise OSError(30, "Read-only file system")

    monkeypatch.setattr(Path, "open", refuse)
    with pytest.raises(InputError, match="Read-only file system"):
        write_bytes(tmp_path / "a", b"new")
    assert names(tmp_path) == []


def test_an_interrupt_leaves_nothing_behind(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def interrupt(_: int) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "fsync", interrupt)
    with pytest.raises(KeyboardInterrupt):
        write_bytes(tmp_path / "a", b"new")
    assert names(tmp_path) == []


def test_places_that_cannot_be_written_are_refused_before_the_work(tmp_path: Path) -> None:
    for path, why in (
        (tmp_path, "not a directory"),
        (tmp_path / "missing" / "a", "folder that exists"),
        (tmp_path / ("n" * 300), "possible file name"),
        (Path("a\0b"), "possible file name"),
    ):
        with pytest.raises(InputError, match=why) as caught:
            check_target(path, replace=True)
        assert caught.value.key == "output"


def test_the_longest_name_a_folder_takes_is_taken(tmp_path: Path) -> None:
    longest = "n" * os.pathconf(tmp_path, "PC_NAME_MAX")
    write_bytes(tmp_path / longest, b"x")
    assert names(tmp_path) == [longest]


@pytest.mark.skipif(os.geteuid() == 0, reason="root may write everywhere")
def test_a_closed_folder_is_refused(tmp_path: Path) -> None:
    tmp_path.chmod(0o500)
    with pytest.raises(InputError, match="folder that may be written"):
        check_target(tmp_path / "a")
    tmp_path.chmod(0o700)


def test_a_write_protected_file_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Asked of os.access, because the tests may run as root, who may write everything."""
    file = tmp_path / "a"
    file.write_text("old", encoding="utf-8")
    monkeypatch.setattr(os, "access", lambda path, _: Path(path) != file)
    with pytest.raises(InputError, match="may be written"):
        check_target(file, replace=True)


def test_a_device_or_a_pipe_is_never_replaced(tmp_path: Path) -> None:
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    for place in (pipe, Path(os.devnull)):
        with pytest.raises(InputError, match="- for standard output"):
            check_target(place, replace=True)
    with pytest.raises(InputError, match="- for standard output"):
        write_bytes(pipe, b"x", replace=True)
    assert stat.S_ISFIFO(pipe.stat().st_mode)


def test_a_link_stays_a_link_and_its_file_is_written(tmp_path: Path) -> None:
    real, link = tmp_path / "real", tmp_path / "link"
    real.write_text("old", encoding="utf-8")
    link.symlink_to(real)
    with pytest.raises(InputError, match="--replace"):
        write_bytes(link, b"new")
    write_bytes(link, b"new", replace=True)
    assert link.is_symlink()
    assert real.read_text(encoding="utf-8") == "new"


def test_a_link_to_nowhere_makes_its_file_and_a_circle_is_refused(tmp_path: Path) -> None:
    link, circle = tmp_path / "link", tmp_path / "circle"
    link.symlink_to(tmp_path / "new")
    write_bytes(link, b"x")
    assert link.is_symlink()
    assert (tmp_path / "new").read_text(encoding="utf-8") == "x"
    circle.symlink_to(circle)
    with pytest.raises(InputError):
        write_bytes(circle, b"x")
    far = tmp_path / "far"
    far.symlink_to(tmp_path / "missing" / "file")
    with pytest.raises(InputError, match="folder that exists"):
        check_target(far)


@pytest.mark.parametrize("mask", [0o022, 0o077, 0o002])
def test_a_new_file_obeys_the_umask_and_an_old_one_keeps_its_mode(
    tmp_path: Path, mask: int
) -> None:
    before = os.umask(mask)
    try:
        write_bytes(tmp_path / "new", b"x")
        assert os.umask(mask) == mask
        old = tmp_path / "old"
        old.write_bytes(b"secret")
        old.chmod(0o640)
        write_bytes(old, b"y", replace=True)
    finally:
        os.umask(before)
    assert stat.S_IMODE((tmp_path / "new").stat().st_mode) == 0o666 & ~mask
    assert stat.S_IMODE(old.stat().st_mode) == 0o640


def test_a_large_file_arrives_whole(tmp_path: Path) -> None:
    data = bytes(range(256)) * 20_000
    write_bytes(tmp_path / "a", data)
    assert (tmp_path / "a").read_bytes() == data


def test_what_came_to_be_meanwhile_stays(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def another(_: int) -> None:
        (tmp_path / "a").write_bytes(b"theirs")

    monkeypatch.setattr(os, "fsync", another)
    with pytest.raises(InputError, match="--replace"):
        write_bytes(tmp_path / "a", b"ours")
    assert (tmp_path / "a").read_bytes() == b"theirs"
    write_bytes(tmp_path / "a", b"ours", replace=True)
    assert (tmp_path / "a").read_bytes() == b"ours"
    assert names(tmp_path) == ["a"]


def test_a_disk_that_knows_no_second_names(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object) -> None:
        raise PermissionError(1, "Operation not permitted")

    monkeypatch.setattr(os, "link", refuse)
    write_bytes(tmp_path / "a", b"new")
    assert (names(tmp_path), (tmp_path / "a").read_bytes()) == (["a"], b"new")


def test_what_an_ended_program_left_is_cleared_the_next_time(tmp_path: Path) -> None:
    with subprocess.Popen([sys.executable, "-c", ""]) as ended:
        ended.wait()
    mine = unfinished()
    gone = mine.replace(f"-{os.getpid()}-", f"-{ended.pid}-")
    other = ".packsim-" + ("0" * 8 if "-00000000-" not in mine else "1" * 8) + "-1-"
    stay = [mine + "a", other + "new", ".packsim-notes", "a", gone.replace("packsim", "x") + "b"]
    for name in (*stay, gone + "a", other + "old", other + "ahead"):
        (tmp_path / name).write_bytes(b"x")
    (tmp_path / (gone + "folder")).mkdir()
    (tmp_path / (gone + "folder") / "frame").write_bytes(b"x")
    for name, days in (("old", -2), ("ahead", 2)):
        when = time.time() + days * 86400
        os.utime(tmp_path / (other + name), (when, when))
    write_bytes(tmp_path / "a", b"new", replace=True)
    assert names(tmp_path) == sorted(stay)


def test_a_folder_that_cannot_be_read_stops_nothing(tmp_path: Path) -> None:
    clear_unfinished(tmp_path / "missing")


@pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")
@pytest.mark.parametrize("replace", [True, False])
def test_ended_at_any_line_the_old_file_is_whole_or_the_new_one_is(
    replace: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What cannot be cleared away any more is recognised, and goes the next time."""
    ended, left = 0, [0]
    file = tmp_path / "a"

    def each(frame: FrameType, event: str, _: object) -> object:
        if frame.f_code.co_filename != write.__file__:
            return None
        left[0] -= event == "line"
        if left[0] == 0:
            raise KeyboardInterrupt
        return each

    for number in range(1, 200):
        file.write_bytes(b"old" * 5000) if replace else file.unlink(missing_ok=True)
        left[0] = number
        was = sys.gettrace()
        sys.settrace(each)
        try:
            write_bytes(file, b"new" * 9000, replace=replace)
        except KeyboardInterrupt:
            ended += 1
        finally:
            sys.settrace(was)
        if file.exists() or replace:
            assert file.read_bytes() in ([b"old" * 5000] if replace else []) + [b"new" * 9000]
        with monkeypatch.context() as patch:
            patch.setattr(write, "_runs", lambda _: False)
            clear_unfinished(tmp_path)
        assert names(tmp_path) in (["a"], [] if not replace else ["a"])
        if left[0] > 0:
            break
    assert 40 < ended < 199
