"""How far each can of a pack can lean, in every direction, while the others stand upright."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from packsim.arrays import Bools, Floats, Ints
from packsim.can import Stance
from packsim.compiled import run
from packsim.constants import CONTACT_TOL_REL
from packsim.errors import InputError, positive
from packsim.pack.neighbours import kinds, neighbour_lists
from packsim.tipping.stops import lean_index, wire_lean_rad
from packsim.tipping.worst_direction import free_travels_mm, worst_leans_rad

NEAR_REL = 0.7
"""First look for neighbours as far as this many diameters of gap: one ring of a close pack."""

_FEW_CANS = 1000
"""Among this many it pays to look for cans that are alike, of which one is asked for all."""

_WORST_TURNS = 600
"""Turns of the inner loops for the worst lean of one can, roughly."""

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
    `packsim.tipping.stops.wire_lean_rad`. The top is moved flat: its tilt makes the circle
    an ellipse and puts the touching point off the top edge. Head-on that changes nothing; off the
    line between the centres the flat lean is within 0.5 % up to 0.1 rad and within 2.1 % up to
    0.3 rad (against the tilted cylinder, in tests/tipping/test_lean.py). Guides are taken as
    parallel to travel at each can.

    Neighbours are looked for within 0.7 D first. A can whose lean could reach past those is asked
    again with everybody within its height, so the answer does not depend on the first look. Cans
    with the same surroundings, as most of a regular pack have, are asked once.
    """
    positions = np.asarray(centres_mm, dtype=np.float64)
    if positions.ndim != 2 or positions.shape[1] != 2 or not np.isfinite(positions).all():
        raise InputError("centres_mm", positions.shape, "finite numbers of shape (n, 2)")
    if directions < 3:
        raise InputError("directions", directions, "at least 3")
    for z in wire_heights_mm:
        positive("wire_heights_mm", z)
    alpha = stance.balance_under_load_rad(balance_rad)
    left_gap = _gap_mm(positions[:, 1] - stance.radius_mm, left_mm, "left_mm")
    right_gap = -_gap_mm(positions[:, 1] + stance.radius_mm, right_mm, "right_mm")
    bearings = 2.0 * math.pi * np.arange(directions) / directions
    around = _Around(
        positions, period_mm, left_gap, right_gap, stance, wires_mm=tuple(wire_heights_mm)
    )
    everybody = np.ones(len(positions), dtype=np.bool_)
    near = min(NEAR_REL * stance.diameter_mm, stance.height_mm)
    lean, worst, bearing, held = around.leans(near, everybody, bearings, refine)
    again = stance.height_mm * np.sin(worst) > near
    if again.any():
        found = around.leans(stance.height_mm, again, bearings, refine)
        lean[again], worst[again], bearing[again], _ = found
    index = lean_index(worst, alpha)
    return LeanEnvelope(lean, bearings, worst, bearing, index, held=held)


def _gap_mm(wall_mm: Floats, face_mm: ArrayLike, key: str) -> Floats:
    faces = np.asarray(face_mm, dtype=np.float64)
    if faces.shape not in ((), wall_mm.shape) or not np.isfinite(faces).all():
        raise InputError(key, faces.shape, "one finite face, or one for each can")
    return wall_mm - faces


