"""What was seen in a photograph from above: cans, guides and field in mm, and the view of them."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from packsim.arrays import Bools, Floats
from packsim.errors import InputError

STATES: Final = ("standing", "leaning", "down")
"""How a can is seen: upright, its rim flattened or over a neighbour's, or lying."""

LEANS_FROM_DEG: Final = 18.0
"""Lean from which on a can is seen to lean.

Nearer to upright a can falls back on its base: one that stays leaning has another one under its
rim, across the place of a can that is gone."""

_TURNS: Final = 6
"""Newton steps that undo the lens: four leave nothing of any lens this is for."""


def straight(bent2: Floats, lens: float) -> Floats:
    """Return the factor that undoes a lens term at squares of distances from the middle [-].

    The root r of r (1 + k r²) = s over s, by Newton's steps from r = s.
    """
    bent = np.sqrt(bent2)
    off = bent
    for _ in range(_TURNS if lens else 0):
        off = off - (off * (1.0 + lens * off**2) - bent) / (1.0 + 3.0 * lens * off**2)
    return np.asarray(np.where(bent > 0.0, off / np.where(bent > 0.0, bent, 1.0), 1.0))


USUAL_FOCAL: Final = 0.72
"""Focal length in longer sides of the picture: the main camera of many phones."""

_TELLING_RAD: Final = math.radians(12.0)


@dataclass(frozen=True, slots=True, eq=False)
class View:
    """How the plane of the can tops lies in the picture: perspective and one radial lens term.

    Parameters
    ----------
    homography : ndarray, shape (3, 3)
        From millimetres (x, y, 1) to pixels as a lens without distortion would show them.
    lens : float
        Radial term k: a pixel at r from the middle, in units of ``reach_px``, is shown at
        r (1 + k r²). Below 0 for a barrel, as wide lenses have [-].
    middle_px : tuple of float
        Middle of the picture, where the lens is taken to look; pixel centres are whole numbers,
        the first is (0, 0), the second number grows downwards [px].
    reach_px : float
        Half the diagonal of the picture [px].

    Notes
    -----
    The plane is that of the rims: where the bodies are widest, just below their domed ends. What
    lies lower, such as the mat, is shown nearer to the point below the camera than it is.
    """

    homography: Floats
    lens: float
    middle_px: tuple[float, float]
    reach_px: float

    def to_picture(self, points_mm: Floats) -> Floats:
        """Return where points of the plane, shape (..., 2) [mm], are in the picture [px]."""
        h = self.homography
        flat = points_mm @ h[:, :2].T + h[:, 2]
        off = (flat[..., :2] / flat[..., 2:] - self.middle_px) / self.reach_px
        bent = off * (1.0 + self.lens * np.sum(off**2, axis=-1, keepdims=True))
        return np.asarray(self.middle_px + self.reach_px * bent)

    def to_mm(self, points_px: Floats) -> Floats:
        """Return what points of the picture, shape (..., 2) [px], are on the plane [mm]."""
        inverse = np.linalg.inv(self.homography)
        flat = (self.middle_px + self.reach_px * self.freed(points_px)) @ inverse[
            :, :2
        ].T + inverse[:, 2]
        return np.asarray(flat[..., :2] / flat[..., 2:])

    def freed(self, points_px: Floats) -> Floats:
        """Return points of the picture freed of the lens, from its middle in units of reach."""
        bent = (points_px - np.asarray(self.middle_px)) / self.reach_px
        return np.asarray(bent * straight(np.sum(bent**2, axis=-1, keepdims=True), self.lens))

    def px_of_a_mm(self, points_mm: Floats) -> Floats:
        """Return what a mm along x and one along y of the plane are in the picture [px].

        Parameters
        ----------
        points_mm : ndarray, shape (n, 2)
            Places on the plane [mm].

        Returns
        -------
        ndarray, shape (n, 2, 2)
            One row for x and one for y, each a step in the picture.
        """
        ends = self.to_picture(points_mm[:, None, :] + np.array([[0, 0], [1, 0], [0, 1]]))
        return np.asarray(ends[:, 1:] - ends[:, :1])

    def moved(self, turn_rad: float = 0.0, origin_mm: tuple[float, float] = (0.0, 0.0)) -> View:
        """Return the view of the plane with axes of its own: turned, and then begun elsewhere.

        Parameters
        ----------
        turn_rad : float
            Direction of the new x in the old plane [rad].
        origin_mm : tuple of float
            Where the new axes begin, in the turned plane [mm].

        Returns
        -------
        View
            Of the same picture.
        """
        cos, sin, (x, y) = math.cos(turn_rad), math.sin(turn_rad), origin_mm
        back = np.array([[cos, -sin, 0.0], [sin, cos, 0.0], [0.0, 0.0, 1.0]])
        begun = np.array([[1.0, 0.0, x], [0.0, 1.0, y], [0.0, 0.0, 1.0]])
        return replace(self, homography=self.homography @ (back @ begun))

    def eye_mm(self, focal_px: float | None = None) -> Floats:
        """Return where the camera is, shape (3,): x, y and how high above the plane [mm].

        Parameters
        ----------
        focal_px : float, optional
            Its focal length, where the file says it [px].

        Returns
        -------
        ndarray
            The place of its lens [mm].

        Notes
        -----
        Derived here. In the middle of the picture, at a distance Z along a line of sight θ from
        plumb, a focal length f shows the plane f/Z large across the slant and f cos θ/Z along it:
        the two singular values of the map there tell θ. Sizes fall by sin θ/Z along the slant,
        which tells Z where f does not. Under 12° neither is sure: f is then taken as 0.72 of the
        longer side, the main camera of many phones (common practice, no source), and θ comes from
        the fall of sizes.
        """
        h, (x, y) = self.homography, self.middle_px
        at = np.linalg.solve(h, np.array([x, y, 1.0]))
        at = at[:2] / at[2]
        w = float(h[2, :2] @ at + h[2, 2])
        fall = h[2, :2] / w
        _, (most, least), ways = np.linalg.svd((h[:2, :2] - np.outer((x, y), h[2, :2])) / w)
        far = (focal_px or USUAL_FOCAL * 2.0 * max(x, y)) / float(most)
        theta = math.acos(min(1.0, float(least / most)))
        away = ways[1] * (1.0 if ways[1] @ fall >= 0.0 else -1.0)
        if theta <= _TELLING_RAD:
            steep = float(np.hypot(*fall))
            theta = math.asin(min(math.sin(_TELLING_RAD), steep * far))
            away = fall / max(steep, 1e-12)
        elif focal_px is None:
            told = math.sin(theta) / max(float(away @ fall), 1e-12)
            far = float(np.clip(told, 0.6 * far, 4.0 * far))
        under = at - far * math.sin(theta) * away
        return np.array([under[0], under[1], far * math.cos(theta)])


