"""What the sprays do to a can as it leans: it is no longer where the rays strike the upright one.

About the foot's front edge only the place counts at which a ray crosses the plane of the upright
top, since a force may be moved along its own line; the lean decides which rays are caught.
"""

import math
from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike

from packsim.arrays import Floats
from packsim.can import Stance, Stances
from packsim.errors import between
from packsim.line import Header
from packsim.spray.catch import NODES, looked_up, sine_nodes
from packsim.spray.jets import Footprint, footprint_of, thrust_of_nozzle_N

LEANS = 9
"""Leans a moment is worked out at, from upright to the largest balance angle. Cubics between
them is within 0.08° and 3 % of the energy of many more, strong sprays too (measured in tests)."""

_MOST_ENLARGED = 4.0
"""Most the shadow of a top grows as it rises towards a nozzle just above it: there the can would
strike the header."""

_POINTS = 100_000  # places times directions at once: arrays of a megabyte each


def lean_nodes_rad(most_rad: float) -> Floats:
    """Return the leans at which moments are worked out, upright to the largest asked [rad]."""
    return np.linspace(0.0, most_rad, LEANS)


def tipping_moment_N_mm(
    headers: Sequence[Header],
    body: Stance,
    open_fraction: float,
    x_mm: ArrayLike,
    y_mm: ArrayLike,
    direction_rad: ArrayLike,
    leans_rad: Floats,
) -> Floats:
    """Moment of a stage's sprays about the edge a can leans over, at each of some leans.

    Parameters
    ----------
    headers : sequence of Header
        Headers of the stage, above and below; a header above stands higher than the can.
    body : Stance
        The can; only diameter and height count.
    open_fraction : float
        Share of the spray from below that the mat lets through, 0..1 [-].
    x_mm, y_mm : array_like
        Axis of the upright can, along the stage and from the mat's left edge [mm].
    direction_rad : array_like
        Bearing of the lean, from travel towards the right guide [rad].
    leans_rad : ndarray, shape (k,)
        Leans θ [rad].

    Returns
    -------
    ndarray, shape (..., k)
        Moment that tips the can on, below 0 where it rights it; places and directions are
        broadcast [N·mm].

    Raises
    ------
    InputError
        If the open fraction is out of range, or a header above is no higher than the can top.

    Notes
    -----
    Derived here. A ray with axial push T, sideways push L crosses the plane of the upright top at
    x_u along the lean, from the upright can's axis: its moment about the edge at R is
    H L_u + T (x_u − R). Rays from below cross the mat and push P up: P (R − x_u). Caught are the
    rays that pass the shadow the leaning top throws on that plane as seen from the nozzle: with
    the top's centre at c = H sin θ + R (1 − cos θ) along the lean and z_t = H cos θ + R sin θ up,
    a disc about s (o + c u) from the nozzle, o the upright can from the nozzle,
    s = h / (h_s − z_t), of radius R s √cos θ. From below the same with the mouth, R sin θ up and
    c = R (1 − cos θ). The tilted disc faces rays that come from behind less, by the factor
    1 − tan θ r_u / h for a ray that lands r_u off its nozzle along the lean (plus from below).
    Against rays traced to the tilted circle, up to 24°: within 3 % of thrust times R for cones,
    12 % for thin fans, 5 % up to 16° (measured in tests). Left out: rays that meet the wall. In
    the pack neighbours shade it, and behind they right the can: this errs on the side of tipping.
    """
    between("open_fraction", open_fraction, 0.0, 1.0)
    bearing = np.asarray(direction_rad, dtype=np.float64)
    given = (
        np.asarray(v, dtype=np.float64) for v in (x_mm, y_mm, np.cos(bearing), np.sin(bearing))
    )
    each = np.broadcast_arrays(*given)
    shape, (x, y, ux, uy) = each[0].shape, (one.ravel() for one in each)
    total = np.zeros((x.size, len(leans_rad)))
    for start in range(0, x.size, _POINTS):
        part = slice(start, start + _POINTS)
        for header in headers:
            for k, lean in enumerate(leans_rad.tolist()):
                unit = ux[part], uy[part]
                down, *turn = header_load(header, body, open_fraction, x[part], y[part], lean, unit)
                total[part, k] += turn[0] * unit[0] + turn[1] * unit[1] - down * body.radius_mm
    return total.reshape(*shape, len(leans_rad))


