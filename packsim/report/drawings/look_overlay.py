"""What was found in a photograph, drawn over it: cans with their marks, guides, voids, gaps."""

from __future__ import annotations

from io import BytesIO
from typing import TYPE_CHECKING, Final

import numpy as np

from packsim.arrays import Floats
from packsim.look.as_pack import faces_mm
from packsim.look.beside import Beside
from packsim.look.measure import Looked
from packsim.pack.voids import open_faces
from packsim.passage import ROLES
from packsim.passage.record import NOT_ASKED
from packsim.report.can_looks import (
    MARKS,
    CanStyle,
    mark_shapes,
    void_name,
)
from packsim.report.drawings.look_legend import COLOURS, GAP, STYLES, with_legend
from packsim.report.words.display import Display

if TYPE_CHECKING:
    from PIL.ImageDraw import ImageDraw

_LONGEST_PX: Final = 2000
"""Longest side of the picture that is written [px]."""

_FINE: Final = 2
"""Times as large everything is painted, so that lines have smooth edges once it is made smaller."""

_VEIL: Final = 0.45
"""How far the photograph is turned to white, so that what is drawn over it stands out [-]."""

_CORNERS: Final = 36
"""Corners of the polygon that stands for a rim."""

_QUIET: Final = STYLES[1].edge
"""Rims of cans of which only their place is known."""


def look_overlay(grey: Floats, looked: Looked, beside: Beside | None, display: Display) -> bytes:
    """Return a photograph with what was found in it, as a PNG file.

    Parameters
    ----------
    grey : ndarray, shape (h, w)
        The photograph, brightness 0 to 1.
    looked : Looked
        What was found.
    beside : Beside or None
        Its cans on their line: they then wear the marks of how far they can lean.
    display : Display
        Unit system of the legend.

    Returns
    -------
    bytes
        As wide as the photograph, at most 2,000 px, with a legend under it.
    """
    from PIL import Image

    overlay = _Overlay(grey, looked)
    overlay.voids()
    overlay.guides()
    overlay.cans(beside)
    overlay.gaps()
    overlay.missing()
    target = BytesIO()
    picture = overlay.image.resize(overlay.size, Image.Resampling.LANCZOS)
    with_legend(picture, looked, beside, display).save(target, "PNG")
    return target.getvalue()


