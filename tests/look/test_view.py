"""Views that a camera can have, and rims where they are hard to find: near, far aside, hidden."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from packsim.look.look import seen_in
from packsim.look.measure import measure_pack
from packsim.look.photo.camera import no_camera
from packsim.look.photo.gap_fit import GapFit
from packsim.look.photo.outlines import settled
from packsim.look.seen import View
from packsim.pack import pack_between
from tests.look.render import Camera, Looks, Mat, picture
from tests.look.test_rims import D, discs

SIZE = (1000, 800)


def numbers_of(homography: np.ndarray) -> np.ndarray:
    """The six numbers of a view: its inverse without a turn and a shift of the plane."""
    reach = math.hypot(*SIZE) / 2.0
    middle = [(one - 1) / 2.0 for one in SIZE]
    to_px = np.array([[reach, 0.0, middle[0]], [0.0, reach, middle[1]], [0.0, 0.0, 1.0]])
    to_mm = np.linalg.inv(homography) @ to_px
    to_mm /= to_mm[2, 2]
    fall = to_mm[2, :2]
    upper = np.linalg.qr(to_mm[:2, :2] - np.outer(to_mm[:2, 2], fall))[1]
    upper *= np.sign(np.diag(upper))[:, None]
    return np.array([upper[0, 0], upper[0, 1], upper[1, 1], *fall, 0.0])


@given(
    tilt=st.floats(0.0, 50.0),
    azimuth=st.floats(0.0, 360.0),
    roll=st.floats(-180.0, 180.0),
    focal=st.floats(0.5, 2.5),
)
def test_a_camera_has_the_views_of_cameras_and_no_other(tilt, azimuth, roll, focal) -> None:
    camera = Camera(SIZE, 1.2, (300.0, 200.0), tilt, azimuth, roll, focal * max(SIZE) / 1.2)
    numbers = numbers_of(camera.plane(0.0))
    assert no_camera(numbers, SIZE) < 1e-6
    # pixels that are no squares, on a picture's diagonal, where the line of sight does not tell it
    pressed = np.array([[1.0, 0.06, 0.0], [0.06, 1.0, 0.0], [0.0, 0.0, 1.0]])
    assert no_camera(numbers_of(pressed @ camera.plane(0.0)), SIZE) < 60.0
    upright = Camera(SIZE, 1.2, (300.0, 200.0), 0.0, 0.0, roll, focal * max(SIZE) / 1.2)
    assert no_camera(numbers_of(pressed @ upright.plane(0.0)), SIZE) > 10.0


def test_a_rim_is_found_a_third_of_a_radius_off_and_beside_a_stronger_edge() -> None:
    at = 1.5 * pack_between(420.0, D, length_mm=400.0, fill=0.97).centres_mm + 70.3
    grey = discs(at, 0.75 * D, (760, 760))
    grey[:, 700:] = 3.0
    view = View(np.diag([1.5, 1.5, 1.0]), 0.0, (379.5, 379.5), math.hypot(380.0, 380.0))
    turn = np.linspace(0.0, 6.0, len(at))
    off = 0.3 * D / 2.0 * np.column_stack((np.cos(turn), np.sin(turn)))
    found = settled(grey, view, at / 1.5 + off, (D / 2.0, 0.0, 1.0))
    assert np.hypot(*(found - at / 1.5).T).max() < 0.05 * D / 2.0
    assert settled(grey, view, np.empty((0, 2)), (D / 2.0, 0.0, 1.0)).shape == (0, 2)


@pytest.mark.all
@pytest.mark.parametrize("far_mm", [620.0, 1000.0])
def test_near_cans_of_another_shape_and_guides_behind_shoulders_are_seen(far_mm: float) -> None:
    width = D * (1.0 + 5.0 * math.sqrt(0.75)) + 9.0
    pack = pack_between(width, D, length_mm=600.0, fill=0.96, lie="left")
    camera = Camera((900, 700), 1.3, (300.0, 200.0), 36.0, 80.0, 3.0, far_mm, -0.06)
    mat = Mat(pack.centres_mm, D, 117.0, (0.0, width))
    shown = picture(mat, camera, Looks(glare=2), np.random.default_rng(3))
    seen = seen_in(shown / 255.0, D, travel="right")
    looked = measure_pack(seen)
    assert (looked.layout, looked.lanes) == ("lengthwise", pack.lanes)
    assert looked.slack_mm is not None
    assert looked.slack_mm.holds(pack.slack_mm)
    assert looked.slack_mm.within < 6.0


@pytest.mark.parametrize("share", [0.2, 0.9])
def test_where_gaps_begin_is_as_sure_as_the_widest_gaps_let_however_many_cans_touch(share) -> None:
    """Cans that touch in one direction say nothing of the gaps of another."""
    touch, loose = round(100 * share), round(100 * (1.0 - share))
    kind = np.repeat([0, 1], [touch, loose])
    apart = D + 4.0 * kind
    ends = np.zeros((len(kind), 2)), np.column_stack((apart, np.zeros(len(kind))))
    pairs = np.arange(2 * len(kind)).reshape(2, -1).T
    reach = math.hypot(*SIZE) / 2.0
    numbers = np.array([reach, 0.0, reach, 0.0, 0.0, 0.0])  # a millimetre is a pixel
    fit = GapFit(numbers, SIZE, np.concatenate(ends), pairs, kind, (D, 0.006, 0.3), ())
    assert fit.beginning(numbers, 1.0) == pytest.approx(0.06 * 4.0 / D, rel=1e-6)
