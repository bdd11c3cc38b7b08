"""Round rims in pictures: real coins, drawn discs, rendered packs.

A published image of a hexagonal lattice would tell its constant too; no package that the project
installs carries one: scikit-image's data have none.
"""

from __future__ import annotations

import io
import math
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from scipy.ndimage import binary_fill_holes, find_objects, gaussian_filter, label
from scipy.spatial import cKDTree
from scipy.spatial.transform import Rotation

from packsim.errors import InputError
from packsim.look.look import look_at, seen_in
from packsim.look.measure import measure_pack
from packsim.look.photo.rims import find_rims
from packsim.look.seen import SeenPack, View
from packsim.pack import Pack, pack_between
from packsim.report.drawings.drawing_files import drawing_png
from packsim.report.drawings.pack_drawing import pack_drawing
from tests.look.render import Camera, Looks, Mat, picture

D = 66.0


def discs(at: np.ndarray, radius: float, size: tuple[int, int], blur: float = 0.7) -> np.ndarray:
    """Bright discs on dark, the edge of each covering pixels in part."""
    y, x = np.mgrid[: size[1], : size[0]]
    away = cKDTree(at).query(np.column_stack((x.ravel(), y.ravel())))[0].reshape(x.shape)
    return gaussian_filter(0.15 + 0.65 * np.clip(radius - away + 0.5, 0.0, 1.0), blur)


def _round(part: np.ndarray) -> bool:
    """Whether a part fills its box as an ellipse that is nearly a circle does."""
    h, w = part.shape
    return abs(part.sum() / (h * w * math.pi / 4.0) - 1.0) < 0.08 and abs(h / w - 1.0) < 0.15


def turned_off(seen: np.ndarray, true: np.ndarray) -> np.ndarray:
    """Distances after the best turn and shift: no scale."""
    a, b = seen - seen.mean(axis=0), true - true.mean(axis=0)
    u, _, v = np.linalg.svd(a.T @ b)
    return np.hypot(*(a @ (u @ v) - b).T)


@pytest.mark.all
def test_forty_cans_from_plumb_between_guides_over_a_ribbed_mat_are_all_found() -> None:
    """Guides and ribs have most of the edges here: the shape they tell is that of no rim."""
    pack = pack_between(5.0 * D, D, length_mm=500.0, lie="left")
    y = pack.centres_mm[:, 1]
    mat = Mat(pack.centres_mm, D, guides_mm=(y.min() - D / 2 - 10.0, y.max() + D / 2 + 10.0))
    camera = Camera((745, 449), 1.2, tuple(pack.centres_mm.mean(axis=0)))
    grey = picture(mat, camera, Looks(), np.random.default_rng(3)) / 255.0
    rims = find_rims(grey)
    assert len(rims.radii) == len(pack) == 40
    away = cKDTree(rims.centres_px).query(camera.to_picture(pack.centres_mm))[0]
    assert away.max() < 0.1 * D * camera.px_per_mm  # only where the search for edges begins


def test_every_coin_of_a_real_photograph_is_found() -> None:
    data = Path(pytest.importorskip("skimage").__file__).parent / "data" / "coins.png"
    grey = np.asarray(Image.open(data), dtype=np.float64) / 255.0
    rims = find_rims(grey)
    assert len(rims.radii) == 24  # four rows of six, by eye
    assert np.all((rims.radii > 16.0) & (rims.radii < 32.0))
    solid, _ = label(binary_fill_holes(gaussian_filter(grey, 1.0) > 0.48))
    sizes = np.bincount(solid.ravel())
    boxes = [(k + 1, box) for k, box in enumerate(find_objects(solid)) if sizes[k + 1] > 900]
    coins = [k for k, box in boxes if _round(solid[box] == k)]
    assert len(coins) >= 10  # those that stand out round by brightness alone
    for coin in coins:
        y, x = np.argwhere(solid == coin).mean(axis=0)
        k = int(np.argmin(np.hypot(*(rims.centres_px - (x, y)).T)))
        assert math.dist(rims.centres_px[k], (x, y)) < 4.0
        assert rims.radii[k] == pytest.approx(math.sqrt(sizes[coin] / math.pi), rel=0.3)


def test_drawn_discs_are_measured_to_hundredths_of_a_pixel() -> None:
    pack = pack_between(420.0, D, length_mm=400.0, fill=0.97)
    at = 1.5 * pack.centres_mm + 70.3
    seen = seen_in(discs(at, 0.75 * D, (760, 760)), D, travel="right")
    assert len(seen) == len(pack)
    off = turned_off(
        seen.centres_mm,
        pack.centres_mm[cKDTree(at).query(seen.view.to_picture(seen.centres_mm))[1]],
    )
    assert np.median(off) < 0.1
    assert seen.px_per_mm == pytest.approx(1.5, rel=0.004)


@cache
def rendered(tilt_deg: float = 0.0) -> tuple[SeenPack, Pack, Camera]:
    pack = pack_between(6 * D * math.sqrt(0.75) + D + 9.0, D, length_mm=700.0, lie="left")
    camera = Camera((750, 600), 1.12, (350.0, 235.0), tilt_deg, 70.0, 2.0, 900.0, -0.05)
    mat = Mat(pack.centres_mm[3:], D, 124.0, (0.0, pack.clear_width_mm))
    rng = np.random.default_rng(5)
    shown = picture(mat, camera, Looks(jpeg=85, light_deg=15.0), rng)
    return seen_in(shown / 255.0, D, travel="right"), pack, camera


