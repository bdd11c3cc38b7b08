"""Where a world point falls on the screen: a camera over a plane; nothing else scales or flips."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from viewer.screen.layout import Box

MIN_PX_PER_MM = 0.004
"""Farthest zoom: a 200 m line on a small window."""

MAX_PX_PER_MM = 12.0
"""Nearest zoom: one can fills the window."""


@dataclass(frozen=True, slots=True)
class Camera:
    """Looks at a plane, from straight above or from the side.

    (``u_mm``, ``v_mm``) is the world point in the middle of the view: along travel and across the
    mat for a plan, across and up for an elevation. Where ``up``, v points up the screen. In a plan
    it points down: the mat's left edge is at the top, as seen with travel to the right.
    """

    u_mm: float
    v_mm: float
    px_per_mm: float
    view: Box
    up: bool = False

    def to_px(self, u_mm: ArrayLike, v_mm: ArrayLike) -> tuple[NDArray[np.float64], ...]:
        """Return screen x and y of world points [px], any one shape.

        Examples
        --------
        >>> x, y = Camera(100.0, 50.0, 2.0, Box(0, 0, 400, 200)).to_px(110.0, 60.0)
        >>> float(x), float(y)
        (220.0, 120.0)
        """
        u, v = np.asarray(u_mm, dtype=np.float64), np.asarray(v_mm, dtype=np.float64)
        x = self.view.x + self.view.w / 2.0 + (u - self.u_mm) * self.px_per_mm
        return x, self.view.y + self.view.h / 2.0 + (v - self.v_mm) * self._v_px_per_mm

    def point_px(self, u_mm: float, v_mm: float) -> tuple[float, float]:
        """Return screen x and y of one world point [px]."""
        x = self.view.x + self.view.w / 2.0 + (u_mm - self.u_mm) * self.px_per_mm
        return x, self.view.y + self.view.h / 2.0 + (v_mm - self.v_mm) * self._v_px_per_mm

    def to_mm(self, x_px: float, y_px: float) -> tuple[float, float]:
        """Return the world point under a screen point [mm]."""
        u = self.u_mm + (x_px - self.view.x - self.view.w / 2.0) / self.px_per_mm
        return u, self.v_mm + (y_px - self.view.y - self.view.h / 2.0) / self._v_px_per_mm

    def spans_mm(self, margin_px: float = 0.0) -> tuple[float, float, float, float]:
        """Return what is seen: least and greatest u, least and greatest v [mm]."""
        half_u = (self.view.w / 2.0 + margin_px) / self.px_per_mm
        half_v = (self.view.h / 2.0 + margin_px) / self.px_per_mm
        return self.u_mm - half_u, self.u_mm + half_u, self.v_mm - half_v, self.v_mm + half_v

    def zoomed(self, factor: float, at_px: tuple[float, float] | None = None) -> Camera:
        """Return it nearer by ``factor``; the world point at ``at_px`` keeps its place."""
        scale = min(MAX_PX_PER_MM, max(MIN_PX_PER_MM, self.px_per_mm * factor))
        if at_px is None:
            return replace(self, px_per_mm=scale)
        u, v = self.to_mm(*at_px)
        kept = self.px_per_mm / scale
        return replace(
            self, u_mm=u + (self.u_mm - u) * kept, v_mm=v + (self.v_mm - v) * kept, px_per_mm=scale
        )

    def panned(self, dx_px: float, dy_px: float) -> Camera:
        """Return it moved so that the picture moves by (dx, dy) on the screen [px]."""
        return replace(
            self,
            u_mm=self.u_mm - dx_px / self.px_per_mm,
            v_mm=self.v_mm - dy_px / self._v_px_per_mm,
        )

    def centred(self, u_mm: float, v_mm: float | None = None) -> Camera:
        """Return it looking at a world point; v is kept when omitted."""
        return replace(self, u_mm=u_mm, v_mm=self.v_mm if v_mm is None else v_mm)

    def placed(self, view: Box) -> Camera:
        """Return it with the same middle and scale in another part of the screen."""
        return replace(self, view=view)

    def fitted(
        self, low_mm: tuple[float, float], high_mm: tuple[float, float], margin_px: float = 0.0
    ) -> Camera:
        """Return it showing the whole of a world rectangle from ``low_mm`` to ``high_mm``."""
        across, down = high_mm[0] - low_mm[0], high_mm[1] - low_mm[1]
        wide = max(1.0, self.view.w - 2.0 * margin_px) / max(across, 1e-9)
        tall = max(1.0, self.view.h - 2.0 * margin_px) / max(down, 1e-9)
        scale = min(MAX_PX_PER_MM, max(MIN_PX_PER_MM, min(wide, tall)))
        middle = (low_mm[0] + high_mm[0]) / 2.0, (low_mm[1] + high_mm[1]) / 2.0
        return replace(self, u_mm=middle[0], v_mm=middle[1], px_per_mm=scale)

    @property
    def _v_px_per_mm(self) -> float:
        return -self.px_per_mm if self.up else self.px_per_mm
