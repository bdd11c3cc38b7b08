"""What the jets do to an upright can as it passes: where they reach it, and how they load it."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from packsim.arrays import Bools, Floats
from packsim.can import Stance
from packsim.errors import Assumption, InputError, between
from packsim.line import Header
from packsim.nozzles.lane_lines import checked_places
from packsim.spray.jets import footprint_of
from packsim.spray.sprays import leaning_load, leaning_sprays

SAMPLES = 121
"""Places along travel under each header: the least margin is within 0.0005 (measured in tests)."""

_DIGITS = 9  # of a place: what rounding did to it is beyond

SPRAY_ASSUMED = (
    Assumption(
        "spray.momentum",
        "all given up by what lands on the can",
        "screening model; a splash thrown straight back would push up to twice as hard",
    ),
    Assumption("spray.rays", "straight from the nozzle", "droplet drag and gravity left out"),
    Assumption("spray.density", "even over the footprint", "unless a measured table is given"),
)
"""What every spray load rests on, to be named wherever one is shown."""


@dataclass(frozen=True, slots=True)
class Under:
    """A stretch of a stage in which a can is under headers whose sprays meet.

    Parameters
    ----------
    start_mm, stop_mm : float
        Where its top comes into the first spray and leaves the last, along the stage [mm].
    headers : tuple of Header
        The headers, their stations from ``start_mm`` to a millionth of a micrometre: those of like
        stretches are equal, whatever rounding did to their places.
    """

    start_mm: float
    stop_mm: float
    headers: tuple[Header, ...]

    @property
    def length_mm(self) -> float:
        """Length of the stretch, like stretches equal [mm]."""
        return round(self.stop_mm - self.start_mm, _DIGITS)


def stretches_under(headers: Sequence[Header], body: Stance, most_rad: float = 0.0) -> list[Under]:
    """Return where along a stage a can is under its headers.

    Parameters
    ----------
    headers : sequence of Header
        Headers of the stage; those above stand higher than the can.
    body : Stance
        The can; only diameter and height count.
    most_rad : float
        Largest lean with which its top may come into a spray [rad].

    Returns
    -------
    list of Under
        In order along travel; none overlaps the next.
    """
    more = lean_reach_mm(body, most_rad)
    found: list[tuple[float, float, list[Header]]] = []
    for header in sorted(headers, key=lambda header: header.station_mm):
        half = footprint_of(header, body.height_mm).half_along_mm + more
        start, stop = header.station_mm - half, header.station_mm + half
        together = [header]
        while found and start <= found[-1][1]:
            first, last, others = found.pop()
            start, stop, together = min(start, first), max(stop, last), others + together
        found.append((start, stop, together))
    return [
        Under(
            start,
            stop,
            tuple(replace(h, station_mm=round(h.station_mm - start, _DIGITS)) for h in together),
        )
        for start, stop, together in found
    ]


def lean_reach_mm(body: Stance, lean_rad: float) -> float:
    """How far from an upright can's axis its top may be once it leans [mm]."""
    return body.height_mm * math.sin(lean_rad) + body.radius_mm * (2.0 - math.cos(lean_rad))


@dataclass(frozen=True, slots=True, eq=False)
class SprayLoad:
    """Load of the sprays on an upright can of each line, where along travel it holds least.

    Parameters
    ----------
    moment_N_mm : ndarray, shape (m, 2)
        Turning moment B about the middle of the can's foot: B·u is what turns it over towards
        the direction u [N·mm].
    normal_N : ndarray, shape (m,)
        What is left on the mat, m g + top − bottom [N].
    hold_margin : ndarray, shape (m,)
        (N R − |B|)/(m g R), 1 without any spray, 0 when the can starts to tip [-].
    lifted : ndarray of bool, shape (m,)
        Whether anywhere in the pass nothing is left on the mat.
    """

    moment_N_mm: Floats
    normal_N: Floats
    hold_margin: Floats
    lifted: Bools


def upright_load(
    headers: Sequence[Header],
    body: Stance,
    open_fraction: float,
    x_mm: ArrayLike,
    y_mm: ArrayLike,
) -> Floats:
    """Load of a stage's sprays on a can that stands upright, whatever way it may lean next.

    Parameters
    ----------
    headers, body, open_fraction, x_mm, y_mm
        As for `tipping_moment_N_mm`.

    Returns
    -------
    ndarray, shape (3, ...)
        Net push down T − P [N], and the turning moment about the middle of the foot along x and y:
        times the direction of a lean, less the push down times R, it is `tipping_moment_N_mm` at no
        lean [N·mm].
    """
    between("open_fraction", open_fraction, 0.0, 1.0)
    x, y = np.broadcast_arrays(np.asarray(x_mm, np.float64), np.asarray(y_mm, np.float64))
    sprays, still = (
        leaning_sprays(tuple(headers), body, open_fraction, np.zeros(1)),
        np.zeros(x.size),
    )
    return leaning_load(sprays, 1, x.flatten(), y.flatten(), still, still).reshape(3, *x.shape)


