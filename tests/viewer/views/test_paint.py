"""Painted pixels of shapes and cans, and text that stays in its box."""

from __future__ import annotations

import math

import numpy as np
import pygame
import pytest

from packsim.passage import ROLES
from packsim.report.can_looks import MARKS
from viewer.screen.drawing import Cans, Drawing, Fill, Polygon, Polyline, Text
from viewer.screen.layout import Box
from viewer.screen.roles import PALETTES
from viewer.window.paint import FONT_PX, Painter

LIGHT = PALETTES["light"]

AREA = Box(0, 0, 120, 120)


@pytest.fixture
def surface() -> pygame.Surface:
    made = pygame.Surface((120, 120), 0, 32)
    made.fill(LIGHT.inks["mat"])
    return made


def cans(x, y, radius, role, direction=0.0, clip=AREA) -> Cans:
    full = [np.full(1, float(v)) for v in (x, y, radius)]
    return Cans(*full, np.full(1, role, dtype=np.uint8), np.full(1, float(direction)), clip)


def near(colour, wanted, by=3) -> bool:
    return all(abs(a - b) <= by for a, b in zip(tuple(colour)[:3], wanted, strict=True))


@pytest.mark.parametrize("role", range(len(ROLES)))
def test_a_can_has_its_roles_face_rim_and_mark(surface, role):
    Painter().paint(surface, Drawing((cans(60, 60, 30, role),)))
    look = LIGHT.cans[role]
    # beside the mark, upstream of the middle and clear of it
    assert near(surface.get_at((60, 42)), look.fill)
    assert near(surface.get_at((60, 31)), look.edge, by=40)
    assert near(surface.get_at((2, 2)), LIGHT.inks["mat"], by=0)
    middle = (
        surface.get_at((66, 60)) if MARKS[role] in ("bar", "arrow") else surface.get_at((60, 60))
    )
    assert near(middle, look.fill if MARKS[role] == "none" else look.ink)


@pytest.mark.parametrize("turn", [0.0, math.pi / 2, math.pi, -math.pi / 2])
def test_a_leaning_cans_mark_points_where_it_leans(surface, turn):
    Painter().paint(surface, Drawing((cans(60, 60, 30, 2, turn),)))
    ahead = round(60 + 18 * math.cos(turn)), round(60 + 18 * math.sin(turn))
    behind = round(60 - 18 * math.cos(turn)), round(60 - 18 * math.sin(turn))
    assert near(surface.get_at(ahead), LIGHT.cans[2].ink)
    assert near(surface.get_at(behind), LIGHT.cans[2].fill)


def test_a_can_is_as_large_as_it_is_said_to_be(surface):
    Painter().paint(surface, Drawing((cans(60.25, 60.25, 25.0, 4),)))
    pixels = pygame.surfarray.array3d(surface).astype(float)
    mat = np.array(LIGHT.inks["mat"], dtype=float)
    # how far each pixel is from the mat's colour towards the dark can, cross left out
    dark = 1.0 - pixels[:, :, 0] / mat[0]
    covered = np.where(dark > 0.02, np.minimum(1.0, dark / (1 - 26 / mat[0])), 0.0)
    cross = (pixels[:, :, 0] > mat[0] + 3) & (np.hypot(*np.mgrid[-60:60, -60:60]) < 24)
    assert covered.sum() + cross.sum() == pytest.approx(math.pi * 25.0**2, rel=0.03)


def test_two_cans_half_a_pixel_apart_are_not_drawn_alike():
    pictures = []
    for x in (60.0, 60.5):
        surface = pygame.Surface((120, 120), 0, 32)
        Painter().paint(surface, Drawing((cans(x, 60, 20, 1),)))
        pictures.append(pygame.surfarray.array3d(surface))
    assert (pictures[0] != pictures[1]).any()


def test_tiny_cans_are_dots_and_the_worst_stay_visible(surface):
    crowd = Cans(
        np.array([50.0, 50.0]),
        np.array([50.0, 50.0]),
        np.array([1.2, 1.2]),
        np.array([2, 0], dtype=np.uint8),
        np.zeros(2),
        AREA,
    )
    Painter().paint(surface, Drawing((crowd,)))
    assert near(surface.get_at((50, 50)), LIGHT.cans[2].fill, by=0)
    Painter().paint(surface, Drawing((cans(80, 80, 0.4, 4),)))
    assert near(surface.get_at((80, 78)), LIGHT.cans[4].fill, by=30)


def test_nothing_is_painted_outside_its_clip(surface):
    clip = Box(40, 40, 30, 30)
    items = (
        cans(40, 40, 20, 3, clip=clip),
        cans(70, 70, 1.2, 1, clip=clip),
        Polyline(((0, 55), (119, 55)), "wire", 3, clip=clip),
        Polygon(((0, 0), (119, 0), (119, 119)), "pool", clip=clip),
        Polygon(((0, 0), (119, 0), (60, 119)), "pool", alpha=90, clip=clip),
    )
    Painter().paint(surface, Drawing(items))
    pixels = pygame.surfarray.array3d(surface)
    pixels[40:70, 40:70] = LIGHT.inks["mat"]
    assert (pixels == np.array(LIGHT.inks["mat"])).all()


def test_fills_and_lines(surface):
    items = (
        Fill(Box(10, 10, 20, 20), "chosen"),
        Fill(Box(10, 10, 20, 20), "veil", alpha=128),
        Polyline(((0, 100), (119, 100)), "wire", 2, 5),
    )
    Painter().paint(surface, Drawing(items))
    half = [(a + b) // 2 for a, b in zip(LIGHT.inks["chosen"], LIGHT.inks["veil"], strict=True)]
    assert near(surface.get_at((20, 20)), half, by=3)
    row = [near(surface.get_at((x, 100)), LIGHT.inks["wire"], by=0) for x in range(120)]
    assert 40 < sum(row) < 80


@pytest.mark.parametrize("size", FONT_PX)
def test_long_text_is_cut_with_an_ellipsis_and_stays_inside(surface, size):
    box = Box(20, 40, 60, 40)
    Painter().paint(
        surface, Drawing((Text("a very long text indeed, and more", box, "text", size),))
    )
    pixels = pygame.surfarray.array3d(surface)
    inside = pixels[20:80, 40:80].copy()
    pixels[20:80, 40:80] = LIGHT.inks["mat"]
    assert (pixels == np.array(LIGHT.inks["mat"])).all()
    assert (inside != np.array(LIGHT.inks["mat"])).any()


def test_alignment(surface):
    for align, wanted in (("left", (0, 30)), ("centre", (40, 80)), ("right", (90, 120))):
        surface.fill(LIGHT.inks["mat"])
        Painter().paint(surface, Drawing((Text("i", Box(0, 0, 120, 30), "text", "body", align),)))
        marked = (pygame.surfarray.array3d(surface) != np.array(LIGHT.inks["mat"])).any(axis=(1, 2))
        columns = np.flatnonzero(marked)
        assert wanted[0] <= columns.min() <= columns.max() <= wanted[1], align


def test_another_palette_is_painted_at_once_and_back(surface):
    painter, scene = Painter(), Drawing((Fill(Box(0, 0, 120, 120), "panel"), cans(60, 60, 30, 1)))
    for name in ("light", "dark", "light"):
        palette = PALETTES[name]
        painter.dress(1.0, palette)
        painter.paint(surface, scene)
        assert near(surface.get_at((2, 2)), palette.inks["panel"], by=0)
        assert near(surface.get_at((60, 42)), palette.cans[1].fill)