class _Overlay:
    """One picture in the making, painted larger than it will be."""

    def __init__(self, grey: Floats, looked: Looked) -> None:
        from PIL import Image, ImageDraw

        high, wide = grey.shape
        share = min(1.0, _LONGEST_PX / max(high, wide))
        self.size = max(1, round(wide * share)), max(1, round(high * share))
        self.times = self.size[0] * _FINE / wide
        pale = 255.0 * (np.clip(grey, 0.0, 1.0) * (1.0 - _VEIL) + _VEIL)
        photo = Image.fromarray(np.rint(pale).astype(np.uint8))
        self.image = photo.resize((self.size[0] * _FINE, self.size[1] * _FINE)).convert("RGB")
        self.draw: ImageDraw.ImageDraw = ImageDraw.Draw(self.image, "RGBA")
        self.looked, self.seen = looked, looked.seen
        self.line = max(2, round(0.0012 * max(self.image.size)))

    def at(self, points_mm: Floats) -> list[tuple[float, float]]:
        """Return points of the plane of the rims on this picture."""
        # the middle of the first pixel is at 0.5 of what is made larger
        found = (self.seen.view.to_picture(points_mm) + 0.5) * self.times
        return [(float(x), float(y)) for x, y in found]

    def ring(self, centre_mm: Floats) -> list[tuple[float, float]]:
        """Return the rim of a can."""
        turn = 2.0 * np.pi * np.arange(_CORNERS) / _CORNERS
        radius = self.seen.diameter_mm / 2.0
        return self.at(centre_mm + radius * np.column_stack((np.cos(turn), np.sin(turn))))

    def voids(self) -> None:
        """Shade what is open between the cans, as the viewer does."""
        seen, rows = self.seen, self.looked.rows
        left, right = faces_mm(seen, rows)
        centres = seen.centres_mm[rows.lane >= 0]
        low, high = float(centres[:, 0].min()), float(centres[:, 0].max())
        free = 3.0 * seen.diameter_mm
        origin = np.array([low - free, left])
        inside = (centres[:, 1] > left) & (centres[:, 1] < right)
        length = high - low + 2.0 * free
        faces = open_faces(centres[inside] - origin, seen.diameter_mm, right - left, length)
        # beyond the last cans others stand unseen, and no void is known to end there
        known = free + seen.diameter_mm
        for corners, place in faces:
            if known <= corners[:, 0].min() and corners[:, 0].max() <= length - known:
                self.draw.polygon(self.at(corners + origin), (*COLOURS[void_name(place)], 200))

    def guides(self) -> None:
        """Draw the edges of the guides where they are seen."""
        lowered = self.seen.guides_mm - self.seen.guide_parallax * self.looked.guides_below_mm.value
        x = self.seen.field_mm[:, 0]
        for face in lowered[np.isfinite(lowered)].tolist():
            ends = np.column_stack((np.linspace(x.min(), x.max(), 60), np.full(60, face)))
            self.draw.line(self.at(ends), COLOURS["wire"], 2 * self.line)

    def cans(self, beside: Beside | None) -> None:
        """Draw every can in the colours and with the mark of its role."""
        for can, centre in enumerate(self.seen.centres_mm):
            role = self._role(can, beside)
            style = STYLES[role or 0]
            ring = self.ring(centre)
            self.draw.polygon(ring, (*style.fill, 150 if role else 70))
            self.draw.line([*ring, ring[0]], style.edge if role is not None else _QUIET, self.line)
            turn = 0.0 if beside is None else float(beside.direction_rad[can])
            self._mark(centre, MARKS[role or 0], turn, style)

    def _role(self, can: int, beside: Beside | None) -> int | None:
        """Index into `ROLES`; None for a can that nothing is said of but that it stands."""
        if beside is not None:
            role = int(beside.role[can])
            return None if role == NOT_ASKED else role
        down = bool(self.seen.are("down")[can])
        return ROLES.index("tipped") if down else None

    def _mark(self, centre: Floats, mark: str, turn: float, style: CanStyle) -> None:
        radius = self.seen.diameter_mm / 2.0
        for filled, points in mark_shapes(mark, (float(centre[0]), float(centre[1])), radius, turn):
            shape = self.at(np.array(points))
            if filled:
                self.draw.polygon(shape, style.ink)
            else:
                self.draw.line(shape, style.ink, 2 * self.line)

    def gaps(self) -> None:
        """Draw the widest gap of every whole row."""
        gaps, seen = self.looked.gaps, self.seen
        if gaps is None:
            return
        radius = seen.diameter_mm / 2.0
        for row, each in zip(gaps.cans, gaps.gaps_mm, strict=True):
            k = int(each.argmax())
            x, y = seen.centres_mm[row].T
            low = float(seen.guides_mm[0]) if k == 0 else float(y[k - 1]) + radius
            high = float(seen.guides_mm[1]) if k == len(row) else float(y[k]) - radius
            along = float(x[[max(k - 1, 0), min(k, len(row) - 1)]].mean())
            ends = np.array([[along, low], [along, max(low, high)]])
            self.draw.line(self.at(ends), GAP, 3 * self.line)

    def missing(self) -> None:
        """Draw a dashed rim where a can is missing."""
        for centre in self.looked.missing_mm:
            ring = self.ring(centre)
            for k in range(0, _CORNERS, 4):
                self.draw.line([ring[k], ring[(k + 2) % _CORNERS]], GAP, 2 * self.line)
