"""The largest moments of sprays over places and lines, compiled where the compiler is loaded."""

from __future__ import annotations

import math
import sys
from typing import Any

import numpy as np

from packsim.arrays import Floats
from packsim.compiled import compiled, kernel, within
from packsim.spray.sprays import Sprays, leaning_load, push_of, seen_along, thrown


def greatest_moments(
    sprays: Sprays, leans: int, radius_mm: float, x_mm: Floats, y_mm: Floats, direction_rad: Floats
) -> Floats:
    """Return the largest moments of sprays on any of some lines.

    Parameters
    ----------
    sprays : Sprays
        At so many leans as ``leans`` says.
    leans : int
        Leans.
    radius_mm : float
        Of the can [mm].
    x_mm : ndarray, shape (a,)
        Places along the stage, rising [mm].
    y_mm : ndarray, shape (b,)
        Lines across the mat; each place is looked at on each line [mm].
    direction_rad : ndarray, shape (d,)
        Directions [rad].

    Returns
    -------
    ndarray, shape (a, d, leans)
        See `tipping_moment_N_mm` [N·mm].
    """
    unit = np.cos(direction_rad), np.sin(direction_rad)
    if "numba" in sys.modules:
        lines = np.ascontiguousarray(y_mm)  # or it is compiled for each kind
        most: Floats = compiled(_greatest)(sprays, leans, radius_mm, x_mm, lines, *unit)
        return most.T
    # an upright can is where it is, whatever way it may lean next
    ways = unit if sprays.each["out_mm"].any() else np.zeros((2, 1))
    where = np.broadcast_arrays(x_mm[:, None, None], y_mm[:, None], *ways)
    load = leaning_load(sprays, leans, *(each.ravel() for each in where))
    down, along, across = load.reshape(3, leans, *where[0].shape)
    moment = along * unit[0] + across * unit[1] - down * radius_mm
    return np.moveaxis(moment.max(axis=2), 0, -1)


@kernel
def _greatest(
    sprays: Sprays, leans: int, radius: float, x: Floats, y: Floats, ux: Floats, uy: Floats
) -> Floats:
    """`greatest_moments`; what a nozzle does is looked up for all places along travel in turn."""
    each, rows = sprays.each, np.empty((9, len(x)))
    most = np.empty((leans, len(ux), len(x)))
    most[:] = -math.inf
    down, along, across = rows[0], rows[1], rows[2]
    for k in range(leans):
        leant = 0.0
        for q in range(k, len(each), leans):
            leant += each[q]["out_mm"]
        for j in range(len(y)):
            for d in range(len(ux)):
                if d == 0 or leant > 0.0:
                    rows[:3] = 0.0
                    for q in range(k, len(each), leans):
                        line = y[j], ux[d], uy[d]
                        _add_header(each[q], sprays.table[q], sprays.tables, x, line, rows)
                largest = most[k, d]
                for i in range(len(x)):
                    moment = along[i] * ux[d] + across[i] * uy[d] - down[i] * radius
                    largest[i] = max(largest[i], moment)
    return most


@within
def _add_header(
    one: Any,
    table: Any,
    tables: Floats,
    x: Floats,
    line: tuple[float, float, float],
    rows: Floats,
) -> None:
    """Add the `upright_load` of one header on cans of one line to the first three rows.

    As `pushed`, but nozzle by nozzle; the other rows are to work in.
    """
    y, ux, uy = line
    first, pitch, reach = one["first_mm"], one["pitch_mm"], one["across_mm"]
    aside, begin, end = one["out_mm"] * uy, len(x), 0
    down, along, across, share = rows[0], rows[1], rows[2], rows[3]
    on_along, on_across, moment, top, facing = rows[4], rows[5], rows[6], rows[7], rows[8]
    for i in range(len(x)):
        if abs(x[i] - one["station_mm"] + one["out_mm"] * ux) < one["along_mm"]:
            begin, end = min(begin, i), i + 1
    for i in range(begin, end):
        top[i], facing[i] = seen_along(one, x[i], ux)
        share[i] = on_along[i] = on_across[i] = moment[i] = 0.0
    nozzle = np.ceil((y + aside - reach - first) / pitch)
    for _ in range(one["turns"]):
        off = y - (first + pitch * nozzle)
        over = off + aside
        if 0.0 <= nozzle < one["count"] and abs(over) < reach:
            for i in range(begin, end):
                got = thrown(one, table, tables, top[i], facing[i], over, uy)
                share[i] += got[0]
                on_along[i] += got[1]
                on_across[i] += got[2]
                moment[i] += got[0] * off
        nozzle += 1.0
    for i in range(begin, end):
        push = push_of(one, x[i], share[i], on_along[i], on_across[i], moment[i])
        down[i] += push[0]
        along[i] += push[1]
        across[i] += push[2]
