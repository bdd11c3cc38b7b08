"""How much of one jet a round can catches at one moment, and where on it; also from tables."""

import math
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import Any

import numpy as np
from numpy.polynomial import legendre
from numpy.typing import ArrayLike, NDArray

from packsim.arrays import Floats
from packsim.compiled import within
from packsim.errors import InputError, positive
from packsim.spray.jets import Footprint

Each = Any
"""A number, or an array: kernels of one source for compiled loops and for whole arrays."""


def lens(r_mm: ArrayLike, s_mm: ArrayLike, d_mm: ArrayLike) -> tuple[Floats, Floats]:
    """Overlap of two discs, exact in every case: apart, crossing, one inside the other.

    Parameters
    ----------
    r_mm, s_mm : array_like
        Radii, 0 or more; all arguments broadcast [mm].
    d_mm : array_like
        Distance of the centres, 0 or more [mm].

    Returns
    -------
    area_mm2, moment_mm3 : ndarray
        Area of the overlap [mm²], and its first moment about the first centre, along the line to
        the second [mm³]; of the broadcast shape.

    Raises
    ------
    InputError
        If a value is negative or not a number.

    Notes
    -----
    The common chord lies at x = (d² + r² − s²)/(2d) from the first centre and has half length c;
    each disc gives the segment beyond it, r²θ − x c with θ = atan2(c, x): with c = 0 nothing, or
    the whole of a disc inside the other. Source: any geometry text, e.g. [weissteinCircles]_. The
    moment is derived here: a segment has first moment 2c³/3 about its own centre, the two have
    opposite signs and cancel, and what remains is d times the second disc's segment.

    Examples
    --------
    >>> float(lens(1.0, 1.0, 1.0)[0])
    1.22837
    """
    r, s, d = (np.asarray(one, dtype=np.float64) for one in (r_mm, s_mm, d_mm))
    if not (np.all(r >= 0.0) and np.all(s >= 0.0) and np.all(d >= 0.0)):
        raise InputError("lens", (r, s, d), "radii and a distance of 0 or more")
    gap = np.maximum(d, 1e-9)
    chord_at = (gap**2 + (r - s) * (r + s)) / (2.0 * gap)
    product = (r + s - gap) * (gap + r - s) * (gap - r + s) * (r + s + gap)
    half = np.sqrt(np.maximum(product, 0.0)) / (2.0 * gap)
    first = r**2 * np.arctan2(half, chord_at) - chord_at * half
    second = s**2 * np.arctan2(half, gap - chord_at) - (gap - chord_at) * half
    return np.asarray(first + second), np.asarray(d * second)


_STEP_MM = 1.0
_LONG_STEP_MM = 3.0
_RADIUS_STEP_MM = 2.0
"""Spacings of the tables below: away from a nozzle, along a fan's long side, of a fan's radii.
Shares are within 0.001 of `caught` (measured in tests)."""

NODES = 48
"""Gauss nodes across a fan's thin side; the error falls with their square (measured in tests)."""


@cache
def sine_nodes(count: int) -> tuple[Floats, Floats]:
    """Return nodes θ and weights cos θ dθ of ∫ f(sin θ) cos θ dθ over a half turn."""
    node, weight = legendre.leggauss(count)
    angle = node * math.pi / 2.0
    return angle, weight * np.cos(angle) * math.pi / 2.0


@dataclass(frozen=True, slots=True, eq=False)
class Caught:
    """The part of a nozzle's flow that lands on a disc.

    Parameters
    ----------
    share : ndarray
        Share of the flow, 0 to 1 [-].
    along_mm, across_mm : ndarray
        First moment of that share about the nozzle: share times mean place [mm].
    """

    share: Floats
    along_mm: Floats
    across_mm: Floats


