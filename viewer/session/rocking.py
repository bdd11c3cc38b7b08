"""Cans that stay and rock: seen where such a lean can be made out, for as long as one lasts."""

from dataclasses import replace

import numpy as np

from packsim.arrays import Floats, Ints
from packsim.passage import Frame
from packsim.passage.fall import Rocks
from viewer.screen.camera import Camera
from viewer.session.source import Live, Source

ROCK_FROM = 0.25
"""Scale from which cans are seen to rock: a top that is 4 mm out moves by a pixel [px/mm]."""

FASTEST = 2.0
"""Fastest playback with rocking cans: a can is back on its foot in a tenth of a second or two."""

LASTS_S = 0.4
"""Kicks are remembered for this long [s]."""

Kicked = list[tuple[float, Rocks]]
"""When kicks came, the latest last [s], and how cans rock by them."""


def kicked_now(kicked: Kicked, source: Source, view: Camera, speed: float) -> Kicked:
    """Return the kicks that cans may still rock by, with those of the step just made."""
    if isinstance(source, Live) and view.px_per_mm >= ROCK_FROM and speed <= FASTEST:
        low, high, _, _ = view.spans_mm()
        found = source.rocks(low, high)
        now_s = source.frame.time_s
        old = [(at_s, rocks) for at_s, rocks in kicked if now_s - LASTS_S < at_s < now_s - 1e-9]
        if found is None or (old and old[-1][0] >= found[0] - 1e-9):
            return old
        return [*old, found]
    return []


def leans_now(kicked: Kicked, time_s: float) -> tuple[Ints, Floats, Floats]:
    """Return the cans that lean at a time, how far and where to [rad], the latest last."""
    cans, leans, directions = [np.empty(0, np.int64)], [np.empty(0)], [np.empty(0)]
    for at_s, rocks in kicked:
        lean = rocks.leans_rad(max(time_s - at_s, 0.0))
        there = lean > 1e-3
        cans.append(rocks.can[there])
        leans.append(lean[there])
        directions.append(rocks.direction_rad[there])
    return np.concatenate(cans), np.concatenate(leans), np.concatenate(directions)


def with_tops_out(frame: Frame, kicked: Kicked, height_mm: float) -> Frame:
    """Return a frame with the tops of rocking cans where they are seen from above."""
    if not kicked or not len(frame):
        return frame
    cans, lean, direction = leans_now(kicked, frame.time_s)
    at = np.minimum(np.searchsorted(frame.id, cans), len(frame) - 1)
    there = (frame.id[at] == cans) & (frame.role[at] < 4)
    at, lean, direction = at[there], lean[there], direction[there]
    out = height_mm * np.sin(lean)
    x, y = frame.x_mm.copy(), frame.y_mm.copy()
    x[at] = frame.x_mm[at] + out * np.cos(direction)
    y[at] = frame.y_mm[at] + out * np.sin(direction)
    return replace(frame, x_mm=x, y_mm=y)
