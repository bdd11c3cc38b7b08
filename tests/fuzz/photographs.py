"""Photographs of next to nothing, spoilt ones, and what is no picture, for ``packsim look``."""

from __future__ import annotations

import io

import numpy as np
from PIL import Image, ImageDraw

from tests.fuzz import texts
from tests.fuzz.case import SCENARIOS, Case, chance, pick
from tests.fuzz.values import TEXTS, quantity

Rng = np.random.Generator


def photograph(rng: Rng) -> Case:
    """A photograph and what is asked of it."""
    shown = _shown(rng)
    kept = io.BytesIO()
    kind = pick(rng, ["JPEG", "PNG", "TIFF", "BMP"])
    shown.save(kept, kind)
    raw = bytearray(kept.getvalue())
    if chance(rng, 0.3):
        for at in rng.integers(len(raw), size=int(rng.integers(1, 30))).tolist():
            raw[at] = int(rng.integers(256))
    if chance(rng, 0.2):
        raw = raw[: int(rng.integers(len(raw)))]
    ending = pick(rng, [".jpg", ".png", ".tif", ".heic", ".mp4"])
    file = texts.put(rng, bytes(raw), ending=ending, odd=chance(rng, 0.15))
    words = ["packsim", "look", file, "--size", pick(rng, _SIZES)]
    if chance(rng, 0.5):
        words += ["--scenario", str(SCENARIOS / pick(rng, ["first_look.toml", "swing_line.toml"]))]
    for option, usual in _OPTIONS.items():
        if chance(rng, 0.25):
            odd = [quantity(rng), pick(rng, TEXTS).replace("\x00", "")]
            words += [option, pick(rng, [usual, usual, *odd])]
    return Case(tuple(words))


def _shown(rng: Rng) -> Image.Image:
    """Nothing, noise, some rounds anywhere, or rounds side by side with a few left out."""
    size = int(rng.integers(40, 400)), int(rng.integers(40, 400))
    mode = pick(rng, ["L", "RGB", "1"])
    picture = Image.new("L", size, int(rng.integers(256)))
    draw, kind = ImageDraw.Draw(picture), int(rng.integers(4))
    if kind == 1:
        picture = Image.fromarray(rng.integers(0, 256, (size[1], size[0]), dtype=np.uint8))
    radius = float(rng.uniform(6.0, 25.0))
    places = rng.uniform(0.0, 400.0, (40, 2)) if kind == 2 else _packed(radius)
    for x, y in places if kind > 1 else ():
        if chance(rng, 0.95):
            draw.ellipse((x - radius, y - radius, x + radius, y + radius), 230, 90)
    return picture.convert(mode)


def _packed(radius: float) -> np.ndarray:
    rows = range(int(400.0 / radius))
    return np.array(
        [[2.0 * radius * i + radius * (k % 2), 3.0**0.5 * radius * k] for k in rows for i in rows]
    )


_SIZES = ("us_12oz_std", "66.09 mm", "66.09 ± 0.05 mm", "58 mm", "tin", "", "9 m")
_OPTIONS = {
    "--stage": "wash",
    "--travel": "up",
    "--length": "500 mm 10,10 90,12",
    "--camera": "1.7 m",
    "--guide-below": "30 mm",
    "--units": "inch",
    "--every": "0.5",
    "--chart": "new.svg",
    "--counts": "new.csv",
    "--save": "new.toml",
    "-o": "new.png",
    "--json": "-",
}
