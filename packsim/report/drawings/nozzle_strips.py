"""Which headers and packs go on a drawing: each arrangement once, however many stages have it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from packsim.constants import SIN60
from packsim.headers import Arrangement, HeaderCheck, LineShift, PitchAdvice, SizeLines
from packsim.line import Scenario
from packsim.report.drawings.nozzle_drawing import Strip
from packsim.report.words.display import Display
from packsim.report.words.names import stage_words
from packsim.spray.jets import Footprint, footprint_of

ROWS = 2.2
"""Cans drawn along travel, in diameters."""

Floats = NDArray[np.float64]


def check_strips(checks: Sequence[HeaderCheck], display: Display) -> tuple[Strip, ...]:
    """Return the headers over the packs that fit, as the guides are set."""
    cases = []
    for check in checks:
        for side in check.sides:
            off = display.length(side.now.worst_mm)
            lane = side.now.worst_lane + 1
            cases.append((check.at, side.side, 0.0, f"lane {lane} is {off} off its nozzle"))
    return _strips(cases)


def shift_strips(lines: Sequence[LineShift], display: Display) -> tuple[Strip, ...]:
    """Return the headers over the packs that fit, at the best shift of each stage."""
    cases = []
    for stage in (stage for line in lines for stage in line.stages):
        if stage.joint is None:
            continue
        shift, worst = stage.joint.shift_for_worst_mm, stage.joint.worst_mm
        text = (
            f"pack shifted {display.length(shift, signed=True)}, then {display.length(worst)} off"
        )
        cases += [(stage.at, side.side, shift, text) for side in stage.sides]
    return _strips(cases)


def pitch_strips(
    scenario: Scenario, advice: Sequence[PitchAdvice], display: Display
) -> tuple[Strip, ...]:
    """Return the new header over every size, each pack at its own best shift.

    The first header of the stages lends its spray.
    """
    found = []
    for one in advice:
        stage = scenario.stage(one.stages[0])
        row = one.drilling
        for size, shift, off in zip(one.sizes, row.shifts_mm, row.worst_mm, strict=True):
            height = size.can.height_mm
            passed = [h for h in stage.headers if h.side == "below" or h.mat_distance_mm > height]
            side = passed[0].side if passed else "above"
            patch = footprint_of(passed[0], height) if passed else None
            moved = _moved(float(shift), float(off), display)
            text = f"{size.can.name}, {size.lanes} lanes: {moved}"
            lines = size.lines_mm + float(shift)
            cans = _cans(size, lines, stage.layout)
            found.append(
                Strip(
                    title=text,
                    side=side,
                    diameter_mm=size.can.diameter_mm,
                    cans_mm=cans,
                    lines_mm=lines,
                    nozzles_mm=row.positions_mm,
                    footprint=patch,
                )
            )
    return tuple(found)


def _moved(shift_mm: float, off_mm: float, display: Display) -> str:
    shift = display.length(shift_mm, signed=True)
    return f"pack shifted {shift}, then {display.length(off_mm)} off at worst"


def _strips(cases: Sequence[tuple[Arrangement, str, float, str]]) -> tuple[Strip, ...]:
    """One strip for cases alike, titled with all their stages."""
    groups: dict[tuple[object, ...], list[tuple[Arrangement, str, float, str]]] = {}
    patches: dict[tuple[object, ...], Footprint | None] = {}
    for case in cases:
        at, side, shift, text = case
        met = [h for h in at.clear if h.side == side]
        patch = footprint_of(met[0], at.stance.height_mm) if met else None
        outline = None if patch is None else (patch.shape, patch.half_long_mm, patch.twist_rad)
        places = np.round(np.concatenate([at.lines_mm + shift, at.nozzles_mm(side)]), 6).tobytes()
        key: tuple[object, ...] = (at.can.name, side, outline, places, text)
        groups.setdefault(key, []).append(case)
        patches[key] = patch
    of = list(dict.fromkeys(at.stage.name for at, *_ in cases))
    found = []
    for key, same in groups.items():
        at, side, shift, text = same[0]
        stages = stage_words([each[0].stage.name for each in same], of)
        title = f"{at.can.name}, {at.pack.lanes} lanes; headers {side}, {stages}: {text}"
        near = at.pack.centres_mm[:, 0] < ROWS * at.can.diameter_mm
        cans = at.pack.centres_mm[near] + np.array([0.0, at.left_mm + shift])
        nozzles = at.nozzles_mm(side)
        found.append(
            Strip(
                title=title,
                side=side,
                diameter_mm=at.can.diameter_mm,
                cans_mm=cans,
                lines_mm=at.lines_mm + shift,
                nozzles_mm=nozzles,
                footprint=patches[key],
            )
        )
    return tuple(found)


def _cans(size: SizeLines, lines: Floats, layout: str) -> Floats:
    """Return some cans of a touching pack on given lines, along and across."""
    step = size.can.diameter_mm * (1.0 if layout == "lengthwise" else 2.0 * SIN60)
    half = np.arange(len(lines)) % 2 * step / 2.0
    rows = [np.column_stack([half + k * step, lines]) for k in range(3)]
    cans = np.concatenate(rows)
    return cans[cans[:, 0] < ROWS * size.can.diameter_mm]
