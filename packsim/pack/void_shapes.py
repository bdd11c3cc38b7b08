"""The outlines of the voids, for drawing; their numbers come from `packsim.pack.voids`."""

import numpy as np
import shapely
from numpy.typing import NDArray

from packsim.arrays import Bools, Floats, Ints
from packsim.errors import InputError
from packsim.pack.faces import Faces
from packsim.pack.voids import Voids


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
    discs: NDArray[np.object_] = shapely.buffer(
        shapely.points(corners), voids.diameter_mm / 2.0, quad_segs=segments
    )
    return discs


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
    places = np.concatenate(
        [cans * voids.diameter_mm + (k * voids.length_mm, 0) for k in (-1, 0, 1)]
    )
    whole = shapely.union_all(flat[own])
    discs = _cans(places, voids, segments)
    return shapely.difference(whole, shapely.union_all(discs[shapely.intersects(discs, whole)]))
