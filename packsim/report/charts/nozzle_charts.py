"""Charts about nozzles: dose across the mat, misalignment against shift, design against pitch."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

import numpy as np

from packsim.headers import HeaderCheck, HeaderDesign, LineShift, StageShift
from packsim.nozzles.lane_lines import offsets_mm
from packsim.report.charts.chart_data import Mark, Series, Sheet
from packsim.report.charts.charts import line_chart
from packsim.report.words.display import Display

if TYPE_CHECKING:
    from matplotlib.figure import Figure

POINTS = 1201
"""Points of a curve: finer than a dot of print."""


def least_even(checks: Sequence[HeaderCheck]) -> str:
    """Name of the stage in which any size is washed least evenly; the first of equals."""
    found = [(d.even.coefficient, c.at.stage.name) for c in checks for d in c.doses]
    return min(found, default=(0.0, checks[0].at.stage.name), key=lambda one: one[0])[1]


def dose_chart(checks: Sequence[HeaderCheck], display: Display, name: str = "") -> Figure:
    """Draw the dose of each lane across the mat, in the stage washed least evenly."""
    stage = least_even(checks)
    series = [
        Series(
            f"{check.at.can.name}, {dose.place}",
            np.array([display.length_value(float(x)) for x in check.at.lines_mm]),
            dose.by_lane_mL,
            style="marked",
        )
        for check in checks
        if check.at.stage.name == stage
        for dose in check.doses
    ]
    top = max((float(np.max(np.asarray(s.y))) for s in series), default=1.0)
    sheet = Sheet(
        "How much does each lane of cans get?",
        _about(name, [stage]),
        f"lane from the mat's left edge [{display.length_unit}]",
        "mL per can",
    )
    return line_chart(series, sheet, y_limits=(0.0, 1.08 * top))


def shift_chart(lines: Sequence[LineShift], display: Display, name: str = "") -> Figure:
    """Draw the worst misalignment of each size against a shift of its pack; sizes that fit only."""
    unit, series, marks = display.length_unit, [], []
    for line in lines:
        if line.joint is None:
            continue
        shifts = np.linspace(-line.room_mm[0], line.room_mm[1], POINTS)
        worst = np.max([_worst(stage, shifts) for stage in line.stages], axis=0)
        scale = display.length_value(1.0)
        series.append(Series(line.size, shifts * scale, worst * scale))
        best = display.length_value(line.joint.shift_for_worst_mm)
        marks.append(Mark(best, f"best for {line.size}"))
    stages = dict.fromkeys(stage.at.stage.name for line in lines for stage in line.stages)
    sheet = Sheet(
        "Where should the pack stand?",
        _about(name, list(stages)),
        f"shift of the pack, + to the right [{unit}]",
        f"worst lane off its nozzle [{unit}]",
    )
    return line_chart(series, sheet, marks=marks)


def design_chart(design: HeaderDesign, display: Display, name: str = "") -> Figure:
    """Draw what the worst lane gets for a litre against the nozzle pitch, best of all counts.

    With the bound no header passes, and the pitches of the headers proposed.
    """
    unit, scale = display.length_unit, display.length_value(1.0)
    pitches, shares = design.curve.T
    ends = np.array([np.min(pitches), np.max(pitches)])
    series = [
        Series("best of all counts and first holes", pitches * scale, shares * 100.0),
        Series("no header can give more", ends * scale, np.full(2, design.bound * 100.0)),
    ]
    marks = [
        Mark(one.pitch_mm * scale, CALLED[one.what])
        for one in design.proposals
        if one.what in CALLED and ends[0] <= one.pitch_mm <= ends[1]
    ]
    sheet = Sheet(
        "Which nozzle pitch gives the worst lane most?",
        _about(name, design.stages),
        f"nozzle pitch [{unit}]",
        "worst lane, % of an even spread of the same flow",
    )
    return line_chart(series, sheet, marks=marks)


CALLED: Final = {"best": "recommended", "today": "today", "lanes": "nearest to lanes"}
"""Proposals whose pitch is marked."""


def _about(name: str, stages: Sequence[str]) -> str:
    few = ", ".join(stages[:3]) + (f" and {len(stages) - 3} more" if len(stages) > 3 else "")
    return f"{name}: {few}" if name else few


def _worst(stage: StageShift, shifts_mm: np.ndarray) -> np.ndarray:
    at, lines = stage.at, stage.at.lines_mm + shifts_mm[:, None]
    rows = [np.max(np.abs(offsets_mm(lines, at.nozzles_mm(side))), axis=1) for side in at.sides]
    return np.asarray(np.max(rows, axis=0))
