"""Known lengths, how low guides are and travel, told beside a picture; two sizes in one."""

from __future__ import annotations

import math

import numpy as np
import pytest

from packsim.errors import InputError
from packsim.look.known import Known
from packsim.look.look import seen_in
from packsim.look.measure import measure_pack
from packsim.look.photo.contacts import Touch
from packsim.look.photo.sizes import against_cans, two_sizes
from packsim.pack import pack_between
from tests.look.render import Camera, Looks, Mat, picture
from tests.look.test_rims import D

ENDS_MM = np.array([[[100.0, 60.0], [430.0, 60.0]], [[100.0, 60.0], [100.0, 300.0]]])
LONG_MM = [330.0, 240.0]


def shown(roll_deg: float = 0.0, tilt_deg: float = 0.0) -> tuple[np.ndarray, Camera]:
    """A pack that stands apart, so that no cans touch and tell the scale."""
    pack = pack_between(5.0 * D, D, length_mm=500.0, lie="left")
    camera = Camera((560, 560), 1.2, (265.0, 175.0), tilt_deg, roll_deg=roll_deg)
    mat = Mat(1.06 * pack.centres_mm, D)
    return picture(mat, camera, Looks(), np.random.default_rng(5)) / 255.0, camera


@pytest.mark.parametrize(
    ("step", "grows", "two"),
    [(0.05, 0.0, True), (0.05, 0.04, True), (0.01, 0.0, False), (0.0, 0.1, False)],
)
def test_two_sizes_are_a_step_of_diameters_and_no_even_growth(
    step: float, grows: float, two: bool
) -> None:
    """A sure step may still be too small to be another can: light from one side makes such."""
    at = pack_between(8.0 * D, D, length_mm=900.0).centres_mm
    x, y = (at - at.mean(axis=0)).T / 900.0
    seems = D * (1.0 + grows * (x + x * y) + step * (x + 0.4 * y > 0.05))
    assert two_sizes(at, seems + np.random.default_rng(2).normal(0.0, 0.002 * D, len(at))) is two


@pytest.mark.parametrize("tilt_deg", [0.0, pytest.param(15.0, marks=pytest.mark.all)])
def test_two_known_lengths_tell_the_scale_where_no_cans_touch(tilt_deg) -> None:
    grey, camera = shown(tilt_deg=tilt_deg)
    pairs = [camera.to_picture(pair) for pair in ENDS_MM]
    lengths = [(tuple(a), tuple(b), mm) for (a, b), mm in zip(pairs, LONG_MM, strict=True)]
    seen = seen_in(grey, D, lengths=lengths)
    measured = [np.hypot(*np.diff(seen.view.to_mm(pair), axis=0)[0]) for pair in pairs]
    assert measured == pytest.approx(LONG_MM, rel=max(0.002, 2.0 * seen.scale_error))
    assert seen.scale_error < 0.8 * seen_in(grey, D).scale_error  # that of rims alone
    other = camera.to_picture(np.array([[150.0, 250.0], [400.0, 100.0]]))  # one nobody told
    own = np.hypot(*np.diff(seen.view.to_mm(other), axis=0)[0])
    assert own == pytest.approx(np.hypot(250.0, 150.0), rel=max(0.004, 2.0 * seen.scale_error))


def by_cans(error: float) -> Touch:
    """Pixels of 1 mm in a picture of 601 by 801."""
    half = math.hypot(601, 801) / 2.0
    return Touch(np.array([half, 0.0, half, 0.0, 0.0, 0.0]), 1.0, error, 0.5, 0.0)


def told(mm: float, *ends: tuple[float, float], error: float = 0.001) -> tuple[str, ...]:
    return against_cans([(np.array(ends), mm)], by_cans(error), (601, 801), D, "a.png")[0]


@pytest.mark.parametrize(
    ("mm", "error", "said"),
    [(400.5, 0.001, 0), (406.0, 0.001, 1), (394.0, 0.001, 1), (408.0, 0.01, 0), (388.0, 0.006, 1)],
)
def test_a_length_that_the_cans_do_not_confirm_is_said_with_both(mm, error, said) -> None:
    found = told(mm, (100.0, 60.0), (500.0, 60.0), error=error)
    assert len(found) == said
    if said:
        assert f"{mm:.1f} mm from 100,60 to 500,60; cans of 66 mm say 400.0 ±" in found[0]
        assert f"they would be {66.0 * mm / 400.0:.1f} mm across" in found[0]
        assert "measure it again" in found[0]


@pytest.mark.parametrize("mm", [414.0, 386.0])
def test_a_length_that_no_such_cans_can_be_seen_along_is_refused(mm) -> None:
    with pytest.raises(
        InputError, match=r"length: got (414|386)\.0 mm from .* needs .*check --size"
    ):
        told(mm, (100.0, 60.0), (500.0, 60.0))