def header_load(
    header: Header,
    body: Stance,
    open_fraction: float,
    x: Floats,
    y: Floats,
    lean: float,
    unit: tuple[Floats, Floats] | None = None,
) -> Floats:
    """Return `upright_load` of one header on cans that lean along unit vectors."""
    patch, radius, height = footprint_of(header, body.height_mm), body.radius_mm, body.height_mm
    stand_off, sin, cos = patch.stand_off_mm, math.sin(lean), math.cos(lean)
    above = header.side == "above"
    out = (height * sin if above else 0.0) + radius * (1.0 - cos)
    rise = height * cos + radius * sin - height if above else -radius * sin
    scale = min(_MOST_ENLARGED, stand_off / max(stand_off - rise, 1e-9))
    shadow = radius * scale * math.sqrt(cos)
    tilt = sin / cos / (stand_off if above else -stand_off)
    along = x - header.station_mm
    top = along if unit is None else along + out * unit[0]
    near = np.flatnonzero(np.abs(top) < (patch.half_along_mm + shadow) / scale)
    along, y, top = along.take(near), y.take(near), top.take(near)
    aside: Floats | float = 0.0
    if unit is not None:
        ux, uy = unit[0].take(near), unit[1].take(near)
        aside, from_nozzle = out * uy, 1.0 - (tilt * scale) * top * ux
    top *= scale
    reach = (patch.half_across_mm + shadow) / scale
    nozzle = np.ceil((y + aside - reach - header.first_mm) / header.pitch_mm)
    found = np.zeros((4, near.size))  # share, its moment about the nozzles, share × across
    for _ in range(math.floor(2.0 * reach / header.pitch_mm) + 1):
        across = y - (header.first_mm + header.pitch_mm * nozzle)
        over = across + aside
        there = (nozzle >= 0.0) & (nozzle < header.count) & (np.abs(over) < reach)
        got = looked_up(patch, top, scale * over, shadow)
        faces: Floats = there.astype(np.float64)
        if unit is not None:
            faces *= np.maximum(from_nozzle - (tilt * scale) * over * uy, 0.0)
        share = faces * got.share
        found[0] += share
        found[1] += faces * got.along_mm
        found[2] += faces * got.across_mm
        found[3] += share * across
        nozzle += 1.0
    axial = thrust_of_nozzle_N(header) * axial_share(patch) * (1.0 if above else -open_fraction)
    lever = height / stand_off if above else 0.0  # of the sideways push
    load = np.zeros((3, x.size))
    load[0, near] = axial * found[0]
    load[1, near] = axial * ((1.0 + lever) * found[1] - found[0] * along)
    load[2, near] = axial * ((1.0 + lever) * found[2] - found[3])
    return load


@lru_cache(maxsize=512)
def axial_share(patch: Footprint) -> float:
    """Mean cosine of the rays to the nozzle's axis, 1 for a jet that does not spread [-].

    Parameters
    ----------
    patch : Footprint
        The footprint.

    Returns
    -------
    float
        Share of the thrust that acts along the axis [-]. For an even disc
        2h(√(h² + a²) − h)/a², h the stand-off; a fan by product Gauss nodes.
    """
    height = patch.stand_off_mm
    if len(patch.layers) > 1:
        return sum(share * axial_share(part) for share, part in patch.parts)
    if patch.shape == "disc":
        return 2.0 * height / (math.hypot(height, patch.half_long_mm) + height)
    angle, weights = sine_nodes(NODES)
    thin = np.sin(angle)
    reach = np.sqrt(1.0 - thin**2)
    long = reach[:, None] * np.sin(angle)
    both = weights[:, None] * weights * reach[:, None]
    across = np.hypot(patch.half_thin_mm * thin[:, None], patch.half_long_mm * long)
    return float(np.sum(both * height / np.hypot(height, across)) / np.sum(both))


