"""The load on a can where it is: balance angle and energy by place on the line and direction.

Between headers nothing sprays and weight alone rights a can. Under a header both numbers are read
between the nodes of a grid along travel, across the mat and over the direction of the lean.
"""

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from packsim.arrays import Floats, Ints, Places
from packsim.compiled import kernel, run, within
from packsim.spray.leaning import LEANS, tipped_by
from packsim.spray.sprays import Sprays, add_loads
from packsim.spray.under_headers import TURNS

_TURN_RAD = 2.0 * math.pi / TURNS


class LineLoad(NamedTuple):
    """Balance angle and energy to balance of a can anywhere on a line, leaning in any direction.

    Parameters
    ----------
    ends_mm : ndarray, shape (w - 1,)
        Where each of the w stretches but the last ends [mm].
    rest : ndarray of complex128, shape (w,)
        Balance angle [rad] + i · energy to it [mJ] of each stretch without sprays.
    origin_mm, inside_mm, step_mm : ndarray, shape (w, 2)
        First node of its grid, along and across, from the line's start and from the stretch's, and
        distance of the nodes [mm].
    nodes : ndarray of int64, shape (w, 2)
        How many nodes it has along and across; 0 between headers.
    first, first_row, first_cell, wide : ndarray of int64, shape (w,)
        Where its grid begins in ``values`` and ``bend``, in ``row`` and in ``asked``, and how far
        the next node along is in the first; like stretches share a grid.
    plane : ndarray of int64, shape (w,)
        How far the next direction is.
    row, once : ndarray of int64
        Those of the `Nodes` of the grids one after the other.
    values : ndarray of complex64, shape (n,)
        As ``rest``, at the nodes that were asked for: by `TURNS` + 1 directions, of which the last
        is the first again, along and by row across.
    bend : ndarray of complex64, shape (n, 3)
        Minus half their second differences along, across and over the directions.
    known : ndarray of uint8, shape (n,)
        Whether value (1) and bend (2) of a node are worked out.
    asked : ndarray of uint8
        For each cell between nodes along, across and over the directions: in which of its eight
        parts a place was asked for, so that all it is read from is known.
    sprays : Sprays
        Those of the grids one after the other.
    thrown : ndarray of int64, shape (w, 2)
        Which of them are a stretch's.
    radius_mm : float
        Of the can [mm].
    rights_N_mm : ndarray, shape (w, j)
        What rights it at the leans of ``halved`` [N·mm].
    halved : tuple of ndarray
        Of `packsim.spray.leaning.halved`.
    """

    ends_mm: Floats
    rest: Places
    origin_mm: Floats
    inside_mm: Floats
    step_mm: Floats
    nodes: Ints
    first: Ints
    first_row: Ints
    first_cell: Ints
    wide: Ints
    plane: Ints
    row: Ints
    once: Ints
    values: NDArray[np.complex64]
    bend: NDArray[np.complex64]
    known: NDArray[np.uint8]
    asked: NDArray[np.uint8]
    sprays: Sprays
    thrown: Ints
    radius_mm: float
    rights_N_mm: Floats
    halved: tuple[Floats, Floats, Floats]

    @property
    def most_rad(self) -> float:
        """Largest balance angle anywhere: sprays make none larger [rad]."""
        return float(self.rest.real.max())

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
        turns = _NODE_TURNS if self.values.size else 100
        found = run(_loads, turns * x_mm.size, self, x_mm, y_mm, direction_rad)
        return found


@kernel
def stretch_at(ends_mm: Floats, x_mm: float, guess: int) -> int:
    """Which stretch a place is in, looked for from a guess on."""
    while guess < len(ends_mm) and x_mm >= ends_mm[guess]:
        guess += 1
    while guess > 0 and x_mm < ends_mm[guess - 1]:
        guess -= 1
    return guess


@within
def _part(
    nodes: tuple[int, int], at: tuple[int, int, int], share: tuple[float, float, float]
) -> tuple[int, int]:
    """Cell of a grid's share of ``asked``, and which of its eight parts a place is in."""
    (size, rows), (along, across, turn), (u, v, w) = nodes, at, share
    corner = (u >= 0.5) + 2 * (v >= 0.5) + 4 * (w >= 0.5)
    return (turn * size + along) * rows + across, corner


@within
def load_in(
    load: LineLoad, stretch: int, x_mm: float, y_mm: float, turn: int, w: float
) -> tuple[float, float]:
    """Return balance angle and energy to balance of one can in a stretch, see `LineLoad.at`.

    ``turn`` and ``w`` are those of `turn_of`. Both are nan where `LineLoad.at` was not asked yet.

    Grids are read between their nodes, straight along each axis and bent as at the nearest.
    Measured in tests: the energies are right to a tenth of what straight lines alone give.
    """
    rest = load.rest[stretch]
    if load.nodes[stretch, 0] == 0:
        return rest.real, rest.imag
    origin, step, nodes = load.origin_mm[stretch], load.step_mm[stretch], load.nodes[stretch]
    along, u = _split((x_mm - origin[0]) / step[0], nodes[0])
    across, v = _split((y_mm - origin[1]) / step[1], nodes[1])
    wide, plane, row = load.wide[stretch], load.plane[stretch], load.first_row[stretch] + across
    start = load.first[stretch] + turn * plane + along * wide
    near, far = start + load.row[row], start + load.row[row + 1]
    cell, corner = _part((nodes[0], nodes[1]), (along, across, turn), (u, v, w))
    known = load.asked[load.first_cell[stretch] + cell] >> corner & 1
    # each array by its own name: handed to a helper all of them are counted in and out
    values, bends, nearest = load.values, load.bend, near if v < 0.5 else far
    nearest += (plane if w >= 0.5 else 0) + (wide if u >= 0.5 else 0)
    one = _between(values[near], values[near + plane], w)
    one = _between(one, _between(values[far], values[far + plane], w), v)
    near, far = near + wide, far + wide
    other = _between(values[near], values[near + plane], w)
    other = _between(other, _between(values[far], values[far + plane], w), v)
    found, bend = _between(one, other, u), bends[nearest]
    u, v, w = u * (1.0 - u), v * (1.0 - v), w * (1.0 - w)
    balance = found.real + (u * bend[0].real + v * bend[1].real + w * bend[2].real)
    energy = found.imag + (u * bend[0].imag + v * bend[1].imag + w * bend[2].imag)
    return (max(balance, 0.0), max(energy, 0.0)) if known else (math.nan, math.nan)


