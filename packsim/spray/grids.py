"""Grids of the load by place, one for each stretch under headers, and a line of them."""

from __future__ import annotations

import mmap
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from packsim.arrays import Floats, Ints
from packsim.can import Stance
from packsim.line import Header
from packsim.spray.catch import tables_of
from packsim.spray.in_place import LineLoad
from packsim.spray.leaning import LEANS, halved, lean_nodes_rad
from packsim.spray.sprays import SPRAY, Sprays, leaning_sprays
from packsim.spray.under_headers import TURNS, Nodes, nodes_under


@dataclass(frozen=True, slots=True, eq=False)
class Grid:
    """Where balance angle and energy are worked out under the headers of one stretch, if asked.

    Parameters
    ----------
    nodes : Nodes
        The places.
    headers : tuple of Header
        The headers.
    stance, body : Stance
        The can as it stands; of the body only diameter and height count.
    open_fraction : float
        Share of the spray from below that the mat lets through [-].
    most_rad : float
        Largest lean [rad].
    """

    nodes: Nodes
    headers: tuple[Header, ...]
    stance: Stance
    body: Stance
    open_fraction: float
    most_rad: float

    @property
    def size(self) -> int:
        """How many nodes there are, over the directions too; the last is the first again."""
        return (TURNS + 1) * self.nodes.along * self.nodes.once.size

    @property
    def sprays(self) -> Sprays:
        """The headers, at the leans of `lean_nodes_rad`."""
        return _sprays_of((self,))


@lru_cache(maxsize=32)
def grid_under(
    headers: tuple[Header, ...], stance: Stance, body: Stance, open_fraction: float, most_rad: float
) -> Grid:
    """Return the grid under the headers of one `Under` for a can as it stands."""
    nodes = nodes_under(headers, body, most_rad)
    return Grid(
        nodes=nodes,
        headers=headers,
        stance=stance,
        body=body,
        open_fraction=open_fraction,
        most_rad=most_rad,
    )


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
    grids = tuple({id(s.grid): s.grid for s in stretches if s.grid is not None}.values())
    ends = [(0, 0, 0), *((g.size, g.nodes.row.size, LEANS * len(g.headers)) for g in grids)]
    begin = np.cumsum(ends, axis=0)
    of = {id(grid): at for at, grid in enumerate(grids)}
    rows = [_row(one, begin[of[id(one.grid)] :] if one.grid else begin) for one in stretches]
    origins, inside, steps, sizes, begins, wide, thrown = (
        np.array(column) for column in zip(*rows, strict=True)
    )
    leans = halved(tuple(lean_nodes_rad(grids[0].most_rad if grids else 1.0).tolist()))
    rights = [_righting_N_mm(s, leans[0]) for s in stretches]
    return LineLoad(
        ends_mm=np.array([s.stop_mm for s in stretches[:-1]]),
        rest=np.array([complex(s.balance_rad, s.energy_mJ) for s in stretches]),
        origin_mm=origins,
        inside_mm=inside,
        step_mm=steps,
        nodes=sizes,
        first=begins[:, 0],
        first_row=begins[:, 1],
        wide=wide,
        plane=wide * sizes[:, 0],
        thrown=thrown,
        radius_mm=grids[0].stance.radius_mm if grids else 0.0,
        rights_N_mm=np.array(rights),
        halved=leans,
        **_one_after_the_other(grids),
    )


def _row(stretch: Stretch, begin: Ints) -> tuple[Any, ...]:
    """Return what a `LineLoad` has of a stretch, whose grid and the next begin so."""
    none = 0.0, 0.0
    if stretch.grid is None:
        return none, none, (1.0, 1.0), (0, 0), (0, 0), 0, (0, 0)
    nodes = stretch.grid.nodes
    origin = stretch.start_mm + nodes.first_mm[0], nodes.first_mm[1]
    places = origin, nodes.first_mm, nodes.step_mm
    size, sprays = (nodes.along, nodes.row.size), tuple(begin[:2, 2])
    return *places, size, tuple(begin[0, :2]), nodes.once.size, sprays


def _righting_N_mm(stretch: Stretch, leans_rad: Floats) -> Floats:
    """Return what rights a can at some leans; 0 where nothing sprays, as nobody asks there."""
    if stretch.grid is None:
        return np.zeros(leans_rad.size)
    stance = stretch.grid.stance
    own = stance.balance_angle_rad
    return np.asarray(stance.weight_N * stance.arm_mm * np.sin(own - leans_rad))


@lru_cache(maxsize=4)
def _one_after_the_other(grids: tuple[Grid, ...]) -> dict[str, Any]:
    """Put the grids of a line together; a line that is set otherwise keeps what is worked out."""
    size = sum(grid.size for grid in grids)
    none = np.zeros(0, np.int64)
    return {
        "row": np.concatenate([none, *(grid.nodes.row for grid in grids)]),
        "once": np.concatenate(
            [none, *(np.resize(grid.nodes.once, grid.nodes.row.size) for grid in grids)]
        ),
        "values": _unwritten(size),
        "bend": _unwritten(3 * size).reshape(size, 3),
        "sprays": _sprays_of(grids),
    }


def _sprays_of(grids: Sequence[Grid]) -> Sprays:
    """Return the sprays of the grids of a line, of one can: header by header, lean by lean."""
    if not grids:
        return Sprays(np.zeros(0, SPRAY), *tables_of(()))
    headers = tuple(header for grid in grids for header in grid.headers)
    one = grids[0]
    return leaning_sprays(headers, one.body, one.open_fraction, lean_nodes_rad(one.most_rad))


def _unwritten(count: int) -> NDArray[np.complex64]:
    """Return zeros of which those that nobody writes to take no room.

    Numpy asks for large pages, of which Linux clears 2 MB where one number is written: a picture
    asks for few numbers all over a line, and waited for the clearing of 56 MB.
    """
    private = {}
    if sys.platform != "win32":
        private = {"flags": mmap.MAP_PRIVATE | mmap.MAP_ANONYMOUS}
    return np.frombuffer(mmap.mmap(-1, 8 * max(count, 1), **private), np.complex64, count)
