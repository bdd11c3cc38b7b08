"""What goes wrong outside: no screen, no program for films, an end from outside; no litter."""

from __future__ import annotations

import gc
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import imageio.v2 as imageio
import imageio_ffmpeg
import pytest

from packsim.compiling import FIRST_TIME
from packsim.errors import InputError
from tests.processes import own_group
from viewer import __main__ as starting
from viewer.session.actions import act
from viewer.window import app
from viewer.window import capture as capturing
from viewer.window.app import main, run
from viewer.window.capture import capture

LINE = "scenarios/lessons/lines/teaching_line.toml"

VIEWER = [sys.executable, "-m", "viewer"]


def no_program(*_arguments, **_options):
    raise RuntimeError("No ffmpeg exe could be found.")


def broken(*_arguments, **_options):
    return "/bin/false"


@pytest.mark.parametrize("exe", [no_program, broken], ids=["none", "broken"])
def test_without_a_program_for_films_ctrl_p_says_so_and_a_capture_ends_with_code_two(
    make_session, root, tmp_path, monkeypatch, capsys, exe
):
    for module in (imageio_ffmpeg._io, imageio_ffmpeg._utils):
        monkeypatch.setattr(module, "get_ffmpeg_exe", exe)
    session = make_session((640, 400))
    at = [0.0]

    def clock() -> float:
        at[0] += 0.05
        return at[0]

    def each(number: int) -> None:
        if number == 2:
            act(session, "clip")

    run(session, max_frames=20, clock=clock, each_frame=each)
    assert "imageio-ffmpeg" in session.message
    assert session.filmed_s is None
    with pytest.raises(InputError, match="imageio-ffmpeg"):
        capture(make_session((640, 400)), tmp_path / "a.mp4", seconds=2.0, fps=10.0)
    monkeypatch.chdir(root)
    with pytest.raises(SystemExit) as ended:
        main([LINE, "--capture", str(tmp_path / "a.mp4"), "--seconds", "2"])
    assert ended.value.code == 2
    complaints = capsys.readouterr().err.splitlines()
    assert [line.startswith("packsim-viewer: clip: got") for line in complaints][-1:] == [True]
    assert not any("Traceback" in line for line in complaints)
    assert not list(tmp_path.iterdir())


def test_a_disk_that_refuses_is_one_line(root, tmp_path, monkeypatch, capsys):
    def full(*_arguments):
        raise OSError(28, "No space left on device")

    monkeypatch.chdir(root)
    monkeypatch.setattr("viewer.window.gif.GifFile.append_data", full)
    with pytest.raises(SystemExit) as ended:
        main([LINE, "--capture", str(tmp_path / "a.gif"), "--seconds", "0.2"])
    assert ended.value.code == 1
    assert "No space left" in capsys.readouterr().err
    assert not list(tmp_path.iterdir())


@pytest.mark.skipif(sys.platform != "linux", reason="elsewhere there is always a screen")
@pytest.mark.parametrize("more", [{}, pytest.param({"DISPLAY": ":7654"}, marks=pytest.mark.all)])
def test_without_a_screen_it_says_so_and_ends(root, more):
    hidden = ("DISPLAY", "WAYLAND_DISPLAY", "SDL_VIDEODRIVER")
    bare = {name: value for name, value in os.environ.items() if name not in hidden}
    done = subprocess.run(
        [*VIEWER, LINE],
        cwd=root,
        env=bare | more,
        capture_output=True,
        text=True,
        timeout=300,
        check=False,
    )
    assert done.returncode == 2
    *_, said = done.stderr.splitlines()  # what the system says of its screens comes before
    assert said.startswith("packsim-viewer: screen: got none")
    assert "--capture" in said


FILMING = """
import sys
from pathlib import Path
from viewer import __main__
from viewer.window import app
real = app.run
def run(session):
    session.overlay = ""
    def each(number):
        if number == 3:
            session.wants.append("clip")
        if number == 30:
            print("filming", flush=True)
    real(session, each_frame=each)
app.run = run
sys.argv = ["packsim-viewer", {line!r}, "--window", "640x400", "--folder", {folder!r}]
__main__.main()
"""


