"""The can lines of a pack and the nozzles of a stage, both as places across the mat.

What is asked of the two lives next door and is offered here under one name: their misalignment,
and the shift of the pack that mends it best.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from packsim.arrays import Floats
from packsim.check import finite, one_of
from packsim.constants import CONTACT_TOL_REL
from packsim.line import SIDES, Header
from packsim.pack.state import Pack


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


def lane_cans_per_mm(pack: Pack) -> Floats:
    """Cans on each of a pack's lines per millimetre of mat.

    Parameters
    ----------
    pack : Pack
        The pack between its guides.

    Returns
    -------
    ndarray, shape (lanes,)
        In the order of `lane_lines_mm` [1/mm]; empty when nothing fits.
    """
    return lane_shares(pack) * (len(pack) / pack.length_mm)


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


def _grouped(pack: Pack) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Line number of every can, and the numbers of the lines, by gaps in the sorted places."""
    across = pack.centres_mm[:, 1]
    order = np.argsort(across, kind="stable")
    steps = np.diff(across[order]) > CONTACT_TOL_REL * pack.diameter_mm
    number = np.concatenate([np.zeros(min(len(order), 1), np.intp), np.cumsum(steps)])
    group = np.empty(len(order), dtype=np.intp)
    group[order] = number
    return group, np.arange(number[-1] + 1 if len(number) else 0)
