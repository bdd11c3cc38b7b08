"""How the rows of a seen pack run, and the lane and the place along it of every can.

A pack that has shuffled has its lines of cans nowhere straight: what tells the lane of a can is the
cans beside it, not its place across. So lanes are counted from can to can, by the ways that are
most like those of a close pack.
"""

from __future__ import annotations

import cmath
import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from packsim.arrays import Bools, Floats, Ints, Places
from packsim.constants import SIN60
from packsim.errors import InputError
from packsim.look.known import Known, known
from packsim.look.seen import SeenPack
from packsim.pack.neighbours import neighbour_lists

_BESIDE: Final = 1.4
"""Cans up to so many diameters apart may be neighbours: the second ring is √3 off."""

_TOUCHING: Final = 1.15
"""Cans up to so many diameters apart tell how the rows run."""

_LIKE: Final = 0.2
"""Neighbours off a close pack's place by less than this share of a diameter have to agree."""

LEAST_CANS: Final = 7
"""A can and its six neighbours: fewer are no pack."""


@dataclass(frozen=True, slots=True, eq=False)
class SeenRows:
    """How rows run, and where in them each of n cans stands.

    Parameters
    ----------
    layout : {"lengthwise", "crosswise"}
        How the close-packed lines run, by the way that is nearer.
    turned_rad : Known
        How far they are turned from there, from travel towards the right [rad].
    order : float
        How much alike the ways between touching cans are all over the picture: 1 in one lattice,
        near 0 where rows run all ways [-].
    lane : ndarray of int64, shape (n,)
        Lane counted from the left, 0 the first; −1 for cans that stand apart and those that lie.
    step : ndarray of int64, shape (n,)
        Place along the lane: from can to can it is two steps, from a can to those beside it in the
        next lane one.
    torn : float
        Share of close neighbours whose lanes do not fit to each other: 0 in a lattice [-].
    """

    layout: str
    turned_rad: Known
    order: float
    lane: Ints
    step: Ints
    torn: float

    @property
    def lanes(self) -> int:
        """Lanes that hold a can."""
        return int(self.lane.max(initial=-1)) + 1


def rows_of(seen: SeenPack) -> SeenRows:
    """Find how the rows of a seen pack run, and the lane of every can.

    Parameters
    ----------
    seen : SeenPack
        The cans.

    Returns
    -------
    SeenRows
        For the largest group of cans that stand beside each other.

    Raises
    ------
    InputError
        If no seven cans stand beside each other: there is no pack.
    """
    up = np.flatnonzero(~seen.are("down"))
    owner, other, way = _ways(seen, up)
    diameter = seen.diameter_mm
    near = np.abs(way) < _TOUCHING * diameter
    if len(up) < LEAST_CANS or not near.any():
        got = f"{len(up)} standing cans, {int(near.sum()) // 2} times two beside each other"
        raise InputError("photo", got, f"a pack: {LEAST_CANS} cans or more that touch")
    sixfold = (way[near] / np.abs(way[near])) ** 6
    mean = complex(sixfold.mean())
    layout = "lengthwise" if mean.real >= 0.0 else "crosswise"
    start = 0.0 if layout == "lengthwise" else math.pi
    turned = _half_turn(cmath.phase(mean) - start) / 6.0
    lane, step, torn = _counted(owner, other, way, seen, layout, turned, up)
    x, y = seen.centres_mm.T
    along = (x, y, lane) if layout == "lengthwise" else (y, -x, step)
    slope = _common_slope(*along, lane >= 0)
    return SeenRows(
        layout=layout, turned_rad=slope, order=abs(mean), lane=lane, step=step, torn=torn
    )


def _half_turn(angle_rad: float) -> float:
    """Return an angle between minus and plus half a turn [rad]."""
    return (angle_rad + math.pi) % (2.0 * math.pi) - math.pi


def _common_slope(along: Floats, aside: Floats, line: Ints, inside: Bools) -> Known:
    """Turn of lines that run alike, by least squares, from the residuals [rad]."""
    along, aside = along[inside], aside[inside]
    _, which = np.unique(line[inside], return_inverse=True)
    count = np.bincount(which)
    along = along - (np.bincount(which, along) / count)[which]
    aside = aside - (np.bincount(which, aside) / count)[which]
    square = float(along @ along)
    if square == 0.0:
        return Known(0.0, math.pi / 6.0)
    slope = float(along @ aside) / square
    freedom = max(1, len(along) - len(count) - 1)
    left = float(((aside - slope * along) ** 2).sum()) / freedom
    return known(math.atan(slope), math.sqrt(left / square))


def _ways(seen: SeenPack, up: Ints) -> tuple[Ints, Ints, Places]:
    """Both cans of every pair beside each other, and the way from one to the other [mm]."""
    begin, other, x, y = neighbour_lists(seen.centres_mm[up], _BESIDE * seen.diameter_mm)
    owner = np.repeat(np.arange(len(up)), np.diff(begin))
    return owner, other, x + 1j * y


def _counted(
    owner: Ints, other: Ints, way: Places, seen: SeenPack, layout: str, turned: float, up: Ints
) -> tuple[Ints, Ints, float]:
    """Lane and step of every can, counted along the ways that are most like a close pack's.

    From can to can the next of six places of the lattice is taken; a tree of the ways that are off
    by least reaches every can of a group, so that the doubtful ones across a crack are not asked.
    """
    from scipy.sparse import csr_array
    from scipy.sparse.csgraph import (
        breadth_first_order,
        connected_components,
        minimum_spanning_tree,
    )

    turns = np.arange(6) * math.pi / 3.0 + (math.pi / 6.0 if layout == "crosswise" else 0.0)
    units = (0.5, SIN60) if layout == "lengthwise" else (SIN60, 0.5)
    places = np.exp(1j * turns)
    steps = np.rint(np.column_stack((places.real / units[0], places.imag / units[1])))
    straight = way * cmath.exp(-1j * turned) / seen.diameter_mm
    off = np.abs(straight[:, None] - places)
    which = off.argmin(axis=1)
    off, step = off[np.arange(which.size), which], steps[which].astype(np.int64)
    # a way of no cost would be none to the library, whose older versions take short numbers only
    ends = owner.astype(np.int32), other.astype(np.int32)
    cost = csr_array((off + 1e-6, ends), shape=(len(up), len(up)))
    _, group = connected_components(cost, directed=False)
    largest = int(np.bincount(group).argmax())
    first = int(np.flatnonzero(group == largest)[0])
    tree = minimum_spanning_tree(cost)
    order, before = breadth_first_order(tree + tree.T, first, directed=False)
    ways = {pair: at for at, pair in enumerate(zip(owner.tolist(), other.tolist(), strict=True))}
    found = np.zeros((len(up), 2), np.int64)
    for can in order[1:].tolist():
        came = int(before[can])
        found[can] = found[came] + step[ways[came, can]]
    inside = group == largest
    agree = (found[other] - found[owner] == step).all(axis=1)
    asked = inside[owner] & (off < _LIKE)
    torn = float(1.0 - agree[asked].mean()) if asked.any() else 0.0
    found -= found[inside].min(axis=0)
    lane, along = np.full(len(seen), -1), np.zeros(len(seen), np.int64)
    lane[up[inside]], along[up[inside]] = found[inside, 1], found[inside, 0]
    return lane, along, torn
