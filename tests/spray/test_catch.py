"""What a can catches of one jet, against shapely and against finer quadrature."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import dblquad

from packsim.spray import catch as module
from packsim.spray.catch import caught
from packsim.spray.jets import Footprint
from packsim.spray.sprays import axial_share

R = 33.0
PLACES = [(0.0, 0.0), (10.0, 25.0), (-20.0, 60.0), (35.0, -70.0), (41.0, 0.0), (60.0, 60.0)]


def outline(patch: Footprint) -> shapely.Polygon:
    shape = shapely.Point(0.0, 0.0).buffer(1.0, 512)
    shape = shapely.affinity.scale(shape, patch.half_thin_mm, patch.half_long_mm, origin=(0, 0))
    # long side on y, turned so that its right (+y) end goes downstream (+x)
    return shapely.affinity.rotate(shape, -patch.twist_rad, origin=(0, 0), use_radians=True)


@pytest.mark.parametrize("shape", ["disc", "ellipse"])
@pytest.mark.parametrize("twist", [0.0, 0.4, -1.1])
@pytest.mark.parametrize("place", PLACES)
def test_share_and_place_against_polygons(
    shape: str, twist: float, place: tuple[float, float]
) -> None:
    thin = 80.0 if shape == "disc" else 9.0
    patch = Footprint(shape, 80.0, thin, twist, 100.0)
    whole = outline(patch)
    piece = whole.intersection(shapely.Point(place).buffer(R, 512))
    got = caught(patch, *place, R)
    share = piece.area / whole.area
    assert float(got.share) == pytest.approx(share, abs=2e-3)
    if share > 0.0:
        assert float(got.along_mm) == pytest.approx(share * piece.centroid.x, abs=0.05)
        assert float(got.across_mm) == pytest.approx(share * piece.centroid.y, abs=0.05)


def test_fan_quadrature_converges(monkeypatch: pytest.MonkeyPatch) -> None:
    """Doubling the nodes cuts the error by four or more; at 48 it is below 5e-4 of the flow."""
    patch = Footprint("ellipse", 80.0, 9.0, 0.4, 100.0)
    x, y = np.meshgrid(np.linspace(-40, 40, 17), np.linspace(-90, 90, 19))
    shares = {}
    for nodes in (12, 24, 48, 1536):
        monkeypatch.setattr(module, "NODES", nodes)
        shares[nodes] = caught(patch, x, y, R).share
    error = {n: float(np.sqrt(np.mean((shares[n] - shares[1536]) ** 2))) for n in (12, 24, 48)}
    assert error[24] < error[12] / 3.0
    assert error[48] < error[24] / 3.0
    assert float(np.max(np.abs(shares[48] - shares[1536]))) < 5e-4


@given(
    st.sampled_from(["disc", "ellipse"]),
    st.floats(-1.5, 1.5),
    st.floats(-80.0, 80.0),
    st.floats(-120.0, 120.0),
)
def test_mirror_and_bounds(shape: str, twist: float, x: float, y: float) -> None:
    thin = 60.0 if shape == "disc" else 10.0
    here = caught(Footprint(shape, 60.0, thin, twist, 100.0), x, y, R)
    there = caught(Footprint(shape, 60.0, thin, -twist, 100.0), x, -y, R)
    assert float(here.share) == pytest.approx(float(there.share), abs=1e-9)
    assert float(here.across_mm) == pytest.approx(-float(there.across_mm), abs=1e-8)
    assert 0.0 <= float(here.share) <= 1.0
    if float(here.share) > 1e-9:
        away = math.hypot(
            float(here.along_mm / here.share) - x, float(here.across_mm / here.share) - y
        )
        assert away <= R * (1 + 1e-6)


def test_a_small_footprint_is_caught_whole() -> None:
    got = caught(Footprint("ellipse", 12.0, 3.0, 0.2, 100.0), 5.0, -4.0, R)
    assert float(got.share) == pytest.approx(1.0, abs=1e-12)
    assert (float(got.along_mm), float(got.across_mm)) == pytest.approx((0.0, 0.0), abs=1e-12)


@pytest.mark.parametrize("shape", ["disc", "ellipse"])
def test_axial_share_against_scipy(shape: str) -> None:
    thin = 70.0 if shape == "disc" else 12.0
    patch = Footprint(shape, 70.0, thin, 0.0, 100.0)

    def reach(x: float) -> float:
        return 70.0 * math.sqrt(max(0.0, 1 - (x / thin) ** 2))

    total = dblquad(
        lambda y, x: 100.0 / math.sqrt(1e4 + x * x + y * y),
        *(-thin, thin, lambda x: -reach(x), reach),
        epsabs=1e-6,
    )[0]
    area = math.pi * 70.0 * thin
    assert axial_share(patch) == pytest.approx(total / area, rel=1e-6)


def test_a_pencil_jet_is_all_axial() -> None:
    assert axial_share(Footprint("disc", 0.01, 0.01, 0.0, 100.0)) == pytest.approx(1.0)
