"""A renderer of its own for pictures of known packs: bodies in slices, seen by a pinhole camera.

It shares nothing with the drawings of the project and nothing with the code that reads pictures: a
can is a stack of thin discs with the radius of the body at that height, shaded by the slope there,
painted from the mat upwards. The edge of a disc covers a pixel in part.
"""

from __future__ import annotations

import io
import math
from dataclasses import dataclass, field

import numpy as np
from PIL import Image
from scipy.ndimage import gaussian_filter
from scipy.spatial import cKDTree

SHOULDER_MM = 9.0
"""How far below its top a body has its full diameter (common practice, no source)."""


@dataclass
class Camera:
    """A pinhole camera over a point of the rims' plane: tilt from plumb, where it looks from."""

    size_px: tuple[int, int]
    px_per_mm: float
    look_at_mm: tuple[float, float]
    tilt_deg: float = 0.0
    azimuth_deg: float = 0.0
    roll_deg: float = 0.0
    far_mm: float = 1500.0
    lens: float = 0.0

    def plane(self, below_mm: float) -> np.ndarray:
        """Homography from mm on the plane so far below the rims to pixels without distortion."""
        tilt, azimuth, roll = map(math.radians, (self.tilt_deg, self.azimuth_deg, self.roll_deg))
        turn = _turn(roll) @ _turn(azimuth) @ _tip(tilt) @ _turn(-azimuth)
        at = np.array([*self.look_at_mm, 0.0])
        shift = np.array([0.0, 0.0, self.far_mm]) - turn @ at
        f = self.px_per_mm * self.far_mm
        w, h = self.size_px
        k = np.array([[f, 0, (w - 1) / 2], [0, f, (h - 1) / 2], [0, 0, 1.0]])
        return k @ np.column_stack((turn[:, 0], turn[:, 1], turn[:, 2] * below_mm + shift))

    def straight_px(self) -> np.ndarray:
        """Where each pixel would be without the lens's distortion, shape (h, w, 2)."""
        w, h = self.size_px
        middle = np.array([(w - 1) / 2, (h - 1) / 2])
        reach = math.hypot(w, h) / 2
        y, x = np.mgrid[:h, :w].astype(np.float64)
        bent = (np.stack((x, y), -1) - middle) / reach
        off = bent.copy()
        for _ in range(12):
            off = bent / (1 + self.lens * np.sum(off**2, -1, keepdims=True))
        return (middle + reach * off).astype(np.float32)

    def to_picture(self, points_mm: np.ndarray, below_mm: float = 0.0) -> np.ndarray:
        """Where points so far below the rims are in the picture [px]."""
        h = self.plane(below_mm)
        flat = points_mm @ h[:, :2].T + h[:, 2]
        w, hh = self.size_px
        middle = np.array([(w - 1) / 2, (hh - 1) / 2])
        off = (flat[..., :2] / flat[..., 2:] - middle) / (math.hypot(w, hh) / 2)
        return middle + math.hypot(w, hh) / 2 * off * (
            1 + self.lens * np.sum(off**2, -1, keepdims=True)
        )


@dataclass
class Looks:
    """What makes a picture hard."""

    metal: float = 0.75
    mat: float = 0.22
    glare: int = 0
    shadow: float = 0.0
    blur_px: float = 0.8
    noise: float = 0.01
    jpeg: int | None = None
    light_deg: float = 25.0
    light_from_deg: float = 60.0
    uneven: float = 0.05
    texture: float = 0.02


@dataclass
class Mat:
    """What stands on the mat: centres of standing cans, leaning and lying ones, guides."""

    centres_mm: np.ndarray
    diameter_mm: float = 66.0
    height_mm: float = 124.0
    guides_mm: tuple[float | None, float | None] = (None, None)
    guide_below_mm: float = 0.0
    leaning: list[tuple[float, float, float, float]] = field(default_factory=list)
    lying: list[tuple[float, float, float, float]] = field(default_factory=list)
    """Middle, way of the axis from the open end to the base, how high over the mat it lies."""


