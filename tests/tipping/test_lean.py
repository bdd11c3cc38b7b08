from __future__ import annotations

import math
import subprocess
import sys
from typing import Any

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.optimize import brentq

from packsim.can import Stance
from packsim.errors import InputError
from packsim.pack.state import pack_between
from packsim.tipping import lean
from packsim.tipping.lean import LeanEnvelope, own_lean
from packsim.tipping.safe_slack import edge_slack_mm
from packsim.tipping.stops import wire_lean_rad
from packsim.tipping.worst_direction import free_travels_mm

CAN = Stance(66.09, 124.3, 0.0102, 74.2)
D, H, R = CAN.diameter_mm, CAN.height_mm, CAN.radius_mm
WIRES = (45.0, 90.0)

Points = NDArray[np.float64]


def lengthwise(lanes: int, columns: int, slack: float = 0.0) -> tuple[Points, float, float]:
    """Perfect pack against the left guide: centres, clear width, period."""
    lane, column = np.divmod(np.arange(lanes * columns), columns)
    x = (column + 0.5 * (lane % 2)) * D
    y = R + lane * D * math.sqrt(3.0) / 2.0
    return np.column_stack((x, y)), D + (lanes - 1) * D * math.sqrt(3.0) / 2.0 + slack, columns * D


def crosswise(rows: int, across: int) -> tuple[Points, float, float]:
    """Rows of ``across`` and ``across - 1`` cans by turns, just filling the width."""
    centres = [
        (row * D * math.sqrt(3.0) / 2.0, R + (i + 0.5 * (row % 2)) * D)
        for row in range(rows)
        for i in range(across - row % 2)
    ]
    return np.array(centres), across * D, rows * D * math.sqrt(3.0) / 2.0


def loose(seed: int, spread: float = 8.0) -> tuple[Points, float, float]:
    """A stretched lattice, every can moved a little at random; no two overlap."""
    rng = np.random.default_rng(seed)
    centres, width, period = lengthwise(6, 10)
    stretch = 1.0 + spread / D
    moved = centres * stretch + rng.uniform(-0.35, 0.35, centres.shape) * spread
    return moved + np.array([0.0, spread / 2.0]), width * stretch + spread, period * stretch


def ask(centres: Points, width: float, period: float | None, **more: Any) -> LeanEnvelope:
    usual: dict[str, Any] = {"left_mm": 0.0, "right_mm": width, "wire_heights_mm": WIRES}
    return own_lean(centres, CAN, period_mm=period, **{**usual, **more})


def ray_cast_rad(centres: Points, period: float, can: int, angle: float) -> float:
    """Lean against neighbours alone, by a shapely ray through the grown discs."""
    others = [
        (x + shift, y)
        for shift in (-period, 0.0, period)
        for i, (x, y) in enumerate(centres)
        if (i, shift) != (can, 0.0)
    ]
    start = centres[can]
    ray = shapely.LineString(
        [start, start + 2.0 * H * np.array([math.cos(angle), math.sin(angle)])]
    )
    discs = shapely.buffer(shapely.points(others), D, quad_segs=512)
    hits = shapely.intersection(ray, discs[shapely.intersects(discs, ray)])
    travel = min((shapely.Point(start).distance(hit) for hit in hits), default=math.inf)
    return math.asin(min(1.0, travel / H))


def test_perfect_pack_leans_nowhere() -> None:
    for centres, width, period in (lengthwise(5, 4), lengthwise(2, 9)):
        got = ask(centres, width, period)
        assert got.held.all()
        assert got.worst_rad.max() < 1e-6
        assert got.lean_rad.shape == (len(centres), 36)


@pytest.mark.parametrize(
    "seed", [0, *(pytest.param(seed, marks=pytest.mark.all) for seed in range(1, 4))]
)
def test_leans_are_those_of_a_shapely_ray(seed: int) -> None:
    centres, width, period = loose(seed)
    got = ask(centres, width, period, left_mm=-1e4, right_mm=width + 1e4)
    for can in (0, 17, 25, 38, 59):
        for k in range(0, 36, 5):
            exact = ray_cast_rad(centres, period, can, float(got.directions_rad[k]))
            assert got.lean_rad[can, k] == pytest.approx(exact, abs=3e-4)


