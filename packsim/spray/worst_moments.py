"""Where and in which direction the sprays leave a can least: the worst over lines and places."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike

from packsim.arrays import Floats, Ints
from packsim.can import Stance
from packsim.line import Header
from packsim.spray.greatest_moments import greatest_moments
from packsim.spray.jets import footprint_of
from packsim.spray.leaning import lean_nodes_rad, tipped_under_load, tipping_moment_N_mm
from packsim.spray.spray_load import Under, stretches_under
from packsim.spray.sprays import leaning_sprays

DIRECTIONS_RAD: Floats = np.arange(12, dtype=np.float64) * (math.pi / 6.0)
"""Directions looked at for the worst: along, straight across, and where cans of a pack touch."""

_NEARLY = 0.9  # of the weight: between the places looked at they push up a little more

_CUBIC = 3  # moments between leans are cubics through four, the first ones through the first four
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

    def tips(
        self, stance: Stance | Sequence[Stance], harder: ArrayLike = 1.0
    ) -> tuple[Floats, Floats]:
        """Return least balance angle and energy to it anywhere by direction, shape (..., d) each.

        The first lean at which the largest moment tips the can is the least of the leans at which
        each moment does; the energy is a lower bound [rad], [mJ]. ``harder``, shape (...),
        multiplies the forces; below 1 moments that were drawn on may count. Of several stances
        each has its own.
        """
        moments = np.multiply.outer(np.asarray(harder), self.most_N_mm)
        return tipped_under_load(moments, self.leans_rad, stance)

    def may_lift(self, stance: Stance) -> bool:
        """Whether the sprays may lift an upright can off the mat; where not, nowhere do they.

        What they push up is B·u − R T and B·(−u) − R T added: no more than both of the largest.
        """
        both = self.most_N_mm[: len(DIRECTIONS_RAD) // 2, 0]
        both = both + self.most_N_mm[len(DIRECTIONS_RAD) // 2 :, 0]
        most_N = float(both.min()) / (2.0 * stance.radius_mm)
        return most_N >= _NEARLY * stance.weight_N


def worst_moments(
    lines_on_mat_mm: Sequence[float],
    stances: Sequence[Stance],
    headers: Sequence[Header],
    open_fraction: float,
) -> WorstMoments:
    """Return the largest moments of a stage's sprays, by direction and lean.

    Parameters
    ----------
    lines_on_mat_mm : sequence of float
        Lines of can centres from the mat's left edge, at least one [mm].
    stances : sequence of Stance
        The can as it may stand. Past the lean where each of them has tipped, one more and the first
        four are worked out, which the cubics between need; then moments are drawn on straight.
    headers, open_fraction
        As for `spray_load`; at least one header.

    Returns
    -------
    WorstMoments
        Of 33 places or more along each header's reach and 12 directions; the angles that follow are
        within 0.25° of ten times as many (measured in tests).
    """
    most = max(stance.balance_angle_rad for stance in stances)
    leans = lean_nodes_rad(most)
    found = stretch_moments(lines_on_mat_mm, stances, headers, open_fraction, leans)
    return WorstMoments(leans, np.max([moments for _, moments in found], axis=0))


def stretch_moments(
    lines_on_mat_mm: Sequence[float],
    stances: Sequence[Stance],
    headers: Sequence[Header],
    open_fraction: float,
    leans_rad: Floats,
) -> list[tuple[Under, Floats]]:
    """Return the largest moments under each stretch of headers, those of like stretches equal.

    Parameters
    ----------
    lines_on_mat_mm, stances, headers, open_fraction
        As for `worst_moments`; diameter and height are those of the first stance.
    leans_rad : ndarray, shape (k,)
        Leans, from 0 to the largest a can may have to balance at [rad].

    Returns
    -------
    list of (Under, ndarray of shape (d, k))
        In order along travel; moments as of `WorstMoments` [N·mm].
    """
    lines, body = tuple(float(line) for line in lines_on_mat_mm), stances[0]
    rights = tuple(
        max(s.weight_N * s.arm_mm * math.sin(s.balance_angle_rad - lean) for s in stances)
        for lean in leans_rad
    )
    size, most = (body.diameter_mm, body.height_mm), float(leans_rad[-1])
    return [
        (one, _worst_of(lines, size, one.headers, one.length_mm, open_fraction, most, rights))
        for one in stretches_under(headers, body, most)
    ]


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
        along = _places_mm(under.headers, under.length_mm, stance.height_mm)
        place = along[:, None, None], lines, directions_rad
        moment = tipping_moment_N_mm(under.headers, stance, open_fraction, *place, leans)
        balance, _ = tipped_under_load(moment, leans, stance)
        first = int(np.argmax(balance <= balance.min() + 1e-12))  # of mirror images too
        i, line, k = np.unravel_index(first, balance.shape)
        if float(balance[i, line, k]) < least:
            least = float(balance[i, line, k])
            found = int(line), under.start_mm + float(along[i]), float(directions_rad[k])
    return found


@lru_cache(maxsize=512)
def _worst_of(
    lines_mm: tuple[float, ...],
    size_mm: tuple[float, float],
    headers: tuple[Header, ...],
    length_mm: float,
    open_fraction: float,
    most_lean_rad: float,
    rights_N_mm: tuple[float, ...],
) -> Floats:
    body = Stance(*size_mm, mass_kg=1.0, cg_mm=size_mm[1] / 2.0)
    along = _places_mm(headers, length_mm, body.height_mm)
    lines, leans = np.array(lines_mm), lean_nodes_rad(most_lean_rad)
    sprays = leaning_sprays(headers, body, open_fraction, leans)
    most = np.zeros((len(DIRECTIONS_RAD), len(leans)))
    alike, once = _alike(headers, lines)
    done = tipped = np.zeros(len(DIRECTIONS_RAD), np.bool_)
    for k in range(len(leans)):
        most[:, k] = 2.0 * most[:, k - 1] - most[:, k - 2]
        on = once[~done[once]] if k else np.arange(len(DIRECTIONS_RAD))
        asked = along, lines, DIRECTIONS_RAD[on]
        found = greatest_moments(sprays.at_lean(k, len(leans)), 1, body.radius_mm, *asked)
        most[on, k] = found[..., 0].max(axis=0)
        most[:, k] = most[alike, k] if k else most[:, k]
        done = tipped if k >= _CUBIC else done
        tipped = tipped | (most[:, k] >= rights_N_mm[k])
    return most


def _alike(headers: tuple[Header, ...], lines_mm: Floats) -> tuple[Ints, Ints]:
    """One direction each of those in which sprays do the same, and these directions once.

    Mirrored along travel, sprays at one station that are not turned do the same; mirrored across,
    those of headers that stand with the lines about one middle; turned by half, if both hold but
    for the turn of a fan.
    """
    straight = all(h.nozzle.round or h.nozzle.twist_rad == 0.0 for h in headers)
    along = len({h.station_mm for h in headers}) == 1
    middles = [h.first_mm + (h.count - 1) * h.pitch_mm / 2.0 for h in headers]
    sums = lines_mm + lines_mm[::-1]
    across = all(np.allclose(sums, 2.0 * middle, rtol=0.0, atol=1e-9) for middle in middles)
    count = len(DIRECTIONS_RAD)
    number = np.arange(count)
    mirrors = [(count // 2 - number, along and straight), (-number, across and straight)]
    images = [image % count for image, holds in mirrors if holds]
    if along and across:
        images.append((number + count // 2) % count)
    for image in images:
        number = np.minimum(number, number[image])
    return number, np.unique(number)


def _places_mm(headers: tuple[Header, ...], length_mm: float, height_mm: float) -> Floats:
    """Places along a stretch under headers, from its start; fine jets are looked at closely."""
    fine = min(footprint_of(h, height_mm).half_along_mm for h in headers) / 3.0
    count = _PLACES * len({round(h.station_mm, 6) for h in headers})
    return np.linspace(0.0, length_mm, max(count, math.ceil(length_mm / max(fine, _FINEST_MM))))
