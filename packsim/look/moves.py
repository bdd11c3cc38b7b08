"""Which can of a picture is which of the one before, and how far it moved on the mat in between.

A pack looks alike a can further on: a shift along travel by one can fits nearly as well. What tells
which of these shifts is the true one is that no two cans stand quite alike; where they do, nothing
in the pictures does.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from packsim.arrays import Floats, Ints
from packsim.look.seen import SeenPack

_ACROSS: Final = 0.25
"""A can moves by less than this share of a diameter against its neighbours between two pictures:
half of the way at which the place of another one is as near."""

_BIN: Final = 0.05
_MOST_SHIFTS: Final = 40
_LEAST_SHARED: Final = 8
_LEAST_SHARE: Final = 0.25
"""Cans in both pictures, and their share of all: fewer tell no shift."""

_CURVED: Final = 24
"""Cans from which on what a picture bends differently from the next is taken out too."""


@dataclass(frozen=True, slots=True, eq=False)
class Shifts:
    """Shifts along travel that bring the cans of a picture onto those of the next one.

    Parameters
    ----------
    travel_mm : ndarray, shape (s,)
        The shifts [mm].
    misfit_mm2 : ndarray, shape (s,)
        Mean square of how far off the cans are then, more by the share of those that should be in
        both pictures and are not [mm²].
    """

    travel_mm: Floats
    misfit_mm2: Floats


def shifts_between(one: SeenPack, other: SeenPack) -> Shifts:
    """Find every shift along travel after which the cans of two pictures lie on each other.

    Parameters
    ----------
    one, other : SeenPack
        The earlier picture and the later one.

    Returns
    -------
    Shifts
        None where too few cans can be in both.
    """
    diameter = one.diameter_mm
    apart = other.centres_mm[None, :, :] - one.centres_mm[:, None, :]
    along = apart[np.abs(apart[..., 1]) < _ACROSS * diameter, 0]
    step = _BIN * diameter
    ends = np.arange(along.min(initial=0.0) - step, along.max(initial=0.0) + 2.0 * step, step)
    counts, _ = np.histogram(along, ends)
    near = np.convolve(counts, np.ones(3), "same")
    around = np.convolve(np.pad(near, 4, mode="edge"), np.ones(9) / 9.0, "valid")
    peak = np.flatnonzero((near >= around * 1.2) & (near >= _LEAST_SHARED))
    peak = peak[[near[i] == near[max(0, i - 4) : i + 5].max() for i in peak.tolist()]]
    found: list[tuple[float, float]] = []
    for i in peak[np.argsort(-near[peak], kind="stable")][:_MOST_SHIFTS].tolist():
        middle = float(np.median(along[np.abs(along - ends[i] - step / 2.0) <= 1.5 * step]))
        if all(abs(middle - known) > 4.0 * step for known, _ in found):
            travel, misfit = _fitted(one, other, middle)
            if np.isfinite(misfit):
                found.append((travel, misfit))
    table = np.array(sorted(found)).reshape(-1, 2)
    return Shifts(table[:, 0], table[:, 1])


def _fitted(one: SeenPack, other: SeenPack, travel_mm: float) -> tuple[float, float]:
    """Return a shift refined, and its misfit; infinite where too few cans are in both pictures."""
    pairs = same_cans(one, other, travel_mm)
    inside = _shared(one, other, travel_mm)
    if min(len(pairs), inside) < max(_LEAST_SHARED, _LEAST_SHARE * len(one)):
        return travel_mm, np.inf
    moved = other.centres_mm[pairs[:, 1]] - one.centres_mm[pairs[:, 0]]
    off2 = np.sum(against_neighbours(one.centres_mm[pairs[:, 0]], moved) ** 2, axis=1)
    # a can that is not found in one of the pictures says little, many say that the shift is wrong
    lost = max(0, inside - len(pairs)) / len(pairs)
    return float(np.median(moved[:, 0])), float(off2.mean()) * (1.0 + lost)


def _shared(one: SeenPack, other: SeenPack, travel_mm: float) -> int:
    """Cans of the earlier picture that have to be in the later one, half a can from its ends."""
    x, there = one.centres_mm[:, 0] + travel_mm, other.centres_mm[:, 0]
    return int(((x > there.min()) & (x < there.max())).sum())


def same_cans(one: SeenPack, other: SeenPack, travel_mm: float) -> Ints:
    """Return which can is which after a shift along travel, shape (m, 2): earlier and later ones.

    Each is the nearest to the other, by less than a quarter of a diameter.
    """
    from scipy.spatial import cKDTree

    shifted = one.centres_mm + np.array([travel_mm, 0.0])
    far, there = cKDTree(other.centres_mm).query(shifted)
    back = cKDTree(shifted).query(other.centres_mm)[1]
    mine = np.arange(len(one))
    same = (back[there] == mine) & (far < _ACROSS * one.diameter_mm)
    return np.column_stack((mine[same], there[same]))


def against_neighbours(places_mm: Floats, moved_mm: Floats) -> Floats:
    """Return moves without what all cans share: travel, drift, and how pictures bend, (m, 2) [mm].

    A curved surface is fitted to either part; residuals are as large as without the fit.
    """
    x, y = (places_mm - places_mm.mean(axis=0)).T / max(float(np.ptp(places_mm)), 1.0)
    columns = [np.ones_like(x)]
    if len(x) >= _CURVED:
        columns += [x, y, x * x, x * y, y * y]
    table = np.column_stack(columns)
    shared = table @ np.linalg.lstsq(table, moved_mm, rcond=None)[0]
    free = np.sqrt(len(x) / max(1, len(x) - len(columns)))
    return np.asarray((moved_mm - shared) * free)
