"""What the sprays do to a can as it leans: it is no longer where the rays strike the upright one.

About the foot's front edge only the place counts at which a ray crosses the plane of the upright
top, since a force may be moved along its own line; the lean decides which rays are caught.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike

from packsim.arrays import Floats
from packsim.can import Stance, Stances
from packsim.compiled import kernel, within
from packsim.errors import between
from packsim.line import Header
from packsim.spray.catch import Each
from packsim.spray.sprays import leaning_load, leaning_sprays

LEANS = 9
"""Leans a moment is worked out at, from upright to the largest balance angle. Cubics between
them is within 0.08° and 3 % of the energy of many more, strong sprays too (measured in tests)."""

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
    sprays, leans = leaning_sprays(tuple(headers), body, open_fraction, leans_rad), len(leans_rad)
    bearing = np.asarray(direction_rad, dtype=np.float64)
    given = (
        np.asarray(v, dtype=np.float64) for v in (x_mm, y_mm, np.cos(bearing), np.sin(bearing))
    )
    each = np.broadcast_arrays(*given)
    shape, (x, y, ux, uy) = each[0].shape, (one.ravel() for one in each)
    total = np.empty((x.size, leans))
    for start in range(0, x.size, _POINTS):
        part = slice(start, start + _POINTS)
        unit = ux[part], uy[part]
        load = leaning_load(sprays, leans, x[part], y[part], *unit)
        turn = load[1] * unit[0] + load[2] * unit[1]
        total[part] = (turn - load[0] * body.radius_mm).T
    return total.reshape(*shape, leans)


def tipped_under_load(
    moment_N_mm: Floats, leans_rad: Floats, stance: Stance | Stances | Sequence[Stance]
) -> tuple[Floats, Floats]:
    """Lean from which a can falls on under a load, and the energy it takes to lean it so far.

    Parameters
    ----------
    moment_N_mm : ndarray, shape (..., k)
        Moment of the sprays at each lean (`tipping_moment_N_mm`) [N·mm].
    leans_rad : ndarray, shape (k,)
        Those leans, even, from 0 up to at least the stance's own balance angle [rad].
    stance : Stance, Stances, or sequence of n Stance
        The can as it stands; cans of a shape that broadcasts with that of the moments; one for each
        of n groups of moments, shape (n, d, k).

    Returns
    -------
    balance_rad, energy_mJ : ndarray, shape (...)
        First zero α of m g ρ sin(α_0 − θ) − M(θ), and the integral of that from 0 to α; both 0
        where the sprays alone tip the can [rad], [mJ]. α is never more than α_0, the stance's own:
        a spray that would hold a can beyond it passes.
    """
    leans, halves, areas = halved(tuple(leans_rad.tolist()))
    moment, area = moment_N_mm @ halves, moment_N_mm @ areas
    own, righting = _righting(stance)
    left = np.multiply.outer(righting, np.ones(1)) * np.sin(np.subtract.outer(own, leans)) - moment
    over = left <= 0.0
    over[..., -1] = True
    k = np.maximum(over.argmax(axis=-1), 1)
    pick = k[..., None]
    before, after, area = (
        np.take_along_axis(values, at, axis=-1)[..., 0]
        for values, at in ((moment, pick - 1), (moment, pick), (area, pick - 1))
    )
    step = leans[1] - leans[0]
    lean, energy = _crossing(own, righting, leans[k - 1], step, before, after, area)
    return np.where(over[..., 0], 0.0, lean), np.where(over[..., 0], 0.0, energy)


def _righting(stance: Stance | Stances | Sequence[Stance]) -> tuple[Each, Each]:
    """Balance angle and largest righting moment of weight alone; of several a column each."""
    if isinstance(stance, Stance | Stances):
        return stance.balance_angle_rad, stance.weight_N * stance.arm_mm
    each = np.array([_righting(one) for one in stance])
    return each[:, :1], each[:, 1:]


@within
def _crossing(
    own: Each, righting: Each, low: Each, step: float, before: Each, after: Each, area: Each
) -> tuple[Each, Each]:
    """Lean within a step at which a moment that rises straight overturns a can, and the energy."""
    slope = (after - before) / step
    lean = low + 0.5 * step
    for _ in range(3):  # the righting moment bends little within a step: each squares the error
        sine = np.sin(own - lean)
        value = righting * sine - before - slope * (lean - low)
        # a cosine from its sine takes a quarter of the time
        lean = lean + value / np.maximum(righting * np.sqrt(1.0 - sine * sine) + slope, 1e-12)
        lean = np.minimum(np.maximum(lean, low), np.minimum(low + step, own))
    within_step = lean - low
    work = area + within_step * (before + slope * within_step / 2.0)
    rise = righting * (np.cos(own - lean) - np.cos(own))
    return lean, np.maximum(rise - work, 0.0)


@kernel
def tipped_by(
    moment: Floats, own: float, rights: Floats, halved: tuple[Floats, Floats, Floats]
) -> tuple[float, float]:
    """`tipped_under_load` of one can, with its righting moments at the leans of `halved`."""
    leans, halves, areas = halved
    before = after = 0.0
    for j in range(len(leans)):
        before, after = after, 0.0
        for k in range(len(moment)):
            after += moment[k] * halves[k, j]
        if j == len(leans) - 1 or rights[j] - after <= 0.0:
            break
    if j == 0:
        return 0.0, 0.0
    area = 0.0
    for k in range(len(moment)):
        area += moment[k] * areas[k, j - 1]
    righting = rights[0] / math.sin(own)
    return _crossing(own, righting, leans[j - 1], leans[1] - leans[0], before, after, area)


@lru_cache(maxsize=64)
def halved(leans_rad: tuple[float, ...]) -> tuple[Floats, Floats, Floats]:
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
