"""The best shifts as tables and sentences for the terminal."""

from __future__ import annotations

import math
from collections.abc import Sequence

from rich.console import Group, RenderableType
from rich.text import Text

from packsim.headers import LaneCase, LineShift, StageShift
from packsim.line import Scenario
from packsim.nozzles.alignment import WORTH_A_SHIFT_MM
from packsim.nozzles.shift import BestShift
from packsim.report.terminal.nozzle_tables import closing, heading, merged_table, stage_words
from packsim.report.words.display import Display

__all__ = ["shift_report"]


NO_AIM = 0.8
"""Share of half a nozzle pitch from which a pack counts as not aligned: half a pitch is the most
any lane inside a row of nozzles can be off."""

LEGEND = (
    ("off", "worst lane from its nearest nozzle, above and below each met; rms over the lanes"),
    ("shift", "move of both guides, + to the right looking downstream; positions are the pack's"),
    ("room", "how far the pass may move before a face leaves the mat or its bracket's travel"),
    (
        "rides +/-",
        "how far off its place the pack may ride: half the slack and half a setting step",
    ),
    ("then up to", "worst lane at the shift if the pack rides as far off as that"),
    ("hold", "hold margin of the worst lane under all sprays: 1 without spray, 0 turns a can over"),
    ("a lane fewer, more", "shift and worst lane with the guides moved by one lane"),
)

SHIFT_HEADS = (
    *("<nozzles", "off\nworst", "shift for\nworst", "then\noff"),
    *("off\nrms", "shift for\nrms", "then\nrms"),
)
ROOM_HEADS = (
    *("room\nleft", "room\nright", "rides\n+/-", "then\nup to", "hold\nnow", "hold\nshifted"),
    *("<a lane fewer", "<a lane more"),
)


def shift_report(
    scenario: Scenario, lines: Sequence[LineShift], display: Display, note: str = ""
) -> Group:
    """Return the best shifts for the terminal.

    Parameters
    ----------
    scenario : Scenario
        The case.
    lines : sequence of LineShift
        One for each size.
    display : Display
        Unit system.
    note : str
        What to say about the guide setting, instead of whose it is.

    Returns
    -------
    rich.console.Group
        Per size: the answer in a sentence, then stage by stage.
    """
    parts: list[RenderableType] = [heading(scenario, display, note)]
    for line in lines:
        parts += [*_size(line, display), Text()]
    assumed = [a for line in lines for stage in line.stages for a in stage.assumed]
    return Group(*parts, closing(LEGEND, assumed, scenario))


def verdict(line: LineShift, display: Display) -> list[str]:
    """Return the answer for one size in sentences.

    Parameters
    ----------
    line : LineShift
        The size.
    display : Display
        Unit system.

    Returns
    -------
    list of str
        Where the pack must ride, what is left then, and what is in the way.
    """
    of = [stage.at.stage.name for stage in line.stages]
    if line.joint is None:
        gone = [s for s in line.stages if s.joint is None]
        return [f"{s.at.stage.name}: {s.at.pack.reason}" for s in gone]
    now, best = line.now_mm[0], line.joint
    length = display.length
    if now - best.worst_mm < WORTH_A_SHIFT_MM:
        say = [f"leave the pack where it rides: {length(now)} off at worst, "]
        say[0] += f"and no shift gains more than {length(now - best.worst_mm)}"
    else:
        say = [
            f"shift the pack {_way(best.shift_for_worst_mm, display)} in {stage_words(of, of)}: "
            f"{length(now)} off at worst becomes {length(best.worst_mm)}"
        ]
    half = max(h.pitch_mm for s in line.stages for h in s.at.stage.headers) / 2.0
    if best.worst_mm > NO_AIM * half:
        say.append(
            f"no shift aligns this size: half the nozzle pitch, {length(half)}, is as far as a "
            "lane can be off; judge these headers by how evenly they wash (nozzles check)"
        )
    few = [s for s in line.stages if min(h.count for h in s.at.stage.headers) < s.at.pack.lanes]
    if few:
        say.append(f"fewer nozzles than lanes: {stage_words([s.at.stage.name for s in few], of)}")
    limited = [s for s in line.stages if s.joint is not None and s.joint.limited_by_room]
    if limited:
        where = stage_words([s.at.stage.name for s in limited], of)
        say.append(f"more room beside the guides would allow a better shift: {where}")
    return say


def _way(mm: float, display: Display) -> str:
    return f"{display.length(abs(mm))} to the {'right' if mm > 0.0 else 'left'}"


def _size(line: LineShift, display: Display) -> list[RenderableType]:
    of = [stage.at.stage.name for stage in line.stages]
    title = f"{line.size}: {line.stages[0].at.pack.lanes} lanes (lengths in {display.length_unit})"
    parts: list[RenderableType] = [Text(title, style="bold")]
    parts += [Text(f"  {sentence}") for sentence in verdict(line, display)]
    fits = [stage for stage in line.stages if stage.joint is not None]
    if not fits:
        return parts
    rows = [(s.at.stage.name, row) for s in fits for row in _rows(s, display)]
    if line.joint is not None and len(fits) > 1:
        rows.append(("one shift for all", _cells("all", line.now_mm, line.joint, display)))
    parts.append(merged_table("stage", SHIFT_HEADS, rows, of))
    more = [(s.at.stage.name, _around(s, display)) for s in fits]
    parts.append(merged_table("stage", ROOM_HEADS, more, of))
    return parts


def _rows(stage: StageShift, display: Display) -> list[tuple[str, ...]]:
    """One row where all sides want the same, else one for each side and one for all."""
    each = [_cells(s.side, (s.now.worst_mm, s.now.rms_mm), s.best, display) for s in stage.sides]
    if stage.joint is None:
        return []
    if len({row[1:] for row in each}) == 1:
        return [(" and ".join(row[0] for row in each), *each[0][1:])]
    return [*each, _cells("together", stage.joint_now_mm, stage.joint, display)]


def _cells(
    name: str, now_mm: tuple[float, float], best: BestShift, display: Display
) -> tuple[str, ...]:
    def short(mm: float, *, signed: bool = False) -> str:
        return display.length(mm, unit=False, signed=signed)

    return (
        name,
        short(now_mm[0]),
        short(best.shift_for_worst_mm, signed=True),
        short(best.worst_mm),
        short(now_mm[1]),
        short(best.shift_for_rms_mm, signed=True),
        short(best.rms_mm),
    )


def _around(stage: StageShift, display: Display) -> tuple[str, ...]:
    def short(mm: float) -> str:
        return display.length(mm, unit=False)

    cases = {case.lanes > stage.at.pack.lanes: case for case in stage.lanes}
    return (
        short(stage.at.room_mm[0]),
        short(stage.at.room_mm[1]),
        short(stage.error_mm),
        short(stage.worst_with_error_mm),
        _hold(stage.hold_before),
        _hold(stage.hold_after),
        _case(cases.get(False), display),
        _case(cases.get(True), display),
    )


def _hold(margin: float) -> str:
    return f"{margin:.2f}" if math.isfinite(margin) else "–"


def _case(case: LaneCase | None, display: Display) -> str:
    if case is None or case.best is None:
        return "no room"
    shift = display.length(case.best.shift_for_worst_mm, unit=False, signed=True)
    return f"{case.lanes}: {shift}, {display.length(case.best.worst_mm, unit=False)} off"
