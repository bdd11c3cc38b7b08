"""Answers one stage with one size over and over, a knob at one value after the other."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING

from packsim.answers import Answer, answer_stage
from packsim.errors import Assumption, InputError, finite
from packsim.line import Scenario
from packsim.line.knobs import MAX_STEPS, Knob, knob
from packsim.setting import StageSetting, recommend

if TYPE_CHECKING:
    from packsim.chance import StageChance

Progress = Callable[[float, int], None]


@dataclass(frozen=True, slots=True)
class SweepRow:
    """The answers at one value.

    Parameters
    ----------
    value : float
        Where the knob stood, in the units inside the package.
    answer : Answer
        Every answer there.
    chance : StageChance, optional
        The chance of a tip there, where it was asked for.
    cans_counted, tips_counted : int
        Cans of a simulated run there, and those that tipped in the stage; 0 where none was asked
        for, or would see less than one tip.
    at_kicks : tuple of StageChance
        The chance there for each other kick energy asked for, from the same passages.
    """

    value: float
    answer: Answer
    chance: StageChance | None = None
    cans_counted: int = 0
    tips_counted: int = 0
    at_kicks: tuple[StageChance, ...] = ()

    @property
    def tips_per_million(self) -> float:
        """Expected tips per million cans, slack as set; nan where not asked for."""
        return math.nan if self.chance is None else self.chance.tips_per_million

    @property
    def tips_per_million_interval(self) -> tuple[float, float]:
        """Its 95 % interval."""
        return (math.nan, math.nan) if self.chance is None else self.chance.interval

    @property
    def worst_index(self) -> float:
        """Largest tip index: loosest case, gathered as laid, or a can by itself [-]."""
        tipping = self.answer.tipping
        return max(tipping.loosest.worst, tipping.gathered.index, tipping.own.index)


@dataclass(frozen=True, slots=True)
class Sweep:
    """A knob turned through a range, for one stage and one size.

    Parameters
    ----------
    scenario : Scenario
        The case as it stands.
    knob : Knob
        What was turned.
    stage, size : str
        Where, and for which size.
    now : float
        The value it has in the scenario; nan where it has none.
    rows : tuple of SweepRow
        In rising order of the value.
    kicks_mJ : tuple of float
        Other mean kick energies of the stage the chance was asked for [mJ].
    """

    scenario: Scenario
    knob: Knob
    stage: str
    size: str
    now: float
    rows: tuple[SweepRow, ...]
    kicks_mJ: tuple[float, ...] = ()

    @property
    def assumed(self) -> tuple[Assumption, ...]:
        """Everything its rows rest on without a measurement."""
        return self.rows[0].answer.assumed

    @property
    def chances(self) -> bool:
        """Whether the chance of a tip was worked out."""
        return any(row.chance is not None for row in self.rows)

    @property
    def recommended(self) -> StageSetting | None:
        """Recommended setting of the stage, where the clear width was swept."""
        if self.knob.name != "clear-width":
            return None
        return recommend(self.scenario, self.size).of_stage(self.stage)

    @property
    def crossing(self) -> float | None:
        """First value at which the tip index reaches 1; None if it never does.

        The largest counts: the loosest case, slack gathered in the pack as laid, a can by itself.
        Straight between the two rows around it; where the index jumps between them, as with another
        number of lanes or with no support at all, the row on the far side where cans can tip.
        """
        rows = [row for row in self.rows if row.answer.pack.fits]
        for one, other in pairwise(rows):
            (v0, i0), (v1, i1) = ((row.value, row.worst_index) for row in (one, other))
            if (i0 < 1.0) != (i1 < 1.0):
                jumps = one.answer.pack.lanes != other.answer.pack.lanes
                if jumps or not (math.isfinite(i0) and math.isfinite(i1)):
                    return v1 if i0 < 1.0 else v0
                return v0 + (v1 - v0) * (1.0 - i0) / (i1 - i0)
        return None


def sweep(
    scenario: Scenario,
    over: str,
    values: Sequence[float],
    stage: str,
    size: str,
    progress: Progress | None = None,
    *,
    chance: bool = False,
    count: int = 0,
    kicks_mJ: Sequence[float] = (),
) -> Sweep:
    """Answer one stage with one size for every value of a knob.

    Parameters
    ----------
    scenario : Scenario
        The case; everything but the knob stays as it is.
    over : str
        Name of the knob, one of `KNOBS`.
    values : sequence of float
        Values in the units inside the package, rising.
    stage, size : str
        Names of both.
    progress : callable, optional
        Called with (done, of) as it goes on.
    chance : bool
        Work out the chance of a tip at each value too, which takes passages.
    count : int
        Cans to count at each value where at least one of them is expected to tip.
    kicks_mJ : sequence of float
        Other mean kick energies in the stage to work out the chance for [mJ].

    Returns
    -------
    Sweep
        A row for each value.

    Raises
    ------
    InputError
        If a name is unknown, the values do not rise, or a value cannot be.
    """
    turned = knob(over)
    index = scenario.stages.index(scenario.stage(stage))
    can = scenario.size(size)
    if not 1 <= len(values) <= MAX_STEPS:
        raise InputError("steps", len(values), f"1 to {MAX_STEPS} values")
    if any(b <= a for a, b in pairwise(values)):
        raise InputError("values", "values that do not rise", "rising values")
    rows, cases = [], []
    for done, value in enumerate(values, start=1):
        case = turned.set(scenario, index, finite("value", value))
        row = SweepRow(float(value), answer_stage(case, stage, can.name))
        if chance:
            from packsim.chance import chance_of  # passages: loaded where they are asked for

            within = _within(progress, done, len(values))
            line = chance_of(case, can.name, progress=within)
            others = (line.at({stage: energy}).stages[index] for energy in kicks_mJ)
            row = replace(row, chance=line.stages[index], at_kicks=tuple(others))
        rows.append(row)
        cases.append(case)
        if progress is not None:
            _ = row.worst_index  # the work, which is left till asked
            progress(done, len(values))
    enough = [i for i, row in enumerate(rows) if count * row.tips_per_million >= 1e6]
    if enough:
        from packsim.counts.order import Order

        counted = Order(size=can.name, cans=count).count_each([cases[i] for i in enough])
        for i, seen in zip(enough, counted, strict=True):
            tips = int(seen.tips[index].sum())
            rows[i] = replace(rows[i], cans_counted=seen.counted, tips_counted=tips)
    now = turned.now(scenario.stages[index])
    return Sweep(
        scenario=scenario,
        knob=turned,
        stage=stage,
        size=can.name,
        now=now,
        rows=tuple(rows),
        kicks_mJ=tuple(kicks_mJ),
    )


def _within(progress: Progress | None, value: int, of: int) -> Progress | None:
    """Return what tells the progress within one of the values, counted from 1."""
    if progress is None:
        return None
    return lambda done, most: progress(value - 1 + done / most, of)
