"""What each lane receives, against summing along travel, a Monte Carlo, and what is conserved."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from packsim.can import Stance
from packsim.constants import SIN60
from packsim.errors import InputError
from packsim.line import Header, Mat, Nozzle
from packsim.spray import dose as module
from packsim.spray.catch import lens
from packsim.spray.dose import dose
from packsim.spray.uniformity import christiansen

D = 66.0
STANCE = Stance(D, 122.0, 0.0102, 70.0)
MAT = Mat(2000.0, 80.0, open_fraction=0.6)
CONE = Nozzle("cone", math.radians(60.0), 5e4, 0.2)
FAN = Nozzle("fan", math.radians(70.0), 5e4, 0.2, math.radians(8.0), math.radians(12.0))
LINES = 200.0 + D * SIN60 * np.arange(10)
PER_MM = np.full(10, 1.0 / D)


def header(side: str, first: float, pitch: float, count: int, nozzle: Nozzle = CONE) -> Header:
    distance = 110.0 if side == "below" else 240.0
    return Header(side, 500.0, distance, first, pitch, count, 0.2, nozzle)


def test_inside_dose_against_the_lens_summed_along_travel() -> None:
    below = header("below", 190.0, 80.0, 7)
    got = dose(LINES, PER_MM, STANCE, [below], MAT)
    radius = 110.0 * math.tan(math.radians(30.0))
    for i in (0, 4, 9):
        total = 0.0
        for nozzle in below.positions_mm:
            off = LINES[i] - nozzle
            reach = math.sqrt(max((radius + D / 2) ** 2 - off**2, 0.0))
            total += quad(
                lambda x, off=off: float(lens(radius, D / 2, math.hypot(x, off))[0]),
                *(-reach, reach),
                limit=200,
            )[0] / (math.pi * radius**2)
        assert got.inside_mL[i] == pytest.approx(0.6 * 5e4 / 80.0 / 1000.0 * total, rel=1e-5)
    assert got.top_mL.tolist() == got.outside_mL.tolist() == [0.0] * 10


def test_a_curtain_of_many_nozzles_is_an_even_rain() -> None:
    """Far inside a dense row the flow per width is Q/pitch: a can takes that over its area."""
    below = header("below", -300.0, 10.0, 180)
    got = dose(LINES, PER_MM, STANCE, [below], MAT)
    want = 0.6 * 5e4 / 10.0 / 80.0 * math.pi * D**2 / 4 / 1000.0
    assert got.inside_mL == pytest.approx(np.full(10, want), rel=2e-4)
    assert christiansen(got.inside_mL) == pytest.approx(1.0, abs=2e-4)


def test_even_rain_on_a_perfect_pack_splits_as_its_density() -> None:
    """Inside lanes: top takes π/√12 of the cell's rain and the voids the rest."""
    got = dose(LINES, PER_MM, STANCE, [header("above", -300.0, 10.0, 180)], MAT)
    share = got.top_mL / (got.top_mL + got.outside_mL)
    assert share[1:-1] == pytest.approx(np.full(8, math.pi / math.sqrt(12)), rel=3e-4)
    assert got.inside_mL.tolist() == [0.0] * 10


@pytest.mark.parametrize("nozzle", [CONE, FAN])
def test_top_and_outside_are_all_that_falls_on_the_pack(nozzle: Nozzle) -> None:
    """One nozzle well inside: per second every drop is on a can or beside it."""
    above = header("above", float(LINES[5]) + 9.0, 50.0, 1, nozzle)
    got = dose(LINES, PER_MM, STANCE, [above], MAT)
    rate = np.sum((got.top_mL + got.outside_mL) * PER_MM) * 80.0 * 1000.0
    assert rate == pytest.approx(5e4, rel=1e-3)


