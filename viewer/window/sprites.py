"""Small pictures of a can, one per role, radius, direction and place between two pixels.

They are computed by numpy with smooth edges, kept for reuse, and blitted by the thousand. Cans
too small for that are squares of pixels.
"""

import math
from typing import Final

import numpy as np
import pygame
from numpy.typing import NDArray

from packsim.arrays import Floats
from packsim.report.can_looks import MARKS, RGB, CanStyle
from viewer.screen.drawing import Cans, Dots
from viewer.screen.layout import Box
from viewer.screen.roles import Palette

DOT_BELOW_PX: Final = 3.0
"""Diameter below which a can is no sprite but a square of pixels."""

PHASES: Final = 2
"""Places between two pixels told apart, along each axis: a can is drawn within a quarter pixel."""

RADIUS_STEPS: Final = 4
"""Radii told apart per pixel."""

DIRECTIONS: Final = 16
"""Directions told apart for the marks that point."""

MARK_FROM_PX: Final = 3.5
"""Radius from which a mark can be made out."""

_KEEP: Final = 4000
"""Sprites kept before the store is emptied; some megabytes at most."""

_FINE: Final = 4
"""Samples per pixel and axis when a sprite is computed."""


class SpriteBox:
    """Makes sprites when they are first asked for and keeps them."""

    def __init__(self, palette: Palette) -> None:
        self._styles = palette.cans
        self._made: dict[int, tuple[pygame.Surface, int]] = {}

    def __len__(self) -> int:
        return len(self._made)

    def get(self, key: int) -> tuple[pygame.Surface, int]:
        """Return the sprite of a key from `key_of`, and its half width [px]."""
        found = self._made.get(key)
        if found is None:
            if len(self._made) >= _KEEP:
                self._made.clear()
            found = self._made[key] = _sprite(key, self._styles)
        return found


def key_of(
    role: NDArray[np.uint8], radius_px: Floats, direction_rad: Floats, x_px: Floats, y_px: Floats
) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]:
    """Pack what makes a sprite into one whole number per can, shape (n,).

    Returned with the column and row of the pixel that its middle falls in.
    """
    fine_x = np.floor(x_px * PHASES).astype(np.int64)
    fine_y = np.floor(y_px * PHASES).astype(np.int64)
    size = np.maximum(1, np.rint(radius_px * RADIUS_STEPS)).astype(np.int64)
    turn = np.rint(direction_rad * (DIRECTIONS / (2.0 * math.pi))).astype(np.int64) % DIRECTIONS
    points = np.array([mark in ("bar", "arrow") for mark in MARKS])[role]
    turn = np.where(points & (radius_px >= MARK_FROM_PX), turn, 0)
    key = ((size * len(MARKS) + role) * DIRECTIONS + turn) * PHASES + fine_x % PHASES
    return key * PHASES + fine_y % PHASES, fine_x // PHASES, fine_y // PHASES


def _sprite(key: int, styles: tuple[CanStyle, ...]) -> tuple[pygame.Surface, int]:
    key, phase_y = divmod(key, PHASES)
    key, phase_x = divmod(key, PHASES)
    key, turn = divmod(key, DIRECTIONS)
    size, role = divmod(key, len(MARKS))
    radius = size / RADIUS_STEPS
    half = math.ceil(radius) + 1
    middle = half + (phase_x + 0.5) / PHASES, half + (phase_y + 0.5) / PHASES
    turned = turn * 2.0 * math.pi / DIRECTIONS
    pixels = _pixels(styles[role], MARKS[role], (radius, turned), middle, half)
    wide = 2 * half + 1
    # blue first is the byte order of a window: other orders are blitted several times slower
    blue_first = np.ascontiguousarray(pixels[:, :, [2, 1, 0, 3]]).tobytes()
    surface = pygame.image.frombuffer(blue_first, (wide, wide), "BGRA").copy()
    # runs of full and empty pixels are then copied and skipped instead of mixed
    surface.set_alpha(255, pygame.RLEACCEL)
    return surface, half


