"""The chance of a tip of a running pack, as it stands at a moment."""

import numpy as np

from packsim.compiled import compiled
from packsim.passage import PLACES
from packsim.passage.kicks import place_indices
from packsim.passage.laid import laid_pack
from packsim.passage.state import State
from packsim.passage.tip import needed_mJ
from packsim.passage.track import Track

_NEVER = 25.0
"""A barrier this many times the mean kick is passed by one kick in 10^10."""


def tips_per_s(state: State, track: Track, rng: np.random.Generator, looks: int = 400) -> float:
    """Return the tips to be expected of a running pack in a second as it stands.

    Parameters
    ----------
    state : State
        The pack, tipped cans and all.
    track : Track
        The line.
    rng : Generator
        Picks the cans that are looked at, by their kicks, and a direction for each.
    looks : int
        How many are picked of the cans beside the guides, and how many of the others.

    Returns
    -------
    float
        Σ ν · exp(−E/E_k), estimated without bias from the looks [1/s].
    """
    station = state.station_mm
    low, high, stage = track.limits_mm(station, state.radius_mm)
    rate = np.where(state.tipped, 0.0, track.shaking.rate_per_s(stage, station))
    laid = laid_pack(state, track.standing.height_mm, low, high, stage < 0, station)
    places = compiled(place_indices)(state.place_mm, low, high, track.lane_mm)
    inside = places == PLACES.index("centre")
    tips = 0.0
    for group in (inside, ~inside):
        ladder = np.cumsum(np.where(group, rate, 0.0))
        if ladder.size == 0 or ladder[-1] == 0.0:
            continue
        can = np.searchsorted(ladder, rng.random(looks) * ladder[-1], side="right")
        can = np.minimum(can, ladder.size - 1)
        where = stage.take(can)
        kick = track.shaking.energy_mJ.take(where)
        turn = rng.random(looks) * 2.0 * np.pi
        needed = needed_mJ(laid, track, can, turn, where, _NEVER * kick)
        none = np.full(looks, np.inf)
        over = np.divide(needed, kick, out=none, where=kick > 0.0)
        tips += float(ladder[-1]) * float(np.exp(-over).mean())
    return tips
