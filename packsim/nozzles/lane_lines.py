"""The can lines of a pack, the nozzles of a stage, and how far each line is from its nozzle.

All places are measured across the mat from its left edge, looking downstream.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from packsim.arrays import Floats
from packsim.constants import CONTACT_TOL_REL
from packsim.errors import InputError, finite, one_of
from packsim.line import SIDES, Header
from packsim.pack.state import Pack

_EQUAL_MM: Final = 1e-6  # pitches that differ by less are equal: far below any drill


def lane_lines_mm(pack: Pack, left_mm: float = 0.0) -> Floats:
    """Distinct lines of can centres along travel.

    Parameters
    ----------
    pack : Pack
        The pack between its guides.
    left_mm : float
        Left guide face from the mat's left edge [mm]; 0 gives lines from the guide face.

    Returns
    -------
    ndarray, shape (lanes,)
        Places of the lines, rising [mm]; empty when the pack does not fit.

    Notes
    -----
    A lengthwise pack has a line each D√3/2, a crosswise one each D/2, a strained one each
    (W − D)/(lanes − 1); blocks have the lines of both kinds of block. Centres closer than the
    contact tolerance make one line.
    """
    finite("left_mm", left_mm)
    group, lines = _grouped(pack)
    counts = np.bincount(group, minlength=len(lines))
    return np.bincount(group, pack.centres_mm[:, 1], len(lines)) / np.maximum(counts, 1) + left_mm


def lane_shares(pack: Pack) -> Floats:
    """Share of the pack's cans on each of its lines.

    Parameters
    ----------
    pack : Pack
        The pack between its guides.

    Returns
    -------
    ndarray, shape (lanes,)
        Shares in the order of `lane_lines_mm`, summing to 1 [-]; empty when nothing fits.
    """
    group, lines = _grouped(pack)
    return np.bincount(group, minlength=len(lines)) / max(len(pack), 1)


def nozzle_places_mm(headers: Iterable[Header], side: str | None = None) -> Floats:
    """Nozzles of several headers together, as a can that passes under all of them meets them.

    Parameters
    ----------
    headers : iterable of Header
        The headers of a stage.
    side : {"above", "below"}, optional
        Only those of one side.

    Returns
    -------
    ndarray, shape (k,)
        Places across the mat, rising [mm]; a place used by several headers counts once.
    """
    if side is not None:
        one_of("side", side, SIDES)
    chosen = [h.positions_mm for h in headers if side is None or h.side == side]
    return np.unique(np.concatenate(chosen)) if chosen else np.empty(0)


def equal_pitch_mm(*rows_mm: Floats) -> float | None:
    """Pitch of nozzles that stand equally far apart, in all rows alike.

    Parameters
    ----------
    *rows_mm : ndarray, shape (k,) each
        Nozzle places of each row, rising [mm].

    Returns
    -------
    float or None
        The pitch; None where it varies, or no row has two nozzles [mm].
    """
    steps = np.concatenate([np.diff(row) for row in rows_mm])
    return float(steps[0]) if len(steps) and np.ptp(steps) < _EQUAL_MM else None


def _grouped(pack: Pack) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Line number of every can, and the numbers of the lines, by gaps in the sorted places."""
    across = pack.centres_mm[:, 1]
    order = np.argsort(across, kind="stable")
    steps = np.diff(across[order]) > CONTACT_TOL_REL * pack.diameter_mm
    number = np.concatenate([np.zeros(min(len(order), 1), np.intp), np.cumsum(steps)])
    group = np.empty(len(order), dtype=np.intp)
    group[order] = number
    return group, np.arange(number[-1] + 1 if len(number) else 0)


WORTH_A_SHIFT_MM: Final = 1.0
"""A shift that gains less than this is lost in the setting of the brackets (assumed; they are set
to about a millimetre), so it is not worth touching every bracket."""

WORTH_A_SHIFT_SHARE: Final = 0.05
"""So is one that gains less than this share of a diameter (assumed: a jet that near to the middle
of a can is as good as one on it)."""


