"""How many lanes a line is set for: what counts, in order, and which counts are looked at."""

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache, partial
from itertools import islice, pairwise, product
from typing import Final

from packsim.answers import stage_packs
from packsim.can import Can
from packsim.line import Scenario, Stage
from packsim.nozzles.lane_lines import worth_a_shift_mm
from packsim.nozzles.shift import Facing, joint_now, joint_shift
from packsim.pack.lattice import lane_places_mm, lanes_width_mm
from packsim.setting.line_setting import StageSetting
from packsim.setting.moves import hold_down_for, step_of
from packsim.setting.place import Job, judge, placed, stage_facings


def _line_shift_mm(job: Job, run: Sequence[int], lanes: int) -> float:
    """Return the shift of a run of stages that suits its worst lane, 0 where it gains little."""
    lows, highs, rows = [], [], list[Facing]()
    for stage in (job.scenario.stages[i] for i in run):
        now, diameter = stage.guides.centre_mm, job.new.diameter_mm
        width = lanes_width_mm(lanes, diameter, stage.layout)
        low, high = job.reach(stage).centres_mm(width)
        lows.append(low - now)
        highs.append(high - now)
        rows += stage_facings(stage, lane_places_mm(lanes, diameter, stage.layout, now))
    low, high = max(lows), min(highs)
    if low > high:  # no shift suits all: each stage is brought within its own reach
        return 0.0
    base = min(max(0.0, low), high)  # not 0 where the pass would not fit about its present middle
    if not rows:
        return base
    moved = [Facing(row.lines_mm + base, row.nozzles_mm, row.weights) for row in rows]
    best = joint_shift(moved, (max(0.0, base - low), max(0.0, high - base)))
    gain = joint_now(moved)[0] - best.worst_mm
    return base + (best.shift_for_worst_mm if gain > worth_a_shift_mm(job.new.diameter_mm) else 0.0)


def _set_stage(job: Job, i: int, lanes: int, shift_mm: float) -> StageSetting:
    """Set one stage for some lanes, its middle shifted [mm]."""
    found, stage = job.scenario.stages[i], job.stage(i)
    known = found.setting_for(job.new.name) if job.new is not job.old else None
    gauge = False
    if known is not None:
        source = "record"
        stage = replace(stage, guides=replace(stage.guides, brackets=known.brackets))
        lanes = max(1, stage_packs(stage, job.new).fit_lanes)
    elif (
        shift_mm == 0.0
        and job.reach(stage).farthest_beyond_mm(stage.guides) <= 1e-6
        and judge(job.scenario, stage, job.new, lanes).inside
    ):
        source = "stays"
    else:
        stage, source, gauge = placed(job, stage, lanes, shift_mm)
    judged = judge(job.scenario, stage, job.new, lanes)
    step = step_of(found, job.step_mm)
    worst = judged.worst
    hold = hold_down_for(found, job.old, job.new, worst.at_rest, worst.weakest_rad, step)
    if hold is not None and hold.new_mm != stage.hold_down_mm:
        stage = replace(stage, hold_down_mm=hold.new_mm)
    centre = stage.guides.centre_mm
    lines = lane_places_mm(lanes, job.new.diameter_mm, stage.layout, centre)
    rows = stage_facings(stage, lines)
    pairs = list(zip(found.guides.brackets, stage.guides.brackets, strict=True))
    faces = [(a.left_mm - b.left_mm, a.right_mm - b.right_mm) for a, b in pairs]
    return StageSetting(
        stage=stage,
        lanes=lanes,
        judged_lanes=stage_packs(stage, job.new).judged.lanes,
        window=judged.window,
        source=source,
        gauge=gauge,
        shift_mm=centre - found.guides.centre_mm,
        wires=job.wires[i],
        hold_down=hold,
        index=judged.index,
        jams=judged.jams,
        safe=judged.safe,
        offset_mm=joint_now(rows)[0] if rows else math.nan,
        move_mm=max(abs(move) for pair in faces for move in pair),
    )


IN_LINE_MM: Final = 2.0
"""Neighbouring stages stand in line when the middles of their passes differ by no more than this
(assumed; cans pass a step of some millimetres at a guide's end)."""

CRITERIA: Final = (
    "the pack does not jam",
    "fewer stages in which a can can tip",
    "fewer stages outside the allowed slack",
    "a lower tip index where no setting is safe",
    "the same lanes in every stage",
    "the lanes stand better to the nozzles",
    "more cans per minute",
    "smaller moves",
)
"""What counts when lanes are chosen; the first that differs decides. Where the cans per minute are
kept, the mat speed makes them alike for any lanes."""

_INDEX_DIGITS: Final = 1
"""Tip indices that are alike to a tenth count alike: the push of the sprays is known no nearer, and
a hundredth less is not worth a move of every bracket (our choice)."""

_MOST_CHOICES: Final = 4096
"""Two counts for each of twelve runs."""

Run = tuple[int, ...]
"""Stages in line, by number."""


