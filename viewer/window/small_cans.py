"""Cans too small for a sprite: little squares of pixels written straight into the surface."""

from __future__ import annotations

import numpy as np
import pygame
from numpy.typing import NDArray

from viewer.screen.drawing import Cans
from viewer.screen.roles import CAN_STYLES

DOT_BELOW_PX = 3.0
"""Diameter below which a can is a square of pixels."""


def dot_pixels(surface: pygame.Surface, cans: Cans, which: NDArray[np.bool_]) -> None:
    """Write cans into a 32-bit surface, the worst roles last so that they stay visible.

    Parameters
    ----------
    surface : pygame.Surface
        Where to; its pixels are locked meanwhile.
    cans : Cans
        Cans, with the part of the screen they may cover.
    which : ndarray of bool, shape (n,)
        Those to draw.
    """
    order = np.flatnonzero(which)
    order = order[np.argsort(cans.role[order], kind="stable")]
    side = max(1, round(float(np.median(cans.radius_px[order])) * 2.0 * 0.85))
    left = np.floor(cans.x_px[order] - side / 2.0 + 0.5).astype(np.int64)
    top = np.floor(cans.y_px[order] - side / 2.0 + 0.5).astype(np.int64)
    area = pygame.Rect(cans.clip).clip(surface.get_rect())
    inside = (left >= area.left) & (left <= area.right - side)
    inside &= (top >= area.top) & (top <= area.bottom - side)
    left, top = left[inside], top[inside]
    # the rim's colour for the held: their pale face would drown in the pale mat
    table = [surface.map_rgb(_dot_colour(role)) for role in range(len(CAN_STYLES))]
    colours = np.array(table, dtype=np.int64).astype(np.uint32)[cans.role[order][inside]]
    pixels = pygame.surfarray.pixels2d(surface)
    for dx in range(side):
        for dy in range(side):
            pixels[left + dx, top + dy] = colours
    del pixels


def _dot_colour(role: int) -> tuple[int, int, int]:
    look = CAN_STYLES[role]
    if role:
        return look.fill
    red, green, blue = ((2 * f + e) // 3 for f, e in zip(look.fill, look.edge, strict=True))
    return red, green, blue
