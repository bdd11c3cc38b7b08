"""The rays that cans catch as they lean: one source for compiled loops and for whole arrays."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from packsim.arrays import Floats
from packsim.can import Stance
from packsim.compiled import kernel, within
from packsim.line import Header
from packsim.spray.catch import NODES, Each, read_off, sine_nodes, tables_of
from packsim.spray.jets import Footprint, footprint_of, thrust_of_nozzle_N

_MOST_ENLARGED = 4.0
"""Most the shadow of a top grows as it rises towards a nozzle just above it: there the can would
strike the header."""


class Sprays(NamedTuple):
    """What headers throw at a can at some leans, all leans of a header one after the other.

    Parameters
    ----------
    each : ndarray of `SPRAY`, shape (h · k,)
        Numbers of each header and lean.
    table : ndarray of `TABLE`, shape (h · k,)
        Which table says what the top or the mouth catches.
    tables : ndarray
        The tables.
    """

    each: NDArray[np.void]
    table: NDArray[np.void]
    tables: Floats

    def at_lean(self, k: int, leans: int) -> Sprays:
        """Return the same at one of the leans only."""
        each, table = self.each[k::leans].copy(), self.table[k::leans].copy()
        return self._replace(each=each, table=table)


SPRAY = np.dtype(
    [("count", "i8"), ("turns", "i8")]
    + [(name, "f8") for name in ("station_mm", "first_mm", "pitch_mm")]
    + [(name, "f8") for name in ("out_mm", "scale", "tilt", "along_mm", "across_mm")]
    + [(name, "f8") for name in ("axial_N", "lever")]
)
"""A header: nozzles, and how many of them reach a can; where they stand. A lean: how far out the
top is, how much larger its shadow, how much less it faces the rays an mm off the nozzle; how near
the nozzle has to be along and across. Push of a nozzle along its axis, lever of the push aside."""


def leaning_sprays(
    headers: tuple[Header, ...], body: Stance, open_fraction: float, leans_rad: Floats
) -> Sprays:
    """Return what headers throw at a can; arguments as for `tipping_moment_N_mm`."""
    radius, height, asked = body.radius_mm, body.height_mm, []
    each = np.zeros((len(headers), len(leans_rad)), SPRAY)
    for header, row in zip(headers, each, strict=True):
        patch, above = footprint_of(header, height), header.side == "above"
        stand_off = patch.stand_off_mm
        axial = thrust_of_nozzle_N(header) * axial_share(patch) * (1.0 if above else -open_fraction)
        lever = height / stand_off if above else 0.0  # of the sideways push
        for k, lean in enumerate(leans_rad.tolist()):
            sin, cos = math.sin(lean), math.cos(lean)
            out = (height * sin if above else 0.0) + radius * (1.0 - cos)
            rise = height * cos + radius * sin - height if above else -radius * sin
            scale = min(_MOST_ENLARGED, stand_off / max(stand_off - rise, 1e-9))
            shadow = radius * scale * math.sqrt(cos)
            tilt = sin / cos / (stand_off if above else -stand_off) * scale
            reach = (patch.half_across_mm + shadow) / scale
            turns = math.floor(2.0 * reach / header.pitch_mm) + 1
            where = header.station_mm, header.first_mm, header.pitch_mm
            near = (patch.half_along_mm + shadow) / scale, reach
            row[k] = (header.count, turns, *where, out, scale, tilt, *near, axial, lever)
            asked.append((patch, shadow))
    return Sprays(each.ravel(), *tables_of(tuple(asked)))


def leaning_load(
    sprays: Sprays, leans: int, x: Floats, y: Floats, ux: Floats, uy: Floats
) -> Floats:
    """Return `upright_load` of cans that lean along unit vectors, shape (3, leans, n)."""
    load = np.zeros((3, leans, x.size))
    for q, (one, table) in enumerate(zip(sprays.each, sprays.table, strict=True)):
        away = np.abs(x - one["station_mm"] + one["out_mm"] * ux)
        near = np.flatnonzero(away < one["along_mm"])
        where = (each.take(near) for each in (x, y, ux, uy))
        load[:, q % leans, near] += pushed(one, table, sprays.tables, *where)
    return load


@within
def pushed(
    one: Any, table: Any, tables: Floats, x: Each, y: Each, ux: Each, uy: Each
) -> tuple[Each, Each, Each]:
    """`upright_load` of one header at one lean on cans that its sprays reach along travel."""
    reach, first, pitch, aside = (
        one["across_mm"],
        one["first_mm"],
        one["pitch_mm"],
        one["out_mm"] * uy,
    )
    top, facing = seen_along(one, x, ux)
    nozzle = np.ceil((y + aside - reach - first) / pitch)
    share, on_along, on_across, moment = 0.0 * y, 0.0 * y, 0.0 * y, 0.0 * y
    for _ in range(one["turns"]):
        across = y - (first + pitch * nozzle)
        over = across + aside
        there = (nozzle >= 0.0) & (nozzle < one["count"]) & (np.abs(over) < reach)
        got, got_along, got_across = thrown(one, table, tables, top, facing, over, uy)
        share += there * got
        on_along += there * got_along
        on_across += there * got_across
        moment += there * got * across
        nozzle += 1.0
    return push_of(one, x, share, on_along, on_across, moment)


@within
def seen_along(one: Any, x: Each, ux: Each) -> tuple[Each, Each]:
    """Where along travel the shadows of cans are from a header, and how far the cans face it."""
    top = x - one["station_mm"] + one["out_mm"] * ux
    return top * one["scale"], 1.0 - one["tilt"] * top * ux


@within
def thrown(
    one: Any, table: Any, tables: Floats, top: Each, facing: Each, over: Each, uy: Each
) -> tuple[Each, Each, Each]:
    """Share of a nozzle's flow that cans catch whose tops are ``over`` mm across; its moments."""
    got, along, across = read_off(table, tables, top, one["scale"] * over)
    faces = np.maximum(facing - one["tilt"] * over * uy, 0.0)
    return faces * got, faces * along, faces * across