def caught(patch: Footprint, along_mm: ArrayLike, across_mm: ArrayLike, radius_mm: float) -> Caught:
    """Share of a nozzle's flow that lands on a disc, with its first moment.

    Parameters
    ----------
    patch : Footprint
        The footprint, on the plane of the disc.
    along_mm, across_mm : array_like
        Centre of the disc from the nozzle; broadcast together [mm].
    radius_mm : float
        Radius of the disc [mm].

    Returns
    -------
    Caught
        Of the broadcast shape.

    Notes
    -----
    A cone is an even disc, an exact lens. A fan is integrated across its thin side:
    on each line parallel to its long side the overlap of two chords and its middle are exact.
    """
    x, y = np.broadcast_arrays(np.asarray(along_mm, np.float64), np.asarray(across_mm, np.float64))
    radius = positive("radius_mm", radius_mm)
    if patch.shape != "disc":
        sin, cos = math.sin(patch.twist_rad), math.cos(patch.twist_rad)
        long, thin = x * sin + y * cos, x * cos - y * sin
        share, on_long, on_thin = caught_of_fan(patch, long, thin, radius)
        return Caught(share, on_long * sin + on_thin * cos, on_long * cos - on_thin * sin)
    distance, got = np.hypot(x, y), np.zeros((3, *x.shape))
    for part_of_flow, part in patch.parts:
        area, moment = lens(part.half_long_mm, radius, distance)
        scale = part_of_flow / (math.pi * part.half_long_mm**2)
        pull = moment * scale / np.maximum(distance, 1e-300)
        got += area * scale, pull * x, pull * y
    return Caught(np.clip(got[0], 0.0, 1.0), got[1], got[2])


def caught_of_fan(patch: Footprint, long_mm: Floats, thin_mm: Floats, radius_mm: float) -> Floats:
    """Share of a fan's flow that lands on a disc, and its moments along the fan's two sides.

    Parameters
    ----------
    patch : Footprint
        The footprint of a fan.
    long_mm, thin_mm : ndarray
        Centre of the disc from the nozzle along its long and its thin side; broadcast [mm].
    radius_mm : float
        Radius of the disc [mm].

    Returns
    -------
    ndarray, shape (3, ...)
        Share [-], and its first moments about the nozzle along both sides [mm].
    """
    if len(patch.layers) > 1:
        each = (s * caught_of_fan(p, long_mm, thin_mm, radius_mm) for s, p in patch.parts)
        return np.asarray(sum(each))
    long, thin = long_mm[..., None], thin_mm[..., None]
    low = np.maximum(-patch.half_thin_mm, thin - radius_mm)
    high = np.minimum(patch.half_thin_mm, thin + radius_mm)
    half = np.maximum((high - low) / 2.0, 0.0)
    angle, weights = sine_nodes(NODES)
    at = (low + high) / 2.0 + half * np.sin(angle)
    reach = patch.half_long_mm * np.sqrt(np.maximum(1.0 - (at / patch.half_thin_mm) ** 2, 0.0))
    chord = np.sqrt(np.maximum(radius_mm**2 - (at - thin) ** 2, 0.0))
    start, end = np.maximum(-reach, long - chord), np.minimum(reach, long + chord)
    piece = np.maximum(end - start, 0.0) * (weights * half)
    area = math.pi * patch.half_long_mm * patch.half_thin_mm
    start += end
    return np.stack(
        [
            np.clip(np.sum(piece, axis=-1) / area, 0.0, 1.0),
            np.einsum("...k,...k->...", piece, start) / (2.0 * area),
            np.einsum("...k,...k->...", piece, at) / area,
        ]
    )


TABLE = np.dtype(
    [("disc", "i8"), ("begin", "i8"), ("rows", "i8"), ("columns", "i8")]
    + [(name, "f8") for name in ("per_long_mm", "per_mm", "sin", "cos")]
)
"""One table of several that lie one after the other: where it begins, its nodes and their spacing,
and the turn of the fan."""


@lru_cache(maxsize=64)
def tables_of(asked: tuple[tuple[Footprint, float], ...]) -> tuple[NDArray[np.void], Floats]:
    """Return the tables of some footprints and disc radii [mm], for `read_off`.

    Returns
    -------
    each : ndarray of `TABLE`, shape (n,)
        One for each asked; like ones share a table.
    tables : ndarray
        What they say, one after the other.
    """
    each, begin, size = np.zeros(len(asked), TABLE), dict[tuple[Footprint, float], int](), 0
    for at, (patch, radius) in enumerate(asked):
        table = _table(patch, radius)
        if (patch, radius) not in begin:
            begin[patch, radius], size = size, size + table.size
        rows, columns = table.shape[2:] if patch.shape != "disc" else (1, table.shape[2])
        turn = math.sin(patch.twist_rad), math.cos(patch.twist_rad)
        kind = patch.shape == "disc", begin[patch, radius], rows, columns
        each[at] = (*kind, *(1.0 / step for step in _steps_mm(patch)), *turn)
    cells = (_table(*one) for one in begin)  # all of a cell in one place
    rows = [t.reshape(t.shape[0] * t.shape[1], -1).T.ravel() for t in cells]
    return each, np.concatenate([np.zeros(0), *rows])


