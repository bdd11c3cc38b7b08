"""How far each can of a pack can lean, in every direction, while the others stand upright."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from packsim.arrays import Bools, Floats
from packsim.can import Stance
from packsim.constants import CONTACT_TOL_REL
from packsim.errors import InputError, positive
from packsim.pack.state import neighbour_lists
from packsim.tipping.neighbours import Around, around
from packsim.tipping.safe_slack import checked_balance_rad, lean_index
from packsim.tipping.worst_direction import lean_along_rad, refine_worst

_NEAR_REL = 0.7
"""First look for neighbours as far as this many diameters of gap: one ring of a close pack."""

_BLOCK = 4096
"""Cans handled at once, so that the arrays of one direction stay in a core's cache."""

HALF_TURN_TOL_RAD = 1e-6
"""A gap within this of a half turn is a half turn.

Contacts are known to `CONTACT_TOL_REL` of a diameter, so their bearings are no better than that.
"""


@dataclass(frozen=True, slots=True, eq=False)
class LeanEnvelope:
    """Own lean of n cans: how far each leans before something upright stops it.

    Parameters
    ----------
    lean_rad : ndarray, shape (n, k)
        Lean in each direction; π/2 where nothing stops the can [rad].
    directions_rad : ndarray, shape (k,)
        Bearings from +x (travel) towards +y (right guide) [rad].
    worst_rad, worst_direction_rad : ndarray, shape (n,)
        Largest lean over all directions, between those of the grid too, and its bearing [rad].
    index : ndarray, shape (n,)
        Worst lean over the balance angle [-]; infinite where nothing stops the can.
    held : ndarray of bool, shape (n,)
        Cans that contacts hold in every direction.
    """

    lean_rad: Floats
    directions_rad: Floats
    worst_rad: Floats
    worst_direction_rad: Floats
    index: Floats
    held: Bools

    def __len__(self) -> int:
        return int(self.worst_rad.shape[0])


def own_lean(
    centres_mm: Floats,
    stance: Stance,
    *,
    left_mm: ArrayLike,
    right_mm: ArrayLike,
    wire_heights_mm: Sequence[float],
    period_mm: float | None = None,
    balance_rad: float | None = None,
    directions: int = 36,
    refine: bool = True,
) -> LeanEnvelope:
    """Lean of every can in every direction, its neighbours standing still and upright.

    Parameters
    ----------
    centres_mm : ndarray, shape (n, 2)
        Can centres, x along travel, y across [mm].
    stance : Stance
        The can as it stands.
    left_mm, right_mm : array_like, scalars or shape (n,)
        Guide faces, at each can if they are not straight [mm].
    wire_heights_mm : sequence of float
        Guide wire heights [mm].
    period_mm : float, optional
        Length after which the pack repeats along x [mm].
    balance_rad : float, optional
        Balance angle under load; the stance's own by default [rad].
    directions : int
        Number of equally spaced bearings, at least 3 [-].
    refine : bool
        Look for the worst lean between the bearings of the grid too.

    Returns
    -------
    LeanEnvelope
        Leans, worst leans, tip indices and held cans.

    Raises
    ------
    InputError
        If shapes do not match or a value is out of range.

    Notes
    -----
    A can leaning by θ moves its top edge out by H sin θ, so a neighbour at free travel δ
    (`packsim.tipping.worst_direction.free_travel_mm`) stops it at asin(δ / H), a wire at
    `packsim.tipping.neighbours.wire_lean_rad`. The top is moved flat: its tilt makes the circle
    an ellipse and puts the touching point off the top edge. Head-on that changes nothing; off the
    line between the centres the flat lean is within 0.5 % up to 0.1 rad and within 2.1 % up to
    0.3 rad (against the tilted cylinder, in tests/tipping/test_lean.py). Guides are taken as
    parallel to travel at each can.

    Neighbours are looked for within 0.7 D first. A can whose lean could reach past those is asked
    again with everybody within its height, so the answer does not depend on the first look.
    """
    positions = np.asarray(centres_mm, dtype=np.float64)
    if positions.ndim != 2 or positions.shape[1] != 2 or not np.isfinite(positions).all():
        raise InputError("centres_mm", positions.shape, "finite numbers of shape (n, 2)")
    if directions < 3:
        raise InputError("directions", directions, "at least 3")
    for z in wire_heights_mm:
        positive("wire_heights_mm", z)
    alpha = checked_balance_rad(stance, balance_rad)
    left_gap = _gap_mm(positions[:, 1] - stance.radius_mm, left_mm, "left_mm")
    right_gap = -_gap_mm(positions[:, 1] + stance.radius_mm, right_mm, "right_mm")

    def within(gap_mm: float) -> Around:
        """Surroundings of every can out to a gap."""
        cutoff = stance.diameter_mm + gap_mm
        indptr, _, vectors = neighbour_lists(positions, cutoff, period_mm)
        return around(indptr, vectors, left_gap, right_gap, stance, wire_heights_mm)

    bearings = 2.0 * math.pi * np.arange(directions) / directions
    near = _NEAR_REL * stance.diameter_mm
    what = within(min(near, stance.height_mm))
    lean, worst, bearing = _envelope(what, bearings, refine)
    held = largest_gap_rad(contact_bearings_rad(what, CONTACT_TOL_REL * stance.diameter_mm))
    again = np.flatnonzero(stance.height_mm * np.sin(worst) > near)
    if again.size and near < stance.height_mm:
        far = within(stance.height_mm).take(again)
        lean[again], worst[again], bearing[again] = _envelope(far, bearings, refine)
    return LeanEnvelope(
        lean_rad=lean,
        directions_rad=bearings,
        worst_rad=worst,
        worst_direction_rad=bearing,
        index=lean_index(worst, alpha),
        held=held < math.pi - HALF_TURN_TOL_RAD,
    )


