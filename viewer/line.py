"""What is watched: a line with one can size on it, as lengths to draw; its answers, its cans."""

from dataclasses import dataclass

import numpy as np

from packsim.answers import Answer, answer_stage
from packsim.arrays import Floats
from packsim.can import Can
from packsim.errors import InputError
from packsim.line import SIDES, Header, Scenario, Stage, medium_of
from packsim.passage import Frame
from packsim.report.drawings.sheet_tools import ellipse
from packsim.spray.jets import footprint_of

OUTLINE_POINTS = 72
"""Corners of a footprint's drawn outline."""


@dataclass(frozen=True, slots=True, eq=False)
class HeaderMap:
    """One header: its side of the mat, its place along the line, its nozzles across, shape (n,).

    ``outline_mm`` are the corners of one footprint about its nozzle, along and across, shape (m,
    2); empty where the nozzles stand lower than the can tops. ``medium`` is "liquid" or "gas";
    ``pattern`` is that of `packsim.line.Nozzle`, ``hollow`` the part of its half width that stays
    empty in the middle [-].
    """

    side: str
    medium: str
    x_mm: float
    y_mm: Floats
    outline_mm: Floats
    pattern: str
    hollow: float


@dataclass(frozen=True, slots=True, eq=False)
class LineMap:
    """Everything that does not move, places in mm.

    Names of the k stages, what each does in a few words, their bounds, shape (k + 1,); width of the
    mat; guide faces at stations along the line from the mat's left edge, shape (m,) each; station,
    left and right face of each bracket, shape (b, 3); headers in order along the line.
    """

    stages: tuple[str, ...]
    does: tuple[str, ...]
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
            pattern, places = header.nozzle.pattern, header.positions_mm
            hollow = header.nozzle.hollow_share if pattern == "hollow cone" else 0.0
            one = HeaderMap(
                side=header.side,
                medium=medium_of(header),
                x_mm=x,
                y_mm=places,
                outline_mm=outline,
                pattern=pattern,
                hollow=hollow,
            )
            headers.append(one)
    return LineMap(
        stages=tuple(stage.name for stage in scenario.stages),
        does=tuple(does_words(stage) for stage in scenario.stages),
        bounds_mm=starts,
        mat_mm=scenario.mat.width_mm,
        station_mm=station_mm,
        left_mm=left_mm,
        right_mm=right_mm,
        brackets_mm=np.array(brackets, dtype=np.float64).reshape(-1, 3),
        headers=tuple(headers),
    )


def does_words(stage: Stage) -> str:
    """Return what a stage does to cans, such as "spray above and below", "air above", "drain"."""
    names = {"liquid": "spray", "gas": "air"}
    sides: dict[str, list[str]] = {}
    for side in SIDES:
        for medium in sorted({medium_of(h) for h in stage.headers if h.side == side}):
            sides.setdefault(names[medium], []).append(side)
    said = [f"{name} {' and '.join(where)}" for name, where in sides.items()]
    return ", ".join(said) or stage.duty


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
    """Return packsim's answers for every stage; stages that did not change are not asked again."""
    return tuple(_answer(loaded, stage.name) for stage in loaded.scenario.stages)


def _answer(loaded: LoadedLine, stage: str) -> Answer | InputError:
    try:
        found = answer_stage(loaded.scenario, stage, loaded.size)
        _ = found.tipping.verdict  # what cannot be is told here, not while a picture is drawn
    except InputError as problem:
        return problem
    return found


def nearest_can(frame: Frame, x_mm: float, y_mm: float) -> int | None:
    """Return the number of the can under a point, or None where there is none."""
    if not len(frame):
        return None
    away = np.hypot(frame.x_mm - x_mm, frame.y_mm - y_mm)
    at = int(np.argmin(away))
    return int(frame.id[at]) if away[at] <= 1.5 * frame.radius_mm[at] else None


def index_of(frame: Frame, number: int | None) -> int | None:
    """Return the place of a can in a frame's arrays, None where it is not there."""
    if number is None:
        return None
    found = np.flatnonzero(frame.id == number)
    return int(found[0]) if found.size else None


def worst_can(frame: Frame, low_mm: float, high_mm: float) -> int | None:
    """Return the number of the standing can with the most lean between two stations.

    The first of several equal ones is taken, so that the same frame gives the same can.
    """
    here = np.flatnonzero((frame.x_mm >= low_mm) & (frame.x_mm < high_mm) & (frame.role < 4))
    if not here.size:
        return None
    order = np.lexsort((frame.id[here], -frame.lean_rad[here], -frame.role[here].astype(np.int64)))
    return int(frame.id[here[order[0]]])