@kernel
def turn_of(direction_rad: float) -> tuple[int, float]:
    """Direction of a grid at or before one, and the share of the way to the next."""
    return _split(direction_rad / (2.0 * math.pi) % 1.0 * TURNS, TURNS + 1)


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


_NODE_TURNS = 30_000
"""Inner turns it takes to read between nodes that are not worked out yet."""

_VALUE, _BEND = 1, 2
"""What is known of a node."""


@kernel
def _work_out(load: LineLoad, stretch: int, x_mm: float, y_mm: float, direction: float) -> None:
    """Work out what a place is read from: the nodes about it, and the bend at the nearest."""
    origin, step, nodes = load.origin_mm[stretch], load.step_mm[stretch], load.nodes[stretch]
    along, u = _split((x_mm - origin[0]) / step[0], nodes[0])
    across, v = _split((y_mm - origin[1]) / step[1], nodes[1])
    (turn, w), first = turn_of(direction), load.first_row[stretch]
    cell, corner = _part((nodes[0], nodes[1]), (along, across, turn), (u, v, w))
    for i in range(2):
        for j in range(2):
            for k in range(2):
                _value(load, stretch, along + i, load.row[first + across + j], turn + k)
    x, turn = along + (corner & 1), turn + (corner >> 2 & 1)
    row = load.row[first + across + (corner >> 1 & 1)]
    at = load.first[stretch] + turn * load.plane[stretch] + x * load.wide[stretch] + row
    load.asked[load.first_cell[stretch] + cell] |= 1 << corner
    if load.known[at] & _BEND:
        return
    y, last = load.once[first + row], load.nodes[stretch, 1] - 1
    left, right = load.row[first + max(y - 1, 0)], load.row[first + min(y + 1, last)]
    here, bend = _value(load, stretch, x, row, turn), load.bend[at]
    bend[0] = 0.0
    if 0 < x < load.nodes[stretch, 0] - 1:
        before, after = (
            _value(load, stretch, x - 1, row, turn),
            _value(load, stretch, x + 1, row, turn),
        )
        bend[0] = here - (before + after) / 2.0
    before, after = _value(load, stretch, x, left, turn), _value(load, stretch, x, right, turn)
    bend[1] = here - (before + after) / 2.0
    before = _value(load, stretch, x, row, turn - 1 if turn > 0 else TURNS - 1)
    after = _value(load, stretch, x, row, turn + 1 if turn < TURNS else 1)
    bend[2] = here - (before + after) / 2.0
    load.known[at] |= _BEND


@kernel
def _value(load: LineLoad, stretch: int, along: int, row: int, turn: int) -> complex:
    """Return the balance angle and energy at one node, worked out if it is not known."""
    at = load.first[stretch] + turn * load.plane[stretch] + along * load.wide[stretch] + row
    if not load.known[at] & _VALUE:
        origin, step, angle = load.inside_mm[stretch], load.step_mm[stretch], _TURN_RAD * turn
        y = origin[1] + step[1] * load.once[load.first_row[stretch] + row]
        ux, uy, thrown = math.cos(angle), math.sin(angle), load.thrown[stretch]
        forces = np.zeros((3, LEANS))
        add_loads(
            load.sprays, thrown[0], thrown[1], (origin[0] + step[0] * along, y, ux, uy), forces
        )
        moment = forces[1] * ux + forces[2] * uy - forces[0] * load.radius_mm
        own, rights = load.rest[stretch].real, load.rights_N_mm[stretch]
        load.values[at] = complex(*tipped_by(moment, own, rights, load.halved))
        load.known[at] |= _VALUE
    value: complex = load.values[at]
    return value


@kernel
def _loads(
    load: LineLoad, x: Sequence[float], y: Sequence[float], direction: Sequence[float]
) -> tuple[Floats, Floats]:
    balance, energy = _known_loads(load, x, y, direction)
    missed, stretch = 0, 0
    for i in range(len(x)):
        if energy[i] != energy[i]:
            missed, stretch = missed + 1, stretch_at(load.ends_mm, x[i], stretch)
            _work_out(load, stretch, x[i], y[i], direction[i])
    return _known_loads(load, x, y, direction) if missed else (balance, energy)


@kernel
def _known_loads(
    load: LineLoad, x: Sequence[float], y: Sequence[float], direction: Sequence[float]
) -> tuple[Floats, Floats]:
    """As `LineLoad.at`, nan where nobody asked before."""
    balance, energy, stretch = np.empty(len(x)), np.empty(len(x)), 0
    for i in range(len(x)):
        stretch = stretch_at(load.ends_mm, x[i], stretch)
        turn, share = turn_of(direction[i])
        balance[i], energy[i] = load_in(load, stretch, x[i], y[i], turn, share)
    return balance, energy