@dataclass(frozen=True, slots=True, eq=False)
class _Around:
    """What stands around the cans of a pack: each other and the guides, as in `own_lean`."""

    centres_mm: Floats
    period_mm: float | None
    left_gap_mm: Floats
    right_gap_mm: Floats
    stance: Stance
    wires_mm: tuple[float, ...]

    def leans(
        self, gap_mm: float, asked: Bools, bearings_rad: Floats, refine: bool
    ) -> tuple[Floats, Floats, Floats, Bools]:
        """Leans on the grid, worst lean, its bearing, and whether held, of the cans asked."""
        diameter, height = self.stance.diameter_mm, self.stance.height_mm
        cutoff = diameter + gap_mm
        indptr, _, x, y = neighbour_lists(self.centres_mm, cutoff, self.period_mm, asked)
        cans = np.flatnonzero(asked)
        kind, once = self._alike(cans, indptr, x, y)
        cans = cans[once]
        lists = cans, indptr, x, y, x * x + y * y - diameter**2
        cos, sin = (np.array([f(b) for b in bearings_rad]) for f in (math.cos, math.sin))
        turns = cans.size * bearings_rad.size * 6
        brushed = CONTACT_TOL_REL * diameter
        travel = run(free_travels_mm, turns, *lists, brushed, cos, sin)
        lean = np.arcsin(np.clip(travel / height, 0.0, 1.0))
        gaps = self.left_gap_mm, self.right_gap_mm
        for gap, toward in zip(gaps, (-sin, sin), strict=True):
            near, facing = np.flatnonzero(gap[cans] < height), np.flatnonzero(toward > 0.0)
            wired = np.ix_(near, facing)
            on_wire = wire_lean_rad(gap[cans[near], None], self.wires_mm, height, toward[facing])
            lean[wired] = np.minimum(lean[wired], on_wire)
        best = lean.argmax(axis=1)
        worst, bearing = lean[np.arange(cans.size), best], bearings_rad[best]
        if refine:
            wires = np.array(self.wires_mm, dtype=np.float64)
            given = *lists, *gaps, wires, diameter, height, worst, bearing
            worst, bearing = run(worst_leans_rad, cans.size * _WORST_TURNS, *given)
        return lean[kind], worst[kind], bearing[kind], self._held(*lists)[kind]

    def _alike(self, cans: Ints, indptr: Ints, x: Floats, y: Floats) -> tuple[Ints, Ints]:
        """Kind of each can, and one of each kind: alike to a rounding, whatever their order."""
        if cans.size > _FEW_CANS:
            return np.arange(cans.size), np.arange(cans.size)
        gaps = np.minimum((self.left_gap_mm, self.right_gap_mm), self.stance.height_mm).round(9)
        vectors = list(zip(x.round(9).tolist(), y.round(9).tolist(), strict=True))
        return kinds(
            [
                (*gap, *sorted(vectors[indptr[can] : indptr[can + 1]]))
                for can, gap in zip(cans.tolist(), gaps[:, cans].T.tolist(), strict=True)
            ]
        )

    def _held(self, cans: Ints, indptr: Ints, x: Floats, y: Floats, power: Floats) -> Bools:
        """Whether contacts hold cans in every direction; a guide with a wire low enough counts."""
        touch = CONTACT_TOL_REL * self.stance.diameter_mm
        owner = np.repeat(np.arange(indptr.size - 1), np.diff(indptr))
        meets = power <= touch * (2.0 * self.stance.diameter_mm + touch)
        wired = min(self.wires_mm, default=math.inf) < self.stance.height_mm
        right, left = (
            np.flatnonzero((gap <= touch) & wired) for gap in (self.right_gap_mm, self.left_gap_mm)
        )
        at_guide = np.repeat((math.pi / 2.0, -math.pi / 2.0), (right.size, left.size))
        bearings = np.concatenate((np.arctan2(y[meets], x[meets]), at_guide))
        owners = np.concatenate((owner[meets], right, left))
        gaps = largest_gaps_rad(owners, bearings, indptr.size - 1)
        return np.asarray(gaps[cans] < math.pi - HALF_TURN_TOL_RAD)


def largest_gaps_rad(owner: Ints, bearings_rad: Floats, cans: int) -> Floats:
    """Largest angle between neighbouring bearings of each can, around the full turn [rad].

    Parameters
    ----------
    owner : ndarray of int, shape (m,)
        Which can each bearing belongs to.
    bearings_rad : ndarray, shape (m,)
        Bearings of the contacts [rad].
    cans : int
        How many cans there are.

    Returns
    -------
    ndarray, shape (cans,)
        Largest gap; a full turn with one bearing or none [rad].

    Examples
    --------
    >>> np.degrees(largest_gaps_rad(np.zeros(3, int), np.radians([0.0, 120.0, 240.0]), 1)).tolist()
    [120.0]
    """
    gap = np.full(cans, 2.0 * math.pi)
    turned = np.mod(bearings_rad, 2.0 * math.pi)
    order = np.lexsort((turned, owner))
    owner, turned = owner[order], turned[order]
    starts = np.flatnonzero(np.diff(owner, prepend=-1))
    following = np.append(turned[1:], 0.0)
    following[np.flatnonzero(np.diff(owner, append=-1))] = turned[starts] + 2.0 * math.pi
    gap[owner[starts]] = np.maximum.reduceat(following - turned, starts)
    return gap
