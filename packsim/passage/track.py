"""The line as the passage sees it: where the guides stand, how each stage shakes and holds a can.

A track is made once from a scenario and one can size, and holds numbers only. Another one can take
its place between two steps, so guides, kicks and speed may change while the pack is running.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike

from packsim.arrays import Floats, Ints
from packsim.can import Can
from packsim.compiled import compiled, kernel, within
from packsim.errors import between, non_negative
from packsim.line import Scenario
from packsim.pack.lattice import lane_pitch_mm
from packsim.passage.infeed import Infeed, infeed_of
from packsim.passage.standing import Shaking, Standing, shaking_of, standing_of
from packsim.width.guide_faces import GRID_MM, line_faces, reach_of_disc

_TOUCH_MM = 1e-3
"""Guides this much closer than the pack still touch it: rounding of widths that fit exactly."""

_REACH_REL = 1.1
"""Two cans may touch whose centres are this many diameters apart: wide ones, a step of the grid
off their stage."""

_MOST_STEPS = 10.0
"""Kicks and neighbours within a step take no can so many times a root mean square away."""

Between = tuple[float, float, float, float, Floats, Floats]
"""Of a `Track`: where its grid begins, nominal radius, inner_mm; low_mm, high_mm."""


@dataclass(frozen=True, slots=True, eq=False)
class Track:
    """The line for one can size.

    Parameters
    ----------
    stages : tuple of str
        Names of the k stages.
    bounds_mm : ndarray, shape (k + 1,)
        Stage boundaries along the line [mm].
    speed_mm_per_s : float
        Mat speed [mm/s].
    diameter_mm, lane_mm : float
        Nominal can diameter, and pitch of its lanes across the mat [mm].
    station_mm, left_mm, right_mm : ndarray, shape (m,)
        Guide faces on an even grid along the line, from the mat's left edge [mm].
    low_mm, high_mm : ndarray, shape (m,)
        How far left and right the centre of a nominal can may be [mm].
    stage_at : ndarray of int64, shape (m,)
        Stage of each grid place; −1 before the first and after the last.
    shaking : Shaking
        Kicks and drift.
    standing : Standing
        What it takes to tip a can.
    infeed : Infeed
        The pattern in which cans are fed.
    can_friction : float
        Friction between cans [-].
    tipped : tuple of str
        What a tipped can does in each stage, of `packsim.line.TIPPED`.

    Attributes
    ----------
    inner_mm : tuple of float
        Between which y no guide is met anywhere on the line: the centre of a nominal can is farther
        from both than its top goes before it tips, than a kick takes it, and than a lane [mm].
    """

    stages: tuple[str, ...]
    bounds_mm: Floats
    speed_mm_per_s: float
    diameter_mm: float
    lane_mm: float
    station_mm: Floats
    left_mm: Floats
    right_mm: Floats
    low_mm: Floats
    high_mm: Floats
    stage_at: Ints
    shaking: Shaking
    standing: Standing
    infeed: Infeed
    can_friction: float = 0.0
    tipped: tuple[str, ...] = ()
    inner_mm: tuple[float, float] = field(init=False)

    def __post_init__(self) -> None:
        standing, longest = self.standing, float(self.shaking.step_mm.max(initial=0.0))
        tipping = standing.height_mm * math.sin(standing.load.most_rad)
        far = max(tipping, self.lane_mm, _MOST_STEPS * longest) + self.infeed.radius_tol_mm
        inner = float(self.low_mm.max()) + far, float(self.high_mm.min()) - far
        object.__setattr__(self, "inner_mm", inner)

    @property
    def length_mm(self) -> float:
        """Length of all stages [mm]."""
        return float(self.bounds_mm[-1])

    @property
    def too_narrow(self) -> tuple[int, ...]:
        """Stages in which the guides somewhere stand closer than the fed lanes are wide."""
        close = self.right_mm - self.left_mm < self.infeed.pack_width_mm - _TOUCH_MM
        return tuple(sorted({int(i) for i in self.stage_at[close] if i >= 0}))

    def stands_as(self, other: Track) -> bool:
        """Whether the guides stand at the same places along and across as those of another."""
        names = "station_mm", "left_mm", "right_mm"
        return all(np.array_equal(getattr(self, n), getattr(other, n)) for n in names)

    def cell(self, station_mm: ArrayLike) -> Ints:
        """Index of the grid place at or just before each station; the ends run on."""
        cell = (np.asarray(station_mm, dtype=np.float64) - self.station_mm[0]) / GRID_MM
        cells: Ints = cell.clip(0, self.station_mm.size - 2).astype(np.int64)
        return cells

    @property
    def touch_mm(self) -> float:
        """How far from each other cans may be that touch [mm]."""
        return _REACH_REL * self.diameter_mm

    def limits_mm(self, station_mm: Floats, radius_mm: Floats) -> tuple[Floats, Floats, Ints]:
        """Leftmost and rightmost place of can centres at stations, and the stages there.

        Parameters
        ----------
        station_mm, radius_mm : ndarray, shape (n,)
            Places along the line and radii [mm].

        Returns
        -------
        low_mm, high_mm : ndarray, shape (n,)
            Limits [mm]; exact for straight guides, and within (r − R)·slope for a can whose radius
            r is not the nominal R.
        stage : ndarray of int64, shape (n,)
            Stages, −1 before the first and after the last.
        """
        low, high = compiled(_limits)(station_mm, radius_mm, self.between)
        return low, high, self.stage_at[self.cell(station_mm)]

    @property
    def between(self) -> Between:
        """What `limits_at` gets."""
        nominal = self.diameter_mm / 2.0
        return float(self.station_mm[0]), nominal, *self.inner_mm, self.low_mm, self.high_mm


@within
def limits_at(
    station_mm: float, wider_mm: float, first_mm: float, low: Floats, high: Floats
) -> tuple[float, float]:
    """Return what `Track.limits_mm` says of one can whose radius is more than the nominal."""
    at = (station_mm - first_mm) / GRID_MM
    # a number that is never below 0 is not looked at for that each time it is an index
    k, behind = np.uint32(min(max(at, 0.0), len(low) - 2.0)), np.uint32(1)
    part, behind = min(max(at - k, 0.0), 1.0), k + behind
    lowest = low[k] + part * (low[behind] - low[k]) + wider_mm
    return lowest, high[k] + part * (high[behind] - high[k]) - wider_mm


@kernel
def _limits(station: Floats, radius: Floats, between: Between) -> tuple[Floats, Floats]:
    (first, nominal, _, _, low, high), count = between, len(station)
    lowest, highest = np.empty(count), np.empty(count)
    for i in range(count):
        lowest[i], highest[i] = limits_at(station[i], radius[i] - nominal, first, low, high)
    return lowest, highest


def build_track(scenario: Scenario, can: Can, *, can_friction: float = 0.0) -> Track:
    """Return the line of a scenario as one can size meets it.

    Parameters
    ----------
    scenario : Scenario
        Mat and stages.
    can : Can
        The can size.
    can_friction : float
        Coefficient of friction between cans [-].

    Returns
    -------
    Track
        Numbers only; nothing of the scenario is referred to.

    Raises
    ------
    InputError
        If a value is out of range.

    Notes
    -----
    Guide faces are as set at the brackets, bowed out between them under the pack's push and
    corrected by the growth of cans against frame at the stage's temperature, so that cold radii can
    be used throughout. Stages join within one grid step. Wear and setting error are left to the
    slack budget.
    """
    stages = scenario.stages
    station, left, right, stage_at = line_faces(stages, can)
    radius = can.diameter_mm / 2.0
    return Track(
        stages=tuple(stage.name for stage in stages),
        bounds_mm=np.concatenate([[0.0], np.cumsum([stage.length_mm for stage in stages])]),
        speed_mm_per_s=scenario.mat.speed_mm_per_s,
        diameter_mm=can.diameter_mm,
        lane_mm=lane_pitch_mm(can.diameter_mm, stages[0].layout),
        station_mm=station,
        left_mm=left,
        right_mm=right,
        low_mm=reach_of_disc(left, radius),
        high_mm=-reach_of_disc(-right, radius),
        stage_at=stage_at,
        shaking=shaking_of(scenario, can),
        standing=standing_of(scenario, can),
        infeed=infeed_of(stages[0], can, float(left[0]), float(right[0]), scenario.mat),
        can_friction=between("can_friction", non_negative("can_friction", can_friction), 0.0, 5.0),
        tipped=tuple(stage.tipped for stage in stages),
    )


def loaded_track(scenario: Scenario, size: str, can_friction: float = 0.0) -> Track:
    """Return `build_track` for a size by its name."""
    return build_track(scenario, scenario.size(size), can_friction=can_friction)