def test_a_rendered_pack_comes_back_with_layout_lanes_and_slack() -> None:
    seen, pack, camera = rendered()
    looked = measure_pack(seen)
    assert (looked.layout, looked.lanes, seen.travel_from) == ("lengthwise", 7, "guides")
    assert looked.slack_mm is not None
    assert abs(looked.slack_mm.value - pack.slack_mm) < 1.5
    which = cKDTree(camera.to_picture(pack.centres_mm)).query(seen.view.to_picture(seen.centres_mm))
    assert which[0].max() < 3.0
    assert np.median(turned_off(seen.centres_mm, pack.centres_mm[which[1]])) < 0.25


def test_a_steep_picture_all_of_whose_rims_are_found_at_once_is_read(monkeypatch) -> None:
    monkeypatch.setattr("packsim.look.photo.plane.rims_on_plane", lambda *_: np.empty((0, 2)))
    pack = pack_between(3.0 * D, D, length_mm=250.0, lie="left")
    camera = Camera((500, 450), 1.2, (125.0, 100.0), 22.0)
    shown = picture(Mat(pack.centres_mm, D), camera, Looks(), np.random.default_rng(5))
    assert len(seen_in(shown / 255.0, D)) >= 6


@pytest.mark.all
@pytest.mark.parametrize("tilt", [20.0, 35.0])
def test_a_slant_changes_nothing_but_the_errors(tilt: float) -> None:
    seen, pack, _ = rendered(tilt)
    looked = measure_pack(seen)
    assert (looked.layout, looked.lanes) == ("lengthwise", 7)
    if looked.slack_mm is None:  # at 35° cans hide the near edge of the guide they lean on
        assert any("No guide is seen" in said for said in looked.not_seen)
    else:
        assert abs(looked.slack_mm.value - pack.slack_mm) < 3.0


def test_where_the_camera_was_is_told_by_the_view() -> None:
    for tilt in (15.0, 30.0):
        camera = Camera((1000, 800), 1.5, (350.0, 235.0), tilt, 0.0, 0.0, 900.0)
        view = View(camera.plane(0.0), 0.0, (499.5, 399.5), math.hypot(500, 400))
        high = 900.0 * math.cos(math.radians(tilt))
        aside = 900.0 * math.sin(math.radians(tilt))
        np.testing.assert_allclose(
            np.abs(view.eye_mm() - [350.0, 235.0, 0.0]), [aside, 0.0, high], atol=1e-6
        )


def test_axes_of_a_view_turn_and_begin_elsewhere_and_a_mm_is_as_long_as_drawn() -> None:
    camera = Camera((1000, 800), 1.5, (350.0, 235.0), 30.0, 0.0, 0.0, 900.0)
    view = View(camera.plane(0.0), -0.05, (499.5, 399.5), math.hypot(500, 400))
    at = np.array([[300.0, 200.0], [410.0, 260.0]])
    turn = Rotation.from_euler("z", 0.3).as_matrix()[:2, :2]
    moved = view.moved(0.3, (12.0, -7.0))
    np.testing.assert_allclose(
        moved.to_mm(view.to_picture(at)), at @ turn - [12.0, -7.0], atol=1e-9
    )
    assert moved.eye_mm()[2] == pytest.approx(view.eye_mm()[2], rel=1e-9)
    along, across = view.px_of_a_mm(at).transpose(1, 0, 2)
    np.testing.assert_allclose(
        view.to_picture(at + np.array([1.0, 0.0])), view.to_picture(at) + along
    )
    np.testing.assert_allclose(
        view.to_picture(at + np.array([0.0, 1.0])), view.to_picture(at) + across
    )


@pytest.mark.all
def test_the_own_drawing_of_a_pack_is_read_as_that_pack() -> None:
    # ink of outlines keeps cans that touch apart, the more the smaller the scale: here by 1 mm
    pack = pack_between(300.0, D, length_mm=420.0, lie="left")
    drawn = Image.open(io.BytesIO(drawing_png(pack_drawing(pack), dpi=150.0))).convert("L")
    w, h = drawn.size  # without the heading, and the cans drawn pale that repeat at its ends
    grey = np.asarray(drawn.crop((w // 5, h // 5, 4 * w // 5, 23 * h // 25)), dtype=np.float64)
    looked = measure_pack(seen_in(grey / 255.0, D, travel="down"))
    assert (looked.layout, looked.lanes) == ("lengthwise", pack.lanes)
    assert (looked.leaning, looked.down) == (0, 0)
    assert looked.slack_mm is not None
    assert abs(looked.slack_mm.value - pack.slack_mm) < looked.slack_mm.within


@pytest.mark.parametrize("kind", ["noise", "one colour", "sky"])
def test_a_picture_without_cans_is_said_to_be_one(kind: str, tmp_path: Path) -> None:
    rng = np.random.default_rng(3)
    shown = {
        "noise": rng.random((240, 320)),
        "one colour": np.full((240, 320), 0.5),
        "sky": gaussian_filter(rng.random((240, 320)), 25.0) * 3.0 - 1.0,
    }[kind]
    file = tmp_path / "none.png"
    Image.fromarray((255 * np.clip(shown, 0, 1)).astype(np.uint8)).save(file)
    with pytest.raises(InputError, match=r"none.png: picture: got .*round rims"):
        look_at(file, D)


def test_a_size_that_cannot_be_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="diameter_mm"):
        look_at(tmp_path / "any.png", -3.0)
