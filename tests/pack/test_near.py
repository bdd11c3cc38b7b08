"""Lists of pairs that are used for many steps: how far the cans have gone since."""

from __future__ import annotations

import numpy as np
import pytest

from packsim.pack.near import list_near


@pytest.mark.parametrize("count", [0, 1, 255, 256, 257, 3000])
def test_how_far_cans_went_is_that_of_the_farthest_of_all(count: int) -> None:
    rng = np.random.default_rng(count)
    place = 3000.0 * (rng.random(count) + 1j * rng.random(count))
    gone = rng.normal(4.0, 0.3, count) + 1j * rng.normal(-2.0, 0.5, count)
    near = list_near(place, np.full(count, 33.0))
    now = place + gone
    ends = [(axis.min(initial=np.inf), axis.max(initial=-np.inf)) for axis in _axes(now - place)]
    wide = max(high - low for low, high in ends) if count else 0.0
    middle = complex(*((low + high) / 2.0 for low, high in ends)) if count else 0j
    assert near.spread_mm(now) == pytest.approx(wide, abs=1e-12)
    assert near.cells_now(now).moved_mm == pytest.approx(middle, abs=1e-12)
    assert near.cells_now(now).loose_mm == pytest.approx(wide / 2.0, abs=1e-12)


def _axes(place: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    return place.real, place.imag
