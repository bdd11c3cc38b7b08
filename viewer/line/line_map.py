"""What is watched: a line with one can size on it, its answers, and the line as lengths to draw."""

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from packsim.answers import Answer, answer_stage
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


Answers = tuple[Answer | InputError, ...]
"""One for each stage: the answer, or the reason why there is none."""


@dataclass(frozen=True, slots=True)
class LoadedLine:
    """A scenario as it is set, and the one of its can sizes that is on the line."""

    scenario: Scenario
    size: str

    def __post_init__(self) -> None:
        self.scenario.size(self.size)

    @property
    def can(self) -> Can:
        """The can on the line."""
        return self.scenario.size(self.size)


def answers_of(loaded: LoadedLine) -> Answers:
    """Return packsim's answers for every stage; stages that did not change are not asked again.

    Settings on record are of no account for a stage as it is set, and may be for other sizes.
    """
    scenario = replace(loaded.scenario, name="", about="", assumed=(), seed=0)
    return tuple(
        _answer(replace(scenario, stages=(stage,), sizes=(loaded.can,), set_for=loaded.size))
        for stage in (replace(stage, settings=()) for stage in scenario.stages)
    )


@lru_cache(maxsize=256)
def _answer(alone: Scenario) -> Answer | InputError:
    try:
        return answer_stage(alone, alone.stages[0].name, alone.sizes[0].name)
    except InputError as problem:
        return problem
