from __future__ import annotations

import freud
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from packsim.errors import InputError
from packsim.line import LAYOUTS
from packsim.pack.state import candidate_packs, pack_between
from tests.oracles.order import NEAR_REL, hexatic_order

D = 66.0


def by_freud(centres: np.ndarray, reach: float, period: float, width: float) -> np.ndarray:
    """Modulus of psi6 from freud, in a box too wide and long enough for one image to matter."""
    copies = int(np.ceil(3 * reach / period))
    shifts = np.array([[k * period, 0.0] for k in range(copies)])
    points = (centres + shifts[:, None]).reshape(-1, 2)
    box = freud.box.Box(copies * period, width + 3 * reach, is2D=True)
    flat = np.column_stack((points - (copies * period / 2, width / 2), np.zeros(len(points))))
    query = freud.locality.AABBQuery(box, box.wrap(flat))
    near = query.query(flat, {"r_max": reach, "exclude_ii": True}).toNeighborList()
    psi = freud.order.Hexatic(k=6).compute(query, neighbors=near).particle_order
    return np.abs(psi[: len(centres)])


def test_every_can_of_a_perfect_pack_D01(published) -> None:
    for layout in LAYOUTS:
        pack = pack_between(7.3 * D, D, layout, state="slack")
        found = hexatic_order(pack.centres_mm, D, pack.length_mm)
        assert all(published["D01"].agrees(value) for value in found.order)
        assert published["D01"].agrees(found.aligned)


def test_four_square_neighbours_D02(published) -> None:
    row, lane = np.meshgrid(np.arange(6), np.arange(5))
    centres = np.column_stack((row.ravel(), lane.ravel())) * D
    found = hexatic_order(centres, D, 6 * D)
    inside = found.neighbours == 4
    assert inside.sum() == 18
    assert all(published["D02"].agrees(value) for value in found.order[inside])


@pytest.mark.parametrize("layout", LAYOUTS)
@pytest.mark.parametrize("width", [2.5, 6.3, 11.2])
def test_every_state_against_freud(width: float, layout: str) -> None:
    for pack in candidate_packs(width * D, D, layout, 300.0):
        found = hexatic_order(pack.centres_mm, D, pack.length_mm)
        want = by_freud(pack.centres_mm, NEAR_REL * D, pack.length_mm, pack.clear_width_mm)
        np.testing.assert_allclose(found.order, want, atol=2e-4)  # freud works in single precision


@given(seed=st.integers(0, 100_000))
def test_shaken_packs_against_freud(loose_pack, seed: int) -> None:
    loose = loose_pack(seed)
    found = hexatic_order(loose.centres_mm, D, loose.length_mm)
    want = by_freud(loose.centres_mm, NEAR_REL * D, loose.length_mm, loose.clear_width_mm)
    np.testing.assert_allclose(found.order, np.nan_to_num(want), atol=2e-4)
    assert found.mean == pytest.approx(found.order.mean())
    assert found.aligned <= found.mean + 1e-12


def test_blocks_are_less_ordered_at_the_crack_only() -> None:
    pack = pack_between(1130.0, D, state="blocks")
    order = hexatic_order(pack.centres_mm, D, pack.length_mm).order
    assert (order > 1 - 1e-9).mean() > 0.7
    assert order.min() < 0.95


def test_no_can_and_a_lonely_one() -> None:
    nobody = hexatic_order(np.empty((0, 2)), D)
    assert (nobody.mean, nobody.aligned, len(nobody.psi6)) == (0.0, 0.0, 0)
    assert hexatic_order(np.array([[0.0, 40.0]]), D).order.tolist() == [0.0]


def test_two_cans_in_one_place_are_refused() -> None:
    with pytest.raises(InputError, match="one place"):
        hexatic_order(np.zeros((2, 2)), D)