def spray_load(
    lines_on_mat_mm: ArrayLike,
    stance: Stance,
    headers: Sequence[Header],
    open_fraction: float,
    samples: int = SAMPLES,
) -> SprayLoad:
    """Load of a stage's sprays on a can of each line as the mat carries it through.

    Parameters
    ----------
    lines_on_mat_mm : array_like, shape (m,)
        Lines of can centres from the mat's left edge [mm].
    stance : Stance
        The can as it stands in this stage, pool included.
    headers : sequence of Header
        Headers of the stage, above and below; none is allowed.
    open_fraction : float
        Share of the spray from below that the mat lets through, 0..1 [-].
    samples : int
        Places along travel under each header, odd so that its station is one [-].

    Returns
    -------
    SprayLoad
        By line.

    Raises
    ------
    InputError
        If there is no line, a header above is below the can tops, or a value is out of range.

    Notes
    -----
    A screening model. What lands on the can gives up all of its momentum along its ray; a splash
    that leaves upwards would add to it (up to as much again from a flat plate), a film that runs
    off sideways does not. What lands elsewhere, and water leaving the mouth, exert nothing. Every
    header acts where its footprint meets the can, so headers above and below at one station act
    together and headers a footprint apart one after the other.

    Derived here. Tipping over the foot's edge at R u is resisted by m g R + T(R − e·u) −
    P(R − f·u) − H L·u = N R − B·u with T, e the push from above and where it acts, P, f the push
    from below, L the sideways push from above at the can's height H, and
    B = T e − P f + H L. The worst direction is along B, the margin (N R − |B|)/(m g R). From below
    the sideways push is taken where the ray enters the mouth, at the mat: a force may be moved
    along its own line, so no arm is left, wherever it lands inside. The margin found is an upper
    bound of the pass; at 121 samples it is within 0.0005 of a scan twenty times finer (measured in
    tests).
    """
    return spray_loads(lines_on_mat_mm, (stance,), headers, open_fraction, samples)[0]


def least_hold_margin(
    lines_on_mat_mm: ArrayLike, stance: Stance, headers: Sequence[Header], open_fraction: float
) -> float:
    """Return the least hold margin of any line of `spray_load` [-]."""
    return float(np.min(spray_load(lines_on_mat_mm, stance, headers, open_fraction).hold_margin))


def spray_loads(
    lines_on_mat_mm: ArrayLike,
    stances: Sequence[Stance],
    headers: Sequence[Header],
    open_fraction: float,
    samples: int = SAMPLES,
) -> tuple[SprayLoad, ...]:
    """Return `spray_load` of the same can with more or less water in its dome."""
    lines = checked_places("lines_on_mat_mm", lines_on_mat_mm)
    if not 3 <= samples <= 10_001:
        raise InputError("samples", samples, "3 to 10001")
    body = stances[0]
    # headers that repeat a reach away do nothing new
    under = {one.headers: one.length_mm for one in stretches_under(headers, body)}
    places = [np.zeros((3, 1, len(lines)))]
    for group, length in under.items():
        along = np.linspace(0.0, length, samples * len({h.station_mm for h in group}))
        places.append(upright_load(group, body, open_fraction, along[:, None], lines))
    load = np.concatenate(places, axis=1)
    return tuple(load_on(stance, load[0], load[1:]) for stance in stances)


def load_on(stance: Stance, down_N: Floats, turn_N_mm: Floats) -> SprayLoad:
    """Load by line of forces at places along the stage."""
    normal, turn = stance.weight_N + down_N, np.hypot(*turn_N_mm)
    margin = (normal * stance.radius_mm - turn) / (stance.weight_N * stance.radius_mm)
    least = margin <= margin.min(axis=0) + 1e-12
    at, line = np.argmax(least, axis=0), np.arange(margin.shape[1])  # the first of mirror images
    return SprayLoad(
        moment_N_mm=turn_N_mm[:, at, line].T,
        normal_N=normal[at, line],
        hold_margin=margin[at, line],
        lifted=np.any(normal <= 0.0, axis=0),
    )
