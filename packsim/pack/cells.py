"""Points sorted into cells, so that whoever is near a place is found without a look at all."""

import math
from typing import NamedTuple

import numpy as np

from packsim.arrays import Bools, Ints, Places
from packsim.compiled import kernel


class Cells(NamedTuple):
    """Points by cell, column after column along travel.

    Parameters
    ----------
    order : ndarray of int64, shape (m,)
        The points, cell by cell, those of a cell by rising number.
    begin : ndarray of int64, shape (columns · rows + 1,)
        Where in ``order`` each cell begins.
    columns, rows : int
        Cells along travel and across.
    x_mm, y_mm : float
        Corner of the first cell [mm].
    wide_mm, tall_mm : float
        Size of a cell along travel and across [mm].
    period_mm : float
        Period along travel, a whole number of cells; 0 for none [mm].
    moved_mm : complex
        How far the points have gone since, halfway between those that went least and most [mm].
    loose_mm : float
        By how much at most any of them went farther or less along either axis [mm].
    """

    order: Ints
    begin: Ints
    columns: int
    rows: int
    x_mm: float
    y_mm: float
    wide_mm: float
    tall_mm: float
    period_mm: float
    moved_mm: complex
    loose_mm: float


@kernel
def _bounds(place: Places, there: Bools) -> tuple[float, float, float, float]:
    """Least and greatest x and y of some points; 0 of none."""
    low_x = low_y = math.inf
    high_x = high_y = -math.inf
    for i in range(len(place)):
        if there[i]:
            x, y = place[i].real, place[i].imag
            low_x, high_x = min(low_x, x), max(high_x, x)
            low_y, high_y = min(low_y, y), max(high_y, y)
    return (low_x, high_x, low_y, high_y) if high_x >= low_x else (0.0, 0.0, 0.0, 0.0)


@kernel
def in_cells(place: Places, there: Bools, side_mm: float, period_mm: float) -> Cells:
    """Sort points into cells.

    Parameters
    ----------
    place : ndarray of complex128, shape (n,)
        The points [mm].
    there : ndarray of bool, shape (n,)
        Which of them to sort.
    side_mm : float
        Least size of a cell; larger where the points lie far apart [mm].
    period_mm : float
        Period along x, 0 for none [mm].

    Returns
    -------
    Cells
        At most some more cells than points.
    """
    count = len(place)
    low_x, high_x, low_y, high_y = _bounds(place, there)
    if period_mm > 0.0:
        low_x, high_x = 0.0, period_mm
    tall = wide = side_mm
    while (1.0 + (high_x - low_x) / wide) * (1.0 + (high_y - low_y) / tall) > 4.0 * count + 64.0:
        wide, tall = 2.0 * wide, 2.0 * tall
    rows = int((high_y - low_y) / tall) + 1
    columns = int((high_x - low_x) / wide) + 1
    if period_mm > 0.0:
        columns = max(1, int(period_mm / wide))
        wide = period_mm / columns
    cell = np.empty(count, np.int64)
    begin = np.empty(columns * rows + 1, np.int64)
    begin[:] = 0
    for i in range(count):
        if there[i]:
            column = math.floor((place[i].real - low_x) / wide)
            column = column % columns if period_mm > 0.0 else min(column, columns - 1)
            cell[i] = column * rows + min(int((place[i].imag - low_y) / tall), rows - 1)
            begin[cell[i] + 1] += 1
    for c in range(columns * rows):
        begin[c + 1] += begin[c]
    at, order = begin[:-1].copy(), np.empty(begin[-1], np.int64)
    for i in range(count):
        if there[i]:
            order[at[cell[i]]] = i
            at[cell[i]] += 1
    return Cells(
        order=order,
        begin=begin,
        columns=columns,
        rows=rows,
        x_mm=low_x,
        y_mm=low_y,
        wide_mm=wide,
        tall_mm=tall,
        period_mm=period_mm,
        moved_mm=0j,
        loose_mm=0.0,
    )


@kernel
def span(
    at_mm: float, reach_mm: float, corner_mm: float, side_mm: float, count: int, period_mm: float
) -> tuple[int, int]:
    """First and last of so many cells of a side that reach near a place, along one axis."""
    first = math.floor((at_mm - reach_mm - corner_mm) / side_mm)
    last = math.floor((at_mm + reach_mm - corner_mm) / side_mm)
    if period_mm == 0.0:
        return max(first, 0), min(last, count - 1)
    return (0, count - 1) if last - first >= count else (first, last)


@kernel
def gather(cells: Cells, x_mm: float, y_mm: float, reach_mm: float, found: Ints) -> int:
    """Find the points of all cells that reach near a place, some of them farther off.

    Parameters
    ----------
    cells : Cells
        The points.
    x_mm, y_mm, reach_mm : float
        The place, and how far to look [mm].
    found : ndarray of int64, shape (m,)
        Filled with the points, each once.

    Returns
    -------
    int
        How many there are.
    """
    x_mm, y_mm = x_mm - cells.moved_mm.real, y_mm - cells.moved_mm.imag
    reach_mm += cells.loose_mm
    low, high = span(y_mm, reach_mm, cells.y_mm, cells.tall_mm, cells.rows, 0.0)
    first, last = span(x_mm, reach_mm, cells.x_mm, cells.wide_mm, cells.columns, cells.period_mm)
    # arrays by their own names: one read out of a tuple inside a loop is counted in and out
    order, begin, columns, rows, count = cells.order, cells.begin, cells.columns, cells.rows, 0
    if high >= low:
        for column in range(first, last + 1):
            row = column % columns * rows
            for k in range(begin[row + low], begin[row + high + 1]):
                found[count] = order[k]
                count += 1
    return count


@kernel
def to_nearest(along_mm: float, period_mm: float) -> float:
    """Way along travel from one place to the nearest image of another [mm]."""
    if 2.0 * abs(along_mm) >= period_mm > 0.0:
        along_mm -= period_mm * math.floor(along_mm / period_mm + 0.5)
    return along_mm
