"""The gaps the cans leave: how much, how wide, where, their outlines, and whether one holds a can.

The strip is cut into faces (`packsim.pack.faces`). Cans cut off exactly half a disc from every
face, because the angles at its cans add up to a half turn, so free areas need no polygons.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray

from packsim.arrays import Bools, Floats, Ints
from packsim.constants import CONTACT_TOL_REL
from packsim.errors import InputError, between, positive
from packsim.pack.faces import Faces, faces_between
from packsim.pack.state import Pack
from packsim.pack.void_circles import largest_circles
from packsim.pack.void_places import PLACES, linked, places

OPEN_SHARE: Final = 0.12
"""Share of a diameter above which a gap of a pack that runs or was seen joins voids."""


@dataclass(frozen=True, slots=True, eq=False)
class Voids:
    """The voids of one period of a pack, one entry each.

    Parameters
    ----------
    area_mm2 : ndarray, shape (m,)
        Free area between the guides [mm²].
    circle_mm : ndarray, shape (m,)
        Diameter of the largest circle that fits, wholly between the guides [mm].
    centre_mm : ndarray, shape (m, 2)
        Its centre [mm].
    place : ndarray of str, shape (m,)
        ``interstice``, ``interior``, ``edge pocket`` or ``crack``: the rules are those of
        `packsim.pack.void_places.places`.
    diameter_mm, clear_width_mm, length_mm : float
        Can diameter, guide face to guide face, period along travel [mm].
    faces : Faces or None
        The cut strip they are made of; None without a can.
    void : ndarray of int, shape (f,)
        Void of each face.
    """

    area_mm2: Floats
    circle_mm: Floats
    centre_mm: Floats
    place: NDArray[np.str_]
    diameter_mm: float
    clear_width_mm: float
    length_mm: float
    faces: Faces | None
    void: Ints

    @property
    def count(self) -> int:
        """Number of voids, interstices included."""
        return len(self.area_mm2)

    @property
    def free_area_mm2(self) -> float:
        """Area between the guides that no can covers, in one period [mm²]."""
        return float(self.area_mm2.sum())

    @property
    def free_area_fraction(self) -> float:
        """Share of the strip that no can covers [-]."""
        return self.free_area_mm2 / (self.clear_width_mm * self.length_mm)

    @property
    def largest_circle_mm(self) -> float:
        """Diameter of the largest circle that stands free anywhere [mm]."""
        return float(self.circle_mm.max())

    @property
    def holds_a_can(self) -> Bools:
        """Whether a whole can could stand in each void, to within a contact tolerance."""
        room: Bools = self.circle_mm >= self.diameter_mm * (1.0 - CONTACT_TOL_REL)
        return room

    @property
    def by_place(self) -> dict[str, int]:
        """Number of voids in each kind of place."""
        return {place: int((self.place == place).sum()) for place in PLACES}


def find_voids(pack: Pack, open_gap_mm: float | None = None) -> Voids:
    """Find the voids of a pack.

    Parameters
    ----------
    pack : Pack
        Any pack; an empty one is a single edge pocket.
    open_gap_mm : float, optional
        As for `voids_between` [mm].

    Returns
    -------
    Voids
        The voids of one period.

    Examples
    --------
    >>> from packsim.pack.state import pack_between
    >>> voids = find_voids(pack_between(1130.0, 66.0, state="slack"))
    >>> voids.by_place["edge pocket"], bool(voids.holds_a_can.any())
    (2, False)
    """
    centres, width, length = pack.centres_mm, pack.clear_width_mm, pack.length_mm
    return voids_between(centres, pack.diameter_mm, width, length, open_gap_mm)


def voids_between(
    centres_mm: Floats,
    diameter_mm: float,
    clear_width_mm: float,
    length_mm: float,
    open_gap_mm: float | None = None,
) -> Voids:
    """Find the voids between any cans that stand between two straight guides.

    Parameters
    ----------
    centres_mm : ndarray, shape (n, 2)
        Centres; x along travel, periodic; y from the left guide face [mm].
    diameter_mm, clear_width_mm, length_mm : float
        Can diameter, guide face to guide face, period along travel [mm].
    open_gap_mm : float, optional
        Voids join through a gap between two cans, or twice the gap at a guide, wider than this;
        by default through any gap above the contact tolerance. Up to 0.4 diameters [mm].

    Returns
    -------
    Voids
        The free areas add up to the strip less the cans, to rounding, whatever the gap.

    Raises
    ------
    InputError
        If a centre is not finite or not between the guides, two coincide, or a length is bad.

    Notes
    -----
    Exact for cans that overlap neither each other nor a guide. A disc can reach over the far side
    of its own face only where that side is longer than √2 D (the angle opposite is a right one or
    more); such a side is always open, so what one face counts too much its neighbour in the same
    void counts too little.
    """
    gap = CONTACT_TOL_REL * positive("diameter_mm", diameter_mm)
    if open_gap_mm is not None:
        gap = max(gap, between("open_gap_mm", open_gap_mm, 0.0, 0.4 * diameter_mm, "mm"))
    centres = _between_guides(centres_mm, positive("clear_width_mm", clear_width_mm))
    size = (diameter_mm, clear_width_mm, positive("length_mm", length_mm))
    if len(centres) == 0:  # the strip is one void from guide to guide
        area, circle = np.array([clear_width_mm * length_mm]), np.array([clear_width_mm])
        middle = np.array([[length_mm / 2.0, clear_width_mm / 2.0]])
        place = np.array(["edge pocket"])
        none = np.empty(0, np.int64)
        return Voids(area, circle, middle, place, *size, faces=None, void=none)
    faces = faces_between(centres, *size)
    twins = faces.twins()
    is_open = faces.opening_mm.ravel()[twins[:, 0]] > diameter_mm + gap
    count, void = linked(len(faces.guide), twins[is_open] // 3)
    free = faces.area_mm2 - np.pi * diameter_mm**2 / 8.0
    area = np.bincount(void, weights=free, minlength=count).astype(np.float64)
    circle, centre = largest_circles(faces, void, count, centres, *size)
    place = places(faces, void, count, area, circle, diameter_mm + gap)
    return Voids(area, circle, centre, place, *size, faces=faces, void=void)


def _between_guides(centres_mm: Floats, width: float) -> Floats:
    centres = np.asarray(centres_mm, dtype=np.float64).reshape(-1, 2)
    if not np.isfinite(centres).all():
        raise InputError("centres_mm", "a centre that is not finite", "finite numbers")
    if not ((centres[:, 1] > 0.0) & (centres[:, 1] < width)).all():
        raise InputError("centres_mm", "a centre beyond a guide", f"0 < y < {width:g} mm")
    return centres


def open_faces(
    centres_mm: Floats, diameter_mm: float, clear_width_mm: float, length_mm: float
) -> list[tuple[Floats, str]]:
    """Return the faces of voids that are more than the gap between three cans.

    Parameters
    ----------
    centres_mm, diameter_mm, clear_width_mm, length_mm
        As for `voids_between` [mm].

    Returns
    -------
    list of (ndarray, str)
        Corners of each face, shape (k, 2) [mm], and its place. Nothing for cans that stand in one
        place.

    Notes
    -----
    Cans that run or were seen touch nowhere exactly: voids join through gaps wider than
    `OPEN_SHARE` of a diameter; with a narrower gap everything would be one void.
    """
    try:
        gap = OPEN_SHARE * diameter_mm
        found = voids_between(centres_mm, diameter_mm, clear_width_mm, length_mm, gap)
    except InputError:
        return []
    faces, places = found.faces, found.place[found.void]
    wanted = np.flatnonzero(places != "interstice").tolist()
    return [] if faces is None else [(faces.corners_mm[i], str(places[i])) for i in wanted]


def void_polygons(voids: Voids, quarter_segments: int = 16) -> NDArray[np.object_]:
    """Return the outline of each void.

    Parameters
    ----------
    voids : Voids
        The voids of a pack; without a can the whole strip.
    quarter_segments : int
        Straight pieces per quarter of a can's edge, at least 1.

    Returns
    -------
    ndarray of shapely geometries, shape (m,)
        In the order of the voids. A void across the end of the period runs past it or comes in
        parts. Can edges are inscribed polygons, so outlines are too large: by 1 part in 600 of a
        can's area at 16 segments.

    Raises
    ------
    InputError
        If ``quarter_segments`` is below 1.
    """
    if quarter_segments < 1:
        raise InputError("quarter_segments", quarter_segments, "1 or more")
    faces, void = voids.faces, voids.void
    if faces is None:
        return np.array([shapely.box(0.0, 0.0, voids.length_mm, voids.clear_width_mm)])
    flat = shapely.polygons(faces.corners_mm)
    single = np.bincount(void, minlength=voids.count) == 1
    alone = single[void]
    shapes = np.empty(voids.count, dtype=object)
    shapes[void[alone]] = _less_own_cans(faces, flat, alone, voids, quarter_segments)
    order = np.argsort(void, kind="stable")
    starts = np.searchsorted(void[order], np.arange(voids.count + 1))
    for many in np.flatnonzero(~single):
        own = order[starts[many] : starts[many + 1]]
        shapes[many] = _joined(faces, flat, own, voids, quarter_segments)
    return shapes


def _cans(corners: Floats, voids: Voids, segments: int) -> NDArray[np.object_]:
    radius = voids.diameter_mm / 2.0
    return np.asarray(shapely.buffer(shapely.points(corners), radius, quad_segs=segments))


def _less_own_cans(
    faces: Faces, flat: NDArray[np.object_], chosen: Bools, voids: Voids, segments: int
) -> NDArray[np.object_]:
    """Faces that are voids by themselves, less the cans at their corners."""
    shapes = flat[chosen]
    for corner in range(3):
        cans = _cans(faces.corners_mm[chosen, corner], voids, segments)
        at_foot = (faces.guide[chosen] > 0) & (corner == 2)
        shapes = np.where(at_foot, shapes, shapely.difference(shapes, cans))
    return shapes


def _joined(
    faces: Faces, flat: NDArray[np.object_], own: Ints, voids: Voids, segments: int
) -> shapely.Geometry:
    """Faces of one void merged, less every can at a corner of one of them.

    Two faces may share a side one period apart, so a can counts in the periods next to it too.
    """
    corner = np.arange(4) < np.where(faces.guide[own] > 0, 2, 3)[:, None]
    cans = np.unique(np.round(faces.corners_mm[own][corner] / voids.diameter_mm, 9), axis=0)
    at = np.concatenate([cans * voids.diameter_mm + (k * voids.length_mm, 0) for k in (-1, 0, 1)])
    whole = shapely.union_all(flat[own])
    discs = _cans(at, voids, segments)
    return shapely.difference(whole, shapely.union_all(discs[shapely.intersects(discs, whole)]))