@within
def _place(away_mm: Each, per_mm: float, nodes: int) -> tuple[Each, Any]:
    """Share of the way from a node of a table to the next, and the node."""
    at = np.minimum(away_mm * per_mm, nodes - 1.001)
    node = np.int64(at)
    return at - node, node


@within
def read_off(one: Any, tables: Floats, along_mm: Each, across_mm: Each) -> tuple[Each, Each, Each]:
    """Read what `caught` gives from one of `tables_of`: share and its moments; numbers or arrays.

    A kernel within others where it is compiled; where numba is not there, whole arrays at once.
    """
    begin, rows, columns = one["begin"], one["rows"], one["columns"]
    if one["disc"]:
        away = np.sqrt(along_mm * along_mm + across_mm * across_mm)
        i, cell = _place(away, one["per_mm"], columns)
        a = begin + 4 * cell
        share, pull = tables[a] + i * tables[a + 1], tables[a + 2] + i * tables[a + 3]
        return share, pull * along_mm, pull * across_mm
    sin, cos = one["sin"], one["cos"]
    long, thin = along_mm * sin + across_mm * cos, along_mm * cos - across_mm * sin
    i, row = _place(np.abs(long), one["per_long_mm"], rows)
    j, column = _place(np.abs(thin), one["per_mm"], columns)
    a = begin + 12 * (row * columns + column)  # slopes follow: along the thin side, the long, both
    share = tables[a] + j * tables[a + 1] + i * (tables[a + 2] + j * tables[a + 3])
    on_long = tables[a + 4] + j * tables[a + 5] + i * (tables[a + 6] + j * tables[a + 7])
    on_thin = tables[a + 8] + j * tables[a + 9] + i * (tables[a + 10] + j * tables[a + 11])
    on_long, on_thin = np.copysign(on_long, long), np.copysign(on_thin, thin)
    return share, on_long * sin + on_thin * cos, on_long * cos - on_thin * sin


def _steps_mm(patch: Footprint) -> tuple[float, float]:
    """Spacings along a fan's long and thin side; a fine jet has finer ones."""
    return min(_LONG_STEP_MM, patch.half_long_mm / 4.0), min(_STEP_MM, patch.half_thin_mm / 4.0)


@lru_cache(maxsize=512)
def _table(patch: Footprint, radius_mm: float) -> Floats:
    """Share and pull by distance from a cone; share and moments over a quarter of a fan's plane.

    Each at the nodes and its slopes to the next: (2, 2, n) for a cone; for a fan (3, 4, i, j) with
    the slopes along j, i and both.
    """
    if patch.shape == "ellipse":  # few radii are worked out, others read between them
        low = _RADIUS_STEP_MM * math.floor(radius_mm / _RADIUS_STEP_MM)
        ends = low or radius_mm, low + _RADIUS_STEP_MM
        least, most = (_fan_table(patch, one, low + 2.0 * _RADIUS_STEP_MM) for one in ends)
        nodes = least + (radius_mm - low) / _RADIUS_STEP_MM * (most - least)
        sloped = np.stack([nodes, *(np.zeros_like(nodes) for _ in range(3))], axis=1)
        sloped[:, 1, :, :-1] = np.diff(nodes, axis=2)
        sloped[:, 2, :-1] = np.diff(nodes, axis=1)
        sloped[:, 3, :-1] = np.diff(sloped[:, 1], axis=1)
        return sloped
    _, fine = _steps_mm(patch)
    away = np.arange(0.0, patch.half_long_mm + radius_mm + 2.0 * fine, fine)
    got = caught(patch, away, 0.0, radius_mm)
    pull = np.divide(got.along_mm, away, out=np.zeros_like(away), where=away > 0.0)
    pull[0] = pull[1]
    return np.stack([[row, np.diff(row, append=row[-1])] for row in (got.share, pull)])


@lru_cache(maxsize=64)
def _fan_table(patch: Footprint, radius_mm: float, reach_mm: float) -> Floats:
    far, fine = _steps_mm(patch)
    long = np.arange(0.0, patch.half_long_mm + reach_mm + 2.0 * far, far)
    thin = np.arange(0.0, patch.half_thin_mm + reach_mm + 2.0 * fine, fine)
    return caught_of_fan(patch, long[:, None], thin, radius_mm)
