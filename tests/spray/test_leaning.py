"""The sprays on a leaning can, against rays traced to the tilted circles one by one."""

import math
import subprocess
import sys

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.interpolate import CubicSpline
from scipy.optimize import brentq

from packsim.can import Stance
from packsim.compiled import compiled
from packsim.errors import InputError
from packsim.line import Header, Nozzle
from packsim.spray import leaning
from packsim.spray.catch import caught, read_off, tables_of
from packsim.spray.jets import footprint_of, thrust_of_nozzle_N
from packsim.spray.leaning import lean_nodes_rad, tipped_under_load, tipping_moment_N_mm
from packsim.spray.sprays import axial_share

BODY = Stance(66.09, 124.3, 0.0186, 95.0)
CONE = Nozzle("cone", math.radians(60.0), 1.4e5, 0.3)
FAN = Nozzle("fan", math.radians(80.0), 1.0e5, 0.3, math.radians(8.0), math.radians(20.0))
OPEN = 0.65


def header(side: str, nozzle: Nozzle = CONE) -> Header:
    return Header(side, 700.0, 320.0 if side == "above" else 150.0, 20.0, 66.0, 12, 0.15, nozzle)


def traced(
    head: Header, x: float, y: float, bearing: float, lean: float, rng: np.random.Generator
) -> float:
    """Moment of rays, even over the footprint, about the foot's edge of a can that leans."""
    rays, radius = 40_000, BODY.radius_mm
    patch, above = footprint_of(head, BODY.height_mm), head.side == "above"
    push = thrust_of_nozzle_N(head) * axial_share(patch) / rays * (1.0 if above else OPEN)
    u = np.array([math.cos(bearing), math.sin(bearing), 0.0])
    axis = math.sin(lean) * u + np.array([0.0, 0.0, math.cos(lean)])
    back = math.cos(lean) * u - np.array([0.0, 0.0, math.sin(lean)])
    edge = radius * u
    centre = edge - radius * back + (BODY.height_mm * axis if above else 0.0)
    total = 0.0
    for place in head.positions_mm:
        far, turn = np.sqrt(rng.random(rays)), 2.0 * math.pi * rng.random(rays)
        long, thin = (
            patch.half_long_mm * far * np.cos(turn),
            patch.half_thin_mm * far * np.sin(turn),
        )
        sin, cos = math.sin(patch.twist_rad), math.cos(patch.twist_rad)
        down = -1.0 if above else 1.0
        ray = np.stack(
            [
                long * sin + thin * cos,
                long * cos - thin * sin,
                np.full(rays, down * patch.stand_off_mm),
            ],
            axis=1,
        )
        start = np.array([head.station_mm - x, place - y, -down * head.mat_distance_mm])
        struck = start + (((centre - start) @ axis) / (ray @ axis))[:, None] * ray
        hits = np.linalg.norm(struck - centre, axis=1) < radius
        force, arm = push / patch.stand_off_mm * ray[hits], struck[hits] - edge
        total += float(np.sum(arm[:, 2] * (force @ u) - (arm @ u) * force[:, 2]))
    return total


@pytest.mark.parametrize(
    ("head", "most_deg", "within"),
    [
        (header("above"), 24.0, 0.03),
        (header("below"), 24.0, 0.03),
        (header("above", FAN), 16.0, 0.05),
        (header("above", FAN), 24.0, 0.12),
    ],
)
def test_the_moment_is_that_of_rays_traced_to_the_leaning_can(
    head: Header, most_deg: float, within: float
) -> None:
    rng = np.random.default_rng(5)
    thrust = thrust_of_nozzle_N(head) * (1.0 if head.side == "above" else OPEN)
    for _ in range(12):
        x, y = 700.0 + rng.uniform(-90.0, 90.0), rng.uniform(0.0, 800.0)
        bearing, lean = rng.uniform(-math.pi, math.pi), math.radians(rng.uniform(0.0, most_deg))
        found = tipping_moment_N_mm([head], BODY, OPEN, x, y, bearing, np.array([0.0, lean]))
        expected = traced(head, x, y, bearing, lean, rng)
        assert abs(found[1] - expected) < within * thrust * BODY.radius_mm


@pytest.mark.parametrize("nozzle", [CONE, FAN])
def test_the_table_gives_what_the_disc_catches(nozzle: Nozzle) -> None:
    patch = footprint_of(header("above", nozzle), BODY.height_mm)
    rng = np.random.default_rng(2)
    x, y = rng.uniform(-220.0, 220.0, (2, 4000))
    (one,), tables = tables_of(((patch, 31.5),))
    read, exact = compiled(read_off), caught(patch, x, y, 31.5)
    quick = np.transpose([read(one, tables, *at) for at in zip(x, y, strict=True)])
    for found, name, error in zip(
        quick, ("share", "along_mm", "across_mm"), (1e-3, 0.1, 0.1), strict=True
    ):
        np.testing.assert_allclose(found, getattr(exact, name), atol=error)


