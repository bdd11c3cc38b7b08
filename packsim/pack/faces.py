"""Cut the strip between the guides into Delaunay triangles of the can centres.

The centres are mirrored at both guides and repeated along travel. A triangle across a guide then
always belongs to a trapezoid that is its own mirror image (see Notes of `faces_between`), so the
half of it inside the strip is a guide face: two cans and the feet of their perpendiculars.
"""

from dataclasses import dataclass

import numpy as np
import shapely

from packsim.arrays import Bools, Floats, Ints
from packsim.constants import NUDGE_REL
from packsim.errors import ConvergenceError, InputError

HOME, LEFT, RIGHT, FAR = 0, 1, 2, 3


@dataclass(frozen=True, slots=True, eq=False)
class Faces:
    """Triangles of three cans and guide faces of two, which tile one period of the strip.

    Parameters
    ----------
    corners_mm : ndarray, shape (f, 4, 2)
        A triangle's corners, the last repeated; or can, can, foot of the second, foot of the
        first. x may run past the period's ends [mm].
    guide : ndarray of int, shape (f,)
        0 for a triangle, 1 for a face at the left guide, 2 at the right one.
    area_mm2 : ndarray, shape (f,)
        Area, cans included [mm²].
    side : ndarray of int, shape (f, 3)
        Name of each side through which faces may join; two faces with one name share the side.
        A triangle's sides run from corner 0 to 1, 1 to 2 and 2 to 0. A guide face has the side
        between its cans and the two from can to foot, second can first.
    opening_mm : ndarray, shape (f, 3)
        Distance between the cans at the ends of a side; the image counts at a foot [mm].
    ahead : ndarray of bool, shape (f, 3)
        Whether a side's name reads from its first corner to its second.
    """

    corners_mm: Floats
    guide: Ints
    area_mm2: Floats
    side: Ints
    opening_mm: Floats
    ahead: Bools

    def twins(self) -> Ints:
        """Return the two places, shape (3 f / 2, 2), of each side in the flattened ``side``."""
        return np.argsort(self.side.ravel(), kind="stable").reshape(-1, 2)


@dataclass(frozen=True, slots=True, eq=False)
class _Images:
    """Every image of the centres within a margin of one period of the strip."""

    points_mm: Floats
    owner: Ints
    shift: Ints
    kind: Ints


def faces_between(
    centres_mm: Floats, diameter_mm: float, clear_width_mm: float, length_mm: float
) -> Faces:
    """Cut one period of the strip into faces.

    Parameters
    ----------
    centres_mm : ndarray, shape (n, 2), n at least 1
        Centres between the guides, no two in one place [mm].
    diameter_mm, clear_width_mm, length_mm : float
        Can diameter, guide face to guide face, period along travel [mm].

    Returns
    -------
    Faces
        Exactly 2 n faces (Euler's formula on the periodic strip).

    Raises
    ------
    InputError
        If two centres coincide.
    ConvergenceError
        If no margin gives a closed cut: the strip is over 10⁷ cans long and all but empty.

    Notes
    -----
    A Delaunay polygon that crosses a guide line is its own mirror image: its image is a Delaunay
    polygon too and overlaps it. In general position it has two cans and their images as corners, a
    trapezoid, and exactly one of its two triangles has both cans. Cans on one circle, as in square
    packs, are told apart by nudges of ``NUDGE_REL`` diameters, the same for all images of a can, so
    that every copy of a side is cut alike; the corners returned are not nudged. A margin is wide
    enough when the faces number 2 n and each side has its twin.
    """
    margin = 2.0 * diameter_mm
    home = np.column_stack((centres_mm[:, 0] % length_mm, centres_mm[:, 1]))
    for attempt in range(_ATTEMPTS):
        nudges = np.random.default_rng(attempt).uniform(-1.0, 1.0, home.shape)
        nudged = _images(home + NUDGE_REL * diameter_mm * nudges, clear_width_mm, length_mm, margin)
        corners = _corners(nudged, len(home))
        if corners is not None:
            faces = _faces(corners, home, clear_width_mm, length_mm, nudged)
            names = np.sort(faces.side.ravel()).reshape(-1, 2)
            area = clear_width_mm * length_mm
            if (faces.opening_mm == 0.0).any():
                raise InputError("centres_mm", "centres in one place", "centres apart")
            whole = abs(faces.area_mm2.sum() - area) <= 1e-9 * area
            if whole and (names[:, 0] == names[:, 1]).all():
                return faces
        margin *= 2.0
    raise ConvergenceError(f"no closed cut of the strip after {_ATTEMPTS} wider margins")


_ATTEMPTS = 24
"""Doublings of the margin: from two diameters to a washer of any length with a single can."""