def tilted_shortfall_mm(lean: float, off_mm: float, along_mm: float) -> float:
    """Clearance in space between a tilted can and an upright one at (along, off) from it."""
    turn = np.radians(np.arange(0.0, 360.0, 0.05))
    from_rim, y = R * np.cos(turn) - R, R * np.sin(turn)
    foot = -from_rim * math.sin(lean)
    up = np.minimum(H, (H - foot) / math.cos(lean))  # up the wall, no higher than the neighbour
    x = R + from_rim * math.cos(lean) + up * math.sin(lean)
    return float(np.hypot(x - along_mm, y - off_mm).min()) - R


@pytest.mark.parametrize(
    ("lean", "within"), [(0.02, 0.002), (0.1, 0.005), (0.2, 0.01), (0.3, 0.021)]
)
def test_error_of_moving_the_top_flat(lean: float, within: float) -> None:
    errors = []
    for share in (0.0, 0.25, 0.5, 0.7, 0.85, 0.95):
        off = share * D
        reach = math.sqrt(D**2 - off**2)
        along = brentq(lambda a, b=off: tilted_shortfall_mm(lean, b, a), 0.9 * reach, D + H)
        errors.append(math.asin((along - reach) / H) / lean - 1.0)
    assert abs(errors[0]) < 1e-5  # head-on it is exact
    assert max(map(abs, errors)) < within


def test_lean_against_the_solid_in_a_pack() -> None:
    centres, width, period = loose(7)
    got = ask(centres, width, period, left_mm=-1e4, right_mm=width + 1e4)
    for can in (22, 35):
        for k in (1, 8, 19, 30):
            angle = float(got.directions_rad[k])
            turn = np.array(
                [[math.cos(angle), math.sin(angle)], [-math.sin(angle), math.cos(angle)]]
            )
            near = [turn @ v for v in centres - centres[can] if 0.0 < np.hypot(*v) < 2.0 * D]

            def touches(lean: float, around_it: list[Points] = near) -> float:
                return min(tilted_shortfall_mm(lean, float(b), float(a)) for a, b in around_it)

            assert got.lean_rad[can, k] == pytest.approx(brentq(touches, 1e-6, 0.6), rel=0.02)


def test_the_worst_direction_is_the_limit_of_ever_finer_grids() -> None:
    centres, width, period = loose(3)
    exact = ask(centres, width, period)
    short = []
    for directions in (36, 360, 3600):
        grid = ask(centres, width, period, directions=directions, refine=False)
        assert np.all(grid.worst_rad <= exact.worst_rad + 1e-9)
        short.append(float(np.max(exact.worst_rad - grid.worst_rad)))
    assert short[0] > short[1] > short[2]
    assert short[2] < 2e-3
    # nothing but the list of candidates is needed: 36 or 3 starting directions give one answer
    few = ask(centres, width, period, directions=3)
    np.testing.assert_allclose(few.worst_rad, exact.worst_rad, atol=1e-6)


def test_the_worst_direction_between_two_neighbours_is_into_their_pocket() -> None:
    # neighbours at ±40° and touching ones behind: straight ahead the can enters the pocket
    ahead = 1.2 * D * np.array([[math.cos(a), math.sin(a)] for a in np.radians([41.0, -41.0])])
    behind = D * np.array([[math.cos(a), math.sin(a)] for a in np.radians([105.0, 180.0, 255.0])])
    centres = np.vstack(([[0.0, 0.0]], ahead, behind))
    got = own_lean(centres, CAN, left_mm=-1e4, right_mm=1e4, wire_heights_mm=WIRES, directions=7)
    corner = 1.2 * D * math.cos(math.radians(41.0)) - math.sqrt(
        D**2 - (1.2 * D * math.sin(math.radians(41.0))) ** 2
    )
    assert got.worst_rad[0] == pytest.approx(math.asin(corner / H), rel=1e-9)
    assert math.sin(got.worst_direction_rad[0]) == pytest.approx(0.0, abs=1e-7)


def test_edge_cans_lean_on_the_wire_and_no_further() -> None:
    centres, width, period = lengthwise(5, 6, slack=6.0)
    got = ask(centres, width, period, directions=36)
    edge = centres[:, 1] > width - R - 6.1
    right = int(np.argmin(np.abs(got.directions_rad - math.pi / 2)))
    on_wire = float(wire_lean_rad(6.0, WIRES, H))
    np.testing.assert_allclose(got.lean_rad[edge, right], on_wire, rtol=1e-12)
    assert np.all(got.worst_rad[edge] > on_wire)  # a little askew it meets the wire later
    assert not got.held[edge].any()
    assert got.held[~edge].all()


