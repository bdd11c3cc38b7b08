"""Clips taken in the window: begun and ended by key and by button, whole or not there at all."""

from __future__ import annotations

import subprocess
import sys
from contextlib import closing
from pathlib import Path

import imageio.v2 as imageio
import numpy as np
import pygame
import pytest

from packsim.errors import InputError
from packsim.passage import ROLES
from viewer.session.actions import act
from viewer.session.keys import control_for
from viewer.views.overlays import film_mark
from viewer.views.whole_window import whole_window
from viewer.window.app import main, run
from viewer.window.film import Film


def played(session, script, frames):
    """Run a session on an even clock of 20 pictures per second; do things before pictures."""
    at = [0.0]

    def clock() -> float:
        at[0] += 0.05
        return at[0]

    run(session, max_frames=frames, clock=clock, each_frame=lambda n: script.get(n, int)())
    return session


def test_a_clip_begun_and_ended_holds_what_was_shown(make_session, tmp_path):
    session = make_session((640, 400))
    marks = []
    script = {
        2: lambda: act(session, "clip"),
        10: lambda: marks.append(film_mark(session).items),
        22: lambda: act(session, "clip"),
    }
    played(session, script, 30)
    clip = tmp_path / "line-1.mp4"
    reader = imageio.get_reader(clip)
    head = reader.get_meta_data()
    assert head["size"] == (640, 400)
    assert head["fps"] == pytest.approx(20.0)
    assert head["duration"] == pytest.approx(1.0, abs=0.1)  # 20 of the 30 pictures
    shown = reader.get_data(10)
    reader.close()
    assert np.ptp(shown.reshape(-1, 3), axis=0).min() > 150
    assert marks[0]  # a mark on the screen
    assert not film_mark(session).items
    assert session.message.startswith("saved")
    assert list(tmp_path.iterdir()) == [clip]


def test_the_window_closed_while_filming_keeps_the_clip(make_session, tmp_path):
    keys = {1: lambda: pygame.event.post(key_press("ctrl+p"))}
    played(make_session((640, 400)), keys, 12)
    assert imageio.get_reader(tmp_path / "line-1.mp4").get_meta_data()["duration"] > 0.3


def key_press(name: str) -> pygame.event.Event:
    assert control_for(name) is not None
    code = pygame.key.key_code(name.split("+")[-1])
    return pygame.event.Event(pygame.KEYDOWN, key=code, mod=pygame.KMOD_LCTRL, unicode="")


def test_another_window_size_ends_the_clip(make_session, tmp_path):
    session = make_session()
    script = {
        1: lambda: act(session, "clip"),
        8: lambda: pygame.display.set_mode((1000, 640), pygame.RESIZABLE),
    }
    played(session, script, 14)
    assert imageio.get_reader(tmp_path / "line-1.mp4").get_meta_data()["size"] == (1280, 720)
    assert session.filmed_s is None


@pytest.mark.parametrize(
    ("speed", "gap_s"),
    [
        pytest.param(1.0, 0.6, marks=pytest.mark.all),
        pytest.param(8.0, 0.9, marks=pytest.mark.all),
        (0.5, 0.05),
    ],
)
def test_a_clip_is_as_long_as_its_passage_at_its_speed(make_session, tmp_path, speed, gap_s):
    """Under load too: pictures come late, and the clip shows what it says."""
    session = make_session((640, 400))
    session.clock = session.clock.at_speed(speed)
    at, began, ended = [0.0], [], []

    def clock() -> float:
        at[0] += gap_s
        return at[0]

    def each(number: int) -> None:
        if number == 2:
            act(session, "clip")
            began.append(session.pack.source.frame.time_s)
        if number == 22:
            ended.append(session.pack.source.frame.time_s)
            act(session, "clip")

    run(session, max_frames=25, clock=clock, each_frame=each)
    seconds = imageio.get_reader(tmp_path / "line-1.mp4").get_meta_data()["duration"]
    assert ended[0] - began[0] > 0.4
    assert seconds == pytest.approx((ended[0] - began[0]) / speed, abs=0.45)