@within
def push_of(
    one: Any, x: Each, share: Each, on_along: Each, on_across: Each, moment: Each
) -> tuple[Each, Each, Each]:
    """`upright_load` of what a header's nozzles throw at cans, added up."""
    axial, lever = one["axial_N"], 1.0 + one["lever"]
    return (
        axial * share,
        axial * (lever * on_along - share * (x - one["station_mm"])),
        axial * (lever * on_across - moment),
    )


@kernel
def add_loads(
    sprays: Sprays, start: int, stop: int, where: tuple[float, float, float, float], load: Floats
) -> None:
    """Add the `upright_load` of some of the sprays on one can, shape (3, leans)."""
    (x, y, ux, uy), each, table, tables = where, sprays.each, sprays.table, sprays.tables
    for q in range(start, stop):
        one, k = each[q], (q - start) % load.shape[1]
        if abs(x - one["station_mm"] + one["out_mm"] * ux) < one["along_mm"]:
            down, along, across = pushed(one, table[q], tables, x, y, ux, uy)
            load[0, k] += down
            load[1, k] += along
            load[2, k] += across


@lru_cache(maxsize=512)
def axial_share(patch: Footprint) -> float:
    """Mean cosine of the rays to the nozzle's axis, 1 for a jet that does not spread [-].

    Parameters
    ----------
    patch : Footprint
        The footprint.

    Returns
    -------
    float
        Share of the thrust that acts along the axis [-]. For an even disc
        2h(√(h² + a²) − h)/a², h the stand-off; a fan by product Gauss nodes.
    """
    height = patch.stand_off_mm
    if len(patch.layers) > 1:
        return sum(share * axial_share(part) for share, part in patch.parts)
    if patch.shape == "disc":
        return 2.0 * height / (math.hypot(height, patch.half_long_mm) + height)
    angle, weights = sine_nodes(NODES)
    thin = np.sin(angle)
    reach = np.sqrt(1.0 - thin**2)
    long = reach[:, None] * np.sin(angle)
    both = weights[:, None] * weights * reach[:, None]
    across = np.hypot(patch.half_thin_mm * thin[:, None], patch.half_long_mm * long)
    return float(np.sum(both * height / np.hypot(height, across)) / np.sum(both))
