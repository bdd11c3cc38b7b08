"""Sprays seen from above: drops where a footprint covers, others at every moment."""

import numpy as np

from viewer.line import LineMap
from viewer.screen.drawing import Dots
from viewer.screen.layout import Camera

DROPS = 20
"""Drops of a nozzle seen at once."""

CHANGES_PER_S = 12.0
"""Drops are elsewhere so often in a second of passage."""

DROPS_FROM = 0.2
"""Scale from which drops are drawn [px/mm]."""

INK = {"liquid": "drop", "gas": "air"}


def drops(
    line_map: LineMap, camera: Camera, time_s: float, unit_px: float, side: str
) -> list[Dots]:
    """Return the drops of the headers of one side that a camera sees, even over each footprint.

    The same moment of a passage gives the same drops.
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
        rng = np.random.default_rng([number, max(0, int(time_s * CHANGES_PER_S))])
        shape = header.y_mm.size, DROPS
        corner = header.outline_mm[rng.integers(len(header.outline_mm), size=shape)]
        far = np.sqrt(rng.random(shape))
        x = header.x_mm + far * corner[..., 0]
        y = header.y_mm[:, None] + far * corner[..., 1]
        px, py = camera.to_px(x.ravel(), y.ravel())
        found.append(Dots(px, py, INK[header.medium], max(2, round(1.6 * unit_px)), camera.view))
    return found