def choose(job: Job, lanes: int | None) -> tuple[dict[Run, int], str]:
    """Choose how many lanes every run of stages in line gets, and say why.

    Parameters
    ----------
    job : Job
        The line and its sizes, by the stages' own steps, so that no rule decides the lanes.
    lanes : int or None
        Lanes asked for; the best when None.

    Returns
    -------
    dict, str
        Lanes of every run, in order along travel.
    """
    chosen: dict[Run, int] = {}
    reasons: list[str] = []
    for runs in _groups(job.scenario, job.old.name):
        if lanes:
            counts, reason = (lanes,) * len(runs), f"{lanes} lanes asked for"
        else:
            counts, reason = _best(job, runs)
        chosen |= dict(zip(runs, counts, strict=True))
        reasons.append(reason)
    return chosen, "; ".join(dict.fromkeys(reasons))


def set_run(job: Job, run: Run, lanes: int) -> tuple[StageSetting, ...]:
    """Set a run of stages in line for some lanes, with one shift."""
    shift = _line_shift_mm(job, run, lanes)
    return tuple(_set_stage(job, i, lanes, shift) for i in run)


def carried_per_m(stage: Stage, can: Can) -> float:
    """Cans a stage carries on a metre of mat, of the pack that is judged [1/m]."""
    return stage_packs(stage, can).judged.carried_per_metre


def _groups(scenario: Scenario, size: str) -> list[list[Run]]:
    """Join stages to runs in line, and runs to groups that should carry one lane count.

    A run has one layout, one lane count now, and middles within `IN_LINE_MM` of the stage before.
    Neighbouring runs of one layout belong together unless they are lanes apart by design: more
    than the one lane that a setting a little off makes.
    """
    can = scenario.size(size)
    lanes = [stage_packs(stage, can).judged.lanes for stage in scenario.stages]
    groups: list[list[Run]] = [[(0,)]]
    for i, (one, other) in enumerate(pairwise(scenario.stages), start=1):
        apart = abs(one.guides.centre_mm - other.guides.centre_mm)
        alike, differ = one.layout == other.layout, abs(lanes[i - 1] - lanes[i])
        if alike and differ == 0 and apart <= IN_LINE_MM:
            groups[-1][-1] += (i,)
        elif alike and differ <= 1:
            groups[-1].append((i,))
        else:
            groups.append([(i,)])
    return groups


def _counts(job: Job, run: Run) -> tuple[int, ...]:
    """Lane counts the present widths of a run lie between, fewest first."""
    counts = set()
    for stage in (job.scenario.stages[i] for i in run):
        fit = max(1, stage_packs(stage, job.new).fit_lanes)
        counts |= {fit, fit + 1}
    return tuple(sorted(counts))


def _best(job: Job, runs: Sequence[Run]) -> tuple[tuple[int, ...], str]:
    """Choose the lanes of a group of runs, and say why."""
    at = lru_cache(partial(set_run, job))

    def stands(run: Run, count: int) -> bool:
        return all(p.safe and p.source in ("stays", "record") for p in at(run, count))

    @lru_cache
    def costs(counts: tuple[int, ...]) -> tuple[float, ...]:
        return _costs(job, [p for run, n in zip(runs, counts, strict=True) for p in at(run, n)])

    own = []
    for run in runs:
        near = _counts(job, run)
        own.append(next(((n,) for n in near if stands(run, n)), near))
    first = tuple(counts[0] for counts in own)
    if len(set(first)) == 1 and all(map(stands, runs, first)):
        return first, f"{first[0]} lanes, as the guides stand or as on record"
    alike = [(count,) * len(own) for count in sorted({n for counts in own for n in counts})]
    each = islice(product(*own), _MOST_CHOICES if len(own) > 1 else 0)
    best, *others = sorted(dict.fromkeys([*alike, *each]), key=costs)
    other = next((counts for counts in others if _most(counts) != _most(best)), None)
    if other is None:
        return best, f"{_most(best)} lanes: no other count is near"
    pairs = zip(CRITERIA, costs(best), costs(other), strict=True)
    why = next((words for words, cost, more in pairs if cost != more), "fewer lanes")
    return best, f"{_most(best)} lanes, not {_most(other)}: {why}"


def _most(counts: Sequence[int]) -> int:
    return Counter(counts).most_common(1)[0][0]


def _costs(job: Job, found: Sequence[StageSetting]) -> tuple[float, ...]:
    """Return how a setting does under each criterion; less is better."""
    unsafe = [part for part in found if not part.safe]
    worst = max(filter(math.isfinite, (part.offset_mm for part in found)), default=0.0)
    least = min(carried_per_m(part.stage, job.new) for part in found)
    return (
        round(sum(part.window.low_mm - part.clear_width_mm for part in found if part.jams), 6),
        sum(part.index >= 1.0 for part in unsafe),
        len(unsafe),
        round(max((part.index for part in unsafe), default=0.0), _INDEX_DIGITS),
        sum(one.lanes != other.lanes for one, other in pairwise(found)),
        round(worst / worth_a_shift_mm(job.new.diameter_mm)),
        -least if job.keep == "dwell" else 0.0,
        sum(part.move_mm for part in found),
    )
