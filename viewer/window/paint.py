"""Paints a drawing on a surface; only here and in the sprites are colours and pygame known."""

import math
from bisect import bisect_right
from collections.abc import Mapping
from itertools import pairwise

import numpy as np
import pygame

from packsim.report.can_looks import RGB
from viewer.screen.drawing import Cans, Dots, Drawing, Fill, Item, Polygon, Polyline, Text
from viewer.screen.roles import PALETTES, Palette
from viewer.window.sprites import DOT_BELOW_PX, SpriteBox, dot_pixels, key_of, square_pixels

FONT_PX = {"small": 17, "body": 19, "head": 23, "big": 38}
"""Font heights at scale 1 [px]; pygame's own font stands about 0.65 of it tall."""


FINE = 3
"""Text is rendered this much larger and averaged down: letters then keep their distances."""


class Painter:
    """Paints scenes in a palette; keeps fonts, rendered words and sprites between frames."""

    def __init__(self, scale: float = 1.0, palette: Palette = PALETTES["light"]) -> None:
        if not pygame.font.get_init():
            pygame.font.init()
        self._scale = 0.0
        self._fonts: dict[tuple[str, float], pygame.font.Font] = {}
        self._words: dict[tuple[str, str, str, int, float], pygame.Surface] = {}
        self._palette, self._sprites = palette, SpriteBox(palette)
        self.dress(scale, palette)

    def dress(self, scale: float, palette: Palette) -> None:
        """Use fonts for another scale factor, and another palette."""
        if palette is not self._palette:
            self._palette, self._sprites = palette, SpriteBox(palette)
            self._words.clear()
        if scale == self._scale:
            return
        self._scale = scale
        self._fonts.clear()
        self._words.clear()

    def font(self, size: str, scale: float = 0.0) -> pygame.font.Font:
        """Return the font of a size of text, `FINE` times as large as it is painted.

        For some screen pixels per layout pixel, the painter's own where 0.
        """
        key = size, scale or self._scale
        if key not in self._fonts:
            height = FINE * max(8, round(FONT_PX[size] * key[1]))
            self._fonts[key] = pygame.font.Font(None, height)
        return self._fonts[key]

    def paint(self, surface: pygame.Surface, drawing: Drawing) -> None:
        """Draw every item of a drawing, in order."""
        for item in drawing.items:
            self._item(surface, item)
        surface.set_clip(None)

    def _item(self, surface: pygame.Surface, item: Item) -> None:
        match item:
            case Cans():
                self._cans(surface, item)
            case Dots():
                square_pixels(surface, item, self._palette.inks[item.role])
            case Fill():
                _fill(surface, item, self._palette.inks)
            case Polyline():
                _line(surface, item, self._palette.inks[item.role])
            case Polygon():
                _shape(surface, item, self._palette.inks[item.role])
            case Text():
                self._text(surface, item)

    def _cans(self, surface: pygame.Surface, cans: Cans) -> None:
        if not len(cans.x_px):
            return
        surface.set_clip(pygame.Rect(cans.clip))
        small = cans.radius_px * 2.0 < DOT_BELOW_PX
        # a tipped can or one past balance must not vanish in the crowd: never smaller than a dot
        small &= cans.role < 3
        if small.any():
            dot_pixels(surface, cans, small, self._palette)
        if not small.all():
            self._sprite_cans(surface, cans, ~small)

    def _sprite_cans(self, surface: pygame.Surface, cans: Cans, which: np.ndarray) -> None:
        order = np.flatnonzero(which)
        order = order[np.argsort(cans.role[order], kind="stable")]
        role = cans.role[order]
        radius = np.where(role >= 3, np.maximum(cans.radius_px[order], 3.5), cans.radius_px[order])
        key, column, row = key_of(
            role, radius, cans.direction_rad[order], cans.x_px[order], cans.y_px[order]
        )
        kinds, place = np.unique(key, return_inverse=True)
        sprites = np.empty(len(kinds), dtype=object)
        half = np.empty(len(kinds), dtype=np.int64)
        for i, kind in enumerate(kinds.tolist()):
            sprites[i], half[i] = self._sprites.get(kind)
        offset = half[place]
        at = zip((column - offset).tolist(), (row - offset).tolist(), strict=True)
        surface.blits(list(zip(sprites[place].tolist(), at, strict=True)), False)

    def _text(self, surface: pygame.Surface, text: Text) -> None:
        if not text.text:
            return
        word = self._word(text)
        box = text.box
        left = {"left": 0, "centre": (box.w - word.get_width()) // 2}.get(
            text.align, box.w - word.get_width()
        )
        surface.set_clip(pygame.Rect(box))
        surface.blit(word, (box.x + left, box.y + (box.h - word.get_height()) // 2))

    def _word(self, text: Text) -> pygame.Surface:
        key = (text.text, text.role, text.size, text.box.w, text.scale)
        word = self._words.get(key)
        if word is None:
            if len(self._words) > 2000:
                self._words.clear()
            font = self.font(text.size, text.scale)
            shown = _cut(text.text, text.box.w * FINE, font)
            large = font.render(shown, True, self._palette.inks[text.role])
            size = -(-large.get_width() // FINE), -(-large.get_height() // FINE)
            word = self._words[key] = pygame.transform.smoothscale(large, size)
        return word


def _cut(text: str, width_px: int, font: pygame.font.Font) -> str:
    if font.size(text)[0] <= width_px:
        return text
    ends = range(1, len(text) + 1)
    kept = bisect_right(ends, width_px, key=lambda n: font.size(text[:n].rstrip() + "…")[0])
    return text[:kept].rstrip() + "…"


def _fill(surface: pygame.Surface, fill: Fill, inks: Mapping[str, RGB]) -> None:
    surface.set_clip(None)
    colour, rect = inks[fill.role], pygame.Rect(fill.box)
    if fill.alpha >= 255:
        surface.fill(colour, rect)
    elif rect.w > 0 and rect.h > 0:
        veil = pygame.Surface(rect.size)
        veil.fill(colour)
        veil.set_alpha(fill.alpha)
        surface.blit(veil, rect)
    if fill.outline:
        pygame.draw.rect(surface, inks[fill.outline], rect, 1)


def _line(surface: pygame.Surface, line: Polyline, colour: RGB) -> None:
    surface.set_clip(pygame.Rect(line.clip) if line.clip else None)
    if line.dash_px <= 0:
        if len(line.points) >= 2:
            pygame.draw.lines(surface, colour, False, line.points, line.width_px)
        return
    for start, end in pairwise(line.points):
        for a, b in _dashes(start, end, line.dash_px):
            pygame.draw.line(surface, colour, a, b, line.width_px)


def _dashes(
    start: tuple[float, float], end: tuple[float, float], dash_px: int
) -> list[tuple[tuple[float, float], tuple[float, float]]]:
    length = math.dist(start, end)
    if length <= 0.0:
        return []
    ux, uy = (end[0] - start[0]) / length, (end[1] - start[1]) / length
    count = min(2000, math.ceil(length / (2 * dash_px)))
    pieces = []
    for i in range(count):
        near, far = 2 * i * dash_px, min(length, (2 * i + 1) * dash_px)
        a = start[0] + ux * near, start[1] + uy * near
        pieces.append((a, (start[0] + ux * far, start[1] + uy * far)))
    return pieces


def _shape(surface: pygame.Surface, shape: Polygon, colour: RGB) -> None:
    surface.set_clip(pygame.Rect(shape.clip) if shape.clip else None)
    if not shape.filled:
        if shape.dashed:
            for near, far in zip(shape.points[::2], shape.points[1::2], strict=False):
                pygame.draw.aaline(surface, colour, near, far)
        elif shape.width_px <= 1:
            pygame.draw.aalines(surface, colour, True, shape.points)
        else:
            pygame.draw.lines(surface, colour, True, shape.points, shape.width_px)
        return
    if shape.alpha >= 255:
        pygame.draw.polygon(surface, colour, shape.points)
        return
    box = _bounds(shape.points).clip(surface.get_clip())
    if box.w <= 0 or box.h <= 0:
        return
    patch = pygame.Surface(box.size, pygame.SRCALPHA)
    moved = [(x - box.x, y - box.y) for x, y in shape.points]
    pygame.draw.polygon(patch, (*colour, shape.alpha), moved)
    surface.blit(patch, box)


def _bounds(points: tuple[tuple[float, float], ...]) -> pygame.Rect:
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    left, top = math.floor(min(xs)), math.floor(min(ys))
    return pygame.Rect(left, top, math.ceil(max(xs)) - left + 1, math.ceil(max(ys)) - top + 1)
