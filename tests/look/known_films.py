"""What films would show of packs whose moves are known: no picture is needed."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from packsim.line import Scenario
from packsim.look.followed import Moment
from packsim.look.measure import measure_pack
from packsim.look.seen import SeenPack
from packsim.pack.state import Pack, pack_between
from packsim.passage.step import DT_S, start_slice, step
from packsim.passage.track import loaded_track
from tests.look.known_packs import seen_of

D = 66.09
SEEN_MM = (200.0, 1100.0)
"""What of the mat the camera has in its field."""


def walking(
    seed: int,
    pictures: int = 12,
    every_s: float = 0.1,
    *,
    speed: float = 90.0,
    walk_mm: float | tuple[float, float] = 0.3,
    drift: float = 0.0,
    error_mm: float = 0.1,
    uneven_mm: float = 0.6,
    width_mm: float = 480.0,
) -> list[Moment]:
    """Return pictures of cans that each go their own way by ``walk_mm`` in the root of a second.

    That is along and across, or one for both.
    """
    rng = np.random.default_rng(seed)
    pack = pack_between(width_mm, D, "lengthwise", 2000.0, 0.97, state="slack")
    place = pack.centres_mm + rng.normal(0.0, uneven_mm, pack.centres_mm.shape)
    place[:, 0] -= 600.0
    moments = []
    for k in range(pictures):
        at = place + np.array([speed, drift]) * every_s * k
        seen = seen_of(_in_field(pack, at), error_mm, seed=1000 * seed + k)
        moments.append(Moment(f"{k:03d}.png", every_s * k, measure_pack(seen)))
        place = place + rng.normal(0.0, np.multiply(walk_mm, np.sqrt(every_s)), place.shape)
    return moments


def carried(
    line: Scenario, size: str, pictures: int, every_s: float, error_mm: float
) -> list[Moment]:
    """Return pictures of a slice that the passage carries through the first stage."""
    rng = np.random.default_rng(1)
    track = loaded_track(line, size)
    state = start_slice(track, rng, 1500.0)
    made = []
    diameter = 2.0 * track.infeed.radius_mm
    for k in range(-5, pictures):
        for _ in range(round(every_s / DT_S)):
            state, _events = step(state, track, DT_S, rng, tips=False)
        left, right = (
            float(np.interp(state.travel_mm, track.station_mm, face))
            for face in (track.left_mm, track.right_mm)
        )
        if k >= 0:
            x = (state.place_mm.real + state.travel_mm) % state.period_mm
            pack = pack_between(right - left, diameter, "lengthwise", 900.0, state="slack")
            at = np.column_stack((x, state.place_mm.imag - left))
            made.append(seen_of(_in_field(pack, at), error_mm, seed=k))
    return [Moment(f"{k:03d}", every_s * k, measure_pack(one)) for k, one in enumerate(made)]


def _in_field(pack: Pack, at_mm: np.ndarray) -> Pack:
    inside = (at_mm[:, 0] > SEEN_MM[0]) & (at_mm[:, 0] < SEEN_MM[1])
    return replace(
        pack,
        centres_mm=at_mm[inside] - (SEEN_MM[0], 0.0),
        length_mm=SEEN_MM[1] - SEEN_MM[0],
    )


def packs(moments: list[Moment]) -> list[SeenPack]:
    """Return the cans of pictures."""
    return [one.looked.seen for one in moments]
