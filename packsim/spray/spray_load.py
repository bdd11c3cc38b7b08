"""What the jets do to a can as it passes: how hard they press, push and turn it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from packsim.arrays import Bools, Floats
from packsim.assumption import Assumption
from packsim.can import Stance
from packsim.check import between
from packsim.errors import InputError
from packsim.line import Header
from packsim.nozzles.lane_lines import checked_places
from packsim.spray.catch import axial_share, caught
from packsim.spray.jets import Footprint, footprint_of, thrust_of_nozzle_N

SPRAY_ASSUMED = (
    Assumption(
        "spray.momentum",
        "all given up by what lands on the can",
        "screening model; a splash thrown straight back would push up to twice as hard",
    ),
    Assumption("spray.rays", "straight from the nozzle", "droplet drag and gravity left out"),
    Assumption("spray.density", "even over the footprint", "unless a measured table is given"),
)
"""What every spray load rests on, to be named wherever one is shown."""


_CELLS = 20_000  # jets x places at once: with a fan's quadrature nodes some 60 MB


@dataclass(frozen=True, slots=True, eq=False)
class SprayLoad:
    """Load of the sprays on a can of each line, where along travel it holds least.

    Parameters
    ----------
    moment_N_mm : ndarray, shape (m, 2)
        Turning moment B about the middle of the can's foot: B·u is what turns it over towards
        the direction u [N·mm].
    normal_N : ndarray, shape (m,)
        What is left on the mat, m g + top − bottom [N].
    hold_margin : ndarray, shape (m,)
        (N R − |B|)/(m g R), 1 without any spray, 0 when the can starts to tip [-].
    lifted : ndarray of bool, shape (m,)
        Whether anywhere in the pass nothing is left on the mat.
    balance_rad : ndarray, shape (m,)
        Least balance angle under the load anywhere in the pass [rad].
    """

    moment_N_mm: Floats
    normal_N: Floats
    hold_margin: Floats
    lifted: Bools
    balance_rad: Floats


def spray_load(
    lines_on_mat_mm: ArrayLike,
    stance: Stance,
    headers: Sequence[Header],
    open_fraction: float,
    samples: int = 121,
) -> SprayLoad:
    """Load of a stage's sprays on a can of each line as the mat carries it through.

    Parameters
    ----------
    lines_on_mat_mm : array_like, shape (m,)
        Lines of can centres from the mat's left edge [mm].
    stance : Stance
        The can as it stands in this stage, pool included.
    headers : sequence of Header
        Headers of the stage, above and below; none is allowed.
    open_fraction : float
        Share of the spray from below that the mat lets through, 0..1 [-].
    samples : int
        Places along travel under each header, odd so that its station is one [-].

    Returns
    -------
    SprayLoad
        By line.

    Raises
    ------
    InputError
        If there is no line, a header above is below the can tops, or a value is out of range.

    Notes
    -----
    A screening model. What lands on the can gives up all of its momentum along its ray; a splash
    that leaves upwards would add to it (up to as much again from a flat plate), a film that runs
    off sideways does not. What lands elsewhere, and water leaving the mouth, exert nothing. Every
    header acts where its footprint meets the can, so headers above and below at one station act
    together and headers a footprint apart one after the other.

    Derived here. Tipping over the foot's edge at R u is resisted by m g R + T(R − e·u) −
    P(R − f·u) − H L·u = N R − B·u with T, e the push from above and where it acts, P, f the push
    from below, L the sideways push from above at the can's height H, and
    B = T e − P f + H L. The worst direction is along B, the margin (N R − |B|)/(m g R). From below
    the sideways push is taken where the ray enters the mouth, at the mat: a force may be moved
    along its own line, so no arm is left, wherever it lands inside. The margin found is an upper
    bound of the pass; at 121 samples it is within 0.0005 of a scan twenty times finer (measured in
    tests).
    """
    forces = spray_forces(lines_on_mat_mm, stance, headers, open_fraction, samples)
    return load_on(stance, forces)


@dataclass(frozen=True, slots=True, eq=False)
class SprayForces:
    """What the jets do to a can of each of m lines at p places, whatever the can weighs.

    ``hardest`` are net push and turning moment of the moments that can be the worst for some
    weight: no other has both less push and more moment.
    """

    down_N: Floats
    moment_N_mm: Floats
    turn_N_mm: Floats
    hardest: tuple[Floats, Floats]


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
    turn = np.hypot(moment[0], moment[1])
    order = np.lexsort((-turn.ravel(), down.ravel()))
    most = np.maximum.accumulate(turn.ravel()[order])
    order = order[np.flatnonzero(np.diff(most, prepend=-1.0) > 0.0)]
    hardest = down.ravel()[order], turn.ravel()[order]
    return SprayForces(down, moment, turn, hardest)


def load_on(stance: Stance, forces: SprayForces) -> SprayLoad:
    """Return the load that forces are to a can as it stands."""
    normal, turn = stance.weight_N + forces.down_N, forces.turn_N_mm
    margin = (normal * stance.radius_mm - turn) / (stance.weight_N * stance.radius_mm)
    balance = balance_under_load_rad(stance, normal, turn)
    at = np.argmin(margin, axis=1)
    row = np.arange(len(turn))
    return SprayLoad(
        moment_N_mm=forces.moment_N_mm[:, row, at].T,
        normal_N=normal[row, at],
        hold_margin=margin[row, at],
        lifted=np.any(normal <= 0.0, axis=1),
        balance_rad=np.min(balance, axis=1),
    )


def least_balance_rad(stance: Stance, forces: SprayForces | None) -> float:
    """Return the least balance angle of any line anywhere in the pass [rad].

    It is 0 where a can is lifted or overturned, and the stance's own where nothing sprays.
    """
    if forces is None:
        return stance.balance_angle_rad
    push, moment = forces.hardest
    normal = stance.weight_N + push
    if float(normal[0]) <= 0.0:
        return 0.0
    most = float((moment / normal).max()) / stance.arm_mm
    return max(0.0, stance.balance_angle_rad - math.asin(min(1.0, most)))


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


def balance_under_load_rad(stance: Stance, normal_N: ArrayLike, moment_N_mm: ArrayLike) -> Floats:
    """Balance angle under a steady load, α_e = α − asin(min(1, |B| / (N ρ))), 0 at least [rad].

    Parameters
    ----------
    stance : Stance
        The can as it stands.
    normal_N, moment_N_mm : array_like, of one shape
        Net push on the mat N, and overturning moment B in its worst direction [N], [N·mm].

    Returns
    -------
    ndarray
        Balance angle left; 0 where the can is lifted, N <= 0 [rad].

    Notes
    -----
    About the rim, a lean θ rights with N ρ sin(α − θ), ρ the arm to the centre of gravity; it
    balances the load at sin(α − θ) = B / (N ρ). Derived here; the spray's vertical push is taken to
    act like weight.
    """
    normal, turn = np.asarray(normal_N), np.abs(np.asarray(moment_N_mm))
    held = normal > 0.0
    ratio = np.divide(turn, normal * stance.arm_mm, out=np.ones(turn.shape), where=held)
    lost = np.arcsin(np.minimum(ratio, 1.0))
    return np.asarray(np.where(held, np.maximum(stance.balance_angle_rad - lost, 0.0), 0.0))


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
        got = caught(patch, at[0], at[1], stance.radius_mm)
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
