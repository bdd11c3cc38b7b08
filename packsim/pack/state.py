"""The pack between its guides as data, and who in it stands next to whom."""

import math
from dataclasses import dataclass

import numpy as np

from packsim.arrays import Floats, Ints
from packsim.errors import InputError, positive


@dataclass(frozen=True, slots=True, eq=False)
class Pack:
    """A pack of equal cans in a straight strip, periodic along travel.

    Parameters
    ----------
    centres_mm : ndarray, shape (n, 2)
        Can centres: along travel 0 <= x < length_mm, across y from the left guide face [mm].
        Read-only.
    diameter_mm : float
        Can diameter [mm].
    clear_width_mm : float
        Guide face to guide face [mm].
    length_mm : float
        Length of one period along travel [mm].
    layout : {"lengthwise", "crosswise"}
        How the close-packed lines run.
    state : {"slack", "strained", "blocks", "does not fit"}
        How the pack fills the width.
    lanes : int
        Number of distinct can centre lines along travel; 0 when nothing fits. In ``blocks`` the
        lines of both kinds of block count.
    pack_width_mm : float
        Width the touching pack needs [mm].
    fill : float
        Share of the state's cans per metre that is there, above 0 up to 1 [-].
    reason : str
        Why nothing fits, or empty.
    """

    centres_mm: Floats
    diameter_mm: float
    clear_width_mm: float
    length_mm: float
    layout: str
    state: str
    lanes: int
    pack_width_mm: float
    fill: float = 1.0
    reason: str = ""

    def __len__(self) -> int:
        return int(self.centres_mm.shape[0])

    @property
    def fits(self) -> bool:
        """Whether at least one lane of cans fits."""
        return self.lanes > 0

    @property
    def slack_mm(self) -> float:
        """Clear width less pack width [mm]; below 0 where the lanes are squeezed.

        Where rows lie spread from guide to guide the slack is between their cans.
        """
        return self.clear_width_mm - self.pack_width_mm

    @property
    def cans_per_metre(self) -> float:
        """Cans per metre of mat [1/m]."""
        return 1000.0 * len(self) / self.length_mm

    @property
    def density(self) -> float:
        """Share of the strip between the guides that cans cover [-]."""
        can = np.pi * self.diameter_mm**2 / 4.0
        return float(len(self) * can / (self.clear_width_mm * self.length_mm))


def neighbour_pairs(
    centres_mm: Floats, cutoff_mm: float, period_mm: float | None = None
) -> tuple[Ints, Floats]:
    """Find all pairs of points no farther apart than a cutoff.

    Parameters
    ----------
    centres_mm : ndarray, shape (n, 2)
        Points [mm].
    cutoff_mm : float
        Greatest distance, itself included [mm].
    period_mm : float, optional
        Period along x; None for a plane without one [mm].

    Returns
    -------
    pairs : ndarray of int, shape (m, 2)
        i < j, each pair once. In a period shorter than two cutoffs a pair may be near in several
        ways: each way is listed once. A point near its own image is listed as (i, i), once for
        each distance, not for each direction.
    vectors_mm : ndarray, shape (m, 2)
        From i to j [mm].

    Raises
    ------
    InputError
        If a centre is not finite, or cutoff or period is not above 0.

    Notes
    -----
    Points are sorted into cells one cutoff wide; each looks into its own cell and four of the
    eight around it, so a pair is met once. Images one or more periods ahead stand in for the
    periodic neighbours; two images never pair.
    """
    points, owner = _with_images(centres_mm, positive("cutoff_mm", cutoff_mm), period_mm)
    first, second = _near(points, cutoff_mm)
    vectors = points[second] - points[first]
    near = np.einsum("ij,ij->i", vectors, vectors) <= cutoff_mm**2
    near &= np.minimum(first, second) < len(centres_mm)
    first, second, vectors = owner[first[near]], owner[second[near]], vectors[near]
    swap = first > second
    vectors[swap] *= -1.0
    pairs = np.column_stack((np.minimum(first, second), np.maximum(first, second)))
    return pairs, vectors


def neighbour_lists(
    centres_mm: Floats, cutoff_mm: float, period_mm: float | None = None
) -> tuple[Ints, Ints, Floats]:
    """List, for each point, every neighbour no farther than a cutoff.

    Parameters
    ----------
    centres_mm, cutoff_mm, period_mm
        As for `neighbour_pairs`.

    Returns
    -------
    indptr : ndarray of int, shape (n + 1,)
        Neighbours of point i are entries indptr[i] up to indptr[i + 1].
    indices : ndarray of int, shape (m,)
        The neighbours. In a short period one may appear in several ways, a point's own images too.
    vectors_mm : ndarray, shape (m, 2)
        From the point to the neighbour [mm].
    """
    pairs, vectors = neighbour_pairs(centres_mm, cutoff_mm, period_mm)
    start = np.concatenate((pairs[:, 0], pairs[:, 1]))
    end = np.concatenate((pairs[:, 1], pairs[:, 0]))
    order = np.argsort(start, kind="stable")
    counts = np.bincount(start, minlength=len(centres_mm))
    indptr = np.concatenate((np.zeros(1, np.int64), np.cumsum(counts)))
    return indptr, end[order], np.concatenate((vectors, -vectors))[order]


def _with_images(centres_mm: Floats, cutoff: float, period_mm: float | None) -> tuple[Floats, Ints]:
    """Points wrapped into one period, then their images up to a cutoff ahead; and whose each is."""
    points = np.asarray(centres_mm, dtype=np.float64).reshape(-1, 2)
    if not np.isfinite(points).all():
        raise InputError("centres_mm", "a centre that is not finite", "finite numbers")
    owner = np.arange(len(points))
    if period_mm is None or len(points) == 0:
        return points, owner
    period = positive("period_mm", period_mm)
    points = points.copy()
    points[:, 0] -= np.floor(points[:, 0] / period) * period
    images, owners = [points], [owner]
    for k in range(1, math.ceil(cutoff / period) + 1):
        ahead = np.flatnonzero(points[:, 0] + (k - 1) * period <= cutoff)
        images.append(points[ahead] + (k * period, 0.0))
        owners.append(ahead)
    return np.concatenate(images), np.concatenate(owners)


def _near(points: Floats, cutoff: float) -> tuple[Ints, Ints]:
    """Candidate pairs: points in the same or a neighbouring cell, each pair once."""
    if len(points) == 0:
        return np.empty(0, np.int64), np.empty(0, np.int64)
    column, row = np.floor((points - points.min(axis=0)) / cutoff).astype(np.int64).T
    width = int(column.max()) + 2  # one empty column keeps the ends of rows apart
    cell = row * width + column
    order = np.argsort(cell, kind="stable")
    cell = cell[order]
    here = np.arange(len(points))
    # the rest of this cell with the one ahead, then three cells of the next row
    starts = np.concatenate((here + 1, np.searchsorted(cell, cell + width - 1, "left")))
    ends = np.searchsorted(cell, np.concatenate((cell + 1, cell + width + 1)), "right")
    counts = ends - starts
    first = np.repeat(np.concatenate((here, here)), counts)
    offset = np.repeat(np.cumsum(counts) - counts - starts, counts)
    second = np.arange(len(first)) - offset
    return order[first], order[second]