@pytest.mark.skipif(os.name == "nt", reason="there an end from outside cannot be caught")
def test_an_end_from_outside_keeps_the_clip_and_leaves_nothing_else(root, tmp_path):
    script = FILMING.format(line=LINE, folder=str(tmp_path))
    with own_group(
        [sys.executable, "-c", script],
        cwd=root,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    ) as viewer:
        assert viewer.stdout is not None
        assert viewer.stderr is not None
        assert viewer.stdout.readline() == "filming\n"
        viewer.send_signal(signal.SIGTERM)
        viewer.wait(120)
        assert viewer.stderr.read() in ("", FIRST_TIME + "\n")
    assert viewer.returncode == 0
    assert [path.name for path in tmp_path.iterdir()] == ["teaching_line-1.mp4"]
    with imageio.get_reader(tmp_path / "teaching_line-1.mp4") as film:
        assert film.get_meta_data()["duration"] > 0.2


@pytest.mark.skipif(os.name == "nt", reason="there an end from outside cannot be caught")
@pytest.mark.parametrize(
    "name",
    ["a.mp4", *(pytest.param(name, marks=pytest.mark.all) for name in ("a.gif", "pictures"))],
)
def test_an_end_from_outside_leaves_nothing_of_a_capture(root, tmp_path, name):
    out = ["--capture", str(tmp_path / name), "--seconds", "600", "--window", "640x400"]
    with own_group([*VIEWER, LINE, *out], cwd=root) as viewer:
        until = time.monotonic() + 120.0
        while not begun(tmp_path) and time.monotonic() < until:
            time.sleep(0.05)
        assert begun(tmp_path)
        viewer.send_signal(signal.SIGTERM)
        assert viewer.wait(120) == 143
    assert not list(tmp_path.iterdir())


@pytest.mark.skipif(os.name == "nt", reason="there an end from outside cannot be caught")
@pytest.mark.parametrize("breaks", [None, OSError("what writes the film has ended too")])
def test_an_end_from_outside_waits_for_the_picture_and_is_told_whatever_it_breaks(
    root, tmp_path, monkeypatch, breaks
):
    """Raised at once it could come in compiled code, which makes another error of it."""

    def tick_and_end(session, now_s, *, most):
        signal.raise_signal(signal.SIGTERM)
        done.append(now_s)
        if breaks is not None:
            raise breaks

    done: list[float] = []
    monkeypatch.setattr(capturing, "tick", tick_and_end)
    was = signal.getsignal(signal.SIGTERM)
    with pytest.raises(SystemExit) as ended:
        main([str(root / LINE), "--capture", str(tmp_path / "a"), "--window", "640x400"])
    assert ended.value.code == 143
    assert done == [0.0]
    assert signal.getsignal(signal.SIGTERM) is was
    assert not list(tmp_path.iterdir())


def test_ctrl_c_in_compiled_code_ends_the_window_as_anywhere(monkeypatch):
    """Compiled code makes a `SystemError` of what is raised while it is loaded."""

    def run_viewer():
        raise SystemError("returned a result with an exception set") from KeyboardInterrupt()

    monkeypatch.setattr(app, "main", run_viewer)
    with pytest.raises(SystemExit) as ended:
        starting.main()
    gc.enable()
    assert ended.value.code == 130


def begun(folder: Path) -> bool:
    """Whether something has been written in a hidden folder."""
    return any(path.stat().st_size for path in folder.glob(".*/*"))


@pytest.mark.skipif(os.name != "posix", reason="no named pipes in folders")
def test_a_pipe_in_place_of_a_recording_is_not_waited_for(tmp_path, capsys):
    os.mkfifo(tmp_path / "r.npz")
    with pytest.raises(SystemExit) as ended:
        main([str(tmp_path / "r.npz"), "--capture", str(tmp_path / "a.png")])
    assert ended.value.code == 2
    assert "pipe" in capsys.readouterr().err


def test_a_lesson_of_far_too_long_a_name_is_refused(tmp_path, capsys):
    with pytest.raises(SystemExit) as ended:
        main(["--lesson", "n" * 5000, "--capture", str(tmp_path / "a.png")])
    assert ended.value.code == 2
    assert "too long" in capsys.readouterr().err
