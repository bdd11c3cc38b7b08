"""Where a guide wire stops a can that leans, and the most slack a set of wires can take."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from packsim.arrays import Floats
from packsim.errors import InputError

NOTHING_HOLDS_RAD = math.pi / 2.0
"""Lean reported where nothing stops the can: it lies down."""


def wire_lean_rad(
    gap_mm: ArrayLike,
    wire_heights_mm: Sequence[ArrayLike],
    height_mm: float,
    cos_off: ArrayLike = 1.0,
) -> Floats:
    """Lean at which a can beside a guide is stopped by one of its wires [rad].

    Parameters
    ----------
    gap_mm : array_like, any shape
        Distance from can wall to wire face; below 0 counts as 0 [mm].
    wire_heights_mm : sequence of array_like
        Heights of the wires above the mat; NaN for one that is gone [mm].
    height_mm : float
        Can height H [mm].
    cos_off : array_like, broadcasts with ``gap_mm``
        Cosine of the angle between the lean and the guide's normal [-]; leaning along or away
        from the guide (0 or less) meets no wire.

    Returns
    -------
    ndarray
        Smallest lean at which a wire touches, `NOTHING_HOLDS_RAD` where none does [rad].

    Notes
    -----
    The wall of a can leaning by θ about its base rim stands z tan θ out at height z, and ends at
    its shoulder, H cos θ up. So a wire at height z and gap g touches at tan θ = g / (z cos ψ),
    provided z < H cos θ, i.e. (g / cos ψ)² + z² < H²; the shoulder of a can that leans further has
    passed below the wire. Derived here. Exact for ψ = 0; off the normal the curved wall meets the
    wire later by the share R θ (1 − cos ψ) / 2z (under 2 % at θ = 0.3, ψ = 45°).

    Examples
    --------
    >>> np.degrees(wire_lean_rad([9.0, 95.0, 150.0], [50.0, 90.0], 124.0)).tolist()
    [5.711, 62.241, 90.0]
    """
    gap = np.maximum(np.asarray(gap_mm, dtype=np.float64), 0.0)
    toward = np.asarray(cos_off, dtype=np.float64)
    facing = toward > 1e-12  # a lean along the guide never meets it; avoids dividing by 0
    out = gap / np.where(facing, toward, 1.0)
    lean = np.full(out.shape, NOTHING_HOLDS_RAD)
    for z in map(np.asarray, wire_heights_mm):
        touches = facing & (out * out + z * z < height_mm * height_mm)
        np.minimum(lean, np.arctan2(out, z), out=lean, where=touches)
    return lean


def overhang_mm(gap_mm: ArrayLike, wire_heights_mm: Sequence[float], height_mm: float) -> Floats:
    """How far the top edge of a can leaning on its guide wire stands out, H sin θ [mm].

    Parameters
    ----------
    gap_mm : array_like, any shape
        Distance from can wall to wire face [mm].
    wire_heights_mm, height_mm
        As for `wire_lean_rad`.

    Returns
    -------
    ndarray
        H g / √(g² + z²) for the highest wire that touches, H where none does [mm]; never less
        than the gap itself. To the tops of the cans behind, the guide is this far away.

    Examples
    --------
    >>> float(overhang_mm(9.0, [90.0], 124.0))
    12.338
    """
    return height_mm * np.sin(wire_lean_rad(gap_mm, wire_heights_mm, height_mm))


def wire_limit_mm(height_mm: float, balance_rad: ArrayLike, wire_mm: ArrayLike) -> Floats:
    """Gap at a guide from which one wire still brings back a can that leans on it [mm].

    Parameters
    ----------
    height_mm : float
        Can height H [mm].
    balance_rad : array_like
        Balance angle α, the load included [rad].
    wire_mm : array_like
        Wire height z; NaN for a wire that is gone [mm].

    Returns
    -------
    ndarray
        z tan α up to z = H cos α, √(H² − z²) from there to the top, 0 above it.

    Notes
    -----
    A can that leans by θ meets the wire across a gap g when z tan θ = g, as long as its top edge,
    at H cos θ, is not below the wire (`wire_lean_rad`). The top edge passes under a wire at z when
    the gap is more than √(H² − z²), which happens before balance when z > H cos α. So the limit
    rises with the wire until z = H cos α, where it is H sin α, and falls to nothing from there to
    the top of the can: a wire close under the top of the can is not the safest. Derived here.

    Examples
    --------
    >>> [float(wire_limit_mm(124.0, math.atan(33.0 / 74.0), z)) for z in (60.0, 113.2, 122.0)]
    [26.757, 50.481, 22.181]
    """
    z = np.asarray(wire_mm, dtype=np.float64)
    if (z <= 0.0).any():
        raise InputError("wire_mm", float(z.min()), "a number above 0")
    reach = np.sqrt(np.maximum(0.0, height_mm**2 - z**2))
    limit: Floats = np.minimum(z * np.tan(balance_rad), reach)
    return limit


def edge_slack_mm(
    height_mm: float, balance_rad: ArrayLike, wire_heights_mm: Sequence[ArrayLike]
) -> tuple[Floats, Floats]:
    """Most slack a set of wires can take before an edge can reaches its balance point.

    Parameters
    ----------
    height_mm : float
        Can height H [mm].
    balance_rad : array_like, any shape
        Effective balance angle α [rad].
    wire_heights_mm : sequence of array_like
        Height of each wire, broadcasts with the angle; NaN where it is gone [mm].

    Returns
    -------
    limit_mm : ndarray
        Largest `wire_limit_mm` of the wires; 0 when no wire is below H [mm].
    wire_mm : ndarray
        The wire it belongs to; NaN when there is none [mm].

    Examples
    --------
    >>> limit, wire = edge_slack_mm(124.3, math.radians(24.0), [45.0, 90.0])
    >>> float(limit), float(wire)
    (40.07, 90.0)
    """
    shape = np.broadcast_shapes(*(np.shape(each) for each in (balance_rad, *wire_heights_mm)))
    best, wire = np.zeros(shape), np.full(shape, np.nan)
    for z in wire_heights_mm:
        limit = wire_limit_mm(height_mm, balance_rad, z)
        better = (limit > best) | (np.isnan(wire) & (np.asarray(z) < height_mm))
        best, wire = np.where(better, limit, best), np.where(better, z, wire)
    return best, wire