def test_whole_arrays_without_a_compiler_give_what_compiled_loops_give() -> None:
    """One source; in a process of its own, where nothing is compiled yet."""
    code = """
import sys
import numpy as np
from tests.spray.test_leaning import BODY, CONE, FAN, OPEN, header
from packsim.spray.greatest_moments import greatest_moments
from packsim.spray.sprays import leaning_sprays
from packsim.spray.leaning import lean_nodes_rad, tipping_moment_N_mm
heads = header("above", FAN), header("above", CONE), header("below", CONE)
leans, rng = lean_nodes_rad(0.3), np.random.default_rng(4)
x, y, turn = rng.uniform(500.0, 900.0, 500), rng.uniform(0.0, 800.0, 500), rng.uniform(-4, 4, 500)
sprays = leaning_sprays(heads, BODY, OPEN, leans)
assert "numba" not in sys.modules
x = np.sort(x)[::12]
def both():
    one = greatest_moments(sprays.at_lean(3, 9), 1, BODY.radius_mm, x, y[:20], turn[:7])
    upright = greatest_moments(sprays.at_lean(0, 9), 1, BODY.radius_mm, x, y[:20], turn[:7])
    return greatest_moments(sprays, 9, BODY.radius_mm, x, y[:20], turn[:7]), one, upright
plain = both()
moment = tipping_moment_N_mm(heads, BODY, OPEN, x[:, None, None], y[:20, None], turn[:7], leans)
for found, expected in zip(plain, (moment, moment[..., 3:4], moment[..., :1])):
    np.testing.assert_array_equal(found, expected.max(axis=1))
# as where the sprays tip a can every way before its last lean is looked at
none = greatest_moments(sprays, 9, BODY.radius_mm, x, y[:20], turn[:0])
assert none.shape == (42, 0, 9)
import numba
for one, other in zip(plain, both()):
    np.testing.assert_allclose(other, one, rtol=0.0, atol=1e-12)
    assert np.abs(one).max() > 0.5
"""
    subprocess.run([sys.executable, "-c", code], check=True)


def test_nine_leans_give_the_angle_of_many_to_a_twelfth_of_a_degree() -> None:
    heads = [header("above"), header("below")]
    x, y = np.linspace(600.0, 800.0, 9)[:, None, None], np.array([[210.0], [250.0]])
    bearing = np.arange(12) * math.pi / 6.0
    both = []
    for nodes in (lean_nodes_rad(0.42), np.linspace(0.0, 0.42, 85)):
        moment = tipping_moment_N_mm(heads, BODY, OPEN, x, y, bearing, nodes)
        both.append(tipped_under_load(moment, nodes, BODY))
    few, many = both
    assert np.degrees(np.abs(few[0] - many[0])).max() < 0.08
    np.testing.assert_allclose(few[1], many[1], rtol=0.03, atol=3e-4)


def test_a_mirrored_line_mirrors_the_moment() -> None:
    head, nodes = header("above", FAN), lean_nodes_rad(0.4)
    nozzle = Nozzle("fan", FAN.angle_rad, 1.0e5, 0.3, FAN.thin_angle_rad, -FAN.twist_rad)
    last = float(head.positions_mm[-1])
    mirrored = Header("above", 700.0, 320.0, 900.0 - last, 66.0, 12, 0.15, nozzle)
    x, y, bearing = np.array([660.0, 705.0]), np.array([15.0, 333.0]), np.array([0.4, -1.3])
    here = tipping_moment_N_mm([head], BODY, OPEN, x, y, bearing, nodes)
    there = tipping_moment_N_mm([mirrored], BODY, OPEN, x, 900.0 - y, -bearing, nodes)
    np.testing.assert_allclose(here, there, atol=1e-9)


def test_without_sprays_angle_and_energy_are_the_cans_own() -> None:
    nodes = lean_nodes_rad(0.45)
    moment = tipping_moment_N_mm([], BODY, OPEN, [0.0, 5.0], 100.0, 0.3, nodes)
    balance, energy = tipped_under_load(moment, nodes, BODY)
    own = BODY.balance_angle_rad
    assert balance == pytest.approx([own, own], abs=1e-12)
    rise = BODY.weight_N * (BODY.arm_mm - BODY.cg_mm)
    assert energy == pytest.approx([rise, rise], rel=1e-12)


def test_angle_and_energy_are_root_and_integral_of_what_rights_the_can() -> None:
    nodes = lean_nodes_rad(0.45)
    moment = np.array([0.8, 1.0, 1.3, 1.7, 1.8, 1.8, 1.6, 1.4, 1.2])
    spline = CubicSpline(nodes, moment)

    def left(lean: float) -> float:
        own = BODY.balance_angle_rad
        righting = BODY.weight_N * BODY.arm_mm * math.sin(own - lean)
        return float(righting - spline(lean))

    balance, energy = tipped_under_load(moment, nodes, BODY)
    expected = brentq(left, 0.0, BODY.balance_angle_rad)
    assert float(balance) == pytest.approx(expected, abs=2e-3)
    work = quad(left, 0.0, expected, points=list(nodes[(nodes > 0.0) & (nodes < expected)]))[0]
    assert float(energy) == pytest.approx(work, rel=0.01)


def test_a_spray_that_tips_leaves_nothing_and_one_that_holds_adds_energy_but_no_angle() -> None:
    nodes = lean_nodes_rad(0.45)
    balance, energy = tipped_under_load(np.array([[9.0] * 9, [-2.0] * 9]), nodes, BODY)
    own = BODY.balance_angle_rad
    assert (balance[0], energy[0]) == (0.0, 0.0)
    assert balance[1] == pytest.approx(own)
    assert energy[1] == pytest.approx(BODY.weight_N * (BODY.arm_mm - BODY.cg_mm) + 2.0 * own)


def test_more_open_than_all_is_refused() -> None:
    with pytest.raises(InputError, match="open_fraction"):
        tipping_moment_N_mm([header("below")], BODY, 1.5, 0.0, 0.0, 0.0, lean_nodes_rad(0.4))


def test_whole_arrays_are_not_compiled_for() -> None:
    """That took two seconds of a first run; one can at a time is what is compiled."""
    kernel = compiled(leaning._crossing)
    tipped_under_load(np.zeros((2, 9)), lean_nodes_rad(BODY.balance_angle_rad), BODY)
    assert not [one for one in kernel.signatures if any(hasattr(kind, "ndim") for kind in one)]