def test_a_wire_as_high_as_the_can_holds_nothing() -> None:
    centres, width, period = lengthwise(5, 4)
    got = ask(centres, width, period, wire_heights_mm=(H,))
    edge = (centres[:, 1] < R + 0.1) | (centres[:, 1] > width - R - 0.1)
    assert got.worst_rad[edge].min() > 1.0
    np.testing.assert_array_equal(got.held, ~edge)


def test_worst_lean_beside_a_wire_is_found_between_wire_and_neighbour() -> None:
    centres, width, period = lengthwise(5, 6, slack=6.0)
    exact = ask(centres, width, period)
    fine = ask(centres, width, period, directions=36_000, refine=False)
    assert np.all(exact.worst_rad >= fine.worst_rad - 1e-6)
    np.testing.assert_allclose(exact.worst_rad, fine.worst_rad, atol=2e-4)


def test_edge_pockets_of_the_crosswise_pack_are_a_risk_at_no_slack() -> None:
    centres, width, _ = crosswise(4, 5)
    pocket = np.isclose(centres[:, 1], D) | np.isclose(centres[:, 1], width - D)
    assert pocket.sum() == 4

    def parted(by_mm: float, **more: Any) -> LeanEnvelope:
        pitch = D * math.sqrt(3.0) / 2.0 + by_mm
        rows = np.round(centres[:, 0] / (D * math.sqrt(3.0) / 2.0))
        return ask(np.column_stack((rows * pitch, centres[:, 1])), width, 4.0 * pitch, **more)

    # shoulder to shoulder the two edge cans beside a pocket hold the can in it
    assert parted(0.0).held.all()
    # rows parted by 2 mm: it leans in between them, as far as no can at the guide leans across
    across = 27  # straight to the left guide
    loose_rows = parted(2.0)
    pitch = D * math.sqrt(3.0) / 2.0 + 2.0
    into = D / 2.0 - math.sqrt(D**2 - pitch**2)
    left = np.isclose(centres[:, 1], D)
    np.testing.assert_allclose(loose_rows.lean_rad[left, across], math.asin(into / H), rtol=1e-9)
    assert loose_rows.lean_rad[np.isclose(centres[:, 1], R), across].max() < 1e-9
    # parted by a seventh of a diameter nothing but the wire is left, half a diameter away
    apart = parted(D * (1.0 - math.sqrt(3.0) / 2.0) + 0.01)
    np.testing.assert_allclose(apart.lean_rad[left, across], math.atan(D / 2.0 / 90.0), rtol=1e-9)
    assert np.all(apart.index[pocket] > 0.8)
    # and a wire too low for half a diameter lets it over: a tip at no slack at all
    low = parted(D * (1.0 - math.sqrt(3.0) / 2.0) + 0.01, wire_heights_mm=(60.0,))
    assert edge_slack_mm(H, CAN.balance_angle_rad, [60.0])[0] < D / 2.0
    assert np.all(low.index[pocket] >= 1.0)


def test_a_lone_can_falls() -> None:
    one = np.array([[0.0, 0.0]])
    free = own_lean(one, CAN, left_mm=-1e3, right_mm=1e3, wire_heights_mm=WIRES)
    assert free.worst_rad[0] == pytest.approx(math.pi / 2)
    assert free.index[0] == math.inf


def test_neighbours_beyond_the_first_look_count() -> None:
    pair = np.array([[0.0, 0.0], [D + 80.0, 0.0]])  # a gap of 80 mm, past 0.7 D
    got = own_lean(pair, CAN, left_mm=-1e3, right_mm=1e3, wire_heights_mm=WIRES, directions=4)
    assert got.lean_rad[0, 0] == pytest.approx(math.asin(80.0 / H), rel=1e-12)
    assert got.lean_rad[0, 2] == pytest.approx(math.pi / 2)


def test_guides_need_not_be_straight() -> None:
    centres, width, period = lengthwise(3, 8)
    right = width + np.linspace(0.0, 7.0, len(centres))
    got = ask(centres, width, period, right_mm=right)
    up = int(np.argmin(np.abs(got.directions_rad - math.pi / 2)))
    edge = np.flatnonzero(centres[:, 1] > width - R - 0.1)
    np.testing.assert_allclose(
        got.lean_rad[edge, up], wire_lean_rad(right[edge] - width, WIRES, H), atol=1e-12
    )


