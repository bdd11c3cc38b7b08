"""Sprays seen from above: drops or streaks of air where a footprint covers, more over a can."""

import numpy as np
from numpy.typing import NDArray

from packsim.arrays import Floats
from packsim.passage import Frame
from viewer.line import HeaderMap, LineMap
from viewer.screen.camera import Camera
from viewer.screen.drawing import Dots

DROPS = 24
"""Drops of a nozzle over a can that are seen at once; a third of them between cans."""

STREAKS, ALONG = 8, np.linspace(0.0, 0.22, 6)
"""Streaks of an air nozzle, and the dots of one, from its start, in half widths of the footprint.

Air has no drops: it runs outwards.
"""

OVER = 0.75
"""A nozzle is over a can where its axis meets it within this part of the radius: each can that
passes makes the spray pulse once, in rows without gaps too."""

CHANGES_PER_S = 12.0
"""Drops are elsewhere so often in a second of passage."""

DROPS_FROM = 0.2
"""Scale from which drops are drawn [px/mm]."""


def drops(line_map: LineMap, frame: Frame, camera: Camera, unit_px: float, side: str) -> list[Dots]:
    """Return the drops of the headers of one side that a camera sees, even over each footprint.

    Nozzles over a can have more of them, larger and darker. The same moment of a passage gives the
    same drops.
    """
    if camera.px_per_mm < DROPS_FROM:
        return []
    u0, u1, _, _ = camera.spans_mm()
    found = []
    for number, header in enumerate(line_map.headers):
        reach = float(np.abs(header.outline_mm[:, 0]).max()) if len(header.outline_mm) else 0.0
        seen = u0 - reach <= header.x_mm <= u1 + reach
        if header.side != side or not len(header.outline_mm) or not seen:
            continue
        rng = np.random.default_rng([number, max(0, int(frame.time_s * CHANGES_PER_S))])
        over = over_cans(header, frame)
        x, y = _streaks(header, rng) if header.medium == "gas" else _drops(header, rng)
        few = x.shape[1] // 3
        ink = "air" if header.medium == "gas" else "drop"
        groups = ((over, x.shape[1], ink, 2.0), (~over, few, f"{ink} past", 1.4))
        for nozzles, count, role, wide in groups:
            px, py = camera.to_px(x[nozzles, :count].ravel(), y[nozzles, :count].ravel())
            if px.size:
                found.append(Dots(px, py, role, max(2, round(wide * unit_px)), camera.view))
    return found


def over_cans(header: HeaderMap, frame: Frame) -> NDArray[np.bool_]:
    """Return which nozzles of a header have a can under their axis, shape (n,); see `OVER`."""
    if not len(frame):
        return np.zeros(header.y_mm.shape, dtype=np.bool_)
    reach = OVER * float(frame.radius_mm.max())
    near = np.flatnonzero(np.abs(frame.x_mm - header.x_mm) < reach)
    off = np.hypot(
        frame.x_mm[near] - header.x_mm, frame.y_mm[near] - header.y_mm[:, None].astype(np.float64)
    )
    return np.asarray((off < OVER * frame.radius_mm[near]).any(axis=1))


def _drops(header: HeaderMap, rng: np.random.Generator) -> tuple[Floats, Floats]:
    """Places of drops, shape (n, DROPS) each [mm]; a hollow cone has none in its middle."""
    shape = header.y_mm.size, DROPS
    corner = header.outline_mm[rng.integers(len(header.outline_mm), size=shape)]
    empty = header.hollow**2
    far = np.sqrt(empty + (1.0 - empty) * rng.random(shape))
    return header.x_mm + far * corner[..., 0], header.y_mm[:, None] + far * corner[..., 1]


def _streaks(header: HeaderMap, rng: np.random.Generator) -> tuple[Floats, Floats]:
    """Places of the dots of streaks that run outwards, whole streaks one after the other [mm]."""
    shape = header.y_mm.size, STREAKS
    corner = header.outline_mm[rng.integers(len(header.outline_mm), size=shape)]
    far = 0.78 * np.sqrt(rng.random(shape))[..., None] + ALONG
    flat = header.y_mm.size, STREAKS * ALONG.size
    x = header.x_mm + (far * corner[..., :1]).reshape(flat)
    return x, header.y_mm[:, None] + (far * corner[..., 1:]).reshape(flat)
