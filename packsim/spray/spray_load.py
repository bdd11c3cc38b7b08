"""What the jets do to a can as it passes: how hard they press, push and turn it."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike

from packsim.arrays import Bools, Floats
from packsim.can import Stance
from packsim.errors import Assumption
from packsim.line import Header
from packsim.spray.jets import footprint_of
from packsim.spray.leaning import lean_nodes_rad, tipped_under_load, tipping_moment_N_mm
from packsim.spray.spray_forces import SprayForces, spray_forces
from packsim.spray.under_headers import Under, stretches_under

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
    """Load of the sprays on an upright can of each line, where along travel it holds least.

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
    """

    moment_N_mm: Floats
    normal_N: Floats
    hold_margin: Floats
    lifted: Bools


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
    return spray_loads(lines_on_mat_mm, (stance,), headers, open_fraction, samples)[0]


def spray_loads(
    lines_on_mat_mm: ArrayLike,
    stances: Sequence[Stance],
    headers: Sequence[Header],
    open_fraction: float,
    samples: int = 121,
) -> tuple[SprayLoad, ...]:
    """Return `spray_load` of the same can with more or less water in its dome."""
    under = {one.headers: one.start_mm for one in stretches_under(headers, stances[0])}
    distinct = [
        replace(header, station_mm=header.station_mm + start)
        for group, start in under.items()
        for header in group
    ]
    forces = spray_forces(lines_on_mat_mm, stances[0], distinct, open_fraction, samples)
    return tuple(_load_on(stance, forces) for stance in stances)


def _load_on(stance: Stance, forces: SprayForces) -> SprayLoad:
    normal, turn = stance.weight_N + forces.down_N, forces.turn_N_mm
    margin = (normal * stance.radius_mm - turn) / (stance.weight_N * stance.radius_mm)
    at = np.argmin(margin, axis=1)
    row = np.arange(len(turn))
    return SprayLoad(
        moment_N_mm=forces.moment_N_mm[:, row, at].T,
        normal_N=normal[row, at],
        hold_margin=margin[row, at],
        lifted=np.any(normal <= 0.0, axis=1),
    )


DIRECTIONS_RAD: Floats = np.arange(12, dtype=np.float64) * (math.pi / 6.0)
"""Directions looked at for the worst: along, straight across, and where cans of a pack touch."""

_FINEST_MM = 2.0
_PLACES = 33  # at least, along the reach of headers that strike a can together


@dataclass(frozen=True, slots=True, eq=False)
class WorstMoments:
    """Largest moment of a stage's sprays on a can of any line anywhere along the stage.

    Parameters
    ----------
    leans_rad : ndarray, shape (k,)
        Leans [rad].
    most_N_mm : ndarray, shape (d, k)
        Moment by direction (`DIRECTIONS_RAD`) and lean; see `tipping_moment_N_mm` [N·mm].
    """

    leans_rad: Floats
    most_N_mm: Floats

    def tips(self, stance: Stance, harder: float = 1.0) -> tuple[Floats, Floats]:
        """Return least balance angle and energy to it anywhere by direction, shape (d,) each.

        The first lean at which the largest moment tips the can is the least of the leans at which
        each moment does; the energy is a lower bound [rad], [mJ]. ``harder`` multiplies the forces.
        """
        return tipped_under_load(harder * self.most_N_mm, self.leans_rad, stance)


def worst_moments(
    lines_on_mat_mm: Sequence[float],
    stances: Sequence[Stance],
    headers: Sequence[Header],
    open_fraction: float,
) -> WorstMoments:
    """Return the largest moments of a stage's sprays, by direction and lean.

    Parameters
    ----------
    lines_on_mat_mm, headers, open_fraction
        As for `spray_load`; at least one line and one header.
    stances : sequence of Stance
        The can as it may stand; past the lean where each of them has tipped the moments are drawn
        on straight.

    Returns
    -------
    WorstMoments
        Of 33 places or more along each header's reach and 12 directions; the angles that follow are
        within 0.25° of ten times as many (measured in tests).
    """
    lines = tuple(float(line) for line in lines_on_mat_mm)
    most = max(stance.balance_angle_rad for stance in stances)
    leans, body = lean_nodes_rad(most), stances[0]
    rights = tuple(
        max(s.weight_N * s.arm_mm * math.sin(s.balance_angle_rad - lean) for s in stances)
        for lean in leans
    )
    size = body.diameter_mm, body.height_mm
    alike = {one.headers: one for one in stretches_under(headers, body, most)}.values()
    found = [_worst_of(lines, size, one, open_fraction, most, rights) for one in alike]
    return WorstMoments(leans, np.max(found, axis=0))


def worst_place(
    lines_on_mat_mm: ArrayLike,
    stance: Stance,
    headers: Sequence[Header],
    open_fraction: float,
    directions_rad: Floats,
) -> tuple[int, float, float]:
    """Return where along a stage and in which of some directions a can balances least.

    Parameters
    ----------
    lines_on_mat_mm, stance, headers, open_fraction
        As for `spray_load`; at least one header.
    directions_rad : ndarray
        Directions of the lean [rad].

    Returns
    -------
    line : int
        Which of the lines.
    along_mm, direction_rad : float
        Place along the stage, and the direction [mm], [rad].
    """
    own = stance.balance_angle_rad
    leans, lines = lean_nodes_rad(own), np.asarray(lines_on_mat_mm)[:, None]
    least, found = math.inf, (0, 0.0, 0.0)
    for under in stretches_under(headers, stance, own):
        along = _places_mm(under, stance.height_mm)
        place = along[:, None, None], lines, directions_rad
        moment = tipping_moment_N_mm(under.headers, stance, open_fraction, *place, leans)
        balance, _ = tipped_under_load(moment, leans, stance)
        i, line, k = np.unravel_index(int(balance.argmin()), balance.shape)
        if float(balance[i, line, k]) < least:
            least = float(balance[i, line, k])
            found = int(line), under.start_mm + float(along[i]), float(directions_rad[k])
    return found


@lru_cache(maxsize=512)
def _worst_of(
    lines_mm: tuple[float, ...],
    size_mm: tuple[float, float],
    under: Under,
    open_fraction: float,
    most_lean_rad: float,
    rights_N_mm: tuple[float, ...],
) -> Floats:
    body = Stance(*size_mm, mass_kg=1.0, cg_mm=size_mm[1] / 2.0)
    along = _places_mm(under, body.height_mm)[:, None, None]
    lines, leans = np.array(lines_mm)[:, None], lean_nodes_rad(most_lean_rad)
    most = np.zeros((len(DIRECTIONS_RAD), len(leans)))
    tipped = np.zeros(len(DIRECTIONS_RAD), dtype=np.int64)  # leans past the one that tips all
    for k in range(len(leans)):
        most[:, k] = 2.0 * most[:, k - 1] - most[:, k - 2]
        on = np.flatnonzero(tipped < 2)
        place = along, lines, DIRECTIONS_RAD[on]
        moment = tipping_moment_N_mm(under.headers, body, open_fraction, *place, leans[k : k + 1])
        most[on, k] = moment[..., 0].max(axis=(0, 1))
        tipped[on] += most[on, k] >= rights_N_mm[k]
    return most


def _places_mm(under: Under, height_mm: float) -> Floats:
    """Places along a stretch under headers, from its start; fine jets are looked at closely."""
    length = under.stop_mm - under.start_mm
    fine = min(footprint_of(h, height_mm).half_along_mm for h in under.headers) / 3.0
    count = _PLACES * len({round(h.station_mm, 6) for h in under.headers})
    return np.linspace(0.0, length, max(count, math.ceil(length / max(fine, _FINEST_MM))))