def test_against_random_drops() -> None:
    """Drops of a turned fan, thrown at the moving pack; four standard errors."""
    rng = np.random.default_rng(7)
    above = header("above", float(LINES[3]) + 14.0, 50.0, 1, FAN)
    got = dose(LINES, PER_MM, STANCE, [above], MAT)
    count = 400_000
    radius, angle = np.sqrt(rng.random(count)), rng.random(count) * 2 * math.pi
    long = 118.0 * math.tan(math.radians(35.0)) * radius * np.cos(angle)
    thin = 118.0 * math.tan(math.radians(4.0)) * radius * np.sin(angle)
    across = above.first_mm + long * math.cos(math.radians(12)) - thin * math.sin(math.radians(12))
    travel = rng.random(count) * 2 * D  # the pack's place when the drop lands: any
    for lane in range(2, 6):
        start = travel + (lane % 2) * D / 2
        off = np.mod(start, D) - D / 2
        hit = np.mean(off**2 + (across - LINES[lane]) ** 2 < (D / 2) ** 2)
        # cans pass at speed/D; each takes its share of the flow for D/speed seconds
        want = hit * 5e4 * D / 80.0 / 1000.0
        error = 4 * math.sqrt(hit * (1 - hit) / count) / hit
        assert got.top_mL[lane] == pytest.approx(want, rel=error)


def test_void_strips_converge(monkeypatch: pytest.MonkeyPatch) -> None:
    above = header("above", 190.0, 70.0, 9)
    found = {}
    for cells in (50, 100, 400, 6400):
        monkeypatch.setattr(module, "_CELLS", cells)
        found[cells] = dose(LINES, PER_MM, STANCE, [above], MAT).outside_mL
    error = {c: float(np.max(np.abs(found[c] / found[6400] - 1.0))) for c in (50, 100, 400)}
    assert error[400] < error[100] < error[50]
    assert error[400] < 2e-3


@settings(max_examples=min(20, settings().max_examples))
@given(st.floats(-40.0, 40.0), st.floats(0.3, 3.0), st.floats(20.0, 300.0))
def test_shift_mirror_flow_and_speed(shift: float, ratio: float, speed: float) -> None:
    both = [header("below", 180.0 + shift, 75.0, 8), header("above", 200.0 + shift, 90.0, 7)]
    mat = Mat(2000.0, speed, open_fraction=0.6)
    here = dose(LINES, PER_MM, STANCE, both, mat)
    moved = [header(h.side, h.first_mm + 31.0, h.pitch_mm, h.count) for h in both]
    there = dose(LINES + 31.0, PER_MM, STANCE, moved, mat)
    mirrored = [
        header(h.side, 1000.0 - float(h.positions_mm[-1]), h.pitch_mm, h.count) for h in both
    ]
    back = dose(1000.0 - LINES[::-1], PER_MM, STANCE, mirrored, mat)
    faster = dose(LINES, PER_MM, STANCE, both, Mat(2000.0, ratio * speed, open_fraction=0.6))
    for name in ("inside_mL", "top_mL", "outside_mL"):
        value = getattr(here, name)
        assert getattr(there, name) == pytest.approx(value, rel=1e-9)
        assert getattr(back, name)[::-1] == pytest.approx(value, rel=1e-9)
        assert getattr(faster, name) == pytest.approx(value / ratio, rel=1e-9)


@pytest.mark.parametrize(
    ("change", "key"),
    [
        ({"lines_on_mat_mm": []}, "lines_on_mat_mm"),
        ({"lines_on_mat_mm": [2.0, 1.0]}, "lines_on_mat_mm"),
        ({"cans_per_mm": [0.01]}, "cans_per_mm"),
        ({"cans_per_mm": [0.01, 0.0]}, "cans_per_mm"),
    ],
)
def test_bad_values_are_named(change: dict[str, Any], key: str) -> None:
    good: dict[str, Any] = {
        "lines_on_mat_mm": [100.0, 160.0],
        "cans_per_mm": [0.01, 0.01],
        "stance": STANCE,
        "headers": [header("above", 100.0, 50.0, 2)],
        "mat": MAT,
    }
    with pytest.raises(InputError) as refused:
        dose(**(good | change))
    assert refused.value.key == key
