"""The largest circle that stands free in each void, wholly between the guides.

Such a circle touches three things. Three cans: it is a triangle's circumcircle less R. Two cans and
a guide: closed form below. A can and both guides, or both guides alone: its diameter is the width.
"""

import numpy as np

from packsim.arrays import Floats, Ints
from packsim.constants import CONTACT_TOL_REL
from packsim.pack.faces import Faces

Found = tuple[Ints, Floats, Floats]


def largest_circles(
    faces: Faces,
    void: Ints,
    count: int,
    centres_mm: Floats,
    diameter_mm: float,
    clear_width_mm: float,
    length_mm: float,
) -> tuple[Floats, Floats]:
    """Return the diameter and centre of the largest free circle in each void.

    Parameters
    ----------
    faces : Faces
        The cut strip.
    void : ndarray of int, shape (f,)
        Void of each face.
    count : int
        Number of voids.
    centres_mm : ndarray, shape (n, 2)
        The can centres [mm].
    diameter_mm, clear_width_mm, length_mm : float
        Can diameter, guide face to guide face, period along travel [mm].

    Returns
    -------
    circle_mm : ndarray, shape (count,)
        Diameters; 0 where cans pressed into each other leave none [mm].
    centre_mm : ndarray, shape (count, 2)
        Their centres, 0 <= x < length_mm; the first corner's place where there is none [mm].
    """
    found = [
        _between_cans(faces, void, diameter_mm, clear_width_mm),
        *_at_guides(faces, void, diameter_mm, clear_width_mm, length_mm),
        _guide_to_guide(faces, void, centres_mm, diameter_mm, clear_width_mm, length_mm),
        (void, np.zeros(len(void)), faces.corners_mm[:, 0]),
    ]
    where = np.concatenate([each[0] for each in found])
    circle = np.concatenate([each[1] for each in found])
    centre = np.concatenate([each[2] for each in found])
    order = np.lexsort((-circle, where))
    best = order[np.searchsorted(where[order], np.arange(count))]
    at = centre[best]
    return circle[best], np.column_stack((at[:, 0] % length_mm, at[:, 1]))


def _between_cans(faces: Faces, void: Ints, diameter: float, width: float) -> Found:
    """Circumcircles of triangles that do not reach over a guide."""
    plain = np.flatnonzero(faces.guide == 0)
    a, b, c = (faces.corners_mm[plain, k] for k in range(3))
    u, v = b - a, c - a
    uu, vv = (u * u).sum(axis=1), (v * v).sum(axis=1)
    twice = 2.0 * (u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0])
    with np.errstate(divide="ignore", invalid="ignore"):
        x = (v[:, 1] * uu - u[:, 1] * vv) / twice
        y = (u[:, 0] * vv - v[:, 0] * uu) / twice
    radius = np.hypot(x, y) - diameter / 2.0
    centre = a + np.column_stack((x, y))
    touch = CONTACT_TOL_REL * diameter
    room = np.minimum(centre[:, 1], width - centre[:, 1])
    fits = (radius > 0.0) & (radius <= room + touch)
    return void[plain[fits]], 2.0 * radius[fits], centre[fits]