def picture(mat: Mat, camera: Camera, looks: Looks, rng: np.random.Generator) -> np.ndarray:
    """Return the picture, shape (h, w), 0 to 255."""
    straight = camera.straight_px()
    bounds = _bounds(camera, straight)
    label, grid = _nearest(mat.centres_mm, bounds)
    own = 1 + looks.uneven * rng.standard_normal(len(mat.centres_mm) + 1)
    ground = _plane(camera, straight, mat.height_mm - SHOULDER_MM)
    shape = straight.shape[:2]
    texture = gaussian_filter(rng.standard_normal(shape), 1.5) * looks.texture * 5
    stripes = 0.3 * looks.mat * (np.sin(ground[..., 0] * 2 * math.pi / 12.7) > 0.6)
    shown = looks.mat * 0.8 + texture + stripes
    for below, radius, inner, shade in sorted(
        [*_slices(mat, looks), *_lying_slices(mat, looks)], key=lambda one: -one[0]
    ):
        at = _plane(camera, straight, below - SHOULDER_MM)
        if inner == "lying":
            shown = _lying(mat, camera, at, radius, shade, own[-1], shown)
            continue
        if inner == "guide":
            shown = _guides(mat, camera, at, shown, shade)
            continue
        if not len(mat.centres_mm):
            continue
        off, which = _offsets(at, mat.centres_mm, label, grid)
        shown = _disc(camera, off, radius, inner, shade, own[which], shown)
    for x, y, lean, way in mat.leaning:
        shown = _leaning(mat, camera, straight, looks, (x, y, lean, way), shown)
    return _spoilt(shown, looks, rng)


def jpeg_of(shown: np.ndarray, quality: int | None) -> np.ndarray:
    """The picture as it comes back from a JPEG of that quality."""
    if quality is None:
        return shown
    kept = io.BytesIO()
    Image.fromarray(shown.astype(np.uint8)).save(kept, "JPEG", quality=quality)
    return np.asarray(Image.open(kept), dtype=np.float64)


def _turn(angle: float) -> np.ndarray:
    c, s = math.cos(angle), math.sin(angle)
    return np.array([[c, -s, 0], [s, c, 0], [0, 0, 1.0]])


def _tip(angle: float) -> np.ndarray:
    c, s = math.cos(angle), math.sin(angle)
    return np.array([[c, 0, s], [0, 1, 0], [-s, 0, c]])


def _plane(camera: Camera, straight: np.ndarray, below: float) -> np.ndarray:
    h = np.linalg.inv(camera.plane(below))
    h = (h / h[2, 2]).astype(np.float32)
    x, y = straight[..., 0], straight[..., 1]
    flat = [h[i, 0] * x + h[i, 1] * y + h[i, 2] for i in range(3)]
    return np.stack((flat[0] / flat[2], flat[1] / flat[2]), -1)


