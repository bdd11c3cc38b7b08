"""What the jets do to the stance of a can: how hard they press, push and turn it as it passes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from packsim.arrays import Bools, Floats
from packsim.assumption import Assumption
from packsim.can import Stance
from packsim.check import between
from packsim.errors import InputError
from packsim.line import Header
from packsim.nozzles.lane_lines import checked_places
from packsim.spray.footprint import Footprint, footprint_of
from packsim.spray.jet_forces import Forces, header_forces

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


@dataclass(frozen=True, slots=True, eq=False)
class SprayLoad:
    """Load of the sprays on a can of each line, at the place along travel where it holds least.

    Parameters
    ----------
    top_N, bottom_N : ndarray, shape (m,)
        Push down from above and up from below [N].
    lateral_N : ndarray, shape (m, 2)
        Sideways push, along travel and across the mat [N].
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
    worst_offset_mm : ndarray, shape (m,)
        Place of least hold from the station of the header nearest to it, positive after it [mm];
        0 where there is no header.
    worst_header : ndarray of int, shape (m,)
        Number of that header in the order given; −1 where there is none.
    """

    top_N: Floats
    bottom_N: Floats
    lateral_N: Floats
    moment_N_mm: Floats
    normal_N: Floats
    hold_margin: Floats
    lifted: Bools
    balance_rad: Floats
    worst_offset_mm: Floats
    worst_header: NDArray[np.intp]


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
        Places along travel looked at under each header, odd so that its station is one [-].

    Returns
    -------
    SprayLoad
        By line.

    Raises
    ------
    InputError
        If there is no line, a header above is no higher than the can tops, or a value is out of
        range.

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
    along its own line, so no arm is left, wherever it lands inside. The effective balance angle is
    α − asin(min(1, |B|/(N ρ))), 0 for a lifted can. The margin found
    is an upper bound of the pass; at 121 samples it is within 0.0005 of a scan twenty times finer
    (measured in tests).
    """
    lines = checked_places("lines_on_mat_mm", lines_on_mat_mm)
    between("open_fraction", open_fraction, 0.0, 1.0)
    if not 3 <= samples <= 10_001:
        raise InputError("samples", samples, "3 to 10001")
    patches = [footprint_of(h, stance.height_mm) for h in headers]
    places = spray_places_mm(headers, patches, stance.radius_mm, samples)
    forces = Forces.none(len(lines), len(places))
    for header, patch in zip(headers, patches, strict=True):
        forces += header_forces(header, patch, lines, places, stance, open_fraction)
    normal = stance.weight_N + forces.top_N - forces.bottom_N
    turn = np.hypot(forces.moment_N_mm[0], forces.moment_N_mm[1])
    margin = (normal * stance.radius_mm - turn) / (stance.weight_N * stance.radius_mm)
    balance = balance_under_load_rad(stance, normal, turn)
    at = np.argmin(margin, axis=1)
    row = np.arange(len(lines))
    offset, number = _nearest_header(places[at], headers)
    return SprayLoad(
        top_N=forces.top_N[row, at],
        bottom_N=forces.bottom_N[row, at],
        lateral_N=forces.lateral_N[:, row, at].T,
        moment_N_mm=forces.moment_N_mm[:, row, at].T,
        normal_N=normal[row, at],
        hold_margin=margin[row, at],
        lifted=np.any(normal <= 0.0, axis=1),
        balance_rad=np.min(balance, axis=1),
        worst_offset_mm=offset,
        worst_header=number,
    )


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


def _nearest_header(places: Floats, headers: Sequence[Header]) -> tuple[Floats, NDArray[np.intp]]:
    if not headers:
        return np.zeros(len(places)), np.full(len(places), -1, dtype=np.intp)
    stations = np.array([h.station_mm for h in headers])
    off = places[:, None] - stations
    number = np.argmin(np.abs(off), axis=1)
    return off[np.arange(len(places)), number], number
