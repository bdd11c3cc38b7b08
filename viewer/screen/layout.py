"""How the window is divided, at any size and scale factor."""

import math
from dataclasses import dataclass

from viewer.screen.camera import Box

RULER_PX = 22
"""Height of the ruler over a plan view, in layout pixels."""

MIN_WINDOW = (960, 600)
"""Smallest window the panels are readable in, at scale 1 [px]."""


@dataclass(frozen=True, slots=True)
class Layout:
    """The parts of the window [px], and the screen pixels per layout pixel.

    Title and clock in the header, cautions in the footer; the canvas holds one plan view or both;
    one card per stage, under them the dock (elevation, answers, facts); counts, roles and adjust
    are the side panel.
    """

    window: Box
    scale: float
    header: Box
    footer: Box
    canvas: Box
    cards: Box
    elevation: Box
    answers: Box
    facts: Box
    counts: Box
    roles: Box
    adjust: Box

    def px(self, units: float) -> int:
        """Return a length of the layout in screen pixels."""
        return round(units * self.scale)

    def canvases(self, count: int, band_px: int = 0) -> tuple[Box, ...]:
        """Return the canvas cut into ``count`` plan views, one over the other."""
        gap = self.px(4) if count > 1 else 0
        room = max(count, self.canvas.h - band_px)
        each = (room - gap * (count - 1)) // count
        return tuple(
            Box(self.canvas.x, self.canvas.y + i * (each + gap), self.canvas.w, each)
            for i in range(count)
        )


def usual_scale(width_px: int, height_px: int) -> float:
    """Return a scale factor that suits a window: half of its growth goes into larger text.

    Examples
    --------
    >>> usual_scale(1280, 720), usual_scale(1920, 1080), usual_scale(3840, 2160)
    (1.0, 1.25, 1.75)
    """
    growth = min(width_px / 1280.0, height_px / 720.0)
    wanted = round(4.0 * math.sqrt(max(growth, 1e-6))) / 4.0
    largest = min(width_px / MIN_WINDOW[0], height_px / MIN_WINDOW[1])
    return max(0.5, min(max(1.0, wanted), largest))


def lay_out(width_px: int, height_px: int, scale: float | None = None) -> Layout:
    """Divide a window into parts that tile it without overlap.

    The scale factor is chosen by `usual_scale` when omitted, and never so large that the window
    would fall below `MIN_WINDOW` of layout pixels.
    """
    largest = min(width_px / MIN_WINDOW[0], height_px / MIN_WINDOW[1])
    s = min(scale or usual_scale(width_px, height_px), largest)

    def px(units: float) -> int:
        return round(units * s)

    head, foot, side, dock, cards = px(42), px(24), px(304), px(196), px(66)
    left = width_px - side
    body = height_px - head - foot
    dock_y = height_px - foot - dock
    side_view = min(px(520), max(px(250), round(0.34 * left)))
    half = (left - side_view) // 2
    counts, roles = px(134), px(126)
    return Layout(
        window=Box(0, 0, width_px, height_px),
        scale=s,
        header=Box(0, 0, width_px, head),
        footer=Box(0, height_px - foot, width_px, foot),
        canvas=Box(0, head, left, body - dock - cards),
        cards=Box(0, dock_y - cards, left, cards),
        elevation=Box(0, dock_y, side_view, dock),
        answers=Box(side_view, dock_y, half, dock),
        facts=Box(side_view + half, dock_y, left - side_view - half, dock),
        counts=Box(left, head, side, counts),
        roles=Box(left, head + counts, side, roles),
        adjust=Box(left, head + counts + roles, side, body - counts - roles),
    )
