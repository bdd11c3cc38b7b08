"""Pictures and films without a screen."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import replace

import numpy as np
import pygame
import pytest
from PIL import Image

from packsim.errors import InputError
from viewer.lessons.play import READ_S
from viewer.screen.roles import PALETTES
from viewer.session.actions import act
from viewer.window.app import main
from viewer.window.capture import capture, frames_of, picture_of, png_bytes
from viewer.window.gif import GifFile


def film(make_session, seed=12):
    session = make_session((960, 600), seed=seed)
    return [pygame.image.tobytes(surface, "RGB") for surface in frames_of(session, 0.5, 8.0)]


def test_the_same_seed_gives_the_same_pixels(make_session):
    first, second = film(make_session), film(make_session)
    assert first == second
    assert len(first) == 4
    assert first[0] != first[-1]
    assert film(make_session, seed=13) != first


def test_a_picture_has_the_size_asked_for_and_the_cautions(make_session):
    session = make_session((1920, 1080))
    surface = picture_of(session)
    assert surface.get_size() == (1920, 1080)
    assert surface.get_at((2, 1078))[:3] == PALETTES["light"].inks["caution"]


def test_png_gif_mp4_and_folder(make_session, tmp_path):
    import imageio.v2 as imageio

    for name in ("a.png", "a.gif", "a.mp4", "a"):
        out = capture(make_session((960, 600)), tmp_path / name, seconds=0.5, fps=10.0)
        assert out.exists()
    with Image.open(tmp_path / "a.png") as picture:
        assert picture.size == (960, 600)
        said = picture.info["Comment"]
        assert "packsim-viewer" in said
        assert "seed " in said
    with Image.open(tmp_path / "a.gif") as picture:
        assert picture.size == (960, 600)
        assert picture.info["duration"] == 100
        assert 2 <= picture.n_frames <= 5
    with imageio.get_reader(tmp_path / "a.mp4") as reader:
        assert reader.count_frames() == 5
        assert reader.get_meta_data()["size"] == (960, 600)
    assert sorted(path.name for path in (tmp_path / "a").iterdir())[-1] == "frame-00004.png"
    # nothing half-written is left behind
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a", "a.gif", "a.mp4", "a.png"]


@pytest.mark.parametrize("name", ["a.png", "a.gif", "a"])
def test_nothing_is_overwritten_without_being_told(make_session, tmp_path, name):
    session = make_session((960, 600))
    out = capture(session, tmp_path / name, seconds=0.2, fps=10.0)
    with pytest.raises(InputError, match="--replace"):
        capture(session, out, seconds=0.2, fps=10.0)
    assert capture(session, out, seconds=0.1, fps=10.0, replace_old=True) == out


def test_a_folder_with_other_things_in_it_is_left_alone(make_session, tmp_path):
    out = tmp_path / "films"
    out.mkdir()
    (out / "notes.txt").write_text("keep me")
    with pytest.raises(InputError, match="nothing but"):
        capture(make_session((960, 600)), out, seconds=0.1, fps=10.0, replace_old=True)
    assert (out / "notes.txt").read_text() == "keep me"


def test_a_missing_folder_and_another_ending_are_refused(make_session, tmp_path):
    session = make_session((960, 600))
    for name in ("no/such/a.png", "no/such/a", "a.bmp"):
        with pytest.raises(InputError):
            capture(session, tmp_path / name, seconds=0.1, fps=10.0)


def test_later_pictures_show_later_passage(make_session):
    early = png_bytes(next(iter(frames_of(make_session((960, 600)), 0.1, 10.0))))
    session = make_session((960, 600))
    session.step(40)
    late = png_bytes(next(iter(frames_of(session, 0.1, 10.0))))
    assert early != late


@pytest.mark.parametrize(("fps", "speed"), [(2.0, 1.0), (10.0, 8.0)])
def test_a_film_of_few_pictures_shows_the_speed_it_says(make_session, fps, speed):
    session = make_session((960, 600))
    session.clock = replace(session.clock, speed=speed)
    for _ in frames_of(session, 2.0, fps):
        pass
    # the last picture is one interval short of the two seconds
    assert session.pack.source.frame.time_s == pytest.approx((2.0 - 1.0 / fps) * speed, abs=0.051)


def test_a_stage_looked_at_is_still_looked_at_after_a_while(root, tmp_path, monkeypatch):
    kept = []
    monkeypatch.setattr("viewer.window.app.capture", lambda session, out, **_: kept.append(session))
    line = root / "scenarios/lessons/lines/teaching_line.toml"
    for after in ("0", "9"):
        main([str(line), "--stage", "wash", "--look", "stage", "--follow", "--after", after,
              "--capture", str(tmp_path / "a.gif")])  # fmt: skip
    first, later = kept
    assert later.pack.source.frame.time_s == pytest.approx(9.0)
    assert later.camera == first.camera
    assert later.follow
    later.step(20)
    assert later.camera.u_mm > first.camera.u_mm


LESSON = """
schema = 2
goal = "g"
takeaway = "w"
title = "t"
scenario = "line.toml"
[[scenes]]
caption = "one"
seconds = 1.0
speed = 2
[[scenes]]
caption = "two"
seconds = 0.5
running = false
wait = false
"""


def test_a_capture_of_a_lesson_lasts_as_long_as_the_lesson(root, tmp_path):
    line = (root / "scenarios/lessons/lines/teaching_line.toml").read_text(encoding="utf-8")
    (tmp_path / "line.toml").write_text(line, encoding="utf-8")
    (tmp_path / "lesson.toml").write_text(LESSON, encoding="utf-8")
    out = tmp_path / "all.gif"
    main(["--lesson", str(tmp_path / "lesson.toml"), "--capture", str(out), "--fps", "5",
          "--window", "640x400"])  # fmt: skip
    with Image.open(out) as film:
        seconds = 0.0
        for i in range(film.n_frames):
            film.seek(i)
            seconds += film.info["duration"] / 1000.0
    # a second of the first scene, the time to read it, half a second of the other, the takeaway
    assert seconds == pytest.approx(1.0 + READ_S + 0.5 + 2.0 * READ_S, abs=0.4)
    main(["--lesson", str(tmp_path / "lesson.toml"), "--capture", str(out), "--fps", "10",
          "--seconds", "0.5", "--window", "640x400", "--replace"])  # fmt: skip
    with Image.open(out) as film:
        assert film.n_frames <= 5


def gif_of(pictures, path, fps=20.0):
    film = GifFile(path, fps)
    for rgb in pictures:
        film.append_data(rgb)
    film.close()


def test_a_gif_shows_every_picture_at_its_time(tmp_path):
    """Read again by another library: what moved, what stood still, how long each is shown."""
    rng = np.random.default_rng(5)
    inks = np.array(
        [PALETTES["light"].inks[name] for name in ("canvas", "text", "alarm", "wire")],
        dtype=np.uint8,
    )
    pictures = [inks[rng.integers(0, 4, (40, 60))]]
    for i in range(1, 9):
        later = pictures[-1].copy()
        if i % 3:
            later[i : i + 5, 2 * i : 2 * i + 7] = inks[rng.integers(0, 4, (5, 7))]
        pictures.append(later)
    gif_of(pictures, tmp_path / "a.gif", fps=12.0)
    shown, at = [], 0
    with Image.open(tmp_path / "a.gif") as film:
        for i in range(film.n_frames):
            film.seek(i)
            rgb = np.asarray(film.convert("RGB")).astype(int)
            held = round(film.info["duration"] / 1000.0 * 12.0)
            shown += [rgb] * held
            at += film.info["duration"]
    assert len(shown) == len(pictures)
    assert at == pytest.approx(1000.0 * 9 / 12.0, abs=10)
    for rgb, asked in zip(shown, pictures, strict=True):
        assert np.abs(rgb - asked).max() <= 6


MEMORY = """
import sys
from pathlib import Path
import numpy as np
from viewer.window.gif import GifFile
def most_kB():  # of this program alone: getrusage tells that of who started it, where that is more
    return int(Path("/proc/self/status").read_text().split("VmHWM:")[1].split()[0])
film = GifFile(Path(sys.argv[1]), 20.0)
rgb = np.full((720, 1280, 3), 200, dtype=np.uint8)
for i in range(120):
    rgb = rgb.copy()
    rgb[i : i + 300, 2 * i : 2 * i + 500] = i % 200
    film.append_data(rgb)
    if i == 10:
        first = most_kB()
film.close()
print(most_kB() - first)
"""


@pytest.mark.skipif(sys.platform != "linux", reason="memory is told in kB there")
def test_a_long_gif_takes_no_more_memory_than_a_short_one(root, tmp_path):
    command = [sys.executable, "-c", MEMORY, str(tmp_path / "a.gif")]
    done = subprocess.run(command, cwd=root, capture_output=True, text=True, check=True)
    assert int(done.stdout) < 30_000  # 120 pictures of 2.8 MB passed through


def test_the_colours_of_a_dark_room_are_an_option_and_a_key(make_session):
    session = make_session(colours="dark")
    for name in ("dark", "light", "dark"):
        corner = picture_of(session).get_at((2, session.layout.answers.bottom - 3))[:3]
        assert corner == PALETTES[name].inks["panel"]
        act(session, "colours")