def tipped_under_load(
    moment_N_mm: Floats, leans_rad: Floats, stance: Stance | Stances
) -> tuple[Floats, Floats]:
    """Lean from which a can falls on under a load, and the energy it takes to lean it so far.

    Parameters
    ----------
    moment_N_mm : ndarray, shape (..., k)
        Moment of the sprays at each lean (`tipping_moment_N_mm`) [N·mm].
    leans_rad : ndarray, shape (k,)
        Those leans, even, from 0 up to at least the stance's own balance angle [rad].
    stance : Stance or Stances
        The can as it stands; cans of a shape that broadcasts with that of the moments.

    Returns
    -------
    balance_rad, energy_mJ : ndarray, shape (...)
        First zero α of m g ρ sin(α_0 − θ) − M(θ), and the integral of that from 0 to α; both 0
        where the sprays alone tip the can [rad], [mJ]. α is never more than α_0, the stance's own:
        a spray that would hold a can beyond it passes.
    """
    leans, halves, areas = _halved(tuple(leans_rad.tolist()))
    moment, area = moment_N_mm @ halves, moment_N_mm @ areas
    own, righting = stance.balance_angle_rad, stance.weight_N * stance.arm_mm
    left = np.multiply.outer(righting, np.ones(1)) * np.sin(np.subtract.outer(own, leans)) - moment
    over = left <= 0.0
    over[..., -1] = True
    k = np.maximum(over.argmax(axis=-1), 1)
    step = leans[1] - leans[0]
    pick = k[..., None]
    low, before = leans[k - 1], np.take_along_axis(moment, pick - 1, axis=-1)[..., 0]
    slope = (np.take_along_axis(moment, pick, axis=-1)[..., 0] - before) / step
    lean = low + 0.5 * step
    for _ in range(3):  # the righting moment bends little within a step: each squares the error
        sine = np.sin(own - lean)
        value = righting * sine - before - slope * (lean - low)
        # a cosine from its sine takes a quarter of the time
        lean = lean + value / np.maximum(righting * np.sqrt(1.0 - sine * sine) + slope, 1e-12)
        lean = np.minimum(np.maximum(lean, low), np.minimum(low + step, own))
    lean = np.where(over[..., 0], 0.0, lean)
    within = lean - low
    work = np.take_along_axis(area, pick - 1, axis=-1)[..., 0] + within * (
        before + slope * within / 2.0
    )
    rise = righting * (np.cos(own - lean) - np.cos(own))
    return lean, np.where(over[..., 0], 0.0, np.maximum(rise - work, 0.0))


@lru_cache(maxsize=64)
def _halved(leans_rad: tuple[float, ...]) -> tuple[Floats, Floats, Floats]:
    """Leans at half the step, and what takes moments to them: a cubic through the nearest four.

    The last takes moments to their integrals up to those leans, straight from one to the next.
    """
    count = len(leans_rad)
    halves = np.zeros((count, 2 * count - 1))
    halves[np.arange(count), 2 * np.arange(count)] = 1.0
    for k in range(count - 1):
        at = min(max(k - 1, 0), count - 4)
        near = np.arange(at, at + 4)
        for one in near:
            others = near[near != one]
            halves[one, 2 * k + 1] = np.prod((k + 0.5 - others) / (one - others))
    leans = np.linspace(0.0, leans_rad[-1], 2 * count - 1)
    areas = np.cumsum((halves[:, 1:] + halves[:, :-1]) * (leans[1] / 2.0), axis=1)
    return leans, halves, np.pad(areas, ((0, 0), (1, 0)))
