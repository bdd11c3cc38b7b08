"""Energy below which no kick tips a can, by place along the line and direction.

Nearly all kicks stay below it, and need no answer of what the sprays do at their place across.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from packsim.arrays import Floats, Ints
from packsim.compiled import kernel
from packsim.spray.greatest_moments import greatest_moments
from packsim.spray.grids import Grid, Stretch
from packsim.spray.in_place import stretch_at
from packsim.spray.leaning import LEANS, lean_nodes_rad, tipped_under_load

_DIRECTIONS = 12

_ALONG, _ACROSS = 2, 3
"""Of the nodes along travel, and of the rows across, every so many are looked at."""

_SURE = 0.9
_NEAR_REL = 0.01
"""Energies are no less than the first share of the least at the place looked at and the two next to
it, in the directions on either side, less the second of the energy at rest (measured in tests)."""


class LeastEnergy(NamedTuple):
    """Energies that no can needs less of to tip, in every stretch of a line.

    Parameters
    ----------
    origin_mm, step_mm : ndarray, shape (w,)
        First place of each stretch from the start of the line, and how far it is to the next [mm].
    first, places : ndarray of int64, shape (w,)
        Which rows of ``energy_mJ`` are its places; one between headers.
    energy_mJ : ndarray, shape (r, d)
        Energies about each place, by direction: from along travel to the next one, and so on,
        evenly [mJ].
    lowest_mJ : ndarray, shape (w,)
        The least of each stretch, wherever and whatever way [mJ].
    """

    origin_mm: Floats
    step_mm: Floats
    first: Ints
    places: Ints
    energy_mJ: Floats
    lowest_mJ: Floats


def least_energy(stretches: Sequence[Stretch]) -> LeastEnergy:
    """Return the least energies of a line, whose stretches are those of `line_load`."""
    kinds = [(stretch.grid, stretch.energy_mJ) for stretch in stretches]  # like ones share rows
    tables = {kind: _least(*kind) for kind in kinds}
    begin = dict(zip(tables, np.cumsum([0, *map(len, tables.values())])[:-1].tolist(), strict=True))
    starts = [s.start_mm + (s.grid.nodes.first_mm[0] if s.grid else 0.0) for s in stretches]
    return LeastEnergy(
        origin_mm=np.array(starts),
        step_mm=np.array([_ALONG * grid.nodes.step_mm[0] if grid else 1.0 for grid, _ in kinds]),
        first=np.array([begin[kind] for kind in kinds]),
        places=np.array([len(tables[kind]) for kind in kinds]),
        energy_mJ=np.concatenate([*tables.values()]),
        lowest_mJ=np.array([tables[kind].min() for kind in kinds]),
    )


@lru_cache(maxsize=32)
def _least(grid: Grid | None, rest_mJ: float) -> Floats:
    """Return the least energies of a stretch, shape (places, directions) [mJ].

    What tips a can under the largest moments of all rows across, lean by lean, takes no more than
    what tips it in any.
    """
    if grid is None:
        return np.full((1, _DIRECTIONS), rest_mJ)
    nodes, stance = grid.nodes, grid.stance
    places = np.arange(nodes.along // _ALONG + 1, dtype=np.float64)
    along = nodes.first_mm[0] + _ALONG * nodes.step_mm[0] * places
    towards = 2.0 * math.pi / _DIRECTIONS * np.arange(_DIRECTIONS, dtype=np.float64)
    asked = along, nodes.y_mm[::_ACROSS], towards
    moment = greatest_moments(grid.sprays, LEANS, stance.radius_mm, *asked)
    _, energy = tipped_under_load(moment, lean_nodes_rad(grid.most_rad), stance)
    turned = np.minimum(energy, np.roll(energy, -1, axis=1))
    ends = np.concatenate((turned[:1], turned, turned[-1:]))
    energy = np.minimum(turned, np.minimum(ends[:-2], ends[2:]))
    sure = _SURE * energy - _NEAR_REL * rest_mJ
    return np.asarray(np.maximum(sure, 0.0))


@kernel
def least_in(least: LeastEnergy, stretch: int, x_mm: float, direction_rad: float) -> float:
    """Return the energy that no can in a stretch needs less of at a place along, in a direction."""
    at = (x_mm - least.origin_mm[stretch]) / least.step_mm[stretch]
    row = int(min(max(at + 0.5, 0.0), least.places[stretch] - 1.0))
    turn = math.floor(direction_rad / (2.0 * math.pi) * _DIRECTIONS) % _DIRECTIONS
    found: float = least.energy_mJ[least.first[stretch] + row, turn]
    return found


@kernel
def may_tip(
    kicks: tuple[Ints, Floats, Floats], station_mm: Floats, ends_mm: Floats, least: LeastEnergy
) -> Ints:
    """Which kicks may have the energy that it takes to tip their can.

    Parameters
    ----------
    kicks : tuple
        Who gets each, in which direction, and with what energy: can, direction_rad, energy_mJ.
    station_mm : ndarray, shape (n,)
        Where each can is along the line [mm].
    ends_mm : ndarray, shape (w - 1,)
        That of `packsim.spray.in_place.LineLoad`.
    least : LeastEnergy
        That of the line.

    Returns
    -------
    ndarray of int64
        Places in ``kicks``, in order.
    """
    (can, direction, energy), lowest, stretch, count = kicks, least.lowest_mJ, 0, 0
    found = np.empty(len(can), np.int64)
    for q in range(len(can)):
        x = station_mm[can[q]]
        stretch = stretch_at(ends_mm, x, stretch)
        # nearly all stay below the least of the stretch, and need no look at where they point
        if energy[q] > lowest[stretch] and energy[q] > least_in(least, stretch, x, direction[q]):
            found[count] = q
            count += 1
    return found[:count].copy()
