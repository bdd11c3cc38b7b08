"""Charts about nozzles: dose across the mat, misalignment against shift and against pitch."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from packsim.headers import HeaderCheck, LineShift, PitchAdvice, StageShift
from packsim.nozzles.lane_lines import offsets_mm
from packsim.report.charts.chart_data import Mark, Range, Series, Sheet
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


def pitch_chart(advice: PitchAdvice, display: Display, name: str = "") -> Figure:
    """Draw the worst misalignment of each size, at its own best shift, against the nozzle pitch.

    With half the pitch as the limit, the best pitch and its band, and today's pitches.
    """
    unit, scale = display.length_unit, display.length_value(1.0)
    turns = [one.pitch_mm for one in advice.candidates]
    turns += [e.pitch_mm for size in advice.sizes for e in size.exact]
    inside = [p for p in turns if advice.low_mm <= p <= advice.high_mm]
    even = np.linspace(advice.low_mm, advice.high_mm, POINTS)
    pitches = np.unique(np.concatenate([even, inside]))
    curves = advice.curve(pitches) * scale
    series = []
    for i, (size, weight) in enumerate(zip(advice.sizes, advice.weights, strict=True)):
        times = "" if weight == 1.0 else f" × {weight:g}"
        series.append(Series(size.can.name + times, pitches * scale, curves[:, i]))
    series.append(Series("half the pitch", pitches * scale, pitches * scale / 2.0))
    today = [one.pitch_mm for one in advice.candidates if one.what == "today"]
    low, high = (mm * scale for mm in advice.best.band_mm)
    sheet = Sheet(
        "Which nozzle pitch suits?",
        _about(name, advice.stages),
        f"nozzle pitch [{unit}]",
        f"worst lane off its nozzle, each size at its best shift [{unit}]",
    )
    return line_chart(
        series,
        sheet,
        ranges=[Range(low, high, "nearly as good")],
        marks=[
            Mark(advice.best.pitch_mm * scale, "best"),
            *(Mark(mm * scale, "today") for mm in today),
        ],
        y_limits=(0.0, math.ceil(1.1 * float(np.max([curves.max(), pitches.max() * scale / 2.0])))),
    )


def _about(name: str, stages: Sequence[str]) -> str:
    few = ", ".join(stages[:3]) + (f" and {len(stages) - 3} more" if len(stages) > 3 else "")
    return f"{name}: {few}" if name else few


def _worst(stage: StageShift, shifts_mm: np.ndarray) -> np.ndarray:
    at, lines = stage.at, stage.at.lines_mm + shifts_mm[:, None]
    rows = [np.max(np.abs(offsets_mm(lines, at.nozzles_mm(side))), axis=1) for side in at.sides]
    return np.asarray(np.max(rows, axis=0))