def worth_a_shift_mm(diameter_mm: float) -> float:
    """Gain at the worst lane from which a shift is worth making [mm]."""
    return max(WORTH_A_SHIFT_MM, WORTH_A_SHIFT_SHARE * diameter_mm)


MISSES_CAN: Final = 0.25
"""Share of a diameter: a nozzle farther than this from the can centre aims nearer the wall than
the middle (plain geometry; half way from centre to wall)."""


@dataclass(frozen=True, slots=True, eq=False)
class Misalignment:
    """How the lines of can centres stand to the nozzles.

    Parameters
    ----------
    per_lane_mm : ndarray, shape (m,)
        Signed place of each line from its nearest nozzle, positive where the line is to the right
        of it [mm]. Read-only.
    worst_mm : float
        Largest distance of any line [mm].
    rms_mm : float
        Root mean square distance over the lines [mm].
    worst_lane : int
        Index of the worst line in the order given; the first of equals.
    """

    per_lane_mm: Floats
    worst_mm: float
    rms_mm: float
    worst_lane: int


def misalignment(
    lines_mm: ArrayLike,
    nozzles_mm: ArrayLike,
    weights: ArrayLike | None = None,
) -> Misalignment:
    """Distance of each can line from its nearest nozzle.

    Parameters
    ----------
    lines_mm : array_like, shape (m,)
        Lines of can centres, from the mat's left edge [mm].
    nozzles_mm : array_like, shape (k,)
        Nozzle places, from the mat's left edge [mm]. The row is finite: a line beyond its end is
        as far off as its last nozzle.
    weights : array_like, shape (m,), optional
        Weight of each line in the root mean square, e.g. the share of cans on it, as in
        `packsim.nozzles.shift.Facing` [-]; equal when omitted.

    Returns
    -------
    Misalignment
        Per line, worst and root mean square.

    Raises
    ------
    InputError
        If there is no line or no nozzle, a place is not finite, or the weights do not match the
        lines.

    Examples
    --------
    >>> found = misalignment([100.0, 160.0], [95.0, 155.0, 215.0])
    >>> found.worst_mm, found.rms_mm
    (5.0, 5.0)
    """
    lines = checked_places("lines_mm", lines_mm)
    off = offsets_mm(lines, nozzles_mm)
    off.flags.writeable = False
    distance = np.abs(off)
    worst = int(np.argmax(distance))
    share = np.ones(len(lines)) if weights is None else np.asarray(weights, dtype=np.float64)
    if share.shape != lines.shape or not np.all(share >= 0.0) or not share.sum() > 0.0:
        raise InputError("weights", share.shape, "a weight of 0 or more for each line")
    rms = float(np.sqrt(np.average(off**2, weights=share)))
    return Misalignment(off, float(distance[worst]), rms, worst)


def offsets_mm(lines_mm: ArrayLike, nozzles_mm: ArrayLike) -> Floats:
    """Signed place of every line from its nearest nozzle.

    Parameters
    ----------
    lines_mm : array_like, any shape
        Lines of can centres [mm].
    nozzles_mm : array_like, shape (k,)
        Nozzle places, in any order [mm].

    Returns
    -------
    ndarray, shape of ``lines_mm``
        Line minus nearest nozzle [mm]; half way between two the left one counts.

    Raises
    ------
    InputError
        If there is no nozzle, or a place is not finite.
    """
    lines = np.asarray(lines_mm, dtype=np.float64)
    nozzles = np.sort(checked_places("nozzles_mm", nozzles_mm))
    middles = (nozzles[1:] + nozzles[:-1]) / 2.0
    return np.asarray(lines - nozzles[np.searchsorted(middles, lines, side="left")])


def checked_places(key: str, places_mm: ArrayLike) -> Floats:
    """Return places as a flat array, or raise `InputError` if there is none or one not finite."""
    places = np.asarray(places_mm, dtype=np.float64).ravel()
    if places.size == 0:
        raise InputError(key, "none", "at least one place")
    if not np.all(np.isfinite(places)):
        raise InputError(key, "a value that is not finite", "finite places")
    return places