def _at_guides(
    faces: Faces, void: Ints, diameter: float, width: float, length: float
) -> list[Found]:
    """Circles that touch two neighbouring cans and a guide.

    Two cans that a circle touches, with no other can inside, are ends of a Delaunay side; the two
    cans opposite that side are the only ones that can be in its way.
    """
    twins = faces.twins()
    by_guide = np.bincount(void, weights=faces.guide > 0) > 0
    twins = twins[(twins % 3 == 0).any(axis=1) | (faces.guide[twins // 3] == 0).all(axis=1)]
    twins = twins[by_guide[void[twins // 3]].any(axis=1)]
    first, second, opposite, across = _side_corners(faces, twins)
    found = []
    for guide in (1, 2):
        for root in (-1.0, 1.0):
            centre, radius = _tangent(first, second, diameter, width if guide == 2 else 0.0, root)
            touch = CONTACT_TOL_REL * diameter
            free = (radius > 0.0) & (radius <= width / 2.0 + touch)
            for other in (opposite, across):
                gap = np.hypot(*(other - centre).T) - diameter / 2.0 - radius
                free &= ~(gap < -touch)
            where = _void_at(faces, void, guide, centre[free, 0], length)
            found.append((where, 2.0 * radius[free], centre[free]))
    return found


def _side_corners(faces: Faces, twins: Ints) -> tuple[Floats, Floats, Floats, Floats]:
    """Both cans of each side and the can opposite on either hand (nan at a guide)."""
    ends, opposite = [], []
    for hand in (0, 1):
        face, place = np.divmod(twins[:, hand], 3)
        ahead = faces.ahead[face, place]
        start = faces.corners_mm[face, np.where(ahead, place, (place + 1) % 3)]
        end = faces.corners_mm[face, np.where(ahead, (place + 1) % 3, place)]
        third = faces.corners_mm[face, (place + 2) % 3].copy()
        third[faces.guide[face] > 0] = np.nan
        ends.append((start, end))
        opposite.append(third)
    moved = opposite[1] - ends[1][0] + ends[0][0]
    return ends[0][0], ends[0][1], opposite[0], moved


def _tangent(
    p: Floats, q: Floats, diameter: float, face: float, root: float
) -> tuple[Floats, Floats]:
    """Centre and radius of the circle touching cans p and q and the guide at ``face``.

    With t measured along travel from p, heights p_y, q_y above the guide, and the circle's radius
    equal to its centre's height y: t² + (y − p_y)² = (y + R)², so 2 y (p_y + R) = t² + p_y² − R².
    The same for q; dividing each by its factor A = p_y + R and equating leaves
    (A_q − A_p) t² + 2 A_p d t + A_q A_p (p_y − R) − A_p d² − A_p A_q (q_y − R) = 0.
    """
    up, uq = np.abs(p[:, 1] - face), np.abs(q[:, 1] - face)
    d, radius = q[:, 0] - p[:, 0], diameter / 2.0
    ap, aq = up + radius, uq + radius
    a, h = aq - ap, ap * d
    c = ap * (aq * (up - uq) - d * d)
    with np.errstate(divide="ignore", invalid="ignore"):
        s = np.sqrt(h * h - a * c)
        # the two roots without cancellation; equal heights leave only c / w
        w = -(h + np.where(h < 0.0, -s, s))
        t = w / a if root < 0.0 else c / w
        y = (t * t + up * up - radius * radius) / (2.0 * ap)
    y = np.where(np.isfinite(y), y, -1.0)
    t = np.where(np.isfinite(t), t, 0.0)
    return np.column_stack((p[:, 0] + t, np.abs(face - y))), y


def _guide_to_guide(
    faces: Faces, void: Ints, centres: Floats, diameter: float, width: float, length: float
) -> Found:
    """Circles as wide as the strip, in the gaps of the middle line that no can reaches into."""
    away = centres[:, 1] - width / 2.0
    half = np.sqrt(np.maximum(0.0, (width / 2.0 + diameter / 2.0) ** 2 - away**2))
    start = centres[:, 0] % length - half
    order = np.argsort(start)
    start, end = start[order], (start + 2.0 * half)[order]
    reached = np.maximum.accumulate(np.concatenate(([end.max() - length], end[:-1])))
    gap = start - reached
    free = gap >= 0.0
    x = (reached + gap / 2.0)[free]
    where = _void_at(faces, void, 1, x, length)
    return where, np.full(len(x), width), np.column_stack((x, np.full(len(x), width / 2.0)))


def _void_at(faces: Faces, void: Ints, guide: int, x: Floats, length: float) -> Ints:
    """Void that meets a guide at places along it."""
    face = np.flatnonzero(faces.guide == guide)
    start = faces.corners_mm[face, :2, 0].min(axis=1) % length
    order = np.argsort(start)
    return void[face[order[np.searchsorted(start[order], x % length, "right") - 1]]]
