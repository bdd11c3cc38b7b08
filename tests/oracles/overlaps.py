"""Overlaps straight from their definition: of listed pairs, and of all that a tree finds."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from packsim.pack.near import Near
from packsim.passage.state import State
from packsim.passage.tipped import GONE, lying_discs


def overlaps_mm(near: Near, place_mm: NDArray[np.complex128]) -> NDArray[np.float64]:
    """Overlap of every listed pair, negative where there is a gap [mm]."""
    ends = near.pairs()
    return np.asarray(near.sums_mm(*ends) - np.abs(near.vectors_mm(place_mm, *ends)))


def worst_overlap_mm(state: State) -> float:
    """Largest overlap of discs of two cans that are in the way, listed or not [mm]; or 0."""
    more, owner = lying_discs(state.place_mm, state.down_rad, state.fell_rad, state.span_mm)
    body = np.append(np.arange(len(state)), owner)
    there = state.down_rad[body] != GONE
    place, body = np.append(state.place_mm, more)[there], body[there]
    if place.size < 2:
        return 0.0
    reach = 2.0 * float(state.radius_mm.max())
    x, of = place.real, np.arange(place.size)
    if state.period_mm:
        x = x % state.period_mm
        of = np.append(of, of[x < reach])  # once more behind the end
        x = np.append(x, x[x < reach] + state.period_mm)
    tree = cKDTree(np.column_stack((x, place.imag[of])))
    pairs = tree.query_pairs(reach, output_type="ndarray")
    pairs = pairs[body[of[pairs[:, 0]]] != body[of[pairs[:, 1]]]]
    gap = np.linalg.norm(tree.data[pairs[:, 0]] - tree.data[pairs[:, 1]], axis=1)
    sums = state.radius_mm[body[of[pairs]]].sum(axis=1)
    return float((sums - gap).max(initial=0.0))
