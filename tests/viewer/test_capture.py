"""Pictures and films without a screen."""

from __future__ import annotations

from dataclasses import replace

import pygame
import pytest
from PIL import Image

from packsim.errors import InputError
from viewer.window.capture import capture, frames_of, picture_of, png_bytes


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
    from viewer.screen.roles import INKS

    session = make_session((1920, 1080))
    surface = picture_of(session)
    assert surface.get_size() == (1920, 1080)
    assert surface.get_at((2, 1078))[:3] == INKS["caution"]


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