@dataclass(frozen=True, slots=True, eq=False)
class SeenPack:
    """The cans, the guides and the field of one photograph; n cans, in no order.

    Axes are those of `packsim.pack.Pack`: x along travel, y across to the right. x is 0 where the
    field begins; y is 0 at the left guide face where that is seen, else at the outermost rim on
    the left. Which end of the picture travel goes to is not seen: it is asked for.

    Parameters
    ----------
    photo : str
        Name of the file.
    picture_px : tuple of int
        Width and height of the picture, turned as it is shown [px].
    diameter_mm : float
        Diameter of a can body that was given: all lengths rest on it [mm].
    centres_mm : ndarray, shape (n, 2)
        Can centres at the height of the rims [mm].
    errors_mm : ndarray, shape (n,)
        Error of a centre along one axis against the cans about it, one standard deviation, from
        the residuals of its rim [mm].
    state : ndarray of uint8, shape (n,)
        Index into `STATES`.
    diameters_mm, diameter_errors_mm : ndarray, shape (n,)
        Measured diameter of each rim and its error, one standard deviation; nan for a can that is
        down. Their mean is ``diameter_mm`` where no length is given [mm].
    guides_mm, guide_errors_mm : ndarray, shape (2,)
        y of the left and the right guide face and its error, one standard deviation, against the
        cans next to it; nan where it is not seen [mm].
    guide_parallax : ndarray, shape (2,)
        How far ``guides_mm`` would go up for each mm the edge that is seen of that guide lies
        below the rims: they are taken to be level; nan where not seen [-].
    field_mm : ndarray, shape (k, 2)
        Corners of the part of the plane that is in the picture: what lies outside is not missing
        but unseen [mm].
    view : View
        From mm to pixels and back.
    px_per_mm : float
        Pixels to a mm, mean over the cans [1/mm].
    scale_error : float
        Error of long lengths as a share of them, one standard deviation, without that of
        ``diameter_mm`` [-].
    travel_from : {"guides", "sides", "picture"}
        What tells the line of travel: a guide, the straight sides of the pack, or that line of
        symmetry of the lattice which is nearest to the picture's travel.
    not_seen : tuple of str
        What could not be seen, a sentence each.
    """

    photo: str
    picture_px: tuple[int, int]
    diameter_mm: float
    centres_mm: Floats
    errors_mm: Floats
    state: NDArray[np.uint8]
    diameters_mm: Floats
    diameter_errors_mm: Floats
    guides_mm: Floats
    guide_errors_mm: Floats
    guide_parallax: Floats
    field_mm: Floats
    view: View
    px_per_mm: float
    scale_error: float
    travel_from: str
    not_seen: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        n = len(self.centres_mm)
        rows = self.errors_mm, self.state, self.diameters_mm, self.diameter_errors_mm
        if self.centres_mm.shape != (n, 2) or any(row.shape != (n,) for row in rows):
            raise InputError("centres_mm", self.centres_mm.shape, "one row for every can")

    def __len__(self) -> int:
        return len(self.centres_mm)

    def are(self, state: str) -> Bools:
        """Return which cans are in a state, shape (n,)."""
        return np.asarray(self.state == STATES.index(state))

    @property
    def clear_width_mm(self) -> float:
        """Guide face to guide face [mm]; nan where one is not seen."""
        return float(self.guides_mm[1] - self.guides_mm[0])