@settings(max_examples=min(15, settings().max_examples))
@given(st.integers(0, 10_000), st.floats(1.0, 14.0))
def test_mirror(seed: int, spread: float) -> None:
    centres, width, period = loose(seed, spread)
    got = ask(centres, width, period)
    flipped = ask(np.column_stack((centres[:, 0], width - centres[:, 1])), width, period)
    np.testing.assert_allclose(flipped.worst_rad, got.worst_rad, atol=2e-6)
    back = [(-k) % 36 for k in range(36)]
    np.testing.assert_allclose(flipped.lean_rad[:, back], got.lean_rad, atol=2e-6)


@settings(max_examples=min(15, settings().max_examples))
@given(st.integers(0, 10_000), st.floats(1.0, 10.0), st.floats(0.3, 4.0))
def test_scaling_changes_no_angle(seed: int, spread: float, by: float) -> None:
    centres, width, period = loose(seed, spread)
    got = ask(centres, width, period)
    bigger = own_lean(
        centres * by,
        Stance(D * by, H * by, 0.01, 74.2 * by),
        left_mm=0.0,
        right_mm=width * by,
        wire_heights_mm=[z * by for z in WIRES],
        period_mm=period * by,
    )
    np.testing.assert_allclose(bigger.worst_rad, got.worst_rad, rtol=1e-5, atol=1e-6)


@settings(max_examples=min(15, settings().max_examples))
@given(st.integers(0, 10_000), st.floats(0.0, 8.0), st.floats(0.0, 8.0))
def test_wider_guides_and_fewer_cans_never_lean_less(seed: int, a: float, b: float) -> None:
    centres, width, period = loose(seed, 5.0)
    near, far = sorted((a, b))
    tight = ask(centres, width, period, right_mm=width + near)
    wide = ask(centres, width, period, right_mm=width + far)
    assert np.all(wide.lean_rad >= tight.lean_rad - 1e-12)
    fewer = ask(centres[1:], width, period, right_mm=width + near)
    assert np.all(fewer.lean_rad >= tight.lean_rad[1:] - 1e-12)


def test_a_load_raises_the_index_and_leaves_the_lean() -> None:
    centres, width, period = loose(1)
    plain = ask(centres, width, period)
    loaded = ask(centres, width, period, balance_rad=0.2)
    gone = ask(centres, width, period, balance_rad=0.0)
    np.testing.assert_array_equal(plain.worst_rad, loaded.worst_rad)
    np.testing.assert_allclose(loaded.index, plain.index * CAN.balance_angle_rad / 0.2, rtol=1e-12)
    assert np.isinf(gone.index).all()


def test_travel_of_touching_cans() -> None:
    travel = free_travels_mm([0], [0, 1], [D], [0.0], [0.0], 1e-6 * D, [1.0, 0.0, -1.0], [0, 1, 0])
    assert travel[0, 0] == 0.0
    assert np.all(travel[0, 1:] > H)  # along the common tangent it is free, and back


def test_bad_input_is_refused() -> None:
    centres, width, _ = lengthwise(2, 3)
    with pytest.raises(InputError, match="centres_mm"):
        ask(centres[:, :1], width, None)
    with pytest.raises(InputError, match="directions"):
        ask(centres, width, None, directions=2)
    with pytest.raises(InputError, match="right_mm"):
        ask(centres, width, None, right_mm=np.ones(2))
    with pytest.raises(InputError, match="wire_heights_mm"):
        ask(centres, width, None, wire_heights_mm=(0.0,))


