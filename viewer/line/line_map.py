"""The line itself as lengths to draw: stages, guide faces, brackets, headers, footprints."""

from dataclasses import dataclass

import numpy as np

from packsim.arrays import Floats
from packsim.can import Can
from packsim.errors import InputError
from packsim.line import Header, Scenario
from packsim.report.drawings.sheet_tools import ellipse
from packsim.spray.jets import footprint_of

OUTLINE_POINTS = 72
"""Corners of a footprint's drawn outline."""


@dataclass(frozen=True, slots=True, eq=False)
class HeaderMap:
    """One header: its side of the mat, its place along the line, its nozzles across, shape (n,).

    ``outline_mm`` are the corners of one footprint about its nozzle, along and across, shape (m,
    2); empty where the nozzles stand lower than the can tops.
    """

    side: str
    x_mm: float
    y_mm: Floats
    outline_mm: Floats


@dataclass(frozen=True, slots=True, eq=False)
class LineMap:
    """Everything that does not move, places in mm.

    Names of the k stages and their bounds, shape (k + 1,); width of the mat; guide faces at
    stations along the line from the mat's left edge, shape (m,) each; station, left and right face
    of each bracket, shape (b, 3); headers in order along the line.
    """

    stages: tuple[str, ...]
    bounds_mm: Floats
    mat_mm: float
    station_mm: Floats
    left_mm: Floats
    right_mm: Floats
    brackets_mm: Floats
    headers: tuple[HeaderMap, ...]

    @property
    def length_mm(self) -> float:
        """Length of all stages [mm]."""
        return float(self.bounds_mm[-1])

    def stage_at(self, x_mm: float) -> int:
        """Index of the stage at a place; the first and last run on."""
        found = int(np.searchsorted(self.bounds_mm, x_mm, side="right")) - 1
        return min(max(found, 0), len(self.stages) - 1)

    def faces_at(self, x_mm: float) -> tuple[float, float]:
        """Left and right guide face at a place [mm]."""
        left = np.interp(x_mm, self.station_mm, self.left_mm)
        return float(left), float(np.interp(x_mm, self.station_mm, self.right_mm))


def map_line(
    scenario: Scenario, can: Can, station_mm: Floats, left_mm: Floats, right_mm: Floats
) -> LineMap:
    """Gather what stands along the line, guide faces as the passage uses them, shape (m,) [mm].

    The can gives the height at which footprints are taken.
    """
    starts = np.concatenate([[0.0], np.cumsum([stage.length_mm for stage in scenario.stages])])
    brackets, headers = [], []
    for start, stage in zip(starts.tolist(), scenario.stages, strict=False):
        brackets += [(start + b.station_mm, b.left_mm, b.right_mm) for b in stage.guides.brackets]
        for header in stage.headers:
            outline = _outline_mm(header, can)
            x = start + header.station_mm
            headers.append(HeaderMap(header.side, x, header.positions_mm, outline))
    return LineMap(
        stages=tuple(stage.name for stage in scenario.stages),
        bounds_mm=starts,
        mat_mm=scenario.mat.width_mm,
        station_mm=station_mm,
        left_mm=left_mm,
        right_mm=right_mm,
        brackets_mm=np.array(brackets, dtype=np.float64).reshape(-1, 3),
        headers=tuple(headers),
    )


def _outline_mm(header: Header, can: Can) -> Floats:
    """Corners along and across; the long side turned from straight across by the twist."""
    try:
        foot = footprint_of(header, can.height_mm)
    except InputError:
        # the header hangs into the cans: the study says so, there is nothing to draw
        return np.empty((0, 2))
    half = foot.half_long_mm, foot.half_thin_mm
    across_along = ellipse((0.0, 0.0), *half, foot.twist_rad, OUTLINE_POINTS)
    return np.array(across_along)[:, ::-1]