@pytest.mark.parametrize(
    ("end", "needs"), [((601.0, 60.0), "a picture of 601 x 801"), ((120.0, 60.0), "50 pixels or")]
)
def test_ends_of_a_length_are_two_places_of_the_picture(end, needs) -> None:
    with pytest.raises(InputError, match=rf"length: got the ends 100,60 to .* needs .*{needs}"):
        told(400.0, (100.0, 60.0), end)


@pytest.mark.all
@pytest.mark.parametrize("factors", [(1.03, 1.03), (1.03,)])
def test_lengths_that_contradict_the_diameter_bend_no_view_and_are_said(factors) -> None:
    grey, camera = shown()
    pairs = [camera.to_picture(pair) for pair in ENDS_MM]
    wrong = [
        (tuple(a), tuple(b), factor * mm)
        for (a, b), mm, factor in zip(pairs, LONG_MM, factors, strict=False)
    ]
    seen = seen_in(grey, D, lengths=wrong)
    grown = [np.hypot(*np.diff(seen.view.to_mm(pair), axis=0)[0]) for pair in pairs]
    assert grown == pytest.approx(1.03 * np.array(LONG_MM), rel=0.003)  # alike both ways
    assert len([one for one in seen.not_seen if "do not agree" in one]) == len(factors)
    assert 1.96 * seen.scale_error > 0.029  # and the true scale is within its error


@pytest.mark.all
@pytest.mark.parametrize("tilt_deg", [0.0, 15.0])
@pytest.mark.parametrize("apart", [1.02, 1.06])
def test_a_lattice_drawn_apart_evenly_is_as_large_as_its_rims_say(apart, tilt_deg) -> None:
    pack = pack_between(9.0 * D, D, length_mm=900.0, lie="left")
    at = apart * pack.centres_mm
    camera = Camera((1140, 780), 1.2, tuple(at.mean(axis=0)), tilt_deg)
    grey = picture(Mat(at, D), camera, Looks(), np.random.default_rng(3)) / 255.0
    seen = seen_in(grey, D)
    for pair in ([[60.0, 300.0], [860.0, 300.0]], [[450.0, 60.0], [450.0, 560.0]]):
        ends = seen.view.to_mm(camera.to_picture(np.array(pair)))
        off = math.dist(*ends) / math.dist(*pair) - 1.0
        assert abs(off) < min(1.96 * seen.scale_error, 0.01)
    assert any("Hardly any cans touch" in one for one in seen.not_seen)


@pytest.mark.all
@pytest.mark.parametrize(("way", "roll_deg"), [("left", 180.0), ("down", 90.0), ("up", -90.0)])
def test_travel_goes_where_it_is_told_to(way, roll_deg) -> None:
    grey, camera = shown(roll_deg)
    seen = seen_in(grey, D, travel=way)
    one, true = (
        np.diff(to(ENDS_MM[0]), axis=0)[0] for to in (seen.view.to_picture, camera.to_picture)
    )
    assert one @ true / np.hypot(*one) / np.hypot(*true) > 0.999


def test_two_sizes_in_one_picture_are_said_to_be_there() -> None:
    width, shown = D * (1.0 + 5.0 * np.sqrt(0.75)), []
    camera = Camera((760, 90 + int(width)), 1.0, (345.0, width / 2.0))
    for body, begin in ((D, 0.0), (0.875 * D, 345.0)):
        pack = pack_between(width, body, length_mm=330.0, lie="left")
        mat = Mat(pack.centres_mm + np.array([begin, 0.0]), body, guides_mm=(0.0, width))
        shown.append(picture(mat, camera, Looks(), np.random.default_rng(3)) / 255.0)
    two = np.concatenate((shown[0][:, :390], shown[1][:, 390:]), axis=1)
    assert "two sizes" in seen_in(two, D, travel="right").not_seen[0]


@pytest.mark.all
def test_guides_lower_than_the_rims_are_put_right_by_how_low_and_how_high_is_told() -> None:
    pack = pack_between(D * (1.0 + 6.0 * np.sqrt(0.75)) + 20.0, D, length_mm=700.0, lie="centred")
    camera = Camera((620, 600), 1.12, (300.0, pack.clear_width_mm / 2.0), far_mm=900.0)
    mat = Mat(pack.centres_mm, D, 124.0, (0.0, pack.clear_width_mm), guide_below_mm=15.0)
    shown = picture(mat, camera, Looks(light_deg=15.0), np.random.default_rng(8)) / 255.0
    seen = seen_in(shown, D, travel="right")
    level = measure_pack(seen).clear_width_mm
    told = measure_pack(seen, 0.0, Known(15.0, 1.0), Known(900.0, 10.0)).clear_width_mm
    assert level is not None
    assert told is not None
    assert abs(told.value - pack.clear_width_mm) < told.within
    assert pack.clear_width_mm - level.value > 4.0  # 15 mm lower seem 1.6 % narrower