def _gap_mm(wall_mm: Floats, face_mm: ArrayLike, key: str) -> Floats:
    faces = np.asarray(face_mm, dtype=np.float64)
    if faces.shape not in ((), wall_mm.shape) or not np.isfinite(faces).all():
        raise InputError(key, faces.shape, "one finite face, or one for each can")
    return wall_mm - faces


def _envelope(what: Around, bearings_rad: Floats, refine: bool) -> tuple[Floats, Floats, Floats]:
    """Leans on the grid, worst lean and its bearing, block by block."""
    n = len(what)
    lean = np.empty((n, bearings_rad.size))
    worst, bearing = np.empty(n), np.empty(n)
    for start in range(0, n, _BLOCK):
        cans = slice(start, min(start + _BLOCK, n))
        block = what.take(cans)
        for k, angle in enumerate(bearings_rad):
            lean[cans, k] = lean_along_rad(block, math.cos(angle), math.sin(angle))
        best = lean[cans].argmax(axis=1)
        worst[cans] = lean[cans].max(axis=1)
        bearing[cans] = bearings_rad[best]
        if refine:
            worst[cans], bearing[cans] = refine_worst(block, worst[cans], bearing[cans])
    return lean, worst, bearing


def largest_gap_rad(bearings_rad: ArrayLike) -> Floats:
    """Largest angle between neighbouring bearings, around the full turn [rad].

    Parameters
    ----------
    bearings_rad : array_like, shape (m,) or (m, n)
        Bearings of the contacts of one can, or of n cans in columns; NaN in unused places [rad].

    Returns
    -------
    ndarray, shape () or (n,)
        Largest gap; a full turn with one bearing or none [rad].

    Examples
    --------
    >>> float(np.degrees(largest_gap_rad(np.radians([0.0, 120.0, 240.0]))))
    120.0
    """
    bearings = np.sort(np.mod(np.asarray(bearings_rad, dtype=np.float64), 2.0 * math.pi), axis=0)
    if bearings.shape[0] == 0:
        return np.full(bearings.shape[1:], 2.0 * math.pi)
    last = np.fmax.reduce(bearings, axis=0)  # NaN sorts to the end, so the last may be NaN
    around_the_turn = np.where(np.isnan(last), 2.0 * math.pi, bearings[0] + 2.0 * math.pi - last)
    between = np.nan_to_num(np.diff(bearings, axis=0), nan=0.0).max(axis=0, initial=0.0)
    gap: Floats = np.maximum(between, around_the_turn)
    return gap


def contact_bearings_rad(what: Around, touch_mm: float) -> Floats:
    """Bearings of all contacts of each can, guides included [rad].

    Parameters
    ----------
    what : Around
        The surroundings of n cans.
    touch_mm : float
        Largest gap that counts as a contact [mm].

    Returns
    -------
    ndarray, shape (m + 2, n)
        Bearing from +x towards +y, NaN where there is no contact [rad]. A guide counts if at least
        one wire is below the can's top.
    """
    touching = what.power_mm2 <= touch_mm * (2.0 * what.diameter_mm + touch_mm)
    neighbours = np.where(touching, np.arctan2(what.y_mm, what.x_mm), np.nan)
    wired = any(z < what.height_mm for z in what.wire_heights_mm)
    right = np.where(wired & (what.right_gap_mm <= touch_mm), math.pi / 2.0, np.nan)
    left = np.where(wired & (what.left_gap_mm <= touch_mm), -math.pi / 2.0, np.nan)
    return np.vstack((neighbours, right, left))
