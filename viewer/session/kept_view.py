"""What a window keeps in view while its size changes: only the last of several sizes counts."""

from __future__ import annotations

import math
from dataclasses import dataclass

from viewer.screen.camera import Camera


@dataclass(frozen=True, slots=True)
class KeptView:
    """A stretch of the mat to be seen whole [mm], in a margin [layout px], and its scale [px/mm].

    A camera at another scale was moved by hand since: what it shows then is to be kept instead.
    """

    along_mm: float
    across_mm: float
    margin_px: float
    px_per_mm: float

    def for_camera(self, camera: Camera) -> KeptView:
        """Return it, or what the camera shows where that was moved nearer or farther since."""
        if math.isclose(camera.px_per_mm, self.px_per_mm, rel_tol=1e-9):
            return self
        low_u, high_u, low_v, high_v = camera.spans_mm()
        return KeptView(high_u - low_u, high_v - low_v, 0.0, camera.px_per_mm)

    def seen_by(self, camera: Camera, scale: float) -> Camera:
        """Return a camera that shows it whole about the same middle, in a layout of a scale."""
        u, v, along, across = camera.u_mm, camera.v_mm, self.along_mm / 2.0, self.across_mm / 2.0
        ends = (u - along, v - across), (u + along, v + across)
        return camera.fitted(*ends, margin_px=self.margin_px * scale).centred(u, v)
