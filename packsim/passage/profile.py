"""Slack, gaps and voids along the line, and where across it the cans are."""

from dataclasses import dataclass

import numpy as np

from packsim.arrays import Floats, Ints, Places
from packsim.errors import at_least
from packsim.pack.near import Near, list_near
from packsim.passage.record import Profile
from packsim.passage.state import State
from packsim.passage.track import Track

BINS = 40
"""Bins across the free clear width."""

_SEE_REL = 0.6
"""Gaps up to this many diameters are seen; beyond, the second ring of a close pack begins."""

_ACROSS_REL = 0.95
"""Pairs nearer than this to abreast count as one behind the other along the lane, not across."""


@dataclass(frozen=True, slots=True, eq=False)
class Tally:
    """Sums over the frames taken, in m windows along the line and k stages.

    Parameters
    ----------
    edges_mm : ndarray, shape (m + 1,)
        Ends of the windows along the line [mm].
    looks : ndarray, shape (m,)
        How often each window was looked at.
    cans, slack_mm : ndarray, shape (m,)
        Cans seen, and the sum of their sideways slacks [mm].
    gaps, gap_mm : ndarray, shape (m,)
        How often a window had a can, and the sum of its widest gaps [mm].
    covered : ndarray, shape (m,)
        Sum of the shares that cans covered [-].
    across : ndarray of int64, shape (k, `BINS`)
        Standing cans by stage and share of the free clear width.
    """

    edges_mm: Floats
    looks: Floats
    cans: Floats
    slack_mm: Floats
    gaps: Floats
    gap_mm: Floats
    covered: Floats
    across: Ints


def empty_tally(track: Track, window_mm: float | None = None) -> Tally:
    """Return sums of nothing.

    Parameters
    ----------
    track : Track
        The line.
    window_mm : float, optional
        Least length of a window, at least one can diameter; four diameters by default [mm].

    Returns
    -------
    Tally
        To be handed to `tallied` with every look at the pack.
    """
    window = 4.0 * track.diameter_mm if window_mm is None else window_mm
    at_least("window_mm", window, track.diameter_mm, "mm")
    count = max(1, int(track.length_mm / window))
    edges = np.linspace(0.0, track.length_mm, count + 1)
    across = np.zeros((len(track.stages), BINS), dtype=np.int64)
    names = ("looks", "cans", "slack_mm", "gaps", "gap_mm", "covered")
    return Tally(edges_mm=edges, across=across, **{name: np.zeros(count) for name in names})


def tallied(tally: Tally, state: State, track: Track) -> Tally:
    """Return the sums with one more look at the pack."""
    station = state.station_mm
    low, high, stage = track.limits_mm(station, state.radius_mm)
    window = np.searchsorted(tally.edges_mm, station, side="right") - 1
    count = tally.looks.size
    inside = np.flatnonzero((window >= 0) & (window < count))
    where = window[inside]
    near = list_near(state.place_mm, state.radius_mm, state.period_mm, _SEE_REL)
    slack, gap = sideways_slack_mm(near, state.place_mm, low, high)
    widest = np.full(count, -1.0)
    np.maximum.at(widest, where, gap[inside])
    seen = widest >= 0.0
    covered, looks = _covered(tally, state, track, station)
    counts = _across(state, stage, low, high, len(track.stages))
    return Tally(
        edges_mm=tally.edges_mm,
        looks=tally.looks + looks,
        cans=tally.cans + np.bincount(where, minlength=count),
        slack_mm=tally.slack_mm + np.bincount(where, slack[inside], count),
        gaps=tally.gaps + seen,
        gap_mm=tally.gap_mm + np.where(seen, widest, 0.0),
        covered=tally.covered + covered,
        across=tally.across + counts,
    )


def mean_profile(tally: Tally, track: Track) -> Profile:
    """Return the means of the sums; nan where nothing was seen."""
    edges = tally.edges_mm
    width = np.interp(edges, track.station_mm, track.right_mm - track.left_mm)
    slack, gap = mean_or_nan(tally.slack_mm, tally.cans), mean_or_nan(tally.gap_mm, tally.gaps)
    covered = mean_or_nan(tally.covered, tally.looks)
    middle = (edges[1:] + edges[:-1]) / 2.0
    clear = _window_means(track, edges) if edges.size > 1 else width
    return Profile(middle, clear, slack, 1.0 - covered, gap)


def mean_or_nan(total: Floats, number: Floats | Ints) -> Floats:
    """Mean of a sum of some; nan of none."""
    nothing = np.full(total.shape, np.nan)
    return np.asarray(np.divide(total, number, out=nothing, where=number > 0))


