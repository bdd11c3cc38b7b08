"""Cans that lean across the place of others that are gone, and cans down: drawn, truth known."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from packsim.look.look import seen_in
from packsim.pack import pack_between
from packsim.scenario import load_scenario
from packsim.scenario.trial_file import load_trials
from tests.cli.conftest import run
from tests.look.cases import Case
from tests.look.fallen import lay_down, lying_px
from tests.look.render import SHOULDER_MM, Camera, Looks, Mat, picture

ROOT = Path(__file__).resolve().parents[2]
D_MM, HIGH_MM = 66.1, 122.0
TILTS = [10.0, *(pytest.param(tilt, marks=pytest.mark.all) for tilt in (0.0, 20.0, 30.0))]


def drawn(tilt_deg: float, lean_deg: float | None) -> tuple[np.ndarray, np.ndarray | None]:
    """A snug pack, cut by the edges of the picture, and where the top of a leaning can is in it.

    It leans straight across from where two of its neighbours are gone, onto the can beyond them:
    anywhere else the cans beside it hold it up.
    """
    width = D_MM * (1.0 + 7.0 * math.sqrt(0.75)) + 4.0
    pack = pack_between(width, D_MM, "lengthwise", 900.0, state="slack", lie="centred")
    centres, leaning, top = pack.centres_mm, [], None
    view = {"tilt_deg": tilt_deg, "azimuth_deg": 50.0, "far_mm": 1500.0}
    camera = Camera((620, 640), 1.15, (450.0, width / 2.0), **view)
    if lean_deg is not None:
        lean = math.radians(lean_deg)
        away = centres - centres[np.hypot(*(centres - [450.0, width / 2.0]).T).argmin()]
        far, up = np.hypot(*away.T), away[:, 1]
        gone = (far < 1.0) | ((far < 1.2 * D_MM) & (up > 0.5 * D_MM))
        assert gone.sum() == 3
        x, y = centres[far < 1.0][0]
        y += D_MM / 2.0 * (1.0 - math.cos(lean))  # it turns about the edge of its base
        high = HIGH_MM - SHOULDER_MM
        at = np.array([x, y + high * math.sin(lean)])
        top = camera.to_picture(at, high * (1.0 - math.cos(lean)))
        centres, leaning = centres[~gone], [(x, y, lean, math.pi / 2.0)]
    mat = Mat(centres, D_MM, HIGH_MM, (0.0, width), leaning=leaning)
    return picture(mat, camera, Looks(), np.random.default_rng(7)), top


def leaning_px(shown: np.ndarray) -> np.ndarray:
    seen = seen_in(shown / 255.0, D_MM, travel="right")
    return seen.view.to_picture(seen.centres_mm[seen.are("leaning")])


@pytest.mark.all
@pytest.mark.parametrize("tilt_deg", TILTS)
def test_a_can_that_leans_is_found_where_it_is_and_no_other(tilt_deg) -> None:
    shown, top = drawn(tilt_deg, 25.0)
    (found,) = leaning_px(shown)
    assert math.dist(found, top) < 0.25 * D_MM


@pytest.mark.all
@pytest.mark.parametrize("tilt_deg", [0.0, 10.0, 20.0, 30.0])
def test_of_upright_cans_none_leans_though_the_picture_cuts_their_rims(tilt_deg) -> None:
    assert len(leaning_px(drawn(tilt_deg, None)[0])) == 0


def fallen(tilt_deg: float, *over: bool) -> tuple[np.ndarray, Case]:
    """A snug pack in which some cans lie, on the mat in a gap or over others."""
    width = D_MM * (1.0 + 7.0 * math.sqrt(0.75)) + 4.0
    pack = pack_between(width, D_MM, "lengthwise", 900.0, state="slack", lie="centred")
    view = {"tilt_deg": tilt_deg, "azimuth_deg": 50.0, "far_mm": 1500.0}
    camera = Camera((700, 640), 1.15, (450.0, width / 2.0), **view)
    mat = Mat(pack.centres_mm, D_MM, HIGH_MM, (0.0, width))
    case = Case("", "", pack, mat, camera, Looks(), "right", (True, True))
    rng = np.random.default_rng(41)
    assert all(lay_down(case, rng, one) for one in over)
    return picture(mat, camera, case.looks, rng), case


@pytest.mark.parametrize("tilt_deg", TILTS)
def test_cans_down_on_the_mat_and_on_others_are_found_and_nothing_on_their_walls(tilt_deg) -> None:
    shown, case = fallen(tilt_deg, False, True)
    seen = seen_in(shown / 255.0, D_MM, travel="right")
    there = lying_px(case)
    found = seen.view.to_picture(seen.centres_mm[seen.are("down")])
    assert len(found) == len(there) == 2
    for one in there:
        assert np.hypot(*(found - one).T).min() < 0.4 * D_MM * case.camera.px_per_mm
    upright = case.camera.to_picture(case.mat.centres_mm)
    standing = seen.view.to_picture(seen.centres_mm[~seen.are("down")])
    away = np.hypot(*np.moveaxis(standing[:, None] - upright, -1, 0)).min(axis=1)
    assert away.max() < 0.4 * D_MM * case.camera.px_per_mm
    assert (seen.errors_mm[seen.are("down")] > 0.2 * D_MM).all()


@pytest.mark.all
@pytest.mark.parametrize("tilt_deg", [0.0, 15.0, 35.0])
def test_a_gap_as_long_as_a_can_with_none_in_it_shows_no_can_down(tilt_deg) -> None:
    _, case = fallen(tilt_deg, False, False)
    case.mat.lying.clear()
    shown = picture(case.mat, case.camera, case.looks, np.random.default_rng(3))
    seen = seen_in(shown / 255.0, D_MM, travel="right")
    assert not seen.are("down").any()


@pytest.mark.all
def test_the_sheet_of_a_folder_counts_the_cans_that_lie_in_its_pictures(tmp_path) -> None:
    for name, over in {"a": (False, True), "b": (False,), "c": ()}.items():
        shown, _ = fallen(8.0, *over)
        Image.fromarray(shown.astype(np.uint8)).save(tmp_path / f"{name}.png")
    line = ROOT / "scenarios" / "swing_line.toml"
    last, sheet = load_scenario(line).stages[-1].name, tmp_path / "counted.csv"
    told = ("--size", "211 body", "--scenario", line, "--stage", last, "--travel", "right")
    ended = run("look", tmp_path, *told, "--counts", sheet)
    assert ended.returncode == 0, ended.stderr
    (trial,) = load_trials([sheet], load_scenario(line))
    assert trial.tipped == 3