def _pixels(
    look: CanStyle,
    mark: str,
    shape: tuple[float, float],
    middle: tuple[float, float],
    half: int,
) -> NDArray[np.uint8]:
    """Paint one can by sampling: rim, face, then its mark; shape (w, w, 4).

    ``shape`` is its radius [px] and the direction its mark points in [rad].
    """
    radius, turn_rad = shape
    wide = 2 * half + 1
    at = (np.arange(wide * _FINE) + 0.5) / _FINE
    dx, dy = np.meshgrid(at - middle[0], at - middle[1])
    away = np.hypot(dx, dy)
    colour = np.empty((*away.shape, 3))
    colour[:] = look.edge
    rim = min(1.6, max(0.6, 0.12 * radius)) if radius >= 2.0 else 0.0
    colour[away <= radius - rim] = look.fill
    if radius >= MARK_FROM_PX:
        along = dx * math.cos(turn_rad) + dy * math.sin(turn_rad)
        across = dy * math.cos(turn_rad) - dx * math.sin(turn_rad)
        colour[_mark(mark, along / radius, across / radius, radius)] = look.ink
    inside = (away <= radius).astype(np.float64)
    alpha = _averaged(inside[:, :, None])
    mean = _averaged(colour * inside[:, :, None]) / np.maximum(alpha, 1e-9)
    return np.dstack((np.rint(mean), np.rint(alpha * 255.0))).astype(np.uint8)


def _averaged(fine: Floats) -> Floats:
    wide = fine.shape[0] // _FINE
    parts = fine.reshape(wide, _FINE, wide, _FINE, fine.shape[2])
    return np.asarray(parts.mean(axis=(1, 3)))


def _mark(mark: str, along: Floats, across: Floats, radius_px: float) -> NDArray[np.bool_]:
    """Where a mark covers the face; lengths in radii."""
    line = max(0.11, 0.7 / radius_px)
    if mark == "dot":
        return np.hypot(along, across) <= max(0.22, 0.9 / radius_px)
    if mark == "bar":
        return (np.abs(across) <= line) & (along >= -0.05) & (along <= 0.72)
    if mark == "arrow":
        head = (along <= 0.76) & (along >= 0.02) & (np.abs(across) <= 0.72 * (0.76 - along))
        return head | ((np.abs(across) <= line) & (np.abs(along) <= 0.62) & (along <= 0.1))
    if mark == "cross":
        reach = np.maximum(np.abs(along), np.abs(across)) <= 0.55
        diagonal = np.minimum(np.abs(along - across), np.abs(along + across))
        return reach & (diagonal <= 1.4 * line)
    return np.zeros(along.shape, dtype=np.bool_)


def dot_pixels(
    surface: pygame.Surface, cans: Cans, which: NDArray[np.bool_], palette: Palette
) -> None:
    """Write cans into a 32-bit surface as squares, the worst roles last: they stay visible."""
    order = np.flatnonzero(which)
    order = order[np.argsort(cans.role[order], kind="stable")]
    side = max(1, round(float(np.median(cans.radius_px[order])) * 2.0 * 0.85))
    # the rim's colour for the snug: their pale face would drown in the pale mat
    table = [surface.map_rgb(colour) for colour in _dot_colours(palette)]
    colours = np.array(table, dtype=np.int64).astype(np.uint32)[cans.role[order]]
    _squares(surface, cans.x_px[order], cans.y_px[order], side, cans.clip, colours)


def square_pixels(surface: pygame.Surface, dots: Dots, ink: RGB) -> None:
    """Write dots into a 32-bit surface."""
    colour = np.full(dots.x_px.shape, surface.map_rgb(ink), dtype=np.int64)
    _squares(surface, dots.x_px, dots.y_px, dots.side_px, dots.clip, colour.astype(np.uint32))


def _squares(
    surface: pygame.Surface,
    x_px: Floats,
    y_px: Floats,
    side: int,
    clip: Box,
    colours: NDArray[np.uint32],
) -> None:
    """Write squares about points, those that are whole within a box."""
    left = np.floor(x_px - side / 2.0 + 0.5).astype(np.int64)
    top = np.floor(y_px - side / 2.0 + 0.5).astype(np.int64)
    area = pygame.Rect(clip).clip(surface.get_rect())
    inside = (left >= area.left) & (left <= area.right - side)
    inside &= (top >= area.top) & (top <= area.bottom - side)
    left, top, colours = left[inside], top[inside], colours[inside]
    pixels = pygame.surfarray.pixels2d(surface)
    for dx in range(side):
        for dy in range(side):
            pixels[left + dx, top + dy] = colours
    del pixels


def _dot_colours(palette: Palette) -> list[RGB]:
    """Return the colours of cans as dots, in the order of their roles."""
    snug, *others = palette.cans
    red, green, blue = ((2 * f + e) // 3 for f, e in zip(snug.fill, snug.edge, strict=True))
    return [(red, green, blue), *(can.fill for can in others)]
