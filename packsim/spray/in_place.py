"""The load on a can where it is: balance angle and energy by place under the headers and direction.

Between headers nothing sprays and weight alone rights a can. Under a header the numbers stand in
a grid along travel, across the mat and over the direction of the lean, and are read between nodes.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from packsim.arrays import Bools, Floats, Ints, Places


@dataclass(frozen=True, slots=True, eq=False)
class LineLoad:
    """Balance angle and energy to balance of a can anywhere on a line, leaning in any direction.

    Parameters
    ----------
    ends_mm : ndarray, shape (w - 1,)
        Where one of the w stretches of the line ends and the next begins [mm].
    rest : ndarray of complex128, shape (w,)
        Balance angle [rad] + i · energy to it [mJ] of each stretch, without any spray.
    sprayed : ndarray of bool, shape (w,)
        Stretches under headers; what follows counts for them alone.
    start_mm : ndarray, shape (w,)
        Place along the line of the first of their nodes [mm].
    first, nodes : ndarray of int64, shape (w,)
        First row of ``table`` of each, and how many it has; stretches that are alike share them.
    table : ndarray of complex64, shape (r, y, d + 1)
        The same two numbers by place along and across and by direction; the
        last direction is the first again.
    start_across_mm : float
        Place across the mat of the first node [mm].
    step_mm : float
        Distance of the nodes along and across [mm].
    """

    ends_mm: Floats
    rest: Places
    sprayed: Bools
    start_mm: Floats
    first: Ints
    nodes: Ints
    table: NDArray[np.complex64]
    start_across_mm: float
    step_mm: float

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
        stretch = np.searchsorted(self.ends_mm, x_mm, side="right")
        found = self.rest.take(stretch)
        wet = np.flatnonzero(self.sprayed.take(stretch))
        if wet.size:
            found[wet] = self._read(stretch[wet], x_mm[wet], y_mm[wet], direction_rad[wet])
        return found.real.copy(), found.imag.copy()

    def _read(
        self, stretch: Ints, x: Floats, y: Floats, direction: Floats
    ) -> NDArray[np.complex64]:
        """Read the table between its nodes, linear along each of the three."""
        _, rows, turns = self.table.shape
        along, u = _split(
            (x - self.start_mm.take(stretch)) / self.step_mm, self.nodes.take(stretch)
        )
        across, v = _split((y - self.start_across_mm) / self.step_mm, rows)
        turn, w = _split(np.mod(direction / (2.0 * math.pi), 1.0) * (turns - 1), turns)
        flat = self.table.reshape(-1)
        at = ((self.first.take(stretch) + along) * rows + across) * turns + turn
        layers = []
        for corner in (at, at + rows * turns):
            near, far = (
                one + w * (flat.take(k + 1) - one)
                for k in (corner, corner + turns)
                for one in (flat.take(k),)
            )
            layers.append(near + v * (far - near))
        return np.asarray(layers[0] + u * (layers[1] - layers[0]))


def _split(place: Floats, nodes: Ints | int) -> tuple[Ints, NDArray[np.float32]]:
    """Node at or before a place, and the share of the way to the next; the ends run on."""
    inside = np.clip(place, 0.0, nodes - 1.0)
    node = np.minimum(inside.astype(np.int64), nodes - 2)
    return node, (inside - node).astype(np.float32)


def unsprayed(ends_mm: Floats, balance_rad: Floats, energy_mJ: Floats) -> LineLoad:
    """Return the load of stages that have one balance angle and energy everywhere.

    Parameters
    ----------
    ends_mm : ndarray, shape (k - 1,)
        Where one stage ends and the next begins [mm].
    balance_rad, energy_mJ : ndarray, shape (k,)
        Balance angle and energy to it in each stage [rad], [mJ].
    """
    k = len(balance_rad)
    none = np.zeros(k, dtype=np.int64)
    return LineLoad(
        ends_mm=ends_mm,
        rest=balance_rad + 1j * energy_mJ,
        sprayed=np.zeros(k, dtype=np.bool_),
        start_mm=np.zeros(k),
        first=none,
        nodes=none,
        table=np.zeros((0, 0, 0), dtype=np.complex64),
        start_across_mm=0.0,
        step_mm=1.0,
    )
