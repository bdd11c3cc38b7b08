"""What a photograph would show of a known pack, without a picture: its cans, with noise or not."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from packsim.look.seen import STATES, SeenPack, View
from packsim.pack.state import Pack

CLOSE_MM = 1e-9
"""Error of a can without noise [mm]."""


def seen_of(pack: Pack, noise_mm: float = 0.0, seed: int = 0, **changes: Any) -> SeenPack:
    """Return a pack as seen with both guides, every centre off by a normal error."""
    rng = np.random.default_rng(seed)
    centres = pack.centres_mm + rng.normal(0.0, 1.0, pack.centres_mm.shape) * noise_mm
    count, error = len(pack), max(noise_mm, CLOSE_MM)
    length, width = pack.length_mm, pack.clear_width_mm
    size = (int(2.0 * length), int(2.0 * width))
    beyond = 2.0 * pack.diameter_mm
    corners = [(-beyond, -beyond), (length + beyond, -beyond)]
    corners += [(length + beyond, width + beyond), (-beyond, width + beyond)]
    made: dict[str, Any] = {
        "photo": "known.png",
        "picture_px": size,
        "diameter_mm": pack.diameter_mm,
        "centres_mm": centres,
        "errors_mm": np.full(count, error),
        "state": np.zeros(count, np.uint8),
        "diameters_mm": pack.diameter_mm + rng.normal(0.0, 1.0, count) * noise_mm,
        "diameter_errors_mm": np.full(count, error),
        "guides_mm": np.array([0.0, width]) + rng.normal(0.0, 1.0, 2) * noise_mm,
        "guide_errors_mm": np.full(2, error),
        "guide_parallax": np.zeros(2),
        "field_mm": np.array(corners),
        "view": View(np.diag([2.0, 2.0, 1.0]), 0.0, (length, width), math.hypot(length, width)),
        "px_per_mm": 2.0,
        "scale_error": 0.0,
        "travel_from": "guides",
    }
    return SeenPack(**{**made, **changes})


def without(seen: SeenPack, *cans: int) -> SeenPack:
    """Return what is seen once some cans are taken away."""
    return _rows(seen, np.delete(np.arange(len(seen)), cans))


def reordered(seen: SeenPack, seed: int) -> SeenPack:
    """Return the same cans in another order."""
    return _rows(seen, np.random.default_rng(seed).permutation(len(seen)))


def mirrored(seen: SeenPack) -> SeenPack:
    """Return what a mirror image shows: left and right are swapped."""
    flip = np.array([1.0, -1.0])
    top = float(np.nansum(seen.guides_mm))
    return _changed(
        seen,
        centres_mm=seen.centres_mm * flip + (0.0, top),
        field_mm=seen.field_mm * flip + (0.0, top),
        guides_mm=top - seen.guides_mm[::-1],
        guide_errors_mm=seen.guide_errors_mm[::-1],
    )


def turned(seen: SeenPack) -> SeenPack:
    """Return what is seen with the picture turned by half, travel the other way."""
    there = mirrored(seen)
    back, end = np.array([-1.0, 1.0]), float(seen.field_mm[:, 0].sum()) / 2.0
    return _changed(
        there,
        centres_mm=there.centres_mm * back + (end, 0.0),
        field_mm=there.field_mm * back + (end, 0.0),
    )


def with_states(seen: SeenPack, **cans: int) -> SeenPack:
    """Return what is seen with some cans in another state: ``down=3``."""
    state = seen.state.copy()
    for name, can in cans.items():
        state[can] = STATES.index(name)
    return _changed(seen, state=state)


def _rows(seen: SeenPack, kept: Any) -> SeenPack:
    names = "centres_mm", "errors_mm", "state", "diameters_mm", "diameter_errors_mm"
    return _changed(seen, **{name: getattr(seen, name)[kept] for name in names})


def _changed(seen: SeenPack, **changes: Any) -> SeenPack:
    from dataclasses import replace

    return replace(seen, **changes)
