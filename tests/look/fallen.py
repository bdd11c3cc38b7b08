"""Cans down and cans that lean in a drawn case, and where the picture shows them."""

from __future__ import annotations

import math
from collections import Counter

import numpy as np

from packsim.look.seen import SeenPack
from tests.look.cases import Case
from tests.look.render import SHOULDER_MM

_TRIES = 200

COUNTED = ("down", "leaning")
"""States that are counted, as `packsim.look.seen.STATES` names them."""


def lay_down(case: Case, rng: np.random.Generator, over: bool) -> bool:
    """Lay a can down: in a gap on the mat as long as it is, or over the cans about its own place.

    Its whole body is in the picture, its middle between the guides. Return whether there was room.
    """
    mat, d, h = case.mat, case.mat.diameter_mm, case.mat.height_mm
    for _ in range(_TRIES):
        own = mat.centres_mm[rng.integers(len(mat.centres_mm))]
        way = rng.uniform(0.0, 2.0 * math.pi)
        axis = np.array([math.cos(way), math.sin(way)])
        middle = own + axis * rng.uniform(-0.3, 0.3) * h
        reach = 0.0 if over else 0.5 * (h * abs(axis[1]) + d * abs(axis[0]))
        if not _between(mat.guides_mm, middle[1] - reach, middle[1] + reach):
            continue
        can = (float(middle[0]), float(middle[1]), way, h if over else 0.0)
        others = [one[:2] for one in (*mat.lying, *mat.leaning)]
        if any(math.dist(can[:2], one) < h + d for one in others) or not _whole(case, can):
            continue
        off = mat.centres_mm - middle
        along, across = np.abs(off @ axis), np.abs(off @ (axis[::-1] * (-1.0, 1.0)))
        under = np.hypot(np.maximum(along - h / 2.0, 0.0), np.maximum(across - d / 2.0, 0.0))
        gone = np.hypot(*(mat.centres_mm - own).T) < 1.0 if over else under < d / 2.0
        mat.centres_mm = mat.centres_mm[~gone]
        mat.lying.append(can)
        return True
    return False


def lean_over(case: Case, rng: np.random.Generator, lean_deg: float) -> bool:
    """Lean a can across from where the cans before it are gone onto the one beyond them."""
    mat, d = case.mat, case.mat.diameter_mm
    inside = np.array(case.camera.size_px)
    for _ in range(_TRIES):
        own = mat.centres_mm[rng.integers(len(mat.centres_mm))]
        px = case.camera.to_picture(own)
        way = rng.uniform(0.0, 2.0 * math.pi)
        axis = np.array([math.cos(way), math.sin(way)])
        if not ((px > 0.15 * inside) & (px < 0.85 * inside)).all():
            continue
        end = own[1] + 2.5 * d * axis[1]
        others = [one[:2] for one in (*mat.lying, *mat.leaning)]
        if not _between(mat.guides_mm, end, end) or any(math.dist(own, o) < 4 * d for o in others):
            continue
        away = mat.centres_mm - own
        far, ahead = np.hypot(*away.T), away @ axis
        before = (far > 1.0) & (far < 1.35 * d) & (ahead > 0.5 * far)
        if before.sum() != 2:
            continue
        lean = math.radians(lean_deg)
        foot = own + axis * d / 2.0 * (1.0 - math.cos(lean))  # it turns about the edge of its base
        mat.centres_mm = mat.centres_mm[(far > 1.0) & ~before]
        mat.leaning.append((float(foot[0]), float(foot[1]), lean, way))
        return True
    return False


def fell(case: Case, rng: np.random.Generator, gaps_only: bool) -> None:
    """Lay two cans down, on the mat and over others, and lean one; or leave the gaps alone."""
    for over in (False, True):
        lay_down(case, rng, over)
    lean_over(case, rng, rng.uniform(20.0, 35.0))
    if gaps_only:
        case.mat.lying.clear()
        case.mat.leaning.clear()


def counted(case: Case, seen: SeenPack | None) -> Counter[str]:
    """Return by state how many there are, how many of these are found, and how many are none."""
    found: Counter[str] = Counter()
    reach = 0.7 * case.mat.diameter_mm * case.camera.px_per_mm
    for state, there in zip(COUNTED, (lying_px(case), leaning_px(case)), strict=True):
        found[f"{state} there"] = len(there)
        if seen is None:
            continue
        told = seen.view.to_picture(seen.centres_mm[seen.are(state)])
        away = np.hypot(*np.moveaxis(there[:, None] - told, -1, 0))
        found[f"{state} found"] = int((away < reach).any(axis=1).sum())
        found[f"{state} none"] = len(told) - found[f"{state} found"]
    found["cans"] = 0 if seen is None else len(seen)
    return found


def lying_px(case: Case) -> np.ndarray:
    """Where the middles of the cans down are in the picture, shape (k, 2)."""
    mat = case.mat
    return np.array(
        [case.camera.to_picture(np.array(can[:2]), _axis_below(case, can)) for can in mat.lying]
    ).reshape(-1, 2)


def leaning_px(case: Case) -> np.ndarray:
    """Where the rims of the cans that lean are in the picture, shape (k, 2)."""
    high, found = case.mat.height_mm - SHOULDER_MM, []
    for x, y, lean, way in case.mat.leaning:
        top = np.array([x, y]) + high * math.sin(lean) * np.array([math.cos(way), math.sin(way)])
        found.append(case.camera.to_picture(top, high * (1.0 - math.cos(lean))))
    return np.array(found).reshape(-1, 2)


def _axis_below(case: Case, can: tuple) -> float:
    return case.mat.height_mm - SHOULDER_MM - can[3] - case.mat.diameter_mm / 2.0


def _between(guides_mm: tuple, low: float, high: float) -> bool:
    return guides_mm[0] <= low and high <= guides_mm[1]


def _whole(case: Case, can: tuple) -> bool:
    """Whether the whole body of a lying can is in the picture."""
    x, y, way, _ = can
    ends = np.array([(u, v) for u in (-0.5, 0.5) for v in (-0.5, 0.5)])
    ends = ends * (case.mat.height_mm, case.mat.diameter_mm)
    turn = np.array([[math.cos(way), math.sin(way)], [-math.sin(way), math.cos(way)]])
    px = case.camera.to_picture(ends @ turn + (x, y), _axis_below(case, can))
    return bool(((px > 3) & (px < np.array(case.camera.size_px) - 4)).all())
