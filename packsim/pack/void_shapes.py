"""The outlines of the voids, for drawing; their numbers come from `packsim.pack.voids`."""

import numpy as np
import shapely
from numpy.typing import NDArray

from packsim.arrays import Bools, Floats, Ints
from packsim.errors import InputError
from packsim.pack.faces import Faces
from packsim.pack.state import Pack
from packsim.pack.voids import cut_voids, joining_gap_mm


def void_polygons(
    pack: Pack, open_gap_mm: float | None = None, quarter_segments: int = 16
) -> NDArray[np.object_]:
    """Return the outline of each void.

    Parameters
    ----------
    pack : Pack
        Any pack; an empty one gives the whole strip.
    open_gap_mm : float, optional
        As for `packsim.pack.voids.find_voids` [mm].
    quarter_segments : int
        Straight pieces per quarter of a can's edge, at least 1.

    Returns
    -------
    ndarray of shapely geometries, shape (m,)
        In the order of `find_voids` with the same gap. A void across the end of the period runs
        past it or comes in parts. Can edges are inscribed polygons, so outlines are too large:
        by 1 part in 600 of a can's area at 16 segments.

    Raises
    ------
    InputError
        If ``quarter_segments`` is below 1 or the gap is above 0.4 diameters.

    Examples
    --------
    >>> from packsim.pack.strip import pack_between
    >>> from packsim.pack.voids import find_voids
    >>> pack = pack_between(1130.0, 66.0)
    >>> len(void_polygons(pack)) == find_voids(pack).count
    True
    """
    if quarter_segments < 1:
        raise InputError("quarter_segments", quarter_segments, "1 or more")
    if len(pack) == 0:
        return np.array([shapely.box(0.0, 0.0, pack.length_mm, pack.clear_width_mm)])
    gap = joining_gap_mm(pack.diameter_mm, open_gap_mm)
    faces, count, void = cut_voids(
        pack.centres_mm, pack.diameter_mm, pack.clear_width_mm, pack.length_mm, gap
    )
    flat = shapely.polygons(faces.corners_mm)
    single = np.bincount(void, minlength=count) == 1
    alone = single[void]
    shapes = np.empty(count, dtype=object)
    shapes[void[alone]] = _less_own_cans(faces, flat, alone, pack, quarter_segments)
    order = np.argsort(void, kind="stable")
    starts = np.searchsorted(void[order], np.arange(count + 1))
    for many in np.flatnonzero(~single):
        own = order[starts[many] : starts[many + 1]]
        shapes[many] = _joined(faces, flat, own, pack, quarter_segments)
    return shapes


def _cans(corners: Floats, pack: Pack, segments: int) -> NDArray[np.object_]:
    discs: NDArray[np.object_] = shapely.buffer(
        shapely.points(corners), pack.diameter_mm / 2.0, quad_segs=segments
    )
    return discs


def _less_own_cans(
    faces: Faces, flat: NDArray[np.object_], chosen: Bools, pack: Pack, segments: int
) -> NDArray[np.object_]:
    """Faces that are voids by themselves, less the cans at their corners."""
    shapes = flat[chosen]
    for corner in range(3):
        cans = _cans(faces.corners_mm[chosen, corner], pack, segments)
        at_foot = (faces.guide[chosen] > 0) & (corner == 2)
        shapes = np.where(at_foot, shapes, shapely.difference(shapes, cans))
    return shapes


def _joined(
    faces: Faces, flat: NDArray[np.object_], own: Ints, pack: Pack, segments: int
) -> shapely.Geometry:
    """Faces of one void merged, less every can at a corner of one of them.

    Two faces may share a side one period apart, so a can counts in the periods next to it too.
    """
    corner = np.arange(4) < np.where(faces.guide[own] > 0, 2, 3)[:, None]
    cans = np.unique(np.round(faces.corners_mm[own][corner] / pack.diameter_mm, 9), axis=0)
    places = np.concatenate([cans * pack.diameter_mm + (k * pack.length_mm, 0) for k in (-1, 0, 1)])
    whole = shapely.union_all(flat[own])
    discs = _cans(places, pack, segments)
    return shapely.difference(whole, shapely.union_all(discs[shapely.intersects(discs, whole)]))
