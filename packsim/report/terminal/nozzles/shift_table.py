"""The best shifts as tables and sentences for the terminal."""

import math
from collections.abc import Sequence

from rich.console import Group, RenderableType
from rich.text import Text

from packsim.findings import quoted
from packsim.headers import LaneCase, LineShift, StageShift
from packsim.line import Scenario
from packsim.nozzles.lane_lines import worth_a_shift_mm
from packsim.nozzles.shift import BestShift
from packsim.report.terminal.parts import closing, line_head, merged_table, points
from packsim.report.words.display import Display
from packsim.report.words.numbers import percent, signed, stage_words
from packsim.setting import recommend

NO_AIM = 0.8
"""Share of half a pitch from which the worst lane counts as not aligned at all."""

WORTH = 0.01
"""Loss of the worst lane's share of the mean dose that is worth a word."""

LEGEND = (
    ("off", "how far the worst lane is from its nearest nozzle; rms: over all lanes"),
    ("shift", "move of both guides, + to the right looking downstream"),
    ("room", "how far the guides may move before a face leaves the mat or its bracket's travel"),
    ("play (±)", "how far the pack may be off its place: half the slack and half a setting step"),
    ("worst with play", "worst lane after the shift, with the pack off its place by the play"),
    ("tip margin", "spray tip margin of the worst lane: 1 without spray, 0 tips"),
    ("least", "dose of the lane that gets least over the mean, inside or on top, the lesser"),
    ("lane fewer, more", "best shift and worst lane with the guides set for one lane fewer, more"),
)

SHIFT_HEADS = (
    *("<nozzles", "worst\noff", "shift for\nworst", "worst off\nafter"),
    *("rms\noff", "shift for\nrms", "rms off\nafter"),
)
ROOM_HEADS = (
    *(
        "room\nleft",
        "room\nright",
        "play\n(±)",
        "worst\nwith play",
        "tip\nmargin",
        "margin\nshifted",
    ),
    *("least\nnow", "least\nshifted"),
    *("lane\nfewer", "its\nshift", "worst\noff", "lane\nmore", "its\nshift", "worst\noff"),
)


def shift_report(
    scenario: Scenario,
    lines: Sequence[LineShift],
    display: Display,
    note: str = "",
    file: str = "FILE",
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
    file : str
        The scenario's, for commands.
    """
    parts: list[RenderableType] = [line_head(scenario, display, note)]
    for line in lines:
        parts += [*_size(line, display, _other_lanes(scenario, line, file)), Text()]
    assumed = [a for line in lines for stage in line.stages for a in stage.assumed]
    return Group(*parts, closing(LEGEND, assumed, scenario, display))


def verdict(line: LineShift, display: Display) -> list[str]:
    """Return the answer for one size: where to put the pack, what is left, what is in the way."""
    of = [stage.at.stage.name for stage in line.stages]
    if line.joint is None:
        gone = [s for s in line.stages if s.joint is None]
        return [f"{s.at.stage.name}: {s.at.pack.reason}" for s in gone]
    now, best = line.now_mm[0], line.joint
    length = display.length
    offered = now - best.worst_mm > worth_a_shift_mm(line.stages[0].at.can.diameter_mm)
    if not offered:
        gain = f"no shift gains more than {length(now - best.worst_mm)}"
        say = [f"leave the pack where it is: the worst lane is {length(now)} off, and {gain}"]
    else:
        way = "right" if best.shift_for_worst_mm > 0.0 else "left"
        say = [
            f"shift the pack {display.setting(abs(best.shift_for_worst_mm))} to the {way} in "
            f"{stage_words(of, of)}: the worst lane is {length(now)} off now, "
            f"{length(best.worst_mm)} after"
        ]
    lost = [s for s in line.stages if offered and s.least_share - s.least_share_shifted > WORTH]
    if lost:
        worst = min(lost, key=lambda s: s.least_share_shifted)
        say.append(
            f"but the shift takes from the worst lane: in {worst.at.stage.name} it gets "
            f"{percent(worst.least_share, 0)} of the mean dose now, "
            f"{percent(worst.least_share_shifted, 0)} after. The dose counts more than the "
            "distance: packsim nozzles check, packsim nozzles design"
        )
    half = max(h.pitch_mm for s in line.stages for h in s.at.stage.headers) / 2.0
    if best.worst_mm > NO_AIM * half:
        lead = "even so it is not aligned" if offered else "no shift aligns this size"
        say.append(
            f"{lead}: a lane exactly between two nozzles is off by half the "
            f"pitch, {length(half)}, and the best shift leaves {length(best.worst_mm)}. Look at "
            "how evenly the headers wash instead: packsim nozzles check"
        )
    few = [s for s in line.stages if min(h.count for h in s.at.stage.headers) < s.at.pack.lanes]
    if few:
        say.append(f"fewer nozzles than lanes: {stage_words([s.at.stage.name for s in few], of)}")
    limited = [s for s in line.stages if s.joint is not None and s.joint.limited_by_room]
    if limited:
        where = stage_words([s.at.stage.name for s in limited], of)
        say.append(f"more room beside the guides would allow a better shift: {where}")
    return say


def _other_lanes(scenario: Scenario, line: LineShift, file: str) -> list[str]:
    """Say which lanes the line should be set for first, where it holds others."""
    setting = recommend(scenario, line.size)
    stages = [stage.at.stage.name for stage in line.stages]
    other = [
        stage.at.stage.name
        for stage in line.stages
        if stage.at.pack.lanes != setting.of_stage(stage.at.stage.name).lanes
    ]
    if not other:
        return []
    lanes = " or ".join(str(n) for n in sorted({setting.of_stage(stage).lanes for stage in other}))
    return [
        f"first set {stage_words(other, stages)} for {lanes} lanes, as recommended (packsim "
        f"change); shifts for them: packsim nozzles shift {file} --refit {quoted(line.size)}"
    ]


def _size(line: LineShift, display: Display, first: list[str]) -> list[RenderableType]:
    of = [stage.at.stage.name for stage in line.stages]
    title = f"{line.size}: {line.stages[0].at.pack.lanes} lanes ({display.lengths_in})"
    parts: list[RenderableType] = [Text(title, style="bold")]
    parts.append(points([*first, *verdict(line, display)]))
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
    short = display.bare
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
    cases = {case.lanes > stage.at.pack.lanes: case for case in stage.other_lane_counts}
    lengths = (*stage.at.room_mm, stage.error_mm, stage.nozzle_offset_with_error_mm)
    return (
        *(display.bare(mm) for mm in lengths),
        *(
            signed(margin, 2) if math.isfinite(margin) else "–"
            for margin in (stage.hold_margin, stage.hold_margin_shifted)
        ),
        *(percent(share, 0) for share in (stage.least_share, stage.least_share_shifted)),
        *_case(cases.get(False), display),
        *_case(cases.get(True), display),
    )


def _case(case: LaneCase | None, display: Display) -> tuple[str, str, str]:
    if case is None or case.best is None:
        return "no room", "–", "–"
    shift = display.bare(case.best.shift_for_worst_mm, signed=True)
    return str(case.lanes), shift, display.bare(case.best.worst_mm)
