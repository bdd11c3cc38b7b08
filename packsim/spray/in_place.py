"""The load on a can where it is: balance angle and energy by place on the line and direction.

Between headers nothing sprays and weight alone rights a can. Under a header both numbers are read
between the nodes of a grid along travel, across the mat and over the direction of the lean.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from packsim.arrays import Floats, Ints, Places
from packsim.can import Stance
from packsim.compiled import kernel, run, within
from packsim.line import Header
from packsim.pack.neighbours import kinds
from packsim.spray.leaning import LEANS, tipped_under_load
from packsim.spray.under_headers import TURNS, moments_under


@dataclass(frozen=True, slots=True, eq=False)
class Grid:
    """Balance angle [rad] + i · energy to it [mJ] under the headers of one stretch.

    Parameters
    ----------
    first_mm, step_mm : tuple of float
        As in `Moments` [mm].
    row : ndarray of int64, shape (y,)
        Which row of the arrays below a node across has; nozzles of one pitch repeat them.
    values : ndarray of complex64, shape (x, r, TURNS + 1)
        Both numbers; the last direction is the first again.
    """

    first_mm: tuple[float, float]
    step_mm: tuple[float, float]
    row: Ints
    values: NDArray[np.complex64]


@lru_cache(maxsize=32)
def grid_under(
    headers: tuple[Header, ...], stance: Stance, body: Stance, open_fraction: float, most_rad: float
) -> Grid:
    """Return balance angle and energy on the grid of `moments_under` for a can as it stands."""
    got = moments_under(headers, body, open_fraction, most_rad)
    rest_rad, rest_mJ = tipped_under_load(np.zeros(LEANS), got.leans_rad, stance)
    values = np.full(got.moment_N_mm.shape[:-1], rest_rad + 1j * rest_mJ, dtype=np.complex64)
    # a slab at a time stays in a core's cache; half of the nodes are under no spray
    for value, moment in zip(values, got.moment_N_mm, strict=True):
        wet = np.einsum("ijk,ijk->ij", moment, moment) > 0.0
        balance, energy = tipped_under_load(moment[wet].astype(float), got.leans_rad, stance)
        value[wet] = balance + 1j * energy
    # rows with like neighbours bend alike; beyond the outermost, where nothing sprays, is another
    beside = np.concatenate((got.row[:1], got.row, got.row[-1:]))
    row, once = kinds(list(zip(beside[:-2], got.row, beside[2:], strict=True)))
    values = values[:, got.row[once]]
    return Grid(got.first_mm, got.step_mm, row, np.concatenate((values, values[:, :, :1]), axis=2))


def _bend(grid: Grid, out: NDArray[np.complex64]) -> None:
    """Fill in minus half the second differences of a grid along, across and over the directions.

    Shape (x, r, TURNS + 1, 3).
    """
    values = grid.values
    _, once = np.unique(grid.row, return_index=True)
    left = grid.row[np.maximum(once - 1, 0)]
    right = grid.row[np.minimum(once + 1, grid.row.size - 1)]
    out[0, ..., 0] = out[-1, ..., 0] = 0.0
    for x, (here, bend) in enumerate(zip(values, out, strict=True)):  # by slabs, as above
        if 0 < x < len(values) - 1:
            bend[..., 0] = here - (values[x - 1] + values[x + 1]) / 2.0
        bend[..., 1] = here - (here[left] + here[right]) / 2.0
        bend[:, :-1, 2] = here[:, :-1] - (np.roll(here[:, :-1], 1, axis=1) + here[:, 1:]) / 2.0
    out[:, :, -1, 2] = out[:, :, 0, 2]


@dataclass(frozen=True, slots=True, eq=False)
class Stretch:
    """A stretch of the line, in order along travel.

    Parameters
    ----------
    start_mm, stop_mm : float
        Where its grid is counted from, and where it ends, from the start of the line [mm].
    balance_rad, energy_mJ : float
        Balance angle and energy to it without sprays [rad], [mJ].
    grid : Grid or None
        Under its headers; None between headers.
    """

    start_mm: float
    stop_mm: float
    balance_rad: float
    energy_mJ: float
    grid: Grid | None = None


class LineLoad(NamedTuple):
    """Balance angle and energy to balance of a can anywhere on a line, leaning in any direction.

    Parameters
    ----------
    ends_mm : ndarray, shape (w - 1,)
        Where each of the w stretches but the last ends [mm].
    rest : ndarray of complex128, shape (w,)
        Balance angle [rad] + i · energy to it [mJ] of each stretch without sprays.
    origin_mm, step_mm : ndarray, shape (w, 2)
        First node of its grid, along and across, and distance of the nodes [mm].
    nodes : ndarray of int64, shape (w, 2)
        How many nodes it has along and across; 0 between headers.
    first, first_row, wide : ndarray of int64, shape (w,)
        Where its grid begins in ``values`` and ``bend``, and in ``row``, and how much of them one
        node along takes; like stretches share a grid.
    row, values, bend : ndarray
        Those of the grids one after the other, see `Grid`, and minus half the second differences
        of the values along, across and over the directions, shape (n, 3).
    most_rad : float
        Largest balance angle at any node and between headers [rad].
    """

    ends_mm: Floats
    rest: Places
    origin_mm: Floats
    step_mm: Floats
    nodes: Ints
    first: Ints
    first_row: Ints
    wide: Ints
    row: Ints
    values: NDArray[np.complex64]
    bend: NDArray[np.complex64]
    most_rad: float

    def at(self, x_mm: Floats, y_mm: Floats, direction_rad: Floats) -> tuple[Floats, Floats]:
        """Return balance angle and energy to balance of cans where they are.

        Parameters
        ----------
        x_mm, y_mm : ndarray, shape (m,)
            Places along the line and from the mat's left edge; beyond the nodes the nearest counts
            [mm].
        direction_rad : ndarray, shape (m,)
            Directions of the lean, 0 along travel and π/2 to the right [rad].

        Returns
        -------
        balance_rad, energy_mJ : ndarray, shape (m,)
            Both 0 where the sprays alone lift or overturn a can [rad], [mJ].
        """
        found: tuple[Floats, Floats]
        found = run(_loads, 100 * x_mm.size, self, x_mm, y_mm, direction_rad)
        return found


@kernel
def _loads(
    load: LineLoad, x: Sequence[float], y: Sequence[float], direction: Sequence[float]
) -> tuple[Floats, Floats]:
    balance, energy, stretch = np.empty(len(x)), np.empty(len(x)), 0
    for i in range(len(x)):
        stretch = stretch_at(load.ends_mm, x[i], stretch)
        turn, share = turn_of(direction[i])
        balance[i], energy[i] = load_in(load, stretch, x[i], y[i], turn, share)
    return balance, energy


@kernel
def stretch_at(ends_mm: Floats, x_mm: float, guess: int) -> int:
    """Which stretch a place is in, looked for from a guess on."""
    while guess < len(ends_mm) and x_mm >= ends_mm[guess]:
        guess += 1
    while guess > 0 and x_mm < ends_mm[guess - 1]:
        guess -= 1
    return guess


@within
def load_in(
    load: LineLoad, stretch: int, x_mm: float, y_mm: float, turn: int, w: float
) -> tuple[float, float]:
    """Return balance angle and energy to balance of one can in a stretch, see `LineLoad.at`.

    ``turn`` and ``w`` are those of `turn_of`.

    Grids are read between their nodes, straight along each axis and bent as at the nearest.
    Measured in tests: the energies are right to a tenth of what straight lines alone give.
    """
    rest = load.rest[stretch]
    if load.nodes[stretch, 0] == 0:
        return rest.real, rest.imag
    origin, step, nodes = load.origin_mm[stretch], load.step_mm[stretch], load.nodes[stretch]
    along, u = _split((x_mm - origin[0]) / step[0], nodes[0])
    across, v = _split((y_mm - origin[1]) / step[1], nodes[1])
    wide = load.wide[stretch]
    start, row = load.first[stretch] + along * wide + turn, load.first_row[stretch] + across
    near, far = start + load.row[row] * (TURNS + 1), start + load.row[row + 1] * (TURNS + 1)
    one = _between(_read(load, near, w), _read(load, far, w), v)
    found = _between(one, _between(_read(load, near + wide, w), _read(load, far + wide, w), v), u)
    nearest = (near if v < 0.5 else far) + (w >= 0.5) + (wide if u >= 0.5 else 0)
    bend = load.bend[nearest]
    u, v, w = u * (1.0 - u), v * (1.0 - v), w * (1.0 - w)
    balance = found.real + (u * bend[0].real + v * bend[1].real + w * bend[2].real)
    energy = found.imag + (u * bend[0].imag + v * bend[1].imag + w * bend[2].imag)
    return max(balance, 0.0), max(energy, 0.0)


@kernel
def turn_of(direction_rad: float) -> tuple[int, float]:
    """Direction of a grid at or before one, and the share of the way to the next."""
    return _split(direction_rad / (2.0 * math.pi) % 1.0 * TURNS, TURNS + 1)


@within
def _read(load: LineLoad, at: int, share: float) -> complex:
    """Return the value a share of the way from one direction of a grid to the next."""
    return _between(load.values[at], load.values[at + 1], share)


@within
def _between(one: complex, other: complex, share: float) -> complex:
    return complex(  # the product of a number and a pair, not of two complex numbers: half of it
        one.real + share * (other.real - one.real), one.imag + share * (other.imag - one.imag)
    )


@within
def _split(place: float, nodes: int) -> tuple[int, float]:
    """Node at or before a place, and the share of the way to the next; the ends run on."""
    inside = min(max(place, 0.0), nodes - 1.0)
    node = min(int(inside), nodes - 2)
    return node, inside - node


def line_load(stretches: Sequence[Stretch]) -> LineLoad:
    """Put the stretches of a line together.

    Parameters
    ----------
    stretches : sequence of Stretch
        In order along travel, each from the end of the one before; the first and last run on.

    Returns
    -------
    LineLoad
        To be asked for many cans at once.
    """
    grids = list({id(s.grid): s.grid for s in stretches if s.grid is not None}.values())
    begin = np.cumsum([[0, 0], *((grid.values.size, grid.row.size) for grid in grids)], axis=0)
    of = {id(grid): at for grid, at in zip(grids, begin, strict=False)}
    rows = [
        ((0.0, 0.0), (1.0, 1.0), (0, 0), (0, 0), 0)
        if grid is None
        else (
            (start + grid.first_mm[0], grid.first_mm[1]),
            grid.step_mm,
            (grid.values.shape[0], grid.row.size),
            tuple(of[id(grid)]),
            grid.values[0].size,
        )
        for start, grid in ((s.start_mm, s.grid) for s in stretches)
    ]
    origin, step, nodes, begins, wide = (np.array(column) for column in zip(*rows, strict=True))
    nodes_of = _one_after_the_other(tuple(grids))
    rest = np.array([complex(s.balance_rad, s.energy_mJ) for s in stretches])
    return LineLoad(
        ends_mm=np.array([s.stop_mm for s in stretches[:-1]]),
        rest=rest,
        origin_mm=origin,
        step_mm=step,
        nodes=nodes,
        first=begins[:, 0],
        first_row=begins[:, 1],
        wide=wide,
        most_rad=float(max(rest.real.max(), nodes_of["values"].real.max(initial=0.0))),
        **nodes_of,
    )


@lru_cache(maxsize=4)
def _one_after_the_other(grids: tuple[Grid, ...]) -> dict[str, NDArray[Any]]:
    """Rows, values and bends of the grids of a line; a line that is set otherwise keeps them."""
    values = np.concatenate([np.zeros(0, "c8"), *(grid.values.ravel() for grid in grids)])
    bend, at = np.empty((values.size, 3), "c8"), 0
    for grid in grids:
        _bend(grid, bend[at : at + grid.values.size].reshape(*grid.values.shape, 3))
        at += grid.values.size
    row = np.concatenate([np.zeros(0, np.int64), *(grid.row for grid in grids)])
    return {"row": row, "values": values, "bend": bend}