@pytest.mark.parametrize("fill", [1.0, 0.97])
@pytest.mark.parametrize(
    ("layout", "state"), [("lengthwise", "slack"), ("crosswise", "slack"), ("lengthwise", "blocks")]
)
def test_one_can_of_each_kind_answers_for_all(
    layout: str, state: str, fill: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    pack = pack_between(740.0, D, layout, 500.0, fill, state=state)
    some = ask(pack.centres_mm, 740.0, pack.length_mm)
    monkeypatch.setattr(lean, "_FEW_CANS", 0)
    each = ask(pack.centres_mm, 740.0, pack.length_mm)
    once = pack.once()
    assert len(once) * pack.repeats == len(pack)
    first = ask(once.centres_mm, 740.0, once.length_mm)
    for name in ("lean_rad", "worst_rad", "index", "held"):
        whole = getattr(each, name)
        np.testing.assert_allclose(getattr(some, name), whole, rtol=1e-9, atol=1e-12)
        np.testing.assert_allclose(whole[: len(once)], getattr(first, name), rtol=1e-9, atol=1e-12)


def test_compiled_and_as_plain_python_the_leans_are_the_same() -> None:
    centres, width, period = loose(5)
    asked = f"""
import sys, numpy as np
from packsim.can import Stance
from packsim.tipping.lean import own_lean
def ask():
    return own_lean(np.array({centres.tolist()}), Stance(66.09, 124.3, 0.0102, 74.2), left_mm=0.0,
        right_mm={width}, wire_heights_mm=(45.0, 90.0), period_mm={period})
plain = ask()
assert "numba" not in sys.modules
import numba
fast = ask()
for name in ("lean_rad", "worst_rad", "worst_direction_rad", "held"):
    np.testing.assert_allclose(getattr(fast, name), getattr(plain, name), rtol=1e-14)
"""
    subprocess.run([sys.executable, "-c", asked], check=True)


def lean_towards(ring: Points, gap: float, side: float, turn: float) -> float:
    """Lean of a can at the origin in one direction, by the formulas for one can and one wire."""
    ux, uy = math.cos(turn), math.sin(turn)
    lean = math.pi / 2.0
    for x, y in ring:
        ahead, aside = x * ux + y * uy, y * ux - x * uy
        if abs(aside) < D and ahead > 1e-6 * D:
            travel = ahead - math.sqrt(D**2 - aside**2)
            lean = min(lean, math.asin(min(1.0, max(travel, 0.0) / H)))
    if side * uy > 0.0:
        reach = gap / (side * uy)
        held = [math.atan2(reach, z) for z in WIRES if reach**2 + z**2 < H**2]
        lean = min([lean, *held])
    return lean


@given(
    beside=st.lists(st.tuples(st.floats(-0.3, 0.3), st.floats(1.0, 1.3)), min_size=4, max_size=4),
    gap=st.floats(0.0, 60.0),
    right=st.booleans(),
)
def test_the_worst_over_a_guide_is_no_less_than_any_and_is_met_where_it_is_said(
    beside: list[tuple[float, float]], gap: float, right: bool
) -> None:
    """Four cans hold it along and from behind, so that the worst is over a wire or past its end."""
    side = 1.0 if right else -1.0
    turned = [(k * math.pi / 3.0 + off, r) for k, (off, r) in enumerate(beside)]
    ring = np.array([(D * r * math.cos(a), -side * D * r * math.sin(a)) for a, r in turned])
    faces = {"left_mm": -1e4, "right_mm": R + gap} if right else {"left_mm": -R - gap}
    exact = ask(np.concatenate(([(0.0, 0.0)], ring)), 1e4, None, **faces)
    worst, where = exact.worst_rad[0], float(exact.worst_direction_rad[0])
    near = [lean_towards(ring, gap, side, where + off) for off in (-1e-6, 0.0, 1e-6)]
    assert min(near) - 1e-5 <= worst <= max(near) + 1e-5
    grid = [lean_towards(ring, gap, side, math.radians(k / 2.0)) for k in range(720)]
    assert worst >= max(grid) - 1e-6


@pytest.mark.parametrize("ahead", [-1.0, 1.0])
def test_where_the_shoulder_slips_below_a_wire_a_can_leans_the_furthest(ahead: float) -> None:
    """cos ψ = g / √(H² − z²) off the guide; from there on it falls short towards a far can."""
    gap, z, far, bearing = 40.0, 90.0, 2.3 * D, math.radians(175.0)
    at = math.pi / 2.0 + math.acos(gap / math.sqrt(H**2 - z**2))
    travel = far * math.cos(bearing - at) - math.sqrt(D**2 - (far * math.sin(bearing - at)) ** 2)
    ring = [(D, math.radians(-30.0)), (D, math.radians(265.0)), (far, bearing)]
    centres = [(0.0, 0.0)] + [(-ahead * r * math.cos(a), r * math.sin(a)) for r, a in ring]
    got = ask(
        np.array(centres), 1e4, None, left_mm=-1e4, right_mm=R + gap, wire_heights_mm=(z,),
        directions=4,
    )  # fmt: skip
    assert got.worst_rad[0] == pytest.approx(math.asin(travel / H), abs=1e-5)
    where = -ahead * math.cos(at), math.sin(at)
    turned = got.worst_direction_rad[0]
    assert (math.cos(turned), math.sin(turned)) == pytest.approx(where, abs=1e-6)