def _images(home: Floats, width: float, length: float, margin: float) -> _Images:
    """Mirror images across, then repeats along travel, as far as the margin."""
    far = int(margin // (2.0 * width)) + 1
    across = [(2 * k, sign) for k in range(-far, far + 2) for sign in (1, -1)]
    points, owner, kind = [], [], []
    for turn, sign in across:
        y = turn * width + sign * home[:, 1]
        near = np.flatnonzero((y >= -margin) & (y <= width + margin))
        points.append(np.column_stack((home[near, 0], y[near])))
        owner.append(near)
        what = {(0, 1): HOME, (0, -1): LEFT, (2, -1): RIGHT}.get((turn, sign), FAR)
        kind.append(np.full(len(near), what))
    sheet, own, kinds = np.concatenate(points), np.concatenate(owner), np.concatenate(kind)
    reach = int(margin // length) + 1
    along = []
    for shift in range(-reach, reach + 1):
        x = sheet[:, 0] + shift * length
        along.append(np.flatnonzero((x >= -margin) & (x <= length + margin)))
    shifts = np.repeat(np.arange(-reach, reach + 1), [len(near) for near in along])
    near = np.concatenate(along)
    moved = sheet[near] + np.column_stack((shifts * length, np.zeros(len(near))))
    return _Images(moved, own[near], shifts, kinds[near])


def _corners(images: _Images, count: int) -> Ints | None:
    """Triangles of one period as image numbers, guide faces' two cans first; None if not 2 n."""
    if len(images.owner) < 3:
        return None
    drawn = shapely.delaunay_triangles(shapely.linestrings(images.points_mm))  # any shape will do
    rings = shapely.get_coordinates(drawn).reshape(-1, 4, 2)[:, :3]
    corner = _numbers(rings.reshape(-1, 2), images.points_mm).reshape(-1, 3)
    mirrored = images.kind[corner]
    at_home = (mirrored == HOME).sum(axis=1)
    across = (at_home == 2) & (mirrored.max(axis=1) != FAR)
    first = images.shift[corner].min(axis=1) == 0
    kept = np.flatnonzero(first & ((at_home == 3) | across))
    if len(kept) != 2 * count:
        return None
    corner = corner[kept]
    order = np.argsort(images.kind[corner] != HOME, axis=1, kind="stable")
    return np.take_along_axis(corner, order, axis=1)


def _numbers(found: Floats, points: Floats) -> Ints:
    """Which point each found coordinate is; the triangulation returns them bit for bit."""
    names = np.ascontiguousarray(points).view(np.complex128).ravel()
    order = np.argsort(names)
    asked = np.ascontiguousarray(found).view(np.complex128).ravel()
    return order[np.searchsorted(names[order], asked)]


def _faces(corner: Ints, home: Floats, width: float, length: float, images: _Images) -> Faces:
    """Faces with their true corners, from image numbers."""
    owner, shift = images.owner[corner], images.shift[corner]
    guide = images.kind[corner[:, 2]]
    places = home[owner]
    places[:, :, 0] += shift * length
    at_guide = guide != HOME
    foot = places[:, 1].copy()
    foot[:, 1] = np.where(guide == RIGHT, width, 0.0)
    third = np.where(at_guide[:, None], foot, places[:, 2])
    last = third.copy()
    last[at_guide, 0] = places[at_guide, 0, 0]
    corners = np.stack((places[:, 0], places[:, 1], third, last), axis=1)
    cross = corners[:, 2] - corners[:, 0]
    other = corners[:, 3] - corners[:, 1]
    area = np.abs(cross[:, 0] * other[:, 1] - cross[:, 1] * other[:, 0]) / 2.0
    side, ahead = _side_names(owner, shift, len(home))
    step = np.roll(corners[:, :3], -1, axis=1) - corners[:, :3]
    opening = np.hypot(step[:, :, 0], step[:, :, 1])
    feet = np.abs(corners[at_guide, :2, 1] - foot[at_guide, None, 1])
    opening[at_guide, 1:] = 2.0 * feet[:, ::-1]
    last_name = side.max(initial=0) + 1
    name = last_name + 2 * owner[at_guide, :2] + (guide[at_guide, None] == RIGHT)
    side[at_guide, 1:] = name[:, ::-1]
    return Faces(
        corners_mm=corners, guide=guide, area_mm2=area, side=side, opening_mm=opening, ahead=ahead
    )


def _side_names(owner: Ints, shift: Ints, count: int) -> tuple[Ints, Bools]:
    """One number per side, the same in every period and from either end."""
    end, end_shift = np.roll(owner, -1, axis=1), np.roll(shift, -1, axis=1)
    periods = end_shift - shift
    ahead = (owner < end) | ((owner == end) & (periods > 0))
    low, high = np.minimum(owner, end), np.maximum(owner, end)
    signed = np.where(ahead, periods, -periods)
    most = int(np.abs(periods).max(initial=0))
    return (low * count + high) * (2 * most + 1) + signed + most, ahead