def test_a_film_not_kept_leaves_nothing(tmp_path):
    with closing(Film(tmp_path / "a.mp4")) as film:
        film.add(np.zeros((64, 64, 3), dtype=np.uint8))
    assert not list(tmp_path.iterdir())
    (tmp_path / "b.mp4").write_bytes(b"mine")
    with pytest.raises(InputError):
        Film(tmp_path / "b.mp4")
    assert (tmp_path / "b.mp4").read_bytes() == b"mine"


def test_without_ffmpeg_the_window_says_so_and_goes_on(make_session, tmp_path, monkeypatch):
    def none(*_arguments, **_options):
        raise RuntimeError("No ffmpeg exe could be found.")

    monkeypatch.setattr(imageio, "get_writer", none)
    session = make_session()
    assert played(session, {2: lambda: act(session, "clip")}, 8) is session
    assert "imageio-ffmpeg" in session.message
    assert session.filmed_s is None
    assert not list(tmp_path.iterdir())


def test_a_full_disk_ends_the_clip_with_a_message(make_session, tmp_path, monkeypatch):
    def full(_film, _rgb):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Film, "add", full)
    session = make_session()
    played(session, {2: lambda: act(session, "clip")}, 8)
    assert "No space left" in session.message
    assert not list(tmp_path.iterdir())


def test_a_capture_of_the_worst_can_shows_the_worst_by_then(root: Path, tmp_path, monkeypatch):
    """The can that was worst at the start has left or stands snug when the picture is taken."""
    kept = []

    def capture(session, out, **options):
        kept.append(session)
        return out

    monkeypatch.setattr("viewer.window.app.capture", capture)
    line = root / "scenarios" / "swing_line.toml"
    main([str(line), "--size", "sleek body", "--after", "20", "--stage", "wash", "--look", "worst",
          "--capture", str(tmp_path / "w.png")])  # fmt: skip
    session = kept[0]
    frame = session.pack.source.frame
    assert frame.time_s == pytest.approx(20.0)
    at = int(np.flatnonzero(frame.id == session.pack.picked)[0])
    assert ROLES[frame.role[at]] in ("could go over", "much room")
    words = [item.text for item in whole_window(session).items if hasattr(item, "text")]
    assert any("tip angle" in text and "stop" in text for text in words)


@pytest.mark.all
def test_the_clip_of_a_widened_guide_tells_the_story(root: Path, tmp_path):
    """A new user's way, in a process of its own: open, widen, watch, film, end."""
    script = (
        "import sys; from pathlib import Path; import pygame;"
        "from viewer.window.app import run; from viewer.session.open import open_session;"
        "from viewer.session.open import read_options;"
        f"s = open_session(read_options([{str(root / 'scenarios' / 'swing_line.toml')!r},"
        f"'--size', 'sleek body', '--seed', '1', '--folder', {str(tmp_path)!r}]));"
        "K = lambda n, m=0: lambda: [pygame.event.post(pygame.event.Event(kind,"
        "key=pygame.key.key_code(n), mod=m, unicode=''))"
        "for kind in (pygame.KEYDOWN, pygame.KEYUP)];"
        "tips = []; note = lambda: tips.append(int(s.pack.source.tips.sum()));"
        # close every stage by 20 mm, begin anew; then open the wash by 20 mm again
        "script = {1: K('f3'), 2: K('w'), 4: K('page up'), 5: K('page up'), 6: K('page up'),"
        "8: K('r', pygame.KMOD_LSHIFT), 10: K('p', pygame.KMOD_LCTRL), 30: note, 31: K('3'),"
        "32: K('y'), 70: K('z'), 75: K('u'), 90: K('p', pygame.KMOD_LCTRL), 92: note} |"
        "{3: lambda: [K('a', pygame.KMOD_LSHIFT)() for _ in range(4)]} |"
        "{33: lambda: [K('d', pygame.KMOD_LSHIFT)() for _ in range(4)]};"
        "t = [0.0];\n"
        "def clock():\n t[0] += 0.05\n return t[0]\n"
        "run(s, max_frames=95, clock=clock, each_frame=lambda n: script.get(n, int)());"
        "print(*tips, s.pack.source.frame.time_s, s.message)"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, timeout=300, check=True
    )
    before, after, _, said = done.stdout.splitlines()[-1].split(" ", 3)
    assert int(before) == 0
    assert int(after) > 0
    assert "saved" in said
    assert imageio.get_reader(tmp_path / "swing_line-1.mp4").get_meta_data()["duration"] > 3.5
