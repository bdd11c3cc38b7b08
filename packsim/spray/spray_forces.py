"""The forces of a stage's jets on cans as they pass, whatever the cans weigh."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from packsim.arrays import Floats
from packsim.can import Stance
from packsim.errors import InputError, between
from packsim.line import Header
from packsim.nozzles.lane_lines import checked_places
from packsim.spray.catch import axial_share, looked_up
from packsim.spray.jets import Footprint, footprint_of, thrust_of_nozzle_N

_CELLS = 20_000  # jets x places at once: with a fan's quadrature nodes some 60 MB


@dataclass(frozen=True, slots=True, eq=False)
class SprayForces:
    """What the jets do to a can of each of m lines at p places, whatever the can weighs."""

    down_N: Floats
    moment_N_mm: Floats
    turn_N_mm: Floats


def spray_forces(
    lines_on_mat_mm: ArrayLike,
    body: Stance,
    headers: Sequence[Header],
    open_fraction: float,
    samples: int = 121,
) -> SprayForces:
    """Return the forces of a stage's sprays; parameters as `spray_load`.

    Of the stance ``body`` only diameter and height count.
    """
    lines = checked_places("lines_on_mat_mm", lines_on_mat_mm)
    between("open_fraction", open_fraction, 0.0, 1.0)
    if not 3 <= samples <= 10_001:
        raise InputError("samples", samples, "3 to 10001")
    patches = [footprint_of(h, body.height_mm) for h in headers]
    places = spray_places_mm(headers, patches, body.radius_mm, samples)
    each = [
        header_forces(header, patch, lines, places, body, open_fraction)
        for header, patch in zip(headers, patches, strict=True)
    ]
    nothing = np.zeros((len(lines), len(places)))
    down = sum((force.down_N for force in each), nothing)
    moment = sum((force.moment_N_mm for force in each), np.stack([nothing, nothing]))
    return SprayForces(down, moment, np.hypot(moment[0], moment[1]))


def spray_places_mm(
    headers: Sequence[Header], patches: Sequence[Footprint], radius_mm: float, samples: int = 121
) -> Floats:
    """Where along the stage a can is looked at: across the reach of every header [mm].

    Parameters
    ----------
    headers, patches : sequence
        Headers of the stage and the footprint of each.
    radius_mm : float
        Can radius [mm].
    samples : int
        Places under each header [-].

    Returns
    -------
    ndarray, shape (p,)
        Rising; the stage's start alone where there is no header.
    """
    unit = np.linspace(-1.0, 1.0, samples)
    spans = [
        h.station_mm + (patch.half_along_mm + radius_mm) * unit
        for h, patch in zip(headers, patches, strict=True)
    ]
    return np.unique(np.concatenate(spans)) if spans else np.zeros(1)


@dataclass(frozen=True, slots=True, eq=False)
class Forces:
    """Sums over the jets of a header, for every line at every place along travel.

    Parameters
    ----------
    down_N : ndarray, shape (m, p)
        Push onto the mat; negative from below [N].
    lateral_N : ndarray, shape (2, m, p)
        Sideways push, along and across [N].
    moment_N_mm : ndarray, shape (2, m, p)
        Turning moment towards along and across, about the middle of the foot [N·mm].
    """

    down_N: Floats
    lateral_N: Floats
    moment_N_mm: Floats


def header_forces(
    header: Header,
    patch: Footprint,
    lines_mm: Floats,
    places_mm: Floats,
    stance: Stance,
    open_fraction: float,
) -> Forces:
    """Sum the forces of the jets of one header.

    Parameters
    ----------
    header, patch : Header, Footprint
        The header, and the footprint of each of its nozzles on the can tops, or on the mat.
    lines_mm, places_mm : ndarray, shapes (m,) and (p,)
        Can lines across the mat, and places of the can along travel [mm].
    stance, open_fraction
        As for `spray_load`.

    Returns
    -------
    Forces
        By line and place.

    Notes
    -----
    The thrust ρQv acts along the rays. Its part along the axis, mean cosine times thrust, is taken
    to be spread like the flow; a ray that lands r from the axis carries r/h of that sideways, h
    the stand-off. Both sums over the patch caught are then its share and its first moment, exact
    for a cone.
    """
    axial = thrust_of_nozzle_N(header) * axial_share(patch)
    along = places_mm - header.station_mm
    near = np.flatnonzero(np.abs(along) <= patch.half_along_mm + stance.radius_mm)
    across = lines_mm[:, None] - header.positions_mm
    rows, nozzles = np.nonzero(np.abs(across) < patch.half_across_mm + stance.radius_mm)
    shape = len(lines_mm), len(places_mm)
    total = Forces(np.zeros(shape), np.zeros((2, *shape)), np.zeros((2, *shape)))
    step = max(1, _CELLS // max(1, len(near)))
    for k in range(0, len(rows), step):
        row = rows[k : k + step]
        at = np.broadcast_arrays(along[near], across[row, nozzles[k : k + step]][:, None])
        got = looked_up(patch, at[0], at[1], stance.radius_mm)
        push = axial * got.share
        sums = axial * np.stack([got.along_mm, got.across_mm])
        sideways, turn = sums / patch.stand_off_mm, sums - push * np.stack(at)
        cell = np.ix_(row, near)
        if header.side == "above":
            turn += stance.height_mm * sideways
        else:
            push, sideways, turn = (open_fraction * v for v in (-push, sideways, -turn))
        np.add.at(total.down_N, cell, push)
        for axis in (0, 1):
            np.add.at(total.lateral_N[axis], cell, sideways[axis])
            np.add.at(total.moment_N_mm[axis], cell, turn[axis])
    return total
