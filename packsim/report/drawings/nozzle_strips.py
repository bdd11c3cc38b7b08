"""Which headers and packs go on a drawing: each arrangement once, however many stages have it."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from packsim.arrays import Floats
from packsim.constants import SIN60
from packsim.headers import Arrangement, HeaderCheck, LineShift, PitchAdvice, SizeLines
from packsim.line import Scenario
from packsim.report.drawings.nozzle_drawing import Strip
from packsim.report.words.display import Display
from packsim.report.words.numbers import stage_words
from packsim.spray.jets import footprint_of

ROWS = 2.2
"""Cans drawn along travel, in diameters."""


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
        shift = stage.joint.shift_for_worst_mm
        text = _moved(shift, stage.joint.worst_mm, display)
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
            lines = size.lines_mm + float(shift)
            strip = Strip(
                title=f"{size.can.name}, {size.lanes} lanes: {moved} at worst",
                side=side,
                diameter_mm=size.can.diameter_mm,
                cans_mm=_cans(size, lines, stage.layout),
                lines_mm=lines,
                nozzles_mm=row.positions_mm,
                footprint=patch,
            )
            found.append(strip)
    return tuple(found)


def _moved(shift_mm: float, off_mm: float, display: Display) -> str:
    shift = display.length(shift_mm, signed=True)
    return f"pack shifted {shift}, then {display.length(off_mm)} off"


def _strips(cases: Sequence[tuple[Arrangement, str, float, str]]) -> tuple[Strip, ...]:
    """One strip for cases alike, titled with all their stages."""
    alike: dict[tuple[object, ...], tuple[Strip, Arrangement, list[str]]] = {}
    for at, side, shift, text in cases:
        met = [h for h in at.clear if h.side == side]
        patch = footprint_of(met[0], at.stance.height_mm) if met else None
        near = at.pack.centres_mm[:, 0] < ROWS * at.can.diameter_mm
        strip = Strip(
            title=text,
            side=side,
            diameter_mm=at.can.diameter_mm,
            cans_mm=at.pack.centres_mm[near] + np.array([0.0, at.left_mm + shift]),
            lines_mm=at.lines_mm + shift,
            nozzles_mm=at.nozzles_mm(side),
            footprint=patch,
        )
        outline = None if patch is None else (patch.shape, patch.half_long_mm, patch.twist_rad)
        places = np.round(np.concatenate([strip.lines_mm, strip.nozzles_mm]), 6).tobytes()
        key = (at.can.name, side, outline, places, text)
        alike.setdefault(key, (strip, at, []))[2].append(at.stage.name)
    of = list(dict.fromkeys(at.stage.name for at, *_ in cases))
    found = []
    for strip, at, stages in alike.values():
        where = f"headers {strip.side}, {stage_words(stages, of)}"
        title = f"{at.can.name}, {at.pack.lanes} lanes; {where}: {strip.title}"
        found.append(replace(strip, title=title))
    return tuple(found)


def _cans(size: SizeLines, lines: Floats, layout: str) -> Floats:
    """Return some cans of a touching pack on given lines, along and across."""
    step = size.can.diameter_mm * (1.0 if layout == "lengthwise" else 2.0 * SIN60)
    half = np.arange(len(lines)) % 2 * step / 2.0
    rows = [np.column_stack([half + k * step, lines]) for k in range(3)]
    cans = np.concatenate(rows)
    return cans[cans[:, 0] < ROWS * size.can.diameter_mm]