def sideways_slack_mm(
    near: Near, place_mm: Places, low_mm: Floats, high_mm: Floats
) -> tuple[Floats, Floats]:
    """How far each can could be moved across if all others made way, and its gap to the right.

    Parameters
    ----------
    near : Near
        Pairs within reach.
    place_mm : ndarray of complex128, shape (n,)
        Centres [mm].
    low_mm, high_mm : ndarray, shape (n,)
        y-range of each centre between the guides [mm].

    Returns
    -------
    slack_mm : ndarray, shape (n,)
        Length of the range of y open to the can while no can moves along the line [mm]; negative
        where the cans do not fit.
    gap_mm : ndarray, shape (n,)
        Widest of the can's free travels: to the right, and to the left guide if nobody stands
        between [mm].

    Notes
    -----
    Push every can as far left as the ones before it allow: y_j = max(low_j, y_i + √(S² − Δx²)) over
    its left neighbours i, a longest path, found by repeating the step until nothing changes (once
    per lane). The same to the right; the slack is the difference. For the close pack with slack S
    left over it is S for every can, for a strained one 0. Derived here.
    """
    first, second = near.pairs()
    vector, total = near.vectors_mm(place_mm, first, second), near.sums_mm(first, second)
    square = total**2 - vector.real**2
    across = square > total**2 * (1.0 - _ACROSS_REL**2)
    swap = vector.imag[across] < 0.0
    first, second = first[across], second[across]
    left, right = np.where(swap, second, first), np.where(swap, first, second)
    apart = np.sqrt(square[across])
    lowest = _pushed(left, right, apart, low_mm)
    highest = -_pushed(right, left, apart, -high_mm)
    gap = _gaps(left, right, np.abs(vector.imag[across]) - apart, place_mm.imag, low_mm, high_mm)
    return highest - lowest, gap


def _pushed(before: Ints, after: Ints, apart: Floats, limit: Floats) -> Floats:
    """Least y of every can, its predecessors pushed as far as they go."""
    order = np.argsort(after, kind="stable")
    before, after, apart = before[order], after[order], apart[order]
    cans, starts = np.unique(after, return_index=True)
    least = np.array(limit, dtype=np.float64)
    if cans.size == 0:
        return least
    for _ in range(least.size):
        reached = np.maximum.reduceat(least[before] + apart, starts)
        if not (reached > least[cans]).any():
            break
        least[cans] = np.maximum(least[cans], reached)
    return least


def _gaps(left: Ints, right: Ints, gap: Floats, y: Floats, low: Floats, high: Floats) -> Floats:
    to_right = high - y
    np.minimum.at(to_right, left, gap)
    first = np.ones(y.size, dtype=np.bool_)
    first[right] = False
    to_left = np.where(first, y - low, 0.0)
    return np.maximum(np.maximum(to_right, to_left), 0.0)


def _covered(tally: Tally, state: State, track: Track, station: Floats) -> tuple[Floats, Floats]:
    """Share of each window that cans cover, and which windows were looked at."""
    edges = tally.edges_mm
    count = edges.size - 1
    width = _window_means(track, edges)
    area = np.pi * state.radius_mm**2
    if state.period_mm > 0.0:
        looks, covered = np.zeros((2, count))
        here = int(np.searchsorted(edges, state.travel_mm, side="right")) - 1
        if 0 <= here < count and len(state):
            looks[here] = 1.0
            cell = int(track.cell(station[:1])[0])
            clear = float(track.right_mm[cell] - track.left_mm[cell])
            covered[here] = area.sum() / (state.period_mm * clear)
        return covered, looks
    back = station - state.radius_mm
    first = np.clip(np.searchsorted(edges, back, side="right") - 1, -1, count)
    end = edges.take(np.clip(first + 1, 0, count))
    share = _disc_share(end - station, state.radius_mm)
    covered = np.zeros(count + 2)  # one window more at either end for what lies outside
    covered += np.bincount(first + 1, area * share, count + 2)
    beyond = np.minimum(first + 2, count + 1)
    covered += np.bincount(beyond, area * (1.0 - share), count + 2)
    return covered[1:-1] / (width * np.diff(edges)), np.ones(count)


def _disc_share(at_mm: Floats, radius_mm: Floats) -> Floats:
    """Share of a disc's area below a line at ``at_mm`` from its centre [-]."""
    t = np.clip(at_mm / radius_mm, -1.0, 1.0)
    return np.asarray((np.arccos(-t) + t * np.sqrt(1.0 - t * t)) / np.pi)


def _window_means(track: Track, edges: Floats) -> Floats:
    """Mean clear width in each window [mm]."""
    where = np.searchsorted(edges, track.station_mm, side="right") - 1
    inside = (where >= 0) & (where < edges.size - 1)
    clear = (track.right_mm - track.left_mm)[inside]
    size = edges.size - 1
    number = np.bincount(where[inside], minlength=size)
    return np.asarray(np.bincount(where[inside], clear, size) / np.maximum(number, 1))


def _across(state: State, stage: Ints, low: Floats, high: Floats, stages: int) -> Ints:
    free = np.maximum(high - low, 1e-9)
    share = np.clip((state.y_mm - low) / free, 0.0, 1.0 - 1e-12)
    standing = (stage >= 0) & ~state.tipped
    flat = stage[standing] * BINS + (share[standing] * BINS).astype(np.int64)
    return np.bincount(flat, minlength=stages * BINS).reshape(stages, BINS)