def _bounds(camera: Camera, straight: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    edge = np.concatenate([straight[0], straight[-1], straight[:, 0], straight[:, -1]])
    both = np.concatenate([_plane(camera, edge, z) for z in (-SHOULDER_MM, 200.0)])
    return both.min(0) - 10, both.max(0) + 10


def _nearest(centres: np.ndarray, bounds: tuple) -> tuple[np.ndarray, tuple]:
    low, high = bounds
    step = 1.5
    nx, ny = (np.ceil((high - low) / step).astype(int) + 1).tolist()
    y, x = np.mgrid[:ny, :nx]
    if not len(centres):
        return np.zeros((ny, nx), int), (low, step)
    points = np.stack((x, y), -1).reshape(-1, 2) * step + low
    return cKDTree(centres).query(points)[1].reshape(ny, nx), (low, step)


def _offsets(at: np.ndarray, centres: np.ndarray, label: np.ndarray, grid: tuple) -> tuple:
    low, step = grid
    cell = np.rint((at - low) / step).astype(int)
    which = label[
        np.clip(cell[..., 1], 0, label.shape[0] - 1), np.clip(cell[..., 0], 0, label.shape[1] - 1)
    ]
    return at - centres.astype(np.float32)[which], which


def _slices(mat: Mat, looks: Looks) -> list[tuple]:
    """(depth below the top, radius, what, shade) from the mat upwards; the shoulder is an arc."""
    big, height = mat.diameter_mm / 2, mat.height_mm
    nose = big - 9.0
    found: list[tuple] = []
    for below in np.linspace(height, SHOULDER_MM, 10):
        dark = math.exp(-(below - SHOULDER_MM) / 30)
        found.append((below, big, "wall", (0.75 * dark * looks.metal, looks)))
    for angle in np.linspace(0, math.pi / 2, 8)[1:-1]:
        below = SHOULDER_MM * (1 - math.sin(angle))
        radius = nose + (big - nose) * math.cos(angle)
        found.append((below, radius, "shoulder", (math.pi / 2 - angle, looks)))
    found.append((0.4, nose, "nose", (0.0, looks)))
    found.append((0.5, nose - 3.0, "dome", (0.0, looks)))
    guide = (SHOULDER_MM + mat.guide_below_mm, 0.0, "guide", (looks.metal, looks))
    return sorted([*found, guide], key=lambda one: -one[0])


def _disc(camera, off, radius, what, shade, own, shown):
    away = np.sqrt(off[..., 0] ** 2 + off[..., 1] ** 2)
    cover = np.clip((radius - away) * camera.px_per_mm + 0.5, 0, 1)
    value, looks = shade
    light = math.radians(looks.light_from_deg)
    along = (off[..., 0] * math.cos(light) + off[..., 1] * math.sin(light)) / np.maximum(away, 1.0)
    up, side = math.cos(math.radians(looks.light_deg)), math.sin(math.radians(looks.light_deg))
    if what == "wall":
        tone = value * (0.8 + 0.35 * along)
    elif what == "dome":
        steep = away / max(radius, 1.0) * 0.9
        facing = np.cos(steep) * up - np.sin(steep) * side * along
        tone = (
            looks.metal * (0.25 + 0.65 * np.clip(facing, 0, 1)) + 0.5 * np.clip(facing, 0, 1) ** 40
        )
    else:
        facing = math.cos(value) * up + math.sin(value) * side * along
        tone = (
            looks.metal * (0.55 + 0.45 * np.clip(facing, 0, 1)) + 0.25 * np.clip(facing, 0, 1) ** 30
        )
        if what == "nose":
            tone = tone + 0.2
    return shown + cover * (tone * own - shown)


def _guides(mat, camera, at, shown, shade):
    for side, y in zip((-1, 1), mat.guides_mm, strict=True):
        if y is not None:
            beyond = side * (at[..., 1] - y)
            cover = np.clip(beyond * camera.px_per_mm + 0.5, 0, 1)
            cover = cover * np.clip((12.0 - beyond) * camera.px_per_mm + 0.5, 0, 1)
            tone = shade[0] * (0.55 + 0.4 * np.sin(np.clip(beyond / 12.0, 0, 1) * math.pi))
            shown = shown + cover * (tone - shown)
    return shown


def _leaning(mat, camera, straight, looks, can, shown):
    """Discs of a body that leans about its foot: each lies in a tilted plane of its own."""
    x, y, lean, way = can
    axis = np.array(
        [math.sin(lean) * math.cos(way), math.sin(lean) * math.sin(way), -math.cos(lean)]
    )
    one = np.array([math.cos(lean) * math.cos(way), math.cos(lean) * math.sin(way), math.sin(lean)])
    two = np.array([-math.sin(way), math.cos(way), 0.0])
    foot = np.array([x, y, mat.height_mm - SHOULDER_MM])
    base = camera.plane(0.0)
    third = camera.plane(1.0)[:, 2] - base[:, 2]
    project = np.column_stack((base[:, 0], base[:, 1], third))
    for below, radius, what, value in _slices(mat, looks):
        if what == "guide":
            continue
        middle = foot + axis * (mat.height_mm - below)
        h = np.column_stack((project @ one, project @ two, project @ middle + base[:, 2]))
        inverse = np.linalg.inv(h)
        flat = straight @ inverse[:, :2].T + inverse[:, 2]
        off = flat[..., :2] / flat[..., 2:]
        turned = off @ np.array([[math.cos(way), math.sin(way)], [-math.sin(way), math.cos(way)]])
        shown = _disc(camera, turned, radius, what, value, 1.0, shown)
    return shown


def _lying_slices(mat: Mat, looks: Looks) -> list[tuple]:
    """Slices of lying cans for those of `_slices`: how far over its axis stands for a radius."""
    big = mat.diameter_mm / 2
    return [
        (mat.height_mm - can[3] - big - up, up, "lying", (can, looks))
        for can in mat.lying
        for up in np.linspace(-0.9, 1.0, 32) * big
    ]


def _lying(mat, camera, at, up, shade, own, shown):
    """A slice of a shiny wall that lies: its shoulder at one end, a dark mouth at the other.

    The strips at both ends of a slice are what is seen of its end discs from aside.
    """
    (x, y, way, _), looks = shade
    big, end = mat.diameter_mm / 2, mat.height_mm / 2
    off = at - np.array([x, y], np.float32)
    u = off[..., 0] * math.cos(way) + off[..., 1] * math.sin(way)
    v = -off[..., 0] * math.sin(way) + off[..., 1] * math.cos(way)
    inward = np.clip((u - end + SHOULDER_MM) / SHOULDER_MM, 0, 1)
    radius = big - 9.0 * (1 - np.sqrt(1 - inward**2))
    half = np.sqrt(np.maximum(radius**2 - up**2, 0.0))
    cover = np.clip((half - np.abs(v)) * camera.px_per_mm + 0.5, 0, 1) * (radius > up)
    cover = cover * np.clip((end - np.abs(u)) * camera.px_per_mm + 0.5, 0, 1)
    light, high = math.radians(looks.light_from_deg) - way, math.radians(looks.light_deg)
    slope = np.clip(v / radius, -1, 1)
    facing = np.sqrt(1 - slope**2) * np.sign(up) * math.cos(high) * np.sqrt(1 - inward**2)
    facing = facing + math.sin(high) * (slope * math.sin(light) + inward * math.cos(light))
    facing = np.clip(facing, 0, 1)
    tone = looks.metal * (0.25 + 0.65 * facing) + 0.5 * facing**40
    tone = np.where(u > end - 1.0, 0.45 * looks.metal, np.where(u < 2.0 - end, 0.08, tone))
    return shown + cover * (tone * own - shown)


def _spoilt(shown, looks, rng):
    h, w = shown.shape
    y, x = np.mgrid[:h, :w]
    if looks.shadow:
        way, place = rng.uniform(0, 2 * math.pi), rng.uniform(-0.2, 0.2) * w
        edge = (x - w / 2) * math.cos(way) + (y - h / 2) * math.sin(way) - place
        shown = shown * (1 - looks.shadow / (1 + np.exp(-edge / (0.01 * w))))
    for _ in range(looks.glare):
        cx, cy, s = rng.uniform(0, w), rng.uniform(0, h), rng.uniform(0.01, 0.05) * w
        shown = shown + 0.9 * np.exp(-((x - cx) ** 2 + (y - cy) ** 2) / (2 * s**2))
    shown = np.clip(shown, 0, 1)
    shown = gaussian_filter(shown, looks.blur_px)
    shown = shown + looks.noise * rng.standard_normal(shown.shape)
    return jpeg_of(np.rint(255 * np.clip(shown, 0, 1)), looks.jpeg)
