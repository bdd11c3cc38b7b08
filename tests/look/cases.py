"""Made-up mats and cameras: packs nobody tuned the reading of photographs to."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from packsim.pack import Pack, pack_between
from tests.look.render import Camera, Looks, Mat

SIZES = {"slim": (57.4, 122.0), "sleek": (57.9, 150.0), "standard": (66.1, 117.0)}
SIZES |= {"tall": (66.1, 165.0), "wide": (73.2, 110.0), "small": (52.9, 96.0)}


@dataclass
class Case:
    """One picture to be and what is true of it."""

    words: str
    size: str
    pack: Pack
    mat: Mat
    camera: Camera
    looks: Looks
    travel: str
    guides_seen: tuple[bool, bool]


def case_of(seed: int, number: int) -> Case:
    """The case of a number."""
    rng = np.random.default_rng([seed, number])
    size = str(rng.choice(list(SIZES)))
    diameter, height = SIZES[size]
    layout = "lengthwise" if rng.random() < 0.75 else "crosswise"
    lanes = int(rng.integers(4, 15))
    pitch = diameter * (math.sqrt(0.75) if layout == "lengthwise" else 0.5)
    lanes = lanes if layout == "lengthwise" else 2 * lanes - 1 + int(rng.integers(0, 2))
    slack = rng.uniform(0.0, 0.6 * pitch) if rng.random() < 0.9 else 0.0
    width = diameter + (lanes - 1) * pitch + slack
    fill = 1.0 if rng.random() < 0.2 else rng.uniform(0.93, 1.0)
    lie = str(rng.choice(["left", "centred", "right"]))
    length = max(1.5 * width, 8.0 * diameter)
    pack = pack_between(width, diameter, layout, length, fill, state="slack", lie=lie)
    centres = shaken(pack, rng, 120)
    centres = centres[rng.random(len(centres)) > rng.choice([0.0, 0.01, 0.03])]
    camera, travel, seen = _camera(pack, rng)
    looks = Looks(
        metal=rng.uniform(0.55, 0.85),
        mat=rng.uniform(0.08, 0.35),
        glare=int(rng.integers(0, 4)),
        shadow=rng.uniform(0.0, 0.5) if rng.random() < 0.5 else 0.0,
        blur_px=rng.uniform(0.6, 1.5),
        noise=rng.uniform(0.004, 0.03),
        jpeg=int(rng.integers(60, 96)) if rng.random() < 0.8 else None,
        light_deg=rng.uniform(0.0, 35.0),
        light_from_deg=rng.uniform(0.0, 360.0),
    )
    words = (
        f"{size}, {lanes} lanes {layout}, slack {slack:.1f} mm, fill {fill:.3f}, tilt "
        f"{camera.tilt_deg:.0f}°, lens {camera.lens:.2f}, {camera.px_per_mm:.2f} px/mm, {travel}"
    )
    mat = Mat(centres, diameter, height, (0.0, width))
    return Case(words, size, pack, mat, camera, looks, travel, seen)


def shaken(pack: Pack, rng: np.random.Generator, sweeps: int) -> np.ndarray:
    """The pack's cans after random moves in which none runs into another or a guide."""
    at, d, length = pack.centres_mm.copy(), pack.diameter_mm, pack.length_mm
    wrap = np.array([length, 0.0])
    ghosts = np.concatenate((at, at + wrap, at - wrap))
    near = cKDTree(ghosts).query_ball_point(at, 1.6 * d)
    lists = [np.array([j for j in js if j % len(at) != i]) for i, js in enumerate(near)]
    moves = rng.normal(0.0, 0.03 * d, (sweeps, len(at), 2))
    for step in moves:
        for i in range(len(at)):
            to = at[i] + step[i]
            j = lists[i]
            there = at[j % len(at)]
            off = there - to
            off[:, 0] -= length * np.rint(off[:, 0] / length)
            free = np.all(off[:, 0] ** 2 + off[:, 1] ** 2 >= d * d)
            if free and d / 2 <= to[1] <= pack.clear_width_mm - d / 2:
                at[i] = to
    return at


def _camera(pack: Pack, rng: np.random.Generator) -> tuple[Camera, str, tuple[bool, bool]]:
    """A camera that sees the whole width, with guides; one in eight leaves one side out."""
    tall = rng.random() < 0.5
    size = (1400, 1050) if rng.random() < 0.7 else (1050, 1400)
    travel = (
        ("up" if rng.random() < 0.5 else "down")
        if tall
        else ("right" if rng.random() < 0.5 else "left")
    )
    roll = {"right": 0.0, "left": 180.0, "down": 90.0, "up": -90.0}[travel]
    width, length = pack.clear_width_mm, pack.length_mm
    aside = 0.0
    if rng.random() < 0.125:
        aside = float(rng.choice([-1.0, 1.0])) * 0.3 * width
    camera = Camera(
        size,
        1.0,
        (length / 2.0, width / 2.0 + aside),
        tilt_deg=float(rng.uniform(0.0, 40.0)),
        azimuth_deg=float(rng.uniform(0.0, 360.0)),
        roll_deg=roll + float(rng.uniform(-8.0, 8.0)),
        lens=float(rng.uniform(-0.1, 0.03)),
    )
    x = length / 2.0 + np.array([-0.25, 0.0, 0.25]) * min(length, width)
    must = np.concatenate([np.column_stack((x, 0 * x + y)) for y in (-25.0, width + 25.0)])
    focal = float(rng.uniform(0.72, 1.8)) * max(size)

    def nearer(px_per_mm: float) -> None:
        camera.px_per_mm, camera.far_mm = px_per_mm, focal / px_per_mm

    nearer(4.0)
    while not aside and not _sees(camera, must).all():
        nearer(0.97 * camera.px_per_mm)
    if aside:
        nearer(1.2 * min(size) / width)
        while not _sees(camera, must).any():
            nearer(0.97 * camera.px_per_mm)
    nearer(min(camera.px_per_mm, 2.2))
    middle = np.column_stack((np.full(2, length / 2.0), [0.0, width]))
    return camera, travel, tuple(_sees(camera, middle).tolist())


def _sees(camera: Camera, points: np.ndarray) -> np.ndarray:
    at = camera.to_picture(points)
    return np.all((at > 4) & (at < np.array(camera.size_px) - 5), axis=1)
