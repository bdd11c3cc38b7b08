"""The guide faces along the whole line on an even grid, and where a disc between them may be."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from packsim.arrays import Floats, Ints
from packsim.can import Can
from packsim.errors import positive
from packsim.line import Guides, Stage
from packsim.width.guide_wires import wire_spans

GRID_MM = 2.0
"""Grid of the faces along the line; a stage join takes one step of it.

A parabola of 2 mm bow over 1 m is drawn to 8e-6 mm, and the rounding a disc makes of a corner to
GRID²/8R = 0.015 mm.
"""

LEAD_DIAMETERS = 4.0
"""The line runs on this many diameters beyond both ends, where cans are fed and let go."""


def line_faces(stages: Sequence[Stage], can: Can) -> tuple[Floats, Floats, Floats, Ints]:
    """Faces of all stages, one after the other.

    Parameters
    ----------
    stages : sequence of Stage
        In order along travel.
    can : Can
        The can size, for its thermal growth.

    Returns
    -------
    station_mm, left_mm, right_mm : ndarray, shape (m,)
        Even grid from the lead-in to the run-out, and the faces there [mm].
    stage : ndarray of int64, shape (m,)
        Stage at each grid place, −1 outside.
    """
    ends = np.cumsum([stage.length_mm for stage in stages])
    lead = LEAD_DIAMETERS * can.diameter_mm
    station = np.arange(-lead, float(ends[-1]) + lead + GRID_MM, GRID_MM)
    which = np.searchsorted(ends, station, side="right")
    inside = np.minimum(which, len(stages) - 1)
    left, right = np.empty_like(station), np.empty_like(station)
    for i, stage in enumerate(stages):
        here = inside == i
        at = station[here] - (ends[i] - stage.length_mm)
        left[here], right[here] = _grown(stage, can, at)
    outside = (station < 0.0) | (which == len(stages))
    return station, left, right, np.where(outside, -1, inside)


def reach_of_disc(face_mm: Floats, radius_mm: float) -> Floats:
    """Smallest y of a disc's centre above a face given on the grid.

    Parameters
    ----------
    face_mm : ndarray, shape (m,)
        Face on the grid [mm].
    radius_mm : float
        Radius of the disc [mm].

    Returns
    -------
    ndarray, shape (m,)
        max over |u| < R of face(x + u) + √(R² − u²) [mm]: the disc rolls over corners instead of
        being cut by them. Exact at the grid's places.
    """
    steps = int(radius_mm / GRID_MM)
    padded = np.pad(face_mm, steps, mode="edge")
    reach = np.full(face_mm.shape, -np.inf)
    for shift in range(-steps, steps + 1):
        rise = np.sqrt(radius_mm**2 - (shift * GRID_MM) ** 2)
        start = steps + shift
        np.maximum(reach, padded[start : start + face_mm.size] + rise, out=reach)
    return reach


def _grown(stage: Stage, can: Can, at_mm: Floats) -> tuple[Floats, Floats]:
    """Faces at working temperature, on the scale of the cold can."""
    guides = stage.guides
    left, right = faces_with_bow(guides, at_mm, stage.pack_pressure_N_per_m, stage.temperature_C)
    warming = stage.temperature_C - guides.setting_temperature_C
    growth = 1.0 + warming * (guides.frame_expansion_per_K - can.expansion_per_K)
    middle, half = (left + right) / 2.0, (right - left) / 2.0 * growth
    for bracket in guides.brackets if guides.step_mm else ():
        half = half - guides.step_mm * (np.abs(at_mm - bracket.station_mm) <= GRID_MM)
    return middle - half, middle + half


def faces_with_bow(
    guides: Guides, station_mm: ArrayLike, pack_pressure_N_per_m: float, temperature_C: float
) -> tuple[Floats, Floats]:
    """Left and right face along the stage, bowed outward between brackets [mm].

    Parameters
    ----------
    guides : Guides
        The guides as set.
    station_mm : array_like, shape (n,)
        Places along the stage [mm].
    pack_pressure_N_per_m : float
        Push of the pack on each side [N/m].
    temperature_C : float
        Working temperature [°C].

    Returns
    -------
    left_mm, right_mm : ndarray, shape (n,)
        Faces from the mat's left edge [mm]; straight before the first and after the last bracket.
        Growth of the frame is not in them, the slack budget carries it.
    """
    at = np.asarray(station_mm, dtype=np.float64)
    left, right = guides.faces_mm(at)
    stations = [bracket.station_mm for bracket in guides.brackets]
    spans = wire_spans(guides, temperature_C, pack_pressure_N_per_m)
    for start, span in zip(stations, spans, strict=False):  # one bracket more than spans
        bow = parabola_mm(at - start, span.span_mm, span.bow_mm)
        left, right = left - bow, right + bow
    return left, right


def parabola_mm(along_mm: ArrayLike, span_mm: float, middle_mm: float) -> Floats:
    """Deflection along a span whose middle is out by ``middle_mm``, 4 s x (L − x) / L² [mm].

    Parameters
    ----------
    along_mm : array_like, shape (n,)
        Places from one support [mm]; outside 0..L the wire is not this span and the answer is 0.
    span_mm, middle_mm : float
        Span L and mid-span deflection s [mm].

    Returns
    -------
    ndarray, shape (n,)
        Deflection [mm].
    """
    share = np.clip(np.asarray(along_mm, dtype=np.float64) / positive("span_mm", span_mm), 0.0, 1.0)
    return np.asarray(4.0 * middle_mm * share * (1.0 - share), dtype=np.float64)
